//! Platework: every plate of a layout made, outline, openings and marks.

mod blank;
mod features;
mod marked;
mod way_up;

use std::collections::BTreeMap;

use crate::diag::{Code, Diag, Sink, Spot};
use crate::feature::SlotTrack;
use crate::geom::{Frame, Point, Point3};
use crate::layout::seat::{Made, PlateHole};
use crate::layout::{Layout, Parts, PlatePlace, fastener};
use crate::mixup::Way;
use crate::params::job::{HoleRef, PlateSpec};
use crate::params::shop::Shop;
use crate::plate::Plate;
use crate::tables::Materials;
use crate::tol;
use crate::units::plain;

pub use way_up::{Unmarked, mark};

/// A plate as made, with what the rules and the shop files need to know about it.
#[derive(Debug, Clone, PartialEq)]
pub struct MadePlate {
    /// The part.
    pub plate: Plate,
    /// Name of its stock.
    pub stock: String,
    /// Name of the process that cuts it.
    pub process: String,
    /// The holes it takes, resolved.
    pub holes: Vec<PlateHole>,
    /// Holes the process cannot make, with the reason: they become centre marks.
    pub marked: BTreeMap<String, String>,
    /// Pieces its outline fell into; 1 when it is sound.
    pub pieces: usize,
    /// How many the set needs.
    pub quantity: u32,
    /// Wrong ways to bolt it on that its holes allow.
    pub mixups: Vec<Way>,
    /// The mark that tells which way it goes on, or why it has none; `None` where no mix-up is possible.
    pub way_up: Option<Result<String, Unmarked>>,
    /// Where the plate is written.
    pub spot: Spot,
    /// Where each feature is written.
    pub spots: BTreeMap<String, Spot>,
}

impl MadePlate {
    /// Where a feature is written; the plate's own place for one the program added.
    #[must_use]
    pub fn spot_of(&self, feature: &str) -> Spot {
        self.spots.get(feature).copied().unwrap_or(self.spot)
    }

    /// Nominal bolt diameter of a hole the plate takes, mm.
    #[must_use]
    pub fn bolt_mm(&self, feature: &str) -> Option<f64> {
        let hole = self.holes.iter().find(|h| h.name == feature)?;
        // A clearance hole is what it is; a tapped or reamed one is filled by its bolt.
        match hole.made {
            Made::Clearance => None,
            Made::Tapped | Made::Reamed => fastener::thread(&hole.thread).map(|t| t.d_mm),
        }
    }

    /// End centres of the slot made for a hole, if it is one.
    #[must_use]
    pub fn track(&self, feature: &str) -> Option<Vec<Point>> {
        let hole = self.holes.iter().find(|h| h.name == feature)?;
        hole.slot.map(|s| track_ends(&s).to_vec())
    }
}

/// Both end centres of a slot and its middle.
#[must_use]
pub fn track_ends(track: &SlotTrack) -> [Point; 3] {
    match *track {
        SlotTrack::Straight { from, to } => [from, to, from.midpoint(to)],
        SlotTrack::Arc {
            pivot,
            radius_mm,
            start_rad,
            end_rad,
        } => [
            pivot.polar(radius_mm, start_rad),
            pivot.polar(radius_mm, end_rad),
            pivot.polar(radius_mm, 0.5 * (start_rad + end_rad)),
        ],
    }
}

/// Slots that the belt drive's take-up asks for, by the hole that slides.
pub type DriveSlots = BTreeMap<HoleRef, SlotTrackInEngine>;

/// A slot as the drive gives it: seen from the front, engine frame.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SlotTrackInEngine {
    /// The track, engine x and y.
    pub track: SlotTrack,
}

impl SlotTrackInEngine {
    /// The track in the frame of a plate that lies across the shaft; `None` for any other.
    #[must_use]
    pub fn in_plane(&self, frame: &Frame) -> Option<SlotTrack> {
        if frame.normal.z.abs() < 1.0 - tol::PARALLEL {
            return None;
        }
        let place = |p: Point| {
            let (q, _) = frame.to_plane(Point3::new(p.x, p.y, 0.0));
            Point::new(tol::on_input_grid(q.x), tol::on_input_grid(q.y))
        };
        Some(match self.track {
            SlotTrack::Straight { from, to } => SlotTrack::Straight {
                from: place(from),
                to: place(to),
            },
            SlotTrack::Arc {
                pivot,
                radius_mm,
                start_rad,
                end_rad,
            } => {
                // Seen from behind, counter-clockwise runs the other way.
                let first = if frame.normal.z > 0.0 {
                    start_rad
                } else {
                    end_rad
                };
                let centre = place(pivot);
                let (p, _) = frame.to_plane(Point3::new(
                    pivot.x + first.cos(),
                    pivot.y + first.sin(),
                    0.0,
                ));
                let (c, _) = frame.to_plane(Point3::new(pivot.x, pivot.y, 0.0));
                let start = (p - c).angle();
                SlotTrack::Arc {
                    pivot: centre,
                    radius_mm,
                    start_rad: start,
                    end_rad: start + (end_rad - start_rad),
                }
            }
        })
    }
}

/// Makes every plate of a layout.
///
/// A plate whose outline cannot be made is a finding and is left out.
pub fn make(
    parts: &Parts<'_>,
    layout: &Layout,
    shop: &Shop,
    slots: &DriveSlots,
    sink: &mut Sink,
) -> Vec<MadePlate> {
    layout
        .plates
        .iter()
        .zip(&parts.job.plates)
        .filter_map(|(place, spec)| make_one(parts, place, spec, shop, slots, sink))
        .collect()
}

fn across_only(spec: &PlateSpec, hole: &PlateHole) -> Diag {
    let spot = spec
        .takes
        .iter()
        .find(|t| t.target == hole.target)
        .map_or(spec.spot, |t| t.spot);
    Diag::new(
        Code::SlotWithoutTakeUp,
        format!(
            "the slot of `{}` follows the drive, but plate `{}` does not lie across the shafts",
            hole.target, spec.id
        ),
    )
    .labelled(spot, "the take-up moves this hole out of the plate")
    .help("take the hole in a plate that faces front or back, or give the slot's ends")
}

fn make_one(
    parts: &Parts<'_>,
    place: &PlatePlace,
    spec: &PlateSpec,
    shop: &Shop,
    slots: &DriveSlots,
    sink: &mut Sink,
) -> Option<MadePlate> {
    let stock = parts.stocks.get(&spec.stock)?;
    let process = spec
        .process
        .as_ref()
        .and_then(|id| shop.processes.iter().find(|p| p.id == *id))
        .or(shop.processes.first())?;
    let mut holes = place.holes.clone();
    for hole in &mut holes {
        if let Some(slot) = slots.get(&hole.target) {
            hole.slot = slot.in_plane(&place.frame);
            if hole.slot.is_none() {
                sink.push(across_only(spec, hole));
            }
        }
    }
    // A fillet below the cutter's radius is made as asked for, and its rule fails.
    let fillet = spec.fillet_mm.unwrap_or(process.inside_radius_mm);
    let blank = blank::build(spec, &holes, fillet, sink)?;
    let mut spots = BTreeMap::new();
    let mut features = features::taken(place.thickness_mm, &holes);
    for hole in &holes {
        if let Some(take) = spec.takes.iter().find(|t| t.target == hole.target) {
            spots.insert(hole.name.clone(), take.spot);
        }
    }
    features.extend(features::further(
        spec,
        place.thickness_mm,
        parts.job.fasteners.fit,
        &mut spots,
        sink,
    ));
    features.extend(blank::windows(
        spec,
        process,
        &blank,
        &holes,
        &features,
        place.thickness_mm,
        &mut spots,
        sink,
    ));
    let material = Materials::standard().material(&stock.material, stock.thickness_mm);
    let Ok(material) = material else {
        sink.push(
            Diag::new(
                Code::NoMaterialRow,
                format!(
                    "the material table has no {} of {} mm, which plate `{}` is cut from",
                    stock.material,
                    plain(stock.thickness_mm, 3),
                    spec.id
                ),
            )
            .labelled(spec.spot, "in this plate")
            .help(format!(
                "thicknesses it has: {}",
                thicknesses(&stock.material)
            )),
        );
        return None;
    };
    let plate = Plate {
        id: spec.id.clone(),
        title: spec.title.clone(),
        frame: place.frame,
        thickness_mm: place.thickness_mm,
        material: stock.material.clone(),
        density_kg_m3: material.density_kg_m3,
        outline: blank.outer,
        features,
    };
    let marked = marked::by_process(&plate, process);
    Some(MadePlate {
        plate,
        stock: spec.stock.clone(),
        process: process.id.clone(),
        holes,
        marked,
        pieces: blank.pieces,
        quantity: spec.quantity,
        mixups: Vec::new(),
        way_up: None,
        spot: spec.spot,
        spots,
    })
}

/// The thicknesses a material's rows cover, in words.
fn thicknesses(name: &str) -> String {
    let mut rows: Vec<String> = Materials::standard()
        .rows()
        .iter()
        .filter(|m| m.name == name || m.aliases.split(';').any(|a| a == name))
        .map(|m| {
            format!(
                "over {} to {} mm",
                plain(m.t_over_mm, 3),
                plain(m.t_to_mm, 3)
            )
        })
        .collect();
    rows.sort();
    rows.dedup();
    rows.join(", ")
}
