//! The program as its users meet it: every test has its own trip and no network.

#![allow(clippy::disallowed_methods, reason = "tests set the scene")]

mod account;
mod after;
mod archive;
mod bounds;
mod broken;
mod builder;
mod check;
mod commands;
mod edge_sources;
mod edges;
mod errors;
mod film_edge;
mod hostile;
mod kill;
mod kit;
mod noise;
mod regressions;
mod review;
mod rolls;
mod same;
mod samples;
mod tables;
