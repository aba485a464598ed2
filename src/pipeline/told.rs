//! Notes told one after the other, where each builds on those before it.

use std::path::Path;

use crate::facts::caught;
use crate::report::Report;

use super::Note;

/// What the notes come to, told in their order to what `begin` gives. A note that ends in a fault of
/// the program is reported and left out, and the others are told again without it, since nobody
/// knows what it left behind.
pub fn told<T>(mut notes: Vec<&Note>, begin: impl Fn() -> T, tell: impl Fn(&mut T, &Note), report: &mut Report) -> T {
    loop {
        let mut teller = begin();
        let fault = |(i, note): (usize, &&Note)| Some((i, caught(|| tell(&mut teller, note)).err()?));
        let Some((i, fault)) = notes.iter().enumerate().find_map(fault) else { return teller };
        report.unusable(Path::new("notes").join(&notes[i].name), fault, "");
        notes.remove(i);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_note_that_ends_in_a_fault_costs_itself_alone() {
        let notes = ["a", "bad", "b", "worse", "c"].map(|name| Note { name: name.to_owned(), ..Note::default() });
        let mut report = Report::default();
        let tell = |all: &mut Vec<String>, note: &Note| {
            all.push(note.name.clone());
            assert!(!["bad", "worse"].contains(&note.name.as_str()), "no such note");
        };
        assert_eq!(told(notes.iter().collect(), Vec::new, tell, &mut report), ["a", "b", "c"]);
        let paths: Vec<_> = report.entries().iter().map(|u| u.path.display().to_string()).collect();
        assert_eq!(paths, ["notes/bad", "notes/worse"]);
        assert!(report.entries()[0].why.contains("no such note"));
    }
}
