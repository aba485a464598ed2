//! Dates as spreadsheets write them. `1/15` typed or opened in a spreadsheet
//! comes back as `15-Jan`, `01/15/2025` or `2025-01-15`; `5.6` as `05.06.2025`.

use jiff::civil::Date;

/// A date with what is known of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Day {
    pub year: Option<i16>,
    pub month: i8,
    pub day: Option<i8>,
}

/// The first letters of the months, in the languages that spreadsheets are
/// mostly run in (da de en es fr it nb nl pt sv). Common practice.
const MONTHS: [&[&str]; 12] = [
    &["jan", "ene", "gen", "janv"],
    &["feb", "fév", "fev"],
    &["mar", "mär", "mrz", "maa", "mrt"],
    &["apr", "avr", "abr"],
    &["may", "mai", "mag", "maj", "mei"],
    &["jun", "giu", "juin"],
    &["jul", "lug", "juil"],
    &["aug", "ago", "aoû", "aou"],
    &["sep", "set"],
    &["oct", "okt", "ott", "out"],
    &["nov"],
    &["dec", "dez", "dic", "déc", "des"],
];

/// Every date that a cell may stand for; none when it looks like no date.
pub(super) fn dates(cell: &str) -> Vec<Day> {
    let text = without_midnight(cell.trim());
    if let Some(day) = serial(text) {
        return vec![day];
    }
    let is_gap = |c: char| c.is_whitespace() || matches!(c, '-' | '/' | '.' | ',');
    let tokens: Vec<&str> = text.split(is_gap).filter(|t| !t.is_empty()).collect();
    let readings: Vec<Token> = match tokens.iter().map(|t| Token::read(t)).collect() {
        Some(readings) => readings,
        None => return Vec::new(),
    };
    let mut found = Vec::new();
    let mut add = |year: Option<&Token>, month: &Token, day: Option<&Token>| {
        let Some(month) = month.month() else { return };
        let (was_year, was_day) = (year.is_some(), day.is_some());
        let (year, day) = (year.and_then(Token::year), day.and_then(Token::day));
        if (was_year, was_day) != (year.is_some(), day.is_some()) {
            return;
        }
        let date = Day { year, month, day };
        // A leap year, so that a day without its year may be the 29th.
        let exists = Date::new(year.unwrap_or(2024), month, day.unwrap_or(1)).is_ok();
        if exists && !found.contains(&date) {
            found.push(date);
        }
    };
    match &readings[..] {
        [a, b] => {
            add(None, a, Some(b));
            add(None, b, Some(a));
            add(Some(b), a, None);
            add(Some(a), b, None);
        }
        [a, b, c] => {
            if matches!(a, Token::Number { digits: 4, .. }) {
                add(Some(a), b, Some(c));
            }
            add(Some(c), b, Some(a));
            add(Some(c), a, Some(b));
        }
        _ => {}
    }
    found
}

impl Day {
    /// Whether a spreadsheet may have made this date of `a/b`, `a.b` or `a-b`.
    pub fn may_stand_for(self, a: u32, b: u32) -> bool {
        self.pairs().any(|pair| pair == (a, b)) || {
            // A year keeps only its last two digits where it is shown short.
            let month_first = self.day.is_none_or(|d| d == 1) && self.month as u32 == a;
            month_first && b >= 100 && self.year.is_some_and(|y| y as u32 % 100 == b % 100)
        }
    }

    /// Two numbers that may have been typed to give this date.
    pub fn pairs(self) -> impl Iterator<Item = (u32, u32)> {
        let month = self.month as u32;
        let with_day = self.day.into_iter().flat_map(move |d| [(d as u32, month), (month, d as u32)]);
        let year = self.year.filter(|_| self.day.is_none_or(|d| d == 1)).map(|y| y as u32);
        with_day.chain(year.into_iter().flat_map(move |y| [(month, y), (month, y % 100)]))
    }

    /// The whole date, when it is one.
    pub fn date(self) -> Option<Date> {
        Date::new(self.year?, self.month, self.day?).ok()
    }
}

enum Token {
    Number { value: i16, digits: usize },
    Month(i8),
}

impl Token {
    fn read(text: &str) -> Option<Self> {
        if text.bytes().all(|b| b.is_ascii_digit()) {
            return Some(Self::Number { value: text.parse().ok()?, digits: text.len() });
        }
        let text = text.to_lowercase();
        let is_month =
            |names: &&[&str]| text.chars().all(char::is_alphabetic) && names.iter().any(|n| text.starts_with(n));
        Some(Self::Month(MONTHS.iter().position(is_month)? as i8 + 1))
    }

    fn month(&self) -> Option<i8> {
        match *self {
            Self::Month(m) => Some(m),
            Self::Number { value, digits } => (digits <= 2 && (1..=12).contains(&value)).then_some(value as i8),
        }
    }

    fn day(&self) -> Option<i8> {
        match *self {
            Self::Number { value, digits } => (digits <= 2 && (1..=31).contains(&value)).then_some(value as i8),
            Self::Month(_) => None,
        }
    }

    fn year(&self) -> Option<i16> {
        match *self {
            Self::Number { value, digits: 4 } => Some(value),
            // Spreadsheets take 30 to 99 for the last century. Common practice.
            Self::Number { value, digits: 2 } => Some(if value < 30 { 2000 + value } else { 1900 + value }),
            _ => None,
        }
    }
}

/// A date's number of days since 1899-12-30, as spreadsheets keep it.
fn serial(text: &str) -> Option<Day> {
    let days: i32 = text.parse().ok().filter(|n| (20_000..80_000).contains(n))?;
    let date = Date::new(1899, 12, 30).ok()?.checked_add(jiff::Span::new().days(days)).ok()?;
    Some(Day { year: Some(date.year()), month: date.month(), day: Some(date.day()) })
}

fn without_midnight(text: &str) -> &str {
    for tail in [" 00:00:00", " 00:00", " 0:00", "T00:00:00", " 12:00:00 AM", " 12:00 AM"] {
        if let Some(date) = text.strip_suffix(tail) {
            return date;
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    fn may(cell: &str, a: u32, b: u32) -> bool {
        dates(cell).into_iter().any(|d| d.may_stand_for(a, b))
    }

    #[test]
    fn mangled_settings_are_known_again() {
        for (cell, a, b) in [
            ("15-Jan", 1, 15),
            ("01/15/2025", 1, 15),
            ("15.01.25", 1, 15),
            ("2025-01-15", 1, 15),
            ("2026-01-15 00:00:00", 1, 15),
            ("Jan-60", 1, 60),
            ("Jan 60", 1, 60),
            ("1960-01-01", 1, 60),
            ("01.01.2000", 1, 2000),
            ("Jan-25", 1, 125),
            ("01-Jan-25", 1, 125),
            ("05-Jun", 5, 6),
            ("5. Juni", 5, 6),
            ("6-May", 5, 6),
            ("45813", 5, 6),
            ("05/06/2025", 5, 6),
            ("1-févr.", 1, 2),
        ] {
            assert!(may(cell, a, b), "{cell} {a} {b}");
        }
        for (cell, a, b) in [("5.6", 8, 11), ("16", 1, 6), ("", 1, 1), ("31-Feb", 3, 31), ("15-Jan", 1, 16)] {
            assert!(!may(cell, a, b), "{cell} {a} {b}");
        }
        assert!(dates("1/125").is_empty() && dates("5").is_empty() && dates("slipway").is_empty());
    }
}
