//! The outline of united shapes with every inside corner filleted.
//!
//! All shapes are grown by the fillet radius and united; every boundary piece
//! is then moved back by that radius, and each inside corner of the grown
//! boundary becomes an arc about it. That is the closing of the union by a
//! disc: what a cutter of that radius leaves when it runs round the outside.

use crate::geom::{Path, Point, Segment};
use crate::tol;

use super::arrange::{self, Piece};
use super::check;
use super::error::OutlineError;
use super::shape::{Disc, Grown, Shape};

/// How often a pinch is filled before the construction gives up.
const MOST_FILLINGS: usize = 24;

/// A made outline.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// Outer loop, counter-clockwise.
    pub outer: Path,
    /// Openings the shapes enclose, counter-clockwise, in a fixed order.
    pub inner: Vec<Path>,
    /// Pieces the shapes fell into: always 1.
    pub pieces: usize,
}

/// Farthest a coordinate may lie from the origin, mm: beyond any plate.
const FARTHEST_MM: f64 = 1e4;

/// Unites shapes and fillets every inside corner with at least `fillet_mm`.
///
/// Where two inside corners are nearer than a cutter's width, the thin air
/// between them is filled, so that the result can be cut everywhere.
///
/// # Errors
///
/// [`OutlineError`] says why there is no outline and names shapes by index.
pub fn build(shapes: &[Shape], fillet_mm: f64) -> Result<Outline, OutlineError> {
    let loops = closed_loops(shapes, fillet_mm)?;
    sort_loops(loops, shapes)
}

/// The loops of the closing, metal on their left, pinches filled: what [`build`] sorts.
pub(super) fn closed_loops(shapes: &[Shape], fillet_mm: f64) -> Result<Vec<Path>, OutlineError> {
    validate(shapes, fillet_mm)?;
    let mut all: Vec<Shape> = shapes.iter().map(on_grid).collect();
    let mut last = String::new();
    for round in 0..=MOST_FILLINGS {
        let attempt = close(&all, fillet_mm);
        match attempt {
            Ok(loops) => match fault(&loops, fillet_mm) {
                None => return Ok(loops),
                Some((why, at)) => {
                    last = why;
                    // A little more each time, so that fillings do not chase one another.
                    let grow = 1.0 + 0.25 * round as f64;
                    all.push(Shape::Disc(Disc {
                        centre: Point::new(tol::on_input_grid(at.x), tol::on_input_grid(at.y)),
                        radius: tol::on_input_grid((fillet_mm * grow).max(0.5)),
                    }));
                }
            },
            Err(why) => return Err(OutlineError::Failed { why }),
        }
    }
    Err(OutlineError::Failed { why: last })
}

fn validate(shapes: &[Shape], fillet_mm: f64) -> Result<(), OutlineError> {
    if shapes.is_empty() {
        return Err(OutlineError::Nothing);
    }
    if !(0.0..FARTHEST_MM).contains(&fillet_mm) {
        return Err(OutlineError::Failed {
            why: format!("a fillet of {fillet_mm} mm is not a size"),
        });
    }
    for (shape, s) in shapes.iter().enumerate() {
        let size = |value: f64| {
            if value > 0.0 && value < FARTHEST_MM {
                Ok(())
            } else {
                Err(OutlineError::BadSize { shape, value })
            }
        };
        let at = |p: Point| {
            if p.x.abs() < FARTHEST_MM && p.y.abs() < FARTHEST_MM {
                Ok(())
            } else {
                Err(OutlineError::BadPosition { shape })
            }
        };
        let apart = |a: Point, b: Point| {
            if a.distance(b) > tol::INPUT_GRID_MM {
                Ok(())
            } else {
                Err(OutlineError::NoLength { shape })
            }
        };
        match s {
            Shape::Disc(d) => {
                size(d.radius)?;
                at(d.centre)?;
            }
            Shape::Taper { a, b } => {
                for d in [a, b] {
                    size(d.radius)?;
                    at(d.centre)?;
                }
                apart(a.centre, b.centre)?;
            }
            Shape::Bar { a, b, width } => {
                size(*width)?;
                at(*a)?;
                at(*b)?;
                apart(*a, *b)?;
            }
            Shape::Drawn(path) => {
                for s in &path.segments {
                    at(s.from())?;
                }
                let area = path.area();
                if !(area > 0.0 && area.is_finite()) {
                    return Err(OutlineError::NoArea { shape });
                }
            }
        }
    }
    Ok(())
}

fn on_grid(shape: &Shape) -> Shape {
    let p = |p: Point| Point::new(tol::on_input_grid(p.x), tol::on_input_grid(p.y));
    let d = |d: &Disc| Disc {
        centre: p(d.centre),
        radius: tol::on_input_grid(d.radius),
    };
    match shape {
        Shape::Disc(disc) => Shape::Disc(d(disc)),
        Shape::Taper { a, b } => Shape::Taper { a: d(a), b: d(b) },
        Shape::Bar { a, b, width } => Shape::Bar {
            a: p(*a),
            b: p(*b),
            width: *width,
        },
        // Rounding a drawn arc's parts apart would break it.
        Shape::Drawn(path) => Shape::Drawn(path.clone()),
    }
}

/// The closing's loops, as stitched.
fn close(shapes: &[Shape], fillet: f64) -> Result<Vec<Path>, String> {
    let grown: Vec<Grown> = shapes.iter().map(|s| s.grown(fillet)).collect();
    let boundary = arrange::union(&grown)?;
    boundary
        .loops
        .iter()
        .map(|l| shrink(l, fillet))
        .filter(|p| p.as_ref().map_or(true, |p| p.segments.len() > 0))
        .collect()
}

/// A piece moved back by the fillet radius; an arc that shrinks to its centre becomes that point.
enum Back {
    Piece(Segment),
    Corner,
}

fn moved_back(s: &Segment, by: f64) -> Back {
    match *s {
        Segment::Line { from, to } => {
            let inward = s.direction(0.0).left() * by;
            Back::Piece(Segment::Line {
                from: from + inward,
                to: to + inward,
            })
        }
        Segment::Arc {
            from,
            to,
            centre,
            radius,
            ccw,
        } => {
            let r = if ccw { radius - by } else { radius + by };
            if r <= tol::INPUT_GRID_MM * 0.5 {
                return Back::Corner;
            }
            // The authored radius comes back without the rounding of adding and taking off.
            let r = (r / tol::INPUT_GRID_MM).round() * tol::INPUT_GRID_MM;
            let k = r / radius;
            let start = centre + (from - centre) * k;
            Back::Piece(Segment::Arc {
                from: start,
                to: if from == to {
                    start
                } else {
                    centre + (to - centre) * k
                },
                centre,
                radius: r,
                ccw,
            })
        }
    }
}

/// Sine of the turn below which two pieces join smoothly.
///
/// Tangent joins meet to about 1e-7 rad after snapping.
const SMOOTH: f64 = 2e-6;

/// Moves a loop of the grown boundary back and puts the fillets in.
fn shrink(pieces: &[Piece], fillet: f64) -> Result<Path, String> {
    let merged = merge(pieces);
    let n = merged.len();
    if n == 1 && merged[0].is_full_circle() {
        return Ok(match moved_back(&merged[0], fillet) {
            Back::Piece(s) => Path::new(vec![s]),
            Back::Corner => Path::new(Vec::new()),
        });
    }
    let mut out: Vec<Segment> = Vec::with_capacity(2 * n);
    for (i, s) in merged.iter().enumerate() {
        if let Back::Piece(s) = moved_back(s, fillet) {
            out.push(s);
        }
        let next = &merged[(i + 1) % n];
        let (d, e) = (s.direction(1.0), next.direction(0.0));
        let turn = d.cross(e);
        let inside_corner = turn < -SMOOTH || (turn <= SMOOTH && d.dot(e) < 0.0);
        if inside_corner && fillet > 0.0 {
            let vertex = s.to();
            let end = |s: &Segment, last: bool| match moved_back(s, fillet) {
                Back::Piece(p) => {
                    if last {
                        p.to()
                    } else {
                        p.from()
                    }
                }
                Back::Corner => match *s {
                    Segment::Arc { centre, .. } => centre,
                    Segment::Line { from, .. } => from,
                },
            };
            out.push(Segment::Arc {
                from: end(s, true),
                to: end(next, false),
                centre: vertex,
                radius: fillet,
                ccw: false,
            });
        }
    }
    out.retain(|s| s.length() > tol::SLIVER_MM);
    chain(&mut out)?;
    Ok(Path::new(out))
}

/// Joins neighbouring pieces of one carrier.
fn merge(pieces: &[Piece]) -> Vec<Segment> {
    let mut pieces: Vec<Piece> = pieces.to_vec();
    // Start where the carrier changes, so that no run is split by the seam.
    let n = pieces.len();
    if let Some(k) = (0..n).find(|&k| pieces[k].carrier != pieces[(k + n - 1) % n].carrier) {
        pieces.rotate_left(k);
    }
    let mut out: Vec<(usize, Segment)> = Vec::with_capacity(n);
    for p in pieces {
        match out.last_mut() {
            Some((carrier, s)) if *carrier == p.carrier && s.to() == p.segment.from() => {
                set_end(s, p.segment.to());
            }
            _ => out.push((p.carrier, p.segment)),
        }
    }
    if out.len() == 1 {
        // A whole circle cut at vertices that turned out to be covered.
        if let Segment::Arc {
            centre,
            radius,
            ccw,
            ..
        } = out[0].1
        {
            let c = Segment::circle(centre, radius);
            return vec![if ccw { c } else { c.reversed() }];
        }
    }
    out.into_iter().map(|(_, s)| s).collect()
}

fn set_end(s: &mut Segment, end: Point) {
    match s {
        Segment::Line { to, .. } | Segment::Arc { to, .. } => *to = end,
    }
}

fn set_start(s: &mut Segment, start: Point) {
    match s {
        Segment::Line { from, .. } | Segment::Arc { from, .. } => *from = start,
    }
}

/// How far two pieces' ends may lie apart and still be one point, mm.
///
/// Dropped slivers are up to [`tol::SLIVER_MM`] long, two may follow each other.
const CHAIN_MM: f64 = 4.0 * tol::SLIVER_MM;

/// Makes every piece end exactly where the next one starts.
fn chain(pieces: &mut [Segment]) -> Result<(), String> {
    let n = pieces.len();
    for i in 0..n {
        let j = (i + 1) % n;
        let (end, start) = (pieces[i].to(), pieces[j].from());
        let gap = end.distance(start);
        if gap > CHAIN_MM {
            return Err(format!(
                "a gap of {gap:.6} mm at ({:.4}, {:.4})",
                end.x, end.y
            ));
        }
        // An arc's end is on its circle; a line can follow.
        if matches!(pieces[i], Segment::Arc { .. }) && n > 1 {
            set_start(&mut pieces[j], end);
        } else {
            set_end(&mut pieces[i], start);
        }
    }
    Ok(())
}

/// What is wrong with the loops and where, so that it can be filled.
fn fault(loops: &[Path], fillet: f64) -> Option<(String, Point)> {
    for l in loops {
        if let Err(f) = check::shape(l, fillet) {
            return Some((f.why, f.at));
        }
    }
    for (i, a) in loops.iter().enumerate() {
        for b in &loops[i + 1..] {
            let g = a.gap(b);
            if g.distance <= check::CONTACT_MM {
                return Some(("two loops touch".to_owned(), g.a.midpoint(g.b)));
            }
        }
    }
    None
}

/// Sorts loops into the outer one and openings; more than one outer loop is an error.
fn sort_loops(loops: Vec<Path>, shapes: &[Shape]) -> Result<Outline, OutlineError> {
    let (outer, mut inner): (Vec<Path>, Vec<Path>) =
        loops.into_iter().partition(|l| l.area() > 0.0);
    if outer.len() > 1 {
        let groups = outer
            .iter()
            .map(|l| {
                (0..shapes.len())
                    .filter(|&i| l.contains(shapes[i].inside()))
                    .collect()
            })
            .collect();
        return Err(OutlineError::NotConnected { groups });
    }
    inner = inner.iter().map(Path::reversed).collect();
    inner.sort_by(|a, b| {
        let key = |p: &Path| p.extents().min;
        (key(a).x, key(a).y)
            .partial_cmp(&(key(b).x, key(b).y))
            .unwrap_or(std::cmp::Ordering::Equal)
    });
    match outer.into_iter().next() {
        Some(outer) => Ok(Outline {
            outer,
            inner,
            pieces: 1,
        }),
        None => Err(OutlineError::Failed {
            why: "no outer loop".to_owned(),
        }),
    }
}
