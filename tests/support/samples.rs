//! Plates with the numbers that their solids must have, counted feature by feature as they are drawn.

use std::f64::consts::{FRAC_PI_4, PI};

use platewright::feature::{DRILL_POINT_DEG, Depth, Face, Feature, Floor, Shape};
use platewright::geom::{Path, Point, Segment, Vector};
use platewright::plate::Plate;

use super::plates::{
    arc_slot, blind, counterbore, countersink, feature, hole, p, plate, rounded, slot,
};

/// What a solid must hold.
#[derive(Debug, Clone, Default)]
pub(crate) struct Expected {
    pub(crate) volume_mm3: f64,
    pub(crate) planes: usize,
    pub(crate) cylinders: Vec<f64>,
    pub(crate) cones: Vec<f64>,
}

/// A plate and what its solid must hold.
#[derive(Debug, Clone)]
pub(crate) struct Sample {
    pub(crate) plate: Plate,
    pub(crate) expected: Expected,
}

/// A plate being drawn: every call adds a feature and its own count.
///
/// Positions are given about a datum that may be turned and moved.
pub(crate) struct Draft {
    thickness: f64,
    turn: f64,
    shift: Vector,
    outline: Path,
    features: Vec<Feature>,
    expected: Expected,
}

const POINT_ANGLE: f64 = 0.5 * DRILL_POINT_DEG * PI / 180.0;

impl Draft {
    pub(crate) fn new(thickness: f64, outline: &Path, turn: f64, shift: Vector) -> Self {
        let mut draft = Self {
            thickness,
            turn,
            shift,
            outline: outline.clone(),
            features: Vec::new(),
            expected: Expected::default(),
        };
        draft.outline = draft.path(outline);
        draft.expected.volume_mm3 = outline.area().abs() * thickness;
        draft.expected.planes = 2;
        draft.count_walls(outline);
        draft
    }

    pub(crate) fn finish(self, id: &str, title: &str) -> Sample {
        Sample {
            plate: plate(id, title, self.thickness, self.outline, self.features),
            expected: self.expected,
        }
    }

    fn at(&self, q: Point) -> Point {
        p(0.0, 0.0) + q.to_vector().turned(self.turn) + self.shift
    }

    fn path(&self, path: &Path) -> Path {
        path.mapped(|q| self.at(q), false)
    }

    fn count_walls(&mut self, path: &Path) {
        for s in &path.segments {
            match s {
                Segment::Line { .. } => self.expected.planes += 1,
                Segment::Arc { radius, .. } => self.expected.cylinders.push(*radius),
            }
        }
    }

    fn add(&mut self, shape: Shape) {
        let id = format!("F{}", self.features.len() + 1);
        self.features.push(feature(id, shape));
    }

    fn less(&mut self, volume: f64) {
        self.expected.volume_mm3 -= volume;
    }

    /// A plain hole through `metal` mm.
    pub(crate) fn through(&mut self, c: Point, d: f64, metal: f64) {
        self.add(hole(self.at(c), d, Depth::Through, None));
        self.expected.cylinders.push(0.5 * d);
        self.less(PI * d * d / 4.0 * metal);
    }

    pub(crate) fn counterbored(
        &mut self,
        c: Point,
        d: f64,
        (wide, deep): (f64, f64),
        face: Face,
        metal: f64,
    ) {
        self.add(hole(
            self.at(c),
            d,
            Depth::Through,
            Some(counterbore(wide, deep, face)),
        ));
        self.expected.cylinders.extend([0.5 * d, 0.5 * wide]);
        self.expected.planes += 1;
        self.less(PI / 4.0 * (d * d * (metal - deep) + wide * wide * deep));
    }

    pub(crate) fn countersunk(&mut self, c: Point, d: f64, wide: f64, face: Face, metal: f64) {
        self.add(hole(
            self.at(c),
            d,
            Depth::Through,
            Some(countersink(wide, face)),
        ));
        self.expected.cylinders.push(0.5 * d);
        self.expected.cones.push(FRAC_PI_4);
        // A right-angled cone is as deep as its radii differ.
        let (r, big) = (0.5 * d, 0.5 * wide);
        let deep = big - r;
        self.less(PI * r * r * (metal - deep) + PI / 3.0 * (big.powi(3) - r.powi(3)));
    }

    pub(crate) fn drilled(&mut self, c: Point, d: f64, deep: f64, face: Face) {
        self.add(hole(
            self.at(c),
            d,
            blind(deep, face, Floor::DrillPoint),
            None,
        ));
        self.expected.cylinders.push(0.5 * d);
        self.expected.cones.push(POINT_ANGLE);
        let r = 0.5 * d;
        self.less(PI * r * r * (deep + r / POINT_ANGLE.tan() / 3.0));
    }

    pub(crate) fn flat_bottomed(&mut self, c: Point, d: f64, deep: f64, face: Face) {
        self.add(hole(self.at(c), d, blind(deep, face, Floor::Flat), None));
        self.expected.cylinders.push(0.5 * d);
        self.expected.planes += 1;
        self.less(PI * d * d / 4.0 * deep);
    }

    /// A blind hole with a mouth: counterbored and flat, or countersunk and drilled.
    pub(crate) fn stepped_blind(
        &mut self,
        c: Point,
        d: f64,
        wide: f64,
        deep: f64,
        face: Face,
        sunk: bool,
    ) {
        let (r, big) = (0.5 * d, 0.5 * wide);
        self.expected.cylinders.push(r);
        if sunk {
            self.add(hole(
                self.at(c),
                d,
                blind(deep, face, Floor::DrillPoint),
                Some(countersink(wide, face)),
            ));
            self.expected.cones.extend([FRAC_PI_4, POINT_ANGLE]);
            self.less(PI / 3.0 * (big.powi(3) - r.powi(3)) + PI * r * r * (deep - (big - r)));
            self.less(PI * r.powi(3) / POINT_ANGLE.tan() / 3.0);
        } else {
            let seat = 0.4 * deep;
            self.add(hole(
                self.at(c),
                d,
                blind(deep, face, Floor::Flat),
                Some(counterbore(wide, seat, face)),
            ));
            self.expected.cylinders.push(big);
            self.expected.planes += 2;
            self.less(PI * (big * big * seat + r * r * (deep - seat)));
        }
    }

    pub(crate) fn slot(&mut self, from: Point, to: Point, width: f64) {
        self.add(slot(self.at(from), self.at(to), width));
        self.expected.planes += 2;
        self.expected.cylinders.extend([0.5 * width; 2]);
        let area = from.distance(to) * width + PI * width * width / 4.0;
        self.less(area * self.thickness);
    }

    pub(crate) fn arc_slot(
        &mut self,
        pivot: Point,
        radius: f64,
        (start, end): (f64, f64),
        width: f64,
    ) {
        let turn = self.turn;
        self.add(arc_slot(
            self.at(pivot),
            radius,
            start + turn,
            end + turn,
            width,
        ));
        let r = 0.5 * width;
        self.expected
            .cylinders
            .extend([radius - r, radius + r, r, r]);
        let area = (end - start) * radius * width + PI * r * r;
        self.less(area * self.thickness);
    }

    pub(crate) fn window(&mut self, path: &Path) {
        self.add(Shape::Window(self.path(path)));
        self.count_walls(path);
        self.less(path.area().abs() * self.thickness);
    }

    pub(crate) fn pocket(&mut self, path: &Path, depth_mm: f64, face: Face) {
        let path_here = self.path(path);
        self.add(Shape::Pocket {
            path: path_here,
            depth_mm,
            face,
        });
        self.count_walls(path);
        self.expected.planes += 1;
        self.less(path.area().abs() * depth_mm);
    }

    pub(crate) fn groove(
        &mut self,
        c: Point,
        (inner_mm, outer_mm): (f64, f64),
        depth_mm: f64,
        face: Face,
    ) {
        let centre = self.at(c);
        self.add(Shape::Groove {
            centre,
            inner_mm,
            outer_mm,
            depth_mm,
            face,
        });
        self.expected
            .cylinders
            .extend([0.5 * inner_mm, 0.5 * outer_mm]);
        self.expected.planes += 2;
        self.less(PI / 4.0 * (outer_mm * outer_mm - inner_mm * inner_mm) * depth_mm);
    }
}

fn other(face: Face) -> Face {
    match face {
        Face::Front => Face::Back,
        Face::Back => Face::Front,
    }
}

/// A rounded bar of 240 × 90 mm about the origin.
fn bar() -> Path {
    rounded(&[
        (-120.0, -45.0, 20.0),
        (120.0, -45.0, 20.0),
        (120.0, 45.0, 20.0),
        (-120.0, 45.0, 20.0),
    ])
}

/// The bar, 15 mm thick, without features.
fn thick_bar() -> Draft {
    Draft::new(15.0, &bar(), 0.0, Vector::new(0.0, 0.0))
}

/// Every round hole, mouths and blind floors included.
fn round_holes(face: Face) -> Draft {
    let mut d = thick_bar();
    d.through(p(-90.0, 0.0), 10.5, 15.0);
    d.counterbored(p(-60.0, 0.0), 10.5, (18.0, 6.8), face, 15.0);
    d.countersunk(p(-30.0, 0.0), 8.4, 17.0, face, 15.0);
    d.drilled(p(0.0, 0.0), 8.5, 9.0, face);
    d.flat_bottomed(p(30.0, 0.0), 12.0, 7.5, face);
    d.stepped_blind(p(60.0, 0.0), 6.8, 14.0, 10.0, face, true);
    d.stepped_blind(p(90.0, 0.0), 6.8, 14.0, 10.0, face, false);
    d
}

/// Slots, windows and a pocket.
fn openings_and_pocket(face: Face) -> Draft {
    let mut d = thick_bar();
    d.slot(p(-100.0, -20.0), p(-60.0, -10.0), 9.0);
    d.arc_slot(p(-20.0, -60.0), 80.0, (1.2, 1.9), 10.5);
    d.arc_slot(p(40.0, 0.0), 20.0, (-2.0, 3.0), 6.0);
    d.window(&rounded(&[
        (70.0, -20.0, 6.0),
        (110.0, -20.0, 6.0),
        (92.0, 0.0, 3.0),
        (105.0, 30.0, 5.0),
        (72.0, 28.0, 6.0),
    ]));
    d.window(&Path::circle(p(0.0, -30.0), 7.0));
    d.pocket(
        &rounded(&[
            (-80.0, 12.0, 5.0),
            (-60.0, 12.0, 5.0),
            (-60.0, 35.0, 5.0),
            (-80.0, 35.0, 5.0),
        ]),
        4.0,
        face,
    );
    d
}

/// Grooves, with bores through their islands and a pin through a floor.
fn grooves(face: Face) -> Draft {
    let mut d = thick_bar();
    d.groove(p(-70.0, 0.0), (40.0, 47.0), 2.1, face);
    d.through(p(-70.0, 0.0), 30.0, 15.0);
    d.through(p(-48.25, 0.0), 2.0, 15.0 - 2.1);
    d.groove(p(60.0, 0.0), (30.0, 50.0), 3.0, face);
    d.counterbored(p(60.0, 0.0), 9.0, (15.0, 5.0), other(face), 15.0);
    d.groove(p(60.0, 0.0), (20.0, 26.0), 1.0, face);
    d
}

/// Features on pocket floors.
fn on_pocket_floors(face: Face) -> Draft {
    let mut d = thick_bar();
    d.pocket(&Path::slot(p(-80.0, 0.0), p(-20.0, 0.0), 25.0), 5.0, face);
    d.through(p(-80.0, 0.0), 10.5, 10.0);
    d.drilled(p(-60.0, 5.0), 6.8, 5.0, face);
    d.countersunk(p(-40.0, 0.0), 5.5, 11.0, face, 10.0);
    d.groove(p(-20.0, 0.0), (20.0, 26.0), 1.5, face);
    d.counterbored(p(-20.0, 0.0), 6.6, (11.0, 4.0), face, 10.0);
    d.pocket(&Path::circle(p(50.0, 0.0), 30.0), 4.0, face);
    d.pocket(&Path::slot(p(40.0, 0.0), p(60.0, 0.0), 12.0), 3.0, face);
    d.through(p(50.0, 0.0), 8.0, 8.0);
    d
}

/// Front and back features one above the other.
fn one_above_the_other(face: Face) -> Draft {
    let mut d = thick_bar();
    d.pocket(&Path::slot(p(-60.0, 0.0), p(0.0, 0.0), 25.0), 6.0, face);
    d.pocket(
        &Path::slot(p(-30.0, 0.0), p(30.0, 0.0), 25.0),
        5.0,
        other(face),
    );
    d.through(p(-15.0, 0.0), 10.0, 4.0);
    d.through(p(-70.0, 0.0), 10.0, 9.0);
    d.counterbored(p(38.0, 0.0), 10.0, (18.0, 3.0), other(face), 10.0);
    d.flat_bottomed(p(80.0, 0.0), 12.0, 5.0, face);
    d.flat_bottomed(p(85.0, 0.0), 14.0, 6.0, other(face));
    d
}

/// One plate for every kind of feature, from either face, and for every way they nest.
pub(crate) fn gallery() -> Vec<Sample> {
    let still = Vector::new(0.0, 0.0);
    let mut samples = Vec::new();
    let mut keep = |draft: Draft, title: &str| {
        let id = format!("G{}", samples.len() + 1);
        samples.push(draft.finish(&id, title));
    };
    keep(thick_bar(), "bare");
    keep(
        Draft::new(10.0, &Path::circle(p(5.0, -3.0), 60.0), 0.0, still),
        "round",
    );
    let halves = |x: f64| Segment::Arc {
        from: p(x, 0.0),
        to: p(-x, 0.0),
        centre: p(0.0, 0.0),
        radius: 55.0,
        ccw: true,
    };
    keep(
        Draft::new(
            10.0,
            &Path::new(vec![halves(55.0), halves(-55.0)]),
            0.3,
            still,
        ),
        "round in halves",
    );
    keep(
        Draft::new(
            10.0,
            &Path::polygon(&[p(0.0, 0.0), p(90.0, 0.0), p(0.0, 70.0)]),
            0.0,
            still,
        ),
        "sharp triangle",
    );
    for face in [Face::Front, Face::Back] {
        keep(round_holes(face), "every round hole");
        keep(openings_and_pocket(face), "slots, windows and a pocket");
        keep(grooves(face), "grooves, islands and bores through them");
        keep(on_pocket_floors(face), "features on pocket floors");
        keep(
            one_above_the_other(face),
            "front and back one above the other",
        );
    }
    samples
}

/// A repeatable source of numbers (Vigna's splitmix64).
pub(crate) struct Random(pub(crate) u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from `low` to `high`.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * ((self.next() >> 11) as f64 / (1u64 << 53) as f64)
    }

    /// A whole number below `n`.
    pub(crate) fn below(&mut self, n: u64) -> u64 {
        self.next() % n
    }

    fn face(&mut self) -> Face {
        if self.below(2) == 0 {
            Face::Front
        } else {
            Face::Back
        }
    }
}

/// Cells of the random plate's grid, mm.
const CELL: f64 = 60.0;

/// A random plate: a rectangle of cells with notches cut in its sides, turned and moved, one feature or nest a cell.
pub(crate) fn random(seed: u64) -> Sample {
    let r = &mut Random(seed.wrapping_mul(0x2545_f491_4f6c_dd1d) ^ 0x5eed);
    let (columns, rows) = (1 + r.below(5), 1 + r.below(4));
    let (w, h) = (columns as f64 * CELL, rows as f64 * CELL);
    let margin = 25.0;
    let round = |r: &mut Random| r.between(1.0, 12.0);
    let mut corners = Vec::new();
    // Sides in turn, each with a notch that stays outside the cells.
    let sides = [
        (p(-margin, -margin), p(w + margin, -margin)),
        (p(w + margin, -margin), p(w + margin, h + margin)),
        (p(w + margin, h + margin), p(-margin, h + margin)),
        (p(-margin, h + margin), p(-margin, -margin)),
    ];
    for (from, to) in sides {
        corners.push((from.x, from.y, round(r)));
        if r.below(2) == 0 {
            let d = to - from;
            let inward = d.unit().expect("sides have length").left() * r.between(10.0, 22.0);
            let (a, b) = (r.between(0.3, 0.45), r.between(0.55, 0.7));
            let small = |r: &mut Random| r.between(0.5, 4.5);
            for q in [
                from + d * a,
                from + d * a + inward,
                from + d * b + inward,
                from + d * b,
            ] {
                corners.push((q.x, q.y, small(r)));
            }
        }
    }
    let turn = r.between(-3.0, 3.0);
    let shift = Vector::new(r.between(-400.0, 400.0), r.between(-400.0, 400.0));
    let thickness = r.between(6.0, 30.0);
    let mut draft = Draft::new(thickness, &rounded(&corners), turn, shift);
    for column in 0..columns {
        for row in 0..rows {
            let centre = p((column as f64 + 0.5) * CELL, (row as f64 + 0.5) * CELL);
            cell(&mut draft, r, centre);
        }
    }
    draft.finish(&format!("R{seed}"), &format!("Random plate {seed}"))
}

fn cell(draft: &mut Draft, r: &mut Random, c: Point) {
    let t = draft.thickness;
    let face = r.face();
    let by = |x: f64, y: f64| p(c.x + x, c.y + y);
    let d = r.between(3.0, 12.0);
    match r.below(12) {
        0 => draft.through(c, d, t),
        1 => draft.counterbored(
            c,
            d,
            (d + r.between(2.0, 15.0), r.between(0.5, 0.9) * t),
            face,
            t,
        ),
        2 => draft.countersunk(c, d, d + r.between(0.5, 1.8) * t.min(20.0), face, t),
        3 => draft.drilled(c, d, r.between(0.2, 0.35) * t, face),
        4 => draft.flat_bottomed(c, d, r.between(0.2, 0.9) * t, face),
        5 => {
            let sunk = r.below(2) == 0;
            let deep = 0.55 * t;
            draft.stepped_blind(
                c,
                0.3 * t,
                0.3 * t + r.between(0.1, 0.9) * deep,
                deep,
                face,
                sunk,
            );
        }
        6 => draft.slot(
            by(r.between(-20.0, -5.0), r.between(-15.0, 15.0)),
            by(r.between(5.0, 20.0), r.between(-15.0, 15.0)),
            r.between(4.0, 14.0),
        ),
        7 => {
            let start = r.between(-3.0, 3.0);
            draft.arc_slot(
                c,
                r.between(14.0, 22.0),
                (start, start + r.between(0.3, 4.5)),
                r.between(3.0, 9.0),
            );
        }
        8 => {
            let round = |r: &mut Random| r.between(1.0, 5.0);
            draft.window(&rounded(&[
                (c.x - 24.0, c.y - r.between(12.0, 24.0), round(r)),
                (c.x + 24.0, c.y - r.between(12.0, 24.0), round(r)),
                (
                    c.x + r.between(0.0, 5.0),
                    c.y + r.between(-4.0, 4.0),
                    round(r),
                ),
                (c.x - 15.0, c.y + r.between(15.0, 24.0), round(r)),
            ]));
        }
        9 => {
            let deep = r.between(0.2, 0.5) * t;
            draft.pocket(
                &Path::slot(
                    by(-10.0, r.between(-5.0, 5.0)),
                    by(10.0, r.between(-5.0, 5.0)),
                    16.0,
                ),
                deep,
                face,
            );
            draft.through(by(-9.0, 0.0), r.between(3.0, 8.0), t - deep);
            draft.flat_bottomed(by(9.0, 0.0), r.between(3.0, 8.0), 0.5 * (t - deep), face);
        }
        10 => {
            let (deep, inner) = (r.between(0.1, 0.3) * t, r.between(26.0, 34.0));
            draft.groove(c, (inner, inner + 8.0), deep, face);
            draft.counterbored(c, d, (d + 5.0, 0.3 * t), r.face(), t);
            draft.through(by(0.5 * inner + 2.0, 0.0), 2.0, t - deep);
        }
        _ => {
            draft.pocket(&Path::circle(by(-5.0, 0.0), 15.0), 0.4 * t, face);
            draft.pocket(&Path::circle(by(5.0, 0.0), 14.0), 0.35 * t, other(face));
            draft.through(c, r.between(3.0, 10.0), t - 0.4 * t - 0.35 * t);
        }
    }
}

/// A plate with features thrown on it without care: most of them overlap.
pub(crate) fn careless(seed: u64) -> Plate {
    let r = &mut Random(seed ^ 0x00ca_1e55);
    let t = 12.0;
    let mut features = Vec::new();
    for i in 0..2 + r.below(5) {
        // A coarse grid now and then, so that walls touch and line up.
        let coarse = r.below(3) == 0;
        let mut place = |low: f64, high: f64| {
            let x = r.between(low, high);
            if coarse { (x / 5.0).round() * 5.0 } else { x }
        };
        let c = p(place(-115.0, 115.0), place(-40.0, 40.0));
        let d = place(2.0, 20.0).max(2.0);
        let deep = place(2.0, 11.0).max(1.0);
        let far = p(place(-115.0, 115.0), place(-40.0, 40.0));
        let face = r.face();
        let shape = match r.below(9) {
            0 => hole(c, d, Depth::Through, None),
            1 => hole(c, d, Depth::Through, Some(counterbore(d + 8.0, deep, face))),
            2 => hole(c, d, Depth::Through, Some(countersink(d + deep, face))),
            3 => hole(c, d, blind(deep, face, Floor::Flat), None),
            4 => hole(c, d, blind(0.5 * deep, face, Floor::DrillPoint), None),
            5 => slot(c, far, 0.5 * d),
            6 => Shape::Window(Path::circle(c, d)),
            7 => Shape::Pocket {
                path: Path::slot(c, p(c.x + 20.0, c.y), d),
                depth_mm: deep,
                face,
            },
            _ => Shape::Groove {
                centre: c,
                inner_mm: d,
                outer_mm: d + 6.0,
                depth_mm: deep,
                face,
            },
        };
        features.push(feature(format!("F{}", i + 1), shape));
    }
    plate(
        &format!("C{seed}"),
        &format!("Careless plate {seed}"),
        t,
        bar(),
        features,
    )
}
