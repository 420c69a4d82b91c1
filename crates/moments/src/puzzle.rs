//! A puzzle made of a moment: the key and its line, tries and refutations, and
//! hints in the tongue that is spoken. What the author wrote at that place of the
//! game is kept and comes first; words of the program's own are put into the text
//! only where that was asked for ([`worded`]).

use model::resolved::Resolved;
use shakmaty::{Chess, Move, Position};

use super::{Moment, Side, Tempting, between};
use check::{self, Goal, Judge, Kind, Known, Report, Soundness, Weight, settled};
use explain::ReasonKind;
use model::draft::{Draft, Edit, NodeId};
use model::notation::{fen, moves};
use model::puzzle::Stipulation;
use model::tongue::{lettered, say, tr};
use prove::Watch;

/// A puzzle made of a moment, with what the checker says of it.
#[derive(Clone, Debug)]
pub struct Made {
    /// The puzzle.
    pub draft: Draft,
    /// What the checker says of it.
    pub report: Report,
}

/// Rounds of checking and mending.
const ROUNDS: usize = 12;

/// Tags that belong to a puzzle as such and are not taken over from a game.
const OWN: [&str; 8] = [
    "FEN",
    "SetUp",
    "Stipulation",
    "Margins",
    "Task",
    "Themes",
    "Difficulty",
    "Uniqueness",
];

/// Makes a puzzle of a moment of this game, without words but the author's own.
/// Defences that the solution does not meet yet are left to [`complete`].
pub fn puzzle(game: &Draft, moment: &Moment) -> Draft {
    written(game, moment, false)
}

/// The same with words for the author to rewrite: who played, what was threatened,
/// why the key works and what tempts.
pub fn worded(game: &Draft, moment: &Moment) -> Draft {
    written(game, moment, true)
}

fn written(game: &Draft, moment: &Moment, words: bool) -> Draft {
    let mut draft = Draft::new();
    let Ok(position) = fen::read(&moment.fen) else {
        return draft;
    };
    draft.result.clone_from(&game.result);
    for (name, value) in game.tags() {
        let own = OWN.contains(&name.as_str()) || name.starts_with("Hint");
        if !own {
            tag(&mut draft, name, value);
        }
    }
    apply(
        &mut draft,
        Edit::SetStart {
            fen: Some(moment.fen.clone()),
        },
    );
    let mut writer = Writer {
        game,
        moment,
        position: &position,
        draft,
    };
    writer.solution();
    writer.tries();
    writer.authors_lines();
    writer.words(words);
    writer.tags();
    writer.draft
}

/// Checks a puzzle made of a moment and mends what can be mended without the
/// author: defences that are not answered, lines that stop, right moves that
/// are not listed, a few that are neither right nor wrong.
pub fn complete(draft: Draft, known: &mut Known, judge: &mut Judge, watch: &mut dyn Watch) -> Made {
    let mut checker = Checker {
        known,
        judge,
        watch,
    };
    let mut made = checker.check(draft);
    for _ in 0..ROUNDS {
        if !checker.watch.go_on(checker.judge.nodes(), 0.0) {
            break;
        }
        let Some(mended) = mend(&made.draft, &made.report) else {
            break;
        };
        made = checker.check(mended);
    }
    made = checker.decided(made);
    // A line that never comes to its point may still have a best first move.
    if let Some(best) = as_best(&made) {
        let best = checker.check(best);
        let best = checker.decided(best);
        if best.report.verdict == Soundness::Sound {
            return best;
        }
    }
    made
}

/// Checks drafts one after another, adding to what is known.
struct Checker<'a> {
    known: &'a mut Known,
    judge: &'a mut Judge,
    watch: &'a mut dyn Watch,
}

impl Checker<'_> {
    fn check(&mut self, draft: Draft) -> Made {
        Made {
            report: check::check(&draft, self.known, self.judge, self.watch),
            draft,
        }
    }
    /// The puzzle with the student told of first moves that are neither right nor wrong,
    /// if it is sound then, also to who knows nothing of it: what lies near a margin is
    /// found on either side of it.
    fn decided(&mut self, made: Made) -> Made {
        if made.report.verdict != Soundness::Undecided {
            return made;
        }
        let fewer = between::without_accepted(&made.draft, self.known);
        let fewer = fewer.map(|draft| self.check(draft));
        let accepting = fewer.as_ref().unwrap_or(&made);
        let Some(told) = between::told(&accepting.draft, &accepting.report, self.known) else {
            return made;
        };
        let anew = check::check(&told, &mut Known::default(), self.judge, self.watch);
        let told = self.check(told);
        let sound = [anew.verdict, told.report.verdict] == [Soundness::Sound; 2];
        if sound { told } else { made }
    }
}

/// The same puzzle with the best move asked, be it instead of a win or draw, and
/// nothing after the accepted moves; `None` where only the first move is at
/// fault.
fn as_best(made: &Made) -> Option<Draft> {
    let asked = Stipulation::read(made.draft.tag("Stipulation")?)?;
    let open = |f: &check::Finding| f.weight != Weight::Remark;
    let later = made
        .report
        .findings
        .iter()
        .filter(|f| open(f))
        .any(|f| f.node != NodeId::ROOT);
    if asked.forced().is_some() || !later {
        return None;
    }
    let mut draft = made.draft.clone();
    if asked != Stipulation::Best {
        tag(&mut draft, "Stipulation", &Stipulation::Best.to_string());
        draft.set_tag("Task", None);
        draft.set_tag("Margins", None);
    }
    for &child in &made.draft.node(NodeId::ROOT)?.children {
        if !made.draft.node(child)?.is_poor() {
            apply(&mut draft, Edit::RemoveAfter { node: child });
        }
    }
    Some(draft)
}

/// The draft with what [`complete`] would mend at once; `None` where there is
/// nothing of that kind.
pub fn mend(draft: &Draft, report: &Report) -> Option<Draft> {
    if report.verdict == Soundness::Sound {
        return None;
    }
    let mut mended = draft.clone();
    let mut changed = false;
    for finding in &report.findings {
        let ours = matches!(
            finding.kind,
            Kind::Cook | Kind::UnansweredDefence | Kind::UnfinishedSolution
        );
        if finding.weight != Weight::Fault || !ours {
            continue;
        }
        let Some(mend) = finding.mends.first() else {
            continue;
        };
        let mut next = mended.clone();
        if mend.edits.iter().all(|edit| next.apply(edit).is_ok()) {
            changed |= next != mended;
            mended = next;
        }
    }
    changed.then(|| cut_short(mended))
}

/// The draft with nothing on its main line behind the move that makes the
/// point of a win or draw.
fn cut_short(mut draft: Draft) -> Draft {
    let asked = draft.tag("Stipulation").and_then(Stipulation::read);
    let Some(asked @ (Stipulation::Win | Stipulation::Draw)) = asked else {
        return draft;
    };
    let resolved = Resolved::of(&draft);
    let Ok(start) = resolved.start() else {
        return draft;
    };
    let nodes = &resolved.main_line()[1..];
    let line: Vec<Move> = nodes
        .iter()
        .filter_map(|&id| Some(resolved.step(id)?.mv))
        .collect();
    let Some(end) = point(start, &line, asked) else {
        return draft;
    };
    let says_more = |id: &NodeId| draft.node(*id).is_some_and(|n| !n.after.is_empty());
    if !nodes[end..].iter().any(says_more) {
        apply(
            &mut draft,
            Edit::RemoveAfter {
                node: nodes[end - 1],
            },
        );
    }
    draft
}

struct Writer<'a> {
    game: &'a Draft,
    moment: &'a Moment,
    position: &'a Chess,
    draft: Draft,
}

impl Writer<'_> {
    /// The accepted moves: the first with its line as far as it has a point to
    /// make.
    fn solution(&mut self) {
        let stipulation = Stipulation::read(&self.moment.stipulation);
        for (i, accepted) in self.moment.accepted.iter().enumerate() {
            let full = moves::read_ucis(self.position, &accepted.line);
            let shown = match stipulation {
                Some(asked @ (Stipulation::Win | Stipulation::Draw)) => {
                    to_its_point(self.position, &full, asked)
                }
                Some(Stipulation::Best) => &full[..full.len().min(1)],
                _ => &full,
            };
            let nags: &[u8] = if i == 0 { &[] } else { &[1] };
            self.add_line(shown, nags);
        }
        tag(&mut self.draft, "Stipulation", &self.moment.stipulation);
        if let Some(margins) = &self.moment.margins {
            tag(&mut self.draft, "Margins", margins);
        }
    }

    /// The natural moves that fail, each with the reply that refutes it.
    fn tries(&mut self) {
        for attempt in &self.moment.study.tries {
            let shown = moves::read_ucis(self.position, &attempt.line);
            self.add_line(&shown[..shown.len().min(2)], &[mark(attempt)]);
        }
    }

    /// What the author wrote at this place: marks and words of the move that
    /// was played, and his other moves with all that follows them.
    fn authors_lines(&mut self) {
        let Some(here) = self.game.node(self.moment.node) else {
            return;
        };
        let resolution = self.game.resolve();
        for (i, &child) in here.children.iter().enumerate() {
            let Some(step) = resolution.steps[child.0 as usize].as_ref() else {
                continue;
            };
            let listed = self.child(step.mv);
            // A move of the game that nothing is claimed of stays out: the
            // game has it.
            if i == 0 && listed.is_none() {
                continue;
            }
            let below = self.copy(child, NodeId::ROOT);
            if i > 0 {
                if listed.is_none() {
                    self.set_marks(below, step.mv);
                }
                let mut todo = vec![(child, below)];
                while let Some((from, to)) = todo.pop() {
                    let children = self.game.node(from).map_or(&[][..], |n| &n.children);
                    for &next in children {
                        todo.push((next, self.copy(next, to)));
                    }
                }
            }
        }
    }

    /// Copies one move of the game below a node of the puzzle, with its marks
    /// and words, and names the copy.
    fn copy(&mut self, from: NodeId, to: NodeId) -> NodeId {
        let Some(node) = self.game.node(from).cloned() else {
            return to;
        };
        let at = apply(
            &mut self.draft,
            Edit::AddLine {
                at: to,
                moves: vec![node.text.clone()],
                nags: node.nags.clone(),
            },
        );
        if let Some(copy) = self.draft.node(at) {
            let mut before = node.before.clone();
            before.extend(copy.before.clone());
            let mut after = node.after.clone();
            after.extend(copy.after.clone());
            apply(
                &mut self.draft,
                Edit::SetBefore {
                    node: at,
                    comments: before,
                },
            );
            apply(
                &mut self.draft,
                Edit::SetAfter {
                    node: at,
                    comments: after,
                },
            );
        }
        at
    }

    /// The mark that says what the author's side move is, where he set none:
    /// right if it is among the accepted ones, else a try.
    fn set_marks(&mut self, node: NodeId, mv: Move) {
        let nags = self.draft.node(node).map_or(Vec::new(), |n| n.nags.clone());
        let undecided = self
            .moment
            .open
            .iter()
            .any(|open| open.uci == moves::uci(mv));
        if undecided || nags.iter().any(|nag| (1..=9).contains(nag)) {
            return;
        }
        let mut marked = nags;
        marked.push(2);
        apply(&mut self.draft, Edit::SetNags { node, nags: marked });
    }

    /// The author's words at the moment; with `own` the program's first words too,
    /// and those at key and tries.
    fn words(&mut self, own: bool) {
        let mut first = self
            .game
            .node(self.moment.node)
            .map_or(Vec::new(), |n| n.after.clone());
        if own {
            first.push(self.first_words());
        }
        apply(
            &mut self.draft,
            Edit::SetAfter {
                node: NodeId::ROOT,
                comments: first,
            },
        );
        if !own {
            return;
        }

        if let Some(key) = self.accepted(0) {
            let mut why: Vec<String> = self
                .moment
                .study
                .reasons
                .iter()
                .filter(|why| !matches!(why.kind, ReasonKind::QuietMove | ReasonKind::OnlyMove))
                .take(2)
                .map(|why| why.sentence.clone())
                .collect();
            let line = moves::read_ucis(self.position, &self.moment.accepted[0].line);
            let alone = self.draft.node(key).is_some_and(|n| n.children.is_empty());
            if let [key, rest @ ..] = &line[..]
                && alone
                && why.is_empty()
                && !rest.is_empty()
                && !self.moment.played.right
            {
                let mut after = self.position.clone();
                after.play_unchecked(*key);
                let number = u32::from(after.fullmoves());
                let text = moves::line(&after, &rest[..rest.len().min(4)], number);
                why.push(say!("It goes on {line}.", line = text));
            }
            self.add_words(key, why);
        }
        for attempt in &self.moment.study.tries {
            let mv = moves::read_uci(self.position, &attempt.named.uci);
            if let Some(node) = mv.and_then(|mv| self.child(mv)) {
                self.add_words(node, vec![self.tempting(attempt)]);
            }
        }
    }

    /// "Fennimore, Oda – Brill, Tomas, after 23...Kh8."
    fn first_words(&self) -> String {
        let players = [self.game.tag("White"), self.game.tag("Black")];
        let players = match players {
            [Some(white), Some(black)] if white != "?" && black != "?" => {
                format!("{white} – {black}")
            }
            _ => tr("From a game").to_owned(),
        };
        let last = self
            .game
            .node(self.moment.node)
            .filter(|_| self.moment.node != NodeId::ROOT);
        let mut text = match last {
            Some(node) => {
                let (number, dots) = match self.moment.turn {
                    Side::White => (self.moment.number.saturating_sub(1), "..."),
                    Side::Black => (self.moment.number, "."),
                };
                let last = format!("{number}{dots}{}", lettered(&node.text));
                say!("{players}, after {move}.", players = players, move = last)
            }
            None => format!("{players}."),
        };
        if let Some(threat) = self.moment.study.threats.first() {
            text.push(' ');
            text.push_str(&say!("The threat: {threat}", threat = threat.sentence));
        }
        text
    }

    /// "Played in the game. 23.Rxb7 loses a rook: 23...Qd1+ 24.Kh2 Qxb7."
    fn tempting(&self, attempt: &Tempting) -> String {
        match attempt.played {
            true => say!(
                "Played in the game. {sentence}",
                sentence = attempt.sentence
            ),
            false => attempt.sentence.clone(),
        }
    }

    fn tags(&mut self) {
        let mut themes: Vec<&str> = Vec::new();
        for why in &self.moment.study.reasons {
            let theme = why.kind.is_theme() && !themes.contains(&why.kind.title());
            if theme && themes.len() < 3 {
                themes.push(why.kind.title());
            }
        }
        if !themes.is_empty() {
            tag(&mut self.draft, "Themes", &themes.join("; "));
        }
        tag(
            &mut self.draft,
            "Difficulty",
            &self.moment.study.difficulty.level.to_string(),
        );
        for (i, hint) in self.hints().into_iter().enumerate() {
            tag(&mut self.draft, &format!("Hint{}", i + 1), &hint);
        }
    }

    fn hints(&self) -> Vec<String> {
        let key = moves::read_uci(self.position, &self.moment.accepted[0].named.uci);
        let mut ideas = self.moment.study.reasons.iter().filter(|why| why.at == 0);
        let idea = ideas.find(|why| why.kind.is_theme() && why.kind != ReasonKind::QuietMove);
        key.map_or(vec![], |key| {
            hints(self.position, key, idea.map(|why| why.kind.title()))
        })
    }

    fn add_line(&mut self, line: &[Move], nags: &[u8]) {
        let mut at = self.position.clone();
        let mut texts = Vec::new();
        for &mv in line {
            texts.push(moves::san(&at, mv));
            at.play_unchecked(mv);
        }
        let edit = Edit::AddLine {
            at: NodeId::ROOT,
            moves: texts,
            nags: nags.to_vec(),
        };
        apply(&mut self.draft, edit);
    }

    fn add_words(&mut self, node: NodeId, more: Vec<String>) {
        if let Some(there) = self.draft.node(node) {
            let mut comments = there.after.clone();
            comments.extend(Some(more.join(" ")).filter(|text| !text.is_empty()));
            apply(&mut self.draft, Edit::SetAfter { node, comments });
        }
    }

    fn accepted(&self, index: usize) -> Option<NodeId> {
        let mv = moves::read_uci(self.position, &self.moment.accepted.get(index)?.named.uci)?;
        self.child(mv)
    }

    /// The first move of the puzzle that plays this move.
    fn child(&self, mv: Move) -> Option<NodeId> {
        let root = self.draft.node(NodeId::ROOT)?;
        let plays = |id: &&NodeId| {
            self.draft
                .node(**id)
                .is_some_and(|n| moves::read(self.position, &n.text) == Ok(mv))
        };
        root.children.iter().find(plays).copied()
    }
}

/// The line up to the first move of the solver after which its point is made,
/// else a few moves of it, which the checker's mends go on with.
fn to_its_point<'a>(position: &Chess, line: &'a [Move], asked: Stipulation) -> &'a [Move] {
    let end = point(position, line, asked);
    &line[..end.unwrap_or(line.len().min(3).div_ceil(2) * 2 - 1)]
}

/// How many plies of a line it takes until its point is made.
fn point(position: &Chess, line: &[Move], asked: Stipulation) -> Option<usize> {
    let margins = asked.margins();
    let goal = match asked {
        Stipulation::Win => Goal::Win(margins),
        _ => Goal::Draw(margins),
    };
    let mut at = position.clone();
    line.iter().enumerate().find_map(|(i, &mv)| {
        at.play_unchecked(mv);
        (i % 2 == 0 && (at.is_game_over() || settled(&at, goal))).then_some(i + 1)
    })
}

/// `??` where a try loses, `?` where it only fails.
fn mark(attempt: &Tempting) -> u8 {
    let loses = attempt.value.is_some_and(|v| v <= -200);
    if loses { 4 } else { 2 }
}

fn apply(draft: &mut Draft, edit: Edit) -> NodeId {
    draft.apply(&edit).unwrap_or(NodeId::ROOT)
}

fn tag(draft: &mut Draft, name: &str, value: &str) {
    let edit = Edit::SetTag {
        name: name.to_owned(),
        value: Some(value.to_owned()),
    };
    apply(draft, edit);
}

/// Hints to a key, each telling more than the one before: the idea by its name, or where to
/// look for it, unless that is one move alone; which man moves; and where it goes. In the
/// language that is spoken.
pub fn hints(position: &Chess, key: Move, idea: Option<&str>) -> Vec<String> {
    let check = |mv: Move| position.clone().play(mv).is_ok_and(|at| at.is_check());
    let legal = position.legal_moves();
    let several = |fits: &dyn Fn(Move) -> bool| legal.iter().filter(|mv| fits(**mv)).count() > 1;
    let look = match idea {
        Some(idea) => Some(say!("The idea: {theme}.", theme = idea)),
        None if check(key) => several(&check).then(|| tr("Look at the checks.").to_owned()),
        None if key.is_capture() => {
            several(&|mv| mv.is_capture()).then(|| tr("Look at what may be taken.").to_owned())
        }
        None => Some(tr("Neither a check nor a capture.").to_owned()),
    };
    let mut hints = Vec::from_iter(look);
    if key.is_castle() {
        hints.push(tr("The king and a rook move together.").to_owned());
    } else {
        hints.push(of_the_man(key.role()).to_owned());
        let square = key.to().to_string();
        hints.push(say!("It goes to {square}.", square = square));
    }
    hints
}

fn of_the_man(role: shakmaty::Role) -> &'static str {
    match role {
        shakmaty::Role::Pawn => tr("It is a pawn move."),
        shakmaty::Role::Knight => tr("It is a knight move."),
        shakmaty::Role::Bishop => tr("It is a bishop move."),
        shakmaty::Role::Rook => tr("It is a rook move."),
        shakmaty::Role::Queen => tr("It is a queen move."),
        shakmaty::Role::King => tr("It is a king move."),
    }
}
