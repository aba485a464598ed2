//! The sheet for the lab, as a page that prints.

use maud::html;

use crate::roll::Trip;

use super::super::cautions;
use super::super::lab::{BEFORE, COLUMNS, asked};
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
            section aria-labelledby="before" {
                h2 id="before" { "Before developing" }
                p { (BEFORE) }
                p { (cautions::CHEMICALS) }
            }
        }
    };
    page_of("of-lab", &format!("Lab sheet: {}", trip.name), &main)
}
