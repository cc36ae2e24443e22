//! Which surface each feature lies on.
//!
//! Seen from one face, a plate is a set of flat sites at their own heights:
//! the face itself, the floors of its pockets and grooves, and the islands
//! inside its grooves. A feature lies on the smallest site that holds its
//! opening, and its depths count from there.

use crate::feature::{Depth, Face, Feature, Shape};
use crate::geom::Point;
use crate::geom::contact::Loop;

/// A flat site seen from one face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Site {
    /// Height in the plate's frame, mm.
    pub height_mm: f64,
    /// What bounds it.
    pub bound: Bound,
    /// The site that the bounding feature opens in.
    pub parent: Option<usize>,
}

/// What bounds a site; numbers are indices of features as given to [`Sites::new`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bound {
    /// The plate's outline.
    Outline,
    /// A pocket: its floor.
    Pocket(usize),
    /// A groove: the floor between its circles.
    Groove(usize),
    /// A groove: the island within it.
    Island(usize),
}

/// The sites of a plate's two faces, and on which of them each feature lies.
#[derive(Debug, Clone, PartialEq)]
pub struct Sites {
    /// The sites seen from the back and from the front; the first is the face itself.
    faces: [Vec<Site>; 2],
    /// The site each feature opens in, on the back and on the front.
    on: Vec<[Option<usize>; 2]>,
}

/// Index of a face's side in pairs.
#[must_use]
pub const fn side(face: Face) -> usize {
    match face {
        Face::Back => 0,
        Face::Front => 1,
    }
}

/// A feature that removes metal, with its boundary at the widest.
///
/// One without a usable boundary lies on the faces themselves and holds nothing.
pub type Cut<'a> = (&'a Feature, Option<&'a Loop<'a>>);

impl Sites {
    /// Puts every feature on its site.
    #[must_use]
    pub fn new(thickness_mm: f64, cuts: &[Cut<'_>]) -> Self {
        let face = |height_mm| Site {
            height_mm,
            bound: Bound::Outline,
            parent: None,
        };
        let mut sites = Self {
            faces: [vec![face(0.0)], vec![face(thickness_mm)]],
            on: vec![[None, None]; cuts.len()],
        };
        sites.place_pockets_and_grooves(cuts);
        sites.place_holes_and_openings(cuts);
        sites
    }

    /// The sites seen from one face; the first is the face itself.
    #[must_use]
    pub fn of(&self, face: Face) -> &[Site] {
        &self.faces[side(face)]
    }

    /// Index of the site that a feature opens in on one face; `None` where it does not open.
    #[must_use]
    pub fn under(&self, cut: usize, face: Face) -> Option<usize> {
        self.on.get(cut).and_then(|on| on[side(face)])
    }

    /// Height of the surface that a feature opens in on one face, mm.
    ///
    /// Where it does not open, the face's own.
    #[must_use]
    pub fn surface_mm(&self, cut: usize, face: Face) -> f64 {
        let sites = self.of(face);
        let on = self.under(cut, face).unwrap_or(0);
        sites.get(on).or(sites.first()).map_or(0.0, |s| s.height_mm)
    }

    /// Thickness of the metal that a feature finds in its place, mm.
    #[must_use]
    pub fn thickness_mm(&self, cut: usize) -> f64 {
        self.surface_mm(cut, Face::Front) - self.surface_mm(cut, Face::Back)
    }

    /// Index and height of the site that `bound` makes on a face.
    #[must_use]
    pub fn made_by(&self, face: Face, bound: Bound) -> Option<(usize, f64)> {
        let mut sites = self.of(face).iter().enumerate();
        sites
            .find(|(_, s)| s.bound == bound)
            .map(|(i, s)| (i, s.height_mm))
    }

    /// Whether feature `below` lies on the floor of feature `above`, directly or through other floors.
    #[must_use]
    pub fn lies_on(&self, below: usize, above: usize) -> bool {
        [Face::Back, Face::Front].into_iter().any(|face| {
            let mut at = self.under(below, face);
            while let Some(site) = at.and_then(|i| self.of(face).get(i)) {
                if site.bound == Bound::Pocket(above) || site.bound == Bound::Groove(above) {
                    return true;
                }
                at = site.parent;
            }
            false
        })
    }

    fn place_pockets_and_grooves(&mut self, cuts: &[Cut<'_>]) {
        let mut order: Vec<(usize, Face, f64, &Loop<'_>)> = cuts
            .iter()
            .enumerate()
            .filter_map(|(i, (feature, footprint))| match feature.shape {
                Shape::Pocket { depth_mm, face, .. } | Shape::Groove { depth_mm, face, .. } => {
                    Some((i, face, depth_mm, (*footprint)?))
                }
                _ => None,
            })
            .collect();
        // Larger first, so that a site is there before what lies on it.
        order.sort_by(|a, b| b.3.area().total_cmp(&a.3.area()));
        for (i, face, depth_mm, footprint) in order {
            let on = self.smallest(cuts, face, footprint);
            let surface = self.faces[side(face)][on].height_mm;
            let floor = match face {
                Face::Front => surface - depth_mm,
                Face::Back => surface + depth_mm,
            };
            let sites = &mut self.faces[side(face)];
            let mut add = |height_mm, bound| {
                sites.push(Site {
                    height_mm,
                    bound,
                    parent: Some(on),
                });
            };
            if matches!(cuts[i].0.shape, Shape::Groove { .. }) {
                add(floor, Bound::Groove(i));
                add(surface, Bound::Island(i));
            } else {
                add(floor, Bound::Pocket(i));
            }
            self.on[i][side(face)] = Some(on);
        }
    }

    fn place_holes_and_openings(&mut self, cuts: &[Cut<'_>]) {
        for (i, (feature, footprint)) in cuts.iter().enumerate() {
            for face in [Face::Back, Face::Front] {
                let on = match &feature.shape {
                    Shape::Pocket { .. } | Shape::Groove { .. } | Shape::Mark(_) => continue,
                    Shape::Hole(h) => {
                        let blind = matches!(h.depth, Depth::Blind { from, .. } if from != face);
                        if blind {
                            continue;
                        }
                        let opening = Loop::Circle {
                            centre: h.centre,
                            radius: 0.5 * h.diameter_at(face).unwrap_or(h.diameter_mm),
                        };
                        self.smallest(cuts, face, &opening)
                    }
                    Shape::Slot(_) | Shape::Window(_) => {
                        footprint.map_or(0, |f| self.smallest(cuts, face, f))
                    }
                };
                self.on[i][side(face)] = Some(on);
            }
        }
    }

    /// The smallest site of a face that a boundary lies in wholly; the face itself where none does.
    fn smallest(&self, cuts: &[Cut<'_>], face: Face, boundary: &Loop<'_>) -> usize {
        let within = |c: usize| {
            let outer = cuts.get(c).and_then(|c| c.1);
            outer.is_some_and(|o| boundary.inside(o))
        };
        let island = |c: usize| island(cuts.get(c).map(|c| c.0));
        let sites = self.of(face);
        (1..sites.len())
            .rev()
            .find(|&i| match sites[i].bound {
                Bound::Outline => true,
                Bound::Pocket(c) => within(c),
                Bound::Groove(c) => within(c) && !boundary.overlaps(&island(c)),
                Bound::Island(c) => boundary.inside(&island(c)),
            })
            .unwrap_or(0)
    }
}

/// The circle of a groove's island (a point for anything else, which has none).
#[must_use]
pub fn island(feature: Option<&Feature>) -> Loop<'static> {
    match feature.map(|f| &f.shape) {
        Some(Shape::Groove {
            centre, inner_mm, ..
        }) => Loop::Circle {
            centre: *centre,
            radius: 0.5 * inner_mm,
        },
        _ => Loop::Circle {
            centre: Point::ORIGIN,
            radius: 0.0,
        },
    }
}
