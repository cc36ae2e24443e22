//! Strength and vibration of a package: stress pictures, mode shapes, Campbell chart, and the numbers.

use crate::export::ShopFile;
use crate::page::{Drawn, Shows};
use crate::project::{Project, Strength};
use crate::report::{json_text, strength};
use crate::strength::picture::{campbell_chart, mode_sheet, stress_contour};

/// Modes drawn: those that an engine's orders can reach, and some above to see what comes next.
const MODES_DRAWN: usize = 6;

/// The pictures; none of a set that was not calculated.
pub(super) fn pictures(project: &Project) -> Vec<Drawn> {
    let Strength::Calculated(done) = &project.strength else {
        return Vec::new();
    };
    let mut out = Vec::new();
    for (k, plate) in done.model.plates.iter().enumerate() {
        let id = &plate.plate.id;
        out.extend(stress_contour(&done.strength, k).map(|svg| Drawn {
            title: format!("Stress in plate {id}"),
            of: Shows::Stress(id.clone()),
            svg,
        }));
    }
    out.push(Drawn {
        title: "Mode shapes".to_owned(),
        of: Shows::Modes,
        svg: mode_sheet(&done.strength, MODES_DRAWN),
    });
    out.push(Drawn {
        title: "Natural frequencies against the engine's orders".to_owned(),
        of: Shows::Resonance,
        svg: campbell_chart(&done.strength, &done.model.excitation),
    });
    out
}

/// The files; of a set that was not calculated only the word that it was not.
pub(super) fn files(project: &Project, pictures: &[Drawn]) -> Vec<ShopFile> {
    let mut out = vec![ShopFile::new(
        "strength/strength.json",
        json_text(&strength::json(project)),
    )];
    out.extend(pictures.iter().map(|p| {
        let name = match &p.of {
            Shows::Stress(plate) => format!("strength/stress-{plate}.svg"),
            Shows::Modes => "strength/modes.svg".to_owned(),
            Shows::Resonance => "strength/campbell.svg".to_owned(),
        };
        ShopFile::new(name, p.svg.as_str())
    }));
    out
}
