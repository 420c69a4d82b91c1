//! Answering every defence: a draft filled with the best answer to each defence
//! that the author left unanswered.
//!
//! Defences that fall to one answer share a line: it stands at the one that
//! holds out longest, and the words after the answer name the others. A defence
//! that one of the author's own answers meets needs no line. The author's
//! lines stay first and as they are. Judging is left to the [`super::Judge`].
//!
//! Where nothing must be forced, a solution with every defence is nobody's to read.
//! Of more than three, three are shown at most: the one that takes what was offered,
//! the one that holds out best, and the best of those that take or give check; of the
//! others it is said that they do not hold either.

use model::resolved::Resolved;
use shakmaty::{Chess, Move, Position};

use super::survey::same_move;
use super::words::sans;
use super::{Goal, Known, Question, Ruling, point};
use model::draft::{Draft, Edit, NodeId};
use model::notation::moves;
use model::puzzle::{Puzzle, Role};
use model::tongue::{say, spoken, tr};
use model::worth::balance;

/// A draft on the way to having every defence answered.
#[derive(Clone, Debug, Default)]
pub struct Filling {
    /// What must be answered first. While there is any, nothing is added.
    pub questions: Vec<Question>,
    /// The draft with the answers; `None` if there is nothing to add.
    pub draft: Option<Draft>,
    /// Defences that the added lines answer.
    pub answered: usize,
}

/// Lines that one filling adds at most; a longer solution is nobody's to read.
const MOST_LINES: usize = 200;

/// Defences that are shown where nothing must be forced, the author's own among them.
const SHOWN: usize = 3;

/// Fills in the best answer to each unanswered defence. What is added may leave
/// defences of its own unanswered: where something must be forced, fill again
/// until nothing is added. Words are added to a draft in the language that is
/// spoken.
pub fn fill(resolved: &Resolved, known: &Known) -> Filling {
    let draft = resolved.draft();
    let Ok(puzzle) = resolved.puzzle() else {
        return Filling::default();
    };
    let mut work = Work {
        puzzle,
        known,
        questions: Vec::new(),
        lines: Vec::new(),
    };
    let goal = Goal::of(puzzle);
    // Where the solver plays both sides there is no defence.
    let mut todo = match goal.shared() {
        true => Vec::new(),
        false => vec![(NodeId::ROOT, goal)],
    };
    while let Some((turn, goal)) = todo.pop() {
        for accepted in puzzle.accepted(turn) {
            let mv = puzzle.node(accepted).mv;
            let ruling = known.ruling(puzzle.position(turn), goal, mv);
            let Some(next) = goal.next() else { continue };
            if puzzle.position(accepted).is_game_over() || !ruling.is_some_and(Ruling::holds) {
                continue;
            }
            let stops = puzzle.children(accepted).is_empty()
                && point::made(puzzle, accepted, next, ruling).is_some();
            if !stops {
                work.answer(accepted, next);
            }
            let defences = puzzle.with_role(accepted, Role::Defence);
            todo.extend(defences.map(|defence| (defence, next)));
        }
    }
    let Work {
        questions, lines, ..
    } = work;
    if !questions.is_empty() || lines.is_empty() {
        return Filling {
            questions,
            ..Filling::default()
        };
    }
    let mut filled = draft.clone();
    let mut answered = 0;
    for line in lines.into_iter().take(MOST_LINES) {
        answered += 1 + line.others.len();
        // The nodes are those of this draft.
        let _ = line.add(&mut filled);
    }
    Filling {
        questions,
        draft: Some(filled),
        answered,
    }
}

/// A line to be added: a defence, the answer and what follows.
struct Line {
    at: NodeId,
    sans: Vec<String>,
    /// The glyph of the first move, where it stands beside another.
    nags: Vec<u8>,
    /// Moves after which the answer stands in `sans`.
    answer: usize,
    /// Other defences that fall to the answer, in SAN with their number.
    others: Vec<String>,
    /// The last of those shown: defences are left that fail too.
    rest: bool,
}

impl Line {
    fn add(self, draft: &mut Draft) -> Result<(), model::draft::EditFault> {
        let language = draft.tag("Language").unwrap_or("en").to_ascii_lowercase();
        let (head, rest) = self.sans.split_at(self.answer + 1);
        let answer = draft.apply(&Edit::AddLine {
            at: self.at,
            moves: head.to_vec(),
            nags: self.nags,
        })?;
        let words = [
            (!self.others.is_empty()).then(|| also(&self.others)),
            self.rest
                .then(|| tr("No other defence holds either.").to_owned()),
        ];
        let words: Vec<String> = words.into_iter().flatten().collect();
        if !words.is_empty() && language.starts_with(spoken().tag()) {
            let comments = vec![words.join(" ")];
            draft.apply(&Edit::SetAfter {
                node: answer,
                comments,
            })?;
        }
        draft.apply(&Edit::AddLine {
            at: answer,
            moves: rest.to_vec(),
            nags: Vec::new(),
        })?;
        Ok(())
    }
}

fn also(others: &[String]) -> String {
    match others {
        [] => String::new(),
        [one] => say!("The same answers {moves}.", moves = one),
        [first @ .., last] => {
            let moves = say!("{list} and {last}", list = first.join(", "), last = last);
            say!("The same answers {moves}.", moves = moves)
        }
    }
}

struct Work<'a> {
    puzzle: &'a Puzzle,
    known: &'a Known,
    questions: Vec<Question>,
    lines: Vec<Line>,
}

/// A defence that no answer of the author's meets, and its best answer.
struct Unanswered {
    defence: Move,
    /// Its node, if the author lists it.
    listed: Option<NodeId>,
    after: Chess,
    best: Ruling,
}

impl Unanswered {
    /// What the solver has after it, in pawns of material where his line makes its
    /// point; more the sooner he mates.
    fn worth(&self, goal: Goal) -> i32 {
        if let Some(moves) = self.best.length() {
            return MATES - i32::from(moves);
        }
        let line = self.best.line();
        let mut at = self.after.clone();
        for &mv in &line[..point::plies(&self.after, line, goal)] {
            at.play_unchecked(mv);
        }
        balance(at.board(), self.after.turn()).into()
    }
}

/// More than any material.
const MATES: i32 = 1_000;

impl Work<'_> {
    fn answer(&mut self, node: NodeId, goal: Goal) {
        let puzzle = self.puzzle;
        let position = puzzle.position(node);
        let answers: Vec<Move> = puzzle
            .children(node)
            .iter()
            .flat_map(|&defence| puzzle.accepted(defence))
            .map(|answer| puzzle.node(answer).mv)
            .collect();
        let asked = self.questions.len();
        let mut open = Vec::new();
        for defence in position.legal_moves() {
            let mut after = position.clone();
            after.play_unchecked(defence);
            let listed = puzzle.child(node, defence);
            let has_answer = listed.is_some_and(|d| {
                puzzle.accepted(d).next().is_some()
                    || puzzle.with_role(d, Role::Unclear).next().is_some()
                    || point::repeats(puzzle, d, goal)
            });
            if has_answer || goal.ended(&after) || after.is_game_over() {
                continue;
            }
            if listed.is_none() && self.meets(&after, goal, &answers) != Some(false) {
                continue;
            }
            match self.known.any(&after, goal) {
                None => self.questions.push(Question::about(&after, goal, &[])),
                Some(best @ Ruling::Holds { line, .. }) if !line.is_empty() => {
                    open.push(Unanswered {
                        defence,
                        listed,
                        after,
                        best: best.clone(),
                    });
                }
                // Undecided, or the move before it fails; both are found by
                // the checker.
                Some(_) => {}
            }
        }
        if self.questions.len() == asked {
            let all = open.len();
            if goal.forced().is_none() && all > SHOWN {
                open = self.worth_showing(node, goal, open);
            }
            let rest = open.len() < all && answers.is_empty();
            self.share(node, goal, open, rest);
        }
    }

    /// Those of the defences that are shown where nothing must be forced; the
    /// author's own are shown all.
    fn worth_showing(
        &self,
        node: NodeId,
        goal: Goal,
        mut open: Vec<Unanswered>,
    ) -> Vec<Unanswered> {
        let puzzle = self.puzzle;
        let answered = puzzle
            .with_role(node, Role::Defence)
            .filter(|&defence| puzzle.accepted(defence).next().is_some());
        let (mut shown, mut others): (Vec<_>, Vec<_>) =
            open.drain(..).partition(|u| u.listed.is_some());
        let mut room = SHOWN.saturating_sub(shown.len() + answered.count());
        // The most stubborn first: what is won is least, or the mate furthest.
        others.sort_by_key(|u| u.worth(goal));
        let offered = puzzle.node(node).mv.to();
        let point = |u: &Unanswered| u.defence.is_capture() && u.defence.to() == offered;
        let natural = |u: &Unanswered| u.defence.is_capture() || u.after.is_check();
        let wanted: [&dyn Fn(&Unanswered) -> bool; SHOWN] = [&point, &|_| true, &natural];
        for wanted in wanted {
            if let (Some(found), 1..) = (others.iter().position(wanted), room) {
                shown.push(others.remove(found));
                room -= 1;
            }
        }
        shown
    }

    /// Whether one of these moves meets the goal; `None` while that is asked.
    fn meets(&mut self, after: &Chess, goal: Goal, answers: &[Move]) -> Option<bool> {
        let legal = after.legal_moves();
        let mut missing = Vec::new();
        for answer in answers {
            let Some(&mv) = legal.iter().find(|m| same_move(**m, *answer)) else {
                continue;
            };
            match self.known.ruling(after, goal, mv) {
                Some(ruling) if ruling.holds() => return Some(true),
                Some(_) => {}
                None if !missing.contains(&mv) => missing.push(mv),
                None => {}
            }
        }
        if missing.is_empty() {
            return Some(false);
        }
        self.questions.push(Question::about(after, goal, &missing));
        None
    }

    /// Groups the defences by as few answers as will do, and lays out a line
    /// for each group. `rest`: there are more, which are not shown.
    fn share(&mut self, node: NodeId, goal: Goal, mut open: Vec<Unanswered>, rest: bool) {
        let before = self.lines.len();
        let bests: Vec<Move> = open.iter().map(|u| u.best.line()[0]).collect();
        let asked = self.questions.len();
        for unanswered in &open {
            self.ask_all(&unanswered.after, goal, &bests);
        }
        if self.questions.len() > asked {
            return;
        }
        let falls = |known: &Known, unanswered: &Unanswered, answer: Move| {
            let legal = unanswered.after.legal_moves();
            let mv = legal.into_iter().find(|m| same_move(*m, answer));
            // Under one name: what is a capture here is none where nothing stands.
            let mv = mv.filter(|mv| mv.is_capture() == answer.is_capture());
            mv.is_some_and(|mv| {
                same_move(mv, unanswered.best.line()[0])
                    || known
                        .ruling(&unanswered.after, goal, mv)
                        .is_some_and(Ruling::holds)
            })
        };
        while !open.is_empty() {
            let count = |u: &Unanswered| {
                let answer = u.best.line()[0];
                open.iter().filter(|o| falls(self.known, o, answer)).count()
            };
            // Listed defences are the author's own and come first.
            let first = open
                .iter()
                .enumerate()
                .max_by_key(|(i, u)| {
                    let longest = u.best.length().unwrap_or(0);
                    (u.listed.is_some(), count(u), longest, std::cmp::Reverse(*i))
                })
                .map_or(0, |(i, _)| i);
            let chosen = match goal.forced() {
                Some(_) => open.remove(first),
                // These are in order.
                None => open.remove(0),
            };
            let answer = chosen.best.line()[0];
            let (group, rest): (Vec<_>, Vec<_>) = open
                .into_iter()
                .partition(|u| u.listed.is_none() && falls(self.known, u, answer));
            open = rest;
            self.lay_out(node, goal, &chosen, &group);
        }
        if let (true, Some(last)) = (rest && self.lines.len() > before, self.lines.last_mut()) {
            last.rest = true;
        }
    }

    fn ask_all(&mut self, after: &Chess, goal: Goal, answers: &[Move]) {
        let legal = after.legal_moves();
        let mut missing: Vec<Move> = Vec::new();
        for answer in answers {
            if let Some(&mv) = legal.iter().find(|m| same_move(**m, *answer))
                && self.known.ruling(after, goal, mv).is_none()
                && !missing.contains(&mv)
            {
                missing.push(mv);
            }
        }
        if !missing.is_empty() {
            self.questions.push(Question::about(after, goal, &missing));
        }
    }

    fn lay_out(&mut self, node: NodeId, goal: Goal, chosen: &Unanswered, group: &[Unanswered]) {
        let puzzle = self.puzzle;
        let position = puzzle.position(node);
        let line = chosen.best.line();
        let plies = match goal {
            Goal::Best(_) => 1,
            _ => point::plies(&chosen.after, line, goal).max(1),
        };
        let line = &line[..plies];
        let others = group
            .iter()
            .map(|u| moves::line(position, &[u.defence], position.fullmoves().get()))
            .collect();
        let (at, sans, nags) = match chosen.listed {
            Some(defence) => {
                let first = puzzle.children(defence).is_empty();
                let nags = if first { Vec::new() } else { vec![1] };
                (defence, sans(&chosen.after, line), nags)
            }
            None => {
                let mut whole = vec![chosen.defence];
                whole.extend(line);
                (node, sans(position, &whole), Vec::new())
            }
        };
        self.lines.push(Line {
            at,
            sans,
            nags,
            answer: usize::from(chosen.listed.is_none()),
            others,
            rest: false,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trial::{draft, kinds};
    use crate::{Judge, Kind, Weight, check};
    use model::pgn_write;
    use model::tongue::Tongue;
    use prove::Unwatched;

    /// Fills until nothing is left to add where something is forced, else once.
    fn filled(text: &str) -> (Draft, usize) {
        let mut draft = draft(text);
        let (mut known, mut judge) = (Known::default(), Judge::new(1 << 20));
        check(&draft, &mut known, &mut judge, &mut Unwatched);
        let mut answered = 0;
        loop {
            let filling = fill(&Resolved::of(&draft), &known);
            for question in &filling.questions {
                known.learn(&judge.answer(question, &mut Unwatched));
            }
            if !filling.questions.is_empty() {
                continue;
            }
            answered += filling.answered;
            let Some(next) = filling.draft else { break };
            draft = next;
            let puzzle = Resolved::of(&draft).into_puzzle().unwrap();
            check(&draft, &mut known, &mut judge, &mut Unwatched);
            if Goal::of(&puzzle).forced().is_none() {
                break;
            }
        }
        (draft, answered)
    }

    fn movetext(draft: &Draft) -> String {
        let text = pgn_write::write(draft);
        let moves = text.split("\n\n").nth(1).expect("moves").to_owned();
        moves.split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Black can put bishop or rook in the way; the rook is left out.
    const LEFT_OUT: &str = "[FEN \"6k1/5ppp/3r4/8/8/7b/R7/R5K1 w - - 0 1\"]\n[Stipulation \"#3\"]\n\n1. Ra8+ Bc8 {First the bishop.} 2. Rxc8+ Rd8 3. Rxd8# *";

    #[test]
    fn a_left_out_defence_is_answered_after_the_authors_own() {
        let (draft, answered) = filled(LEFT_OUT);
        assert_eq!(answered, 1);
        let text = movetext(&draft);
        assert!(
            text.starts_with("1. Ra8+ Bc8 {First the bishop.} (1... Rd8 2. Rxd8#) 2. Rxc8+"),
            "{text}"
        );
        let mut known = Known::default();
        let report = check(&draft, &mut known, &mut Judge::new(1 << 20), &mut Unwatched);
        let faults = report.findings.iter().filter(|f| f.weight == Weight::Fault);
        assert_eq!(faults.count(), 0, "{:?}", report.findings);
    }

    /// After 1.Kg6 the rook mates on b8 whatever Black does.
    const NOTHING_LISTED: &str =
        "[FEN \"7k/p7/5K2/8/8/8/8/1R6 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Kg6 *";

    #[test]
    fn defences_that_fall_to_one_answer_share_a_line() {
        let (draft, answered) = filled(NOTHING_LISTED);
        assert_eq!(answered, 3);
        let text = movetext(&draft);
        assert!(text.contains("2. Rb8# {The same answers 1..."), "{text}");
        assert_eq!(text.matches("Rb8#").count(), 1, "{text}");
        let (again, none) = filled(&pgn_write::write(&draft));
        assert_eq!((movetext(&again), none), (text, 0));
    }

    #[test]
    fn another_language_gets_no_english_words() {
        let text = NOTHING_LISTED.replace("[Stip", "[Language \"de\"]\n[Stip");
        assert!(!movetext(&filled(&text).0).contains('{'));
    }

    #[test]
    fn words_are_made_in_the_tongue_that_is_spoken() {
        let german = Tongue::read("en\nde\nThe same answers {moves}.\nDasselbe: {moves}.\n");
        let text = NOTHING_LISTED.replace("[Stip", "[Language \"de-AT\"]\n[Stip");
        let told = movetext(&german.speaks(|| filled(&text)).0);
        assert!(told.contains("{Dasselbe: 1..."), "{told}");
    }

    #[test]
    fn a_win_is_filled_until_its_point_is_made() {
        let text =
            "[FEN \"6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Nf6+ *";
        let (draft, answered) = filled(text);
        // The king may go to f8, g7 and h8.
        assert_eq!(answered, 3, "{}", movetext(&draft));
        let text = movetext(&draft);
        assert!(
            text.starts_with("1. Nf6+ K") && text.contains("2. Nxd7 {The same answers"),
            "{text}"
        );
        let mut known = Known::default();
        let report = check(&draft, &mut known, &mut Judge::new(1 << 20), &mut Unwatched);
        assert!(!kinds(&report).contains(&Kind::UnfinishedSolution));
        assert!(!kinds(&report).contains(&Kind::RunsOn));
    }

    /// The knight forks king and rook, and the king has seven squares.
    #[test]
    fn of_many_defences_those_worth_asking_are_shown() {
        let text =
            "[FEN \"8/6p1/4k3/8/r7/3N2P1/6PP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Nc5+ *";
        let (draft, answered) = filled(text);
        let told = movetext(&draft);
        assert!(answered >= 1, "{told}");
        let shown = |draft: &Draft| {
            let resolved = Resolved::of(draft);
            let puzzle = resolved.puzzle().expect("a puzzle");
            let key = puzzle.children(NodeId::ROOT)[0];
            puzzle.with_role(key, Role::Defence).count()
        };
        assert!((1..=SHOWN).contains(&shown(&draft)), "{told}");
        assert!(told.contains("No other defence holds either."), "{told}");
        // Pressed again, it adds a line while there is room.
        let (again, _) = filled(&pgn_write::write(&draft));
        assert!((1..=SHOWN).contains(&shown(&again)), "{}", movetext(&again));
    }

    #[test]
    fn a_draft_that_is_no_puzzle_is_left_alone() {
        let filling = fill(&Resolved::of(&draft("1. e4 *")), &Known::default());
        assert!(filling.draft.is_none() && filling.questions.is_empty());
    }

    #[test]
    fn under_a_key_that_fails_nothing_is_filled() {
        let fails = "[FEN \"7k/p7/5K2/8/8/8/8/1R6 w - - 0 1\"]\n[Stipulation \"#2\"]\n\n1. Rb7 *";
        let draft = draft(fails);
        let (mut known, mut judge) = (Known::default(), Judge::new(1 << 20));
        let report = check(&draft, &mut known, &mut judge, &mut Unwatched);
        assert!(kinds(&report).contains(&Kind::NoSolution));
        let filling = fill(&Resolved::of(&draft), &known);
        assert!(filling.draft.is_none() && filling.questions.is_empty());
    }

    /// After 1...Kg7 the knight takes the queen; without it, Black has two pawns, and
    /// White a knight and three.
    #[test]
    fn a_defence_holds_out_better_the_less_it_loses_and_the_later() {
        let text =
            "[FEN \"8/3q1pkp/5N2/8/8/8/5PPP/6K1 w - - 0 1\"]\n[Stipulation \"+\"]\n\n1. Nxd7 h6 *";
        let puzzle = Resolved::of(&draft(text)).into_puzzle().unwrap();
        let line: Vec<Move> = draft(text)
            .walk()
            .iter()
            .map(|&id| puzzle.node(id).mv)
            .collect();
        let goal = Goal::of(&puzzle);
        let worth = |length| {
            let unanswered = Unanswered {
                defence: line[1],
                listed: None,
                after: puzzle.start().clone(),
                best: Ruling::Holds {
                    length,
                    line: line.clone(),
                    evidence: crate::Evidence::Proved,
                },
            };
            unanswered.worth(goal)
        };
        assert_eq!(worth(None), 3 + 3 - 2);
        assert!(worth(Some(1)) > worth(Some(2)) && worth(Some(2)) > worth(Some(25)));
        // No material is worth a mate: nine queens, and all pieces but those.
        assert!(worth(Some(25)) > 9 * 9 + 2 * 3 + 2 * 3 + 2 * 5);
    }
}
