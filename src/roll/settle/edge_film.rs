//! The film maker's code on the edge beside the film that was noted.

use crate::facts::{Field, Flag};
use crate::kit::Kit;

use crate::roll::record::Frame;

/// The kit's film with this edge code.
pub fn film_of_code<'a>(kit: &'a Kit, code: &str) -> Option<&'a str> {
    kit.films.iter().find(|f| f.edge_code.as_deref() == Some(code)).map(|f| f.name.as_str())
}

/// Flags every frame whose film is not the one that the edge names. Where the
/// kit knows no film by the code, only a noted film whose own code differs is wrong.
pub fn compare(frames: &mut [Frame], kit: &Kit, code: &str) {
    let shown = film_of_code(kit, code);
    for frame in frames {
        let Some(noted) = frame.film.as_ref().map(|f| f.value.clone()) else { continue };
        let own = kit.film(&noted).and_then(|f| f.edge_code.as_deref());
        let why = match (shown, own) {
            (Some(shown), _) if shown != noted => format!("the code on the edge, {code}, is that of {shown}"),
            (None, Some(own)) => format!("the code on the edge is {code}; the kit has {own} for {noted}"),
            _ => continue,
        };
        frame.flag(Flag::Conflict(Field::Film), why);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::facts::{Confidence, FrameNumber, Settled, Source};
    use crate::roll::record::Status;

    const KIT: &str = "[[film]]\nname = \"Sallow 100\"\niso = 100\nedge_code = \"115-4\"\n\n\
        [[film]]\nname = \"Bellbuoy 125\"\niso = 125\nedge_code = \"36-2\"\n\n\
        [[film]]\nname = \"Quay 400\"\niso = 400\n";

    fn flags(film: &str, code: &str) -> Vec<Flag> {
        let mut frame = Frame::blank(FrameNumber::new(1), Status::Ok);
        frame.film = Some(Settled::from_one(film.to_owned(), Confidence::new(0.9), Source::Voice));
        let mut frames = [frame];
        compare(&mut frames, &Kit::parse(KIT).unwrap(), code);
        frames[0].flags.clone()
    }

    #[test]
    fn another_film_than_noted_is_a_conflict() {
        let conflict = [Flag::Conflict(Field::Film)];
        assert_eq!(flags("Sallow 100", "115-4"), []);
        assert_eq!(flags("Sallow 100", "36-2"), conflict);
        assert_eq!(flags("Quay 400", "36-2"), conflict);
        assert_eq!(flags("Sallow 100", "99-1"), conflict);
        // The kit has no code for this one: nothing to compare.
        assert_eq!(flags("Quay 400", "99-1"), []);
    }
}
