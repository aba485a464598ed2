//! Habits as a picture: for each film, light, filter, lens and year a box from the lower
//! to the upper quarter of its frames, against the daylight rule.

use maud::{Markup, html};

use crate::exposure::{Spread, Stops};

use super::habits::{Habit, Habits};
use super::habits_text::signed;

/// Stops shown on either side of the rule; what lies beyond stands at the edge.
const REACH: f64 = 4.0;
const LABEL: f64 = 210.0;
const PLOT: f64 = 480.0;
const COUNT: f64 = 90.0;
const ROW: f64 = 22.0;
/// Groups of each kind that are shown; the rest are few frames.
const SHOWN: usize = 20;

/// The picture, an SVG document that stands alone, with a text for every row.
pub fn habits_svg(all: &[Habits]) -> String {
    let kinds: Vec<(&Habits, Vec<&Habit>)> = all.iter().map(|h| (h, shown(h))).filter(|(_, g)| !g.is_empty()).collect();
    let rows: usize = kinds.iter().map(|(_, groups)| groups.len() + 2).sum();
    let (width, height) = (LABEL + PLOT + COUNT, (rows + 2) as f64 * ROW);
    let mut y = 2.0 * ROW;
    let drawing = html! {
        svg xmlns="http://www.w3.org/2000/svg" width=(width) height=(height) viewBox=(format!("0 0 {width} {height}"))
            role="img" aria-labelledby="title" font-family="system-ui, sans-serif" font-size="13" {
            title id="title" { "Exposure given against what the light asks for, in stops" }
            style { (STYLE) }
            rect .paper width=(width) height=(height) {}
            (axis(height))
            @for (habits, groups) in &kinds {
                text .kind x="10" y=(baseline(&mut y)) { (habits.by.as_str()) }
                @for habit in groups { (row(habit, &mut y)) }
                (skip(&mut y))
            }
        }
    };
    drawing.into_string()
}

const STYLE: &str = "\
text{fill:#222}.paper{fill:#fff}.kind{font-weight:600}.grid{stroke:#ddd}.rule{stroke:#888;stroke-width:1.5}\
.reach{stroke:#4a6a7c}.half{fill:#9dbccb;stroke:#4a6a7c}.median{stroke:#12303f;stroke-width:3}.few{fill:#777}\
@media (prefers-color-scheme:dark){text{fill:#ddd}.paper{fill:#16191b}.grid{stroke:#333}.reach{stroke:#9dbccb}\
.half{fill:#35566a;stroke:#9dbccb}.median{stroke:#eaf4f9}.few{fill:#999}}";

/// Groups with a light, most frames first.
fn shown(habits: &Habits) -> Vec<&Habit> {
    habits.groups.iter().filter(|h| h.rule.is_some()).take(SHOWN).collect()
}

fn baseline(y: &mut f64) -> f64 {
    *y += ROW;
    *y - 6.0
}

fn skip(y: &mut f64) -> Markup {
    *y += ROW;
    html! {}
}

fn x(stops: Stops) -> f64 {
    let x = LABEL + PLOT * (stops.get().clamp(-REACH, REACH) + REACH) / (2.0 * REACH);
    (x * 10.0).round() / 10.0
}

fn axis(height: f64) -> Markup {
    let marks = (-(REACH as i32)..=REACH as i32).map(|s| (s, x(Stops::new(f64::from(s)))));
    html! {
        @for (stops, x) in marks {
            line class=(if stops == 0 { "rule" } else { "grid" }) x1=(x) x2=(x) y1=(ROW * 1.6) y2=(height - ROW * 0.5) {}
            text x=(x) y=(ROW) text-anchor="middle" {
                @if stops == 0 { "the rule" } @else { (format!("{stops:+}")) }
            }
        }
    }
}

fn row(habit: &Habit, y: &mut f64) -> Markup {
    let base = baseline(y);
    let middle = base - 5.0;
    let name = habit.name.as_deref().unwrap_or("(not known)");
    let Some(spread) = habit.rule else { return html! {} };
    html! {
        g {
            title { (told(name, habit.frames, &spread)) }
            text x=(LABEL - 12.0) y=(base) text-anchor="end" { (shortened(name)) }
            line .reach x1=(x(spread.low)) x2=(x(spread.high)) y1=(middle) y2=(middle) {}
            rect .half x=(x(spread.lower_quarter)) y=(middle - 6.0) height="12" rx="2"
                width=((x(spread.upper_quarter) - x(spread.lower_quarter)).max(2.0)) {}
            line .median x1=(x(spread.median)) x2=(x(spread.median)) y1=(middle - 8.0) y2=(middle + 8.0) {}
            text .few x=(LABEL + PLOT + 12.0) y=(base) { (habit.frames) }
        }
    }
}

fn told(name: &str, frames: usize, s: &Spread) -> String {
    format!(
        "{name}: {frames} frames; median {}, middle half {} to {}, all {} to {} stops, of {} with a light",
        signed(s.median),
        signed(s.lower_quarter),
        signed(s.upper_quarter),
        signed(s.low),
        signed(s.high),
        s.count
    )
}

/// What fits beside the plot.
fn shortened(name: &str) -> String {
    const FITS: usize = 28;
    if name.chars().count() <= FITS { name.to_owned() } else { name.chars().take(FITS - 1).chain(['…']).collect() }
}

#[cfg(test)]
mod tests {
    use super::super::habits::By;
    use super::super::{Query, samples::stored};
    use super::*;

    #[test]
    fn the_picture_is_xml_and_hostile_names_stay_text() {
        let mut all = stored().habits(&Query::default()).unwrap();
        all[0].groups[0].name = Some("<script>alert(1)</script>&\"'".into());
        let svg = habits_svg(&all);
        assert!(!svg.contains("<script>"));
        let mut reader = quick_xml::Reader::from_str(&svg);
        let mut rects = 0;
        loop {
            match reader.read_event().expect("well-formed") {
                quick_xml::events::Event::Eof => break,
                quick_xml::events::Event::Start(e) if e.name().as_ref() == "rect" => rects += 1,
                _ => {}
            }
        }
        let boxes: usize = all.iter().map(|h| h.groups.iter().filter(|g| g.rule.is_some()).count()).sum();
        assert_eq!(rects, boxes + 1);
        assert_eq!(all[0].by, By::Film);
    }

    #[test]
    fn what_is_far_off_stands_at_the_edge() {
        assert_eq!(
            (x(Stops::new(-9.0)), x(Stops::ZERO), x(Stops::new(4.0))),
            (LABEL, LABEL + PLOT / 2.0, LABEL + PLOT)
        );
    }
}
