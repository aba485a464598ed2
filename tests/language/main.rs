//! Tests of understanding: whole notes against what they record, and properties of any text.

mod misses;
mod outside;
mod properties;
mod set;
mod snapshots;
mod variants;
