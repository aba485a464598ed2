//! Everything known of a roll, one JSON object a line.
//!
//! The first line is the roll, the others its frames. A frame's line has the
//! columns of the table under their names (numbers as numbers, lists as lists,
//! unknown absent) and, under `record`, the whole record: every reading with
//! its confidence and source, the alternatives, reasons and quotes.

use serde_json::{Map, Value, json};

use crate::facts::RollName;
use crate::roll::{Frame, Roll};

use super::row::{NUMBERS, cells};

/// The roll's lines.
pub fn lines(roll: &Roll) -> Vec<u8> {
    let mut head = json!({
        "kind": "roll",
        "roll": roll.name,
        "camera": roll.camera,
        "film": roll.film,
        "ei": roll.ei,
        "process": roll.process,
        "capacity": roll.capacity,
        "frames": roll.frames.len(),
        "other_scans": roll.other_scans,
        "remarks": roll.remarks,
    });
    if !roll.developed.is_empty() {
        head["developed"] = json!(roll.developed);
    }
    let frames = roll.frames.iter().map(|frame| {
        let mut object = fields(&roll.name, frame);
        object.insert("kind".into(), "frame".into());
        object.insert("record".into(), serde_json::to_value(frame).expect("a frame has only text keys"));
        Value::Object(object)
    });
    std::iter::once(head).chain(frames).flat_map(|line| format!("{line}\n").into_bytes()).collect()
}

/// A frame's columns as typed JSON.
pub fn fields(roll: &RollName, frame: &Frame) -> Map<String, Value> {
    cells(roll, frame)
        .into_iter()
        .filter(|(_, text)| !text.is_empty())
        .map(|(column, text)| {
            let value = match column {
                "scan" => json!(frame.scans),
                "flags" => json!(frame.flags),
                "source" => json!(frame.sources()),
                "rating" => json!(frame.rating),
                c if NUMBERS.contains(&c) => number(&text),
                _ => Value::String(text),
            };
            (column.to_owned(), value)
        })
        .collect()
}

/// A decimal as a JSON number: whole where it is whole.
fn number(text: &str) -> Value {
    match (text.parse::<i64>(), text.parse::<f64>()) {
        (Ok(n), _) => n.into(),
        (_, Ok(n)) => n.into(),
        _ => Value::String(text.to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::harbour_roll;
    use super::*;

    #[test]
    fn every_line_is_an_object_and_frames_read_back() {
        let roll = harbour_roll();
        let text = String::from_utf8(lines(&roll)).unwrap();
        let objects: Vec<Value> = text.lines().map(|l| serde_json::from_str(l).unwrap()).collect();
        assert_eq!(objects.len(), 1 + roll.frames.len());
        assert_eq!((objects[0]["kind"].as_str(), objects[0]["frames"].as_u64()), (Some("roll"), Some(3)));
        for (object, frame) in objects[1..].iter().zip(&roll.frames) {
            let back: Frame = serde_json::from_value(object["record"].clone()).unwrap();
            assert_eq!(&back, frame);
        }
        let first = &objects[1];
        assert_eq!((first["shutter"].as_str(), first["aperture"].as_f64()), (Some("1/125"), Some(5.6)));
        assert_eq!(first["flags"], json!(["unsure:shutter"]));
        assert_eq!(first.get("lens"), None);
    }
}
