//! Shapes grown by the cutter radius: the carriers they bring and the points they cover.

use super::carrier::{Carrier, reaches};
use super::drawn_loop::LoopBody;
use super::shape::{Disc, Shape, Tangents, tangents};
use crate::geom::{Extents, Path, Point, Segment, Vector};
use crate::tol;

/// A grown shape as a set of points.
#[derive(Debug)]
pub(super) struct Body {
    extents: Extents,
    form: Form,
}

#[derive(Debug)]
enum Form {
    Disc(Disc),
    Taper(Disc, Disc, Tangents),
    Loop(LoopBody, f64),
}

impl Body {
    fn new(shape: &Shape, growth: f64) -> Self {
        let grown = |d: &Disc| Disc::new(d.centre, d.radius + growth);
        let form = match shape {
            Shape::Disc(d) => Form::Disc(grown(d)),
            Shape::Taper { a, b } => match tangents(*a, *b) {
                Some(t) => Form::Taper(grown(a), grown(b), t),
                None => Form::Disc(grown(if a.radius >= b.radius { a } else { b })),
            },
            // Admission has turned bars into loops.
            Shape::Bar { a, b, width } => {
                Form::Loop(LoopBody::new(&Path::slot(*a, *b, 0.5 * width)), growth)
            }
            Shape::Drawn(path) => Form::Loop(LoopBody::new(path), growth),
        };
        let mut extents = shape.extents();
        let v = Vector::new(growth, growth);
        extents.min = extents.min - v;
        extents.max = extents.max + v;
        Self { extents, form }
    }

    /// Whether `p` lies deeper than `tie` in the grown shape.
    pub(super) fn covers(&self, p: Point, tie: f64) -> bool {
        if !reaches(&self.extents, p, -tie) {
            return false;
        }
        let in_disc = |d: &Disc| {
            let v = p - d.centre;
            let reach = d.radius - tie;
            v.dot(v) < reach * reach
        };
        match &self.form {
            Form::Disc(d) => in_disc(d),
            Form::Taper(a, b, t) => {
                // Signed distance to the hull of two discs: which of the three
                // parts of its boundary is nearest follows from the foot on the tangent.
                let v = p - a.centre;
                let (along, aside) = (v.dot(t.axis), v.cross(t.axis).abs());
                let foot = t.cos * along - t.sin * aside;
                if foot < 0.0 {
                    in_disc(a)
                } else if foot > t.cos * t.length {
                    in_disc(b)
                } else {
                    t.cos * aside + t.sin * along < a.radius - tie
                }
            }
            Form::Loop(l, growth) => l.covers(p, *growth, tie),
        }
    }
}

/// Every body and carrier of a set of shapes grown by `growth`.
#[derive(Debug)]
pub(super) struct Ground {
    pub(super) bodies: Vec<Body>,
    pub(super) carriers: Vec<Carrier>,
}

impl Ground {
    /// Lays out the shapes, which must have been admitted.
    pub(super) fn new<'a>(shapes: impl Iterator<Item = &'a Shape> + Clone, growth: f64) -> Self {
        let mut circles: Vec<Disc> = Vec::new();
        let mut webs: Vec<(Disc, Disc)> = Vec::new();
        for s in shapes.clone() {
            if let Shape::Taper { a, b } = *s
                && !webs.iter().any(|&w| w == (a, b) || w == (b, a))
            {
                webs.push((a, b));
            }
        }
        let mut bodies = Vec::with_capacity(webs.len() + 4);
        let mut carriers = Vec::with_capacity(4 * webs.len() + 8);
        for &(a, b) in &webs {
            bodies.push(Body::new(&Shape::Taper { a, b }, growth));
            for d in [a, b] {
                if !circles.contains(&d) {
                    circles.push(d);
                }
            }
            if let Some(t) = tangents(a, b) {
                let (right, left) = (t.right(), t.left());
                let at = |d: Disc, n: Vector| d.centre + n * d.radius;
                carriers.push(Carrier::line(at(a, right), at(b, right), right, growth));
                carriers.push(Carrier::line(at(b, left), at(a, left), left, growth));
            }
        }
        for s in shapes {
            match s {
                // A boss at the end of a web is part of that web.
                Shape::Disc(d) if !circles.contains(d) => {
                    circles.push(*d);
                    bodies.push(Body::new(s, growth));
                }
                Shape::Drawn(path) => {
                    bodies.push(Body::new(s, growth));
                    push_loop(path, growth, &mut carriers);
                }
                _ => {}
            }
        }
        carriers.extend(
            circles
                .iter()
                .map(|d| Carrier::circle(d.centre, d.radius, growth)),
        );
        Self { bodies, carriers }
    }

    /// Whether `p` lies deeper than `tie` in any grown shape.
    pub(super) fn covers(&self, p: Point, tie: f64) -> bool {
        self.bodies.iter().any(|b| b.covers(p, tie))
    }
}

/// Carriers of a drawn loop: its pieces moved outwards, and a circle about each convex corner.
fn push_loop(path: &Path, growth: f64, carriers: &mut Vec<Carrier>) {
    let n = path.segments.len();
    for (k, s) in path.segments.iter().enumerate() {
        // A concave arc no wider than the growth leaves nothing on the grown boundary.
        let closes_up =
            matches!(s, Segment::Arc { radius, ccw: false, .. } if *radius < growth + tol::SNAP_MM);
        if !closes_up {
            carriers.push(Carrier::of_segment(s, growth));
        }
        let next = &path.segments[(k + 1) % n];
        let corner = s.to();
        let (a, b) = (end_normal(s, corner), end_normal(next, corner));
        let turned = a.cross(b);
        let cusp = a.dot(b) < 0.0 && turned.abs() < tol::PARALLEL;
        if n > 1 && growth > 0.0 && (turned * growth > 0.5 * tol::SNAP_MM || cusp) {
            carriers.push(Carrier::part(
                corner,
                growth,
                0.0,
                true,
                (corner + a * growth, corner + b * growth),
                (corner, corner),
            ));
        }
    }
}

/// Outward unit normal of a piece at its end `p`.
fn end_normal(s: &Segment, p: Point) -> Vector {
    match *s {
        Segment::Line { from, to } => -(to - from).unit().unwrap_or_default().left(),
        Segment::Arc { centre, ccw, .. } => {
            let v = (p - centre).unit().unwrap_or_default();
            if ccw { v } else { -v }
        }
    }
}
