//! Joints as tied rings under head and at every seat, spacers as beams between them.

use crate::geom::{Point3, Vector3};
use crate::layout::{Joint, Layer, Part, PlateHole, ThreadIn};
use crate::platework::MadePlate;
use crate::strength::Model;
use crate::strength::model::{Anchor, Clamp, Seat, Spacer};

use super::material::{self, SPACER_MATERIAL};
use super::{BracketError, Sources};

/// Adds the clamps and spacers of every joint to the model.
pub(super) fn clamp(s: &Sources<'_>, model: &mut Model) -> Result<(), BracketError> {
    for joint in &s.layout.joints {
        let stack = Stack { s, joint };
        for k in 0..joint.layers.len() {
            match &joint.layers[k].part {
                Part::Plate(plate) => stack.rings(k, plate, model)?,
                Part::Spacer { .. } => stack.spacer(k, model)?,
                Part::Ear(_) => stack.ear(k, model)?,
            }
        }
    }
    Ok(())
}

/// Name of the ring of a joint on one face of a plate.
fn ring(joint: &str, plate: &str, front: bool) -> String {
    let face = if front { "front" } else { "back" };
    format!("{joint}, {face} of {plate}")
}

/// One joint's layers, low to high.
struct Stack<'a> {
    s: &'a Sources<'a>,
    joint: &'a Joint,
}

impl Stack<'_> {
    /// The metal next to a layer as an anchor; `None` where head or nut is next.
    fn next(&self, k: usize, up: bool) -> Option<Anchor> {
        let other = if up { Some(k + 1) } else { k.checked_sub(1) };
        match other.and_then(|n| self.joint.layers.get(n)) {
            Some(l) => match &l.part {
                // The face of that plate which looks here.
                Part::Plate(p) => Some(Anchor::Clamp(ring(&self.joint.id, p, !up))),
                Part::Ear(e) => Some(Anchor::Body(e.owner.clone())),
                Part::Spacer { .. } => Some(Anchor::Free),
            },
            None if !up && self.is_on_block() => Some(Anchor::Block),
            None => None,
        }
    }

    const fn is_on_block(&self) -> bool {
        matches!(self.joint.thread_in, ThreadIn::Block { .. })
    }

    /// The rings on both faces of a plate.
    ///
    /// Under a head or nut the ring moves with the plate's other face: the bolt presses the
    /// metal between them together. Against the block the ring is as large as the head's,
    /// which is where the bolt's pressure cone meets the thread again (Shigley 8-5).
    fn rings(&self, k: usize, plate: &str, model: &mut Model) -> Result<(), BracketError> {
        let (made, hole) = self.hole(plate)?;
        let inner_mm = 0.5 * hole.diameter_mm;
        let t = made.plate.thickness_mm;
        for front in [false, true] {
            let next = self.next(k, front);
            // A plate's back is pressed on the front before it: named once, from above.
            let tied_to = match &next {
                Some(Anchor::Clamp(_)) if front => Anchor::Free,
                Some(a) => a.clone(),
                // The thread is cut in this plate and nothing bears on the far face.
                None if self.holds_thread(plate) => continue,
                None => Anchor::Clamp(ring(&self.joint.id, plate, !front)),
            };
            let bears = self
                .neighbour(k, front)
                .and_then(|l| l.bears_mm)
                .unwrap_or(self.joint.head_seat_mm);
            let sunk = hole.counterbore.filter(|c| c.2 == front && next.is_none());
            let height_mm = match (front, sunk) {
                (true, Some((_, depth, _))) => t - depth,
                (true, None) => t,
                (false, Some((_, depth, _))) => depth,
                (false, None) => 0.0,
            };
            model.clamps.push(Clamp {
                id: ring(&self.joint.id, plate, front),
                plate: plate.to_owned(),
                seat: Seat::Face {
                    centre: hole.at,
                    inner_mm,
                    outer_mm: (0.5 * bears).max(inner_mm + 1.0),
                    height_mm,
                },
                tied_to,
            });
        }
        Ok(())
    }

    fn holds_thread(&self, plate: &str) -> bool {
        matches!(&self.joint.thread_in, ThreadIn::Plate { plate: p } if p == plate)
    }

    fn neighbour(&self, k: usize, up: bool) -> Option<&Layer> {
        let n = if up { Some(k + 1) } else { k.checked_sub(1) };
        self.joint.layers.get(n?)
    }

    fn hole(&self, plate: &str) -> Result<(&MadePlate, &PlateHole), BracketError> {
        let made = self.s.plates.iter().find(|m| m.plate.id == plate);
        let found = made.and_then(|m| {
            let hole = m
                .holes
                .iter()
                .find(|h| self.joint.holes.contains(&h.target))?;
            Some((m, hole))
        });
        found.ok_or_else(|| BracketError::NoHole {
            joint: self.joint.id.clone(),
            plate: plate.to_owned(),
        })
    }

    /// A point of the joint's axis at a height.
    fn at(&self, height_mm: f64) -> Point3 {
        let j = self.joint;
        let own: Vector3 = j.at - Point3::ORIGIN;
        j.at + j.axis * (height_mm - own.dot(j.axis))
    }

    /// A turned spacer; the bolt inside it is left out, which is on the safe side.
    fn spacer(&self, k: usize, model: &mut Model) -> Result<(), BracketError> {
        let layer = &self.joint.layers[k];
        let Part::Spacer {
            bore_um,
            outside_um,
        } = layer.part
        else {
            return Ok(());
        };
        let (Some(from), Some(to)) = (self.next(k, false), self.next(k, true)) else {
            return Ok(());
        };
        let (inner_mm, outer_mm) = (bore_um as f64 * 1e-3, outside_um as f64 * 1e-3);
        self.tube(k, (from, to), (inner_mm, outer_mm), model)
    }

    /// An ear that sits on the block itself: as stiff as solid steel of its size.
    fn ear(&self, k: usize, model: &mut Model) -> Result<(), BracketError> {
        let layer = &self.joint.layers[k];
        let (Part::Ear(target), Some(Anchor::Block), Some(bears)) =
            (&layer.part, self.next(k, false), layer.bears_mm)
        else {
            return Ok(());
        };
        let body = Anchor::Body(target.owner.clone());
        self.tube(k, (Anchor::Block, body), (0.0, bears), model)
    }

    fn tube(
        &self,
        k: usize,
        (from, to): (Anchor, Anchor),
        (inner_mm, outer_mm): (f64, f64),
        model: &mut Model,
    ) -> Result<(), BracketError> {
        let layer = &self.joint.layers[k];
        let id = format!("spacer {} at {}", k + 1, self.joint.id);
        let material = material::of(SPACER_MATERIAL, 0.5 * (outer_mm - inner_mm), &id)?;
        model.spacers.push(Spacer {
            id,
            from,
            to,
            start: self.at(layer.low_mm),
            end: self.at(layer.high_mm),
            outer_mm,
            inner_mm,
            material,
        });
        Ok(())
    }
}
