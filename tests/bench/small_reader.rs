//! A reader of the same shape as the learned one and a thousandth of its size, whose weights are made up: what it
//! makes of a text is quick and says nothing. For what is to be tried on far more text than the learned reader reads
//! in a reasonable time, and on marks that it would hardly ever make.

use std::sync::LazyLock;

use serde_json::{Value, json};
use spooltalk::kit::Kit;
use spooltalk::language::{ENGLISH, GrammarText, Language};

/// Sizes of the learned reader, and those in their place: a number for each of its twelve heads, and an eighth of the
/// pieces seen at once, since attention costs their square.
const NARROWED: [(u64, u64); 4] = [(384, 12), (1152, 36), (1536, 24), (256, 32)];
/// What the made-up weights of the heads reach: scores some of which are clear and some are not.
const REACH: f32 = 1.5;

static WEIGHTS: LazyLock<Vec<u8>> = LazyLock::new(|| narrowed(ENGLISH.weights));

/// English, read by the small reader.
pub fn language(kit: Kit) -> Language {
    let text = GrammarText { weights: &WEIGHTS, ..ENGLISH };
    Language::from_text(&text, kit).expect("the same shapes, narrower")
}

/// Weights of the same names and fewer columns, of one layer, made up (`src/language/tag/weights.rs` has the format).
fn narrowed(whole: &[u8]) -> Vec<u8> {
    let length = u32::from_le_bytes(whole[8..12].try_into().expect("four bytes")) as usize;
    let header: Value = serde_json::from_slice(&whole[12..12 + length]).expect("a header");
    let narrow = |n: &Value| {
        let n = n.as_u64().expect("a size");
        NARROWED.iter().find(|(wide, _)| *wide == n).map_or(n, |(_, small)| *small)
    };
    let (mut data, mut tensors, mut dice) = (Vec::new(), Vec::new(), 0x2545_F491_4F6C_DD1D_u64);
    for tensor in header["tensors"].as_array().expect("tensors") {
        let name = tensor["name"].as_str().expect("a name");
        if name.starts_with("layers.") && !name.starts_with("layers.0.") {
            continue;
        }
        let (rows, columns) = (narrow(&tensor["rows"]), narrow(&tensor["columns"]));
        tensors.push(json!({"name": name, "rows": rows, "columns": columns, "at": data.len(), "bytes": 4}));
        for _ in 0..rows * columns {
            // xorshift64*, as in Vigna 2016.
            dice ^= dice >> 12;
            dice ^= dice << 25;
            dice ^= dice >> 27;
            let share = (dice.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 40) as f32 / (1_u32 << 24) as f32;
            data.extend(((2.0 * share - 1.0) * REACH).to_le_bytes());
        }
    }
    let header = json!({"features": header["features"], "tensors": tensors}).to_string();
    [b"SPOOLRD1", (header.len() as u32).to_le_bytes().as_slice(), header.as_bytes(), &data].concat()
}
