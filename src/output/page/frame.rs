//! One frame of the contact sheet.

use std::collections::BTreeMap;

use maud::{Markup, html};

use crate::exposure::Stops;
use crate::facts::{Field, Flag, Source};
use crate::roll::{Focus, Frame, Quote, Roll, Status};

use super::super::against::{AgainstRule, at_film};
use super::super::row::{cells, frame_ev100};
use super::super::words::{self, FlagKind};
use super::links::{Links, Note, note};
use super::parts::{anchor, clean, clock, foreign};
use super::pictures::{Pictures, data_url};
use super::shared::{Shared, concerns};

/// Pages of rolls lie one folder below the output folder.
const DEPTH: usize = 1;

/// The frame as an item of the sheet's list.
pub fn item(frame: &Frame, roll: &Roll, shared: &Shared, pictures: &Pictures, links: &Links) -> Markup {
    let kinds: Vec<&str> = frame.flags.iter().map(|f| FlagKind::of(*f).code()).collect();
    html! {
        li.frame id=(anchor(frame.number)) tabindex="-1" data-kinds=(kinds.join(" ")) data-status=(frame.status.as_str())
            data-cells=(searched(roll, frame))
            data-check[words::in_doubt(frame)]
        {
            div.edge {
                h2 { span.aside { "Frame " } (frame.number) }
                @if frame.number_confidence < 0.5 { span.doubt title="the number is not sure" { "?" } }
                @if frame.status != Status::Ok { span.status { (words::status(frame.status)) } }
                @if let Some(taken) = &frame.taken {
                    time datetime=(taken.rfc3339()) { @if !taken.is_read() { "about " } (taken.local.strftime("%-d %b %H:%M").to_string()) }
                }
            }
            (picture(frame, pictures, links))
            div.text {
                @if let Some(subject) = &frame.subject { p.subject dir="auto" { (marked(frame, Field::Subject, &clean(&subject.value))) } }
                (settings(frame, shared))
                (measure(frame))
                (about(frame, shared))
                (flags(frame))
                (said(frame, links))
                (readings(frame))
            }
        }
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

/// A value, marked for the eye and the ear where something is in doubt about it, carried over or
/// changed by hand.
fn marked(frame: &Frame, field: Field, text: &str) -> Markup {
    let kind = frame.flags.iter().copied().filter(|f| concerns(*f, field, true)).map(FlagKind::of).min();
    let edited = frame.ground(field).filter(|g| g.sources() == [Source::Edit]);
    html! {
        @match (kind, edited) {
            (Some(kind), _) => span class=(kind.code()) title=(kind.label()) { bdi { (text) } span.aside { " (" (kind.label()) ")" } },
            (None, Some(ground)) => span.edited title="changed by hand" {
                bdi { (text) }
                @match ground.readings().first() {
                    Some(old) => small { " was " (foreign(&old.value)) },
                    None => small { " by hand" },
                }
            },
            (None, None) => span { bdi { (text) } },
        }
    }
}

/// Shutter and aperture, then the rest; what all frames of the roll have is not said again.
fn settings(frame: &Frame, shared: &Shared) -> Markup {
    let parts: Vec<_> = words::settings(frame).into_iter().filter(|(f, _)| !shared.covers(frame, *f)).collect();
    let main = |f: &Field| matches!(f, Field::Shutter | Field::Aperture);
    let part = |field: Field, text: &str| html! { (marked(frame, field, &clean(text))) " " };
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

/// The frame's cells for the search on the page, by their columns; empty ones are left out.
fn searched(roll: &Roll, frame: &Frame) -> String {
    let mut all: Vec<(&str, String)> = cells(&roll.name, frame).into_iter().filter(|(_, c)| !c.is_empty()).collect();
    all.extend(AgainstRule::of(frame).map(|a| ("rule_stops", format!("{:.2}", a.over.get()))));
    serde_json::to_string(&all.into_iter().collect::<BTreeMap<_, _>>()).expect("cells are text")
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
fn about(frame: &Frame, shared: &Shared) -> Markup {
    let fields = [Field::Camera, Field::Lens, Field::Film, Field::Support, Field::Process];
    let said = fields.into_iter().filter(|f| !shared.covers(frame, *f));
    let rows = said.filter_map(|f| Some((f, frame.ground(f)?.cell())));
    html! {
        dl {
            (place(frame, shared))
            @for (field, value) in rows { div { dt { (words::field(field)) } dd { (marked(frame, field, &clean(&value))) } } }
            (beside(frame))
            @if let Some(remark) = &frame.remark { div { dt { "remark" } dd { (foreign(remark)) } } }
            @if let Some(rating) = frame.rating { div { dt { "rating" } dd { (rating) " of 5" } } }
        }
    }
}

/// What was said beside the settings.
fn beside(frame: &Frame) -> Markup {
    let x = &frame.extras;
    let names: Vec<String> = x.names();
    let lost = x.lost().filter(|s| s.get() != 0.0);
    let metres = |m: f64| if m < 1.0 { format!("{m:.2} m") } else { format!("{m:.1} m") };
    let far = |far: Option<f64>| far.map_or("infinity".to_owned(), metres);
    html! {
        @if !names.is_empty() {
            div { dt { "with" } dd {
                (marked(frame, Field::Extras, &clean(&names.join(", "))))
                @if let Some(lost) = lost { " (" (words::stops(Stops::new(-lost.get()))) " stops)" }
            } }
        }
        @if let Some(focus) = x.focus {
            div { dt { "focus" } dd {
                @match focus { Focus::Metres(m) => (metres(m)), Focus::Infinity => "infinity" }
                @if let Some((near, to)) = x.sharp { ", sharp from " (metres(near)) " to " (far(to)) }
            } }
        }
    }
}

/// The place as said, leading to its coordinates where they are known.
fn place(frame: &Frame, shared: &Shared) -> Markup {
    let name = frame.place.as_ref().filter(|_| !shared.covers(frame, Field::Place));
    let name = name.map(|p| marked(frame, Field::Place, &clean(&p.value)));
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
    // What was carried over is in italics where it stands; the legend says so once.
    let mut flags: Vec<Flag> = frame.flags.iter().copied().filter(|f| !matches!(f, Flag::Carried(_))).collect();
    flags.sort_by_key(|f| FlagKind::of(*f));
    html! {
        @if !flags.is_empty() {
            ul.flags aria-label="What to look at" {
                @for flag in flags {
                    li class=(FlagKind::of(flag).code()) {
                        strong { (words::flag(flag)) }
                        @if frame.looked_at.contains(&flag) { " (looked at, left open)" }
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
                p dir="auto" { (spoken(q)) }
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

/// The words of a quote, those that were not used greyed.
pub(super) fn spoken(quote: &Quote) -> Markup {
    html! {
        @for (text, used) in words::parts(quote) {
            @if used { (clean(text)) } @else { span.unread title="not used" { (clean(text)) } }
        }
    }
}

/// What else a value could be, and why the one that stands was chosen.
fn readings(frame: &Frame) -> Markup {
    let rows: Vec<Markup> = Field::ALL.iter().filter_map(|f| reading(frame, *f)).collect();
    html! { @if !rows.is_empty() { details { summary { "Other readings" } ul { @for row in rows { (row) } } } } }
}

/// A value with what else it could be; the shares add up to a hundred.
pub(super) fn reading(frame: &Frame, field: Field) -> Option<Markup> {
    let ground = frame.ground(field)?;
    let others = ground.readings();
    let shares = words::shares(frame, field);
    if others.is_empty() {
        return None;
    }
    let shown = words::whole_percents(&shares);
    Some(html! {
        li {
            (words::field(field)) ": " strong { (foreign(&words::cell(field, &ground.cell()))) } " " (shown[0]) " %"
            @for (other, share) in others.iter().zip(&shown[1..]).filter(|(_, share)| **share > 0) {
                ", " (foreign(&words::cell(field, &other.value))) " " (share) " % (" (other.source.as_str()) ")"
            }
        }
    })
}
