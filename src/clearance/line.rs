//! Exact distance from a straight segment of space to a prism, and between two segments.

use crate::geom::{Point, Point3, Vector};

use super::bounds::Bounds;
use super::piece::Piece;
use super::solid::ReadyPrism;

/// Two nearest points of space and their squared distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Near3 {
    pub(super) d2: f64,
    pub(super) a: Point3,
    pub(super) b: Point3,
}

impl Near3 {
    pub(super) const NONE: Self = Self {
        d2: f64::INFINITY,
        a: Point3::ORIGIN,
        b: Point3::ORIGIN,
    };
}

/// A segment in the frame of a prism.
#[derive(Debug, Clone, Copy)]
struct Stick {
    p: Point,
    d: Vector,
    h: f64,
    dh: f64,
}

impl Stick {
    fn at(&self, t: f64) -> (Point, f64) {
        (self.p + self.d * t, self.h + self.dh * t)
    }

    /// Least distance of its heights from the prism's, squared.
    fn axial2(&self, low: f64, high: f64) -> f64 {
        let (a, b) = (self.h.min(self.h + self.dh), self.h.max(self.h + self.dh));
        (low - b).max(a - high).max(0.0).powi(2)
    }
}

/// The best found so far, in the prism's frame.
struct Best {
    d2: f64,
    on_stick: (Point, f64),
    on_prism: (Point, f64),
    found: bool,
}

impl Best {
    fn offer(&mut self, prism: &ReadyPrism, on_stick: (Point, f64), foot: Point) {
        let v = foot - on_stick.0;
        let axial = prism.axial(on_stick.1);
        let d2 = v.dot(v) + axial * axial;
        if d2 < self.d2 {
            self.d2 = d2;
            self.on_stick = on_stick;
            self.on_prism = (foot, on_stick.1.clamp(prism.low, prism.high));
            self.found = true;
        }
    }
}

/// Nearest points of the segment `from`–`to` and a prism, if nearer than √`best2`; exact.
///
/// The distance to a side wall is smooth where the segment passes a cap's
/// plane, so its minima lie at the segment's ends, at the plane's critical
/// points (crossings, feet of corners and centres) and at the critical points
/// against the cap's edges.
pub(super) fn segment_prism(
    from: Point3,
    to: Point3,
    prism: &ReadyPrism,
    best2: f64,
) -> Option<Near3> {
    let ((p, h), (q, k)) = (prism.frame.to_plane(from), prism.frame.to_plane(to));
    let stick = Stick {
        p,
        d: q - p,
        h,
        dh: k - h,
    };
    let mut best = Best {
        d2: best2,
        on_stick: (p, h),
        on_prism: (p, h),
        found: false,
    };
    over_the_faces(&stick, prism, &mut best);
    let reach = Bounds::of([[p.x, p.y], [q.x, q.y]]);
    let axial2 = stick.axial2(prism.low, prism.high);
    let mut limit = best.d2;
    prism
        .profile
        .tree
        .nearest(&mut limit, &|b| b.gap2(&reach) + axial2, &mut |i, limit| {
            against_wall(&stick, &prism.profile.pieces[i], prism, &mut best);
            *limit = best.d2;
        });
    best.found.then(|| Near3 {
        d2: best.d2,
        a: prism.frame.to_engine(best.on_stick.0, best.on_stick.1),
        b: prism.frame.to_engine(best.on_prism.0, best.on_prism.1),
    })
}

/// Where the segment lies over, under or in the section.
fn over_the_faces(stick: &Stick, prism: &ReadyPrism, best: &mut Best) {
    let mut offer = |t: f64| {
        if (0.0..=1.0).contains(&t) {
            let at = stick.at(t);
            if prism.axial(at.1).powi(2) < best.d2 && prism.profile.contains(at.0) {
                best.offer(prism, at, at.0);
            }
        }
    };
    offer(0.0);
    offer(1.0);
    if stick.dh != 0.0 {
        offer((prism.low - stick.h) / stick.dh);
        offer((prism.high - stick.h) / stick.dh);
    }
}

/// Every candidate of the segment against one side wall.
fn against_wall(stick: &Stick, piece: &Piece, prism: &ReadyPrism, best: &mut Best) {
    let mut offer = |t: f64| {
        if t.is_finite() {
            let at = stick.at(t.clamp(0.0, 1.0));
            best.offer(prism, at, piece.nearest(at.0));
        }
    };
    offer(0.0);
    offer(1.0);
    let (a, b) = piece.ends();
    let d2 = stick.d.dot(stick.d);
    if d2 > 0.0 {
        for end in [a, b] {
            offer((end - stick.p).dot(stick.d) / d2);
        }
        in_the_plane(stick, piece, d2, &mut offer);
    }
    if stick.dh != 0.0 {
        let all2 = d2 + stick.dh * stick.dh;
        for cap in [prism.low, prism.high] {
            let rise = cap - stick.h;
            for end in [a, b] {
                offer(((end - stick.p).dot(stick.d) + rise * stick.dh) / all2);
            }
            match *piece {
                Piece::Line { a, b } => offer(line_to_line(stick, rise, a, b - a)),
                Piece::Arc { centre, radius, .. } => {
                    for t in line_to_circle(stick, rise, centre, radius) {
                        offer(t);
                    }
                }
            }
        }
    }
}

/// Crossings of the segment's plan with the piece, and the foot of an arc's centre.
fn in_the_plane(stick: &Stick, piece: &Piece, d2: f64, offer: &mut impl FnMut(f64)) {
    match *piece {
        Piece::Line { a, b } => {
            let s = b - a;
            let denominator = stick.d.cross(s);
            if denominator != 0.0 {
                offer((a - stick.p).cross(s) / denominator);
            }
        }
        Piece::Arc { centre, radius, .. } => {
            let t = (centre - stick.p).dot(stick.d) / d2;
            offer(t);
            let out = stick.p + stick.d * t - centre;
            let depth2 = radius * radius - out.dot(out);
            if depth2 >= 0.0 {
                let half = (depth2 / d2).sqrt();
                offer(t - half);
                offer(t + half);
            }
        }
    }
}

/// Where the segment's line is nearest to the line through `a` along `s`, `rise` above the segment's start.
fn line_to_line(stick: &Stick, rise: f64, a: Point, s: Vector) -> f64 {
    // Directions (d, dh) and (s, 0); w = start − a.
    let w = stick.p - a;
    let (dd, ss) = (stick.d.dot(stick.d) + stick.dh * stick.dh, s.dot(s));
    let ds = stick.d.dot(s);
    let (dw, sw) = (stick.d.dot(w) - stick.dh * rise, s.dot(w));
    // A determinant of zero gives an infinity or NaN, which is not offered.
    (ds * sw - ss * dw) / (dd * ss - ds * ds)
}

/// Newton and bisection steps for a critical point: bisection alone halves 1 to below 1e-15 in 52.
const ROOT_STEPS: u32 = 60;

/// Local minima of the distance between the segment and a circle at a height `rise` over its start.
///
/// The squared distance (ρ − R)² + (h − rise)² is a convex quadratic less 2Rρ
/// with ρ the convex distance of the plan from the centre: it bends down only
/// within a stretch about the centre's foot, so each side of that stretch holds
/// one minimum at most.
fn line_to_circle(stick: &Stick, rise: f64, centre: Point, radius: f64) -> Vec<f64> {
    let d2 = stick.d.dot(stick.d);
    let all2 = d2 + stick.dh * stick.dh;
    let c = stick.p - centre;
    let slope = |t: f64| {
        let v = c + stick.d * t;
        let rho = v.length();
        let quadratic = t * all2 + c.dot(stick.d) - rise * stick.dh;
        if rho > 0.0 {
            quadratic - radius * v.dot(stick.d) / rho
        } else {
            quadratic
        }
    };
    if d2 == 0.0 {
        return vec![rise / stick.dh];
    }
    let foot = -c.dot(stick.d) / d2;
    let off2 = {
        let v = c + stick.d * foot;
        v.dot(v)
    };
    // Bends down where R·d²·off²/ρ³ > d² + dh²: ρ³ < R·d²·off²/(d² + dh²).
    let rho = (radius * d2 * off2 / all2).cbrt();
    let half = ((rho * rho - off2).max(0.0) / d2).sqrt();
    let mut roots = Vec::new();
    for (low, high) in [(0.0, foot - half), (foot + half, 1.0)] {
        let (mut low, mut high) = (low.clamp(0.0, 1.0), high.clamp(0.0, 1.0));
        if low >= high {
            continue;
        }
        if slope(low) >= 0.0 {
            roots.push(low);
            continue;
        }
        if slope(high) <= 0.0 {
            roots.push(high);
            continue;
        }
        for _ in 0..ROOT_STEPS {
            let middle = 0.5 * (low + high);
            if slope(middle) < 0.0 {
                low = middle;
            } else {
                high = middle;
            }
        }
        roots.push(0.5 * (low + high));
    }
    roots
}

/// Nearest points of two segments of space.
pub(super) fn segment_segment(p0: Point3, p1: Point3, q0: Point3, q1: Point3) -> Near3 {
    let (u, v, w) = (p1 - p0, q1 - q0, p0 - q0);
    let (uu, vv, uv) = (u.dot(u), v.dot(v), u.dot(v));
    let (uw, vw) = (u.dot(w), v.dot(w));
    let mut best = Near3::NONE;
    let mut offer = |s: f64, t: f64| {
        if s.is_finite() && t.is_finite() {
            let (a, b) = (p0 + u * s.clamp(0.0, 1.0), q0 + v * t.clamp(0.0, 1.0));
            let d2 = (b - a).dot(b - a);
            if d2 < best.d2 {
                best = Near3 { d2, a, b };
            }
        }
    };
    let on_q = |s: f64| if vv > 0.0 { (vw + s * uv) / vv } else { 0.0 };
    let on_p = |t: f64| if uu > 0.0 { (t * uv - uw) / uu } else { 0.0 };
    let determinant = uu * vv - uv * uv;
    let s = (uv * vw - vv * uw) / determinant;
    if (0.0..=1.0).contains(&s) {
        let t = on_q(s);
        if (0.0..=1.0).contains(&t) {
            offer(s, t);
        }
    }
    for s in [0.0, 1.0] {
        offer(s, on_q(s));
    }
    for t in [0.0, 1.0] {
        offer(on_p(t), t);
    }
    best
}

#[cfg(test)]
mod tests {
    use super::super::solid::{Prism, Ready, Solid};
    use super::*;
    use crate::geom::{Frame, Path, Region, Vector3};

    fn ready(region: Region, low: f64, high: f64) -> ReadyPrism {
        let solid = Solid::Prism(Prism::new("p", Frame::FRONT, region, low, high));
        match Ready::new(&solid) {
            Ready::Prism(p) => *p,
            Ready::Tube(_) => unreachable!("a prism was given"),
        }
    }

    /// Distance of a point to the prism, by its parts.
    fn point(prism: &ReadyPrism, p: Point3) -> f64 {
        let (q, h) = prism.frame.to_plane(p);
        let plan = if prism.profile.contains(q) {
            0.0
        } else {
            prism.profile.nearest(q, f64::INFINITY).unwrap().0.sqrt()
        };
        plan.hypot(prism.axial(h))
    }

    #[test]
    fn a_segment_is_as_near_as_its_nearest_point() {
        let outlines = [
            Region::solid(Path::circle(Point::new(5.0, 3.0), 20.0)),
            Region::solid(Path::slot(
                Point::new(-10.0, 0.0),
                Point::new(25.0, 10.0),
                8.0,
            )),
            Region {
                outer: Path::polygon(&[
                    Point::new(-30.0, -20.0),
                    Point::new(30.0, -20.0),
                    Point::new(30.0, 20.0),
                    Point::new(-30.0, 20.0),
                ]),
                openings: vec![Path::circle(Point::new(3.0, 0.0), 14.0)],
            },
            Region::solid(Path::arc_slot(Point::ORIGIN, 30.0, 0.3, 4.0, 5.0)),
        ];
        let mut checked = 0;
        for (n, region) in outlines.into_iter().enumerate() {
            let prism = ready(region, -4.0, 6.0);
            for i in 0..120 {
                let k = f64::from(i) + 1000.0 * n as f64;
                let r = |m: f64, s: f64| ((k * m).sin() * 43_758.545).rem_euclid(1.0) * s - 0.5 * s;
                let from = Point3::new(r(1.1, 120.0), r(2.3, 120.0), r(3.7, 50.0));
                let to = if i % 3 == 0 {
                    from + Vector3::new(r(5.1, 90.0), r(6.3, 90.0), 0.0)
                } else {
                    Point3::new(r(7.7, 120.0), r(8.9, 120.0), r(9.3, 50.0))
                };
                let near = segment_prism(from, to, &prism, f64::INFINITY).unwrap();
                let d = near.d2.sqrt();
                // Densely spread points, then refined about the best.
                let steps = 4000;
                let at = |t: f64| point(&prism, from + (to - from) * t);
                let mut best = (0, f64::INFINITY);
                for j in 0..=steps {
                    let f = at(f64::from(j) / f64::from(steps));
                    if f < best.1 {
                        best = (j, f);
                    }
                }
                let (mut low, mut high) = (
                    (f64::from(best.0 - 1) / f64::from(steps)).max(0.0),
                    (f64::from(best.0 + 1) / f64::from(steps)).min(1.0),
                );
                for _ in 0..80 {
                    let (a, b) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
                    if at(a) < at(b) {
                        high = b;
                    } else {
                        low = a;
                    }
                }
                let want = best.1.min(at(0.5 * (low + high)));
                assert!((d - want).abs() < 1e-7, "{n} {i}: {d} against {want}");
                checked += usize::from(d > 0.0);
            }
        }
        assert!(checked > 200);
    }

    #[test]
    fn two_segments_have_their_distance_by_hand() {
        let p = Point3::new;
        let n = segment_segment(
            p(0.0, 0.0, 0.0),
            p(10.0, 0.0, 0.0),
            p(5.0, -4.0, 3.0),
            p(5.0, 4.0, 3.0),
        );
        assert!((n.d2 - 9.0).abs() < 1e-12);
        let n = segment_segment(
            p(0.0, 0.0, 0.0),
            p(1.0, 0.0, 0.0),
            p(4.0, 4.0, 0.0),
            p(4.0, 4.0, 9.0),
        );
        assert!((n.d2 - 25.0).abs() < 1e-12);
        let n = segment_segment(
            p(0.0, 0.0, 0.0),
            p(9.0, 0.0, 0.0),
            p(2.0, 1.0, 0.0),
            p(5.0, 1.0, 0.0),
        );
        assert!((n.d2 - 1.0).abs() < 1e-12);
    }
}
