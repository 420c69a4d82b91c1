//! What `keyproof/__init__.py` is made of: each task with all its options, texts in,
//! plain data out. Names, defaults and what else Python's users see is said there.

use std::sync::LazyLock;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::thread;
use std::time::Duration;

use keyproof::course::Standard;
use keyproof::tables::Tables;
use keyproof_tasks::{
    AnalyseOptions, CheckOptions, CourseOptions, Follow, Means, MomentsOptions, PublishOptions,
    Published, SolveOptions, Trouble,
};
use pyo3::exceptions::{PyException, PyRuntimeError, PyValueError};
use pyo3::prelude::*;
use pyo3::pybacked::PyBackedBytes;
use pyo3::types::{PyBytes, PyString};
use pythonize::pythonize;
use serde::Serialize;

pyo3::create_exception!(
    keyproof,
    InputError,
    PyValueError,
    "Input that cannot be read; the text names the place."
);
pyo3::create_exception!(
    keyproof,
    Refused,
    PyException,
    "Puzzles that are not given out; `rows` has what check says of them."
);

/// How often Python is asked whether to go on.
const PACE: Duration = Duration::from_millis(50);

/// The tables of this process: whichever call makes one, all have it.
static TABLES: LazyLock<Tables> = LazyLock::new(Tables::default);

/// What Python and the threads that work tell each other.
#[derive(Default)]
struct Told {
    stop: AtomicBool,
    done: AtomicUsize,
}

impl Follow for Told {
    fn go_on(&self) -> bool {
        !self.stop.load(Ordering::Relaxed)
    }

    fn done(&self) {
        self.done.fetch_add(1, Ordering::Relaxed);
    }
}

/// How a call is carried out.
#[derive(FromPyObject)]
#[pyo3(from_item_all)]
struct Way {
    threads: Option<usize>,
    progress: Option<Py<PyAny>>,
}

impl Way {
    /// Tells Python how much is done, and asks it whether to go on: by a signal that came,
    /// or by what it raises when it is told.
    fn heed(&self, told: usize, done: usize) -> PyResult<()> {
        Python::attach(|py| {
            py.check_signals()?;
            match &self.progress {
                Some(progress) if done > told => progress.call1(py, (done,)).map(drop),
                _ => Ok(()),
            }
        })
    }
}

/// Does a piece of work on threads of its own, with the interpreter's lock released, while
/// this one listens to Python.
fn run<T: Send>(
    py: Python,
    way: &Way,
    work: impl FnOnce(&Means) -> Result<T, Trouble> + Send,
) -> PyResult<T> {
    let told = Told::default();
    let means = Means {
        threads: way.threads.unwrap_or_else(keyproof_tasks::cores).max(1),
        tables: TABLES.clone(),
        follow: &told,
    };
    let (result, raised) = py.detach(|| {
        thread::scope(|scope| {
            let (end, ended) = channel::<()>();
            let worker = scope.spawn(|| {
                let _end = end;
                work(&means)
            });
            let (mut raised, mut heard) = (None, 0);
            while ended.recv_timeout(PACE) == Err(RecvTimeoutError::Timeout) {
                let done = told.done.load(Ordering::Relaxed);
                if raised.is_none() {
                    raised = way.heed(heard, done).err();
                    told.stop.store(raised.is_some(), Ordering::Relaxed);
                }
                heard = done;
            }
            if raised.is_none() {
                raised = way.heed(heard, told.done.load(Ordering::Relaxed)).err();
            }
            (worker.join(), raised)
        })
    });
    if let Some(raised) = raised {
        return Err(raised);
    }
    let result = result.map_err(|_| {
        PyRuntimeError::new_err("Keyproof broke down: please tell its makers what you asked of it")
    })?;
    result.map_err(|trouble| raise(py, &trouble))
}

fn raise(py: Python, trouble: &Trouble) -> PyErr {
    let sentence = trouble.to_string();
    match trouble {
        Trouble::Input(_) => InputError::new_err(sentence),
        Trouble::Stopped => PyRuntimeError::new_err(sentence),
        Trouble::Refused(rows) => {
            let refused = Refused::new_err(sentence);
            let told = plain(py, rows).and_then(|rows| refused.value(py).setattr("rows", rows));
            told.err().unwrap_or(refused)
        }
    }
}

/// What serde writes as JSON, as Python's own dicts, lists, texts and numbers.
fn plain<'py>(py: Python<'py>, data: &impl Serialize) -> PyResult<Bound<'py, PyAny>> {
    let json = serde_json::to_value(data);
    let json = json.map_err(|fault| PyRuntimeError::new_err(fault.to_string()))?;
    Ok(pythonize(py, &json)?)
}

#[pyfunction]
fn check<'py>(
    py: Python<'py>,
    way: Way,
    pgn: String,
    nodes: Option<u64>,
    unchecked: bool,
    certificates: bool,
) -> PyResult<Bound<'py, PyAny>> {
    let options = CheckOptions {
        nodes,
        unchecked,
        certificates,
    };
    let rows = run(py, &way, |means| {
        keyproof_tasks::check(&pgn, &options, means)
    })?;
    plain(py, &rows)
}

/// Options of `solve`.
#[derive(FromPyObject)]
#[pyo3(from_item_all)]
struct Solving {
    tree: bool,
    reasons: bool,
    nodes: Option<u64>,
    unchecked: bool,
    certificate: bool,
}

#[pyfunction]
fn solve<'py>(
    py: Python<'py>,
    way: Way,
    fen: String,
    stipulation: String,
    options: Solving,
) -> PyResult<Bound<'py, PyAny>> {
    let options = SolveOptions {
        tree: options.tree,
        reasons: options.reasons,
        nodes: options.nodes,
        unchecked: options.unchecked,
        certificate: options.certificate,
    };
    let work = |means: &Means| keyproof_tasks::solve(&fen, &stipulation, &options, means);
    plain(py, &run(py, &way, work)?)
}

#[pyfunction]
fn analyse<'py>(
    py: Python<'py>,
    way: Way,
    fen: String,
    lines: u8,
    nodes: u64,
) -> PyResult<Bound<'py, PyAny>> {
    let options = AnalyseOptions { lines, nodes };
    let work = |means: &Means| keyproof_tasks::analyse(&fen, &options, means);
    plain(py, &run(py, &way, work)?)
}

#[pyfunction]
fn table<'py>(py: Python<'py>, way: Way, fen: String) -> PyResult<Bound<'py, PyAny>> {
    let ending = run(py, &way, |means| keyproof_tasks::table(&fen, means))?;
    plain(py, &ending)
}

/// Options of `moments`.
#[derive(FromPyObject)]
#[pyo3(from_item_all)]
struct Seeking {
    top: Option<usize>,
    nodes: Option<u64>,
    puzzles: bool,
    lesson: bool,
    unchecked: bool,
}

#[pyfunction]
fn moments<'py>(
    py: Python<'py>,
    way: Way,
    pgn: String,
    options: Seeking,
) -> PyResult<Bound<'py, PyAny>> {
    let options = MomentsOptions {
        top: options.top,
        nodes: options.nodes,
        puzzles: options.puzzles,
        lesson: options.lesson,
        unchecked: options.unchecked,
    };
    let rows = run(py, &way, |means| {
        keyproof_tasks::moments(&pgn, &options, means)
    })?;
    plain(py, &rows)
}

/// Options of `publish`.
#[derive(FromPyObject)]
#[pyo3(from_item_all)]
struct Publishing {
    title: Option<String>,
    certificates: bool,
    element: bool,
    course: Option<String>,
    pass_from: Option<u8>,
    unsound: bool,
    unchecked: bool,
    nodes: Option<u64>,
}

#[pyfunction]
fn publish<'py>(
    py: Python<'py>,
    way: Way,
    pgn: String,
    options: Publishing,
) -> PyResult<Bound<'py, PyAny>> {
    let standard = match options.course.as_deref() {
        None => None,
        Some("scorm") => Some(Standard::Scorm12),
        Some("cmi5") => Some(Standard::Cmi5),
        Some(other) => {
            let sentence = format!("course: {other:?} is no standard; write \"scorm\" or \"cmi5\"");
            return Err(PyValueError::new_err(sentence));
        }
    };
    let pass = options.pass_from;
    let options = PublishOptions {
        title: options.title,
        certificates: options.certificates,
        element: options.element,
        course: standard.map(|standard| CourseOptions { standard, pass }),
        unsound: options.unsound,
        unchecked: options.unchecked,
        nodes: options.nodes,
    };
    match run(py, &way, |means| {
        keyproof_tasks::publish(&pgn, &options, means)
    })? {
        Published::Page(page) => Ok(PyString::new(py, &page).into_any()),
        Published::Package(bytes) => Ok(PyBytes::new(py, &bytes).into_any()),
    }
}

#[pyfunction]
fn index<'py>(py: Python<'py>, way: Way, pgn: String) -> PyResult<Bound<'py, PyBytes>> {
    let made = run(py, &way, |means| keyproof_tasks::index(&pgn, means))?;
    Ok(PyBytes::new(py, &made.bytes))
}

#[pyfunction]
fn join_indexes<'py>(
    py: Python<'py>,
    way: Way,
    parts: Vec<PyBackedBytes>,
) -> PyResult<Bound<'py, PyBytes>> {
    let work = |means: &Means| keyproof_tasks::join_indexes(&parts, means);
    Ok(PyBytes::new(py, &run(py, &way, work)?.bytes))
}

#[pyfunction]
fn seen<'py>(
    py: Python<'py>,
    way: Way,
    pgn: String,
    index: PyBackedBytes,
    most: usize,
) -> PyResult<Bound<'py, PyAny>> {
    let work = |means: &Means| keyproof_tasks::seen(&pgn, &index, most, means);
    plain(py, &run(py, &way, work)?)
}

#[pyfunction]
fn verify<'py>(py: Python<'py>, way: Way, text: String) -> PyResult<Bound<'py, PyAny>> {
    let found = run(py, &way, |_| Ok(keyproof_tasks::verify(&text)))?;
    plain(py, &found)
}

#[pymodule]
fn _core(module: &Bound<'_, PyModule>) -> PyResult<()> {
    let py = module.py();
    module.add("__version__", env!("CARGO_PKG_VERSION"))?;
    module.add("InputError", py.get_type::<InputError>())?;
    module.add("Refused", py.get_type::<Refused>())?;
    module.add_function(wrap_pyfunction!(check, module)?)?;
    module.add_function(wrap_pyfunction!(solve, module)?)?;
    module.add_function(wrap_pyfunction!(analyse, module)?)?;
    module.add_function(wrap_pyfunction!(table, module)?)?;
    module.add_function(wrap_pyfunction!(moments, module)?)?;
    module.add_function(wrap_pyfunction!(publish, module)?)?;
    module.add_function(wrap_pyfunction!(index, module)?)?;
    module.add_function(wrap_pyfunction!(join_indexes, module)?)?;
    module.add_function(wrap_pyfunction!(seen, module)?)?;
    module.add_function(wrap_pyfunction!(verify, module)?)
}
