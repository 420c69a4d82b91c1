//! Handouts: puzzles to print, two, four or six diagrams a page, and their
//! solutions on pages of their own at the end.
//!
//! One HTML text that holds all it needs; its print style makes A4 pages that
//! come out of a browser's own print as they are meant, also in black and white.
//! [`crate::pdf`] sets the same in a PDF document. An author's marks are drawn: those at the start on the diagram with the task, those
//! after moves on small diagrams with the solution. What is right is the author's
//! matter: nothing is checked here.

use model::resolved::Resolved;
use std::fmt::Write as _;

use shakmaty::{Move, Position};

use crate::hatched::Size;
use crate::html::{escape, text};
use explain::reasons;
use model::draft::{Draft, NodeId};
use model::marks::{Mark, split};
use model::mention;
use model::notation::moves;
use model::players;
use model::puzzle::{Posed, Puzzle, Role};
use model::tongue::tr;
use play::diagram::MARKS_STYLE;

/// Diagrams on one page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PerPage {
    /// Two diagrams.
    Two,
    /// Four diagrams.
    Four,
    /// Six diagrams.
    Six,
}

impl PerPage {
    /// From the number, if it is one of them.
    pub fn of(number: u8) -> Option<PerPage> {
        match number {
            2 => Some(PerPage::Two),
            4 => Some(PerPage::Four),
            6 => Some(PerPage::Six),
            _ => None,
        }
    }

    pub(crate) fn count(self) -> usize {
        match self {
            PerPage::Two => 2,
            PerPage::Four => 4,
            PerPage::Six => 6,
        }
    }

    pub(crate) fn size(self) -> Size {
        match self {
            PerPage::Two => Size::LARGE,
            PerPage::Four => Size::MIDDLE,
            PerPage::Six => Size::SMALL,
        }
    }

    /// Lines to write on under each diagram.
    pub(crate) fn lines(self) -> usize {
        match self {
            PerPage::Two => 3,
            PerPage::Four => 3,
            PerPage::Six => 2,
        }
    }
}

const STYLE: &str = "@page{size:A4;margin:14mm}\
*{box-sizing:border-box}body{margin:0 auto;max-width:182mm;font:11pt/1.4 Georgia,'Times New Roman',serif;color:#1f1b16;background:#fff}\
h1{font-size:15pt;margin:0 0 4mm;font-weight:normal;letter-spacing:.03em}\
.sheet,.answers{break-after:page}.answers{break-after:auto}\
.grid{display:grid;gap:4mm 10mm;justify-items:center}\
.n4 .grid,.n6 .grid{grid-template-columns:1fr 1fr}\
figure{margin:0;break-inside:avoid;width:100%}figure svg{display:block;margin:1mm auto;-webkit-print-color-adjust:exact;print-color-adjust:exact}\
figcaption{text-align:center;font-size:10.5pt}figcaption b{margin-right:.5em}\
.who{display:flex;gap:3mm;margin:0 0 4mm}.who i{flex:1;border-bottom:.3mm solid #1f1b16}.who i:first-of-type{flex:3}\
.line{border-bottom:.3mm solid #1f1b16;height:7mm;margin:0 4mm}.n6 .line{height:6.5mm}\
.answers section{break-inside:avoid;margin:0 0 5mm}.answers h2{font-size:11.5pt;margin:0 0 1mm}.answers p{margin:0 0 1mm}\
.answers .branch{margin-left:6mm}.answers .deep{margin-left:12mm}\
.drawn{display:flex;flex-wrap:wrap;gap:2mm 6mm;margin:1mm 6mm}.drawn figure{width:52mm}\
svg{--accent:#1f1b16}\
@media screen{.sheet{padding:8mm 0;border-bottom:1px solid #999}}";

/// The handout as one HTML text. Drafts that are no puzzle are left out; their
/// numbers, from 0, come with it.
pub fn handout(
    title: &str,
    language: &str,
    drafts: &[&Resolved],
    per: PerPage,
) -> (String, Vec<usize>) {
    let (puzzles, left_out) = posed(drafts);
    let mut html = format!(
        "<!doctype html>\n<html lang=\"{}\">\n<meta charset=\"utf-8\">\n<title>{}</title>\n<style>{STYLE}.sheet svg{{width:{}pt}}.drawn svg{{width:{}pt}}{MARKS_STYLE}</style>\n<body class=\"n{}\"><main>\n",
        escape(language),
        escape(title),
        per.size().side(),
        Size::SMALL.side(),
        per.count()
    );
    for (page, sheet) in puzzles.chunks(per.count()).enumerate() {
        let _ = write!(
            html,
            "<div class=\"sheet\"><h1>{}</h1><p class=\"who\"><span>{}</span><i></i><span>{}</span><i></i></p><div class=\"grid\">",
            escape(title),
            tr("Name:"),
            tr("Date:")
        );
        for (i, (puzzle, _)) in sheet.iter().enumerate() {
            let number = page * per.count() + i + 1;
            task(&mut html, puzzle, number, per);
        }
        html.push_str("</div></div>\n");
    }
    html.push_str("<div class=\"answers\"><h1>");
    html.push_str(tr("Solutions"));
    html.push_str("</h1>\n");
    for (i, (puzzle, title)) in puzzles.iter().enumerate() {
        solution(&mut html, puzzle, title, i + 1);
    }
    html.push_str("</div>\n</main>\n</body>\n</html>\n");
    (html, left_out)
}

/// The puzzles among drafts, each with what it is called, and the numbers of those that
/// are none, from 0.
pub(crate) fn posed(drafts: &[&Resolved]) -> (Vec<(Puzzle, String)>, Vec<usize>) {
    let (mut puzzles, mut left_out) = (Vec::new(), Vec::new());
    for (i, draft) in drafts.iter().enumerate() {
        match draft.in_words_of(mention::filled(draft)).into_puzzle() {
            Ok(puzzle) => puzzles.push((puzzle, title(draft.draft()))),
            Err(_) => left_out.push(i),
        }
    }
    (puzzles, left_out)
}

fn task(html: &mut String, puzzle: &Puzzle, number: usize, per: PerPage) {
    let board = puzzle.start().board();
    let (_, marks) = split(puzzle.words());
    let black_below = puzzle.black_below();
    let id = format!("d{number}");
    let svg = per.size().diagram(board, &id, black_below, &marks);
    let _ = write!(
        html,
        "<figure>{svg}<figcaption><b>{number}.</b>{}{}</figcaption>{}</figure>",
        escape(&puzzle.task()),
        options(puzzle),
        "<div class=\"line\"></div>".repeat(per.lines())
    );
}

/// The moves to choose from, with letters before them, on a line of their own.
pub(crate) fn options(puzzle: &Puzzle) -> String {
    let choices = choices(puzzle).into_iter().map(|choice| escape(&choice));
    match Vec::from_iter(choices) {
        none if none.is_empty() => String::new(),
        choices => format!("<br>{}", choices.join(" &ensp; ")),
    }
}

/// The moves to choose from, each with its letter; none where none are offered.
pub(crate) fn choices(puzzle: &Puzzle) -> Vec<String> {
    if puzzle.posed() != Posed::Choice {
        return Vec::new();
    }
    let start = puzzle.start();
    let offered = puzzle.offered().into_iter().zip('a'..);
    let offered = offered.map(|(mv, letter)| {
        let mv = moves::line(start, &[mv], start.fullmoves().get());
        format!("{letter})\u{a0}{mv}")
    });
    offered.collect()
}

fn solution(html: &mut String, puzzle: &Puzzle, title: &str, number: usize) {
    let _ = writeln!(html, "<section><h2>{number}. {}</h2>", text(title));
    answers(html, puzzle);
    drawn(html, puzzle, number);
    html.push_str("</section>\n");
}

/// What a solution is headed by. A position of a game is called as the game is, by both
/// players and the date.
fn title(draft: &Draft) -> String {
    let [white, black] = ["White", "Black"].map(|tag| players::told(draft, tag));
    if white.and(black).is_some() {
        let mut game = Draft::new();
        for tag in ["White", "Black", "Date"] {
            game.set_tag(tag, players::told(draft, tag));
        }
        return players::of_game(&game).unwrap_or_default();
    }
    players::told(draft, "Event").unwrap_or_default().to_owned()
}

/// A position of the solution that the author has drawn on.
pub(crate) struct Drawn {
    pub at: NodeId,
    pub marks: Vec<Mark>,
    /// The moves that lead to it.
    pub moves: String,
}

/// The positions of the solution that the author has drawn on.
pub(crate) fn drawn_on(puzzle: &Puzzle) -> Vec<Drawn> {
    let start = puzzle.start();
    let mut drawn = Vec::new();
    let mut todo = vec![(NodeId::ROOT, vec![])];
    while let Some((at, line)) = todo.pop() {
        let after = puzzle.children(at).iter().rev().map(|&child| {
            let moves = line.iter().copied().chain([puzzle.node(child).mv]);
            (child, moves.collect::<Vec<Move>>())
        });
        todo.extend(after);
        if at == NodeId::ROOT || puzzle.node(at).role == Role::Aside {
            continue;
        }
        let (_, marks) = split(&puzzle.node(at).words);
        if !marks.is_empty() {
            let moves = moves::line(start, &line, start.fullmoves().get());
            drawn.push(Drawn { at, marks, moves });
        }
    }
    drawn
}

fn drawn(html: &mut String, puzzle: &Puzzle, number: usize) {
    let figures = drawn_on(puzzle).into_iter().map(|drawn| {
        let id = format!("d{number}n{}", drawn.at.0);
        let board = puzzle.position(drawn.at).board();
        format!(
            "<figure>{}<figcaption>{}</figcaption></figure>",
            Size::SMALL.diagram(board, &id, puzzle.black_below(), &drawn.marks),
            escape(&drawn.moves)
        )
    });
    let figures: String = figures.collect();
    if !figures.is_empty() {
        let _ = writeln!(html, "<div class=\"drawn\">{figures}</div>");
    }
}

/// A piece of a paragraph.
pub(crate) enum Piece {
    Bold(String),
    Slanted(String),
    Plain(String),
    /// The author's own words, in the direction of their letters and apart from the
    /// moves beside them.
    Words(String),
}

/// A paragraph of a solution.
pub(crate) struct Told {
    /// How deep the line branches off; 0 for a first move and its own line.
    pub depth: usize,
    /// To be set with spaces between.
    pub pieces: Vec<Piece>,
}

impl Told {
    fn html(&self) -> String {
        let class = match self.depth {
            0 => "",
            1 => " class=\"branch\"",
            _ => " class=\"branch deep\"",
        };
        let pieces = self.pieces.iter().map(|piece| match piece {
            Piece::Bold(said) => format!("<b>{}</b>", escape(said)),
            Piece::Slanted(said) => format!("<i>{}</i>", escape(said)),
            Piece::Plain(said) => text(said),
            Piece::Words(said) => format!("<span dir=\"auto\">{}</span>", text(said)),
        });
        format!("<p{class}>{}</p>\n", Vec::from_iter(pieces).join(" "))
    }
}

/// The keys and then the tries, also where a game went on with one, with their main
/// lines, the author's words and the reasons why they work, a paragraph each.
pub(crate) fn answers(html: &mut String, puzzle: &Puzzle) {
    html.extend(told(puzzle).iter().map(Told::html));
}

/// The same, to be set by whoever can.
pub(crate) fn told(puzzle: &Puzzle) -> Vec<Told> {
    let first = puzzle.start().fullmoves().get();
    let mut all = Vec::new();
    let first_line = |pieces| Told { depth: 0, pieces };
    if let (Posed::YesNo, Some(&about)) = (puzzle.posed(), puzzle.children(NodeId::ROOT).first()) {
        let answer = match puzzle.node(about).role {
            Role::Key => tr("Yes, it does"),
            _ => tr("No, it fails"),
        };
        all.push(first_line(vec![Piece::Bold(format!("{answer}."))]));
    }
    let mut children = puzzle.children(NodeId::ROOT).to_vec();
    children.sort_by_key(|&child| puzzle.node(child).role != Role::Key);
    for child in children {
        let line = main_line(puzzle, child);
        let node = puzzle.node(child);
        let words = split(&node.words).0.join(" ");
        let mut pieces = match node.role {
            Role::Key => vec![Piece::Bold(moves::line(puzzle.start(), &line, first))],
            Role::Try => {
                let moves = attempt(puzzle, &line, &words);
                let moves = (!moves.is_empty()).then_some(Piece::Plain(moves));
                let named = Piece::Slanted(tr("Try:").into());
                std::iter::once(named).chain(moves).collect()
            }
            _ => continue,
        };
        pieces.extend(written(&words));
        all.push(first_line(pieces));
        if node.role == Role::Key {
            let why = reasons(puzzle.start(), &line);
            for reason in why.iter().filter(|r| !words.contains(&r.sentence)).take(2) {
                all.push(first_line(vec![Piece::Plain(reason.sentence.clone())]));
            }
            variations(&mut all, puzzle, child);
        }
    }
    all
}

/// The moves of a try, as far as the author's words do not say them: a refutation is
/// told once.
fn attempt(puzzle: &Puzzle, line: &[Move], words: &str) -> String {
    let (mut at, mut said) = (puzzle.start().clone(), Vec::new());
    for &mv in line {
        said.push(words.contains(&moves::shown(&at, mv)));
        at.play_unchecked(mv);
    }
    let first = puzzle.start().fullmoves().get();
    let rest = said.split_first().map_or(&[][..], |(_, rest)| rest);
    let shown = match rest.is_empty() || !rest.iter().all(|said| *said) {
        true => line.len(),
        false => usize::from(!said[0]),
    };
    moves::line(puzzle.start(), &line[..shown], first)
}

fn written(words: &str) -> Option<Piece> {
    (!words.is_empty()).then(|| Piece::Words(words.to_owned()))
}

/// The other defences below a key and what meets them, each as a line of its
/// own, set in as deep as it branches off.
fn variations(all: &mut Vec<Told>, puzzle: &Puzzle, key: NodeId) {
    let told = |&id: &NodeId| {
        let role = puzzle.node(id).role;
        matches!(role, Role::Continuation | Role::Defence | Role::Try)
    };
    let mut todo = vec![(key, 0)];
    while let Some((first, depth)) = todo.pop() {
        let nodes = nodes(puzzle, first);
        if depth > 0 {
            let before = puzzle.position(puzzle.node(first).parent);
            let line: Vec<Move> = nodes.iter().map(|&id| puzzle.node(id).mv).collect();
            let played = moves::line(before, &line, before.fullmoves().get());
            let words: Vec<String> = nodes
                .iter()
                .flat_map(|&id| split(&puzzle.node(id).words).0)
                .collect();
            let attempt = match puzzle.node(first).role {
                Role::Try => Some(Piece::Slanted(tr("Try:").into())),
                _ => None,
            };
            let pieces = attempt.into_iter().chain([Piece::Plain(played)]);
            let pieces = pieces.chain(written(&words.join(" "))).collect();
            all.push(Told { depth, pieces });
        }
        let branches = nodes.iter().flat_map(|&id| {
            let others = puzzle.children(id).iter().skip(1);
            others.copied().filter(told)
        });
        let branches: Vec<NodeId> = branches.collect();
        todo.extend(branches.into_iter().rev().map(|id| (id, depth + 1)));
    }
}

/// A move and what follows it first.
fn nodes(puzzle: &Puzzle, first: NodeId) -> Vec<NodeId> {
    let next = |&id: &NodeId| puzzle.children(id).first().copied();
    std::iter::successors(Some(first), next).collect()
}

fn main_line(puzzle: &Puzzle, first: NodeId) -> Vec<Move> {
    let nodes = nodes(puzzle, first).into_iter();
    nodes.map(|id| puzzle.node(id).mv).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use model::lesson::excerpts;
    use model::pgn_read;

    #[test]
    fn tasks_come_first_and_solutions_on_pages_of_their_own() {
        let text = "[Event \"Two <doors>\"]\n[SetUp \"1\"]\n[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Ra8# {So & no other.} (1. Ra7 $2 h6) *\n\n";
        let games = pgn_read::read(&text.repeat(5));
        let broken = pgn_read::read("[Event \"A game\"]\n\n1. e4 *\n");
        let mut drafts: Vec<Resolved> = games.iter().map(|g| Resolved::of(&g.draft)).collect();
        drafts.insert(1, Resolved::of(&broken[0].draft));
        let drafts: Vec<&Resolved> = drafts.iter().collect();
        let (html, left_out) = handout("Thursday", "en", &drafts, PerPage::Four);
        assert_eq!(left_out, [1]);
        assert_eq!(html.matches("class=\"sheet\"").count(), 2);
        assert_eq!(html.matches("<svg").count(), 5);
        assert_eq!(html.matches("class=\"line\"").count(), 15);
        let (tasks, answers) = html.split_once("class=\"answers\"").unwrap();
        assert!(tasks.contains("White to move and mate in one.") && !tasks.contains("Ra8"));
        assert!(answers.contains("<b>1.Ra8#</b> <span dir=\"auto\">So &amp; no other.</span>"));
        assert!(answers.contains("<i>Try:</i> 1.Ra7 h6"));
        assert!(answers.contains("Two &lt;doors&gt;"));
        assert!(!answers.contains("class=\"branch"));
    }

    #[test]
    fn a_choice_has_its_moves_with_the_task_and_a_yes_or_no_its_answer_with_the_solution() {
        let choice = "[SetUp \"1\"]\n[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n[Question \"choice\"]\n\n1. Ra8# (1. Ra7 $2 h6) *\n\n";
        let no = choice
            .replace("choice", "yes or no")
            .replace("1. Ra8# (1. Ra7 $2 h6)", "1. Ra7 $2 h6");
        let games = pgn_read::read(&[choice, &no].concat());
        let drafts: Vec<Resolved> = games.iter().map(|g| Resolved::of(&g.draft)).collect();
        let drafts: Vec<&Resolved> = drafts.iter().collect();
        let (html, _) = handout("Thursday", "en", &drafts, PerPage::Four);
        let (tasks, answers) = html.split_once("class=\"answers\"").unwrap();
        assert!(
            tasks.contains("Which of these moves?<br>a)\u{a0}1.Ra7 &ensp; b)\u{a0}1.Ra8#<"),
            "{tasks}"
        );
        assert!(tasks.contains("mate in one. Does Ra7 do it?<"), "{tasks}");
        let (_, second) = answers.split_once("<h2>2.").unwrap();
        assert!(
            second.contains("<b>No, it fails.</b>") && second.contains("1.Ra7 h6"),
            "{second}"
        );
    }

    #[test]
    fn marks_are_drawn_and_not_told() {
        let text = "[SetUp \"1\"]\n[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n{Look up. Board: ring g8, dotted arrow a1 to a8.} 1. Ra8# {So. Board: dashed arrow a8 to g8.} (1. Ra7 $2 h6 {Air.}) *\n";
        let games = pgn_read::read(text);
        let (html, _) = handout(
            "Thursday",
            "en",
            &[&Resolved::of(&games[0].draft)],
            PerPage::Two,
        );
        assert!(!html.contains("Board:"), "{html}");
        let (tasks, answers) = html.split_once("class=\"answers\"").unwrap();
        for (part, kinds) in [
            (tasks, ["kp-answer", "kp-threat"]),
            (answers, ["kp-try", "kp-head"]),
        ] {
            let (_, drawing) = part.split_once("<svg").expect("a diagram");
            for kind in kinds {
                assert!(drawing.contains(&format!("class=\"{kind}\"")), "{kind}");
            }
        }
        assert!(answers.contains("<b>1.Ra8#</b> <span dir=\"auto\">So.</span>"));
        assert!(answers.contains("<figcaption>1.Ra8#</figcaption>"));
        assert_eq!(answers.matches("<svg").count(), 1);
        assert_eq!(html.matches("d1-dark\"").count(), 1, "ids are unique");
        assert_eq!(html.matches("id=\"d1n").count(), 1);
    }

    #[test]
    fn each_question_of_a_lesson_has_its_solution_and_each_page_a_line_for_the_name() {
        let lesson = include_str!("../../../puzzles/games/the-queen-that-waited.pgn");
        let game = Resolved::of(&pgn_read::read(lesson)[0].draft);
        let asked: Vec<Resolved> = excerpts(&game).into_iter().map(|e| e.resolved).collect();
        assert!(asked.len() > 1);
        let (html, left_out) = handout(
            "Thursday",
            "en",
            &asked.iter().collect::<Vec<_>>(),
            PerPage::Two,
        );
        assert!(left_out.is_empty());
        let (tasks, answers) = html.split_once("class=\"answers\"").unwrap();
        let pages = asked.len().div_ceil(2);
        assert_eq!(tasks.matches("class=\"who\"").count(), pages);
        let solved = answers.split("<section>").skip(1);
        let keys = solved.map(|section| section.matches("<p><b>").count());
        let keys: Vec<usize> = keys.collect();
        assert_eq!(keys.len(), asked.len());
        assert!(keys.iter().all(|&keys| keys > 0), "{keys:?}");
        // What was to be found comes before what was played, and the game has its name.
        let (_, first) = answers.split_once("<section>").unwrap();
        let lines: Vec<&str> = first.lines().take(3).collect();
        assert_eq!(
            lines[0],
            "<h2>1. Tomas Brill \u{2013} Gus Harrowell, 2025-03-13</h2>"
        );
        assert!(lines[1].starts_with("<p><b>4.Qxf7#</b>"), "{lines:?}");
        let played = first.find("<i>Try:</i>").expect("what was played");
        assert!(first[played..].contains("4.Nf3"), "{first}");
    }

    /// A refutation that the author's words tell is not told a second time by the moves.
    #[test]
    fn a_refutation_is_told_once() {
        let solutions = |words: &str| {
            let text = format!(
                "[SetUp \"1\"]\n[FEN \"6k1/5ppp/8/8/8/8/8/R5K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n\n1. Ra8# (1. Ra7 $2 {{{words}}} h6) *\n"
            );
            let games = pgn_read::read(&text);
            let draft = Resolved::of(&games[0].draft);
            let (html, _) = handout("Thursday", "en", &[&draft], PerPage::Two);
            let (_, answers) = html.split_once("class=\"answers\"").unwrap();
            let line = answers.lines().find(|l| l.contains("Try:"));
            line.expect("a try").to_owned()
        };
        assert!(solutions("It is late.").contains("1.Ra7 h6 <span dir=\"auto\">It is late."));
        assert!(solutions("h6 gives air.").contains("1.Ra7 <span dir=\"auto\">h6 gives air."));
        let whole = solutions("1.Ra7 is met by 1...h6.");
        assert!(
            whole.contains("<i>Try:</i> <span dir=\"auto\">1.Ra7 is met"),
            "{whole}"
        );
    }

    /// Two rooks drive a king down; a position of our own.
    #[test]
    fn each_defence_has_its_line_in_the_solutions() {
        let text = "[SetUp \"1\"]\n[FEN \"8/4k3/8/8/8/8/R7/1R2K3 w - - 0 1\"]\n[Stipulation \"#4\"]\n\n1. Rb6 Kd7 (1... Kf7 {The other way.} 2. Ra7+ Kg8 (2... Ke8 $1 3. Rb8#) 3. Rb8#) (1... Kd8 2. Ra7) 2. Ra7+ Kc8 *\n";
        let games = pgn_read::read(text);
        let (html, left_out) = handout(
            "Thursday",
            "en",
            &[&Resolved::of(&games[0].draft)],
            PerPage::Two,
        );
        assert!(left_out.is_empty());
        let (_, answers) = html.split_once("class=\"answers\"").unwrap();
        let lines: Vec<&str> = answers.lines().filter(|l| l.contains("branch")).collect();
        assert_eq!(
            lines,
            [
                "<p class=\"branch\">1...Kf7 2.Ra7+ Kg8 3.Rb8# <span dir=\"auto\">The other way.</span></p>",
                "<p class=\"branch deep\">2...Ke8 3.Rb8#</p>",
                "<p class=\"branch\">1...Kd8 2.Ra7</p>",
            ]
        );
    }
}
