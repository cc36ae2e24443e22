//! platewright lays out, proves and exports bolt-on accessory-drive brackets.
//!
//! # Units
//!
//! | quantity | unit |
//! |---|---|
//! | length | mm |
//! | angle | deg in files and names ending in `_deg`, rad inside |
//! | force, moment | N, N·m |
//! | stress | MPa |
//! | mass | kg |
//! | speed | rpm |
//!
//! # Data flow
//!
//! Modules are listed in the order the data takes; each knows only those above it.

pub mod tol;

pub mod number;

pub mod geom;

pub mod marking;

pub mod feature;

pub mod plate;

pub mod callout;

pub mod drawing;

pub mod export;
