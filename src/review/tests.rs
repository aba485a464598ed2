//! From a settled trip to questions, and from answers to edits and back.

use crate::edits::{Column, Edits, Fate};
use crate::exposure::{Aperture, ExposureIndex, Shutter};
use crate::facts::{Confidence, Field, Flag, FrameNumber, Moment, Reading, RollName, Settled, Source};
use crate::kit::Kit;
use crate::roll::{Frame, Quote, Roll, Status, Trip};

use super::answer::{Refused, Standing};
use super::undo::Step;
use super::*;

const KIT: &str = "[[camera]]\nname = \"six\"\nformat = \"6x6\"\nshutters = [\"1s\", \"1/500\"]\n\
    [[lens]]\nname = \"80\"\nfocal_mm = 80\n[[lens]]\nname = \"150\"\nfocal_mm = 150\n";
const UNSURE: f64 = 0.8;

fn kit() -> Kit {
    Kit::parse(KIT).unwrap()
}

fn n(number: u16) -> FrameNumber {
    FrameNumber::new(number)
}

fn seven() -> RollName {
    RollName::new("7").unwrap()
}

fn sure<T>(value: T) -> Option<Settled<T>> {
    Some(Settled::from_one(value, Confidence::new(0.95), Source::Voice))
}

fn frame(number: u16) -> Frame {
    Frame {
        camera: sure("six".to_owned()),
        lens: sure("80".to_owned()),
        focal_mm: sure(80.0),
        ei: sure(ExposureIndex::new(100).unwrap()),
        shutter: sure(Shutter::fraction(250)),
        aperture: sure(Aperture::new(16.0).unwrap()),
        light: sure("full sun".to_owned()),
        scans: vec![format!("R7/{number:02}.jpg")],
        said: vec![Quote::new(
            format!("frame {number}"),
            Moment { clip: "a.wav".into(), at_s: f64::from(number) * 5.0, end_s: f64::from(number) * 5.0 + 2.0 },
        )],
        ..Frame::blank(n(number), Status::Ok)
    }
}

/// Six frames: 1 with an unsure shutter, 2 with an unsure lens that 3 and 4 carry on, 4 slow, 5 in
/// conflict with the edge and matched on weak evidence, 6 perhaps none.
fn evidence() -> Trip {
    let mut frames: Vec<Frame> = (1..=6).map(frame).collect();
    frames[0].shutter = Some(Settled {
        confidence: Confidence::new(0.6),
        others: vec![Reading::new(Shutter::fraction(25), Confidence::new(0.3), Source::Voice)],
        ..Settled::from_one(Shutter::fraction(125), Confidence::SURE, Source::Voice)
    });
    frames[0].flag(Flag::Unsure(Field::Shutter), "60 % sure");
    frames[0].said[0].text = "frame 1, two bracketed eight".into();
    frames[0].said[0].unread = vec![9..12, 23..28];
    for f in &mut frames[1..4] {
        f.lens.as_mut().unwrap().confidence = Confidence::new(0.5);
        f.flag(Flag::Unsure(Field::Lens), "50 % sure");
    }
    for f in &mut frames[2..4] {
        f.flag(Flag::Carried(Field::Lens), "as frame 2");
    }
    frames[3].flag(Flag::Shake, "slow");
    frames[4].aperture.as_mut().unwrap().others =
        vec![Reading::new(Aperture::new(11.0).unwrap(), Confidence::new(0.4), Source::Rebate)];
    frames[4].flag(Flag::Conflict(Field::Aperture), "said f/16, the film edge has f/11");
    frames[4].flag(Flag::GuessScan, "may not belong together");
    frames[4].scan_confidence = 0.7;
    frames[5].flag(Flag::Unsure(Field::Frame), "it may be none");
    frames[5].number_confidence = 0.5;
    let roll = Roll { camera: Some("six".into()), capacity: Some(12), frames, ..Roll::blank(seven()) };
    Trip { name: "Quay".into(), rolls: vec![roll] }
}

/// A review without disk.
struct Desk {
    evidence: Trip,
    edits: Edits,
    trip: Trip,
}

impl Desk {
    fn new() -> Self {
        let mut desk = Self { evidence: evidence(), edits: Edits::default(), trip: evidence() };
        desk.settle();
        desk
    }

    fn settle(&mut self) {
        self.trip = self.evidence.clone();
        let told = self.edits.apply(&mut self.trip, &kit(), UNSURE);
        assert_eq!(told, []);
    }

    fn answer(&mut self, answer: &Answer) -> Result<Step, Refused> {
        let before = self.edits.clone();
        let numbered = self.edits.numbered(&self.evidence, &kit(), UNSURE);
        let standing = Standing { evidence: &numbered, settled: &self.trip, kit: &kit(), unsure_below: UNSURE };
        answer.lay(&mut self.edits, standing)?;
        let step = Step::between(&before, &self.edits);
        self.settle();
        Ok(step)
    }

    fn ids(&self) -> Vec<String> {
        doubts(&self.trip).iter().map(Doubt::id).collect()
    }

    fn question(&self, id: &str) -> Question {
        let all = doubts(&self.trip);
        let doubt = all.iter().find(|d| d.id() == id).unwrap_or_else(|| panic!("no {id} in {:?}", self.ids()));
        ask(doubt, &self.trip, &kit(), UNSURE).unwrap()
    }

    fn frame(&self, number: &str) -> &Frame {
        let number = number.parse().unwrap();
        self.trip.rolls[0].frames.iter().find(|f| f.number == number).unwrap_or_else(|| panic!("no frame {number}"))
    }

    fn numbers(&self) -> String {
        let all: Vec<String> = self.trip.rolls[0].frames.iter().map(|f| f.number.to_string()).collect();
        all.join(" ")
    }

    fn number(&mut self, frame: u16, fate: Fate, close: bool) -> Result<Step, Refused> {
        self.answer(&Answer::Number { roll: seven(), frame: n(frame), fate, close })
    }

    fn set(&mut self, frame: u16, column: Column, text: &str) -> Result<Step, Refused> {
        self.answer(&Answer::Set { roll: seven(), frame: n(frame), column, text: text.into(), onward: Vec::new() })
    }
}

#[test]
fn doubts_stand_gravest_first() {
    let expected = [
        "7/5/aperture",
        "7/1/shutter",
        "7/2/lens",
        "7/3/lens",
        "7/4/lens",
        "7/6/frame",
        "7/5/scan",
        "7/1/unread",
        "7/4/held",
    ];
    assert_eq!(Desk::new().ids(), expected);
}

#[test]
fn a_reading_says_what_it_would_mean() {
    // Full sun is EV 15 at ISO 100 by the daylight rule: f/16 at 1/100 or so. 1/25 gives 5 times 1/125: 2.32 stops.
    let question = Desk::new().question("7/1/shutter");
    let told: Vec<(&str, &str, Option<u32>)> =
        question.choices[..2].iter().map(|c| (c.label.as_str(), c.means.as_str(), c.share)).collect();
    assert_eq!(told[0], ("1/125", "on the rule for full sun", Some(60)));
    assert_eq!(told[1].0, "1/25");
    assert!(told[1].1.starts_with("2⅓ stops over for full sun; six has no 1/25"), "{told:?}");
    assert_eq!(told[1].2, Some(40), "all readings add up to a hundred");
    assert!(question.choices[0].stands && !question.choices[1].stands);
}

#[test]
fn an_answer_goes_on_to_the_frames_that_hang_on_it() {
    let mut desk = Desk::new();
    let question = desk.question("7/2/lens");
    assert_eq!(question.onward, [n(3), n(4)]);
    let other = question.choices.iter().find(|c| c.label == "150").unwrap().answer.clone();
    desk.answer(&other).unwrap();
    assert!(desk.ids().iter().all(|id| !id.ends_with("lens")), "{:?}", desk.ids());
    for number in ["2", "3", "4"] {
        let lens = desk.frame(number).lens.as_ref().unwrap();
        assert_eq!((lens.value.as_str(), &lens.sources[..]), ("150", &[Source::Edit][..]));
        assert_eq!(desk.frame(number).focal_mm.as_ref().unwrap().value, 150.0);
    }
    // Or it stays with the one.
    let mut alone = Desk::new();
    alone.set(2, Column::Lens, "150").unwrap();
    assert_eq!(alone.frame("3").lens.as_ref().unwrap().value, "80");
    assert!(alone.ids().contains(&"7/3/lens".to_owned()));
}

#[test]
fn right_as_it_is_holds_until_another_reading_speaks() {
    let mut desk = Desk::new();
    let right = desk.question("7/1/shutter").right;
    desk.answer(&right).unwrap();
    assert!(!desk.ids().contains(&"7/1/shutter".to_owned()));
    let shutter = desk.frame("1").shutter.as_ref().unwrap();
    assert_eq!((shutter.value, shutter.confidence), (Shutter::fraction(125), Confidence::SURE));
    assert!(shutter.sources.contains(&Source::Edit));
    // The same evidence, weighed a little otherwise, changes nothing.
    desk.evidence.rolls[0].frames[0].shutter.as_mut().unwrap().confidence = Confidence::new(0.61);
    desk.settle();
    assert!(!desk.ids().contains(&"7/1/shutter".to_owned()));
    let other = Reading::new(Shutter::fraction(30), Confidence::new(0.1), Source::Rebate);
    desk.evidence.rolls[0].frames[0].shutter.as_mut().unwrap().others.push(other);
    desk.settle();
    assert!(desk.ids().contains(&"7/1/shutter".to_owned()), "new evidence asks anew");
}

#[test]
fn what_is_left_open_stays_flagged_and_is_not_asked_again() {
    let mut desk = Desk::new();
    let open = desk.question("7/5/aperture").open;
    desk.answer(&open).unwrap();
    assert!(!desk.ids().contains(&"7/5/aperture".to_owned()));
    let frame = desk.frame("5");
    assert!(frame.flags.contains(&Flag::Conflict(Field::Aperture)), "never silently sure");
    assert_eq!(frame.looked_at, [Flag::Conflict(Field::Aperture)]);
    assert_eq!(desk.edits.all[0].to_string(), "roll 7 frame 5: conflict:aperture looked at and left open");
}

#[test]
fn a_value_chosen_that_stands_already_is_found_right() {
    let mut desk = Desk::new();
    desk.set(5, Column::Aperture, "f/16").unwrap();
    assert!(!desk.ids().contains(&"7/5/aperture".to_owned()));
    desk.set(5, Column::Aperture, "11").unwrap();
    assert_eq!(desk.frame("5").aperture.as_ref().unwrap().value, Aperture::new(11.0).unwrap());
    assert_eq!(
        desk.set(5, Column::Aperture, "wide"),
        Err(Refused::Unread("'wide' is no f-number: write such as 5.6".to_owned()))
    );
}

#[test]
fn frames_are_renumbered_shifted_inserted_joined_and_taken_out() {
    let mut desk = Desk::new();
    assert_eq!(desk.number(2, Fate::Number(n(3)), false), Err(Refused::Taken(seven(), n(3))));
    desk.number(6, Fate::Number(n(9)), false).unwrap();
    assert_eq!(desk.numbers(), "1 2 3 4 5 9");
    assert!(!desk.ids().contains(&"7/9/frame".to_owned()), "a number given by hand is no longer in doubt");
    desk.answer(&Answer::Shift { roll: seven(), frame: n(4), by: 2 }).unwrap();
    assert_eq!(desk.numbers(), "1 2 3 6 7 11");
    assert_eq!(desk.frame("6").said[0].text, "frame 4");
    desk.answer(&Answer::Insert { roll: seven(), frame: n(2) }).unwrap();
    assert_eq!(desk.numbers(), "1 2 3 4 6 7 11", "the gap takes the shift up");
    assert_eq!((desk.frame("2").said.len(), desk.frame("3").said[0].text.as_str()), (0, "frame 2"));
    desk.number(2, Fate::Out, true).unwrap();
    assert_eq!(desk.numbers(), "1 2 3 6 7 11", "what was made by hand goes without a trace");
    desk.set(6, Column::Remark, "mine").unwrap();
    desk.number(6, Fate::With(n(3)), true).unwrap();
    assert_eq!(desk.numbers(), "1 2 3 6 11");
    let both = desk.frame("3");
    assert_eq!((both.said.len(), both.scans.len(), both.remark.as_deref()), (2, 2, Some("mine")));
    desk.number(1, Fate::Out, false).unwrap();
    assert_eq!(desk.numbers(), "2 3 6 11");
    let roll = &desk.trip.rolls[0];
    assert_eq!(roll.other_scans, ["R7/01.jpg"]);
    assert!(roll.remarks[0].contains("\"frame 1, two bracketed eight\""), "nothing said is lost: {:?}", roll.remarks);
    assert_eq!(desk.answer(&Answer::Shift { roll: seven(), frame: n(2), by: -5 }), Err(Refused::OffTheFilm));
}

#[test]
fn edits_go_with_the_frame_and_undo_brings_all_back() {
    let mut desk = Desk::new();
    desk.set(4, Column::Subject, "the crane").unwrap();
    let (before, trip) = (desk.edits.clone(), desk.trip.clone());
    let steps = [
        desk.answer(&Answer::Insert { roll: seven(), frame: n(3) }).unwrap(),
        desk.set(5, Column::Shutter, "1/60").unwrap(),
        desk.number(1, Fate::With(n(2)), true).unwrap(),
        desk.answer(&Answer::Fact { roll: seven(), column: Column::Film, text: "Merrow 100".into() }).unwrap(),
    ];
    let crane = desk.trip.rolls[0].frames.iter().find(|f| f.subject.is_some()).unwrap();
    assert_eq!((crane.number, crane.said[0].text.as_str()), (n(4), "frame 4"));
    assert!(desk.trip.rolls[0].frames.iter().all(|f| f.film.as_ref().unwrap().value == "Merrow 100"));
    for step in steps.iter().rev() {
        assert!(step.back(&mut desk.edits));
        desk.settle();
    }
    let cells = |e: &Edits| e.all.iter().map(ToString::to_string).collect::<Vec<_>>();
    assert_eq!(cells(&desk.edits), cells(&before));
    assert_eq!(desk.trip, trip);
}

#[test]
fn a_number_given_by_hand_stays_with_its_words() {
    let mut desk = Desk::new();
    desk.number(3, Fate::Number(n(8)), false).unwrap();
    // New evidence counts one more before it.
    for f in &mut desk.evidence.rolls[0].frames {
        f.number = f.number.next();
    }
    desk.settle();
    assert_eq!(desk.frame("8").said[0].text, "frame 3");
}

#[test]
fn a_scan_changes_places_with_the_other() {
    let mut desk = Desk::new();
    let question = desk.question("7/5/scan");
    let other = question.choices.iter().find(|c| c.label == "04.jpg").unwrap().answer.clone();
    desk.answer(&other).unwrap();
    assert_eq!(
        (&desk.frame("5").scans, &desk.frame("4").scans),
        (&vec!["R7/04.jpg".to_owned()], &vec!["R7/05.jpg".to_owned()])
    );
    assert!(!desk.ids().contains(&"7/5/scan".to_owned()), "{:?}", desk.ids());
}

#[test]
fn a_scan_taken_from_its_frame_is_not_lost_and_can_be_given_to_another() {
    let mut desk = Desk::new();
    desk.set(2, Column::Scan, "").unwrap();
    assert_eq!(desk.trip.rolls[0].other_scans, ["R7/02.jpg"]);
    let (from, to) = (None, n(3));
    let answer = Answer::MoveScan { roll: seven(), scan: "R7/02.jpg".into(), from, to };
    desk.answer(&answer).unwrap();
    assert_eq!(desk.frame("3").scans, ["R7/02.jpg"]);
    assert_eq!(desk.trip.rolls[0].other_scans, ["R7/03.jpg"], "the one that stood there shows no frame now");
}

#[test]
fn a_roll_has_another_name() {
    let mut desk = Desk::new();
    desk.set(2, Column::Remark, "keep").unwrap();
    desk.answer(&Answer::Fact { roll: seven(), column: Column::Roll, text: "Quay B".into() }).unwrap();
    assert_eq!(desk.trip.rolls[0].name.as_str(), "Quay B");
    assert_eq!(desk.frame("2").remark.as_deref(), Some("keep"));
    let back = Answer::Fact { roll: RollName::new("Quay B").unwrap(), column: Column::Roll, text: "7".into() };
    desk.answer(&back).unwrap();
    assert_eq!(desk.edits.all.len(), 1, "{:?}", desk.edits.all);
}

#[test]
fn every_doubt_can_be_settled_with_one_answer() {
    let mut desk = Desk::new();
    let mut answers = 0;
    while let Some(id) = desk.ids().first().cloned() {
        let question = desk.question(&id);
        let answer = if answers % 2 == 0 { question.right } else { question.open };
        desk.answer(&answer).unwrap();
        assert!(!desk.ids().contains(&id), "{id} is still asked");
        answers += 1;
    }
    assert_eq!(answers, 7, "two of nine went along with another");
}

#[test]
fn what_is_chosen_in_spite_of_the_rule_is_not_asked_again() {
    let mut desk = Desk::new();
    let held = desk.question("7/4/held");
    let by_hand = held.choices.iter().find(|c| c.label == "handheld").unwrap();
    desk.answer(&by_hand.answer.clone()).unwrap();
    assert!(!desk.ids().contains(&"7/4/held".to_owned()), "{:?}", desk.ids());
    desk.set(1, Column::Shutter, "1/1000").unwrap();
    assert!(!desk.ids().contains(&"7/1/shutter".to_owned()), "{:?}", desk.ids());
    desk.set(1, Column::Aperture, "1.4").unwrap();
    assert!(desk.frame("1").flags.contains(&Flag::Odd(Field::Shutter)), "new doubt of another field is told");
}

#[test]
fn what_hangs_on_a_number_is_asked_with_it_and_keeps_its_own_doubt() {
    let mut desk = Desk::new();
    let six = &mut desk.evidence.rolls[0].frames[5];
    for (field, others) in [(Field::Shutter, 0.05), (Field::Aperture, 0.45)] {
        six.flag(Flag::Unsure(field), crate::roll::HANGS_ON_NUMBER);
        if field == Field::Shutter {
            let s = six.shutter.as_mut().unwrap();
            s.confidence = Confidence::new(0.5);
            s.others = vec![Reading::new(Shutter::fraction(8), Confidence::new(others), Source::Voice)];
        } else {
            let s = six.aperture.as_mut().unwrap();
            s.confidence = Confidence::new(0.5);
            s.others = vec![Reading::new(Aperture::new(1.6).unwrap(), Confidence::new(others), Source::Voice)];
        }
    }
    desk.settle();
    let of_six = |desk: &Desk| desk.ids().into_iter().filter(|id| id.starts_with("7/6/")).collect::<Vec<_>>();
    assert_eq!(of_six(&desk), ["7/6/frame"]);
    desk.answer(&desk.question("7/6/frame").right).unwrap();
    // The shutter had 5 % against it, the aperture 45 %.
    assert_eq!(of_six(&desk), ["7/6/aperture"], "a doubt of its own is not lost");
    assert_eq!(desk.frame("6").shutter.as_ref().unwrap().confidence, Confidence::new(0.95));
}

#[test]
fn words_that_were_not_used_are_asked_about_once() {
    let mut desk = Desk::new();
    let question = desk.question("7/1/unread");
    assert_eq!(question.why, ["said and not used: two, eight"]);
    desk.answer(&question.choices[0].answer.clone()).unwrap();
    assert_eq!(desk.frame("1").remark.as_deref(), Some("two, eight"));
    assert!(!desk.ids().contains(&"7/1/unread".to_owned()));
    let quote = &mut desk.evidence.rolls[0].frames[0].said[0];
    quote.unread.push(13..22);
    desk.settle();
    assert!(desk.ids().contains(&"7/1/unread".to_owned()), "other words ask anew");
}

#[test]
fn settling_the_roll_concerned_comes_to_the_same_as_settling_all() {
    let mut trip = evidence();
    let mut other = trip.rolls[0].clone();
    other.name = RollName::new("8").unwrap();
    trip.rolls.push(other);
    let mut before = Edits::default();
    before.put(crate::edits::Edit::new(&RollName::new("8").unwrap(), n(2), Column::Subject, "", "the quay"));
    let mut after = before.clone();
    after.put(crate::edits::Edit::new(&seven(), n(1), Column::Shutter, "1/125", "1/60"));
    after.put(crate::edits::Edit::new(&seven(), n(5), Column::Aperture, "16", "11"));
    assert_eq!(after.only_roll_changed(&before), Some(seven()));
    let mut all = trip.clone();
    let mut whole = after.clone();
    whole.apply(&mut all, &kit(), UNSURE);
    let mut one = Trip { name: trip.name.clone(), rolls: vec![trip.rolls[0].clone()] };
    let mut mine = after.of_roll(&seven());
    mine.apply(&mut one, &kit(), UNSURE);
    assert_eq!(one.rolls[0], all.rolls[0]);
    let mut merged = after.clone();
    merged.take_roll(&seven(), mine);
    let of_seven = |e: &Edits| e.all.iter().filter(|e| e.roll == seven()).cloned().collect::<Vec<_>>();
    assert_eq!(of_seven(&merged), of_seven(&whole));
    // What reaches beyond a roll is settled with all.
    let mut scan = after.clone();
    scan.put(crate::edits::Edit::new(&seven(), n(1), Column::Scan, "R7/01.jpg", "R7/02.jpg"));
    assert_eq!(scan.only_roll_changed(&after), None);
}
