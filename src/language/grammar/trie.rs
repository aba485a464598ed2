//! Phrases in one tree, matched token by token.

use rustc_hash::FxHashMap;

use super::class::Class;

/// What may stand in a phrase besides words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Slot {
    /// A number; `true` takes words that only sound like one.
    Number(bool),
    /// An ordinal: `sixtieth`, `125th`.
    Ordinal,
    /// A whole number below 1000, said as one.
    Integer(bool),
    /// An f-number: `5.6`, `five six`, `56`.
    FNumber(bool),
    /// Stops, with the word.
    Stops,
    /// Stops, or a bare amount.
    Amount,
    /// A time.
    Duration,
    /// A lens of the kit.
    Lens,
    /// A filter of the kit.
    Filter,
    /// A film of the kit.
    Film,
    /// A camera of the kit.
    Camera,
    /// A roll's name.
    RollName(bool),
    /// A number of the kit's own wording, such as 120 in "the one twenty".
    Exactly(u32),
}

/// One step of a phrase.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Step {
    /// A word, a mark or a digit string, by its number.
    Word(u32),
    /// A slot.
    Slot(Slot),
}

/// What a phrase means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meaning {
    /// Its class.
    pub class: Class,
    /// An index into the lexicon's values; [`NO_VALUE`] for none.
    pub value: u32,
    /// How sure the phrase means this, 0 to 1.
    pub weight: f32,
}

/// No value.
pub const NO_VALUE: u32 = u32::MAX;

#[derive(Debug, Default, Clone)]
struct Node {
    words: FxHashMap<u32, u32>,
    slots: Vec<(Slot, u32)>,
    meanings: Vec<Meaning>,
}

/// The tree of phrases.
#[derive(Debug, Clone)]
pub struct Trie {
    nodes: Vec<Node>,
}

impl Default for Trie {
    fn default() -> Self {
        Self { nodes: vec![Node::default()] }
    }
}

impl Trie {
    /// The root.
    pub const ROOT: u32 = 0;

    /// Adds a phrase; adding it again with the same class and value keeps the higher weight.
    pub fn add(&mut self, steps: &[Step], meaning: Meaning) {
        let mut at = Self::ROOT;
        for step in steps {
            let next = self.nodes.len() as u32;
            let node = &mut self.nodes[at as usize];
            let child = match *step {
                Step::Word(w) => *node.words.entry(w).or_insert(next),
                Step::Slot(s) => match node.slots.iter().find(|(slot, _)| *slot == s) {
                    Some((_, child)) => *child,
                    None => {
                        node.slots.push((s, next));
                        next
                    }
                },
            };
            if child == next {
                self.nodes.push(Node::default());
            }
            at = child;
        }
        let meanings = &mut self.nodes[at as usize].meanings;
        match meanings.iter_mut().find(|m| m.class == meaning.class && m.value == meaning.value) {
            Some(m) => m.weight = m.weight.max(meaning.weight),
            None => meanings.push(meaning),
        }
    }

    /// The node after this word.
    pub fn word(&self, node: u32, word: u32) -> Option<u32> {
        self.nodes[node as usize].words.get(&word).copied()
    }

    /// Slots that may follow.
    pub fn slots(&self, node: u32) -> &[(Slot, u32)] {
        &self.nodes[node as usize].slots
    }

    /// What the phrase up to here means.
    pub fn meanings(&self, node: u32) -> &[Meaning] {
        &self.nodes[node as usize].meanings
    }
}
