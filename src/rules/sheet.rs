//! G303: the part against the sheet and the process's thickness.

use super::{Bench, Finding, Measured, Rule, Sense};
use crate::nest;

/// The rule.
pub const RULE: Rule = Rule {
    id: "G303",
    title: "part fits sheet and process",
    source: "the shop file's table size and greatest thickness, the stock file's sheet (geometry)",
    page: "\
## What it checks
The plate's box, in the allowed turn that leaves most room, against the part of the stock's sheet that
the process's table holds, less the margin for clamps all round: of several sheet sizes the one that
leaves most room. And its thickness against the greatest the process takes.

## Why
A part that does not fit is found at the shop, after it was paid for.

## Limit and source
Table size, `edge-margin` and greatest thickness from the shop file, sheet sizes and `turns` from the
stock file.

## Bad
A 420 mm plate on a 400 x 300 mm table.

## Good
The same plate in two parts, or another process.
",
    firm_at: None,
    check,
};

fn check(rule: &Rule, bench: &Bench<'_>, out: &mut Vec<Finding>) {
    let plate = &bench.made.plate;
    let e = plate.outline.extents();
    let mut judge = |what: String, measured: f64, limit: f64, mend: String| {
        out.push(rule.judge(
            &plate.id,
            Measured {
                at: String::new(),
                what,
                measured,
                limit,
                unit: "mm",
                sense: Sense::AtMost,
                places: vec![e.min, e.max],
                mend: Some(mend),
                spot: bench.made.spot,
            },
        ));
    };
    // The size on which the part has most room, by what is left of the tighter side.
    let margin = 2.0 * bench.process.edge_margin_mm;
    let best = nest::blanks_mm(bench.stock, bench.process)
        .into_iter()
        .map(|(l, w)| {
            let usable = (l - margin, w - margin);
            let part = nest::best_box(&plate.outline, bench.stock.turns, usable);
            (usable, part)
        })
        .max_by(|a, b| {
            let spare = |(u, p): &((f64, f64), (f64, f64))| (u.0 - p.0).min(u.1 - p.1);
            spare(a).total_cmp(&spare(b))
        });
    if let Some((usable, part)) = best {
        for (what, measured, limit) in [
            ("length on the sheet", part.0, usable.0),
            ("width on the sheet", part.1, usable.1),
        ] {
            judge(
                what.to_owned(),
                measured,
                limit,
                "choose a larger sheet or table, let it be turned, or split the plate".to_owned(),
            );
        }
    }
    judge(
        format!("thickness on process `{}`", bench.process.id),
        plate.thickness_mm,
        bench.process.most_thickness_mm,
        "choose thinner stock or another process".to_owned(),
    );
}
