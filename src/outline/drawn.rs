//! Hand-drawn outlines: corners with rounding, straight edges and arcs, turned into one exact loop.

use crate::geom::{Path, Point, Segment, Vector, circles_meet};
use crate::params::job::OutlineStep;
use crate::tol;

/// Why a drawn outline is none. `step` counts from 0 in the order drawn.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DrawnError {
    /// Too few steps enclose no area.
    #[error("{steps} steps enclose nothing; at least 3 corners, or 2 with an arc, are needed")]
    TooFew {
        /// Steps given.
        steps: usize,
    },
    /// Two steps in the same place.
    #[error("step {} lies on the one before it, ({:.3}, {:.3})", step + 1, at.x, at.y)]
    NoLength {
        /// The later step.
        step: usize,
        /// Where.
        at: Point,
    },
    /// An arc's radius is less than half its chord.
    #[error("the arc to step {} has radius {radius_mm:.3} mm, but its ends are {chord_mm:.3} mm apart: at least {:.3} mm is needed", step + 1, 0.5 * chord_mm)]
    ArcTooSmall {
        /// The step it ends at.
        step: usize,
        /// Its radius, mm.
        radius_mm: f64,
        /// Distance of its ends, mm.
        chord_mm: f64,
    },
    /// A corner's rounding does not fit its edges.
    #[error("the corner at step {} cannot be rounded with {radius_mm:.3} mm: its edges are too short", step + 1)]
    RoundingTooLarge {
        /// The corner.
        step: usize,
        /// The rounding asked for, mm.
        radius_mm: f64,
    },
    /// The outline crosses itself.
    #[error("the edges after steps {} and {} cross near ({:.3}, {:.3})", first + 1, second + 1, at.x, at.y)]
    Crosses {
        /// Step at which one edge starts.
        first: usize,
        /// Step at which the other starts.
        second: usize,
        /// Where.
        at: Point,
    },
    /// The outline goes out and back on itself.
    #[error("the outline encloses no area")]
    NoArea,
}

impl DrawnError {
    /// The step the error is about, if it is about one.
    #[must_use]
    pub const fn step(&self) -> Option<usize> {
        match *self {
            Self::NoLength { step, .. }
            | Self::ArcTooSmall { step, .. }
            | Self::RoundingTooLarge { step, .. } => Some(step),
            Self::Crosses { first, .. } => Some(first),
            Self::TooFew { .. } | Self::NoArea => None,
        }
    }
}

/// A simple counter-clockwise loop through the steps, whichever way round they were drawn.
///
/// The first step's edge comes from the last step. Corners are rounded by an
/// arc tangent to both edges, straight or not.
///
/// # Errors
///
/// [`DrawnError`] names the step.
pub fn outline(steps: &[OutlineStep]) -> Result<Path, DrawnError> {
    let arcs = steps
        .iter()
        .filter(|s| matches!(s, OutlineStep::ArcTo { .. }))
        .count();
    if steps.len() < if arcs > 0 { 2 } else { 3 } {
        return Err(DrawnError::TooFew { steps: steps.len() });
    }
    let edges = edges(steps)?;
    let rounded = round_corners(steps, &edges)?;
    let path = Path::new(rounded.iter().map(|r| r.1).collect());
    check_simple(&rounded)?;
    if path.area().abs() <= tol::SLIVER_MM {
        return Err(DrawnError::NoArea);
    }
    Ok(path.oriented(true))
}

/// A polygon with every corner rounded by `corner_mm` (0 leaves them sharp), counter-clockwise.
///
/// # Errors
///
/// [`DrawnError`] names the corner.
pub fn rounded_polygon(points: &[Point], corner_mm: f64) -> Result<Path, DrawnError> {
    let steps: Vec<OutlineStep> = points
        .iter()
        .map(|&at| OutlineStep::Corner {
            at,
            radius_mm: corner_mm,
        })
        .collect();
    outline(&steps)
}

fn place(step: &OutlineStep) -> Point {
    match *step {
        OutlineStep::Corner { at, .. } | OutlineStep::ArcTo { at, .. } => {
            Point::new(tol::on_input_grid(at.x), tol::on_input_grid(at.y))
        }
    }
}

/// Edge `i` ends at step `i`.
fn edges(steps: &[OutlineStep]) -> Result<Vec<Segment>, DrawnError> {
    let n = steps.len();
    (0..n)
        .map(|step| {
            let (from, to) = (place(&steps[(step + n - 1) % n]), place(&steps[step]));
            let chord_mm = from.distance(to);
            if chord_mm <= tol::SNAP_MM {
                return Err(DrawnError::NoLength { step, at: to });
            }
            match steps[step] {
                OutlineStep::Corner { .. } => Ok(Segment::Line { from, to }),
                OutlineStep::ArcTo {
                    radius_mm,
                    ccw,
                    major,
                    ..
                } => {
                    let half = 0.5 * chord_mm;
                    if radius_mm < half - tol::SNAP_MM {
                        return Err(DrawnError::ArcTooSmall {
                            step,
                            radius_mm,
                            chord_mm,
                        });
                    }
                    let rise = (radius_mm * radius_mm - half * half).max(0.0).sqrt();
                    let left = ((to - from) * (1.0 / chord_mm)).left();
                    // The centre of a short counter-clockwise arc lies left of its chord.
                    let side = if ccw == major { -1.0 } else { 1.0 };
                    Ok(Segment::Arc {
                        from,
                        to,
                        centre: from.midpoint(to) + left * (side * rise),
                        radius: radius_mm,
                        ccw,
                    })
                }
            }
        })
        .collect()
}

/// Trims the edges at rounded corners and puts the arcs in; each piece with the step its edge starts from.
fn round_corners(
    steps: &[OutlineStep],
    edges: &[Segment],
) -> Result<Vec<(usize, Segment)>, DrawnError> {
    let n = steps.len();
    let mut trimmed = edges.to_vec();
    let mut arcs: Vec<Option<Segment>> = vec![None; n];
    for (i, step) in steps.iter().enumerate() {
        let OutlineStep::Corner { radius_mm, .. } = *step else {
            continue;
        };
        let next = (i + 1) % n;
        let (d, e) = (edges[i].direction(1.0), edges[next].direction(0.0));
        let turn = d.cross(e);
        // A smooth join needs no rounding.
        if radius_mm <= 0.0 || (turn.abs() < 1e-9 && d.dot(e) > 0.0) {
            continue;
        }
        let too_large = DrawnError::RoundingTooLarge { step: i, radius_mm };
        let left = turn > 0.0;
        let centre = rounding_centre(&edges[i], &edges[next], radius_mm, left)
            .ok_or_else(|| too_large.clone())?;
        let (p, q) = (
            foot(&edges[i], centre).ok_or_else(|| too_large.clone())?,
            foot(&edges[next], centre).ok_or_else(|| too_large.clone())?,
        );
        trimmed[i] = cut_end(&trimmed[i], p).ok_or_else(|| too_large.clone())?;
        trimmed[next] = cut_start(&trimmed[next], q).ok_or(too_large)?;
        arcs[i] = Some(Segment::Arc {
            from: p,
            to: q,
            centre,
            radius: radius_mm,
            ccw: left,
        });
    }
    let mut out = Vec::with_capacity(2 * n);
    for i in 0..n {
        let start = (i + n - 1) % n;
        // Two roundings may meet and leave nothing of the edge between them.
        if trimmed[i].from().distance(trimmed[i].to()) > tol::SNAP_MM {
            out.push((start, trimmed[i]));
        }
        out.extend(arcs[i].map(|a| (i, a)));
    }
    chain(&mut out);
    Ok(out)
}

/// Makes every piece end exactly where the next one starts.
fn chain(pieces: &mut [(usize, Segment)]) {
    let n = pieces.len();
    for i in 0..n {
        let start = pieces[(i + 1) % n].1.from();
        match &mut pieces[i].1 {
            Segment::Line { to, .. } | Segment::Arc { to, .. } => *to = start,
        }
    }
}

/// Centre of the circle of `radius` tangent to both edges on the inner side of their corner.
fn rounding_centre(a: &Segment, b: &Segment, radius: f64, left: bool) -> Option<Point> {
    let corner = a.to();
    let side = if left { radius } else { -radius };
    let near = |points: [Option<Point>; 2]| {
        points
            .into_iter()
            .flatten()
            .min_by(|p, q| p.distance(corner).total_cmp(&q.distance(corner)))
    };
    match (offset(a, side)?, offset(b, side)?) {
        (Track::Line(p, u), Track::Line(q, v)) => {
            let cross = u.cross(v);
            (cross.abs() > 1e-12).then(|| p + u * ((q - p).cross(v) / cross))
        }
        (Track::Line(p, u), Track::Circle(c, r)) | (Track::Circle(c, r), Track::Line(p, u)) => {
            near(line_circle(p, u, c, r))
        }
        (Track::Circle(c, r), Track::Circle(d, s)) => near(circles_meet(c, r, d, s)),
    }
}

/// Where the centre of a tangent circle may lie: a line by point and direction, or a circle.
enum Track {
    Line(Point, Vector),
    Circle(Point, f64),
}

fn offset(s: &Segment, side: f64) -> Option<Track> {
    match *s {
        Segment::Line { from, .. } => {
            let u = s.direction(0.0);
            Some(Track::Line(from + u.left() * side, u))
        }
        Segment::Arc {
            centre,
            radius,
            ccw,
            ..
        } => {
            let r = if ccw { radius - side } else { radius + side };
            (r > tol::SNAP_MM).then_some(Track::Circle(centre, r))
        }
    }
}

fn line_circle(p: Point, u: Vector, c: Point, r: f64) -> [Option<Point>; 2] {
    let w = p - c;
    let half = u.dot(w);
    let disc = half * half - (w.dot(w) - r * r);
    if disc < 0.0 {
        return [None, None];
    }
    let root = disc.sqrt();
    [Some(p + u * (-half - root)), Some(p + u * (-half + root))]
}

/// Where a tangent circle about `centre` touches the edge, if within it.
fn foot(s: &Segment, centre: Point) -> Option<Point> {
    let p = match *s {
        Segment::Line { from, .. } => {
            let u = s.direction(0.0);
            from + u * (centre - from).dot(u)
        }
        Segment::Arc {
            centre: c, radius, ..
        } => c + (centre - c).unit()? * radius,
    };
    (s.distance(p) <= tol::SNAP_MM).then_some(p)
}

/// Share of the way along an edge at which a point of it lies.
fn share(s: &Segment, p: Point) -> f64 {
    match *s {
        Segment::Line { from, to } => {
            let d = to - from;
            (p - from).dot(d) / d.dot(d)
        }
        Segment::Arc {
            from, centre, ccw, ..
        } => {
            let (a, b) = (from - centre, p - centre);
            let angle = a.cross(b).atan2(a.dot(b));
            let turn = if ccw { angle } else { -angle };
            let turn = if turn < -1e-9 {
                turn + std::f64::consts::TAU
            } else {
                turn
            };
            turn / s.sweep().abs()
        }
    }
}

fn cut_end(s: &Segment, p: Point) -> Option<Segment> {
    let t = share(s, p);
    (-1e-9..=1.0 + 1e-9)
        .contains(&t)
        .then(|| with_ends(s, s.from(), p))
}

fn cut_start(s: &Segment, p: Point) -> Option<Segment> {
    let t = share(s, p);
    (-1e-9..=1.0 + 1e-9)
        .contains(&t)
        .then(|| with_ends(s, p, s.to()))
}

fn with_ends(s: &Segment, from: Point, to: Point) -> Segment {
    match *s {
        Segment::Line { .. } => Segment::Line { from, to },
        Segment::Arc {
            centre,
            radius,
            ccw,
            ..
        } => Segment::Arc {
            from,
            to,
            centre,
            radius,
            ccw,
        },
    }
}

fn check_simple(pieces: &[(usize, Segment)]) -> Result<(), DrawnError> {
    let n = pieces.len();
    for i in 0..n {
        for j in i + 1..n {
            let (a, b) = (&pieces[i].1, &pieces[j].1);
            let neighbours = j == i + 1 || (i == 0 && j == n - 1);
            let Some(at) = a.meets(b) else { continue };
            let shared = [a.from(), a.to()]
                .iter()
                .any(|p| p.distance(at) <= tol::SLIVER_MM)
                && [b.from(), b.to()]
                    .iter()
                    .any(|p| p.distance(at) <= tol::SLIVER_MM);
            if neighbours && shared {
                continue;
            }
            return Err(DrawnError::Crosses {
                first: pieces[i].0,
                second: pieces[j].0,
                at,
            });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn corner(x: f64, y: f64, radius_mm: f64) -> OutlineStep {
        OutlineStep::Corner {
            at: Point::new(x, y),
            radius_mm,
        }
    }

    #[test]
    fn a_rectangle_with_rounded_corners_loses_the_corners_area() {
        let steps = [
            corner(0.0, 0.0, 5.0),
            corner(60.0, 0.0, 5.0),
            corner(60.0, 40.0, 5.0),
            corner(0.0, 40.0, 5.0),
        ];
        let p = outline(&steps).expect("a plain rectangle");
        assert!((p.area() - (2400.0 - (4.0 - PI) * 25.0)).abs() < 1e-9);
        // Drawn the other way round it is the same loop.
        let back: Vec<_> = steps.iter().rev().cloned().collect();
        assert!((outline(&back).expect("the same").area() - p.area()).abs() < 1e-9);
    }

    #[test]
    fn roundings_that_meet_leave_no_edge_between_them() {
        let p = rounded_polygon(
            &[
                Point::new(0.0, 0.0),
                Point::new(60.0, 0.0),
                Point::new(60.0, 40.0),
                Point::new(0.0, 40.0),
            ],
            20.0,
        )
        .expect("a stadium");
        assert!((p.area() - (20.0 * 40.0 + PI * 400.0)).abs() < 1e-9);
        assert_eq!(p.segments.len(), 6);
    }

    #[test]
    fn an_arc_edge_and_a_rounding_against_it_are_tangent() {
        // A D: straight back, a half circle in front, both corners rounded.
        let steps = [
            corner(0.0, -30.0, 6.0),
            OutlineStep::ArcTo {
                at: Point::new(0.0, 30.0),
                radius_mm: 34.0,
                ccw: true,
                major: true,
            },
        ];
        let p = outline(&steps).expect("a D");
        let n = p.segments.len();
        for i in 0..n {
            let (a, b) = (&p.segments[i], &p.segments[(i + 1) % n]);
            assert_eq!(a.to(), b.from());
        }
        // The rounded corner joins smoothly on both sides.
        let smooth = (0..n)
            .filter(|&i| {
                let (a, b) = (&p.segments[i], &p.segments[(i + 1) % n]);
                a.direction(1.0).cross(b.direction(0.0)).abs() < 1e-9
            })
            .count();
        assert_eq!(smooth, 2);
    }

    #[test]
    fn faults_name_their_step() {
        let e = outline(&[corner(0.0, 0.0, 0.0), corner(1.0, 0.0, 0.0)]).expect_err("two corners");
        assert_eq!(e, DrawnError::TooFew { steps: 2 });
        let e = rounded_polygon(
            &[
                Point::new(0.0, 0.0),
                Point::new(60.0, 0.0),
                Point::new(60.0, 40.0),
            ],
            30.0,
        )
        .expect_err("too round");
        assert!(matches!(e, DrawnError::RoundingTooLarge { .. }), "{e}");
        let bow = [
            corner(0.0, 0.0, 0.0),
            corner(50.0, 50.0, 0.0),
            corner(50.0, 0.0, 0.0),
            corner(0.0, 50.0, 0.0),
        ];
        let e = outline(&bow).expect_err("a bow tie");
        assert!(matches!(e, DrawnError::Crosses { .. }), "{e}");
        let twice = [
            corner(0.0, 0.0, 0.0),
            corner(0.0, 0.0, 0.0),
            corner(50.0, 0.0, 0.0),
        ];
        assert!(matches!(
            outline(&twice),
            Err(DrawnError::NoLength { step: 1, .. })
        ));
    }
}
