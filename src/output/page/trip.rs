//! The trip at a glance, as a page.

use std::collections::BTreeSet;

use maud::{Markup, html};

use crate::facts::{Field, Flag, FrameNumber, Input};
use crate::roll::{Frame, Roll, Trip};
use crate::scans::Thumbnail;

use super::super::cautions;
use super::super::markdown::href;
use super::super::names::safe_stem;
use super::super::summary::{Counts, Unusable, places_of};
use super::super::words::{self, FlagKind};
use super::frame::reading;
use super::links::{Links, Note, note};
use super::parts::{anchor, clean, clock, foreign, page};
use super::pictures::{Pictures, data_url};
use super::plot::in_words;
use super::roll::{player, to_check};

/// Longer edge of a picture on the strip, in pixels: twice what it is shown at.
const STRIP_EDGE: u32 = 220;
/// Frames that a roll of 120 or 127 film holds at most, of the formats in `kit`.
const MOST_ON_ROLL_FILM: u16 = 16;

/// `trip.html`.
pub fn trip_html(trip: &Trip, unusable: &[Unusable], inputs: &[Input], pictures: &Pictures, links: &Links) -> Vec<u8> {
    let frames: usize = trip.rolls.iter().map(|r| r.frames.len()).sum();
    let checks: usize = trip.rolls.iter().map(|r| to_check(r).len()).sum();
    let main = html! {
        header {
            h1 { (foreign(&trip.name)) }
            p.facts {
                span { (words::counted(trip.rolls.len(), "roll")) } span { (words::counted(frames, "frame")) }
                span { @if checks == 0 { "nothing to check" } @else { (checks) " to check" } }
            }
            nav.contents aria-label="On this page" {
                @if checks > 0 { a href="#check" { "To check" } }
                a href="#rolls" { "Rolls" }
                @if !places_of(trip).is_empty() { a href="#places" { "Places" } }
                @if !unusable.is_empty() { a href="#unusable" { "Not used" } }
                @if !inputs.is_empty() { a href="#inputs" { "Every input" } }
                a href="lab.html" { "Lab sheet" }
            }
        }
        main {
            @if checks > 0 { (checklist(trip, links)) }
            section id="rolls" aria-labelledby="rolls-title" {
                h2 id="rolls-title" { "Rolls" }
                @if trip.rolls.is_empty() { p { "No roll was found." } }
                @for roll in &trip.rolls { (card(roll, pictures)) }
            }
            (slow(trip))
            (places(trip))
            @if !unusable.is_empty() {
                section id="unusable" aria-labelledby="unusable-title" {
                    h2 id="unusable-title" { "Input that could not be used" }
                    ul { @for u in unusable { li { strong { (foreign(&u.path)) } " " (foreign(&u.why)) } } }
                }
            }
            (accounted(inputs))
            @let cautions = cautions::for_trip(trip);
            @if !cautions.is_empty() {
                section.cautions aria-labelledby="cautions-title" {
                    h2 id="cautions-title" { "Cautions" }
                    @for caution in cautions { p { (caution) } }
                }
            }
        }
        (player())
    };
    page(&trip.name, &main)
}

/// Every input, with what became of it.
fn accounted(inputs: &[Input]) -> Markup {
    html! {
        @if !inputs.is_empty() {
            section id="inputs" aria-labelledby="inputs-title" {
                h2 id="inputs-title" { "Every input" }
                details {
                    summary { (words::counted(inputs.len(), "file")) ", and what became of each" }
                    table.checks {
                        thead { tr {
                            th scope="col" { "Input" } th scope="col" { "Kind" } th scope="col" { "Became" }
                            th scope="col" { "Words" } th scope="col" { "Frames" } th scope="col" { "To know" }
                        } }
                        tbody {
                            @for i in inputs {
                                tr {
                                    th scope="row" { (foreign(&i.path)) }
                                    td { (i.kind) }
                                    td { (i.fate) }
                                    td { @if i.words > 0 { (i.words) } }
                                    td { @if i.frames > 0 { (i.frames) } }
                                    td { (foreign(&i.remarks.join("; "))) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn link(roll: &Roll) -> String {
    format!("rolls/{}.html", href(&safe_stem(roll.name.as_str())))
}

fn card(roll: &Roll, pictures: &Pictures) -> Markup {
    let n = Counts::of(&roll.frames);
    // Film of 35 mm has perforations; of the formats, it alone holds more frames than this.
    let perforated = roll.capacity.is_some_and(|c| c > MOST_ON_ROLL_FILM);
    html! {
        article.roll {
            ol.strip.perforated[perforated] tabindex="0" aria-label={ "Frames of roll " (roll.name.as_str()) } {
                @for frame in &roll.frames { (on_strip(frame, roll, pictures)) }
            }
            div.text {
                h3 { a href=(link(roll)) { "Roll " (foreign(roll.name.as_str())) } }
                p.facts {
                    @if let Some(film) = &roll.film { span { (foreign(film)) } }
                    @if let Some(ei) = roll.ei { span { "EI " (ei.get()) } }
                    @if let Some(camera) = &roll.camera { span { (foreign(camera)) } }
                    @if let Some(process) = &roll.process { span { "process " (foreign(process)) } }
                }
                ul.counts {
                    li { strong { (n.frames) } " frames" }
                    li { strong { (n.ok) } " noted and scanned" }
                    @if n.unscanned > 0 { li { strong { (n.unscanned) } " not scanned" } }
                    @if n.unnoted > 0 { li { strong { (n.unnoted) } " not noted" } }
                    @if n.wasted > 0 { li { strong { (n.wasted) } " wasted" } }
                    @if n.gone > 0 { li { strong { (n.gone) } " with the clip gone" } }
                    @if n.to_check > 0 { li.check { strong { (n.to_check) } " to check" } }
                }
                p.measure { (in_words(roll)) }
                @for remark in &roll.remarks { p.remark { (foreign(remark)) } }
            }
        }
    }
}

/// A frame of the strip: its picture in its own proportion, its number, a mark where it is in doubt.
fn on_strip(frame: &Frame, roll: &Roll, pictures: &Pictures) -> Markup {
    let picture = frame.scans.first().and_then(|s| pictures.of(s)?.as_ref().ok());
    // Made smaller still: a thousand of them stand on one page.
    let picture = picture.and_then(|p| Thumbnail::of(&p.jpeg, STRIP_EDGE).ok());
    html! {
        li.doubtful[words::in_doubt(frame)] {
            a href={ (link(roll)) "#" (anchor(frame.number)) } {
                @match picture {
                    Some(p) => img src=(data_url(&p)) width=(p.width) height=(p.height) alt={ "Frame " (frame.number) } loading="lazy";,
                    None => span.none { span.aside { "Frame " (frame.number) ", no picture" } },
                }
                span.number aria-hidden="true" { (frame.number) @if words::in_doubt(frame) { " ?" } }
            }
        }
    }
}

/// Frames that were slow for hand-holding: how they were taken, and no doubt.
fn slow(trip: &Trip) -> Markup {
    let of = |roll: &Roll| {
        let slow = |f: &&Frame| f.flags.contains(&Flag::Shake) && !f.looked_at.contains(&Flag::Shake);
        roll.frames.iter().filter(slow).map(|f| f.number).collect::<Vec<_>>()
    };
    let rolls: Vec<(&Roll, Vec<FrameNumber>)> =
        trip.rolls.iter().map(|r| (r, of(r))).filter(|(_, n)| !n.is_empty()).collect();
    html! {
        @if !rolls.is_empty() {
            section id="slow" aria-labelledby="slow-title" {
                h2 id="slow-title" { "Slow for hand-holding" }
                ul { @for (roll, numbers) in rolls { li { a href=(link(roll)) { "Roll " (foreign(roll.name.as_str())) } " " (words::ranges(&numbers)) } } }
            }
        }
    }
}

fn checklist(trip: &Trip, links: &Links) -> Markup {
    html! {
        section id="check" aria-labelledby="check-title" {
            h2 id="check-title" { "What needs a look" }
            p.measure { code { "spooltalk review" } " asks about each of them and plays what was said." }
            table.checks {
                thead { tr { th scope="col" { "Frame" } th scope="col" { "Settings" } th scope="col" { "Why, and what else it could be" } } }
                tbody { @for (roll, frame) in gravest_first(trip) { (check(roll, frame, links)) } }
            }
        }
    }
}

/// Frames that need a look, by their gravest flag; those alike in the order of film.
fn gravest_first(trip: &Trip) -> Vec<(&Roll, &Frame)> {
    let all = trip.rolls.iter().flat_map(|r| r.frames.iter().map(move |f| (r, f)));
    let mut frames: Vec<(&Roll, &Frame)> = all.filter(|(_, f)| words::in_doubt(f)).collect();
    frames.sort_by_key(|(_, f)| words::pressing(f).first().map(|flag| FlagKind::of(*flag)));
    frames
}

fn check(roll: &Roll, frame: &Frame, links: &Links) -> Markup {
    let play = frame.said.iter().find(|q| note(&q.at.clip) == Note::Clip);
    let fields: BTreeSet<Field> = words::pressing(frame).into_iter().filter_map(Flag::field).collect();
    html! {
        tr {
            th scope="row" { a href={ (link(roll)) "#" (anchor(frame.number)) } { (foreign(roll.name.as_str())) " · " (frame.number) } }
            td {
                @for (_, text) in words::settings(frame) { span.setting { (foreign(&text)) } " " }
                @if let Some(q) = play {
                    a.play href=(links.moment(&q.at, 0)) data-words=(clean(&q.text)) { "Play " (clock(q.at.at_s)) span.aside { " of frame " (frame.number) ", roll " (foreign(roll.name.as_str())) } }
                }
            }
            td {
                ul.flags { @for flag in words::pressing(frame) {
                    li class=(FlagKind::of(flag).code()) {
                        strong { (words::flag(flag)) }
                        @if let Some(why) = words::reason(frame, flag) { " " (foreign(why)) }
                    }
                } }
                ul.readings { @for field in fields { @if let Some(row) = reading(frame, field) { (row) } } }
            }
        }
    }
}

fn places(trip: &Trip) -> Markup {
    let places = places_of(trip);
    html! {
        @if !places.is_empty() {
            section id="places" aria-labelledby="places-title" {
                h2 id="places-title" { "Places" }
                ul.places {
                    @for place in &places {
                        li {
                            @if !place.name.is_empty() { strong { (foreign(&place.name)) } " " }
                            a href=(place.geo()) { (place.lat) ", " (place.lon) }
                            " "
                            @for (i, (roll, numbers)) in place.frames.iter().enumerate() {
                                @if i > 0 { "; " } "roll " (foreign(roll)) " " (words::ranges(numbers))
                            }
                        }
                    }
                }
            }
        }
    }
}
