//! The trade ear: what a model has learnt of how exposures are spoken, apart from the model.
//!
//! ```text
//! file   = "spooltalk ear 1\n" fits:32 count { matrix }           ; numbers are little-endian u32
//! matrix = name-length name rows columns rank a b                 ; a: rank × columns, b: rows × rank, 16-bit floats
//! ```
//!
//! A low-rank difference (Hu et al., "LoRA", 2021): `b × a` is added to the matrix of that ggml name
//! in the decoder, whose words it changes; the encoder hears as before. It belongs to one model,
//! known by the BLAKE3 hash of its decoder's positions, and to English.

use std::fs::File;
use std::io::{BufReader, Cursor, Read};
use std::path::Path;
use std::sync::LazyLock;

use half::f16;

use super::ModelError;
use super::ggml::{self, Fault, TensorHead, bytes, int};
use super::quantise::{self, BLOCK};
use super::store::faulty;

const MARK: &[u8] = b"spooltalk ear 1\n";
/// What a model is known by: no two share it, and no quantising touches it.
const KNOWN_BY: &str = "decoder.positional_embedding";
/// The language that it was taught in.
const LANGUAGE: &str = "en";
/// Ranks above this would be no small difference.
const MOST_RANK: usize = 512;
/// No matrix of a decoder has a longer side.
const MOST_SIDE: usize = 1 << 14;

/// A difference to be added to a model.
pub struct Ear {
    fits: [u8; 32],
    matrices: Vec<Matrix>,
    seal: String,
}

struct Matrix {
    name: String,
    rows: usize,
    columns: usize,
    rank: usize,
    a: Vec<f32>,
    b: Vec<f32>,
}

impl Ear {
    /// The one that comes with the program.
    pub fn built_in() -> &'static Self {
        static EAR: LazyLock<Ear> = LazyLock::new(|| {
            Ear::read(include_bytes!("../../../grammar/en/ear.weights")).expect("a test reads what is built in")
        });
        &EAR
    }

    /// Reads a file of the form above.
    fn read(file: &[u8]) -> Result<Self, Fault> {
        let mut from = Cursor::new(file);
        if bytes(&mut from, MARK.len())? != MARK {
            return Err(Fault::Is("no trade ear".into()));
        }
        let mut fits = [0; 32];
        from.read_exact(&mut fits)?;
        let count = int(&mut from)?;
        let matrices = (0..count).map(|_| Matrix::read(&mut from)).collect::<Result<_, _>>()?;
        if from.position() != file.len() as u64 {
            return Err(Fault::Is("something stands behind the trade ear".into()));
        }
        Ok(Self { fits, matrices, seal: blake3::hash(file).to_hex().to_string() })
    }

    /// Changes whenever the difference does.
    pub fn seal(&self) -> &str {
        &self.seal
    }

    /// Whether it was made for what is spoken here and for this model.
    ///
    /// # Errors
    /// `Io` or `Unsound` when the model cannot be read.
    pub fn fits(&self, model: &Path, language: &str) -> Result<bool, ModelError> {
        if language != LANGUAGE {
            return Ok(false);
        }
        let file = File::open(model).map_err(|e| ModelError::io(model, e))?;
        self.knows(&mut BufReader::new(file)).map_err(|f| faulty(model, f))
    }

    fn knows(&self, from: &mut BufReader<File>) -> Result<bool, Fault> {
        ggml::read_head(from)?;
        while let Some(TensorHead { name, bytes: length, .. }) = ggml::read_tensor_head(from)? {
            if name == KNOWN_BY {
                return Ok(*blake3::hash(&bytes(from, length as usize)?).as_bytes() == self.fits);
            }
            from.seek_relative(length as i64)?;
        }
        Ok(false)
    }

    /// A model's file with the difference in it, ready to be loaded.
    ///
    /// # Errors
    /// `Io` or `Unsound` when it cannot be read, or has not the matrices that it should have.
    pub fn merged(&self, model: &Path) -> Result<Vec<u8>, ModelError> {
        let mut file = std::fs::read(model).map_err(|e| ModelError::io(model, e))?;
        self.add_to(&mut file).map_err(|f| faulty(model, f))?;
        Ok(file)
    }

    fn add_to(&self, file: &mut [u8]) -> Result<(), Fault> {
        let mut at = {
            let mut from = Cursor::new(&*file);
            ggml::read_head(&mut from)?;
            from.position()
        };
        let mut left = self.matrices.len();
        loop {
            let mut from = Cursor::new(&*file);
            from.set_position(at);
            let Some(head) = ggml::read_tensor_head(&mut from)? else { break };
            let start = from.position();
            at = start + head.bytes;
            if at > file.len() as u64 {
                return Err(Fault::Is(format!("it breaks off within {}", head.name)));
            }
            if let Some(matrix) = self.matrices.iter().find(|m| m.name == head.name) {
                matrix.add_to(&head, &mut file[start as usize..at as usize])?;
                left -= 1;
            }
        }
        if left > 0 {
            return Err(Fault::Is(format!("{left} matrices of the trade ear are not in it")));
        }
        Ok(())
    }
}

impl Matrix {
    fn read(from: &mut impl Read) -> Result<Self, Fault> {
        let length = number(from, 256)?;
        let name = String::from_utf8_lossy(&bytes(from, length)?).into_owned();
        let (rows, columns, rank) = (number(from, MOST_SIDE)?, number(from, MOST_SIDE)?, number(from, MOST_RANK)?);
        let mut halves = |n: usize| -> Result<Vec<f32>, Fault> {
            Ok(bytes(from, 2 * n)?.chunks_exact(2).map(|b| f16::from_le_bytes([b[0], b[1]]).to_f32()).collect())
        };
        let (a, b) = (halves(rank * columns)?, halves(rows * rank)?);
        Ok(Self { name, rows, columns, rank, a, b })
    }

    /// Adds to a tensor's data, a row at a time, in whatever form its numbers are.
    fn add_to(&self, head: &TensorHead, data: &mut [u8]) -> Result<(), Fault> {
        if head.shape != [self.columns as i32, self.rows as i32] {
            return Err(Fault::Is(format!("{} is not of the trade ear's shape", self.name)));
        }
        let row_bytes = data.len() / self.rows;
        let mut row = vec![0.0f32; self.columns];
        for (i, data) in data.chunks_exact_mut(row_bytes).enumerate() {
            match head.kind {
                0 => row.iter_mut().zip(data.as_chunks::<4>().0).for_each(|(v, b)| *v = f32::from_le_bytes(*b)),
                1 => {
                    row.iter_mut().zip(data.as_chunks::<2>().0).for_each(|(v, b)| *v = f16::from_le_bytes(*b).to_f32())
                }
                8 => row
                    .chunks_exact_mut(BLOCK)
                    .zip(data.chunks_exact(BLOCK + 2))
                    .for_each(|(v, b)| quantise::back(b, v)),
                _ => {
                    return Err(Fault::Is(format!("{} is of a form that the trade ear cannot be added to", self.name)));
                }
            }
            for (b, a) in self.b[i * self.rank..][..self.rank].iter().zip(self.a.chunks_exact(self.columns)) {
                row.iter_mut().zip(a).for_each(|(v, a)| *v += b * a);
            }
            match head.kind {
                0 => data.as_chunks_mut::<4>().0.iter_mut().zip(&row).for_each(|(b, v)| *b = v.to_le_bytes()),
                1 => data
                    .as_chunks_mut::<2>()
                    .0
                    .iter_mut()
                    .zip(&row)
                    .for_each(|(b, v)| *b = f16::from_f32(*v).to_le_bytes()),
                _ => data.copy_from_slice(&quantise::q8_0(&row)),
            }
        }
        Ok(())
    }
}

fn number(from: &mut impl Read, most: usize) -> Result<usize, Fault> {
    let n = int(from)? as u32 as usize;
    if n == 0 || n > most { Err(Fault::Is("a damaged trade ear".into())) } else { Ok(n) }
}

#[cfg(test)]
mod tests {
    use super::super::ggml::{Sizes, Tensor};
    use super::*;

    const NAME: &str = "decoder.blocks.0.attn.query.weight";

    /// One matrix of two rows and 32 columns, rank 1: b = (2, -1), a = 0, ½, 1, 1½, …
    fn ear(positions: &[u8]) -> Vec<u8> {
        let mut file = [MARK, blake3::hash(positions).as_bytes()].concat();
        let numbers = |n: &[u32]| n.iter().flat_map(|n| n.to_le_bytes()).collect::<Vec<u8>>();
        file.extend(numbers(&[1, NAME.len() as u32]));
        file.extend(NAME.as_bytes());
        file.extend(numbers(&[2, 32, 1]));
        let halves = (0..32u8).map(|i| f32::from(i) / 2.0).chain([2.0, -1.0]);
        file.extend(halves.flat_map(|v| f16::from_f32(v).to_le_bytes()));
        file
    }

    fn model(kind: i32, matrix: &[u8]) -> Vec<u8> {
        let sizes = Sizes::smallest(51_865, 32);
        let mut out = Vec::new();
        ggml::write_head(&mut out, &sizes, &vec![0.0; 80 * 201], &[b"a".to_vec()]).unwrap();
        let mut tensor = |name, shape: &[i32], kind, data: &[u8]| {
            ggml::write_tensor(&mut out, &Tensor { name, shape, kind, data }).unwrap();
        };
        tensor(KNOWN_BY, &[2], 0, &[7; 8]);
        tensor(NAME, &[32, 2], kind, matrix);
        tensor("decoder.ln.bias", &[2], 0, &[9; 8]);
        out
    }

    fn last(file: &[u8], n: usize) -> &[u8] {
        let tail = 8 + 3 * 4 + 4 + "decoder.ln.bias".len();
        &file[file.len() - tail - n..file.len() - tail]
    }

    /// Every number of the matrix was 1: by hand, row 0 becomes 1 + 2·i/2 and row 1 becomes 1 - i/2.
    fn by_hand(row: usize, i: usize) -> f32 {
        if row == 0 { 1.0 + i as f32 } else { 1.0 - i as f32 / 2.0 }
    }

    #[test]
    fn the_difference_is_added_as_by_hand() {
        let ear = Ear::read(&ear(&[7; 8])).ok().unwrap();
        let before = model(1, &f16::ONE.to_le_bytes().repeat(64));
        let mut file = before.clone();
        ear.add_to(&mut file).ok().unwrap();
        let got: Vec<f32> = last(&file, 128).chunks(2).map(|b| f16::from_le_bytes([b[0], b[1]]).to_f32()).collect();
        let want: Vec<f32> = (0..64).map(|n| by_hand(n / 32, n % 32)).collect();
        assert_eq!(got, want);
        let changed = before.iter().zip(&file).filter(|(a, b)| a != b).count();
        assert!(changed <= 128 && file.len() == before.len(), "nothing else is touched");
    }

    #[test]
    fn blocks_of_eight_bits_stay_within_half_a_step() {
        let ear = Ear::read(&ear(&[7; 8])).ok().unwrap();
        let mut file = model(8, &[quantise::q8_0(&[1.0; 32]), quantise::q8_0(&[1.0; 32])].concat());
        ear.add_to(&mut file).ok().unwrap();
        for (row, block) in last(&file, 68).chunks(34).enumerate() {
            let mut got = [0.0; 32];
            quantise::back(block, &mut got);
            for (i, got) in got.iter().enumerate() {
                assert!((got - by_hand(row, i)).abs() < 32.0 / 127.0 * 0.51, "row {row}, {i}: {got}");
            }
        }
    }

    #[test]
    fn another_model_is_left_alone() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("model.bin");
        #[allow(clippy::disallowed_methods, reason = "tests set the scene")]
        std::fs::write(&path, model(1, &f16::ONE.to_le_bytes().repeat(64))).unwrap();
        let (own, other) = (Ear::read(&ear(&[7; 8])).ok().unwrap(), Ear::read(&ear(&[6; 8])).ok().unwrap());
        assert!(own.fits(&path, "en").unwrap());
        assert!(!other.fits(&path, "en").unwrap(), "other positions");
        assert!(!own.fits(&path, "de").unwrap(), "taught in English");
        assert!(own.fits(&dir.path().join("none.bin"), "en").is_err());
    }

    #[test]
    fn what_is_damaged_or_misses_a_matrix_is_refused() {
        let whole = ear(&[7; 8]);
        assert!(Ear::read(&whole[..whole.len() - 1]).is_err() && Ear::read(&[&whole[..], &[0]].concat()).is_err());
        assert!(Ear::read(b"spooltalk reader").is_err());
        let ear = Ear::read(&whole).ok().unwrap();
        let mut no_matrix = model(1, &[0; 128]);
        let at = no_matrix.windows(NAME.len()).position(|w| w == NAME.as_bytes()).unwrap();
        no_matrix[at] = b'D';
        assert!(ear.add_to(&mut no_matrix).is_err());
        assert!(ear.add_to(&mut model(2, &[0; 36])).is_err(), "a form that is not known");
    }

    #[test]
    fn the_built_in_one_is_whole_and_small() {
        let ear = Ear::built_in();
        assert!(ear.matrices.iter().all(|m| m.name.starts_with("decoder.blocks.") && m.name.ends_with(".weight")));
        assert_eq!(ear.matrices.len(), 60, "ten matrices in each of six layers");
        assert!(ear.matrices.iter().all(|m| m.a.iter().chain(&m.b).all(|v| v.is_finite())));
    }
}
