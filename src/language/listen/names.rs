//! Words of the kit's names that a recogniser is to listen for.

use crate::language::note::Language;
use crate::language::text::{Kind, fold};

/// A word of a name is not favoured when it is shorter: it would be heard where nobody said it ("mill" for "mil",
/// "Pola" for "the lorry", when four letters were enough).
const LEAST_NAME: usize = 5;

impl Language {
    /// Words of the kit's names for a recogniser to listen for, in the order of the alphabet: no numbers.
    pub fn names(&self) -> Vec<String> {
        let kit = self.kit();
        let cameras = kit.cameras.iter().map(|c| (&c.name, &c.said));
        let lenses = kit.lenses.iter().map(|l| (&l.name, &l.said));
        let filters = kit.filters.iter().map(|f| (&f.name, &f.said));
        let films = kit.films.iter().map(|f| (&f.name, &f.said));
        let mut names = std::collections::BTreeSet::new();
        for name in cameras.chain(lenses).chain(filters).chain(films).flat_map(|(name, said)| said.iter().chain([name]))
        {
            let folded = fold(name);
            let all = self.lexicon().tokens(&folded);
            let words = all.iter().filter(|t| t.kind == Kind::Word && !self.lexicon().is_number_word(t));
            names.extend(words.map(|t| folded[t.span.clone()].to_owned()));
        }
        names.into_iter().filter(|n| n.chars().count() >= LEAST_NAME && n.chars().all(char::is_alphabetic)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kit::Kit;

    #[test]
    fn words_of_names_are_listened_for_and_numbers_are_not() {
        let kit = "[[film]]\nname = \"Bannock Ortho 80\"\niso = 80\nsaid = [\"the bannock\"]\n\
                   [[lens]]\nname = \"50/2\"\nsaid = [\"the fifty\", \"the old long one\"]\nfocal_mm = 50\n";
        let names = Language::english(Kit::parse(kit).unwrap()).names();
        assert_eq!(names, ["bannock", "ortho"]);
    }
}
