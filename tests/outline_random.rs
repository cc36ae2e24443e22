//! Random brackets against an independent polygon library.
//!
//! The normal run builds some thousand brackets and compares area and loop
//! counts with the `geo` crate's polygon booleans. The full run builds
//! 100,000 and holds them against shapely (GEOS), 256 segments a quadrant:
//!
//! ```text
//! PLATEWRIGHT_PYTHON=python3 cargo test --release --test outline_random -- --ignored --nocapture
//! ```
//!
//! `PLATEWRIGHT_OUTLINES=FROM..TO` limits it to a part of the brackets, such as `0..5000`;
//! `PLATEWRIGHT_OUTLINES_FILE` names a file that keeps the outlines, one JSON line each.
#![allow(
    clippy::print_stdout,
    reason = "the long runs say how far they are and what they counted"
)]

use std::io::Write as _;

use geo::algorithm::buffer::{BufferStyle, LineJoin};
use geo::orient::{Direction, Orient};
use geo::{Area, Buffer, Coord, LineString, MultiPolygon, Polygon, unary_union};
use platewright::geom::{Path, Point, Segment};
use platewright::outline::{Disc, Outline, Shape, build, check_outline, hull};

/// Agreement asked of two areas, relative.
const AREA: f64 = 1e-4;

/// A small generator of its own (splitmix64, Steele, Lea and Flood, OOPSLA 2014), so that bracket
/// number n is the same on every machine and whatever the dependencies do.
struct Chance(u64);

impl Chance {
    fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15).wrapping_add(1))
    }

    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * ((self.bits() >> 11) as f64 / (1_u64 << 53) as f64)
    }

    fn below(&mut self, n: usize) -> usize {
        (self.bits() % n as u64) as usize
    }

    fn pick(&mut self, from: &[f64]) -> f64 {
        from[self.below(from.len())]
    }
}

/// Which family of brackets.
#[derive(Clone, Copy)]
enum Family {
    /// Bosses and webs.
    Webs,
    /// Bosses and webs, and drawn loops on some of the bosses.
    Drawn,
    /// Bosses and webs on a coarse grid, but for 1e-11 to 1e-3 mm.
    Nearly,
}

impl Family {
    fn bracket(self, n: u64) -> Bracket {
        match self {
            Self::Webs => bracket(n),
            Self::Drawn => bracket_with_loops(n),
            Self::Nearly => bracket_nearly_on_grid(n),
        }
    }

    /// Brackets in the full run.
    fn full(self) -> u64 {
        match self {
            Self::Webs => 100_000,
            Self::Drawn | Self::Nearly => 20_000,
        }
    }
}

/// A bracket to build.
struct Bracket {
    shapes: Vec<Shape>,
    fillet_mm: f64,
}

/// Bracket number `n`: 3–10 bosses of 8–40 mm radius in a 300 mm square, a random spanning tree of
/// webs and 0–3 more; every third on a coarse grid with equal radii.
fn bracket(n: u64) -> Bracket {
    let mut chance = Chance::new(n);
    let count = 3 + chance.below(8);
    let grid = n.is_multiple_of(3);
    let step = chance.pick(&[10.0, 20.0, 25.0, 30.0]);
    let equal = chance.pick(&[8.0, 10.0, 12.5, 15.0, 20.0, 25.0, 30.0, 40.0]);
    let bosses: Vec<Disc> = (0..count)
        .map(|_| {
            if grid {
                let mut on_grid = || (chance.between(0.0, 300.0) / step).floor() * step;
                Disc::new(Point::new(on_grid(), on_grid()), equal)
            } else {
                let at = Point::new(chance.between(0.0, 300.0), chance.between(0.0, 300.0));
                Disc::new(at, chance.between(8.0, 40.0))
            }
        })
        .collect();
    let mut pairs: Vec<(usize, usize)> = (1..count).map(|k| (chance.below(k), k)).collect();
    for _ in 0..chance.below(4) {
        pairs.push((chance.below(count), chance.below(count)));
    }
    let fillet_mm = if grid {
        chance.pick(&[1.0, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.5])
    } else {
        chance.between(1.0, 12.0)
    };
    let mut shapes: Vec<Shape> = bosses.iter().map(|&b| Shape::Disc(b)).collect();
    let style = (n / 3) % 4;
    for (i, j) in pairs {
        let (a, b) = (bosses[i], bosses[j]);
        if a.centre.distance(b.centre) > 1e-3 {
            shapes.push(web(a, b, style, &mut chance));
        }
    }
    Bracket { shapes, fillet_mm }
}

/// Bracket number `n` with drawn loops added: hulls, slots, arc slots, rectangles, angles and
/// channels, sharp or with corner radii, some of those just as large as the fillet radius.
fn bracket_with_loops(n: u64) -> Bracket {
    let mut b = bracket(n);
    let mut chance = Chance::new(n ^ 0x0D12_A5E5);
    let bosses: Vec<Disc> = b
        .shapes
        .iter()
        .filter_map(|s| match s {
            Shape::Disc(d) => Some(*d),
            _ => None,
        })
        .collect();
    for _ in 0..=chance.below(3) {
        let at = bosses[chance.below(bosses.len())];
        let path = drawn_loop(at, &bosses, b.fillet_mm, n.is_multiple_of(3), &mut chance);
        b.shapes.push(Shape::Drawn(path));
    }
    b
}

/// A bracket on a coarse grid, every centre and radius off by some power of ten.
fn bracket_nearly_on_grid(n: u64) -> Bracket {
    let mut b = bracket(3 * n);
    let mut chance = Chance::new(n ^ 0x2EA7_1135);
    let mut off = || {
        let size = 10.0_f64.powf(chance.between(-11.0, -3.0));
        size * chance.between(-1.0, 1.0).signum()
    };
    let mut moved = |d: Disc| {
        let at = Point::new(d.centre.x + off(), d.centre.y + off());
        Disc::new(at, d.radius + off())
    };
    for s in &mut b.shapes {
        match s {
            Shape::Disc(d) => *d = moved(*d),
            Shape::Taper { a, b } => (*a, *b) = (moved(*a), moved(*b)),
            Shape::Bar { a, b, .. } => {
                (*a, *b) = (
                    moved(Disc::new(*a, 1.0)).centre,
                    moved(Disc::new(*b, 1.0)).centre,
                );
            }
            Shape::Drawn(_) => {}
        }
    }
    b
}

fn drawn_loop(at: Disc, bosses: &[Disc], fillet: f64, grid: bool, chance: &mut Chance) -> Path {
    let size = |chance: &mut Chance| {
        let size = chance.between(20.0, 120.0);
        if grid {
            (size / 10.0).round() * 10.0
        } else {
            size
        }
    };
    let (w, h) = (size(chance), size(chance));
    let turn = if grid {
        std::f64::consts::FRAC_PI_2 * chance.below(4) as f64
    } else {
        chance.between(0.0, 6.0)
    };
    let placed = |path: Path| path.mapped(|p| at.centre + p.to_vector().turned(turn), false);
    let far = Point::new(w, 0.0);
    match chance.below(6) {
        0 => hull(&bosses[..=chance.below(bosses.len())]),
        1 => placed(Path::slot(Point::ORIGIN, far, at.radius)),
        2 => {
            let half = chance.between(4.0, 15.0);
            let track = half
                + if chance.below(3) == 0 {
                    fillet
                } else {
                    chance.between(0.5, 60.0)
                };
            let slot = Path::arc_slot(
                Point::new(-track, 0.0),
                track,
                0.0,
                chance.between(0.3, 3.0),
                half,
            );
            placed(slot)
        }
        3 => placed(rounded(&[(-w, -h), (w, -h), (w, h), (-w, h)], 0.0)),
        k => {
            // An angle or a channel, thick enough for its corner radii.
            let corner = chance.pick(&[0.0, 2.0, fillet, 3.5]);
            let t = chance.between(8.0, 18.0).max(2.1 * corner);
            let (w, h) = (w.max(3.0 * t), h.max(3.0 * t));
            let channel = [
                (0., 0.),
                (w, 0.),
                (w, t),
                (t, t),
                (t, h),
                (w, h),
                (w, h + t),
                (0., h + t),
            ];
            let angle = [(0., 0.), (w, 0.), (w, t), (t, t), (t, h), (0., h)];
            let corners = if k == 4 { &angle[..] } else { &channel[..] };
            placed(rounded(corners, corner))
        }
    }
}

/// A polygon with every corner, convex or concave, rounded to `radius`.
fn rounded(corners: &[(f64, f64)], radius: f64) -> Path {
    let points: Vec<Point> = corners.iter().map(|&(x, y)| Point::new(x, y)).collect();
    if radius < 1e-3 {
        return Path::polygon(&points);
    }
    let n = points.len();
    let ends: Vec<(Point, Point, Point, bool)> = (0..n)
        .map(|k| {
            let (before, p, after) = (points[(k + n - 1) % n], points[k], points[(k + 1) % n]);
            let u = (p - before).unit().expect("corners differ");
            let v = (after - p).unit().expect("corners differ");
            // Right angles only: the tangent length is the radius.
            (
                p - u * radius,
                p + v * radius,
                p - u * radius + v * radius,
                u.cross(v) > 0.0,
            )
        })
        .collect();
    let mut segments = Vec::new();
    for k in 0..n {
        let (from, to, centre, ccw) = ends[k];
        segments.push(Segment::Arc {
            from,
            to,
            centre,
            radius,
            ccw,
        });
        segments.push(Segment::Line {
            from: to,
            to: ends[(k + 1) % n].0,
        });
    }
    Path::new(segments)
}

/// Half of the brackets have webs tangent to both bosses, a quarter narrower ones, a quarter a mixture with bars.
fn web(a: Disc, b: Disc, style: u64, chance: &mut Chance) -> Shape {
    let narrow = |d: Disc, share: f64| Disc::new(d.centre, d.radius * share);
    match style {
        2 => {
            let share = chance.pick(&[0.5, 0.75, 0.9]);
            Shape::Taper {
                a: narrow(a, share),
                b: narrow(b, share),
            }
        }
        3 if chance.below(2) == 0 => Shape::Bar {
            a: a.centre,
            b: b.centre,
            width: a.radius.min(b.radius) * chance.pick(&[0.5, 1.0, 2.0]),
        },
        _ => Shape::Taper { a, b },
    }
}

/// Corners a full circle gets: with areas kept, the error is far below [`AREA`], and the library's
/// offset takes time with the cube of the number.
const CORNERS: usize = 128;

/// By how much a polygon about an arc in steps of `step` rad is larger than the arc, areas being equal.
fn same_area(step: f64) -> f64 {
    (step / step.sin()).sqrt()
}

/// A polygon with the same area as the disc.
fn ring(d: Disc) -> Polygon {
    let step = std::f64::consts::TAU / CORNERS as f64;
    let radius = d.radius * same_area(step);
    let at = |k: usize| d.centre.polar(radius, step * (k as f64 + 0.5));
    polygon((0..CORNERS).map(at))
}

fn polygon(points: impl Iterator<Item = Point>) -> Polygon {
    let coords = points.map(|p| Coord { x: p.x, y: p.y }).collect();
    // The library unites by winding number: every polygon must run the same way round.
    Polygon::new(LineString::new(coords), Vec::new()).orient(Direction::Default)
}

/// The four points where two discs meet their outer tangents, or nothing where one holds the other.
fn tangent_quadrilateral(a: Disc, b: Disc) -> Option<Polygon> {
    let d = b.centre - a.centre;
    let sin = (a.radius - b.radius) / d.length();
    let u = d.unit()?;
    if sin.abs() >= 1.0 {
        return None;
    }
    let cos = (1.0 - sin * sin).sqrt();
    let (l, r) = (u * sin + u.left() * cos, u * sin - u.left() * cos);
    let at = |d: Disc, n| d.centre + n * d.radius;
    Some(polygon(
        [at(a, r), at(b, r), at(b, l), at(a, l)].into_iter(),
    ))
}

/// A drawn loop as a polygon.
fn sampled(path: &Path) -> Polygon {
    let mut points = Vec::new();
    for s in &path.segments {
        let n = (s.sweep().abs() / std::f64::consts::TAU * CORNERS as f64)
            .ceil()
            .max(1.0);
        points.extend((0..n as usize).map(|k| s.at(k as f64 / n)));
    }
    polygon(points.into_iter())
}

/// The shape grown, as the union of polygons.
fn grown(shape: &Shape, growth: f64) -> Vec<Polygon> {
    let disc = |d: Disc| Disc::new(d.centre, d.radius + growth);
    match shape {
        Shape::Disc(d) => vec![ring(disc(*d))],
        Shape::Taper { a, b } => [ring(disc(*a)), ring(disc(*b))]
            .into_iter()
            .chain(tangent_quadrilateral(disc(*a), disc(*b)))
            .collect(),
        Shape::Bar { a, b, width } => {
            let n = (*b - *a).unit().expect("webs have length").left() * (0.5 * width);
            let path = Path::polygon(&[*a - n, *b - n, *b + n, *a + n]);
            grown(&Shape::Drawn(path), growth)
        }
        Shape::Drawn(path) => {
            let mut parts = vec![sampled(path)];
            for s in &path.segments {
                match *s {
                    Segment::Line { from, to } => {
                        let (a, b) = (Disc::new(from, growth), Disc::new(to, growth));
                        parts.extend([ring(a), ring(b)]);
                        parts.extend(tangent_quadrilateral(a, b));
                    }
                    Segment::Arc { centre, radius, .. } => {
                        parts.push(strip(s, centre, radius, growth));
                    }
                }
            }
            parts
        }
    }
}

/// All within `growth` of an arc, but for its ends: a part of a ring.
fn strip(arc: &Segment, centre: Point, radius: f64, growth: f64) -> Polygon {
    let sweep = arc.sweep().abs();
    let n = (sweep / std::f64::consts::TAU * CORNERS as f64).ceil() as usize + 1;
    let same_area = same_area(sweep / n as f64);
    let at = |k: usize, radius: f64| {
        let on = arc.at(k as f64 / n as f64) - centre;
        centre + on * (radius * same_area / on.length())
    };
    let outside = (0..=n).map(|k| at(k, radius + growth));
    let inside = (0..=n).rev().map(|k| at(k, (radius - growth).max(1e-6)));
    polygon(outside.chain(inside))
}

/// An offset with round corners of many sides.
fn round(distance: f64) -> BufferStyle<f64> {
    BufferStyle::new(distance).line_join(LineJoin::Round(0.02))
}

/// The shapes and bridges grown and united by polygons.
fn union(b: &Bracket, bridges: &[Disc], radius: f64) -> MultiPolygon {
    let fills = bridges.iter().map(|&d| Shape::Disc(d));
    let all: Vec<Polygon> = (b.shapes.iter().cloned().chain(fills))
        .flat_map(|s| grown(&s, radius))
        .collect();
    unary_union(&all)
}

/// The closing's area by polygons: grown shapes united, then moved in.
fn closing_area(b: &Bracket, bridges: &[Disc], radius: f64) -> f64 {
    union(b, bridges, radius)
        .buffer_with_style(round(-radius))
        .unsigned_area()
}

fn metal(outline: &Outline) -> f64 {
    outline.outer.area() - outline.inner.iter().map(Path::area).sum::<f64>()
}

/// Area of the outline grown by `radius`, which no concave radius falls short of: area, plus
/// perimeter times radius, plus a disc for the outside and less one for each opening (Steiner).
fn grown_area(outline: &Outline, radius: f64) -> f64 {
    let loops = || std::iter::once(&outline.outer).chain(&outline.inner);
    let perimeter: f64 = loops().map(Path::length).sum();
    let turns = 1.0 - outline.inner.len() as f64;
    metal(outline) + radius * perimeter + std::f64::consts::PI * radius * radius * turns
}

/// Whether an outline agrees with polygons: its area grown by the cutter with the union of the
/// grown shapes, and, drawn loops apart, its own with the closing's.
///
/// `Ok(true)` where the closing's area only lies between those for a radius just below and just
/// above: there a gap is as wide as the cutter to within what polygons resolve. On drawn loops the
/// library's inward offset cannot serve: a radius 2e-4 mm larger changes some areas by a hundredth.
fn agrees(b: &Bracket, family: Family, outline: &Outline) -> Result<bool, String> {
    let (r, area) = (b.fillet_mm, metal(outline));
    let united = union(b, &outline.bridges, r);
    let (have, want) = (grown_area(outline, r), united.unsigned_area());
    if united.0.len() != 1 || (have / want - 1.0).abs() > AREA {
        return Err(format!(
            "grown area {have:.3}, polygons {want:.3} in {} parts",
            united.0.len()
        ));
    }
    if matches!(family, Family::Drawn) {
        return Ok(false);
    }
    let want = closing_area(b, &outline.bridges, r);
    if (area / want - 1.0).abs() < AREA {
        return Ok(false);
    }
    let low = closing_area(b, &outline.bridges, r - 2e-4);
    let high = closing_area(b, &outline.bridges, r + 2e-4);
    if area > low * (1.0 - AREA) && area < high * (1.0 + AREA) {
        return Ok(true);
    }
    Err(format!(
        "area {area:.3}, polygons {want:.3} ({low:.3} to {high:.3})"
    ))
}

/// Brackets 0 to `count` of a family against their polygons.
fn compare(count: u64, family: Family) {
    let (mut wrong, mut bridged, mut edge) = (Vec::new(), 0, 0);
    for n in 0..count {
        let b = family.bracket(n);
        let outline = match build(&b.shapes, b.fillet_mm) {
            Ok(o) => o,
            Err(e) => {
                wrong.push(format!("{n}: {e}"));
                continue;
            }
        };
        bridged += usize::from(!outline.bridges.is_empty());
        if let Err(e) = check_outline(&outline, b.fillet_mm) {
            wrong.push(format!("{n}: {e}"));
        }
        match agrees(&b, family, &outline) {
            Ok(at_the_edge) => edge += usize::from(at_the_edge),
            Err(e) => wrong.push(format!("{n}: {e}")),
        }
    }
    println!(
        "{count} brackets, {bridged} with bridges, {edge} with a gap just as wide as the cutter"
    );
    assert!(
        wrong.is_empty(),
        "{} wrong:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

#[test]
fn random_brackets_have_the_area_of_their_polygons() {
    compare(2_000, Family::Webs);
}

#[test]
fn random_brackets_with_drawn_loops_have_the_area_of_their_polygons() {
    compare(500, Family::Drawn);
}

#[test]
fn brackets_nearly_on_a_grid_have_the_area_of_their_polygons() {
    compare(500, Family::Nearly);
}

/// One bracket and its outline as a line of JSON.
fn record(n: u64, b: &Bracket, outline: &Outline) -> String {
    let point = |p: Point| format!("[{:?},{:?}]", p.x, p.y);
    let disc = |d: &Disc| format!("[{:?},{:?},{:?}]", d.centre.x, d.centre.y, d.radius);
    let list = |parts: Vec<String>| format!("[{}]", parts.join(","));
    let shape = |s: &Shape| match s {
        Shape::Disc(d) => format!("{{\"disc\":{}}}", disc(d)),
        Shape::Taper { a, b } => format!("{{\"taper\":[{},{}]}}", disc(a), disc(b)),
        Shape::Bar { a, b, width } => {
            format!("{{\"bar\":[{},{},{width:?}]}}", point(*a), point(*b))
        }
        Shape::Drawn(path) => format!("{{\"drawn\":{}}}", pieces(path)),
    };
    format!(
        "{{\"n\":{n},\"fillet\":{:?},\"shapes\":{},\"bridges\":{},\"outer\":{},\"inner\":{}}}",
        b.fillet_mm,
        list(b.shapes.iter().map(shape).collect()),
        list(outline.bridges.iter().map(disc).collect()),
        pieces(&outline.outer),
        list(outline.inner.iter().map(pieces).collect()),
    )
}

/// A loop's pieces: `[x, y]` where a line starts, `[x, y, centre x, centre y, radius, 1 or -1]` where an arc does.
fn pieces(path: &Path) -> String {
    let parts: Vec<String> = path
        .segments
        .iter()
        .map(|s| match *s {
            Segment::Line { from, .. } => format!("[{:?},{:?}]", from.x, from.y),
            Segment::Arc {
                from,
                centre: c,
                radius,
                ccw,
                ..
            } => format!(
                "[{:?},{:?},{:?},{:?},{radius:?},{}]",
                from.x,
                from.y,
                c.x,
                c.y,
                if ccw { 1 } else { -1 }
            ),
        })
        .collect();
    format!("[{}]", parts.join(","))
}

/// The brackets asked for by the environment, else all.
fn asked(family: Family) -> std::ops::Range<u64> {
    let Ok(text) = std::env::var("PLATEWRIGHT_OUTLINES") else {
        return 0..family.full();
    };
    let ends: Vec<u64> = text
        .split("..")
        .map(|n| n.parse().expect("FROM..TO"))
        .collect();
    assert_eq!(
        ends.len(),
        2,
        "PLATEWRIGHT_OUTLINES is FROM..TO, not {text}"
    );
    ends[0]..ends[1]
}

/// Builds and checks the brackets asked for, each outline that passes handed to `take`.
fn build_all(family: Family, mut take: impl FnMut(u64, &Bracket, &Outline)) {
    let (mut wrong, mut bridged, range) = (Vec::new(), 0, asked(family));
    for n in range.clone() {
        let b = family.bracket(n);
        match build(&b.shapes, b.fillet_mm) {
            Ok(outline) => {
                if let Err(e) = check_outline(&outline, b.fillet_mm) {
                    wrong.push(format!("{n}: {e}"));
                }
                bridged += usize::from(!outline.bridges.is_empty());
                take(n, &b, &outline);
            }
            Err(e) => wrong.push(format!("{n}: {e}")),
        }
    }
    println!("{range:?}: {bridged} with bridges, {} failed", wrong.len());
    assert!(
        wrong.is_empty(),
        "{} wrong:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

/// Builds the brackets asked for and has shapely check them.
fn check_all(family: Family) {
    let python = std::env::var("PLATEWRIGHT_PYTHON")
        .expect("PLATEWRIGHT_PYTHON names a Python with shapely");
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = std::env::var_os("PLATEWRIGHT_OUTLINES_FILE")
        .map_or_else(|| folder.path().join("outlines.jsonl"), Into::into);
    let mut out =
        std::io::BufWriter::new(std::fs::File::create(&file).expect("the file can be made"));
    build_all(family, |n, b, outline| {
        writeln!(out, "{}", record(n, b, outline)).expect("the line can be written");
    });
    out.flush().expect("the file can be written");
    let status = std::process::Command::new(python)
        .arg(concat!(
            env!("CARGO_MANIFEST_DIR"),
            "/tests/python/check_outlines.py"
        ))
        .arg(&file)
        .status()
        .expect("PLATEWRIGHT_PYTHON can be run");
    assert!(status.success(), "shapely disagrees: see above");
}

#[test]
#[ignore = "a quarter of a minute: see the head of this file"]
fn all_random_brackets_are_built_and_keep_every_invariant() {
    build_all(Family::Webs, |_, _, _| {});
    build_all(Family::Drawn, |_, _, _| {});
    build_all(Family::Nearly, |_, _, _| {});
}

#[test]
#[ignore = "100,000 brackets take shapely an hour: see the head of this file"]
fn all_random_brackets_agree_with_shapely() {
    check_all(Family::Webs);
}

#[test]
#[ignore = "20,000 brackets take shapely a quarter of an hour: see the head of this file"]
fn all_random_brackets_with_drawn_loops_agree_with_shapely() {
    check_all(Family::Drawn);
}

#[test]
#[ignore = "20,000 brackets take shapely a quarter of an hour: see the head of this file"]
fn brackets_nearly_on_a_grid_agree_with_shapely() {
    check_all(Family::Nearly);
}
