//! The washer search against every washer set there is, with mechanics of its own, on 500 random mock-ups.

mod shim_support;

use platewright::shim::{MOST_PIECES, plan};
use shim_support::{Stood, drive, lifted, read, share};

/// Lift and washers handled, for every way to fill a place of two.
fn packs(stock: &[f64], fitted: &[f64]) -> Vec<(f64, usize)> {
    let mut list = Vec::new();
    let keeps: &[(f64, usize, usize)] = match fitted {
        [] => &[(0.0, 0, 2)],
        // Keep the one that is there and add one, or take it out and add two.
        [_] => &[(0.0, 0, 1), (-1.0, 1, 2)],
        _ => &[],
    };
    for (out, taken, room) in keeps {
        let base = out * fitted.first().copied().unwrap_or(0.0);
        list.push((base, *taken));
        for (i, a) in stock.iter().enumerate() {
            list.push((base + a, taken + 1));
            if *room == 2 {
                for b in &stock[i..] {
                    list.push((base + a + b, taken + 2));
                }
            }
        }
    }
    list
}

/// A place: mount, bolt, and its ways to be filled (lift, washers handled).
type Filled = (usize, usize, Vec<(f64, usize)>);

/// The fewest pieces and the least share among all sets.
fn best(drive: &platewright::shim::Drive, now: &[Stood]) -> Option<(usize, f64)> {
    let places: Vec<Filled> = drive
        .mounts
        .iter()
        .enumerate()
        .flat_map(|(m, mount)| {
            mount.bolts.iter().enumerate().filter_map(move |(b, bolt)| {
                let place = bolt.place.as_ref()?;
                Some((m, b, packs(&drive.stock_mm, &place.fitted_mm)))
            })
        })
        .collect();
    let mut lifts: Vec<Vec<f64>> = drive
        .mounts
        .iter()
        .map(|m| vec![0.0; m.bolts.len()])
        .collect();
    let mut found: Option<(usize, f64)> = None;
    every(&places, 0, 0, &mut lifts, &mut |lifts, pieces| {
        if found.is_some_and(|f| f.0 < pieces) {
            return;
        }
        let Some(stands) = lifted(drive, now, lifts) else {
            return;
        };
        let s = share(drive, &stands);
        if s <= 1.0 + 1e-9 && found.is_none_or(|f| pieces < f.0 || s < f.1) {
            found = Some((pieces, s));
        }
    });
    found
}

type Visit<'a> = dyn FnMut(&[Vec<f64>], usize) + 'a;

fn every(
    places: &[Filled],
    i: usize,
    pieces: usize,
    lifts: &mut Vec<Vec<f64>>,
    visit: &mut Visit<'_>,
) {
    if pieces > MOST_PIECES {
        return;
    }
    let Some((m, b, choices)) = places.get(i) else {
        visit(lifts, pieces);
        return;
    };
    for (lift, n) in choices {
        lifts[*m][*b] = *lift;
        every(places, i + 1, pieces + n, lifts, visit);
    }
    lifts[*m][*b] = 0.0;
}

#[test]
fn the_search_finds_the_optimum_of_every_washer_set_on_500_random_mounts() {
    let (mut solved, mut none, mut already) = (0, 0, 0);
    let mut by_pieces = [0_usize; MOST_PIECES + 1];
    for seed in 0..500 {
        let (drive, readings) = drive(seed);
        let plan = plan(&drive, &readings).expect("a sound drive");
        let brute = best(&drive, &read(&drive, &readings));
        assert!(plan.washers.is_complete, "seed {seed}");
        match (&plan.washers.plan, brute) {
            (None, None) => none += 1,
            (Some(p), Some((pieces, share))) => {
                assert_eq!(p.pieces, pieces, "seed {seed}");
                assert!(
                    (p.share - share).abs() < 1e-9,
                    "seed {seed}: {} against {share}",
                    p.share
                );
                solved += 1;
                by_pieces[pieces] += 1;
                already += usize::from(plan.is_true);
            }
            (found, brute) => panic!("seed {seed}: {found:?} against {brute:?}"),
        }
    }
    println!(
        "{solved} solved ({already} true already), {none} without a solution; by pieces {by_pieces:?}"
    );
    assert!(
        solved > 150 && none > 20,
        "the sample has to have both kinds"
    );
}
