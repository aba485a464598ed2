//! Weights made smaller: blocks of 32 numbers, each block with one scale.
//! ggml's `q8_0`: scale = largest magnitude / 127, as a 16-bit float, then 32 signed bytes.

use half::f16;

pub(super) const BLOCK: usize = 32;

/// `values.len()` must be a multiple of [`BLOCK`].
pub(super) fn q8_0(values: &[f32]) -> Vec<u8> {
    let mut out = Vec::with_capacity(values.len() / BLOCK * (BLOCK + 2));
    for block in values.chunks_exact(BLOCK) {
        let scale = block.iter().fold(0.0f32, |m, v| m.max(v.abs())) / 127.0;
        let inverse = if scale == 0.0 { 0.0 } else { 1.0 / scale };
        out.extend_from_slice(&f16::from_f32(scale).to_le_bytes());
        out.extend(block.iter().map(|v| (v * inverse).round() as i8 as u8));
    }
    out
}

/// The numbers of one block.
pub(super) fn back(block: &[u8], values: &mut [f32]) {
    let scale = f16::from_le_bytes([block[0], block[1]]).to_f32();
    values.iter_mut().zip(&block[2..]).for_each(|(v, &q)| *v = f32::from(q as i8) * scale);
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn nothing_moves_by_more_than_half_a_step(values in proptest::collection::vec(-4.0f32..4.0, 64)) {
            let packed = q8_0(&values);
            for (block, packed) in values.chunks(BLOCK).zip(packed.chunks_exact(BLOCK + 2)) {
                let mut b = [0.0; BLOCK];
                back(packed, &mut b);
                let step = block.iter().fold(0.0f32, |m, v| m.max(v.abs())) / 127.0;
                for (v, w) in block.iter().zip(b) {
                    // half a step of rounding, and the scale itself is good to 11 bits
                    prop_assert!((v - w).abs() <= step * 0.5 + v.abs() / 1024.0 + 1e-6, "{v} became {w}");
                }
            }
        }
    }

    #[test]
    fn zeros_stay_zeros() {
        assert_eq!(q8_0(&[0.0; 32]), [0u8; 34]);
    }
}
