//! Pages as a browser shows them.

use std::fs;
use std::process::Command;

use serde_json::{Value, json};
use spooltalk::output::safe_stem;

use crate::browser::{Browser, Window};
use crate::fixture::{HOSTILE, Made, trip};

const DESK: Window = Window { width: 1300, height: 1000, dark: false };
const POCKET: Window = Window { width: 390, height: 800, dark: true };

/// Text of the frames that are shown.
const SHOWN: &str =
    "return [...document.querySelectorAll('.frame')].filter(f => f.offsetParent !== null).map(f => f.id)";

#[test]
fn a_roll_is_searched_filtered_and_played() {
    let made = Made::new();
    let Some(browser) = Browser::start(&DESK) else { return };
    browser.open(&made.out("rolls/7.html"));
    assert_eq!(browser.run("return document.title"), "Roll 7");
    let ids = browser.run(SHOWN);
    let expected: Vec<Value> = trip().rolls[0].frames.iter().map(|f| json!(format!("frame-{}", f.number))).collect();
    assert_eq!(ids, json!(expected), "all frames in film order");

    // The dots of the graph lead to their frames, and the axis says what it measures.
    assert_eq!(browser.run("return document.querySelector('svg a[href=\"#frame-5\"] circle') !== null"), true);
    let plot = browser.run("return document.querySelector('svg').textContent");
    assert!(plot.as_str().unwrap().contains("stops from the daylight rule"), "{plot}");

    // Every picture is there; the one that is none says so.
    browser.until("return [...document.images].every(i => i.complete)");
    assert_eq!(browser.run("return [...document.images].filter(i => i.naturalWidth > 0).length"), 13);
    assert_eq!(browser.run("return document.images.length"), 13);
    let broken = browser.run("return document.querySelector('#frame-5 .blank').textContent");
    assert!(broken.as_str().unwrap().contains("no picture that can be shown"), "{broken}");

    // Search as you type: every word must be there, accents and case aside.
    browser.press("/nets qu\u{e1}y");
    assert_eq!(browser.run(SHOWN), json!(["frame-3"]));
    assert_eq!(browser.run("return document.querySelector('.shown').textContent"), "1 of 15 frames");
    browser.press("\u{e00c}");
    assert_eq!(browser.run(SHOWN).as_array().unwrap().len(), 15, "escape shows all");

    // The terms of `find`.
    for (terms, ids) in [
        ("filter:orange aperture<=8", json!(["frame-5", "frame-6"])),
        ("shutter>=1/15 -status:unnoted", json!(["frame-8", "frame-10", "frame-12"])),
        ("flag:conflict", json!(["frame-8"])),
        ("light:\"full sun\" -flag:odd gulls", json!(["frame-6"])),
        ("frame:14A", json!(["frame-14A"])),
        (
            "has:filter_stops ev:14..20",
            json!(["frame-1", "frame-2", "frame-5", "frame-6", "frame-7", "frame-13", "frame-14"]),
        ),
    ] {
        browser.run(&format!(
            "const w = document.querySelector('#words'); w.value = {terms:?}; w.dispatchEvent(new Event('input'))"
        ));
        assert_eq!(browser.run(SHOWN), ids, "{terms}");
    }
    browser.run("document.querySelector('#words').focus()");
    browser.press("\u{e00c}");

    // Filters, by button and by key.
    browser.run("document.querySelector('[data-filter=conflict]').click()");
    assert_eq!(browser.run(SHOWN), json!(["frame-8"]));
    assert_eq!(
        browser.run("return document.querySelector('[data-filter=conflict]').getAttribute('aria-pressed')"),
        "true"
    );
    browser.run("document.querySelector('[data-filter=all]').click()");
    browser.press("c");
    let check = browser.run(SHOWN);
    assert_eq!(check, json!(["frame-1", "frame-8", "frame-11", "frame-14", "frame-14A"]));
    // j and k go through what is shown.
    browser.press("jj");
    assert_eq!(browser.run("return document.activeElement.id"), "frame-8");
    browser.press("k");
    assert_eq!(browser.run("return document.activeElement.id"), "frame-1");
    browser.press("c");

    // The player plays the clip from where the words are.
    browser.press("jjjp");
    assert_eq!(browser.run("return document.activeElement.id"), "frame-4");
    let src = browser.run("return document.querySelector('.player audio').src");
    assert!(src.as_str().unwrap().ends_with("/notes/day%201/quay.wav#t=0.6,3.1"), "{src}");
    let at =
        browser.until("const a = document.querySelector('.player audio'); return a.readyState >= 2 && a.currentTime");
    assert!(at.as_f64().unwrap() >= 0.6, "{at}");
    let words = browser.run("return document.querySelector('.player .words').textContent");
    assert!(words.as_str().unwrap().starts_with("open shade now"), "{words}");
    assert_eq!(browser.run("return document.querySelector('.player .trouble').hidden"), true);
    assert_eq!(browser.complaints(), Vec::<String>::new());
}

#[test]
fn a_clip_that_cannot_be_played_can_still_be_opened() {
    let made = Made::new();
    #[allow(clippy::disallowed_methods)]
    fs::write(made.dir.path().join("notes/day 1/quay.wav"), b"not sound").unwrap();
    let Some(browser) = Browser::start(&DESK) else { return };
    browser.open(&made.out("rolls/7.html"));
    browser.press("jp");
    browser.until("return !document.querySelector('.player .trouble').hidden");
    let open = browser.run("return document.querySelector('.player .trouble a').href");
    assert!(open.as_str().unwrap().contains("/notes/day%201/quay.wav"), "{open}");
}

#[test]
fn hostile_words_and_names_stay_words_and_names() {
    let made = Made::new();
    let Some(browser) = Browser::start(&DESK) else { return };
    let roll = &trip().rolls[1];
    let stem = safe_stem(roll.name.as_str());
    for page in [format!("rolls/{stem}.html"), "trip.html".into()] {
        browser.open(&made.out(&page));
        assert_ne!(browser.run("return document.title"), "owned", "{page}");
        assert_eq!(browser.run("return document.scripts.length"), 1, "{page}");
        assert_eq!(browser.run("return [...document.querySelectorAll('*')].filter(e => [...e.attributes].some(a => a.name.startsWith('on'))).length"), 0);
        let links = "return [...document.links].map(a => a.getAttribute('href')).filter(h => /^(javascript|data|http|\\/)/i.test(h))";
        assert_eq!(browser.run(links), json!([]), "{page}");
        let wide = browser.run("return document.documentElement.scrollWidth - document.documentElement.clientWidth");
        assert!(wide.as_i64().unwrap() <= 0, "{page} is {wide} pixels too wide");
        assert_eq!(browser.complaints(), Vec::<String>::new(), "{page}");
    }
    // All there to read, as it was said.
    browser.open(&made.out(&format!("rolls/{stem}.html")));
    let text = browser.run("return document.querySelector('#frame-1 blockquote p').textContent");
    assert_eq!(text, HOSTILE[0]);
    // A direction override in one name does not turn what stands after it.
    let turned = browser.run("return [...document.body.textContent].some(c => '\\u202e\\u2067'.includes(c))");
    assert_eq!(turned, false);
    // Even markup that got in somehow could run nothing.
    browser.run("const s = document.createElement('div'); s.innerHTML = '<img src=x onerror=\"document.title=1\">'; document.body.append(s)");
    browser.run(
        "const s = document.createElement('script'); s.textContent = 'document.title = 2'; document.body.append(s)",
    );
    browser.until("return document.images[document.images.length - 1].complete");
    assert_eq!(browser.run("return document.title"), format!("Roll {}", roll.name.as_str()));
}

#[test]
fn a_page_reads_without_its_script_and_asks_for_nothing() {
    let made = Made::new();
    for page in ["rolls/7.html", "trip.html"] {
        let html = fs::read_to_string(made.out(page)).unwrap();
        for attribute in ["src=\"", "href=\"", "action=\"", "url("] {
            for (at, _) in html.match_indices(attribute) {
                let target: String = html[at + attribute.len()..].chars().take(12).collect();
                let fine = ["../", "#", "data:image/j", "geo:", "rolls/", "lab.", "7.", "\""];
                assert!(fine.iter().any(|f| target.starts_with(f)), "{page}: {attribute}{target}");
            }
        }
        assert!(html.contains("default-src 'none'"), "{page}");
    }
}

/// WCAG 2.1: names for controls and pictures (1.1.1, 4.1.2), landmarks and
/// headings (1.3.1), contrast of 4.5 to 1 (1.4.3), reflow at 320 pixels (1.4.10).
#[test]
fn pages_can_be_read_by_everybody() {
    let made = Made::new();
    for window in [DESK, POCKET, Window { width: 320, height: 600, dark: false }] {
        let Some(browser) = Browser::start(&window) else { return };
        for page in ["rolls/7.html", "trip.html"] {
            browser.open(&made.out(page));
            let count = |query: &str| browser.run(&format!("return document.querySelectorAll({query:?}).length"));
            assert_eq!((count("h1"), count("main"), count("header")), (json!(1), json!(1), json!(1)), "{page}");
            assert_eq!(count("html[lang=en]"), 1);
            assert_eq!(count("img:not([alt]), img[alt='']"), 0, "{page}");
            let nameless = "return [...document.querySelectorAll('button, input, a, audio')].filter(e => !(e.textContent.trim() || e.getAttribute('aria-label') || e.labels?.length || e.closest('[aria-label]') || e.querySelector('img[alt], title'))).map(e => e.outerHTML)";
            assert_eq!(browser.run(nameless), json!([]), "{page}");
            let order = "const l = [...document.querySelectorAll('h1,h2,h3')].map(h => +h.tagName[1]); return l.every((n, i) => i === 0 ? n === 1 : n <= l[i - 1] + 1)";
            assert_eq!(browser.run(order), true, "{page}: a level of headings is left out");
            let twice = "const ids = [...document.querySelectorAll('[id]')].map(e => e.id); return ids.length - new Set(ids).size";
            assert_eq!(browser.run(twice), 0, "{page}");
            let wide =
                browser.run("return document.documentElement.scrollWidth - document.documentElement.clientWidth");
            assert!(wide.as_i64().unwrap() <= 0, "{page} is {wide} pixels too wide at {}", window.width);
            let dark = browser.run("return matchMedia('(prefers-color-scheme: dark)').matches");
            assert_eq!(dark, window.dark);
            assert_eq!(browser.run(FAINT), json!([]), "{page}, dark {}", window.dark);
        }
    }
}

/// Every page that is written or printed, against all that axe-core knows of levels A and AA.
#[test]
fn no_page_keeps_anybody_out() {
    let made = Made::new();
    let home = made.dir.path().join("home");
    let text = "Roll nine, Bellbuoy 125, frame one, a sixtieth at f eight, the lighthouse, overcast.\n\
        Frame two, a thirtieth at f eight, the slipway, full sun.\n";
    let years = made.dir.path().join("years");
    fs::create_dir_all(years.join("notes")).unwrap();
    #[allow(clippy::disallowed_methods)]
    fs::write(years.join("notes/20250913_120000.vtt"), format!("WEBVTT\n\n00:01.000 --> 00:09.000\n{text}")).unwrap();
    let printed = |arguments: &[&str]| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_spooltalk"));
        let output = command.args(arguments).env("SPOOLTALK_HOME", &home).current_dir(&years).output().unwrap();
        assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
        output.stdout
    };
    printed(&["ingest", "."]);
    for (name, arguments) in
        [("years.html", &["archive", "overview"][..]), ("found.html", &["find", "roll:9", "--format", "html"])]
    {
        #[allow(clippy::disallowed_methods)]
        fs::write(made.out(name), printed(arguments)).unwrap();
    }
    for window in [DESK, POCKET] {
        let Some(browser) = Browser::start(&window) else { return };
        for page in ["trip.html", "rolls/7.html", "lab.html", "years.html", "found.html"] {
            browser.open(&made.out(page));
            let Some(found) = browser.violations() else { return };
            assert_eq!(found, json!([]), "{page}, {} wide, dark {}", window.width, window.dark);
        }
    }
}

/// Texts with less contrast than WCAG 2.1 asks for (relative luminance, 1.4.3).
const FAINT: &str = r"
const rgb = c => (c.match(/[\d.]+/g) || []).map(Number);
const lum = ([r, g, b]) => { const f = v => (v /= 255) <= .03928 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4; return .2126 * f(r) + .7152 * f(g) + .0722 * f(b); };
const ground = e => { for (; e; e = e.parentElement) { const c = rgb(getComputedStyle(e).backgroundColor); if (c.length === 3 || c[3] === 1) return c; } return [255, 255, 255]; };
const faint = [];
for (const e of document.querySelectorAll('body *')) {
  if (!e.offsetParent || e.closest('svg, .aside') || ![...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim())) continue;
  const [a, b] = [lum(rgb(getComputedStyle(e).color)), lum(ground(e))].sort((x, y) => y - x);
  const opacity = +getComputedStyle(e).opacity;
  if ((a + .05) / (b + .05) < 4.5 || opacity < .7) faint.push(e.className + ' ' + e.textContent.slice(0, 30) + ' ' + ((a + .05) / (b + .05)).toFixed(1));
}
return faint;";

#[test]
fn the_trip_says_first_what_needs_a_look() {
    let made = Made::new();
    let Some(browser) = Browser::start(&DESK) else { return };
    browser.open(&made.out("trip.html"));
    assert_eq!(browser.run("return document.querySelector('main section').id"), "check");
    let kinds = browser.run(
        "return [...document.querySelectorAll('#check .checks tbody tr')].map(r => r.querySelector('.flags li').className)",
    );
    let order = ["conflict", "unsure", "odd", "guess"];
    let at: Vec<usize> =
        kinds.as_array().unwrap().iter().map(|k| order.iter().position(|o| k == o).expect("no slow frame")).collect();
    assert!(at.is_sorted() && at.len() > 5, "{kinds}");
    // The row of frame 1 plays its words and shows what else it could be, adding up to a hundred.
    let row = "[...document.querySelectorAll('#check .checks tr')].find(r => r.textContent.includes('7 · 1'))";
    let readings = browser.run(&format!("return {row}.querySelector('.readings').textContent"));
    assert_eq!(readings, "shutter: 1/125 71 %, 1/25 29 % (voice)");
    browser.run(&format!("{row}.querySelector('a.play').click()"));
    browser.until("return !document.querySelector('.player').hidden");
    assert_eq!(browser.run("return document.querySelector('#slow li').textContent"), "Roll 7 4");
    // The strip has every frame, linked, numbered and marked; roll film has no perforations.
    assert_eq!(browser.run("return document.querySelector('.strip').children.length"), 15);
    assert_eq!(browser.run("return document.querySelector('.strip .perforated, .strip.perforated')"), Value::Null);
    assert_eq!(browser.run("return document.querySelectorAll('.strip')[0].querySelectorAll('.doubtful').length"), 5);
    let link = browser.run("return document.querySelector('.strip li:nth-child(8) a').getAttribute('href')");
    assert_eq!(link, "rolls/7.html#frame-8");
    assert_eq!(browser.complaints(), Vec::<String>::new());
}

#[test]
fn a_phone_shows_the_frames_in_brief_and_one_at_a_time() {
    let made = Made::new();
    let Some(browser) = Browser::start(&POCKET) else { return };
    browser.open(&made.out("rolls/7.html"));
    let tall = browser.run("return document.documentElement.scrollHeight").as_i64().unwrap();
    assert!(tall < 4_000, "{tall} pixels for fifteen frames");
    browser.run("document.querySelector('.log a[href=\"#frame-3\"]').click()");
    browser.until("return document.querySelector('#frame-3').offsetParent");
    assert_eq!(browser.run(SHOWN), json!(["frame-3"]));
    let small = "return [...document.querySelectorAll('button, input, nav a, .log a, .frame:target a, summary')].filter(e => e.offsetParent && Math.min(e.getBoundingClientRect().height, 44) < 44).map(e => e.outerHTML.slice(0, 80))";
    assert_eq!(browser.run(small), json!([]));
}

/// Pages of a PDF given as base64, by its page objects (ISO 32000, 7.7.3.3).
fn sheets(pdf: &str) -> usize {
    const DIGITS: &str = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let (mut bits, mut held, mut bytes) = (0_u32, 0, Vec::new());
    for digit in pdf.bytes().filter_map(|b| DIGITS.bytes().position(|d| d == b)) {
        bits = bits << 6 | digit as u32;
        held += 6;
        if held >= 8 {
            held -= 8;
            bytes.push((bits >> held) as u8);
        }
    }
    let text = String::from_utf8_lossy(&bytes).into_owned();
    text.matches("/Type /Page\n").count() + text.matches("/Type/Page/").count()
}

#[test]
fn a_roll_prints_on_both_papers() {
    let made = Made::new();
    let Some(browser) = Browser::start(&DESK) else { return };
    browser.open(&made.out("rolls/7.html"));
    // A4 and Letter, in centimetres.
    for (width, height) in [(21.0, 29.7), (21.59, 27.94)] {
        let pdf = browser.print(width, height);
        // "%PDF-" in base64.
        assert!(pdf.starts_with("JVBERi"), "{}", &pdf[..20.min(pdf.len())]);
        assert_eq!(sheets(&pdf), 2, "the pictures on one sheet, the log on another");
        if let Ok(keep) = std::env::var("SPOOLTALK_KEEP_PAGES") {
            fs::create_dir_all(&keep).unwrap();
            #[allow(clippy::disallowed_methods)]
            fs::write(format!("{keep}/roll-{width}.pdf.b64"), pdf).unwrap();
        }
    }
    // Shown as printed: no controls, no dark ground behind the pictures' captions.
    assert_eq!(browser.run("return [...document.styleSheets[0].cssRules].some(r => r.conditionText === 'print' || r.media?.mediaText === 'print')"), true);
}
