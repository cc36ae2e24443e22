//! The narrowest neck of a region: where its metal is locally thinnest, exactly.
//!
//! A neck is a chord that meets the boundary square at both ends, whose disc
//! (the chord as diameter) holds no other boundary, and from which the metal
//! widens both ways. All such chords lie on common normals of two boundary
//! pieces, so trying every pair finds them all: line against line from the
//! ends of antiparallel lines, line against arc through the arc's centre, arc
//! against arc along the line of centres, and sharp inside corners as arcs of
//! radius zero.

use super::distance::Gap;
use super::path::Path;
use super::point::{Point, Vector};
use super::segment::Segment;

/// How square a chord must meet the boundary: cosine of the angle to the normal.
///
/// Candidates are square by construction; this only sorts out the wrong side.
const SQUARE: f64 = 1.0 - 1e-6;

/// How far another boundary may reach into a neck's disc, mm: rounding only.
const EMPTY_MM: f64 = 1e-6;

/// A boundary piece with the metal on its left.
#[derive(Debug, Clone, Copy)]
enum Wall {
    Line {
        from: Point,
        to: Point,
        inward: Vector,
    },
    Arc {
        arc: Segment,
        centre: Point,
        radius: f64,
        concave: bool,
    },
    Corner {
        at: Point,
    },
}

impl Wall {
    /// Curvature of the wall's offset at half the chord `d`: positive where the metal widens away from it.
    fn widening(&self, d: f64) -> Option<f64> {
        match *self {
            Self::Line { .. } => Some(0.0),
            Self::Arc {
                radius,
                concave: true,
                ..
            } => Some(1.0 / (radius + 0.5 * d)),
            Self::Arc { radius, .. } => {
                let rest = radius - 0.5 * d;
                (rest > EMPTY_MM).then(|| -1.0 / rest)
            }
            Self::Corner { .. } => Some(2.0 / d),
        }
    }

    /// Whether a chord leaving `p` in direction `u` (unit) leaves into the metal, square.
    fn square(&self, p: Point, u: Vector) -> bool {
        match *self {
            Self::Line { inward, .. } => u.dot(inward) > SQUARE,
            Self::Arc {
                centre, concave, ..
            } => {
                let Some(out) = (p - centre).unit() else {
                    return false;
                };
                u.dot(if concave { out } else { -out }) > SQUARE
            }
            Self::Corner { .. } => true,
        }
    }

    /// Points of the wall where the direction `u` (either sign) is its normal, seen from `toward`.
    fn normal_points(&self, u: Vector, toward: Point) -> Vec<Point> {
        match *self {
            Self::Corner { at } => vec![at],
            Self::Arc {
                arc,
                centre,
                radius,
                ..
            } => [u, -u]
                .into_iter()
                .filter(|v| arc.spans_angle(v.angle()))
                .map(|v| centre + v * radius)
                .collect(),
            Self::Line { from, to, .. } => {
                let d = to - from;
                let length2 = d.dot(d);
                let t = if length2 > 0.0 {
                    (toward - from).dot(d) / length2
                } else {
                    return Vec::new();
                };
                if (-1e-12..=1.0 + 1e-12).contains(&t) {
                    vec![from + d * t]
                } else {
                    Vec::new()
                }
            }
        }
    }

    /// The point every normal of the wall runs through: an arc's centre or a corner.
    fn pole(&self) -> Option<Point> {
        match *self {
            Self::Line { .. } => None,
            Self::Arc { centre, .. } => Some(centre),
            Self::Corner { at } => Some(at),
        }
    }
}

/// The narrowest neck of the metal bounded by `outline` (counter-clockwise), with its two points.
///
/// `None` where the metal has no neck: a disc, a plate that only tapers.
#[must_use]
pub fn least(outline: &Path) -> Option<Gap> {
    least_of(std::slice::from_ref(outline))
}

/// The narrowest neck of the metal bounded by several loops, the outer counter-clockwise, openings clockwise.
#[must_use]
pub fn least_of(loops: &[Path]) -> Option<Gap> {
    let walls: Vec<Wall> = loops.iter().flat_map(walls_of).collect();
    let mut chords: Vec<Gap> = Vec::new();
    for (i, a) in walls.iter().enumerate() {
        for b in &walls[i + 1..] {
            candidates(a, b, &mut chords);
        }
    }
    chords.sort_by(|a, b| a.distance.total_cmp(&b.distance));
    chords.into_iter().find(|c| {
        let middle = c.a.midpoint(c.b);
        let reach = 0.5 * c.distance - EMPTY_MM;
        loops
            .iter()
            .flat_map(|l| &l.segments)
            .all(|s| s.distance(middle) >= reach)
    })
}

fn walls_of(path: &Path) -> Vec<Wall> {
    let n = path.segments.len();
    let mut walls = Vec::with_capacity(n);
    for (i, s) in path.segments.iter().enumerate() {
        walls.push(match *s {
            Segment::Line { from, to } => Wall::Line {
                from,
                to,
                inward: s.direction(0.0).left(),
            },
            Segment::Arc {
                centre,
                radius,
                ccw,
                ..
            } => Wall::Arc {
                arc: *s,
                centre,
                radius,
                concave: !ccw,
            },
        });
        if n > 1 {
            let next = &path.segments[(i + 1) % n];
            if s.direction(1.0).cross(next.direction(0.0)) < -1e-4 {
                walls.push(Wall::Corner { at: s.to() });
            }
        }
    }
    walls
}

fn candidates(a: &Wall, b: &Wall, chords: &mut Vec<Gap>) {
    let mut offer = |p: Point, q: Point| {
        let v = q - p;
        let Some(u) = v.unit() else { return };
        let d = v.length();
        if d <= EMPTY_MM || !a.square(p, u) || !b.square(q, -u) {
            return;
        }
        if let (Some(ka), Some(kb)) = (a.widening(d), b.widening(d))
            && ka + kb >= -1e-9
        {
            chords.push(Gap {
                distance: d,
                a: p,
                b: q,
            });
        }
    };
    match (a.pole(), b.pole()) {
        (Some(c), Some(d)) => {
            if let Some(u) = (d - c).unit().filter(|_| c.distance(d) > 1e-9) {
                for p in a.normal_points(u, d) {
                    for q in b.normal_points(u, c) {
                        offer(p, q);
                    }
                }
            } else if let (Wall::Arc { arc: s, .. }, Wall::Arc { arc: t, .. }) = (a, b) {
                // Concentric: the width is constant where both reach; an end tells it.
                for end in [s.from(), s.to(), t.from(), t.to()] {
                    if let Some(u) = (end - c).unit() {
                        for p in a.normal_points(u, c) {
                            for q in b.normal_points(u, c) {
                                offer(p, q);
                            }
                        }
                    }
                }
            }
        }
        (None, Some(c)) => {
            for p in a.normal_points(Vector::default(), c) {
                if let Some(u) = normal_of(a) {
                    for q in b.normal_points(u, p) {
                        offer(p, q);
                    }
                }
            }
        }
        (Some(c), None) => {
            for q in b.normal_points(Vector::default(), c) {
                if let Some(u) = normal_of(b) {
                    for p in a.normal_points(u, q) {
                        offer(p, q);
                    }
                }
            }
        }
        (None, None) => {
            if let (Wall::Line { from, to, .. }, Wall::Line { from: f, to: t, .. }) = (a, b) {
                for p in [*from, *to] {
                    for q in b.normal_points(Vector::default(), p) {
                        offer(p, q);
                    }
                }
                for q in [*f, *t] {
                    for p in a.normal_points(Vector::default(), q) {
                        offer(p, q);
                    }
                }
            }
        }
    }
}

fn normal_of(w: &Wall) -> Option<Vector> {
    match *w {
        Wall::Line { inward, .. } => Some(inward),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stadium_is_as_narrow_as_its_sides_are_apart() {
        let s = Path::slot(Point::new(0.0, 0.0), Point::new(80.0, 30.0), 9.0);
        let g = least(&s).expect("a stadium has parallel sides");
        assert!((g.distance - 18.0).abs() < 1e-9);
    }

    #[test]
    fn a_disc_and_a_tapered_web_have_no_neck() {
        assert!(least(&Path::circle(Point::ORIGIN, 20.0)).is_none());
    }

    #[test]
    fn an_arc_slot_shaped_plate_is_as_narrow_as_its_width() {
        let s = Path::arc_slot(Point::ORIGIN, 90.0, 0.2, 1.4, 12.0);
        let g = least(&s).expect("concentric sides");
        assert!((g.distance - 24.0).abs() < 1e-9);
    }

    #[test]
    fn a_notched_bar_is_narrowest_at_its_notch() {
        // 100 x 40 bar with a half-round notch of radius 10 in its lower side
        // and a sharp notch reaching 14 mm down from the top at x = 70.
        let p = Point::new;
        let line = |a, b| Segment::Line { from: a, to: b };
        let bar = Path::new(vec![
            line(p(0.0, 0.0), p(20.0, 0.0)),
            Segment::Arc {
                from: p(20.0, 0.0),
                to: p(40.0, 0.0),
                centre: p(30.0, 0.0),
                radius: 10.0,
                ccw: false,
            },
            line(p(40.0, 0.0), p(100.0, 0.0)),
            line(p(100.0, 0.0), p(100.0, 40.0)),
            line(p(100.0, 40.0), p(75.0, 40.0)),
            line(p(75.0, 40.0), p(70.0, 26.0)),
            line(p(70.0, 26.0), p(65.0, 40.0)),
            line(p(65.0, 40.0), p(0.0, 40.0)),
            line(p(0.0, 40.0), p(0.0, 0.0)),
        ]);
        assert!(bar.area() > 0.0);
        let g = least(&bar).expect("two notches");
        assert!((g.distance - 26.0).abs() < 1e-9, "{g:?}");
    }

    #[test]
    fn the_ring_between_a_hole_and_its_boss_counts_with_openings() {
        let boss = Path::slot(Point::ORIGIN, Point::new(60.0, 0.0), 15.0);
        let hole = Path::circle(Point::new(2.0, 0.0), 6.0).reversed();
        let g = least_of(&[boss, hole]).expect("a wall");
        assert!((g.distance - 9.0).abs() < 1e-9, "{g:?}");
    }
}
