//! Drawn loops: admission, and how deep a point lies in one grown by the cutter radius.

use super::carrier::{self, Carrier};
use super::error::OutlineError;
use super::shape::FARTHEST_MM;
use crate::geom::{Path, Point, Segment, Vector};
use crate::tol;

/// How far an arc's ends may lie off its circle, mm.
///
/// A file that gives points to 1e-6 mm and a radius to match is within it.
const ARC_END_MM: f64 = 1e-5;

/// Checks a drawn loop and returns it counter-clockwise, its ends chained bit for bit.
pub(super) fn admitted(path: &Path, shape: usize) -> Result<Path, OutlineError> {
    let n = path.segments.len();
    if n == 0 {
        return Err(OutlineError::DrawnEmpty { shape, piece: 0 });
    }
    let mut segments = Vec::with_capacity(n);
    for (piece, s) in path.segments.iter().enumerate() {
        admitted_piece(s, piece, shape)?;
        let start = s.from();
        let before = path.segments[(piece + n - 1) % n].to();
        let gap_mm = before.distance(start);
        if gap_mm > tol::SNAP_MM {
            return Err(OutlineError::DrawnOpen {
                shape,
                piece,
                gap_mm,
            });
        }
        let end = path.segments[(piece + 1) % n].from();
        segments.push(with_end(s, if n == 1 { s.to() } else { end }));
    }
    let chained = Path::new(segments);
    crosses_itself(&chained, shape)?;
    if chained.area().abs() < chained.length() * tol::SLIVER_MM {
        return Err(OutlineError::DrawnFlat { shape });
    }
    Ok(chained.oriented(true))
}

fn with_end(s: &Segment, end: Point) -> Segment {
    match *s {
        Segment::Line { from, .. } => Segment::Line { from, to: end },
        Segment::Arc {
            from,
            centre,
            radius,
            ccw,
            ..
        } => Segment::Arc {
            from,
            to: end,
            centre,
            radius,
            ccw,
        },
    }
}

fn admitted_piece(s: &Segment, piece: usize, shape: usize) -> Result<(), OutlineError> {
    let (from, to) = (s.from(), s.to());
    let mut values = [from.x, from.y, to.x, to.y, 0.0, 0.0, 0.0];
    if let Segment::Arc { centre, radius, .. } = *s {
        values[4..].copy_from_slice(&[centre.x, centre.y, radius]);
    }
    if values.iter().any(|v| !v.is_finite()) {
        return Err(OutlineError::NotANumber { shape });
    }
    if values.iter().any(|v| v.abs() > FARTHEST_MM) {
        return Err(OutlineError::TooFar { shape });
    }
    let Segment::Arc { centre, radius, .. } = *s else {
        return if from.distance(to) < tol::SLIVER_MM {
            Err(OutlineError::DrawnEmpty { shape, piece })
        } else {
            Ok(())
        };
    };
    if radius <= 0.0 {
        return Err(OutlineError::RadiusNotPositive {
            shape,
            radius_mm: radius,
        });
    }
    if from != to && from.distance(to) < tol::SLIVER_MM {
        return Err(OutlineError::DrawnEmpty { shape, piece });
    }
    let off_mm = (from.distance(centre) - radius)
        .abs()
        .max((to.distance(centre) - radius).abs());
    if off_mm > ARC_END_MM {
        return Err(OutlineError::DrawnArcOff {
            shape,
            piece,
            off_mm,
        });
    }
    Ok(())
}

fn crosses_itself(path: &Path, shape: usize) -> Result<(), OutlineError> {
    let found = super::invariants::self_contact(&path.segments, tol::SNAP_MM);
    found.map_or(Ok(()), |(first, second, at)| {
        Err(OutlineError::DrawnCrossesItself {
            shape,
            first,
            second,
            at,
        })
    })
}

/// A drawn loop prepared for fast distance and inside tests.
#[derive(Debug)]
pub(super) struct LoopBody {
    pieces: Vec<Carrier>,
    runs: Vec<Run>,
}

/// A stretch of the loop on which y only rises or only falls.
#[derive(Debug, Clone, Copy)]
struct Run {
    from: Point,
    to: Point,
    /// Centre, radius and whether the stretch is the right half of the circle.
    arc: Option<(Point, f64, bool)>,
}

impl LoopBody {
    pub(super) fn new(path: &Path) -> Self {
        let mut runs = Vec::with_capacity(2 * path.segments.len());
        for s in &path.segments {
            push_runs(s, &mut runs);
        }
        Self {
            pieces: path
                .segments
                .iter()
                .map(|s| Carrier::of_segment(s, 0.0))
                .collect(),
            runs,
        }
    }

    /// Whether `p` lies deeper than `tie` in the loop grown by `growth` (greater than `tie`).
    pub(super) fn covers(&self, p: Point, growth: f64, tie: f64) -> bool {
        let reach = growth - tie;
        self.pieces.iter().any(|c| c.is_within(p, reach)) || self.contains(p)
    }

    /// Whether `p` lies inside the loop: crossings of the ray from `p` to the right.
    fn contains(&self, p: Point) -> bool {
        let mut inside = false;
        for run in &self.runs {
            // Half open in y, so that a shared end counts once.
            if (run.from.y > p.y) == (run.to.y > p.y) {
                continue;
            }
            let x = match run.arc {
                None => {
                    run.from.x
                        + (p.y - run.from.y) / (run.to.y - run.from.y) * (run.to.x - run.from.x)
                }
                Some((c, r, right)) => {
                    let h = ((r - (p.y - c.y)) * (r + (p.y - c.y))).max(0.0).sqrt();
                    if right { c.x + h } else { c.x - h }
                }
            };
            inside ^= x > p.x;
        }
        inside
    }
}

/// Splits a piece where y turns.
fn push_runs(s: &Segment, runs: &mut Vec<Run>) {
    let Segment::Arc {
        from,
        to,
        centre,
        radius,
        ccw,
    } = *s
    else {
        runs.push(Run {
            from: s.from(),
            to: s.to(),
            arc: None,
        });
        return;
    };
    let top = centre + Vector::new(0.0, radius);
    let bottom = centre - Vector::new(0.0, radius);
    // Counter-clockwise the right half rises; the turns met in order of travel.
    let (a, b) = if ccw { (from, to) } else { (to, from) };
    let whole = from == to;
    let ray = |p: Point| p - centre;
    let key = |p: Point| carrier::turn_key(ray(a), ray(p));
    let end = if whole { 4.0 } else { key(b) };
    let mut stops: Vec<(f64, Point)> = [top, bottom]
        .into_iter()
        .map(|p| (key(p), p))
        .filter(|&(k, _)| k > 0.0 && k < end)
        .collect();
    stops.sort_by(|x, y| x.0.total_cmp(&y.0));
    let mut at = a;
    for p in stops.into_iter().map(|(_, p)| p).chain([b]) {
        // Half-way between two turns at most a quarter turn is left to either, so the side is plain.
        let right = carrier::bisector(ray(at), ray(p)).x > 0.0;
        runs.push(Run {
            from: at,
            to: p,
            arc: Some((centre, radius, right)),
        });
        at = p;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn inside_agrees_with_the_winding_angle() {
        let loops = [
            Path::arc_slot(Point::new(1.0, 2.0), 40.0, 0.3, 4.9, 9.0),
            Path::slot(Point::new(-20.0, 0.0), Point::new(20.0, 0.0), 12.0),
            Path::slot(Point::new(0.0, -20.0), Point::new(0.0, 20.0), 12.0),
            Path::circle(Point::new(3.0, -2.0), 31.0),
            Path::polygon(
                &[(-30.0, -30.0), (30.0, -30.0), (0.0, 0.0), (30.0, 30.0)]
                    .map(|(x, y)| Point::new(x, y)),
            ),
        ];
        for path in &loops {
            let body = LoopBody::new(path);
            for i in -55..=55 {
                for j in -55..=55 {
                    // Whole millimetres meet turns and corners; the shift keeps off the boundary.
                    let p = Point::new(f64::from(i) + 0.013, f64::from(j));
                    if path.nearest(p).distance(p) > 1e-6 {
                        assert_eq!(body.contains(p), path.contains(p), "{p:?} {path:?}");
                    }
                }
            }
        }
    }
}
