//! The ggml model file, as whisper.cpp reads it (its `whisper_model_load`):
//!
//! ```text
//! file    = magic sizes filters tokens { tensor }        ; all little-endian
//! sizes   = 11 × i32                                     ; see `Sizes`
//! filters = n_mel n_bin { f32 }                          ; mel filters, one row a band
//! tokens  = count { length bytes }
//! tensor  = rank name-length type { i32 } name data      ; sizes innermost first
//! ```

use std::io::{self, Read, Seek, SeekFrom, Write};

/// `ggml`, read as a little-endian number.
pub(super) const MAGIC: u32 = 0x6767_6d6c;

/// How the big weights are stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weights {
    /// 32-bit floating point.
    F32,
    /// 16-bit floating point.
    F16,
    /// Blocks of 32 8-bit numbers with one scale.
    Q8,
    /// Another of ggml's block formats, by its number.
    Other(i32),
}

impl Weights {
    /// From the file type in the header; thousands are the version of the block formats.
    fn of_file_type(n: i32) -> Self {
        match n % 1000 {
            0 => Self::F32,
            1 => Self::F16,
            7 => Self::Q8,
            n => Self::Other(n),
        }
    }

    /// The number in the header.
    pub(super) fn file_type(self) -> i32 {
        match self {
            Self::F32 => 0,
            Self::F16 => 1,
            Self::Q8 => 2007,
            Self::Other(n) => 2000 + n,
        }
    }
}

impl std::fmt::Display for Weights {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::F32 => f.write_str("f32"),
            Self::F16 => f.write_str("f16"),
            Self::Q8 => f.write_str("q8_0"),
            Self::Other(n) => write!(f, "ggml type {n}"),
        }
    }
}

/// The numbers in the header, in the order of the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Sizes {
    pub vocab: i32,
    pub audio_ctx: i32,
    pub audio_state: i32,
    pub audio_head: i32,
    pub audio_layer: i32,
    pub text_ctx: i32,
    pub text_state: i32,
    pub text_head: i32,
    pub text_layer: i32,
    pub mels: i32,
    pub weights: Weights,
}

#[cfg(test)]
impl Sizes {
    /// Of the smallest model that passes for one, a layer each. For tests.
    pub(super) const fn smallest(vocab: i32, state: i32) -> Self {
        Self {
            vocab,
            audio_ctx: 1500,
            audio_state: state,
            audio_head: 1,
            audio_layer: 1,
            text_ctx: 448,
            text_state: state,
            text_head: 1,
            text_layer: 1,
            mels: 80,
            weights: Weights::F16,
        }
    }
}

impl Sizes {
    fn numbers(&self) -> [i32; 11] {
        [
            self.vocab,
            self.audio_ctx,
            self.audio_state,
            self.audio_head,
            self.audio_layer,
            self.text_ctx,
            self.text_state,
            self.text_head,
            self.text_layer,
            self.mels,
            self.weights.file_type(),
        ]
    }

    /// Tensors a sound file holds: seven at the encoder's door and four at the
    /// decoder's, 15 a layer of the encoder, 24 of the decoder.
    fn tensors(&self) -> i32 {
        7 + 4 + 15 * self.audio_layer + 24 * self.text_layer
    }

    fn sane(&self) -> bool {
        let n = self.numbers();
        n[..10].iter().all(|&n| n > 0)
            && self.vocab < 1 << 20
            && self.audio_layer <= 64
            && self.text_layer <= 64
            && self.audio_state == self.text_state
            && self.audio_state <= 1 << 14
            && self.mels <= 256
    }
}

/// What a sound model file is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct About {
    /// `tiny`, `base`, `small`, `medium` or `large`, by its depth.
    pub kind: &'static str,
    /// False: English only.
    pub multilingual: bool,
    /// How many languages it knows.
    pub languages: u16,
    /// How its weights are stored.
    pub weights: Weights,
    /// Length of the file.
    pub bytes: u64,
}

impl About {
    pub(super) fn of(sizes: &Sizes, bytes: u64) -> Self {
        let kind = match sizes.audio_layer {
            ..=4 => "tiny",
            5..=6 => "base",
            7..=12 => "small",
            13..=24 => "medium",
            _ => "large",
        };
        // The vocabulary grows by one token a language; 51865 holds 99.
        let multilingual = sizes.vocab >= 51_865;
        let languages = if multilingual { (sizes.vocab - 51_765 - 1) as u16 } else { 1 };
        Self { kind, multilingual, languages, weights: sizes.weights, bytes }
    }

    /// A name for the store: `base`, `tiny.en`, `base-q8_0`.
    pub fn name(&self) -> String {
        let english = if self.multilingual { "" } else { ".en" };
        let weights = if self.weights == Weights::F16 { String::new() } else { format!("-{}", self.weights) };
        format!("{}{english}{}", self.kind, weights.replace(' ', "-"))
    }
}

/// One tensor, ready to be written.
pub(super) struct Tensor<'a> {
    pub name: &'a str,
    /// Innermost first.
    pub shape: &'a [i32],
    /// ggml's number of the type: 0 f32, 1 f16, 8 q8_0.
    pub kind: i32,
    pub data: &'a [u8],
}

pub(super) fn write_head(out: &mut impl Write, sizes: &Sizes, filters: &[f32], tokens: &[Vec<u8>]) -> io::Result<()> {
    out.write_all(&MAGIC.to_le_bytes())?;
    for n in sizes.numbers() {
        out.write_all(&n.to_le_bytes())?;
    }
    out.write_all(&sizes.mels.to_le_bytes())?;
    out.write_all(&(filters.len() as i32 / sizes.mels).to_le_bytes())?;
    for f in filters {
        out.write_all(&f.to_le_bytes())?;
    }
    out.write_all(&(tokens.len() as i32).to_le_bytes())?;
    for t in tokens {
        out.write_all(&(t.len() as u32).to_le_bytes())?;
        out.write_all(t)?;
    }
    Ok(())
}

pub(super) fn write_tensor(out: &mut impl Write, t: &Tensor) -> io::Result<()> {
    for n in [t.shape.len() as i32, t.name.len() as i32, t.kind] {
        out.write_all(&n.to_le_bytes())?;
    }
    for n in t.shape {
        out.write_all(&n.to_le_bytes())?;
    }
    out.write_all(t.name.as_bytes())?;
    out.write_all(t.data)
}

/// Why a file is no sound model: a sentence, or the disk's error.
#[derive(Debug)]
pub(super) enum Fault {
    Is(String),
    Io(io::Error),
}

impl From<io::Error> for Fault {
    fn from(e: io::Error) -> Self {
        Self::Io(e)
    }
}

/// So many bytes tell what a file is.
pub(super) const FIRST: usize = 16;

/// What a file is that is no speech model, and what would be one.
pub(super) fn no_model(first: &[u8]) -> String {
    let is = kind_of(first).map_or(String::new(), |kind| format!(" but {kind}"));
    format!(
        "no speech model{is}: expected a ggml Whisper file (ggml-NAME.bin), or the folder or wheel of a CTranslate2 one"
    )
}

/// What a file is by its first bytes. Sources: the formats' own specifications; `GGUF` and the
/// older marks of ggml from llama.cpp's documentation.
fn kind_of(first: &[u8]) -> Option<&'static str> {
    const KINDS: [(&[u8], &str); 14] = [
        (b"", "an empty file"),
        (b"GGUF", "a GGUF file, which whisper.cpp does not read"),
        (b"tjgg", "a language model in ggml's form"),
        (b"fmgg", "a language model in ggml's form"),
        (b"PK\x03\x04", "a zip archive (weights of PyTorch, a wheel of something else)"),
        (b"\x80\x02", "a pickle of Python"),
        (b"\x89HDF", "an HDF5 file"),
        (b"\xFF\xD8\xFF", "a JPEG picture"),
        (b"\x89PNG", "a PNG picture"),
        (b"RIFF", "a sound or film file"),
        (b"ID3", "a sound file"),
        (b"\x1F\x8B", "a gzip archive: unpack it first"),
        (b"version https://", "a pointer of Git LFS: fetch the file itself"),
        (b"{", "a text in JSON"),
    ];
    if first.is_empty() {
        return Some(KINDS[0].1);
    }
    let start = String::from_utf8_lossy(first).trim_start().to_lowercase();
    if start.starts_with("<!doctype") || start.starts_with("<html") {
        return Some("a web page: the download went wrong");
    }
    if first.get(4..8) == Some(b"ftyp") {
        return Some("a sound or film file");
    }
    if first.get(8..10) == Some(b"{\"") {
        return Some("a safetensors file");
    }
    let known = KINDS[1..].iter().find(|(mark, _)| first.starts_with(mark)).map(|(_, kind)| *kind);
    let is_text = || first.iter().all(|b| b.is_ascii_graphic() || b" \t\r\n".contains(b));
    known.or_else(|| is_text().then_some("a text"))
}

/// What stands before the tensors.
pub(super) struct Head {
    pub sizes: Sizes,
    /// One row of 201 a band.
    pub filters: Vec<f32>,
    pub tokens: Vec<Vec<u8>>,
}

/// The header and the tokens, leaving `from` at the first tensor.
pub(super) fn read_head(from: &mut impl Read) -> Result<Head, Fault> {
    let mut first = [0; FIRST];
    let mut got = 0;
    while got < first.len() {
        match from.read(&mut first[got..])? {
            0 => break,
            n => got += n,
        }
    }
    if !first.starts_with(&MAGIC.to_le_bytes()) {
        return Err(Fault::Is(no_model(&first[..got])));
    }
    let mut whole = io::Cursor::new(&first[4..got]).chain(from);
    let from = &mut whole;
    let mut n = [0; 11];
    for n in &mut n {
        *n = int(from)?;
    }
    let sizes = Sizes {
        vocab: n[0],
        audio_ctx: n[1],
        audio_state: n[2],
        audio_head: n[3],
        audio_layer: n[4],
        text_ctx: n[5],
        text_state: n[6],
        text_head: n[7],
        text_layer: n[8],
        mels: n[9],
        weights: Weights::of_file_type(n[10]),
    };
    if !sizes.sane() {
        return Err(Fault::Is("a ggml file of another kind of model than Whisper, or a damaged one: the sizes in its header make no sense".into()));
    }
    let (bands, bins) = (int(from)?, int(from)?);
    if bands != sizes.mels || bins != 201 {
        return Err(Fault::Is(format!("mel filters of {bands} × {bins}, expected {} × 201", sizes.mels)));
    }
    let mut filters = Vec::with_capacity((bands * bins) as usize);
    for _ in 0..bands * bins {
        filters.push(f32::from_bits(int(from)? as u32));
    }
    let count = int(from)?;
    if !(1..=sizes.vocab).contains(&count) {
        return Err(Fault::Is(format!("{count} tokens, expected up to {}", sizes.vocab)));
    }
    let mut tokens = Vec::with_capacity(count as usize);
    for _ in 0..count {
        let length = int(from)?;
        if !(0..=4096).contains(&length) {
            return Err(Fault::Is("a token of impossible length".into()));
        }
        tokens.push(bytes(from, length as usize)?);
    }
    Ok(Head { sizes, filters, tokens })
}

/// What stands before the data of a tensor.
pub(super) struct TensorHead {
    pub name: String,
    /// Innermost first.
    pub shape: Vec<i32>,
    pub kind: i32,
    /// Length of the data that follows.
    pub bytes: u64,
}

/// The head of the next tensor; `None` at the end of the file.
pub(super) fn read_tensor_head(from: &mut impl Read) -> Result<Option<TensorHead>, Fault> {
    let mut first = [0u8; 4];
    if from.read(&mut first[..1])? == 0 {
        return Ok(None);
    }
    from.read_exact(&mut first[1..])?;
    let (rank, name_length, kind) = (i32::from_le_bytes(first), int(from)?, int(from)?);
    if !(1..=4).contains(&rank) || !(1..=256).contains(&name_length) {
        return Err(Fault::Is("what follows the tokens is no tensor".into()));
    }
    let mut shape = Vec::new();
    for _ in 0..rank {
        shape.push(int(from)?);
    }
    let name = String::from_utf8_lossy(&bytes(from, name_length as usize)?).into_owned();
    let (block, block_bytes) = match kind {
        0 => (1, 4),
        1 => (1, 2),
        2 => (32, 18),
        3 => (32, 20),
        6 => (32, 22),
        7 => (32, 24),
        8 => (32, 34),
        _ => return Err(Fault::Is(format!("{name} has the unknown type {kind}"))),
    };
    let elements = shape
        .iter()
        .try_fold(1u64, |n, &s| u64::try_from(s).ok().filter(|&s| s > 0).and_then(|s| n.checked_mul(s)))
        .filter(|n| *n < 1 << 34 && n % block == 0)
        .ok_or_else(|| Fault::Is(format!("{name} has an impossible shape")))?;
    Ok(Some(TensorHead { name, shape, kind, bytes: elements / block * block_bytes }))
}

/// Goes through a file from end to end and says what it is. All tensors must be there,
/// whole, with nothing behind them; with `weights`, every number in them must be one.
pub(super) fn check(from: &mut (impl Read + Seek), weights: bool) -> Result<About, Fault> {
    let length = from.seek(SeekFrom::End(0))?;
    from.rewind()?;
    let mut from = io::BufReader::new(from);
    let Head { sizes, .. } = read_head(&mut from)?;
    let mut tensors = 0;
    while let Some(TensorHead { name, bytes, kind, .. }) = read_tensor_head(&mut from)? {
        if weights {
            if !all_numbers(&mut from, kind, bytes)? {
                return Err(Fault::Is(format!("a weight of {name} is no number: it was damaged, import it again")));
            }
        } else {
            from.seek_relative(bytes as i64)?;
        }
        if from.stream_position()? > length {
            return Err(Fault::Is(format!("it breaks off within {name}: copy or download it again")));
        }
        tensors += 1;
    }
    if tensors != sizes.tensors() {
        return Err(Fault::Is(format!("{tensors} tensors, expected {}: copy or download it again", sizes.tensors())));
    }
    Ok(About::of(&sizes, length))
}

/// Whether the numbers of a tensor are numbers, as far as their kind can tell: 32-bit and 16-bit floats, and the
/// scales of blocks, which begin with one.
fn all_numbers(from: &mut impl Read, kind: i32, bytes: u64) -> io::Result<bool> {
    /// A half is infinite or no number with all of these set; so is a float with its upper ones.
    const HALF: u16 = 0x7C00;
    const FLOAT: u16 = 0x7F80;
    let (step, at, mask) = match kind {
        0 => (4, 2, FLOAT),
        1 => (2, 0, HALF),
        2 => (18, 0, HALF),
        3 => (20, 0, HALF),
        6 => (22, 0, HALF),
        7 => (24, 0, HALF),
        _ => (34, 0, HALF),
    };
    let mut room = vec![0; step << 12];
    let mut left = bytes;
    while left > 0 {
        let now = room.len().min(usize::try_from(left).unwrap_or(usize::MAX));
        from.read_exact(&mut room[..now])?;
        if room[..now].chunks_exact(step).any(|b| u16::from_le_bytes([b[at], b[at + 1]]) & mask == mask) {
            return Ok(false);
        }
        left -= now as u64;
    }
    Ok(true)
}

pub(super) fn int(from: &mut impl Read) -> io::Result<i32> {
    let mut b = [0; 4];
    from.read_exact(&mut b)?;
    Ok(i32::from_le_bytes(b))
}

pub(super) fn bytes(from: &mut impl Read, n: usize) -> io::Result<Vec<u8>> {
    let mut b = vec![0; n];
    from.read_exact(&mut b)?;
    Ok(b)
}
