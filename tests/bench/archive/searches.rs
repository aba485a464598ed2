//! Searches as a photographer might type them, common ones and rare ones.

use super::made_up::{Dice, FILTERS, LENSES, WORDS, film, word};
use spooltalk::exposure::Light;

type Make = fn(&mut Dice) -> String;

fn spoken(d: &mut Dice) -> String {
    word(d.uneven(WORDS))
}

fn rare(d: &mut Dice) -> String {
    word(WORDS / 2 + d.below(WORDS / 2))
}

fn a_film(d: &mut Dice) -> String {
    format!("film:\"{}\"", film(d.uneven(24)))
}

fn a_light(d: &mut Dice) -> String {
    format!("light:\"{}\"", Light::ALL[d.uneven(Light::ALL.len())])
}

fn a_month(d: &mut Dice) -> String {
    format!("taken:{}-{:02}", 1975 + d.below(50), 1 + d.below(12))
}

fn a_place(d: &mut Dice) -> String {
    format!("near:{:.2},{:.2},{}km", 50.0 + d.share() * 14.0, -12.0 + d.share() * 20.0, [1, 5, 20][d.below(3)])
}

const KINDS: [(&str, Make); 24] = [
    ("one word", spoken),
    ("one rare word", rare),
    ("two words", |d| format!("{} {}", spoken(d), spoken(d))),
    ("three words", |d| format!("{} {} {}", spoken(d), spoken(d), spoken(d))),
    ("beginning of a word", |d| format!("{}*", &spoken(d)[..5])),
    ("word in subject", |d| format!("subject:{}", spoken(d))),
    ("filter and word", |d| format!("{} filter {}", ["orange", "yellow", "red", "green"][d.below(4)], spoken(d))),
    ("word not word", |d| format!("{} -{}", spoken(d), spoken(d))),
    ("word, aperture, ev", |d| format!("{} aperture<=5.6 ev>12", spoken(d))),
    ("word and month", |d| format!("{} {}", spoken(d), a_month(d))),
    ("word and place", |d| format!("{} {}", spoken(d), a_place(d))),
    ("film, aperture, ev", |d| format!("{} aperture<=5.6 ev>12", a_film(d))),
    ("film, light, lens", |d| format!("{} {} lens={}", a_film(d), a_light(d), "80")),
    ("film, filter, focal, shutter", |d| {
        let (filter, lens) = (FILTERS[d.below(8)], LENSES[d.below(10)]);
        format!("{} filter={filter} focal:{} shutter>=1/60", a_film(d), lens.1)
    }),
    ("month", a_month),
    ("months and light", |d| {
        let year = 1975 + d.below(49);
        format!("taken:{year}-06..{}-07 {}", year + 1, a_light(d))
    }),
    ("place", a_place),
    ("place and film", |d| format!("{} {}", a_place(d), a_film(d))),
    ("flag", |d| format!("flag:{}", ["unsure", "shake", "conflict:aperture", "carried:filter"][d.below(4)])),
    ("flag and film", |d| format!("flag:{} {}", ["unsure:shutter", "shake", "conflict"][d.below(3)], a_film(d))),
    ("wasted", |d| format!("status:wasted {}", a_film(d))),
    ("rating", |d| format!("rating>={} {}", 3 + d.below(3), a_light(d))),
    ("trip and roll", |d| format!("trip:{} roll:{}", word(d.below(256)), 1 + d.below(10))),
    ("extremes", |d| {
        [
            "shutter>=30s ev>9",
            "aperture:1.4",
            "ev<-4",
            "shutter:1/8000 light:fog",
            "comp>3",
            "frame:36 roll:10 rating:5",
        ][d.below(6)]
        .to_owned()
    }),
];

/// `n` searches, every kind as often.
pub fn all(n: usize) -> Vec<(&'static str, String)> {
    let mut dice = Dice::new(77);
    (0..n).map(|i| (KINDS[i % KINDS.len()].0, KINDS[i % KINDS.len()].1(&mut dice))).collect()
}
