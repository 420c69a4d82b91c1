//! A small server for `dist/` on this machine alone.

use std::fs::File;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::{Ipv4Addr, TcpListener, TcpStream};
use std::path::{Component, Path, PathBuf};

use crate::pages;
use crate::shell::{Done, dist};

/// Builds what is missing or stale, then serves `dist/` until stopped. Port 0
/// takes a free one.
pub fn serve(port: u16) -> Done {
    pages::build_pages()?;
    let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port))
        .map_err(|fault| format!("cannot listen on 127.0.0.1:{port}: {fault}"))?;
    let address = listener.local_addr().map_err(|fault| fault.to_string())?;
    println!("Keyproof: http://{address}/keyproof.html");
    println!(
        "(Ctrl+C stops it; the same page opens from disk: {})",
        dist().join("keyproof.html").display()
    );
    for stream in listener.incoming().flatten() {
        std::thread::spawn(move || {
            // A browser that hangs up early is no concern of ours.
            let _ = answer(stream, &dist());
        });
    }
    Ok(())
}

/// Reads one request and answers it.
fn answer(stream: TcpStream, folder: &Path) -> std::io::Result<()> {
    stream.set_read_timeout(Some(std::time::Duration::from_secs(10)))?;
    let mut lines = BufReader::new(stream.try_clone()?.take(64 * 1024));
    let mut request = String::new();
    lines.read_line(&mut request)?;
    let mut header = String::new();
    while lines.read_line(&mut header)? > 2 {
        header.clear();
    }
    let mut words = request.split_whitespace();
    let (method, target) = (words.next().unwrap_or(""), words.next().unwrap_or(""));
    if !matches!(method, "GET" | "HEAD") {
        return reply(
            stream,
            "405 Method Not Allowed",
            "text/plain",
            b"only GET and HEAD",
            true,
        );
    }
    let body = method == "GET";
    match file_for(target, folder).and_then(|path| Some((File::open(&path).ok()?, path))) {
        Some((mut file, path)) => {
            let mut bytes = Vec::new();
            file.read_to_end(&mut bytes)?;
            reply(stream, "200 OK", mime(&path), &bytes, body)
        }
        None => reply(
            stream,
            "404 Not Found",
            "text/plain; charset=utf-8",
            b"no such file",
            body,
        ),
    }
}

fn reply(
    mut stream: TcpStream,
    status: &str,
    mime: &str,
    bytes: &[u8],
    body: bool,
) -> std::io::Result<()> {
    write!(
        stream,
        "HTTP/1.1 {status}\r\nContent-Type: {mime}\r\nContent-Length: {}\r\nCache-Control: no-store\r\nX-Content-Type-Options: nosniff\r\nConnection: close\r\n\r\n",
        bytes.len()
    )?;
    if body {
        stream.write_all(bytes)?;
    }
    stream.flush()
}

/// The file that a request means; `None` for what lies outside the folder.
fn file_for(target: &str, folder: &Path) -> Option<PathBuf> {
    let path = target.split(['?', '#']).next()?.strip_prefix('/')?;
    let path = Path::new(if path.is_empty() {
        "keyproof.html"
    } else {
        path
    });
    let inside = path
        .components()
        .all(|part| matches!(part, Component::Normal(_)));
    let path = folder.join(path);
    (inside && path.is_file()).then_some(path)
}

fn mime(path: &Path) -> &'static str {
    match path.extension().and_then(|extension| extension.to_str()) {
        Some("html") => "text/html; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("wasm") => "application/wasm",
        Some("svg") => "image/svg+xml",
        Some("png") => "image/png",
        Some("json") => "application/json",
        Some("pgn") => "application/vnd.chess-pgn; charset=utf-8",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_files_of_the_folder_are_served() {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR"));
        assert_eq!(
            file_for("/Cargo.toml?x", folder),
            Some(folder.join("Cargo.toml"))
        );
        assert_eq!(
            file_for("/src/main.rs", folder),
            Some(folder.join("src/main.rs"))
        );
        assert_eq!(file_for("/../cli/Cargo.toml", folder), None);
        assert_eq!(file_for("//etc/hostname", folder), None);
        assert_eq!(file_for("/src", folder), None);
        assert_eq!(file_for("/nothing", folder), None);
    }

    #[test]
    fn a_request_gets_its_file_with_its_type() {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, 0)).unwrap();
        let address = listener.local_addr().unwrap();
        let server = std::thread::spawn(move || {
            let (stream, _) = listener.accept().unwrap();
            answer(
                stream,
                Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../../web")),
            )
            .unwrap();
        });
        let mut client = TcpStream::connect(address).unwrap();
        client
            .write_all(b"GET /start.js HTTP/1.1\r\nHost: x\r\n\r\n")
            .unwrap();
        let mut text = String::new();
        client.read_to_string(&mut text).unwrap();
        server.join().unwrap();
        assert!(text.starts_with("HTTP/1.1 200 OK\r\n"), "{text}");
        assert!(
            text.contains("Content-Type: text/javascript; charset=utf-8\r\n"),
            "{text}"
        );
        assert!(text.ends_with(include_str!("../../../web/start.js")));
    }
}
