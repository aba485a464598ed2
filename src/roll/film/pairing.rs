//! Which notes, scans and edge prints are of one roll.

use crate::facts::RollName;
use crate::rebate::RebateRoll;
use crate::scans::ScanFolder;

use crate::roll::record::NotedRoll;

/// Notes, scan folder and edge prints of one roll, by their indices.
pub type RollParts = (Option<usize>, Option<usize>, Option<usize>);

/// Sorts notes, scans and edge prints into rolls: by name first; what has no
/// namesake by how many frames there are, and in order. Everything stands in
/// one roll exactly.
pub fn pair_rolls(noted: &[NotedRoll], folders: &[ScanFolder], rebates: &[RebateRoll]) -> Vec<RollParts> {
    let mut rolls: Vec<RollParts> = (0..noted.len()).map(|i| (Some(i), None, None)).collect();
    let mut folders_left: Vec<usize> = (0..folders.len()).collect();
    let mut rebates_left: Vec<usize> = (0..rebates.len()).collect();
    for roll in &mut rolls {
        let Some(name) = roll.0.and_then(|i| noted[i].name.as_ref()) else { continue };
        roll.1 = take(&mut folders_left, |&j| folders[j].roll == *name);
        roll.2 = take(&mut rebates_left, |&j| rebates[j].roll == *name);
    }
    // A roll that nobody named is named by the folder that its notes lie in.
    for roll in &mut rolls {
        let Some(name) = roll.0.map(|i| &noted[i]).filter(|n| n.name.is_none()).and_then(notes_folder) else {
            continue;
        };
        roll.1 = take(&mut folders_left, |&j| folders[j].roll == name);
        roll.2 = take(&mut rebates_left, |&j| rebates[j].roll == name);
    }
    // Notes without a namesake among the scans take what is left, in order.
    for roll in &mut rolls {
        let (Some(i), None) = (roll.0, roll.1) else { continue };
        if noted[i].name.is_none() || folders_left.len() == 1 && noted.len() == 1 {
            let size = noted[i].frames.len();
            roll.1 = nearest(&mut folders_left, |&j| folders[j].pictures().len().abs_diff(size));
            let name = roll.1.map(|j| &folders[j].roll);
            roll.2 = roll.2.or_else(|| take(&mut rebates_left, |&j| Some(&rebates[j].roll) == name));
        }
    }
    for j in folders_left {
        let print = take(&mut rebates_left, |&k| rebates[k].roll == folders[j].roll);
        rolls.push((None, Some(j), print));
    }
    rolls.extend(rebates_left.into_iter().map(|k| (None, None, Some(k))));
    rolls
}

/// The folder in which all notes of a roll lie, as a roll's name.
fn notes_folder(roll: &NotedRoll) -> Option<RollName> {
    let mut folders = roll.frames.iter().flat_map(|f| &f.frame.said).map(|q| q.at.clip.rsplit_once('/').map(|c| c.0));
    let first = folders.next()??;
    let last = first.rsplit_once('/').map_or(first, |(_, last)| last);
    folders.all(|f| f == Some(first)).then(|| RollName::new(last).ok())?
}

fn take(left: &mut Vec<usize>, wanted: impl Fn(&usize) -> bool) -> Option<usize> {
    left.iter().position(wanted).map(|at| left.remove(at))
}

/// The first of those with the least distance.
fn nearest(left: &mut Vec<usize>, distance: impl Fn(&usize) -> usize) -> Option<usize> {
    let at = (0..left.len()).min_by_key(|&at| distance(&left[at]))?;
    Some(left.remove(at))
}
