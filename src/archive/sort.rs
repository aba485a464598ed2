//! Orders in which found frames can stand, other than newest first.

/// What frames are sorted by: its name, and where it is kept for a frame `s`.
const KEYS: [(&str, &str); 15] = [
    ("taken", "s.taken"),
    ("trip", "(SELECT name FROM trips WHERE id = s.trip)"),
    ("roll", "(SELECT key FROM rolls WHERE id = s.roll)"),
    ("camera", "(SELECT text FROM names WHERE id = s.camera)"),
    ("lens", "(SELECT text FROM names WHERE id = s.lens)"),
    ("film", "(SELECT text FROM names WHERE id = s.film)"),
    ("filter", "(SELECT text FROM names WHERE id = s.filter)"),
    ("light", "(SELECT text FROM names WHERE id = s.light)"),
    ("subject", "(SELECT subject FROM details WHERE frame = s.id)"),
    ("place", "(SELECT place FROM details WHERE frame = s.id)"),
    ("shutter", "s.seconds"),
    ("aperture", "s.aperture"),
    ("ev", "s.ev100"),
    ("rule", "s.rule_stops"),
    ("rating", "s.rating"),
];

/// An order: by one thing, upwards or downwards; frames of which it is not known stand last.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sort {
    pub(super) key: &'static str,
    pub(super) down: bool,
}

impl std::str::FromStr for Sort {
    type Err = String;

    /// `rating`, or `-rating` for the highest first.
    fn from_str(text: &str) -> Result<Self, String> {
        let (down, name) = text.strip_prefix('-').map_or((false, text), |name| (true, name));
        let key = KEYS.iter().find(|(n, _)| n.eq_ignore_ascii_case(name)).map(|(_, key)| *key);
        let names = || KEYS.map(|(n, _)| n).join(", ");
        key.map(|key| Self { key, down })
            .ok_or_else(|| format!("frames can be sorted by {} (-NAME turns it round)", names()))
    }
}

#[cfg(test)]
mod tests {
    use super::super::Query;
    use super::super::samples::stored;
    use super::*;

    #[test]
    fn every_order_is_one_and_the_unknown_stand_last() {
        let archive = stored();
        let sorted = |by: &str, limit| {
            let page = archive.find_sorted(&Query::default(), by.parse().unwrap(), limit).unwrap();
            page.frames.iter().map(|f| format!("{}/{}", f.roll, f.frame)).collect::<Vec<_>>()
        };
        for (name, _) in KEYS {
            assert_eq!(sorted(name, 99).len(), 6, "{name}");
        }
        assert_eq!(sorted("shutter", 4), ["A3/1", "7/1", "7/2", "7/3"]);
        assert_eq!(sorted("-shutter", 2), ["7/3", "7/2"]);
        assert_eq!(sorted("-rating", 1), ["7/1"]);
        assert!("moon".parse::<Sort>().unwrap_err().contains("aperture"));
    }

    #[test]
    fn all_that_meet_a_query_are_counted() {
        let archive = stored();
        for (query, count) in
            [("", 6), ("film:merrow", 3), ("slipway", 1), ("slipway film:gull", 0), ("taken:2025 -boats", 1)]
        {
            assert_eq!(archive.count(&Query::parse(query).unwrap()).unwrap(), count, "{query}");
        }
    }
}
