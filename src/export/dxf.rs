//! DXF files of plates: 1:1 in mm, one closed polyline a loop, one layer an operation.
//!
//! [`Drawing::of_plate`] decides what is drawn and on which layer,
//! [`Drawing::to_bytes`] writes it as R2000 or R12. Nothing in the file comes
//! from a clock or from chance. The layout of the file follows the published
//! DXF reference of each version (R2000: AC1015, R12: AC1009).
//!
//! Layers name the operation, never the colour: all are colour 7 (black or
//! white), so that a machine which maps colours to operations does nothing
//! by accident. The view is the front face; what is worked from the back
//! face lies on a layer whose name ends in `_BACK`.

mod layer;
mod plate;
mod r12;
mod r2000;
mod ready;
mod tags;
mod twins;

pub use layer::{Layer, Operation};
pub use plate::{NotCut, Reason};

use thiserror::Error;

use ready::Ready;

use crate::geom::{Extents, Path, Point, Vector};
use crate::number::{self, NotFinite};

/// Version of the file format.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Version {
    /// AC1015: what every current program reads.
    #[default]
    R2000,
    /// AC1009: for old controllers.
    R12,
}

/// What one thing on the drawing is.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A closed loop of lines and arcs.
    Loop(Path),
    /// A full circle.
    Circle {
        /// Centre, mm.
        centre: Point,
        /// Radius, mm.
        radius: f64,
    },
    /// An open polyline of at least two points: an engraved stroke.
    Stroke(Vec<Point>),
    /// One line of text, from its left end on its base line.
    Text {
        /// Left end of the base line, mm.
        at: Point,
        /// Height of a capital, mm.
        height_mm: f64,
        /// Direction of the base line, rad.
        angle_rad: f64,
        /// The text.
        text: String,
    },
}

/// One thing on the drawing with its layer.
#[derive(Debug, Clone, PartialEq)]
pub struct Entity {
    /// The operation and face.
    pub layer: Layer,
    /// The shape.
    pub shape: Shape,
}

/// A flat 1:1 drawing for a machine, mm.
///
/// ```
/// use platewright::export::dxf::{Drawing, Entity, Layer, Shape, Version};
/// use platewright::geom::{Path, Point};
///
/// let mut drawing = Drawing::default();
/// drawing.push(Entity {
///     layer: Layer::OUTLINE,
///     shape: Shape::Loop(Path::slot(Point::new(0.0, 0.0), Point::new(80.0, 0.0), 20.0)),
/// });
/// let bytes = drawing.to_bytes(Version::R2000)?;
/// assert!(bytes.starts_with(b"0\nSECTION\n2\nHEADER\n"));
/// # Ok::<(), platewright::export::dxf::DxfError>(())
/// ```
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Drawing {
    entities: Vec<Entity>,
}

/// Why a plate or drawing cannot be a DXF file.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum DxfError {
    /// A coordinate, radius or bulge is NaN or infinite.
    #[error("a coordinate on layer {layer} is not a finite number")]
    NotFinite {
        /// Layer of the entity.
        layer: &'static str,
    },
    /// A loop does not close, has no length, or a circle has no radius.
    #[error("a loop on layer {layer} near ({x}, {y}) mm is open or has no size")]
    BadLoop {
        /// Layer of the entity.
        layer: &'static str,
        /// Place, mm to two decimals.
        x: String,
        /// Place, mm to two decimals.
        y: String,
    },
    /// The same loop or circle twice on one layer: the machine would cut it twice.
    #[error("the same cut lies twice on layer {layer} near ({x}, {y}) mm")]
    Twice {
        /// Layer of both.
        layer: &'static str,
        /// Place, mm to two decimals.
        x: String,
        /// Place, mm to two decimals.
        y: String,
    },
    /// The list of what the process cannot cut names a feature the plate does not have.
    #[error("plate `{plate}` has no feature `{feature}` to leave uncut")]
    UnknownFeature {
        /// Plate name.
        plate: String,
        /// Feature name.
        feature: String,
    },
    /// There is nothing to write.
    #[error("the drawing is empty")]
    Empty,
}

impl Drawing {
    /// Adds one thing.
    pub fn push(&mut self, entity: Entity) {
        self.entities.push(entity);
    }

    /// Adds everything of another drawing.
    pub fn append(&mut self, mut other: Self) {
        self.entities.append(&mut other.entities);
    }

    /// The drawing without its words.
    #[must_use]
    pub fn without_texts(mut self) -> Self {
        self.entities
            .retain(|e| !matches!(e.shape, Shape::Text { .. }));
        self
    }

    /// The drawing with its things in the order of their layers: outlines after all that lies inside them.
    #[must_use]
    pub fn in_layer_order(mut self) -> Self {
        self.entities.sort_by_key(|e| e.layer);
        self
    }

    /// What is on the drawing, in the order it will be written.
    #[must_use]
    pub fn entities(&self) -> &[Entity] {
        &self.entities
    }

    /// The drawing turned by `turn_rad` about the origin, counter-clockwise, then moved by `shift`.
    #[must_use]
    pub fn placed(&self, turn_rad: f64, shift: Vector) -> Self {
        let map = |p: Point| Point::ORIGIN + p.to_vector().turned(turn_rad) + shift;
        let shape = |s: &Shape| match s {
            Shape::Loop(path) => Shape::Loop(path.mapped(map, false)),
            Shape::Circle { centre, radius } => Shape::Circle {
                centre: map(*centre),
                radius: *radius,
            },
            Shape::Stroke(points) => Shape::Stroke(points.iter().copied().map(map).collect()),
            Shape::Text {
                at,
                height_mm,
                angle_rad,
                text,
            } => Shape::Text {
                at: map(*at),
                height_mm: *height_mm,
                angle_rad: angle_rad + turn_rad,
                text: text.clone(),
            },
        };
        Self {
            entities: self
                .entities
                .iter()
                .map(|e| Entity {
                    layer: e.layer,
                    shape: shape(&e.shape),
                })
                .collect(),
        }
    }

    /// Box of all that is cut or marked, arcs to their full extent; texts do not count. `None` where there is nothing.
    #[must_use]
    pub fn extents(&self) -> Option<Extents> {
        let mut all = Extents::EMPTY;
        for e in &self.entities {
            match &e.shape {
                Shape::Loop(path) => {
                    let own = path.extents();
                    all.add(own.min);
                    all.add(own.max);
                }
                Shape::Circle { centre, radius } => {
                    all.add(Point::new(centre.x - radius, centre.y - radius));
                    all.add(Point::new(centre.x + radius, centre.y + radius));
                }
                Shape::Stroke(points) => points.iter().for_each(|&p| all.add(p)),
                Shape::Text { .. } => {}
            }
        }
        (all.min.x <= all.max.x).then_some(all)
    }

    /// The file's bytes: the same for the same drawing, always.
    ///
    /// # Errors
    ///
    /// [`DxfError`] where a number is not finite, a loop is open or of no
    /// size, one cut lies twice on a layer, or nothing is drawn.
    pub fn to_bytes(&self, version: Version) -> Result<Vec<u8>, DxfError> {
        let extents = self.extents().ok_or(DxfError::Empty)?;
        let ready = self
            .entities
            .iter()
            .map(|e| Ok((e.layer, Ready::of(e)?)))
            .collect::<Result<Vec<_>, DxfError>>()?;
        let ready = twins::without(ready)?;
        match version {
            Version::R2000 => r2000::write(&ready, extents),
            Version::R12 => r12::write(&ready, extents),
        }
    }
}

/// The layers in use, in file order.
fn used(ready: &[(Layer, Ready<'_>)]) -> Vec<Layer> {
    let mut seen = [None; Layer::COUNT];
    for (layer, _) in ready {
        seen[layer.index()] = Some(*layer);
    }
    seen.into_iter().flatten().collect()
}

fn place(v: f64) -> String {
    number::fixed(v, 2).unwrap_or_else(|NotFinite| "?".to_string())
}

fn bad_loop(layer: Layer, at: Point) -> DxfError {
    DxfError::BadLoop {
        layer: layer.name(),
        x: place(at.x),
        y: place(at.y),
    }
}

#[cfg(test)]
mod tests;
