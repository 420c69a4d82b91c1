//! Question that does not fit its puzzle: a choice without two to five moves or with
//! several right ones, a question about the first move where none is written, one that
//! a helpmate leaves no room for, a threat where none can be asked for, or a tag that asks
//! nothing known.

use super::survey::Turn;
use super::words::{Site, numbered};
use super::{Finding, Kind, Mend, Weight, threat};
use model::draft::{Edit, NodeId};
use model::puzzle::{Posed, Puzzle, Role};
use model::tongue::{say, tr};

pub fn find(puzzle: &Puzzle, turn: &Turn, found: &mut Vec<Finding>) {
    let Some(tag) = puzzle.tag(Posed::TAG) else {
        return;
    };
    let first = puzzle.children(NodeId::ROOT);
    let [fewest, most] = Posed::MOVES;
    let accepted: Vec<NodeId> = puzzle.accepted(NodeId::ROOT).collect();
    let mut mends = Vec::new();
    let message = match Posed::read(tag) {
        None => say!(
            "The tag Question has \"{text}\", which asks nothing known: it may say choice, yes or no, or threat.",
            text = tag,
        ),
        Some(Posed::Find) => return,
        Some(_) if turn.goal.shared() => {
            tr("In a helpmate both sides are played: there the moves are to be found.").to_owned()
        }
        Some(Posed::YesNo) => return,
        Some(Posed::Threat) => match threat::unfit(puzzle, turn) {
            Some(message) => message,
            None => return,
        },
        Some(Posed::Choice) if accepted.len() > 1 => {
            mends.extend(accepted[1..].iter().map(|&id| remove(puzzle, id)));
            say!(
                "{move} is right as well: of the moves to choose from one should be.",
                move = numbered(puzzle, turn.node, puzzle.node(accepted[1]).mv),
            )
        }
        Some(Posed::Choice) if first.len() < fewest => say!(
            "A choice needs {fewest} to {most} first moves, and there are {n}: write down the tries that tempt.",
            fewest = fewest.to_string(),
            most = most.to_string(),
            n = first.len().to_string(),
        ),
        Some(Posed::Choice) if first.len() > most => {
            let tries = first.iter().rev().copied();
            let tries = tries.filter(|&id| puzzle.node(id).role == Role::Try);
            mends.extend(tries.map(|id| remove(puzzle, id)));
            say!(
                "A choice takes {fewest} to {most} first moves, and there are {n}: leave some out.",
                fewest = fewest.to_string(),
                most = most.to_string(),
                n = first.len().to_string(),
            )
        }
        Some(Posed::Choice) => return,
    };
    mends.push(Mend {
        label: tr("Ask for the move instead").to_owned(),
        edits: vec![Edit::SetTag {
            name: Posed::TAG.to_owned(),
            value: None,
        }],
    });
    let site = Site {
        puzzle,
        node: turn.node,
        moves: &[],
        line: &[],
    };
    found.push(site.finding(Kind::UnfitQuestion, Weight::Fault, message, mends));
}

fn remove(puzzle: &Puzzle, id: NodeId) -> Mend {
    let san = numbered(puzzle, NodeId::ROOT, puzzle.node(id).mv);
    Mend {
        label: say!("Remove {move}", move = san),
        edits: vec![Edit::Remove { node: id }],
    }
}

#[cfg(test)]
mod tests {
    use crate::trial::{kinds, mended, report};
    use crate::{Kind, Report, Soundness};

    fn asks(question: &str, moves: &str) -> String {
        format!(
            "[FEN \"6k1/5ppp/8/8/8/8/8/R2R2K1 w - - 0 1\"]\n[Stipulation \"#1\"]\n[Question \"{question}\"]\n\n{moves} *"
        )
    }

    fn verdict(question: &str, moves: &str) -> (Vec<Kind>, Soundness) {
        let report = report(&asks(question, moves));
        (kinds(&report), report.verdict)
    }

    /// The other rook mates too, which nobody can choose.
    #[test]
    fn of_a_choice_only_what_is_offered_counts() {
        let sound = (vec![], Soundness::Sound);
        assert_eq!(verdict("choice", "1. Ra8# (1. Rd7 $2)"), sound);
        let cook = (vec![Kind::Cook], Soundness::Unsound);
        assert_eq!(verdict("move", "1. Ra8# (1. Rd7 $2)"), cook);
    }

    #[test]
    fn a_choice_has_one_right_move() {
        let two = "1. Ra8# (1. Rd8# $1) (1. Rd7 $2)";
        let unfit = (vec![Kind::UnfitQuestion], Soundness::Unsound);
        assert_eq!(verdict("choice", two), unfit);
        let mended = |mend| mended(&asks("choice", two), Kind::UnfitQuestion, mend).verdict;
        assert_eq!((mended(0), mended(1)), (Soundness::Sound, Soundness::Sound));
        let none = verdict("choice", "1. Rd7 $2 (1. Ra7 $2)");
        assert_eq!(none, (vec![Kind::UnfinishedSolution], Soundness::Unsound));
        let wrong = verdict("choice", "1. Rd7 (1. Ra7 $2)");
        assert_eq!(wrong, (vec![Kind::NoSolution], Soundness::Unsound));
    }

    #[test]
    fn a_choice_has_two_to_five_moves() {
        let unfit = (vec![Kind::UnfitQuestion], Soundness::Unsound);
        assert_eq!(verdict("choice", "1. Ra8#"), unfit);
        let five = "1. Ra8# (1. Rd7 $2) (1. Ra7 $2) (1. Rd6 $2) (1. Ra6 $2)";
        assert_eq!(verdict("choice", five).1, Soundness::Sound);
        let six = format!("{five} (1. Kf2 $2)");
        assert_eq!(verdict("choice", &six), unfit);
        let mended = mended(&asks("choice", &six), Kind::UnfitQuestion, 0);
        assert_eq!(mended.verdict, Soundness::Sound);
    }

    #[test]
    fn a_yes_or_no_is_about_the_first_move_and_must_be_proved() {
        let sound = (vec![], Soundness::Sound);
        assert_eq!(verdict("yes or no", "1. Ra8#"), sound);
        assert_eq!(verdict("yes or no", "1. Rd7 $2"), sound);
        let wrong = verdict("yes or no", "1. Rd8# $2");
        assert_eq!(wrong, (vec![Kind::WorkingTry], Soundness::Unsound));
        let wrong = verdict("yes or no", "1. Rd7");
        assert_eq!(wrong, (vec![Kind::NoSolution], Soundness::Unsound));
        let nothing = verdict("yes or no", "");
        assert_eq!(
            nothing,
            (vec![Kind::UnfinishedSolution], Soundness::Unsound)
        );
    }

    fn threat(fen: &str, stipulation: &str, moves: &str) -> Report {
        report(&format!(
            "[FEN \"{fen}\"]\n[Stipulation \"{stipulation}\"]\n[Question \"threat\"]\n\n{moves} *"
        ))
    }

    fn unfit(report: &Report) -> &str {
        let mut found = report.findings.iter();
        let found = found.find(|f| f.kind == Kind::UnfitQuestion);
        found.map_or("", |f| f.message.as_str())
    }

    /// The other rook's mate is another threat, a second man's on the same square is not,
    /// nor is it one to take the same man with another.
    #[test]
    fn every_way_to_carry_out_a_threat_is_right_and_other_threats_are_to_be_listed() {
        let rooks = "6k1/5ppp/8/8/8/8/8/R2R2K1 w - - 0 1";
        assert_eq!(kinds(&threat(rooks, "#1", "1. Ra8#")), [Kind::Cook]);
        assert_eq!(kinds(&threat(rooks, "#1", "1. Ra8# (1. Rd8# $1)")), []);
        let knights = "6k1/8/8/8/4n1n1/8/6PP/6RK b - - 0 1";
        assert_eq!(kinds(&threat(knights, "#1", "1... Nef2#")), []);
        let taken = "6k1/5ppp/8/3n4/2P5/8/5PPP/3R2K1 w - - 0 1";
        assert_eq!(kinds(&threat(taken, "gain 3 in 1", "1. cxd5")), []);
        let two = "6k1/5ppp/n7/3n4/2P5/8/R4PPP/6K1 w - - 0 1";
        let cook = threat(two, "gain 3 in 1", "1. cxd5");
        assert_eq!(kinds(&cook), [Kind::Cook]);
        assert_eq!(cook.findings[0].moves, ["a2a6"]);
    }

    #[test]
    fn of_a_threat_one_line_is_enough_and_it_ends_where_the_threat_stands() {
        let fork = "6k1/3q1p1p/8/3N4/8/8/5PPP/6K1 w - - 0 1";
        let whole = threat(fork, "gain 9 in 2", "1. Nf6+ Kg7 2. Nxd7");
        assert_eq!((whole.verdict, kinds(&whole)), (Soundness::Sound, vec![]));
        let cut = threat(fork, "gain 9 in 2", "1. Nf6+");
        assert_eq!(kinds(&cut), [Kind::UnfinishedSolution]);
        let wrong = threat(fork, "gain 9 in 2", "1. Nb6");
        assert!(
            kinds(&wrong).contains(&Kind::NoSolution),
            "{:?}",
            wrong.findings
        );
    }

    #[test]
    fn where_nobody_can_have_passed_it_is_said_and_where() {
        let checked = threat("6k1/5ppp/8/8/8/8/5PPP/R3r1K1 w - - 0 1", "#1", "1. Rxe1");
        assert_eq!(
            unfit(&checked),
            "White's king on g1 stands in check, so that Black cannot have been to move."
        );
        let in_check = threat("R5k1/5pp1/7p/8/8/8/5PPP/4R1K1 w - - 0 1", "#1", "1. Ree8#");
        assert_eq!(kinds(&in_check), [Kind::IllegalPosition]);
        let told = &in_check.findings[0].message;
        assert!(
            told.contains("g8") && told.contains("could not pass"),
            "{told}"
        );
        let stalemate = threat("7k/5Q2/8/8/8/8/8/R5K1 w - - 0 1", "#1", "1. Ra8#");
        assert!(unfit(&stalemate).contains("Black has no move"));
        let passing = threat(
            "4k3/8/8/3pP3/8/8/8/4K3 w - d6 0 1",
            "gain 1 in 1",
            "1. exd6",
        );
        assert!(unfit(&passing).contains("en passant on d6"));
        let vague = threat("6k1/5ppp/8/8/8/8/5PPP/R5K1 w - - 0 1", "+", "1. Ra8#");
        assert!(unfit(&vague).contains("a mate or a gain"));
    }

    /// The file has the side that threatens to move; the other way round is offered.
    #[test]
    fn whose_threat_it_is_can_be_turned_round() {
        let other = "[FEN \"6k1/5ppp/8/8/8/8/5PPP/R5K1 b - - 0 1\"]\n[Stipulation \"#1\"]\n[Question \"threat\"]\n\n";
        let begun = mended(&format!("{other}*"), Kind::UnfinishedSolution, 0);
        assert_eq!(kinds(&begun), [Kind::UnfinishedSolution]);
        assert!(begun.findings[0].mends[0].label.contains("Ra8"));
        let written = mended(&format!("{other}1. Ra8# *"), Kind::IllegalMove, 0);
        assert_eq!(written.verdict, Soundness::Sound, "{:?}", written.findings);
    }

    #[test]
    fn what_is_no_question_is_said() {
        let unfit = (vec![Kind::UnfitQuestion], Soundness::Unsound);
        assert_eq!(verdict("riddle", "1. Ra8# (1. Rd8# $1)"), unfit);
        let help = "[FEN \"8/6k1/8/6K1/6p1/7R/8/5N2 b - - 0 1\"]\n[Stipulation \"h#2\"]\n[Question \"choice\"]\n\n1... Kf8 (1... Kg8 $1 2. Kf6 Kf8 3. Rh8#) 2. Kf6 g3 3. Rh8# *";
        assert!(kinds(&report(help)).contains(&Kind::UnfitQuestion));
    }
}
