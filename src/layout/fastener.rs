//! What the standard tables say about a job's fasteners: thread, clearance hole, head, washer, nut.

use crate::params::job::{Fit, Head};
use crate::tables::{self, ClearanceHoles, Heads, Thread, Threads, Washers, size_name};

/// A thread by its designation.
#[must_use]
pub fn thread(name: &str) -> Option<&'static Thread> {
    Threads::standard().thread(name).ok()
}

/// Clearance hole for a bolt of diameter `d_mm`, mm (ISO 273).
#[must_use]
pub fn clearance_mm(d_mm: f64, fit: Fit) -> Option<f64> {
    let fit = match fit {
        Fit::Fine => tables::Fit::Fine,
        Fit::Medium => tables::Fit::Medium,
        Fit::Coarse => tables::Fit::Coarse,
    };
    ClearanceHoles::standard().diameter_mm(d_mm, fit).ok()
}

/// Standard of a head.
#[must_use]
pub const fn head_standard(head: Head) -> &'static str {
    match head {
        Head::HexFlange => "EN 1665",
        Head::HexFlangeSmall => "ISO 4162",
        Head::Hex => "ISO 4017",
        Head::Cap => "ISO 4762",
    }
}

/// A head of a bolt of diameter `d_mm`.
#[must_use]
pub fn head(head: Head, d_mm: f64) -> Option<&'static tables::Head> {
    Heads::standard()
        .head(head_standard(head), &size_name(d_mm))
        .ok()
}

/// Counterbore for a cap screw of diameter `d_mm`: diameter and depth, mm (DIN 974-1).
#[must_use]
pub fn counterbore_mm(d_mm: f64) -> Option<(f64, f64)> {
    let row = head(Head::Cap, d_mm)?;
    Some((row.counterbore_dia_mm?, row.counterbore_depth_mm?))
}

/// Outside diameter of the plain washer for a bolt of diameter `d_mm`, mm (ISO 7089).
#[must_use]
pub fn washer_mm(d_mm: f64) -> Option<f64> {
    Washers::standard()
        .washer("ISO 7089", &size_name(d_mm))
        .ok()
        .map(|w| w.outer_mm)
}

/// Names of the threads the tables have, for messages.
#[must_use]
pub fn thread_names() -> String {
    let names: Vec<&str> = Threads::standard()
        .rows()
        .iter()
        .map(|t| t.name.as_str())
        .collect();
    names.join(", ")
}
