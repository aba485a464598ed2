//! What is asked for, and what comes back.

use std::collections::HashMap;
use std::fs::File;
use std::sync::Mutex;
use std::sync::PoisonError;

use serde::Deserialize;
use serde_json::json;

use crate::facts::{FrameNumber, RollName};
use crate::pipeline::Unwatched;

use super::super::session::{Session, SessionError};
use super::super::view::{self, Wanted};
use super::super::{Answer, page};
use super::files::{self, Files};
use super::guard;
use super::http::{Request, Response};

/// The session and the files, as the requests share them.
#[derive(Debug)]
pub struct Desk {
    pub session: Mutex<Session>,
    pub files: Files,
}

#[derive(Deserialize)]
struct Asked {
    answer: Option<Answer>,
    /// The place in the list of doubts to go on from.
    at: Option<usize>,
    id: Option<String>,
}

/// A response, and whether the review is done with it.
pub struct Served(pub Response, pub bool);

impl Desk {
    /// Serves what the guard admitted: `path` below the key, with its query.
    pub fn serve(&self, request: &Request, path: &str, query: &str) -> Served {
        let Some(path) = decoded(path) else { return Served(Response::refused(400, "no such path"), false) };
        let query: HashMap<&str, String> =
            query.split('&').filter_map(|p| p.split_once('=')).filter_map(|(n, v)| Some((n, decoded(v)?))).collect();
        if request.method == "POST" {
            return self.post(request, &path);
        }
        let range = request.header("range");
        let found = match path.split_once('/').unwrap_or((&path, "")) {
            ("", "") => guard::random().ok().map(|nonce| page::response(&nonce)),
            ("state", "") => Some(self.state(&query)),
            ("roll", "") => self.roll(&query),
            ("frame", "") => self.frame(&query),
            ("clip", name) => self.files.clip(name).and_then(|path| {
                let file = File::open(path).ok()?;
                Response::file(file, files::kind(name), range).ok()
            }),
            ("scan", name) => self.files.scan(name, false).map(|b| Response::of("image/jpeg", b.to_vec())),
            ("small", name) => self.files.scan(name, true).map(|b| Response::of("image/jpeg", b.to_vec())),
            ("edge", name) => self.files.edge(name).map(|b| Response::of("image/jpeg", b.to_vec())),
            ("peaks", name) => stretch(&query)
                .and_then(|(from, to)| self.files.peaks(name, from, to))
                .map(|p| Response::json(&json!(p))),
            ("sound", name) => stretch(&query)
                .and_then(|(from, to)| self.files.sound(name, from, to))
                .map(|wav| Response::of("audio/wav", wav)),
            _ => None,
        };
        Served(found.unwrap_or_else(|| Response::refused(404, "not here")), false)
    }

    fn session(&self) -> std::sync::MutexGuard<'_, Session> {
        self.session.lock().unwrap_or_else(PoisonError::into_inner)
    }

    fn state(&self, query: &HashMap<&str, String>) -> Response {
        let wanted = match (query.get("after"), query.get("before"), query.get("id")) {
            (Some(id), _, _) => Wanted::After(id.clone()),
            (_, Some(id), _) => Wanted::Before(id.clone()),
            (_, _, Some(id)) => Wanted::This(id.clone()),
            _ => Wanted::At(0),
        };
        let mut session = self.session();
        let told = match session.look_at_tables() {
            Ok(notices) => notices.iter().map(ToString::to_string).collect(),
            Err(why) => vec![why.to_string()],
        };
        Response::json(&view::state(&session, &wanted, &told))
    }

    fn roll(&self, query: &HashMap<&str, String>) -> Option<Response> {
        let name = RollName::new(query.get("name")?).ok()?;
        Some(Response::json(&view::roll(&self.session(), &name)))
    }

    fn frame(&self, query: &HashMap<&str, String>) -> Option<Response> {
        let name = RollName::new(query.get("roll")?).ok()?;
        let number: FrameNumber = query.get("frame")?.parse().ok()?;
        Some(Response::json(&view::frame(&self.session(), &name, number)))
    }

    fn post(&self, request: &Request, path: &str) -> Served {
        let asked: Asked = match serde_json::from_slice(&request.body) {
            Ok(asked) => asked,
            Err(_) => return Served(Response::refused(400, "no such question"), false),
        };
        let mut session = self.session();
        let done = match (path, asked.answer) {
            ("answer", Some(answer)) => session.answer(&answer),
            ("undo", None) => session.undo(),
            ("done", None) => session.finish(&Unwatched),
            _ => return Served(Response::refused(404, "not here"), false),
        };
        match done {
            Ok(notices) => {
                let told: Vec<String> = notices.iter().map(ToString::to_string).collect();
                let wanted = asked.id.map_or(Wanted::At(asked.at.unwrap_or(0)), Wanted::This);
                Served(Response::json(&view::state(&session, &wanted, &told)), path == "done")
            }
            Err(SessionError::Refused(why)) => Served(Response::refused(409, &why.to_string()), false),
            Err(why) => Served(Response::refused(500, &why.to_string()), false),
        }
    }
}

fn stretch(query: &HashMap<&str, String>) -> Option<(f64, f64)> {
    Some((query.get("from")?.parse().ok()?, query.get("to")?.parse().ok()?))
}

/// Percent-encoding taken off (RFC 3986, 2.1); none of what is no text.
fn decoded(text: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.bytes();
    while let Some(b) = rest.next() {
        let digit = |b: u8| char::from(b).to_digit(16).map(|d| d as u8);
        bytes.push(match b {
            b'%' => digit(rest.next()?)? * 16 + digit(rest.next()?)?,
            b'+' => b'+',
            b => b,
        });
    }
    String::from_utf8(bytes).ok()
}

#[cfg(test)]
mod tests {
    use super::decoded;

    #[test]
    fn paths_are_decoded_once() {
        assert_eq!(decoded("day%201/a%2Bb.m4a").as_deref(), Some("day 1/a+b.m4a"));
        assert_eq!(decoded("%252e%252e").as_deref(), Some("%2e%2e"));
        assert_eq!((decoded("%"), decoded("%zz"), decoded("%ff")), (None, None, None));
    }
}
