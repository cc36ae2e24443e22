//! What a load does to a pulley: how far it moves, how far it tilts, and how the belt then enters.

use serde::Serialize;

use crate::geom::Vector3;

use super::build::Built;
use super::model::{Model, Pulley};
use super::structure::skew;

/// A pulley under one load case.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PulleyShift {
    /// Pulley.
    pub pulley: String,
    /// Load case.
    pub case: String,
    /// Movement of the groove centre, engine frame, mm.
    pub moved_mm: [f64; 3],
    /// Movement along the pulley's axis, mm.
    pub axial_mm: f64,
    /// Movement across the axis, mm.
    pub radial_mm: f64,
    /// Tilt of the axis, deg.
    pub tilt_deg: f64,
    /// Change of the belt's entry angle at each span.
    pub spans: Vec<EntryAngle>,
}

/// Change of the angle between a span and the plane of a pulley's grooves.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EntryAngle {
    /// Span.
    pub span: String,
    /// From the tilt of the axis, deg.
    pub from_tilt_deg: f64,
    /// From the axial movement over the span's length (the far pulley taken as still), deg.
    pub from_shift_deg: f64,
    /// Both, deg.
    pub total_deg: f64,
}

const fn xyz(v: Vector3) -> [f64; 3] {
    [v.x, v.y, v.z]
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

fn times(m: &[[f64; 3]; 3], v: [f64; 3]) -> [f64; 3] {
    [dot(m[0], v), dot(m[1], v), dot(m[2], v)]
}

/// Movement and tilt of a pulley in a displacement field; `None` for a pulley on nothing that moves.
#[must_use]
pub fn pulley_shift(
    model: &Model,
    built: &Built,
    pulley: &Pulley,
    case: &str,
    displacement: &[f64],
) -> Option<PulleyShift> {
    let group = built.group(model, &pulley.on)?;
    let s = &built.structure;
    let at = s.body_start(group);
    let u = [displacement[at], displacement[at + 1], displacement[at + 2]];
    let turn = [
        displacement[at + 3],
        displacement[at + 4],
        displacement[at + 5],
    ];
    let c = [pulley.centre.x, pulley.centre.y, pulley.centre.z];
    let arm = [0, 1, 2].map(|k| c[k] - s.bodies[group].at[k]);
    let swing = times(&skew(turn), arm);
    let moved = [0, 1, 2].map(|k| u[k] + swing[k]);
    let axis = xyz(pulley.axis.unit()?);
    let axial = dot(moved, axis);
    let radial = (dot(moved, moved) - axial * axial).max(0.0).sqrt();
    // A small turn changes the axis by θ × a.
    let change = times(&skew(turn), axis);
    let spans = pulley
        .spans
        .iter()
        .filter_map(|span| {
            let d = xyz(span.direction.unit()?);
            // The span leaves the groove plane by the part of the axis' change along it;
            // a pulley that moves forward leaves the far end of the span behind.
            let tilt = dot(change, d);
            let shift = -axial / span.length_mm;
            Some(EntryAngle {
                span: span.id.clone(),
                from_tilt_deg: tilt.to_degrees(),
                from_shift_deg: shift.atan().to_degrees(),
                total_deg: (tilt + shift).to_degrees(),
            })
        })
        .collect();
    Some(PulleyShift {
        pulley: pulley.id.clone(),
        case: case.to_owned(),
        moved_mm: moved,
        axial_mm: axial,
        radial_mm: radial,
        tilt_deg: dot(change, change).sqrt().to_degrees(),
        spans,
    })
}
