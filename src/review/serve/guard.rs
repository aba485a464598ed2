//! Who may ask: this page, opened with the key, and nobody else.

use super::http::Request;

/// What is asked of the server by the name of this machine and no other, with a key.
#[derive(Debug, Clone)]
pub struct Guard {
    key: String,
    port: u16,
}

/// Bytes of the key: as many as a 256-bit cipher's.
const KEY: usize = 32;

/// A number that nobody can guess, in hexadecimal digits.
///
/// # Errors
/// When the system gives no random numbers.
pub fn random() -> Result<String, getrandom::Error> {
    let mut bytes = [0; KEY];
    getrandom::fill(&mut bytes)?;
    Ok(bytes.iter().map(|b| format!("{b:02x}")).collect())
}

impl Guard {
    /// A guard with a new random key.
    ///
    /// # Errors
    /// When the system gives no random numbers.
    pub fn new(port: u16) -> Result<Self, getrandom::Error> {
        Ok(Self { key: random()?, port })
    }

    /// The address to open.
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}/{}/", self.port, self.key)
    }

    /// What is asked for, below the key, with its query; or the status of the refusal.
    ///
    /// # Errors
    /// 405 for a method that is not served; 403 for all else that is refused.
    pub fn admit<'a>(&self, request: &'a Request) -> Result<(&'a str, &'a str), u16> {
        let post = match request.method.as_str() {
            "GET" | "HEAD" => false,
            "POST" => true,
            _ => return Err(405),
        };
        let here = format!("127.0.0.1:{}", self.port);
        // A name that leads here from elsewhere is not this machine's.
        if request.header("host") != Some(here.as_str()) {
            return Err(403);
        }
        let own = format!("http://{here}");
        let sent = request.headers.iter().filter(|(n, _)| n == "origin").count();
        if sent > 0 && request.header("origin") != Some(own.as_str()) || post && sent == 0 {
            return Err(403);
        }
        // Browsers tell whether another page asks.
        if request.header("sec-fetch-site").is_some_and(|site| !matches!(site, "same-origin" | "none")) {
            return Err(403);
        }
        if post && request.header("content-type") != Some("application/json") {
            return Err(403);
        }
        let (path, query) = request.target.split_once('?').unwrap_or((&request.target, ""));
        let (key, rest) = path.strip_prefix('/').and_then(|p| p.split_once('/')).ok_or(403_u16)?;
        // Hashes compare in the same time wherever they differ.
        if blake3::hash(key.as_bytes()) == blake3::hash(self.key.as_bytes()) { Ok((rest, query)) } else { Err(403) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ask(method: &str, target: &str, headers: &[(&str, &str)]) -> Request {
        let headers = headers.iter().map(|(n, v)| ((*n).to_owned(), (*v).to_owned())).collect();
        Request { method: method.into(), target: target.into(), headers, body: Vec::new() }
    }

    #[test]
    fn only_this_page_with_the_key_is_admitted() {
        let guard = Guard { key: "k3y".into(), port: 4000 };
        let host = ("host", "127.0.0.1:4000");
        let origin = ("origin", "http://127.0.0.1:4000");
        let json = ("content-type", "application/json");
        assert_eq!(guard.admit(&ask("GET", "/k3y/state?id=7", &[host])), Ok(("state", "id=7")));
        assert_eq!(guard.admit(&ask("POST", "/k3y/answer", &[host, origin, json])), Ok(("answer", "")));
        for (request, status) in [
            (ask("GET", "/", &[host]), 403),
            (ask("GET", "/state", &[host]), 403),
            (ask("GET", "/k3/state", &[host]), 403),
            (ask("GET", "/k3y", &[host]), 403),
            (ask("GET", "//k3y/", &[host]), 403),
            (ask("GET", "http://127.0.0.1:4000/k3y/", &[host]), 403),
            (ask("GET", "/k3y/", &[]), 403),
            (ask("GET", "/k3y/", &[("host", "rebound.example:4000")]), 403),
            (ask("GET", "/k3y/", &[("host", "127.0.0.1:4001")]), 403),
            (ask("GET", "/k3y/", &[("host", "localhost:4000")]), 403),
            (ask("GET", "/k3y/", &[host, ("host", "127.0.0.1:4000")]), 403),
            (ask("GET", "/k3y/", &[host, ("origin", "http://elsewhere.example")]), 403),
            (ask("GET", "/k3y/", &[host, ("origin", "null")]), 403),
            (ask("GET", "/k3y/", &[host, ("sec-fetch-site", "cross-site")]), 403),
            (ask("POST", "/k3y/answer", &[host, json]), 403),
            (ask("POST", "/k3y/answer", &[host, origin]), 403),
            (ask("POST", "/k3y/answer", &[host, origin, ("content-type", "text/plain")]), 403),
            (ask("OPTIONS", "/k3y/", &[host]), 405),
            (ask("DELETE", "/k3y/", &[host]), 405),
        ] {
            assert_eq!(guard.admit(&request), Err(status), "{request:?}");
        }
    }

    #[test]
    fn no_two_keys_are_alike() {
        let keys: Vec<String> = (0..20).map(|_| Guard::new(1).unwrap().key).collect();
        assert!(keys.iter().all(|k| k.len() == 2 * KEY));
        assert!((1..keys.len()).all(|i| !keys[..i].contains(&keys[i])));
    }
}
