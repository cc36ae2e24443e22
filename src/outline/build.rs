//! Building an outline: attempts, openings, parts, checks.

use super::arrange::{self, Piece, Tolerance};
use super::body::Ground;
use super::bridge;
use super::carrier::{Carrier, Curve};
use super::chain;
use super::closing::{self, Fillet};
use super::error::OutlineError;
use super::shape::{Disc, Shape};
use crate::geom::{Path, Point, Segment};
use crate::tol;

/// Fillet radii below this are raised to it, mm.
///
/// Half the kerf of a fine laser cut: no process leaves a sharper inner
/// corner (common practice, no source).
pub const SMALLEST_FILLET_MM: f64 = 0.1;

/// Largest fillet radius, mm: a metre, more than any bracket's own corner.
pub const LARGEST_FILLET_MM: f64 = 1e3;

/// An outline as lines and arcs.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// The outer loop, counter-clockwise.
    pub outer: Path,
    /// Openings that the shapes enclose and the cutter fits into, each counter-clockwise.
    pub inner: Vec<Path>,
    /// Into how many parts the shapes fall before the fillets join them: 1 unless
    /// a gap narrower than the cutter is all that parts them.
    pub pieces: usize,
    /// Metal added where the cutter would have left a bridge with cusps or next
    /// to no width: the outline is the closing of the shapes and these together.
    pub bridges: Vec<Disc>,
}

/// Attempts in order: how much is added to the fillet radius, mm, and the tolerances.
///
/// The first serves all but a few in a million; a radius a hair larger moves
/// every coincidence of three curves apart.
const ATTEMPTS: [(f64, Tolerance); 5] = [
    (
        0.0,
        Tolerance {
            snap: tol::SNAP_MM,
            tie: 0.1 * tol::SNAP_MM,
        },
    ),
    (
        0.0,
        Tolerance {
            snap: 0.1 * tol::SNAP_MM,
            tie: 0.01 * tol::SNAP_MM,
        },
    ),
    (
        1.7e-4,
        Tolerance {
            snap: tol::SNAP_MM,
            tie: 0.1 * tol::SNAP_MM,
        },
    ),
    (
        4.1e-4,
        Tolerance {
            snap: tol::SNAP_MM,
            tie: 0.1 * tol::SNAP_MM,
        },
    ),
    (
        9.7e-4,
        Tolerance {
            snap: tol::SNAP_MM,
            tie: 0.1 * tol::SNAP_MM,
        },
    ),
];

/// Rounds of filling before an attempt is given up.
const ROUNDS: usize = 40;

/// Builds the outline of `shapes`, concave corners filleted to at least `fillet_mm`.
///
/// Input lengths are rounded to [`tol::INPUT_GRID_MM`], drawn loops excepted.
/// Arcs keep the rounded centre and radius bit for bit. `fillet_mm` below
/// [`SMALLEST_FILLET_MM`] is raised to it.
///
/// Gaps narrower than twice the fillet radius are filled (no cutter passes);
/// a gap just as wide stays open.
///
/// # Errors
///
/// [`OutlineError`] names the shape that cannot be used, the parts that do not
/// hang together, or the check that the result did not pass.
pub fn build(shapes: &[Shape], fillet_mm: f64) -> Result<Outline, OutlineError> {
    if !(0.0..=LARGEST_FILLET_MM).contains(&fillet_mm) {
        return Err(OutlineError::FilletNotUsable { fillet_mm });
    }
    if shapes.is_empty() {
        return Err(OutlineError::NothingGiven);
    }
    let admitted = shapes
        .iter()
        .enumerate()
        .map(|(k, s)| s.admitted(k))
        .collect::<Result<Vec<_>, _>>()?;
    let fillet_mm = fillet_mm.max(SMALLEST_FILLET_MM);
    let mut failed = String::new();
    for (extra, tolerance) in ATTEMPTS {
        match attempt(&admitted, fillet_mm + extra, tolerance) {
            Ok(outline) => return Ok(outline),
            Err(Failure::Parts(loops)) => {
                return Err(OutlineError::NotConnected {
                    pieces: parts(&admitted, &loops),
                });
            }
            Err(Failure::Check(check)) => failed = check,
        }
    }
    Err(OutlineError::ConstructionFailed { check: failed })
}

/// Loops of a closing that may fall into several parts.
pub(super) struct Loops {
    /// Loops round metal, counter-clockwise.
    pub(super) outer: Vec<Path>,
    /// Loops round openings, counter-clockwise.
    pub(super) inner: Vec<Path>,
}

/// The closing of `shapes` by a disc of `fillet_mm`, in however many parts it is.
///
/// # Errors
///
/// As [`build`], but loose parts are none.
pub(super) fn loops(shapes: &[Shape], fillet_mm: f64) -> Result<Loops, OutlineError> {
    let admitted = shapes
        .iter()
        .enumerate()
        .map(|(k, s)| s.admitted(k))
        .collect::<Result<Vec<_>, _>>()?;
    let fillet_mm = fillet_mm.max(SMALLEST_FILLET_MM);
    let mut failed = String::new();
    for (extra, tolerance) in ATTEMPTS {
        match closing(&admitted, fillet_mm + extra, tolerance, true) {
            Ok((loops, _)) => return Ok(loops),
            Err(Failure::Check(check)) => failed = check,
            Err(Failure::Parts(_)) => {}
        }
    }
    Err(OutlineError::ConstructionFailed { check: failed })
}

enum Failure {
    /// More than one outer loop.
    Parts(Vec<Path>),
    /// A check that failed.
    Check(String),
}

fn attempt(shapes: &[Shape], radius: f64, tolerance: Tolerance) -> Result<Outline, Failure> {
    let (mut loops, fills) = closing(shapes, radius, tolerance, false)?;
    let Some(outer) = loops.outer.pop() else {
        return Err(Failure::Check("no outer loop was found".to_owned()));
    };
    let outline = Outline {
        outer,
        inner: loops.inner,
        pieces: super::connect::parts(shapes),
        bridges: fills,
    };
    super::invariants::check_outline(&outline, radius).map_err(Failure::Check)?;
    Ok(outline)
}

/// The loops of the closing, pinches filled, and what filled them.
fn closing(
    shapes: &[Shape],
    radius: f64,
    tolerance: Tolerance,
    may_fall_apart: bool,
) -> Result<(Loops, Vec<Disc>), Failure> {
    let mut fills: Vec<Disc> = Vec::new();
    for _ in 0..ROUNDS {
        let added: Vec<Shape> = fills.iter().map(|&d| Shape::Disc(d)).collect();
        let ground = Ground::new(shapes.iter().chain(&added), radius);
        let loops = arrange::loops(&ground, tolerance).map_err(Failure::Check)?;
        let mut fillets: Vec<Fillet> = Vec::with_capacity(16);
        let mut outer: Vec<Path> = Vec::with_capacity(1);
        let mut inner: Vec<Path> = Vec::new();
        for pieces in &loops {
            let room = room(&ground.carriers, pieces);
            if room.is_none() {
                continue;
            }
            let segments = closing::moved_in(
                &ground.carriers,
                pieces,
                radius,
                tolerance.tie,
                &mut fillets,
            )
            .map_err(Failure::Check)?;
            if room == Some(true) {
                outer.push(chain::canonical(segments));
            } else if !segments.is_empty() {
                inner.push(chain::canonical(reversed(&segments)));
            }
        }
        if outer.len() > 1 && !may_fall_apart {
            return Err(Failure::Parts(outer));
        }
        if bridge::fill(&fillets, radius, &mut fills) {
            continue;
        }
        inner.sort_by(|a, b| {
            start(a)
                .x
                .total_cmp(&start(b).x)
                .then(start(a).y.total_cmp(&start(b).y))
        });
        return Ok((Loops { outer, inner }, fills));
    }
    Err(Failure::Check("bridges could not be filled".to_owned()))
}

fn start(p: &Path) -> Point {
    p.segments.first().map_or(Point::ORIGIN, Segment::from)
}

fn reversed(segments: &[Segment]) -> Vec<Segment> {
    segments.iter().rev().map(Segment::reversed).collect()
}

/// Whether a loop of the grown union runs round metal (`true`) or round room for the
/// cutter's centre (`false`); `None` where that room is none.
fn room(carriers: &[Carrier], pieces: &[Piece]) -> Option<bool> {
    let loop_path = Path::new(
        pieces
            .iter()
            .map(|p| match carriers[p.carrier].curve {
                Curve::Line(_) => Segment::Line {
                    from: p.from,
                    to: p.to,
                },
                Curve::Arc(a) => Segment::Arc {
                    from: p.from,
                    to: p.to,
                    centre: a.centre,
                    radius: a.radius,
                    ccw: a.ccw,
                },
            })
            .collect(),
    );
    let (area, length) = (loop_path.area(), loop_path.length());
    if area.abs() > length * tol::SLIVER_MM {
        Some(area > 0.0)
    } else {
        None
    }
}

/// Which shapes belong to which part.
fn parts(shapes: &[Shape], loops: &[Path]) -> Vec<Vec<usize>> {
    let mut out = vec![Vec::new(); loops.len()];
    for (k, s) in shapes.iter().enumerate() {
        let Some(p) = s.reference_points().into_iter().next() else {
            continue;
        };
        let home = (0..loops.len())
            .filter(|&l| loops[l].contains(p) || loops[l].nearest(p).distance(p) < tol::SLIVER_MM)
            .min_by(|&a, &b| loops[a].area().total_cmp(&loops[b].area()));
        if let Some(l) = home {
            out[l].push(k);
        }
    }
    out.sort();
    out
}

#[cfg(test)]
mod tests {
    use super::super::{check_outline, hull};
    use super::*;
    use std::f64::consts::PI;

    fn disc(x: f64, y: f64, r: f64) -> Disc {
        Disc::new(Point::new(x, y), r)
    }

    fn boss(x: f64, y: f64, r: f64) -> Shape {
        Shape::Disc(disc(x, y, r))
    }

    fn web(a: Disc, b: Disc) -> Shape {
        Shape::Taper { a, b }
    }

    fn built(shapes: &[Shape], fillet_mm: f64) -> Outline {
        let o = build(shapes, fillet_mm).unwrap();
        assert_eq!(check_outline(&o, fillet_mm), Ok(()));
        o
    }

    #[test]
    fn a_single_boss_is_one_full_circle_with_its_centre_and_radius() {
        let o = built(&[boss(12.5, -7.25, 18.0)], 5.0);
        assert_eq!(o.outer, Path::circle(Point::new(12.5, -7.25), 18.0));
        assert_eq!((o.inner.len(), o.pieces, o.bridges.len()), (0, 1, 0));
    }

    #[test]
    fn two_discs_that_touch_join_by_two_fillets() {
        let (r, f) = (20.0, 5.0);
        let o = built(&[boss(0.0, 0.0, r), boss(2.0 * r, 0.0, r)], f);
        // Kite between the centres and the cutter's, less the sectors in it, twice.
        let half = ((r + f) * (r + f) - r * r).sqrt();
        let a = (half / (r + f)).asin();
        let gusset = r * half - a * r * r - (PI / 2.0 - a) * f * f;
        assert!((o.outer.area() - 2.0 * PI * r * r - 2.0 * gusset).abs() < 1e-9);
        assert_eq!((o.outer.segments.len(), o.pieces), (4, 1));
    }

    #[test]
    fn a_gap_as_wide_as_the_cutter_stays_open_and_a_narrower_one_is_closed() {
        let frame = |gap: f64| {
            let corners = [
                disc(0.0, 0.0, 10.0),
                disc(20.0 + gap, 0.0, 10.0),
                disc(20.0 + gap, 100.0, 10.0),
                disc(0.0, 100.0, 10.0),
            ];
            [
                web(corners[0], corners[3]),
                web(corners[1], corners[2]),
                web(corners[2], corners[3]),
            ]
        };
        let open = built(&frame(10.0), 5.0);
        let closed = built(&frame(9.9), 5.0);
        assert!((closed.outer.area() - open.outer.area() - 90.0 * 9.9).abs() < 100.0);
    }

    #[test]
    fn a_ring_of_webs_encloses_an_opening_with_cutter_corners() {
        let c = [
            disc(0.0, 0.0, 10.0),
            disc(100.0, 0.0, 10.0),
            disc(100.0, 80.0, 10.0),
            disc(0.0, 80.0, 10.0),
        ];
        let frame = [
            web(c[0], c[1]),
            web(c[1], c[2]),
            web(c[2], c[3]),
            web(c[3], c[0]),
        ];
        let o = built(&frame, 6.0);
        assert_eq!(o.inner.len(), 1);
        let opening = 80.0 * 60.0 - (4.0 - PI) * 36.0;
        assert!((o.inner[0].area() - opening).abs() < 1e-9);
        assert_eq!(o.inner[0].segments.len(), 8);
        assert!(
            built(&frame, 30.5).inner.is_empty(),
            "no cutter of 61 mm fits"
        );
    }

    #[test]
    fn a_pinched_gap_is_bridged_wide_enough() {
        // Two bosses 0.95 cutter diameters apart on a frame: the cutter comes from both sides and meets itself.
        let (r, f, gap) = (20.0, 5.0, 9.5);
        let c = [disc(0.0, 0.0, r), disc(2.0 * r + gap, 0.0, r)];
        let far = [disc(0.0, 120.0, 8.0), disc(2.0 * r + gap, 120.0, 8.0)];
        let shapes = [
            Shape::Disc(c[0]),
            Shape::Disc(c[1]),
            web(disc(0.0, 0.0, 8.0), far[0]),
            web(far[0], far[1]),
            web(far[1], disc(2.0 * r + gap, 0.0, 8.0)),
        ];
        let o = built(&shapes, f);
        assert_eq!((o.inner.len(), o.bridges.len()), (1, 1));
        let middle = Point::new(r + 0.5 * gap, 0.0);
        let across =
            o.outer.nearest(middle).distance(middle) + o.inner[0].nearest(middle).distance(middle);
        assert!(across > f - 1e-6, "bridge of {across} mm");
    }

    #[test]
    fn drawn_corners_stay_sharp_outside_and_get_the_cutter_radius_inside() {
        let ell = Path::polygon(&[
            Point::new(0.0, 0.0),
            Point::new(60.0, 0.0),
            Point::new(60.0, 20.0),
            Point::new(20.0, 20.0),
            Point::new(20.0, 50.0),
            Point::new(0.0, 50.0),
        ]);
        let o = built(&[Shape::Drawn(ell.reversed())], 4.0);
        assert!((o.outer.area() - 1800.0 - (4.0 - PI) * 4.0).abs() < 1e-9);
        assert_eq!(o.outer.segments.len(), 7);
        assert_eq!(o.outer.segments[0].from(), Point::ORIGIN);
    }

    #[test]
    fn a_drawn_concave_radius_no_smaller_than_the_cutter_is_kept() {
        let slot = Path::arc_slot(Point::new(-30.0, 0.0), 30.0, 0.0, 1.5, 6.0);
        for f in [5.0, 23.9, 24.0] {
            let o = built(&[Shape::Drawn(slot.clone())], f);
            assert!((o.outer.area() - slot.area()).abs() < 1e-9, "{f}");
        }
        assert!(built(&[Shape::Drawn(slot.clone())], 30.0).outer.area() > slot.area() + 1.0);
    }

    #[test]
    fn a_bar_between_bosses_is_as_wide_as_told() {
        let bar = Shape::Bar {
            a: Point::ORIGIN,
            b: Point::new(100.0, 0.0),
            width: 12.0,
        };
        let o = built(&[boss(0.0, 0.0, 15.0), boss(100.0, 0.0, 15.0), bar], 5.0);
        let middle = Point::new(50.0, 0.0);
        assert!((o.outer.nearest(middle).distance(middle) - 6.0).abs() < 1e-12);
    }

    #[test]
    fn a_web_within_the_larger_boss_adds_nothing() {
        let (large, small) = (disc(0.0, 0.0, 30.0), disc(10.0, 5.0, 10.0));
        let o = built(&[web(large, small)], 5.0);
        assert_eq!(o.outer, Path::circle(Point::ORIGIN, 30.0));
    }

    #[test]
    fn a_hull_over_its_own_bosses_is_the_hull() {
        let discs = [
            disc(0.0, 0.0, 20.0),
            disc(50.0, 20.0, 10.0),
            disc(0.0, 60.0, 15.0),
            disc(20.0, 20.0, 9.0),
        ];
        let path = hull(&discs);
        let mut shapes: Vec<Shape> = discs.iter().map(|&d| Shape::Disc(d)).collect();
        shapes.push(Shape::Drawn(path.clone()));
        let o = built(&shapes, 5.0);
        assert!((o.outer.area() - path.area()).abs() < 1e-9);
        assert_eq!(o.outer.segments.len(), 6);
    }

    #[test]
    fn shapes_nearer_than_the_cutter_are_one_outline_of_two_pieces() {
        let o = built(&[boss(0.0, 0.0, 20.0), boss(42.0, 0.0, 20.0)], 5.0);
        assert_eq!(o.pieces, 2);
    }

    #[test]
    fn separate_shapes_are_named_part_by_part() {
        let shapes = [
            boss(0.0, 0.0, 20.0),
            boss(200.0, 0.0, 20.0),
            boss(30.0, 0.0, 20.0),
            boss(0.0, 300.0, 8.0),
        ];
        let pieces = vec![vec![0, 2], vec![1], vec![3]];
        assert_eq!(
            build(&shapes, 5.0),
            Err(OutlineError::NotConnected { pieces })
        );
    }

    #[test]
    fn an_island_in_an_opening_is_a_part_of_its_own() {
        let c = [
            disc(0.0, 0.0, 8.0),
            disc(100.0, 0.0, 8.0),
            disc(100.0, 80.0, 8.0),
            disc(0.0, 80.0, 8.0),
        ];
        let shapes = [
            web(c[0], c[1]),
            web(c[1], c[2]),
            web(c[2], c[3]),
            web(c[3], c[0]),
            boss(50.0, 40.0, 10.0),
        ];
        let pieces = vec![vec![0, 1, 2, 3], vec![4]];
        assert_eq!(
            build(&shapes, 5.0),
            Err(OutlineError::NotConnected { pieces })
        );
    }

    #[test]
    fn unusable_input_is_refused_by_shape() {
        let nan = f64::NAN;
        assert_eq!(build(&[], 5.0), Err(OutlineError::NothingGiven));
        assert!(matches!(
            build(&[boss(0.0, 0.0, 9.0)], nan),
            Err(OutlineError::FilletNotUsable { .. })
        ));
        assert!(matches!(
            build(&[boss(0.0, 0.0, 9.0)], -1.0),
            Err(OutlineError::FilletNotUsable { .. })
        ));
        let second = |s: Shape| build(&[boss(0.0, 0.0, 9.0), s], 5.0).unwrap_err();
        assert_eq!(
            second(boss(nan, 0.0, 9.0)),
            OutlineError::NotANumber { shape: 1 }
        );
        assert_eq!(
            second(boss(0.0, 1e6, 9.0)),
            OutlineError::TooFar { shape: 1 }
        );
        let no_radius = OutlineError::RadiusNotPositive {
            shape: 1,
            radius_mm: 0.0,
        };
        assert_eq!(second(boss(0.0, 0.0, 4e-5)), no_radius);
        let d = disc(5.0, 5.0, 9.0);
        assert_eq!(
            second(web(d, disc(5.0, 5.0, 12.0))),
            OutlineError::CoincidentEnds { shape: 1 }
        );
        let bar = |b: Point, width: f64| Shape::Bar {
            a: Point::ORIGIN,
            b,
            width,
        };
        assert_eq!(
            second(bar(Point::ORIGIN, 3.0)),
            OutlineError::CoincidentEnds { shape: 1 }
        );
        let no_width = OutlineError::WidthNotPositive {
            shape: 1,
            width_mm: -3.0,
        };
        assert_eq!(second(bar(Point::new(9.0, 0.0), -3.0)), no_width);
    }

    #[test]
    fn unusable_drawn_loops_are_refused_with_the_piece() {
        let refused = |p: Path| build(&[Shape::Drawn(p)], 5.0).unwrap_err();
        let p = |x: f64, y: f64| Point::new(x, y);
        assert_eq!(
            refused(Path::new(vec![])),
            OutlineError::DrawnEmpty { shape: 0, piece: 0 }
        );
        let twice = Path::polygon(&[p(0.0, 0.0), p(9.0, 0.0), p(9.0, 0.0), p(0.0, 9.0)]);
        assert_eq!(
            refused(twice),
            OutlineError::DrawnEmpty { shape: 0, piece: 1 }
        );
        let mut open = Path::polygon(&[p(0.0, 0.0), p(9.0, 0.0), p(9.0, 9.0)]);
        open.segments[1] = Segment::Line {
            from: p(9.0, 0.5),
            to: p(9.0, 9.0),
        };
        assert!(matches!(
            refused(open),
            OutlineError::DrawnOpen { piece: 1, .. }
        ));
        let bow = Path::polygon(&[p(0.0, 0.0), p(10.0, 10.0), p(10.0, 0.0), p(0.0, 10.0)]);
        match refused(bow) {
            OutlineError::DrawnCrossesItself {
                first: 0,
                second: 2,
                at,
                ..
            } => {
                assert!(at.distance(p(5.0, 5.0)) < 1e-9);
            }
            e => panic!("{e}"),
        }
        let off = Segment::Arc {
            from: p(0.0, 0.0),
            to: p(10.0, 0.0),
            centre: p(5.0, 1.0),
            radius: 5.0,
            ccw: true,
        };
        let arc = Path::new(vec![
            off,
            Segment::Line {
                from: p(10.0, 0.0),
                to: p(0.0, 0.0),
            },
        ]);
        assert!(matches!(
            refused(arc),
            OutlineError::DrawnArcOff { piece: 0, .. }
        ));
    }
}
