//! The length of a joint's screw: chosen from the stocked ones, with grip, engagement, free thread and tip.

use serde::Serialize;

use crate::tables::HeadStyle;
use crate::tables::engagement::CHAMFER_PITCHES;
use crate::tol;

use super::judgement::{Bench, Judgement};
use super::stack::{End, Stack, StackError};

/// Least distance from a screw's tip to the floor of its hole, in pitches (common practice, no source).
pub const TIP_CLEARANCE_PITCHES: f64 = 2.0;

/// Thread that must stand out of a nut, in pitches (EN 1090-2:2018 8.2.2, from memory).
pub const PROTRUSION_PITCHES: f64 = 1.0;

/// Full threads that must stay free between shank and nut or hole, in pitches (EN 1090-2:2018 8.2.2, from memory).
pub const FREE_THREAD_PITCHES: f64 = 1.0;

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
