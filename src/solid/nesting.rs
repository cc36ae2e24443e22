//! Which surface each feature lies on.
//!
//! Seen from one face, a plate is a set of flat sites at their own heights:
//! the face itself, the floors of its pockets and grooves, and the islands
//! inside its grooves. A feature lies on the smallest site that holds its
//! opening, and its depths count from there.

use std::borrow::Cow;
use std::f64::consts::TAU;

use crate::feature::{Depth, Face, Feature, Hole, Shape, SlotTrack};
use crate::geom::{Path, Point};
use crate::plate::Plate;
use crate::tol::SNAP_MM;

use super::bore::Bore;
use super::contact::Loop;
use super::error::SolidError;

/// A feature that removes metal, with its boundary checked.
#[derive(Debug)]
pub(super) struct Cut<'a> {
    pub(super) feature: &'a Feature,
    pub(super) form: Form<'a>,
    /// Its boundary at the widest, as a disc for contact tests.
    pub(super) footprint: Loop<'a>,
    /// Index of the site it opens in, on the back and on the front.
    sites: [Option<usize>; 2],
}

/// What a cut is made of.
#[derive(Debug)]
pub(super) enum Form<'a> {
    /// A round hole; its rings are known once its sites are.
    Hole(&'a Hole, Option<Bore>),
    /// A slot or window; its boundary is the footprint.
    Opening,
    /// A pocket of this depth, mm; its boundary is the footprint.
    Pocket(Face, f64),
    /// A ring groove: the circle of its island, and its depth, mm.
    Groove {
        face: Face,
        centre: Point,
        inner: f64,
        outer: f64,
        depth: f64,
    },
}

/// A flat site seen from one face.
#[derive(Debug, Clone, Copy)]
pub(super) struct Site {
    /// Height in the plate's frame, mm.
    pub(super) height: f64,
    /// What bounds it.
    pub(super) bound: Bound,
    /// The site that the bounding feature opens in.
    pub(super) parent: Option<usize>,
}

/// What bounds a site; numbers are indices of cuts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Bound {
    /// The plate's outline.
    Outline,
    /// A pocket: its floor.
    Pocket(usize),
    /// A groove: the floor between its circles.
    Groove(usize),
    /// A groove: the island within it.
    Island(usize),
}

/// A plate with every feature on its site.
#[derive(Debug)]
pub(super) struct Nesting<'a> {
    pub(super) outline: Loop<'a>,
    pub(super) cuts: Vec<Cut<'a>>,
    /// The sites seen from the back and from the front; the first is the face itself.
    pub(super) sites: [Vec<Site>; 2],
}

/// Index of a face's side in pairs.
pub(super) const fn side(face: Face) -> usize {
    match face {
        Face::Back => 0,
        Face::Front => 1,
    }
}

impl<'a> Nesting<'a> {
    /// Places every feature of a plate and refuses overlaps.
    pub(super) fn new(plate: &'a Plate) -> Result<Self, SolidError> {
        let t = plate.thickness_mm;
        if !(t.is_finite() && t > SNAP_MM) {
            return Err(SolidError::size(
                &plate.id,
                "its thickness is not a length above zero",
            ));
        }
        let face = |height| Site {
            height,
            bound: Bound::Outline,
            parent: None,
        };
        let mut nesting = Self {
            outline: loop_of("outline", Cow::Borrowed(&plate.outline))?,
            cuts: plate.cuts().map(Cut::new).collect::<Result<_, _>>()?,
            sites: [vec![face(0.0)], vec![face(t)]],
        };
        for cut in &nesting.cuts {
            if !cut.footprint.inside(&nesting.outline) {
                return Err(SolidError::OutsideOutline {
                    feature: cut.feature.id.clone(),
                });
            }
        }
        nesting.place_pockets_and_grooves(t)?;
        nesting.refuse_overlaps(true)?;
        nesting.place_holes_and_openings()?;
        nesting.refuse_overlaps(false)?;
        Ok(nesting)
    }

    /// Height of the surface that a cut opens in on one face, mm.
    pub(super) fn surface(&self, cut: &Cut<'_>, face: Face) -> f64 {
        let sites = &self.sites[side(face)];
        let on = cut.sites[side(face)].unwrap_or(0);
        sites.get(on).or(sites.first()).map_or(0.0, |s| s.height)
    }

    /// Index of the site that a cut opens in on one face.
    pub(super) fn site(cut: &Cut<'_>, face: Face) -> Option<usize> {
        cut.sites[side(face)]
    }

    /// The outline, counter-clockwise.
    pub(super) fn outline_path(&self) -> Option<&Path> {
        match &self.outline {
            Loop::Path { path, .. } => Some(path),
            Loop::Circle { .. } => None,
        }
    }

    /// Index and height of the site that `bound` makes on a face.
    pub(super) fn site_of(&self, face: Face, bound: Bound) -> Option<(usize, f64)> {
        let sites = self.sites[side(face)].iter().enumerate();
        sites
            .filter(|(_, s)| s.bound == bound)
            .map(|(i, s)| (i, s.height))
            .next()
    }

    /// Thickness of the metal that a cut finds in its place, mm.
    pub(super) fn thickness(&self, cut: &Cut<'_>) -> f64 {
        self.surface(cut, Face::Front) - self.surface(cut, Face::Back)
    }

    fn place_pockets_and_grooves(&mut self, thickness: f64) -> Result<(), SolidError> {
        let mut order: Vec<usize> = (0..self.cuts.len())
            .filter(|&i| self.cuts[i].is_site())
            .collect();
        // Larger first, so that a site is there before what lies on it.
        order.sort_by(|&a, &b| {
            let area = |i: usize| self.cuts[i].footprint.area();
            area(b).total_cmp(&area(a))
        });
        for i in order {
            let cut = &self.cuts[i];
            let (face, depth) = match cut.form {
                Form::Pocket(face, depth) | Form::Groove { face, depth, .. } => (face, depth),
                Form::Hole(..) | Form::Opening => continue,
            };
            let on = self.smallest_site(face, &cut.footprint);
            let surface = self.sites[side(face)][on].height;
            let (floor, left_mm) = match face {
                Face::Front => (surface - depth, surface - depth),
                Face::Back => (surface + depth, thickness - surface - depth),
            };
            if left_mm <= SNAP_MM {
                return Err(SolidError::BreaksThrough {
                    feature: cut.feature.id.clone(),
                    left_mm,
                });
            }
            let groove = matches!(cut.form, Form::Groove { .. });
            let sites = &mut self.sites[side(face)];
            let site = |height, bound| Site {
                height,
                bound,
                parent: Some(on),
            };
            if groove {
                sites.push(site(floor, Bound::Groove(i)));
                sites.push(site(surface, Bound::Island(i)));
            } else {
                sites.push(site(floor, Bound::Pocket(i)));
            }
            self.cuts[i].sites[side(face)] = Some(on);
        }
        Ok(())
    }

    fn place_holes_and_openings(&mut self) -> Result<(), SolidError> {
        for i in 0..self.cuts.len() {
            let cut = &self.cuts[i];
            let hole = match cut.form {
                Form::Hole(hole, _) => Some(hole),
                Form::Opening => None,
                Form::Pocket(..) | Form::Groove { .. } => continue,
            };
            let mut on = [None, None];
            for face in [Face::Back, Face::Front] {
                let only_other = hole
                    .is_some_and(|h| matches!(h.depth, Depth::Blind { from, .. } if from != face));
                if only_other {
                    continue;
                }
                let opening = hole.map(|h| Loop::Circle {
                    centre: h.centre,
                    radius: 0.5 * h.diameter_at(face).unwrap_or(h.diameter_mm),
                });
                on[side(face)] =
                    Some(self.smallest_site(face, opening.as_ref().unwrap_or(&cut.footprint)));
            }
            self.cuts[i].sites = on;
            if let Some(hole) = hole {
                let cut = &self.cuts[i];
                let (front, back) = (
                    self.surface(cut, Face::Front),
                    self.surface(cut, Face::Back),
                );
                let bore = Bore::new(&cut.feature.id, hole, front, back)?;
                self.cuts[i].form = Form::Hole(hole, Some(bore));
            }
        }
        Ok(())
    }

    /// The smallest site of a face that a boundary lies in wholly; the face itself where none does.
    fn smallest_site(&self, face: Face, boundary: &Loop<'_>) -> usize {
        let sites = &self.sites[side(face)];
        (1..sites.len())
            .rev()
            .find(|&i| match sites[i].bound {
                Bound::Outline => true,
                Bound::Pocket(c) => boundary.inside(&self.cuts[c].footprint),
                Bound::Groove(c) => {
                    boundary.inside(&self.cuts[c].footprint)
                        && !boundary.overlaps(&self.cuts[c].island())
                }
                Bound::Island(c) => boundary.inside(&self.cuts[c].island()),
            })
            .unwrap_or(0)
    }

    /// Whether cut `below` lies on the floor of cut `above`, directly or through other floors.
    pub(super) fn lies_on(&self, below: usize, above: usize) -> bool {
        (0..2).any(|s| {
            let mut at = self.cuts[below].sites[s];
            while let Some(site) = at.and_then(|i| self.sites[s].get(i)) {
                if site.bound == Bound::Pocket(above) || site.bound == Bound::Groove(above) {
                    return true;
                }
                at = site.parent;
            }
            false
        })
    }
}

fn loop_of<'a>(owner: &str, path: Cow<'a, Path>) -> Result<Loop<'a>, SolidError> {
    Loop::new(path).map_err(|fault| SolidError::Boundary {
        owner: owner.to_owned(),
        fault,
    })
}

impl<'a> Cut<'a> {
    fn new(feature: &'a Feature) -> Result<Self, SolidError> {
        let id = &feature.id;
        let depth_of = |depth: f64| {
            if depth.is_finite() && depth > SNAP_MM {
                Ok(depth)
            } else {
                Err(SolidError::size(id, "its depth is not a length above zero"))
            }
        };
        let (form, footprint) = match &feature.shape {
            Shape::Hole(hole) => {
                let disc = circle(id, hole.centre, 0.5 * hole.widest_mm())?;
                (Form::Hole(hole, None), disc)
            }
            Shape::Slot(slot) => {
                if let SlotTrack::Arc {
                    start_rad, end_rad, ..
                } = slot.track
                    && !(start_rad < end_rad && end_rad < start_rad + TAU)
                {
                    return Err(SolidError::size(
                        id,
                        "its arc does not run counter-clockwise by less than a turn",
                    ));
                }
                (Form::Opening, loop_of(id, Cow::Owned(slot.path()))?)
            }
            Shape::Window(path) => (Form::Opening, loop_of(id, Cow::Borrowed(path))?),
            Shape::Pocket {
                path,
                depth_mm,
                face,
            } => (
                Form::Pocket(*face, depth_of(*depth_mm)?),
                loop_of(id, Cow::Borrowed(path))?,
            ),
            Shape::Groove {
                centre,
                inner_mm,
                outer_mm,
                depth_mm,
                face,
            } => {
                let (inner, outer) = (0.5 * inner_mm, 0.5 * outer_mm);
                let disc = circle(id, *centre, outer)?;
                if !(inner > SNAP_MM && inner < outer - SNAP_MM) {
                    return Err(SolidError::size(
                        id,
                        "its inner diameter is not between zero and the outer",
                    ));
                }
                let form = Form::Groove {
                    face: *face,
                    centre: *centre,
                    inner,
                    outer,
                    depth: depth_of(*depth_mm)?,
                };
                (form, disc)
            }
            Shape::Mark(_) => return Err(SolidError::size(id, "a mark cuts nothing")),
        };
        Ok(Self {
            feature,
            form,
            footprint,
            sites: [None, None],
        })
    }

    /// The boundary of a slot, window or pocket, counter-clockwise.
    pub(super) fn path(&self) -> Option<&Path> {
        match &self.footprint {
            Loop::Path { path, .. } => Some(path),
            Loop::Circle { .. } => None,
        }
    }

    pub(super) const fn is_site(&self) -> bool {
        matches!(self.form, Form::Pocket(..) | Form::Groove { .. })
    }

    /// The circle of a groove's island (a point for anything else, which has none).
    pub(super) fn island(&self) -> Loop<'static> {
        match self.form {
            Form::Groove { centre, inner, .. } => Loop::Circle {
                centre,
                radius: inner,
            },
            _ => Loop::Circle {
                centre: Point::ORIGIN,
                radius: 0.0,
            },
        }
    }
}

fn circle(id: &str, centre: Point, radius: f64) -> Result<Loop<'static>, SolidError> {
    if centre.x.is_finite() && centre.y.is_finite() && radius.is_finite() && radius > SNAP_MM {
        Ok(Loop::Circle { centre, radius })
    } else {
        Err(SolidError::size(
            id,
            "its centre or diameter is not a usable number",
        ))
    }
}
