//! H305: the smallest hole the process can make in this thickness.

use crate::feature::Shape;

use super::{Bench, Finding, Measured, Rule, Sense};

/// The rule.
pub const RULE: Rule = Rule {
    id: "H305",
    title: "least hole or slot",
    source: "the shop file's least hole for the process (shop rule; see the process table)",
    page: "\
## What it checks
Diameter of every round hole and width of every slot that the process cuts, against the least it
can make in the plate's thickness. On a process that cannot drill, a smaller hole is not an error
of the plate: it is left as a centre mark to be drilled, and this rule says so.

## Why
A beam that pierces a hole narrower than the plate is thick leaves a tapered, hardened bore; a
drill much longer than its diameter wanders.

## Limit and source
The larger of `least-hole` and its share of the thickness from the shop file. Usual shop rules:
laser about 1 thickness, plasma 1.5 thicknesses, waterjet half (common practice, no source).

## Bad
A 6.6 mm hole in 12 mm steel on a plasma table (18 mm needed).

## Good
The same hole marked and drilled: the program does that by itself, since the shop says it machines.
",
    firm_at: None,
    check,
};

/// Least hole a process cuts in `thickness_mm`, mm.
#[must_use]
pub fn least_hole_mm(process: &crate::params::shop::Process, thickness_mm: f64) -> f64 {
    process
        .least_hole_mm
        .max(process.least_hole_per_thickness * thickness_mm)
}

fn check(rule: &Rule, bench: &Bench<'_>, out: &mut Vec<Finding>) {
    let plate = &bench.made.plate;
    let limit = least_hole_mm(bench.process, plate.thickness_mm);
    for f in &plate.features {
        let (size, place, what) = match &f.shape {
            Shape::Hole(h) if !bench.made.marked.contains_key(&f.id) => {
                (h.diameter_mm, h.centre, "diameter")
            }
            Shape::Slot(s) => (
                s.width_mm,
                s.path()
                    .segments
                    .first()
                    .map_or_else(Default::default, crate::geom::Segment::from),
                "width",
            ),
            _ => continue,
        };
        out.push(rule.judge(
            &plate.id,
            Measured {
                at: f.id.clone(),
                what: format!("{what} of `{}`", f.id),
                measured: size,
                limit,
                unit: "mm",
                sense: Sense::AtLeast,
                places: vec![place],
                mend: Some(
                    "cut the plate on another process, or make the opening wider".to_owned(),
                ),
                spot: bench.made.spot_of(&f.id),
            },
        ));
    }
}
