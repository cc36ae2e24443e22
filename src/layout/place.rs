//! Accessories placed in the engine frame, and every hole a plate may take seen from there.

use crate::diag::{Code, Diag, Sink};
use crate::geom::{Frame, Point, Point3, Vector3};
use crate::params::accessory::{Accessory, Mount, MountKind};
use crate::params::block::{Block, BlockHole};
use crate::params::job::{DriveSpec, HoleRef, Placed, PlacedZ};

/// An accessory where it sits.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedAccessory {
    /// Name within the job.
    pub id: String,
    /// Name of the accessory file.
    pub accessory: String,
    /// Its local frame in the engine frame.
    pub frame: Frame,
}

/// A hole in the engine frame. Heights are measured along `axis` from the engine origin, mm.
#[derive(Debug, Clone, PartialEq)]
pub struct EngineHole {
    /// By which name it is taken.
    pub target: HoleRef,
    /// A point on its axis.
    pub at: Point3,
    /// Unit direction of its axis.
    pub axis: Vector3,
    /// Thread of the bolt that belongs there.
    pub thread: String,
    /// What is there.
    pub offer: Offer,
}

/// What a hole offers to a bolt. Heights along the hole's axis from the engine origin, mm.
#[derive(Debug, Clone, PartialEq)]
pub enum Offer {
    /// A thread in the block, its mouth at `face_mm`, going down from there.
    BlockThread {
        /// Height of the face.
        face_mm: f64,
        /// Usable thread depth.
        depth_mm: f64,
        /// Material round it.
        material: String,
    },
    /// Ears with a plain hole.
    Ears {
        /// Height ranges, ascending.
        spans_mm: Vec<(f64, f64)>,
        /// Hole diameter.
        hole_mm: f64,
        /// Ear diameter.
        diameter_mm: f64,
    },
    /// An ear with a thread.
    ThreadedEar {
        /// Height range.
        span_mm: (f64, f64),
        /// Usable thread depth.
        depth_mm: f64,
        /// Whether the bolt enters from below.
        from_below: bool,
        /// Ear diameter.
        diameter_mm: f64,
        /// Material of the ear.
        material: String,
    },
    /// A lug with a machined pad face, bolted through.
    Pad {
        /// Height range of the lug, ascending.
        span_mm: (f64, f64),
        /// Whether the pad face is the lower end.
        face_low: bool,
        /// Hole diameter.
        hole_mm: f64,
        /// Pad diameter.
        diameter_mm: f64,
    },
}

impl EngineHole {
    /// The same hole described along the direction `along`, which is parallel to its axis.
    ///
    /// Heights change sign where the directions are opposite.
    #[must_use]
    pub fn seen_along(&self, along: Vector3) -> Self {
        if self.axis.dot(along) > 0.0 {
            return self.clone();
        }
        let flip = |(a, b): (f64, f64)| (-b, -a);
        let offer = match &self.offer {
            // A block thread is only ever entered against its axis; turned over, the
            // face is the same plane and the metal lies above it.
            Offer::BlockThread {
                face_mm,
                depth_mm,
                material,
            } => Offer::BlockThread {
                face_mm: -face_mm,
                depth_mm: *depth_mm,
                material: material.clone(),
            },
            Offer::Ears {
                spans_mm,
                hole_mm,
                diameter_mm,
            } => Offer::Ears {
                spans_mm: spans_mm.iter().rev().map(|s| flip(*s)).collect(),
                hole_mm: *hole_mm,
                diameter_mm: *diameter_mm,
            },
            Offer::ThreadedEar {
                span_mm,
                depth_mm,
                from_below,
                diameter_mm,
                material,
            } => Offer::ThreadedEar {
                span_mm: flip(*span_mm),
                depth_mm: *depth_mm,
                from_below: !from_below,
                diameter_mm: *diameter_mm,
                material: material.clone(),
            },
            Offer::Pad {
                span_mm,
                face_low,
                hole_mm,
                diameter_mm,
            } => Offer::Pad {
                span_mm: flip(*span_mm),
                face_low: !face_low,
                hole_mm: *hole_mm,
                diameter_mm: *diameter_mm,
            },
        };
        Self {
            axis: along,
            offer,
            ..self.clone()
        }
    }

    /// Height of the face a plate in front of or behind it sits on.
    #[must_use]
    pub fn seat_mm(&self) -> f64 {
        match &self.offer {
            Offer::BlockThread { face_mm, .. } => *face_mm,
            Offer::Ears { spans_mm, .. } => spans_mm.first().map_or(0.0, |s| s.0),
            Offer::ThreadedEar {
                span_mm,
                from_below,
                ..
            } => {
                if *from_below {
                    span_mm.0
                } else {
                    span_mm.1
                }
            }
            Offer::Pad {
                span_mm, face_low, ..
            } => {
                if *face_low {
                    span_mm.0
                } else {
                    span_mm.1
                }
            }
        }
    }
}

/// Places one accessory.
///
/// An accessory without a pulley cannot sit "so that its rib plane is the
/// drive's", nor can anything where the job has no drive: both are findings.
pub fn place(
    placed: &Placed,
    accessory: &Accessory,
    drive: Option<&DriveSpec>,
    sink: &mut Sink,
) -> Option<PlacedAccessory> {
    let z = match placed.z {
        PlacedZ::Given(z) => z,
        PlacedZ::Drive => match (drive, accessory.pulley) {
            (Some(d), Some(p)) => d.rib_plane_mm - p.rib_plane_mm,
            (None, _) => {
                sink.push(
                    Diag::new(
                        Code::NotApplicable,
                        format!(
                            "`{}` asks for the drive's rib plane, but the job has no [drive]",
                            placed.id
                        ),
                    )
                    .labelled(placed.spot, "z = \"drive\" needs a drive")
                    .help("give z in mm, or add a [drive] table with its plane"),
                );
                return None;
            }
            (_, None) => {
                sink.push(
                    Diag::new(
                        Code::NotApplicable,
                        format!(
                            "`{}` asks for the drive's rib plane, but accessory `{}` has no pulley",
                            placed.id, placed.accessory
                        ),
                    )
                    .labelled(placed.spot, "z = \"drive\" needs a pulley")
                    .help("give z in mm"),
                );
                return None;
            }
        },
    };
    let (sin, cos) = exact_sin_cos(placed.clock_deg);
    Some(PlacedAccessory {
        id: placed.id.clone(),
        accessory: placed.accessory.clone(),
        frame: Frame {
            origin: Point3::new(placed.at.x, placed.at.y, z),
            x: Vector3::new(cos, sin, 0.0),
            y: Vector3::new(-sin, cos, 0.0),
            normal: Vector3::Z,
        },
    })
}

/// Sine and cosine of an angle in degrees, exact at the quarter turns.
#[must_use]
pub fn exact_sin_cos(deg: f64) -> (f64, f64) {
    match deg.rem_euclid(360.0) {
        0.0 => (0.0, 1.0),
        90.0 => (1.0, 0.0),
        180.0 => (0.0, -1.0),
        270.0 => (-1.0, 0.0),
        d => d.to_radians().sin_cos(),
    }
}

/// A block's hole.
#[must_use]
pub fn block_hole(hole: &BlockHole) -> EngineHole {
    EngineHole {
        target: HoleRef {
            owner: "block".to_owned(),
            id: hole.id.clone(),
        },
        at: hole.at,
        axis: hole.axis,
        thread: hole.thread.clone(),
        offer: Offer::BlockThread {
            face_mm: (hole.at - Point3::ORIGIN).dot(hole.axis),
            depth_mm: hole.depth_mm,
            material: hole.material.clone(),
        },
    }
}

/// An accessory's mounting hole where the accessory sits.
#[must_use]
pub fn mount_hole(placed: &PlacedAccessory, mount: &Mount) -> EngineHole {
    let f = &placed.frame;
    let axis = f.x * mount.axis.x + f.y * mount.axis.y + f.normal * mount.axis.z;
    let at = f.to_engine(Point::new(mount.at.x, mount.at.y), mount.at.z);
    let base = (f.origin - Point3::ORIGIN).dot(axis);
    let up = |(a, b): (f64, f64)| (a + base, b + base);
    let offer = match &mount.kind {
        MountKind::ThroughEar {
            hole_mm,
            ears_mm,
            ear_diameter_mm,
        } => Offer::Ears {
            spans_mm: ears_mm.iter().map(|s| up(*s)).collect(),
            hole_mm: *hole_mm,
            diameter_mm: *ear_diameter_mm,
        },
        MountKind::ThreadedEar {
            ear_mm,
            depth_mm,
            mouth_low,
            ear_diameter_mm,
            material,
        } => Offer::ThreadedEar {
            span_mm: up(*ear_mm),
            depth_mm: *depth_mm,
            from_below: *mouth_low,
            diameter_mm: *ear_diameter_mm,
            material: material.clone(),
        },
        MountKind::Pad {
            face_mm,
            seat_mm,
            hole_mm,
            pad_diameter_mm,
        } => Offer::Pad {
            span_mm: up((face_mm.min(*seat_mm), face_mm.max(*seat_mm))),
            face_low: face_mm < seat_mm,
            hole_mm: *hole_mm,
            diameter_mm: *pad_diameter_mm,
        },
    };
    EngineHole {
        target: HoleRef {
            owner: placed.id.clone(),
            id: mount.id.clone(),
        },
        at,
        axis,
        thread: mount.thread.clone(),
        offer,
    }
}

/// Every hole of the block and of the placed accessories, in file order.
#[must_use]
pub fn all_holes<'a>(
    block: &Block,
    placed: impl Iterator<Item = (&'a PlacedAccessory, &'a Accessory)>,
) -> Vec<EngineHole> {
    let mut holes: Vec<EngineHole> = block.holes.iter().map(block_hole).collect();
    for (p, a) in placed {
        holes.extend(a.mounts.iter().map(|m| mount_hole(p, m)));
    }
    holes
}
