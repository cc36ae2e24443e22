//! A joint as a stack: screw, clamped layers, thread or nut; bolt length, grip, engagement, tip.

use serde::Serialize;

use crate::tables::engagement::CHAMFER_PITCHES;
use crate::tables::{Engagement, Group, Head, HeadStyle, Material, Nut, PropertyClass, Thread};
use crate::tol;

use super::judgement::{Bench, Judgement};

/// Least distance from a screw's tip to the floor of its hole, in pitches (common practice, no source).
pub const TIP_CLEARANCE_PITCHES: f64 = 2.0;

/// Thread that must stand out of a nut, in pitches (EN 1090-2:2018 8.2.2, from memory).
pub const PROTRUSION_PITCHES: f64 = 1.0;

/// Full threads that must stay free between shank and nut or hole, in pitches (EN 1090-2:2018 8.2.2, from memory).
pub const FREE_THREAD_PITCHES: f64 = 1.0;

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

/// Lengths of a worked-out stack.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StackReport {
    /// Nominal length of the screw, mm.
    pub length_mm: f64,
    /// Clamped length between the head's bearing face and the tapped face or nut, mm.
    pub grip_mm: f64,
    /// How far the screw reaches past the grip, mm.
    pub stick_in_mm: f64,
    /// Engaged thread, chamfer at the mouth taken off, mm.
    pub engagement_mm: f64,
    /// Engaged thread that carries, [`CHAMFER_PITCHES`] taken off, mm.
    pub carrying_mm: f64,
    /// Least engagement by the rule, mm.
    pub engagement_min_mm: f64,
    /// Plain shank within the grip, mm.
    pub shank_mm: f64,
    /// Thread within the grip, mm.
    pub free_thread_mm: f64,
    /// Thread past a nut or a through hole, mm; 0 when there is none.
    pub protrusion_mm: f64,
    /// From the tip to the floor of a blind hole, mm.
    pub tip_clearance_mm: Option<f64>,
    /// Longest length that stays off the floor and within the thread, mm; none where nothing limits it.
    pub longest_mm: Option<f64>,
    /// Shortest length that engages enough, mm.
    pub shortest_mm: f64,
    /// Where no stocked length fits: packing under the head, least and greatest, that lets the next longer one in, mm.
    pub packing_mm: Option<(f64, f64)>,
}

impl Stack {
    /// Clamped length, mm.
    #[must_use]
    pub fn grip_mm(&self) -> f64 {
        self.layers.iter().map(Layer::clamped_mm).sum()
    }

    /// Lengths and their verdicts.
    ///
    /// # Errors
    ///
    /// [`StackError`] for a stack that cannot exist.
    pub fn work_out(&self) -> Result<(StackReport, Vec<Judgement>), StackError> {
        self.refuse_impossible()?;
        let grip = self.grip_mm();
        let (shortest, longest) = self.length_range(grip);
        let (length, fits) = match self.fixed_length_mm {
            Some(l) => (l, true),
            None => self.choose(grip, shortest, longest)?,
        };
        let report = self.lengths(grip, length, (shortest, longest), fits);
        let judgements = self.judge(&report, fits);
        Ok((report, judgements))
    }

    fn refuse_impossible(&self) -> Result<(), StackError> {
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

    /// Shortest length that engages enough and longest that stays off the floor, mm.
    fn length_range(&self, grip: f64) -> (f64, Option<f64>) {
        let p = self.screw.thread.pitch_mm;
        match &self.end {
            End::Tapped(hole) => {
                let need = self.engagement.minimum_mm(self.screw.thread.d_mm) + hole.mouth_mm;
                let longest = hole.floor_mm.map(|floor| {
                    grip + (floor - TIP_CLEARANCE_PITCHES * p).min(hole.thread_depth_mm)
                });
                (grip + need, longest)
            }
            End::Nut(nut) => (grip + nut.height_max_mm + PROTRUSION_PITCHES * p, None),
        }
    }

    /// The length to use and whether it lies in the range.
    fn choose(
        &self,
        grip: f64,
        shortest: f64,
        longest: Option<f64>,
    ) -> Result<(f64, bool), StackError> {
        let mut all = self.lengths_mm.clone();
        all.sort_by(f64::total_cmp);
        let top = longest.unwrap_or(f64::INFINITY);
        let in_range = |l: &&f64| **l >= shortest - tol::RULE_MM && **l <= top + tol::RULE_MM;
        if let Some(&l) = all.iter().find(in_range) {
            return Ok((l, true));
        }
        // Nothing fits: the longest that cannot bottom is the safer wrong answer.
        all.iter()
            .rev()
            .find(|&&l| l <= top && l > grip)
            .or_else(|| all.iter().find(|&&l| l > grip))
            .map(|&l| (l, false))
            .ok_or_else(|| StackError::TooThick {
                place: self.place.clone(),
                grip_mm: grip,
                longest_mm: all.last().copied().unwrap_or(0.0),
            })
    }

    fn lengths(
        &self,
        grip: f64,
        length: f64,
        (shortest, longest): (f64, Option<f64>),
        fits: bool,
    ) -> StackReport {
        let t = &self.screw.thread;
        let stick_in = length - grip;
        let shank = (length - self.screw.head.thread_length_mm(length)).clamp(0.0, grip.max(0.0));
        let (engaged, minimum, protrusion, tip) = match &self.end {
            End::Tapped(h) => (
                (stick_in.min(h.thread_depth_mm) - h.mouth_mm).max(0.0),
                self.engagement.minimum_mm(t.d_mm),
                if h.floor_mm.is_none() {
                    (stick_in - h.thread_depth_mm).max(0.0)
                } else {
                    0.0
                },
                h.floor_mm.map(|f| f - stick_in),
            ),
            End::Nut(n) => (
                stick_in.clamp(0.0, n.height_min_mm),
                n.height_min_mm,
                stick_in - n.height_max_mm,
                None,
            ),
        };
        let packing = (!fits)
            .then(|| {
                let next = self
                    .lengths_mm
                    .iter()
                    .copied()
                    .filter(|l| *l >= shortest)
                    .min_by(f64::total_cmp)?;
                longest.map(|top| (next - top, next - shortest))
            })
            .flatten();
        StackReport {
            length_mm: length,
            grip_mm: grip,
            stick_in_mm: stick_in,
            engagement_mm: engaged,
            carrying_mm: (engaged - CHAMFER_PITCHES * t.pitch_mm).max(0.0),
            engagement_min_mm: minimum,
            shank_mm: shank,
            free_thread_mm: grip - (length - self.screw.head.thread_length_mm(length)),
            protrusion_mm: protrusion,
            tip_clearance_mm: tip,
            longest_mm: longest,
            shortest_mm: shortest,
            packing_mm: packing,
        }
    }

    fn judge(&self, r: &StackReport, fits: bool) -> Vec<Judgement> {
        let bench = Bench { place: &self.place };
        let p = self.screw.thread.pitch_mm;
        let mut all = Vec::new();
        match &self.end {
            End::Tapped(h) => {
                all.push(bench.at_least(
                    "J101",
                    format!("engaged thread in {}", h.metal.name),
                    (r.engagement_mm, r.engagement_min_mm, "mm"),
                    self.engagement.source_text(),
                ));
                if let Some(tip) = r.tip_clearance_mm {
                    all.push(bench.at_least(
                        "J102",
                        "screw tip to the floor of the hole",
                        (tip, TIP_CLEARANCE_PITCHES * p, "mm"),
                        "common practice, no source: 2 pitches",
                    ));
                    all.push(bench.at_most(
                        "J103",
                        "depth of the screw in the hole against its full thread",
                        (r.stick_in_mm, h.thread_depth_mm, "mm"),
                        "common practice, no source: the tip must not jam in the run-out",
                    ));
                }
            }
            End::Nut(_) => all.push(bench.at_least(
                "J105",
                "thread past the nut",
                (r.protrusion_mm, PROTRUSION_PITCHES * p, "mm"),
                "EN 1090-2:2018 8.2.2: one pitch (from memory)",
            )),
        }
        if r.shank_mm > 0.0 {
            all.push(bench.at_least(
                "J104",
                "thread left in the grip below the plain shank",
                (r.free_thread_mm, FREE_THREAD_PITCHES * p, "mm"),
                "EN 1090-2:2018 8.2.2: one full thread (from memory)",
            ));
        }
        if !fits {
            // The shortfall is measured on the length that would engage enough.
            all.push(bench.at_least(
                "J106",
                match r.packing_mm {
                    Some((low, high)) => format!(
                        "no stocked length lies between {:.2} and {:.2} mm; {:.2} to {:.2} mm more under the head lets the next one in",
                        r.shortest_mm,
                        r.longest_mm.unwrap_or(f64::INFINITY),
                        low.max(0.0),
                        high
                    ),
                    None => format!("no stocked length reaches {:.2} mm", r.shortest_mm),
                },
                (r.length_mm, r.shortest_mm, "mm"),
                "ISO 888:2012 or the shop's list",
            ));
        }
        if let Some(first) = self.layers.first()
            && first.sunk_mm > 0.0
            && self.screw.head.style != HeadStyle::Countersunk
        {
            all.push(bench.at_least(
                "J107",
                format!(
                    "counterbore depth in {} against the head's height",
                    first.name
                ),
                (first.sunk_mm, self.screw.head.head_height_mm, "mm"),
                "DIN 974-1:2008: the head is to sit below the face (from memory)",
            ));
        }
        all
    }
}
