//! A watertight preview mesh: flats triangulated in the plane, walls as strips between their rims.
//!
//! Every edge is divided once, so the faces on both sides of it share its
//! points and the mesh closes. It is for looking at and for coarse contact:
//! volumes and masses come from [`super::volumes_mm3`] and
//! [`Plate::properties`].

use std::f64::consts::{FRAC_PI_4, TAU};

use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};
use truck_topology::compress::{CompressedEdgeIndex, CompressedFace, CompressedShell};

use crate::geom::{Point3, Vector3};
use crate::plate::Plate;

use super::curve::Curve;
use super::error::SolidError;
use super::surface::Surface;
use super::{Body, from_plate};

/// Times that the chord is halved where coarse chords of neighbouring loops would cross.
///
/// Loops are at least [`SNAP_MM`](crate::tol::SNAP_MM) apart, which chords of
/// 0.1 mm reach after 17 halvings.
const HALVINGS: usize = 18;

/// The most pieces that a full circle is divided into.
const MOST_PIECES: f64 = 8192.0;

/// Share of a flat's area that its triangles may differ from its boundary's area by.
///
/// Both are sums over the same points in double precision; a triangle too
/// many or too few is far more.
const AREA_SHARE: f64 = 1e-9;

/// Triangles over shared points, counter-clockwise seen from outside.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct TriMesh {
    /// Points, mm.
    pub positions: Vec<Point3>,
    /// Three indices of `positions` a triangle.
    pub triangles: Vec<[u32; 3]>,
}

/// Why no mesh could be made.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MeshError {
    /// The plate is no solid.
    #[error(transparent)]
    Solid(#[from] SolidError),
    /// A chord that is no length above zero.
    #[error("the chord tolerance is {0} mm, which is not a length above zero")]
    Chord(f64),
    /// A face that could not be divided.
    #[error("face {face} cannot be divided into triangles")]
    Face {
        /// Which face of the body, counted from 0.
        face: usize,
    },
}

/// The mesh of a plate in its own frame; chords stay within `chord_mm` of their arcs.
///
/// # Errors
///
/// As [`from_plate`], and where `chord_mm` is not above zero.
pub fn preview(plate: &Plate, chord_mm: f64) -> Result<TriMesh, MeshError> {
    of_body(&from_plate(plate)?, chord_mm)
}

/// The mesh of any body in its own frame; chords stay within `chord_mm` of their arcs.
///
/// # Errors
///
/// Where `chord_mm` is not above zero.
pub fn of_body(body: &Body, chord_mm: f64) -> Result<TriMesh, MeshError> {
    if !(chord_mm.is_finite() && chord_mm > 0.0) {
        return Err(MeshError::Chord(chord_mm));
    }
    let compressed = body.solid().compress();
    let mut mesh = TriMesh::default();
    for shell in &compressed.boundaries {
        let mut chord = chord_mm;
        let mut part = divide(shell, chord);
        // Chords of two close loops can cross where the arcs do not.
        for _ in 0..HALVINGS {
            if part.is_ok() {
                break;
            }
            chord *= 0.5;
            part = divide(shell, chord);
        }
        mesh.append(part?);
    }
    Ok(mesh)
}

impl TriMesh {
    fn append(&mut self, other: Self) {
        let base = self.positions.len() as u32;
        self.positions.extend(other.positions);
        let moved = other.triangles.into_iter().map(|t| t.map(|i| i + base));
        self.triangles.extend(moved);
    }

    /// The corners of a triangle, mm; `None` where it does not exist.
    #[must_use]
    pub fn corners(&self, triangle: usize) -> Option<[Point3; 3]> {
        let [a, b, c] = *self.triangles.get(triangle)?;
        let at = |i: u32| self.positions.get(i as usize).copied();
        Some([at(a)?, at(b)?, at(c)?])
    }

    /// Unit normal of a triangle, out of the metal; `None` where it has no area.
    #[must_use]
    pub fn normal(&self, triangle: usize) -> Option<Vector3> {
        let [a, b, c] = self.corners(triangle)?;
        (b - a).cross(c - a).unit()
    }

    /// Volume that the triangles enclose, mm³.
    #[must_use]
    pub fn volume_mm3(&self) -> f64 {
        let origin = self.positions.first().copied().unwrap_or_default();
        (0..self.triangles.len())
            .filter_map(|i| self.corners(i))
            .map(|[a, b, c]| (a - origin).dot((b - origin).cross(c - origin)) / 6.0)
            .sum()
    }

    /// Whether every side of a triangle is the reverse of exactly one other side.
    #[must_use]
    pub fn is_watertight(&self) -> bool {
        let mut sides: Vec<(u32, u32)> = self
            .triangles
            .iter()
            .flat_map(|&[a, b, c]| [(a, b), (b, c), (c, a)])
            .collect();
        sides.sort_unstable();
        let once = sides.windows(2).all(|w| w[0] != w[1]);
        once && sides
            .iter()
            .all(|&(a, b)| a != b && sides.binary_search(&(b, a)).is_ok())
    }
}

/// Divides every face of a shell, or says which one it could not.
fn divide(
    shell: &CompressedShell<Point3, Curve, Surface>,
    chord: f64,
) -> Result<TriMesh, MeshError> {
    let mut divider = Divider::new(shell, chord);
    for (index, face) in shell.faces.iter().enumerate() {
        divider.face(face).ok_or(MeshError::Face { face: index })?;
    }
    Ok(divider.mesh)
}

struct Divider {
    mesh: TriMesh,
    /// Point indices along each edge, both ends included.
    edges: Vec<Vec<u32>>,
    upright: Vec<bool>,
}

impl Divider {
    fn new(shell: &CompressedShell<Point3, Curve, Surface>, chord: f64) -> Self {
        let mut positions = shell.vertices.clone();
        let mut edges = Vec::with_capacity(shell.edges.len());
        let mut upright = Vec::with_capacity(shell.edges.len());
        for edge in &shell.edges {
            let (first, last) = edge.vertices;
            let mut points = vec![first as u32];
            if let Curve::Circle { seat, radius } = edge.curve {
                let sweep = edge
                    .curve
                    .sweep(shell.vertices[first], shell.vertices[last]);
                let count = pieces(radius, sweep, chord);
                for k in 1..count {
                    let (sin, cos) = (sweep * f64::from(k) / f64::from(count)).sin_cos();
                    points.push(positions.len() as u32);
                    positions.push(seat.origin + (seat.x * cos + seat.y() * sin) * radius);
                }
            }
            points.push(last as u32);
            edges.push(points);
            upright.push(
                matches!(edge.curve, Curve::Line { direction, .. } if direction.z.abs() > 0.5),
            );
        }
        Self {
            mesh: TriMesh {
                positions,
                triangles: Vec::new(),
            },
            edges,
            upright,
        }
    }

    fn face(&mut self, face: &CompressedFace<Surface>) -> Option<()> {
        if let Surface::Plane(seat) = face.surface
            && seat.axis.z.abs() > 0.5
        {
            return self.flat(face, (seat.axis.z > 0.0) == face.orientation);
        }
        match face.boundaries.as_slice() {
            [one, other] => {
                let (near, mut far) = (
                    self.points(one, face.orientation),
                    self.points(other, face.orientation),
                );
                far.reverse();
                self.strip(&near, &far);
            }
            [one] if matches!(face.surface, Surface::Cone { .. }) => {
                let rim = self.points(one, face.orientation);
                let apex = self.mesh.positions.len() as u32;
                self.mesh.positions.push(face.surface.apex()?);
                for side in rim.windows(2) {
                    self.mesh.triangles.push([side[0], side[1], apex]);
                }
            }
            [one] => {
                // Rim, upright, rim, upright, in the sense of the loop.
                let mut rims = one.iter().filter(|e| !self.upright[e.index]);
                let (near, far) = (rims.next()?, rims.next()?);
                let ends = |e: &CompressedEdgeIndex| {
                    self.points(std::slice::from_ref(e), face.orientation)
                };
                let (near, mut far) = (ends(near), ends(far));
                far.reverse();
                self.strip(&near, &far);
            }
            _ => return None,
        }
        Some(())
    }

    /// Points along a loop in the sense of the face's outward normal, the first repeated at the end.
    fn points(&self, edges: &[CompressedEdgeIndex], along: bool) -> Vec<u32> {
        let mut points: Vec<u32> = Vec::new();
        let mut push = |e: &CompressedEdgeIndex| {
            let edge = &self.edges[e.index];
            points.pop();
            if e.orientation == along {
                points.extend(edge);
            } else {
                points.extend(edge.iter().rev());
            }
        };
        if along {
            edges.iter().for_each(&mut push);
        } else {
            edges.iter().rev().for_each(&mut push);
        }
        points
    }

    /// Triangles between two rims that run side by side, the face on the left of `near`.
    fn strip(&mut self, near: &[u32], far: &[u32]) {
        let (n, m) = (near.len() - 1, far.len() - 1);
        let (mut i, mut j) = (0, 0);
        while i < n || j < m {
            // The rim whose next point comes first along the way goes on.
            if j == m || (i < n && (i + 1) * m <= (j + 1) * n) {
                self.mesh.triangles.push([near[i], near[i + 1], far[j]]);
                i += 1;
            } else {
                self.mesh.triangles.push([near[i], far[j + 1], far[j]]);
                j += 1;
            }
        }
    }

    /// A level face, looking up or down.
    fn flat(&mut self, face: &CompressedFace<Surface>, up: bool) -> Option<()> {
        // Points of the plane in the order of the loops, and the sides between them.
        let mut indices: Vec<u32> = Vec::new();
        let mut sides = Vec::new();
        let mut area = 0.0;
        for edges in &face.boundaries {
            let mut ring = self.points(edges, face.orientation);
            ring.pop();
            let (base, n) = (indices.len(), ring.len());
            sides.extend((0..n).map(|k| [base + k, base + (k + 1) % n]));
            area += self.polygon_area(&ring);
            indices.extend(ring);
        }
        let plane: Vec<Point2<f64>> = indices
            .iter()
            .map(|&i| {
                let p = self.mesh.positions[i as usize];
                Point2::new(p.x, p.y)
            })
            .collect();
        let triangles = triangulate(plane, sides)?;
        let mut covered = 0.0;
        let start = self.mesh.triangles.len();
        for t in triangles {
            let [a, b, c] = t.map(|k| indices[k]);
            covered += self.polygon_area(&[a, b, c]);
            self.mesh
                .triangles
                .push(if up { [a, b, c] } else { [a, c, b] });
        }
        // A loop whose chords left its neighbour's shows as area too much.
        if (covered - area.abs()).abs() > AREA_SHARE * covered {
            self.mesh.triangles.truncate(start);
            return None;
        }
        Some(())
    }

    fn polygon_area(&self, ring: &[u32]) -> f64 {
        let at = |i: u32| self.mesh.positions[i as usize];
        let Some(&first) = ring.first() else {
            return 0.0;
        };
        let origin = at(first);
        ring.windows(2)
            .map(|w| {
                let (a, b) = (at(w[0]) - origin, at(w[1]) - origin);
                0.5 * (a.x * b.y - a.y * b.x)
            })
            .sum()
    }
}

/// Pieces that an arc is divided into so that chords stay within `chord` of it; at most 45° each.
fn pieces(radius: f64, sweep: f64, chord: f64) -> u32 {
    let by_chord = 2.0 * (1.0 - (chord / radius).min(1.0)).acos();
    let most = MOST_PIECES * sweep / TAU;
    let count = (sweep / by_chord.min(FRAC_PI_4)).min(most).ceil();
    (count as u32).max(1)
}

/// Triangles within loops of the plane, as counter-clockwise indices of `points`.
///
/// `None` where sides cross or points coincide.
fn triangulate(points: Vec<Point2<f64>>, sides: Vec<[usize; 2]>) -> Option<Vec<[usize; 3]>> {
    let (vertices, constraints) = (points.len(), sides.len());
    let mut crossed = false;
    let cdt =
        ConstrainedDelaunayTriangulation::<Point2<f64>>::try_bulk_load_cdt(points, sides, |_| {
            crossed = true;
        })
        .ok()?;
    if crossed || cdt.num_vertices() != vertices || cdt.num_constraints() != constraints {
        return None;
    }
    // From outside in: each side of a loop that is crossed changes metal for air.
    let mut metal: Vec<Option<bool>> = vec![None; cdt.num_all_faces()];
    let mut open = vec![(cdt.outer_face().fix(), false)];
    let mut inside = Vec::new();
    for hull in cdt.convex_hull() {
        for side in [hull, hull.rev()] {
            if !side.face().is_outer() {
                open.push((side.face().fix(), side.is_constraint_edge()));
            }
        }
    }
    while let Some((handle, is_metal)) = open.pop() {
        let seen = metal.get_mut(handle.index())?;
        if seen.is_some() {
            continue;
        }
        *seen = Some(is_metal);
        let Some(face) = cdt.face(handle).as_inner() else {
            continue;
        };
        if is_metal {
            inside.push(face.vertices().map(|v| v.fix().index()));
        }
        for edge in face.adjacent_edges() {
            open.push((
                edge.rev().face().fix(),
                is_metal != edge.is_constraint_edge(),
            ));
        }
    }
    Some(inside)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::feature::{Depth, Face, Feature, Floor, Hole, Mouth, Purpose, Shape};
    use crate::geom::{Frame, Path, Point};
    use crate::solid::{cylinder, tube};

    fn plate(shapes: Vec<Shape>) -> Plate {
        let features = shapes.into_iter().enumerate().map(|(i, shape)| Feature {
            id: i.to_string(),
            variants: std::sync::Arc::default(),
            shape,
        });
        Plate {
            id: "P".into(),
            title: "P".into(),
            frame: Frame::FRONT,
            thickness_mm: 12.0,
            material: String::new(),
            density_kg_m3: 2700.0,
            outline: Path::slot(Point::new(0.0, 0.0), Point::new(120.0, 0.0), 40.0),
            features: features.collect(),
        }
    }

    fn hole(x: f64, y: f64, d: f64, depth: Depth, mouth: Option<Mouth>) -> Shape {
        Shape::Hole(Hole {
            centre: Point::new(x, y),
            diameter_mm: d,
            depth,
            mouth,
            purpose: Purpose::Plain,
        })
    }

    fn mixed() -> Plate {
        let blind = Depth::Blind {
            depth_mm: 6.0,
            from: Face::Back,
            floor: Floor::DrillPoint,
        };
        let sink = Mouth::Countersink {
            diameter_mm: 16.0,
            angle_deg: 90.0,
            face: Face::Back,
        };
        let bore = Mouth::Counterbore {
            diameter_mm: 18.0,
            depth_mm: 5.0,
            face: Face::Front,
        };
        plate(vec![
            hole(0.0, 20.0, 8.0, Depth::Through, Some(sink)),
            hole(0.0, -20.0, 10.0, Depth::Through, Some(bore)),
            hole(-25.0, 0.0, 6.0, blind, None),
            Shape::Groove {
                centre: Point::new(60.0, 0.0),
                inner_mm: 30.0,
                outer_mm: 36.0,
                depth_mm: 2.0,
                face: Face::Front,
            },
            hole(60.0, 0.0, 20.0, Depth::Through, None),
            Shape::Pocket {
                path: Path::slot(Point::new(110.0, -10.0), Point::new(130.0, 10.0), 12.0),
                depth_mm: 4.0,
                face: Face::Back,
            },
            hole(120.0, 0.0, 9.0, Depth::Through, None),
        ])
    }

    #[test]
    fn a_plate_of_many_features_is_watertight_and_near_its_volume() {
        let exact = from_plate(&mixed()).expect("a solid").volume_mm3();
        let mut before = f64::INFINITY;
        for chord in [1.0, 0.1, 0.01] {
            let mesh = preview(&mixed(), chord).expect("a mesh");
            assert!(mesh.is_watertight());
            let off = (mesh.volume_mm3() / exact - 1.0).abs();
            assert!(
                off < 0.02 * chord.max(0.05) && off < before,
                "{off} at {chord}"
            );
            before = off;
        }
    }

    #[test]
    fn normals_point_out_of_the_metal() {
        let mesh = of_body(&tube("T", 10.0, 20.0, 30.0).expect("a tube"), 0.05).expect("a mesh");
        assert!(mesh.is_watertight());
        for i in 0..mesh.triangles.len() {
            let n = mesh.normal(i).expect("has area");
            let [a, b, c] = mesh.corners(i).expect("is there");
            let middle = Vector3::new(a.x + b.x + c.x, a.y + b.y + c.y, 0.0) * (1.0 / 3.0);
            if n.z.abs() > 0.5 {
                assert!((n.z > 0.0) == (a.z > 15.0));
            } else {
                assert!((n.dot(middle) > 0.0) == (middle.length() > 7.5));
            }
        }
    }

    #[test]
    fn a_hole_behind_the_chord_of_its_outline_is_divided_finer() {
        // At 20 mm the outline's round ends are polygons of eight pieces a turn.
        let sliver = plate(vec![hole(-37.0, 0.0, 3.0, Depth::Through, None)]);
        for end in 0..8 {
            let angle = f64::from(end) * 0.1;
            let mut sliver = sliver.clone();
            if let Shape::Hole(h) = &mut sliver.features[0].shape {
                h.centre = Point::ORIGIN.polar(38.0, std::f64::consts::PI - angle);
            }
            let mesh = preview(&sliver, 20.0).expect("a mesh");
            assert!(mesh.is_watertight());
            let exact = from_plate(&sliver).expect("a solid").volume_mm3();
            assert!((mesh.volume_mm3() / exact - 1.0).abs() < 0.1);
        }
    }

    #[test]
    fn a_chord_that_is_no_length_is_refused() {
        let rod = cylinder("R", 10.0, 0.0, 5.0).expect("a rod");
        for chord in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(matches!(of_body(&rod, chord), Err(MeshError::Chord(_))));
        }
    }
}
