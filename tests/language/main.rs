//! Tests of understanding: whole notes against what they record, and properties of any text.

mod outside;
mod properties;
mod set;
mod snapshots;
mod variants;
