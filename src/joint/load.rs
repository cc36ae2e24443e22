//! What a joint group must carry: hub loads, weight under shock, torque reaction.

use serde::Serialize;

use crate::geom::{Frame, Point3, Vector3};

/// Standard gravity, m/s² (ISO 80000-3).
pub const GRAVITY_M_S2: f64 = 9.80665;

/// A force and a moment, the force acting at a point.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Wrench {
    /// Force, N.
    pub force_n: Vector3,
    /// Where it acts, mm.
    pub at: Point3,
    /// Free moment, N·m.
    pub moment_nm: Vector3,
}

impl Wrench {
    /// Moment about a point, N·m.
    #[must_use]
    pub fn moment_about_nm(&self, p: Point3) -> Vector3 {
        self.moment_nm + (self.at - p).cross(self.force_n) * 1e-3
    }

    /// The same wrench with its force moved to `p`.
    #[must_use]
    pub fn moved_to(&self, p: Point3) -> Self {
        Self {
            force_n: self.force_n,
            at: p,
            moment_nm: self.moment_about_nm(p),
        }
    }

    /// Both wrenches as one, acting at this one's point.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        let other = other.moved_to(self.at);
        Self {
            force_n: self.force_n + other.force_n,
            at: self.at,
            moment_nm: self.moment_nm + other.moment_nm,
        }
    }

    /// The wrench seen in a frame: its point in plane coordinates and height.
    #[must_use]
    pub fn seen_from(&self, frame: &Frame) -> Self {
        let turn = |v: Vector3| Vector3::new(v.dot(frame.x), v.dot(frame.y), v.dot(frame.normal));
        let (p, h) = frame.to_plane(self.at);
        Self {
            force_n: turn(self.force_n),
            at: Point3::new(p.x, p.y, h),
            moment_nm: turn(self.moment_nm),
        }
    }
}

/// Everything that loads one joint group, in the engine frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Demands {
    /// Belt forces on pulleys, each with the point it acts at (the hub in the rib plane).
    pub hubs: Vec<Wrench>,
    /// Moment the accessory's shaft torque puts on its body, N·m.
    pub torque_reaction_nm: Vector3,
    /// Mass held, kg.
    pub mass_kg: f64,
    /// Its centre, mm.
    pub centre: Point3,
    /// Direction of gravity, unit.
    pub down: Vector3,
    /// Shock factor on the weight, in multiples of gravity, in any direction.
    pub shock_g: f64,
    /// Where the shock factor comes from.
    pub shock_source: String,
}

/// One load case of a group.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// What it is: `steady`, `shock +x` and so on, in the engine frame.
    pub name: String,
    /// The sum of all loads.
    pub wrench: Wrench,
}

impl Demands {
    /// Steady running, and a shock of the weight in each direction of the engine frame on top of it.
    #[must_use]
    pub fn cases(&self) -> Vec<Case> {
        let weight = self.mass_kg * GRAVITY_M_S2;
        let mut steady = Wrench {
            force_n: self.down * weight,
            at: self.centre,
            moment_nm: self.torque_reaction_nm,
        };
        for hub in &self.hubs {
            steady = steady.plus(hub);
        }
        let mut cases = vec![Case {
            name: "steady".to_owned(),
            wrench: steady,
        }];
        for (name, axis) in [("x", Vector3::X), ("y", Vector3::Y), ("z", Vector3::Z)] {
            for (sign, k) in [("+", 1.0), ("-", -1.0)] {
                let shock = Wrench {
                    force_n: axis * (k * weight * self.shock_g),
                    at: self.centre,
                    moment_nm: Vector3::default(),
                };
                cases.push(Case {
                    name: format!("shock {sign}{name}"),
                    wrench: steady.plus(&shock),
                });
            }
        }
        cases
    }
}

/// A belt's pull on a hub, as numbers a file can carry.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct HubLoad {
    /// Force along engine x, N.
    pub fx_n: f64,
    /// Force along engine y, N.
    pub fy_n: f64,
    /// Hub centre x, mm.
    pub x_mm: f64,
    /// Hub centre y, mm.
    pub y_mm: f64,
    /// Rib plane z, mm.
    pub z_mm: f64,
}

impl From<HubLoad> for Wrench {
    fn from(h: HubLoad) -> Self {
        Self {
            force_n: Vector3::new(h.fx_n, h.fy_n, 0.0),
            at: Point3::new(h.x_mm, h.y_mm, h.z_mm),
            moment_nm: Vector3::default(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moving_a_wrench_leaves_its_moment_about_any_point() {
        let w = Wrench {
            force_n: Vector3::new(100.0, -50.0, 20.0),
            at: Point3::new(10.0, 20.0, 30.0),
            moment_nm: Vector3::new(1.0, 2.0, 3.0),
        };
        let p = Point3::new(-5.0, 7.0, 2.0);
        let a = w.moment_about_nm(p);
        let b = w.moved_to(Point3::new(99.0, -3.0, 4.0)).moment_about_nm(p);
        assert!((a - b).length() < 1e-12);
    }

    #[test]
    fn a_shock_is_the_weight_times_the_factor() {
        let d = Demands {
            hubs: vec![],
            torque_reaction_nm: Vector3::default(),
            mass_kg: 10.0,
            centre: Point3::new(0.0, 0.0, 50.0),
            down: Vector3::new(0.0, -1.0, 0.0),
            shock_g: 10.0,
            shock_source: "common practice".to_owned(),
        };
        let cases = d.cases();
        assert_eq!(cases.len(), 7);
        let down = cases.iter().find(|c| c.name == "shock -y").unwrap();
        assert!((down.wrench.force_n.y + 11.0 * 98.0665).abs() < 1e-9);
    }

    #[test]
    fn a_force_seen_from_a_side_plate_turns_with_its_frame() {
        let frame = Frame::new(
            Point3::new(10.0, 0.0, 0.0),
            Vector3::X,
            Vector3::new(0.0, 0.0, -1.0),
        )
        .unwrap();
        let w = Wrench {
            force_n: Vector3::new(0.0, 0.0, 5.0),
            at: Point3::new(10.0, 3.0, -4.0),
            moment_nm: Vector3::X,
        };
        let seen = w.seen_from(&frame);
        assert_eq!(seen.force_n, Vector3::new(-5.0, 0.0, 0.0));
        assert_eq!(seen.at, Point3::new(4.0, 3.0, 0.0));
        assert_eq!(seen.moment_nm, Vector3::Z);
    }
}
