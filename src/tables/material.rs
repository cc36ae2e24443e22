//! Plate, block and spacer materials.

use std::fmt;

use serde::{Deserialize, Serialize};

use super::table::{Confidence, Table, UnknownName, increasing, positive, row};

/// The family a material belongs to, as thread and edge rules know it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Group {
    /// Structural and bolt steels.
    Steel,
    /// Austenitic stainless steels.
    Stainless,
    /// Grey and ductile iron.
    CastIron,
    /// Wrought and cast aluminium alloys.
    Aluminium,
}

impl fmt::Display for Group {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Steel => "steel",
            Self::Stainless => "stainless",
            Self::CastIron => "cast-iron",
            Self::Aluminium => "aluminium",
        })
    }
}

/// Whether a row's strengths are guaranteed or typical.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Basis {
    /// The product standard's minimum: what a design uses.
    Minimum,
    /// A data sheet's typical value.
    Typical,
}

/// One material over a range of thickness.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Material {
    /// Designation, such as `EN AW-6061-T6`.
    pub name: String,
    /// Other names, separated by `;`.
    #[serde(default)]
    pub aliases: String,
    /// Family.
    pub group: Group,
    /// Guaranteed or typical strengths.
    pub basis: Basis,
    /// The row holds for thicknesses over this, mm.
    pub t_over_mm: f64,
    /// … and up to this, mm.
    pub t_to_mm: f64,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Young's modulus, GPa.
    pub e_gpa: f64,
    /// Poisson's ratio.
    pub nu: f64,
    /// Yield (0.2 % proof) strength, MPa.
    pub yield_mpa: f64,
    /// Ultimate tensile strength, MPa.
    pub ultimate_mpa: f64,
    /// Fatigue strength amplitude, MPa.
    pub fatigue_mpa: Option<f64>,
    /// What the fatigue strength means: stress ratio, cycles, test.
    pub fatigue_basis: String,
    /// Linear thermal expansion, 10⁻⁶/K.
    pub cte_1e6_k: f64,
    /// Shear strength where a source gives one, MPa.
    pub shear_mpa: Option<f64>,
    /// Shear strength over tensile strength (VDI 2230-1 Table A6/A9, from memory).
    pub shear_ratio: f64,
    /// Bearing pressure that a fastener's head may put on it, MPa (VDI 2230-1).
    pub bearing_limit_mpa: Option<f64>,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(Material, "material", "materials.csv", |r|
    name: r.name.clone(),
    aliases: r.aliases,
    distinction: format!("{:?} {}", r.basis, r.t_over_mm),
    check: increasing(&[("t_over_mm", r.t_over_mm), ("t_to_mm", r.t_to_mm)])
        .and_then(|()| positive(&[
            ("density_kg_m3", r.density_kg_m3),
            ("e_gpa", r.e_gpa),
            ("nu", r.nu),
            ("yield_mpa", r.yield_mpa),
            ("cte_1e6_k", r.cte_1e6_k),
            ("shear_ratio", r.shear_ratio),
        ]))
        .and_then(|()| increasing(&[("nu", r.nu), ("half", 0.5)]))
        .and_then(|()| increasing(&[("yield_mpa", r.yield_mpa), ("ultimate_mpa", r.ultimate_mpa)])));

/// Materials by designation and thickness.
pub type Materials = Table<Material>;

impl Materials {
    /// The material to design with at a thickness: guaranteed strengths where the table has them, else typical.
    ///
    /// # Errors
    ///
    /// [`UnknownName`] for an unknown name, or a thickness outside every row of it.
    pub fn material(&self, name: &str, thickness_mm: f64) -> Result<&Material, UnknownName> {
        self.of_basis(name, thickness_mm, Basis::Minimum)
            .or_else(|| self.of_basis(name, thickness_mm, Basis::Typical))
            .ok_or_else(|| self.unknown(name))
    }

    /// The row of a name, thickness and basis, if there is one.
    #[must_use]
    pub fn of_basis(&self, name: &str, thickness_mm: f64, basis: Basis) -> Option<&Material> {
        self.named(name)
            .find(|r| r.basis == basis && thickness_mm > r.t_over_mm && thickness_mm <= r.t_to_mm)
    }
}

impl Material {
    /// Young's modulus, MPa.
    #[must_use]
    pub fn e_mpa(&self) -> f64 {
        1e3 * self.e_gpa
    }

    /// Linear thermal expansion, 1/K.
    #[must_use]
    pub fn cte_per_k(&self) -> f64 {
        1e-6 * self.cte_1e6_k
    }

    /// Shear strength, MPa: the given one, else the ratio times the tensile strength.
    #[must_use]
    pub fn shear_strength_mpa(&self) -> f64 {
        self.shear_mpa
            .unwrap_or(self.shear_ratio * self.ultimate_mpa)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_thick_plate_yields_lower() {
        let t = Materials::standard();
        assert!((t.material("S355J2", 16.0).unwrap().yield_mpa - 355.0).abs() < 1e-12);
        assert!((t.material("S355", 20.0).unwrap().yield_mpa - 345.0).abs() < 1e-12);
        assert!(t.material("S355", 60.0).is_err());
    }

    #[test]
    fn a_design_uses_guaranteed_strengths() {
        let t = Materials::standard();
        let m = t.material("6061-T6", 12.0).unwrap();
        assert_eq!(m.basis, Basis::Minimum);
        assert!((m.yield_mpa - 240.0).abs() < 1e-12);
        assert!((m.shear_strength_mpa() - 203.0).abs() < 1e-9);
    }

    #[test]
    fn an_unknown_material_answers_the_nearest() {
        let e = Materials::standard()
            .material("EN AW-6060-T6", 10.0)
            .unwrap_err();
        assert_eq!(e.nearest[0], "EN AW-6061-T6");
    }
}
