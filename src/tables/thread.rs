//! Metric threads: basic profile, stress area, tap drill and 6g/6H limits.

use std::f64::consts::PI;

use serde::{Deserialize, Serialize};

use crate::tol;

use super::table::{Confidence, Table, UnknownName, increasing, positive, row, size_name};

/// Coarse or fine pitch (ISO 261).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Series {
    /// The pitch meant when a thread is called by its diameter alone.
    Coarse,
    /// Any other pitch.
    Fine,
}

/// One metric thread.
///
/// The basic profile follows from `d_mm` and `pitch_mm` (ISO 68-1, ISO 724);
/// the tolerances are those of a 6g screw in a 6H hole (ISO 965-1).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Thread {
    /// Designation, such as `M10x1.5`.
    pub name: String,
    /// Nominal diameter d, mm.
    pub d_mm: f64,
    /// Pitch P, mm.
    pub pitch_mm: f64,
    /// Coarse or fine.
    pub series: Series,
    /// Stress area as ISO 898-1 prints it (three digits), mm².
    pub stress_area_mm2: f64,
    /// Drill for a cutting tap, mm.
    pub tap_drill_mm: f64,
    /// Fundamental deviation g of the screw, as a positive number, µm.
    pub es_um: f64,
    /// Tolerance of the screw's major diameter, grade 6, µm.
    pub td_um: f64,
    /// Tolerance of the screw's pitch diameter, grade 6, µm.
    pub td2_um: f64,
    /// Tolerance of the hole's pitch diameter, grade 6, µm.
    pub tdd2_um: f64,
    /// Tolerance of the hole's minor diameter, grade 6, µm.
    pub tdd1_um: f64,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(Thread, "thread", "threads.csv", |t|
    name: t.name.clone(),
    check: positive(&[
        ("d_mm", t.d_mm),
        ("pitch_mm", t.pitch_mm),
        ("stress_area_mm2", t.stress_area_mm2),
        ("es_um", t.es_um),
        ("td_um", t.td_um),
        ("td2_um", t.td2_um),
        ("tdd2_um", t.tdd2_um),
        ("tdd1_um", t.tdd1_um),
    ])
    .and_then(|()| increasing(&[
        ("d3", t.d3_mm()),
        ("D1", t.d1_mm()),
        ("d2", t.d2_mm()),
        ("d_mm", t.d_mm),
    ]))
    .and_then(|()| increasing(&[("d3", t.d3_mm()), ("tap_drill_mm", t.tap_drill_mm), ("d_mm", t.d_mm)])));

/// Metric threads by designation.
pub type Threads = Table<Thread>;

impl Threads {
    /// A thread by designation: `M10x1.5`, `M10 x 1.5`, or `M10` for the coarse pitch.
    ///
    /// # Errors
    ///
    /// [`UnknownName`] with the nearest designations.
    pub fn thread(&self, name: &str) -> Result<&Thread, UnknownName> {
        if let Some(t) = self.named(name).next() {
            return Ok(t);
        }
        let Some((d, pitch)) = numbers(name) else {
            return Err(self.unknown(name));
        };
        let same = |a: f64, b: f64| (a - b).abs() < tol::INPUT_GRID_MM;
        self.rows()
            .iter()
            .find(|t| {
                same(t.d_mm, d) && pitch.map_or(t.series == Series::Coarse, |p| same(t.pitch_mm, p))
            })
            .ok_or_else(|| self.unknown(name))
    }
}

/// Diameter and pitch of a designation such as `M10x1.50` or `m 10`, mm.
fn numbers(name: &str) -> Option<(f64, Option<f64>)> {
    let rest = name.trim().strip_prefix(['M', 'm'])?;
    let mut parts = rest.split(['x', 'X', '×', '*']).map(str::trim);
    let d = parts.next()?.parse().ok()?;
    match (parts.next(), parts.next()) {
        (None, _) => Some((d, None)),
        (Some(p), None) => Some((d, Some(p.parse().ok()?))),
        _ => None,
    }
}

impl Thread {
    /// A thread that is in no table, with tolerances by the formulas of ISO 965-1 (from memory), unrounded.
    ///
    /// `d_mm` and `pitch_mm` in mm; the tap drill is `d − P`.
    #[must_use]
    pub fn metric(d_mm: f64, pitch_mm: f64, series: Series) -> Self {
        let p = pitch_mm;
        let td2 = 90.0 * p.powf(0.4) * d_mm.powf(0.1);
        Self {
            name: format!("M{d_mm}x{p}"),
            d_mm,
            pitch_mm,
            series,
            stress_area_mm2: PI / 4.0 * (d_mm - 0.938194 * p).powi(2),
            tap_drill_mm: d_mm - p,
            es_um: 15.0 + 11.0 * p,
            td_um: 180.0 * p.powf(2.0 / 3.0) - 3.15 / p.sqrt(),
            td2_um: td2,
            tdd2_um: 1.32 * td2,
            tdd1_um: if p < 1.0 {
                433.0 * p - 190.0 * p.powf(1.22)
            } else {
                230.0 * p.powf(0.7)
            },
            source: "ISO 68-1 and ISO 965-1 formulas".to_owned(),
            confidence: Confidence::Derived,
        }
    }

    /// Height of the fundamental triangle, H = √3/2·P, mm (ISO 68-1).
    #[must_use]
    pub fn fundamental_height_mm(&self) -> f64 {
        0.5 * 3.0_f64.sqrt() * self.pitch_mm
    }

    /// Basic pitch diameter d2 = d − 3/4·H, mm (ISO 724).
    #[must_use]
    pub fn d2_mm(&self) -> f64 {
        self.d_mm - 0.75 * self.fundamental_height_mm()
    }

    /// Basic minor diameter D1 = d − 5/4·H, mm (ISO 724).
    #[must_use]
    pub fn d1_mm(&self) -> f64 {
        self.d_mm - 1.25 * self.fundamental_height_mm()
    }

    /// Root diameter of the screw d3 = d − 17/12·H, mm (ISO 898-1).
    #[must_use]
    pub fn d3_mm(&self) -> f64 {
        self.d_mm - 17.0 / 12.0 * self.fundamental_height_mm()
    }

    /// Stress area by the formula π/4·((d2 + d3)/2)², mm² (ISO 898-1).
    #[must_use]
    pub fn stress_area_exact_mm2(&self) -> f64 {
        PI / 4.0 * (0.5 * (self.d2_mm() + self.d3_mm())).powi(2)
    }

    /// Area at the root, π/4·d3², mm².
    #[must_use]
    pub fn root_area_mm2(&self) -> f64 {
        PI / 4.0 * self.d3_mm().powi(2)
    }

    /// Area of the plain shank, π/4·d², mm².
    #[must_use]
    pub fn shank_area_mm2(&self) -> f64 {
        PI / 4.0 * self.d_mm * self.d_mm
    }

    /// The size without the pitch, such as `M10`: the key of holes, heads, washers and nuts.
    #[must_use]
    pub fn size(&self) -> String {
        size_name(self.d_mm)
    }

    /// Least major diameter of a 6g screw, mm.
    #[must_use]
    pub fn screw_major_min_mm(&self) -> f64 {
        self.d_mm - 1e-3 * (self.es_um + self.td_um)
    }

    /// Least pitch diameter of a 6g screw, mm.
    #[must_use]
    pub fn screw_pitch_min_mm(&self) -> f64 {
        round_um(self.d2_mm()) - 1e-3 * (self.es_um + self.td2_um)
    }

    /// Greatest pitch diameter of a 6H hole, mm.
    #[must_use]
    pub fn hole_pitch_max_mm(&self) -> f64 {
        round_um(self.d2_mm()) + 1e-3 * self.tdd2_um
    }

    /// Greatest minor diameter of a 6H hole, mm.
    #[must_use]
    pub fn hole_minor_max_mm(&self) -> f64 {
        round_um(self.d1_mm()) + 1e-3 * self.tdd1_um
    }
}

/// ISO 724 prints d2 and D1 to the micrometre, and ISO 965-1 adds its tolerances to those.
fn round_um(mm: f64) -> f64 {
    (mm * 1e3).round() * 1e-3
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::Row;

    #[test]
    fn a_bare_diameter_means_the_coarse_pitch() {
        let t = Threads::standard();
        assert_eq!(t.thread("M10").unwrap().name, "M10x1.5");
        assert_eq!(t.thread("m10 × 1.25").unwrap().name, "M10x1.25");
        assert_eq!(t.thread("M10 x 1.50").unwrap().name, "M10x1.5");
        assert!(t.thread("M10x").is_err() && t.thread("10").is_err() && t.thread("").is_err());
    }

    #[test]
    fn an_unknown_thread_answers_the_nearest_names() {
        let e = Threads::standard().thread("M10x1.4").unwrap_err();
        assert!(e.nearest.iter().all(|n| n.starts_with("M10x")), "{e}");
        assert!(e.to_string().starts_with("no thread `M10x1.4`"));
    }

    #[test]
    fn m10_limits_are_those_of_6g_and_6h() {
        // ISO 965-1 limits for M10x1.5: 9.732, 8.862, 9.206, 8.676 mm.
        let t = Threads::standard().thread("M10").unwrap();
        assert!((t.screw_major_min_mm() - 9.732).abs() < 1e-9);
        assert!((t.screw_pitch_min_mm() - 8.862).abs() < 1e-9);
        assert!((t.hole_pitch_max_mm() - 9.206).abs() < 1e-9);
        assert!((t.hole_minor_max_mm() - 8.676).abs() < 1e-9);
    }

    #[test]
    fn formula_tolerances_lie_within_a_preferred_number_of_the_table() {
        // ISO 965-1 rounds to the R40 series (steps of 6 %); diameters are taken at the range's mean.
        for t in Threads::standard().rows() {
            let f = Thread::metric(t.d_mm, t.pitch_mm, t.series);
            for (a, b) in [
                (f.es_um, t.es_um),
                (f.td_um, t.td_um),
                (f.td2_um, t.td2_um),
                (f.tdd2_um, t.tdd2_um),
                (f.tdd1_um, t.tdd1_um),
            ] {
                assert!((a / b - 1.0).abs() < 0.08, "{}: {a} against {b}", t.name);
            }
        }
    }

    #[test]
    fn a_shop_row_is_found_and_a_taken_name_is_refused() {
        let own = Thread::metric(9.0, 1.25, Series::Coarse);
        let t = Threads::standard().with_rows([own]).unwrap();
        assert_eq!(t.thread("M9").unwrap().name, "M9x1.25");
        let again = Thread::metric(10.0, 1.5, Series::Coarse);
        assert!(Threads::standard().with_rows([again]).is_err());
        let mut bad = Thread::metric(9.0, 1.25, Series::Coarse);
        bad.tap_drill_mm = 9.5;
        assert!(Threads::standard().with_rows([bad]).is_err());
    }

    #[test]
    fn every_row_names_its_source() {
        assert!(
            Threads::standard()
                .rows()
                .iter()
                .all(|t| !Row::source(t).is_empty())
        );
    }
}
