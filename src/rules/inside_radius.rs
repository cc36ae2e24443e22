//! G302: inside corners against the cutter.

use crate::feature::Shape;
use crate::geom::{Path, Point, Segment};

use super::{Bench, Finding, Measured, Rule, Sense};

/// The rule.
pub const RULE: Rule = Rule {
    id: "G302",
    title: "inside radius",
    source: "the shop file's cutter or beam radius (geometry)",
    page: "\
## What it checks
The least radius of every inside corner: concave corners of the outline, corners of windows, slots
and pockets, and half the width of ring grooves. A sharp inside corner counts as radius zero.

## Why
A round cutter cannot make a corner sharper than itself, and a sharp corner is where cracks start.

## Limit and source
The process's inside radius from the shop file (the radius of its smallest cutter for the
thickness); plain geometry.

## Bad
    window = { kind = \"polygon\", corner = 1 }   # cutter radius 4 mm

## Good
    window = { kind = \"polygon\", corner = 5 }
",
    firm_at: None,
    check,
};

/// Directions that differ by less than this are one smooth line, rad.
///
/// Fillet ends meet to about 2e-7 rad; 1e-4 rad is 0.006 deg, which no cutter shows.
const SMOOTH_RAD: f64 = 1e-4;

fn check(rule: &Rule, bench: &Bench<'_>, out: &mut Vec<Finding>) {
    let plate = &bench.made.plate;
    let limit = bench.process.inside_radius_mm;
    let mut judge = |at: String, what: String, found: Option<(f64, Point)>, spot| {
        if let Some((radius, place)) = found {
            out.push(rule.judge(
                &plate.id,
                Measured {
                    at,
                    what,
                    measured: radius,
                    limit,
                    unit: "mm",
                    sense: Sense::AtLeast,
                    places: vec![place],
                    mend: Some(format!("round the corner to at least {limit:.2} mm")),
                    spot,
                },
            ));
        }
    };
    judge(
        String::new(),
        "tightest inside corner of the outline".to_owned(),
        tightest(&plate.outline),
        bench.made.spot,
    );
    for f in &plate.features {
        let path = match &f.shape {
            Shape::Window(p) | Shape::Pocket { path: p, .. } => p.oriented(false),
            Shape::Slot(s) => s.path().oriented(false),
            Shape::Groove {
                centre,
                inner_mm,
                outer_mm,
                ..
            } => {
                // The cutter that mills a ring is no wider than the ring.
                let width = 0.5 * (outer_mm - inner_mm);
                let middle = Point::new(centre.x + 0.25 * (inner_mm + outer_mm), centre.y);
                judge(
                    f.id.clone(),
                    format!("half the width of groove `{}`", f.id),
                    Some((0.5 * width, middle)),
                    bench.made.spot_of(&f.id),
                );
                continue;
            }
            _ => continue,
        };
        judge(
            f.id.clone(),
            format!("tightest corner of `{}`", f.id),
            tightest(&path),
            bench.made.spot_of(&f.id),
        );
    }
}

/// Least radius of the turns to the right of a loop that has its metal on the left; `None` without any.
fn tightest(path: &Path) -> Option<(f64, Point)> {
    let n = path.segments.len();
    let mut least: Option<(f64, Point)> = None;
    let mut note = |r: f64, p: Point| {
        if least.is_none_or(|l| r < l.0) {
            least = Some((r, p));
        }
    };
    for (i, s) in path.segments.iter().enumerate() {
        if let Segment::Arc {
            radius, ccw: false, ..
        } = *s
        {
            note(radius, s.midpoint());
        }
        if n > 1 {
            let next = &path.segments[(i + 1) % n];
            let (d, e) = (s.direction(1.0), next.direction(0.0));
            if d.cross(e) < -SMOOTH_RAD || (d.dot(e) < 0.0 && d.cross(e) < SMOOTH_RAD) {
                note(0.0, s.to());
            }
        }
    }
    least
}
