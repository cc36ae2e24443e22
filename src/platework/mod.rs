//! Platework: every plate of a layout made, outline, openings and marks.

mod blank;
mod features;
mod marked;

use std::collections::BTreeMap;

use crate::diag::{Sink, Spot};
use crate::feature::SlotTrack;
use crate::geom::Point;
use crate::layout::seat::{Made, PlateHole};
use crate::layout::{Layout, Parts, PlatePlace, fastener};
use crate::params::job::{HoleRef, PlateSpec};
use crate::params::shop::Shop;
use crate::plate::Plate;
use crate::tables::Materials;

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
        let hole = self
            .holes
            .iter()
            .find(|h| h.name == feature)?;
        // A clearance hole is what it is; a tapped or reamed one is filled by its bolt.
        match hole.made {
            Made::Clearance => None,
            Made::Tapped | Made::Reamed => fastener::thread(&hole.thread).map(|t| t.d_mm),
        }
    }

    /// End centres of the slot made for a hole, if it is one.
    #[must_use]
    pub fn track(&self, feature: &str) -> Option<Vec<Point>> {
        let hole = self
            .holes
            .iter()
            .find(|h| h.name == feature)?;
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
            hole.slot = Some(slot.track);
        }
    }
    let fillet = spec
        .fillet_mm
        .unwrap_or(process.inside_radius_mm)
        .max(process.inside_radius_mm);
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
    let density = Materials::standard()
        .material(&stock.material, stock.thickness_mm)
        .map_or(0.0, |m| m.density_kg_m3);
    let plate = Plate {
        id: spec.id.clone(),
        title: spec.title.clone(),
        frame: place.frame,
        thickness_mm: place.thickness_mm,
        material: stock.material.clone(),
        density_kg_m3: density,
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
        spot: spec.spot,
        spots,
    })
}
