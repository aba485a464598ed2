//! How a roll was developed, as noted: by voice, or in `roll.toml`.

use serde::{Deserialize, Serialize};

use crate::language::DevelopingSaid;

/// Developing notes of one roll, each as it was noted. Nothing here is advice.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Developed {
    /// The developer.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub developer: Option<String>,
    /// Its dilution, such as `1+50`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub dilution: Option<String>,
    /// How long, such as `11 min`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub time: Option<String>,
    /// How warm, such as `20 °C`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub temperature: Option<String>,
    /// How it was moved.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub agitation: Option<String>,
    /// On which day.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub date: Option<String>,
    /// The number of the sleeve that the negatives are in.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sleeve: Option<String>,
    /// Anything else.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub remark: Option<String>,
}

impl Developed {
    /// Whether nothing was noted.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Every part with its name, those that were noted.
    pub fn parts(&self) -> Vec<(&'static str, &str)> {
        let all = [
            ("developer", &self.developer),
            ("dilution", &self.dilution),
            ("time", &self.time),
            ("temperature", &self.temperature),
            ("agitation", &self.agitation),
            ("date", &self.date),
            ("sleeve", &self.sleeve),
            ("remark", &self.remark),
        ];
        all.into_iter().filter_map(|(name, part)| Some((name, part.as_deref()?))).collect()
    }

    /// Fills in what is not noted here from `other`; the names of the parts that both have, and differ.
    pub fn fill(&mut self, other: &Self) -> Vec<&'static str> {
        let theirs = [
            ("developer", &mut self.developer, &other.developer),
            ("dilution", &mut self.dilution, &other.dilution),
            ("time", &mut self.time, &other.time),
            ("temperature", &mut self.temperature, &other.temperature),
            ("agitation", &mut self.agitation, &other.agitation),
            ("date", &mut self.date, &other.date),
            ("sleeve", &mut self.sleeve, &other.sleeve),
            ("remark", &mut self.remark, &other.remark),
        ];
        let mut apart = Vec::new();
        for (name, own, other) in theirs {
            match (&own, other) {
                (Some(a), Some(b)) if a != b => apart.push(name),
                (None, Some(b)) => *own = Some(b.clone()),
                _ => {}
            }
        }
        apart
    }

    /// One line: `developer Halcyon, dilution 1+50, time 11 min, sleeve 14`.
    pub fn line(&self) -> String {
        self.parts().into_iter().map(|(name, part)| format!("{name} {part}")).collect::<Vec<_>>().join(", ")
    }
}

impl From<&DevelopingSaid> for Developed {
    fn from(said: &DevelopingSaid) -> Self {
        let figure = |n: f64| ((n * 10.0).round() / 10.0).to_string();
        Self {
            developer: said.developer.clone(),
            dilution: said.dilution.map(|(a, b)| format!("{}+{}", figure(a), figure(b))),
            time: said.time_s.map(|s| if s % 60.0 == 0.0 { format!("{} min", s / 60.0) } else { minutes(s) }),
            temperature: said.celsius.map(|c| format!("{} °C", figure(c))),
            sleeve: said.sleeve.map(figure),
            ..Self::default()
        }
    }
}

/// Seconds as minutes and seconds.
fn minutes(seconds: f64) -> String {
    let whole = seconds.round();
    format!("{}:{:02} min", (whole / 60.0).floor(), whole % 60.0)
}
