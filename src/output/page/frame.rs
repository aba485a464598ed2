//! One frame of the contact sheet.

use std::fmt::Display;

use maud::{Markup, html};

use crate::exposure::Stops;
use crate::facts::{Field, Flag, Settled};
use crate::roll::{Frame, Quote, Roll, Status};

use super::super::against::{AgainstRule, at_film};
use super::super::row::frame_ev100;
use super::super::words::{self, FlagKind};
use super::links::{Links, Note, note};
use super::parts::{anchor, clean, clock, foreign};
use super::pictures::{Pictures, data_url};

/// Pages of rolls lie one folder below the output folder.
const DEPTH: usize = 1;

/// The frame as an item of the sheet's list.
pub fn item(frame: &Frame, roll: &Roll, pictures: &Pictures, links: &Links) -> Markup {
    let kinds: Vec<&str> = frame.flags.iter().map(|f| FlagKind::of(*f).code()).collect();
    html! {
        li.frame id=(anchor(frame.number)) tabindex="-1" data-kinds=(kinds.join(" ")) data-status=(frame.status.as_str())
            data-check[frame.flags.iter().any(|f| words::wants_a_look(*f))]
        {
            div.edge {
                h2 { span.aside { "Frame " } (frame.number) }
                @if frame.number_confidence < 0.5 { span.doubt title="the number is not sure" { "?" } }
                @if frame.status != Status::Ok { span.status { (status(frame.status)) } }
                @if let Some(taken) = &frame.taken {
                    time datetime=(taken.rfc3339()) { @if !taken.is_read() { "about " } (taken.local.strftime("%-d %b %H:%M").to_string()) }
                }
            }
            (picture(frame, pictures, links))
            div.text {
                @if let Some(subject) = &frame.subject { p.subject dir="auto" { (clean(&subject.value)) } }
                (settings(frame))
                (measure(frame))
                (about(frame, roll))
                (flags(frame))
                (said(frame, links))
                (readings(frame))
            }
        }
    }
}

/// A status in words.
pub fn status(status: Status) -> &'static str {
    match status {
        Status::Ok => "noted and scanned",
        Status::Wasted => "wasted",
        Status::Unscanned => "not scanned",
        Status::Unnoted => "not noted",
    }
}

fn picture(frame: &Frame, pictures: &Pictures, links: &Links) -> Markup {
    let subject = frame.subject.as_ref().map_or("", |s| s.value.as_str());
    let alt = if subject.is_empty() {
        format!("Frame {}", frame.number)
    } else {
        format!("Frame {}: {subject}", frame.number)
    };
    html! {
        div.pictures {
            @for scan in &frame.scans {
                a href=(links.scan(scan, DEPTH)) title=(clean(scan)) {
                    @match pictures.of(scan) {
                        Some(Ok(small)) => img src=(data_url(small)) width=(small.width) height=(small.height) alt=(clean(&alt));
                        Some(Err(why)) => span.blank { (foreign(scan)) " " (clean(why)) },
                        None => span.blank { (foreign(scan)) },
                    }
                }
            }
            @if frame.scans.is_empty() { span.blank { "no scan" } }
            @if let Some((at, small)) = frame.said.first().and_then(|q| Some((&q.at, pictures.still(&q.at)?))) {
                a.still href=(links.moment(at, DEPTH)) title="what the phone saw as the words began" {
                    img src=(data_url(small)) width=(small.width) height=(small.height) alt={ "From the clip, as frame " (frame.number) " was spoken of" };
                }
            }
        }
    }
}

/// Doubtful settings are marked where they stand, to the eye and to the ear.
fn settings(frame: &Frame) -> Markup {
    let parts = words::settings(frame);
    let main = |f: &Field| matches!(f, Field::Shutter | Field::Aperture);
    let part = |field: Field, text: &str| {
        let kind = frame.flags.iter().copied().filter(|f| concerns(*f, field)).map(FlagKind::of).min();
        html! {
            @match kind {
                Some(kind) => span class=(kind.code()) title=(kind.label()) { (clean(text)) span.aside { " (" (kind.label()) ")" } },
                None => span { (clean(text)) },
            }
            " "
        }
    };
    html! {
        @if parts.is_empty() { p.settings.none { "no settings known" } }
        @if parts.iter().any(|(f, _)| main(f)) {
            p.settings { @for (field, text) in parts.iter().filter(|(f, _)| main(f)) { (part(*field, text)) } }
        }
        @if parts.iter().any(|(f, _)| !main(f)) {
            p.further { @for (field, text) in parts.iter().filter(|(f, _)| !main(f)) { (part(*field, text)) } }
        }
    }
}

/// Whether a flag is about this field. Carried and shake stay out of the line's way.
fn concerns(flag: Flag, field: Field) -> bool {
    matches!(flag, Flag::Unsure(x) | Flag::Conflict(x) | Flag::Odd(x) | Flag::Carried(x) if x == field)
        || (flag == Flag::Shake && field == Field::Shutter)
}

fn measure(frame: &Frame) -> Markup {
    let Some(ev) = frame_ev100(frame) else { return html! {} };
    let light = frame.light.as_ref().map(|l| l.value.as_str());
    html! {
        p.measure {
            abbr title="exposure value of the settings at ISO 100" { "EV" } " " (format!("{:.1}", ev.get()))
            @match (AgainstRule::of(frame), light) {
                (Some(against), _) => { " · " (over(against.over)) " for " (against.light.as_str()) },
                (None, Some(light)) if at_film(frame).is_none() => { " · " (foreign(light)) ", filter's loss not known" },
                (None, Some(light)) => { " · " (foreign(light)) },
                (None, None) => { " · light not said" },
            }
        }
    }
}

/// Distance from the rule in words.
fn over(stops: Stops) -> String {
    let by = words::stops_measured(stops.size());
    match stops.get() {
        n if n.abs() < 0.05 => "on the rule".to_owned(),
        n if n > 0.0 => format!("{} over the rule", by.trim_start_matches('+')),
        _ => format!("{} under the rule", by.trim_start_matches('+')),
    }
}

/// What else is known. What holds for the whole roll stands at its head.
fn about(frame: &Frame, roll: &Roll) -> Markup {
    let text = |s: &Option<Settled<String>>| s.as_ref().map(|s| s.value.clone());
    let process = text(&frame.process).filter(|p| roll.process.as_ref() != Some(p));
    let camera = text(&frame.camera).filter(|c| roll.camera.as_ref() != Some(c));
    let film = text(&frame.film).filter(|f| roll.film.as_ref() != Some(f));
    let rows = [
        ("camera", camera),
        ("lens", text(&frame.lens)),
        ("film", film),
        ("support", text(&frame.support)),
        ("process", process),
        ("remark", frame.remark.clone()),
        ("rating", frame.rating.map(|r| format!("{r} of 5"))),
    ];
    html! {
        dl {
            (place(frame))
            @for (name, value) in rows.iter().filter_map(|(n, v)| v.as_ref().map(|v| (n, v))) {
                div { dt { (name) } dd { (foreign(value)) } }
            }
        }
    }
}

/// The place as said, leading to its coordinates where they are known.
fn place(frame: &Frame) -> Markup {
    let name = frame.place.as_ref().map(|p| foreign(&p.value));
    html! {
        @match (frame.position, name) {
            (Some(at), name) => {
                @let degrees = format!("{:.4}, {:.4}", at.lat, at.lon);
                div { dt { "place" } dd { a href=(format!("geo:{:.6},{:.6}", at.lat, at.lon)) title=(degrees) { (name.unwrap_or_else(|| foreign(&degrees))) } } }
            },
            (None, Some(name)) => div { dt { "place" } dd { (name) } },
            (None, None) => {},
        }
    }
}

fn flags(frame: &Frame) -> Markup {
    let mut flags = frame.flags.clone();
    flags.sort_by_key(|f| FlagKind::of(*f));
    html! {
        @if !flags.is_empty() {
            ul.flags aria-label="What to look at" {
                @for flag in flags {
                    li class=(FlagKind::of(flag).code()) {
                        strong { (words::flag(flag)) }
                        @if let Some(why) = words::reason(frame, flag) { " " span { (foreign(why)) } }
                    }
                }
            }
        }
    }
}

fn said(frame: &Frame, links: &Links) -> Markup {
    let quote = |q: &Quote| {
        let href = links.moment(&q.at, DEPTH);
        html! {
            blockquote {
                p dir="auto" { (clean(&q.text)) }
                @match note(&q.at.clip) {
                    _ if links.is_gone(&q.at.clip) => span.gone { "Clip gone: " (foreign(&q.at.clip)) },
                    Note::Clip => a.play href=(href) { "Play " (clock(q.at.at_s)) span.aside { " of " (foreign(&q.at.clip)) } },
                    Note::Text => a href=(href) { "Open " (foreign(&q.at.clip)) },
                }
            }
        }
    };
    html! { @if !frame.said.is_empty() { div.said aria-label="What was said" role="group" { @for q in &frame.said { (quote(q)) } } } }
}

/// What else a value could be, and why the one that stands was chosen.
fn readings(frame: &Frame) -> Markup {
    let rows: Vec<Markup> = [
        reading(Field::Shutter, &frame.shutter, |v| words::shutter(*v)),
        reading(Field::Aperture, &frame.aperture, |v| format!("f/{v}")),
        reading(Field::FocalMm, &frame.focal_mm, |v| format!("{v} mm")),
        reading(Field::Filter, &frame.filter, shown),
        reading(Field::Film, &frame.film, shown),
        reading(Field::Ei, &frame.ei, |v| v.get().to_string()),
        reading(Field::CompStops, &frame.comp, |v| words::stops(*v)),
        reading(Field::Camera, &frame.camera, shown),
        reading(Field::Lens, &frame.lens, shown),
        reading(Field::Light, &frame.light, shown),
        reading(Field::Support, &frame.support, shown),
        reading(Field::Subject, &frame.subject, shown),
        reading(Field::Place, &frame.place, shown),
        reading(Field::Process, &frame.process, shown),
    ]
    .into_iter()
    .flatten()
    .collect();
    html! { @if !rows.is_empty() { details { summary { "Other readings" } ul { @for row in rows { (row) } } } } }
}

fn shown<T: Display>(value: &T) -> String {
    value.to_string()
}

fn reading<T>(field: Field, settled: &Option<Settled<T>>, text: impl Fn(&T) -> String) -> Option<Markup> {
    let s = settled.as_ref().filter(|s| !s.others.is_empty())?;
    let per_cent = |p: f64| format!("{:.0} %", (p * 100.0).floor());
    Some(html! {
        li {
            (words::field(field)) ": " strong { (foreign(&text(&s.value))) } " " (per_cent(s.confidence.get()))
            @for other in &s.others {
                ", " (foreign(&text(&other.value))) " " (per_cent(other.confidence.get())) " (" (other.source.as_str()) ")"
            }
            @if !s.why.is_empty() { span.why { " " (foreign(&s.why.join("; "))) } }
        }
    })
}
