//! `roll.toml`: how rolls were developed, as the photographer typed it.
//!
//! ```toml
//! [[roll]]
//! name = "7"
//! developer = "Halcyon"
//! dilution = "1+50"
//! time = "11 min"
//! temperature = "20 °C"
//! date = 2025-09-20
//! sleeve = "14"
//! ```

use serde::Deserialize;
use toml::Value;

use crate::facts::RollName;
use crate::plan::Plan;
use crate::report::Report;
use crate::roll::{Developed, Roll};

/// What a key of a roll may be.
const KEYS: &str = "name, developer, dilution, time, temperature, agitation, date, sleeve, remark";

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    #[serde(default)]
    roll: Vec<toml::Table>,
}

/// Lays what `roll.toml` says over what was said of developing. What is typed counts; where both speak and differ, a
/// remark says so. What cannot be used is reported.
pub(super) fn typed(plan: &Plan, rolls: &mut [Roll], report: &mut Report) {
    let Some(path) = &plan.layout.developed else { return };
    let shown = plan.within(path);
    let read = std::fs::read_to_string(path).map_err(|e| e.to_string());
    let file = read.and_then(|text| toml::from_str::<File>(&text).map_err(|e| e.to_string().trim_end().to_owned()));
    let file = match file {
        Ok(file) => file,
        Err(why) => return report.unusable(shown, why, "write each roll as [[roll]] with its name"),
    };
    for table in file.roll {
        match one(table) {
            Ok((name, typed)) => match rolls.iter_mut().find(|r| r.name == name) {
                Some(roll) => lay(roll, typed),
                None => report.but_for(shown, format_args!("there is no roll {name}"), "name it as its table is named"),
            },
            Err(why) => report.but_for(shown, why, ""),
        }
    }
}

fn lay(roll: &mut Roll, typed: Developed) {
    let said = std::mem::replace(&mut roll.developed, typed);
    let apart = roll.developed.fill(&said);
    if !apart.is_empty() {
        let heard: Vec<String> =
            said.parts().into_iter().filter(|(n, _)| apart.contains(n)).map(|(n, p)| format!("{n} {p}")).collect();
        roll.remarks.push(format!("roll.toml and what was said of developing differ; said was {}", heard.join(", ")));
    }
}

/// One roll's table: its name, and texts, numbers or dates as they stand.
fn one(table: toml::Table) -> Result<(RollName, Developed), String> {
    let text = |key: &str, value: &Value| match value {
        Value::String(text) => Ok(text.clone()),
        Value::Integer(n) => Ok(n.to_string()),
        Value::Float(n) => Ok(n.to_string()),
        Value::Datetime(when) => Ok(when.to_string()),
        _ => Err(format!("{key} is neither a text, a number nor a date")),
    };
    let name = table.get("name").ok_or("a [[roll]] without a name: give it its roll's")?;
    let name = RollName::new(&text("name", name)?).map_err(|why| why.to_string())?;
    let mut developed = Developed::default();
    for (key, value) in table.iter().filter(|(key, _)| *key != "name") {
        let slot = match key.as_str() {
            "developer" => &mut developed.developer,
            "dilution" => &mut developed.dilution,
            "time" => &mut developed.time,
            "temperature" => &mut developed.temperature,
            "agitation" => &mut developed.agitation,
            "date" => &mut developed.date,
            "sleeve" => &mut developed.sleeve,
            "remark" => &mut developed.remark,
            _ => return Err(format!("roll {name}: no key '{key}': expected {KEYS}")),
        };
        *slot = Some(text(key, value)?);
    }
    Ok((name, developed))
}
