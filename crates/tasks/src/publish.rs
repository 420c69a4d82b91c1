//! The student's file.

use keyproof::check::Soundness;
use keyproof::course::{Course, Standard};
use keyproof::explain::Explanation;
use keyproof::publish::{self, Item, page_of_games, with_certificates};
use keyproof::resolved::Resolved;

use crate::certificate::certificate_of;
use crate::entry::{Entry, puzzles, read_pgn};
use crate::judge::{How, Judged, explain, judge};
use crate::means::Means;
use crate::row::Row;
use crate::trouble::Trouble;

/// The student's page, if it was built before this crate.
const STUDENT_PAGE: Option<&str> = include!(concat!(env!("OUT_DIR"), "/student_page.rs"));

/// How puzzles are published.
#[derive(Clone, Debug, Default)]
pub struct PublishOptions {
    /// Title of the page; else that of the only game, or "Puzzles".
    pub title: Option<String>,
    /// Whether the page carries a certificate of each puzzle's first moves.
    pub certificates: bool,
    /// Whether to make the element `<keyproof-lesson>` for a page that loads
    /// keyproof-lesson.js, rather than a page of its own.
    pub element: bool,
    /// A package for a course, if asked for.
    pub course: Option<CourseOptions>,
    /// Whether to give out puzzles that are not proved sound.
    pub unsound: bool,
    /// Whether nothing is to be checked a second time.
    pub unchecked: bool,
    /// Nodes that may be spent on one question; none: no bound.
    pub nodes: Option<u64>,
}

/// A package for a course.
#[derive(Clone, Copy, Debug)]
pub struct CourseOptions {
    /// The standard it follows.
    pub standard: Standard,
    /// The score, in per cent, from which the lesson is passed.
    pub pass: Option<u8>,
}

/// What is given out.
#[derive(Clone, Debug)]
pub enum Published {
    /// A page, or an element of one.
    Page(String),
    /// A zip file.
    Package(Vec<u8>),
}

impl Published {
    /// As a file holds it.
    pub fn into_bytes(self) -> Vec<u8> {
        match self {
            Published::Page(page) => page.into_bytes(),
            Published::Package(bytes) => bytes,
        }
    }
}

/// The student's page that published files are made from.
///
/// # Errors
/// If it was not built before this program.
pub fn student_page() -> Result<&'static str, Trouble> {
    STUDENT_PAGE.ok_or_else(|| {
        Trouble::Input(
            "this program was built without the student's page: run `cargo xtask build`, and use what it puts into dist/".into(),
        )
    })
}

/// Checks the puzzles of a PGN text and makes the student's file of them.
///
/// # Errors
/// If something cannot be read, or a puzzle is not sound (or, where that is allowed, cannot
/// be played): [`Trouble::Refused`].
pub fn publish(pgn: &str, options: &PublishOptions, means: &Means) -> Result<Published, Trouble> {
    contradiction(options).map_or(Ok(()), |fault| Err(Trouble::Input(fault.to_owned())))?;
    let games = read_pgn(pgn, "")?;
    let puzzles = puzzles(&games)?;
    let how = How {
        nodes: options.nodes,
        unchecked: options.unchecked,
    };
    let judged = judge_all(&puzzles, how, means)?;
    let refused: Vec<Row> = std::iter::zip(&puzzles, &judged)
        .filter(|(entry, judged)| {
            let playable = Resolved::of(&entry.game.draft).puzzle().is_ok();
            !playable || !(options.unsound || judged.report.verdict == Soundness::Sound)
        })
        .map(|(entry, judged)| Row::new(entry, &judged.report))
        .collect();
    if !refused.is_empty() {
        return Err(Trouble::Refused(refused));
    }
    publish_judged(&games, &puzzles, &judged, options, means)
}

/// What in the options cannot be had together.
fn contradiction(options: &PublishOptions) -> Option<&'static str> {
    if options.element && options.course.is_some() {
        return Some("an element is no package for a course: ask for one of the two");
    }
    if options.element && options.certificates {
        return Some("an element carries no certificates");
    }
    let pass = options.course.and_then(|course| course.pass);
    match pass {
        Some(0 | 101..) => Some("a course is passed from a score of 1 to 100 per cent"),
        _ => None,
    }
}

/// Judges puzzles, in their order.
///
/// # Errors
/// If it is stopped.
pub fn judge_all(entries: &[Entry], how: How, means: &Means) -> Result<Vec<Judged>, Trouble> {
    let each = means.shared(entries.len());
    means.all(entries, |entry| judge(&entry.game, how, &each))
}

/// Makes the student's file of games whose puzzles were judged.
///
/// # Errors
/// If it was stopped, or a certificate is refused.
pub fn publish_judged(
    games: &[Entry],
    puzzles: &[Entry],
    judged: &[Judged],
    options: &PublishOptions,
    means: &Means,
) -> Result<Published, Trouble> {
    let explanations = explain_all(puzzles, judged, means)?;
    let resolved = |entries: &[Entry]| -> Vec<Resolved> {
        let drafts = entries.iter().map(|entry| &entry.game.draft);
        drafts.map(Resolved::of).collect()
    };
    let (posed, texts) = (resolved(puzzles), resolved(games));
    let items: Vec<Item> = std::iter::zip(&posed, judged)
        .zip(&explanations)
        .map(|((resolved, judged), explanation)| Item {
            resolved,
            known: &judged.known,
            explanation: explanation.as_ref(),
        })
        .collect();
    let texts: Vec<&Resolved> = texts.iter().collect();
    let title = title(options, games);
    let first = texts[0].draft();
    let language = first.tag("Language").unwrap_or("en");
    let page = keyproof_tongues::of_game(first).speaks(|| {
        let page = match options.element {
            true => publish::element(&texts, &items),
            false => page_of_games(student_page()?, &title, language, &texts, &items)
                .map_err(Trouble::Input)?,
        };
        match options.certificates {
            true => certified(&page, puzzles, judged),
            false => Ok(page),
        }
    })?;
    let Some(asked) = options.course else {
        return Ok(Published::Page(page));
    };
    let course = Course {
        page: &page,
        title: &title,
        language,
        pass: asked.pass,
    };
    let package = course.package(asked.standard).map_err(Trouble::Input)?;
    Ok(Published::Package(package))
}

/// The page with a certificate of every puzzle that claims a mate.
fn certified(page: &str, entries: &[Entry], judged: &[Judged]) -> Result<String, Trouble> {
    let (mut texts, mut positions) = (Vec::new(), 0);
    for (entry, judged) in std::iter::zip(entries, judged) {
        let of_puzzle = certificate_of(entry, &judged.heard);
        let place = |sentence| Trouble::Input(format!("{}: {sentence}", entry.title()));
        if let Some(certified) = of_puzzle.map_err(place)? {
            texts.push(certified.text);
            positions += certified.positions;
        }
    }
    Ok(match texts.is_empty() {
        true => page.to_owned(),
        false => with_certificates(page, &texts.join("\n"), positions),
    })
}

fn explain_all(
    entries: &[Entry],
    judged: &[Judged],
    means: &Means,
) -> Result<Vec<Option<Explanation>>, Trouble> {
    let jobs: Vec<_> = std::iter::zip(entries, judged).collect();
    means.all(&jobs, |(entry, judged)| {
        explain(&entry.game, &judged.known, means)
    })
}

fn title(options: &PublishOptions, games: &[Entry]) -> String {
    let own = match games {
        [only] => only.tags_title(),
        _ => None,
    };
    let title = options.title.clone().or(own);
    title.unwrap_or_else(|| "Puzzles".into())
}
