//! A solid's vertices, edges and faces as entities of ISO 10303-42.

use truck_topology::compress::{CompressedEdgeIndex, CompressedFace, CompressedShell};

use crate::geom::{Point3, Vector3};
use crate::solid::{Body, Curve, Seat, Surface};

use super::part21::{Id, Part21};

/// Entities that every solid of a file shares.
#[derive(Debug)]
pub(super) struct Shared {
    up: Id,
    x: Id,
    /// A unit vector along +z, once something needs it.
    up_vector: Option<Id>,
}

impl Shared {
    /// Writes them.
    pub(super) fn new(w: &mut Part21) -> Self {
        let up = direction(w, Vector3::Z);
        let x = direction(w, Vector3::X);
        Self {
            up,
            x,
            up_vector: None,
        }
    }

    fn up_vector(&mut self, w: &mut Part21) -> Id {
        let up = self.up;
        *self.up_vector.get_or_insert_with(|| vector(w, up))
    }

    /// Writes the placement of a frame that starts at the origin, axes along the file's.
    pub(super) fn home(&self, w: &mut Part21) -> Id {
        let origin = point(w, Point3::ORIGIN);
        placement(w, origin, self.up, self.x)
    }
}

/// Writes a body; answers its `MANIFOLD_SOLID_BREP`.
pub(super) fn solid(w: &mut Part21, shared: &mut Shared, body: &Body) -> Id {
    let compressed = body.solid().compress();
    let mut shells = compressed
        .boundaries
        .iter()
        .map(|shell| ShellWriter::new(w, shared, shell).write())
        .collect::<Vec<_>>()
        .into_iter();
    // A body of this program has one shell, its outer one.
    let outer = shells.next();
    let brep = w.begin("MANIFOLD_SOLID_BREP");
    w.string(body.name());
    w.raw(",");
    if let Some(outer) = outer {
        w.id(outer);
    }
    w.end();
    brep
}

/// Writes the placement of a frame given in full.
pub(super) fn placed(w: &mut Part21, origin: Point3, axis: Vector3, x: Vector3) -> Id {
    let origin = point(w, origin);
    let (axis, x) = (direction(w, axis), direction(w, x));
    placement(w, origin, axis, x)
}

fn point(w: &mut Part21, p: Point3) -> Id {
    let id = w.begin("CARTESIAN_POINT");
    w.raw("'',");
    w.triple([p.x, p.y, p.z]);
    w.end();
    id
}

fn direction(w: &mut Part21, v: Vector3) -> Id {
    let id = w.begin("DIRECTION");
    w.raw("'',");
    w.triple([v.x, v.y, v.z]);
    w.end();
    id
}

fn vector(w: &mut Part21, direction: Id) -> Id {
    let id = w.begin("VECTOR");
    w.raw("'',");
    w.id(direction);
    w.raw(",1.");
    w.end();
    id
}

fn placement(w: &mut Part21, origin: Id, axis: Id, x: Id) -> Id {
    let id = w.begin("AXIS2_PLACEMENT_3D");
    w.raw("'',");
    w.id(origin);
    w.raw(",");
    w.id(axis);
    w.raw(",");
    w.id(x);
    w.end();
    id
}

fn vertex(w: &mut Part21, point: Id) -> Id {
    let id = w.begin("VERTEX_POINT");
    w.raw("'',");
    w.id(point);
    w.end();
    id
}

fn line(w: &mut Part21, from: Id, vector: Id) -> Id {
    let id = w.begin("LINE");
    w.raw("'',");
    w.id(from);
    w.raw(",");
    w.id(vector);
    w.end();
    id
}

fn edge_curve(w: &mut Part21, from: Id, to: Id, curve: Id) -> Id {
    let id = w.begin("EDGE_CURVE");
    w.raw("'',");
    w.id(from);
    w.raw(",");
    w.id(to);
    w.raw(",");
    w.id(curve);
    w.raw(",.T.");
    w.end();
    id
}

/// A vertex as written.
#[derive(Debug, Clone, Copy)]
struct VertexIds {
    point: Id,
    vertex: Id,
}

/// An edge as written.
#[derive(Debug, Clone, Copy)]
struct EdgeIds {
    edge: Id,
    /// The placement of a circle, for the surface about the same axis.
    placement: Option<Id>,
}

/// How many directions are remembered: those of the edges round one wall.
const DIRECTIONS: usize = 4;

struct ShellWriter<'a> {
    w: &'a mut Part21,
    shared: &'a mut Shared,
    shell: &'a CompressedShell<Point3, Curve, Surface>,
    vertices: Vec<VertexIds>,
    edges: Vec<EdgeIds>,
    recent: [(Vector3, Id); DIRECTIONS],
    oldest: usize,
}

impl<'a> ShellWriter<'a> {
    fn new(
        w: &'a mut Part21,
        shared: &'a mut Shared,
        shell: &'a CompressedShell<Point3, Curve, Surface>,
    ) -> Self {
        Self {
            vertices: Vec::with_capacity(shell.vertices.len()),
            edges: Vec::with_capacity(shell.edges.len()),
            recent: [(Vector3::Z, shared.up); DIRECTIONS],
            oldest: 0,
            w,
            shared,
            shell,
        }
    }

    fn write(mut self) -> Id {
        for p in &self.shell.vertices {
            let point = point(self.w, *p);
            let vertex = vertex(self.w, point);
            self.vertices.push(VertexIds { point, vertex });
        }
        for edge in &self.shell.edges {
            let (from, to) = (
                self.vertices[edge.vertices.0],
                self.vertices[edge.vertices.1],
            );
            let (curve, placement) = match edge.curve {
                Curve::Line { direction, .. } => {
                    let vector = self.vector(direction);
                    (line(self.w, from.point, vector), None)
                }
                Curve::Circle { seat, radius } => {
                    let placement = self.seat(&seat);
                    (self.round("CIRCLE", placement, radius), Some(placement))
                }
            };
            let edge = edge_curve(self.w, from.vertex, to.vertex, curve);
            self.edges.push(EdgeIds { edge, placement });
        }
        let shell = self.shell;
        let faces: Vec<Id> = shell.faces.iter().map(|f| self.face(f)).collect();
        let id = self.w.begin("CLOSED_SHELL");
        self.w.raw("'',");
        self.w.ids(faces);
        self.w.end();
        id
    }

    fn face(&mut self, face: &CompressedFace<Surface>) -> Id {
        let surface = self.surface(face);
        let bounds: Vec<Id> = if let Some(cut) = self.cut_open(face) {
            vec![self.bound(0, &cut)]
        } else {
            let loops = face.boundaries.iter().enumerate();
            loops
                .map(|(i, edges)| {
                    let oriented = self.oriented(edges, face.orientation);
                    self.bound(i, &oriented)
                })
                .collect()
        };
        let id = self.w.begin("ADVANCED_FACE");
        self.w.raw("'',");
        self.w.ids(bounds);
        self.w.raw(",");
        self.w.id(surface);
        self.w.raw(if face.orientation { ",.T." } else { ",.F." });
        self.w.end();
        id
    }

    /// The one loop of a full cylinder or cone, cut open along a seam; `None` for other faces.
    ///
    /// Readers want such a face bounded by rim, seam, rim and seam again (rim
    /// and seam to the apex for a whole cone); given two rims alone or two
    /// half circles they add seams of their own at a wider tolerance.
    fn cut_open(&mut self, face: &CompressedFace<Surface>) -> Option<Vec<(Id, bool)>> {
        if matches!(face.surface, Surface::Plane(_)) {
            return None;
        }
        let ring = |edges: &Vec<CompressedEdgeIndex>| match edges.as_slice() {
            [only] => {
                let (from, to) = self.shell.edges[only.index].vertices;
                (from == to).then_some((only.index, only.orientation == face.orientation, from))
            }
            _ => None,
        };
        match face.boundaries.as_slice() {
            [one, other] => {
                let ((e1, forward1, v1), (e2, forward2, v2)) = (ring(one)?, ring(other)?);
                let (from, to) = (self.shell.vertices[v1], self.shell.vertices[v2]);
                let end = self.vertices[v2].vertex;
                let seam = self.seam(v1, to - from, end);
                Some(vec![
                    (self.edges[e1].edge, forward1),
                    (seam, true),
                    (self.edges[e2].edge, forward2),
                    (seam, false),
                ])
            }
            [one] => {
                let (e, forward, v) = ring(one)?;
                let apex = face.surface.apex()?;
                let tip = point(self.w, apex);
                let end = vertex(self.w, tip);
                let seam = self.seam(v, apex - self.shell.vertices[v], end);
                Some(vec![
                    (self.edges[e].edge, forward),
                    (seam, true),
                    (seam, false),
                ])
            }
            _ => None,
        }
    }

    fn seam(&mut self, from: usize, along: Vector3, to: Id) -> Id {
        // Both ends come from one construction with a height between them.
        let vector = self.vector(along.unit().unwrap_or(Vector3::Z));
        let VertexIds { point, vertex } = self.vertices[from];
        let line = line(self.w, point, vector);
        edge_curve(self.w, vertex, to, line)
    }

    fn oriented(&self, edges: &[CompressedEdgeIndex], along: bool) -> Vec<(Id, bool)> {
        let used = |e: &CompressedEdgeIndex| (self.edges[e.index].edge, e.orientation == along);
        if along {
            edges.iter().map(used).collect()
        } else {
            edges.iter().rev().map(used).collect()
        }
    }

    fn bound(&mut self, position: usize, edges: &[(Id, bool)]) -> Id {
        let w = &mut *self.w;
        let mut uses = Vec::with_capacity(edges.len());
        for &(edge, forward) in edges {
            let id = w.begin("ORIENTED_EDGE");
            w.raw("'',*,*,");
            w.id(edge);
            w.raw(if forward { ",.T." } else { ",.F." });
            w.end();
            uses.push(id);
        }
        let edge_loop = w.begin("EDGE_LOOP");
        w.raw("'',");
        w.ids(uses);
        w.end();
        let id = w.begin(if position == 0 {
            "FACE_OUTER_BOUND"
        } else {
            "FACE_BOUND"
        });
        w.raw("'',");
        w.id(edge_loop);
        w.raw(",.T.");
        w.end();
        id
    }

    fn surface(&mut self, face: &CompressedFace<Surface>) -> Id {
        match face.surface {
            Surface::Plane(seat) => {
                let placement = self.seat(&seat);
                let id = self.w.begin("PLANE");
                self.w.raw("'',");
                self.w.id(placement);
                self.w.end();
                id
            }
            Surface::Cylinder { seat, radius } => {
                let placement = self.seat_of(face, &seat);
                self.round("CYLINDRICAL_SURFACE", placement, radius)
            }
            Surface::Cone {
                seat,
                radius,
                half_angle_rad,
            } => {
                let placement = self.seat_of(face, &seat);
                let id = self.w.begin("CONICAL_SURFACE");
                self.w.raw("'',");
                self.w.id(placement);
                self.w.raw(",");
                self.w.real(radius);
                self.w.raw(",");
                self.w.real(half_angle_rad);
                self.w.end();
                id
            }
        }
    }

    /// A circle or cylinder.
    fn round(&mut self, keyword: &str, placement: Id, radius: f64) -> Id {
        let id = self.w.begin(keyword);
        self.w.raw("'',");
        self.w.id(placement);
        self.w.raw(",");
        self.w.real(radius);
        self.w.end();
        id
    }

    /// The placement of a turned face: that of one of its circles where they are the same.
    fn seat_of(&mut self, face: &CompressedFace<Surface>, seat: &Seat) -> Id {
        let shell = self.shell;
        for e in face.boundaries.iter().flatten() {
            if let (Curve::Circle { seat: other, .. }, Some(id)) =
                (shell.edges[e.index].curve, self.edges[e.index].placement)
                && other == *seat
            {
                return id;
            }
        }
        self.seat(seat)
    }

    fn seat(&mut self, seat: &Seat) -> Id {
        let origin = point(self.w, seat.origin);
        let axis = self.direction(seat.axis);
        let x = self.direction(seat.x);
        placement(self.w, origin, axis, x)
    }

    /// A unit vector.
    fn vector(&mut self, direction: Vector3) -> Id {
        if direction == Vector3::Z {
            return self.shared.up_vector(self.w);
        }
        let direction = self.direction(direction);
        vector(self.w, direction)
    }

    /// A direction, shared with the last few of the same components.
    fn direction(&mut self, v: Vector3) -> Id {
        if v == Vector3::Z {
            return self.shared.up;
        }
        if v == Vector3::X {
            return self.shared.x;
        }
        if let Some((_, id)) = self.recent.iter().find(|(u, _)| *u == v) {
            return *id;
        }
        let id = direction(self.w, v);
        self.recent[self.oldest] = (v, id);
        self.oldest = (self.oldest + 1) % DIRECTIONS;
        id
    }
}
