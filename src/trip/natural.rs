//! The order in which a person would list file names.

use std::cmp::Ordering;

/// Compares with runs of digits taken as numbers and without case:
/// `a2` before `a10`. Names that differ only in case or leading zeros are
/// settled by their plain text, so that the order is total.
pub fn natural_cmp(a: &str, b: &str) -> Ordering {
    let (mut x, mut y) = (a.chars().peekable(), b.chars().peekable());
    loop {
        match (x.peek().copied(), y.peek().copied()) {
            (None, None) => return a.cmp(b),
            (None, Some(_)) => return Ordering::Less,
            (Some(_), None) => return Ordering::Greater,
            (Some(c), Some(d)) if c.is_ascii_digit() && d.is_ascii_digit() => {
                let (m, n) = (digits(&mut x), digits(&mut y));
                let order = m.len().cmp(&n.len()).then_with(|| m.cmp(&n));
                if order.is_ne() {
                    return order;
                }
            }
            (Some(c), Some(d)) => {
                let order = c.to_lowercase().cmp(d.to_lowercase());
                if order.is_ne() {
                    return order;
                }
                x.next();
                y.next();
            }
        }
    }
}

/// The run of digits ahead, without leading zeros.
fn digits(chars: &mut std::iter::Peekable<std::str::Chars<'_>>) -> String {
    let mut run = String::new();
    while let Some(c) = chars.next_if(char::is_ascii_digit) {
        if !(c == '0' && run.is_empty()) {
            run.push(c);
        }
    }
    run
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn numbers_count_as_numbers() {
        let mut names = ["b10", "a10", "a2", "A1", "a02", "a", "a2b"];
        names.sort_by(|a, b| natural_cmp(a, b));
        assert_eq!(names, ["a", "A1", "a02", "a2", "a2b", "a10", "b10"]);
    }

    proptest! {
        #[test]
        fn the_order_is_total(a in "[a-b0-2]{0,5}", b in "[a-b0-2]{0,5}", c in "[a-b0-2]{0,5}") {
            prop_assert_eq!(natural_cmp(&a, &b), natural_cmp(&b, &a).reverse());
            prop_assert_eq!(natural_cmp(&a, &b).is_eq(), a == b);
            if natural_cmp(&a, &b).is_le() && natural_cmp(&b, &c).is_le() {
                prop_assert!(natural_cmp(&a, &c).is_le());
            }
        }
    }
}
