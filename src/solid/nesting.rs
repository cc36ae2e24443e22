//! A plate's features checked and put on their sites, and refused where they share space.

use std::borrow::Cow;
use std::f64::consts::TAU;

use crate::feature::{Face, Feature, Hole, Shape, SlotTrack};
use crate::geom::contact::Loop;
use crate::geom::{Path, Point};
use crate::plate::Plate;
use crate::plate::sites::{self, Sites};
use crate::tol::SNAP_MM;

use super::bore::Bore;
use super::error::SolidError;

/// A feature that removes metal, with its boundary checked.
#[derive(Debug)]
pub(super) struct Cut<'a> {
    pub(super) feature: &'a Feature,
    pub(super) form: Form<'a>,
    /// Its boundary at the widest, as a disc for contact tests.
    pub(super) footprint: Loop<'a>,
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

/// A plate with every feature on its site.
#[derive(Debug)]
pub(super) struct Nesting<'a> {
    pub(super) outline: Loop<'a>,
    pub(super) cuts: Vec<Cut<'a>>,
    pub(super) sites: Sites,
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
        let outline = loop_of("outline", Cow::Borrowed(&plate.outline))?;
        let cuts: Vec<Cut<'_>> = plate.cuts().map(Cut::new).collect::<Result<_, _>>()?;
        for cut in &cuts {
            if !cut.footprint.inside(&outline) {
                return Err(SolidError::OutsideOutline {
                    feature: cut.feature.id.clone(),
                });
            }
        }
        let boundaries: Vec<sites::Cut<'_>> = cuts
            .iter()
            .map(|c| (c.feature, Some(&c.footprint)))
            .collect();
        let sites = Sites::new(t, &boundaries);
        let mut nesting = Self {
            outline,
            cuts,
            sites,
        };
        nesting.refuse_break_through(t)?;
        nesting.refuse_overlaps(true)?;
        nesting.turn_bores()?;
        nesting.refuse_overlaps(false)?;
        Ok(nesting)
    }

    /// The outline, counter-clockwise.
    pub(super) fn outline_path(&self) -> Option<&Path> {
        match &self.outline {
            Loop::Path { path, .. } => Some(path),
            Loop::Circle { .. } => None,
        }
    }

    /// Refuses pockets and grooves without a floor.
    fn refuse_break_through(&self, thickness: f64) -> Result<(), SolidError> {
        for (i, cut) in self.cuts.iter().enumerate() {
            let (Form::Pocket(face, depth) | Form::Groove { face, depth, .. }) = cut.form else {
                continue;
            };
            let surface = self.sites.surface_mm(i, face);
            let left_mm = match face {
                Face::Front => surface - depth,
                Face::Back => thickness - surface - depth,
            };
            if left_mm <= SNAP_MM {
                return Err(SolidError::BreaksThrough {
                    feature: cut.feature.id.clone(),
                    left_mm,
                });
            }
        }
        Ok(())
    }

    /// Lays the rings of every hole between the surfaces it opens in.
    fn turn_bores(&mut self) -> Result<(), SolidError> {
        for (i, cut) in self.cuts.iter_mut().enumerate() {
            if let Form::Hole(hole, bore) = &mut cut.form {
                let front = self.sites.surface_mm(i, Face::Front);
                let back = self.sites.surface_mm(i, Face::Back);
                *bore = Some(Bore::new(&cut.feature.id, hole, front, back)?);
            }
        }
        Ok(())
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
