//! A text read by the learned reader and put together.

use super::super::compose::{compose, parsed};
use super::super::note::Language;
use super::super::statement::Reading;
use super::super::term::find;
use super::super::token::fold;
use super::Reader;

impl Language {
    pub fn told(&self, reader: &Reader, text: &str, unsure_below: f64, number: usize, explain: bool) -> String {
        let folded = fold(text);
        let tokens = self.lexicon().tokens(&folded);
        let found = find(&folded, &tokens, self.lexicon());
        let r = Reading { folded: &folded, text, tokens: &tokens, found: &found, lexicon: self.lexicon(), kit: self.kit() };
        let read = reader.read(&r);
        let said = compose(&r, &read);
        let out = parsed(&said, &r, unsure_below, number).to_string();
        if !explain {
            return out;
        }
        let mut s = format!("{text}\n");
        for (i, m) in read.mentions.iter().enumerate() {
            let words = &text[tokens[m.tokens.start].span.start..tokens[m.tokens.end - 1].span.end];
            let p: Vec<String> = read.together[i].iter().map(|p| format!("{p:.2}")).collect();
            s += &format!("  {words:?} {:?} {:.2} st {:.2?} opens {:.2} run {:.2} doubt {:.2} roll {:.2} {:?} [{}]\n", m.role, m.sure, m.standing, m.opens, m.ends_run, m.doubted, m.of_roll, m.effect, p.join(" "));
        }
        s + &out + "\n"
    }
}
