//! Found frames as a page of thumbnails, in the dress of a contact sheet.

use std::path::{Component, Path, PathBuf};

use maud::{Markup, html};

use crate::output::page::{clean, data_url, foreign, page};
use crate::scans::Thumbnail;

use super::{Found, Page};

/// The page, whole. `query` is shown above the frames; `picture` gives the
/// thumbnail of a scan file, or why there is none.
pub fn found_html(query: &str, found: &Page, picture: impl Fn(&Path) -> Result<Thumbnail, String>) -> Vec<u8> {
    let count = found.frames.len();
    let main = html! {
        header {
            h1 { "Found frames" }
            p.facts { span { @if query.is_empty() { "all" } @else { (foreign(query)) } } span { (count) " frames" @if found.more { " and more" } } }
        }
        main {
            @if found.frames.is_empty() { p { "No frame meets all of that." } }
            ol.sheet { @for frame in &found.frames { (item(frame, &picture)) } }
        }
    };
    page("Found frames", &main)
}

fn item(frame: &Found, picture: &impl Fn(&Path) -> Result<Thumbnail, String>) -> Markup {
    let rest = &frame.rest;
    html! {
        li.frame {
            div.edge {
                h2 { (foreign(&frame.roll)) " / " (foreign(&frame.frame)) }
                span.status { (foreign(&frame.trip)) }
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
                @if let Some(flags) = &rest.flags { p.measure { (foreign(&flags.replace('|', ", "))) } }
                @if let Some(rating) = rest.rating { p { "rating " (rating) } }
                @if let Some(remark) = &rest.remark { p { (foreign(remark)) } }
                @if let Some(said) = &rest.said { blockquote { p dir="auto" { (clean(said)) } } }
            }
        }
    }
}

fn shown(frame: &Found, scan: &str, picture: &impl Fn(&Path) -> Result<Thumbnail, String>) -> Markup {
    let made = path_of(frame, scan).ok_or_else(|| "lies outside the trip".to_owned()).and_then(|p| picture(&p));
    let alt = format!("Roll {} frame {}", frame.roll, frame.frame);
    html! {
        @match made {
            Ok(small) => img src=(data_url(&small)) width=(small.width) height=(small.height) alt=(clean(&alt)) title=(clean(scan));,
            Err(why) => span.blank { (foreign(scan)) " " (clean(&why)) },
        }
    }
}

fn scans(frame: &Found) -> Vec<String> {
    frame.rest.scan.iter().flat_map(|s| s.split('|')).map(str::to_owned).collect()
}

/// Where a scan is; none when its name leads out of `scans/`.
fn path_of(frame: &Found, scan: &str) -> Option<PathBuf> {
    let inside = Path::new(scan).components().all(|c| matches!(c, Component::Normal(_)));
    inside.then(|| Path::new(&frame.root).join("scans").join(scan))
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
        let html = found_html("film:<b>", &found, |path| {
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
    }
}
