//! What an outline is made of: bosses, webs and drawn loops.

use super::error::OutlineError;
use crate::geom::{Extents, Path, Point, Segment, Vector};
use crate::tol;

/// A round boss.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Disc {
    /// Centre, mm.
    pub centre: Point,
    /// Radius, mm; greater than zero.
    pub radius: f64,
}

/// One thing that adds metal to an outline.
///
/// Lengths are rounded to [`tol::INPUT_GRID_MM`] before use, drawn loops
/// excepted: rounding would part their arcs from their ends.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A boss.
    Disc(Disc),
    /// A web tangent to both of its bosses: the convex hull of two discs.
    ///
    /// Where one disc lies within the other, the larger disc alone.
    Taper {
        /// One end.
        a: Disc,
        /// The other end; its centre differs from that of `a`.
        b: Disc,
    },
    /// A web of constant width between two points, with flat ends through them.
    Bar {
        /// Middle of one end, mm.
        a: Point,
        /// Middle of the other end, mm.
        b: Point,
        /// Width across, mm; greater than zero.
        width: f64,
    },
    /// A simple loop of lines and arcs in either direction, as drawn.
    Drawn(Path),
}

/// Farthest from the origin that a shape may reach, mm.
///
/// A hundred metres: there a double still resolves 1.5e-11 mm, well under
/// every tolerance of the arrangement.
pub const FARTHEST_MM: f64 = 1e5;

impl Disc {
    /// A boss at `centre` of `radius` mm.
    #[must_use]
    pub const fn new(centre: Point, radius: f64) -> Self {
        Self { centre, radius }
    }

    /// The disc on the input grid.
    pub(super) fn rounded(self) -> Self {
        Self::new(rounded(self.centre), tol::on_input_grid(self.radius))
    }

    /// Whether `other` lies within this disc, touching allowed.
    pub(super) fn holds(self, other: Self) -> bool {
        self.centre.distance(other.centre) <= self.radius - other.radius
    }
}

/// `p` on the input grid.
pub(super) fn rounded(p: Point) -> Point {
    Point::new(tol::on_input_grid(p.x), tol::on_input_grid(p.y))
}

/// The two lines tangent to two discs on their outside.
#[derive(Debug, Clone, Copy)]
pub(super) struct Tangents {
    /// Unit direction from `a` to `b`.
    pub(super) axis: Vector,
    /// Distance of the centres, mm.
    pub(super) length: f64,
    /// Sine of the taper's half angle: (radius of a − radius of b) / length.
    pub(super) sin: f64,
    /// Cosine of the taper's half angle.
    pub(super) cos: f64,
}

impl Tangents {
    /// Outward unit normal of the tangent on the right hand, seen from a to b.
    pub(super) fn right(&self) -> Vector {
        self.axis * self.sin - self.axis.left() * self.cos
    }

    /// Outward unit normal of the tangent on the left hand, seen from a to b.
    pub(super) fn left(&self) -> Vector {
        self.axis * self.sin + self.axis.left() * self.cos
    }
}

/// The tangents of two discs, or `None` where one lies within the other.
pub(super) fn tangents(a: Disc, b: Disc) -> Option<Tangents> {
    let d = b.centre - a.centre;
    let length = d.length();
    let step = a.radius - b.radius;
    let height2 = (length - step) * (length + step);
    if height2 <= 0.0 {
        return None;
    }
    Some(Tangents {
        axis: d * (1.0 / length),
        length,
        sin: step / length,
        cos: height2.sqrt() / length,
    })
}

/// The convex hull of bosses as a counter-clockwise loop, for use as [`Shape::Drawn`].
///
/// The discs are rounded to [`tol::INPUT_GRID_MM`], so that the hull's arcs
/// lie on the same circles as the bosses themselves. An empty slice gives an
/// empty path; one disc, or one that holds all others, its circle.
///
/// Wraps round from the disc that reaches farthest down, each time going on to
/// the tangent that turns least (gift wrapping): n discs take at most a few n² steps.
#[must_use]
pub fn hull(discs: &[Disc]) -> Path {
    let mut outer: Vec<Disc> = Vec::with_capacity(discs.len());
    for d in discs.iter().map(|d| d.rounded()) {
        if !outer.iter().any(|o| o.holds(d)) {
            outer.retain(|o| !d.holds(*o));
            outer.push(d);
        }
    }
    let lowest = |d: &Disc| d.centre.y - d.radius;
    let Some(start) = (0..outer.len()).min_by(|&i, &j| {
        (lowest(&outer[i]).total_cmp(&lowest(&outer[j])))
            .then(outer[j].centre.x.total_cmp(&outer[i].centre.x))
    }) else {
        return Path::new(Vec::new());
    };
    if outer.len() == 1 {
        return Path::circle(outer[start].centre, outer[start].radius);
    }
    let mut lines = Vec::new();
    let mut at = start;
    let mut normal = Vector::new(0.0, -1.0);
    // Each disc can hold more than one stretch of the hull, at most 2n − 1 in all.
    for _ in 0..2 * outer.len() {
        let next = (0..outer.len())
            .filter(|&j| j != at)
            .filter_map(|j| tangents(outer[at], outer[j]).map(|t| (j, t)))
            .map(|(j, t)| (j, turn(normal, t.right()), t))
            .min_by(|a, b| a.1.total_cmp(&b.1).then(b.2.length.total_cmp(&a.2.length)));
        let Some((j, _, t)) = next else { break };
        normal = t.right();
        let from = outer[at].centre + normal * outer[at].radius;
        let to = outer[j].centre + normal * outer[j].radius;
        if lines
            .first()
            .is_some_and(|&(f, _, first): &(Point, Point, usize)| {
                first == at && f.distance(from) < tol::SNAP_MM
            })
        {
            break;
        }
        lines.push((from, to, at));
        at = j;
    }
    let n = lines.len();
    let mut segments = Vec::with_capacity(2 * n);
    for k in 0..n {
        let (from, to, _) = lines[k];
        let (next, _, on) = lines[(k + 1) % n];
        segments.push(Segment::Line { from, to });
        if to != next {
            segments.push(Segment::Arc {
                from: to,
                to: next,
                centre: outer[on].centre,
                radius: outer[on].radius,
                ccw: true,
            });
        }
    }
    Path::new(segments)
}

/// Counter-clockwise turn from `a` to `b`, rad in [0, 2π); a hair clockwise counts as none.
fn turn(a: Vector, b: Vector) -> f64 {
    let angle = a.cross(b).atan2(a.dot(b));
    if angle < -tol::PARALLEL {
        angle + std::f64::consts::TAU
    } else {
        angle.max(0.0)
    }
}

impl Shape {
    /// The corners and centres that fix the shape.
    pub(super) fn reference_points(&self) -> Vec<Point> {
        match self {
            Self::Disc(d) => vec![d.centre],
            Self::Taper { a, b } => vec![a.centre, b.centre],
            Self::Bar { a, b, .. } => vec![*a, *b],
            Self::Drawn(path) => path.segments.iter().map(Segment::midpoint).collect(),
        }
    }

    /// The shape on the input grid, once its numbers are known to be usable.
    ///
    /// `index` is the shape's place in the caller's list, for the error.
    pub(super) fn admitted(&self, index: usize) -> Result<Self, OutlineError> {
        match self {
            Self::Disc(d) => Ok(Self::Disc(admitted_disc(*d, index)?)),
            Self::Taper { a, b } => {
                let (a, b) = (admitted_disc(*a, index)?, admitted_disc(*b, index)?);
                if a.centre == b.centre {
                    return Err(OutlineError::CoincidentEnds { shape: index });
                }
                Ok(match tangents(a, b) {
                    Some(_) => Self::Taper { a, b },
                    None if a.radius >= b.radius => Self::Disc(a),
                    None => Self::Disc(b),
                })
            }
            Self::Bar { a, b, width } => {
                admitted_point(*a, *width, index)?;
                admitted_point(*b, *width, index)?;
                let (a, b, width) = (rounded(*a), rounded(*b), tol::on_input_grid(*width));
                if width <= 0.0 || width.is_nan() {
                    return Err(OutlineError::WidthNotPositive {
                        shape: index,
                        width_mm: width,
                    });
                }
                let Some(u) = (b - a).unit() else {
                    return Err(OutlineError::CoincidentEnds { shape: index });
                };
                let n = u.left() * (0.5 * width);
                Ok(Self::Drawn(Path::polygon(&[a - n, b - n, b + n, a + n])))
            }
            Self::Drawn(path) => Ok(Self::Drawn(super::drawn_loop::admitted(path, index)?)),
        }
    }

    /// Bounding box, for shapes that have been admitted.
    pub(super) fn extents(&self) -> Extents {
        let mut e = Extents::EMPTY;
        let mut add = |d: &Disc| {
            let v = Vector::new(d.radius, d.radius);
            e.add(d.centre - v);
            e.add(d.centre + v);
        };
        match self {
            Self::Disc(d) => add(d),
            Self::Taper { a, b } => {
                add(a);
                add(b);
            }
            Self::Bar { a, b, width } => {
                add(&Disc::new(*a, 0.5 * width));
                add(&Disc::new(*b, 0.5 * width));
            }
            Self::Drawn(path) => e = path.extents(),
        }
        e
    }
}

fn admitted_disc(d: Disc, index: usize) -> Result<Disc, OutlineError> {
    admitted_point(d.centre, d.radius, index)?;
    let d = d.rounded();
    if d.radius > 0.0 {
        Ok(d)
    } else {
        Err(OutlineError::RadiusNotPositive {
            shape: index,
            radius_mm: d.radius,
        })
    }
}

fn admitted_point(p: Point, reach: f64, index: usize) -> Result<(), OutlineError> {
    if !(p.x.is_finite() && p.y.is_finite() && reach.is_finite()) {
        return Err(OutlineError::NotANumber { shape: index });
    }
    if p.x.abs() + reach.abs() > FARTHEST_MM || p.y.abs() + reach.abs() > FARTHEST_MM {
        return Err(OutlineError::TooFar { shape: index });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn disc(x: f64, y: f64, r: f64) -> Disc {
        Disc::new(Point::new(x, y), r)
    }

    #[test]
    fn the_hull_of_two_equal_discs_is_a_slot() {
        let h = hull(&[disc(0.0, 0.0, 6.0), disc(40.0, 0.0, 6.0)]);
        assert_eq!(h.segments.len(), 4);
        assert!((h.area() - (480.0 + 36.0 * PI)).abs() < 1e-9);
    }

    #[test]
    fn a_disc_that_bulges_on_both_sides_is_met_twice() {
        let h = hull(&[
            disc(-50.0, 0.0, 10.0),
            disc(0.0, 0.0, 20.0),
            disc(50.0, 0.0, 10.0),
        ]);
        assert_eq!(h.segments.len(), 8);
    }

    #[test]
    fn discs_within_others_do_not_show() {
        assert_eq!(
            hull(&[
                disc(0.0, 0.0, 20.0),
                disc(5.0, 0.0, 15.0),
                disc(0.0, 0.0, 20.0)
            ])
            .segments
            .len(),
            1
        );
        assert!(hull(&[]).segments.is_empty());
    }

    #[test]
    fn discs_in_line_share_one_tangent() {
        let h = hull(&[
            disc(0.0, 0.0, 8.0),
            disc(20.0, 0.0, 8.0),
            disc(60.0, 0.0, 8.0),
            disc(40.0, 0.0, 8.0),
        ]);
        assert_eq!(h.segments.len(), 4);
        assert!((h.area() - (960.0 + 64.0 * PI)).abs() < 1e-9);
    }
}
