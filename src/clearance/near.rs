//! Exact distances between lines and arcs of a plane.

use crate::geom::Point;

use super::piece::Piece;

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
    use crate::geom::Segment;
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
