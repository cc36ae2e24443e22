//! What each hole of a plate becomes: its size, its slot, what bears on either face, and the boss that gives it metal.

use crate::diag::{Code, Diag, Sink};
use crate::feature::SlotTrack;
use crate::geom::{Point, Vector};
use crate::params::job::{Fasteners, HoleRef, Make, PlateSpec, SlotSpec, Take};
use crate::tol;

use super::place::{EngineHole, Offer, exact_sin_cos};
use super::resolve::{is_tapped, joint_of};
use super::stack::{Joint, Part};
use super::{PlatePlace, fastener};

/// Boss radius over hole diameter when nothing asks for more.
///
/// EN 1999-1-1:2007 Table 8.2, regular edge distance e2 = 1.5 d0 (from memory
/// of the standard); EN 1993-1-8:2005 Table 3.3 asks 1.2 d0 at least and, for
/// slots, 1.5 d0.
pub const BOSS_RADIUS_PER_HOLE: f64 = 1.5;

/// Metal left round a seat, mm, so that its edge does not bear on the boss's
/// deburred edge (common practice, no source).
pub const SEAT_RIM_MM: f64 = 1.0;

/// Boss radii are rounded up to this step, mm: a number a person can measure.
const BOSS_STEP_MM: f64 = 0.5;

/// A hole of a plate, resolved.
#[derive(Debug, Clone, PartialEq)]
pub struct PlateHole {
    /// What it is for.
    pub target: HoleRef,
    /// The feature's name: the target's, told apart where two variants need it at different places.
    pub name: String,
    /// Variants that use it; empty where all do.
    pub variants: Vec<String>,
    /// Centre in the plate's frame, mm.
    pub at: Point,
    /// Thread of the bolt.
    pub thread: String,
    /// What is made.
    pub made: Made,
    /// Diameter as cut, mm.
    pub diameter_mm: f64,
    /// Slot track; `None` for a round hole.
    pub slot: Option<SlotTrack>,
    /// What bears on the front face.
    pub front: Option<Seat>,
    /// What bears on the back face.
    pub back: Option<Seat>,
    /// Counterbore for the head: diameter and depth, mm, and whether on the front.
    pub counterbore: Option<(f64, f64, bool)>,
    /// Boss diameter, mm.
    pub boss_mm: f64,
}

/// What is made for a hole that is taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Made {
    /// A clearance hole.
    Clearance,
    /// A tapped hole; the diameter is the tap drill's.
    Tapped,
    /// A reamed hole.
    Reamed,
}

/// Something round that bears on a plate.
#[derive(Debug, Clone, PartialEq)]
pub struct Seat {
    /// What it is, in words.
    pub what: String,
    /// Its diameter, mm.
    pub diameter_mm: f64,
}

/// Resolves every hole a plate takes.
pub fn seat_holes(
    plate: &mut PlatePlace,
    spec: &PlateSpec,
    fasteners: &Fasteners,
    holes: &[EngineHole],
    joints: &[Joint],
    sink: &mut Sink,
) {
    let mut seated = Vec::with_capacity(spec.takes.len());
    for take in &spec.takes {
        let Some(hole) = holes.iter().find(|h| h.target == take.target) else {
            continue;
        };
        if plate.frame.normal.cross(hole.axis).length() > tol::PARALLEL {
            continue;
        }
        let ctx = Taking {
            plate,
            take,
            hole: hole.seen_along(plate.frame.normal),
            joint: joint_of(joints, &take.target),
            fasteners,
        };
        seated.extend(ctx.seat(holes, sink));
    }
    plate.holes = seated;
}

struct Taking<'a> {
    plate: &'a PlatePlace,
    take: &'a Take,
    hole: EngineHole,
    joint: Option<&'a Joint>,
    fasteners: &'a Fasteners,
}

impl Taking<'_> {
    fn seat(&self, holes: &[EngineHole], sink: &mut Sink) -> Option<PlateHole> {
        let thread = fastener::thread(&self.hole.thread)?;
        let fit = self.take.fit.unwrap_or(self.fasteners.fit);
        let (at, _) = self.plate.frame.to_plane(self.hole.at);
        let at = Point::new(tol::on_input_grid(at.x), tol::on_input_grid(at.y));
        let made = self.made();
        let diameter_mm = match made {
            Made::Clearance => fastener::clearance_mm(thread.d_mm, fit)?,
            Made::Tapped => thread.tap_drill_mm,
            Made::Reamed => self.pin_mm(thread.d_mm),
        };
        let slot = match &self.take.slot {
            None => None,
            Some(SlotSpec::Drive) => None,
            Some(SlotSpec::Swing {
                about,
                from_deg,
                to_deg,
            }) => Some(self.swing(at, about, *from_deg, *to_deg, holes, sink)?),
            Some(SlotSpec::Slide {
                direction_deg,
                from_mm,
                to_mm,
            }) => {
                let (sin, cos) = exact_sin_cos(*direction_deg);
                let d = Vector::new(cos, sin);
                Some(SlotTrack::Straight {
                    from: at + d * *from_mm,
                    to: at + d * *to_mm,
                })
            }
        };
        let (front, back) = self.seats();
        let counterbore = self.counterbore(thread.d_mm, sink);
        let boss_mm = self.take.boss_mm.unwrap_or_else(|| {
            let sunk = counterbore.map(|c| Seat {
                what: String::new(),
                diameter_mm: c.0,
            });
            // A tapped or reamed hole is as large as its bolt for this purpose.
            let hole = diameter_mm.max(thread.d_mm);
            boss_diameter_mm(hole, [front.as_ref(), back.as_ref(), sunk.as_ref()])
        });
        Some(PlateHole {
            target: self.take.target.clone(),
            name: self.take.target.to_string(),
            variants: Vec::new(),
            at,
            thread: thread.name.clone(),
            made,
            diameter_mm,
            slot,
            front,
            back,
            counterbore,
            boss_mm,
        })
    }

    fn made(&self) -> Made {
        match self.take.make {
            Some(Make::Reamed) => Made::Reamed,
            Some(Make::Clearance) => Made::Clearance,
            _ if is_tapped(self.take, &self.hole) => Made::Tapped,
            _ => Made::Clearance,
        }
    }

    /// A reamed hole takes the pin the accessory brings: as large as its hole.
    fn pin_mm(&self, bolt_mm: f64) -> f64 {
        match self.hole.offer {
            Offer::Ears { hole_mm, .. } | Offer::Pad { hole_mm, .. } => hole_mm,
            _ => bolt_mm,
        }
    }

    fn swing(
        &self,
        at: Point,
        about: &HoleRef,
        from_deg: f64,
        to_deg: f64,
        holes: &[EngineHole],
        sink: &mut Sink,
    ) -> Option<SlotTrack> {
        let pivot = holes.iter().find(|h| h.target == *about)?;
        let (pivot, _) = self.plate.frame.to_plane(pivot.at);
        let pivot = Point::new(tol::on_input_grid(pivot.x), tol::on_input_grid(pivot.y));
        let arm = at - pivot;
        if arm.length() <= self.hole_radius() {
            sink.push(
                Diag::new(
                    Code::SlotAboutItself,
                    format!(
                        "the slot for `{}` swings about `{about}`, which is {:.3} mm away; more than its own radius is needed",
                        self.take.target,
                        arm.length()
                    ),
                )
                .labelled(self.take.spot, "no arc can be drawn about this pivot")
                .help("name the accessory's pivot in `about`"),
            );
            return None;
        }
        Some(SlotTrack::Arc {
            pivot,
            radius_mm: arm.length(),
            start_rad: arm.angle() + from_deg.to_radians(),
            end_rad: arm.angle() + to_deg.to_radians(),
        })
    }

    fn hole_radius(&self) -> f64 {
        fastener::thread(&self.hole.thread).map_or(0.0, |t| 0.6 * t.d_mm)
    }

    /// What bears on the plate's front and back.
    fn seats(&self) -> (Option<Seat>, Option<Seat>) {
        let Some(joint) = self.joint else {
            return (None, None);
        };
        let here = |p: &Part| matches!(p, Part::Plate(id) if *id == self.plate.id);
        let Some(i) = joint.layers.iter().position(|l| here(&l.part)) else {
            return (None, None);
        };
        let neighbour = |n: Option<usize>, high: bool| -> Option<Seat> {
            if let Some(l) = n.and_then(|n| joint.layers.get(n)) {
                return l.bears_mm.map(|d| Seat {
                    what: l.name(),
                    diameter_mm: d,
                });
            }
            if joint.counterbored {
                return None;
            }
            let bolt = fastener::thread(&joint.thread)?;
            if joint.head_high == high {
                Some(Seat {
                    what: "the bolt head".to_owned(),
                    diameter_mm: joint.head_seat_mm,
                })
            } else if joint.thread_in == super::stack::ThreadIn::Nut {
                fastener::washer_mm(bolt.d_mm).map(|diameter_mm| Seat {
                    what: "the nut's washer".to_owned(),
                    diameter_mm,
                })
            } else {
                None
            }
        };
        (
            neighbour(Some(i + 1), true),
            neighbour(i.checked_sub(1), false),
        )
    }

    fn counterbore(&self, bolt_mm: f64, sink: &mut Sink) -> Option<(f64, f64, bool)> {
        if !self.take.counterbore {
            return None;
        }
        let Some(c) = fastener::counterbore_mm(bolt_mm) else {
            sink.push(
                Diag::new(
                    Code::UnknownThread,
                    format!(
                        "the counterbore table has no row for the bolt of `{}`",
                        self.take.target
                    ),
                )
                .labelled(self.take.spot, "counterbore asked for here")
                .help("use a thread from M5 to M16"),
            );
            return None;
        };
        let front = self.joint.is_none_or(|j| j.head_high);
        Some((c.0, c.1, front))
    }
}

/// Boss diameter for a hole: the edge-distance rule's, or wide enough for what bears on it; mm.
#[must_use]
pub fn boss_diameter_mm<'a>(
    hole_mm: f64,
    seats: impl IntoIterator<Item = Option<&'a Seat>>,
) -> f64 {
    let rule = BOSS_RADIUS_PER_HOLE * hole_mm;
    let seat = seats
        .into_iter()
        .flatten()
        .map(|s| 0.5 * s.diameter_mm + SEAT_RIM_MM)
        .fold(0.0, f64::max);
    let radius = rule.max(seat);
    2.0 * (radius / BOSS_STEP_MM - 1e-9).ceil() * BOSS_STEP_MM
}
