//! A real browser for the page tests, through WebDriver: Chromium, or the [`Engine`]
//! that is asked for.
//!
//! Each test gets a browser of its own with a fresh profile and a folder of its
//! own. The browser has no network: whatever would leave this machine ends at a
//! `Trap` that answers nothing and remembers who asked.

use std::future::Future;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Arc;
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering::Relaxed;
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use thirtyfour::TypingData;
use thirtyfour::common::command::{Command as Told, ExtensionCommand};
use thirtyfour::prelude::*;

mod engine;
mod net;
mod print;

pub use engine::Engine;
pub use net::Server;
pub use print::pages;

use crate::root;
use engine::Driver;
use net::Trap;

/// How long a page may take before a test gives up on it. Not an aim: only so
/// that a test that would hang fails instead, on a machine that is busy with much else as well.
const PATIENCE: Duration = Duration::from_secs(300);

/// Where browsers themselves call, whatever they are told; Chromium's last after some
/// minutes.
const CALLS_HOME: [&str; 4] = [
    ".google.com:443 ",
    ".googleapis.com:443 ",
    "POST http://update.googleapis.com/",
    "CONNECT firefox.settings.services.mozilla.com:443 ",
];

/// Finds elements also inside open shadow roots, and what scrolls.
pub const DEEP: &str = "
const scroller = () => document.querySelector('#keyproof-page') ?? document.scrollingElement;
const deep = (selector) => {
  const found = [];
  const look = (root) => {
    found.push(...root.querySelectorAll(selector));
    for (const e of root.querySelectorAll('*')) if (e.shadowRoot) look(e.shadowRoot);
  };
  look(document);
  return found;
};
// What is folded away may have a place all the same.
const seen = (e) => e.getClientRects().length > 0 && e.checkVisibility();
// Opens what an element lies in on the desk, as a person would: a leaf or the list by
// the button that opens it, a fold or a menu by its head.
const reach = (e) => {
  if (!e.closest('.desk')) return;
  for (let at = e; at; at = at.parentElement) {
    const folded = at !== e && at.matches('details:not([open])') && !at.querySelector(':scope > summary').contains(e);
    if (folded) at.open = true;
    if (at.matches('.panel, .contents') && !seen(at)) document.querySelector(`[aria-controls=\"${at.id}\"]`)?.click();
  }
};
// Menus other than the one that an element lies in are put away.
const clear = (e) => deep('details.menu[open]').filter((menu) => !menu.contains(e)).forEach((menu) => menu.open = false);
const focused = () => {
  let e = document.activeElement;
  while (e && e.shadowRoot && e.shadowRoot.activeElement) e = e.shadowRoot.activeElement;
  return e;
};
";

/// Lays the desk's page out at its whole height, where else a part of it scrolls.
const UNROLL: &str = "
const unrolled = document.createElement('style');
unrolled.id = 'unrolled';
unrolled.textContent = 'body { display: block !important; height: auto !important } #keyproof-page, .flow, .contents, .contents ol { overflow: visible !important } .desk, #keyproof, .work, .spread { height: auto !important }';
document.head.append(unrolled);
";
const ROLL_UP: &str = "document.getElementById('unrolled')?.remove();";

/// A built page in `dist/`, or a clear failure.
pub fn page(name: &str) -> PathBuf {
    let path = root().join("dist").join(name);
    assert!(
        path.is_file(),
        "{} is missing: run `cargo xtask build` first",
        path.display()
    );
    path
}

/// The address of a file.
pub fn file_url(path: &Path) -> String {
    format!("file://{}", path.display())
}

/// A browser under test.
pub struct Browser {
    pub driver: WebDriver,
    /// A folder of the test's own; downloads arrive in it.
    pub folder: PathBuf,
    pub engine: Engine,
    trap: Trap,
    /// The port of its driver.
    port: u16,
    killed: AtomicBool,
}

/// Runs a test in a browser of its own, and cleans up also when it fails.
pub fn browse<Test, Run>(name: &str, test: Test)
where
    Test: FnOnce(Arc<Browser>) -> Run,
    Run: Future<Output = ()> + Send + 'static,
{
    let folder = std::env::temp_dir().join(format!("keyproof-{name}-{}", std::process::id()));
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).expect("a temporary folder");
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .expect("a runtime");
    let outcome = runtime.block_on(async {
        let engine = Engine::asked();
        let mut driver = Driver::start(engine, &folder);
        let browser = Arc::new(Browser::open(engine, driver.port, &folder).await);
        let outcome = tokio::spawn(test(browser.clone())).await;
        let quit = browser.driver.clone().quit().await;
        driver.stop();
        outcome.map(|()| {
            quit.or_else(|e| match browser.killed.load(Relaxed) {
                true => Ok(()),
                false => Err(e),
            })
        })
    });
    match outcome {
        Ok(quit) => quit.expect("a browser that closes"),
        Err(fault) => std::panic::resume_unwind(fault.into_panic()),
    }
    let _ = std::fs::remove_dir_all(&folder);
}

impl Browser {
    async fn open(engine: Engine, port: u16, folder: &Path) -> Browser {
        let trap = Trap::set();
        let caps = engine.wants(folder, trap.port);
        let driver = WebDriver::new(format!("http://127.0.0.1:{port}"), caps)
            .await
            .unwrap_or_else(|e| panic!("{engine:?} does not start: {e}"));
        let browser = Browser {
            driver,
            folder: folder.to_owned(),
            engine,
            trap,
            port,
            killed: AtomicBool::new(false),
        };
        if engine == Engine::Chromium {
            browser
                .devtools(
                    "Browser.setDownloadBehavior",
                    json!({ "behavior": "allow", "downloadPath": folder }),
                )
                .await;
        }
        if engine == Engine::Firefox {
            // Its own window is no narrower than 450 px otherwise.
            let narrow = "document.documentElement.style.setProperty('min-width', '0', 'important'); arguments[0]();";
            browser.in_firefox(narrow, vec![]).await;
        }
        browser.window(1280, 900).await;
        // What the browser's own first page asked for does not count.
        browser.go("about:blank").await;
        browser.log("performance").await;
        browser.is_trapped().await;
        browser
    }

    /// Whatever the browser asks for ends at the trap: it is shown by asking.
    async fn is_trapped(&self) {
        let asks = "new Image().src = 'http://nobody.invalid/';";
        self.driver.execute(asks, vec![]).await.expect("a page");
        let start = Instant::now();
        while !self
            .trap
            .taken()
            .iter()
            .any(|asked| asked.contains("nobody.invalid"))
        {
            assert!(start.elapsed() < PATIENCE, "what is asked for escapes");
            tokio::time::sleep(Duration::from_millis(10)).await;
        }
        self.log("performance").await;
        if self.engine != Engine::Chromium {
            return;
        }
        // It logs the refusal as well, as the page's error.
        loop {
            let entries = self.driver.get_log("browser").await.expect("a log");
            if entries.iter().any(|e| e.message.contains("nobody.invalid")) {
                return;
            }
            assert!(start.elapsed() < PATIENCE, "the refusal is not logged");
            tokio::time::sleep(Duration::from_millis(10)).await;
        }
    }

    /// Ends Chromium on the spot (SIGKILL), and starts another on the same
    /// profile.
    pub async fn killed(&self) -> Browser {
        self.kill();
        self.again().await
    }

    /// Another Chromium on the profile of one that was killed.
    pub async fn again(&self) -> Browser {
        Browser::open(self.engine, self.port, &self.folder).await
    }

    /// Ends all processes of Chromium on the spot; some start others until they are ended.
    pub fn kill(&self) {
        self.killed.store(true, Relaxed);
        let mut pids = self.processes();
        assert!(!pids.is_empty(), "no Chromium runs on this profile");
        while !pids.is_empty() {
            let status = Command::new("kill")
                .arg("-KILL")
                .args(&pids)
                .stderr(Stdio::null())
                .status();
            assert!(status.is_ok(), "{status:?}");
            std::thread::sleep(Duration::from_millis(20));
            pids = self.processes();
        }
        // Its driver would be asked for a minute to end what is gone.
        let _ = self.driver.clone().leak();
    }

    /// The numbers of Chromium's processes.
    fn processes(&self) -> Vec<String> {
        let profile = format!("--user-data-dir={}", self.folder.join("profile").display());
        std::fs::read_dir("/proc")
            .expect("a list of processes")
            .flatten()
            .filter(|process| {
                let line = std::fs::read(process.path().join("cmdline")).unwrap_or_default();
                let line = String::from_utf8_lossy(&line).replace('\0', " ");
                line.contains(&profile) && line.contains("chrom")
            })
            .map(|process| process.file_name().to_string_lossy().into_owned())
            .collect()
    }

    pub async fn go(&self, url: &str) {
        self.driver
            .goto(url)
            .await
            .unwrap_or_else(|e| panic!("{url}: {e}"));
    }

    pub async fn reload(&self) {
        self.driver.refresh().await.expect("a page that reloads");
    }

    /// A command of Chromium's own protocol.
    pub async fn devtools(&self, method: &str, params: Value) -> Value {
        self.driver
            .cdp()
            .send_raw(method, params)
            .await
            .unwrap_or_else(|e| panic!("{method}: {e}"))
    }

    /// Runs a script with Firefox's own rights, which ends by calling its last argument.
    async fn in_firefox(&self, script: &str, args: Vec<Value>) -> Value {
        self.tell("moz/context", json!({ "context": "chrome" }))
            .await;
        let told = self.driver.execute_async(script, args).await;
        self.tell("moz/context", json!({ "context": "content" }))
            .await;
        let told = told.unwrap_or_else(|e| panic!("{script}: {e}"));
        told.json().clone()
    }

    /// A command of WebDriver's, or of its engine's, for which the library has no name.
    async fn tell(&self, command: &'static str, body: Value) {
        let command = Told::ExtensionCommand(Box::new(Posted(command, body)));
        let told = self.driver.handle().cmd(command).await;
        told.unwrap_or_else(|e| panic!("the driver refuses: {e}"));
    }

    /// Sets the size of the view in CSS pixels.
    pub async fn window(&self, width: u32, height: u32) {
        if self.engine != Engine::Chromium {
            return self.frame(width, height).await;
        }
        self.devtools(
            "Emulation.setDeviceMetricsOverride",
            json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": false }),
        )
        .await;
    }

    /// How narrow a window can be made, in CSS pixels: what shows WebKit's pages has a
    /// least width of its own.
    pub fn narrowest(&self) -> u32 {
        match self.engine {
            Engine::WebKit => 334,
            _ => 1,
        }
    }

    /// Makes the window such that its view has a size; the window's frame comes on top.
    async fn frame(&self, width: u32, height: u32) {
        let (mut outer, mut seen) = ((width, height), (0, 0));
        for _ in 0..40 {
            let set = self.driver.set_window_rect(0, 0, outer.0, outer.1).await;
            set.expect("a window that takes a size");
            let view = self.script("return [innerWidth, innerHeight];", vec![]);
            let view = view.await;
            let side = |i: usize| view[i].as_u64().expect("a width") as u32;
            seen = (side(0), side(1));
            if seen == (width, height) {
                return;
            }
            tokio::time::sleep(Duration::from_millis(25)).await;
            outer = (
                (outer.0 + width).saturating_sub(seen.0).max(1),
                (outer.1 + height).saturating_sub(seen.1).max(1),
            );
        }
        panic!(
            "{:?} makes its view {seen:?}, not {width} by {height}",
            self.engine
        );
    }

    /// Asks for light or dark paper, as the reader's system would.
    pub async fn paper(&self, scheme: &str) {
        match self.engine {
            Engine::Chromium => {
                let wanted = json!({ "name": "prefers-color-scheme", "value": scheme });
                self.devtools(
                    "Emulation.setEmulatedMedia",
                    json!({ "features": [wanted] }),
                )
                .await;
            }
            Engine::Firefox => {
                let set = "Services.prefs.setIntPref('layout.css.prefers-color-scheme.content-override', arguments[0]); arguments[1]();";
                let dark = u32::from(scheme != "dark");
                self.in_firefox(set, vec![json!(dark)]).await;
            }
            Engine::WebKit => assert_eq!(scheme, "light", "WebKit's driver knows no other paper"),
        }
    }

    /// The papers that can be asked for.
    pub fn papers(&self) -> &'static [&'static str] {
        match self.engine {
            Engine::WebKit => &["light"],
            _ => &["light", "dark"],
        }
    }

    /// Saves a picture of the whole page.
    pub async fn picture(&self, path: &Path) {
        self.shoot(path, true).await;
    }

    /// Saves a picture of what the window shows.
    pub async fn view(&self, path: &Path) {
        self.shoot(path, false).await;
    }

    /// How many pixels the page reaches over its right edge.
    pub async fn over_the_edge(&self) -> Value {
        let over = "return scroller().scrollWidth - scroller().clientWidth;";
        self.script(over, vec![]).await
    }

    async fn shoot(&self, path: &Path, whole: bool) {
        use base64::Engine as _;
        if self.engine != Engine::Chromium {
            // Theirs are of what the window shows.
            let name = format!("{:?}", self.engine).to_lowercase();
            let path = path
                .parent()
                .expect("a folder")
                .join(name)
                .join(path.file_name().expect("a name"));
            return self.picture_of_window(&path).await;
        }
        if whole {
            self.driver.execute(UNROLL, vec![]).await.expect("a page");
        }
        let wanted = json!({ "format": "png", "captureBeyondViewport": whole });
        let shot = self.devtools("Page.captureScreenshot", wanted).await;
        if whole {
            self.driver.execute(ROLL_UP, vec![]).await.expect("a page");
        }
        let data = shot["data"].as_str().expect("a picture");
        let bytes = base64::engine::general_purpose::STANDARD
            .decode(data)
            .expect("base64");
        write_picture(path, &bytes);
    }

    async fn picture_of_window(&self, path: &Path) {
        write_picture(path, &self.still_picture().await);
    }

    /// A picture of the window, as PNG, once it shows the same as one before: what has
    /// scrolled is drawn when the engine has time.
    pub async fn still_picture(&self) -> Vec<u8> {
        let mut before = Vec::new();
        for _ in 0..30 {
            let picture = self.driver.screenshot_as_png().await.expect("a picture");
            if picture == before {
                break;
            }
            before = picture;
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        before
    }

    /// Runs a script with the helpers `deep(selector)`, `seen(element)` and
    /// `focused()`, and returns what it returns.
    pub async fn script(&self, script: &str, args: Vec<Value>) -> Value {
        let told = self.try_script(script, args).await;
        told.unwrap_or_else(|e| panic!("{script}: {e}"))
    }

    /// The same where the page, or the browser, may be gone.
    pub async fn try_script(&self, script: &str, args: Vec<Value>) -> WebDriverResult<Value> {
        let script = format!("{DEEP}{script}");
        let told = self.driver.execute(script, args).await?;
        Ok(told.json().clone())
    }

    /// Waits until a script returns something true.
    pub async fn until(&self, what: &str, script: &str, args: Vec<Value>) {
        let start = Instant::now();
        loop {
            let answer = self.try_script(script, args.clone()).await;
            if answer.is_ok_and(|told| told.as_bool() == Some(true)) {
                return;
            }
            if start.elapsed() > PATIENCE {
                let name = what.replace(|c: char| !c.is_alphanumeric(), "-");
                let path = root().join(format!("tests/screens/failed-{name}.png"));
                self.picture(&path).await;
                panic!(
                    "waited in vain for: {what}\nsee {}\nthe page says: {}\nits log: {:?}",
                    path.display(),
                    self.text("body").await,
                    self.log("browser").await,
                );
            }
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// Waits until a visible element of the page has this text in it.
    pub async fn until_text(&self, selector: &str, text: &str) {
        self.until(
            &format!("{text} in {selector}"),
            "const [selector, text] = arguments;
             const has = deep(selector).filter((e) => e.textContent.replace(/\\s+/g, ' ').includes(text));
             if (has.length && !has.some(seen)) reach(has[0]);
             return has.some(seen);",
            vec![json!(selector), json!(text)],
        )
        .await;
    }

    /// Waits until an element has kept its place and size in the window for half a second,
    /// as whoever aims at it does.
    pub async fn until_still(&self, selector: &str) {
        self.until(
            &format!("{selector} holding still"),
            "const { x, y, width, height } = deep(arguments[0])[0].getBoundingClientRect();
             const [place, since] = [[x, y, width, height].join(), Date.now()];
             if (window.heldAt?.place !== place) window.heldAt = { place, since };
             return since - window.heldAt.since >= 500;",
            vec![json!(selector)],
        )
        .await;
    }

    /// The texts of all visible elements that fit, joined by line breaks; that
    /// of shadow roots counts too.
    pub async fn text(&self, selector: &str) -> String {
        self.script(
            "const text = (e) => (e.shadowRoot ? [...e.shadowRoot.children] : [e])
               .map((x) => x === e ? [e.innerText, ...[...e.querySelectorAll('*')].filter((y) => y.shadowRoot).map(text)].join('\\n') : x.innerText).join('\\n');
             return deep(arguments[0]).filter(seen).map(text).join('\\n');",
            vec![json!(selector)],
        )
        .await
        .as_str()
        .unwrap_or_default()
        .to_owned()
    }

    /// How many visible elements fit.
    pub async fn count(&self, selector: &str) -> u64 {
        self.script(
            "return deep(arguments[0]).filter(seen).length;",
            vec![json!(selector)],
        )
        .await
        .as_u64()
        .expect("a number")
    }

    /// The first visible element that fits, waited for.
    pub async fn find(&self, selector: &str) -> WebElement {
        self.until(
            &format!("an element {selector}"),
            "const all = deep(arguments[0]);
             if (all.length && !all.some(seen)) reach(all[0]);
             return all.some(seen);",
            vec![json!(selector)],
        )
        .await;
        self.driver
            .execute(
                format!("{DEEP} return deep(arguments[0]).find(seen);"),
                vec![json!(selector)],
            )
            .await
            .and_then(|e| e.element())
            .unwrap_or_else(|e| panic!("{selector}: {e}"))
    }

    /// The visible button (or the like) whose text or name starts with this.
    pub async fn named(&self, name: &str) -> WebElement {
        const FIND: &str = "
            const fits = (e) => !e.disabled &&
              [e.getAttribute('aria-label'), e.textContent.replace(/\\s+/g, ' ').trim()].some((n) => n && n.startsWith(arguments[0]));
            const fitting = deep('button, summary, [role=button]').filter(fits);
            const all = fitting.filter(seen);";
        self.until(
            &format!("a button {name}"),
            &format!(
                "{FIND}
                 if (fitting.length && !all.length) reach(fitting[0]);
                 return fitting.some(seen);"
            ),
            vec![json!(name)],
        )
        .await;
        self.driver
            .execute(format!("{DEEP}{FIND} return all[0];"), vec![json!(name)])
            .await
            .and_then(|e| e.element())
            .unwrap_or_else(|e| panic!("button {name}: {e}"))
    }

    /// Presses the button of this name, from where the page would scroll to if it
    /// had the focus.
    pub async fn press(&self, name: &str) {
        let button = self.named(name).await;
        let into_sight = "clear(arguments[0]); arguments[0].scrollIntoView({ block: 'nearest' });";
        // A notice that comes in between takes a row of the window for itself: the
        // button is looked for again, as a person would.
        for looks in 0.. {
            let shown = vec![button.to_json().expect("an element")];
            self.script(into_sight, shown).await;
            match button.click().await {
                Ok(()) => return,
                Err(e) if looks == 3 => panic!("button {name}: {e}"),
                Err(_) => tokio::time::sleep(Duration::from_millis(100)).await,
            }
        }
    }

    /// Types into a field, after what stands there. A line break is the key Enter.
    pub async fn type_into(&self, selector: &str, text: &str) {
        let field = self.find(selector).await;
        let keys = text.replace('\n', &String::from(Key::Enter.value()));
        if self.engine == Engine::WebKit {
            // Its driver types into no frame, and the keys come from a script there.
            let typed = "const [field, text] = arguments;
                if (window === top) return false;
                field.value += text.trimEnd();
                const key = { key: 'Enter', bubbles: true, composed: true, cancelable: true };
                if (text.endsWith('\\n')) field.dispatchEvent(new KeyboardEvent('keydown', key));
                return true;";
            let element = field.to_json().expect("an element");
            if self.script(typed, vec![element, json!(text)]).await == json!(true) {
                return;
            }
        }
        field
            .send_keys(keys)
            .await
            .unwrap_or_else(|e| panic!("{selector}: {e}"));
    }

    /// The cell of a square of the board that is shown.
    pub async fn square(&self, square: &str) -> WebElement {
        self.find(&format!("[role=grid] [data-square={square}]"))
            .await
    }

    /// Waits until a man stands on a square: `until_man("d3", "black king")`,
    /// or `empty`.
    pub async fn until_man(&self, square: &str, man: &str) {
        self.until(
            &format!("{man} on {square}"),
            "const [square, wanted] = arguments;
             return deep(`[role=grid] [data-square=${square}]`).some((e) => seen(e) && e.getAttribute('aria-label').startsWith(wanted));",
            vec![json!(square), json!(format!("{square}, {man}"))],
        )
        .await;
    }

    /// Waits until the board takes moves again.
    pub async fn until_open(&self) {
        self.until(
            "a board that takes moves",
            "return deep('.kp-board.kp-open').some(seen);",
            vec![],
        )
        .await;
    }

    /// Carries a man with the mouse.
    pub async fn drag(&self, from: &str, to: &str) {
        let (from, to) = (self.square(from).await, self.square(to).await);
        from.scroll_into_view().await.expect("a square in view");
        self.driver
            .action_chain()
            .move_to_element_center(&from)
            .click_and_hold()
            .move_by_offset(3, 3)
            .move_to_element_center(&to)
            .release()
            .perform()
            .await
            .expect("a drag");
    }

    /// Clicks a man, then where it goes.
    pub async fn click(&self, from: &str, to: &str) {
        for square in [from, to] {
            self.square(square)
                .await
                .click()
                .await
                .unwrap_or_else(|e| panic!("{square}: {e}"));
        }
    }

    /// Taps a man with a finger, then where it goes.
    pub async fn tap(&self, from: &str, to: &str) {
        self.gets_fingers().await;
        for square in [from, to] {
            let point = self.middle(square).await;
            self.touch("touchStart", Some(point)).await;
            self.touch("touchEnd", None).await;
        }
    }

    /// Carries a man with a finger.
    pub async fn swipe(&self, from: &str, to: &str) {
        self.gets_fingers().await;
        let (x, y) = self.middle(from).await;
        let (u, v) = self.middle(to).await;
        self.touch("touchStart", Some((x, y))).await;
        for step in 1..=4 {
            let share = f64::from(step) / 4.0;
            let at = (x + (u - x) * share, y + (v - y) * share);
            self.touch("touchMove", Some(at)).await;
        }
        self.touch("touchEnd", None).await;
    }

    /// Carries a man with a pen.
    pub async fn pen(&self, from: &str, to: &str) {
        let (from, to) = (self.middle(from).await, self.middle(to).await);
        for (kind, (x, y), buttons) in [
            ("mousePressed", from, 1),
            ("mouseMoved", to, 1),
            ("mouseReleased", to, 0),
        ] {
            self.devtools(
                "Input.dispatchMouseEvent",
                json!({
                    "type": kind, "x": x, "y": y, "pointerType": "pen",
                    "button": "left", "buttons": buttons, "clickCount": 1
                }),
            )
            .await;
        }
    }

    /// Plays a move with keys alone: Tab to the board, arrows, Enter.
    pub async fn keys(&self, from: &str, to: &str) {
        for _ in 0..60 {
            if self.on_square().await.is_some() {
                break;
            }
            self.key(Key::Tab).await;
        }
        for target in [from, to] {
            for _ in 0..20 {
                let here = self.on_square().await.expect("the focus on the board");
                if here == target {
                    break;
                }
                self.key(self.arrow(&here, target).await).await;
            }
            assert_eq!(self.on_square().await.as_deref(), Some(target));
            self.key(Key::Enter).await;
        }
    }

    pub async fn key(&self, key: Key) {
        self.type_keys(key).await;
    }

    /// Types into whatever has the focus.
    pub async fn type_keys(&self, keys: impl Into<TypingData>) {
        let chain = self.driver.action_chain();
        chain.send_keys(keys).perform().await.expect("keys");
    }

    /// Types while a key is held down.
    pub async fn held(&self, key: Key, keys: impl Into<TypingData>) {
        let chain = self.driver.action_chain();
        let held = chain.key_down(key.clone()).send_keys(keys).key_up(key);
        held.perform().await.expect("keys held together");
    }

    /// Waits until the focus is on the element of this id.
    pub async fn until_focus(&self, id: &str) {
        self.until(
            &format!("the focus on {id}"),
            "return focused()?.id === arguments[0];",
            vec![json!(id)],
        )
        .await;
    }

    /// The messages of one of the browser's logs since it was last read. Only Chromium
    /// has them for a driver.
    pub async fn log(&self, kind: &str) -> Vec<String> {
        if self.engine != Engine::Chromium {
            return Vec::new();
        }
        let entries = self.driver.get_log(kind).await.expect("a log");
        entries.into_iter().map(|entry| entry.message).collect()
    }

    /// Asserts that the pages opened so far asked for nothing but themselves:
    /// `own` names the addresses that were opened.
    pub async fn assert_no_request_left(&self, own: &[&str]) {
        let mut seen = 0;
        for message in self.log("performance").await {
            let event: Value = serde_json::from_str(&message).expect("JSON");
            let event = &event["message"];
            let url = match event["method"].as_str() {
                Some("Network.requestWillBeSent") => &event["params"]["request"]["url"],
                Some("Network.webSocketCreated" | "Network.webTransportCreated") => {
                    &event["params"]["url"]
                }
                _ => continue,
            };
            let url = url.as_str().expect("an address");
            seen += 1;
            let inside = ["data:", "blob:", "about:", "chrome:"]
                .iter()
                .any(|scheme| url.starts_with(scheme));
            let named = url.split(['#', '?']).next().unwrap_or_default();
            assert!(inside || own.contains(&named), "the page asked for {url}");
        }
        assert!(
            seen > 0 || self.engine != Engine::Chromium,
            "the log of requests is empty, so it shows nothing"
        );
        // A page that asked where Chromium calls home would be in the log above.
        let mut trapped = self.trap.taken();
        trapped.retain(|asked| !CALLS_HOME.iter().any(|host| asked.contains(host)));
        assert!(trapped.is_empty(), "the browser asked for {trapped:?}");
    }

    /// Asserts that nothing was logged as an error. WebKit logs nothing for a driver:
    /// there, that the page says of none.
    pub async fn assert_no_errors(&self) {
        let severe: Vec<String> = match self.engine {
            Engine::Chromium => {
                let entries = self.driver.get_log("browser").await.expect("a log");
                let severe = entries.into_iter().filter(|e| e.level == "SEVERE");
                severe.map(|e| e.message).collect()
            }
            Engine::Firefox => {
                // Errors of pages, not of the browser's own parts.
                let read = "const errors = Services.console.getMessageArray()
                      .filter((m) => m instanceof Ci.nsIScriptError && m.flags === 0 && m.innerWindowID)
                      .map((m) => m.toString());
                    arguments[0](errors);";
                let told = self.in_firefox(read, vec![]).await;
                let told = told.as_array().expect("a list").iter();
                told.map(|m| m.as_str().unwrap_or("?").to_owned()).collect()
            }
            Engine::WebKit => {
                let told = self.text("[role=alert]").await;
                (!told.is_empty()).then_some(told).into_iter().collect()
            }
        };
        assert!(severe.is_empty(), "{severe:?}");
    }

    /// Waits for a download whose name ends like this, and for all of it: Firefox keeps
    /// its name with an empty file until it is there.
    pub async fn downloaded(&self, ending: &str) -> PathBuf {
        let is_there = |path: &PathBuf| path.metadata().is_ok_and(|file| file.len() > 0);
        let start = Instant::now();
        loop {
            let found = std::fs::read_dir(&self.folder)
                .expect("the test's folder")
                .flatten()
                .map(|entry| entry.path())
                .find(|path| path.to_string_lossy().ends_with(ending));
            if let Some(path) = found.filter(is_there) {
                return path;
            }
            assert!(start.elapsed() < PATIENCE, "no download *{ending}");
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// What a finger does: `touchStart`, `touchMove`, `touchEnd`, `touchCancel`.
    pub async fn touch(&self, kind: &str, point: Option<(f64, f64)>) {
        if self.engine != Engine::Chromium {
            return self.finger(kind, point).await;
        }
        let points: Vec<Value> = point
            .map(|(x, y)| json!({ "x": x, "y": y }))
            .into_iter()
            .collect();
        self.devtools(
            "Input.dispatchTouchEvent",
            json!({ "type": kind, "touchPoints": points }),
        )
        .await;
    }

    async fn gets_fingers(&self) {
        if self.engine == Engine::Chromium {
            let on = json!({ "enabled": true });
            self.devtools("Emulation.setTouchEmulationEnabled", on)
                .await;
        }
    }

    /// The same by WebDriver's own actions.
    async fn finger(&self, kind: &str, point: Option<(f64, f64)>) {
        let to = point.map(|(x, y)| {
            json!({ "type": "pointerMove", "duration": 0, "x": x.round(), "y": y.round() })
        });
        let act = match kind {
            "touchStart" => Some(json!({ "type": "pointerDown", "button": 0 })),
            "touchEnd" => Some(json!({ "type": "pointerUp", "button": 0 })),
            _ => None,
        };
        let steps: Vec<Value> = to.into_iter().chain(act).collect();
        let pointer = json!({
            "type": "pointer", "id": "finger", "parameters": { "pointerType": "touch" }, "actions": steps
        });
        self.tell("actions", json!({ "actions": [pointer] })).await;
    }

    /// The middle of a square in the view.
    async fn middle(&self, square: &str) -> (f64, f64) {
        self.square(square).await;
        let middle = self
            .script(
                "const cell = deep(`[role=grid] [data-square=${arguments[0]}]`).find(seen);
                 cell.scrollIntoView({ block: 'nearest' });
                 const r = cell.getBoundingClientRect();
                 return [r.x + r.width / 2, r.y + r.height / 2];",
                vec![json!(square)],
            )
            .await;
        let number = |i: usize| middle[i].as_f64().expect("a coordinate");
        (number(0), number(1))
    }

    /// The square that has the focus.
    async fn on_square(&self) -> Option<String> {
        let name = self
            .script("return focused()?.dataset?.square ?? null;", vec![])
            .await;
        name.as_str().map(str::to_owned)
    }

    /// The arrow that leads from one square towards another as the board
    /// stands.
    async fn arrow(&self, from: &str, to: &str) -> Key {
        let ((x, y), (u, v)) = (self.middle(from).await, self.middle(to).await);
        if (u - x).abs() > 1.0 {
            if u > x { Key::Right } else { Key::Left }
        } else if v > y {
            Key::Down
        } else {
            Key::Up
        }
    }
}

fn write_picture(path: &Path, bytes: &[u8]) {
    let folder = path.parent().expect("a folder");
    std::fs::create_dir_all(folder)
        .and_then(|()| std::fs::write(path, bytes))
        .unwrap_or_else(|e| panic!("{}: {e}", path.display()));
}

/// A command with its body, as it is posted to a driver.
#[derive(Debug)]
struct Posted(&'static str, Value);

impl ExtensionCommand for Posted {
    fn parameters_json(&self) -> Option<Value> {
        Some(self.1.clone())
    }

    fn method(&self) -> http::Method {
        http::Method::POST
    }

    fn endpoint(&self) -> Arc<str> {
        ["/", self.0].concat().into()
    }
}
