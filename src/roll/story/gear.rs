//! Glass and filters: on a camera from here on, until they are changed.

use crate::facts::{Field, Flag};
use crate::kit::{Filters, Focal, Lens};
use crate::language::compose::{Fact, FactSaid};
use crate::roll::record::Frame;

use super::state::State;
use super::sure::plain;

impl State<'_> {
    /// Puts a lens or a filter on a camera.
    pub fn mount(&mut self, said: &FactSaid, camera: Option<usize>) {
        self.last_gear = Some(said.clone());
        match &said.fact {
            Fact::Glass { lens, focal, as_said } => {
                // A number alone is a focal length first, so that of the zoom in use.
                let lens = focal.and_then(|mm| self.lens_for(mm, camera)).or(*lens);
                let camera = self.camera_for(lens, camera);
                // No camera was named yet: that of the lens is spoken of.
                if let (Some(c), None) = (camera, self.camera) {
                    self.turn(c);
                }
                let kit = self.kit;
                let known = lens.map(|l| &kit.lenses[l]);
                let mm = focal.or_else(|| match known?.focal {
                    Focal::Prime(mm) => Some(mm),
                    Focal::Zoom(..) => None,
                });
                let hand = self.hand(camera);
                match (known, as_said) {
                    (Some(lens), _) => hand.lens = Some(plain(lens.name.clone(), said.sure)),
                    (None, Some(name)) => hand.lens = Some(plain(name.clone(), said.sure)),
                    (None, None) => {}
                }
                hand.focal = mm.map(|mm| plain(mm, said.sure));
            }
            Fact::FilterOn(names, known) => {
                let hand = self.hand(camera);
                hand.filter = Some(plain(Filters(names.clone()), said.sure));
                hand.filter_odd = !known;
            }
            Fact::FilterOff => {
                let hand = self.hand(camera);
                hand.filter = Some(plain(Filters(Vec::new()), said.sure));
                hand.filter_odd = false;
            }
            _ => {}
        }
    }

    /// The camera that a lens is put on: the one spoken of, or the only one that it fits.
    fn camera_for(&self, lens: Option<usize>, camera: Option<usize>) -> Option<usize> {
        let Some(lens) = lens.map(|l| &self.kit.lenses[l]) else { return camera };
        if self.body(camera).is_some_and(|c| lens.fits(&c.name)) {
            return camera;
        }
        let mut able = (0..self.kit.cameras.len()).filter(|c| lens.fits(&self.kit.cameras[*c].name));
        match (able.next(), able.next()) {
            (Some(one), None) => Some(one),
            _ => camera,
        }
    }

    /// The lens that a focal length means: the zoom in use, the prime, or the only one able.
    fn lens_for(&self, mm: f64, camera: Option<usize>) -> Option<usize> {
        let body = self.body(camera);
        let able = |l: &Lens| body.is_none_or(|c| l.fits(&c.name)) && l.focal.covers(mm);
        let on = self.hands.get(&camera).and_then(|h| h.lens.as_ref());
        let position = |f: &dyn Fn(&Lens) -> bool| self.kit.lenses.iter().position(f);
        position(&|l| on.is_some_and(|on| on.value == l.name) && l.focal.is_zoom() && able(l))
            .or_else(|| position(&|l| !l.focal.is_zoom() && able(l)))
            .or_else(|| position(&|l| able(l)).filter(|_| self.kit.lenses.iter().filter(|l| able(l)).count() == 1))
    }

    /// What is on the camera goes into a frame; what was not said of it is carried.
    pub fn dress(&mut self, frame: &mut Frame, camera: Option<usize>, own_glass: bool, own_filter: bool) {
        let hand = self.hand(camera).clone();
        frame.lens = hand.lens;
        frame.focal_mm = hand.focal;
        frame.filter = hand.filter;
        if frame.lens.is_none() && frame.focal_mm.is_none() {
            self.only_lens(frame, camera);
        } else if !own_glass && frame.focal_mm.is_some() {
            frame.flag(Flag::Carried(Field::FocalMm), "not said for this frame");
        }
        if frame.filter.is_some() && !own_filter {
            frame.flag(Flag::Carried(Field::Filter), "not said for this frame");
        }
        if hand.filter_odd {
            frame.flag(Flag::Odd(Field::Filter), "no filter of the kit is called so");
        }
        let kit = self.kit;
        if frame.lens.as_ref().is_some_and(|l| kit.lens(&l.value).is_none()) {
            frame.flag(Flag::Odd(Field::Lens), "no lens of the kit is called so");
        }
    }

    /// A camera with one lens has that.
    fn only_lens(&self, frame: &mut Frame, camera: Option<usize>) {
        let Some(body) = self.body(camera) else { return };
        let mut fits = self.kit.lenses.iter().filter(|l| l.fits(&body.name));
        if let (Some(lens), None) = (fits.next(), fits.next()) {
            frame.lens = Some(plain(lens.name.clone(), 1.0));
            if let Focal::Prime(mm) = lens.focal {
                frame.focal_mm = Some(plain(mm, 1.0));
            }
        }
    }
}
