//! The least gap of a body on its way, exact or within a stated bound.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::tables::gap::Limits;

use super::body::Body;
use super::motion::Motion;
use super::nearest::{Nearest, ReadyBody, all_pairs, nearest_solids};
use super::scene::{Gap, Scene, describe};
use super::solid::{Prism, Solid};
use super::swept::{nearest_on_the_way, swept};

/// How much less than found the gap of a moving body may be between the looked-at positions, mm.
///
/// Arms and slots are made to a few tenths; a twentieth is below what matters.
pub const SWEEP_MM: f64 = 0.05;

impl Scene {
    /// The least gap of a body on its way to every body of the scene that comes within `near_mm` beyond its limit.
    ///
    /// Bodies of the moving body's own assembly and its contacts are left out.
    /// Cylinders that swing about a parallel axis or slide across theirs, and
    /// anything that slides along its own, are exact; for the rest the reported
    /// gap is never more than the true least one and `bound_mm` tells how much
    /// less it may be ([`SWEEP_MM`]).
    #[must_use]
    pub fn gaps_on_the_way(
        &self,
        body: &Body,
        motion: &Motion,
        limits: &Limits,
        near_mm: f64,
    ) -> Vec<Gap> {
        Moving::new(body, *motion).gaps(self, self.bodies(), limits, near_mm)
    }
}

/// A body with its way, made ready.
#[derive(Debug, Clone)]
pub struct Moving {
    body: Body,
    motion: Motion,
    round: Round,
    /// What sweeps no prism.
    rest: Body,
    /// Longest way of any point of the rest, mm.
    travel: f64,
}

impl Moving {
    /// Makes a body and its way ready.
    #[must_use]
    pub fn new(body: &Body, motion: Motion) -> Self {
        let (round, rest) = split(body, &motion);
        Self {
            travel: motion.travel_mm(&ReadyBody::new(&motion.placed(&rest, 0.5))),
            body: body.clone(),
            motion,
            round,
            rest,
        }
    }

    /// As [`Scene::gaps_on_the_way`], to `others` only; the scene says which pairs are judged.
    #[must_use]
    pub fn gaps(
        &self,
        scene: &Scene,
        others: &[Arc<ReadyBody>],
        limits: &Limits,
        near_mm: f64,
    ) -> Vec<Gap> {
        let (body, motion, round) = (&self.body, &self.motion, &self.round);
        let mut places = Places {
            body: &self.rest,
            motion,
            ready: BTreeMap::new(),
        };
        let mut gaps = Vec::new();
        for other in others {
            if other.id == body.id || !scene.is_judged(&round.ready, other, limits) {
                continue;
            }
            let Some((limit, source)) = limits.limit(body.kind, other.kind) else {
                continue;
            };
            let near = limit + near_mm;
            let exact = round.nearest(other, motion, near);
            let mut way = Way {
                other,
                travel: self.travel,
                near: exact.as_ref().map_or(near, |(n, _)| n.gap.gap + SWEEP_MM),
                best: None,
            };
            if !self.rest.solids.is_empty() {
                way.look(&mut places, 0.0);
                way.look(&mut places, 1.0);
                way.halve(&mut places, 0.0, 1.0);
            }
            let found = match way.best {
                Some((mut nearest, t)) => {
                    nearest.gap.gap -= SWEEP_MM;
                    nearest.gap.bound += SWEEP_MM;
                    Some((describe((places.at(t), other), &nearest, limit, source), t))
                }
                None => exact.map(|(n, t)| (describe((&round.ready, other), &n, limit, source), t)),
            };
            if let Some((mut gap, t)) = found {
                gap.on_the_way = Some(t);
                gaps.push(gap);
            }
        }
        gaps
    }
}

/// The solids of a moving body whose swept space is a prism.
#[derive(Debug, Clone)]
struct Round {
    solids: Vec<Prism>,
    ready: Arc<ReadyBody>,
}

/// Parts a moving body into what sweeps a prism and the rest.
fn split(body: &Body, motion: &Motion) -> (Round, Body) {
    let (mut solids, mut spaces, mut rest) = (Vec::new(), Vec::new(), Vec::new());
    for solid in &body.solids {
        match solid {
            Solid::Prism(p) => match swept(p, motion) {
                Some(space) => {
                    solids.push(p.clone());
                    spaces.push(Solid::Prism(space));
                }
                None => rest.push(solid.clone()),
            },
            Solid::Tube(_) => rest.push(solid.clone()),
        }
    }
    let with = |solids: Vec<Solid>| Body {
        solids,
        ..body.clone()
    };
    let ready = ReadyBody::new(&with(spaces));
    (Round { solids, ready }, with(rest))
}

impl Round {
    /// Nearest approach to another body and where on the way it is.
    fn nearest(&self, other: &ReadyBody, motion: &Motion, near: f64) -> Option<(Nearest, f64)> {
        let n = nearest_solids(&self.ready, other, &all_pairs(&self.ready, other), near)?;
        let t = self
            .solids
            .get(n.first)
            .map_or(0.0, |p| nearest_on_the_way(p, motion, n.gap.b));
        Some((n, t))
    }
}

/// The moving body at the positions looked at so far.
struct Places<'a> {
    body: &'a Body,
    motion: &'a Motion,
    ready: BTreeMap<u64, Arc<ReadyBody>>,
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
        // Once no point moves further than the bound, nothing is left to find.
        if gap - half < self.aim() && half > 0.5 * SWEEP_MM && half.is_finite() {
            self.halve(places, low, middle);
            self.halve(places, middle, high);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Point3, Vector3};
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

    /// The same with its roll as a ring, which sweeps no prism and is searched.
    fn ring_arm() -> Body {
        let at = Point3::new(90.0, 0.0, 0.0);
        let ring = Prism::ring("roll", at, Vector3::Z, (20.0, 72.0), 25.0).unwrap();
        Body {
            solids: vec![Solid::Prism(ring), arm().solids[1].clone()],
            ..arm()
        }
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
        for body in [arm(), ring_arm()] {
            let gaps = Scene::of(&others(), &[]).gaps_on_the_way(&body, &SWING, &limits, 60.0);
            assert_eq!(gaps.len(), 3);
            for (g, other) in gaps.iter().zip(others()) {
                let steps = 600;
                let mut least = (f64::INFINITY, 0.0);
                for i in 0..=steps {
                    let t = f64::from(i) / f64::from(steps);
                    let scene = Scene::of(&[SWING.placed(&body, t), other.clone()], &[]);
                    let gap = scene.gap_between(0, 1, &limits).unwrap().gap_mm;
                    if gap < least.0 {
                        least = (gap, t);
                    }
                }
                assert_eq!(g.second, other.id);
                // Never more than any looked-at position, never less by more than the bound and half a step.
                let step = 126.0 * 1.3 / f64::from(steps);
                let place = format!("{}: {} against {least:?}", g.second, g.gap_mm);
                assert!(g.gap_mm <= least.0 + 1e-4, "{place}");
                assert!(least.0 - g.gap_mm <= g.bound_mm + 0.5 * step, "{place}");
                assert!((g.on_the_way.unwrap() - least.1).abs() < 0.1, "{place}");
            }
        }
    }

    #[test]
    fn a_roll_that_swings_is_exact() {
        // Nearest when the arm points at the post: 150 − 90 − 36 − 20.
        let (x, y) = (0.6_f64, 0.8);
        let at = Point3::new(150.0 * x, 150.0 * y, 0.0);
        let post = Prism::cylinder("post", at, Vector3::Z, 20.0, 10.0).unwrap();
        let scene = Scene::of(
            &[Body::new("post", Kind::Fixed, vec![Solid::Prism(post)])],
            &[],
        );
        let g = &scene.gaps_on_the_way(&arm(), &SWING, &Limits::standard(), 10.0)[0];
        assert!((g.gap_mm - 4.0).abs() < 1e-9 && g.bound_mm == 0.0, "{g:?}");
        assert!((g.on_the_way.unwrap() - (y.atan2(x) + 0.2) / 1.3).abs() < 1e-9);
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
