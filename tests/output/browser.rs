//! A headless Chromium, led through chromedriver (W3C WebDriver) over a socket
//! of this machine.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};

use serde_json::{Value, json};

/// A browser window; closed when dropped.
pub struct Browser {
    driver: Child,
    port: u16,
    session: String,
}

/// How the window is to be.
pub struct Window {
    pub width: u32,
    pub height: u32,
    pub dark: bool,
}

impl Browser {
    /// Starts one. `None`, with a loud word, only when no Chromium is installed.
    pub fn start(window: &Window) -> Option<Self> {
        let found = Command::new("chromedriver").arg("--port=0").stdout(Stdio::piped()).stderr(Stdio::null()).spawn();
        let Ok(mut driver) = found else {
            eprintln!("SKIPPED: chromedriver is not installed, so no page was opened; scripts/test installs it");
            return None;
        };
        let mut lines = BufReader::new(driver.stdout.take().unwrap()).lines().map_while(Result::ok);
        let port = lines
            .find_map(|l| l.strip_suffix('.')?.split_once("successfully on port ")?.1.parse().ok())
            .expect("chromedriver tells its port");
        let mut browser = Self { driver, port, session: String::new() };
        let size = format!("--window-size={},{}", window.width, window.height);
        let mut arguments = vec![
            "--headless=new",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-dev-shm-usage",
            "--autoplay-policy=no-user-gesture-required",
            &size,
        ];
        if window.dark {
            arguments.push("--force-dark-mode");
            arguments.push("--blink-settings=preferredColorScheme=0");
        }
        let wanted = json!({"capabilities": {"alwaysMatch": {
            "browserName": "chrome",
            "goog:chromeOptions": {"args": arguments},
            "goog:loggingPrefs": {"browser": "ALL"},
        }}});
        let made = browser.call("POST", "/session", &wanted);
        browser.session = made["sessionId"].as_str().expect("a session").to_owned();
        Some(browser)
    }

    /// Opens a file.
    pub fn open(&self, file: &Path) {
        self.go(&format!("file://{}", file.display()).replace('#', "%23"));
    }

    /// Opens an address.
    pub fn go(&self, url: &str) {
        self.send("POST", "url", &json!({ "url": url }));
    }

    /// Clicks in the middle of the element that a script gives, with the mouse.
    pub fn click(&self, element: &str) {
        let place = self.run(&format!(
            "const e = {element}; e.scrollIntoView({{block: 'center'}}); const b = e.getBoundingClientRect(); \
             return [Math.round(b.x + b.width / 2), Math.round(b.y + b.height / 2)]"
        ));
        let actions = json!([
            {"type": "pointerMove", "duration": 0, "x": place[0], "y": place[1]},
            {"type": "pointerDown", "button": 0},
            {"type": "pointerUp", "button": 0},
        ]);
        self.send("POST", "actions", &json!({"actions": [{"type": "pointer", "id": "mouse", "actions": actions}]}));
    }

    /// The page as it is seen, as base64 of a PNG.
    pub fn picture(&self) -> String {
        self.call("GET", &format!("/session/{}/screenshot", self.session), &Value::Null)
            .as_str()
            .unwrap_or_default()
            .to_owned()
    }

    /// Runs a function body in the page.
    pub fn run(&self, script: &str) -> Value {
        self.send("POST", "execute/sync", &json!({"script": script, "args": []}))
    }

    /// Runs until the script gives a true value, for ten seconds at most.
    pub fn until(&self, script: &str) -> Value {
        for _ in 0..300 {
            let value = self.run(script);
            if !matches!(value, Value::Null | Value::Bool(false)) {
                return value;
            }
            std::thread::sleep(std::time::Duration::from_millis(100));
        }
        panic!("never came true: {script}");
    }

    /// Presses keys, one after the other, where the focus is.
    pub fn press(&self, keys: &str) {
        let actions: Vec<Value> = keys
            .chars()
            .flat_map(|k| {
                [json!({"type": "keyDown", "value": k.to_string()}), json!({"type": "keyUp", "value": k.to_string()})]
            })
            .collect();
        self.send("POST", "actions", &json!({"actions": [{"type": "key", "id": "keys", "actions": actions}]}));
    }

    /// What axe-core finds on the page against WCAG 2.1, levels A and AA; none where `scripts/test` has not fetched it.
    pub fn violations(&self) -> Option<Value> {
        let axe = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/axe/node_modules/axe-core/axe.min.js");
        let Ok(axe) = std::fs::read_to_string(&axe) else {
            eprintln!("SKIPPED: axe-core is not there, so no page was checked with it; scripts/test fetches it");
            return None;
        };
        self.run(&axe);
        Some(self.run(
            "return axe.run(document, {runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa']})\
             .then(r => r.violations.map(v => v.id + ' ' + v.nodes.map(n => n.target).join(', ')))",
        ))
    }

    /// What the page wrote to the console, and what it was refused.
    pub fn complaints(&self) -> Vec<String> {
        let log = self.send("POST", "se/log", &json!({"type": "browser"}));
        log.as_array().into_iter().flatten().map(|e| e["message"].as_str().unwrap_or_default().to_owned()).collect()
    }

    /// The page as it prints, as base64 of a PDF. Paper in centimetres.
    pub fn print(&self, width: f64, height: f64) -> String {
        let page = json!({"page": {"width": width, "height": height}, "background": true});
        self.send("POST", "print", &page).as_str().unwrap_or_default().to_owned()
    }

    fn send(&self, method: &str, command: &str, body: &Value) -> Value {
        self.call(method, format!("/session/{}/{command}", self.session).trim_end_matches('/'), body)
    }

    fn call(&self, method: &str, path: &str, body: &Value) -> Value {
        let body = if method == "GET" || method == "DELETE" { String::new() } else { body.to_string() };
        let mut stream = TcpStream::connect(("127.0.0.1", self.port)).expect("the driver listens");
        write!(
            stream,
            "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\nContent-Length: {}\r\n\r\n{body}",
            body.len()
        )
        .unwrap();
        let mut reader = BufReader::new(stream);
        let mut length = 0;
        loop {
            let mut line = String::new();
            reader.read_line(&mut line).unwrap();
            if let Some(n) = line.to_ascii_lowercase().strip_prefix("content-length:") {
                length = n.trim().parse().unwrap();
            }
            if line.trim().is_empty() {
                break;
            }
        }
        let mut answer = vec![0; length];
        reader.read_exact(&mut answer).unwrap();
        let answer: Value = serde_json::from_slice(&answer).expect("the driver answers in JSON");
        assert!(answer["value"]["error"].is_null(), "{method} {path}: {}", answer["value"]["message"]);
        answer["value"].clone()
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        if !self.session.is_empty() && !std::thread::panicking() {
            self.send("DELETE", "", &Value::Null);
        }
        // The driver ends its browser with itself.
        let _ = self.driver.kill();
        let _ = self.driver.wait();
    }
}
