//! As much of HTTP/1.1 (RFC 9112) as a page of this program needs: one request a
//! connection, small ones only. Requests are taken apart by `httparse`.

use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom, Write};

/// Request line and headers may take this many bytes.
const LONGEST_HEAD: usize = 16 << 10;
/// A body may take this many.
const LONGEST_BODY: usize = 64 << 10;
/// No more headers than this; browsers send some twenty.
const MOST_HEADERS: usize = 64;

/// A request.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Request {
    /// `GET`, `HEAD`, `POST` …
    pub method: String,
    /// Path and query as sent.
    pub target: String,
    /// Names in lower case, in the order sent.
    pub headers: Vec<(String, String)>,
    /// The body.
    pub body: Vec<u8>,
}

impl Request {
    /// A header that was sent once; one that was sent twice is none.
    pub fn header(&self, name: &str) -> Option<&str> {
        let mut all = self.headers.iter().filter(|(n, _)| n == name).map(|(_, v)| v.as_str());
        all.next().filter(|_| all.next().is_none())
    }

    /// Reads one request; none when it is no request, or too long.
    ///
    /// # Errors
    /// When the connection breaks off or takes too long.
    pub fn read(from: &mut impl Read) -> io::Result<Option<Self>> {
        let mut bytes = Vec::new();
        let (mut request, head, length) = loop {
            let mut block = [0; 4096];
            let n = from.read(&mut block)?;
            if n == 0 {
                return Ok(None);
            }
            bytes.extend_from_slice(&block[..n]);
            match Self::head(&bytes) {
                Head::Whole(request, head, length) => break (request, head, length),
                Head::More if bytes.len() < LONGEST_HEAD => {}
                _ => return Ok(None),
            }
        };
        if length > LONGEST_BODY {
            return Ok(None);
        }
        request.body = bytes.split_off(head);
        request.body.truncate(length);
        let missing = length - request.body.len();
        let read = from.take(missing as u64).read_to_end(&mut request.body)?;
        Ok((read == missing).then_some(request))
    }

    fn head(bytes: &[u8]) -> Head {
        let mut headers = [httparse::EMPTY_HEADER; MOST_HEADERS];
        let mut parsed = httparse::Request::new(&mut headers);
        match parsed.parse(bytes) {
            Ok(httparse::Status::Complete(head)) => {
                let text = |v: &[u8]| String::from_utf8_lossy(v).into_owned();
                let headers = parsed.headers.iter().map(|h| (h.name.to_ascii_lowercase(), text(h.value)));
                let request = Self {
                    method: parsed.method.unwrap_or_default().to_owned(),
                    target: parsed.path.unwrap_or_default().to_owned(),
                    headers: headers.collect(),
                    body: Vec::new(),
                };
                // Nothing that this page sends comes in pieces.
                if request.headers.iter().any(|(n, _)| n == "transfer-encoding") {
                    return Head::Wrong;
                }
                let given = request.headers.iter().filter(|(n, _)| n == "content-length").count();
                match request.header("content-length").map(str::parse) {
                    None if given == 0 => Head::Whole(request, head, 0),
                    Some(Ok(length)) => Head::Whole(request, head, length),
                    _ => Head::Wrong,
                }
            }
            Ok(httparse::Status::Partial) => Head::More,
            Err(_) => Head::Wrong,
        }
    }
}

enum Head {
    Whole(Request, usize, usize),
    More,
    Wrong,
}

/// What a response carries.
#[derive(Debug)]
pub enum Body {
    /// Bytes in memory.
    Bytes(Vec<u8>),
    /// `length` bytes of a file from `start`.
    File {
        /// The file.
        file: File,
        /// The first byte.
        start: u64,
        /// How many.
        length: u64,
    },
}

/// A response.
#[derive(Debug)]
pub struct Response {
    /// Such as 200.
    pub status: u16,
    /// Headers beside those that every response has.
    pub headers: Vec<(&'static str, String)>,
    /// The body.
    pub body: Body,
}

impl Response {
    /// Bytes of a kind.
    pub fn of(kind: &str, bytes: Vec<u8>) -> Self {
        Self { status: 200, headers: vec![("Content-Type", kind.to_owned())], body: Body::Bytes(bytes) }
    }

    /// JSON.
    pub fn json(value: &serde_json::Value) -> Self {
        Self::of("application/json", value.to_string().into_bytes())
    }

    /// A refusal, in a word.
    pub fn refused(status: u16, why: &str) -> Self {
        Self { status, ..Self::of("text/plain; charset=utf-8", why.as_bytes().to_vec()) }
    }

    /// A file, or the part of it that `range` asks for (RFC 9110, section 14). One part only: of
    /// several the whole file is sent, as the standard allows.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn file(file: File, kind: &str, range: Option<&str>) -> io::Result<Self> {
        let whole = file.metadata()?.len();
        let mut headers = vec![("Content-Type", kind.to_owned()), ("Accept-Ranges", "bytes".to_owned())];
        Ok(match range.map_or(Part::Whole, |r| part(r, whole)) {
            Part::Whole => Self { status: 200, headers, body: Body::File { file, start: 0, length: whole } },
            Part::Of(first, last) => {
                headers.push(("Content-Range", format!("bytes {first}-{last}/{whole}")));
                Self { status: 206, headers, body: Body::File { file, start: first, length: last - first + 1 } }
            }
            Part::None => {
                headers.push(("Content-Range", format!("bytes */{whole}")));
                Self { status: 416, headers, body: Body::Bytes(Vec::new()) }
            }
        })
    }

    /// Writes it; the head alone for `HEAD`.
    ///
    /// # Errors
    /// When the connection breaks off.
    pub fn write(self, to: &mut impl Write, head_only: bool) -> io::Result<()> {
        let length = match &self.body {
            Body::Bytes(bytes) => bytes.len() as u64,
            Body::File { length, .. } => *length,
        };
        let mut head = format!("HTTP/1.1 {} {}\r\nContent-Length: {length}\r\n", self.status, phrase(self.status));
        for (name, value) in
            ALWAYS.iter().map(|(n, v)| (*n, *v)).chain(self.headers.iter().map(|(n, v)| (*n, v.as_str())))
        {
            // Values come from this program; all the same, none begins another header.
            let value: String = value.chars().filter(|c| !c.is_control()).collect();
            head += &format!("{name}: {value}\r\n");
        }
        head += "\r\n";
        to.write_all(head.as_bytes())?;
        if !head_only {
            match self.body {
                Body::Bytes(bytes) => to.write_all(&bytes)?,
                Body::File { mut file, start, length } => {
                    file.seek(SeekFrom::Start(start))?;
                    io::copy(&mut file.take(length), to)?;
                }
            }
        }
        to.flush()
    }
}

/// What every response says: it is for this page alone, and kept nowhere.
const ALWAYS: [(&str, &str); 7] = [
    ("Connection", "close"),
    ("Cache-Control", "no-store"),
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "no-referrer"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
    ("Cross-Origin-Opener-Policy", "same-origin"),
    ("X-Frame-Options", "DENY"),
];

fn phrase(status: u16) -> &'static str {
    match status {
        200 => "OK",
        206 => "Partial Content",
        400 => "Bad Request",
        403 => "Forbidden",
        404 => "Not Found",
        405 => "Method Not Allowed",
        409 => "Conflict",
        416 => "Range Not Satisfiable",
        _ => "Internal Server Error",
    }
}

#[derive(Debug, PartialEq, Eq)]
enum Part {
    Whole,
    Of(u64, u64),
    None,
}

/// The bytes that a `Range` header asks for of so many: `bytes=0-99`, `bytes=100-`, `bytes=-100`.
fn part(range: &str, whole: u64) -> Part {
    let Some((first, last)) = range.strip_prefix("bytes=").and_then(|r| r.split_once('-')) else { return Part::Whole };
    let (first, last) = (first.trim(), last.trim());
    if last.contains(',') {
        return Part::Whole;
    }
    let asked = match (first.parse::<u64>(), last.parse::<u64>()) {
        (Ok(a), Ok(b)) if a <= b => Some((a, b)),
        (Ok(a), Err(_)) if last.is_empty() => Some((a, u64::MAX)),
        (Err(_), Ok(n)) if first.is_empty() => Some((whole.saturating_sub(n), u64::MAX)).filter(|_| n > 0),
        _ => return Part::Whole,
    };
    match asked.filter(|(a, _)| *a < whole) {
        Some((a, b)) => Part::Of(a, b.min(whole - 1)),
        None => Part::None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_request_is_read_whole_or_not_at_all() {
        let text = "POST /k/answer HTTP/1.1\r\nHost: here\r\nContent-Length: 4\r\n\r\nbodyrest";
        let request = Request::read(&mut text.as_bytes()).unwrap().unwrap();
        assert_eq!((request.method.as_str(), request.target.as_str()), ("POST", "/k/answer"));
        assert_eq!((request.header("host"), &request.body[..]), (Some("here"), &b"body"[..]));
        for text in [
            "",
            "GET",
            "GET / HTTP/1.1\r\nHost: a\r\n",
            "nonsense\r\n\r\n",
            "POST / HTTP/1.1\r\nContent-Length: 9\r\n\r\nshort",
            "POST / HTTP/1.1\r\nContent-Length: 99999999\r\n\r\n",
            "POST / HTTP/1.1\r\nContent-Length: -1\r\n\r\n",
            "POST / HTTP/1.1\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\nab",
            "POST / HTTP/1.1\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
        ] {
            assert_eq!(Request::read(&mut text.as_bytes()).unwrap(), None, "{text:?}");
        }
        let endless = format!("GET /{} HTTP/1.1\r\n", "a".repeat(LONGEST_HEAD + 1));
        assert_eq!(Request::read(&mut endless.as_bytes()).unwrap(), None);
        let twice = "GET / HTTP/1.1\r\nHost: a\r\nHost: b\r\n\r\n";
        assert_eq!(Request::read(&mut twice.as_bytes()).unwrap().unwrap().header("host"), None);
    }

    #[test]
    fn parts_of_a_file_as_the_standard_has_them() {
        // The examples of RFC 9110, 14.1.2, on a file of 10,000 bytes.
        for (range, expected) in [
            ("bytes=0-499", Part::Of(0, 499)),
            ("bytes=500-999", Part::Of(500, 999)),
            ("bytes=-500", Part::Of(9500, 9999)),
            ("bytes=9500-", Part::Of(9500, 9999)),
            ("bytes=0-0,-1", Part::Whole),
            ("bytes=10000-", Part::None),
            ("bytes=-0", Part::None),
            ("bytes=-20000", Part::Of(0, 9999)),
            ("bytes=5-2", Part::Whole),
            ("lines=1-2", Part::Whole),
        ] {
            assert_eq!(part(range, 10_000), expected, "{range}");
        }
    }
}
