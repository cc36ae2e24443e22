//! The volume of a solid from its faces, and of a plate in closed form.

use std::f64::consts::PI;

use truck_topology::{Edge, Face, Wire};

use crate::geom::Point3;
use crate::plate::Plate;

use super::Body;
use super::curve::{Curve, Seat};
use super::error::SolidError;
use super::nesting::Nesting;
use super::surface::Surface;

/// The three volumes ∮x·n_x, ∮y·n_y and ∮z·n_z over the faces of a body, mm³, in closed form.
///
/// By the divergence theorem each is the volume of a closed solid whose faces
/// all look outwards. The first two come from the walls alone and the last
/// from flats and cones alone, so a face that is turned over, missing or at a
/// wrong height shows in at least one. Exact for upright cylinders and
/// cones, level planes and upright planes, which is all that a [`Body`] has.
#[must_use]
pub fn volumes_mm3(body: &Body) -> [f64; 3] {
    let origin = below_and_left_of(body);
    let mut sums = [0.0; 3];
    for face in body.solid().face_iter() {
        let part = face_part(face, origin);
        for (sum, part) in sums.iter_mut().zip(part) {
            *sum += part;
        }
    }
    sums
}

/// A point below, left of and in front of every vertex.
///
/// From there every flat and every plane wall has a lever, so none can be
/// turned over without changing a sum.
fn below_and_left_of(body: &Body) -> Point3 {
    let start = (Point3::ORIGIN, f64::NEG_INFINITY);
    let vertices = body
        .solid()
        .face_iter()
        .flat_map(Face::absolute_boundaries)
        .flatten()
        .map(|edge| edge.absolute_front().point());
    let (low, reach) = vertices.fold(start, |(low, reach), p| {
        if reach < 0.0 {
            return (p, 1.0);
        }
        let least = Point3::new(low.x.min(p.x), low.y.min(p.y), low.z.min(p.z));
        (least, f64::max(reach, (p - least).z))
    });
    Point3::new(low.x - reach, low.y - reach, low.z - reach)
}

/// The volume of a plate in closed form, mm³: outline times thickness less every feature.
///
/// The volume of [`Plate::properties`], for a plate that can be made a solid.
///
/// # Errors
///
/// As [`super::from_plate`].
pub fn closed_form_mm3(plate: &Plate) -> Result<f64, SolidError> {
    Ok(plate.net_volume_mm3(&Nesting::new(plate)?.sites))
}

fn face_part(face: &Face<Point3, Curve, Surface>, origin: Point3) -> [f64; 3] {
    let outwards = if face.orientation() { 1.0 } else { -1.0 };
    let bounds = face.absolute_boundaries();
    let reach = |z: f64| z - origin.z;
    match face.surface() {
        Surface::Plane(seat) if seat.axis.z != 0.0 => {
            // The normal, not the sense of the boundary, gives the sign: both are told apart.
            let area = bounds.iter().map(plan_area).sum::<f64>().abs();
            [
                0.0,
                0.0,
                outwards * seat.axis.z * reach(seat.origin.z) * area,
            ]
        }
        Surface::Plane(seat) => {
            let Some((height, from, to)) = bounds.first().and_then(wall_extent) else {
                return [0.0; 3];
            };
            let area = height * (to.x - from.x).hypot(to.y - from.y) * outwards;
            [
                (0.5 * (from.x + to.x) - origin.x) * seat.axis.x * area,
                (0.5 * (from.y + to.y) - origin.y) * seat.axis.y * area,
                0.0,
            ]
        }
        Surface::Cylinder { seat, radius } => {
            let Some((height, sweep)) = arc_extent(bounds) else {
                return [0.0; 3];
            };
            // ∫ (c + r·cos θ)·cos θ · r·h dθ, and the same with sin θ.
            let start = seat.x.y.atan2(seat.x.x);
            let end = start + sweep;
            let ((s0, c0), (s1, c1)) = (start.sin_cos(), end.sin_cos());
            let twice = 0.5 * (s1 * c1 - s0 * c0);
            let (cx, cy) = (seat.origin.x - origin.x, seat.origin.y - origin.y);
            let scale = radius * height * outwards;
            let (lever_x, lever_y) = if bounds.len() > 1 {
                (0.0, 0.0)
            } else {
                (cx * (s1 - s0), cy * (c0 - c1))
            };
            [
                scale * (lever_x + radius * (0.5 * sweep + twice)),
                scale * (lever_y + radius * (0.5 * sweep - twice)),
                0.0,
            ]
        }
        Surface::Cone {
            seat,
            radius,
            half_angle_rad,
        } => cone_part(bounds, outwards, &seat, radius, half_angle_rad, origin),
    }
}

fn cone_part(
    bounds: &[Wire<Point3, Curve>],
    outwards: f64,
    seat: &Seat,
    radius: f64,
    half_angle: f64,
    origin: Point3,
) -> [f64; 3] {
    // Height runs as z = seat + k·(ρ − radius).
    let k = seat.axis.z / half_angle.tan();
    let at_axis = seat.origin.z - origin.z - k * radius;
    let rings = bounds
        .iter()
        .flatten()
        .filter_map(|edge| match edge.curve() {
            Curve::Circle { radius, .. } => Some(radius),
            Curve::Line { .. } => None,
        });
    let (wide, narrow) = rings.fold((0.0_f64, None), |(wide, narrow), r| {
        (wide.max(r), Some(narrow.map_or(r, |n: f64| n.min(r))))
    });
    // One ring alone closes in the apex.
    let narrow = if bounds.len() > 1 {
        narrow.unwrap_or(0.0)
    } else {
        0.0
    };
    // π∫ρ² dz from the apex to a ring is the volume of that cone.
    let volume = |r: f64| PI / 3.0 * r * r * r * k.abs();
    // ∫ z·2πρ dρ from the axis out to a ring.
    let lever = |r: f64| PI * r * r * (at_axis + 2.0 / 3.0 * k * r);
    let between = outwards * (volume(wide) - volume(narrow));
    let level = -outwards * seat.axis.z * (lever(wide) - lever(narrow));
    [between, between, level]
}

/// Area of a boundary's projection on the (x, y) plane, mm²: positive counter-clockwise seen from +z.
fn plan_area(wire: &Wire<Point3, Curve>) -> f64 {
    let Some(origin) = wire.front_vertex().map(truck_topology::Vertex::point) else {
        return 0.0;
    };
    wire.iter()
        .map(|edge| {
            let (a, b) = (edge.front().point() - origin, edge.back().point() - origin);
            let chord = 0.5 * (a.x * b.y - a.y * b.x);
            chord + bulge_area(edge)
        })
        .sum()
}

/// Area between an edge and its chord, mm²; positive where it lies right of the direction of travel.
fn bulge_area(edge: &Edge<Point3, Curve>) -> f64 {
    let curve = edge.curve();
    let Curve::Circle { radius, .. } = curve else {
        return 0.0;
    };
    let sweep = sweep_of(edge);
    let area = 0.5 * radius * radius * (sweep - sweep.sin());
    if edge.orientation() { area } else { -area }
}

/// The angle that an edge sweeps, rad; 0 for a line.
pub(super) fn sweep_of(edge: &Edge<Point3, Curve>) -> f64 {
    edge.curve()
        .sweep(edge.absolute_front().point(), edge.absolute_back().point())
}

/// Height of a flat wall and the two ends of its foot.
fn wall_extent(wire: &Wire<Point3, Curve>) -> Option<(f64, Point3, Point3)> {
    let level = |e: &&Edge<Point3, Curve>| matches!(e.curve(), Curve::Line { direction, .. } if direction.z == 0.0);
    let foot = wire.iter().find(level)?;
    Some((
        height_of(std::slice::from_ref(wire))?,
        foot.front().point(),
        foot.back().point(),
    ))
}

/// Height of a cylindrical wall and the angle it sweeps.
fn arc_extent(bounds: &[Wire<Point3, Curve>]) -> Option<(f64, f64)> {
    let arc = bounds
        .iter()
        .flatten()
        .find(|e| matches!(e.curve(), Curve::Circle { .. }))?;
    Some((height_of(bounds)?, sweep_of(arc)))
}

fn height_of(bounds: &[Wire<Point3, Curve>]) -> Option<f64> {
    let heights = || {
        bounds
            .iter()
            .flatten()
            .map(|e| e.absolute_front().point().z)
    };
    let low = heights().min_by(f64::total_cmp)?;
    Some(heights().max_by(f64::total_cmp)? - low)
}
