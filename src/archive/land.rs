//! Outlines of land, to stand behind dots on a map. Natural Earth, 1:110 million, which is in the public domain, by
//! way of the npm package `world-atlas`; `scripts/make-land` writes them anew.

use std::fmt::Write as _;

/// A ring a line, in tenths of a degree, each point as the step from the one before.
const LAND: &str = include_str!("land.txt");

/// What is shown of the earth, degrees.
#[derive(Debug, Clone, Copy)]
pub struct View {
    pub south: f64,
    pub north: f64,
    pub west: f64,
    pub east: f64,
}

/// Rings of land that reach into a view, as the outline of an SVG path. `x` and `y` place a longitude and a latitude.
pub fn outline(view: View, x: impl Fn(f64) -> f64, y: impl Fn(f64) -> f64) -> String {
    let mut path = String::new();
    for ring in LAND.lines().map(ring) {
        let of = |get: fn(&(f64, f64)) -> f64| {
            let all = || ring.iter().map(get);
            (all().fold(f64::MAX, f64::min), all().fold(f64::MIN, f64::max))
        };
        let ((west, east), (south, north)) = (of(|p| p.0), of(|p| p.1));
        if east < view.west || west > view.east || north < view.south || south > view.north {
            continue;
        }
        for (i, (lon, lat)) in ring.iter().enumerate() {
            let _ = write!(path, "{}{:.1} {:.1}", if i == 0 { "M" } else { "L" }, x(*lon), y(*lat));
        }
        path.push('Z');
    }
    path
}

/// Longitudes and latitudes of a line.
fn ring(line: &str) -> Vec<(f64, f64)> {
    let steps = line.split(' ').filter_map(|step| {
        let (x, y) = step.split_once(',')?;
        Some((x.parse::<i32>().ok()?, y.parse::<i32>().ok()?))
    });
    let mut at = (0, 0);
    steps
        .map(|(x, y)| {
            at = (at.0 + x, at.1 + y);
            (f64::from(at.0) / 10.0, f64::from(at.1) / 10.0)
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whether a place lies on land: the outline is crossed an odd number of times on the way east.
    fn on_land(lat: f64, lon: f64) -> bool {
        let crossed = LAND.lines().map(ring).map(|ring| {
            let pairs = ring.iter().zip(ring.iter().cycle().skip(1));
            pairs
                .filter(|((ax, ay), (bx, by))| {
                    (*ay > lat) != (*by > lat) && lon < (bx - ax) * (lat - ay) / (by - ay) + ax
                })
                .count()
        });
        crossed.sum::<usize>() % 2 == 1
    }

    #[test]
    fn continents_are_land_and_oceans_are_not() {
        // From memory: the Sahara, Siberia, Brazil, Australia; the middle of three oceans and of the Mediterranean.
        for (lat, lon) in [(23.0, 10.0), (60.0, 100.0), (-10.0, -55.0), (-25.0, 135.0)] {
            assert!(on_land(lat, lon), "{lat} {lon}");
        }
        for (lat, lon) in [(30.0, -45.0), (0.0, -150.0), (-30.0, 80.0), (35.0, 18.5)] {
            assert!(!on_land(lat, lon), "{lat} {lon}");
        }
    }

    #[test]
    fn only_what_reaches_into_the_view_is_drawn() {
        let ocean = View { south: -61.0, north: -57.0, west: -130.0, east: -120.0 };
        assert_eq!(outline(ocean, |n| n, |n| n), "");
        let europe = View { south: 35.0, north: 60.0, west: -10.0, east: 30.0 };
        let drawn = outline(europe, |n| n, |n| -n);
        assert!(drawn.starts_with('M') && drawn.ends_with('Z') && drawn.matches('M').count() > 3);
    }
}
