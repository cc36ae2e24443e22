//! The checks every made outline has to pass.

use crate::geom::{Path, Point, Segment};

/// Parts of a boundary nearer than this touch, mm.
///
/// A tenth of a micron: below any machine's step, far above rounding.
pub const CONTACT_MM: f64 = 1e-4;

/// Sine of the turn below which two pieces count as a smooth join.
const SMOOTH: f64 = 1e-4;

/// What is wrong with a loop and where.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// In words.
    pub why: String,
    /// Where.
    pub at: Point,
}

/// Checks a loop with the metal on its left: chained, simple, every inside corner rounded by at least `fillet_mm`.
///
/// # Errors
///
/// The first [`Fault`] found.
pub fn shape(path: &Path, fillet_mm: f64) -> Result<(), Fault> {
    let n = path.segments.len();
    let fail = |why: &str, at: Point| {
        Err(Fault {
            why: why.to_owned(),
            at,
        })
    };
    for (i, s) in path.segments.iter().enumerate() {
        if let Segment::Arc {
            radius,
            ccw: false,
            from,
            ..
        } = *s
        {
            if radius < fillet_mm - 1e-9 {
                return fail("an inside corner is tighter than the cutter", from);
            }
        }
        let next = &path.segments[(i + 1) % n];
        if s.to() != next.from() {
            return fail("the loop is not chained", s.to());
        }
        if n > 1 && fillet_mm > 0.0 {
            let (d, e) = (s.direction(1.0), next.direction(0.0));
            if d.cross(e) < -SMOOTH || (d.dot(e) < 0.0 && d.cross(e) < SMOOTH) {
                return fail("an inside corner is sharp", s.to());
            }
        }
    }
    let boxes: Vec<_> = path.segments.iter().map(Segment::extents).collect();
    for i in 0..n {
        for j in i + 1..n {
            if boxes[i].distance(&boxes[j]) > CONTACT_MM {
                continue;
            }
            let (a, b) = (&path.segments[i], &path.segments[j]);
            let (after, before) = (j == i + 1, i == 0 && j == n - 1);
            if !after && !before {
                let g = a.gap(b);
                if g.distance <= CONTACT_MM
                    && g.a.distance(a.from()).min(g.a.distance(a.to())) < 1.0
                    && shares_short_bridge(path, i, j)
                {
                    continue;
                }
                if g.distance <= CONTACT_MM {
                    return fail("the loop touches itself", g.a.midpoint(g.b));
                }
            } else if let Some(p) = meets_elsewhere(a, b, after, before) {
                return fail("the loop crosses itself", p);
            }
        }
    }
    Ok(())
}

/// Two pieces joined by one very short piece are near each other without touching.
fn shares_short_bridge(path: &Path, i: usize, j: usize) -> bool {
    let n = path.segments.len();
    let bridge = if (i + 2) % n == j {
        Some((i + 1) % n)
    } else if (j + 2) % n == i {
        Some((j + 1) % n)
    } else {
        None
    };
    bridge.is_some_and(|k| path.segments[k].length() <= 2.0 * CONTACT_MM)
}

/// A point where neighbouring pieces meet away from their common end.
fn meets_elsewhere(a: &Segment, b: &Segment, after: bool, before: bool) -> Option<Point> {
    let mut common = Vec::with_capacity(2);
    if after {
        common.push(a.to());
    }
    if before {
        common.push(a.from());
    }
    // A crossing beside the common end is looked for on pieces cut short there.
    let trimmed = |s: &Segment| -> Segment {
        let mut s = *s;
        for c in &common {
            let cut = (1e-3 / s.length().max(1e-9)).min(0.25);
            if s.from() == *c {
                let p = s.at(cut);
                match &mut s {
                    Segment::Line { from, .. } | Segment::Arc { from, .. } => *from = p,
                }
            } else if s.to() == *c {
                let p = s.at(1.0 - cut);
                match &mut s {
                    Segment::Line { to, .. } | Segment::Arc { to, .. } => *to = p,
                }
            }
        }
        s
    };
    trimmed(a).meets(&trimmed(b))
}
