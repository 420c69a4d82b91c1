//! The engines that pages are tested in, and the drivers that steer them.

use std::io::{BufRead, BufReader};
use std::net::{Ipv4Addr, TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};
use thirtyfour::prelude::*;
use thirtyfour::{Capabilities, ChromiumLikeCapabilities, LoggingPrefsLogLevel};

/// An engine that browsers are made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Engine {
    Chromium,
    /// Gecko, as Firefox ESR has it.
    Firefox,
    /// WebKit, as WebKitGTK has it.
    WebKit,
}

impl Engine {
    /// Why a printed page is not looked at in WebKit.
    pub const NO_PRINT: &str = "its driver neither prints nor shows the style of print";

    /// The one that `KEYPROOF_ENGINE` names; Chromium where it names none.
    pub fn asked() -> Engine {
        match std::env::var("KEYPROOF_ENGINE").as_deref() {
            Err(_) | Ok("" | "chromium") => Engine::Chromium,
            Ok("firefox") => Engine::Firefox,
            Ok("webkit") => Engine::WebKit,
            Ok(other) => panic!("KEYPROOF_ENGINE is chromium, firefox or webkit, not {other}"),
        }
    }

    /// Says, for a test that can only be run in other engines, why; the test then ends.
    /// `true` where this engine is one of those in which it cannot be run.
    pub fn cannot(impossible: &[Engine], why: &str) -> bool {
        let here = Engine::asked();
        let cannot = impossible.contains(&here);
        if cannot {
            println!("impossible in {here:?}: {why}");
        }
        cannot
    }

    /// What a browser is asked to be: headless where it can, with a profile in the
    /// folder, and no way out but by the proxy on this port.
    pub(super) fn wants(self, folder: &Path, proxy: u16) -> Capabilities {
        match self {
            Engine::Chromium => chromium(folder, proxy),
            Engine::Firefox => firefox(folder, proxy),
            Engine::WebKit => webkit(proxy),
        }
    }
}

fn chromium(folder: &Path, proxy: u16) -> Capabilities {
    let mut caps = DesiredCapabilities::chrome();
    let profile = format!("--user-data-dir={}", folder.join("profile").display());
    let proxy = format!("--proxy-server=http://127.0.0.1:{proxy}");
    for arg in [
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-quic",
        "--disable-dev-shm-usage",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-domain-reliability",
        "--disable-sync",
        "--disable-features=OptimizationHints,OptimizationGuideModelDownloading,AutofillServerCommunication,MediaRouter,Translate",
        "--force-color-profile=srgb",
        "--hide-scrollbars",
        &profile,
        &proxy,
    ] {
        caps.add_arg(arg).expect("an argument");
    }
    for log in ["performance", "browser"] {
        caps.set_logging_prefs(log, LoggingPrefsLogLevel::All)
            .expect("a preference");
    }
    caps.into()
}

fn firefox(folder: &Path, proxy: u16) -> Capabilities {
    let preferences: Value = json!({
        "network.proxy.type": 1,
        "network.proxy.http": "127.0.0.1", "network.proxy.http_port": proxy,
        "network.proxy.ssl": "127.0.0.1", "network.proxy.ssl_port": proxy,
        "browser.download.folderList": 2,
        "browser.download.dir": folder,
        "browser.download.alwaysOpenPanel": false,
        // What the browser would ask for by itself.
        "network.captive-portal-service.enabled": false,
        "network.connectivity-service.enabled": false,
        "services.settings.server": "data:,",
        "layout.css.prefers-color-scheme.content-override": 1,
    });
    let mut caps = Capabilities::new();
    for (name, value) in [
        ("browserName", json!("firefox")),
        (
            "moz:firefoxOptions",
            json!({ "binary": "/usr/bin/firefox-esr", "args": ["-headless"], "prefs": preferences }),
        ),
    ] {
        caps.set(name, value).expect("a capability");
    }
    caps
}

/// The program that shows a page in WebKitGTK, as Debian installs it: in a folder that is
/// named by the machine's kind.
fn mini_browser() -> PathBuf {
    let kinds = std::fs::read_dir("/usr/lib")
        .into_iter()
        .flatten()
        .flatten();
    kinds
        .map(|kind| kind.path().join("webkit2gtk-4.1/MiniBrowser"))
        .find(|program| program.is_file())
        .expect("WebKitGTK's MiniBrowser: run `cargo xtask setup`")
}

fn webkit(proxy: u16) -> Capabilities {
    let proxy = format!("--proxy=http://127.0.0.1:{proxy}");
    let args = [
        "--automation",
        "--full-screen",
        "--ignore-host=127.0.0.1",
        &proxy,
    ];
    let mut caps = Capabilities::new();
    for (name, value) in [
        ("browserName", json!("MiniBrowser")),
        (
            "webkitgtk:browserOptions",
            json!({ "binary": mini_browser(), "args": args }),
        ),
    ] {
        caps.set(name, value).expect("a capability");
    }
    caps
}

/// A driver on a free port, with a display of its own where its browser needs one.
pub(super) struct Driver {
    child: Child,
    display: Option<Child>,
    pub port: u16,
}

impl Driver {
    /// Several drivers that start at once may reach for the same port, and
    /// the one that comes late gives up; it is then started again.
    pub fn start(engine: Engine, folder: &Path) -> Driver {
        (0..5)
            .find_map(|_| match engine {
                Engine::Chromium => {
                    let mut driver = Command::new("chromedriver");
                    Driver::telling(driver.arg("--port=0"), "started successfully on port ")
                }
                Engine::Firefox => {
                    let mut driver = Command::new("geckodriver");
                    driver.args(["--port=0", "--websocket-port=0", "--allow-system-access"]);
                    driver.arg("--profile-root").arg(folder);
                    Driver::telling(&mut driver, "Listening on 127.0.0.1:")
                }
                Engine::WebKit => Driver::on_a_display(folder),
            })
            .expect("a driver that names its port")
    }

    /// One that says on which port it listens.
    fn telling(command: &mut Command, before: &str) -> Option<Driver> {
        let mut child = spawn(command.stdout(Stdio::piped()).stderr(Stdio::null()));
        let mut lines = BufReader::new(child.stdout.take().expect("a pipe")).lines();
        let port = lines.by_ref().map_while(Result::ok).find_map(|line| {
            let (_, port) = line.split_once(before)?;
            port.trim_end_matches('.').parse().ok()
        });
        let Some(port) = port else {
            let _ = child.wait();
            return None;
        };
        std::thread::spawn(move || lines.for_each(drop));
        Some(Driver {
            child,
            display: None,
            port,
        })
    }

    /// WebKit's: it is told its port, and its browser needs a display.
    fn on_a_display(folder: &Path) -> Option<Driver> {
        let mut xvfb = Command::new("Xvfb");
        xvfb.args(["-displayfd", "1", "-screen", "0", "1600x1300x24"]);
        xvfb.args(["-nolisten", "tcp", "-noreset"]);
        let mut display = spawn(xvfb.stdout(Stdio::piped()).stderr(Stdio::null()));
        let mut number = String::new();
        let _ = BufReader::new(display.stdout.take().expect("a pipe")).read_line(&mut number);
        let port = {
            let free = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).expect("a free port");
            free.local_addr().expect("an address").port()
        };
        let mut command = Command::new("WebKitWebDriver");
        command
            .arg(format!("--port={port}"))
            .env("DISPLAY", format!(":{}", number.trim()))
            .env("GDK_BACKEND", "x11")
            .env("LIBGL_ALWAYS_SOFTWARE", "1")
            .env("NO_AT_BRIDGE", "1")
            .envs(
                ["HOME", "XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME"]
                    .map(|name| (name, folder)),
            );
        let mut driver = Driver {
            child: spawn(command.stdout(Stdio::null()).stderr(Stdio::null())),
            display: Some(display),
            port,
        };
        let start = Instant::now();
        while start.elapsed() < Duration::from_secs(30) {
            if TcpStream::connect((Ipv4Addr::LOCALHOST, port)).is_ok() {
                return Some(driver);
            }
            if number.trim().is_empty()
                || driver.child.try_wait().is_ok_and(|ended| ended.is_some())
            {
                break;
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        None
    }

    pub fn stop(&mut self) {
        for child in std::iter::once(&mut self.child).chain(&mut self.display) {
            let _ = child.kill();
            let _ = child.wait();
        }
    }
}

impl Drop for Driver {
    fn drop(&mut self) {
        self.stop();
    }
}

fn spawn(command: &mut Command) -> Child {
    let name = command.get_program().to_string_lossy().into_owned();
    command
        .spawn()
        .unwrap_or_else(|e| panic!("{name} cannot be started ({e}): run `cargo xtask setup`"))
}
