//! Building an outline: attempts, openings, parts, checks.

use super::arrange::{self, Piece, Tolerance};
use super::body::Ground;
use super::bridge;
use super::carrier::{Carrier, Curve};
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
    if !(fillet_mm >= 0.0 && fillet_mm.is_finite()) {
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
                outer.push(closing::canonical(segments));
            } else if !segments.is_empty() {
                inner.push(closing::canonical(reversed(&segments)));
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
