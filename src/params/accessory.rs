//! The accessory file: what is bolted on, in its own frame.
//!
//! The local frame has its origin on the shaft centreline (for a tensioner, on
//! the arm's pivot), z along the shaft towards the pulley.

use crate::diag::Spot;
use crate::geom::{Path, Point3, Vector3};

use super::pulley::{Duty, Load, Pulley, SpeedLimits};

/// Anything bolted on.
#[derive(Debug, Clone, PartialEq)]
pub struct Accessory {
    /// File stem, by which jobs refer to it.
    pub name: String,
    /// What a person calls it.
    pub title: String,
    /// Its mounting pattern.
    pub mounts: Vec<Mount>,
    /// Its pulley, if the belt runs over it. A tensioner's pulley sits at the arm's end.
    pub pulley: Option<Pulley>,
    /// Its envelope.
    pub bodies: Vec<Body>,
    /// Mass, kg.
    pub mass_kg: f64,
    /// Centre of mass, local frame, mm.
    pub centre: Point3,
    /// What its shaft takes.
    pub load: Load,
    /// What its shaft drives, if the file says.
    pub duty: Option<Duty>,
    /// Speed limits of its shaft.
    pub limits: SpeedLimits,
    /// Spring arm, for a tensioner.
    pub arm: Option<SpringArm>,
}

/// One hole of the mounting pattern.
#[derive(Debug, Clone, PartialEq)]
pub struct Mount {
    /// Name, unique in the accessory.
    pub id: String,
    /// A point on the hole's axis, local frame, mm.
    pub at: Point3,
    /// Unit direction of the axis, local frame; heights are measured along it from the local origin.
    pub axis: Vector3,
    /// Bolt thread that belongs there, such as `M10x1.5`.
    pub thread: String,
    /// What the accessory offers there.
    pub kind: MountKind,
    /// Where it is written.
    pub spot: Spot,
}

/// What an accessory offers at a mounting hole. Heights are along the mount's axis, mm.
#[derive(Debug, Clone, PartialEq)]
pub enum MountKind {
    /// A plain hole through one ear or more; the bolt passes through all of them.
    ThroughEar {
        /// Hole diameter, mm.
        hole_mm: f64,
        /// Height range of each ear, ascending, not overlapping.
        ears_mm: Vec<(f64, f64)>,
        /// Ear outside diameter, mm.
        ear_diameter_mm: f64,
    },
    /// An ear with a thread in it.
    ThreadedEar {
        /// Height range of the ear.
        ear_mm: (f64, f64),
        /// Usable thread depth, mm.
        depth_mm: f64,
        /// Whether the thread's mouth is on the ear's lower end (`false`: upper).
        mouth_low: bool,
        /// Ear outside diameter, mm.
        ear_diameter_mm: f64,
        /// Material designation of the ear.
        material: String,
    },
    /// A pad that sits on a plate, bolted through the accessory's lug into the plate's thread.
    Pad {
        /// Height of the machined pad face.
        face_mm: f64,
        /// Height of the lug's bolt seat.
        seat_mm: f64,
        /// Hole diameter through the lug, mm.
        hole_mm: f64,
        /// Pad outside diameter, mm.
        pad_diameter_mm: f64,
    },
}

/// A piece of the envelope, local frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    /// What it is, in words.
    pub name: String,
    /// Its outline seen along z, counter-clockwise.
    pub outline: Path,
    /// Least and greatest z, mm.
    pub z_mm: (f64, f64),
    /// How deep its maker lets material be taken off, mm; 0 where none may.
    pub trim_mm: f64,
}

/// The spring arm of a tensioner. Angles are counter-clockwise from local +x, deg.
#[derive(Debug, Clone, PartialEq)]
pub struct SpringArm {
    /// Pivot to pulley centre, mm.
    pub length_mm: f64,
    /// Arm angle at the stop where the spring pushes it to, deg.
    pub free_stop_deg: f64,
    /// Arm angle at the stop the fitter levers it to, deg.
    pub load_stop_deg: f64,
    /// Spring torque against arm angle: (deg, N·m), at least two, angles strictly ascending.
    pub torque: Vec<(f64, f64)>,
}
