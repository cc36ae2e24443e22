//! The block file: an engine's measured side of the interface.

use crate::diag::Spot;
use crate::geom::{Path, Point, Point3, Vector3};

use super::pulley::{Duty, Load, Pulley};

/// An engine's measured side.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// File stem, by which jobs refer to it.
    pub name: String,
    /// What a person calls it.
    pub title: String,
    /// Engine data.
    pub engine: Engine,
    /// Threaded holes.
    pub holes: Vec<BlockHole>,
    /// Pulleys that do not move.
    pub pulleys: Vec<FixedPulley>,
    /// Space that must stay free.
    pub keepouts: Vec<Keepout>,
}

/// Engine data that speed and vibration checks need.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Engine {
    /// Number of cylinders, 1..=16.
    pub cylinders: u32,
    /// 2 or 4.
    pub strokes: u32,
    /// Idle speed, rpm.
    pub idle_rpm: f64,
    /// Top governed speed, rpm; more than idle.
    pub top_rpm: f64,
    /// Whether the crankshaft turns clockwise seen from in front of the pulleys.
    pub clockwise: bool,
}

/// A threaded hole of the block.
#[derive(Debug, Clone, PartialEq)]
pub struct BlockHole {
    /// Name, unique in the block.
    pub id: String,
    /// Centre of the mouth on its face, engine frame, mm.
    pub at: Point3,
    /// Unit direction out of the metal.
    pub axis: Vector3,
    /// Thread, such as `M10x1.5`.
    pub thread: String,
    /// Usable full-thread depth from the face, mm.
    pub depth_mm: f64,
    /// Material designation, a row of the materials table.
    pub material: String,
    /// Where it is written.
    pub spot: Spot,
}

/// A pulley fixed to the block.
#[derive(Debug, Clone, PartialEq)]
pub struct FixedPulley {
    /// Name, unique in the block.
    pub id: String,
    /// Shaft centre, engine frame, mm.
    pub at: Point,
    /// The pulley; its rib plane is in the engine frame.
    pub pulley: Pulley,
    /// What it takes from the belt.
    pub load: Load,
    /// What its shaft drives, if the file says.
    pub duty: Option<Duty>,
    /// Where it is written.
    pub spot: Spot,
}

/// Space that must stay free of the bracket set.
#[derive(Debug, Clone, PartialEq)]
pub struct Keepout {
    /// What is there, in words.
    pub name: String,
    /// Its outline seen from the front, counter-clockwise, engine frame.
    pub outline: Path,
    /// Least and greatest z, mm.
    pub z_mm: (f64, f64),
    /// What is there, which decides the clearance it needs.
    pub kind: KeepoutKind,
    /// Where it is written.
    pub spot: Spot,
}

/// What a keep-out holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KeepoutKind {
    /// Something that stands still.
    Fixed,
    /// Something that turns or swings.
    Moving,
    /// Something hot.
    Hot,
}
