//! One sidecar a scan.

use std::collections::HashMap;

use crate::roll::{Frame, Roll};

use super::super::names::safe_stem;
use super::{packet, properties};

/// The sidecars of a roll: names below the output folder, and their bytes. A
/// sidecar is called as its scan without the extension; where two scans would
/// share one, as the scan with it.
pub fn sidecars(roll: &Roll) -> Vec<(String, Vec<u8>)> {
    let scans: Vec<(&Frame, &str)> =
        roll.frames.iter().flat_map(|f| f.scans.iter().map(move |s| (f, s.as_str()))).collect();
    let folder = safe_stem(roll.name.as_str());
    names(scans.iter().map(|(_, s)| *s))
        .into_iter()
        .zip(&scans)
        .map(|(name, (frame, _))| (format!("sidecars/{folder}/{name}.xmp"), packet(&properties(&roll.name, frame))))
        .collect()
}

/// Names that no two different scans share, whatever the case on the disk: the
/// shortest of stem, file name and whole path that is a scan's own.
fn names<'a>(scans: impl Iterator<Item = &'a str>) -> Vec<String> {
    let scans: Vec<&str> = scans.collect();
    let file = |s: &str| s.rsplit('/').next().unwrap_or(s).to_owned();
    let stem = |s: &str| {
        let name = file(s);
        name.rsplit_once('.').map_or(name.clone(), |(stem, _)| stem.to_owned())
    };
    let forms = |s: &str| [safe_stem(&stem(s)), safe_stem(&file(s)), safe_stem(s), safe_stem(&format!("{s}\0"))];
    let mut uses: HashMap<String, Vec<&str>> = HashMap::new();
    for scan in &scans {
        for form in forms(scan) {
            let users = uses.entry(form.to_lowercase()).or_default();
            if !users.contains(scan) {
                users.push(scan);
            }
        }
    }
    let own = |scan: &str| forms(scan).into_iter().find(|f| uses[&f.to_lowercase()].len() == 1);
    scans.iter().map(|scan| own(scan).unwrap_or_else(|| safe_stem(&format!("{scan}\0\0")))).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_scans_share_a_sidecar() {
        let scans =
            ["R1/0001.tif", "R1/0001.jpg", "R1/0002.tif", "R1/sub/0002.tif", "R1/a.tif", "R1/A.TIF", "R1/0003.tif"];
        let got = names(scans.into_iter());
        assert_eq!((got[0].as_str(), got[1].as_str(), got[6].as_str()), ("0001.tif", "0001.jpg", "0003"));
        let mut folded: Vec<String> = got.iter().map(|n| n.to_lowercase()).collect();
        folded.sort();
        folded.dedup();
        assert_eq!(folded.len(), scans.len(), "{got:?}");
    }
}
