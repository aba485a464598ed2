//! Every roll its own name: tables, pages and the archive know a roll by it.

use std::collections::HashSet;

use crate::facts::RollName;

use super::row::Roll;

/// Gives a later roll a letter behind its name, `b` first, where an earlier one has the name
/// already: two rolls that nobody named, or two scan folders called alike. What was done is remarked.
pub fn distinct_names(rolls: &mut [Roll]) {
    let mut taken: HashSet<String> = rolls.iter().map(|r| r.name.key().to_owned()).collect();
    let mut met = HashSet::new();
    for roll in rolls {
        if met.insert(roll.name.key().to_owned()) {
            continue;
        }
        let letters = ('b'..='z').map(String::from);
        let longer = (2..).map(|n| format!("b{n}"));
        let name = letters
            .chain(longer)
            .filter_map(|behind| RollName::new(&format!("{}-{behind}", roll.name)).ok())
            .find(|name| !taken.contains(name.key()));
        let Some(name) = name else { continue };
        roll.remarks.push(format!("called {name} here: another roll is called {}", roll.name));
        taken.insert(name.key().to_owned());
        roll.name = name;
    }
}
