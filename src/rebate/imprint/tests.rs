//! Pictures drawn from seeds, at three levels, read back and counted.
//! Seeds below 10 000 test; those from 10 000 on were for fitting the weights.

use super::draw::{Level, scene};
use super::figures::{Truth, measured, pattern};
use super::glyphs::Face;
use super::picture::{ImprintPicture, read_picture};
use crate::kit::Kit;
use crate::rebate::draw::Dice;
use crate::rebate::line::LineReader;
use crate::rebate::made_up::KIT;

/// Least share of values that must be right, by level.
const BARS: [(Level, f64); 3] = [(Level::Clean, 0.98), (Level::Middle, 0.98), (Level::Hard, 0.90)];
/// Least share in faces never seen, in the small sample.
const HELD_BAR: f64 = 0.9;
/// Most of them that may be wrong and given for sure.
const SILENT: f64 = 0.01;

/// A small sample of what `scripts/imprint-figures` measures at length.
#[test]
fn strips_read_at_every_level() {
    for (level, bar) in BARS {
        let figures = measured(level, 0..6, 3, &Face::ALL);
        let total = figures.total();
        assert!(
            total.right_share() >= bar && total.silent_share() <= SILENT,
            "{}\n{figures}\n{}",
            level.name(),
            figures.told.join("")
        );
    }
}

/// The same in faces of which the program has no shapes, on film that curls.
#[test]
fn strips_in_faces_never_seen_are_read_and_nothing_is_silently_wrong() {
    for level in [Level::Clean, Level::Middle] {
        let figures = measured(level, 0..3, 2, &Face::HELD);
        let total = figures.total();
        let told = format!("{}\n{figures}\n{}", level.name(), figures.told.join(""));
        assert!(total.right_share() >= HELD_BAR && total.silent == 0, "{told}");
    }
}

#[test]
fn a_strip_tells_how_it_lies() {
    let kit = Kit::parse(KIT).unwrap();
    let texts = ["1/125 F8 80MM ISO100".to_owned(), "1/60 F11 80MM ISO100".to_owned()];
    for seed in [2, 5] {
        let scene = scene(&texts, Face::Dots, Level::Clean, &mut Dice::new(seed));
        let reader = LineReader::new(&pattern(Face::Dots).parse().unwrap(), &kit, kit.cameras.first(), false);
        let read = read_picture(&scene.picture, &[reader], "strip.png");
        let apertures: Vec<String> =
            read.lines.iter().filter_map(|l| l.frame.aperture.as_ref()).map(|a| a.value.to_string()).collect();
        assert_eq!(apertures, ["8", "11"], "in the film's order, seed {seed}");
        assert_eq!((read.negative, read.mirrored), (scene.negative, scene.mirrored), "seed {seed}");
        assert!(read.lines.iter().all(|l| l.letters.iter().all(|(_, p)| (0.0..=1.0).contains(p))));
        assert!(read.lines.iter().all(|l| l.frame.image.as_deref() == Some("strip.png")));
    }
}

#[test]
fn pictures_without_a_print_give_nothing() {
    let kit = Kit::parse(KIT).unwrap();
    let readers = [LineReader::new(&pattern(Face::Dots).parse().unwrap(), &kit, kit.cameras.first(), false)];
    for picture in [image::GrayImage::new(1, 1), image::GrayImage::new(300, 200)] {
        assert_eq!(read_picture(&picture, &readers, "a.png"), ImprintPicture::default());
    }
    let mut dice = Dice::new(7);
    let noise = image::GrayImage::from_fn(400, 200, |_, _| image::Luma([dice.between(0.0, 255.0) as u8]));
    assert_eq!(read_picture(&noise, &readers, "a.png").lines, []);
}

/// The bars that this room is held to. Seeds from FROM on, COUNT a level; with HELD=1 or 2, in faces no look was made of.
#[test]
#[ignore = "long; scripts/imprint-figures runs it"]
fn figures() {
    let setting = |name: &str, usual: u64| std::env::var(name).ok().and_then(|t| t.parse().ok()).unwrap_or(usual);
    let (from, count) = (setting("FROM", 0), setting("COUNT", 60));
    let faces: &[Face] = match setting("HELD", 0) {
        0 => &Face::ALL,
        1 => &Face::HELD,
        _ => &Face::HELD_LATER,
    };
    let measured = BARS.map(|(level, bar)| {
        let figures = measured(level, from..from + count, 4, faces);
        println!("{}\n{}\n{figures}\n", figures.told.join(""), level.name());
        (figures.total(), bar)
    });
    for (total, bar) in measured {
        assert!(total.right_share() >= bar && total.silent_share() <= SILENT, "{total}");
    }
}

#[test]
#[ignore = "writes pictures into the folder named by OUT; scripts/make-imprints runs it"]
fn write_pictures() {
    let Some(folder) = std::env::var_os("OUT").map(std::path::PathBuf::from) else { panic!("OUT names no folder") };
    let kit = Kit::parse(KIT).unwrap();
    let count: u64 = std::env::var("COUNT").ok().and_then(|t| t.parse().ok()).unwrap_or(5);
    for level in Level::ALL {
        for seed in 0..count {
            let mut dice = Dice::new(seed * 3 + level as u64);
            let face = *dice.of(&Face::ALL);
            let frames = 1 + dice.below(4);
            let texts: Vec<String> = (0..frames).map(|_| Truth::thrown(face, &kit, &mut dice).text).collect();
            let name = folder.join(format!("{}-{seed:03}", level.name()));
            scene(&texts, face, level, &mut dice).picture.save(name.with_extension("png")).unwrap();
            std::fs::write(name.with_extension("txt"), texts.join("\n") + "\n").unwrap();
        }
    }
}
