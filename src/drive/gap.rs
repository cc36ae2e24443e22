//! Least distance between two boundary pieces, exactly.

use crate::geom::{Path, Point, Segment, Vector};
use crate::tol::PARALLEL;

/// The nearest pair of points of two pieces and their distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Nearest {
    /// Distance, mm; 0 where the pieces meet.
    pub(super) distance: f64,
    /// Point on the first.
    pub(super) a: Point,
    /// Point on the second.
    pub(super) b: Point,
}

impl Nearest {
    const NONE: Self = Self {
        distance: f64::INFINITY,
        a: Point::ORIGIN,
        b: Point::ORIGIN,
    };

    fn offer(&mut self, a: Point, b: Point) {
        let distance = a.distance(b);
        if distance < self.distance {
            *self = Self { distance, a, b };
        }
    }
}

/// Least distance between two pieces: at an end of one, at a meeting, or along a common normal.
#[must_use]
pub(super) fn segments(p: &Segment, q: &Segment) -> Nearest {
    let mut best = Nearest::NONE;
    for end in [p.from(), p.to()] {
        best.offer(end, q.nearest(end));
    }
    for end in [q.from(), q.to()] {
        best.offer(p.nearest(end), end);
    }
    match (*p, *q) {
        (Segment::Line { .. }, Segment::Line { .. }) => lines(p, q, &mut best),
        (Segment::Line { .. }, Segment::Arc { .. }) => line_and_arc(p, q, &mut best),
        (Segment::Arc { .. }, Segment::Line { .. }) => {
            let mut turned = Nearest {
                distance: best.distance,
                a: best.b,
                b: best.a,
            };
            line_and_arc(q, p, &mut turned);
            best = Nearest {
                distance: turned.distance,
                a: turned.b,
                b: turned.a,
            };
        }
        (Segment::Arc { .. }, Segment::Arc { .. }) => arcs(p, q, &mut best),
    }
    best
}

/// Least distance between two loops, boundary to boundary.
#[must_use]
pub(super) fn loops(p: &Path, q: &Path) -> Nearest {
    let mut best = Nearest::NONE;
    for a in &p.segments {
        for b in &q.segments {
            let n = segments(a, b);
            if n.distance < best.distance {
                best = n;
            }
        }
    }
    best
}

fn lines(p: &Segment, q: &Segment, best: &mut Nearest) {
    let (dp, dq) = (p.to() - p.from(), q.to() - q.from());
    let det = dp.cross(dq);
    if det.abs() <= PARALLEL * dp.length() * dq.length() {
        // Parallel pieces are nearest at an end.
        return;
    }
    let gap = q.from() - p.from();
    let (s, t) = (gap.cross(dq) / det, gap.cross(dp) / det);
    if (0.0..=1.0).contains(&s) && (0.0..=1.0).contains(&t) {
        let at = p.from() + dp * s;
        *best = Nearest {
            distance: 0.0,
            a: at,
            b: at,
        };
    }
}

fn line_and_arc(line: &Segment, arc: &Segment, best: &mut Nearest) {
    let Segment::Arc { centre, radius, .. } = *arc else {
        return;
    };
    let d = line.to() - line.from();
    let Some(u) = d.unit() else {
        return;
    };
    let length = d.length();
    let along = (centre - line.from()).dot(u);
    let foot = line.from() + u * along;
    let height = foot.distance(centre);
    if height <= radius {
        let half = (radius * radius - height * height).max(0.0).sqrt();
        for t in [along - half, along + half] {
            let at = line.from() + u * t;
            if (0.0..=length).contains(&t) && arc.spans_angle((at - centre).angle()) {
                best.offer(at, at);
            }
        }
    }
    if (0.0..=length).contains(&along) {
        for normal in [u.left(), -u.left()] {
            if arc.spans_angle(normal.angle()) {
                best.offer(foot, centre + normal * radius);
            }
        }
    }
}

fn arcs(p: &Segment, q: &Segment, best: &mut Nearest) {
    let (
        Segment::Arc {
            centre: cp,
            radius: rp,
            ..
        },
        Segment::Arc {
            centre: cq,
            radius: rq,
            ..
        },
    ) = (*p, *q)
    else {
        return;
    };
    let between = cq - cp;
    let Some(u) = between.unit() else {
        // Concentric arcs are nearest at an end of one of them.
        return;
    };
    let d = between.length();
    if d <= rp + rq && d >= (rp - rq).abs() {
        let along = (d * d + rp * rp - rq * rq) / (2.0 * d);
        let half = (rp * rp - along * along).max(0.0).sqrt();
        for side in [half, -half] {
            let at = cp + u * along + u.left() * side;
            if p.spans_angle((at - cp).angle()) && q.spans_angle((at - cq).angle()) {
                best.offer(at, at);
            }
        }
    }
    let on = |s: &Segment, v: Vector| s.spans_angle(v.angle());
    for a in [u, -u] {
        for b in [u, -u] {
            if on(p, a) && on(q, b) {
                best.offer(cp + a * rp, cq + b * rq);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sampled(p: &Segment, q: &Segment) -> f64 {
        (0..=4000)
            .map(|i| q.distance(p.at(f64::from(i) / 4000.0)))
            .fold(f64::INFINITY, f64::min)
    }

    #[test]
    fn distances_agree_with_dense_sampling() {
        let mut pieces = Vec::new();
        for i in 0..6 {
            let k = f64::from(i);
            pieces.push(Segment::Line {
                from: Point::new(7.0 * k - 20.0, 3.0 * k * k - 30.0),
                to: Point::new(11.0 - 5.0 * k, 4.0 * k + 9.0),
            });
            pieces.push(Segment::arc(
                Point::new(9.0 * k - 25.0, 20.0 - 8.0 * k),
                4.0 + 2.0 * k,
                0.7 * k,
                0.7 * k + 0.5 + 0.8 * k,
            ));
        }
        for p in &pieces {
            for q in &pieces {
                let exact = segments(p, q);
                let coarse = sampled(p, q);
                assert!(exact.distance <= coarse + 1e-9, "{p:?} {q:?}");
                // Sampling sees a crossing only to half its step.
                assert!(
                    coarse - exact.distance < 0.02,
                    "{p:?} {q:?} {exact:?} {coarse}"
                );
                assert!((exact.a.distance(exact.b) - exact.distance).abs() < 1e-9);
                assert!(p.distance(exact.a) < 1e-9 && q.distance(exact.b) < 1e-9);
            }
        }
    }
}
