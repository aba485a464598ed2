//! A review as a browser, a spreadsheet and a stranger meet it.

use std::fs;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, ChildStdout, Stdio};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use super::builder::{KIT, Run, Trip};

/// Reviews that are killed at work.
const KILLS: usize = 50;

fn trip() -> Run {
    let text = "roll 7, frame 1, a sixtieth at eight, full sun, boats\n\
        roll 7, frame 2, one twenty-fifth at f eleven, nets\n\
        roll 7, frame 3, a thousandth at f eleven, gulls\n\
        roll 7, frame 4, a sixtieth at five six, the stairs";
    Trip::new().kit(KIT).note("a.txt", text).scans("R7", 4).ingest().exits(0)
}

/// The table of the roll, whatever the roll's name is dressed in.
fn table_of(run: &Run) -> PathBuf {
    let files = fs::read_dir(run.out().join("rolls")).unwrap().flatten().map(|e| e.path());
    files.into_iter().find(|p| p.extension().is_some_and(|e| e == "csv")).expect("a table")
}

/// A review that stands.
struct Review {
    child: Child,
    lines: BufReader<ChildStdout>,
    port: u16,
    key: String,
}

impl Review {
    fn of(run: &Run) -> Self {
        let mut command = run.command("review");
        command.arg("--no-browser").stdout(Stdio::piped()).stderr(Stdio::piped());
        let mut child = command.spawn().expect("the program starts");
        let mut lines = BufReader::new(child.stdout.take().unwrap());
        let mut first = String::new();
        lines.read_line(&mut first).unwrap();
        let address = first.split_once("http://127.0.0.1:").unwrap_or_else(|| panic!("no address in '{first}'")).1;
        let (port, key) = address.trim_end().trim_end_matches('/').split_once('/').expect("a key");
        Self { port: port.parse().unwrap(), key: key.to_owned(), child, lines }
    }

    /// Sends this and returns status, head and body.
    fn raw(&self, request: &str) -> Option<(u16, String, Vec<u8>)> {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).ok()?;
        stream.write_all(request.as_bytes()).ok()?;
        let mut answer = Vec::new();
        stream.read_to_end(&mut answer).ok()?;
        let end = answer.windows(4).position(|w| w == b"\r\n\r\n")?;
        let head = String::from_utf8_lossy(&answer[..end]).into_owned();
        let status = head.split(' ').nth(1)?.parse().ok()?;
        Some((status, head, answer[end + 4..].to_vec()))
    }

    fn get(&self, target: &str, more: &str) -> (u16, String, Vec<u8>) {
        let request = format!("GET /{}/{target} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\n{more}\r\n", self.key, self.port);
        self.raw(&request).expect("an answer")
    }

    fn post(&self, target: &str, body: &Value) -> Option<Value> {
        let (body, port) = (body.to_string(), self.port);
        let request = format!(
            "POST /{}/{target} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nOrigin: http://127.0.0.1:{port}\r\n\
             Content-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
            self.key,
            body.len()
        );
        let (status, _, answer) = self.raw(&request)?;
        // Cut off by a kill, it is no acknowledgement.
        (status == 200).then(|| serde_json::from_slice(&answer).ok()).flatten()
    }

    fn set(&self, frame: &str, column: &str, text: &str) -> Option<Value> {
        let answer = json!({"do": "set", "roll": "7", "frame": frame, "column": column, "text": text});
        self.post("answer", &json!({ "answer": answer }))
    }

    /// Waits for its end; what it said last.
    fn ends(mut self) -> String {
        let since = Instant::now();
        while self.child.try_wait().unwrap().is_none() {
            assert!(since.elapsed() < Duration::from_secs(60), "it does not end");
            std::thread::sleep(Duration::from_millis(20));
        }
        let mut rest = String::new();
        self.lines.read_to_string(&mut rest).unwrap();
        rest
    }
}

impl Drop for Review {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

#[test]
fn only_its_own_page_with_the_key_is_served_and_only_this_trip() {
    let run = trip();
    let review = Review::of(&run);
    let (port, key) = (review.port, review.key.clone());
    let host = format!("Host: 127.0.0.1:{port}\r\n");
    let (status, head, page) = review.get("", "");
    assert_eq!(status, 200);
    for part in ["Content-Security-Policy: default-src 'none'", "Cache-Control: no-store", "frame-ancestors 'none'"] {
        assert!(head.contains(part), "no {part} in {head}");
    }
    assert!(!head.to_lowercase().contains("access-control"), "no other page may read it: {head}");
    assert!(!String::from_utf8(page).unwrap().contains("http"), "nothing is loaded from elsewhere");
    for request in [
        format!("GET / HTTP/1.1\r\n{host}\r\n"),
        format!("GET /state HTTP/1.1\r\n{host}\r\n"),
        format!("GET /{}/state HTTP/1.1\r\n{host}\r\n", key.replace(char::is_alphabetic, "0")),
        format!("GET /{key}/state HTTP/1.1\r\nHost: rebound.example:{port}\r\n\r\n"),
        format!("GET /{key}/state HTTP/1.1\r\n\r\n"),
        format!("GET /{key}/state HTTP/1.1\r\n{host}Origin: http://elsewhere.example\r\n\r\n"),
        format!("GET /{key}/state HTTP/1.1\r\n{host}Sec-Fetch-Site: cross-site\r\n\r\n"),
        format!("POST /{key}/done HTTP/1.1\r\n{host}Content-Length: 2\r\n\r\n{{}}"),
        format!(
            "POST /{key}/done HTTP/1.1\r\n{host}Origin: null\r\nContent-Type: application/json\r\nContent-Length: 2\r\n\r\n{{}}"
        ),
    ] {
        assert_eq!(review.raw(&request).expect("an answer").0, 403, "{request}");
    }
    for target in [
        "clip/../kit.toml",
        "clip/..%2fkit.toml",
        "scan/../kit.toml",
        "scan/%2e%2e/kit.toml",
        "scan/R7/../../kit.toml",
        "scan/R7/index.txt",
        "scan//etc/passwd",
        "clip/a.txt",
        "edge/7/..%2f..%2fkit.toml",
        "small/../spooltalk/.state/edits.json",
        "..",
        "nothing",
        "%00",
    ] {
        let status = review.get(target, "").0;
        assert!([400, 404].contains(&status), "{target}: {status}");
    }
    let (status, head, scan) = review.get("scan/R7/0001.jpg", "");
    assert_eq!((status, &scan[..2]), (200, &b"\xff\xd8"[..]), "{head}");
    let options = format!("OPTIONS /{key}/ HTTP/1.1\r\n{host}Origin: http://elsewhere.example\r\n\r\n");
    assert_eq!(review.raw(&options).expect("an answer").0, 405);
}

#[test]
fn clips_are_served_in_parts() {
    let run = Trip::new().kit(KIT).note("a.txt", "roll 7, frame 1, a sixtieth at eight").ingest().exits(0);
    fs::write(run.path().join("notes/b.wav"), (0..=255_u8).collect::<Vec<_>>()).unwrap();
    let review = Review::of(&run);
    let (status, head, part) = review.get("clip/b.wav", "Range: bytes=16-31\r\n");
    assert_eq!((status, &part[..]), (206, &(16..32_u8).collect::<Vec<_>>()[..]));
    assert!(head.contains("Content-Range: bytes 16-31/256"), "{head}");
    assert_eq!(review.get("clip/b.wav", "Range: bytes=256-\r\n").0, 416);
    assert_eq!(review.get("clip/b.wav", "").2.len(), 256);
}

#[test]
fn a_review_killed_anywhere_loses_no_answer() {
    let run = trip();
    let mut acknowledged = String::new();
    for round in 0..KILLS {
        let review = Review::of(&run);
        let id = review.child.id();
        // Spread over the first answers, without repeating (golden ratio).
        let delay = Duration::from_millis((60.0 * (round as f64 * 0.618_033_988_749_895).fract()) as u64);
        let killer = std::thread::spawn(move || {
            std::thread::sleep(delay);
            let killed = std::process::Command::new("kill").args(["-9", &id.to_string()]).status();
            assert!(killed.unwrap().success());
        });
        for n in 0.. {
            let remark = format!("round {round} answer {n}");
            if review.set("2", "remark", &remark).is_none() {
                break;
            }
            acknowledged = remark;
        }
        killer.join().unwrap();
        drop(review);
        let listed = String::from_utf8(run.command("edits").output().unwrap().stdout).unwrap();
        let kept = listed.split_once("frame 2: remark nothing -> '").map_or("", |(_, kept)| kept);
        let number = |text: &str| -> Vec<usize> { text.split([' ', '\'']).filter_map(|w| w.parse().ok()).collect() };
        // The one under way may have been kept as well.
        assert!(number(kept) >= number(&acknowledged), "kept '{kept}', acknowledged '{acknowledged}'");
    }
    assert!(!acknowledged.is_empty());
    let remark = run.again().exits(0).rows("7")[1]["remark"].clone();
    assert!(remark.starts_with("round "), "{remark}");
}

#[test]
fn a_table_changed_meanwhile_is_taken_in_and_told() {
    let run = trip();
    let review = Review::of(&run);
    review.set("1", "shutter", "1/30").unwrap();
    let table = table_of(&run);
    let text = fs::read_to_string(&table).unwrap();
    let changed = text.replacen("1/60", "1/15", 1).replacen("nets", "nets and buoys", 1);
    assert_ne!(text, changed);
    fs::write(&table, changed).unwrap();
    let after = review.set("4", "aperture", "8").unwrap();
    let told = after["told"].to_string();
    assert!(told.contains("changed to '1/15' in the table and to '1/30' in a review"), "{told}");
    let state = review.post("done", &json!({})).unwrap();
    assert_eq!(state["question"]["gravity"], "conflict", "{state}");
    assert!(review.ends().contains("done"));
    let run = run.row("7", "1", &[("shutter", "1/15")]).row("7", "2", &[("subject", "nets and buoys")]);
    let run = run.row("7", "4", &[("aperture", "8"), ("source", "voice+edit")]);
    assert!(run.rows("7")[0]["flags"].contains("conflict:shutter"));
    // Nothing of it is taken twice, and a later run changes nothing.
    let before = fs::read_to_string(&table).unwrap();
    let run = run.again().exits(0);
    assert_eq!(fs::read_to_string(table_of(&run)).unwrap(), before);
}

#[test]
fn numbers_changed_in_a_review_and_in_a_table_are_one_way() {
    let run = trip();
    let review = Review::of(&run);
    let shift = json!({"do": "shift", "roll": "7", "frame": "3", "by": 2});
    review.post("answer", &json!({ "answer": shift })).unwrap();
    let numbers = |run: &Run| run.rows("7").iter().map(|r| r["frame"].clone()).collect::<Vec<_>>();
    assert_eq!(numbers(&run), ["1", "2", "5", "6"], "a table that is open shows the numbers that stand");
    review.post("undo", &json!({})).unwrap();
    assert_eq!(numbers(&run), ["1", "2", "3", "4"]);
    review.post("done", &json!({})).unwrap();
    review.ends();
    let table = table_of(&run);
    let text = fs::read_to_string(&table).unwrap();
    fs::write(&table, text.replacen("7,4,", "7,8,", 1)).unwrap();
    let run = run.again().exits(0);
    assert_eq!(numbers(&run), ["1", "2", "3", "8"]);
    let run = run.again().exits(0);
    assert_eq!(numbers(&run), ["1", "2", "3", "8"]);
    let listed = String::from_utf8(run.command("edits").output().unwrap().stdout).unwrap();
    assert!(listed.lines().count() == 1 && listed.ends_with("frame 4: frame '4' -> '8'\n"), "{listed}");
}

#[cfg(target_os = "linux")]
#[test]
fn it_listens_on_loopback_alone_and_ends_with_ctrl_c() {
    let run = trip();
    let review = Review::of(&run);
    review.set("1", "remark", "at the end").unwrap();
    let of = format!("/proc/{}", review.child.id());
    let own: Vec<String> = fs::read_dir(Path::new(&of).join("fd"))
        .unwrap()
        .flatten()
        .filter_map(|e| {
            fs::read_link(e.path()).ok()?.to_str()?.strip_prefix("socket:[")?.strip_suffix(']').map(str::to_owned)
        })
        .collect();
    let mut found = 0;
    for table in ["tcp", "tcp6", "udp", "udp6"] {
        for line in fs::read_to_string(format!("{of}/net/{table}")).unwrap_or_default().lines().skip(1) {
            let cells: Vec<&str> = line.split_whitespace().collect();
            if own.iter().any(|inode| *inode == cells[9]) {
                // 127.0.0.1 as the kernel writes it.
                assert!(cells[1].starts_with("0100007F:"), "{table}: {line}");
                found += 1;
            }
        }
    }
    assert!(found >= 1, "its own socket is seen");
    assert!(
        std::process::Command::new("kill").args(["-INT", &review.child.id().to_string()]).status().unwrap().success()
    );
    assert!(review.ends().contains("stopped"));
    run.row("7", "1", &[("remark", "at the end")]);
}

#[test]
fn a_trip_not_taken_in_is_told_what_to_do() {
    let run = trip();
    fs::remove_file(run.out().join(".state/settled.json")).unwrap();
    let output = run.command("review").arg("--no-browser").output().unwrap();
    assert_eq!(output.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&output.stderr).contains("run `spooltalk ingest` on the trip"));
}
