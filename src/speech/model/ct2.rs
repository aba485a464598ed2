//! CTranslate2's `model.bin`, version 6, and what its names are called in ggml.
//!
//! ```text
//! file     = 6 spec revision count { variable } …        ; u32 and texts with their length in u16
//! variable = name rank:u8 { u32 } type:u8 bytes:u32 data
//! ```
//!
//! Query, key and value stand in one matrix, as do key and value of the attention to
//! the sound; ggml wants each by itself, and no bias for the key.

use std::fs::File;
use std::io::{BufReader, Read, Seek, SeekFrom};

use half::{bf16, f16};

use super::ggml::{Fault, Sizes, Weights, bytes, int};

/// A variable and where its data lies.
pub(super) struct Variable {
    name: String,
    /// Outermost first.
    shape: Vec<usize>,
    kind: u8,
    at: u64,
    length: usize,
}

/// An opened `model.bin`.
pub(super) struct Ct2 {
    file: BufReader<File>,
    variables: Vec<Variable>,
}

/// A tensor under its ggml name.
pub(super) struct Named {
    pub name: String,
    /// Innermost first.
    pub shape: Vec<i32>,
    pub values: Vec<f32>,
}

impl Ct2 {
    pub fn open(file: File) -> Result<Self, Fault> {
        let end = file.metadata()?.len();
        let mut file = BufReader::new(file);
        let version = int(&mut file)?;
        if version != 6 {
            return Err(Fault::Is(format!("CTranslate2 version {version} is not known: expected 6")));
        }
        let spec = text(&mut file)?;
        if spec != "WhisperSpec" {
            return Err(Fault::Is(format!("a model of the kind {spec}, expected WhisperSpec")));
        }
        let _revision = int(&mut file)?;
        let count = int(&mut file)?;
        let mut variables = Vec::new();
        for _ in 0..count {
            let name = text(&mut file)?;
            let rank = byte(&mut file)?;
            let mut shape = Vec::new();
            for _ in 0..rank {
                shape.push(int(&mut file)? as u32 as usize);
            }
            let kind = byte(&mut file)?;
            let length = int(&mut file)? as u32 as usize;
            let at = file.stream_position()?;
            if at + length as u64 > end {
                return Err(Fault::Is(format!("it breaks off within {name}: a part is missing or cut short")));
            }
            file.seek_relative(length as i64)?;
            variables.push(Variable { name, shape, kind, at, length });
        }
        Ok(Self { file, variables })
    }

    fn shape(&self, name: &str) -> Result<&[usize], Fault> {
        let v = self.variables.iter().find(|v| v.name == name);
        v.map(|v| v.shape.as_slice()).ok_or_else(|| Fault::Is(format!("it has no {name}")))
    }

    /// Numbers for the ggml header, with 16-bit weights.
    pub fn sizes(&mut self) -> Result<Sizes, Fault> {
        let dim = |s: &[usize], i: usize| {
            s.get(i).map(|&n| n as i32).ok_or_else(|| Fault::Is("a matrix has too few sizes".into()))
        };
        let layers = |side: &str| {
            let norm = |i: i32| format!("{side}/layer_{i}/ffn/layer_norm/gamma");
            (0..).take_while(|&i| self.shape(&norm(i)).is_ok()).count() as i32
        };
        let sound = self.shape("encoder/position_encodings/encodings")?;
        let words = self.shape("decoder/position_encodings/encodings")?;
        let sizes = Sizes {
            vocab: dim(self.shape("decoder/embeddings/weight")?, 0)?,
            audio_ctx: dim(sound, 0)?,
            audio_state: dim(sound, 1)?,
            audio_head: 0,
            audio_layer: layers("encoder"),
            text_ctx: dim(words, 0)?,
            text_state: dim(words, 1)?,
            text_head: 0,
            text_layer: layers("decoder"),
            mels: dim(self.shape("encoder/conv1/weight")?, 1)?,
            weights: Weights::F16,
        };
        // Every published size has heads of 64.
        let heads = sizes.audio_state / 64;
        Ok(Sizes { audio_head: heads, text_head: heads, ..sizes })
    }

    /// Every tensor of the ggml file, handed out one at a time.
    pub fn each<E: From<Fault>>(&mut self, mut give: impl FnMut(Named) -> Result<(), E>) -> Result<(), E> {
        for i in 0..self.variables.len() {
            let v = &self.variables[i];
            if v.shape.is_empty() {
                continue; // settings, not weights
            }
            let targets = targets(&v.name);
            if targets.is_empty() {
                return Err(Fault::Is(format!("{} is not known here", v.name)).into());
            }
            let values = self.values(i)?;
            let v = &self.variables[i];
            let share = values.len() / targets.len();
            let rows = v.shape[0] / targets.len();
            for (part, name) in targets.iter().enumerate() {
                if name.ends_with("attn.key.bias") {
                    continue;
                }
                let mut shape: Vec<i32> = v.shape.iter().rev().map(|&n| n as i32).collect();
                if let Some(outer) = shape.last_mut() {
                    *outer = rows as i32;
                }
                if name.ends_with("conv1.bias") || name.ends_with("conv2.bias") {
                    shape.insert(0, 1);
                }
                give(Named { name: name.clone(), shape, values: values[part * share..(part + 1) * share].to_vec() })?;
            }
        }
        Ok(())
    }

    fn values(&mut self, i: usize) -> Result<Vec<f32>, Fault> {
        let v = &self.variables[i];
        self.file.seek(SeekFrom::Start(v.at))?;
        let raw = bytes(&mut self.file, v.length)?;
        let two = |f: fn([u8; 2]) -> f32| raw.chunks_exact(2).map(|b| f([b[0], b[1]])).collect::<Vec<f32>>();
        let values = match v.kind {
            0 => raw.chunks_exact(4).map(|b| f32::from_le_bytes([b[0], b[1], b[2], b[3]])).collect(),
            4 => two(|b| f16::from_le_bytes(b).to_f32()),
            5 => two(|b| bf16::from_le_bytes(b).to_f32()),
            _ => {
                return Err(Fault::Is(
                    "its weights are quantised already: give the float16 model, and --quantize q8_0 if it shall be small".into(),
                ));
            }
        };
        if values.len() != v.shape.iter().product::<usize>() {
            return Err(Fault::Is(format!("{} is not as long as its shape says", v.name)));
        }
        Ok(values)
    }
}

/// What a variable is in ggml, one name for each matrix in it; empty when not known.
fn targets(name: &str) -> Vec<String> {
    let (side, rest) = name.split_once('/').unwrap_or((name, ""));
    let fixed = match name {
        "encoder/position_encodings/encodings" | "decoder/position_encodings/encodings" => "positional_embedding",
        "decoder/embeddings/weight" => "token_embedding.weight",
        "encoder/layer_norm/gamma" => "ln_post.weight",
        "encoder/layer_norm/beta" => "ln_post.bias",
        "decoder/layer_norm/gamma" => "ln.weight",
        "decoder/layer_norm/beta" => "ln.bias",
        "encoder/conv1/weight" => "conv1.weight",
        "encoder/conv1/bias" => "conv1.bias",
        "encoder/conv2/weight" => "conv2.weight",
        "encoder/conv2/bias" => "conv2.bias",
        _ => "",
    };
    if !fixed.is_empty() {
        return vec![format!("{side}.{fixed}")];
    }
    let Some((layer, inner)) = rest.strip_prefix("layer_").and_then(|r| r.split_once('/')) else { return Vec::new() };
    let Some((part, end)) = inner.rsplit_once('/') else { return Vec::new() };
    let end = match end {
        "gamma" | "weight" => "weight",
        "beta" | "bias" => "bias",
        _ => return Vec::new(),
    };
    let inner: &[&str] = match part {
        "self_attention/layer_norm" => &["attn_ln"],
        "self_attention/linear_0" => &["attn.query", "attn.key", "attn.value"],
        "self_attention/linear_1" => &["attn.out"],
        "attention/layer_norm" => &["cross_attn_ln"],
        "attention/linear_0" => &["cross_attn.query"],
        "attention/linear_1" => &["cross_attn.key", "cross_attn.value"],
        "attention/linear_2" => &["cross_attn.out"],
        "ffn/layer_norm" => &["mlp_ln"],
        "ffn/linear_0" => &["mlp.0"],
        "ffn/linear_1" => &["mlp.2"],
        _ => &[],
    };
    inner.iter().map(|i| format!("{side}.blocks.{layer}.{i}.{end}")).collect()
}

fn byte(from: &mut impl Read) -> Result<u8, Fault> {
    Ok(bytes(from, 1)?[0])
}

/// A text with its closing zero counted in its length.
fn text(from: &mut impl Read) -> Result<String, Fault> {
    let n = bytes(from, 2)?;
    let raw = bytes(from, u16::from_le_bytes([n[0], n[1]]) as usize)?;
    Ok(String::from_utf8_lossy(raw.strip_suffix(&[0]).unwrap_or(&raw)).into_owned())
}

#[cfg(test)]
mod tests {
    use super::targets;

    #[test]
    fn joined_matrices_come_apart() {
        assert_eq!(
            targets("encoder/layer_3/self_attention/linear_0/weight"),
            [
                "encoder.blocks.3.attn.query.weight",
                "encoder.blocks.3.attn.key.weight",
                "encoder.blocks.3.attn.value.weight"
            ]
        );
        assert_eq!(
            targets("decoder/layer_0/attention/linear_1/bias"),
            ["decoder.blocks.0.cross_attn.key.bias", "decoder.blocks.0.cross_attn.value.bias"]
        );
        assert_eq!(targets("decoder/layer_norm/beta"), ["decoder.ln.bias"]);
        assert!(targets("decoder/layer_0/attention/linear_9/bias").is_empty());
    }
}
