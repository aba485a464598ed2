//! Tests of understanding: whole notes against what they record, and properties of any text.

mod misses;
mod outside;
mod phrases;
mod phrases_said_otherwise;
mod properties;
mod snapshots;
