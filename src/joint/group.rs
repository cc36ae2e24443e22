//! Elastic bolt group in three dimensions: how bolts share a force and a moment.
//!
//! Bolts are springs in one plane, parts are rigid and stay in contact
//! (preloaded joints that do not open). In-plane force and twist give each bolt
//! shear, normal force and tilt give it tension; prying is not covered.

use serde::Serialize;

use crate::geom::{Point, Point3, Vector};

use super::load::Wrench;

/// What the method leaves out, for the sheets.
pub const NOT_COVERED: &str =
    "parts are taken as rigid: prying, which adds tension where a plate bends, is not covered";

/// A direction in which the group's second moment is below this share of the
/// greatest one has no arm: positions are good to 1e-9 of the group's size.
const NO_ARM: f64 = 1e-12;

/// One bolt of a group.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupBolt {
    /// Name, such as `block.A1`.
    pub id: String,
    /// Position in the group's plane, mm.
    pub at: Point,
    /// Relative stiffness; stress areas do, equal bolts take 1.
    pub weight: f64,
}

/// The bolts of one joint face.
#[derive(Debug, Clone, PartialEq)]
pub struct Group {
    /// The bolts, at least one, each weight greater than 0.
    pub bolts: Vec<GroupBolt>,
    /// Height of the joint face over the frame's plane, mm.
    pub height_mm: f64,
}

/// What one bolt gets.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoltLoad {
    /// Name.
    pub id: String,
    /// Shear along x, N.
    pub shear_x_n: f64,
    /// Shear along y, N.
    pub shear_y_n: f64,
    /// Resultant shear, N.
    pub shear_n: f64,
    /// Axial force, N: tension positive.
    pub axial_n: f64,
    /// Shear from the force alone, N.
    pub primary_shear_n: f64,
    /// Shear from the twist alone, N.
    pub secondary_shear_n: f64,
}

/// How a group shares one load.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GroupLoads {
    /// Elastic centre x, mm.
    pub centre_x_mm: f64,
    /// Elastic centre y, mm.
    pub centre_y_mm: f64,
    /// Each bolt, in order.
    pub bolts: Vec<BoltLoad>,
    /// Tilting moment that bolts in a line cannot carry, about x, N·m: the seat has to.
    pub seat_tilt_x_nm: f64,
    /// The same about y, N·m.
    pub seat_tilt_y_nm: f64,
    /// Twisting moment that a single bolt cannot carry, N·m: friction has to.
    pub seat_twist_nm: f64,
}

impl Group {
    /// Elastic centre in the group's plane, mm; the origin for an empty group.
    #[must_use]
    pub fn centre(&self) -> Point {
        let total: f64 = self.bolts.iter().map(|b| b.weight).sum();
        if total <= 0.0 {
            return Point::ORIGIN;
        }
        let sum = self
            .bolts
            .iter()
            .fold(Vector::default(), |s, b| s + b.at.to_vector() * b.weight);
        Point::ORIGIN + sum * (1.0 / total)
    }

    /// Shares a wrench given in the group's frame (x, y in the plane, z along its normal, tension positive).
    #[must_use]
    pub fn share(&self, wrench: &Wrench) -> GroupLoads {
        let c = self.centre();
        let w = wrench.moved_to(Point3::new(c.x, c.y, self.height_mm));
        let total: f64 = self.bolts.iter().map(|b| b.weight).sum();
        let (mut sxx, mut syy, mut sxy) = (0.0, 0.0, 0.0);
        for b in &self.bolts {
            let r = b.at - c;
            sxx += b.weight * r.x * r.x;
            syy += b.weight * r.y * r.y;
            sxy += b.weight * r.x * r.y;
        }
        // N·mm from here on.
        let moment = w.moment_nm * 1e3;
        let tilt = tilt_slopes(moment.x, moment.y, sxx, syy, sxy);
        let polar = sxx + syy;
        let size2 = self
            .bolts
            .iter()
            .map(|b| (b.at - c).dot(b.at - c))
            .fold(0.0, f64::max);
        let twists = polar > NO_ARM * size2.max(1.0) * total;
        let bolts = self
            .bolts
            .iter()
            .map(|b| {
                let r = b.at - c;
                let share = b.weight / total;
                let primary = Vector::new(w.force_n.x, w.force_n.y) * share;
                let secondary = if twists {
                    r.left() * (moment.z * b.weight / polar)
                } else {
                    Vector::default()
                };
                let shear = primary + secondary;
                BoltLoad {
                    id: b.id.clone(),
                    shear_x_n: shear.x,
                    shear_y_n: shear.y,
                    shear_n: shear.length(),
                    axial_n: w.force_n.z * share + b.weight * tilt.slope.dot(r),
                    primary_shear_n: primary.length(),
                    secondary_shear_n: secondary.length(),
                }
            })
            .collect();
        GroupLoads {
            centre_x_mm: c.x,
            centre_y_mm: c.y,
            bolts,
            seat_tilt_x_nm: 1e-3 * tilt.left_x,
            seat_tilt_y_nm: 1e-3 * tilt.left_y,
            seat_twist_nm: if twists { 0.0 } else { w.moment_nm.z },
        }
    }
}

struct Tilt {
    /// Axial force per weight and mm of arm, N/mm.
    slope: Vector,
    /// Moments no bolt has an arm for, N·mm.
    left_x: f64,
    left_y: f64,
}

/// Axial forces N = w·(a·x + b·y) with ΣN·y = Mx and −ΣN·x = My.
///
/// Solved along the principal axes, so that bolts in a line carry the tilt
/// across the line and leave the rest.
fn tilt_slopes(mx: f64, my: f64, sxx: f64, syy: f64, sxy: f64) -> Tilt {
    // In terms of the vector g = (−My, Mx): S·(a, b) = g.
    let g = Vector::new(-my, mx);
    let mean = 0.5 * (sxx + syy);
    let half = (0.5 * (sxx - syy)).hypot(sxy);
    let angle = 0.5 * (2.0 * sxy).atan2(sxx - syy);
    let major = Vector::unit_at(angle);
    let axes = [(major, mean + half), (major.left(), mean - half)];
    let floor = NO_ARM * (mean + half).max(1.0);
    let mut slope = Vector::default();
    let mut left = Vector::default();
    for (axis, second_moment) in axes {
        let part = g.dot(axis);
        if second_moment > floor {
            slope = slope + axis * (part / second_moment);
        } else {
            left = left + axis * part;
        }
    }
    Tilt {
        slope,
        left_x: left.y,
        left_y: -left.x,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Vector3;

    fn group(points: &[(f64, f64)]) -> Group {
        Group {
            bolts: points
                .iter()
                .enumerate()
                .map(|(i, &(x, y))| GroupBolt {
                    id: format!("b{i}"),
                    at: Point::new(x, y),
                    weight: 1.0 + 0.1 * i as f64,
                })
                .collect(),
            height_mm: 7.0,
        }
    }

    fn any_wrench() -> Wrench {
        Wrench {
            force_n: Vector3::new(900.0, -1300.0, 700.0),
            at: Point3::new(60.0, -40.0, 95.0),
            moment_nm: Vector3::new(11.0, -23.0, 37.0),
        }
    }

    /// Force and moment of the bolts about the origin, the seat's share added.
    fn resultant(g: &Group, l: &GroupLoads) -> (Vector3, Vector3) {
        let (mut f, mut m) = (Vector3::default(), Vector3::default());
        for (b, load) in g.bolts.iter().zip(&l.bolts) {
            let force = Vector3::new(load.shear_x_n, load.shear_y_n, load.axial_n);
            let at = Point3::new(b.at.x, b.at.y, g.height_mm);
            f = f + force;
            m = m + (at - Point3::ORIGIN).cross(force) * 1e-3;
        }
        (
            f,
            m + Vector3::new(l.seat_tilt_x_nm, l.seat_tilt_y_nm, l.seat_twist_nm),
        )
    }

    #[test]
    fn bolt_forces_balance_the_load_whatever_the_pattern() {
        for points in [
            &[(0.0, 0.0), (80.0, 5.0), (30.0, 60.0), (-20.0, 44.0)][..],
            &[(0.0, 0.0), (50.0, 50.0), (90.0, 90.0)],
            &[(12.0, -3.0)],
            &[(0.0, 0.0), (0.0, 70.0)],
        ] {
            let g = group(points);
            let w = any_wrench();
            let (f, m) = resultant(&g, &g.share(&w));
            assert!((f - w.force_n).length() < 1e-9, "{points:?}");
            let want = w.moment_about_nm(Point3::ORIGIN);
            assert!(
                (m - want).length() < 1e-9,
                "{points:?}: {m:?} against {want:?}"
            );
        }
    }

    #[test]
    fn a_single_bolt_leaves_every_moment_to_its_seat() {
        let l = group(&[(12.0, -3.0)]).share(&any_wrench());
        assert!(l.seat_twist_nm.abs() > 1.0 && l.seat_tilt_x_nm.abs() > 1.0);
        let four =
            group(&[(0.0, 0.0), (80.0, 5.0), (30.0, 60.0), (-20.0, 44.0)]).share(&any_wrench());
        assert!(four.seat_twist_nm == 0.0 && four.seat_tilt_x_nm == 0.0);
    }
}
