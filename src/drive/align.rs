//! Alignment of the rib planes: offset and entry angle of every span, with tolerances and what play can correct.
//!
//! Grooves hold the belt; a flat pulley does not: the belt runs onto it square
//! to its axis and so keeps the height it left the last groove with, shifted by
//! the flat pulley's own tilt. The whole offset to the next grooved pulley
//! then falls into the span that reaches it.

use std::collections::BTreeMap;

use serde::Serialize;

use super::input::{Drive, Face, Pulley};
use super::path::{BeltPath, Span};
use crate::geom::Vector;

/// One span's alignment.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpanAlignment {
    /// Span number.
    pub number: usize,
    /// Pulley it leaves.
    pub from: String,
    /// Pulley it arrives at.
    pub to: String,
    /// Height of the belt at the arriving pulley less that at the leaving one, mm.
    pub offset_mm: f64,
    /// That offset over the span, mm per 100 mm.
    pub offset_mm_per_100: f64,
    /// Angle between the span and the plane of the pulley it leaves, deg (signed).
    pub leaving_deg: f64,
    /// Angle between the span and the plane of the pulley it arrives at, deg (signed).
    pub entry_deg: f64,
    /// Greater size of the two where the pulley is grooved, deg.
    pub angle_deg: f64,
    /// The same with every tolerance at its worst, deg.
    pub worst_deg: f64,
    /// The same with tolerances as root sum square, deg.
    pub rss_deg: f64,
    /// Angle that the fitter can take away with the play of the pulleys, deg.
    pub correctable_deg: f64,
    /// The worst case after that, deg.
    pub worst_corrected_deg: f64,
}

/// Belt on one flat pulley.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FlatRun {
    /// Pulley.
    pub pulley: String,
    /// Middle of the belt less middle of the face, mm.
    pub off_middle_mm: f64,
    /// The same with every tolerance at its worst, mm.
    pub worst_mm: f64,
    /// Face left beside the belt on the nearer side at worst, mm; negative where it overhangs.
    pub face_left_mm: f64,
}

/// Alignment of the whole drive.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Alignment {
    /// Height of the driver's rib plane, mm.
    pub driver_z_mm: f64,
    /// Rib plane of each pulley in path order less the driver's, mm.
    pub offsets_mm: Vec<f64>,
    /// One per span.
    pub spans: Vec<SpanAlignment>,
    /// One per flat pulley.
    pub flats: Vec<FlatRun>,
}

/// A quantity linear in the contributors: coefficient on each, and its nominal value.
#[derive(Debug, Clone, Default)]
struct Linear {
    nominal: f64,
    /// By contributor: half range of what it does to the quantity, signed.
    parts: BTreeMap<String, f64>,
}

impl Linear {
    fn plus(mut self, other: &Self, factor: f64) -> Self {
        self.nominal += factor * other.nominal;
        for (id, half) in &other.parts {
            *self.parts.entry(id.clone()).or_default() += factor * half;
        }
        self
    }

    /// Sum of half ranges: the worst case.
    fn worst(&self) -> f64 {
        self.parts.values().map(|v| v.abs()).sum()
    }

    /// Root of the sum of squares.
    fn rss(&self) -> f64 {
        self.parts.values().map(|v| v * v).sum::<f64>().sqrt()
    }
}

/// Height of a rib plane, mm.
fn height(p: &Pulley) -> Linear {
    let mut parts = BTreeMap::new();
    for c in &p.contributors {
        *parts.entry(c.id.clone()).or_default() += c.shift_mm;
    }
    Linear {
        nominal: p.rib_plane_z_mm,
        parts,
    }
}

/// Slope that the pulley's plane has along `direction`, rad.
///
/// A shaft turned by small angles (a, b) about +x and +y has the plane
/// z = −b·x + a·y. The direction in which a tolerance tilts is not known, so
/// its whole range counts.
fn slope(p: &Pulley, direction: Vector) -> Linear {
    let (about_x, about_y) = (p.tilt_deg.0.to_radians(), p.tilt_deg.1.to_radians());
    let mut parts = BTreeMap::new();
    for c in p.contributors.iter().filter(|c| c.tilt_deg.abs() > 0.0) {
        *parts.entry(format!("{} tilt", c.id)).or_default() += c.tilt_deg.to_radians();
    }
    Linear {
        nominal: about_x * direction.y - about_y * direction.x,
        parts,
    }
}

/// Solves the alignment on a path.
///
/// Angles are small (below a few degrees), so tangent and angle are not told
/// apart in the sums; the nominal angles are exact.
#[must_use]
pub fn align(drive: &Drive, path: &BeltPath) -> Alignment {
    let n = path.contacts.len();
    let pulley = |k: usize| &drive.pulleys[path.contacts[k % n].pulley];
    let driver_z_mm = drive.pulleys[drive.driver].rib_plane_z_mm;
    // Belt height at each contact, walked from a grooved pulley.
    let first = (0..n).find(|&k| pulley(k).guides_the_belt()).unwrap_or(0);
    let mut belt: Vec<Linear> = vec![Linear::default(); n];
    for step in 0..n {
        let k = (first + step) % n;
        let own = pulley(k);
        belt[k] = if step == 0 || own.guides_the_belt() {
            height(own)
        } else {
            let span = path.span_before(k);
            // Square to a tilted axis the span rises along with the pulley's plane.
            belt[(k + n - 1) % n]
                .clone()
                .plus(&slope(own, span.direction), span.length_mm)
        };
    }
    let spans = path
        .spans
        .iter()
        .map(|span| span_alignment(drive, path, &belt, span))
        .collect();
    let flats = (0..n)
        .filter(|&k| !pulley(k).guides_the_belt())
        .map(|k| flat_run(drive, pulley(k), &belt[k]))
        .collect();
    Alignment {
        driver_z_mm,
        offsets_mm: (0..n)
            .map(|k| pulley(k).rib_plane_z_mm - driver_z_mm)
            .collect(),
        spans,
        flats,
    }
}

fn span_alignment(drive: &Drive, path: &BeltPath, belt: &[Linear], span: &Span) -> SpanAlignment {
    let from = &drive.pulleys[path.contacts[span.from].pulley];
    let to = &drive.pulleys[path.contacts[span.to].pulley];
    let rise = belt[span.to].clone().plus(&belt[span.from], -1.0);
    let per_length = 1.0 / span.length_mm;
    let angle_at = |p: &Pulley| {
        Linear::default()
            .plus(&rise, per_length)
            .plus(&slope(p, span.direction), -1.0)
    };
    let exact = |p: &Pulley| {
        let belt_angle = rise.nominal.atan2(span.length_mm);
        (belt_angle - slope(p, span.direction).nominal.atan()).to_degrees()
    };
    let (leaving_deg, entry_deg) = (exact(from), exact(to));
    let (mut angle_deg, mut worst_deg, mut rss_deg) = (0.0_f64, 0.0_f64, 0.0_f64);
    for (p, nominal) in [(from, leaving_deg), (to, entry_deg)] {
        if p.guides_the_belt() {
            let spread = angle_at(p);
            angle_deg = angle_deg.max(nominal.abs());
            worst_deg = worst_deg.max(nominal.abs() + spread.worst().to_degrees());
            rss_deg = rss_deg.max(nominal.abs() + spread.rss().to_degrees());
        }
    }
    let shift = from.play.shift_mm + to.play.shift_mm;
    let correctable_deg =
        (shift * per_length).atan().to_degrees() + from.play.tilt_deg.max(to.play.tilt_deg);
    SpanAlignment {
        number: span.number,
        from: from.id.clone(),
        to: to.id.clone(),
        offset_mm: rise.nominal,
        offset_mm_per_100: 100.0 * rise.nominal * per_length,
        leaving_deg,
        entry_deg,
        angle_deg,
        worst_deg,
        rss_deg,
        correctable_deg,
        worst_corrected_deg: (worst_deg - correctable_deg).max(0.0),
    }
}

fn flat_run(drive: &Drive, pulley: &Pulley, belt: &Linear) -> FlatRun {
    let off = belt.clone().plus(&height(pulley), -1.0);
    let face_mm = match pulley.face {
        Face::Flat { width_mm, .. } => width_mm,
        Face::Ribbed { .. } => pulley.width_mm,
    };
    let worst_mm = off.nominal.abs() + off.worst();
    FlatRun {
        pulley: pulley.id.clone(),
        off_middle_mm: off.nominal,
        worst_mm,
        face_left_mm: 0.5 * (face_mm - drive.belt.width_mm()) - worst_mm,
    }
}
