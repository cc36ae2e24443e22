//! All bodies of one variant: which come near each other, by how much, and whether that is enough.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use rayon::prelude::*;
use serde::Serialize;

use crate::geom::Point3;
use crate::tables::gap::{Kind, Limits};
use crate::tol;

use super::body::Body;
use super::bounds::Tree;
use super::nearest::{Nearest, ReadyBody, all_pairs, nearest_solids};

/// The gap of one pair of bodies.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Gap {
    /// One body.
    pub first: String,
    /// Its solid that is nearest.
    pub first_solid: String,
    /// The other body.
    pub second: String,
    /// Its solid that is nearest.
    pub second_solid: String,
    /// What they are.
    pub kinds: (Kind, Kind),
    /// Gap, mm: never more than the true one; negative where they clash: how deep, at least.
    pub gap_mm: f64,
    /// How much more the true gap may be, mm; 0 when the gap is exact.
    pub bound_mm: f64,
    /// Least gap, mm.
    pub limit_mm: f64,
    /// Where the least gap is from.
    pub source: String,
    /// Nearest point of the first body, engine x, y, z, mm.
    pub first_at_mm: [f64; 3],
    /// Nearest point of the second body, engine x, y, z, mm.
    pub second_at_mm: [f64; 3],
    /// For a moving body: where on its way, 0 at the start, 1 at the end.
    pub on_the_way: Option<f64>,
}

impl Gap {
    /// Whether the gap is enough, a thousandth of a micrometre's slack given.
    #[must_use]
    pub fn holds(&self) -> bool {
        self.gap_mm >= self.limit_mm - tol::RULE_MM
    }

    /// What is left over the limit, mm; negative when it fails.
    #[must_use]
    pub fn margin_mm(&self) -> f64 {
        self.gap_mm - self.limit_mm
    }
}

/// The bodies of one variant.
#[derive(Debug, Clone)]
pub struct Scene {
    bodies: Vec<Arc<ReadyBody>>,
    /// For each body, the bodies it touches by design.
    contacts: BTreeMap<String, BTreeSet<String>>,
    /// Body and solid of each entry of the tree.
    entries: Vec<(usize, usize)>,
    tree: Tree<3>,
}

impl Scene {
    /// A scene of bodies; `contacts` are pairs of body ids that touch by design and are not judged.
    #[must_use]
    pub fn new(bodies: Vec<Arc<ReadyBody>>, contacts: &[(String, String)]) -> Self {
        let mut entries = Vec::new();
        let mut boxes = Vec::new();
        for (i, body) in bodies.iter().enumerate() {
            for (k, solid) in body.solids.iter().enumerate() {
                entries.push((i, k));
                boxes.push(*solid.bounds());
            }
        }
        let mut touching: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        for (a, b) in contacts {
            touching.entry(a.clone()).or_default().insert(b.clone());
            touching.entry(b.clone()).or_default().insert(a.clone());
        }
        Self {
            contacts: touching,
            tree: Tree::new(&boxes),
            bodies,
            entries,
        }
    }

    /// A scene straight from bodies.
    #[must_use]
    pub fn of(bodies: &[Body], contacts: &[(String, String)]) -> Self {
        Self::new(bodies.iter().map(ReadyBody::new).collect(), contacts)
    }

    /// The bodies, in order.
    #[must_use]
    pub fn bodies(&self) -> &[Arc<ReadyBody>] {
        &self.bodies
    }

    /// Whether a pair is judged at all.
    pub(super) fn is_judged(&self, a: &ReadyBody, b: &ReadyBody, limits: &Limits) -> bool {
        a.part_of != b.part_of
            && limits.limit(a.kind, b.kind).is_some()
            && !self.contacts.get(&a.id).is_some_and(|c| c.contains(&b.id))
    }

    /// The gap of every judged pair that comes within `near_mm` beyond its limit, in body order.
    #[must_use]
    pub fn gaps(&self, limits: &Limits, near_mm: f64) -> Vec<Gap> {
        self.close_pairs(limits, near_mm)
            .into_iter()
            .filter_map(|(i, j)| {
                judged_gap(
                    &self.bodies[i],
                    &self.bodies[j],
                    limits,
                    near_mm,
                    nearest_pair,
                )
            })
            .collect()
    }

    /// Judged pairs of bodies whose boxes may be within `near_mm` beyond any limit, in body order.
    fn close_pairs(&self, limits: &Limits, near_mm: f64) -> Vec<(usize, usize)> {
        let mut pairs = Vec::new();
        self.tree
            .pairs_within(limits.greatest_mm() + near_mm, &mut |i, j| {
                let (a, b) = (self.entries[i].0, self.entries[j].0);
                if a != b {
                    pairs.push((a, b));
                }
            });
        pairs.sort_unstable();
        pairs.dedup();
        pairs.retain(|&(i, j)| self.is_judged(&self.bodies[i], &self.bodies[j], limits));
        pairs
    }

    /// Gaps of the scene's bodies to `guests`, and of guests to each other, as if the guests stood before body `at`.
    ///
    /// The scene's own pairs are left out: see [`Self::gaps`].
    #[must_use]
    pub fn gaps_to(
        &self,
        guests: &[Arc<ReadyBody>],
        at: usize,
        limits: &Limits,
        near_mm: f64,
    ) -> Vec<Gap> {
        let within2 = (limits.greatest_mm() + near_mm).powi(2);
        let mut gaps = Vec::new();
        for (n, guest) in guests.iter().enumerate() {
            let own = self.bodies.iter().enumerate();
            let pairs = own
                .map(|(i, b)| if i < at { (b, guest) } else { (guest, b) })
                .chain(guests[n + 1..].iter().map(|other| (guest, other)));
            gaps.extend(
                pairs
                    .filter(|(a, b)| a.bounds.gap2(&b.bounds) <= within2)
                    .filter(|(a, b)| self.is_judged(a, b, limits))
                    .filter_map(|(a, b)| judged_gap(a, b, limits, near_mm, nearest_pair)),
            );
        }
        gaps
    }

    /// The gap of two bodies whatever their distance; `None` for an unknown index or the same body.
    #[must_use]
    pub fn gap_between(&self, i: usize, j: usize, limits: &Limits) -> Option<Gap> {
        let (a, b) = (self.bodies.get(i)?, self.bodies.get(j)?);
        if i == j {
            return None;
        }
        let (limit, source) = limits
            .limit(a.kind, b.kind)
            .unwrap_or((0.0, "these two need not keep apart"));
        let n = nearest_solids(a, b, &all_pairs(a, b), f64::INFINITY)?;
        Some(describe((a, b), &n, limit, source))
    }
}

/// The gaps of several scenes, as [`Scene::gaps`] gives them; a pair of bodies that scenes share is measured once.
#[must_use]
pub fn gaps_of_all(scenes: &[Scene], limits: &Limits, near_mm: f64) -> Vec<Vec<Gap>> {
    let close: Vec<Vec<(usize, usize)>> = scenes
        .par_iter()
        .map(|s| s.close_pairs(limits, near_mm))
        .collect();
    // Shared bodies are known by their place in memory; it decides no order of anything that is seen.
    let key = |s: &Scene, (i, j): (usize, usize)| {
        (
            Arc::as_ptr(&s.bodies[i]) as usize,
            Arc::as_ptr(&s.bodies[j]) as usize,
        )
    };
    let mut asked: Vec<((usize, usize), &ReadyBody, &ReadyBody)> = Vec::new();
    for (scene, pairs) in scenes.iter().zip(&close) {
        asked.extend(
            pairs
                .iter()
                .map(|&p| (key(scene, p), &*scene.bodies[p.0], &*scene.bodies[p.1])),
        );
    }
    asked.sort_unstable_by_key(|a| a.0);
    asked.dedup_by_key(|a| a.0);
    let measured: Vec<Option<Nearest>> = asked
        .par_iter()
        .map(|(_, a, b)| {
            let (limit, _) = limits.limit(a.kind, b.kind)?;
            nearest_pair(a, b, limit + near_mm)
        })
        .collect();
    scenes
        .par_iter()
        .zip(&close)
        .map(|(scene, pairs)| {
            pairs
                .iter()
                .filter_map(|&p| {
                    let known = |_: &ReadyBody, _: &ReadyBody, _: f64| {
                        let at = asked.binary_search_by_key(&key(scene, p), |a| a.0).ok()?;
                        measured[at]
                    };
                    judged_gap(
                        &scene.bodies[p.0],
                        &scene.bodies[p.1],
                        limits,
                        near_mm,
                        known,
                    )
                })
                .collect()
        })
        .collect()
}

/// The nearest solids of two bodies, if nearer than `near` mm.
fn nearest_pair(a: &ReadyBody, b: &ReadyBody, near: f64) -> Option<Nearest> {
    nearest_solids(a, b, &all_pairs(a, b), near)
}

/// The gap of a judged pair, if within `near_mm` beyond its limit; `nearest` measures it.
fn judged_gap(
    a: &ReadyBody,
    b: &ReadyBody,
    limits: &Limits,
    near_mm: f64,
    nearest: impl FnOnce(&ReadyBody, &ReadyBody, f64) -> Option<Nearest>,
) -> Option<Gap> {
    let (limit, source) = limits.limit(a.kind, b.kind)?;
    let n = nearest(a, b, limit + near_mm)?;
    Some(describe((a, b), &n, limit, source))
}

pub(super) fn describe(
    (a, b): (&ReadyBody, &ReadyBody),
    nearest: &Nearest,
    limit_mm: f64,
    source: &str,
) -> Gap {
    let at = |p: Point3| [p.x, p.y, p.z];
    let name = |body: &ReadyBody, k: usize| {
        body.solids
            .get(k)
            .map_or(String::new(), |r| r.name().to_owned())
    };
    Gap {
        first: a.id.clone(),
        first_solid: name(a, nearest.first),
        second: b.id.clone(),
        second_solid: name(b, nearest.second),
        kinds: (a.kind, b.kind),
        gap_mm: nearest.gap.gap,
        bound_mm: nearest.gap.bound,
        limit_mm,
        source: source.to_owned(),
        first_at_mm: at(nearest.gap.a),
        second_at_mm: at(nearest.gap.b),
        on_the_way: None,
    }
}

#[cfg(test)]
mod tests {
    use super::super::solid::{Prism, Solid};
    use super::*;
    use crate::geom::{Frame, Path, Point, Region, Vector3};

    fn pin(id: &str, kind: Kind, x: f64, radius: f64) -> Body {
        let p = Prism::cylinder("pin", Point3::new(x, 0.0, 0.0), Vector3::Z, radius, 20.0).unwrap();
        Body::new(id, kind, vec![Solid::Prism(p)])
    }

    #[test]
    fn two_pulleys_too_near_fail_by_what_they_lack() {
        let scene = Scene::of(
            &[
                pin("a", Kind::Moving, 0.0, 30.0),
                pin("b", Kind::Moving, 76.0, 40.0),
            ],
            &[],
        );
        let gaps = scene.gaps(&Limits::standard(), 5.0);
        assert_eq!(gaps.len(), 1);
        let g = &gaps[0];
        assert!((g.gap_mm - 6.0).abs() < 1e-12 && g.bound_mm == 0.0);
        assert!(!g.holds() && (g.margin_mm() + 4.0).abs() < 1e-12);
        assert!(
            (g.first_at_mm[0] - 30.0).abs() < 1e-12 && (g.second_at_mm[0] - 36.0).abs() < 1e-12
        );
    }

    #[test]
    fn a_clash_has_its_depth() {
        let scene = Scene::of(
            &[
                pin("a", Kind::Fixed, 0.0, 30.0),
                pin("b", Kind::Fixed, 68.5, 40.0),
            ],
            &[],
        );
        let g = &scene.gaps(&Limits::standard(), 5.0)[0];
        assert!((g.gap_mm + 1.5).abs() < 1e-6, "{}", g.gap_mm);
    }

    #[test]
    fn parts_of_one_assembly_and_contacts_are_not_judged() {
        let bodies = [
            pin("a", Kind::Fixed, 0.0, 30.0).part_of("alternator"),
            pin("b", Kind::Fixed, 40.0, 30.0).part_of("alternator"),
            pin("c", Kind::Fixed, 71.0, 1.0),
        ];
        let touching = [("c".to_owned(), "b".to_owned())];
        let limits = Limits::standard();
        assert!(Scene::of(&bodies, &touching).gaps(&limits, 1.0).is_empty());
        assert_eq!(Scene::of(&bodies, &[]).gaps(&limits, 1.0).len(), 1);
    }

    #[test]
    fn a_hose_passes_through_a_window() {
        let plate = Prism::new(
            "plate",
            Frame::FRONT,
            Region {
                outer: Path::circle(Point::ORIGIN, 100.0),
                openings: vec![Path::circle(Point::new(10.0, 0.0), 30.0)],
            },
            0.0,
            12.0,
        );
        let bodies = [
            Body::new("plate", Kind::Fixed, vec![Solid::Prism(plate)]),
            Body::hose(
                "hose",
                vec![Point3::new(12.0, 0.0, -80.0), Point3::new(12.0, 0.0, 90.0)],
                40.0,
                &[],
            ),
        ];
        let g = &Scene::of(&bodies, &[]).gaps(&Limits::standard(), 10.0)[0];
        assert!((g.gap_mm - 8.0).abs() < 1e-12, "{}", g.gap_mm);
    }

    #[test]
    fn guests_are_measured_as_if_they_stood_in_the_scene() {
        let bodies: Vec<Body> = (0..9)
            .map(|i| {
                pin(
                    &format!("p{i}"),
                    Kind::Fixed,
                    21.0 * f64::from(i),
                    8.0 + f64::from(i % 3),
                )
            })
            .collect();
        let limits = Limits::standard();
        let contacts = [("p3".to_owned(), "p4".to_owned())];
        let all = Scene::of(&bodies, &contacts).gaps(&limits, 9.0);
        let mut standing = bodies.clone();
        let guests: Vec<_> = standing.drain(4..6).collect();
        let scene = Scene::of(&standing, &contacts);
        let guests: Vec<_> = guests.iter().map(ReadyBody::new).collect();
        let mut found = scene.gaps(&limits, 9.0);
        found.extend(scene.gaps_to(&guests, 4, &limits, 9.0));
        let by_names = |g: &Gap| (g.first.clone(), g.second.clone());
        found.sort_by_key(by_names);
        assert!(all.len() > 5 && all.iter().any(|g| g.first == "p4" && g.second == "p5"));
        assert_eq!(found, all);
    }

    #[test]
    fn scenes_measured_together_give_the_same_gaps_as_each_alone() {
        let bodies: Vec<Body> = (0..12)
            .map(|i| {
                pin(
                    &format!("p{i}"),
                    Kind::Fixed,
                    23.0 * f64::from(i),
                    8.0 + f64::from(i % 4),
                )
            })
            .collect();
        let limits = Limits::standard();
        let ready: Vec<_> = bodies.iter().map(ReadyBody::new).collect();
        // Another variant: one body replaced, the rest shared, in another order.
        let mut other = bodies.clone();
        other[3] = pin("p3", Kind::Moving, 66.0, 12.0);
        let mut shared = ready.clone();
        shared[3] = ReadyBody::new(&other[3]);
        other.swap(0, 7);
        shared.swap(0, 7);
        let scenes = [Scene::new(ready, &[]), Scene::new(shared, &[])];
        let together = gaps_of_all(&scenes, &limits, 9.0);
        let (first, again) = (&together[0], &together[1]);
        assert_eq!(*first, Scene::of(&bodies, &[]).gaps(&limits, 9.0));
        assert_eq!(*again, Scene::of(&other, &[]).gaps(&limits, 9.0));
        assert_ne!(first, again);
    }
}
