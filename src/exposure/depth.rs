//! Depth of field, where a distance is known. Thin lens; distances from the lens.

use super::{Aperture, Millimetres};

/// What is acceptably sharp.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Depth {
    /// Nearest sharp distance.
    pub near: Millimetres,
    /// Farthest sharp distance; none is infinity.
    pub far: Option<Millimetres>,
}

/// The largest blur taken as sharp: a 1500th of the diagonal. A convention; 0.029 mm
/// on 24 × 36 mm, where 0.025 to 0.033 are in use.
pub fn circle_of_confusion(diagonal: Millimetres) -> Millimetres {
    Millimetres::new(diagonal.get() / 1500.0).unwrap_or(diagonal)
}

/// Focused here, all from half this distance to infinity is sharp: `f² / (N c) + f`.
/// Source: encyclopaedia "Hyperfocal distance", definition 1.
pub fn hyperfocal(focal: Millimetres, aperture: Aperture, circle: Millimetres) -> Option<Millimetres> {
    let f = focal.get();
    Millimetres::new(f * f / (aperture.number() * circle.get()) + f)
}

/// Sharp from where to where when focused at `distance`. None within the focal length.
/// Source: encyclopaedia "Depth of field": `near = u (H − f) / (H + u − 2f)`, `far = u (H − f) / (H − u)`.
pub fn depth_of_field(
    distance: Millimetres,
    focal: Millimetres,
    aperture: Aperture,
    circle: Millimetres,
) -> Option<Depth> {
    let (u, f) = (distance.get(), focal.get());
    if u <= f {
        return None;
    }
    let h = hyperfocal(focal, aperture, circle)?.get();
    let near = Millimetres::new(u * (h - f) / (h + u - 2.0 * f))?;
    let far = if u < h { Millimetres::new(u * (h - f) / (h - u)) } else { None };
    Some(Depth { near, far })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(l: f64) -> Millimetres {
        Millimetres::new(l).unwrap()
    }

    #[test]
    fn fifty_millimetres_at_f8() {
        // Encyclopaedia "Hyperfocal distance", worked example (from memory):
        // 50 mm at f/8 with 0.03 mm gives 10 467 mm; sharp from half of it.
        let (f, n, c) = (mm(50.0), Aperture::new(8.0).unwrap(), mm(0.03));
        let h = hyperfocal(f, n, c).unwrap();
        assert!((h.get() - 10_467.0).abs() < 1.0, "{h:?}");
        let at_h = depth_of_field(h, f, n, c).unwrap();
        assert!((at_h.near.get() - h.get() / 2.0).abs() < 1e-6 && at_h.far.is_none());
        assert!(depth_of_field(f, f, n, c).is_none());
    }

    #[test]
    fn the_blur_at_both_ends_is_the_circle() {
        // Independent of the formulas above: trace the blur of a point at each end.
        // blur = (f / N) · |v − v'| / v', v the image distance from 1/f = 1/u + 1/v.
        let image = |u: f64, f: f64| 1.0 / (1.0 / f - 1.0 / u);
        for (f, n, u) in [(80.0, 5.6, 3000.0), (150.0, 22.0, 1200.0), (35.0, 2.8, 1500.0)] {
            let c = circle_of_confusion(mm(79.2));
            let d = depth_of_field(mm(u), mm(f), Aperture::new(n).unwrap(), c).unwrap();
            assert!(d.near.get() < u && d.far.unwrap().get() > u);
            let film = image(u, f);
            for end in [d.near.get(), d.far.unwrap().get()] {
                let sharp = image(end, f);
                let blur = f / n * (film - sharp).abs() / sharp;
                assert!((blur / c.get() - 1.0).abs() < 1e-6, "{f} {n} {u} {end}: {blur}");
            }
        }
    }
}
