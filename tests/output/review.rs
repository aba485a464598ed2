//! A review in the browser, from the first question to none.

use std::fs;
use std::io::{BufRead, BufReader, Read};
use std::path::Path;
use std::process::{Child, Command, Stdio};

use serde_json::{Value, json};
use spooltalk::facts::{Field, Flag, Source};
use spooltalk::kit::Kit;
use spooltalk::output::OutDir;
use spooltalk::pipeline::Settled;
use spooltalk::plan::{Archives, Ears, Plan};
use spooltalk::review::{Ended, Server, Session, Stop};
use spooltalk::trip::TripLayout;

use crate::browser::{Browser, Window};
use crate::fixture::{originals, trip};

const DESK: Window = Window { width: 1300, height: 1000, dark: false };
const NIGHT: Window = Window { width: 1300, height: 1000, dark: true };
const POCKET: Window = Window { width: 390, height: 800, dark: false };
const KIT: &str = "[[camera]]\nname = \"six-six\"\nformat = \"6x6\"\nshutters = [\"1s\", \"1/500\"]\n\
    [[lens]]\nname = \"75\"\nfocal_mm = 75\n[[lens]]\nname = \"150\"\nfocal_mm = 150\n";

/// A review of the fixture's first roll, with every kind of doubt.
struct Review {
    child: Child,
    address: String,
    dir: tempfile::TempDir,
}

#[allow(clippy::disallowed_methods)] // sets the scene
impl Review {
    fn new() -> Self {
        let dir = tempfile::tempdir().unwrap();
        originals(dir.path());
        fs::write(dir.path().join("kit.toml"), KIT).unwrap();
        let mut trip = trip();
        trip.rolls.truncate(1);
        let frames = &mut trip.rolls[0].frames;
        for f in &mut frames[2..5] {
            f.flag(Flag::Unsure(Field::Lens), "heard with little certainty");
        }
        for f in &mut frames[3..5] {
            f.flag(Flag::Carried(Field::Lens), "as frame 3");
        }
        for f in &mut frames[11..13] {
            f.flag(Flag::Unsure(Field::Frame), "a frame before it may be none, or one may have been lost");
        }
        frames[6].said[0].unread.push(0..10);
        frames[0].subject.as_mut().unwrap().value = "<img src=x onerror=\"document.title='owned'\">".into();
        let mut words = Vec::new();
        for frame in frames.iter() {
            for quote in &frame.said {
                for (i, word) in (0_u8..).zip(quote.text.split(' ')) {
                    let at = quote.at.at_s + 0.1 * f64::from(i);
                    words.push((at, at + 0.1, word.to_owned()));
                }
            }
        }
        let mut settled = Settled::of(trip, 0.8);
        settled.words.insert("day 1/quay.wav".into(), words);
        settled.keep(&OutDir::open(&dir.path().join("spooltalk"), dir.path()).unwrap()).unwrap();
        let mut command = Command::new(env!("CARGO_BIN_EXE_spooltalk"));
        command.arg("review").arg(dir.path()).arg("--no-browser").env("SPOOLTALK_HOME", dir.path().join("home"));
        let mut child = command.stdout(Stdio::piped()).spawn().unwrap();
        let mut first = String::new();
        BufReader::new(child.stdout.as_mut().unwrap()).read_line(&mut first).unwrap();
        let address = first.split_once("open ").expect("an address").1.trim().to_owned();
        Self { child, address, dir }
    }

    fn open(&self, window: &Window) -> Option<Browser> {
        let browser = Browser::start(window)?;
        browser.go(&self.address);
        browser.until("return !document.getElementById('question').hidden");
        Some(browser)
    }

    /// The edits kept, one a line.
    fn edits(&self) -> String {
        fs::read_to_string(self.dir.path().join("spooltalk/.state/edits.json")).unwrap_or_default()
    }
}

impl Drop for Review {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

const LEFT: &str = "return Number(document.title.split(' ')[0])";
const WHERE: &str =
    "return document.getElementById('where').textContent + document.getElementById('title').textContent";
const NONE: &str = "return !document.getElementById('end').hidden";

/// Waits until another question is asked, or none.
fn next(browser: &Browser, before: &Value) {
    browser.until(&format!("if (!document.getElementById('end').hidden) return true; const w = () => {{ {WHERE} }}; return w() !== {before}"));
}

/// Answers all questions with `act`, which tells how many actions it took; the median of these.
fn walk(browser: &Browser, mut act: impl FnMut(usize) -> usize) -> usize {
    let mut actions = Vec::new();
    while browser.run(NONE) == false {
        assert!(actions.len() < 60, "it does not come to an end");
        let before = browser.run(WHERE);
        actions.push(act(actions.len()));
        next(browser, &before);
    }
    assert!(actions.len() >= 8, "every kind of doubt: {actions:?}");
    actions.sort_unstable();
    actions[actions.len() / 2]
}

fn keep(browser: &Browser, name: &str) {
    if let Ok(folder) = std::env::var("SPOOLTALK_KEEP_PAGES") {
        fs::create_dir_all(&folder).unwrap();
        #[allow(clippy::disallowed_methods)]
        fs::write(Path::new(&folder).join(format!("review-{name}.png.b64")), browser.picture()).unwrap();
    }
}

#[test]
fn a_trip_is_settled_by_keyboard_alone() {
    let mut review = Review::new();
    let Some(browser) = review.open(&DESK) else { return };
    keep(&browser, "first");
    assert!(browser.run("return document.getElementById('why').textContent").as_str().unwrap().contains("disagree"));
    // The words play from before the doubtful stretch, in a loop, and are shown as they do.
    browser.press(" ");
    browser.until("return document.getElementById('audio').currentTime > 0.1");
    browser.until("return document.querySelector('.word.on')");
    browser.press("h");
    assert_eq!(browser.run("return document.getElementById('audio').playbackRate"), 0.5);
    // Each kind of answer; one in three after listening once more.
    let median = walk(&browser, |i| {
        let keys = ["r", "1", "o", " r", "2"][i % 5];
        browser.press(keys);
        keys.chars().count()
    });
    assert!(median <= 2, "{median} actions a question");
    assert_ne!(browser.run("return document.title"), "owned");
    assert_eq!(
        browser.run("return document.images.length && [...document.images].some(i => i.src.endsWith('/x'))"),
        false
    );
    // Back, and once more.
    browser.press("u");
    browser.until("return !document.getElementById('question').hidden");
    assert_eq!(browser.run(LEFT), 1);
    browser.press("r");
    browser.until(NONE);
    // One scan of the trip is no picture; the page says so, and the browser too.
    let complaints: Vec<String> = browser.complaints().into_iter().filter(|c| !c.contains("quay_05.jpg")).collect();
    assert_eq!(complaints, Vec::<String>::new());
    browser.press("w");
    browser.until("return document.getElementById('end-title').textContent === 'Written'");
    assert!(review.child.wait().unwrap().success());
    let mut rest = String::new();
    review.child.stdout.take().unwrap().read_to_string(&mut rest).unwrap();
    let table = fs::read_to_string(review.dir.path().join("spooltalk/rolls/7.csv")).unwrap();
    assert!(table.contains(Source::Edit.as_str()), "{table}");
    for name in ["trip.html", "rolls/7.html", "archive.db", "lab.md"] {
        assert!(review.dir.path().join("spooltalk").join(name).is_file(), "{name} is written anew");
    }
}

#[test]
fn a_trip_is_settled_by_mouse_and_by_touch() {
    for window in [DESK, POCKET] {
        let review = Review::new();
        let Some(browser) = review.open(&window) else { return };
        let small = "return [...document.querySelectorAll('button, input[type=text], select')].filter(e => e.offsetParent && e.getBoundingClientRect().height < 44).map(e => e.outerHTML)";
        assert_eq!(browser.run(small), json!([]), "targets of less than 44 pixels");
        let wide = browser.run("return document.documentElement.scrollWidth - document.documentElement.clientWidth");
        assert!(wide.as_i64().unwrap() <= 0, "{wide} pixels too wide at {}", window.width);
        keep(&browser, &format!("mouse-{}", window.width));
        let median = walk(&browser, |i| {
            let choices = "document.querySelectorAll('#choices button')[0] ?? document.getElementById('right')";
            browser.click(["document.getElementById('right')", choices, "document.getElementById('open')"][i % 3]);
            1
        });
        assert!(median <= 2);
    }
}

#[test]
fn any_frame_may_be_opened_and_changed() {
    let review = Review::new();
    let Some(browser) = review.open(&DESK) else { return };
    browser.press("f");
    browser.until("return document.querySelectorAll('#sheet li').length === 15");
    browser.click("document.querySelector('#sheet button[data-frame=\"3\"]')");
    // The frame in question may still stand there.
    browser.until("return document.querySelector('#editor h2')?.textContent.startsWith('Frame 3 ')");
    browser.click("document.getElementById('cell-remark')");
    browser.press("print it\u{e007}");
    browser.until("return document.getElementById('cell-remark')?.value === 'print it' && !document.getElementById('undo').disabled");
    assert!(review.edits().contains("print it"), "kept at once");
    // From here on one further; then a frame in the gap; all is undone with two keys.
    browser.click("[...document.querySelectorAll('.moves button')].find(b => b.textContent.startsWith('Shift on'))");
    browser.until(
        "return [...document.querySelectorAll('#sheet button')].map(b => b.dataset.frame).slice(0, 4).join() === '1,2,4,5'",
    );
    browser.run("document.activeElement.blur()");
    browser.press("u");
    browser.until("return document.querySelector('#sheet button[data-frame=\"3\"]')");
    // A scan is dragged to another frame.
    let drag = "const d = new DataTransfer(); const [a, b] = [1, 2].map(n => document.querySelector(`#sheet button[data-frame=\"${n}\"]`).closest('li')); \
        a.dispatchEvent(new DragEvent('dragstart', {dataTransfer: d, bubbles: true})); \
        b.dispatchEvent(new DragEvent('drop', {dataTransfer: d, bubbles: true}))";
    browser.run(drag);
    browser.until("return document.querySelector('#sheet button[data-frame=\"2\"] img')?.src.includes('quay_01')");
    assert!(
        browser
            .run("return document.querySelector('#sheet button[data-frame=\"1\"] img').src")
            .as_str()
            .unwrap()
            .contains("quay_02")
    );
    // A frame is added after the last; a scan that was taken away waits beside the frames, and is given to it.
    browser.click("document.getElementById('add')");
    browser.until("return document.querySelector('#sheet button[data-frame=\"15\"]')");
    browser.click("document.querySelector('#sheet button[data-frame=\"2\"]')");
    browser.until("return document.querySelector('#editor h2')?.textContent.startsWith('Frame 2 ')");
    browser.run("const c = document.getElementById('cell-scan'); c.value = ''; c.dispatchEvent(new Event('change'))");
    browser.until("return document.querySelector('#loose img[src*=quay_01]')");
    keep(&browser, "loose");
    browser.run("const s = document.querySelector('#loose li:has(img[src*=quay_01]) select'); s.value = '15'; s.dispatchEvent(new Event('change'))");
    browser.until("return document.querySelector('#sheet button[data-frame=\"15\"] img')?.src.includes('quay_01')");
    assert_eq!(browser.run("return document.querySelector('#loose img[src*=quay_01]')"), Value::Null);
    keep(&browser, "frames");
}

#[test]
fn a_review_left_alone_ends_and_keeps_what_it_has() {
    let dir = tempfile::tempdir().unwrap();
    let out = dir.path().join("spooltalk");
    Settled::of(trip(), 0.8).keep(&OutDir::open(&out, dir.path()).unwrap()).unwrap();
    let kit = Kit::parse(KIT).unwrap();
    let ears = Ears { model: Err("none".to_owned()), plain: false, cache: None, jobs: None };
    let layout = TripLayout::sorted(dir.path()).unwrap();
    let archives = Archives::Usual(None);
    let (unsure_below, drop_gone) = (0.8, false);
    let plan =
        Plan { layout, out, kit, kit_file: None, zone: None, unsure_below, archives, drop_gone, embed: None, ears };
    let session = Session::open(plan).unwrap();
    let left = session.doubts().len();
    let idle = std::time::Duration::from_millis(300);
    let begun = std::time::Instant::now();
    let (session, ended) = Server::bind().unwrap().run(session, idle, &Stop::default()).unwrap();
    assert!(ended == Ended::Idle && begun.elapsed() >= idle);
    assert_eq!(session.doubts().len(), left);
}

/// No violation of level A or AA.
#[test]
fn a_review_can_be_used_by_everybody() {
    for window in [DESK, NIGHT, POCKET] {
        let review = Review::new();
        let Some(browser) = review.open(&window) else { return };
        let Some(found) = browser.violations() else { return };
        assert_eq!(found, json!([]), "the question, {} wide, dark {}", window.width, window.dark);
        browser.press("\t");
        let ring = "const s = getComputedStyle(document.activeElement); return s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2";
        assert_eq!(browser.run(ring), true, "the focus is seen");
        browser.press("f");
        browser.until("return document.querySelectorAll('#sheet li').length === 15");
        browser.run("document.querySelector('#sheet button').click()");
        browser.until("return document.getElementById('cell-remark')");
        let found = browser.violations();
        assert_eq!(found, Some(json!([])), "the frames, {} wide, dark {}", window.width, window.dark);
        keep(&browser, &format!("frames-{}-{}", window.width, window.dark));
    }
}
