//! The grammar files, read into a lexicon.

use super::class::Class;
use super::lexicon::{GrammarError, Lexicon};
use super::pattern::{PatternError, Piece, expand};
use super::trie::{Meaning, NO_VALUE, Slot, Step};
use crate::language::text::{NumberWord, SoundRules, fold, tokens};

/// Lists of words heard for another: everywhere, or in one place.
const HEARD_LISTS: [&str; 7] =
    ["heard", "after-speed", "after-frame", "after-frame-any", "after-f", "before-aperture", "heard-two"];

impl Lexicon {
    pub(in crate::language) fn read_words(&mut self, text: &str) -> Result<(), GrammarError> {
        for (line, body) in lines(text) {
            let (list, words) = split_line("words.txt", line, body)?;
            if list == "also" {
                let (kind, names) = words.split_once('=').unwrap_or((words, ""));
                let kind = self.id(kind.trim());
                self.also.extend(names.split('|').map(|n| (kind, n.trim().to_owned())));
                continue;
            }
            if HEARD_LISTS.contains(&list) {
                let (meant, torn) = words.split_once('=').ok_or_else(|| GrammarError {
                    file: "words.txt".to_owned(),
                    line,
                    what: format!("expected {list}: word = what it is heard as"),
                })?;
                let meant = self.id(meant.trim());
                for way in torn.split('|') {
                    let way = way.split_whitespace().map(|w| self.id(w)).collect();
                    match list {
                        "heard" => self.torn.push((way, meant)),
                        _ => self.heard_in_place.push((list.to_owned(), way, meant)),
                    }
                }
                continue;
            }
            let ids: Vec<u32> = if list == "spelling" {
                let mut words = words.split_whitespace();
                let first = words.next().map(|w| self.id(w));
                for other in words {
                    if let Some(id) = first {
                        self.words.insert(other.to_owned(), id);
                    }
                }
                continue;
            } else if list == "sounds" {
                let mut words = words.split_whitespace();
                let meant = words.next().map(|w| self.id(w));
                for other in words {
                    let heard = self.id(other);
                    self.sounds_as.entry(heard).or_default().extend(meant);
                }
                continue;
            } else {
                words.split_whitespace().map(|w| self.id(w)).collect()
            };
            self.lists.entry(list.to_owned()).or_default().extend(ids);
        }
        Ok(())
    }

    pub(in crate::language) fn read_numbers(&mut self, text: &str) -> Result<(), GrammarError> {
        const FILE: &str = "numbers.txt";
        for (line, body) in lines(text) {
            let (head, rest) = split_line(FILE, line, body)?;
            let error = |what: String| GrammarError { file: FILE.to_owned(), line, what };
            if let Some(amount) = head.strip_prefix("tail ") {
                let more = amount.trim().parse().map_err(|_| error(format!("'{amount}' is no number")))?;
                let tail = rest.split_whitespace().map(|w| self.id(w)).collect();
                self.numbers.tails.push((tail, more));
                continue;
            }
            for item in rest.split_whitespace() {
                let (word, value) = item.split_once('=').unwrap_or((item, ""));
                if head == "alike" {
                    break;
                }
                let id = self.id(word);
                let (value, weight) = value.split_once('~').unwrap_or((value, "1"));
                let number = || value.parse::<u32>().map_err(|_| error(format!("'{item}': expected word=number")));
                let weight: f32 = weight.parse().map_err(|_| error(format!("'{item}': a weight is a number")))?;
                match head {
                    "unit" => {
                        self.numbers.units.push((number()?, id));
                        self.numbers.words.insert(id, NumberWord::Unit(number()?));
                    }
                    "tens" => drop(self.numbers.words.insert(id, NumberWord::Tens(number()?))),
                    "scale" => drop(self.numbers.words.insert(id, NumberWord::Scale(number()?))),
                    "ordinal" if weight > 0.0 => drop(self.numbers.words.insert(id, NumberWord::Ordinal(number()?))),
                    "ordinal" => {}
                    "ordinal-scale" => drop(self.numbers.words.insert(id, NumberWord::OrdinalScale(number()?))),
                    "homophone" => drop(self.numbers.homophones.insert(id, (number()?, weight))),
                    "suffix" => self.numbers.suffixes.push(id),
                    "point" => self.numbers.points.push(id),
                    "and" => self.numbers.ands.push(id),
                    "article" => self.numbers.articles.push(id),
                    other => return Err(error(format!("'{other}' is no list of numbers.txt"))),
                }
            }
            if head == "alike" {
                let pair: Vec<u32> = rest.split_whitespace().filter_map(|n| n.parse().ok()).collect();
                match pair[..] {
                    [a, b] => self.numbers.alike.push((a, b)),
                    _ => return Err(error("alike wants two numbers".to_owned())),
                }
            }
        }
        Ok(())
    }

    pub(in crate::language) fn read_sounds(&mut self, text: &str) -> Result<(), GrammarError> {
        let mut rules = Vec::new();
        for (line, body) in lines(text) {
            let Some((from, to)) = body.split_once('=') else {
                let what = "expected letters = sound".to_owned();
                return Err(GrammarError { file: "sounds.txt".to_owned(), line, what });
            };
            rules.push((from.trim().to_owned(), to.trim().to_owned()));
        }
        self.sounds = SoundRules::new(rules);
        Ok(())
    }

    pub(in crate::language) fn read_phrases(&mut self, file: &str, text: &str) -> Result<(), GrammarError> {
        let mut groups: Vec<(&str, String)> = Vec::new();
        for (line, body) in lines(text) {
            let error = |what: String| GrammarError { file: file.to_owned(), line, what };
            let (head, phrases) = split_head(body).ok_or_else(|| error("expected class: phrases".to_owned()))?;
            let phrases = &with_groups(phrases, &groups).map_err(error)?;
            if let Some(name) = head.strip_prefix("let ") {
                groups.push((name.trim(), format!("({phrases})")));
                continue;
            }
            let (name, value) = head.split_once(' ').unwrap_or((head, ""));
            let class = Class::named(name).ok_or_else(|| error(format!("'{name}' is no class")))?;
            // What follows in braces only tells a reader which slots there are.
            let value = value.split('{').next().unwrap_or_default().trim().trim_matches('"');
            let value = if value.is_empty() || value.starts_with('{') { NO_VALUE } else { self.value(value) };
            let ways = expand(phrases).map_err(|e: PatternError| error(e.to_string()))?;
            for (way, weight) in ways {
                let mut steps = Vec::with_capacity(way.len());
                for piece in &way {
                    match piece {
                        Piece::Slot(name) => {
                            let slot = slot_named(name).ok_or_else(|| error(format!("no slot {{{name}}}")))?;
                            steps.push(Step::Slot(slot));
                        }
                        // A word is parted as the text will be: e.i is e . i
                        Piece::Word(word) => {
                            let folded = fold(word);
                            let before = steps.len();
                            steps.extend(tokens(&folded).map(|p| Step::Word(self.id(&folded[p.span]))));
                            if steps.len() == before {
                                return Err(error(format!("'{word}' is no word")));
                            }
                        }
                    }
                }
                if matches!(class, Class::Light | Class::Support) {
                    self.add_phrase_sound(&way, Meaning { class, value, weight });
                }
                let trie = if file == "values.txt" { &mut self.values_trie } else { &mut self.phrases_trie };
                trie.add(&steps, Meaning { class, value, weight });
            }
        }
        Ok(())
    }
}

/// Phrases with the groups that they name written out: `<did>` stands for what `let did:` gave.
pub fn with_groups(phrases: &str, groups: &[(&str, String)]) -> Result<String, String> {
    let mut out = String::with_capacity(phrases.len());
    let mut rest = phrases;
    while let Some((before, after)) = rest.split_once('<') {
        let (name, behind) = after.split_once('>').ok_or("'<' without its other half")?;
        let (_, group) =
            groups.iter().find(|g| g.0 == name).ok_or_else(|| format!("no group <{name}> above this line"))?;
        out.push_str(before);
        out.push_str(group);
        rest = behind;
    }
    out.push_str(rest);
    Ok(out)
}

/// Lines that say something, with their numbers from 1.
pub fn lines(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.lines().enumerate().map(|(i, l)| (i + 1, l.trim())).filter(|(_, l)| !l.is_empty() && !l.starts_with('#'))
}

pub fn split_line<'a>(file: &str, line: usize, body: &'a str) -> Result<(&'a str, &'a str), GrammarError> {
    body.split_once(':').map(|(a, b)| (a.trim(), b.trim())).ok_or_else(|| GrammarError {
        file: file.to_owned(),
        line,
        what: "expected a name, a colon and words".to_owned(),
    })
}

/// The class part and the phrases: parted by the first colon outside quotes.
pub fn split_head(body: &str) -> Option<(&str, &str)> {
    let mut quoted = false;
    for (i, c) in body.char_indices() {
        match c {
            '"' => quoted = !quoted,
            ':' if !quoted => return Some((body[..i].trim(), body[i + 1..].trim())),
            _ => {}
        }
    }
    None
}

pub fn slot_named(name: &str) -> Option<Slot> {
    Some(match name {
        "n" => Slot::Number(false),
        "n*" => Slot::Number(true),
        "o" => Slot::Ordinal,
        "i" => Slot::Integer(false),
        "i*" => Slot::Integer(true),
        "f" => Slot::FNumber(false),
        "f*" => Slot::FNumber(true),
        "s" => Slot::Stops,
        "q" => Slot::Amount,
        "d" => Slot::Duration,
        "lens" => Slot::Lens,
        "filter" => Slot::Filter,
        "film" => Slot::Film,
        "camera" => Slot::Camera,
        "r" => Slot::RollName(false),
        "r*" => Slot::RollName(true),
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_stand_for_their_phrases() {
        let groups = [("dial", "(shutter/speed)".to_owned())];
        assert_eq!(with_groups("the <dial> up", &groups).unwrap(), "the (shutter/speed) up");
        assert_eq!(with_groups("no group", &groups).unwrap(), "no group");
        assert!(with_groups("the <ring> up", &groups).unwrap_err().contains("<ring>"));
        assert!(with_groups("the <dial up", &groups).is_err());
    }

    #[test]
    fn a_mistake_is_named_with_its_line() {
        let kit = crate::kit::Kit::default();
        let wrong = |phrases: &str| {
            let text = super::super::lexicon::GrammarText { phrases, ..super::super::lexicon::ENGLISH };
            Lexicon::new(&text, &kit).map(|_| ()).unwrap_err().to_string()
        };
        assert!(wrong("same: ditto\n\nnonsense: x").starts_with("phrases.txt, line 3: 'nonsense'"));
        assert!(wrong("same: the <others>").starts_with("phrases.txt, line 1: no group <others>"));
        assert!(wrong("same: {nothing}").contains("no slot {nothing}"));
    }
}
