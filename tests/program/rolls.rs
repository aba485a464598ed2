//! Which roll a frame is on, from what was said over a day.

use crate::builder::Trip;

#[test]
fn a_roll_named_late_is_the_one_whose_count_goes_on() {
    let kit = "[[camera]]\nname = \"square\"\nsaid = [\"the square one\"]\nformat = \"6x6\"\n\
               [[camera]]\nname = \"small\"\nsaid = [\"the small one\"]\nformat = \"135\"\n";
    Trip::new()
        .kit(kit)
        .note("01.txt", "In the square one. Frame one, 1/60 at f8. Frame two, 1/60 at f11.")
        .note("02.txt", "Frame three, 1/125 at f8. Frame four, 1/30 at f8.")
        .note("03.txt", "Roll A4 in the small one. Frame one, 1/250 at f4.")
        .note("04.txt", "Roll 12, frame 5. 1/15 at f16.")
        .ingest()
        .exits(0)
        .row("12", "2", &[("camera", "square"), ("aperture", "11")])
        .row("12", "5", &[("camera", "square"), ("shutter", "1/15")])
        .row("A4", "1", &[("camera", "small"), ("shutter", "1/250")]);
}
