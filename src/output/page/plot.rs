//! Exposure given against the rule, frame by frame, as SVG.

use maud::{Markup, html};

use crate::exposure::RULE_TOLERANCE;
use crate::facts::{Field, Flag};
use crate::roll::{Frame, Roll};

use super::super::against::{AgainstRule, spread};
use super::super::words::{ranges, stops_measured};
use super::parts::anchor;

const WIDTH: f64 = 960.0;
const HEIGHT: f64 = 220.0;
/// Left for the scale; above and below for words.
const LEFT: f64 = 76.0;
const TOP: f64 = 16.0;
const BOTTOM: f64 = 34.0;
/// The plot shows at least this many stops either way, and at most `FAR`.
const NEAR: f64 = 2.0;
const FAR: f64 = 6.0;

/// The roll's plot; nothing when no frame can be set against the rule.
pub fn plot(roll: &Roll) -> Markup {
    let Some(spread) = spread(&roll.frames) else { return html! {} };
    let reach = spread.high.get().max(-spread.low.get()).ceil().clamp(NEAR, FAR);
    let y = |stops: f64| TOP + (HEIGHT - TOP - BOTTOM) * (reach - stops.clamp(-reach, reach)) / (2.0 * reach);
    let step = (WIDTH - LEFT - 12.0) / roll.frames.len().max(1) as f64;
    let x = |i: usize| LEFT + step * (i as f64 + 0.5);
    let tolerance = RULE_TOLERANCE.get();
    let band = y(-tolerance) - y(tolerance);
    let marks = (-reach as i32..=reach as i32).filter(|n| reach <= 3.0 || n % 2 == 0);
    // Every number fits when there are few; else every second or fourth.
    let every = (30.0 / step).ceil().max(1.0) as usize;
    let title = "Exposure given against the daylight rule";
    html! {
        figure.plot {
            svg viewBox=(format!("0 0 {WIDTH} {HEIGHT}")) role="group" aria-labelledby="plot-title plot-text" {
                title id="plot-title" { (title) }
                desc id="plot-text" { (in_words(roll)) }
                rect.band x=(LEFT) y=(n(y(tolerance))) width=(WIDTH - LEFT) height=(n(band)) {}
                @for mark in marks {
                    line.grid x1=(LEFT) x2=(WIDTH) y1=(n(y(mark.into()))) y2=(n(y(mark.into()))) {}
                    text.scale x=(LEFT - 8.0) y=(n(y(mark.into()) + 4.0)) { (if mark == 0 { "rule".to_owned() } else { format!("{mark:+}").replace('-', "−") }) }
                }
                text.axis x="14" y=(n((HEIGHT - BOTTOM + TOP) / 2.0)) transform=(format!("rotate(-90 14 {})", n((HEIGHT - BOTTOM + TOP) / 2.0))) {
                    "stops from the daylight rule"
                }
                line.zero x1=(LEFT) x2=(WIDTH) y1=(n(y(0.0))) y2=(n(y(0.0))) {}
                @for (i, frame) in roll.frames.iter().enumerate() {
                    @if i % every == 0 { text.number x=(n(x(i))) y=(HEIGHT - 12.0) { (frame.number) } }
                    (point(frame, x(i), y))
                }
            }
            figcaption { (in_words(roll)) }
        }
    }
}

/// A point, hollow where a setting is not sure; a short stroke on the floor for
/// a frame that cannot be set against the rule.
fn point(frame: &Frame, x: f64, y: impl Fn(f64) -> f64) -> Markup {
    let Some(against) = AgainstRule::of(frame) else {
        return html! { line.unknown x1=(n(x)) x2=(n(x)) y1=(HEIGHT - BOTTOM - 6.0) y2=(HEIGHT - BOTTOM) {} };
    };
    let at = y(against.over.get());
    let doubtful = |f: &Flag| {
        let of = |x: &Field| matches!(x, Field::Shutter | Field::Aperture | Field::Ei | Field::Filter | Field::Light);
        matches!(f, Flag::Unsure(x) | Flag::Conflict(x) if of(x))
    };
    let class = if frame.flags.iter().any(doubtful) { "point doubtful" } else { "point" };
    html! {
        a href={ "#" (anchor(frame.number)) } tabindex="-1" {
            line.stem x1=(n(x)) x2=(n(x)) y1=(n(y(0.0))) y2=(n(at)) {}
            circle.hit cx=(n(x)) cy=(n(at)) r="14" {}
            circle class=(class) cx=(n(x)) cy=(n(at)) r="5" {
                title { "Frame " (frame.number) ": " (stops_measured(against.over)) " for " (against.light.as_str()) }
            }
        }
    }
}

/// The plot in a sentence or two.
pub fn in_words(roll: &Roll) -> String {
    let Some(s) = spread(&roll.frames) else {
        return "No frame can be set against the daylight rule: light, settings or index were not noted.".to_owned();
    };
    let far: Vec<_> = roll
        .frames
        .iter()
        .filter(|f| AgainstRule::of(f).is_some_and(|a| a.over.size() > RULE_TOLERANCE))
        .map(|f| f.number)
        .collect();
    let shown = stops_measured;
    let mut text = match s.count {
        1 => format!(
            "One frame of {} can be set against the daylight rule: {} stops.",
            roll.frames.len(),
            shown(s.median)
        ),
        n => format!(
            "{n} of {} frames against the daylight rule: median {} stops, from {} to {}.",
            roll.frames.len(),
            shown(s.median),
            shown(s.low),
            shown(s.high)
        ),
    };
    if !far.is_empty() {
        text += &format!(" More than a stop away: {}.", ranges(&far));
    }
    text
}

/// A coordinate to a tenth.
fn n(at: f64) -> String {
    format!("{at:.1}")
}
