//! The order of assembly against brute force on small random sets, and on jobs laid out for it.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

#[path = "support/jobs.rs"]
#[allow(dead_code, reason = "each test file uses its own share of the support")]
mod jobs;

use std::collections::BTreeSet;
use std::path::Path;

use jobs::Job;
use platewright::fitup::{Piece, Put, WayOff, What, early, order};
use platewright::project;
use platewright::rules::Verdict;
use proptest::prelude::*;

/// Whether pieces may be put on in an order: at its turn a piece finds none on that holds it, and one
/// of its ways clear.
fn is_buildable(pieces: &[Piece], sequence: &[usize]) -> bool {
    let mut on = vec![false; pieces.len()];
    sequence.iter().all(|&i| {
        let free = pieces[i].held_by.iter().all(|&k| !on[k])
            && pieces[i]
                .ways
                .iter()
                .any(|w| w.fixed.is_none() && w.blocked_by.iter().all(|&k| !on[k]));
        on[i] = true;
        free
    })
}

fn permutations(n: usize) -> Vec<Vec<usize>> {
    if n == 0 {
        return vec![Vec::new()];
    }
    let shorter = permutations(n - 1);
    (0..n)
        .flat_map(|at| {
            shorter.iter().map(move |p| {
                let mut q = p.clone();
                q.insert(at, n - 1);
                q
            })
        })
        .collect()
}

/// Up to six pieces, each held by some and with one to three ways blocked by some.
fn sets() -> impl Strategy<Value = Vec<Piece>> {
    (2_usize..=6).prop_flat_map(|n| {
        let others = move || prop::collection::btree_set(0..n, 0..=2);
        let way = (others(), prop::bool::weighted(0.1)).prop_map(|(blocked_by, fixed)| WayOff {
            to: "to the front",
            blocked_by,
            fixed: fixed.then(|| "the sump".to_owned()),
        });
        let piece = (
            prop::collection::btree_set(0..n, 0..=1),
            prop::collection::vec(way, 1..=3),
            0_usize..4,
        );
        prop::collection::vec(piece, n).prop_map(|list| {
            list.into_iter()
                .enumerate()
                .map(|(i, (mut held_by, mut ways, rank))| {
                    held_by.remove(&i);
                    for w in &mut ways {
                        w.blocked_by.remove(&i);
                    }
                    Piece {
                        held_by,
                        ways,
                        rank: (rank, 0, i),
                    }
                })
                .collect()
        })
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    #[test]
    fn an_order_is_found_exactly_where_some_order_can_be_built(pieces in sets()) {
        let any = permutations(pieces.len()).iter().any(|p| is_buildable(&pieces, p));
        let found = order(&pieces);
        prop_assert_eq!(found.is_ok(), any);
        if let Ok(puts) = found {
            let sequence: Vec<usize> = puts.iter().map(|p| p.piece).collect();
            prop_assert!(is_buildable(&pieces, &sequence));
            let all: BTreeSet<usize> = sequence.iter().copied().collect();
            prop_assert_eq!(all.len(), pieces.len());
            // Bolts, here every other piece, brought forward leave it an order.
            let bolts: BTreeSet<usize> = (0..pieces.len()).step_by(2).collect();
            let sooner: Vec<usize> = early(&pieces, &puts, &bolts).iter().map(|p| p.piece).collect();
            prop_assert!(is_buildable(&pieces, &sooner));
        }
    }

    /// A stack of plates, each with a bolt of its own; plates on top cover the bolts of some below.
    #[test]
    fn no_bolt_goes_in_after_what_covers_it(
        covers in prop::collection::vec(prop::collection::vec(prop::bool::ANY, 4), 4)
    ) {
        let n = covers.len();
        // Pieces 0 to n-1 are plates from the block outwards, n to 2n-1 their bolts.
        let pieces: Vec<Piece> = (0..2 * n)
            .map(|i| {
                let plate = i % n;
                let above: BTreeSet<usize> = (plate + 1..n).collect();
                let covering = above.iter().copied().filter(|&k| covers[plate][k]).collect();
                Piece {
                    held_by: if i < n { BTreeSet::from([n + plate]) } else { BTreeSet::new() },
                    ways: vec![WayOff {
                        to: "to the front",
                        blocked_by: if i < n { above } else { covering },
                        fixed: None,
                    }],
                    rank: (if i < n { plate } else { 9 }, 0, i),
                }
            })
            .collect();
        let puts: Vec<Put> = order(&pieces).expect("a plain stack goes together");
        let place = |i: usize| puts.iter().position(|p| p.piece == i).unwrap();
        for (plate, covered) in covers.iter().enumerate().take(n) {
            prop_assert!(place(plate) < place(n + plate));
            for (above, covers_it) in covered.iter().enumerate().take(n).skip(plate + 1) {
                prop_assert!(place(plate) < place(above));
                if *covers_it {
                    prop_assert!(place(n + plate) < place(above));
                }
            }
        }
    }
}

#[test]
fn two_pieces_that_hold_each_other_are_stuck() {
    let held = |by: usize| Piece {
        held_by: BTreeSet::from([by]),
        ways: vec![WayOff {
            to: "",
            blocked_by: BTreeSet::new(),
            fixed: None,
        }],
        rank: (0, 0, 0),
    };
    let stuck = order(&[held(1), held(0)]).expect_err("neither comes off");
    assert_eq!(stuck.left, BTreeSet::from([0, 1]));
}

/// An accessory through a 30 mm window of the plate, thick behind it and `front_mm` thick before it.
fn through_a_window(front_mm: f64) -> Job {
    Job::drawn()
        .with(
            "back = \"block.A1\"",
            "back = { on = \"block.A1\", plus = 100 }",
        )
        .with(
            "holes = [\"block.A1\", \"block.A2\"]",
            "holes = [\"block.A1\", \"block.A2\", \"thing.lug\"]",
        )
        .and(
            "[[plate.window]]\nid = \"bore\"\nkind = \"circle\"\nat = [40, -8]\ndiameter = 30\n\n\
             [[place]]\nid = \"thing\"\naccessory = \"thing\"\nat = [40, -8]\nz = 100\n",
        )
        .replaced(
            "thing",
            &format!(
                "kind = \"accessory\"\ntitle = \"Test accessory\"\nmass = 1\ncentre = [0, 0, 0]\n\n\
                 [[mount]]\nid = \"lug\"\nat = [0, 26]\nthread = \"M5x0.8\"\n\
                 pad = {{ face = 0, seat = -10, hole = 5.5, diameter = 12 }}\n\n\
                 [[body]]\nname = \"rear\"\ncylinder = {{ at = [0, 0], diameter = 40 }}\nz = [-20, -2]\n\n\
                 [[body]]\nname = \"neck\"\ncylinder = {{ at = [0, 0], diameter = 20 }}\nz = [-2, 30]\n\n\
                 [[body]]\nname = \"front\"\ncylinder = {{ at = [0, 0], diameter = {front_mm} }}\nz = [30, 40]\n"
            ),
        )
}

#[test]
fn what_is_thicker_than_the_window_on_both_sides_of_a_plate_cannot_be_put_in() {
    let fails = through_a_window(40.0).finding("C106", "");
    assert_eq!(fails.verdict, Verdict::Fails);
    assert!(fails.measured >= 2.0 && fails.mend.is_some(), "{fails:?}");
    assert!(
        fails.what.contains("thing") && fails.what.contains("plate"),
        "{}",
        fails.what
    );
    let holds = through_a_window(20.0).finding("C106", "");
    assert_eq!(holds.verdict, Verdict::Holds, "{}", holds.what);
}

#[test]
fn the_demo_goes_together_with_every_bolt_before_what_covers_it() {
    for job in ["forwarder", "auxiliary"] {
        let p = project::open(Path::new(&format!("params/jobs/{job}.toml"))).unwrap();
        let a = &p.assembly;
        let puts = a.order.as_ref().expect("the demo goes together");
        assert_eq!(puts.len(), a.what.len(), "{job}");
        let sequence: Vec<usize> = puts.iter().map(|x| x.piece).collect();
        assert!(is_buildable(&a.pieces, &sequence), "{job}");
        let place = |w: &What| puts.iter().position(|x| a.what[x.piece] == *w).unwrap();
        for j in &p.layout.joints {
            let bolt = place(&What::Bolt(j.id.clone()));
            for l in &j.layers {
                if let platewright::layout::Part::Plate(id) = &l.part {
                    assert!(place(&What::Plate(id.clone())) < bolt, "{job} {}", j.id);
                }
            }
            for cover in a.covers(&j.id) {
                assert!(bolt < place(cover), "{job} {}: {}", j.id, cover.words());
            }
        }
    }
}
