//! The sheet for the lab, as a page that prints.

use maud::{Markup, html};

use crate::roll::{Roll, Trip};

use super::super::cautions;
use super::super::lab::{BEFORE, COLUMNS, asked, developed, prints};
use super::parts::{foreign, page_of};

/// `lab.html`.
pub fn lab_html(trip: &Trip) -> Vec<u8> {
    let remarks = trip.rolls.iter().flat_map(|r| r.remarks.iter().map(move |text| (r, text)));
    let main = html! {
        header {
            nav aria-label="Trip" { a href="trip.html" { "‹ " (foreign(&trip.name)) } }
            h1 { "Lab sheet" }
            p.facts { span { (foreign(&trip.name)) } }
        }
        main {
            table.lab {
                thead { tr { @for column in COLUMNS { th scope="col" { (column) } } } }
                tbody {
                    @for roll in &trip.rolls {
                        @let [name, rest @ ..] = asked(roll);
                        tr { th scope="row" { (foreign(&name)) } @for cell in &rest { td { (foreign(cell)) } } }
                    }
                }
            }
            ul { @for (roll, text) in remarks { li { "Roll " (foreign(roll.name.as_str())) ": " (foreign(text)) } } }
            (listed("developed", "Developed", &developed(trip)))
            (listed("prints", "Prints wanted", &prints(trip)))
            section aria-labelledby="before" {
                h2 id="before" { "Before developing" }
                p { (BEFORE) }
                p { (cautions::CHEMICALS) }
            }
        }
    };
    page_of("of-lab", &format!("Lab sheet: {}", trip.name), &main)
}

/// A heading and a line a roll; nothing where there is none.
fn listed(id: &str, title: &str, items: &[(&Roll, String)]) -> Markup {
    html! {
        @if !items.is_empty() {
            section aria-labelledby=(id) {
                h2 id=(id) { (title) }
                ul { @for (roll, text) in items { li { "Roll " (foreign(roll.name.as_str())) ": " (foreign(text)) } } }
            }
        }
    }
}
