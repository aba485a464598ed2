//! Numbers as people and spreadsheets write them: `5,6`, `5.60`, `1.250,5`,
//! `1E+3`, `−2/3`, `1 1/3`, `⅔`.

/// Every number that a cell may stand for, the likelier first. `1,000` may be
/// a thousand or one.
pub(super) fn numbers(cell: &str) -> Vec<f64> {
    let text: String = cell.trim().replace(['\u{2212}', '\u{2013}'], "-").replace(['\u{a0}', '\u{202f}'], " ");
    let plain = |t: &str| -> Option<f64> {
        let digits = t.trim_start_matches(['+', '-']);
        let is_number = digits.starts_with(|c: char| c.is_ascii_digit() || c == '.');
        t.parse::<f64>().ok().filter(|x| is_number && x.is_finite())
    };
    let mut found: Vec<f64> = Vec::new();
    let mut add = |n: Option<f64>| {
        if let Some(n) = n.filter(|n| !found.contains(n)) {
            found.push(n);
        }
    };
    add(plain(&text));
    let (dots, commas) = (text.matches('.').count(), text.matches(',').count());
    if commas == 1 && dots == 0 {
        add(plain(&text.replace(',', ".")));
    }
    for (group, point) in [(',', '.'), ('.', ','), (' ', '.'), (' ', ','), ('\'', '.')] {
        if let Some(joined) = ungrouped(&text, group) {
            add(plain(&joined.replace(point, ".")));
        }
    }
    add(with_fraction(&text));
    found
}

/// The text without the marks between its thousands, when they stand right.
fn ungrouped(text: &str, group: char) -> Option<String> {
    let (sign, digits) = match text.strip_prefix(['+', '-']) {
        Some(rest) => (&text[..1], rest),
        None => ("", text),
    };
    let point = digits.rfind(|c: char| matches!(c, '.' | ',') && c != group).unwrap_or(digits.len());
    let mut parts = digits[..point].split(group);
    let first = parts.next().filter(|p| (1..=3).contains(&p.len()))?;
    let rest: Vec<&str> = parts.collect();
    let right = !rest.is_empty() && rest.iter().all(|p| p.len() == 3 && p.bytes().all(|b| b.is_ascii_digit()));
    right.then(|| format!("{sign}{first}{}{}", rest.concat(), &digits[point..]))
}

/// `2/3`, `-1 1/3`, `+1⅓`.
fn with_fraction(text: &str) -> Option<f64> {
    let text = [("⅓", " 1/3"), ("⅔", " 2/3"), ("½", " 1/2"), ("¼", " 1/4"), ("¾", " 3/4")]
        .iter()
        .fold(text.to_owned(), |t, (sign, plain)| t.replace(sign, plain));
    let (negative, size) = match text.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, text.strip_prefix('+').unwrap_or(&text)),
    };
    let parts: Vec<&str> = size.split_whitespace().collect();
    let (whole, fraction) = match parts[..] {
        [fraction] => (0, fraction),
        [whole, fraction] => (whole.parse::<u16>().ok()?, fraction),
        _ => return None,
    };
    let (over, under) = fraction.split_once('/')?;
    let (over, under) = (over.parse::<u16>().ok()?, under.parse::<u16>().ok().filter(|n| *n > 0)?);
    let size = f64::from(whole) + f64::from(over) / f64::from(under);
    Some(if negative { -size } else { size })
}

/// Whether a spreadsheet may show `a` as `b`: the same but for the last of many digits.
pub(super) fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-6 * a.abs().max(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_in_every_dress() {
        for (cell, n) in [
            ("5.6", 5.6),
            ("5,6", 5.6),
            ("5.60", 5.6),
            (" 80 ", 80.0),
            ("1E+3", 1000.0),
            ("1,234.5", 1234.5),
            ("1.234,5", 1234.5),
            ("\u{2212}0,5", -0.5),
            ("+1", 1.0),
            ("2/3", 2.0 / 3.0),
            ("-1 1/3", -4.0 / 3.0),
            ("+1⅓", 4.0 / 3.0),
            ("1,000", 1000.0),
            ("1,000", 1.0),
            ("12 800", 12800.0),
        ] {
            assert!(numbers(cell).iter().any(|x| same(*x, n)), "{cell}: {:?}", numbers(cell));
        }
        for cell in ["", "-", "five", "inf", "NaN", "1/0", "1..2", "0x10", "15-Jan", "1,2,3"] {
            assert!(numbers(cell).is_empty(), "{cell}: {:?}", numbers(cell));
        }
    }
}
