//! G303: the part against the sheet and the process's thickness.

use super::{Bench, Finding, Measured, Rule, Sense};

/// The rule.
pub const RULE: Rule = Rule {
    id: "G303",
    title: "part fits sheet and process",
    source: "the shop file's table size and greatest thickness, the stock file's sheet (geometry)",
    page: "\
## What it checks
The plate's bounding box against the usable table and the stock's sheet (either way round), and its
thickness against the greatest the process takes.

## Why
A part that does not fit is found at the shop, after it was paid for.

## Limit and source
Table size and greatest thickness from the shop file, sheet size from the stock file.

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
    let (long, short) = (e.width().max(e.height()), e.width().min(e.height()));
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
    let mut sizes = vec![("table", bench.process.sheet_mm)];
    if let Some(sheet) = bench.stock.sheet_mm {
        sizes.push(("sheet", sheet));
    }
    for (name, (a, b)) in sizes {
        let (big, small) = (a.max(b), a.min(b));
        judge(
            format!("long side on the {name}"),
            long,
            big,
            format!("choose a larger {name} or split the plate"),
        );
        judge(
            format!("short side on the {name}"),
            short,
            small,
            format!("choose a larger {name} or split the plate"),
        );
    }
    judge(
        format!("thickness on process `{}`", bench.process.id),
        plate.thickness_mm,
        bench.process.most_thickness_mm,
        "choose thinner stock or another process".to_owned(),
    );
}
