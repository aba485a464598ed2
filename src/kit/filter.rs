//! Filters and stacks of them.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::exposure::Stops;

/// A filter.
#[derive(Debug, Clone)]
pub struct Filter {
    /// As it stands in the output.
    pub name: String,
    /// What the photographer calls it.
    pub said: Vec<String>,
    /// Light lost.
    pub lost: Stops,
}

/// The filters on the lens, by name, in the order put on. Empty means that it
/// was said that there is none.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(from = "String", into = "String")]
pub struct Filters(pub Vec<String>);

impl Filters {
    /// No filter, as said.
    pub const NONE: Self = Self(Vec::new());

    /// Whether there is none.
    pub fn is_none(&self) -> bool {
        self.0.is_empty()
    }

    /// The same filters, in whatever order.
    pub fn same_set(&self, other: &Self) -> bool {
        let sorted = |f: &Self| {
            let mut names = f.0.clone();
            names.sort();
            names
        };
        sorted(self) == sorted(other)
    }
}

impl fmt::Display for Filters {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.0.is_empty() { f.write_str("none") } else { f.write_str(&self.0.join("+")) }
    }
}

impl FromStr for Filters {
    type Err = std::convert::Infallible;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Ok(Self::from(text.to_owned()))
    }
}

impl From<String> for Filters {
    fn from(text: String) -> Self {
        let t = text.trim();
        if t.is_empty() || t.eq_ignore_ascii_case("none") {
            Self::NONE
        } else {
            Self(t.split('+').map(|s| s.trim().to_owned()).filter(|s| !s.is_empty()).collect())
        }
    }
}

impl From<Filters> for String {
    fn from(f: Filters) -> Self {
        f.to_string()
    }
}
