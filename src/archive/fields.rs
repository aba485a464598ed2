//! The conditions that a search knows: one table for the parser, the database
//! and the help.

/// What a condition's value is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// Words of one text.
    Text,
    /// A recurring name.
    Name,
    /// A number.
    Number,
    /// Date and time.
    Time,
    Status,
    Flag,
    Frame,
    Roll,
    /// What the roll was developed in.
    Developer,
    /// The sleeve of the roll's negatives.
    Sleeve,
    /// A place and a distance.
    Near,
    /// The name of another field.
    Has,
}

macro_rules! conditions {
    ($($name:ident = $($alias:literal)|+, $kind:ident, $column:literal, $example:literal;)+) => {
        /// What a condition asks about.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        #[allow(missing_docs, reason = "named as their conditions")]
        pub enum Field { $($name),+ }

        impl Field {
            const ALL: &'static [Self] = &[$(Self::$name),+];

            /// Its names, the usual one first.
            const fn names(self) -> &'static [&'static str] {
                match self { $(Self::$name => &[$($alias),+]),+ }
            }

            pub(super) const fn kind(self) -> Kind {
                match self { $(Self::$name => Kind::$kind),+ }
            }

            /// The column it is kept in.
            pub(super) const fn column(self) -> &'static str {
                match self { $(Self::$name => $column),+ }
            }

            /// The condition as it may be written.
            pub(super) const fn example(self) -> &'static str {
                match self { $(Self::$name => $example),+ }
            }
        }
    };
}

conditions! {
    Said = "said", Text, "said", "said:\"last of the light\"";
    Subject = "subject", Text, "subject", "subject:slipway";
    Place = "place", Text, "place", "place:harbour";
    Remark = "remark", Text, "remark", "remark:print";
    Film = "film", Name, "film", "film:\"Merrow Pan 100\"";
    Lens = "lens", Name, "lens", "lens:120";
    Camera = "camera", Name, "camera", "camera:six-four-five";
    Filter = "filter", Name, "filter", "filter:orange";
    Light = "light", Name, "light", "light:\"open shade\"";
    Support = "support", Name, "support", "support:tripod";
    Process = "process", Name, "process", "process:\"push 1\"";
    Trip = "trip", Name, "trip", "trip:\"Low Water\"";
    Aperture = "aperture" | "f", Number, "aperture", "aperture<=5.6";
    Shutter = "shutter" | "shutter_s", Number, "seconds", "shutter>=1/60";
    Ev = "ev" | "ev100", Number, "ev100", "ev>12";
    Focal = "focal" | "focal_mm", Number, "focal_mm", "focal:80";
    Ei = "ei", Number, "ei", "ei:80";
    Iso = "iso" | "box_iso", Number, "box_iso", "iso:100";
    Comp = "comp" | "comp_stops", Number, "comp_stops", "comp:+1";
    Lost = "filter_stops", Number, "filter_stops", "filter_stops>=2";
    Confidence = "confidence", Number, "confidence", "confidence<0.7";
    Rule = "rule" | "rule_stops", Number, "rule_stops", "rule>1";
    Rating = "rating", Number, "rating", "rating>=4";
    Taken = "taken" | "date", Time, "taken", "taken:2025-06..2025-07";
    Status = "status", Status, "status", "status:wasted";
    Flag = "flag" | "flags", Flag, "flags", "flag:unsure or flag:unsure:shutter";
    Frame = "frame", Frame, "frame", "frame:12A";
    Roll = "roll", Roll, "roll", "roll:7";
    Developer = "developer", Developer, "developer", "developer:halcyon";
    Sleeve = "sleeve", Sleeve, "sleeve", "sleeve:14";
    Near = "near", Near, "lat", "near:54.1,-9.2,5km";
    Has = "has", Has, "", "has:rating";
}

impl Field {
    pub(super) fn named(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|f| f.names().iter().any(|n| n.eq_ignore_ascii_case(name)))
    }

    /// The usual name.
    pub(super) fn name(self) -> &'static str {
        self.names()[0]
    }

    /// The name that a mistyped one most likely meant.
    pub(super) fn nearest(typed: &str) -> Option<&'static str> {
        let typed = typed.to_ascii_lowercase();
        let names = Self::ALL.iter().flat_map(|f| f.names());
        let (distance, name) = names.map(|n| (strsim::levenshtein(&typed, n), *n)).min()?;
        (distance <= 1 + typed.len() / 4 && distance < name.len()).then_some(name)
    }

    /// Every condition's usual name.
    pub(super) fn list() -> String {
        Self::ALL.iter().map(|f| f.name()).collect::<Vec<_>>().join(", ")
    }

    /// Whether `has:` may ask for it.
    pub(super) fn can_be_missing(self) -> bool {
        match self.kind() {
            Kind::Text | Kind::Number | Kind::Time | Kind::Developer | Kind::Sleeve => true,
            Kind::Name => self != Self::Trip,
            Kind::Near => true,
            _ => false,
        }
    }

    /// Examples of every condition, for the help.
    pub fn examples() -> impl Iterator<Item = &'static str> {
        Self::ALL.iter().map(|f| f.example())
    }
}

#[cfg(test)]
mod tests {
    use super::super::Query;
    use super::*;

    #[test]
    fn every_example_reads() {
        for example in Field::examples().flat_map(|e| e.split(" or ")) {
            Query::parse(example).unwrap_or_else(|e| panic!("{e}"));
        }
    }

    #[test]
    fn a_slip_of_the_finger_is_understood() {
        assert_eq!(Field::nearest("apertur"), Some("aperture"));
        assert_eq!(Field::nearest("flim"), Some("film"));
        assert_eq!(Field::nearest("http"), None);
    }
}
