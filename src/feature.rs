//! What is machined into a plate: holes, slots, windows, pockets, grooves and marks.
//!
//! Positions are in the plate's frame, mm. Height 0 is the plate's back face,
//! height = thickness its front face (the side the normal points to).

use std::f64::consts::{PI, TAU};
use std::sync::Arc;

use crate::geom::{Path, Point, Region, Segment};
use crate::tol::SNAP_MM;

/// Included angle of the cone a twist drill leaves, deg.
///
/// ISO 235 / DIN 338 type N drills, 118° (from memory of the standard; the
/// usual point for general work).
pub const DRILL_POINT_DEG: f64 = 118.0;

/// A face of the plate, from which an operation starts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Face {
    /// The face the plate's normal points out of (height = thickness).
    Front,
    /// The face at height 0.
    Back,
}

/// How deep a hole goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Depth {
    /// All the way through.
    Through,
    /// A blind hole: full-diameter depth from `from`, with its floor.
    Blind {
        /// Depth at full diameter, mm; less than the thickness.
        depth_mm: f64,
        /// Face it is drilled from.
        from: Face,
        /// What the floor looks like.
        floor: Floor,
    },
}

/// The floor of a blind hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Floor {
    /// Flat, as an end mill leaves it.
    Flat,
    /// A cone of [`DRILL_POINT_DEG`], as a drill leaves it, below the full-diameter depth.
    DrillPoint,
}

/// A wider mouth on one face of a hole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Mouth {
    /// A cylindrical seat below the face.
    Counterbore {
        /// Diameter, mm; greater than the hole's.
        diameter_mm: f64,
        /// Depth from the face, mm.
        depth_mm: f64,
        /// Face it is cut from.
        face: Face,
    },
    /// A conical seat whose widest circle lies in the face.
    Countersink {
        /// Diameter in the face, mm; greater than the hole's.
        diameter_mm: f64,
        /// Included angle, deg (90 for ISO 10642 heads).
        angle_deg: f64,
        /// Face it is cut from.
        face: Face,
    },
}

/// What a hole is for, which decides how the shop makes and checks it.
#[derive(Debug, Clone, PartialEq)]
pub enum Purpose {
    /// A bolt passes through with clearance.
    Clearance {
        /// Bolt thread, such as `M10x1.5`.
        thread: String,
    },
    /// Threaded; the modelled diameter is the tap drill's.
    Tapped {
        /// Thread, such as `M10x1.5`.
        thread: String,
        /// Full-thread depth from the face it is tapped from, mm (thickness for a through tap).
        thread_depth_mm: f64,
    },
    /// Reamed for a dowel.
    Dowel {
        /// ISO 286 tolerance class, such as `H7`.
        tolerance: String,
    },
    /// A plain hole of the given size.
    Plain,
}

/// A round hole.
#[derive(Debug, Clone, PartialEq)]
pub struct Hole {
    /// Centre, mm.
    pub centre: Point,
    /// Diameter as cut, mm (tap drill for a tapped hole).
    pub diameter_mm: f64,
    /// Through or blind.
    pub depth: Depth,
    /// Mouth, if it has one.
    pub mouth: Option<Mouth>,
    /// What it is for.
    pub purpose: Purpose,
}

/// The centre line of a slot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SlotTrack {
    /// Between two end centres.
    Straight {
        /// One end centre, mm.
        from: Point,
        /// The other, mm.
        to: Point,
    },
    /// Along a circle about a pivot, counter-clockwise from `start_rad` to `end_rad`.
    Arc {
        /// Pivot, mm.
        pivot: Point,
        /// Radius of the centre line, mm; more than half the width.
        radius_mm: f64,
        /// Direction of the first end centre, rad.
        start_rad: f64,
        /// Direction of the last end centre, rad; `start < end < start + 2π`.
        end_rad: f64,
    },
}

impl SlotTrack {
    /// The centre line.
    #[must_use]
    pub fn centre_line(&self) -> Segment {
        match *self {
            Self::Straight { from, to } => Segment::Line { from, to },
            Self::Arc {
                pivot,
                radius_mm,
                start_rad,
                end_rad,
            } => Segment::arc(pivot, radius_mm, start_rad, end_rad),
        }
    }

    /// Whether an opening of `width_mm` along an arc track runs into its own other end.
    #[must_use]
    pub fn meets_itself(&self, width_mm: f64) -> bool {
        let Self::Arc {
            radius_mm,
            start_rad,
            end_rad,
            ..
        } = *self
        else {
            return false;
        };
        let left_rad = TAU - (end_rad - start_rad);
        left_rad < PI && 2.0 * radius_mm * (0.5 * left_rad.max(0.0)).sin() <= width_mm + SNAP_MM
    }
}

/// A through slot with round ends.
#[derive(Debug, Clone, PartialEq)]
pub struct Slot {
    /// Its centre line.
    pub track: SlotTrack,
    /// Width, mm.
    pub width_mm: f64,
    /// Thread of the bolt that slides in it, if any.
    pub thread: Option<String>,
}

impl Slot {
    /// The slot's boundary, counter-clockwise.
    #[must_use]
    pub fn path(&self) -> Path {
        let r = 0.5 * self.width_mm;
        match self.track {
            SlotTrack::Straight { from, to } => Path::slot(from, to, r),
            SlotTrack::Arc {
                pivot,
                radius_mm,
                start_rad,
                end_rad,
            } => Path::arc_slot(pivot, radius_mm, start_rad, end_rad, r),
        }
    }
}

/// A stroke drawing on the marking layer: what is engraved, not cut.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// What it says, for lists.
    pub text: String,
    /// Open polylines, mm; each has at least two points, or exactly one for a centre punch.
    pub strokes: Vec<Vec<Point>>,
}

/// The shape of a feature.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A round hole.
    Hole(Hole),
    /// A slot for a bolt to slide in.
    Slot(Slot),
    /// A lightening opening right through, counter-clockwise.
    Window(Path),
    /// A blind pocket with vertical walls and a flat floor.
    Pocket {
        /// Its boundary, counter-clockwise.
        path: Path,
        /// Depth, mm; less than the thickness.
        depth_mm: f64,
        /// Face it is cut from.
        face: Face,
    },
    /// A ring groove for a face seal.
    Groove {
        /// Centre, mm.
        centre: Point,
        /// Inner diameter, mm.
        inner_mm: f64,
        /// Outer diameter, mm.
        outer_mm: f64,
        /// Depth, mm; less than the thickness.
        depth_mm: f64,
        /// Face it is cut from.
        face: Face,
    },
    /// Engraving.
    Mark(Mark),
}

/// One feature of a plate.
#[derive(Debug, Clone, PartialEq)]
pub struct Feature {
    /// Name, unique within the plate: the reference it takes (`block.A1`) or the user's name.
    pub id: String,
    /// Variants that use it; empty when every one does.
    pub variants: Arc<[String]>,
    /// Its shape.
    pub shape: Shape,
}

impl Hole {
    /// Removed volume in a plate of `thickness_mm`, mm³.
    #[must_use]
    pub fn volume_mm3(&self, thickness_mm: f64) -> f64 {
        let r = 0.5 * self.diameter_mm;
        let bore = match self.depth {
            Depth::Through => PI * r * r * thickness_mm,
            Depth::Blind {
                depth_mm, floor, ..
            } => PI * r * r * depth_mm + floor.volume_mm3(r),
        };
        let mouth = match self.mouth {
            None => 0.0,
            Some(Mouth::Counterbore {
                diameter_mm,
                depth_mm,
                ..
            }) => PI * (0.25 * diameter_mm * diameter_mm - r * r) * depth_mm,
            Some(m @ Mouth::Countersink { diameter_mm: d, .. }) => {
                let big = 0.5 * d;
                let depth = m.depth_mm(self.diameter_mm);
                PI * depth / 3.0 * (big * big + big * r + r * r) - PI * r * r * depth
            }
        };
        bore + mouth
    }

    /// Diameter of the opening in a face, mm; `None` where the hole does not reach it.
    #[must_use]
    pub fn diameter_at(&self, face: Face) -> Option<f64> {
        if let Depth::Blind { from, .. } = self.depth
            && from != face
        {
            return None;
        }
        match self.mouth {
            Some(
                Mouth::Counterbore {
                    diameter_mm,
                    face: f,
                    ..
                }
                | Mouth::Countersink {
                    diameter_mm,
                    face: f,
                    ..
                },
            ) if f == face => Some(diameter_mm),
            _ => Some(self.diameter_mm),
        }
    }

    /// Greatest diameter the hole has anywhere, mm.
    #[must_use]
    pub fn widest_mm(&self) -> f64 {
        let front = self.diameter_at(Face::Front).unwrap_or(0.0);
        let back = self.diameter_at(Face::Back).unwrap_or(0.0);
        front.max(back).max(self.diameter_mm)
    }
}

impl Mouth {
    /// Depth of the mouth below its face for a hole of `hole_mm`, mm.
    #[must_use]
    pub fn depth_mm(&self, hole_mm: f64) -> f64 {
        match *self {
            Self::Counterbore { depth_mm, .. } => depth_mm,
            Self::Countersink {
                diameter_mm,
                angle_deg,
                ..
            } => 0.5 * (diameter_mm - hole_mm) / (0.5 * angle_deg).to_radians().tan(),
        }
    }
}

impl Floor {
    /// Height of the cone under the full-diameter depth for a hole of radius `r`, mm.
    #[must_use]
    pub fn point_mm(self, r: f64) -> f64 {
        match self {
            Self::Flat => 0.0,
            Self::DrillPoint => r / (0.5 * DRILL_POINT_DEG).to_radians().tan(),
        }
    }

    fn volume_mm3(self, r: f64) -> f64 {
        PI * r * r * self.point_mm(r) / 3.0
    }
}

impl Feature {
    /// The boundary of the opening at its widest, counter-clockwise; `None` for a mark.
    ///
    /// A groove answers its outer circle.
    #[must_use]
    pub fn footprint(&self) -> Option<Path> {
        match &self.shape {
            Shape::Hole(h) => Some(Path::circle(h.centre, 0.5 * h.widest_mm())),
            Shape::Slot(s) => Some(s.path()),
            Shape::Window(p) | Shape::Pocket { path: p, .. } => Some(p.clone()),
            Shape::Groove {
                centre, outer_mm, ..
            } => Some(Path::circle(*centre, 0.5 * outer_mm)),
            Shape::Mark(_) => None,
        }
    }

    /// The boundary cut right through the plate, counter-clockwise; `None` where it is blind.
    #[must_use]
    pub fn through_path(&self) -> Option<Path> {
        match &self.shape {
            Shape::Hole(h) if h.depth == Depth::Through => {
                Some(Path::circle(h.centre, 0.5 * h.diameter_mm))
            }
            Shape::Slot(s) => Some(s.path()),
            Shape::Window(p) => Some(p.clone()),
            _ => None,
        }
    }

    /// Removed volume in a plate of `thickness_mm`, mm³ (an engraved mark counts as nothing).
    #[must_use]
    pub fn volume_mm3(&self, thickness_mm: f64) -> f64 {
        match &self.shape {
            Shape::Hole(h) => h.volume_mm3(thickness_mm),
            Shape::Slot(s) => s.path().area() * thickness_mm,
            Shape::Window(p) => p.area().abs() * thickness_mm,
            Shape::Pocket { path, depth_mm, .. } => path.area().abs() * depth_mm,
            Shape::Groove {
                inner_mm,
                outer_mm,
                depth_mm,
                ..
            } => PI / 4.0 * (outer_mm * outer_mm - inner_mm * inner_mm) * depth_mm,
            Shape::Mark(_) => 0.0,
        }
    }

    /// Centroid and removed volume, for the plate's balance (centre in the plane, mm).
    #[must_use]
    pub fn centroid(&self) -> Option<Point> {
        self.footprint()
            .map(|p| Region::solid(p.oriented(true)).properties().centroid)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_blind_hole_opens_in_no_face_but_its_own_whatever_its_mouth_says() {
        let mut hole = Hole {
            centre: Point::ORIGIN,
            diameter_mm: 8.0,
            depth: Depth::Through,
            mouth: Some(Mouth::Counterbore {
                diameter_mm: 15.0,
                depth_mm: 4.0,
                face: Face::Back,
            }),
            purpose: Purpose::Plain,
        };
        assert_eq!(hole.diameter_at(Face::Front), Some(8.0));
        assert_eq!(hole.diameter_at(Face::Back), Some(15.0));
        hole.depth = Depth::Blind {
            depth_mm: 6.0,
            from: Face::Front,
            floor: Floor::Flat,
        };
        assert_eq!(hole.diameter_at(Face::Front), Some(8.0));
        assert_eq!(hole.diameter_at(Face::Back), None);
        assert!((hole.widest_mm() - 8.0).abs() < 1e-12);
    }
}
