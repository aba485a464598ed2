//! What is on the camera of a frame, as its words tell.

use super::pick::weighed;
use super::said::FrameSaid;
use super::sure::Sure;
use super::text::Text;
use crate::kit::Focal;
use crate::language::readings::{Gear, Opening};
use crate::language::tag::Role;

/// A lens of another camera, as a part of one that fits: adapters exist. A choice.
const OTHER_MOUNT: f64 = 0.2;

impl Text<'_> {
    /// The one camera that a text names.
    pub(super) fn only_camera(&self) -> Option<usize> {
        let mut all: Vec<usize> = (0..self.read.mentions.len())
            .filter(|i| self.mention(*i).role == Role::Camera && self.mention(*i).done())
            .filter_map(|i| self.values.camera(&self.mention(i).tokens).first().map(|w| w.value))
            .collect();
        all.dedup();
        match all[..] {
            [one] => Some(one),
            _ if self.r.kit.cameras.len() == 1 => Some(0),
            _ => None,
        }
    }

    /// "Wide open" on a lens that is not known here.
    pub(super) fn end_said(&self, column: usize, used: &mut [bool]) -> Option<Sure<bool>> {
        let mut all = self.of(Role::Aperture, column, true).into_iter().rev();
        all.find_map(|i| {
            let tokens = &self.mention(i).tokens;
            let smallest = match self.values.aperture(tokens)? {
                Opening::Widest => false,
                Opening::Smallest => true,
                Opening::Number(_) => return None,
            };
            used[i] = true;
            Some(Sure::new(smallest, self.sure(i, Some(column)), tokens.clone()))
        })
    }

    pub(super) fn glass(&self, column: usize, camera: Option<usize>, frame: &mut FrameSaid, used: &mut [bool]) {
        let kit = self.r.kit;
        for i in self.of(Role::Lens, column, true) {
            let tokens = self.mention(i).tokens.clone();
            let sure = self.sure(i, Some(column));
            let glass = self.values.glass(&tokens);
            let fits = |l: usize| match camera {
                Some(c) if !kit.lenses[l].fits(&kit.cameras[c].name) => OTHER_MOUNT,
                _ => 1.0,
            };
            if let Some(lens) = weighed(glass.lens, fits, sure, tokens.clone()) {
                frame.lens = Some(lens);
            } else if glass.focal.is_empty() && glass.end.is_none() && frame.lens.is_none() {
                frame.lens_as_said = Some(Sure::new(self.values.thing_words(&tokens), sure, tokens.clone()));
            }
            if let Some(focal) =
                weighed(glass.focal, |mm| Gear { kit, camera: None, lens: None }.focal(mm), sure, tokens.clone())
            {
                frame.focal = Some(focal);
            }
            if let (Some(long), Some(zoom)) = (glass.end, self.zoom(frame, camera)) {
                let Focal::Zoom(a, b) = kit.lenses[zoom].focal else { continue };
                frame.focal = Some(Sure::new(if long { b } else { a }, sure, tokens.clone()));
                frame.lens.get_or_insert(Sure::new(zoom, sure, tokens));
            }
            used[i] = true;
        }
        match (&frame.lens, &frame.focal) {
            (Some(lens), None) => {
                if let Focal::Prime(mm) = kit.lenses[lens.value].focal {
                    frame.focal =
                        Some(Sure { value: mm, sure: lens.sure, others: Vec::new(), tokens: lens.tokens.clone() });
                }
            }
            // A length that only one lens has names it.
            (None, Some(focal)) => {
                let mut able = (0..kit.lenses.len()).filter(|l| kit.lenses[*l].focal.covers(focal.value));
                if let (Some(one), None) = (able.next(), able.next()) {
                    frame.lens = Some(Sure::new(one, focal.sure, focal.tokens.clone()));
                }
            }
            _ => {}
        }
    }

    /// The zoom that is in hand, or the only one there is.
    fn zoom(&self, frame: &FrameSaid, camera: Option<usize>) -> Option<usize> {
        let kit = self.r.kit;
        if let Some(l) = &frame.lens {
            return kit.lenses[l.value].focal.is_zoom().then_some(l.value);
        }
        let fits = |l: &usize| camera.is_none_or(|c| kit.lenses[*l].fits(&kit.cameras[c].name));
        let mut zooms = (0..kit.lenses.len()).filter(|l| kit.lenses[*l].focal.is_zoom()).filter(fits);
        match (zooms.next(), zooms.next()) {
            (Some(one), None) => Some(one),
            _ => None,
        }
    }

    pub(super) fn filters(&self, column: usize, frame: &mut FrameSaid, used: &mut [bool]) {
        let kit = self.r.kit;
        for i in self.of(Role::Filter, column, true) {
            let tokens = self.mention(i).tokens.clone();
            let sure = self.sure(i, Some(column));
            let ways = self.values.filters_meant(&tokens);
            let bare = self.values.bare(&tokens);
            used[i] = true;
            let mut names = frame.filter.take().map_or_else(Vec::new, |f| f.value);
            let mut surest = sure;
            if bare {
                names.clear();
            } else if ways.is_empty() {
                // "The filter" alone names none.
                if let Some(words) = self.values.name_words(&tokens) {
                    frame.filter_unknown = true;
                    names.push(words);
                } else if names.is_empty() {
                    continue;
                }
            } else {
                for w in ways {
                    let name = &kit.filters[w.value].name;
                    if !names.contains(name) {
                        names.push(name.clone());
                        surest = surest.min(sure * w.weight.min(1.0));
                    }
                }
            }
            frame.filter = Some(Sure::new(names, surest, tokens));
        }
    }
}

/// The lens of a camera that has but one.
pub(super) fn only_lens<'k>(
    kit: &'k crate::kit::Kit,
    camera: Option<&crate::kit::Camera>,
) -> Option<&'k crate::kit::Lens> {
    let camera = camera?;
    let mut fits = kit.lenses.iter().filter(|l| l.fits(&camera.name));
    match (fits.next(), fits.next()) {
        (Some(one), None) => Some(one),
        _ => None,
    }
}
