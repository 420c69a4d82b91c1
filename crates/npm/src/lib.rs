//! What `package/index.js` is made of: each task with its options as one plain object,
//! plain data out. What JavaScript's users see is said there.

use std::cell::{Cell, RefCell};

use js_sys::{Error, Function, Reflect, Uint8Array};
use keyproof::course::Standard;
use keyproof::tables::Tables;
use keyproof_tasks::{
    AnalyseOptions, CheckOptions, CourseOptions, Follow, Means, MomentsOptions, PublishOptions,
    Published, SolveOptions, Trouble,
};
use serde::{Deserialize, Serialize};
use serde_wasm_bindgen::Serializer;
use wasm_bindgen::prelude::*;

thread_local! {
    /// Whom the work that runs tells how much is done; what that returns or throws may
    /// stop it.
    static TOLD: RefCell<Option<Function>> = const { RefCell::new(None) };
    static DONE: Cell<u32> = const { Cell::new(0) };
    static STOPPED: Cell<bool> = const { Cell::new(false) };
    static THROWN: RefCell<Option<JsValue>> = const { RefCell::new(None) };
    /// The tables of this program: whichever call makes one, all have it.
    static TABLES: Tables = Tables::default();
}

/// The caller's function, asked on the one thread that there is.
struct Caller;

impl Follow for Caller {
    fn go_on(&self) -> bool {
        !STOPPED.get()
    }

    fn done(&self) {
        DONE.set(DONE.get() + 1);
        let told = TOLD.with_borrow(Clone::clone);
        let Some(told) = told else { return };
        match told.call1(&JsValue::NULL, &DONE.get().into()) {
            Ok(answer) => STOPPED.set(answer == JsValue::FALSE),
            Err(thrown) => {
                STOPPED.set(true);
                THROWN.set(Some(thrown));
            }
        }
    }
}

/// Does a piece of work, telling `progress` how much is done.
fn run<T>(
    progress: Option<Function>,
    work: impl FnOnce(&Means) -> Result<T, Trouble>,
) -> Result<T, JsValue> {
    TOLD.set(progress);
    DONE.set(0);
    STOPPED.set(false);
    THROWN.set(None);
    let means = Means {
        threads: 1,
        tables: TABLES.with(Clone::clone),
        follow: &Caller,
    };
    let result = work(&means);
    TOLD.set(None);
    match THROWN.take() {
        Some(thrown) => Err(thrown),
        None => result.map_err(|trouble| raise(&trouble)),
    }
}

fn raise(trouble: &Trouble) -> JsValue {
    let error = Error::new(&trouble.to_string());
    error.set_name(match trouble {
        Trouble::Input(_) => "InputError",
        Trouble::Refused(_) => "Refused",
        Trouble::Stopped => "AbortError",
    });
    if let Trouble::Refused(rows) = trouble {
        // An error takes any property.
        let _ = plain(rows).and_then(|rows| Reflect::set(&error, &"rows".into(), &rows));
    }
    error.into()
}

/// What serde writes, as plain objects, as `JSON.parse` would make them.
fn plain(data: &impl Serialize) -> Result<JsValue, JsValue> {
    let serializer = Serializer::json_compatible().serialize_large_number_types_as_bigints(false);
    Ok(data.serialize(&serializer)?)
}

/// Options as JavaScript gives them.
fn options<T: for<'de> Deserialize<'de>>(given: JsValue) -> Result<T, JsValue> {
    serde_wasm_bindgen::from_value(given).map_err(|fault| {
        let error = Error::new(&fault.to_string());
        error.set_name("TypeError");
        error.into()
    })
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase", default)]
#[derive(Default)]
struct Checking {
    nodes: Option<u64>,
    unchecked: bool,
    certificates: bool,
}

/// Checks every puzzle of a PGN text.
#[wasm_bindgen]
pub fn check(pgn: &str, given: JsValue, progress: Option<Function>) -> Result<JsValue, JsValue> {
    let given: Checking = options(given)?;
    let options = CheckOptions {
        nodes: given.nodes,
        unchecked: given.unchecked,
        certificates: given.certificates,
    };
    plain(&run(progress, |means| {
        keyproof_tasks::check(pgn, &options, means)
    })?)
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase", default)]
#[derive(Default)]
struct Solving {
    tree: bool,
    reasons: bool,
    nodes: Option<u64>,
    unchecked: bool,
    certificate: bool,
}

/// Finds every first move that forces what is asked for.
#[wasm_bindgen]
pub fn solve(
    fen: &str,
    stipulation: &str,
    given: JsValue,
    progress: Option<Function>,
) -> Result<JsValue, JsValue> {
    let given: Solving = options(given)?;
    let options = SolveOptions {
        tree: given.tree,
        reasons: given.reasons,
        nodes: given.nodes,
        unchecked: given.unchecked,
        certificate: given.certificate,
    };
    let work = |means: &Means| keyproof_tasks::solve(fen, stipulation, &options, means);
    plain(&run(progress, work)?)
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase", default)]
struct Analysing {
    lines: u8,
    nodes: u64,
}

impl Default for Analysing {
    fn default() -> Self {
        let AnalyseOptions { lines, nodes } = AnalyseOptions::default();
        Analysing { lines, nodes }
    }
}

/// Says what a position is worth, and why.
#[wasm_bindgen]
pub fn analyse(fen: &str, given: JsValue) -> Result<JsValue, JsValue> {
    let Analysing { lines, nodes } = options(given)?;
    let options = AnalyseOptions { lines, nodes };
    plain(&run(None, |means| {
        keyproof_tasks::analyse(fen, &options, means)
    })?)
}

/// Looks an ending up.
#[wasm_bindgen]
pub fn table(fen: &str) -> Result<JsValue, JsValue> {
    plain(&run(None, |means| keyproof_tasks::table(fen, means))?)
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase", default)]
#[derive(Default)]
struct Seeking {
    top: Option<usize>,
    nodes: Option<u64>,
    puzzles: bool,
    lesson: bool,
    unchecked: bool,
}

/// Finds what in each game of a PGN text is worth asking about.
#[wasm_bindgen]
pub fn moments(pgn: &str, given: JsValue, progress: Option<Function>) -> Result<JsValue, JsValue> {
    let given: Seeking = options(given)?;
    let options = MomentsOptions {
        top: given.top,
        nodes: given.nodes,
        puzzles: given.puzzles,
        lesson: given.lesson,
        unchecked: given.unchecked,
    };
    plain(&run(progress, |means| {
        keyproof_tasks::moments(pgn, &options, means)
    })?)
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase")]
enum CourseKind {
    Scorm,
    Cmi5,
}

#[derive(Deserialize)]
#[serde(rename_all = "camelCase", default)]
#[derive(Default)]
struct Publishing {
    title: Option<String>,
    certificates: bool,
    element: bool,
    course: Option<CourseKind>,
    pass_from: Option<u8>,
    unsound: bool,
    unchecked: bool,
    nodes: Option<u64>,
}

/// Makes the student's file: a text, or bytes of a package for a course.
#[wasm_bindgen]
pub fn publish(pgn: &str, given: JsValue, progress: Option<Function>) -> Result<JsValue, JsValue> {
    let given: Publishing = options(given)?;
    let course = given.course.map(|kind| CourseOptions {
        standard: match kind {
            CourseKind::Scorm => Standard::Scorm12,
            CourseKind::Cmi5 => Standard::Cmi5,
        },
        pass: given.pass_from,
    });
    let options = PublishOptions {
        title: given.title,
        certificates: given.certificates,
        element: given.element,
        course,
        unsound: given.unsound,
        unchecked: given.unchecked,
        nodes: given.nodes,
    };
    let published = run(progress, |means| {
        keyproof_tasks::publish(pgn, &options, means)
    })?;
    Ok(match published {
        Published::Page(page) => page.into(),
        Published::Package(bytes) => Uint8Array::from(&bytes[..]).into(),
    })
}

/// Puts a text of certificates to the independent checker.
#[wasm_bindgen]
pub fn verify(text: &str) -> Result<JsValue, JsValue> {
    plain(&keyproof_tasks::verify(text))
}
