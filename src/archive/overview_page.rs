//! The years at a glance, as a page: rolls on a time line, films by year, places as dots. All of
//! it is drawn from the archive; behind dots that lie far apart stand the outlines of land.

use std::collections::{BTreeMap, BTreeSet};

use jiff::civil::Date;
use maud::{Markup, html};

use crate::output::page::{clean, foreign, page};
use crate::output::words;

use super::catalogue::RollEntry;
use super::clock;
use super::land::{View, outline};
use super::overview::{Dot, Overview};

const WIDTH: f64 = 960.0;
/// A year's line.
const ROW: f64 = 26.0;
const LEFT: f64 = 56.0;
const TOP: f64 = 22.0;
/// Height of the map at most.
const TALL: f64 = 560.0;
const EDGE: f64 = 36.0;
const MONTHS: [&str; 12] = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
/// Land is drawn where the places lie so many degrees apart: its outlines are some 25 km off, and would put a harbour
/// into the sea on anything smaller.
const LAND_FROM: f64 = 15.0;
/// A degree of latitude, km: 2πR / 360 on the sphere of [`super::geo`].
const DEGREE_KM: f64 = 111.195;

/// The page, whole.
pub fn overview_html(overview: &Overview) -> Vec<u8> {
    let frames: usize = overview.rolls.iter().map(|r| r.frames).sum();
    let trips: BTreeSet<&str> = overview.rolls.iter().map(|r| r.trip.as_str()).collect();
    let main = html! {
        header {
            h1 { "The archive" }
            p.facts {
                span { (words::counted(trips.len(), "trip")) }
                span { (words::counted(overview.rolls.len(), "roll")) }
                span { (words::counted(frames, "frame")) }
            }
        }
        main {
            (time_line(&overview.rolls))
            (films(overview))
            (map(&overview.places))
        }
    };
    page("The archive", &main)
}

/// A line a year, a mark a roll, from its first day to its last.
fn time_line(rolls: &[RollEntry]) -> Markup {
    let dated: Vec<(&RollEntry, Date, Date)> = rolls.iter().filter_map(|r| Some((r, day(r, 0)?, day(r, 1)?))).collect();
    let undated = rolls.len() - dated.len();
    let years: BTreeSet<i16> = dated.iter().flat_map(|(_, a, b)| a.year()..=b.year()).collect();
    let rows: BTreeMap<i16, f64> = years.iter().rev().zip(0..).map(|(y, i)| (*y, TOP + ROW * f64::from(i))).collect();
    let height = TOP + ROW * rows.len() as f64 + 6.0;
    // A leap year's line is as long as another's.
    let x = |d: Date| LEFT + (WIDTH - LEFT) * (f64::from(d.day_of_year()) - 1.0) / 366.0;
    let bar = |roll: &RollEntry, from: Date, to: Date, y: f64| {
        let named = format!(
            "Roll {}, {}: {}, {}{}",
            roll.roll,
            roll.trip,
            words::counted(roll.frames, "frame"),
            span(roll),
            roll.film.as_ref().map(|f| format!(", {f}")).unwrap_or_default()
        );
        html! {
            rect.roll x=(n(x(from))) y=(n(y + 4.0)) width=(n((x(to) - x(from)).max(0.0) + 4.0)) height=(n(ROW - 8.0)) rx="2"
                fill="currentColor" fill-opacity="0.45" { title { (clean(&named)) } }
        }
    };
    html! {
        section id="years" aria-labelledby="years-title" {
            h2 id="years-title" { "Years" }
            @if rows.is_empty() { p { "No roll's days are known." } } @else {
                svg viewBox=(format!("0 0 {WIDTH} {height}")) role="img" aria-label="Rolls by day, a line a year" font-size="12" fill="currentColor" {
                    @for (i, month) in MONTHS.iter().enumerate() {
                        @let at = LEFT + (WIDTH - LEFT) * i as f64 / 12.0;
                        line x1=(n(at)) x2=(n(at)) y1=(TOP - 6.0) y2=(n(height)) stroke="currentColor" stroke-opacity="0.15" {}
                        text x=(n(at + 3.0)) y="12" { (month) }
                    }
                    @for (year, y) in &rows { text x="8" y=(n(y + ROW * 0.65)) { (year) } }
                    @for (roll, from, to) in &dated {
                        @for (year, y) in rows.range(from.year()..=to.year()) {
                            (bar(roll, (*from).max(edge(*year, 1, 1)), (*to).min(edge(*year, 12, 31)), *y))
                        }
                    }
                }
            }
            @if undated > 0 { p.measure { "No day is known of " (words::counted(undated, "roll")) "." } }
        }
    }
}

fn edge(year: i16, month: i8, day: i8) -> Date {
    Date::new(year, month, day).unwrap_or(Date::MAX)
}

/// The roll's first day, or its last.
fn day(roll: &RollEntry, end: usize) -> Option<Date> {
    let (first, last) = roll.days.as_ref()?;
    [first, last][end].parse().ok()
}

fn span(roll: &RollEntry) -> String {
    roll.first.and_then(clock::local).map_or_else(String::new, |d| d.date().strftime("%-d %B %Y").to_string())
}

/// Films down, years across, frames in the cells.
fn films(overview: &Overview) -> Markup {
    let years: BTreeSet<Option<i64>> = overview.films.iter().map(|(_, year, _)| *year).collect();
    // The year that is not known stands last.
    let years: Vec<Option<i64>> =
        years.iter().copied().filter(Option::is_some).chain(years.get(&None).copied()).collect();
    let mut films: BTreeMap<&Option<String>, BTreeMap<Option<i64>, u32>> = BTreeMap::new();
    for (film, year, frames) in &overview.films {
        *films.entry(film).or_default().entry(*year).or_default() += frames;
    }
    let mut films: Vec<_> = films.into_iter().map(|(film, by)| (by.values().sum::<u32>(), film, by)).collect();
    films.sort_by(|a, b| b.0.cmp(&a.0).then_with(|| a.1.cmp(b.1)));
    html! {
        section id="films" aria-labelledby="films-title" {
            h2 id="films-title" { "Films" }
            table.checks {
                thead { tr {
                    th scope="col" { "Film" }
                    @for year in &years { th scope="col" { @match year { Some(y) => (y), None => "no date" } } }
                    th scope="col" { "all" }
                } }
                tbody { @for (all, film, by) in &films { tr {
                    th scope="row" { @match film { Some(film) => (foreign(film)), None => "not known" } }
                    @for year in &years { td { @if let Some(frames) = by.get(year) { (frames) } } }
                    td { (all) }
                } } }
            }
        }
    }
}

/// Dots where frames were taken, larger where there were more. Degrees of longitude are as wide as
/// they are in the middle of what is shown, so that shapes hold there.
fn map(places: &[Dot]) -> Markup {
    if places.is_empty() {
        return html! {};
    }
    let of = |get: fn(&Dot) -> f64| {
        let all = || places.iter().map(get);
        (all().fold(f64::MAX, f64::min), all().fold(f64::MIN, f64::max))
    };
    let ((south, north), (west, east)) = (of(|d| d.lat), of(|d| d.lon));
    let squeeze = ((south + north) / 2.0).to_radians().cos().max(0.05);
    // A single place is shown with a quarter of a degree around it.
    let (wide, high) = (((east - west) * squeeze).max(0.25), (north - south).max(0.25));
    let scale = ((WIDTH - 2.0 * EDGE) / wide).min((TALL - 2.0 * EDGE) / high);
    let height = high * scale + 2.0 * EDGE;
    let x = |lon: f64| WIDTH / 2.0 + (lon - (west + east) / 2.0) * squeeze * scale;
    let y = |lat: f64| height / 2.0 - (lat - (south + north) / 2.0) * scale;
    // What lies in the picture, its edges too.
    let (half_wide, half_high) = (WIDTH / 2.0 / scale / squeeze, height / 2.0 / scale);
    let middle = ((south + north) / 2.0, (west + east) / 2.0);
    let view = View {
        south: middle.0 - half_high,
        north: middle.0 + half_high,
        west: middle.1 - half_wide,
        east: middle.1 + half_wide,
    };
    let land = if wide.max(high) >= LAND_FROM { outline(view, x, y) } else { String::new() };
    let bar = ruler_km(wide / 4.0 * DEGREE_KM);
    let length = bar / DEGREE_KM * scale;
    let radius = |frames: u32| (2.0 + f64::from(frames).sqrt() * 0.5).min(14.0);
    let named = |d: &Dot| {
        let name = d.name.as_ref().map(|n| format!("{n}, ")).unwrap_or_default();
        format!("{name}{:.2}, {:.2}: {}", d.lat, d.lon, words::counted(d.frames as usize, "frame"))
    };
    html! {
        section id="places" aria-labelledby="places-title" {
            h2 id="places-title" { "Places" }
            svg viewBox=(format!("0 0 {WIDTH} {}", n(height))) role="img" aria-label="Places that frames were taken at" font-size="12" fill="currentColor" {
                @if !land.is_empty() { path.land d=(land) fill-opacity="0.1" fill-rule="evenodd" {} }
                @for dot in places {
                    circle cx=(n(x(dot.lon))) cy=(n(y(dot.lat))) r=(n(radius(dot.frames))) fill-opacity="0.45" { title { (clean(&named(dot))) } }
                }
                line x1="12" x2=(n(12.0 + length)) y1=(n(height - 12.0)) y2=(n(height - 12.0)) stroke="currentColor" stroke-width="2" {}
                text x="12" y=(n(height - 18.0)) { (bar) " km" }
                text x=(WIDTH - 12.0) y=(n(height - 12.0)) text-anchor="end" { (degrees(north, 'N', 'S')) " to " (degrees(south, 'N', 'S')) ", " (degrees(west, 'E', 'W')) " to " (degrees(east, 'E', 'W')) ", north is up" }
            }
        }
    }
}

/// A round length of at most `km`: 1, 2 or 5 times a power of ten.
fn ruler_km(km: f64) -> f64 {
    let ten = 10f64.powf(km.log10().floor());
    [5.0, 2.0, 1.0].into_iter().map(|n| n * ten).find(|n| *n <= km).unwrap_or(ten)
}

fn degrees(at: f64, plus: char, minus: char) -> String {
    format!("{:.1}° {}", at.abs(), if at < 0.0 { minus } else { plus })
}

/// A coordinate to a tenth.
fn n(x: f64) -> String {
    format!("{:.1}", x)
}

#[cfg(test)]
mod tests {
    use super::super::samples::{harbour, key, stored};
    use super::*;

    #[test]
    fn years_films_and_places_are_drawn_and_foreign_text_stays_text() {
        let mut archive = stored();
        let mut later = harbour();
        later.name = "<script>alert(1)</script>".into();
        for frame in later.rolls.iter_mut().flat_map(|r| &mut r.frames) {
            if let Some(taken) = &mut frame.taken {
                taken.local = taken.local.with().year(2031).build().unwrap();
            }
            if let Some(place) = &mut frame.place {
                place.value = "</title><b>".into();
            }
            frame.position = frame.position.and_then(|p| crate::facts::Position::new(p.lat + 1.0, p.lon + 1.0));
        }
        archive.store(&later, &key("later")).unwrap();
        let html = String::from_utf8(overview_html(&archive.overview().unwrap())).unwrap();
        assert!(html.contains(">2025<") && html.contains(">2031<"), "{html}");
        assert_eq!(html.matches("<rect class=\"roll\"").count(), 2, "a mark a dated roll");
        assert!(html.contains("No day is known of 2 rolls."), "no count of the rolls without a day");
        assert_eq!(html.matches("<circle").count(), 2);
        assert!(html.contains("54.10, -9.20: 1 frame") && html.contains("Merrow Pan 100"));
        assert!(!html.contains("<script>alert") && !html.contains("</title><b>"));
    }

    #[test]
    fn dots_keep_their_shape_and_the_ruler_its_length() {
        assert_eq!([ruler_km(27.0), ruler_km(9.9), ruler_km(5.0), ruler_km(0.7)], [20.0, 5.0, 5.0, 0.5]);
        let far = |a, b| {
            map(&[Dot { lat: 40.0, lon: a, frames: 1, name: None }, Dot { lat: 50.0, lon: b, frames: 1, name: None }])
        };
        assert!(far(-9.0, 20.0).into_string().contains("<path class=\"land\""), "a journey has land behind it");
        assert!(
            !map(&[Dot { lat: 40.0, lon: -9.0, frames: 1, name: None }]).into_string().contains("land\""),
            "a harbour has not"
        );
        // At 60° north a degree of longitude is half as wide as one of latitude (cos 60° = 1/2).
        let dot = |lat, lon| Dot { lat, lon, frames: 1, name: None };
        let html = map(&[dot(59.0, 10.0), dot(61.0, 10.0), dot(60.0, 8.0), dot(60.0, 12.0)]).into_string();
        let at = |name: &str| -> Vec<f64> {
            html.split(&format!(" {name}=\"")).skip(1).map(|t| t.split('"').next().unwrap().parse().unwrap()).collect()
        };
        let (x, y) = (at("cx"), at("cy"));
        assert!(((x[3] - x[2]) / (y[0] - y[1]) - 1.0).abs() < 0.01, "{x:?} {y:?}");
        assert!(y[1] < y[0], "north is up");
    }
}
