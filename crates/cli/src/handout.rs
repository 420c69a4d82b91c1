//! `keyproof handout`: puzzles to print.

use keyproof::handout::{PerPage, handout};
use keyproof::resolved::Resolved;
use keyproof::tongue::Tongue;

use crate::arguments::Handout;
use crate::input;
use crate::output::{self, Outcome, Trouble, counted};
use crate::publish::{judge_all, refused};

/// Writes the puzzles of a file, those of a lesson included, as printable HTML.
pub fn run(task: &Handout) -> Result<Outcome, Trouble> {
    let mut input = input::read(std::slice::from_ref(&task.file));
    let puzzles = input.puzzles();
    if !input.faults.is_empty() {
        return Err(Trouble::Input(input.faults.join("\n")));
    }
    if task.output == task.file {
        return Err(Trouble::Input(
            "the handout would overwrite the puzzles: choose another -o".into(),
        ));
    }
    let judged = judge_all(&puzzles, task.effort.nodes, task.unchecked)?;
    if refused(&puzzles, &judged, task.unsound, &task.output)? {
        return Ok(Outcome::Unsound);
    }
    let posed = puzzles.iter().map(|entry| Resolved::of(&entry.game.draft));
    let posed: Vec<Resolved> = posed.collect();
    let drafts: Vec<&Resolved> = posed.iter().collect();
    let name = task
        .file
        .file_stem()
        .map(|name| name.to_string_lossy().into_owned());
    let title = task.title.clone().or(name).unwrap_or_default();
    let language = drafts
        .first()
        .and_then(|d| d.draft().tag("Language"))
        .unwrap_or("en");
    let per_page = PerPage::of(task.per_page).expect("clap allows 2, 4 and 6 alone");
    let tongue = drafts
        .first()
        .map_or(Tongue::ENGLISH, |d| keyproof_tongues::of_game(d.draft()));
    let (html, left_out) = tongue.speaks(|| handout(&title, language, &drafts, per_page));
    std::fs::write(&task.output, html)
        .map_err(|e| Trouble::Input(format!("{}: {e}", task.output.display())))?;
    for i in &left_out {
        output::complain(&format!(
            "puzzle {} is none yet, and left out: check it",
            i + 1
        ));
    }
    let written = counted(drafts.len() - left_out.len(), "puzzle");
    eprintln!("{}: {written}", task.output.display());
    Ok(match left_out.is_empty() {
        true => Outcome::Sound,
        false => Outcome::Unsound,
    })
}
