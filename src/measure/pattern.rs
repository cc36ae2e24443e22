//! Writes measured holes as the `[[hole]]` tables of a block file or the `[[mount]]` tables of an accessory file.

use std::fmt::Write as _;

use super::file::Cut;
use super::survey::Survey;
use crate::units::fixed;

/// Which file the pattern goes into.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PatternKind {
    /// `[[hole]]` tables of a block.
    Block,
    /// `[[mount]]` tables of an accessory.
    Accessory,
}

/// The tables as TOML, to go into a file of their kind.
///
/// `places` are the coordinates to write, in the survey's order: the measured
/// ones or rounded ones. What was not measured (a depth, a material, an ear) is
/// a remark that says so, so that the file stays refused until it is known.
pub fn tables(survey: &Survey, places: &[[f64; 2]], cut: &[Cut], kind: PatternKind) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "# {}", survey.name);
    let _ = writeln!(
        out,
        "# Standard deviations stand behind the places; they count from the frame of the readings."
    );
    for ((hole, at), cut) in survey.holes.iter().zip(places).zip(cut) {
        let head = match kind {
            PatternKind::Block => "hole",
            PatternKind::Accessory => "mount",
        };
        let _ = writeln!(out, "\n[[{head}]]\nid = \"{}\"", hole.name);
        let z = hole.z_mm.unwrap_or(0.0);
        let unknown = if hole.z_mm.is_none() {
            ", height not gauged"
        } else {
            ""
        };
        let _ = writeln!(
            out,
            "at = [{}, {}, {}] # ± {}, ± {}{unknown}",
            fixed(at[0], 3),
            fixed(at[1], 3),
            fixed(z, 3),
            fixed(hole.sd_x_mm, 3),
            fixed(hole.sd_y_mm, 3)
        );
        if let Some(t) = &hole.thread {
            let _ = writeln!(out, "thread = \"{t}\"");
        } else {
            let bore = hole
                .bore_mm
                .map_or(String::new(), |b| format!(" (bore {})", fixed(b, 2)));
            let _ = writeln!(out, "# thread = not given{bore}");
        }
        match kind {
            PatternKind::Block => block_rest(cut, &mut out),
            PatternKind::Accessory => {
                let bore = hole
                    .bore_mm
                    .map_or(String::new(), |b| format!(", hole {}", fixed(b, 2)));
                let _ = writeln!(
                    out,
                    "# through-ear, threaded-ear or pad = not measured{bore}"
                );
            }
        }
    }
    out
}

/// Depth and material of a block's hole.
fn block_rest(cut: &Cut, out: &mut String) {
    let _ = match cut.depth_mm {
        Some(d) => writeln!(out, "depth = {}", crate::units::plain(d, 3)),
        None => writeln!(out, "# depth = not measured"),
    };
    let _ = match &cut.material {
        Some(m) => writeln!(out, "material = \"{m}\""),
        None => writeln!(out, "# material = not given"),
    };
}
