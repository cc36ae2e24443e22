//! How a mount moves when washers go under its bolts: exact rigid motions.
//!
//! Lifts at the bolts define a plane; the mount turns the shortest way from
//! its seat onto that plane while the middle of its bolts rises straight up
//! the seat's normal. One bolt only lifts. Two bolts, or a row of them, turn
//! it about the line in the seat square to the row. On four or more bolts the
//! plane is the least-squares one, and what is left over is what the bolts
//! would bend the plate by.

use super::mount::{Mount, Stand};
use crate::geom::{Point3, Vector3};

/// Bolts spread less than this share across their row count as a row: a plane through them would be a guess.
const ROW_SHARE: f64 = 1e-6;

/// A rigid motion of space: rotation rows and a shift.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Motion {
    rows: [Vector3; 3],
    shift: Vector3,
}

impl Motion {
    /// No motion.
    pub(super) const NONE: Self = Self {
        rows: [Vector3::X, Vector3::Y, Vector3::Z],
        shift: Vector3::new(0.0, 0.0, 0.0),
    };

    /// Where a point goes.
    pub(super) fn point(&self, p: Point3) -> Point3 {
        let v = self.direction(p - Point3::ORIGIN);
        Point3::ORIGIN + v + self.shift
    }

    /// Where a direction points.
    pub(super) fn direction(&self, v: Vector3) -> Vector3 {
        Vector3::new(
            self.rows[0].dot(v),
            self.rows[1].dot(v),
            self.rows[2].dot(v),
        )
    }

    /// This motion after `first`.
    pub(super) fn after(&self, first: &Self) -> Self {
        let column = |k: usize| {
            let pick = |r: Vector3| [r.x, r.y, r.z][k];
            self.direction(Vector3::new(
                pick(first.rows[0]),
                pick(first.rows[1]),
                pick(first.rows[2]),
            ))
        };
        let (x, y, z) = (column(0), column(1), column(2));
        Self {
            rows: [
                Vector3::new(x.x, y.x, z.x),
                Vector3::new(x.y, y.y, z.y),
                Vector3::new(x.z, y.z, z.z),
            ],
            shift: self.direction(first.shift) + self.shift,
        }
    }

    /// A turn by `angle` rad about the unit direction `k` through `centre`, then a shift (Rodrigues' formula).
    pub(super) fn turn(k: Vector3, angle: f64, centre: Point3, shift: Vector3) -> Self {
        let (sin, cos) = angle.sin_cos();
        let row = |e: Vector3| {
            // The row of Rodrigues' matrix that gives component e of the turned vector.
            e * cos + e.cross(k) * sin + k * (k.dot(e) * (1.0 - cos))
        };
        let mut motion = Self {
            rows: [row(Vector3::X), row(Vector3::Y), row(Vector3::Z)],
            shift: Vector3::new(0.0, 0.0, 0.0),
        };
        motion.shift = (centre - motion.point(centre)) + shift;
        motion
    }
}

/// The plane washers give a seat: w = rise + slope · (p − middle), and what does not lie in it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Tipped {
    pub(super) middle: [f64; 2],
    pub(super) rise: f64,
    pub(super) slope: [f64; 2],
    /// Largest distance of a lift from the plane, mm.
    pub(super) bend: f64,
}

/// How the bolts of a mount lie.
#[derive(Debug, Clone)]
pub(super) struct Layout {
    middle: [f64; 2],
    /// Bolt places about the middle, in principal directions.
    arms: Vec<[f64; 2]>,
    /// Principal directions of the bolts, the longer spread first.
    principal: [[f64; 2]; 2],
    /// Sums of squares along them; 0 where there is no spread to speak of.
    spread: [f64; 2],
}

impl Layout {
    /// The layout of a mount's bolts.
    pub(super) fn of(mount: &Mount) -> Self {
        let n = mount.bolts.len().max(1) as f64;
        let middle = [
            mount.bolts.iter().map(|b| b.at.x).sum::<f64>() / n,
            mount.bolts.iter().map(|b| b.at.y).sum::<f64>() / n,
        ];
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for b in &mount.bolts {
            let (dx, dy) = (b.at.x - middle[0], b.at.y - middle[1]);
            xx += dx * dx;
            xy += dx * dy;
            yy += dy * dy;
        }
        let (sin, cos) = (0.5 * (2.0 * xy).atan2(xx - yy)).sin_cos();
        let principal = [[cos, sin], [-sin, cos]];
        let arms: Vec<[f64; 2]> = mount
            .bolts
            .iter()
            .map(|b| {
                let d = [b.at.x - middle[0], b.at.y - middle[1]];
                principal.map(|p| d[0] * p[0] + d[1] * p[1])
            })
            .collect();
        let mut spread = [0, 1].map(|k| arms.iter().map(|a| a[k] * a[k]).sum::<f64>());
        if spread[1] <= ROW_SHARE * ROW_SHARE * spread[0] {
            spread[1] = 0.0;
        }
        Self {
            middle,
            arms,
            principal,
            spread,
        }
    }

    /// The plane that lifts at the bolts give.
    pub(super) fn tipped(&self, lifts: &[f64]) -> Tipped {
        let n = self.arms.len().max(1) as f64;
        let rise = lifts.iter().sum::<f64>() / n;
        let slope_along = [0, 1].map(|k| {
            if self.spread[k] > 0.0 {
                self.arms
                    .iter()
                    .zip(lifts)
                    .map(|(a, h)| a[k] * (h - rise))
                    .sum::<f64>()
                    / self.spread[k]
            } else {
                0.0
            }
        });
        let bend = self
            .arms
            .iter()
            .zip(lifts)
            .map(|(a, h)| (h - rise - slope_along[0] * a[0] - slope_along[1] * a[1]).abs())
            .fold(0.0, f64::max);
        let [p, q] = self.principal;
        Tipped {
            middle: self.middle,
            rise,
            slope: [
                slope_along[0] * p[0] + slope_along[1] * q[0],
                slope_along[0] * p[1] + slope_along[1] * q[1],
            ],
            bend,
        }
    }

    /// Directions a plane through the bolts can be changed in: rise, and a slope along each spread.
    pub(super) fn freedoms(&self) -> usize {
        1 + self.spread.iter().filter(|s| **s > 0.0).count()
    }

    /// Middle of the bolts, in the plane of the seat.
    pub(super) fn middle(&self) -> [f64; 2] {
        self.middle
    }

    /// The lifts of a plane given by its freedoms: rise, slope along each spread.
    pub(super) fn lifts(&self, freedoms: &[f64]) -> Vec<f64> {
        let get = |k: usize| freedoms.get(k).copied().unwrap_or(0.0);
        self.arms
            .iter()
            .map(|a| get(0) + get(1) * a[0] + get(2) * a[1])
            .collect()
    }
}

impl Tipped {
    /// How far the mount leans, deg.
    pub(super) fn lean_deg(&self) -> f64 {
        self.slope[0].hypot(self.slope[1]).atan().to_degrees()
    }

    /// The motion of the mount.
    pub(super) fn motion(&self, mount: &Mount) -> Motion {
        let f = &mount.seat;
        let centre = f.origin + f.x * self.middle[0] + f.y * self.middle[1];
        let shift = f.normal * self.rise;
        let steep = self.slope[0].hypot(self.slope[1]);
        if steep == 0.0 {
            return Motion {
                shift,
                ..Motion::NONE
            };
        }
        // The seat turns about the level line of the plane: normal × uphill direction, uphill rising.
        let uphill = f.x * (self.slope[0] / steep) + f.y * (self.slope[1] / steep);
        Motion::turn(uphill.cross(f.normal), steep.atan(), centre, shift)
    }
}

/// The motion of a mount with everything it is bolted to, given the motion of each mount by itself.
pub(super) fn whole(parents: &[Option<usize>], own: &[Motion], mount: usize) -> Motion {
    let mut motion = own[mount];
    let mut above = parents[mount];
    // A circle was refused by the check; the count only bounds the walk.
    for _ in 0..parents.len() {
        let Some(i) = above else { break };
        motion = own[i].after(&motion);
        above = parents[i];
    }
    motion
}

/// How a pulley stands after a motion, given how it stood; `plane` is the reference's rib plane, z in mm.
pub(super) fn moved(centre: Point3, plane: f64, stand: &Stand, motion: &Motion) -> Stand {
    let now = Point3::new(centre.x, centre.y, plane + stand.offset_mm);
    let [x, y, z] = stand.axis;
    let axis = motion.direction(Vector3::new(x, y, z));
    Stand {
        offset_mm: motion.point(now).z - plane,
        axis: [axis.x, axis.y, axis.z],
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Frame, Point};
    use crate::shim::mount::{BEND_LIMIT_MM, Bolt, LEAN_LIMIT_DEG};

    fn mount(bolts: &[(f64, f64)]) -> Mount {
        Mount {
            name: "plate".to_owned(),
            on: None,
            seat: Frame::FRONT,
            bolts: bolts
                .iter()
                .enumerate()
                .map(|(i, (x, y))| Bolt {
                    name: format!("{i}"),
                    at: Point::new(*x, *y),
                    place: None,
                    spacer_mm: None,
                    play_mm: 0.0,
                })
                .collect(),
            bend_limit_mm: BEND_LIMIT_MM,
            lean_limit_deg: LEAN_LIMIT_DEG,
        }
    }

    #[test]
    fn a_washer_at_the_lower_bolt_turns_the_face_up_and_the_lower_edge_out() {
        let m = mount(&[(0.0, 0.0), (0.0, 100.0)]);
        let motion = Layout::of(&m).tipped(&[1.0, 0.0]).motion(&m);
        let stand = moved(Point3::new(0.0, 50.0, 40.0), 40.0, &Stand::TRUE, &motion);
        assert!(stand.axis[1] > 0.0, "the face looks up");
        assert_eq!(stand.looks(), "up");
        let low = motion.point(Point3::new(0.0, 10.0, 40.0));
        let high = motion.point(Point3::new(0.0, 90.0, 40.0));
        assert!(low.z > high.z, "the lower edge stands out");
        assert!((stand.tilt_deg() - 0.01_f64.atan().to_degrees()).abs() < 1e-12);
    }

    #[test]
    fn equal_washers_only_lift() {
        let m = mount(&[(0.0, 0.0), (80.0, 0.0), (40.0, 60.0)]);
        let tipped = Layout::of(&m).tipped(&[0.5, 0.5, 0.5]);
        let stand = moved(
            Point3::new(10.0, 200.0, 40.0),
            40.0,
            &Stand::TRUE,
            &tipped.motion(&m),
        );
        assert!(
            (stand.offset_mm - 0.5).abs() < 1e-12 && stand.tilt_deg() < 1e-9 && tipped.bend < 1e-12
        );
    }

    #[test]
    fn one_washer_of_four_bends_the_plate_by_a_quarter_of_it() {
        // Corners of a square: the best plane leaves ± h/4 at every corner.
        let m = mount(&[(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)]);
        let tipped = Layout::of(&m).tipped(&[1.0, 0.0, 0.0, 0.0]);
        assert!((tipped.bend - 0.25).abs() < 1e-12);
    }

    #[test]
    fn a_row_of_bolts_cannot_turn_about_itself() {
        let m = mount(&[(0.0, 0.0), (50.0, 50.0), (100.0, 100.0)]);
        let layout = Layout::of(&m);
        assert_eq!(layout.freedoms(), 2);
        let tipped = layout.tipped(&[0.0, 0.5, 1.0]);
        assert!(tipped.bend < 1e-12);
        assert!((tipped.slope[0] - tipped.slope[1]).abs() < 1e-12);
    }

    #[test]
    fn motions_chain_like_matrices() {
        let a = Motion::turn(Vector3::Z, 0.3, Point3::new(1.0, 2.0, 3.0), Vector3::X);
        let b = Motion::turn(
            Vector3::X,
            -0.7,
            Point3::ORIGIN,
            Vector3::new(0.0, 1.0, -2.0),
        );
        let p = Point3::new(4.0, -5.0, 6.0);
        assert!(b.after(&a).point(p).distance(b.point(a.point(p))) < 1e-12);
        assert!(
            a.point(Point3::new(1.0, 2.0, 3.0))
                .distance(Point3::new(2.0, 2.0, 3.0))
                < 1e-12
        );
    }
}
