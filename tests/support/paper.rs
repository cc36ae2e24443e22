//! What lies on a drawn sheet, and what of it overlaps.

use std::collections::BTreeSet;

use platewright::drawing::{Item, Page, Text};
use platewright::geom::{Extents, Point, Segment};

/// Straight pieces of everything drawn, arcs in chords of a hundredth of a mm at most.
pub(crate) fn strokes(page: &Page) -> Vec<(Point, Point)> {
    let mut all = Vec::new();
    for item in &page.items {
        match item {
            Item::Text(_) => {}
            Item::Fill(points) => {
                let n = points.len();
                all.extend((0..n).map(|k| (points[k], points[(k + 1) % n])));
            }
            Item::Line { path, .. } => {
                for s in path {
                    let n = match s {
                        Segment::Line { .. } => 1,
                        Segment::Arc { radius, .. } => {
                            let step = 2.0 * (1.0 - (0.01 / radius).min(1.0)).acos();
                            (s.sweep().abs() / step).ceil().max(4.0) as usize
                        }
                    };
                    let at = |k: usize| {
                        if k == n {
                            s.to()
                        } else {
                            s.at(k as f64 / n as f64)
                        }
                    };
                    all.extend((0..n).map(|k| (at(k), at(k + 1))));
                }
            }
        }
    }
    all
}

/// Whether a straight piece enters a box: an end inside, or a crossing with a side.
pub(crate) fn enters(from: Point, to: Point, b: &Extents) -> bool {
    if from.x.max(to.x) < b.min.x
        || from.x.min(to.x) > b.max.x
        || from.y.max(to.y) < b.min.y
        || from.y.min(to.y) > b.max.y
    {
        return false;
    }
    let inside = |p: Point| p.x > b.min.x && p.x < b.max.x && p.y > b.min.y && p.y < b.max.y;
    let corners = [
        b.min,
        Point::new(b.max.x, b.min.y),
        b.max,
        Point::new(b.min.x, b.max.y),
    ];
    let side = |p: Point| (to - from).cross(p - from);
    let signs: BTreeSet<bool> = corners.iter().map(|c| side(*c) > 0.0).collect();
    inside(from) || inside(to) || signs.len() == 2
}

/// Texts that leave the sheet, meet another text or have a line through them.
pub(crate) fn faults(page: &Page) -> Vec<String> {
    let texts: Vec<(&Text, Extents)> = page.texts().map(|t| (t, t.bounds())).collect();
    let lines = strokes(page);
    // Ten mm margin less the border of five.
    let (w, h) = (page.size.width_mm() - 5.0, page.size.height_mm() - 5.0);
    let mut faults = Vec::new();
    for (k, (t, b)) in texts.iter().enumerate() {
        if b.min.x < 5.0 || b.min.y < 5.0 || b.max.x > w || b.max.y > h {
            faults.push(format!("`{}` leaves the sheet", t.text));
        }
        for (u, c) in &texts[k + 1..] {
            let apart = b.max.x <= c.min.x
                || c.max.x <= b.min.x
                || b.max.y <= c.min.y
                || c.max.y <= b.min.y;
            if !apart {
                faults.push(format!("`{}` and `{}` overlap", t.text, u.text));
            }
        }
        if let Some((from, _)) = lines.iter().find(|(p, q)| enters(*p, *q, b)) {
            faults.push(format!(
                "a line near {from:?} runs through `{}` {b:?}",
                t.text
            ));
        }
    }
    faults
}
