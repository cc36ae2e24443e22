//! What is said of a job, format-free or as plain text; it reads results and computes none.

pub mod check;
pub mod compare;
pub mod table;
