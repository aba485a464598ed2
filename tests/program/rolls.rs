//! Which roll a frame is on, from what was said over a day.

use crate::builder::{TWO_CAMERAS, Trip};

#[test]
fn a_roll_named_late_is_the_one_whose_count_goes_on() {
    Trip::new()
        .kit(TWO_CAMERAS)
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

#[test]
fn a_frame_that_is_there_already_is_the_other_cameras_where_it_comes_next() {
    Trip::new()
        .kit(TWO_CAMERAS)
        .note("01.txt", "Roll 1 in the square one. Frame one, 1/60 at f8. Frame two, 1/60 at f11.")
        .note(
            "02.txt",
            "Roll 2 in the small one. Frame one, 1/250 at f4. Frame two, 1/250 at f2. Frame three, 1/30 at f2.",
        )
        .note("03.txt", "Frame three, 1/125 at f8.")
        .ingest()
        .exits(0)
        .row("1", "3", &[("camera", "square"), ("shutter", "1/125"), ("flags", "unsure:frame")])
        .row("2", "3", &[("camera", "small"), ("shutter", "1/30"), ("flags", "")]);
}

#[test]
fn going_back_to_a_frame_changes_what_is_said_and_nothing_else() {
    let kit = "[[camera]]\nname = \"square\"\nformat = \"6x6\"\n[[lens]]\nname = \"60\"\nfocal_mm = 60\n\
               [[lens]]\nname = \"100\"\nfocal_mm = 100\n";
    Trip::new()
        .kit(kit)
        .note("01.txt", "Roll 4, frame seven on the 60, 1/125 at f16.")
        .note("02.txt", "Frame eight, the 100, half a second at f22.")
        .note("03.txt", "Going back to frame seven, I said f16, it was f11.")
        .ingest()
        .exits(0)
        .row("4", "7", &[("lens", "60"), ("shutter", "1/125"), ("aperture", "11")])
        .row("4", "8", &[("lens", "100"), ("shutter", "1/2"), ("aperture", "22")]);
}

#[test]
fn a_film_misheard_where_its_roll_is_announced_is_named_in_doubt() {
    let kit = "[[camera]]\nname = \"square\"\nformat = \"6x6\"\n[[film]]\nname = \"Lantern Pan 125\"\nsaid = [\"lantern pan\"]\niso = 125\n\
               [[film]]\nname = \"Quoin Chrome 100\"\niso = 100\n";
    Trip::new()
        .kit(kit)
        .note("01.txt", "New roll, roll 4, Leonard Pan, rated at 100. Frame one, 1/125 at f8.")
        .note("02.txt", "New roll, roll 5, loaded it by the ferry. Frame one, 1/125 at f8.")
        .ingest()
        .exits(0)
        .row("4", "1", &[("film", "Lantern Pan 125"), ("ei", "100"), ("flags", "unsure:film")])
        .row("5", "1", &[("film", "")]);
}

const ONE_CAMERA: &str = "[[camera]]\nname = \"square\"\nsaid = [\"the square one\"]\nformat = \"6x6\"\n\
                          [[film]]\nname = \"Quoin 400\"\nsaid = [\"quoin\"]\niso = 400\n";

#[test]
fn what_sums_a_roll_up_is_of_every_frame_that_was_told_without() {
    Trip::new()
        .kit(ONE_CAMERA)
        .note("01.txt", "Roll 3, quoin in the square one. Frame one, the mast, at f16. Frame two, the quay, at f11.")
        .note("02.txt", "Frame three, the crane, a sixtieth at f8. Frame four, the tug, f16, and that's it finished. All of those were at one twenty-fifth, except the crane.")
        .ingest()
        .exits(0)
        .row("3", "1", &[("shutter", "1/125"), ("aperture", "16")])
        .row("3", "2", &[("shutter", "1/125"), ("aperture", "11")])
        .row("3", "3", &[("shutter", "1/60"), ("aperture", "8")])
        .row("3", "4", &[("shutter", "1/125"), ("aperture", "16")]);
}

#[test]
fn backs_called_by_their_colour_are_rolls_and_no_filters() {
    let kit = "[[camera]]\nname = \"square\"\nsaid = [\"the square one\"]\nformat = \"6x6\"\n\
               [[filter]]\nname = \"yellow\"\nstops = 1\n";
    Trip::new()
        .kit(kit)
        .note("01.txt", "Roll 48 is in the blue back, roll 49 is in the red back.")
        .note("02.txt", "Blue back on. Frame one, the saddler's shop, 1/125 at f8.")
        .note("03.txt", "Red back on. Frame one, a row of awls, 1/2 at f16.")
        .ingest()
        .exits(0)
        .row("48", "1", &[("shutter", "1/125"), ("filter", "")])
        .row("49", "1", &[("shutter", "1/2"), ("filter", "")]);
}
