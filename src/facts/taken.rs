//! When a recording or a frame was made, and how that is known.

use serde::{Deserialize, Serialize};

/// How a time is known, surest first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum KnownBy {
    /// The recording's container says it, with an offset or in UTC.
    Container,
    /// A date and time in the file's name.
    FileName,
    /// The file's modification time; a copy loses it.
    FileTime,
    /// Between the times of neighbours.
    Interpolated,
    /// Written down by hand.
    Edit,
}

/// A time on the clock, with its offset where that is known.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Taken {
    /// Local date and time.
    pub local: jiff::civil::DateTime,
    /// Offset from UTC in seconds, when known.
    pub offset_s: Option<i32>,
    /// How it is known.
    pub known_by: KnownBy,
}

impl KnownBy {
    /// The word that is written for it.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Container => "container",
            Self::FileName => "file-name",
            Self::FileTime => "file-time",
            Self::Interpolated => "interpolated",
            Self::Edit => "edit",
        }
    }
}

impl Taken {
    /// Whether the time was read off something that was there, rather than estimated.
    pub const fn is_read(&self) -> bool {
        matches!(self.known_by, KnownBy::Container | KnownBy::FileName | KnownBy::Edit)
    }

    /// RFC 3339 with the offset; without one the local time alone.
    pub fn rfc3339(&self) -> String {
        let local = self.local.strftime("%Y-%m-%dT%H:%M:%S").to_string();
        match self.offset_s {
            None => local,
            Some(s) => {
                let (sign, s) = if s < 0 { ('-', -s) } else { ('+', s) };
                format!("{local}{sign}{:02}:{:02}", s / 3600, s % 3600 / 60)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_estimate_is_not_read_and_each_kind_has_its_word() {
        let at = |known_by| Taken { local: jiff::civil::date(2025, 6, 18).at(9, 15, 2, 0), offset_s: None, known_by };
        use KnownBy::*;
        for (kind, read) in
            [(Container, true), (FileName, true), (FileTime, false), (Interpolated, false), (Edit, true)]
        {
            assert_eq!(at(kind).is_read(), read, "{kind:?}");
            assert_eq!(serde_json::to_value(kind).unwrap(), kind.as_str());
        }
    }

    #[test]
    fn written_with_its_offset() {
        let mut t = Taken {
            local: jiff::civil::date(2025, 6, 18).at(9, 15, 2, 0),
            offset_s: Some(3600),
            known_by: KnownBy::Container,
        };
        assert_eq!(t.rfc3339(), "2025-06-18T09:15:02+01:00");
        t.offset_s = Some(-12_600);
        assert_eq!(t.rfc3339(), "2025-06-18T09:15:02-03:30");
        t.offset_s = None;
        assert_eq!(t.rfc3339(), "2025-06-18T09:15:02");
    }
}
