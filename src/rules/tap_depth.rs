//! H306: thread engagement a tapped hole of the plate offers.

use crate::feature::{Purpose, Shape};
use crate::layout::fastener;
use crate::tables::{Engagements, Materials};

use super::{Bench, Finding, Measured, Rule, Sense};

/// The rule.
pub const RULE: Rule = Rule {
    id: "H306",
    title: "tapped depth",
    source: "minimum engagement: steel 1.0 d, cast iron 1.5 d, aluminium 2.0 d (common practice, no source)",
    page: "\
## What it checks
Full-thread depth of every tapped hole of a plate against the engagement its material needs.

## Why
A short thread strips, and a stripped thread in a bracket is found on the road.

## Limit and source
Bolt diameters of engagement: steel 1.0, cast iron and brass 1.5, aluminium 2.0 (common practice,
no source; other shops use 1.5 for aluminium). The strip strength itself is a joint's matter.

## Bad
M10 tapped through a 12 mm aluminium plate: 12 mm of thread, 20 mm needed.

## Good
The same in a 20 mm plate, or a clearance hole with a nut.
",
    firm_at: None,
    check,
};

fn check(rule: &Rule, bench: &Bench<'_>, out: &mut Vec<Finding>) {
    let plate = &bench.made.plate;
    let factor = Materials::standard()
        .material(&plate.material, plate.thickness_mm)
        .and_then(|m| Engagements::standard().rule(m.group));
    let Ok(engagement) = factor else {
        return;
    };
    for f in &plate.features {
        let Shape::Hole(h) = &f.shape else { continue };
        let Purpose::Tapped {
            thread,
            thread_depth_mm,
        } = &h.purpose
        else {
            continue;
        };
        let Some(bolt) = fastener::thread(thread) else {
            continue;
        };
        let limit = engagement.minimum_mm(bolt.d_mm);
        out.push(rule.judge(
            &plate.id,
            Measured {
                at: f.id.clone(),
                what: format!("full thread of `{}` ({thread})", f.id),
                measured: *thread_depth_mm,
                limit,
                unit: "mm",
                sense: Sense::AtLeast,
                places: vec![h.centre],
                mend: Some(format!(
                    "use stock at least {limit:.1} mm thick, or make = \"clearance\" and a nut"
                )),
                spot: bench.made.spot_of(&f.id),
            },
        ));
    }
}
