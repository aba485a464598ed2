//! How numbers are said: the grammar's number words, the other way round.

use std::collections::BTreeMap;

/// Number words by value.
#[derive(Debug, Clone, Default)]
pub struct NumberWordings {
    cardinal: BTreeMap<u32, String>,
    ordinal: BTreeMap<u32, String>,
    scale: BTreeMap<u32, String>,
    ordinal_scale: BTreeMap<u32, String>,
    and: String,
    article: String,
    point: String,
}

impl NumberWordings {
    /// From the text of `numbers.txt`; the first word of each value is used.
    pub fn from_file(text: &str) -> Self {
        let mut spoken = Self::default();
        for line in text.lines().map(str::trim).filter(|l| !l.starts_with('#')) {
            let Some((head, rest)) = line.split_once(':') else { continue };
            let first = rest.split_whitespace().next().unwrap_or_default().to_owned();
            let table = match head {
                "unit" | "tens" => &mut spoken.cardinal,
                "ordinal" => &mut spoken.ordinal,
                "scale" => &mut spoken.scale,
                "ordinal-scale" => &mut spoken.ordinal_scale,
                "and" => {
                    spoken.and = first;
                    continue;
                }
                "article" => {
                    spoken.article = first;
                    continue;
                }
                "point" => {
                    spoken.point = first;
                    continue;
                }
                _ => continue,
            };
            for item in rest.split_whitespace() {
                if let Some((word, value)) = item.split_once('=')
                    && let Ok(value) = value.parse()
                {
                    table.entry(value).or_insert_with(|| word.to_owned());
                }
            }
        }
        spoken
    }

    /// A whole number as a count: 125 is "a hundred and twenty five".
    pub fn cardinal(&self, n: u32) -> String {
        self.number(n, false, &self.article)
    }

    /// A part of a second: 125 is "hundred and twenty fifth" (without its article).
    pub fn ordinal(&self, n: u32) -> String {
        let said = self.number(n, true, "");
        said.trim_start().to_owned()
    }

    /// A part of a second with its article: 60 is "a sixtieth".
    pub fn part(&self, n: u32) -> String {
        format!("{} {}", self.article, self.ordinal(n))
    }

    fn number(&self, n: u32, ordinal: bool, one: &str) -> String {
        let below = |n: u32| -> String {
            let words = if ordinal { &self.ordinal } else { &self.cardinal };
            if let Some(w) = words.get(&n) {
                return w.clone();
            }
            let (tens, unit) = (n / 10 * 10, n % 10);
            let tens = self.cardinal.get(&tens).cloned().unwrap_or_default();
            match words.get(&unit) {
                Some(u) => format!("{tens} {u}"),
                None => tens,
            }
        };
        let scaled = |n: u32, scale: u32, last: bool| -> String {
            let words = if ordinal && last { &self.ordinal_scale } else { &self.scale };
            let word = words.get(&scale).cloned().unwrap_or_default();
            let times = n / scale;
            if times == 1 {
                format!("{one} {word}").trim().to_owned()
            } else {
                format!("{} {word}", self.number(times, false, one))
            }
        };
        match n {
            0..100 => below(n),
            100..1000 if n.is_multiple_of(100) => scaled(n, 100, true),
            100..1000 => format!("{} {} {}", scaled(n, 100, false), self.and, below(n % 100)),
            _ if n.is_multiple_of(1000) => scaled(n, 1000, true),
            // 1250 is said "twelve fifty".
            1000..10_000 if n % 100 >= 10 => format!("{} {}", self.number(n / 100, false, one), below(n % 100)),
            _ => format!("{} {}", scaled(n, 1000, false), self.number(n % 1000, ordinal, one)),
        }
    }

    /// Parts said one after the other: 125 is "one twenty five". None below 101.
    pub fn joined(&self, n: u32, ordinal: bool) -> Option<String> {
        let (head, tail) = (n / 100, n % 100);
        if !(1..100).contains(&head) || tail < 10 {
            return None;
        }
        Some(format!("{} {}", self.number(head, false, ""), self.number(tail, ordinal, "")))
    }

    /// A number with one decimal: 5.6 is "five point six".
    pub fn decimal(&self, x: f64) -> String {
        let tenths = (x * 10.0).round() as u32;
        if tenths.is_multiple_of(10) {
            return self.number(tenths / 10, false, &self.article);
        }
        format!("{} {} {}", self.number(tenths / 10, false, ""), self.point, self.number(tenths % 10, false, ""))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_said() {
        let s = NumberWordings::from_file(include_str!("../../../grammar/en/numbers.txt"));
        assert_eq!(s.cardinal(125), "a hundred and twenty five");
        assert_eq!(s.ordinal(125), "hundred and twenty fifth");
        assert_eq!(s.ordinal(60), "sixtieth");
        assert_eq!(s.ordinal(500), "five hundredth");
        assert_eq!(s.ordinal(1000), "thousandth");
        assert_eq!(s.joined(125, true).unwrap(), "one twenty fifth");
        assert_eq!(s.joined(250, false).unwrap(), "two fifty");
        assert_eq!(s.decimal(5.6), "five point six");
        assert_eq!(s.decimal(11.0), "eleven");
    }
}
