//! The front view: outline, features and centre marks, seen on the front face.

use std::f64::consts::{PI, TAU};

use super::{Item, Line};
use crate::feature::{Depth, Face, Feature, Hole, Mark, Mouth, Purpose, Shape, Slot, SlotTrack};
use crate::geom::{Path, Point, Segment, Vector};
use crate::plate::Plate;

/// How far a centre line runs past the feature, mm (ISO 128-24: a few mm beyond the outline).
const PAST_MM: f64 = 1.8;

/// A centre line shorter than this is drawn whole: its dashes would not show, mm.
const WHOLE_MM: f64 = 14.0;

/// Half arm of a centre punch mark, mm on paper (common practice, no source).
const PUNCH_MM: f64 = 1.2;

/// From plate to paper.
#[derive(Debug, Clone, Copy)]
pub(super) struct View {
    /// Paper mm for one mm.
    pub(super) factor: f64,
    /// Where the plate's origin lies on the paper.
    pub(super) shift: Vector,
}

impl View {
    pub(super) fn point(&self, p: Point) -> Point {
        Point::new(p.x * self.factor, p.y * self.factor) + self.shift
    }

    pub(super) fn segment(&self, s: &Segment) -> Segment {
        match *s {
            Segment::Line { from, to } => Segment::Line {
                from: self.point(from),
                to: self.point(to),
            },
            Segment::Arc {
                from,
                to,
                centre,
                radius,
                ccw,
            } => {
                let start = self.point(from);
                Segment::Arc {
                    from: start,
                    to: if from == to { start } else { self.point(to) },
                    centre: self.point(centre),
                    radius: radius * self.factor,
                    ccw,
                }
            }
        }
    }

    pub(super) fn path(&self, path: &Path) -> Path {
        Path::new(path.segments.iter().map(|s| self.segment(s)).collect())
    }
}

/// Everything seen on the front face.
pub(super) fn draw(plate: &Plate, view: &View) -> Vec<Item> {
    let mut sheet = Sheet {
        view: *view,
        items: Vec::new(),
    };
    sheet.trace(&plate.outline, Line::Visible);
    for f in &plate.features {
        sheet.feature(f);
    }
    sheet.items
}

/// The items of a view while they gather.
struct Sheet {
    view: View,
    items: Vec<Item>,
}

impl Sheet {
    fn feature(&mut self, f: &Feature) {
        match &f.shape {
            Shape::Hole(h) => self.hole(h),
            Shape::Slot(s) => {
                self.trace(&s.path(), Line::Visible);
                self.slot_centres(s);
            }
            Shape::Window(p) => self.trace(p, Line::Visible),
            Shape::Pocket { path, face, .. } => self.trace(path, seen(*face)),
            Shape::Groove {
                centre,
                inner_mm,
                outer_mm,
                face,
                ..
            } => {
                self.ring(*centre, *inner_mm, seen(*face));
                self.ring(*centre, *outer_mm, seen(*face));
                self.cross(*centre, *outer_mm);
            }
            Shape::Mark(m) => self.mark(m),
        }
    }

    fn hole(&mut self, h: &Hole) {
        let bore = match h.depth {
            Depth::Through => Line::Visible,
            Depth::Blind { from, .. } => seen(from),
        };
        self.ring(h.centre, h.diameter_mm, bore);
        if let Some(
            Mouth::Counterbore {
                diameter_mm, face, ..
            }
            | Mouth::Countersink {
                diameter_mm, face, ..
            },
        ) = h.mouth
        {
            self.ring(h.centre, diameter_mm, seen(face));
        }
        if let Purpose::Tapped { thread, .. } = &h.purpose
            && let Some(major) = thread_major_mm(thread).filter(|d| *d > h.diameter_mm)
        {
            self.thread(h.centre, major, bore);
        }
        self.cross(h.centre, h.widest_mm());
    }

    /// Three quarters of a narrow circle: the root of an internal thread (ISO 6410-1).
    fn thread(&mut self, centre: Point, major_mm: f64, bore: Line) {
        let line = if bore == Line::Hidden {
            Line::Hidden
        } else {
            Line::Narrow
        };
        // The open quarter is the upper right one, turned a little off the centre lines.
        let arc = Segment::arc(centre, 0.5 * major_mm, 0.5 * PI + 0.12, TAU - 0.12);
        self.items.push(Item::Line {
            path: vec![self.view.segment(&arc)],
            line,
        });
    }

    fn mark(&mut self, m: &Mark) {
        for stroke in &m.strokes {
            let points: Vec<Point> = stroke.iter().map(|p| self.view.point(*p)).collect();
            match points[..] {
                [] => {}
                [p] => {
                    for v in [Vector::new(PUNCH_MM, 0.0), Vector::new(0.0, PUNCH_MM)] {
                        self.items.push(Item::line(p - v, p + v, Line::Narrow));
                    }
                }
                _ => self.items.push(Item::chain(&points, Line::Narrow)),
            }
        }
    }

    fn trace(&mut self, path: &Path, line: Line) {
        self.items.push(Item::Line {
            path: self.view.path(path).segments,
            line,
        });
    }

    fn ring(&mut self, centre: Point, diameter_mm: f64, line: Line) {
        self.trace(&Path::circle(centre, 0.5 * diameter_mm), line);
    }

    /// Centre lines of a round feature.
    fn cross(&mut self, centre: Point, diameter_mm: f64) {
        let c = self.view.point(centre);
        let reach = 0.5 * diameter_mm * self.view.factor + PAST_MM;
        for u in [Vector::new(1.0, 0.0), Vector::new(0.0, 1.0)] {
            self.centre_line(c, u, reach);
        }
    }

    /// A centre line through `c`, `reach` to both sides; a long one from the middle out, so that dashes cross there.
    fn centre_line(&mut self, c: Point, u: Vector, reach: f64) {
        if 2.0 * reach <= WHOLE_MM {
            self.items
                .push(Item::line(c - u * reach, c + u * reach, Line::Narrow));
            return;
        }
        // Half a dash each way makes one whole dash over the centre.
        let half = 0.5 * Line::Centre.pattern_mm()[0];
        self.items
            .push(Item::line(c - u * half, c + u * half, Line::Narrow));
        for side in [1.0, -1.0] {
            let [_, gap, dot, _] = CHAIN;
            let from = half + gap;
            self.items.push(Item::line(
                c + u * (side * from),
                c + u * (side * (from + dot)),
                Line::Narrow,
            ));
            let start = from + dot + gap;
            if start < reach {
                self.items.push(Item::line(
                    c + u * (side * start),
                    c + u * (side * reach),
                    Line::Centre,
                ));
            }
        }
    }

    /// The track of a slot, and a cross at each end centre.
    fn slot_centres(&mut self, s: &Slot) {
        let reach = 0.5 * s.width_mm * self.view.factor + PAST_MM;
        match s.track {
            SlotTrack::Straight { from, to } => {
                let (a, b) = (self.view.point(from), self.view.point(to));
                let u = (b - a).unit().unwrap_or(Vector::new(1.0, 0.0));
                self.items
                    .push(Item::line(a - u * reach, b + u * reach, Line::Centre));
                for c in [a, b] {
                    self.centre_line(c, u.left(), reach);
                }
            }
            SlotTrack::Arc {
                pivot,
                radius_mm,
                start_rad,
                end_rad,
            } => {
                let p = self.view.point(pivot);
                let r = radius_mm * self.view.factor;
                let past = reach / r;
                self.items.push(Item::Line {
                    path: vec![Segment::arc(p, r, start_rad - past, end_rad + past)],
                    line: Line::Centre,
                });
                for angle in [start_rad, end_rad] {
                    self.centre_line(p.polar(r, angle), Vector::unit_at(angle), reach);
                }
            }
        }
    }
}

/// Dash, gap, dot, gap of [`Line::Centre`], mm.
const CHAIN: [f64; 4] = [6.0, 0.75, 0.125, 0.75];

const fn seen(face: Face) -> Line {
    match face {
        Face::Front => Line::Visible,
        Face::Back => Line::Hidden,
    }
}

/// Major diameter of a metric thread from its designation (ISO 965-1: `M10x1.5`), mm.
pub(super) fn thread_major_mm(thread: &str) -> Option<f64> {
    let digits: String = thread
        .trim()
        .strip_prefix('M')?
        .chars()
        .take_while(|c| c.is_ascii_digit() || *c == '.')
        .collect();
    digits.parse().ok().filter(|d| *d > 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_major_diameter_is_read_from_metric_designations_only() {
        assert_eq!(thread_major_mm("M10x1.5"), Some(10.0));
        assert_eq!(thread_major_mm("M6"), Some(6.0));
        assert_eq!(thread_major_mm("M2.5x0.45"), Some(2.5));
        assert_eq!(thread_major_mm("G 1/4"), None);
        assert_eq!(thread_major_mm("M"), None);
    }

    #[test]
    fn the_chain_is_the_centre_line_pattern() {
        assert_eq!(Line::Centre.pattern_mm(), &CHAIN);
    }
}
