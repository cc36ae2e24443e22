//! Where a little metal off a body would give the gap it lacks.

use std::sync::Arc;

use serde::Serialize;

use crate::geom::Vector3;
use crate::tables::gap::Limits;
use crate::tol;

use super::nearest::{ReadyBody, all_pairs, nearest_solids};
use super::scene::{Gap, Scene};

/// Metal to take off.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Trim {
    /// The body to trim.
    pub body: String,
    /// The part of it that may be trimmed.
    pub solid: String,
    /// The body that needs the room.
    pub room_for: String,
    /// How deep to trim, mm, measured from the surface at `at_mm` towards the inside.
    pub depth_mm: f64,
    /// How deep may be trimmed there at most, mm.
    pub allowed_mm: f64,
    /// Where, engine x, y, z, mm.
    pub at_mm: [f64; 3],
    /// Direction to cut in, away from the other body, unit; zero where the bodies already overlap.
    pub inward: [f64; 3],
    /// Whether that is enough: the depth is allowed and the rest of the body keeps its distance.
    pub is_enough: bool,
}

impl Scene {
    /// What to trim for a gap that fails, on either body; empty where nothing there may be trimmed.
    #[must_use]
    pub fn trims(&self, gap: &Gap, limits: &Limits) -> Vec<Trim> {
        self.trims_with(&[], gap, limits)
    }

    /// As [`Self::trims`], where either body may be one of `guests` beside the scene's own.
    #[must_use]
    pub fn trims_with(&self, guests: &[Arc<ReadyBody>], gap: &Gap, limits: &Limits) -> Vec<Trim> {
        let find = |id: &str| self.bodies().iter().chain(guests).find(|b| b.id == id);
        let (Some(a), Some(b)) = (find(&gap.first), find(&gap.second)) else {
            return Vec::new();
        };
        let mut trims = Vec::new();
        let sides = [
            (a, &gap.first_solid, b, gap.first_at_mm, gap.second_at_mm),
            (b, &gap.second_solid, a, gap.second_at_mm, gap.first_at_mm),
        ];
        for (body, solid, other, at, facing) in sides {
            let Some((index, allowed)) = body
                .solids
                .iter()
                .enumerate()
                .find(|(_, s)| s.name() == solid)
                .and_then(|(i, s)| s.removable_mm().map(|mm| (i, mm)))
            else {
                continue;
            };
            let depth = gap.limit_mm - gap.gap_mm;
            trims.push(Trim {
                body: body.id.clone(),
                solid: solid.clone(),
                room_for: other.id.clone(),
                depth_mm: depth,
                allowed_mm: allowed,
                at_mm: at,
                inward: direction(facing, at),
                is_enough: depth <= allowed && rest_holds(body, index, other, limits),
            });
        }
        trims
    }
}

/// Whether the body without one of its solids keeps its distance from the other.
fn rest_holds(body: &ReadyBody, without: usize, other: &ReadyBody, limits: &Limits) -> bool {
    let limit = limits.limit(body.kind, other.kind).map_or(0.0, |l| l.0);
    let rest: Vec<_> = all_pairs(body, other)
        .into_iter()
        .filter(|p| p.first != without)
        .collect();
    nearest_solids(body, other, &rest, limit.max(tol::SNAP_MM))
        .is_none_or(|n| n.gap.gap >= limit - tol::RULE_MM)
}

fn direction(from: [f64; 3], to: [f64; 3]) -> [f64; 3] {
    let v = Vector3::new(to[0] - from[0], to[1] - from[1], to[2] - from[2]);
    v.unit().map_or([0.0; 3], |u| [u.x, u.y, u.z])
}

#[cfg(test)]
mod tests {
    use super::super::body::Body;
    use super::super::solid::{Prism, Solid};
    use crate::geom::{Point3, Vector3};
    use crate::tables::gap::Kind;

    use super::*;

    /// A pump whose lug, 4 mm of it removable, comes near a hose; `reach` moves its own round body nearer too.
    fn scene(hose_mm: f64, body_radius: f64) -> Scene {
        let body =
            Prism::cylinder("housing", Point3::ORIGIN, Vector3::Z, body_radius, 60.0).unwrap();
        let lug = Prism::cylinder("lug", Point3::new(50.0, 0.0, 10.0), Vector3::Z, 10.0, 15.0)
            .unwrap()
            .trimmable(4.0);
        let hose = Body::hose(
            "hose",
            vec![
                Point3::new(90.0, -60.0, 15.0),
                Point3::new(90.0, 60.0, 15.0),
            ],
            hose_mm,
            &[],
        );
        Scene::of(
            &[
                Body::new(
                    "pump",
                    Kind::Fixed,
                    vec![Solid::Prism(body), Solid::Prism(lug)],
                ),
                hose,
            ],
            &[],
        )
    }

    #[test]
    fn a_lug_that_lacks_three_millimetres_is_trimmed_by_three() {
        let limits = Limits::standard();
        // The lug reaches x = 60, the 54 mm hose 63: 3 mm of 6.
        let s = scene(54.0, 40.0);
        let g = &s.gaps(&limits, 5.0)[0];
        assert_eq!(g.first_solid, "lug");
        let t = s.trims(g, &limits);
        assert_eq!(t.len(), 1);
        assert!((t[0].depth_mm - 3.0).abs() < 1e-9 && t[0].is_enough);
        assert!((t[0].at_mm[0] - 60.0).abs() < 1e-9 && (t[0].inward[0] + 1.0).abs() < 1e-9);
    }

    #[test]
    fn trimming_is_not_enough_where_the_housing_is_too_near_too() {
        let limits = Limits::standard();
        let s = scene(54.0, 58.0);
        let t = s.trims(&s.gaps(&limits, 5.0)[0], &limits);
        assert!(!t[0].is_enough);
        // More than the lug may lose.
        let s = scene(58.0, 40.0);
        let t = s.trims(&s.gaps(&limits, 5.0)[0], &limits);
        assert!((t[0].depth_mm - 5.0).abs() < 1e-9 && !t[0].is_enough);
    }
}
