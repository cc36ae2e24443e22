//! What each hole of a plate becomes: its size, its slot, what bears on either face, and the boss that gives it metal.

use std::sync::Arc;

use crate::diag::{Code, Diag, Sink};
use crate::feature::SlotTrack;
use crate::geom::{Point, Vector};
use crate::params::job::{Fasteners, Head, HoleRef, Make, PlateSpec, SlotSpec, Take};
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
    pub variants: Arc<[String]>,
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
    /// Further holes on the same axis that its bolt serves.
    pub shared: Vec<HoleRef>,
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
        if let Some(clash) = ctx.clash() {
            sink.push(clash);
        } else if let Some(hole) = ctx.seat(holes, sink) {
            add(&mut seated, hole, take, sink);
        }
    }
    plate.holes = seated;
}

/// Adds a hole, or makes it one with the hole that lies there already.
///
/// Parts that share a bolt share its hole: the larger size and the larger boss serve both.
fn add(seated: &mut Vec<PlateHole>, hole: PlateHole, take: &Take, sink: &mut Sink) {
    let there = seated
        .iter_mut()
        .find(|h| h.at.distance(hole.at) <= tol::INPUT_GRID_MM);
    let Some(there) = there else {
        seated.push(hole);
        return;
    };
    let plain = |h: &PlateHole| h.made == Made::Clearance && h.slot.is_none();
    if plain(there) && plain(&hole) {
        there.diameter_mm = there.diameter_mm.max(hole.diameter_mm);
        there.boss_mm = there.boss_mm.max(hole.boss_mm);
        there.counterbore = there.counterbore.or(hole.counterbore);
        there.shared.push(hole.target);
        return;
    }
    sink.push(
        Diag::new(
            Code::OnePlace,
            format!(
                "`{}` and `{}` lie on one place but are made in different ways",
                there.target, hole.target
            ),
        )
        .labelled(take.spot, "a hole is here already")
        .help("take one of them, or make both clearance holes"),
    );
}

/// An arc slot as it is asked for.
struct Swing<'a> {
    about: &'a HoleRef,
    from_deg: f64,
    to_deg: f64,
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
            // The belt drive says later how far its own slots run.
            None | Some(SlotSpec::Drive) => None,
            Some(SlotSpec::Swing {
                about,
                from_deg,
                to_deg,
            }) => {
                let swing = Swing {
                    about,
                    from_deg: *from_deg,
                    to_deg: *to_deg,
                };
                Some(self.swing(at, diameter_mm, &swing, holes, sink)?)
            }
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
        if boss_mm <= diameter_mm + tol::RULE_MM {
            sink.push(
                Diag::new(
                    Code::BossWithoutMetal,
                    format!(
                        "the boss of `{}` is {boss_mm:.3} mm in diameter, its hole {diameter_mm:.3} mm",
                        self.take.target
                    ),
                )
                .labelled(self.take.spot, "no metal is left round this hole")
                .help("leave `boss` out, or make it at least 2.4 hole diameters"),
            );
            return None;
        }
        Some(PlateHole {
            shared: Vec::new(),
            target: self.take.target.clone(),
            name: self.take.target.to_string(),
            variants: Arc::default(),
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

    /// Two things asked of the hole of which it can be but one.
    fn clash(&self) -> Option<Diag> {
        let made = self.made();
        let bolt_in = match self.hole.offer {
            Offer::BlockThread { .. } => Some("the block"),
            Offer::ThreadedEar { .. } => Some("the ear"),
            Offer::Ears { .. } | Offer::Pad { .. } => None,
        };
        let word = match made {
            Made::Clearance => "a clearance hole",
            Made::Tapped => "tapped",
            Made::Reamed => "reamed",
        };
        let head = self
            .joint
            .map_or(self.take.head.unwrap_or(self.fasteners.head), |j| j.head);
        let sunk_under = || {
            let joint = self.joint?;
            let outer = if joint.head_high {
                joint.layers.last()
            } else {
                joint.layers.first()
            };
            outer.filter(|l| l.part != Part::Plate(self.plate.id.clone()))
        };
        let (both, help) = if made != Made::Clearance && self.take.slot.is_some() {
            (
                format!("{word} and a slot"),
                "a bolt slides in a clearance slot: leave `make` out",
            )
        } else if made != Made::Clearance && self.take.counterbore {
            (
                format!("{word} and counterbored for a head"),
                "sink the head in the plate that the bolt passes through",
            )
        } else if made != Made::Clearance && self.take.fit.is_some() {
            (
                format!("{word} and a clearance hole of a given fit"),
                "leave `fit` out: the size follows from the thread or the pin",
            )
        } else if let (Made::Tapped, Some(place)) = (made, bolt_in) {
            (
                format!("tapped, and passed by a bolt whose thread is in {place}"),
                "make = \"clearance\": one part alone holds a bolt's thread",
            )
        } else if made == Made::Reamed && self.take.head.is_some() {
            (
                "reamed for a pin, and given a bolt head".to_owned(),
                "leave `head` out",
            )
        } else if self.take.counterbore && self.take.slot.is_some() {
            (
                "a slot and counterbored".to_owned(),
                "leave the head on the plate's face: a counterbore along a slot is not made",
            )
        } else if self.take.counterbore && head != Head::Cap {
            (
                "counterbored for a cap screw, and given a hexagon head".to_owned(),
                "head = \"cap\", or leave `counterbore` out",
            )
        } else if let (true, Some(layer)) = (self.take.counterbore, sunk_under()) {
            return Some(self.clashing(
                &format!("counterbored for a head, and covered by {}", layer.name()),
                "sink the head in the outermost plate of the stack",
            ));
        } else {
            return None;
        };
        Some(self.clashing(&both, help))
    }

    fn clashing(&self, both: &str, help: &str) -> Diag {
        Diag::new(
            Code::TakeClash,
            format!("`{}` is to be {both}", self.take.target),
        )
        .labelled(self.take.spot, "only one of these can be made")
        .help(help)
    }

    fn swing(
        &self,
        at: Point,
        width_mm: f64,
        swing: &Swing<'_>,
        holes: &[EngineHole],
        sink: &mut Sink,
    ) -> Option<SlotTrack> {
        let about = swing.about;
        let pivot = holes.iter().find(|h| h.target == *about)?;
        if self.plate.frame.normal.cross(pivot.axis).length() > tol::PARALLEL {
            sink.push(
                Diag::new(
                    Code::AxisNotNormal,
                    format!(
                        "the slot of `{}` swings about `{about}`, whose axis is not the normal of plate `{}`",
                        self.take.target, self.plate.id
                    ),
                )
                .labelled(self.take.spot, "nothing swings in this plane about that axis")
                .help("name the accessory's pivot in `about`"),
            );
            return None;
        }
        let (pivot, _) = self.plate.frame.to_plane(pivot.at);
        let pivot = Point::new(tol::on_input_grid(pivot.x), tol::on_input_grid(pivot.y));
        let arm = at - pivot;
        if arm.length() <= 0.5 * width_mm + tol::SNAP_MM {
            sink.push(
                Diag::new(
                    Code::SlotAboutItself,
                    format!(
                        "the slot for `{}` swings about `{about}`, which is {:.3} mm away; more than half its width, {:.3} mm, is needed",
                        self.take.target,
                        arm.length(),
                        0.5 * width_mm
                    ),
                )
                .labelled(self.take.spot, "no arc can be drawn about this pivot")
                .help("name the accessory's pivot in `about`"),
            );
            return None;
        }
        let track = SlotTrack::Arc {
            pivot,
            radius_mm: arm.length(),
            start_rad: arm.angle() + swing.from_deg.to_radians(),
            end_rad: arm.angle() + swing.to_deg.to_radians(),
        };
        if track.meets_itself(width_mm) {
            sink.push(
                Diag::new(
                    Code::SlotClosesOnItself,
                    format!(
                        "the slot of `{}` runs into its own other end",
                        self.take.target
                    ),
                )
                .labelled(self.take.spot, "its middle would fall out")
                .help("bring `from` and `to` nearer to each other"),
            );
            return None;
        }
        Some(track)
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
