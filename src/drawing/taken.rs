//! What is on a sheet already, and whether a box or a leader meets it.

use super::Item;
use crate::geom::{Extents, Path, Point, Segment};

/// What is on the sheet already.
#[derive(Debug, Clone, Default)]
pub(super) struct Taken {
    lines: Vec<Drawn>,
    boxes: Vec<Extents>,
}

/// One drawn piece with its box: a line, a full circle, or an arc in chords.
#[derive(Debug, Clone)]
struct Drawn {
    bounds: Extents,
    pieces: Vec<Segment>,
}

impl Drawn {
    fn of(s: &Segment) -> Self {
        let pieces = match *s {
            Segment::Arc { radius, .. } if !s.is_full_circle() => {
                let step = 2.0 * (2.0 * CHORD_MM / radius.max(CHORD_MM)).sqrt().min(0.5);
                let n = (s.sweep().abs() / step).ceil().max(1.0) as usize;
                let at = |k: usize| s.at(k as f64 / n as f64);
                (0..n)
                    .map(|k| Segment::Line {
                        from: at(k),
                        to: at(k + 1),
                    })
                    .collect()
            }
            _ => vec![*s],
        };
        let bounds = Path::new(pieces.clone()).extents();
        Self { bounds, pieces }
    }

    fn meets(&self, b: &Extents) -> bool {
        overlap(&self.bounds, b) && self.pieces.iter().any(|s| meets(s, b))
    }

    fn crosses(&self, from: Point, to: Point) -> bool {
        let leader = Extents {
            min: Point::new(from.x.min(to.x), from.y.min(to.y)),
            max: Point::new(from.x.max(to.x), from.y.max(to.y)),
        };
        overlap(&self.bounds, &leader) && self.pieces.iter().any(|s| crosses(s, from, to))
    }
}

impl Taken {
    /// Everything drawn so far.
    pub(super) fn by(items: &[Item]) -> Self {
        let mut taken = Self::default();
        for item in items {
            match item {
                Item::Line { path, .. } => taken.lines.extend(path.iter().map(Drawn::of)),
                Item::Fill(points) => {
                    let n = points.len();
                    taken.lines.extend((0..n).map(|k| {
                        Drawn::of(&Segment::Line {
                            from: points[k],
                            to: points[(k + 1) % n],
                        })
                    }));
                }
                Item::Text(t) => taken.boxes.push(t.bounds()),
            }
        }
        taken
    }

    /// Whether a text stands on a straight line.
    pub(super) fn has_text_on(&self, line: &Segment) -> bool {
        self.boxes.iter().any(|b| meets(line, b))
    }

    /// How many lines a leader crosses.
    pub(super) fn crossings(&self, from: Point, to: Point) -> usize {
        self.lines.iter().filter(|d| d.crosses(from, to)).count()
    }

    /// Whether a box keeps clear of everything.
    pub(super) fn leaves_free(&self, b: &Extents) -> bool {
        !self.boxes.iter().any(|o| overlap(o, b)) && !self.lines.iter().any(|d| d.meets(b))
    }
}

/// The point of a box, widened by `gap`, nearest to `p`.
pub(super) fn nearest_on(b: &Extents, p: Point, gap: f64) -> Point {
    Point::new(
        p.x.clamp(b.min.x - gap, b.max.x + gap),
        p.y.clamp(b.min.y - gap, b.max.y + gap),
    )
}

pub(super) fn overlap(a: &Extents, b: &Extents) -> bool {
    a.min.x <= b.max.x && b.min.x <= a.max.x && a.min.y <= b.max.y && b.min.y <= a.max.y
}

/// Whether a line, or the full circle of an arc, passes through a box.
pub(super) fn meets(s: &Segment, b: &Extents) -> bool {
    match *s {
        Segment::Line { from, to } => line_meets(from, to, b),
        Segment::Arc { centre, radius, .. } => {
            let near = nearest_on(b, centre, 0.0).distance(centre);
            let far = [b.min.x - centre.x, b.max.x - centre.x]
                .iter()
                .flat_map(|x| [b.min.y - centre.y, b.max.y - centre.y].map(|y| x.hypot(y)))
                .fold(0.0, f64::max);
            near <= radius && radius <= far
        }
    }
}

/// How far a chord may stand off its arc when boxes are tested, mm; the clearance round labels is ten times that.
const CHORD_MM: f64 = 0.05;

/// Whether a straight line passes through a box (slab test).
fn line_meets(from: Point, to: Point, b: &Extents) -> bool {
    let d = to - from;
    let (mut low, mut high) = (0.0_f64, 1.0_f64);
    for (start, along, min, max) in [
        (from.x, d.x, b.min.x, b.max.x),
        (from.y, d.y, b.min.y, b.max.y),
    ] {
        if along == 0.0 {
            if start < min || start > max {
                return false;
            }
            continue;
        }
        let (t0, t1) = ((min - start) / along, (max - start) / along);
        low = low.max(t0.min(t1));
        high = high.min(t0.max(t1));
    }
    low <= high
}

/// Whether a leader crosses a line or a full circle; ending on a circle is not crossing it.
fn crosses(s: &Segment, from: Point, to: Point) -> bool {
    match *s {
        Segment::Line { from: a, to: b } => cross((a, b), (from, to)),
        Segment::Arc { centre, radius, .. } => {
            let near = Segment::Line { from, to }.distance(centre);
            let (a, b) = (from.distance(centre), to.distance(centre));
            near < radius - CHORD_MM && a.max(b) > radius + CHORD_MM
        }
    }
}

/// Whether two straight lines cross.
pub(super) fn cross(a: (Point, Point), b: (Point, Point)) -> bool {
    let side = |p: Point, q: Point, r: Point| (q - p).cross(r - p);
    side(a.0, a.1, b.0) * side(a.0, a.1, b.1) < 0.0
        && side(b.0, b.1, a.0) * side(b.0, b.1, a.1) < 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_box_is_met_by_what_passes_through_and_not_by_what_passes_by() {
        let b = Extents {
            min: Point::new(0.0, 0.0),
            max: Point::new(2.0, 1.0),
        };
        let line = |x0, y0, x1, y1| Segment::Line {
            from: Point::new(x0, y0),
            to: Point::new(x1, y1),
        };
        assert!(meets(&line(-1.0, 0.5, 3.0, 0.6), &b));
        assert!(!meets(&line(-1.0, 0.9, 1.0, 3.0), &b));
        assert!(meets(&Segment::circle(Point::new(1.0, 0.5), 0.7), &b));
        assert!(!meets(&Segment::circle(Point::new(1.0, 0.5), 3.0), &b));
        // The far half of a circle whose near half would cut the box.
        let away = Segment::arc(Point::new(1.0, -1.0), 1.5, 3.3, 6.1);
        let near = Segment::arc(Point::new(1.0, -1.0), 1.5, 0.3, 2.8);
        assert!(!Drawn::of(&away).meets(&b) && Drawn::of(&near).meets(&b));
    }
}
