//! Notes and scans of made-up rolls, matched.

mod simulator;

use simulator::{Faults, Naming, run};

#[test]
fn the_bars_hold_and_the_table_is_printed() {
    println!("drops extras wrong unsaid | right  wrong flagged  needless | numbers right");
    let mut at_the_bar = None;
    for (drops, extras, wrong, unsaid) in [
        (0.0, 0.0, 0.0, 0.0),
        (0.05, 0.0, 0.0, 0.0),
        (0.1, 0.0, 0.0, 0.0),
        (0.1, 0.05, 0.0, 0.0),
        (0.1, 0.05, 0.05, 0.0),
        (0.1, 0.05, 0.05, 0.2),
        (0.1, 0.05, 0.05, 0.5),
        (0.2, 0.1, 0.1, 0.0),
        (0.2, 0.1, 0.1, 0.5),
        (0.05, 0.0, 0.0, 1.0),
    ] {
        let o = run(60, 1, Faults { drops, extras, wrong, unsaid, ..Faults::NONE });
        println!(
            "{drops:5} {extras:6} {wrong:5} {unsaid:6} | {:.4}  {:13.3}  {:8.3} | {:.4}",
            o.accuracy(),
            o.flagged(),
            o.needless(),
            o.numbers_right as f64 / o.numbers as f64
        );
        if (drops, extras, wrong, unsaid) == (0.1, 0.05, 0.05, 0.0) {
            at_the_bar = Some(o);
        }
    }
    for naming in [Naming::Film, Naming::Count, Naming::Offset, Naming::Backwards] {
        let faults = Faults { drops: 0.1, extras: 0.05, wrong: 0.05, naming: Some(naming), ..Faults::NONE };
        let o = run(40, 2, faults);
        println!("{naming:?}: {:.4} {:.3} {:.3}", o.accuracy(), o.flagged(), o.needless());
    }
    let o = at_the_bar.expect("the row of the bar is in the table");
    assert!(o.accuracy() >= 0.97, "{o:?}");
    assert!(o.flagged() >= 0.90, "{o:?}");
}

#[test]
#[ignore = "for looking at single rolls"]
fn show() {
    for seed in 0..30 {
        let faults = Faults { drops: 0.1, extras: 0.05, wrong: 0.05, ..Faults::NONE };
        let s = simulator::roll(10_000 + seed, faults);
        let m = simulator::matched(&s);
        let mut text = String::new();
        for f in &m.frames {
            let words = f.said.first().map_or("-", |q| &q.text);
            let truth = s.truth.get(words).map_or("?".into(), |t| t.join("|"));
            if words != "-" && truth != f.scans.join("|") {
                text += &format!("{}: {words} = {} ({:.2}) {truth}; ", f.number, f.scans.join("|"), f.scan_confidence);
            }
        }
        if !text.is_empty() {
            let said = |n: &spooltalk::roll::NotedFrame| n.said_numbers.first().map_or("-".into(), |s| s.0.to_string());
            let said: Vec<String> = s.noted.frames.iter().map(said).collect();
            let files: Vec<&str> = s.folder.scans.iter().map(|s| s.path.as_str()).collect();
            println!(
                "BAD {seed} reversed {} said {} files {}\n{text}\n",
                s.noted.scans_reversed,
                said.join(" "),
                files.join(" ")
            );
        }
    }
}
