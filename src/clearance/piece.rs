//! A line or an arc made ready for distances.

use crate::geom::{Point, Segment, Vector};

use super::bounds::Bounds;

/// Slack of the test whether a direction lies within an arc's sweep, as the sine of the angle.
///
/// Directions come from a few operations on doubles; a direction this little
/// outside moves the nearest point by less than 1e-9 mm on a 1 m radius.
const SPAN: f64 = 1e-12;

/// A boundary piece made ready for distances: arcs run counter-clockwise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Piece {
    /// A straight line.
    Line {
        /// One end.
        a: Point,
        /// The other.
        b: Point,
    },
    /// A circular arc.
    Arc {
        /// Centre.
        centre: Point,
        /// Radius.
        radius: f64,
        /// Counter-clockwise start.
        a: Point,
        /// Counter-clockwise end.
        b: Point,
        /// How far round it goes.
        reach: Reach,
        /// Whether the metal lies on the centre's side.
        convex: bool,
    },
}

/// How far round an arc goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Reach {
    /// Half a turn or less.
    Minor,
    /// More than half a turn.
    Major,
    /// All the way.
    Full,
}

impl Piece {
    /// A piece of a boundary that has its metal on the left.
    pub(super) fn of(s: &Segment) -> Self {
        match *s {
            Segment::Line { from, to } => Self::Line { a: from, b: to },
            Segment::Arc {
                from,
                to,
                centre,
                radius,
                ccw,
            } => Self::Arc {
                centre,
                radius,
                a: if ccw { from } else { to },
                b: if ccw { to } else { from },
                reach: if from == to {
                    Reach::Full
                } else if s.is_major_arc() {
                    Reach::Major
                } else {
                    Reach::Minor
                },
                convex: ccw,
            },
        }
    }

    /// Its ends; equal for a full circle.
    pub(super) const fn ends(&self) -> (Point, Point) {
        match *self {
            Self::Line { a, b } | Self::Arc { a, b, .. } => (a, b),
        }
    }

    /// Whether the direction `v` from an arc's centre lies within its sweep; `true` for a line.
    pub(super) fn spans(&self, v: Vector) -> bool {
        let Self::Arc {
            centre,
            radius,
            a,
            b,
            reach,
            ..
        } = *self
        else {
            return true;
        };
        let slack = -SPAN * radius * (v.x.abs() + v.y.abs());
        let (u, w) = (a - centre, b - centre);
        match reach {
            Reach::Full => true,
            Reach::Minor => u.cross(v) >= slack && v.cross(w) >= slack,
            Reach::Major => !(w.cross(v) > -slack && v.cross(u) > -slack),
        }
    }

    /// Nearest point of the piece to `p`.
    pub(super) fn nearest(&self, p: Point) -> Point {
        match *self {
            Self::Line { a, b } => {
                let d = b - a;
                let length2 = d.dot(d);
                if length2 == 0.0 {
                    return a;
                }
                a + d * ((p - a).dot(d) / length2).clamp(0.0, 1.0)
            }
            Self::Arc {
                centre,
                radius,
                a,
                b,
                ..
            } => {
                let v = p - centre;
                let length2 = v.dot(v);
                if length2 == 0.0 {
                    return a;
                }
                if self.spans(v) {
                    return centre + v * (radius / length2.sqrt());
                }
                let (pa, pb) = (a - p, b - p);
                if pa.dot(pa) <= pb.dot(pb) { a } else { b }
            }
        }
    }

    /// Whether the piece turns the parity of "inside" for `p`: its chord is crossed by the ray to +x,
    /// or `p` lies between chord and arc.
    ///
    /// A point on a chord counts as a hair to its right (then above), both for
    /// the ray and for the side, so that the two always agree.
    pub(super) fn turns_parity(&self, p: Point) -> bool {
        let (a, b) = self.ends();
        let chord = b - a;
        let cross = chord.cross(p - a);
        let left = if cross != 0.0 {
            cross > 0.0
        } else if chord.y != 0.0 {
            chord.y < 0.0
        } else {
            chord.x > 0.0
        };
        let crossed = (a.y <= p.y) != (b.y <= p.y) && left == (chord.y > 0.0);
        match *self {
            Self::Line { .. } => crossed,
            Self::Arc {
                centre,
                radius,
                reach,
                ..
            } => {
                let v = p - centre;
                let in_circle = v.dot(v) < radius * radius;
                // A counter-clockwise arc bulges to the right of its chord.
                let between = in_circle && (reach == Reach::Full || !left);
                crossed != between
            }
        }
    }

    /// The box round the piece.
    pub(super) fn bounds(&self) -> Bounds<2> {
        let (a, b) = self.ends();
        let mut all = Bounds::of([[a.x, a.y], [b.x, b.y]]);
        if let Self::Arc { centre, radius, .. } = *self {
            for (x, y) in [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)] {
                if self.spans(Vector::new(x, y)) {
                    all.add([centre.x + radius * x, centre.y + radius * y]);
                }
            }
        }
        all
    }

    /// The point at `t` in 0..=1 along the piece.
    pub(super) fn at(&self, t: f64) -> Point {
        match *self {
            Self::Line { a, b } => a + (b - a) * t,
            Self::Arc { centre, a, .. } => centre + (a - centre).turned(t * self.sweep()),
        }
    }

    /// Length.
    pub(super) fn length(&self) -> f64 {
        match *self {
            Self::Line { a, b } => a.distance(b),
            Self::Arc { radius, .. } => radius * self.sweep(),
        }
    }

    /// Counter-clockwise sweep of an arc, rad; 0 for a line.
    pub(super) fn sweep(&self) -> f64 {
        match *self {
            Self::Line { .. } => 0.0,
            Self::Arc {
                reach: Reach::Full, ..
            } => std::f64::consts::TAU,
            Self::Arc { centre, a, b, .. } => {
                let (u, w) = (a - centre, b - centre);
                u.cross(w).atan2(u.dot(w)).rem_euclid(std::f64::consts::TAU)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Path;

    #[test]
    fn parity_tells_inside_as_the_winding_angle_does() {
        let paths = [
            Path::circle(Point::new(3.0, -2.0), 11.0),
            Path::slot(Point::new(-8.0, 0.0), Point::new(9.0, 5.0), 6.0),
            Path::arc_slot(Point::ORIGIN, 12.0, 0.4, 5.2, 4.0),
            Path::polygon(&[
                Point::new(-10.0, -10.0),
                Point::new(10.0, -10.0),
                Point::new(0.0, 0.0),
                Point::new(10.0, 10.0),
                Point::new(-10.0, 10.0),
            ]),
        ];
        for path in &paths {
            let pieces: Vec<Piece> = path.segments.iter().map(Piece::of).collect();
            for i in -40..=40 {
                for j in -40..=40 {
                    // Half-millimetre points meet corners, chords and centres exactly.
                    let p = Point::new(f64::from(i) * 0.5, f64::from(j) * 0.5);
                    if path.nearest(p).distance(p) < 1e-9 {
                        continue;
                    }
                    let odd = pieces.iter().filter(|q| q.turns_parity(p)).count() % 2 == 1;
                    assert_eq!(odd, path.contains(p), "{p:?} in {path:?}");
                }
            }
        }
    }
}
