//! The trip at a glance, as a page.

use maud::{Markup, html};

use crate::facts::{Flag, Input};
use crate::roll::{Roll, Trip};

use super::super::cautions;
use super::super::markdown::href;
use super::super::names::safe_stem;
use super::super::summary::{Counts, Unusable, places_of};
use super::super::words::{self, FlagKind};
use super::parts::{anchor, foreign, page};
use super::pictures::{Pictures, data_url};
use super::plot::in_words;
use super::roll::to_check;

/// Pictures shown of a roll.
const STRIP: usize = 10;

/// `trip.html`.
pub fn trip_html(trip: &Trip, unusable: &[Unusable], inputs: &[Input], pictures: &Pictures) -> Vec<u8> {
    let frames: usize = trip.rolls.iter().map(|r| r.frames.len()).sum();
    let checks: usize = trip.rolls.iter().map(|r| to_check(r).len()).sum();
    let main = html! {
        header {
            h1 { (foreign(&trip.name)) }
            p.facts {
                span { (count(trip.rolls.len(), "roll")) } span { (count(frames, "frame")) }
                span { @if checks == 0 { "nothing to check" } @else { (checks) " to check" } }
            }
            nav.contents aria-label="On this page" {
                a href="#rolls" { "Rolls" }
                @if checks > 0 { a href="#check" { "To check" } }
                @if !places_of(trip).is_empty() { a href="#places" { "Places" } }
                @if !unusable.is_empty() { a href="#unusable" { "Not used" } }
                @if !inputs.is_empty() { a href="#inputs" { "Every input" } }
                a href="lab.md" { "Lab sheet" }
            }
        }
        main {
            section id="rolls" aria-labelledby="rolls-title" {
                h2 id="rolls-title" { "Rolls" }
                @if trip.rolls.is_empty() { p { "No roll was found." } }
                @for roll in &trip.rolls { (card(roll, pictures)) }
            }
            @if checks > 0 { (checklist(trip)) }
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
                    summary { (count(inputs.len(), "file")) ", and what became of each" }
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

fn count(n: usize, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
}

fn link(roll: &Roll) -> String {
    format!("rolls/{}.html", href(&safe_stem(roll.name.as_str())))
}

fn card(roll: &Roll, pictures: &Pictures) -> Markup {
    let n = Counts::of(&roll.frames);
    let shown = roll.frames.iter().flat_map(|f| f.scans.first().map(|s| (f, s)));
    let small: Vec<_> = shown.filter_map(|(f, s)| Some((f, pictures.of(s)?.as_ref().ok()?))).collect();
    // Spread over the film, so that the strip tells what the roll is about.
    let chosen = STRIP.min(small.len());
    let strip = (0..chosen).map(|i| &small[i * small.len() / chosen]);
    html! {
        article.roll {
            div.strip {
                @for (frame, picture) in strip {
                    img src=(data_url(picture)) width=(picture.width) height=(picture.height) alt={ "Frame " (frame.number) } loading="lazy";
                }
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

fn checklist(trip: &Trip) -> Markup {
    html! {
        section id="check" aria-labelledby="check-title" {
            h2 id="check-title" { "What needs a look" }
            @for roll in &trip.rolls {
                @let frames = to_check(roll);
                @if !frames.is_empty() {
                    h3 { "Roll " (foreign(roll.name.as_str())) }
                    table.checks {
                        thead { tr { th scope="col" { "Frame" } th scope="col" { "Settings" } th scope="col" { "Why" } } }
                        tbody {
                            @for frame in frames {
                                tr {
                                    th scope="row" { a href={ (link(roll)) "#" (anchor(frame.number)) } { (frame.number) } }
                                    td { @for (_, text) in words::settings(frame) { span.setting { (foreign(&text)) } " " } }
                                    td { ul.flags { @for flag in pressing(&frame.flags) {
                                        li class=(FlagKind::of(flag).code()) {
                                            strong { (words::flag(flag)) }
                                            @if let Some(why) = words::reason(frame, flag) { " " (foreign(why)) }
                                        }
                                    } } }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn pressing(flags: &[Flag]) -> Vec<Flag> {
    let mut flags: Vec<Flag> = flags.iter().copied().filter(|f| words::wants_a_look(*f)).collect();
    flags.sort_by_key(|f| FlagKind::of(*f));
    flags
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
