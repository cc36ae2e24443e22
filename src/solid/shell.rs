//! Faces put together edge by edge: walls, turned faces and flats over shared loops.

use truck_topology::{Edge, Face, Shell, Vertex, Wire};

use crate::geom::{Path, Point, Point3, Segment, Vector3};

use super::curve::{Curve, Seat};
use super::surface::Surface;

type SolidWire = Wire<Point3, Curve>;

/// A loop at one height: its edges in the direction of the path, and their first vertices.
#[derive(Debug)]
pub(super) struct Level {
    edges: Vec<Edge<Point3, Curve>>,
    corners: Vec<Vertex<Point3>>,
}

impl Level {
    /// The loop as a boundary, in the direction of its path or against it.
    pub(super) fn wire(&self, forward: bool) -> SolidWire {
        if forward {
            self.edges.iter().cloned().collect()
        } else {
            self.edges.iter().rev().map(Edge::inverse).collect()
        }
    }
}

/// On which side of a counter-clockwise loop the metal is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Metal {
    /// Within the loop: an outer wall.
    Inside,
    /// Around the loop: the wall of an opening.
    Outside,
}

/// A shell in the making. Heights run along +z; every axis is upright.
#[derive(Debug, Default)]
pub(super) struct ShellBuilder {
    faces: Vec<Face<Point3, Curve, Surface>>,
}

const fn lift(p: Point, height: f64) -> Point3 {
    Point3::new(p.x, p.y, height)
}

fn flat_unit(from: Point, to: Point) -> Vector3 {
    let u = (to - from).unit().unwrap_or_default();
    Vector3::new(u.x, u.y, 0.0)
}

const fn upright(origin: Point3, x: Vector3) -> Seat {
    Seat {
        origin,
        axis: Vector3::Z,
        x,
    }
}

impl ShellBuilder {
    /// The shell of all faces so far.
    pub(super) fn finish(self) -> Shell<Point3, Curve, Surface> {
        Shell::from(self.faces)
    }

    /// A loop of edges along `path` at one height.
    pub(super) fn level(path: &Path, height: f64) -> Level {
        let pieces = &path.segments;
        let corners: Vec<_> = pieces
            .iter()
            .map(|s| Vertex::new(lift(s.from(), height)))
            .collect();
        let edges = pieces
            .iter()
            .zip(corners.iter().zip(corners.iter().cycle().skip(1)))
            .map(|(s, (a, b))| match *s {
                Segment::Line { from, to } => Edge::new_unchecked(
                    a,
                    b,
                    Curve::Line {
                        from: lift(from, height),
                        direction: flat_unit(from, to),
                    },
                ),
                Segment::Arc {
                    from,
                    to,
                    centre,
                    radius,
                    ccw,
                } => {
                    // Circles run counter-clockwise; a clockwise piece uses its edge backwards.
                    let (first, last, start) = if ccw { (a, b, from) } else { (b, a, to) };
                    let seat = upright(lift(centre, height), flat_unit(centre, start));
                    let mut edge = Edge::new_unchecked(first, last, Curve::Circle { seat, radius });
                    if !ccw {
                        edge.invert();
                    }
                    edge
                }
            })
            .collect();
        Level { edges, corners }
    }

    /// A circle at one height, starting at its +x point.
    pub(super) fn ring(centre: Point, radius: f64, height: f64) -> Level {
        let corner = Vertex::new(Point3::new(centre.x + radius, centre.y, height));
        let seat = Seat::upright(lift(centre, height));
        let edge = Edge::new_unchecked(&corner, &corner, Curve::Circle { seat, radius });
        Level {
            edges: vec![edge],
            corners: vec![corner],
        }
    }

    /// The walls on `path`, one face a piece, between its loops at two heights.
    pub(super) fn walls(&mut self, path: &Path, low: &Level, high: &Level, metal: Metal) {
        let pieces = &path.segments;
        if let [piece @ Segment::Arc { ccw, .. }] = pieces.as_slice() {
            // A full circle: no upright edge, two boundaries.
            let inside = metal == Metal::Inside;
            let bounds = vec![low.wire(inside), high.wire(!inside)];
            self.push(bounds, wall_surface(piece, low, 0, metal), *ccw == inside);
            return;
        }
        let uprights: Vec<_> = low
            .corners
            .iter()
            .zip(&high.corners)
            .map(|(a, b)| {
                let curve = Curve::Line {
                    from: a.point(),
                    direction: Vector3::Z,
                };
                Edge::new_unchecked(a, b, curve)
            })
            .collect();
        let uprights = uprights.iter().zip(uprights.iter().cycle().skip(1));
        let rims = low.edges.iter().zip(&high.edges);
        for (i, (piece, ((first, next), (under, over)))) in
            pieces.iter().zip(uprights.zip(rims)).enumerate()
        {
            let bound: SolidWire = match metal {
                Metal::Inside => [under.clone(), next.clone(), over.inverse(), first.inverse()],
                Metal::Outside => [over.clone(), next.inverse(), under.inverse(), first.clone()],
            }
            .into_iter()
            .collect();
            let along_normal = match *piece {
                Segment::Line { .. } => true,
                Segment::Arc { ccw, .. } => ccw == (metal == Metal::Inside),
            };
            self.push(
                vec![bound],
                wall_surface(piece, low, i, metal),
                along_normal,
            );
        }
    }

    /// A full cylinder or cone between two rings.
    pub(super) fn turned(&mut self, low: &Level, high: &Level, surface: Surface, metal: Metal) {
        let inside = metal == Metal::Inside;
        self.push(vec![low.wire(inside), high.wire(!inside)], surface, inside);
    }

    /// The cone that closes a drilled hole beyond `ring`; `above` tells whether the ring is the upper end.
    pub(super) fn drill_point(&mut self, ring: &Level, surface: Surface, above: bool) {
        self.push(vec![ring.wire(above)], surface, false);
    }

    /// A flat face at one height; boundaries run counter-clockwise about its normal.
    pub(super) fn flat(&mut self, height: f64, up: bool, bounds: Vec<SolidWire>) {
        let seat = Seat {
            origin: Point3::new(0.0, 0.0, height),
            axis: if up { Vector3::Z } else { -Vector3::Z },
            x: Vector3::X,
        };
        self.push(bounds, Surface::Plane(seat), true);
    }

    /// Adds a face with `bounds` counter-clockwise about the normal that points out of the metal.
    fn push(&mut self, mut bounds: Vec<SolidWire>, surface: Surface, along_normal: bool) {
        // The topology keeps boundaries about the surface's own normal.
        if !along_normal {
            for wire in &mut bounds {
                wire.invert();
            }
        }
        let mut face = Face::new_unchecked(bounds, surface);
        if !along_normal {
            face.invert();
        }
        self.faces.push(face);
    }
}

/// The surface under piece `i` of a path whose lower loop is `low`.
fn wall_surface(piece: &Segment, low: &Level, i: usize, metal: Metal) -> Surface {
    let base = low.corners.get(i).map_or(0.0, |v| v.point().z);
    match *piece {
        Segment::Line { from, to } => {
            let x = flat_unit(from, to);
            // Right of the direction of travel lies outside a counter-clockwise loop.
            let right = Vector3::new(x.y, -x.x, 0.0);
            let axis = match metal {
                Metal::Inside => right,
                Metal::Outside => -right,
            };
            let origin = lift(from, base);
            Surface::Plane(Seat { origin, axis, x })
        }
        Segment::Arc {
            from,
            to,
            centre,
            radius,
            ccw,
        } => {
            let start = if ccw { from } else { to };
            let seat = upright(lift(centre, base), flat_unit(centre, start));
            Surface::Cylinder { seat, radius }
        }
    }
}
