//! What each joint rule measures, why, against what limit, and what to change: the pages `explain` prints.

use super::page_in;

/// Pages by rule id, in the order of [`crate::joint::RULES`].
pub const PAGES: &[(&str, &str)] = &[
    (
        "J101",
        "\
## What it checks
The length of full thread that bolt and hole share: bolt length less the grip, at most the hole's full thread.

## Why
Too few threads strip before the bolt is tight, and a stripped block is far dearer than a bolt.

## Limit and source
A multiple of the nominal diameter by the metal that holds the thread, from the engagement table; `check`
prints the row's source with each finding. The shortest bolt of ISO 888 that reaches it is chosen.

## What to change
A deeper thread in the block file if there is one, a thinner plate or shorter spacer, or a nut.
",
    ),
    (
        "J102",
        "\
## What it checks
The distance from the bolt's tip to the floor of a blind hole.

## Why
A bolt that bottoms out feels tight and clamps nothing.

## Limit and source
2 pitches (common practice, no source).

## What to change
Packing under the head, a thicker plate, or a deeper hole.
",
    ),
    (
        "J103",
        "\
## What it checks
How deep the bolt goes into its hole, against the depth of full thread.

## Why
The run-out below the full thread is too shallow for the bolt: its tip jams there and the torque says nothing.

## Limit and source
The hole's full thread (common practice, no source: the tip must not jam in the run-out).

## What to change
Packing under the head, a thicker plate, or a deeper thread.
",
    ),
    (
        "J104",
        "\
## What it checks
The thread left in the grip below the plain shank of a bolt that has one.

## Why
With no free thread the nut or the hole's mouth runs onto the shank and the joint is not clamped.

## Limit and source
One pitch: EN 1090-2:2018 8.2.2, one full thread (from memory).

## What to change
Another grip: a washer or spacer more, or a plate of another thickness.
",
    ),
    (
        "J105",
        "\
## What it checks
The thread that stands out past a nut.

## Why
Only then is every turn of the nut carried; the first turn of a bolt is chamfered.

## Limit and source
One pitch: EN 1090-2:2018 8.2.2 (from memory).

## What to change
A length of ISO 888 is chosen by the program: this fails only where none fits. Change the grip.
",
    ),
    (
        "J106",
        "\
## What it checks
That a stocked length of ISO 888 both engages enough and stays off the hole's floor.

## Why
A bolt cut to length in the shop has a burr for a tip and is never the same twice.

## Limit and source
The lengths of ISO 888. Where none fits, the packing is named that would make one fit.

## What to change
A washer of that thickness under the head, or a plate or spacer of another thickness.
",
    ),
    (
        "J107",
        "\
## What it checks
The height of a sunk head against the depth of its counterbore.

## Why
A head that stands proud fouls what the counterbore made room for.

## Limit and source
The head's greatest height (its standard is in the head table).

## What to change
A thicker plate, so that the counterbore can be deeper, or a head of less height.
",
    ),
    (
        "J201",
        "\
## What it checks
The force that strips the bolt's or the hole's thread, against the force that breaks the bolt.

## Why
An overtightened bolt should break, which is seen, not strip, which is not.

## Limit and source
VDI 2230-1 5.5.5 with Alexander's factors (from memory); tensile strength of ISO 898-1:2013 Table 3. The
metal's shear strength is the material table's.

## What to change
A lower property class, a deeper thread, or a nut.
",
    ),
    (
        "J202",
        "\
## What it checks
The pressure on every face of the stack under the greatest preload and the warmest joint: head on plate,
plate on spacer, spacer on ear, and so on. The force spreads in a cone, or through a washer.

## Why
A face that creeps lets the preload go.

## Limit and source
VDI 2230-1 5.5.4; the limiting pressure of the softer metal of the two, from the material table.

## What to change
A flange head or a washer, a spacer with a larger outside, a lower class, or a harder plate.
",
    ),
    (
        "J203",
        "\
## What it checks
The clamp force that is left in the worst case: least preload of the tightening method's scatter, less what
the faces settle, less what cold or heat takes (`cold` and `hot` in [fasteners]).

## Why
Everything a joint holds by friction comes from this force.

## Limit and source
A fifth of the greatest preload (common practice, no source); settling by VDI 2230-1 5.4.2.

## What to change
A longer grip (a spacer), fewer faces, or a tightening method with less scatter.
",
    ),
    (
        "J301",
        "\
## What it checks
The share of friction that the worst load case uses at each bolt: shear against slip factor times the clamp
force left, and twist of the seat against its friction radius. Loads are the belt's pull at its worst, the
weight of what is held, and a shock of `shock` (in [fasteners], 5 g unless given) in every direction. A group
shares them as elastic bolts under rigid parts; prying is not covered.

## Why
A joint that slips works its bolts loose and frets its faces.

## Limit and source
1 over the safety of VDI 2230-1 5.5.6; the slip factor is that of `faces` in [fasteners].

## What to change
Rougher faces (`faces = \"blasted\"`), a larger bolt or higher class, one bolt more.
",
    ),
    (
        "J302",
        "\
## What it checks
The clamp force left at each bolt against the greatest pull on it, over the same load cases as J301. Prying,
which adds pull where a plate bends, is not covered.

## Why
Faces that part let the whole load onto the bolt, and it tires.

## Limit and source
1.2 times the pull, which is taken off the clamp force in full (common practice, no source).

## What to change
A larger bolt or higher class, one bolt more, or the load nearer the bolts.
",
    ),
    (
        "J303",
        "\
## What it checks
For bolts without a lever arm of their own (a single bolt, or bolts in one line): the share of the tilting
moment that opens the edge of the seat's ring.

## Why
There only the seat under the head resists a tilt.

## Limit and source
Even pressure on a ring D x d opens at F (D^2 + d^2) / (8 D); safety 1.2 (common practice, no source).

## What to change
A bolt out of the line of the others, or a wider seat.
",
    ),
    (
        "J304",
        "\
## What it checks
The greatest force in the bolt (greatest preload, heat, and its share of the pull) against its proof load.

## Why
Above its proof load a bolt stays longer and clamps less.

## Limit and source
ISO 898-1:2013 Table 3, times the head's strength factor.

## What to change
A larger bolt or higher class, one bolt more, or the load nearer the bolts.
",
    ),
    (
        "J305",
        "\
## What it checks
Pull and what is left of the tightening twist together, against the least yield strength.

## Why
Both act at once while the engine runs.

## Limit and source
VDI 2230-1 5.5.2, half of the tightening twist left (from memory).

## What to change
Less friction in the thread (`lubrication`), a larger bolt or higher class, one bolt more.
",
    ),
    (
        "J306",
        "\
## What it checks
The force that strips the thread, against the greatest force in the bolt in service.

## Why
J201 looks at the bolt's breaking force; this one at what the joint really sees.

## Limit and source
VDI 2230-1 5.5.5 (from memory), with the factor of EN 1993-1-8 for bolts.

## What to change
A deeper thread, a nut, or one bolt more.
",
    ),
    (
        "J307",
        "\
## What it checks
The stress amplitude in the thread between the least and the greatest pull of all load cases, by the share
that the stiff parts leave to the bolt.

## Why
Threads tire at a small amplitude whatever their class.

## Limit and source
0.85 (150 / d + 45) MPa for threads rolled before heat treatment, VDI 2230-1 5.5.3 (from memory), over its
safety factor.

## What to change
A longer grip, a larger bolt, one bolt more, or the load nearer the bolts.
",
    ),
    (
        "J308",
        "\
## What it checks
Shear and pull of each bolt together as if the joint had slipped onto its bolts.

## Why
Should friction fail, the set must not come off the engine.

## Limit and source
F_v / F_v,Rd + F_t / (1.4 F_t,Rd) at most 1: EN 1993-1-8:2005 Table 3.4, shear through the thread.

## What to change
A larger bolt or higher class, one bolt more, or the load nearer the bolts.
",
    ),
    (
        "J401",
        "\
## What it checks
The bolt's greatest shear against the bearing resistance of the plate at its hole. The nearest edge, window
or other hole counts as end and edge distance in every direction, since the load turns.

## Why
Should the joint slip, the bolt presses on the hole's wall.

## Limit and source
EN 1993-1-8:2005 Table 3.4: k1 alpha_b f_u d t over gamma_M2.

## What to change
A thicker plate, the hole farther from the edge, or one bolt more.
",
    ),
    (
        "J402",
        "\
## What it checks
The bolt's greatest shear against the force that tears the hole out to the nearest edge.

## Why
As J401; a second method, since the two differ for holes near an edge.

## Limit and source
AISC 360-16 equation J3-6a.

## What to change
The hole farther from the edge, or a thicker plate.
",
    ),
    (
        "J403",
        "\
## What it checks
The bolt's greatest pull against the force that punches its head through the plate.

## Why
A thin plate under a small head gives way before the bolt does.

## Limit and source
EN 1993-1-8:2005 Table 3.4: 0.6 pi d_m t f_u over gamma_M2.

## What to change
A washer or flange head, or a thicker plate.
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
        let ids =
            |list: &[(&'static str, &str)]| -> Vec<&str> { list.iter().map(|p| p.0).collect() };
        assert_eq!(ids(PAGES), ids(crate::joint::RULES));
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
