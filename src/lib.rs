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

pub mod order;

pub mod number;

pub mod units;

pub mod diag;

pub mod tables;

pub mod geom;

pub mod feature;

pub mod marking;

pub mod params;

pub mod schema;

pub mod layout;

pub mod mixup;

pub mod outline;

pub mod plate;

pub mod callout;

pub mod platework;

pub mod nest;

pub mod solid;

pub mod view;

pub mod drive;

pub mod run;

pub mod joint;

pub mod bolting;

pub mod parts;

pub mod clearance;

pub mod surroundings;

pub mod mounting;

pub mod strength;

pub mod bracket;

pub mod measure;

pub mod shim;

pub mod fitup;

pub mod rules;

pub mod project;

pub mod adapt;

pub mod report;

pub mod drawing;

pub mod page;

pub mod export;

pub mod manifest;

pub mod package;

pub mod cli;
