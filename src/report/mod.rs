//! What is said of a job, format-free or as plain text; it reads results and computes none.

pub mod check;
pub mod compare;
mod compare_joints;
pub mod document;
pub mod fit;
pub mod fitup;
pub mod paint;
pub mod strength;
pub mod table;
pub mod torque;

/// JSON as every command prints it: indented, one newline at the end.
#[must_use]
pub fn json_text(value: &serde_json::Value) -> String {
    // A `Value` always serialises: its keys are strings and its numbers finite.
    let mut text = serde_json::to_string_pretty(value).unwrap_or_default();
    text.push('\n');
    text
}
