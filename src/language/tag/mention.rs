//! Tokens to mentions: stretches of words that serve one purpose, with what the reader thinks of each.

use std::ops::Range;

/// Nothing is less likely than this: its logarithm would be no number.
const LEAST: f32 = 1e-9;

/// What words are for. The letters are those of marked notes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// A shutter setting.
    Shutter,
    /// An aperture.
    Aperture,
    /// A lens or focal length.
    Lens,
    /// A frame's number.
    Number,
    /// A filter.
    Filter,
    /// An exposure index.
    Rating,
    /// A film.
    Film,
    /// A roll's name, or that a roll begins or ends.
    Roll,
    /// A camera.
    Camera,
    /// A count of frames.
    Count,
    /// A change of exposure.
    Change,
    /// Light.
    Light,
    /// Support.
    Support,
    /// That a frame is lost.
    Wasted,
    /// What is asked of the lab.
    Process,
    /// What is in the picture.
    Subject,
    /// A number that is no setting.
    Other,
    /// Words that steer the reading.
    Steer,
}

impl Role {
    /// Every role, in the order of the net's questions, with its letter.
    pub const ALL: [(Self, char); 18] = [
        (Self::Shutter, 's'),
        (Self::Aperture, 'a'),
        (Self::Lens, 'f'),
        (Self::Number, 'n'),
        (Self::Filter, 'l'),
        (Self::Rating, 'i'),
        (Self::Film, 'b'),
        (Self::Roll, 'r'),
        (Self::Camera, 'c'),
        (Self::Count, 'k'),
        (Self::Change, 'e'),
        (Self::Light, 'g'),
        (Self::Support, 'p'),
        (Self::Wasted, 'w'),
        (Self::Process, 'o'),
        (Self::Subject, 'u'),
        (Self::Other, 'x'),
        (Self::Steer, 'v'),
    ];
    /// How many there are.
    pub const COUNT: usize = Self::ALL.len();
}

/// What a change of exposure moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Effect {
    /// Nothing that is recorded: it is explained, or already in the settings.
    Nothing,
    /// The aperture; `true` for more light.
    Aperture(bool),
    /// The shutter.
    Shutter(bool),
    /// Compensation is recorded.
    Compensation(bool),
    /// It is a bracket's step.
    Bracket,
    /// One of the two dials, not said which.
    Either(bool),
}

impl Effect {
    /// Every effect, in the order of the net's questions.
    pub const ALL: [Self; 10] = [
        Self::Nothing,
        Self::Aperture(true),
        Self::Aperture(false),
        Self::Shutter(true),
        Self::Shutter(false),
        Self::Compensation(true),
        Self::Compensation(false),
        Self::Bracket,
        Self::Either(true),
        Self::Either(false),
    ];
}

/// A stretch of words that serves one purpose.
#[derive(Debug, Clone, PartialEq)]
pub struct Mention {
    /// Its tokens.
    pub tokens: Range<usize>,
    /// What it is for.
    pub role: Role,
    /// How likely that is, 0 to 1.
    pub sure: f32,
    /// Shares of: done; metered, planned, imagined; corrected away.
    pub standing: [f32; 3],
    /// How likely a frame begins with it.
    pub opens: f32,
    /// How likely it ends a run of frames that the number before began.
    pub ends_run: f32,
    /// How likely the speaker doubts it.
    pub doubted: f32,
    /// How likely it holds for the roll.
    pub of_roll: f32,
    /// How likely the frame that begins with it, if one does, was told before.
    pub again: f32,
    /// What it moves, if it is a change, and how likely.
    pub effect: (Effect, f32),
}

impl Mention {
    /// Whether it was done.
    pub fn done(&self) -> bool {
        self.standing[0] >= self.standing[1] + self.standing[2]
    }
}

/// The likeliest way to cut tokens into stretches, from scores of outside, begin and inside of
/// each role: an inside follows only its own kind. Shares, one row a token; gives stretches with
/// the number of their role and the least share of their tokens.
pub(super) fn stretches(shares: &[Vec<f32>]) -> Vec<(Range<usize>, usize, f32)> {
    let Some(width) = shares.first().map(Vec::len) else { return Vec::new() };
    let log = |p: f32| f64::from(p.max(LEAST).ln());
    let mut best = vec![f64::NEG_INFINITY; width];
    let mut back: Vec<Vec<usize>> = Vec::with_capacity(shares.len());
    for (i, row) in shares.iter().enumerate() {
        let (from, top) =
            best.iter().enumerate().fold((0, f64::NEG_INFINITY), |b, (k, v)| if *v > b.1 { (k, *v) } else { b });
        let mut next = vec![f64::NEG_INFINITY; width];
        let mut came = vec![0; width];
        for k in 0..width {
            let inside = k > 0 && k % 2 == 0;
            let (value, at) = match (i, inside) {
                (0, true) => (f64::NEG_INFINITY, 0),
                (0, false) => (0.0, 0),
                (_, false) => (top, from),
                (_, true) if best[k - 1] >= best[k] => (best[k - 1], k - 1),
                (_, true) => (best[k], k),
            };
            next[k] = value + log(row[k]);
            came[k] = at;
        }
        best = next;
        back.push(came);
    }
    let mut k = (0..width).fold(0, |b, k| if best[k] > best[b] { k } else { b });
    let mut path = vec![0; shares.len()];
    for i in (0..shares.len()).rev() {
        path[i] = k;
        k = back[i][k];
    }
    let mut out: Vec<(Range<usize>, usize, f32)> = Vec::new();
    for (i, k) in path.iter().enumerate() {
        if *k == 0 {
            continue;
        }
        let role = (k - 1) / 2;
        let sure = shares[i][1 + 2 * role] + shares[i][2 + 2 * role];
        if k % 2 == 1 {
            out.push((i..i + 1, role, sure));
        } else if let Some(last) = out.last_mut() {
            last.0.end = i + 1;
            last.2 = last.2.min(sure);
        }
    }
    out
}

impl Role {
    /// Whether it sets something of a frame that a row would lack without it.
    pub const fn is_setting(self) -> bool {
        matches!(self, Self::Shutter | Self::Aperture | Self::Lens | Self::Filter | Self::Change | Self::Wasted)
    }

    /// Whether it is a word of the trade, as against pictures, talk and other numbers.
    pub const fn is_trade(self) -> bool {
        !matches!(self, Self::Subject | Self::Steer | Self::Light | Self::Support)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Outside, then begin and inside of two roles.
    fn row(outside: f32, first: (f32, f32), second: (f32, f32)) -> Vec<f32> {
        vec![outside, first.0, first.1, second.0, second.1]
    }

    #[test]
    fn an_inside_follows_only_its_own_kind() {
        let begins = row(0.1, (0.8, 0.0), (0.1, 0.0));
        // By itself the second token is likeliest inside of the other role; behind the first it cannot be.
        let inside = row(0.05, (0.05, 0.4), (0.05, 0.45));
        let found = stretches(&[begins.clone(), inside, row(0.9, (0.05, 0.0), (0.05, 0.0))]);
        assert_eq!((found.len(), &found[0].0, found[0].1), (1, &(0..2), 0), "{found:?}");
        // Its least sure token is of the role in 0.05, beginning, and 0.4, inside.
        assert!((found[0].2 - 0.45).abs() < 1e-6, "{found:?}");
        let two = stretches(&[begins.clone(), begins]);
        assert_eq!(two.iter().map(|s| s.0.clone()).collect::<Vec<_>>(), [0..1, 1..2]);
        assert_eq!(stretches(&[]), []);
    }
}
