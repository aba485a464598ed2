//! Places as ISO 6709 writes them: `+54.1234-002.5000+12.3/`.
//!
//! ```text
//! place = latitude longitude [ height ] [ "CRS" name ] "/"
//! latitude  = sign ( DD[.D…] | DDMM[.M…] | DDMMSS[.S…] )
//! longitude = sign ( DDD[.D…] | DDDMM[.M…] | DDDMMSS[.S…] )
//! ```

use crate::facts::Position;

/// Reads a place; `None` when it is not one.
pub(super) fn position(text: &str) -> Option<Position> {
    let starts: Vec<usize> = text.char_indices().filter(|(_, c)| matches!(c, '+' | '-')).map(|(i, _)| i).collect();
    let (lat, lon) = (*starts.first()?, *starts.get(1)?);
    let numeric = |c: char| c.is_ascii_digit() || c == '.';
    let end = text[lon + 1..].find(|c| !numeric(c)).map_or(text.len(), |i| lon + 1 + i);
    Position::new(degrees(&text[lat..lon], 2)?, degrees(&text[lon..end], 3)?)
}

/// A sign, `width` digits of degrees, then two each of minutes and seconds, the last with a fraction.
fn degrees(text: &str, width: usize) -> Option<f64> {
    let sign = if text.starts_with('-') { -1.0 } else { 1.0 };
    let number = text.get(1..)?;
    if number.is_empty() || !number.chars().all(|c| c.is_ascii_digit() || c == '.') {
        return None;
    }
    let whole = number.find('.').unwrap_or(number.len());
    let part = |from: usize, to: usize| number.get(from..to)?.parse::<f64>().ok();
    let value = match whole.checked_sub(width)? {
        0 => part(0, number.len())?,
        2 => part(0, width)? + part(width, number.len())? / 60.0,
        4 => part(0, width)? + part(width, width + 2)? / 60.0 + part(width + 2, number.len())? / 3600.0,
        _ => return None,
    };
    Some(sign * value)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The examples in annex H of the standard, from memory, all of one place.
    #[test]
    fn degrees_minutes_and_seconds() {
        for text in
            ["+40.20361-075.00417/", "+4012.22-07500.25/", "+401213-0750015/", "+40.20361-075.00417+2.79CRSWGS_84/"]
        {
            let p = position(text).unwrap_or_else(|| panic!("{text}"));
            assert!((p.lat - 40.203_61).abs() < 1e-4 && (p.lon + 75.004_17).abs() < 1e-4, "{text}: {p:?}");
        }
        assert_eq!(position("+00-025/"), Position::new(0.0, -25.0));
    }

    #[test]
    fn not_a_place() {
        for text in ["", "+", "+91.0+000.0/", "54.1,-2.5", "+5.1-2.5", "+é4-0é5/", "+40.2/"] {
            assert_eq!(position(text), None, "{text}");
        }
    }
}
