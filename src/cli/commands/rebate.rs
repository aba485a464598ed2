//! `spooltalk rebate read`: what stands on the film edge, as JSON lines.

use std::path::Path;

use serde_json::{Map, Value, json};

use crate::cli::Exit;
use crate::cli::args::RebateReadArgs;
use crate::cli::failure::Failure;
use crate::cli::places::Places;
use crate::cli::print;
use crate::cli::settle;
use crate::facts::Settled;
use crate::rebate::{EdgeCode, ImprintFrame, is_picture, read_image, read_roll};

/// Reads each file and prints one object a frame. What cannot be read is named.
pub fn rebate_read(args: &RebateReadArgs) -> Result<Exit, Failure> {
    let kit = settle::kit(args.kit.as_deref(), None, &Places::usual())?;
    if let Some(name) = args.camera.as_deref().filter(|name| kit.camera(name).is_none()) {
        return Err(Failure::usage(format_args!("no camera '{name}' in the kit")));
    }
    let (mut out, mut unread, mut read) = (String::new(), false, false);
    for path in &args.files {
        if is_picture(path) {
            match read_image(path, &kit, args.camera.as_deref()) {
                Ok(picture) => {
                    let roll = path.file_stem().unwrap_or_default().to_string_lossy();
                    let frames = picture.imprint.lines.iter().map(|line| object(path, &roll, &line.frame));
                    let codes = picture.edge.codes.iter().map(|code| edge(path, code));
                    let found: Vec<Value> = frames.chain(codes).collect();
                    if found.is_empty() {
                        unread = true;
                        tracing::warn!("{}: neither a print in the kit's pattern nor a film code", path.display());
                    }
                    read |= !found.is_empty();
                    out.extend(found.iter().map(|f| format!("{f}\n")));
                }
                Err(why) => {
                    unread = true;
                    tracing::error!("{}: {why}", path.display());
                }
            }
            continue;
        }
        match read_roll(path, &kit, args.camera.as_deref()) {
            Ok((roll, faults)) => {
                read = true;
                unread |= !faults.is_empty();
                for fault in faults {
                    tracing::warn!("{fault}");
                }
                out.extend(roll.frames.iter().map(|frame| format!("{}\n", object(path, roll.roll.as_str(), frame))));
            }
            Err(why) => {
                unread = true;
                tracing::error!("{}: {why}", path.display());
            }
        }
    }
    print::text(&out)?;
    Ok(match (read, unread) {
        (false, _) => Exit::Nothing,
        (true, true) => Exit::Partly,
        (true, false) => Exit::Done,
    })
}

fn object(path: &Path, roll: &str, frame: &ImprintFrame) -> Value {
    let mut object = Map::new();
    let file = frame.image.clone().unwrap_or_else(|| path.display().to_string());
    object.insert("file".into(), file.into());
    object.insert("roll".into(), roll.into());
    if let Some(number) = frame.number {
        object.insert("frame".into(), number.to_string().into());
    }
    put(&mut object, "shutter", &frame.shutter, |v| v.to_string().into());
    put(&mut object, "aperture", &frame.aperture, |v| v.to_string().into());
    put(&mut object, "focal_mm", &frame.focal_mm, |v| json!(v));
    put(&mut object, "ei", &frame.ei, |v| v.get().into());
    put(&mut object, "comp_stops", &frame.comp, |v| v.get().into());
    if let Some(taken) = frame.taken {
        object.insert("taken".into(), taken.to_string().into());
    }
    object.insert("line".into(), frame.raw.clone().into());
    Value::Object(object)
}

/// A film maker's code.
fn edge(path: &Path, code: &EdgeCode) -> Value {
    let mut object = Map::new();
    object.insert("file".into(), path.file_name().unwrap_or_default().to_string_lossy().into());
    object.insert("edge".into(), code.number.to_string().into());
    object.insert("film_code".into(), code.number.film().into());
    if let Some(number) = code.frame {
        object.insert("frame".into(), number.to_string().into());
    }
    object.insert("x".into(), json!(rounded(code.centre.0)));
    object.insert("y".into(), json!(rounded(code.centre.1)));
    object.insert("confidence".into(), json!(rounded(code.confidence.get())));
    Value::Object(object)
}

/// A value with its confidence and what else it may be, likeliest first.
fn put<T>(object: &mut Map<String, Value>, name: &str, settled: &Option<Settled<T>>, shown: impl Fn(&T) -> Value) {
    if let Some(s) = settled {
        let others: Vec<Value> = s
            .others
            .iter()
            .map(|o| json!({"value": shown(&o.value), "confidence": rounded(o.confidence.get())}))
            .collect();
        let mut value = json!({"value": shown(&s.value), "confidence": rounded(s.confidence.get())});
        if !others.is_empty() {
            value["others"] = others.into();
        }
        object.insert(name.to_owned(), value);
    }
}

fn rounded(p: f64) -> f64 {
    (p * 1000.0).round() / 1000.0
}
