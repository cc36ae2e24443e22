//! Materials of the tables as the strength calculation takes them.

use crate::strength::model::Material;
use crate::tables::Materials;

use super::BracketError;

pub use crate::layout::stack::SPACER_MATERIAL;

/// Share of a polished bar's fatigue strength that a milled or cut, anodised edge keeps
/// (common practice, no source).
pub const SURFACE: f64 = 0.8;

/// Reliability factor for 99 % of parts (Shigley's *Mechanical Engineering Design*, 10th ed., Table 6-5).
pub const RELIABILITY_99: f64 = 0.814;

/// Fatigue strength over ultimate strength where the table has none: the low end of wrought
/// aluminium's 0.3 to 0.4 (common practice, no source).
const FATIGUE_PER_ULTIMATE: f64 = 0.3;

/// A material of the tables; `part` says whose it is.
pub(super) fn of(name: &str, thickness_mm: f64, part: &str) -> Result<Material, BracketError> {
    let row = Materials::standard()
        .material(name, thickness_mm)
        .map_err(|_| BracketError::NoMaterial {
            material: name.to_owned(),
            thickness_mm,
            part: part.to_owned(),
        })?;
    let bar = row
        .fatigue_mpa
        .unwrap_or(FATIGUE_PER_ULTIMATE * row.ultimate_mpa);
    Ok(Material {
        id: row.name.clone(),
        young_mpa: row.e_gpa * 1e3,
        poisson: row.nu,
        density_kg_m3: row.density_kg_m3,
        yield_mpa: row.yield_mpa,
        ultimate_mpa: row.ultimate_mpa,
        fatigue_mpa: SURFACE * RELIABILITY_99 * bar,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_finished_edge_keeps_two_thirds_of_a_polished_bar() {
        // 6061-T6: 96.5 MPa at 5e8 cycles (Aluminum Association typical).
        let m = of("EN AW-6061-T6", 20.0, "plate `a`").unwrap();
        assert!((m.fatigue_mpa - 96.5 * 0.8 * 0.814).abs() < 1e-9);
        assert!((m.young_mpa - 68_900.0).abs() < 1e-9);
    }

    #[test]
    fn an_unknown_material_is_named_with_its_part() {
        let e = of("cheese", 20.0, "plate `a`").unwrap_err().to_string();
        assert!(e.contains("cheese") && e.contains("plate `a`"), "{e}");
    }
}
