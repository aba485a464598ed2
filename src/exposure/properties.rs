//! What must hold of any settings.

use proptest::prelude::*;

use super::*;

fn shutter() -> impl Strategy<Value = Shutter> {
    prop_oneof![
        (1.0f64..100_000.0).prop_filter_map("a fraction", |n| Speed::nth(n).map(Shutter::Timed)),
        (0.001f64..86_400.0).prop_filter_map("seconds", |s| Speed::seconds_mark(s).map(Shutter::Timed)),
        (0.001f64..86_400.0).prop_map(Shutter::bulb),
        (0.001f64..86_400.0).prop_map(Shutter::time),
    ]
}

fn aperture() -> impl Strategy<Value = Aperture> {
    (0.5f64..1024.0).prop_filter_map("an f-number", Aperture::new)
}

fn settings() -> impl Strategy<Value = Settings> {
    (shutter(), aperture(), 1u32..100_000, 0.0f64..12.0).prop_map(|(shutter, aperture, ei, lost)| Settings {
        shutter,
        aperture,
        ei: ExposureIndex::new(ei).expect("in range"),
        lost: Stops::new(lost),
    })
}

proptest! {
    #[test]
    fn what_is_printed_reads_back(s in shutter(), a in aperture()) {
        prop_assert_eq!(s.to_string().parse::<Shutter>(), Ok(s));
        prop_assert_eq!(a.to_string().parse::<Aperture>(), Ok(a));
    }

    #[test]
    fn foreign_text_never_panics(text in "\\PC{0,12}") {
        let _ = text.parse::<Shutter>();
        let _ = text.parse::<Aperture>();
        let _ = text.parse::<Light>();
    }

    #[test]
    fn more_than_is_the_opposite_of_less_than(a in settings(), b in settings()) {
        let (there, back) = (a.over(&b).unwrap().get(), b.over(&a).unwrap().get());
        prop_assert!((there + back).abs() < 1e-9);
        prop_assert_eq!(a.over(&a), Some(Stops::ZERO));
    }

    #[test]
    fn an_equivalent_gives_the_same_light(a in settings(), b in settings()) {
        for step in [ShutterStep::Full, ShutterStep::Half, ShutterStep::Third] {
            if let Some((speed, off)) = a.equivalent(b, &step.marks(), Stops::new(0.5)) {
                let found = Settings { shutter: Shutter::Timed(speed), ..b };
                prop_assert!((found.over(&a).unwrap().get() - off.get()).abs() < 1e-9);
                prop_assert!(off.size() <= Stops::new(0.5));
            }
        }
    }

    #[test]
    fn a_long_time_is_never_made_shorter(t in 0.001f64..50_000.0, p in 1.0f64..1.6) {
        let (t, film) = (Seconds::new(t).unwrap(), Reciprocity::new(p).unwrap());
        let Some(longer) = film.stretched(t) else {
            prop_assert!(t.get().powf(p) > 8_640_000.0);
            return Ok(());
        };
        prop_assert!(longer >= t);
        prop_assert!((film.metered(longer).get() / t.get() - 1.0).abs() < 1e-9);
    }

    #[test]
    fn the_distance_from_the_rule_grows_with_the_light(ev in -10.0f64..20.0, more in 0.0f64..5.0) {
        for &light in Light::ALL {
            let scene = ExposureValue::new(ev);
            prop_assert!(light.over_rule(scene.opened_by(Stops::new(more))) >= light.over_rule(scene));
        }
    }
}
