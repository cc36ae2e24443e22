//! Writes measured holes as a block or accessory file, or as the tables of one.

use std::fmt::Write as _;

use super::file::Cut;
use super::survey::{MeasuredHole, Survey};
use crate::units::{fixed, plain};

/// Which file the pattern goes into.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PatternKind {
    /// `[[hole]]` tables of a block.
    Block,
    /// `[[mount]]` tables of an accessory.
    Accessory,
}

/// Keys of one thing that no reading gives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Blank {
    /// The thing: the engine, the accessory, or a hole.
    pub of: String,
    /// The keys that have to be written.
    pub keys: Vec<&'static str>,
}

/// A pattern as TOML, and what a person still has to write into it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Written {
    /// The text.
    pub text: String,
    /// What was not measured, in the order of the text: remarks there say so, and the file stays refused until it is known.
    pub blanks: Vec<Blank>,
}

impl Written {
    /// The blanks in words, one line each; things with the same blanks share one.
    pub fn blank_words(&self) -> Vec<String> {
        let mut lines: Vec<(Vec<&str>, &[&'static str])> = Vec::new();
        for b in &self.blanks {
            match lines.iter_mut().find(|(_, keys)| *keys == b.keys) {
                Some((of, _)) => of.push(&b.of),
                None => lines.push((vec![&b.of], &b.keys)),
            }
        }
        lines
            .iter()
            .map(|(of, keys)| format!("{}: {}", of.join(", "), keys.join(", ")))
            .collect()
    }
}

/// A whole file of its kind, which the program reads but for the blanks.
///
/// `places` are the coordinates to write, in the survey's order: the measured
/// ones or rounded ones; `cut` is depth and material in the same order.
pub fn whole_file(survey: &Survey, places: &[[f64; 2]], cut: &[Cut], kind: PatternKind) -> Written {
    let mut out = String::new();
    let mut blanks = Vec::new();
    let (word, of, keys) = match kind {
        PatternKind::Block => (
            "block",
            "[engine]",
            vec!["cylinders", "idle-rpm", "top-rpm"],
        ),
        PatternKind::Accessory => ("accessory", "the accessory", vec!["mass", "centre"]),
    };
    // JSON's escapes are TOML's.
    let title = serde_json::Value::from(survey.name.as_str());
    let _ = writeln!(out, "kind = \"{word}\"\ntitle = {title}");
    if kind == PatternKind::Block {
        out.push_str("\n[engine]\n");
    }
    for key in &keys {
        let _ = writeln!(out, "# {key} = not measured");
    }
    blanks.push(Blank {
        of: of.to_owned(),
        keys,
    });
    out.push('\n');
    let tables = tables(survey, places, cut, kind);
    out.push_str(&tables.text);
    blanks.extend(tables.blanks);
    Written { text: out, blanks }
}

/// The tables alone, to go into a file of their kind.
pub fn tables(survey: &Survey, places: &[[f64; 2]], cut: &[Cut], kind: PatternKind) -> Written {
    let mut out = String::new();
    let mut blanks = Vec::new();
    let _ = writeln!(
        out,
        "# Measured: {}.\n# Standard deviations stand behind the places; they count from the frame of the readings.",
        // A title is one line; a remark must not become two.
        survey.name.replace(['\n', '\r'], " ")
    );
    for ((hole, at), cut) in survey.holes.iter().zip(places).zip(cut) {
        let head = match kind {
            PatternKind::Block => "hole",
            PatternKind::Accessory => "mount",
        };
        let mut keys = Vec::new();
        let _ = writeln!(out, "\n[[{head}]]\nid = \"{}\"", hole.name);
        place(hole, *at, kind, &mut keys, &mut out);
        if let Some(t) = &hole.thread {
            let _ = writeln!(out, "thread = \"{t}\"");
        } else {
            let _ = writeln!(out, "# thread = not given{}", bore(hole, " (bore ", ")"));
            keys.push("thread");
        }
        match kind {
            PatternKind::Block => block_rest(cut, &mut keys, &mut out),
            PatternKind::Accessory => {
                let _ = writeln!(
                    out,
                    "# through-ear, threaded-ear or pad = not measured{}",
                    bore(hole, ", hole ", "")
                );
                keys.push("through-ear, threaded-ear or pad");
            }
        }
        if !keys.is_empty() {
            blanks.push(Blank {
                of: hole.name.clone(),
                keys,
            });
        }
    }
    Written { text: out, blanks }
}

/// The bore between two words, where it was measured.
fn bore(hole: &MeasuredHole, before: &str, after: &str) -> String {
    hole.bore_mm
        .map_or_else(String::new, |b| format!("{before}{}{after}", fixed(b, 2)))
}

/// The place of a hole.
fn place(
    hole: &MeasuredHole,
    at: [f64; 2],
    kind: PatternKind,
    keys: &mut Vec<&'static str>,
    out: &mut String,
) {
    let (x, y) = (fixed(at[0], 3), fixed(at[1], 3));
    let sd = format!("± {}, ± {}", fixed(hole.sd_x_mm, 3), fixed(hole.sd_y_mm, 3));
    let _ = match (hole.z_mm, kind) {
        (Some(z), _) => writeln!(out, "at = [{x}, {y}, {}] # {sd}", fixed(z, 3)),
        (None, PatternKind::Accessory) => writeln!(out, "at = [{x}, {y}] # {sd}"),
        (None, PatternKind::Block) => {
            keys.push("at");
            writeln!(out, "# at = [{x}, {y}, height not gauged] # {sd}")
        }
    };
}

/// Depth and material of a block's hole.
fn block_rest(cut: &Cut, keys: &mut Vec<&'static str>, out: &mut String) {
    if let Some(d) = cut.depth_mm {
        let _ = writeln!(out, "depth = {}", plain(d, 3));
    } else {
        out.push_str("# depth = not measured\n");
        keys.push("depth");
    }
    if let Some(m) = &cut.material {
        let _ = writeln!(out, "material = \"{m}\"");
    } else {
        out.push_str("# material = not given\n");
        keys.push("material");
    }
}
