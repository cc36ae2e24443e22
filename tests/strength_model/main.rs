//! The strength calculation of whole bracket sets, and its check against an independent library.

mod bracket;
mod pictures;
mod python;
mod set;
mod speed;
