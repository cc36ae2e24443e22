//! G301: the narrowest neck of the outline.

use super::ligament::least_web_mm;
use super::{Bench, Finding, Measured, Rule, Sense};

/// The rule.
pub const RULE: Rule = Rule {
    id: "G301",
    title: "neck of the outline",
    source: "the shop file's least web for the process (common practice, no source)",
    page: "\
## What it checks
The least width of metal from outline to outline: the thinnest web or waist of the plate.

## Why
A plate breaks at its waist, and a part that hangs on a thin neck moves while it is cut.

## Limit and source
The process's least web from the shop file: the shop's own rule (common practice, no source).
Strength is judged separately; this is about making the part at all.

## Bad
    webs = [{ from = \"block.A1\", to = \"block.A2\", width = 3 }]

## Good
    webs = [{ from = \"block.A1\", to = \"block.A2\", width = 20 }]
",
    firm_at: None,
    check,
};

fn check(rule: &Rule, bench: &Bench<'_>, out: &mut Vec<Finding>) {
    let Some(neck) = crate::geom::neck::least(&bench.made.plate.outline) else {
        return;
    };
    let limit = least_web_mm(bench);
    out.push(rule.judge(
        &bench.made.plate.id,
        Measured {
            at: String::new(),
            what: "narrowest place of the outline".to_owned(),
            measured: neck.distance,
            limit,
            unit: "mm",
            sense: Sense::AtLeast,
            places: vec![neck.a, neck.b],
            mend: Some(format!(
                "widen the web at ({:.1}, {:.1}) by {:.2} mm",
                neck.a.midpoint(neck.b).x,
                neck.a.midpoint(neck.b).y,
                limit - neck.distance
            )),
            spot: bench.made.spot,
        },
    ));
}
