//! Exact distances between lines and arcs of a plane.

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

/// Two nearest points and their squared distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Near2 {
    pub(super) d2: f64,
    pub(super) a: Point,
    pub(super) b: Point,
}

impl Near2 {
    pub(super) const NONE: Self = Self {
        d2: f64::INFINITY,
        a: Point::ORIGIN,
        b: Point::ORIGIN,
    };

    fn offer(&mut self, a: Point, b: Point) {
        let d = b - a;
        let d2 = d.dot(d);
        if d2 < self.d2 {
            *self = Self { d2, a, b };
        }
    }

    fn turned(self) -> Self {
        Self {
            a: self.b,
            b: self.a,
            ..self
        }
    }
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

    /// Nearest points of two pieces; distance 0 where they cross.
    pub(super) fn near(&self, other: &Self) -> Near2 {
        match (self, other) {
            (Self::Line { a, b }, Self::Line { a: c, b: d }) => line_line(*a, *b, *c, *d),
            (Self::Line { a, b }, Self::Arc { .. }) => line_arc(*a, *b, other),
            (Self::Arc { .. }, Self::Line { a, b }) => line_arc(*a, *b, self).turned(),
            (Self::Arc { .. }, Self::Arc { .. }) => arc_arc(self, other),
        }
    }
}

/// Where the segments `a b` and `c d` cross, if they do.
fn crossing(a: Point, b: Point, c: Point, d: Point) -> Option<Point> {
    let (r, s) = (b - a, d - c);
    let denominator = r.cross(s);
    if denominator == 0.0 {
        return None;
    }
    let t = (c - a).cross(s) / denominator;
    let u = (c - a).cross(r) / denominator;
    ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u)).then(|| a + r * t)
}

fn line_line(a: Point, b: Point, c: Point, d: Point) -> Near2 {
    let mut best = Near2::NONE;
    if let Some(p) = crossing(a, b, c, d) {
        best.offer(p, p);
        return best;
    }
    let (first, second) = (Piece::Line { a, b }, Piece::Line { a: c, b: d });
    for p in [a, b] {
        best.offer(p, second.nearest(p));
    }
    for p in [c, d] {
        best.offer(first.nearest(p), p);
    }
    best
}

fn line_arc(a: Point, b: Point, arc: &Piece) -> Near2 {
    let mut best = Near2::NONE;
    let Piece::Arc {
        centre,
        radius,
        a: c,
        b: d,
        ..
    } = *arc
    else {
        return best;
    };
    let line = Piece::Line { a, b };
    let direction = b - a;
    let length2 = direction.dot(direction);
    if length2 > 0.0 {
        let t = (centre - a).dot(direction) / length2;
        let foot = a + direction * t;
        let out = foot - centre;
        let depth2 = radius * radius - out.dot(out);
        if depth2 >= 0.0 {
            let half = (depth2 / length2).sqrt();
            for k in [t - half, t + half] {
                let p = a + direction * k;
                if (0.0..=1.0).contains(&k) && arc.spans(p - centre) {
                    best.offer(p, p);
                    return best;
                }
            }
        } else if (0.0..=1.0).contains(&t) && arc.spans(out) {
            best.offer(foot, centre + out * (radius / out.length()));
        }
    }
    for p in [a, b] {
        best.offer(p, arc.nearest(p));
    }
    for p in [c, d] {
        best.offer(line.nearest(p), p);
    }
    best
}

fn arc_arc(first: &Piece, second: &Piece) -> Near2 {
    let mut best = Near2::NONE;
    let (
        Piece::Arc {
            centre: c1,
            radius: r1,
            a: a1,
            b: b1,
            ..
        },
        Piece::Arc {
            centre: c2,
            radius: r2,
            a: a2,
            b: b2,
            ..
        },
    ) = (*first, *second)
    else {
        return best;
    };
    let between = c2 - c1;
    let d2 = between.dot(between);
    if d2 > 0.0 {
        let along = 0.5 * (d2 + r1 * r1 - r2 * r2) / d2;
        let height2 = r1 * r1 / d2 - along * along;
        if height2 >= 0.0 {
            let (base, side) = (between * along, between.left() * height2.sqrt());
            for v in [base + side, base - side] {
                let p = c1 + v;
                if first.spans(v) && second.spans(p - c2) {
                    best.offer(p, p);
                    return best;
                }
            }
        }
        let u = between * (1.0 / d2.sqrt());
        for (k1, k2) in [(1.0, -1.0), (1.0, 1.0), (-1.0, -1.0), (-1.0, 1.0)] {
            if first.spans(u * k1) && second.spans(u * k2) {
                best.offer(c1 + u * (k1 * r1), c2 + u * (k2 * r2));
            }
        }
    }
    for p in [a1, b1] {
        best.offer(p, second.nearest(p));
    }
    for p in [a2, b2] {
        best.offer(first.nearest(p), p);
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn line(ax: f64, ay: f64, bx: f64, by: f64) -> Piece {
        Piece::of(&Segment::Line {
            from: Point::new(ax, ay),
            to: Point::new(bx, by),
        })
    }

    fn arc(x: f64, y: f64, r: f64, from: f64, to: f64) -> Piece {
        Piece::of(&Segment::arc(Point::new(x, y), r, from, to))
    }

    #[test]
    fn lines_and_arcs_have_their_distances_by_hand() {
        let d = |a: &Piece, b: &Piece| a.near(b).d2.sqrt();
        // Parallel lines, a line over an arc's crown, a line inside a circle, two circles, a ring.
        assert!((d(&line(0.0, 0.0, 10.0, 0.0), &line(3.0, 4.0, 20.0, 4.0)) - 4.0).abs() < 1e-12);
        let crown = arc(0.0, 0.0, 5.0, 0.2, PI - 0.2);
        assert!((d(&line(-9.0, 8.0, 9.0, 8.0), &crown) - 3.0).abs() < 1e-12);
        let circle = Piece::of(&Segment::circle(Point::ORIGIN, 10.0));
        assert!((d(&line(-2.0, 0.0, 6.0, 0.0), &circle) - 4.0).abs() < 1e-12);
        let other = Piece::of(&Segment::circle(Point::new(30.0, 40.0), 15.0));
        assert!((d(&circle, &other) - 25.0).abs() < 1e-12);
        let inner = Piece::of(&Segment::circle(Point::new(1.0, 0.0), 3.0));
        assert!((d(&circle, &inner) - 6.0).abs() < 1e-12);
        assert!(d(&line(-20.0, 1.0, 20.0, 1.0), &circle) == 0.0);
    }

    /// Least distance of densely spread points: an upper bound that is close.
    fn spread(a: &Piece, b: &Piece) -> f64 {
        let n = 2000;
        let mut best = f64::INFINITY;
        for i in 0..=n {
            let p = a.at(f64::from(i) / f64::from(n));
            best = best.min(b.nearest(p).distance(p));
        }
        best
    }

    #[test]
    fn parity_tells_inside_as_the_winding_angle_does() {
        use crate::geom::Path;
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

    #[test]
    fn no_pair_is_nearer_than_its_distance_and_none_is_further() {
        let pieces: Vec<Piece> = (0..40)
            .map(|i| {
                let k = f64::from(i);
                let (x, y) = ((k * 37.0).rem_euclid(90.0), (k * 61.0).rem_euclid(80.0));
                if i % 3 == 0 {
                    line(x, y, x + 20.0 * (k).cos(), y + 20.0 * (k).sin())
                } else {
                    let start = k * 0.7;
                    arc(
                        x,
                        y,
                        4.0 + k * 0.4,
                        start,
                        start + 0.3 + (k * 0.29).rem_euclid(5.5),
                    )
                }
            })
            .collect();
        for (i, a) in pieces.iter().enumerate() {
            for b in &pieces[i + 1..] {
                let near = a.near(b);
                let d = near.d2.sqrt();
                assert!(a.nearest(near.a).distance(near.a) < 1e-9, "{a:?}");
                assert!(b.nearest(near.b).distance(near.b) < 1e-9, "{b:?}");
                let s = spread(a, b);
                assert!(
                    d <= s + 1e-9 && s - d < 0.05,
                    "{a:?} {b:?}: {d} against {s}"
                );
            }
        }
    }
}
