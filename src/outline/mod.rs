//! Outlines: from bosses, webs and drawn edges to one exact loop of lines and arcs.

mod arrange;
pub mod check;
mod closing;
pub mod drawn;
mod error;
mod shape;
pub mod webs;
pub mod window;

pub use closing::{Outline, build};
pub use error::OutlineError;
pub use shape::{Disc, Shape, hull};

#[cfg(test)]
mod tests;
