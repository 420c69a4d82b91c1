//! What happens to the guide.

use keyproof_guide::Place;

/// A part of the desk that the guide tells of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    Desk,
    Puzzles,
    Backup,
    Stipulation,
    Lesson,
    Setup,
    Drawing,
    Picture,
    Verdict,
    Moments,
    Solution,
    Defences,
    Reasons,
    Seen,
    Proof,
    Fields,
    GiveOut,
    Frame,
    Class,
    Talk,
}

impl Part {
    /// All parts.
    pub const ALL: [Part; 20] = [
        Part::Desk,
        Part::Puzzles,
        Part::Backup,
        Part::Stipulation,
        Part::Lesson,
        Part::Setup,
        Part::Drawing,
        Part::Picture,
        Part::Verdict,
        Part::Moments,
        Part::Solution,
        Part::Defences,
        Part::Reasons,
        Part::Seen,
        Part::Proof,
        Part::Fields,
        Part::GiveOut,
        Part::Frame,
        Part::Class,
        Part::Talk,
    ];
    /// Where the guide tells of it.
    pub fn place(self) -> Place {
        let (page, anchor) = match self {
            Part::Desk => ("index", ""),
            Part::Puzzles => ("keep", ""),
            Part::Backup => ("keep", "backups"),
            Part::Stipulation => ("write", "what-is-asked"),
            Part::Lesson => ("from-a-game", "a-lesson-a-game-that-stops-and-asks"),
            Part::Setup => ("write", "set-up-a-position"),
            Part::Drawing => ("write", "draw-on-the-board"),
            Part::Picture => ("give-out", "diagrams-as-files"),
            Part::Verdict => ("check", "what-the-checker-finds"),
            Part::Moments => ("from-a-game", "find-the-moments"),
            Part::Solution => ("write", "work-on-the-solution"),
            Part::Defences => ("write", "answer-the-defences"),
            Part::Reasons => ("check", "why-it-works"),
            Part::Seen => ("from-a-game", "seen-before"),
            Part::Proof => ("check", "walk-through-the-proof"),
            Part::Fields => ("pgn-tags", ""),
            Part::GiveOut => ("give-out", ""),
            Part::Frame => ("on-your-page", ""),
            Part::Class => ("what-the-class-answered", ""),
            Part::Talk => ("give-a-talk", ""),
        };
        Place { page, anchor }
    }
    /// The id of the button that asks about it.
    pub fn button(self) -> &'static str {
        match self {
            Part::Desk => "about-desk",
            Part::Puzzles => "about-puzzles",
            Part::Backup => "about-backup",
            Part::Stipulation => "about-stipulation",
            Part::Lesson => "about-lesson",
            Part::Setup => "about-setup",
            Part::Drawing => "about-drawing",
            Part::Picture => "about-picture",
            Part::Verdict => "about-verdict",
            Part::Moments => "about-moments",
            Part::Solution => "about-solution",
            Part::Defences => "about-defences",
            Part::Reasons => "about-reasons",
            Part::Seen => "about-seen",
            Part::Proof => "about-proof",
            Part::Fields => "about-fields",
            Part::GiveOut => "about-give-out",
            Part::Frame => "about-frame",
            Part::Class => "about-class",
            Part::Talk => "about-talk",
        }
    }
}

/// What happens to the guide.
#[derive(Clone, Debug)]
pub enum Turn {
    /// It is asked about a part of the desk.
    About(Part),
    /// A link in it is followed.
    To(Place),
    /// Words are typed to look for.
    Find(String),
    /// What was found is shown again.
    Findings,
    Close,
}
