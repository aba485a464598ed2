//! A line of characters as it was seen: for each place, how likely the sight
//! is under each character that may stand there.

/// Characters that an imprint is made of: ASCII from space to underscore,
/// so digits, capitals and the usual signs.
pub(super) const ALPHABET: usize = 64;

/// Index of a character in the alphabet; small letters count as capitals.
pub(super) fn index(c: char) -> Option<usize> {
    let c = c.to_ascii_uppercase();
    (' '..='_').contains(&c).then(|| c as usize - ' ' as usize)
}

/// The character at an index.
pub(super) fn character(i: usize) -> char {
    char::from(b' ' + (i % ALPHABET) as u8)
}

/// One place of the line.
#[derive(Debug, Clone)]
pub(super) struct Cell {
    /// Likelihood of the sight under each character, relative to the likeliest.
    pub likelihood: [f64; ALPHABET],
    /// Likelihood that the sight is nothing: dirt, or a character too many.
    pub extra: f64,
}

impl Cell {
    /// The likeliest character; none where most likely nothing stands.
    pub fn best(&self) -> Option<char> {
        let best = (0..ALPHABET).max_by(|a, b| self.likelihood[*a].total_cmp(&self.likelihood[*b]))?;
        (self.likelihood[best] > self.extra).then(|| character(best))
    }
}

/// What may be missing from the line, as probabilities.
#[derive(Debug, Clone, Copy)]
pub(super) struct Losses {
    /// A decimal point.
    pub point: f64,
    /// A space.
    pub space: f64,
    /// Any other character.
    pub other: f64,
}

impl Losses {
    /// The loss of one character of the alphabet.
    pub fn of(&self, index: usize) -> f64 {
        match character(index) {
            '.' => self.point,
            ' ' => self.space,
            _ => self.other,
        }
    }
}

/// A line as seen.
#[derive(Debug, Clone)]
pub(super) struct Lattice {
    /// Left to right.
    pub cells: Vec<Cell>,
    /// Cells to a character: 2 where every other cell may hold a decimal point and mostly is empty.
    pub stride: usize,
    /// Whether it was written in seven segments.
    pub segments: bool,
    /// What may be missing.
    pub losses: Losses,
    /// Likelihood of a sight before or after the imprint, beside that of dirt.
    pub outside: f64,
    /// Weight of values of no series: shapes are mistaken more often than a
    /// camera writes one.
    pub foreign: f64,
}

/// Characters taken for one another when a line is typed off. Letters beside
/// digits are harmless, so they weigh more than digits beside digits.
/// Source: common practice; the weights are chosen, not measured.
const LOOKALIKES: [(&str, f64); 12] = [
    ("0OQD", 0.04),
    ("1IL|!", 0.04),
    ("5S", 0.04),
    ("8B", 0.04),
    ("2Z", 0.04),
    ("6G", 0.04),
    (".,", 0.2),
    ("17", 0.004),
    ("56", 0.004),
    ("38", 0.002),
    ("/1", 0.004),
    ("\"'", 0.2),
];

/// Any other slip of the hand.
const SLIP: f64 = 2e-5;

impl Lattice {
    /// A line as somebody typed it. Runs of blanks count as one; characters
    /// outside the alphabet are dirt.
    pub fn typed(text: &str) -> Self {
        let mut seen: Vec<char> = Vec::new();
        for c in text.trim().chars() {
            let c = match c {
                c if c.is_whitespace() => ' ',
                '−' | '–' => '-',
                '″' | '”' | '“' => '"',
                '′' | '’' | '‘' => '\'',
                c => c,
            };
            if c != ' ' || seen.last() != Some(&' ') {
                seen.push(c);
            }
        }
        let cells = seen.into_iter().map(typed_cell).collect();
        Self {
            cells,
            stride: 1,
            segments: false,
            losses: Losses { point: 0.03, space: 0.3, other: 5e-4 },
            outside: SLIP,
            foreign: 1.0,
        }
    }

    /// Whether somebody typed it, rather than that it was seen in a picture.
    pub fn is_typed(&self) -> bool {
        self.foreign >= 1.0
    }

    /// Likelihood of a place that the imprint does not take.
    pub fn beyond(&self, place: usize) -> f64 {
        self.cells[place].extra.max(self.outside)
    }

    /// Likelihood of the line when no imprint stands on it.
    pub fn without_imprint(&self) -> f64 {
        (0..self.cells.len()).map(|place| self.beyond(place)).product()
    }

    /// The likeliest character of every place, blanks squeezed.
    pub fn text(&self) -> String {
        self.text_of(0..self.cells.len())
    }

    /// The same for some of the places.
    pub fn text_of(&self, places: std::ops::Range<usize>) -> String {
        let seen: String = self.cells[places].iter().filter_map(Cell::best).collect();
        seen.split(' ').filter(|w| !w.is_empty()).collect::<Vec<_>>().join(" ")
    }
}

fn typed_cell(seen: char) -> Cell {
    let mut likelihood = [SLIP; ALPHABET];
    for (group, weight) in LOOKALIKES {
        if group.contains(seen.to_ascii_uppercase()) {
            for i in group.chars().filter_map(index) {
                likelihood[i] = weight;
            }
        }
    }
    if let Some(i) = index(seen) {
        likelihood[i] = 1.0;
    }
    Cell { likelihood, extra: if seen == ' ' { 0.2 } else { SLIP } }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_character_has_its_place() {
        for i in 0..ALPHABET {
            assert_eq!(index(character(i)), Some(i));
        }
        assert_eq!(index('m'), index('M'));
        assert_eq!(index('é'), None);
    }

    #[test]
    fn a_typed_line_shows_what_was_typed() {
        assert_eq!(Lattice::typed(" 1/125 \t f8 ").text(), "1/125 F8");
    }
}
