//! One fastener's stack: what lies along its axis, where spacers go, which end holds the thread.

use crate::geom::{Point3, Vector3};
use crate::params::job::{Head, HoleRef};

use super::stocked::Piece;

/// One fastener with everything along its axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Joint {
    /// Name: the first hole it serves, the block's before an accessory's.
    pub id: String,
    /// Every hole on this axis that the fastener serves.
    pub holes: Vec<HoleRef>,
    /// A point on the axis.
    pub at: Point3,
    /// Unit direction; heights grow along it.
    pub axis: Vector3,
    /// Thread of the bolt.
    pub thread: String,
    /// Property class of the bolt.
    pub class: String,
    /// Head of the bolt.
    pub head: Head,
    /// What bears under the head: diameter, mm (washer or head flange).
    pub head_seat_mm: f64,
    /// Whether the head is sunk in a counterbore.
    pub counterbored: bool,
    /// Whether a plain washer lies under the head.
    pub washer: bool,
    /// Whether the head is on the high end of the stack.
    pub head_high: bool,
    /// Where the thread is.
    pub thread_in: ThreadIn,
    /// From low to high, spacers included, without gaps between the lowest and the highest.
    pub layers: Vec<Layer>,
}

/// Where the thread is.
#[derive(Debug, Clone, PartialEq)]
pub enum ThreadIn {
    /// A hole of the block.
    Block {
        /// Usable depth, mm.
        depth_mm: f64,
        /// Material.
        material: String,
    },
    /// An accessory's threaded ear.
    Ear {
        /// Usable depth, mm.
        depth_mm: f64,
        /// Material.
        material: String,
    },
    /// A tapped plate.
    Plate {
        /// Its name.
        plate: String,
    },
    /// A nut at the other end.
    Nut,
}

/// One layer of a stack.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// What it is.
    pub part: Part,
    /// Lower end along the joint's axis, mm.
    pub low_mm: f64,
    /// Upper end, mm.
    pub high_mm: f64,
    /// Diameter that bears on its neighbours, mm; `None` for a plate or the block.
    pub bears_mm: Option<f64>,
    /// Stocked pieces a spacer is stacked from; empty for one turned to length, and for any other part.
    pub pieces: Vec<Piece>,
}

/// What a layer is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Part {
    /// A plate, by name.
    Plate(String),
    /// An ear or lug of an accessory.
    Ear(HoleRef),
    /// A turned tube.
    Spacer {
        /// Bore, µm (whole numbers keep layers comparable).
        bore_um: i64,
        /// Outside diameter, µm.
        outside_um: i64,
    },
}

impl Layer {
    /// Thickness along the axis, mm.
    #[must_use]
    pub fn thickness_mm(&self) -> f64 {
        self.high_mm - self.low_mm
    }

    /// Name for messages.
    #[must_use]
    pub fn name(&self) -> String {
        match &self.part {
            Part::Plate(p) => format!("plate `{p}`"),
            Part::Ear(e) => format!("the ear of `{e}`"),
            Part::Spacer { .. } => "a spacer".to_owned(),
        }
    }
}

impl Joint {
    /// Spacers of the stack, low to high: (low mm, length mm, bore mm, outside mm).
    pub fn spacers(&self) -> impl Iterator<Item = SpacerSize> + '_ {
        self.layers.iter().filter_map(|l| match l.part {
            Part::Spacer {
                bore_um,
                outside_um,
            } => Some(SpacerSize {
                low_mm: l.low_mm,
                length_mm: l.thickness_mm(),
                bore_mm: bore_um as f64 * 1e-3,
                outside_mm: outside_um as f64 * 1e-3,
            }),
            _ => None,
        })
    }

    /// Spacers of the stack, low to high, with the stocked pieces each is made of; none for one turned to length.
    pub fn stacked(&self) -> impl Iterator<Item = (SpacerSize, &[Piece])> + '_ {
        let layers = self.layers.iter();
        let spacers = layers.filter(|l| matches!(l.part, Part::Spacer { .. }));
        self.spacers().zip(spacers.map(|l| l.pieces.as_slice()))
    }

    /// Clamped length under the head, mm: head seat to the face of the thread.
    #[must_use]
    pub fn grip_mm(&self) -> f64 {
        self.layers
            .iter()
            .filter(|l| !self.holds_thread(l))
            .map(Layer::thickness_mm)
            .sum()
    }

    fn holds_thread(&self, layer: &Layer) -> bool {
        match (&self.thread_in, &layer.part) {
            (ThreadIn::Plate { plate }, Part::Plate(p)) => plate == p,
            (ThreadIn::Ear { .. }, Part::Ear(_)) => {
                // The threaded ear is the end layer away from the head.
                let end = if self.head_high {
                    self.layers.first()
                } else {
                    self.layers.last()
                };
                end == Some(layer)
            }
            _ => false,
        }
    }
}

/// What spacers are turned from; strength reckons with it, and lists name it.
pub const SPACER_MATERIAL: &str = "S355J2";

impl SpacerSize {
    /// What it is called: outside diameter, bore, length, mm.
    #[must_use]
    pub fn designation(&self) -> String {
        format!(
            "spacer {:.1} x {:.1} x {:.2}",
            self.outside_mm, self.bore_mm, self.length_mm
        )
    }
}

/// A turned spacer of a joint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpacerSize {
    /// Lower end along the joint's axis, mm.
    pub low_mm: f64,
    /// Length, mm.
    pub length_mm: f64,
    /// Bore, mm.
    pub bore_mm: f64,
    /// Outside diameter, mm.
    pub outside_mm: f64,
}
