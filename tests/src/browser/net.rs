//! What stands around a browser under test: no network, and a server of one folder.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, TcpListener, TcpStream};
use std::path::Path;
use std::sync::{Arc, Mutex};

/// A proxy that lets nothing through and remembers what was asked of it.
pub(super) struct Trap {
    pub port: u16,
    asked: Arc<Mutex<Vec<String>>>,
}

impl Trap {
    pub fn set() -> Trap {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).expect("a free port");
        let port = listener.local_addr().expect("an address").port();
        let asked = Arc::new(Mutex::new(Vec::new()));
        let list = asked.clone();
        std::thread::spawn(move || {
            for stream in listener.incoming().flatten() {
                let mut line = String::new();
                let _ = BufReader::new(&stream).read_line(&mut line);
                list.lock().expect("a list").push(line.trim().to_owned());
                let mut stream = stream;
                let _ = stream.write_all(b"HTTP/1.1 502 No network here\r\n\r\n");
            }
        });
        Trap { port, asked }
    }

    pub fn taken(&self) -> Vec<String> {
        std::mem::take(&mut *self.asked.lock().expect("a list"))
    }
}

/// A server for one folder on this machine, for as long as it is kept.
pub struct Server {
    port: u16,
}

impl Server {
    pub fn start(folder: &Path) -> Server {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).expect("a free port");
        let port = listener.local_addr().expect("an address").port();
        let folder = folder.to_owned();
        std::thread::spawn(move || {
            for stream in listener.incoming().flatten() {
                answer(stream, &folder);
            }
        });
        Server { port }
    }

    pub fn url(&self, name: &str) -> String {
        format!("http://127.0.0.1:{}/{name}", self.port)
    }
}

fn answer(mut stream: TcpStream, folder: &Path) {
    let mut request = [0; 4096];
    let read = stream.read(&mut request).unwrap_or(0);
    let request = String::from_utf8_lossy(&request[..read]);
    let name = request
        .split(' ')
        .nth(1)
        .unwrap_or("/")
        .trim_start_matches('/');
    let body = std::fs::read(folder.join(name));
    let (status, body) = match body {
        Ok(body) if !name.contains("..") => ("200 OK", body),
        _ => ("404 Not Found", b"not here".to_vec()),
    };
    let kind = match name.rsplit_once('.').map(|(_, ending)| ending) {
        Some("js") => "text/javascript",
        Some("wasm") => "application/wasm",
        _ => "text/html; charset=utf-8",
    };
    let head = format!(
        "HTTP/1.1 {status}\r\nContent-Type: {kind}\r\n\
         Content-Length: {}\r\nConnection: close\r\n\r\n",
        body.len()
    );
    let _ = stream.write_all(head.as_bytes());
    let _ = stream.write_all(&body);
}
