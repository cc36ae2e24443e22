//! A joint as a stack: screw, clamped layers, thread or nut.

use serde::Serialize;

use crate::tables::{Engagement, Group, Head, Material, Nut, PropertyClass, Thread};
use crate::tol;

/// What the joint knows of a metal.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Metal {
    /// Designation.
    pub name: String,
    /// Family.
    pub group: Group,
    /// Young's modulus, MPa.
    pub e_mpa: f64,
    /// Thermal expansion, 1/K.
    pub cte_per_k: f64,
    /// Yield strength, MPa.
    pub yield_mpa: f64,
    /// Ultimate tensile strength, MPa.
    pub ultimate_mpa: f64,
    /// Shear strength, MPa.
    pub shear_mpa: f64,
    /// Pressure a clamped face may carry, MPa.
    pub bearing_limit_mpa: f64,
    /// Where the values are from.
    pub source: String,
}

impl From<&Material> for Metal {
    /// A metal without a limiting pressure of its own may be pressed to its yield strength (cautious practice).
    fn from(m: &Material) -> Self {
        Self {
            name: m.name.clone(),
            group: m.group,
            e_mpa: m.e_mpa(),
            cte_per_k: m.cte_per_k(),
            yield_mpa: m.yield_mpa,
            ultimate_mpa: m.ultimate_mpa,
            shear_mpa: m.shear_strength_mpa(),
            bearing_limit_mpa: m.bearing_limit_mpa.unwrap_or(m.yield_mpa),
            source: m.source.clone(),
        }
    }
}

/// What a clamped layer is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum LayerKind {
    /// A bought washer.
    Washer,
    /// A plate of the bracket.
    Plate,
    /// A turned tube or a washer stack.
    Spacer,
    /// An accessory's ear.
    Ear,
}

/// One layer that the screw clamps, from the head down.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Layer {
    /// What it is.
    pub kind: LayerKind,
    /// Name, for messages and lists.
    pub name: String,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// How deep the head is sunk into it, mm (a counterbore's depth); less than the thickness.
    pub sunk_mm: f64,
    /// Hole diameter, mm.
    pub hole_mm: f64,
    /// Diameter of the metal round the hole that can take clamp force, mm; infinite for a wide plate.
    pub outer_mm: f64,
    /// What it is made of.
    pub metal: Metal,
}

impl Layer {
    /// Thickness under the head, mm.
    #[must_use]
    pub fn clamped_mm(&self) -> f64 {
        self.thickness_mm - self.sunk_mm
    }
}

/// A threaded hole.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TappedHole {
    /// Name, such as `block.A1`.
    pub name: String,
    /// What it is cut in.
    pub metal: Metal,
    /// Full thread below the face the stack sits on, mm.
    pub thread_depth_mm: f64,
    /// Depth at full drill diameter, mm; none where the hole goes through.
    pub floor_mm: Option<f64>,
    /// Depth of the chamfer or recess at the mouth that holds no thread, mm.
    pub mouth_mm: f64,
    /// Outer diameter of the metal round the hole, mm; infinite in a solid block.
    pub outer_mm: f64,
}

/// What the screw ends in.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub enum End {
    /// A tapped hole.
    Tapped(TappedHole),
    /// A nut that bears on the last layer.
    Nut(Nut),
}

/// The fastener.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Screw {
    /// Thread.
    pub thread: Thread,
    /// Property class.
    pub class: PropertyClass,
    /// Head.
    pub head: Head,
    /// Coating and other words for the buying list.
    pub finish: String,
}

/// A stack that cannot be worked out.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum StackError {
    /// No layer to clamp.
    #[error("{place}: there is nothing under the head")]
    Empty {
        /// Which joint.
        place: String,
    },
    /// A layer of no or negative thickness: parts overlap.
    #[error("{place}: `{layer}` is {thickness_mm:.3} mm thick; it must be thicker than 0")]
    Overlap {
        /// Which joint.
        place: String,
        /// Which layer.
        layer: String,
        /// Its thickness, mm.
        thickness_mm: f64,
    },
    /// The head, washer or nut would fall through.
    #[error(
        "{place}: `{layer}` has a {hole_mm:.3} mm hole, the {bearing_mm:.3} mm bearing face over it finds no seat"
    )]
    NoSeat {
        /// Which joint.
        place: String,
        /// Which layer.
        layer: String,
        /// Its hole, mm.
        hole_mm: f64,
        /// Diameter of what should sit on it, mm.
        bearing_mm: f64,
    },
    /// The hole is too small for the screw.
    #[error("{place}: `{layer}` has a {hole_mm:.3} mm hole, the screw is {d_mm:.3} mm thick")]
    HoleTooSmall {
        /// Which joint.
        place: String,
        /// Which layer.
        layer: String,
        /// Its hole, mm.
        hole_mm: f64,
        /// The screw's diameter, mm.
        d_mm: f64,
    },
    /// Not one length to choose from is longer than the grip.
    #[error("{place}: the grip is {grip_mm:.3} mm, the longest stocked screw {longest_mm:.3} mm")]
    TooThick {
        /// Which joint.
        place: String,
        /// The grip, mm.
        grip_mm: f64,
        /// The longest length offered, mm.
        longest_mm: f64,
    },
}

/// The stack of one fastener.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stack {
    /// Name of the joint, for messages.
    pub place: String,
    /// The fastener.
    pub screw: Screw,
    /// From the head down.
    pub layers: Vec<Layer>,
    /// What it ends in.
    pub end: End,
    /// Engagement rule of the tapped metal.
    pub engagement: Engagement,
    /// A length the user has fixed, mm.
    pub fixed_length_mm: Option<f64>,
    /// Lengths to choose from, mm (ISO 888 or the shop's shelf).
    pub lengths_mm: Vec<f64>,
}

impl Stack {
    /// Clamped length, mm.
    #[must_use]
    pub fn grip_mm(&self) -> f64 {
        self.layers.iter().map(Layer::clamped_mm).sum()
    }

    /// Refuses a stack whose parts overlap, fall through or do not pass the screw.
    pub(super) fn refuse_impossible(&self) -> Result<(), StackError> {
        let place = || self.place.clone();
        if self.layers.is_empty() {
            return Err(StackError::Empty { place: place() });
        }
        let d = self.screw.thread.d_mm;
        for layer in &self.layers {
            let clamped = layer.clamped_mm();
            if !(clamped.is_finite() && clamped > 0.0) {
                return Err(StackError::Overlap {
                    place: place(),
                    layer: layer.name.clone(),
                    thickness_mm: clamped,
                });
            }
            if layer.hole_mm.is_nan() || layer.hole_mm < d - tol::RULE_MM {
                return Err(StackError::HoleTooSmall {
                    place: place(),
                    layer: layer.name.clone(),
                    hole_mm: layer.hole_mm,
                    d_mm: d,
                });
            }
        }
        let mut seats = vec![(self.layers.first(), self.screw.head.bearing_dia_mm)];
        if let End::Nut(nut) = &self.end {
            seats.push((self.layers.last(), nut.bearing_dia_mm));
        }
        for (layer, bearing_mm) in seats {
            if let Some(layer) = layer
                && layer.hole_mm >= bearing_mm
            {
                return Err(StackError::NoSeat {
                    place: place(),
                    layer: layer.name.clone(),
                    hole_mm: layer.hole_mm,
                    bearing_mm,
                });
            }
        }
        Ok(())
    }
}
