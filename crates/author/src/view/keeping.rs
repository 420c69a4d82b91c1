//! Where the work lies: whether it is saved, and the backup.

use keyproof::tongue::tr;
use yew::prelude::*;

use super::{Link, button, contents, guide};
use crate::dom;
use desk::desk::Desk;
use desk::keeping::Stage;
use desk::message::{Msg, Part, StoreMsg};

/// Whether the work is saved, in a word.
pub fn word(desk: &Desk) -> &'static str {
    let saving = desk.saving();
    if saving.refused.is_some() {
        return tr("not saved in this browser");
    }
    match saving.stage {
        Stage::Loading(_) => tr("opening \u{2026}"),
        _ if desk.unsaved() => tr("saving \u{2026}"),
        _ if desk.work().sheets.is_empty() => "",
        _ => tr("saved in this browser"),
    }
}

/// The backup, folded.
pub fn backup(desk: &Desk, link: &Link) -> Html {
    let nothing = desk.work().sheets.is_empty();
    let onkeydown = Callback::from(|event: KeyboardEvent| {
        if event.key() == "Escape" {
            event.prevent_default();
            dom::fold("backup");
            dom::focus_soon("backup-head");
        }
    });
    html! {
        <details class="backup" id="backup" {onkeydown} onchange={Callback::from(|_| dom::fold("backup"))}>
            <summary id="backup-head">{ tr("Backup") }</summary>
            <div>
                <p>{ tr("Your puzzles lie in this browser on this machine, and nowhere else. A backup is one PGN file with all of them.") }</p>
                <span class="row">
                    { button(link, tr("Save a backup"), Msg::Store(StoreMsg::SaveBackup), nothing, "") }
                    { contents::open_file(link, tr("Bring a backup back \u{2026}")) }
                    { guide::about(link, Part::Backup, tr("Backup")) }
                </span>
            </div>
        </details>
    }
}
