//! Found frames as a page of thumbnails, in the dress of a contact sheet.

use std::collections::BTreeMap;
use std::path::{Component, Path, PathBuf};

use maud::{Markup, html};

use crate::exposure::Shutter;
use crate::facts::Flag;
use crate::output::page::{clean, clock, data_url, file_url, foreign, page};
use crate::output::{safe_stem, words};
use crate::scans::Thumbnail;

use super::{Found, Page};

/// The page, whole. `query` is shown above the frames, `total` is how many meet it; `picture`
/// gives the thumbnail of a scan file, or why there is none.
pub fn found_html(
    query: &str,
    found: &Page,
    total: usize,
    picture: impl Fn(&Path) -> Result<Thumbnail, String>,
) -> Vec<u8> {
    let count = found.frames.len();
    let main = html! {
        header {
            h1 { "Found frames" }
            p.facts { span { @if query.is_empty() { "all" } @else { (foreign(query)) } } span { @if found.more { (count) " of " } (total) " frames" } }
        }
        main {
            // Shown once the script runs: the same terms again, within what was found.
            @if count > 1 {
                search.controls hidden {
                    label for="words" { "Search among these" }
                    input id="words" type="search" autocomplete="off" placeholder="harbour filter:orange aperture<=5.6";
                    p.shown role="status" {}
                }
            }
            @if found.frames.is_empty() { p { "No frame meets all of that." } }
            ol.sheet { @for frame in &found.frames { (item(frame, &picture)) } }
        }
    };
    page("Found frames", &main)
}

fn item(frame: &Found, picture: &impl Fn(&Path) -> Result<Thumbnail, String>) -> Markup {
    let rest = &frame.rest;
    html! {
        li.frame tabindex="-1" data-cells=(searched(frame)) data-status=(frame.status) data-kinds="" {
            div.edge {
                h2 { (linked(roll_page(frame), html! { "Roll " (foreign(&frame.roll)) })) " " (linked(place_on_page(frame), html! { "frame " (foreign(&frame.frame)) })) }
                span.status { (foreign(&frame.trip)) @if frame.status != "ok" { ", " (frame.status) } }
                @if let Some(taken) = &rest.taken { time datetime=(taken.0) { (taken.0.get(..10).unwrap_or(&taken.0)) } }
            }
            div.pictures {
                @for scan in scans(frame) { (shown(frame, &scan, picture)) }
                @if rest.scan.is_none() { span.blank { "no scan" } }
            }
            div.text {
                @if let Some(subject) = &rest.subject { p.subject dir="auto" { (clean(subject)) } }
                p.settings { @for part in settings(frame) { span { (clean(&part)) } " " } }
                @if let Some(place) = &rest.place { p { (foreign(place)) } }
                @if let Some(flags) = &rest.flags { p.measure { (foreign(&in_words(flags))) } }
                @if let Some(rating) = rest.rating { p { "rated " (rating) " of 5" } }
                @if let Some(remark) = &rest.remark { p { (foreign(remark)) } }
                @if let Some(said) = &rest.said { blockquote { p dir="auto" { (clean(said)) } (clip(frame)) } }
            }
        }
    }
}

/// The frame's cells for the search on the page, by their columns; empty ones are left out.
fn searched(frame: &Found) -> String {
    let seconds = frame.rest.shutter.as_ref().and_then(|s| s.parse::<Shutter>().ok()?.seconds());
    let all = frame.cells().into_iter().chain(seconds.map(|s| ("shutter_s", s.to_string())));
    let known: BTreeMap<&str, String> = all.filter(|(_, cell)| !cell.is_empty()).collect();
    serde_json::to_string(&known).expect("cells are text")
}

fn linked(address: Option<String>, text: Markup) -> Markup {
    html! { @match address { Some(address) => a href=(address) { (text) }, None => (text) } }
}

/// The roll's page among the results of its trip.
fn roll_page(frame: &Found) -> Option<String> {
    let page = Path::new(frame.out.as_ref()?).join("rolls").join(format!("{}.html", safe_stem(&frame.roll)));
    Some(file_url(&page))
}

/// The frame on that page.
fn place_on_page(frame: &Found) -> Option<String> {
    Some(format!("{}#frame-{}", roll_page(frame)?, frame.frame))
}

/// The clip, from where the words begin; only its name where it is gone.
fn clip(frame: &Found) -> Markup {
    let Some(name) = &frame.rest.clip else { return html! {} };
    let gone = frame.rest.flags.as_ref().is_some_and(|f| f.split('|').any(|f| f == Flag::GoneClip.to_string()));
    let elsewhere = || Some(Path::new(name)).filter(|p| p.is_absolute());
    let Some(path) = inside(name).or_else(elsewhere).filter(|_| !gone) else {
        return html! { span.gone { "Clip gone: " (foreign(name)) } };
    };
    let at = frame.rest.at_s.unwrap_or(0.0);
    let address = file_url(&Path::new(&frame.root).join("notes").join(path));
    html! {
        @if at > 0.0 { a href=(format!("{address}#t={at:.1}")) { "Play " (foreign(name)) " from " (clock(at)) } }
        @else { a href=(address) { "Open " (foreign(name)) } }
    }
}

/// Flags as a person reads them.
fn in_words(codes: &str) -> String {
    let word = |code: &str| code.parse::<Flag>().map_or_else(|_| code.to_owned(), words::flag);
    codes.split('|').map(word).collect::<Vec<_>>().join(", ")
}

fn shown(frame: &Found, scan: &str, picture: &impl Fn(&Path) -> Result<Thumbnail, String>) -> Markup {
    let made = path_of(frame, scan).ok_or_else(|| "lies outside the trip".to_owned()).and_then(|p| picture(&p));
    let alt = format!("Roll {} frame {}", frame.roll, frame.frame);
    html! {
        @match made {
            Ok(small) => a href=[path_of(frame, scan).map(|p| file_url(&p))] title=(clean(scan)) {
                img src=(data_url(&small)) width=(small.width) height=(small.height) alt=(clean(&alt));
            },
            Err(why) => span.blank { (foreign(scan)) " " (clean(&why)) },
        }
    }
}

fn scans(frame: &Found) -> Vec<String> {
    frame.rest.scan.iter().flat_map(|s| s.split('|')).map(str::to_owned).collect()
}

/// Where a scan is; none when its name leads out of `scans/`.
fn path_of(frame: &Found, scan: &str) -> Option<PathBuf> {
    inside(scan).map(|scan| Path::new(&frame.root).join("scans").join(scan))
}

/// A name that leads nowhere but down.
fn inside(name: &str) -> Option<&Path> {
    let path = Path::new(name);
    path.components().all(|c| matches!(c, Component::Normal(_))).then_some(path)
}

fn settings(frame: &Found) -> Vec<String> {
    let r = &frame.rest;
    [
        r.shutter.clone(),
        r.aperture.map(|a| format!("f/{a}")),
        r.focal_mm.map(|f| format!("{f} mm")),
        r.filter.clone().filter(|f| f != "none"),
        r.film.clone(),
        r.ei.map(|ei| format!("EI {ei}")),
    ]
    .into_iter()
    .flatten()
    .collect()
}

#[cfg(test)]
mod tests {
    use super::super::{Query, samples::stored};
    use super::*;

    #[test]
    fn a_page_of_thumbnails_in_which_foreign_text_stays_text() {
        let mut found = stored().find(&Query::parse("film:merrow").unwrap(), 9).unwrap();
        found.frames[0].rest.said = Some("<script>alert(1)</script>".into());
        found.frames[1].rest.scan = Some("../../etc/passwd|/etc/passwd".into());
        let asked = std::cell::RefCell::new(Vec::new());
        let html = found_html("film:<b>", &found, 3, |path| {
            asked.borrow_mut().push(path.display().to_string());
            let grey = image::DynamicImage::new_luma8(8, 8);
            let mut png = std::io::Cursor::new(Vec::new());
            grey.write_to(&mut png, image::ImageFormat::Png).unwrap();
            Thumbnail::of(png.get_ref(), 8).map_err(|e| e.to_string())
        });
        let html = String::from_utf8(html).unwrap();
        assert!(!html.contains("<script>alert") && !html.contains("film:<b>"));
        assert_eq!(html.matches("data:image/jpeg;base64,").count(), asked.borrow().len());
        assert_eq!(html.matches("lies outside the trip").count(), 2);
        assert!(asked.borrow().iter().all(|p| p.starts_with("/trips/low-water/scans/roll-07/")), "{asked:?}");
        assert_eq!(html.matches("<li class=\"frame\"").count(), found.frames.len());
        // Each frame can be searched for by the terms of the command line.
        assert_eq!(html.matches("data-cells=").count(), found.frames.len());
        assert!(html.contains("id=\"words\"") && html.contains("&quot;film&quot;:&quot;Merrow"), "{html}");
        // Links lead to the roll, the frame and the clip; flags are told in words.
        let page = "file:///trips/low-water/spooltalk/rolls/7.html";
        assert!(html.contains(&format!("href=\"{page}\"")) && html.contains(&format!("href=\"{page}#frame-2\"")));
        assert!(html.contains("href=\"file:///trips/low-water/notes/001.m4a#t=3.5\""));
        assert!(html.contains("shutter not sure") && !html.contains(">unsure:shutter"));
    }
}
