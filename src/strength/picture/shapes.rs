//! Mode shapes as displaced outlines, seen from above right in front of the engine.

use super::contour::rim_path;
use super::labels::{Area, Covered, width as words_width};
use super::{Anchor, INK, QUIET, Svg};
use crate::geom::Point3;
use crate::strength::report::{BodyField, CAUTION, PlateField, Strength};

/// Room for one mode, px.
const CELL: (f64, f64) = (430.0, 400.0);

/// Largest displacement as a share of the set's size.
const SWING: f64 = 0.08;

/// Colour of displaced outlines.
const MOVED: &str = "#b3321a";

/// Isometric view with engine y up: right along x − z, up along y.
fn seen(p: Point3) -> (f64, f64) {
    let root2 = std::f64::consts::SQRT_2;
    let root6 = 6.0_f64.sqrt();
    ((p.x - p.z) / root2, (2.0 * p.y - p.x - p.z) / root6)
}

/// A place of a plate's plan in space, displaced by a mode.
fn place(f: &PlateField, point: usize, mode: Option<usize>, scale: f64) -> Point3 {
    let p = f.frame.to_engine(f.plan.points[point], f.middle_mm);
    let Some(k) = mode else {
        return p;
    };
    let d = f.modes[k][point];
    p + (f.frame.x * d[0] + f.frame.y * d[1] + f.frame.normal * d[2]) * scale
}

fn body_place(b: &BodyField, mode: Option<usize>, scale: f64) -> Point3 {
    let d = mode.map_or([0.0; 3], |k| b.modes[k]);
    Point3::new(
        b.centre[0] + scale * d[0],
        b.centre[1] + scale * d[1],
        b.centre[2] + scale * d[2],
    )
}

/// The first `count` modes on one sheet, two in a row.
#[must_use]
pub fn mode_sheet(strength: &Strength, count: usize) -> String {
    let count = count.min(strength.report.modes.len());
    let rows = count.div_ceil(2).max(1);
    let (width, height) = (2.0 * CELL.0 + 40.0, rows as f64 * CELL.1 + 110.0);
    let mut svg = Svg::new(width, height, "Mode shapes");
    svg.styled_words(
        (30.0, 34.0),
        20.0,
        Anchor::Start,
        INK,
        "bold",
        "Mode shapes",
    );
    svg.words(
        (30.0, 56.0),
        13.0,
        Anchor::Start,
        "Grey at rest, red displaced (not to scale); circles are accessories' centres of mass",
    );
    svg.styled_words(
        (30.0, 75.0),
        12.0,
        Anchor::Start,
        "#8a1010",
        "normal",
        CAUTION,
    );
    let all: Vec<(f64, f64)> = strength
        .fields
        .iter()
        .flat_map(|f| (0..f.plan.points.len()).map(move |i| seen(place(f, i, None, 0.0))))
        .chain(
            strength
                .bodies
                .iter()
                .map(|b| seen(body_place(b, None, 0.0))),
        )
        .collect();
    let (mut low, mut high) = (
        (f64::INFINITY, f64::INFINITY),
        (f64::NEG_INFINITY, f64::NEG_INFINITY),
    );
    for (x, y) in &all {
        low = (low.0.min(*x), low.1.min(*y));
        high = (high.0.max(*x), high.1.max(*y));
    }
    if all.is_empty() {
        return svg.finish();
    }
    let span = (high.0 - low.0).max(high.1 - low.1).max(1e-9);
    let zoom = ((CELL.0 - 70.0) / (high.0 - low.0).max(1e-9))
        .min((CELL.1 - 110.0) / (high.1 - low.1).max(1e-9));
    for k in 0..count {
        let corner = (
            20.0 + (k % 2) as f64 * CELL.0,
            90.0 + (k / 2) as f64 * CELL.1,
        );
        let middle = (corner.0 + 0.5 * CELL.0, corner.1 + 0.5 * CELL.1 + 20.0);
        let to = |(x, y): (f64, f64)| {
            (
                middle.0 + (x - 0.5 * (low.0 + high.0)) * zoom,
                middle.1 - (y - 0.5 * (low.1 + high.1)) * zoom,
            )
        };
        let cell = Area {
            left: corner.0,
            top: corner.1 + 46.0,
            right: corner.0 + CELL.0,
            bottom: corner.1 + CELL.1,
        };
        draw(&mut svg, strength, k, span, &to, &cell);
        let m = &strength.report.modes[k];
        svg.styled_words(
            (corner.0 + 14.0, corner.1 + 22.0),
            15.0,
            Anchor::Start,
            INK,
            "bold",
            &format!("Mode {}: {:.1} Hz", m.mode, m.hz),
        );
        svg.words(
            (corner.0 + 14.0, corner.1 + 40.0),
            12.0,
            Anchor::Start,
            &movers(&m.moves),
        );
    }
    svg.finish()
}

/// What moves most, as many of three as the cell's width holds.
fn movers(moves: &[(String, f64)]) -> String {
    let mut words = "moves ".to_owned();
    for (k, (name, share)) in moves.iter().take(3).enumerate() {
        let comma = if k > 0 { ", " } else { "" };
        let more = format!("{comma}{name} {:.0} %", 100.0 * share);
        if k > 0
            && words_width(&words, 12.0, false) + words_width(&more, 12.0, false) > CELL.0 - 28.0
        {
            break;
        }
        words.push_str(&more);
    }
    words
}

fn draw(
    svg: &mut Svg,
    strength: &Strength,
    mode: usize,
    span: f64,
    to: &impl Fn((f64, f64)) -> (f64, f64),
    cell: &Area,
) {
    let length = |d: &[f64; 3]| (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt();
    let largest = strength
        .fields
        .iter()
        .flat_map(|f| f.modes[mode].iter().map(length))
        .chain(strength.bodies.iter().map(|b| length(&b.modes[mode])))
        .fold(f64::MIN_POSITIVE, f64::max);
    let scale = SWING * span / largest;
    let rest = format!("fill=\"none\" stroke=\"{QUIET}\" stroke-width=\"1\"");
    let moved =
        format!("fill=\"none\" stroke=\"{MOVED}\" stroke-width=\"1.8\" stroke-linecap=\"round\"");
    for f in &strength.fields {
        let d = rim_path(&f.plan, &|i| to(seen(place(f, i, None, 0.0))));
        svg.path(&d, &rest);
    }
    for f in &strength.fields {
        let d = rim_path(&f.plan, &|i| to(seen(place(f, i, Some(mode), scale))));
        svg.path(&d, &moved);
    }
    let mut covered = Covered::default();
    let mut named = Vec::new();
    for b in &strength.bodies {
        let (from, there) = (
            to(seen(body_place(b, None, 0.0))),
            to(seen(body_place(b, Some(mode), scale))),
        );
        svg.circle(
            from,
            5.0,
            &format!("fill=\"white\" stroke=\"{QUIET}\" stroke-width=\"1.2\""),
        );
        svg.line(
            from,
            there,
            &format!("stroke=\"{MOVED}\" stroke-width=\"1.4\""),
        );
        svg.circle(there, 5.0, &format!("fill=\"{MOVED}\""));
        covered.add(Area::of_circle(from, 6.0));
        covered.add(Area::of_circle(there, 6.0));
        named.push((from, &b.body));
    }
    for ((x, y), name) in named {
        let mut places = Vec::new();
        for far in [0.0, 14.0, 28.0] {
            places.extend([
                ((x + 9.0, y - 6.0 - far), Anchor::Start),
                ((x - 9.0, y - 6.0 - far), Anchor::End),
                ((x + 9.0, y + 15.0 + far), Anchor::Start),
                ((x - 9.0, y + 15.0 + far), Anchor::End),
            ]);
        }
        let (at, anchor) = covered.place(&places, 12.0, name, cell);
        svg.words(at, 12.0, anchor, name);
    }
}
