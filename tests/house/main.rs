//! The rules of the house, checked on the sources themselves: who may use whom, no circle, no long function without a
//! reason, no number without a name.

mod circles;
mod docs;
mod functions;
mod numbers;
mod rooms;
mod source;
