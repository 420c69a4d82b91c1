//! The command's arguments and its help.

use std::path::PathBuf;

use clap::builder::styling::{AnsiColor, Styles};
use clap::{Args, Parser, Subcommand, ValueEnum};
use keyproof::lesson::Place;
use keyproof::prove::Aim;
use keyproof::puzzle::Stipulation;
use keyproof_tasks::{NODES, forced};

const STYLES: Styles = Styles::styled()
    .header(AnsiColor::Green.on_default().bold())
    .usage(AnsiColor::Green.on_default().bold())
    .literal(AnsiColor::Cyan.on_default())
    .placeholder(AnsiColor::Cyan.on_default());

/// Prove mates, check chess puzzles, and publish them for students.
///
/// A puzzle is one PGN game; its tag Stipulation says what the solver must do,
/// such as "#2" for mate in two moves.
#[derive(Debug, Parser)]
#[command(
    name = "keyproof",
    version,
    styles = STYLES,
    after_help = "\
Exit codes: 0 all sound (or proved), 1 something unsound, undecided or refuted,
2 input that cannot be read."
)]
pub struct Arguments {
    #[command(subcommand)]
    pub task: Task,
}

#[derive(Debug, Subcommand)]
pub enum Task {
    Solve(Solve),
    Analyse(Analyse),
    Table(Table),
    Check(Check),
    Complete(Complete),
    Publish(Publish),
    Verify(Verify),
    Moments(Moments),
    Seen(Seen),
    Export(Export),
    Handout(Handout),
    Diagram(Diagram),
}

/// Find every first move that forces mate, selfmate or stalemate, with its
/// exact length, or every helpmate.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  keyproof solve --fen '7k/8/5K2/6Q1/8/8/8/8 w - - 0 1' --mate 2
  keyproof solve --fen '7k/8/5K2/6Q1/8/8/8/8 w - - 0 1' --mate 2 --tree
  keyproof solve --fen '7k/8/5K2/6Q1/8/8/8/8 w - - 0 1' --mate 2 --json
  keyproof solve --fen '3r2k1/1b3ppp/pqp5/8/3N4/8/PPP1QPPP/4R1K1 w - - 0 1' --mate 2 --reasons
  keyproof solve --fen '8/5P1k/5K2/8/8/8/8/8 w - - 0 1' --mate 2 --certificate key.txt
  keyproof solve --fen '4k3/8/8/8/6R1/1K6/1P6/3Q4 w - - 0 1' --stipulation '==2'
  keyproof solve --fen '8/k7/8/8/3K4/8/7Q/8 b - - 0 1' --stipulation 'h#2'
  keyproof solve --fen '6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1' --stipulation 'gain 9 in 2'

JSON: {\"fen\",\"stipulation\",\"status\",\"keys\",\"undecided\",\"nodes\",\"second\"}. The
status is proved, refuted or unknown; second is what the independent checker says of
a mate or a gain, as keyproof check prints it: without its yes the status is unknown, unless
--unchecked is given; a key is {\"uci\",\"san\",\"length\",\"line\"}; undecided lists
first moves (UCI) that the budget did not settle. A key with \"by_checks\" was
found by checks alone where the budget settled no first move; its length is
proved, but need not be the least. With --certificate there is
also \"certificate\": {\"file\",\"bytes\",\"positions\"}, or null if undecided. With --reasons a key also has
\"reasons\": [{\"kind\",\"sentence\"}]. With --tree a key also has
\"tree\": [{\"defence\":{\"uci\",\"san\"},\"answer\":{\"uci\",\"san\",\"length\"},\"tree\"}].
For a helpmate lengths count half moves, and a key also has \"solutions\": all its
lines of that length, in UCI; the tree is not shown.

Exit codes: 0 proved, 1 refuted or unknown, 2 no legal position.")]
pub struct Solve {
    /// The position, its side to move solves
    #[arg(long, value_name = "FEN")]
    pub fen: String,
    /// Moves in which to mate
    #[arg(
        long,
        value_name = "N",
        value_parser = clap::value_parser!(u8).range(1..=99),
        required_unless_present = "stipulation",
        conflicts_with = "stipulation"
    )]
    pub mate: Option<u8>,
    /// What to force: #n mate, s#n selfmate, ==n stalemate of the other side, gain k in n
    /// material worth k pawns; or h#n, h#n.5: helpmates of both sides together
    #[arg(long, value_name = "TEXT", value_parser = forced)]
    pub stipulation: Option<Stipulation>,
    /// Show the whole proof: an answer to every defence
    #[arg(long)]
    pub tree: bool,
    /// Say why each key works: a fork, a deflection, a back-rank mate ...
    #[arg(long)]
    pub reasons: bool,
    /// Print JSON
    #[arg(long)]
    pub json: bool,
    /// Write a certificate (of mates and gains alone): that each key forces it, and that
    /// no other move does
    #[arg(long, value_name = "FILE")]
    pub certificate: Option<PathBuf>,
    /// Have nothing checked a second time by the independent checker; the output
    /// says so
    #[arg(long, conflicts_with = "certificate")]
    pub unchecked: bool,
    #[command(flatten)]
    pub effort: Effort,
}

impl Solve {
    /// What to force.
    pub fn asked(&self) -> Stipulation {
        let stipulation = self
            .stipulation
            .or(self.mate.map(|n| Stipulation::Forced(Aim::Mate, n)));
        stipulation.expect("clap asks for one of the two")
    }

    /// What to force, and in how many moves.
    pub fn claim(&self) -> (Aim, u8) {
        let forced = self.asked().forced();
        forced.expect("clap takes nothing else")
    }
}

/// Say what a position is worth, and why.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  keyproof analyse --fen '6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1'
  keyproof analyse --fen '6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1' --lines 3
  keyproof analyse --fen '6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1' --json

Printed are the best lines with their value and how it is known; why the best
one works; then what it threatens, and now what the other side threatens; and
the wrong moves that tempt, by how much they do.

JSON: {\"fen\",\"lines\",\"gist\",\"failures\",\"tries\",\"whys\",\"standing\",\"before\",\"after\",\"won\",\"line\",
\"difficulty\",\"nodes\"}.
A line is {\"value\",\"mate\",\"grade\",\"depth\",\"line\"}: the value in hundredths of a
pawn for the side to move, or null and moves to the mate (negative for being
mated); grade is proved, table or searched, depth in plies, line in UCI. A
failure is {\"line\",\"code\",\"sentence\",\"proof\"}; a try {\"san\",\"allures\",\"looks_good\",
\"shows_at\",\"line\",\"sentence\",\"proof\"}; a why {\"at\",\"threat\",\"title\",\"sentence\",\n\"squares\",\"arrows\"};
the gist has the chief of it in at most five sentences, each {\"sentence\",\"about\"};
standing says what the other side threatens; before has the same one by one, and after
what the best move threatens, each {\"threats\",\"replies\"}: a threat is {\"kind\",
\"san\",\"line\",\"mate\",\"net\",\"sentence\",\"arrows\",\"proof\"} (kind is mate, wins, traps, exchange,
promotes or gains; moves to the mate or null; pawns netted), and a reply
{\"stands\",\"loses\",\"moves\"}: moves in SAN after which each threat stands, or not, and
whether those that parry all lose something else at once. won is what the best move is
proved to win, null or {\"sentence\",\"proof\"}. A proof is null or {\"claim\",\"net\",
\"opinion\"}: what was put to the checker (see keyproof check), the pawns netted, and
\"accepted\" with its positions, \"unreached\" or \"against\". difficulty holds the numbers.

Exit codes: 0 done, 2 no legal position, or the game is over.")]
pub struct Analyse {
    /// The position
    #[arg(long, value_name = "FEN")]
    pub fen: String,
    /// Best lines to show
    #[arg(long, value_name = "K", default_value_t = 1, value_parser = clap::value_parser!(u8).range(1..=50))]
    pub lines: u8,
    /// Positions that the search may look at
    #[arg(long, value_name = "N", default_value_t = 2_000_000)]
    pub nodes: u64,
    /// Print JSON
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub endings: Endings,
}

/// Look an ending up in an exact table: of up to four men, or with Syzygy files
/// up to seven.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  keyproof table '8/8/3k4/8/4K3/4P3/8/8 w - - 0 1'
  keyproof table '8/8/3k4/8/4K3/4P3/8/8 w - - 0 1' --json

Tables are made once and kept in the cache folder ($XDG_CACHE_HOME/keyproof, or
~/.cache/keyproof); a damaged one is made anew. They tell win, draw and loss, and
the moves to mate when the winner hurries and the loser delays; the fifty-move
rule does not count. A star marks the best moves.

With --syzygy, endings of up to seven men are looked up in Syzygy files. They tell
win, draw and loss under the fifty-move rule, and no moves to mate; a draw that
would be decided without the rule is marked.

JSON: {\"fen\",\"result\",\"mate\",\"by_rule\",\"moves\",\"tables\",\"milliseconds\"}. The result
is win, draw or loss for the side to move, mate the winner's moves to mate, or
null, by_rule whether it is a draw by the fifty-move rule alone; a move is {\"uci\",
\"san\",\"result\",\"mate\",\"by_rule\"}, the best first; tables are those made.

Exit codes: 0 looked up, 2 no legal position, or none that tables cover.")]
pub struct Table {
    /// The position: at most four men, kings included, or what Syzygy files
    /// cover, and no castling rights
    #[arg(value_name = "FEN")]
    pub fen: String,
    /// Print JSON
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub endings: Endings,
}

/// Answer every defence: fill in the best answer to each one left out.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  keyproof complete monday.pgn -o monday-complete.pgn
  keyproof complete monday.pgn | keyproof check -

Your own lines stay first and as they are. Defences that fall to one answer
share a line, and words after the answer name the others (in the puzzle's
Language, if Keyproof speaks it). Lines end where their point is made.

Exit codes: 0 written, 2 input that cannot be read.")]
pub struct Complete {
    /// A PGN file, or - for standard input
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// The PGN to write; standard output if left out
    #[arg(short, long, value_name = "OUT.pgn")]
    pub output: Option<PathBuf>,
    #[command(flatten)]
    pub effort: Effort,
    #[command(flatten)]
    pub endings: Endings,
}

/// Check every claim of every puzzle.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  keyproof check puzzles/
  keyproof check monday.pgn tuesday.pgn --json
  keyproof check puzzles/ --certificates proofs/
  cat monday.pgn | keyproof check -
  keyproof check collection.pgn.zst --json --unordered --keep checked.lines

With --keep the work can be stopped at any time and goes on where it stopped.

JSON: one object per puzzle, each on a line of its own as soon as it is done:
{\"file\",\"index\",\"title\",\"stipulation\",\"verdict\",\"findings\",\"nodes\"}. The index
counts the puzzles of a file from 1; the verdict is sound, unsound or undecided.
A finding is {\"kind\",\"weight\",\"path\",\"moves\",\"line\",\"message\",\"place\",\"mends\"}:
weight is fault, remark or open; path leads from the start to the position,
moves are those at fault there, line shows it, all in UCI; place is
{\"line\",\"column\"} in the file, or null. Each also has \"second\", what the
independent checker says of its mates: {\"accepted\":{\"positions\"}}, \"nothing\"
(there is none), \"skipped\", {\"unreached\":why}, or {\"against\":{\"claim\",\"against\"}}:
then the verdict is undecided, and a text about it is written into the folder of the
certificates, or else into the current one. With --certificates a puzzle also has
\"certificate\": {\"file\",\"bytes\",\"positions\"}, or null where none can be written.

Exit codes: 0 all sound, 1 something unsound or undecided, 2 input that cannot
be read (what can be read is checked all the same).")]
pub struct Check {
    /// PGN or EPD files, folders of them, or - for PGN on standard input
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Print JSON
    #[arg(long)]
    pub json: bool,
    /// Write a certificate of each mate's first moves into this folder (a
    /// selfmate, stalemate or helpmate has none)
    #[arg(long, value_name = "DIR")]
    pub certificates: Option<PathBuf>,
    /// Keep what was found out in this file, and go on from what is there
    #[arg(long, value_name = "FILE")]
    pub keep: Option<PathBuf>,
    /// Print each puzzle as soon as it is done, whichever it is
    #[arg(long)]
    pub unordered: bool,
    /// Have no mate checked a second time by the independent checker; the output
    /// says so
    #[arg(long, conflicts_with = "certificates")]
    pub unchecked: bool,
    #[command(flatten)]
    pub effort: Effort,
    #[command(flatten)]
    pub endings: Endings,
}

/// Make the student's file: one page that judges every move, without network.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  keyproof publish puzzles/monday.pgn -o monday.html
  keyproof publish puzzles/monday.pgn -o monday.html --title 'Monday group'

Unsound and undecided puzzles are refused, unless --unsound is given. Where our two
programs disagree about a mate, a text about it is written beside the page.
Exit codes: 0 published, 1 refused, 2 input that cannot be read.")]
pub struct Publish {
    /// A PGN file, or - for standard input
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// The page to write, or - for standard output
    #[arg(short, long, value_name = "OUT.html")]
    pub output: PathBuf,
    /// Title of the page; else that of the only puzzle, or the file's name
    #[arg(long)]
    pub title: Option<String>,
    /// Carry a certificate of each puzzle's first moves in the page
    #[arg(long)]
    pub certificates: bool,
    /// Write the element <keyproof-lesson> for a page that loads
    /// keyproof-lesson.js, rather than a page of its own
    #[arg(long, conflicts_with = "certificates")]
    pub element: bool,
    /// Write a package for a course that takes this standard, a zip file
    #[arg(long, value_name = "STANDARD", conflicts_with = "element")]
    pub course: Option<CourseStandard>,
    /// The score, in per cent, from which the course counts the lesson as
    /// passed; else it is completed when every question is done
    #[arg(long, value_name = "PERCENT", requires = "course", value_parser = clap::value_parser!(u8).range(1..=100))]
    pub pass: Option<u8>,
    /// Publish puzzles that are not proved sound
    #[arg(long)]
    pub unsound: bool,
    /// Have no mate checked a second time by the independent checker; the output
    /// says so
    #[arg(long, conflicts_with = "certificates")]
    pub unchecked: bool,
    #[command(flatten)]
    pub effort: Effort,
    #[command(flatten)]
    pub endings: Endings,
}

/// Check certificates: proofs of mates that anyone can check.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  keyproof verify key.txt
  keyproof verify proofs/*.txt --json
  keyproof verify monday.html

The grammar of certificates is in crates/certify/README.md. The checker knows
the rules of chess and shares nothing with the prover.

JSON: an array with one object per file: {\"file\",\"status\",\"claims\",\"positions\"}.
The status is accepted or rejected; a claim is {\"fen\",\"kind\",\"mate\",\"moves\"}:
of kind mate, that the move forces mate in so many moves or fewer, of kind
only, that no first move but those does, of kind draw, that the move holds a draw by
force (mate is 0 then). What is rejected also has \"line\" and \"reason\".

Exit codes: 0 all accepted, 1 something rejected, 2 input that cannot be read.")]
pub struct Verify {
    /// Certificates, published pages that carry some, or - for standard input
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Print JSON
    #[arg(long)]
    pub json: bool,
}

/// How much may be spent.
#[derive(Debug, Args)]
pub struct Effort {
    /// Spend at most N nodes on one question of the prover, and ten times as many on
    /// one puzzle; what that does not settle is undecided
    #[arg(long, value_name = "N", default_value_t = NODES)]
    pub nodes: u64,
}

/// Where exact endings come from.
#[derive(Debug, Default, Args)]
pub struct Endings {
    /// Neither read nor keep endgame tables in the cache folder
    #[arg(long)]
    pub no_cache: bool,
    /// Endings of up to seven men are exact where DIR has their Syzygy files;
    /// may be given several times
    #[arg(long, value_name = "DIR")]
    pub syzygy: Vec<PathBuf>,
}

impl Task {
    /// Where the task has its exact endings from, if it asks for any.
    pub fn endings(&self) -> Option<&Endings> {
        match self {
            Task::Analyse(task) => Some(&task.endings),
            Task::Table(task) => Some(&task.endings),
            Task::Check(task) => Some(&task.endings),
            Task::Complete(task) => Some(&task.endings),
            Task::Publish(task) => Some(&task.endings),
            Task::Moments(task) => Some(&task.endings),
            Task::Solve(_)
            | Task::Verify(_)
            | Task::Seen(_)
            | Task::Export(_)
            | Task::Handout(_)
            | Task::Diagram(_) => None,
        }
    }
}

/// Find the moments of a game that are worth asking about.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  keyproof moments club.pgn --game 3
  keyproof moments club.pgn --top 5 --puzzles monday.pgn
  keyproof moments club.pgn --json --keep club.progress

Every position of the game's main line is looked at for both sides; what makes a
moment, and what it is worth, is written in crates/moments/src/lib.rs.
With --keep the work can be stopped at any time and goes on where it stopped.

JSON: one object per game, each on a line of its own as soon as it is done:
{\"file\",\"index\",\"title\",\"nodes\",\"moments\"}. A moment is {\"ply\",\"node\",\"fen\",\"turn\",\"number\",\"kinds\",
\"stipulation\",\"task\",\"value\",\"accepted\",\"played\",\"tries\",\"threat\",\"reasons\",
\"difficulty\",\"evidence\",\"open\",\"worth\",\"because\"}, the best first; moves have
\"uci\" and \"san\", lines are UCI. A value is {\"Cp\": hundredths of a pawn},
{\"MateIn\": moves} or {\"MatedIn\": moves} for the side to move. With --puzzles a
moment also has \"verdict\": sound, unsound or undecided, and \"puzzle\", its PGN;
with --lesson a game has \"lesson\", its PGN. What of a game could not be read stands
in its \"faults\".

Exit codes: 0 done (with --puzzles: all puzzles sound), 1 a puzzle not sound,
2 input that cannot be read.")]
pub struct Moments {
    /// A PGN file, or - for standard input
    #[arg(value_name = "GAME.pgn")]
    pub file: PathBuf,
    /// Only the N-th game of the file
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    pub game: Option<u32>,
    /// Show at most K moments of a game, the best ones
    #[arg(long, value_name = "K")]
    pub top: Option<usize>,
    /// Print JSON
    #[arg(long)]
    pub json: bool,
    /// Write the moments shown as puzzles into this file
    #[arg(long, value_name = "OUT.pgn")]
    pub puzzles: Option<PathBuf>,
    /// Write the games into this file as lessons that ask at the moments shown
    #[arg(long, value_name = "OUT.pgn")]
    pub lesson: Option<PathBuf>,
    /// Keep what was found out in this file, and go on from what is there
    #[arg(long, value_name = "FILE")]
    pub keep: Option<PathBuf>,
    /// Print each game as soon as it is done, whichever it is
    #[arg(long)]
    pub unordered: bool,
    /// Spend about N nodes on a position that looks promising (250000 if left
    /// out), and on the rest in proportion
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u64).range(1000..=1_000_000_000))]
    pub nodes: Option<u64>,
    /// Have no mate checked a second time by the independent checker; the output
    /// says so
    #[arg(long)]
    pub unchecked: bool,
    #[command(flatten)]
    pub endings: Endings,
}

/// Show in which games of a collection the positions of a game occurred.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  keyproof seen --in collection.pgn tonight.pgn
  keyproof seen --in 2023.pgn --in 2024.pgn tonight.pgn --game 2 --most 10
  keyproof seen --in collection.pgn tonight.pgn --json

For each position of the game's main line that occurs in the collection: how many
games, how they ended, and what was played next. The game itself is left out if
it is in the collection.

JSON: one object per game, each on a line of its own: {\"file\",\"index\",\"title\",
\"plies\",\"positions\",\"collection\"}. The collection is what was looked through,
{\"games\",\"positions\",\"seconds\"}; a position {\"ply\",\"after\",\"fen\",\"score\",\"next\",\"earlier\"},
where a score is {\"games\",\"white\",\"draws\",\"black\"}, next lists moves with
scores, and earlier lists the games.

Exit codes: 0 done, 2 input that cannot be read.")]
pub struct Seen {
    /// Collections to look in: PGN files or folders, or an index that the library for
    /// Python made
    #[arg(long = "in", required = true, value_name = "COLLECTION.pgn")]
    pub collections: Vec<PathBuf>,
    /// The game: a PGN file, or - for standard input
    #[arg(value_name = "GAME.pgn")]
    pub file: PathBuf,
    /// Only the N-th game of the file
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    pub game: Option<u32>,
    /// Name at most K games of a position
    #[arg(long, value_name = "K", default_value_t = 5)]
    pub most: usize,
    /// Print JSON
    #[arg(long)]
    pub json: bool,
}

/// Write puzzles as PGN or EPD, all of them or a selection.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  keyproof export puzzles/ --to-epd -o all.epd
  keyproof export monday.pgn --only 1,3-5 --to-pgn -o handful.pgn
  keyproof export suite.epd --to-pgn -o suite.pgn

In EPD a puzzle is one line: bm has the moves that are right, am the tries, dm the
length of a mate, pv the main line of one, id the title, c0 to c9 the words before
the first move. Words at moves, hints and answers to defences have no place there.

Exit codes: 0 written, 1 some puzzle left out, 2 input that cannot be read.")]
#[command(group = clap::ArgGroup::new("form").required(true).args(["to_pgn", "to_epd"]))]
pub struct Export {
    /// PGN or EPD files, folders of them, or - for PGN on standard input
    #[arg(required = true, value_name = "FILE")]
    pub files: Vec<PathBuf>,
    /// Write PGN
    #[arg(long)]
    pub to_pgn: bool,
    /// Write EPD
    #[arg(long)]
    pub to_epd: bool,
    /// Only these, counted from 1 through all files: 1,3-5
    #[arg(long, value_name = "LIST", value_parser = selection)]
    pub only: Option<Selection>,
    /// Write each puzzle as soon as it is done, whichever it is
    #[arg(long)]
    pub unordered: bool,
    /// The file to write; standard output if left out
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
}

/// Numbers and ranges of them, from 1.
#[derive(Clone, Debug)]
pub struct Selection(Vec<(usize, usize)>);

impl Selection {
    pub fn has(&self, number: usize) -> bool {
        let within = |(first, last): &(usize, usize)| (*first..=*last).contains(&number);
        self.0.iter().any(within)
    }

    /// The greatest number named.
    pub fn last(&self) -> usize {
        self.0.iter().map(|(_, last)| *last).max().unwrap_or(0)
    }
}

fn selection(text: &str) -> Result<Selection, String> {
    let range = |part: &str| {
        let (first, last) = part.split_once('-').unwrap_or((part, part));
        let number = |text: &str| text.trim().parse().ok().filter(|&n: &usize| n > 0);
        match (number(first), number(last)) {
            (Some(first), Some(last)) if first <= last => Ok((first, last)),
            _ => Err(format!("{part:?} is no number and no range; write 1,3-5")),
        }
    };
    text.split(',')
        .map(range)
        .collect::<Result<_, _>>()
        .map(Selection)
}

/// Make pages to print: diagrams with tasks, and their solutions at the end.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  keyproof handout monday.pgn --per-page 4 -o monday-print.html
  keyproof handout monday.pgn -o monday.pdf

A page is printed from a browser; a name that ends in .pdf makes a PDF. Unsound and undecided puzzles
are refused, unless --unsound is given.

Exit codes: 0 written, 1 refused, 2 input that cannot be read.")]
pub struct Handout {
    /// A PGN or EPD file, or - for PGN on standard input
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Diagrams on a page: 2, 4 or 6
    #[arg(long, value_name = "N", default_value_t = 4, value_parser = per_page)]
    pub per_page: u8,
    /// Title of the pages; the file's name if left out
    #[arg(long)]
    pub title: Option<String>,
    /// The page to write, or the PDF
    #[arg(short, long, value_name = "OUT.html|OUT.pdf")]
    pub output: PathBuf,
    /// Print puzzles that are not proved sound
    #[arg(long)]
    pub unsound: bool,
    /// Have no mate checked a second time by the independent checker; the output
    /// says so
    #[arg(long)]
    pub unchecked: bool,
    #[command(flatten)]
    pub effort: Effort,
}

/// Write a position of a game as a picture, SVG or PNG.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  keyproof diagram monday.pgn -o monday.svg
  keyproof diagram club.pgn --game 3 --move 12w -o board.svg
  keyproof diagram club.pgn --move 12b --png 1200 --no-coordinates -o board.png

Shown is the position in which the move named is to be played, 12w White's 12th,
12b Black's; without --move the first one. A puzzle is shown from its solver's
side, a game from White's.

Exit codes: 0 written, 2 input that cannot be read.")]
pub struct Diagram {
    /// A PGN or EPD file, or - for PGN on standard input
    #[arg(value_name = "FILE")]
    pub file: PathBuf,
    /// Which game of the file
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..))]
    pub game: u32,
    /// The move to be played, such as 12w or 12b
    #[arg(long = "move", value_name = "PLACE", value_parser = place)]
    pub at: Option<Place>,
    /// Write a PNG of this width and height in points, not an SVG
    #[arg(long, value_name = "WIDTH", value_parser = clap::value_parser!(u32).range(32..=8192))]
    pub png: Option<u32>,
    /// Turn the board
    #[arg(long)]
    pub turned: bool,
    /// Leave the names of files and ranks out
    #[arg(long)]
    pub no_coordinates: bool,
    /// The picture to write
    #[arg(short, long, value_name = "OUT")]
    pub output: PathBuf,
}

fn place(text: &str) -> Result<Place, String> {
    Place::read(text).ok_or_else(|| "write 12w for White's 12th move, 12b for Black's".to_owned())
}

fn per_page(text: &str) -> Result<u8, String> {
    let number = text.parse().ok().filter(|n| matches!(n, 2 | 4 | 6));
    number.ok_or_else(|| "there are pages of 2, 4 and 6 diagrams".to_owned())
}

/// A standard of packages for courses.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub enum CourseStandard {
    /// SCORM 1.2
    #[value(name = "scorm")]
    Scorm12,
    /// cmi5, which speaks xAPI
    Cmi5,
}

/// The guide's page of the command line against the arguments.
#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use clap::{Command, CommandFactory};
    use keyproof_guide::{Block, Inline, PAGES, page};

    use super::*;

    type Names = BTreeSet<String>;

    /// Each task, in the order of the guide, and the options that its table has;
    /// what stands before the first has the name "".
    fn told() -> Vec<(&'static str, Names)> {
        let mut told = vec![("", Names::new())];
        for block in page("command-line").expect("a page").blocks {
            let options = &mut told.last_mut().expect("one at least").1;
            match block {
                Block::Heading { text, .. } => told.push((text, Names::new())),
                Block::Table { rows, .. } => {
                    let codes =
                        rows.iter()
                            .flat_map(|row| row[0])
                            .filter_map(|inline| match inline {
                                Inline::Code(text) => text.strip_prefix("--"),
                                _ => None,
                            });
                    options.extend(codes.map(str::to_owned));
                }
                _ => {}
            }
        }
        told
    }

    fn options(task: &Command) -> Names {
        let long = task
            .get_arguments()
            .filter_map(|argument| argument.get_long());
        long.filter(|name| !matches!(*name, "help" | "version"))
            .map(str::to_owned)
            .collect()
    }

    #[test]
    fn every_task_and_option_is_in_the_guide() {
        let told = told();
        let common = &told[0].1;
        let command = Arguments::command();
        let tasks: Names = command
            .get_subcommands()
            .map(|task| task.get_name().to_owned())
            .collect();
        let named: Names = told[1..]
            .iter()
            .map(|(task, _)| (*task).to_owned())
            .collect();
        assert_eq!(named, tasks);
        let mut used = Names::new();
        for (name, in_table) in &told[1..] {
            let task = command.find_subcommand(name).expect("a task");
            let options = options(task);
            let own: Names = options.difference(common).cloned().collect();
            assert_eq!(in_table, &own, "{name}");
            used.extend(options);
        }
        let unused: Vec<&String> = common.difference(&used).collect();
        assert!(unused.is_empty(), "{unused:?}");
    }

    #[test]
    fn every_option_named_in_the_guide_is_one() {
        let command = Arguments::command();
        let all: Names = command.get_subcommands().flat_map(options).collect();
        for page in PAGES {
            let codes = page.blocks.iter().flat_map(|block| match block {
                Block::Paragraph(inlines) => inlines.to_vec(),
                _ => vec![],
            });
            for code in codes {
                let Inline::Code(text) = code else { continue };
                for word in text.split(' ').filter_map(|word| word.strip_prefix("--")) {
                    assert!(
                        word == "help" || all.contains(word),
                        "{}.md: --{word}",
                        page.name
                    );
                }
            }
        }
    }

    #[test]
    fn every_command_in_the_guide_can_be_given() {
        let mut given = 0;
        for page in PAGES {
            for block in page.blocks {
                let Block::Code(lines) = block else { continue };
                for line in lines.lines().filter(|line| line.starts_with("keyproof ")) {
                    let read = Arguments::try_parse_from(parts(line));
                    assert!(
                        read.is_ok(),
                        "{}.md: {line}: {}",
                        page.name,
                        read.unwrap_err()
                    );
                    given += 1;
                }
            }
        }
        assert!(given > 10, "{given}");
    }

    /// The parts of a command as a shell takes them: quotes hold one together, and a
    /// remark is left out.
    fn parts(line: &str) -> Vec<String> {
        let line = line.split(" # ").next().unwrap_or_default();
        let pieces = line.split('\'').enumerate();
        pieces
            .flat_map(|(i, piece)| match i % 2 {
                0 => piece.split_whitespace().map(str::to_owned).collect(),
                _ => vec![piece.to_owned()],
            })
            .collect()
    }
}
