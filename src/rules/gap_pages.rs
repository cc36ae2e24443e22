//! What each clearance rule measures, why, against what limit, and what to change: the pages `explain` prints.

use super::page_in;

/// Pages by rule id, in the order of [`crate::surroundings::RULES`].
pub const PAGES: &[(&str, &str)] = &[
    (
        "C101",
        "\
## What it checks
The gap between every two bodies that are not bolted to each other: plates, spacers, heads and bolt ends,
accessories, pulleys, belt, hoses with their clamps, the block's keep-outs. Gaps are exact on lines and arcs;
only pairs within 4 mm beyond their limit are listed.

## Why
What shakes, turns, flaps, sags or glows needs room.

## Limit and source
By what the two are, from 3 mm between parts that stand still to 50 mm between a hose and an exhaust: the
table of gaps, common practice, no source. Overlapping bodies have a negative gap: how deep they clash.

## What to change
Move or trim what the finding names. Where an accessory's file marks metal as removable (`trim`), the
finding says how deep to cut and where.
",
    ),
    (
        "C102",
        "\
## What it checks
That the housing of an accessory does not overlap the plate it is bolted to.

## Why
Faces that are bolted together touch; one inside the other cannot be built.

## Limit and source
0 mm: parts bolted to each other may touch. It is measured once for each housing and plate.

## What to change
The plate's height or outline, a window where the housing passes through, or the accessory's body if its file
draws it too large.
",
    ),
    (
        "C103",
        "\
## What it checks
A straight cylinder over each bolt head, as wide as the socket's outside and 1 mm of room round it, 78 mm long.
Bolts into the block are tightened with the plates alone on the engine: accessories, their bolts, hoses and
the belt come later and are not in the way.

## Why
A bolt that no socket reaches is not tightened to its torque.

## Limit and source
0 mm to the cylinder: it holds its room itself. Socket sizes are the socket table's for 1/2 in drive
(common practice, no source).

## What to change
Turn the bolt round, use a cap head, or move what stands over the head.
",
    ),
    (
        "C104",
        "\
## What it checks
The least gap of what moves while the belt is fitted and wears: the spring tensioner's pulley from one end of
its sweep to the other, or the accessory that takes the belt up along its slot. The finding tells how far
along the way the least gap is met.

## Why
What has room as drawn may touch with the shortest or the longest belt.

## Limit and source
As C101, by what the two are. Gaps of a swinging cylinder are exact, others are found to within 0.05 mm and
never said too large.

## What to change
Move what stands in the way, or choose a belt length that keeps the arm away from that end.
",
    ),
    (
        "C105",
        "\
## What it checks
The belt's way off towards the front: the belt as it lies, moved forward by its own width and 5 mm.

## Why
A belt that is caged by a bracket or hose means taking things apart at the roadside.

## Limit and source
0 mm: the belt must pass (5 mm to lift it off: common practice, no source).

## What to change
Move what stands in front of the belt, or split it.
",
    ),
];

/// The page of a rule of the family.
#[must_use]
pub fn page(rule: &str) -> Option<&'static str> {
    page_in(PAGES, rule)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_rule_has_its_page_with_all_four_headings() {
        let ids: Vec<&str> = PAGES.iter().map(|p| p.0).collect();
        let rules: Vec<&str> = crate::surroundings::RULES.iter().map(|r| r.id).collect();
        assert_eq!(ids, rules);
        for (id, page) in PAGES {
            for heading in [
                "What it checks",
                "Why",
                "Limit and source",
                "What to change",
            ] {
                assert!(page.contains(&format!("## {heading}\n")), "{id}: {heading}");
            }
        }
    }
}
