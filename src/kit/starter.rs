//! A first kit file, from answers or from what notes speak of.

use super::{Missing, ThingKind, quoted};

/// A camera as it is asked for.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FirstCamera {
    /// Its name.
    pub name: String,
    /// What it is called; empty where that is its name.
    pub said: String,
    /// Film format, by its trade designation.
    pub format: String,
    /// Slowest and fastest shutter speed, as marked.
    pub shutters: Option<(String, String)>,
    /// What is only guessed about it, for a comment.
    pub guessed: Option<&'static str>,
}

/// What a first kit holds.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Starter {
    /// Cameras.
    pub cameras: Vec<FirstCamera>,
    /// Lenses, films and filters.
    pub things: Vec<Missing>,
}

const HEAD: &str = "# What you own and how you call it. The more it says, the less is guessed.\n\
    # A name is how a thing stands in the tables; said = [\"…\", \"…\"] is what you call it when you talk.\n\
    # `spooltalk kit check` looks it through.\n";

const HABITS: &str = "\n[photographer]\nframe_counts_from = 1\n\
    # timezone = \"Europe/Lisbon\"   # where the trip is, for the times of clips\n";

impl Starter {
    /// The kit's text.
    pub fn text(&self) -> String {
        let mut out = HEAD.to_owned();
        for c in &self.cameras {
            out += &format!("\n[[camera]]\nname = {}\n", quoted(&c.name));
            if !c.said.is_empty() {
                out += &format!("said = [{}]\n", quoted(&c.said));
            }
            let guessed = c.guessed.map_or(String::new(), |g| format!("   # {g}"));
            out += &format!("format = {}{guessed}\n", quoted(&c.format));
            if let Some((slow, fast)) = &c.shutters {
                let guessed = c.guessed.map_or("", |_| "   # the slowest and fastest that were said");
                out += &format!("shutters = [{}, {}]{guessed}\n", quoted(slow), quoted(fast));
            }
        }
        for kind in [ThingKind::Lens, ThingKind::Film, ThingKind::Filter, ThingKind::Flash, ThingKind::Converter] {
            for thing in self.things.iter().filter(|t| t.kind == kind) {
                out += &format!("\n{}", thing.table());
            }
        }
        out + HABITS
    }
}

#[cfg(test)]
mod tests {
    use super::super::Kit;
    use super::*;

    #[test]
    fn a_first_kit_is_a_kit() {
        let camera = FirstCamera {
            name: "Quill \"66\"".to_owned(),
            said: "the quill".to_owned(),
            format: "6x6".to_owned(),
            shutters: Some(("1s".to_owned(), "1/500".to_owned())),
            guessed: None,
        };
        let things = vec![
            Missing { kind: ThingKind::Film, name: "lantern 400".to_owned(), times: 2, figure: None },
            Missing { kind: ThingKind::Lens, name: "macro".to_owned(), times: 1, figure: None },
        ];
        let text = Starter { cameras: vec![camera], things }.text();
        let kit = Kit::parse(&text).unwrap();
        assert_eq!((kit.cameras.len(), kit.films.len(), kit.lenses.len()), (1, 1, 0), "{text}");
        assert_eq!(kit.cameras[0].name, "Quill \"66\"");
    }
}
