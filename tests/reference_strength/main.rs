//! Strength and vibration against published values: benchmarks, plate and beam theory.
//!
//! Sources are named at each check; tolerances are stated beside the values.
//! Heavier meshes are ignored in the normal run; all of them run with
//! `cargo test --release --test reference_strength -- --include-ignored`.

mod beams;
mod elasticity;
mod holes;
mod nafems;
mod plates;
mod setup;
mod vibration;
