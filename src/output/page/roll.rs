//! A roll as a contact sheet.

use maud::{Markup, html};

use crate::exposure::BoxSpeed;
use crate::facts::Field;
use crate::roll::{Roll, Status};

use super::super::against::range;
use super::super::markdown::href;
use super::super::names::safe_stem;
use super::super::summary::Counts;
use super::super::words::{self, FlagKind};
use super::frame::item;
use super::links::Links;
use super::parts::{anchor, foreign, page_of};
use super::pictures::Pictures;
use super::plot::{in_words, plot};
use super::shared::Shared;

/// So many frames are printed larger, four across, and still on one sheet.
const FEW: usize = 20;

/// `rolls/ROLL.html`.
pub fn roll_html(trip_name: &str, roll: &Roll, pictures: &Pictures, links: &Links) -> Vec<u8> {
    let stem = href(&safe_stem(roll.name.as_str()));
    let counts = Counts::of(&roll.frames);
    let shared = Shared::of(roll);
    let main = html! {
        a.skip href="#sheet" { "To the frames" }
        header {
            nav aria-label="Trip" { a href="../trip.html" { "‹ " (foreign(trip_name)) } }
            h1 { "Roll " (foreign(roll.name.as_str())) }
            p.facts { @for fact in facts(roll, &shared) { span { (fact) } } }
            p.files {
                "The same as a table: " a href={ (stem) ".csv" } { (foreign(roll.name.as_str())) ".csv" }
                ", as data: " a href={ (stem) ".jsonl" } { (foreign(roll.name.as_str())) ".jsonl" }
            }
        }
        main {
            section aria-label="Exposure" {
                (plot(roll))
                p.measure {
                    @if super::super::against::spread(&roll.frames).is_none() { (in_words(roll)) " " }
                    @if let Some((bright, dark)) = range(&roll.frames) {
                        "Between the frames: from EV " (format!("{:.1}", bright.get())) " down to EV " (format!("{:.1}", dark.get()))
                        " at ISO 100, filters taken off: " (format!("{:.1}", bright.get() - dark.get())) " stops."
                    }
                }
            }
            @if !roll.remarks.is_empty() || !roll.other_scans.is_empty() || !roll.developed.is_empty() {
                section aria-label="Remarks" {
                    ul {
                        @if !roll.developed.is_empty() { li { "Developed: " (foreign(&roll.developed.line())) } }
                        @for remark in &roll.remarks { li { (foreign(remark)) } }
                        @if !roll.other_scans.is_empty() {
                            li { "Scans that are no frame: " @for (i, s) in roll.other_scans.iter().enumerate() { @if i > 0 { ", " } (foreign(s)) } }
                        }
                    }
                }
            }
            (controls(roll, &counts))
            @if roll.frames.is_empty() { p { "No frames are known of this roll." } }
            (legend())
            (log(roll))
            ol.sheet.few[roll.frames.len() <= FEW] id="sheet" aria-label="Frames in film order" {
                @for frame in &roll.frames { (item(frame, roll, &shared, pictures, links)) }
            }
        }
        (player())
        footer.keys hidden {
            p { kbd { "/" } " search  " kbd { "j" } " " kbd { "k" } " next, previous frame  " kbd { "p" } " play  " kbd { "c" } " only what to check  " kbd { "Esc" } " all" }
        }
    };
    page_of("of-roll", &format!("Roll {}", roll.name), &main)
}

/// What holds for the roll, said once.
fn facts(roll: &Roll, shared: &Shared) -> Vec<Markup> {
    let box_speed = roll.frames.iter().find_map(|f| f.box_iso);
    let rated = roll.ei.map(|ei| {
        let box_speed = box_speed.map(BoxSpeed::get).filter(|b| *b != ei.get());
        html! { "EI " (ei.get()) @if let Some(b) = box_speed { " (box " (b) ")" } }
    });
    let text = |t: &Option<String>| t.as_deref().map(foreign);
    let frames = html! {
        (roll.frames.len()) " frames" @if let Some(n) = roll.capacity.filter(|n| usize::from(*n) != roll.frames.len()) { " of " (n) }
    };
    let all = |field| shared.value(field).map(|v| foreign(&words::cell(field, v)));
    let lens = all(Field::Lens).map(|l| html! { "lens " (l) });
    [
        text(&roll.film),
        rated,
        text(&roll.camera),
        lens,
        all(Field::FocalMm),
        all(Field::Support),
        all(Field::Place),
        text(&roll.process).map(|p| html! { "process " (p) }),
        Some(frames),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// How values are marked.
fn legend() -> Markup {
    html! {
        p.legend {
            "Marked: " span.conflict { "sources disagree" } ", " span.unsure { "not sure" } ", " span.odd { "unusual" } ", "
            span.shake { "slow for hand-holding" } ", " span.carried { "carried over from an earlier frame" } ", "
            span.edited { "changed by hand" } ", " span.unread { "said and not used" } "."
        }
    }
}

/// The frames as lines of text: first on a phone, and a log on paper.
fn log(roll: &Roll) -> Markup {
    html! {
        table.log aria-label="Frames in brief" {
            thead { tr { th scope="col" { "Frame" } th scope="col" { "Settings" } th scope="col" { "Subject" } } }
            tbody {
                @for frame in &roll.frames {
                    tr data-frame=(anchor(frame.number)) {
                        th scope="row" { a href={ "#" (anchor(frame.number)) } { (frame.number) } }
                        td {
                            @for (_, text) in words::settings(frame) { span.setting { (foreign(&text)) } " " }
                            @if frame.status != Status::Ok { span.setting { (words::status(frame.status)) } }
                            @if words::in_doubt(frame) { strong.unsure { "to check" } }
                        }
                        td { @if let Some(s) = &frame.subject { (foreign(&s.value)) } }
                    }
                }
            }
        }
    }
}

/// Plays clips; shown once the script runs and one is asked for.
pub fn player() -> Markup {
    html! {
        aside.player aria-label="Player" hidden {
            p.words aria-live="polite" {}
            audio controls preload="none" {}
            p.trouble role="status" hidden { "This browser cannot play the clip. " a href="" { "Open it" } }
            button type="button" aria-label="Close the player" { "×" }
        }
    }
}

/// Filters and search; shown once the script runs.
fn controls(roll: &Roll, counts: &Counts) -> Markup {
    let of_kind = |k: FlagKind| roll.frames.iter().filter(|f| f.flags.iter().any(|x| FlagKind::of(*x) == k)).count();
    let of_status = |s: Status| roll.frames.iter().filter(|f| f.status == s).count();
    let button = |filter: &str, label: &str, n: usize, pressed: bool| {
        html! { button type="button" data-filter=(filter) aria-pressed=(pressed) { (label) " " span.count { (n) } } }
    };
    html! {
        search.controls hidden {
            label for="words" { "Search" }
            input id="words" type="search" autocomplete="off" placeholder="harbour filter:orange aperture<=5.6";
            div role="group" aria-label="Show" {
                (button("all", "all", counts.frames, true))
                @if counts.to_check > 0 { (button("check", "to check", counts.to_check, false)) }
                @for kind in FlagKind::ALL {
                    @if of_kind(kind) > 0 { (button(kind.code(), kind.label(), of_kind(kind), false)) }
                }
                @for s in [Status::Unscanned, Status::Unnoted, Status::Wasted] {
                    @if of_status(s) > 0 { (button(s.as_str(), words::status(s), of_status(s), false)) }
                }
            }
            p.shown role="status" {}
        }
    }
}

/// Whether any flag of the roll asks for a look, in words for the trip's page.
pub fn to_check(roll: &Roll) -> Vec<&crate::roll::Frame> {
    roll.frames.iter().filter(|f| words::in_doubt(f)).collect()
}
