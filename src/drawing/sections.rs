//! Sections through every kind of hole that is more than a plain bore, front face up.

use super::font::Weight;
use super::front_view::thread_major_mm;
use super::lettering::{height, length, middle, text};
use super::{Block, Item, Line, Scale, hatch};
use crate::callout::label_features;
use crate::feature::{Depth, Face, Floor, Hole, Mouth, Purpose, Shape};
use crate::geom::Point;
use crate::plate::Plate;

/// Metal shown on either side of the hole, mm on paper.
const METAL_MM: f64 = 4.5;

/// How far the axis runs past the faces, mm on paper.
const PAST_MM: f64 = 2.0;

/// Between two sections, mm.
const GAP_MM: f64 = 6.0;

/// Tallest section, mm on paper.
const TALLEST_MM: f64 = 26.0;

/// Room under a section for its letter, mm.
const LETTER_MM: f64 = 6.5;

/// The sections of a plate side by side in rows at most `width` wide; `None` where every hole is a plain bore.
pub(super) fn block(plate: &Plate, width: f64) -> Option<Block> {
    let mut holes: Vec<(String, Hole)> = Vec::new();
    for l in label_features(plate) {
        if let Shape::Hole(h) = &l.feature.shape
            && worth_a_section(h, plate.thickness_mm)
            && holes.iter().all(|(letter, _)| *letter != l.letter)
        {
            holes.push((l.letter, h.clone()));
        }
    }
    let widest = holes.iter().map(|(_, h)| reach(h)).fold(0.0, f64::max);
    let scale = Scale::STANDARD.into_iter().find(|s| {
        s.factor() <= 1.0
            && plate.thickness_mm * s.factor() <= TALLEST_MM
            && widest * s.factor() + 2.0 * METAL_MM <= width
    })?;
    let factor = scale.factor();
    let tall = plate.thickness_mm * factor;
    let heading = format!("Sections {}, front face up", scale.name());
    let mut rows: Vec<Vec<(f64, &(String, Hole))>> = Vec::new();
    let mut right = f64::INFINITY;
    for hole in &holes {
        let w = reach(&hole.1) * factor + 2.0 * METAL_MM;
        if right + GAP_MM + w > width {
            rows.push(Vec::new());
            right = -GAP_MM;
        }
        rows.last_mut()?.push((right + GAP_MM, hole));
        right += GAP_MM + w;
    }
    if rows.is_empty() {
        return None;
    }
    let row_height = tall + 2.0 * PAST_MM + LETTER_MM;
    let head = height::NORMAL + 3.0;
    let mut block = Block {
        items: Vec::new(),
        width: width.max(length(&heading, height::NORMAL, Weight::Regular)),
        height: head + rows.len() as f64 * row_height,
    };
    block.items.push(Item::Text(text(
        Point::new(0.0, block.height - height::NORMAL),
        &heading,
        height::NORMAL,
        Weight::Regular,
    )));
    let mut y = block.height - head;
    for row in rows {
        y -= row_height;
        for (left, (letter, hole)) in row {
            let half = 0.5 * reach(hole) * factor + METAL_MM;
            let foot = Point::new(left + half, y + LETTER_MM + PAST_MM);
            let section = Section {
                hole,
                thickness_mm: plate.thickness_mm,
                factor,
                foot,
                half,
            };
            section.draw(&mut block.items);
            let at = Point::new(foot.x, y + 1.5);
            block
                .items
                .push(Item::Text(middle(at, letter, height::NORMAL, Weight::Bold)));
        }
    }
    Some(block)
}

/// Whether a hole is more than a plain bore right through, and keeps within the plate.
fn worth_a_section(h: &Hole, thickness_mm: f64) -> bool {
    let section = Section {
        hole: h,
        thickness_mm,
        factor: 1.0,
        foot: Point::ORIGIN,
        half: 0.0,
    };
    let within = |&(_, z): &(f64, f64)| (0.0..=thickness_mm).contains(&z);
    (h.depth != Depth::Through || h.mouth.is_some()) && section.profile().iter().all(within)
}

/// Widest diameter that the section shows, mm.
fn reach(h: &Hole) -> f64 {
    let thread = match &h.purpose {
        Purpose::Tapped { thread, .. } => thread_major_mm(thread).unwrap_or(0.0),
        _ => 0.0,
    };
    h.widest_mm().max(thread)
}

/// One section while it is drawn: the axis stands at `foot.x`, the back face lies at `foot.y`.
struct Section<'a> {
    hole: &'a Hole,
    thickness_mm: f64,
    factor: f64,
    foot: Point,
    half: f64,
}

impl Section<'_> {
    /// Paper point `r` mm from the axis (left negative) and `z` mm above the back face.
    fn at(&self, r: f64, z: f64) -> Point {
        Point::new(self.foot.x + r * self.factor, self.foot.y + z * self.factor)
    }

    /// The hole's profile from its upper to its lower end: radius and height, mm.
    ///
    /// The first point lies in the front face unless the hole is blind from
    /// the back, the last one in the back face unless it is blind from the front.
    fn profile(&self) -> Vec<(f64, f64)> {
        let (h, t) = (self.hole, self.thickness_mm);
        let r = 0.5 * h.diameter_mm;
        let floor = |depth: f64, floor: Floor| match floor {
            Floor::Flat => vec![(r, depth), (0.0, depth)],
            Floor::DrillPoint => vec![(r, depth), (0.0, depth + floor.point_mm(r))],
        };
        // Depths below the face it starts from, then heights.
        let from_face = |end: Vec<(f64, f64)>, mouth: Option<Mouth>| {
            let mut line = match mouth {
                None => vec![(r, 0.0)],
                Some(Mouth::Counterbore {
                    diameter_mm,
                    depth_mm,
                    ..
                }) => vec![
                    (0.5 * diameter_mm, 0.0),
                    (0.5 * diameter_mm, depth_mm),
                    (r, depth_mm),
                ],
                Some(m @ Mouth::Countersink { diameter_mm, .. }) => {
                    vec![(0.5 * diameter_mm, 0.0), (r, m.depth_mm(h.diameter_mm))]
                }
            };
            line.extend(end);
            line
        };
        let on = |face: Face| {
            h.mouth.filter(|m| match m {
                Mouth::Counterbore { face: f, .. } | Mouth::Countersink { face: f, .. } => {
                    *f == face
                }
            })
        };
        let down = |line: Vec<(f64, f64)>| line.into_iter().map(|(r, d)| (r, t - d));
        match h.depth {
            Depth::Through => {
                let mut line: Vec<(f64, f64)> =
                    down(from_face(Vec::new(), on(Face::Front))).collect();
                line.extend(from_face(Vec::new(), on(Face::Back)).into_iter().rev());
                line
            }
            Depth::Blind {
                depth_mm,
                from: Face::Front,
                floor: f,
            } => down(from_face(floor(depth_mm, f), on(Face::Front))).collect(),
            Depth::Blind {
                depth_mm,
                from: Face::Back,
                floor: f,
            } => from_face(floor(depth_mm, f), on(Face::Back))
                .into_iter()
                .rev()
                .collect(),
        }
    }

    fn draw(&self, items: &mut Vec<Item>) {
        let t = self.thickness_mm;
        let profile = self.profile();
        let edge = self.half / self.factor;
        // The metal on the right, then its mirror image on the left.
        for side in [1.0, -1.0] {
            let mut metal: Vec<Point> =
                profile.iter().map(|&(r, z)| self.at(side * r, z)).collect();
            items.push(Item::chain(&metal, Line::Visible));
            let opens = |z: f64| profile.iter().any(|&(r, at)| r > 0.0 && same(at, z));
            // A blind hole's metal reaches to the axis on the closed side.
            if !opens(0.0) {
                metal.push(self.at(0.0, 0.0));
            }
            metal.push(self.at(side * edge, 0.0));
            metal.push(self.at(side * edge, t));
            if !opens(t) {
                metal.push(self.at(0.0, t));
            }
            items.extend(hatch::lines(&metal));
            items.push(self.broken_edge(side * edge));
        }
        for z in [0.0, t] {
            items.push(Item::line(
                self.at(-edge, z),
                self.at(edge, z),
                Line::Visible,
            ));
        }
        // Rims behind the cut.
        for pair in profile.windows(2) {
            for &(r, z) in pair {
                if r > 0.0 && !same(z, 0.0) && !same(z, t) {
                    items.push(Item::line(self.at(-r, z), self.at(r, z), Line::Visible));
                }
            }
        }
        self.thread(items);
        let past = PAST_MM / self.factor;
        items.push(Item::line(
            self.at(0.0, -past),
            self.at(0.0, t + past),
            Line::Centre,
        ));
    }

    /// A narrow line with a zigzag: where the metal is broken off (ISO 128-20, 01.1 with zigzags).
    fn broken_edge(&self, r: f64) -> Item {
        let (low, high) = (self.at(r, 0.0), self.at(r, self.thickness_mm));
        let mid = 0.5 * (low.y + high.y);
        let p = |dx: f64, y: f64| Point::new(low.x + dx, y);
        let points = [
            p(0.0, low.y - 1.0),
            p(0.0, mid - 1.0),
            p(0.9, mid - 0.4),
            p(-0.9, mid + 0.4),
            p(0.0, mid + 1.0),
            p(0.0, high.y + 1.0),
        ];
        Item::chain(&points, Line::Narrow)
    }

    /// Thread roots and the end of the full thread (ISO 6410-1).
    fn thread(&self, items: &mut Vec<Item>) {
        let Purpose::Tapped {
            thread,
            thread_depth_mm,
        } = &self.hole.purpose
        else {
            return;
        };
        let Some(major) = thread_major_mm(thread).filter(|d| *d > self.hole.diameter_mm) else {
            return;
        };
        let t = self.thickness_mm;
        let seat = match self.hole.mouth {
            Some(m) => m.depth_mm(self.hole.diameter_mm),
            None => 0.0,
        };
        let mouth_face = match self.hole.mouth {
            Some(Mouth::Counterbore { face, .. } | Mouth::Countersink { face, .. }) => Some(face),
            None => None,
        };
        let (start, end) = match self.hole.depth {
            Depth::Blind {
                from: Face::Back, ..
            } => (
                if mouth_face == Some(Face::Back) {
                    seat
                } else {
                    0.0
                },
                *thread_depth_mm,
            ),
            Depth::Blind { .. } => (
                t - if mouth_face == Some(Face::Front) {
                    seat
                } else {
                    0.0
                },
                t - thread_depth_mm,
            ),
            Depth::Through => (
                if mouth_face == Some(Face::Back) {
                    seat
                } else {
                    0.0
                },
                t - if mouth_face == Some(Face::Front) {
                    seat
                } else {
                    0.0
                },
            ),
        };
        for side in [-0.5, 0.5] {
            let r = side * major;
            items.push(Item::line(self.at(r, start), self.at(r, end), Line::Narrow));
        }
        if !matches!(self.hole.depth, Depth::Through) {
            let r = 0.5 * major;
            items.push(Item::line(self.at(-r, end), self.at(r, end), Line::Visible));
        }
    }
}

fn same(a: f64, b: f64) -> bool {
    (a - b).abs() < crate::tol::SNAP_MM
}
