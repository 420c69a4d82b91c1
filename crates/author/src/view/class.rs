//! What the class answered: the table of students by questions, one of either more
//! closely, and the ways in.

use keyproof::account::played;
use keyproof::diagram;
use keyproof::marks::{LineKind, Mark};
use keyproof::tongue::{phrase, plural, say, tr};
use keyproof_board::Drawing;
use shakmaty::Position;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::HtmlTextAreaElement;
use yew::prelude::*;

use super::{Link, button, chosen, contents, give_out, guide};
use crate::dom;
use desk::class::table::{Answer, Questions, Students, Table, missed, sign, told};
use desk::class::{Lesson, Question};
use desk::desk::Desk;
use desk::message::{ClassMsg, Closer, ListMsg, Msg, Part, Who};

/// The box that accounts are pasted into.
const BOX: &str = "class-text";

/// The page itself, where it is open.
pub fn view(desk: &Desk, link: &Link) -> Html {
    if !desk.class_room().open {
        return html! {};
    }
    let lesson = desk.class_lesson();
    let answered = lesson.filter(|lesson| !lesson.accounts.is_empty());
    let table = answered.map(|lesson| Table::of(lesson));
    html! {
        <section class="class-room leaf" aria-labelledby="class-head" onkeydown={on_key(desk, link)}>
            <div class="class-top">
                <div class="headed">
                    <h2 id="class-head" tabindex="-1">{ tr("What the class answered") }</h2>
                    { guide::about(link, Part::Class, tr("What the class answered")) }
                </div>
                <button type="button" onclick={send(link, ClassMsg::Open(false))}>{ tr("Back to the desk") }</button>
            </div>
            <div class="class-spread">
                <div class="class-verso">
                    { lessons(desk, link) }
                    if let Some(table) = &table {
                        { summary(table) }
                        { orders(desk, link) }
                        { grid(desk, table, link) }
                        { legend() }
                    } else {
                        <p class="class-none">{ tr("No account came back yet. A student who is done presses \u{201c}For your coach\u{201d} and sends you what stands there.") }</p>
                    }
                </div>
                <div class="class-recto">
                    { give_out::missed_waits(desk, link) }
                    if let Some(table) = &table {
                        { closer(desk, table, link) }
                        { for_all(table, link) }
                    }
                    { bring(link) }
                </div>
            </div>
        </section>
    }
}

fn send(link: &Link, msg: ClassMsg) -> Callback<MouseEvent> {
    link.reform(move |_| Msg::Class(msg.clone()))
}

/// Escape leaves what is looked at more closely, and then the page.
fn on_key(desk: &Desk, link: &Link) -> Callback<KeyboardEvent> {
    let (link, closer) = (link.clone(), desk.class_room().closer.is_some());
    Callback::from(move |event: KeyboardEvent| {
        if event.key() == "Escape" {
            event.prevent_default();
            link.emit(Msg::Class(match closer {
                true => ClassMsg::Closer(None),
                false => ClassMsg::Open(false),
            }));
        }
    })
}

/// Which of the lessons given out is looked at, where there are several.
fn lessons(desk: &Desk, link: &Link) -> Html {
    let Some(now) = desk.class_lesson() else {
        return html! {};
    };
    let all = &desk.class().lessons;
    if all.len() < 2 {
        return html! { <h3 class="class-title">{ &now.title }</h3> };
    }
    let onchange = {
        let now = now.key;
        link.reform(move |event: Event| {
            Msg::Class(ClassMsg::Lesson(chosen(&event).parse().unwrap_or(now)))
        })
    };
    let option = |lesson: &Lesson| {
        let key = lesson.key.to_string();
        let count = lesson.accounts.len();
        let count = plural!(count, "{n} account", "{n} accounts");
        html! { <option value={key} selected={lesson.key == now.key}>{ format!("{} ({count})", lesson.title) }</option> }
    };
    html! {
        <div class="field">
            <label for="class-lesson">{ tr("Lesson") }</label>
            <select id="class-lesson" ~value={JsValue::from(now.key.to_string())} {onchange}>
                { for all.iter().rev().map(|lesson| option(lesson)) }
            </select>
        </div>
    }
}

/// The whole in a few words.
fn summary(table: &Table) -> Html {
    let (students, questions) = (table.names.len(), table.lesson.questions.len());
    let students = plural!(students, "{n} student", "{n} students");
    let questions = plural!(questions, "{n} question", "{n} questions");
    html! {
        <p class="class-sum" role="status">
            { format!("{students}, {questions}. ") }
            if let Some(hardest) = table.hardest() {
                { say!(
                    "The hardest: {number}. {title}, which {n} missed.",
                    number = (hardest + 1).to_string(),
                    title = table.lesson.questions[hardest].named(),
                    n = table.who_missed(hardest).len().to_string(),
                ) }
            } else {
                { tr("Nobody missed any.") }
            }
        </p>
    }
}

/// In which order students and questions stand.
fn orders(desk: &Desk, link: &Link) -> Html {
    let room = desk.class_room();
    let by_missed = room.students == Students::Missed;
    let hardest = room.questions == Questions::Hardest;
    let on_students = link.reform(|event: Event| {
        Msg::Class(ClassMsg::Students(match chosen(&event).as_str() {
            "missed" => Students::Missed,
            _ => Students::Name,
        }))
    });
    let on_questions = link.reform(|event: Event| {
        Msg::Class(ClassMsg::Questions(match chosen(&event).as_str() {
            "hardest" => Questions::Hardest,
            _ => Questions::Lesson,
        }))
    });
    html! {
        <div class="class-orders">
            <div class="field">
                <label for="class-students">{ tr("Students") }</label>
                <select id="class-students" onchange={on_students}>
                    <option value="name" selected={!by_missed}>{ tr("by name") }</option>
                    <option value="missed" selected={by_missed}>{ tr("who missed most first") }</option>
                </select>
            </div>
            <div class="field">
                <label for="class-questions">{ tr("Questions") }</label>
                <select id="class-questions" onchange={on_questions}>
                    <option value="lesson" selected={!hardest}>{ tr("in their order") }</option>
                    <option value="hardest" selected={hardest}>{ tr("the hardest first") }</option>
                </select>
            </div>
        </div>
    }
}

/// Students by questions.
fn grid(desk: &Desk, table: &Table, link: &Link) -> Html {
    let room = desk.class_room();
    let questions = table.questions(room.questions);
    let looked = |closer: Closer| room.closer == Some(closer);
    let press = |closer: Closer| send(link, ClassMsg::Closer((!looked(closer)).then_some(closer)));
    let foot = |label: &'static str, count: &dyn Fn(usize) -> usize| {
        html! {
            <tr>
                <th scope="row">{ label }</th>
                { for questions.iter().map(|&q| html! { <td>{ count(q) }</td> }) }
                <td></td>
            </tr>
        }
    };
    html! {
        <div class="class-table" role="region" aria-label={tr("Students by questions")} tabindex="0">
            <table>
                <thead>
                    <tr>
                        <th scope="col">{ tr("Student") }</th>
                        { for questions.iter().map(|&q| {
                            let name = format!("{}. {}", q + 1, table.lesson.questions[q].named());
                            html! {
                                <th scope="col">
                                    <button type="button" aria-pressed={looked(Closer::Question(q)).to_string()} title={name.clone()} aria-label={name}
                                        onclick={press(Closer::Question(q))}>{ q + 1 }</button>
                                </th>
                            }
                        }) }
                        <th scope="col">{ tr("To be seen again") }</th>
                    </tr>
                </thead>
                <tbody>
                    { for table.students(room.students).into_iter().map(|student| html! {
                        <tr key={table.names[student].clone()}>
                            <th scope="row">
                                <button type="button" aria-pressed={looked(Closer::Student(student)).to_string()}
                                    onclick={press(Closer::Student(student))}><bdi>{ &table.names[student] }</bdi></button>
                            </th>
                            { for questions.iter().map(|&q| cell(table, student, q)) }
                            <td>{ numbers(&table.missed_by(student)) }</td>
                        </tr>
                    }) }
                </tbody>
                <tfoot>
                    { foot(tr("Found at once"), &|q| table.count(q, Answer::AtOnce)) }
                    { foot(tr("Missed"), &|q| table.who_missed(q).len()) }
                </tfoot>
            </table>
        </div>
    }
}

/// Questions by their numbers.
fn numbers(questions: &[usize]) -> String {
    let numbers: Vec<String> = questions.iter().map(|q| (q + 1).to_string()).collect();
    numbers.join(", ")
}

/// How a student answered a question: a sign for the eye, and words.
fn cell(table: &Table, student: usize, question: usize) -> Html {
    let mark = table.mark(student, question);
    let (answer, words, sign) = (Answer::of(mark), told(mark), sign(mark));
    let time = mark.filter(|mark| mark.seconds > 0).map(|mark| mark.time());
    let mut letters = sign.chars();
    let first = letters.next().map(String::from).unwrap_or_default();
    html! {
        <td class={class_of(answer, missed(mark))} title={words.clone()}>
            <span class="mark" aria-hidden="true">{ first }<small>{ letters.as_str() }</small></span>
            { for time.map(|time| html! { <span class="time" aria-hidden="true">{ time }</span> }) }
            <span class="kp-hidden">{ words }</span>
        </td>
    }
}

fn class_of(answer: Answer, missed: bool) -> Option<&'static str> {
    match answer {
        Answer::Shown => Some("shown"),
        Answer::NotBegun => Some("not-begun"),
        _ if missed => Some("missed"),
        _ => None,
    }
}

/// What the signs stand for.
fn legend() -> Html {
    let signs = [
        ("✓", phrase("found at once")),
        ("✓2", phrase("found after so many wrong moves")),
        ("✓+", phrase("found with a hint")),
        ("○", phrase("shown")),
        ("…", phrase("begun")),
        ("·", phrase("not begun")),
        ("1:05", phrase("minutes and seconds in sight")),
    ];
    html! {
        <dl class="class-legend">
            { for signs.iter().map(|(sign, words)| html! { <div><dt>{ sign }</dt><dd>{ tr(words) }</dd></div> }) }
        </dl>
    }
}

/// A question or a student more closely.
fn closer(desk: &Desk, table: &Table, link: &Link) -> Html {
    let (head, body) = match desk.class_room().closer {
        Some(Closer::Question(at)) if at < table.lesson.questions.len() => {
            let asked = &table.lesson.questions[at];
            let head = format!("{}. {}", at + 1, asked.named());
            (head, question(desk, table, at, asked, link))
        }
        Some(Closer::Student(at)) if at < table.names.len() => {
            (table.names[at].clone(), student(table, at, link))
        }
        _ => return html! {},
    };
    html! {
        <section class="class-closer" aria-labelledby="class-closer">
            <h3 id="class-closer" tabindex="-1"><bdi>{ head }</bdi></h3>
            { body }
            <p class="row">{ button(link, tr("Close"), Msg::Class(ClassMsg::Closer(None)), false, "") }</p>
        </section>
    }
}

/// How a question was answered: its diagram, and the wrong first moves.
fn question(desk: &Desk, table: &Table, at: usize, asked: &Question, link: &Link) -> Html {
    let wrong = table.wrong(at);
    let names = |students: &[usize]| {
        let names = students.iter().map(|&student| table.names[student].clone());
        names.collect::<Vec<_>>().join(", ")
    };
    let counts = Answer::ALL.map(|answer| (answer, table.count(at, answer)));
    let counts = counts.iter().filter(|(_, count)| *count > 0);
    let counts: Vec<String> = counts
        .map(|(answer, count)| format!("{}: {count}", answer.words()))
        .collect();
    let again = table.who_missed(at);
    let toggle = |san: &str, words: String| {
        html! {
            <li>
                <button type="button" aria-pressed={desk.draws(san).to_string()} title={tr("Drawn on the diagram")}
                    onclick={send(link, ClassMsg::Draw(san.to_owned()))}>{ played(san) }</button>
                <span>{ words }</span>
            </li>
        }
    };
    let sheet = asked.sheet;
    html! {
        <>
            <p>{ counts.join("; ") }</p>
            { drawing(desk, asked, wrong.iter().map(|w| w.san.as_str())) }
            if wrong.is_empty() {
                <p>{ tr("No wrong first move was played.") }</p>
            } else {
                <p>{ tr("Wrong first moves, dashed on the diagram, and who played them:") }</p>
            }
            <ul class="class-wrong">
                { for wrong.iter().map(|wrong| toggle(&wrong.san, format!("{}: {}", wrong.by.len(), names(&wrong.by)))) }
                if let Some(key) = &asked.key {
                    { toggle(key, tr("the answer").to_owned()) }
                }
            </ul>
            if !again.is_empty() {
                <p>{ say!("To be seen again by {names}.", names = names(&again)) }</p>
            }
            if desk.work().sheet(sheet).is_some() {
                <p class="row">{ button(link, tr("Open it on the desk"), Msg::List(ListMsg::Open(sheet)), false, "") }</p>
            }
        </>
    }
}

/// The position of a question, with the first moves that are to be seen on it.
fn drawing<'a>(desk: &Desk, asked: &Question, wrong: impl Iterator<Item = &'a str>) -> Html {
    let Some(position) = asked.position() else {
        return html! {};
    };
    let line = |san: &str, kind: LineKind| {
        let mv = asked.find(san).filter(|_| desk.draws(san))?;
        Some(Mark::Line {
            from: mv.from()?,
            to: keyproof::notation::moves::landing(mv),
            kind,
        })
    };
    let wrong = wrong.filter_map(|san| line(san, LineKind::Try));
    let key = asked.key.as_deref();
    let key = key.and_then(|san| line(san, LineKind::Answer));
    let marks: Vec<Mark> = wrong.chain(key).collect();
    let svg = diagram::diagram(position.board(), "class-board", asked.black_below, &marks);
    html! {
        <div class="class-diagram" role="img" aria-label={tr("The position")}>
            <Drawing {svg} />
        </div>
    }
}

/// What a student played at each question.
fn student(table: &Table, at: usize, link: &Link) -> Html {
    let again = table.missed_by(at);
    html! {
        <>
            <ol class="class-played">
                { for table.lesson.questions.iter().enumerate().map(|(q, asked)| {
                    let mark = table.mark(at, q);
                    let played = mark.map(keyproof::account::Mark::played).filter(|played| !played.is_empty());
                    let words = match played {
                        Some(played) => format!("{}: {played}", told(mark)),
                        None => told(mark),
                    };
                    html! { <li><span class="faint">{ asked.named() }</span><br />{ words }</li> }
                }) }
            </ol>
            <p class="row">
                <button type="button" class="main" id="class-again" disabled={again.is_empty()}
                    onclick={send(link, ClassMsg::Again(Who::Student(at)))}>{ tr("What this student missed, as a file") }</button>
                { button(link, tr("Remove this student"), Msg::Class(ClassMsg::Remove(at)), false, "") }
            </p>
        </>
    }
}

/// What is done with all of them.
fn for_all(table: &Table, link: &Link) -> Html {
    let half = table.missed_by_half();
    html! {
        <section class="class-all" aria-labelledby="class-all">
            <h3 id="class-all">{ tr("With the whole class") }</h3>
            <p class="row">
                <button type="button" id="class-half" disabled={half.is_empty()}
                    onclick={send(link, ClassMsg::Again(Who::Half))}>{ tr("What half the class missed, as a file") }</button>
                if !half.is_empty() {
                    <span class="faint">{ say!("Questions: {numbers}", numbers = numbers(&half)) }</span>
                }
            </p>
            <p class="row">
                { button(link, tr("Save as CSV"), Msg::Class(ClassMsg::SaveCsv), false, "") }
                { button(link, tr("Remove all students"), Msg::Class(ClassMsg::RemoveAll), false, "") }
            </p>
        </section>
    }
}

/// The ways in.
fn bring(link: &Link) -> Html {
    let read = {
        let link = link.clone();
        Callback::from(move |_| {
            let found = dom::document().get_element_by_id(BOX);
            let Some(area) = found.map(|e| e.unchecked_into::<HtmlTextAreaElement>()) else {
                return;
            };
            let (from, text) = (phrase("the pasted text").into(), area.value());
            area.set_value("");
            link.emit(Msg::Class(ClassMsg::Came { from, text }));
        })
    };
    const KINDS: &str = ".txt,.csv,.tsv,.eml,.htm,.html,.json,.xml,text/*";
    html! {
        <section class="class-bring" aria-labelledby="class-bring">
            <h3 id="class-bring">{ tr("Bring accounts in") }</h3>
            <label for={BOX}>{ tr("A whole chat or mail will do: what stands around the accounts is skipped.") }</label>
            <textarea id={BOX} rows="4" spellcheck="false" />
            <p class="row">
                <button type="button" onclick={read}>{ tr("Take the accounts") }</button>
                { contents::pick_files(link, tr("Open files \u{2026}"), KINDS) }
            </p>
            <p class="faint">{ tr("Names and answers stay in this browser on this machine, and in your backup.") }</p>
        </section>
    }
}
