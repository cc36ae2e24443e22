//! Meshes of what stands on the assembly picture: bolts, nuts, pulleys, the belt, plates.

use crate::bolting::Bolted;
use crate::geom::{Frame, Path, Point, Point3, Vector, Vector3};
use crate::plate::Plate;
use crate::solid::mesh::{self, TriMesh};
use crate::solid::{self, Body, SolidError};
use crate::tables::HeadStyle;
use crate::tol;

use super::PackageError;

/// Chord of round parts, as a share of the radius: twelve degrees a piece at most.
const CHORD_SHARE: f64 = 0.0055;

/// Chord of large round parts, mm: a hundredth of a mm on paper.
const CHORD_MM: f64 = 0.05;

/// Turn a piece of the belt makes at most, deg.
const BELT_STEP_DEG: f64 = 3.0;

/// What a pulley's running face is drawn smaller than the belt's, mm: solids that touch would share lines.
pub(super) const UNDER_BELT_MM: f64 = 0.2;

/// Chord of plates, mm.
const PLATE_CHORD_MM: f64 = 0.03;

/// Height of a flange at its thickest, as a share of the head's height (EN 1665 and ISO 4162, from their figures).
const FLANGE_SHARE: f64 = 0.3;

/// A rim that stands out by less is not drawn, mm of diameter.
const LEAST_RIM_MM: f64 = 2.0;

/// A pulley about its rib plane: the face under the belt, and rims beside it where it has them.
pub(super) fn pulley(face: f64, rim: f64, width: f64, belt: f64) -> Result<TriMesh, PackageError> {
    let half = 0.5 * width;
    let beside = 0.5 * belt + UNDER_BELT_MM;
    if rim < face + LEAST_RIM_MM || half < beside + tol::SNAP_MM {
        return round(face, -half, half);
    }
    let mut all = round(face, -beside, beside)?;
    join(&mut all, round(rim, -half, -beside)?);
    join(&mut all, round(rim, beside, half)?);
    Ok(all)
}

/// How far chords may stand off a circle, mm.
pub(super) fn chord(diameter_mm: f64) -> f64 {
    (CHORD_SHARE * 0.5 * diameter_mm).min(CHORD_MM)
}

fn round(diameter: f64, low: f64, high: f64) -> Result<TriMesh, PackageError> {
    made(
        "cylinder",
        solid::cylinder("cylinder", diameter, low, high),
        chord(diameter),
    )
}

pub(super) fn made(
    part: &str,
    body: Result<Body, SolidError>,
    chord_mm: f64,
) -> Result<TriMesh, PackageError> {
    let fault = |why: String| PackageError::Solid {
        part: part.to_owned(),
        why,
    };
    let body = body.map_err(|e| fault(e.to_string()))?;
    mesh::of_body(&body, chord_mm).map_err(|e| fault(e.to_string()))
}

pub(super) fn plate_mesh(plate: &Plate) -> Result<TriMesh, PackageError> {
    let mesh = made(&plate.id, solid::from_plate(plate), PLATE_CHORD_MM)?;
    Ok(placed(mesh, &plate.frame))
}

/// A bolt, its head's seat at height 0 and its shank below.
pub(super) fn bolt_mesh(bolted: &Bolted) -> Result<TriMesh, PackageError> {
    let screw = &bolted.fastening.stack.screw;
    let (head, d) = (&screw.head, screw.thread.d_mm);
    let length = bolted.report.stack.length_mm;
    let mut all = round(d, -length, 0.0)?;
    let top = head.head_height_mm;
    match head.style {
        HeadStyle::SocketCap | HeadStyle::Countersunk => {
            join(&mut all, round(head.head_dia_mm, 0.0, top)?);
        }
        HeadStyle::Hex => join(&mut all, hexagon(head.drive_mm, 0.0, top)?),
        HeadStyle::HexFlange => {
            let flange = FLANGE_SHARE * top;
            join(&mut all, round(head.head_dia_mm, 0.0, flange)?);
            join(&mut all, hexagon(head.drive_mm, flange, top)?);
        }
    }
    Ok(all)
}

fn hexagon_path(across_flats_mm: f64) -> Path {
    let r = across_flats_mm / 3.0_f64.sqrt();
    let corners: Vec<Point> = (0..6)
        .map(|k| Point::ORIGIN + Vector::unit_at(f64::from(k).to_radians() * 60.0) * r)
        .collect();
    Path::polygon(&corners)
}

fn hexagon(across_flats_mm: f64, low: f64, high: f64) -> Result<TriMesh, PackageError> {
    made(
        "hexagon",
        solid::prism("hexagon", &hexagon_path(across_flats_mm), low, high),
        1.0,
    )
}

/// A nut: a hexagon with a hole, from height 0 up.
pub(super) fn drilled_hexagon(
    across_flats_mm: f64,
    d_mm: f64,
    high_mm: f64,
) -> Result<TriMesh, PackageError> {
    use crate::feature::{Depth, Feature, Hole, Purpose, Shape};
    let plate = Plate {
        id: "nut".to_owned(),
        title: String::new(),
        frame: Frame::FRONT,
        thickness_mm: high_mm,
        material: String::new(),
        density_kg_m3: 0.0,
        outline: hexagon_path(across_flats_mm),
        features: vec![Feature {
            id: "bore".to_owned(),
            variants: std::sync::Arc::default(),
            shape: Shape::Hole(Hole {
                centre: Point::ORIGIN,
                diameter_mm: d_mm,
                depth: Depth::Through,
                mouth: None,
                purpose: Purpose::Plain,
            }),
        }],
    };
    made("nut", solid::from_plate(&plate), chord(d_mm))
}

fn join(into: &mut TriMesh, other: TriMesh) {
    let base = into.positions.len() as u32;
    into.positions.extend(other.positions);
    into.triangles
        .extend(other.triangles.into_iter().map(|t| t.map(|i| i + base)));
}

pub(super) fn moved(mut mesh: TriMesh, by: Vector3) -> TriMesh {
    for p in &mut mesh.positions {
        *p = *p + by;
    }
    mesh
}

/// A mesh in its own frame put where the frame is.
pub(super) fn placed(mut mesh: TriMesh, frame: &Frame) -> TriMesh {
    for p in &mut mesh.positions {
        *p = frame.to_engine(Point::new(p.x, p.y), p.z);
    }
    mesh
}

/// A band between two loops of as many pieces, and two heights.
pub(super) fn band(outer: &Path, inner: &Path, z: (f64, f64)) -> TriMesh {
    let mut rings: [Vec<Point>; 2] = [Vec::new(), Vec::new()];
    for (a, b) in outer.segments.iter().zip(&inner.segments) {
        let count = (a.sweep().abs().to_degrees() / BELT_STEP_DEG)
            .ceil()
            .max(1.0) as usize;
        for k in 0..count {
            let t = k as f64 / count as f64;
            rings[0].push(a.at(t));
            rings[1].push(b.at(t));
        }
    }
    let turns_left = outer.area() > 0.0;
    let n = rings[0].len() as u32;
    let mut mesh = TriMesh::default();
    for (ring, height) in [(0, z.0), (0, z.1), (1, z.1), (1, z.0)] {
        mesh.positions
            .extend(rings[ring].iter().map(|p| Point3::new(p.x, p.y, height)));
    }
    // Four walls round: outside, front, inside, rear; each from one ring of points to the next.
    for wall in 0..4 {
        let (low, high) = (wall * n, (wall + 1) % 4 * n);
        for k in 0..n {
            let l = (k + 1) % n;
            let (a, b, c, d) = (low + k, low + l, high + l, high + k);
            let two = if turns_left {
                [[a, b, c], [a, c, d]]
            } else {
                [[a, c, b], [a, d, c]]
            };
            mesh.triangles.extend(two);
        }
    }
    mesh
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_band_is_closed_and_holds_what_lies_between_its_loops() {
        let at = Point::new;
        let (outer, inner) = (
            Path::slot(at(0.0, 0.0), at(100.0, 0.0), 30.0),
            Path::slot(at(0.0, 0.0), at(100.0, 0.0), 25.0),
        );
        let mesh = band(&outer, &inner, (5.0, 25.0));
        assert!(mesh.is_watertight());
        let exact = 20.0 * (outer.area() - inner.area());
        assert!(
            (mesh.volume_mm3() / exact - 1.0).abs() < 2e-3,
            "{}",
            mesh.volume_mm3()
        );
    }
}
