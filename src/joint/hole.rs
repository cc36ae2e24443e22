//! What a plate holds at one bolt hole: bearing, tear-out, punching (EN 1993-1-8, AISC 360).

use std::f64::consts::PI;

use serde::Serialize;

use crate::geom::{Point, Region};
use crate::tables::{PropertyClass, Thread};

use super::judgement::{Bench, Judgement};

/// Partial factor of bolts in bearing, shear and tension (EN 1993-1-8:2005 2.2, recommended).
pub const GAMMA_M2: f64 = 1.25;

/// Resistance factor of bearing and tear-out (AISC 360-16 J3.10).
pub const PHI_BEARING: f64 = 0.75;

/// Where a bolt sits in its row.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Row {
    /// Next to the edge the force points to.
    End,
    /// Behind another bolt.
    Inner,
}

/// The metal round one hole, mm. A distance that does not exist is `None`.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Surroundings {
    /// End distance e1 along the force, from the hole's centre, mm.
    pub e1_mm: Option<f64>,
    /// Edge distance e2 across the force, mm.
    pub e2_mm: Option<f64>,
    /// Pitch p1 to the next hole along the force, mm.
    pub p1_mm: Option<f64>,
    /// Gauge p2 to the next hole across the force, mm.
    pub p2_mm: Option<f64>,
}

impl Surroundings {
    /// Surroundings safe for a force in any direction: the nearest edge counts as e1 and e2, the
    /// nearest other hole as p1 and p2.
    ///
    /// Edges are the outline and every opening that does not hold the hole's own centre.
    #[must_use]
    pub fn nearest(region: &Region, centre: Point, others: &[Point]) -> Self {
        let edge = region
            .openings
            .iter()
            .filter(|o| !o.contains(centre))
            .filter(|o| !others.iter().any(|p| o.contains(*p)))
            .chain(std::iter::once(&region.outer))
            .map(|o| o.nearest(centre).distance(centre))
            .fold(f64::INFINITY, f64::min);
        let pitch = others
            .iter()
            .map(|p| p.distance(centre))
            .min_by(f64::total_cmp);
        Self {
            e1_mm: Some(edge),
            e2_mm: Some(edge),
            p1_mm: pitch,
            p2_mm: pitch,
        }
    }
}

/// A bolt hole in a plate, with its bolt.
#[derive(Debug, Clone, PartialEq)]
pub struct PlateHole {
    /// Where: plate and hole.
    pub place: String,
    /// Thread of the bolt.
    pub thread: Thread,
    /// Class of the bolt.
    pub class: PropertyClass,
    /// Hole diameter d0, mm.
    pub hole_mm: f64,
    /// Plate thickness at the hole, mm.
    pub thickness_mm: f64,
    /// Ultimate strength of the plate, MPa.
    pub ultimate_mpa: f64,
    /// Mean diameter dm of the bolt head across flats and corners (or its bearing face if smaller), mm.
    pub head_mean_mm: f64,
    /// The metal round it.
    pub around: Surroundings,
    /// Whether the shear plane goes through the thread.
    pub threads_in_shear: bool,
}

/// Resistances at one hole.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HoleReport {
    /// Where.
    pub place: String,
    /// αd of EN 1993-1-8 Table 3.4.
    pub alpha_d: f64,
    /// αb = min(αd, fub/fu, 1).
    pub alpha_b: f64,
    /// k1.
    pub k1: f64,
    /// Bearing resistance F_b,Rd, N.
    pub bearing_n: f64,
    /// Shear resistance of the bolt F_v,Rd, N.
    pub shear_n: f64,
    /// Tension resistance of the bolt F_t,Rd, N.
    pub tension_n: f64,
    /// Punching resistance of the plate B_p,Rd, N.
    pub punching_n: f64,
    /// Tear-out and bearing resistance φRn of AISC 360-16 J3-6a, N.
    pub tear_out_n: f64,
}

/// αd of EN 1993-1-8:2005 Table 3.4: e1/(3·d0) next to the end, p1/(3·d0) − 1/4 behind another bolt.
#[must_use]
pub fn alpha_d(row: Row, hole_mm: f64, around: &Surroundings) -> f64 {
    match row {
        Row::End => around.e1_mm.map_or(1.0, |e1| e1 / (3.0 * hole_mm)),
        Row::Inner => around.p1_mm.map_or(1.0, |p1| p1 / (3.0 * hole_mm) - 0.25),
    }
}

/// k1 of EN 1993-1-8:2005/AC:2009 Table 3.4.
#[must_use]
pub fn k1(hole_mm: f64, around: &Surroundings) -> f64 {
    let edge = around.e2_mm.map_or(2.5, |e2| 2.8 * e2 / hole_mm - 1.7);
    let gauge = around.p2_mm.map_or(2.5, |p2| 1.4 * p2 / hole_mm - 1.7);
    edge.min(gauge).min(2.5)
}

/// Bearing resistance F_b,Rd = k1·αb·fu·d·t/γM2, N.
#[must_use]
pub fn bearing_n(k1: f64, alpha_b: f64, ultimate_mpa: f64, d_mm: f64, thickness_mm: f64) -> f64 {
    k1 * alpha_b * ultimate_mpa * d_mm * thickness_mm / GAMMA_M2
}

/// Shear resistance of a bolt F_v,Rd = αv·fub·A/γM2, N.
///
/// αv is 0.6; 0.5 for classes over 8.8 sheared in the thread (EN 1993-1-8:2005 Table 3.4).
#[must_use]
pub fn bolt_shear_n(thread: &Thread, class: &PropertyClass, threads_in_shear: bool) -> f64 {
    let (alpha_v, area) = if !threads_in_shear {
        (0.6, thread.shank_area_mm2())
    } else if class.rm_nominal_mpa > 800.0 {
        (0.5, thread.stress_area_mm2)
    } else {
        (0.6, thread.stress_area_mm2)
    };
    alpha_v * class.rm_nominal_mpa * area / GAMMA_M2
}

/// Tension resistance of a bolt F_t,Rd = 0.9·fub·As/γM2, N.
#[must_use]
pub fn bolt_tension_n(thread: &Thread, class: &PropertyClass) -> f64 {
    0.9 * class.rm_nominal_mpa * thread.stress_area_mm2 / GAMMA_M2
}

/// Punching resistance B_p,Rd = 0.6·π·dm·tp·fu/γM2, N.
#[must_use]
pub fn punching_n(head_mean_mm: f64, thickness_mm: f64, ultimate_mpa: f64) -> f64 {
    0.6 * PI * head_mean_mm * thickness_mm * ultimate_mpa / GAMMA_M2
}

/// Tear-out and bearing φRn, Rn = 1.2·lc·t·Fu ≤ 2.4·d·t·Fu, N (AISC 360-16 J3-6a); `clear_mm` is the
/// clear metal from the hole's edge along the force.
#[must_use]
pub fn tear_out_n(clear_mm: f64, d_mm: f64, thickness_mm: f64, ultimate_mpa: f64) -> f64 {
    let per_mm = thickness_mm * ultimate_mpa;
    PHI_BEARING * (1.2 * clear_mm.max(0.0) * per_mm).min(2.4 * d_mm * per_mm)
}

impl PlateHole {
    /// Resistances; αd is the smaller of the end's and the pitch's where both exist.
    #[must_use]
    pub fn resistances(&self) -> HoleReport {
        let d = self.thread.d_mm;
        let alpha_d = alpha_d(Row::End, self.hole_mm, &self.around).min(alpha_d(
            Row::Inner,
            self.hole_mm,
            &self.around,
        ));
        let alpha_b = alpha_d
            .min(self.class.rm_nominal_mpa / self.ultimate_mpa)
            .clamp(0.0, 1.0);
        let k1 = k1(self.hole_mm, &self.around).max(0.0);
        let clear_end = self
            .around
            .e1_mm
            .map_or(f64::INFINITY, |e| e - 0.5 * self.hole_mm);
        let clear_next = self
            .around
            .p1_mm
            .map_or(f64::INFINITY, |p| p - self.hole_mm);
        HoleReport {
            place: self.place.clone(),
            alpha_d,
            alpha_b,
            k1,
            bearing_n: bearing_n(k1, alpha_b, self.ultimate_mpa, d, self.thickness_mm),
            shear_n: bolt_shear_n(&self.thread, &self.class, self.threads_in_shear),
            tension_n: bolt_tension_n(&self.thread, &self.class),
            punching_n: punching_n(self.head_mean_mm, self.thickness_mm, self.ultimate_mpa),
            tear_out_n: tear_out_n(
                clear_end.min(clear_next),
                d,
                self.thickness_mm,
                self.ultimate_mpa,
            ),
        }
    }

    /// Verdicts for a bolt that presses on the hole with `shear_n` and pulls with `tension_n`.
    #[must_use]
    pub fn judge(&self, shear_n: f64, tension_n: f64) -> Vec<Judgement> {
        let r = self.resistances();
        let bench = Bench { place: &self.place };
        vec![
            bench.at_most(
                "J401",
                "force on the hole's wall, should the joint slip",
                (shear_n, r.bearing_n, "N"),
                "EN 1993-1-8:2005 T.3.4",
            ),
            bench.at_most(
                "J402",
                "force towards the edge or the next hole, should the joint slip",
                (shear_n, r.tear_out_n, "N"),
                "AISC 360-16 J3-6a",
            ),
            bench.at_most(
                "J403",
                "pull of the head through the plate",
                (tension_n, r.punching_n, "N"),
                "EN 1993-1-8:2005 T.3.4",
            ),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Path;

    #[test]
    fn the_nearest_edge_and_hole_stand_for_every_direction() {
        let region = Region {
            outer: Path::polygon(&[
                Point::new(0.0, 0.0),
                Point::new(100.0, 0.0),
                Point::new(100.0, 60.0),
                Point::new(0.0, 60.0),
            ]),
            openings: vec![
                Path::circle(Point::new(20.0, 30.0), 5.5),
                Path::circle(Point::new(45.0, 30.0), 5.5),
                Path::circle(Point::new(20.0, 50.0), 2.0),
            ],
        };
        let s = Surroundings::nearest(&region, Point::new(20.0, 30.0), &[Point::new(45.0, 30.0)]);
        // The window 20 mm above, radius 2, is nearer than the edge at 20 mm.
        assert!((s.e1_mm.unwrap() - 18.0).abs() < 1e-12);
        assert!((s.p1_mm.unwrap() - 25.0).abs() < 1e-12);
    }

    #[test]
    fn a_hole_nearer_the_edge_bears_less() {
        let near = Surroundings {
            e1_mm: Some(15.0),
            ..Surroundings::default()
        };
        let far = Surroundings {
            e1_mm: Some(30.0),
            ..Surroundings::default()
        };
        assert!(alpha_d(Row::End, 11.0, &near) < alpha_d(Row::End, 11.0, &far));
        assert!((k1(11.0, &near) - 2.5).abs() < 1e-12);
    }
}
