//! Neutral density in the trade's notations: by density, by factor, by stops, by a maker's number.

use crate::exposure::Stops;

/// Density to the stop: log10 2, as the tables round it.
/// Source: `tests/reference/filter-factors.csv`, "density 0.3 = 0.997 stops exactly".
const DENSITY_A_STOP: f64 = 0.3;
/// Densities above this are no filter's; a figure above it is a factor.
const DENSEST: f64 = 6.0;
/// Factors are rounded on the ring: 1000 is 10 stops less 0.03. Stops.
const ROUNDED: f64 = 0.05;
/// Numbers of the kind 101, 102: hundreds and stops (`filter-factors.csv`, "ND 101", "ND 102").
const MAKERS: std::ops::RangeInclusive<u32> = 101..=113;
/// What a name of a neutral density filter begins or ends with.
const KINDS: [&str; 2] = ["neutral density", "nd"];

/// What a name in one of the notations says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Density {
    /// So many stops.
    Stops(Stops),
    /// A figure that may be a factor or a density: `ND 3`. The stops, if a factor of that kind is made.
    Ambiguous(Option<Stops>),
    /// Neutral density, and no figure.
    Plain,
}

impl Density {
    /// What a filter's name says, if it names neutral density: `ND8`, `ND 0.9`, `0.9 ND`, `ND x8`, `3-stop ND`, `ND 102`.
    pub fn of(name: &str) -> Option<Self> {
        let name = name.to_lowercase().replace(['-', '_'], " ");
        let words: Vec<&str> = name.split_whitespace().collect();
        let name = words.join(" ");
        let (kind, at) = KINDS.iter().find_map(|k| Some((*k, place(&name, k)?)))?;
        let rest = format!("{} {}", &name[..at], &name[at + kind.len()..]);
        let rest: Vec<&str> = rest.split_whitespace().filter(|w| *w != "filter").collect();
        match rest[..] {
            [] => Some(Self::Plain),
            [n] => figure(n),
            [n, "stop" | "stops"] => stops(n.parse().ok()?),
            ["x", n] | [n, "x" | "times"] => factor(n.parse().ok()?),
            _ => None,
        }
    }
}

/// Where a word stands by itself, or before a figure as in `ND8`.
fn place(name: &str, word: &str) -> Option<usize> {
    let alone = |c: Option<char>| c.is_none_or(|c| !c.is_alphabetic() || c == 'x');
    name.match_indices(word)
        .map(|(i, _)| i)
        .find(|i| alone(name[..*i].chars().next_back()) && alone(name[i + word.len()..].chars().next()))
}

fn figure(text: &str) -> Option<Density> {
    let times = text.strip_prefix('x').or_else(|| text.strip_suffix('x'));
    if let Some(n) = times {
        return factor(n.parse().ok()?);
    }
    let n: f64 = text.parse().ok()?;
    if text.contains('.') {
        return (n > 0.0 && n <= DENSEST).then(|| Density::Stops(Stops::new(thirds(n / DENSITY_A_STOP))));
    }
    if MAKERS.contains(&(n as u32)) {
        return stops(n - 100.0);
    }
    // "ND2" and "ND3" are a factor to one and a density to another (trade tables differ).
    if n <= DENSEST && n != 4.0 {
        return Some(Density::Ambiguous(match factor(n)? {
            Density::Stops(s) if n == 2.0 => Some(s),
            _ => None,
        }));
    }
    factor(n)
}

fn stops(n: f64) -> Option<Density> {
    (n > 0.0 && n <= 30.0).then(|| Density::Stops(Stops::new(n)))
}

fn factor(n: f64) -> Option<Density> {
    (n > 1.0).then(|| Density::Stops(Stops::new(thirds(n.log2()))))
}

/// The third of a stop nearest to it, where one is near.
fn thirds(stops: f64) -> f64 {
    let near = (stops * 3.0).round() / 3.0;
    if (near - stops).abs() <= ROUNDED { near } else { stops }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_notation_of_the_reference_table_is_read() {
        // tests/reference/filter-factors.csv: kind, designation, colour, factor and stops in daylight.
        let table = include_str!("../../tests/reference/filter-factors.csv");
        let mut reader = csv::Reader::from_reader(table.as_bytes());
        let mut seen = 0;
        for row in reader.records().map(Result::unwrap).filter(|r| &r[0] == "neutral density") {
            let (factor, stops): (f64, f64) = (row[3].parse().unwrap(), row[4].parse().unwrap());
            for name in
                [row[1].to_owned(), format!("ND x{factor}"), format!("{stops} stop ND"), format!("{factor}x nd")]
            {
                let found = match Density::of(&name) {
                    Some(Density::Stops(s) | Density::Ambiguous(Some(s))) => s.get(),
                    other => panic!("{name}: {other:?}"),
                };
                assert!((found - stops).abs() < 0.05, "{name}: {found}, not {stops}");
                seen += 1;
            }
        }
        assert!(seen >= 36, "{seen} notations");
    }

    #[test]
    fn what_may_be_two_things_is_not_guessed() {
        assert_eq!(Density::of("ND 3"), Some(Density::Ambiguous(None)));
        assert_eq!(Density::of("ND2"), Some(Density::Ambiguous(Some(Stops::new(1.0)))));
        assert_eq!(Density::of("grey ND"), None);
        assert_eq!(Density::of("ND"), Some(Density::Plain));
        for other in ["orange", "sand", "bandage 3", "nd of the pier"] {
            assert_eq!(Density::of(other), None, "{other}");
        }
        for (name, stops) in [("3-stop ND", 3.0), ("ND 1000", 10.0), ("0.9 nd", 3.0), ("neutral density x8", 3.0)] {
            assert_eq!(Density::of(name), Some(Density::Stops(Stops::new(stops))), "{name}");
        }
    }
}
