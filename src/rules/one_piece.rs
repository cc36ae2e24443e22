//! G304: the outline is one piece.

use super::{Bench, Finding, Measured, Rule, Sense};

/// The rule.
pub const RULE: Rule = Rule {
    id: "G304",
    title: "one piece",
    source: "geometry",
    page: "\
## What it checks
That every boss, web and drawn part of the plate hangs together in one outline.

## Why
What is not joined falls off the table.

## Limit and source
One piece; plain geometry.

## Bad
    webs = [[\"block.A1\", \"block.A2\"]]      # block.A3 is taken too, but joined to nothing

## Good
    webs = \"auto\"
",
    firm_at: None,
    check,
};

fn check(rule: &Rule, bench: &Bench<'_>, out: &mut Vec<Finding>) {
    out.push(rule.judge(
        &bench.made.plate.id,
        Measured {
            at: String::new(),
            what: "pieces of the outline".to_owned(),
            measured: bench.made.pieces as f64,
            limit: 1.0,
            unit: "",
            sense: Sense::AtMost,
            places: Vec::new(),
            mend: Some("join the loose bosses with webs".to_owned()),
            spot: bench.made.spot,
        },
    ));
}
