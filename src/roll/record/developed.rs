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

    /// What [`Self::line`] made; none where the text is no such line. A part that holds `, ` and the name of a later
    /// part is cut there.
    pub fn of_line(line: &str) -> Option<Self> {
        let mut noted = Self::default();
        let slots = noted.slots();
        let (mut rest, mut open): (&str, Option<usize>) = (line, None);
        loop {
            let first = open.map_or(0, |i| i + 1);
            // The next part that begins, and where the one before it ends.
            let next = (first..slots.len()).filter_map(|i| {
                let head = format!("{} ", slots[i].0);
                match open {
                    None => rest.starts_with(&head).then_some((0, head.len(), i)),
                    Some(_) => rest.find(&format!(", {head}")).map(|at| (at, at + 2 + head.len(), i)),
                }
            });
            let next = next.min();
            if let Some(i) = open {
                *slots[i].1 = Some(rest[..next.map_or(rest.len(), |(end, ..)| end)].to_owned());
            }
            match next {
                Some((_, begins, i)) => (rest, open) = (&rest[begins..], Some(i)),
                None => return open.is_some().then_some(noted),
            }
        }
    }

    /// Every part with its name, in the order of [`Self::line`].
    fn slots(&mut self) -> [(&'static str, &mut Option<String>); 8] {
        [
            ("developer", &mut self.developer),
            ("dilution", &mut self.dilution),
            ("time", &mut self.time),
            ("temperature", &mut self.temperature),
            ("agitation", &mut self.agitation),
            ("date", &mut self.date),
            ("sleeve", &mut self.sleeve),
            ("remark", &mut self.remark),
        ]
    }

    /// Fills in what is not noted here from `other`; the names of the parts that both have, and differ.
    pub fn fill(&mut self, other: &Self) -> Vec<&'static str> {
        let theirs = other.parts();
        let mut apart = Vec::new();
        for (name, own) in self.slots() {
            let Some((_, theirs)) = theirs.iter().find(|(other, _)| *other == name) else { continue };
            match own {
                Some(own) if own != theirs => apart.push(name),
                Some(_) => {}
                None => *own = Some((*theirs).to_owned()),
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_reads_back() {
        let text = |t: &str| Some(t.to_owned());
        let all = Developed {
            developer: text("Halcyon, old stock"),
            dilution: text("1+50"),
            time: text("11 min"),
            temperature: text("20 °C"),
            agitation: text("each minute"),
            date: text("2025-09-20"),
            sleeve: text("14"),
            remark: text("time may be off"),
        };
        let some = Developed { time: text("9 min"), remark: text("by the lab"), ..Developed::default() };
        for noted in [all, some] {
            assert_eq!(Developed::of_line(&noted.line()), Some(noted));
        }
        assert_eq!(Developed::of_line("edge fogged"), None);
        assert_eq!(Developed::of_line(""), None);
    }
}
