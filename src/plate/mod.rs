//! A plate: one flat machined part, with its closed-form mass properties.

pub mod sites;

use std::borrow::Cow;

use crate::feature::{Feature, Shape};
use crate::geom::contact::Loop;
use crate::geom::{Frame, Path, Point, Region, SectionProperties};

use sites::Sites;

/// One prismatic part.
///
/// `frame` has its origin and height 0 on the plate's back face and its normal
/// out of the front face, so the plate fills heights 0 to `thickness_mm`.
#[derive(Debug, Clone, PartialEq)]
pub struct Plate {
    /// Name, unique within the job: also the stem of its shop files.
    pub id: String,
    /// What a person calls it.
    pub title: String,
    /// Where it sits in the engine frame.
    pub frame: Frame,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Material designation, such as `EN AW-6061-T6`.
    pub material: String,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Outer boundary, counter-clockwise.
    pub outline: Path,
    /// Everything machined into it, in a fixed order.
    pub features: Vec<Feature>,
}

/// Closed-form mass properties of a plate.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PlateProperties {
    /// Net section of the through cut (outline less through openings): area, centroid, second moments.
    pub section: SectionProperties,
    /// Volume, blind features taken off, mm³.
    pub volume_mm3: f64,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Total length of cut: outline and through openings, mm.
    pub cut_length_mm: f64,
    /// Pierces: one for the outline and one for each through opening.
    pub pierces: usize,
}

impl Plate {
    /// The through-cut region: outline less every through opening.
    #[must_use]
    pub fn region(&self) -> Region {
        Region {
            outer: self.outline.clone(),
            openings: self
                .features
                .iter()
                .filter_map(Feature::through_path)
                .collect(),
        }
    }

    /// Mass properties, exact on lines and arcs.
    ///
    /// Features must not overlap; the rules see to that before anything is released.
    #[must_use]
    pub fn properties(&self) -> PlateProperties {
        let region = self.region();
        let volume_mm3 = self.net_volume_mm3(&self.sites());
        PlateProperties {
            section: region.properties(),
            volume_mm3,
            mass_kg: volume_mm3 * self.density_kg_m3 * 1e-9,
            cut_length_mm: region.outer.length()
                + region.openings.iter().map(Path::length).sum::<f64>(),
            pierces: 1 + region.openings.len(),
        }
    }

    /// The surface that each of [`Self::cuts`] opens in.
    ///
    /// A feature whose boundary is no loop lies on the faces themselves.
    #[must_use]
    pub fn sites(&self) -> Sites {
        let cuts: Vec<&Feature> = self.cuts().collect();
        let boundaries: Vec<Option<Loop<'_>>> = cuts
            .iter()
            .map(|f| match &f.shape {
                Shape::Hole(h) => Some(Loop::Circle {
                    centre: h.centre,
                    radius: 0.5 * h.widest_mm(),
                }),
                Shape::Groove {
                    centre, outer_mm, ..
                } => Some(Loop::Circle {
                    centre: *centre,
                    radius: 0.5 * outer_mm,
                }),
                Shape::Window(p) | Shape::Pocket { path: p, .. } => {
                    Loop::new(Cow::Borrowed(p)).ok()
                }
                Shape::Slot(s) => Loop::new(Cow::Owned(s.path())).ok(),
                Shape::Mark(_) => None,
            })
            .collect();
        let sited: Vec<sites::Cut<'_>> = cuts
            .into_iter()
            .zip(boundaries.iter().map(Option::as_ref))
            .collect();
        Sites::new(self.thickness_mm, &sited)
    }

    /// Volume with every feature taken off the metal that it finds in its place, mm³.
    ///
    /// `sites` holds [`Self::cuts`] in their order.
    #[must_use]
    pub fn net_volume_mm3(&self, sites: &Sites) -> f64 {
        let removed: f64 = self
            .cuts()
            .enumerate()
            .map(|(i, f)| f.volume_mm3(sites.thickness_mm(i)))
            .sum();
        self.outline.area().abs() * self.thickness_mm - removed
    }

    /// The features that remove metal: all but marks.
    pub fn cuts(&self) -> impl Iterator<Item = &Feature> {
        self.features
            .iter()
            .filter(|f| !matches!(f.shape, Shape::Mark(_)))
    }

    /// A feature by name.
    #[must_use]
    pub fn feature(&self, id: &str) -> Option<&Feature> {
        self.features.iter().find(|f| f.id == id)
    }

    /// Centre of the outline's bounding box, in the plate's frame.
    #[must_use]
    pub fn middle(&self) -> Point {
        self.outline.extents().centre()
    }
}
