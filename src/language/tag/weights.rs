//! The file of the reader's weights.
//!
//! ```text
//! file   = "SPOOLRD1" length header data      ; length: of the header, 4 bytes, little end first
//! header = JSON {"features": [name…], "tensors": [{"name", "rows", "columns", "at", "bytes": 1|4}…]}
//! data   = for each tensor its rows: of 1 byte, each row a scale (4 bytes) and its numbers; else 4-byte floats
//! ```

use std::collections::HashMap;

use ndarray::{Array1, Array2};
use serde::Deserialize;

/// What the file begins with.
const MAGIC: &[u8] = b"SPOOLRD1";

/// Weights that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum WeightsError {
    /// Some other file.
    #[error(
        "not a file of reader weights; take reader.weights from the program's grammar folder or make it with scripts/train-reader"
    )]
    Other,
    /// It breaks off, or a part is missing or has another shape.
    #[error("the reader's weights are damaged at {0}; take reader.weights from the program's grammar folder again")]
    Damaged(String),
}

#[derive(Deserialize)]
struct Tensor {
    name: String,
    rows: usize,
    columns: usize,
    at: usize,
    bytes: usize,
}

#[derive(Deserialize)]
struct Header {
    features: Vec<String>,
    tensors: Vec<Tensor>,
}

/// Weights by name.
pub struct Weights {
    tensors: HashMap<String, Array2<f32>>,
    /// Names of the features, in the order of the feature table's rows.
    pub features: Vec<String>,
}

impl Weights {
    /// Reads the file's bytes.
    ///
    /// # Errors
    /// [`WeightsError`] for another file or a damaged one.
    pub fn read(bytes: &[u8]) -> Result<Self, WeightsError> {
        let rest = bytes.strip_prefix(MAGIC).ok_or(WeightsError::Other)?;
        let damaged = |what: &str| WeightsError::Damaged(what.to_owned());
        let (length, rest) = rest.split_at_checked(4).ok_or_else(|| damaged("its length"))?;
        let length = u32::from_le_bytes(length.try_into().expect("four bytes")) as usize;
        let (header, data) = rest.split_at_checked(length).ok_or_else(|| damaged("its header"))?;
        let header: Header = serde_json::from_slice(header).map_err(|_| damaged("its header"))?;
        let mut tensors = HashMap::new();
        for t in header.tensors {
            let numbers = tensor(&t, data).ok_or_else(|| damaged(&t.name))?;
            let array = Array2::from_shape_vec((t.rows, t.columns), numbers).map_err(|_| damaged(&t.name))?;
            tensors.insert(t.name, array);
        }
        Ok(Self { tensors, features: header.features })
    }

    pub(super) fn matrix(&self, name: &str) -> Option<Array2<f32>> {
        self.tensors.get(name).cloned()
    }

    pub(super) fn row(&self, name: &str) -> Option<Array1<f32>> {
        self.tensors.get(name).map(|t| t.iter().copied().collect())
    }
}

fn tensor(t: &Tensor, data: &[u8]) -> Option<Vec<f32>> {
    let float = |b: &[u8]| f32::from_le_bytes(b.try_into().expect("four bytes"));
    let row = if t.bytes == 1 { 4 + t.columns } else { 4 * t.columns };
    let size = t.rows.checked_mul(row)?;
    let part = data.get(t.at..t.at.checked_add(size)?)?;
    let mut out = Vec::with_capacity(t.rows * t.columns);
    for row in part.chunks_exact(row.max(1)) {
        if t.bytes == 1 {
            let scale = float(&row[..4]);
            out.extend(row[4..].iter().map(|b| f32::from(b.cast_signed()) * scale));
        } else {
            out.extend(row.chunks_exact(4).map(float));
        }
    }
    out.iter().all(|v| v.is_finite()).then_some(out)
}
