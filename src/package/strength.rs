//! Strength and vibration of a package: stress pictures, mode shapes, Campbell chart, and the numbers.

use crate::export::ShopFile;
use crate::project::{Project, Strength};
use crate::report::{json_text, strength};
use crate::strength::picture::{campbell_chart, mode_sheet, stress_contour};

/// Modes drawn: those that an engine's orders can reach, and some above to see what comes next.
const MODES_DRAWN: usize = 6;

/// The files; of a set that was not calculated only the word that it was not.
pub(super) fn files(project: &Project) -> Vec<ShopFile> {
    let mut out = vec![ShopFile::new(
        "strength/strength.json",
        json_text(&strength::json(project)),
    )];
    let Strength::Calculated(done) = &project.strength else {
        return out;
    };
    for (k, plate) in done.model.plates.iter().enumerate() {
        out.extend(
            stress_contour(&done.strength, k)
                .map(|svg| ShopFile::new(format!("strength/stress-{}.svg", plate.plate.id), svg)),
        );
    }
    out.push(ShopFile::new(
        "strength/modes.svg",
        mode_sheet(&done.strength, MODES_DRAWN),
    ));
    out.push(ShopFile::new(
        "strength/campbell.svg",
        campbell_chart(&done.strength, &done.model.excitation),
    ));
    out
}
