//! The least gap of a body that swings or slides, within a stated bound.

use std::collections::BTreeMap;

use crate::geom::{Frame, Point3, Vector3};
use crate::tables::gap::Limits;

use super::body::Body;
use super::scene::{Gap, Nearest, ReadyBody, Scene, all_pairs, describe, nearest_solids};
use super::solid::{Prism, Solid, Tube};

/// How much less than found the gap of a moving body may be between the looked-at positions, mm.
///
/// Arms and slots are made to a few tenths; a twentieth is below what matters.
pub const SWEEP_MM: f64 = 0.05;

/// How a body moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Motion {
    /// Turns about an axis: an arm about its pivot, an accessory along its slot.
    Turn {
        /// A point of the axis, mm.
        pivot: Point3,
        /// Direction of the axis; turning is right-handed about it.
        axis: Vector3,
        /// Angle at the start of the way, rad from the body's given place.
        from_rad: f64,
        /// Angle at the end of the way, rad.
        to_rad: f64,
    },
    /// Slides straight: a belt coming off, a bolt drawn out.
    Slide {
        /// From the body's given place to the end of the way, mm.
        by: Vector3,
    },
}

impl Motion {
    /// A point of the body at `t` in 0..=1 along the way.
    #[must_use]
    pub fn carried(&self, p: Point3, t: f64) -> Point3 {
        match *self {
            Self::Turn { pivot, .. } => pivot + self.turned(p - pivot, t),
            Self::Slide { by } => p + by * t,
        }
    }

    /// A direction of the body at `t`.
    fn turned(&self, v: Vector3, t: f64) -> Vector3 {
        let Self::Turn {
            axis,
            from_rad,
            to_rad,
            ..
        } = *self
        else {
            return v;
        };
        // Rodrigues' rotation.
        let k = axis.unit().unwrap_or(Vector3::Z);
        let (sin, cos) = (from_rad + t * (to_rad - from_rad)).sin_cos();
        v * cos + k.cross(v) * sin + k * (k.dot(v) * (1.0 - cos))
    }

    /// The body at `t` in 0..=1 along the way.
    #[must_use]
    pub fn placed(&self, body: &Body, t: f64) -> Body {
        let solids = body
            .solids
            .iter()
            .map(|s| match s {
                Solid::Prism(p) => Solid::Prism(Prism {
                    frame: Frame {
                        origin: self.carried(p.frame.origin, t),
                        x: self.turned(p.frame.x, t),
                        y: self.turned(p.frame.y, t),
                        normal: self.turned(p.frame.normal, t),
                    },
                    ..p.clone()
                }),
                Solid::Tube(tube) => Solid::Tube(Tube {
                    centres: tube.centres.iter().map(|&c| self.carried(c, t)).collect(),
                    ..tube.clone()
                }),
            })
            .collect();
        Body {
            solids,
            ..body.clone()
        }
    }

    /// Longest way any point of the body travels from start to end, mm.
    fn travel_mm(&self, body: &ReadyBody) -> f64 {
        match *self {
            Self::Slide { by } => by.length(),
            Self::Turn {
                pivot,
                axis,
                from_rad,
                to_rad,
            } => {
                let k = axis.unit().unwrap_or(Vector3::Z);
                let mut reach: f64 = 0.0;
                for solid in &body.solids {
                    let b = solid.bounds();
                    for x in [b.min[0], b.max[0]] {
                        for y in [b.min[1], b.max[1]] {
                            for z in [b.min[2], b.max[2]] {
                                let v = Point3::new(x, y, z) - pivot;
                                reach = reach.max(k.cross(v).length());
                            }
                        }
                    }
                }
                reach * (to_rad - from_rad).abs()
            }
        }
    }
}

impl Scene {
    /// The least gap of a body on its way to every body of the scene that comes within `near_mm` beyond its limit.
    ///
    /// Bodies of the moving body's own assembly and its contacts are left out.
    /// The reported gap is never more than the true least one; `bound_mm` tells
    /// how much less it may be ([`SWEEP_MM`]).
    #[must_use]
    pub fn gaps_on_the_way(
        &self,
        body: &Body,
        motion: &Motion,
        limits: &Limits,
        near_mm: f64,
    ) -> Vec<Gap> {
        let still = ReadyBody::new(&motion.placed(body, 0.5));
        let travel = motion.travel_mm(&still);
        let mut places = Places {
            body,
            motion,
            ready: BTreeMap::new(),
        };
        let mut gaps = Vec::new();
        for other in self.bodies() {
            if other.id == body.id || !self.is_judged(&still, other, limits) {
                continue;
            }
            let Some((limit, source)) = limits.limit(body.kind, other.kind) else {
                continue;
            };
            let mut way = Way {
                other,
                travel,
                near: limit + near_mm,
                best: None,
            };
            way.look(&mut places, 0.0);
            way.look(&mut places, 1.0);
            way.halve(&mut places, 0.0, 1.0);
            if let Some((mut nearest, t)) = way.best {
                nearest.gap.gap -= SWEEP_MM;
                nearest.gap.bound += SWEEP_MM;
                let mut described = describe((places.at(t), other), &nearest, limit, source);
                described.on_the_way = Some(t);
                gaps.push(described);
            }
        }
        gaps
    }
}

/// The moving body at the positions looked at so far.
struct Places<'a> {
    body: &'a Body,
    motion: &'a Motion,
    ready: BTreeMap<u64, std::sync::Arc<ReadyBody>>,
}

impl Places<'_> {
    fn at(&mut self, t: f64) -> &ReadyBody {
        self.ready
            .entry(t.to_bits())
            .or_insert_with(|| ReadyBody::new(&self.motion.placed(self.body, t)))
    }
}

/// The search for the least gap to one body.
struct Way<'a> {
    other: &'a ReadyBody,
    /// Longest way of any point over the whole range, mm.
    travel: f64,
    near: f64,
    best: Option<(Nearest, f64)>,
}

impl Way<'_> {
    /// What a gap must stay under to matter, mm.
    fn aim(&self) -> f64 {
        self.best.map_or(self.near, |(n, _)| n.gap.gap - SWEEP_MM)
    }

    /// Measures at `t` as far as `reach` mm and keeps the best.
    fn measure(&mut self, places: &mut Places, t: f64, reach: f64) -> Option<f64> {
        let moved = places.at(t);
        let pairs = all_pairs(moved, self.other);
        let nearest = nearest_solids(moved, self.other, &pairs, reach)?;
        let gap = nearest.gap.gap;
        if gap < self.best.map_or(self.near, |(n, _)| n.gap.gap) {
            self.best = Some((nearest, t));
        }
        Some(gap)
    }

    fn look(&mut self, places: &mut Places, t: f64) {
        let reach = self.best.map_or(self.near, |(n, _)| n.gap.gap);
        if reach > 0.0 {
            self.measure(places, t, reach);
        }
    }

    /// Searches `low..high`, leaving out what cannot be nearer by more than the bound.
    fn halve(&mut self, places: &mut Places, low: f64, high: f64) {
        let middle = 0.5 * (low + high);
        let half = 0.5 * (high - low) * self.travel;
        let reach = self.aim() + half;
        if reach <= 0.0 {
            return;
        }
        let Some(gap) = self.measure(places, middle, reach) else {
            return;
        };
        if gap - half < self.aim() && half > 0.0 {
            self.halve(places, low, middle);
            self.halve(places, middle, high);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::gap::Kind;

    fn arm() -> Body {
        let roll =
            Prism::cylinder("roll", Point3::new(90.0, 0.0, 0.0), Vector3::Z, 36.0, 25.0).unwrap();
        let pin =
            Prism::cylinder("pin", Point3::new(40.0, 0.0, -20.0), Vector3::Z, 12.0, 20.0).unwrap();
        Body::new(
            "arm",
            Kind::Moving,
            vec![Solid::Prism(roll), Solid::Prism(pin)],
        )
    }

    fn others() -> Vec<Body> {
        let rod = |id: &str, at: Point3, axis: Vector3, r: f64| {
            Body::new(
                id,
                Kind::Fixed,
                vec![Solid::Prism(
                    Prism::cylinder("rod", at, axis, r, 60.0).unwrap(),
                )],
            )
        };
        vec![
            rod("upright", Point3::new(70.0, 140.0, -30.0), Vector3::Z, 20.0),
            rod("lying", Point3::new(150.0, -30.0, 40.0), -Vector3::X, 6.0),
            Body::hose(
                "hose",
                vec![
                    Point3::new(-30.0, 150.0, 0.0),
                    Point3::new(20.0, 145.0, 60.0),
                ],
                18.0,
                &[],
            ),
        ]
    }

    const SWING: Motion = Motion::Turn {
        pivot: Point3::ORIGIN,
        axis: Vector3::Z,
        from_rad: -0.2,
        to_rad: 1.1,
    };

    #[test]
    fn a_swing_is_as_near_as_its_nearest_position_within_the_bound() {
        let limits = Limits::standard();
        let gaps = Scene::of(&others(), &[]).gaps_on_the_way(&arm(), &SWING, &limits, 60.0);
        assert_eq!(gaps.len(), 3);
        for (g, other) in gaps.iter().zip(others()) {
            let steps = 600;
            let mut least = f64::INFINITY;
            for i in 0..=steps {
                let here = SWING.placed(&arm(), f64::from(i) / f64::from(steps));
                let scene = Scene::of(&[here, other.clone()], &[]);
                least = least.min(scene.gap_between(0, 1, &limits).unwrap().gap_mm);
            }
            assert_eq!(g.second, other.id);
            // Never more than any looked-at position, never less by more than both bounds and a step.
            let step = 126.0 * 1.3 / f64::from(steps);
            assert!(
                g.gap_mm <= least + 1e-9,
                "{}: {} {least}",
                g.second,
                g.gap_mm
            );
            assert!(
                least - g.gap_mm <= g.bound_mm + 0.5 * step,
                "{}: {} {least}",
                g.second,
                g.gap_mm
            );
            assert!(g.on_the_way.is_some());
        }
    }

    #[test]
    fn a_belt_that_comes_off_forward_meets_what_stands_before_it() {
        let belt = Prism::ring(
            "belt",
            Point3::new(0.0, 0.0, 0.0),
            Vector3::Z,
            (100.0, 110.0),
            21.0,
        )
        .unwrap();
        let belt = Body::new("belt", Kind::Belt, vec![Solid::Prism(belt)]);
        let guard =
            Prism::cylinder("stay", Point3::new(0.0, 60.0, 40.0), Vector3::Z, 8.0, 10.0).unwrap();
        let scene = Scene::of(
            &[Body::new("stay", Kind::Fixed, vec![Solid::Prism(guard)])],
            &[],
        );
        let off = Motion::Slide {
            by: Vector3::new(0.0, 0.0, 60.0),
        };
        let g = &scene.gaps_on_the_way(&belt, &off, &Limits::standard(), 5.0)[0];
        assert!(g.gap_mm < 0.0 && !g.holds(), "{}", g.gap_mm);
    }
}
