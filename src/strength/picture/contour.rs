//! Stress contour of one plate, with its peak marked.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::labels::width as words_width;
use super::{Anchor, INK, QUIET, Svg, round_step, stepped};
use crate::geom::{Extents, Point};
use crate::strength::mesh::Plan;
use crate::strength::places::Kind;
use crate::strength::report::{CAUTION, PlaceReport, PlateField, Strength};

/// Colours from little to much stress: pale to dark, so that order survives in grey and in print.
///
/// ColorBrewer YlOrRd, nine classes (Harrower & Brewer, *The Cartographic Journal* 40 (2003) 27–37).
const RAMP: [&str; 9] = [
    "#ffffcc", "#ffeda0", "#fed976", "#feb24c", "#fd8d3c", "#fc4e2a", "#e31a1c", "#bd0026",
    "#800026",
];

/// Drawing area for the plate, px.
const AREA: (f64, f64) = (760.0, 620.0);

/// Room round it, px: left, top, right (legend), bottom.
const ROOM: (f64, f64, f64, f64) = (40.0, 140.0, 210.0, 60.0);

/// What the hatching means.
const FOOTNOTE: &str = "Hatched: clamp rings, their rims and sharp inner edges, where this model's stress is not judged.";

/// A plane clipped polygon with a value at each corner.
type Corner = (Point, f64);

/// Stress contour of a plate, by index; `None` where there is no such plate.
///
/// Colour is the greatest von Mises stress over the plate's thickness and all load cases.
#[must_use]
pub fn stress_contour(strength: &Strength, plate: usize) -> Option<String> {
    let field = strength.fields.get(plate)?;
    let report = strength.report.plates.get(plate)?;
    let mut extents = Extents::EMPTY;
    for p in &field.plan.points {
        extents.add(*p);
    }
    let scale = (AREA.0 / extents.width().max(1e-9)).min(AREA.1 / extents.height().max(1e-9));
    let (width, height) = (extents.width() * scale, extents.height() * scale);
    let to = |p: Point| {
        (
            ROOM.0 + (p.x - extents.min.x) * scale,
            ROOM.1 + (extents.max.y - p.y) * scale,
        )
    };
    let judged = report
        .places
        .iter()
        .map(|p| p.von_mises_mpa)
        .fold(0.0, f64::max);
    let step = round_step(judged.max(1e-9), RAMP.len() as f64);
    let whole_height = (ROOM.1 + height + ROOM.3).max(560.0);
    let title = format!("Stress in plate {}", report.plate);
    let peak = report
        .places
        .iter()
        .max_by(|a, b| a.von_mises_mpa.total_cmp(&b.von_mises_mpa));
    let (first, second) = peak.map_or_else(Default::default, peak_words);
    let longest = words_width(FOOTNOTE, 12.0, false)
        .max(words_width(&first, 14.0, true))
        .max(words_width(&second, 12.0, false));
    let whole_width = (ROOM.0 + width + ROOM.2).max(longest + 2.0 * ROOM.0);
    let mut svg = Svg::new(whole_width, whole_height, &title);
    svg.styled_words((ROOM.0, 34.0), 20.0, Anchor::Start, INK, "bold", &title);
    svg.words(
        (ROOM.0, 56.0),
        13.0,
        Anchor::Start,
        "Von Mises stress, MPa: the greatest over the thickness and all load cases",
    );
    svg.styled_words(
        (ROOM.0, 75.0),
        12.0,
        Anchor::Start,
        "#8a1010",
        "normal",
        CAUTION,
    );
    bands(&mut svg, field, step, &to);
    singular(&mut svg, field, &to);
    rim(&mut svg, &field.plan, &to);
    legend(
        &mut svg,
        (ROOM.0 + width + 36.0, ROOM.1 + 24.0),
        step,
        judged,
    );
    if let Some(peak) = peak {
        // The words stand in the heading, where they cover neither metal nor legend.
        svg.styled_words((ROOM.0, 100.0), 14.0, Anchor::Start, INK, "bold", &first);
        svg.words((ROOM.0, 118.0), 12.0, Anchor::Start, &second);
        mark(&mut svg, to(Point::new(peak.at_plate[0], peak.at_plate[1])));
    }
    svg.words((ROOM.0, whole_height - 20.0), 12.0, Anchor::Start, FOOTNOTE);
    Some(svg.finish())
}

/// One filled path for each colour band.
fn bands(svg: &mut Svg, field: &PlateField, step: f64, to: &impl Fn(Point) -> (f64, f64)) {
    let mut paths = vec![String::new(); RAMP.len()];
    let index = |v: f64| ((v / step).max(0.0) as usize).min(RAMP.len() - 1);
    for t in &field.plan.triangles {
        let c = t.map(|i| (field.plan.points[i], field.von_mises_mpa[i]));
        let all = c.map(|x| index(x.1));
        if all.iter().all(|k| *k == all[0]) {
            polygon(
                &mut paths[all[0]],
                &[c[0], c[3], c[1], c[4], c[2], c[5]],
                to,
            );
            continue;
        }
        // Four straight triangles stand for the curved one.
        for [i, j, k] in [[0, 3, 5], [3, 1, 4], [5, 4, 2], [3, 4, 5]] {
            let whole = [c[i], c[j], c[k]];
            let (low, high) = whole
                .iter()
                .map(|x| index(x.1))
                .fold((RAMP.len(), 0), |(a, b), k| (a.min(k), b.max(k)));
            for (band, path) in paths.iter_mut().enumerate().take(high + 1).skip(low) {
                let mut piece = whole.to_vec();
                if band > low {
                    piece = clipped(&piece, band as f64 * step, true);
                }
                if band < high {
                    piece = clipped(&piece, (band + 1) as f64 * step, false);
                }
                polygon(path, &piece, to);
            }
        }
    }
    for (d, colour) in paths.iter().zip(RAMP) {
        // A hair of stroke closes the seams between neighbours.
        let style = format!(
            "fill=\"{colour}\" stroke=\"{colour}\" stroke-width=\"0.6\" stroke-linejoin=\"round\""
        );
        svg.path(d, &style);
    }
}

/// The part of a convex polygon where the value is above (or below) a level.
fn clipped(polygon: &[Corner], level: f64, above: bool) -> Vec<Corner> {
    let keeps = |v: f64| if above { v >= level } else { v <= level };
    let mut out = Vec::new();
    for (i, a) in polygon.iter().enumerate() {
        let b = polygon[(i + 1) % polygon.len()];
        if keeps(a.1) {
            out.push(*a);
        }
        if keeps(a.1) != keeps(b.1) {
            let t = (level - a.1) / (b.1 - a.1);
            out.push((a.0 + (b.0 - a.0) * t, level));
        }
    }
    out
}

fn polygon(path: &mut String, corners: &[Corner], to: &impl Fn(Point) -> (f64, f64)) {
    if corners.len() < 3 {
        return;
    }
    for (k, (p, _)) in corners.iter().enumerate() {
        let (x, y) = to(*p);
        let letter = if k == 0 { 'M' } else { 'L' };
        let _ = write!(path, "{letter}{x:.2} {y:.2}");
    }
    path.push('Z');
}

/// Hatches the triangles whose stress is not judged.
fn singular(svg: &mut Svg, field: &PlateField, to: &impl Fn(Point) -> (f64, f64)) {
    let mut path = String::new();
    for t in &field.plan.triangles {
        if t.iter().all(|&i| field.is_singular[i]) {
            let c = t.map(|i| (field.plan.points[i], 0.0));
            polygon(&mut path, &[c[0], c[3], c[1], c[4], c[2], c[5]], to);
        }
    }
    svg.raw(
        "<defs><pattern id=\"hatch\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\" \
         patternTransform=\"rotate(45)\"><rect width=\"6\" height=\"6\" fill=\"#e4e4e4\"/>\
         <line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"6\" stroke=\"#6e6e6e\" stroke-width=\"1.6\"/></pattern></defs>",
    );
    svg.path(&path, "fill=\"url(#hatch)\"");
}

/// Strokes every edge that bounds the plan.
fn rim(svg: &mut Svg, plan: &Plan, to: &impl Fn(Point) -> (f64, f64)) {
    let path = rim_path(plan, &|i| to(plan.points[i]));
    let style =
        format!("fill=\"none\" stroke=\"{INK}\" stroke-width=\"1.3\" stroke-linecap=\"round\"");
    svg.path(&path, &style);
}

/// The edges used by one triangle only, as second-order curves; `at` places a plan point.
pub(super) fn rim_path(plan: &Plan, at: &dyn Fn(usize) -> (f64, f64)) -> String {
    let mut uses: BTreeMap<(usize, usize), (usize, usize)> = BTreeMap::new();
    for &[a, b, c, ab, bc, ca] in &plan.triangles {
        for (i, j, m) in [(a, b, ab), (b, c, bc), (c, a, ca)] {
            uses.entry((i.min(j), i.max(j))).or_insert((0, m)).0 += 1;
        }
    }
    let mut path = String::new();
    for ((i, j), (count, m)) in uses {
        if count == 1 {
            let (p, q, r) = (at(i), at(m), at(j));
            // The parabola through three points as a quadratic Bézier.
            let c = (2.0 * q.0 - 0.5 * (p.0 + r.0), 2.0 * q.1 - 0.5 * (p.1 + r.1));
            let _ = write!(
                path,
                "M{:.2} {:.2}Q{:.2} {:.2} {:.2} {:.2}",
                p.0, p.1, c.0, c.1, r.0, r.1
            );
        }
    }
    path
}

fn legend(svg: &mut Svg, (x, y): (f64, f64), step: f64, peak: f64) {
    const CELL: (f64, f64) = (28.0, 36.0);
    let used = ((peak / step).ceil() as usize).clamp(1, RAMP.len());
    svg.styled_words((x, y - 12.0), 14.0, Anchor::Start, INK, "bold", "MPa");
    for (k, colour) in RAMP.iter().enumerate().take(used) {
        // Most stress on top.
        let top = y + (used - 1 - k) as f64 * CELL.1;
        svg.raw(&format!(
            "<rect x=\"{x:.2}\" y=\"{top:.2}\" width=\"{}\" height=\"{}\" fill=\"{colour}\" stroke=\"{QUIET}\" stroke-width=\"0.8\"/>",
            CELL.0, CELL.1
        ));
        svg.words(
            (x + CELL.0 + 8.0, top + CELL.1 + 5.0),
            14.0,
            Anchor::Start,
            &stepped(k as f64 * step, step),
        );
    }
    let high = if used == RAMP.len() && peak > used as f64 * step {
        "more".to_owned()
    } else {
        stepped(used as f64 * step, step)
    };
    svg.words((x + CELL.0 + 8.0, y + 5.0), 14.0, Anchor::Start, &high);
    let below = y + used as f64 * CELL.1 + 34.0;
    svg.circle(
        (x + 14.0, below),
        8.0,
        &format!("fill=\"none\" stroke=\"{INK}\" stroke-width=\"2.2\""),
    );
    svg.words((x + CELL.0 + 8.0, below + 5.0), 13.0, Anchor::Start, "peak");
    svg.raw(&format!(
        "<rect x=\"{x:.2}\" y=\"{:.2}\" width=\"28\" height=\"18\" fill=\"url(#hatch)\" stroke=\"{QUIET}\" stroke-width=\"0.8\"/>",
        below + 18.0
    ));
    svg.words(
        (x + CELL.0 + 8.0, below + 32.0),
        13.0,
        Anchor::Start,
        "not judged",
    );
}

/// The peak in two lines.
fn peak_words(peak: &PlaceReport) -> (String, String) {
    let place = match peak.kind {
        Kind::Beside => format!("beside clamp {}", peak.name),
        Kind::Inside => "on the face".to_owned(),
        _ => format!("edge of {}", peak.name),
    };
    let fatigue = peak
        .fatigue_safety
        .map_or_else(String::new, |f| format!(", fatigue safety {f:.1}"));
    (
        format!("Peak {:.1} MPa, {place}", peak.von_mises_mpa),
        format!(
            "{}; yield safety {:.1}{fatigue}",
            peak.case, peak.yield_safety
        ),
    )
}

/// A ring with four ticks round the peak, to be found on any colour.
fn mark(svg: &mut Svg, (x, y): (f64, f64)) {
    for (colour, stroke) in [("white", 5.0), (INK, 2.2)] {
        let style = format!("fill=\"none\" stroke=\"{colour}\" stroke-width=\"{stroke}\"");
        svg.circle((x, y), 9.0, &style);
        for (dx, dy) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
            svg.line(
                (x + 9.0 * dx, y + 9.0 * dy),
                (x + 17.0 * dx, y + 17.0 * dy),
                &style,
            );
        }
    }
}
