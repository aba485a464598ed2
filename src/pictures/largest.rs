//! How large a picture may be.

/// Most bytes of one decoded picture, and of a JPEG file, which is read whole: 4 × 5 inches at 2400 dpi in
/// 16-bit colour is 0.7 GB and taken; 10 × 12 inches is 4.1 GB and refused.
pub const LARGEST: u64 = 1 << 30;
