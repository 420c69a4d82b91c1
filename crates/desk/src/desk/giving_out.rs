//! What is given out: the student's file, PGN and EPD, handouts; and the
//! preview.

use keyproof::resolved::Resolved;
use std::collections::HashSet;
use std::rc::Rc;

use keyproof::check::Second;
use keyproof::course::{Course, Standard};
use keyproof::handout::{PerPage, handout};
use keyproof::lesson::{self, excerpts};
use keyproof::notation::{epd, pgn_write};
use keyproof::pdf;
use keyproof::publish::{self, Item};
use keyproof::tongue::{Tongue, marked, phrase, plural, say, tr};

use super::picture::Picturing;
use super::posed::Posed;
use super::preview::PreviewPane;
use super::second::Proofs;
use super::{Desk, because};
use crate::message::{Effect, GiveOutMsg, Purpose, Scope};
use crate::names::{Name, list, named, said, stem};
use crate::shelf::SheetStatus;
use crate::work::{SheetId, title, told};

/// What is being given out, and the student's page beside the work.
#[derive(Default)]
pub(super) struct GivingOut {
    /// An export that waits for a second, deliberate press, and why.
    pub held: Option<(Purpose, Vec<String>)>,
    pub preparing: Option<Purpose>,
    /// A student's page that waits for its reasons.
    pub waiting: Option<(Purpose, Result<String, String>)>,
    pub with_proofs: bool,
    /// What several puzzles given out together are called.
    pub set_title: String,
    /// Diagrams on each page that is printed, once chosen.
    pub per_page: Option<u8>,
    pub preview: Option<Rc<str>>,
    pub preview_pane: PreviewPane,
    pub picturing: Picturing,
}

impl Desk {
    /// The export that waits for a deliberate press, and why it does.
    pub fn held(&self) -> Option<(Purpose, &[String])> {
        self.giving_out
            .held
            .as_ref()
            .map(|(scope, why)| (*scope, why.as_slice()))
    }
    pub fn preparing(&self) -> Option<Purpose> {
        self.giving_out.preparing
    }
    /// How many diagrams a page to print has: 2, 4 or 6.
    pub fn per_page(&self) -> u8 {
        self.giving_out.per_page.unwrap_or(4)
    }
    /// What several puzzles given out together are called, as it is typed.
    pub fn set_title(&self) -> &str {
        &self.giving_out.set_title
    }
    /// The same, where it was said.
    fn title_of_set(&self) -> Option<String> {
        let title = self.giving_out.set_title.trim();
        (!title.is_empty()).then(|| title.to_owned())
    }
    pub fn preview(&self) -> Option<&Rc<str>> {
        self.giving_out.preview.as_ref()
    }

    pub(super) fn update_give_out(&mut self, msg: GiveOutMsg) -> Vec<Effect> {
        match msg {
            GiveOutMsg::Publish(scope) => self.publish(Purpose::File(scope), false),
            GiveOutMsg::PublishAllTheSame(purpose) => self.publish(purpose, true),
            GiveOutMsg::WithoutReasons => self.fill_without_reasons(),
            GiveOutMsg::GiveUpFile => {
                self.giving_out.waiting = None;
                self.giving_out.preparing = None;
                vec![]
            }
            GiveOutMsg::SetTitle(title) => {
                self.giving_out.set_title = title;
                vec![]
            }
            GiveOutMsg::WithProofs(with) => {
                self.giving_out.with_proofs = with;
                self.giving_out.held = None;
                self.assign_second()
            }
            GiveOutMsg::Preview => self.fetch(Purpose::Preview),
            GiveOutMsg::PreviewEnd => {
                self.giving_out.preview = None;
                vec![Effect::Focus("preview-open")]
            }
            GiveOutMsg::PreviewDue(token) => self.preview_due(token),
            GiveOutMsg::PreviewWidth(width) => {
                self.giving_out.preview_pane.width = width;
                vec![]
            }
            GiveOutMsg::Point(finding) => {
                self.giving_out.preview_pane.pointed = finding;
                vec![]
            }
            GiveOutMsg::Template { purpose, template } => self.fill(purpose, template),
            GiveOutMsg::SavePgn(scope) => self.save_pgn(scope),
            GiveOutMsg::SaveEpd(scope) => self.save_epd(scope),
            GiveOutMsg::SaveHandout(scope, per_page) => {
                self.publish(Purpose::Handout(scope, per_page), false)
            }
            GiveOutMsg::SavePdf(scope, per_page) => {
                self.publish(Purpose::Pdf(scope, per_page), false)
            }
            GiveOutMsg::PrintHandout(scope, per_page) => {
                self.publish(Purpose::Print(scope, per_page), false)
            }
            GiveOutMsg::PerPage(per_page) => {
                self.giving_out.per_page = Some(per_page);
                vec![]
            }
            GiveOutMsg::SaveCourse(scope, standard) => {
                self.publish(Purpose::Course(scope, standard), false)
            }
            GiveOutMsg::CopyFen => self.board_fen().map(Effect::Copy).into_iter().collect(),
            GiveOutMsg::Picture(change) => self.picture(change),
            GiveOutMsg::CopyFrame => vec![Effect::Copy(self.frame())],
            GiveOutMsg::Copied { text, result } => self.copied(text, result),
            GiveOutMsg::NotDownloaded { name, why } => self.not_downloaded(name, why),
        }
    }
    fn copied(&mut self, text: String, result: Result<(), String>) -> Vec<Effect> {
        match result {
            Ok(()) => {
                let told = move || say!("This is on the clipboard: {text}", text = text);
                self.tell(told, Vec::new);
            }
            Err(why) => {
                let told = move || {
                    say!(
                        "The browser would not copy ({why}). This was to be copied: {text}",
                        why = marked(&why),
                        text = text,
                    )
                };
                self.warn(told, Vec::new);
            }
        }
        vec![]
    }
    fn not_downloaded(&mut self, name: String, why: String) -> Vec<Effect> {
        let text = move || {
            say!(
                "The browser would not save {name} ({why}).",
                name = name,
                why = marked(&why),
            )
        };
        self.warn(text, Vec::new);
        vec![]
    }
}

impl Desk {
    pub(super) fn scope(&self, scope: Scope) -> Vec<SheetId> {
        match scope {
            Scope::Open => self.document.work.open.into_iter().collect(),
            Scope::All => self.document.work.sheets.iter().map(|s| s.id).collect(),
            Scope::Missed => self.sheets_again(),
            Scope::Chosen => {
                let chosen = self.document.work.sheets.iter().map(|s| s.id);
                chosen
                    .filter(|id| self.list.shelf.chosen.contains(id))
                    .collect()
            }
        }
    }
    pub(super) fn name(&self, id: SheetId) -> String {
        let place = self.document.work.place(id);
        place.map_or_else(String::new, |place| {
            named(&self.document.work.sheets[place], place)
        })
    }
    /// What a sheet is called now, to be said in any language.
    pub(super) fn name_of(&self, id: SheetId) -> Option<Name> {
        let place = self.document.work.place(id)?;
        Some(Name::of(&self.document.work.sheets[place], place))
    }
    pub(super) fn publish(&mut self, purpose: Purpose, deliberate: bool) -> Vec<Effect> {
        let ids = self.scope(purpose.scope());
        if ids.is_empty() {
            return vec![];
        }
        self.hold(&ids);
        let Some(why) = self.reservations(&ids) else {
            return vec![];
        };
        if !why.is_empty() && !deliberate {
            self.giving_out.held = Some((purpose, why));
            return vec![];
        }
        self.giving_out.held = None;
        match purpose {
            Purpose::Handout(scope, per_page) => {
                let name = format!("{}-handout.html", self.file_stem(scope));
                let kind = "text/html";
                let page = self.handout(scope, per_page).into_iter();
                page.map(|text| Effect::Download {
                    name: name.clone(),
                    kind,
                    text,
                })
                .collect()
            }
            Purpose::Pdf(scope, per_page) => self.save_pdf(scope, per_page),
            Purpose::Print(scope, per_page) => {
                let page = self.handout(scope, per_page).into_iter();
                page.map(Effect::Print).collect()
            }
            Purpose::File(_) | Purpose::Course(..) | Purpose::Preview => self.fetch(purpose),
        }
    }
    /// What speaks against giving these out; `None` if nothing of them can be
    /// posed, which is told.
    fn reservations(&mut self, ids: &[SheetId]) -> Option<Vec<String>> {
        let wanted: HashSet<SheetId> = ids.iter().copied().collect();
        let sheets = self.document.work.sheets.iter();
        let (mut unfit, mut unread) = (Vec::new(), Vec::new());
        let (mut unsound, mut undecided, mut not_yet) = (Vec::new(), Vec::new(), Vec::new());
        let mut doubted = Vec::new();
        for (place, sheet) in sheets.enumerate().filter(|(_, s)| wanted.contains(&s.id)) {
            let name = named(sheet, place);
            if sheet.reading.is_some() {
                unread.push(name.clone());
            }
            match self.status(sheet) {
                _ if self.can_be_posed(sheet) == Some(false) => unfit.push(name),
                SheetStatus::Game => unfit.push(name),
                SheetStatus::Unsound | SheetStatus::Begun => unsound.push(name),
                SheetStatus::Undecided if self.is_doubted(sheet.id) => doubted.push(name),
                SheetStatus::Undecided | SheetStatus::Checking => undecided.push(name),
                SheetStatus::NotYet => not_yet.push(name),
                SheetStatus::Sound => {}
            }
        }
        if unfit.len() == ids.len() {
            self.refuse_unfit(&wanted);
            return None;
        }
        let told = |names: &[String], one, more| {
            let text = if names.len() == 1 { one } else { more };
            (!names.is_empty()).then(|| say!(text, names = list(names)))
        };
        let left_out = phrase!(
            "{names} cannot be posed to a student yet and would be left out.",
            "names"
        );
        let in_part = phrase!("Not all of {names} could be read.", "names");
        let told = [
            told(&unfit, left_out, left_out),
            told(&unread, in_part, in_part),
            told(
                &unsound,
                phrase!("{names} is unsound.", "names"),
                phrase!("{names} are unsound.", "names"),
            ),
            told(
                &doubted,
                phrase!(
                    "Our two programs disagree about {names}: do not give it out.",
                    "names"
                ),
                phrase!(
                    "Our two programs disagree about {names}: do not give them out.",
                    "names"
                ),
            ),
            told(
                &undecided,
                phrase!("{names} is undecided: not every claim is proved.", "names"),
                phrase!("{names} are undecided: not every claim is proved.", "names"),
            ),
            told(
                &not_yet,
                phrase!(
                    "{names} is not checked yet; that is done first now.",
                    "names"
                ),
                phrase!(
                    "{names} are not checked yet; that is done first now.",
                    "names"
                ),
            ),
        ];
        let mut why: Vec<String> = told.into_iter().flatten().collect();
        let claims = ids.iter().any(|&id| self.claims_proof(id));
        if self.giving_out.with_proofs && claims && self.proofs(ids) == Proofs::Unchecked {
            why.push(tr("Not every proof is checked yet; the file would carry none.").into());
        }
        Some(why)
    }
    /// Tells that none of these can be posed.
    fn refuse_unfit(&mut self, wanted: &HashSet<SheetId>) {
        self.giving_out.held = None;
        let sheets = self.document.work.sheets.iter().enumerate();
        let unfit = sheets.filter(|(_, sheet)| wanted.contains(&sheet.id));
        let unfit: Vec<Name> = unfit.map(|(place, s)| Name::of(s, place)).collect();
        let text = move || {
            say!(
                "{names} cannot be posed to a student yet; the verdict says why.",
                names = list(&said(&unfit)),
            )
        };
        self.refuse(text);
    }
    /// Whether our two programs disagree about a sheet.
    fn is_doubted(&self, id: SheetId) -> bool {
        let second = self
            .checking
            .models
            .get(&id)
            .map(|model| &model.report.second);
        matches!(second, Some(Second::Against(_)))
    }
    /// Says once more why what is held is held.
    pub(super) fn hold_anew(&mut self) {
        if let Some((purpose, _)) = self.giving_out.held.take() {
            let ids = self.scope(purpose.scope());
            let why = self.reservations(&ids).filter(|why| !why.is_empty());
            self.giving_out.held = why.map(|why| (purpose, why));
        }
    }
    pub(super) fn fetch(&mut self, purpose: Purpose) -> Vec<Effect> {
        self.giving_out.preparing = Some(purpose);
        vec![Effect::FetchTemplate(purpose)]
    }
    pub(super) fn fill(
        &mut self,
        purpose: Purpose,
        template: Result<String, String>,
    ) -> Vec<Effect> {
        let ids = self.scope(purpose.scope());
        if template.is_ok() && ids.iter().any(|&id| self.is_explaining(id)) {
            self.giving_out.waiting = Some((purpose, template));
            return vec![];
        }
        self.fill_now(purpose, template)
    }
    /// How many of what waits for its reasons have all of them, and of how many.
    pub fn waiting_for_reasons(&self) -> Option<(usize, usize)> {
        let (purpose, _) = self.giving_out.waiting.as_ref()?;
        let ids = self.scope(purpose.scope());
        let done = ids.iter().filter(|&&id| !self.is_explaining(id)).count();
        Some((done, ids.len()))
    }
    pub(super) fn fill_without_reasons(&mut self) -> Vec<Effect> {
        match self.giving_out.waiting.take() {
            Some((purpose, template)) => self.fill_now(purpose, template),
            None => vec![],
        }
    }
    fn fill_now(&mut self, purpose: Purpose, template: Result<String, String>) -> Vec<Effect> {
        let scope = purpose.scope();
        let ids = self.scope(scope);
        self.look_at_all(&ids);
        self.giving_out.preparing = None;
        match template.and_then(|t| self.student_page(&t, scope)) {
            Err(why) => {
                self.warn(
                    because(
                        phrase!("The student\u{2019}s page could not be made: {why}", "why"),
                        why,
                    ),
                    Vec::new,
                );
                vec![]
            }
            Ok(page) if purpose == Purpose::Preview => {
                let fresh = self.giving_out.preview.replace(page.into()).is_none();
                match fresh {
                    true => vec![Effect::Focus("preview-end")],
                    false => vec![],
                }
            }
            Ok(page) if let Purpose::Course(_, standard) = purpose => {
                let mut effects = self.remember(scope);
                effects.extend(self.package(&page, scope, standard));
                effects
            }
            Ok(page) => {
                let mut effects = self.remember(scope);
                let name = format!("{}.html", self.file_stem(scope));
                let file = name.clone();
                let text = move || {
                    say!(
                        "{name} was given to the browser to save. It is all a student needs.",
                        name = file,
                    )
                };
                self.tell(text, Vec::new);
                effects.push(Effect::Download {
                    name,
                    kind: "text/html",
                    text: page,
                });
                effects
            }
        }
    }
    pub(super) fn student_page(&self, template: &str, scope: Scope) -> Result<String, String> {
        let (ids, again) = (self.scope(scope), scope == Scope::Missed);
        let posed = self.posed(&ids, again);
        let Some(first) = posed.first() else {
            return Err(phrase("no puzzle in it can be posed yet; the verdict says why.").into());
        };
        let first = &first.sheet.draft;
        let heading = self.heading(&posed, again);
        let games: Vec<&Resolved> = posed.iter().map(|game| game.resolved).collect();
        let items = posed.into_iter().flat_map(|game| game.asked);
        let items: Vec<Item> = items.map(|(_, item)| item).collect();
        let language = told(first, "Language").unwrap_or("en");
        keyproof_tongues::of_game(first).speaks(|| {
            let page = publish::page_of_games(template, &heading, language, &games, &items)?;
            Ok(match self.proofs(&ids) {
                Proofs::Unchecked => page,
                Proofs::Checked(texts, positions) if self.giving_out.with_proofs => {
                    publish::with_certificates(&page, &texts, positions)
                }
                Proofs::Checked(_, positions) => publish::checked(&page, positions),
            })
        })
    }
    /// What stands above what is given out, in the language of its first puzzle.
    pub(super) fn heading(&self, posed: &[Posed], again: bool) -> String {
        let Some(first) = posed.first() else {
            return String::new();
        };
        let mut lessons = posed.iter();
        let lessons = lessons.any(|game| lesson::is_lesson(game.resolved.draft()));
        let set = self.title_of_set();
        keyproof_tongues::of_game(&first.sheet.draft).speaks(|| match posed.len() {
            _ if again => self.heading_again(),
            1 => heading(title(&first.sheet.draft), 1),
            n if set.is_some() => heading(set, n),
            n if lessons => say!("{n} chess lessons", n = n.to_string()),
            n => heading(None, n),
        })
    }
    /// The student's page as a package for a course.
    fn package(&mut self, page: &str, scope: Scope, standard: Standard) -> Vec<Effect> {
        let ids = self.scope(scope);
        let first = ids.first().and_then(|&id| self.document.work.sheet(id));
        let language = first.and_then(|sheet| told(&sheet.draft, "Language"));
        let language = language.unwrap_or("en");
        let title = match ids.len() {
            1 => first.and_then(|sheet| title(&sheet.draft)),
            _ => self.title_of_set(),
        };
        let untitled = || keyproof_tongues::of(language).speaks(|| tr("Chess puzzles").into());
        let course = Course {
            page,
            title: &title.unwrap_or_else(untitled),
            language,
            pass: None,
        };
        let made = course.package(standard);
        let standard = match standard {
            Standard::Scorm12 => "scorm",
            Standard::Cmi5 => "cmi5",
        };
        let name = format!("{}-{standard}.zip", self.file_stem(scope));
        match made {
            Ok(bytes) => {
                let file = name.clone();
                let text = move || {
                    say!(
                        "{name} was given to the browser to save. Upload it to the course as it is.",
                        name = file,
                    )
                };
                self.tell(text, Vec::new);
                let kind = "application/zip";
                vec![Effect::Package { name, kind, bytes }]
            }
            Err(why) => {
                let text = move || say!("{name} could not be made: {why}", name = name, why = why);
                self.warn(text, Vec::new);
                vec![]
            }
        }
    }
    pub(super) fn save_pgn(&mut self, scope: Scope) -> Vec<Effect> {
        let text: String = self
            .scope(scope)
            .into_iter()
            .filter_map(|id| self.document.work.sheet(id))
            .map(|sheet| pgn_write::write(&sheet.draft))
            .collect();
        vec![Effect::Download {
            name: format!("{}.pgn", self.file_stem(scope)),
            kind: "application/vnd.chess-pgn",
            text,
        }]
    }
    /// One record for each puzzle; what has none is told.
    pub(super) fn save_epd(&mut self, scope: Scope) -> Vec<Effect> {
        let (mut text, mut left_out) = (String::new(), Vec::new());
        for puzzle in self.puzzles(scope) {
            match epd::write(&puzzle) {
                Ok(record) => text.push_str(&format!("{record}\n")),
                Err(_) => left_out.push(puzzle),
            }
        }
        let count = left_out.len();
        if let Some(first) = left_out.into_iter().next() {
            let words = match count {
                1 => phrase!("{n} puzzle has no EPD record: {why}", "n why"),
                _ => phrase!("{n} puzzles have no EPD record: {why}", "n why"),
            };
            let text = move || {
                let why = epd::write(&first).err().unwrap_or_default();
                say!(words, n = count.to_string(), why = why)
            };
            self.tell(text, Vec::new);
        }
        if text.is_empty() {
            return vec![];
        }
        vec![Effect::Download {
            name: format!("{}.epd", self.file_stem(scope)),
            kind: "text/plain",
            text,
        }]
    }
    /// Pages to print.
    fn handout(&mut self, scope: Scope, per_page: u8) -> Option<String> {
        self.printed(scope, per_page, handout)
    }
    fn save_pdf(&mut self, scope: Scope, per_page: u8) -> Vec<Effect> {
        let made = self.printed(scope, per_page, |title, language, drafts, per_page| {
            let mut made = pdf::handout(title, language, drafts, per_page);
            let left_out = std::mem::take(&mut made.left_out);
            (made, left_out)
        });
        let Some(made) = made else {
            return vec![];
        };
        if !made.missing.is_empty() {
            let told = move || {
                say!(
                    "The letters of a PDF lack {letters}: a question mark stands in their place. Print the page instead.",
                    letters = made.missing,
                )
            };
            self.warn(told, Vec::new);
        }
        vec![Effect::Package {
            name: format!("{}-handout.pdf", self.file_stem(scope)),
            kind: "application/pdf",
            bytes: made.bytes,
        }]
    }
    /// Pages to print, as they are made; `None` where nothing can be printed, which is
    /// told.
    fn printed<Made>(
        &mut self,
        scope: Scope,
        per_page: u8,
        make: impl FnOnce(&str, &str, &[&Resolved], PerPage) -> (Made, Vec<usize>),
    ) -> Option<Made> {
        let puzzles = self.puzzles(scope);
        let drafts: Vec<&Resolved> = puzzles.iter().collect();
        let (first, per_page) = (drafts.first()?, PerPage::of(per_page)?);
        let only = match self.scope(scope)[..] {
            [only] => self.document.work.sheet(only),
            _ => None,
        };
        let only = only.map(|sheet| title(&sheet.draft));
        let first = first.draft();
        let language = told(first, "Language").unwrap_or("en");
        let (page, left_out) = keyproof_tongues::of_game(first).speaks(|| {
            let heading = match only {
                Some(title) => heading(title, 1),
                None => heading(self.title_of_set(), drafts.len()),
            };
            make(&heading, language, &drafts, per_page)
        });
        if left_out.len() == drafts.len() {
            let why = || tr("There is nothing to print yet; the verdict says why.").into();
            self.tell(why, Vec::new);
            return None;
        }
        if !left_out.is_empty() {
            let count = left_out.len();
            let why = move || {
                plural!(
                    count,
                    "One of the puzzles cannot be posed yet and was left out.",
                    "{n} of the puzzles cannot be posed yet and were left out.",
                )
            };
            self.tell(why, Vec::new);
        }
        Some(page)
    }
    /// The puzzles of what is to be given out, those of lessons among them.
    fn puzzles(&self, scope: Scope) -> Vec<Resolved> {
        let sheets = self.scope(scope).into_iter();
        sheets
            .filter_map(|id| self.document.work.sheet(id))
            .flat_map(|sheet| excerpts(&Resolved::of(&sheet.draft)))
            .map(|excerpt| excerpt.resolved)
            .collect()
    }
    pub(super) fn file_stem(&self, scope: Scope) -> String {
        let name = match (scope, &self.scope(scope)[..]) {
            (Scope::Open | Scope::Chosen, &[only]) => {
                Some(Tongue::ENGLISH.speaks(|| self.name(only)))
            }
            (Scope::Missed, _) => return self.file_again(),
            _ => self.title_of_set(),
        };
        stem(&name.unwrap_or_else(|| "puzzles".into()))
    }
}

/// What stands above so many puzzles, to students.
fn heading(title: Option<String>, count: usize) -> String {
    title.unwrap_or_else(|| plural!(count, "A chess puzzle", "{n} chess puzzles"))
}
