//! H310: features that the process which cuts the plate cannot make.

use crate::feature::{Face, Shape};

use super::{Bench, Finding, Measured, Rule, Sense};

/// The rule.
pub const RULE: Rule = Rule {
    id: "H310",
    title: "pockets and grooves the process makes",
    source: "a beam or jet cuts through (common practice, no source)",
    page: "\
## What it checks
The depth of every pocket and ring groove of a plate that is cut by a beam or jet.

## Why
A beam or jet cuts through and leaves no floor. Holes can be marked and drilled afterwards; a pocket
cannot, and would be missing from the part without a word.

## Limit and source
Zero depth on a process that does not machine, as the shop file says with `machines` (common
practice, no source).

## Bad
A 4 mm deep pocket in a plate with process = \"laser\".

## Good
The same plate with process = \"mill\".
",
    firm_at: None,
    check,
};

fn check(rule: &Rule, bench: &Bench<'_>, out: &mut Vec<Finding>) {
    let process = bench.process;
    let machines = process.machines;
    for f in &bench.made.plate.features {
        let (depth_mm, face, name) = match &f.shape {
            Shape::Pocket { depth_mm, face, .. } => (*depth_mm, *face, "pocket"),
            Shape::Groove { depth_mm, face, .. } => (*depth_mm, *face, "groove"),
            _ => continue,
        };
        let face = match face {
            Face::Front => "front",
            Face::Back => "back",
        };
        out.push(
            rule.judge(
                &bench.made.plate.id,
                Measured {
                    at: f.id.clone(),
                    what: format!(
                        "depth of {name} `{}` left to another process, {face} face",
                        f.id
                    ),
                    measured: if machines { 0.0 } else { depth_mm },
                    limit: 0.0,
                    unit: "mm",
                    sense: Sense::AtMost,
                    places: f.centroid().into_iter().collect(),
                    mend: Some(
                        "cut the plate on a process that machines, or have it milled afterwards"
                            .to_owned(),
                    ),
                    spot: bench.made.spot_of(&f.id),
                },
            ),
        );
    }
}
