//! Which bosses to join by webs when the job does not say.

use super::shape::Disc;
use crate::geom::{Point, Segment};
use crate::tol;
use std::collections::BTreeSet;

/// The pairs of bosses that webs join by default, each `(lower, higher)` index, sorted.
///
/// Two rules, each for a reason a bracket has:
///
/// * **Neighbours.** Two bosses are joined unless a third is nearer to both of
///   them than they are to each other (the relative neighbourhood graph,
///   Toussaint, "The relative neighbourhood graph of a finite planar set",
///   Pattern Recognition 12 (1980) 261–268). Load then runs from hole to hole by
///   the shortest bars, none passes a boss it could stop at, no two cross, and
///   the graph holds a minimum spanning tree, so the bracket is one part.
/// * **Ring.** The outermost bosses are joined in order round the outside. Open
///   arms become closed frames, which is what makes a plate stiff in its own
///   plane, and the part has a smooth edge to clamp and to carry.
///
/// A ring web that would run over a third boss is led over that boss instead.
/// Bosses on one centre are one boss; fewer than two give nothing.
#[must_use]
pub fn automatic(bosses: &[Disc]) -> Vec<(usize, usize)> {
    let nodes = distinct(bosses);
    let mut pairs = BTreeSet::new();
    let mut add = |i: usize, j: usize| pairs.insert((i.min(j), i.max(j)));
    for (n, &i) in nodes.iter().enumerate() {
        for &j in &nodes[n + 1..] {
            let apart = bosses[i].centre.distance(bosses[j].centre);
            let between = nodes.iter().any(|&k| {
                let z = bosses[k].centre;
                k != i
                    && k != j
                    && z.distance(bosses[i].centre) < apart - tol::SNAP_MM
                    && z.distance(bosses[j].centre) < apart - tol::SNAP_MM
            });
            if !between {
                add(i, j);
            }
        }
    }
    for (i, j) in ring(bosses, &nodes) {
        let stops = stops(bosses, &nodes, i, j);
        for pair in stops.windows(2) {
            add(pair[0], pair[1]);
        }
    }
    pairs.into_iter().collect()
}

/// The first boss on each centre; the centres are usable numbers.
fn distinct(bosses: &[Disc]) -> Vec<usize> {
    let mut out: Vec<usize> = Vec::with_capacity(bosses.len());
    for (k, b) in bosses.iter().enumerate() {
        let usable = b.centre.x.is_finite() && b.centre.y.is_finite();
        let taken = |&o: &usize| bosses[o].centre.distance(b.centre) <= tol::INPUT_GRID_MM;
        if usable && !out.iter().any(taken) {
            out.push(k);
        }
    }
    out
}

/// Pairs of successive corners of the centres' convex hull (monotone chain,
/// Andrew, Information Processing Letters 9 (1979) 216–219).
fn ring(bosses: &[Disc], nodes: &[usize]) -> Vec<(usize, usize)> {
    let at = |k: usize| bosses[k].centre;
    let mut sorted = nodes.to_vec();
    sorted.sort_by(|&a, &b| {
        at(a)
            .x
            .total_cmp(&at(b).x)
            .then(at(a).y.total_cmp(&at(b).y))
    });
    let half = |order: &mut dyn Iterator<Item = usize>| {
        let mut chain: Vec<usize> = Vec::new();
        for k in order {
            while let [.., a, b] = chain[..]
                && (at(b) - at(a)).cross(at(k) - at(b)) <= 0.0
            {
                chain.pop();
            }
            chain.push(k);
        }
        chain
    };
    let lower = half(&mut sorted.iter().copied());
    let upper = half(&mut sorted.iter().rev().copied());
    [lower, upper]
        .iter()
        .flat_map(|chain| chain.windows(2).map(|w| (w[0], w[1])))
        .collect()
}

/// `i` and `j` with the bosses between them that a straight web would run over, in order.
fn stops(bosses: &[Disc], nodes: &[usize], i: usize, j: usize) -> Vec<usize> {
    let (a, b) = (bosses[i].centre, bosses[j].centre);
    let axis = b - a;
    let along = |p: Point| (p - a).dot(axis);
    let line = Segment::Line { from: a, to: b };
    let half_width = bosses[i].radius.max(bosses[j].radius);
    let mut on: Vec<usize> = nodes
        .iter()
        .copied()
        .filter(|&k| {
            let (z, t) = (bosses[k].centre, along(bosses[k].centre));
            k != i
                && k != j
                && t > 0.0
                && t < axis.dot(axis)
                && line.distance(z) < bosses[k].radius.max(half_width)
        })
        .collect();
    on.sort_by(|&k, &l| along(bosses[k].centre).total_cmp(&along(bosses[l].centre)));
    std::iter::once(i).chain(on).chain([j]).collect()
}

/// Whether a set of pairs joins all of `count` bosses.
#[must_use]
pub fn join_all(count: usize, pairs: &[(usize, usize)]) -> bool {
    let mut reached = vec![false; count];
    let Some(first) = reached.first_mut() else {
        return true;
    };
    *first = true;
    for _ in 0..count {
        for &(i, j) in pairs {
            if i < count && j < count && (reached[i] || reached[j]) {
                reached[i] = true;
                reached[j] = true;
            }
        }
    }
    reached.into_iter().all(|r| r)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bosses(centres: &[(f64, f64)]) -> Vec<Disc> {
        centres
            .iter()
            .map(|&(x, y)| Disc::new(Point::new(x, y), 12.0))
            .collect()
    }

    #[test]
    fn a_rectangle_becomes_a_frame_without_diagonals() {
        let b = bosses(&[(0.0, 0.0), (120.0, 0.0), (120.0, 80.0), (0.0, 80.0)]);
        assert_eq!(automatic(&b), [(0, 1), (0, 3), (1, 2), (2, 3)]);
    }

    #[test]
    fn bosses_in_line_become_a_chain() {
        let b = bosses(&[(0.0, 0.0), (200.0, 0.0), (100.0, 0.0), (50.0, 0.0)]);
        assert_eq!(automatic(&b), [(0, 3), (1, 2), (2, 3)]);
    }

    #[test]
    fn a_ring_web_is_led_over_the_boss_in_its_way() {
        let b = bosses(&[(0.0, 0.0), (200.0, 0.0), (100.0, 6.0), (100.0, 150.0)]);
        assert!(!automatic(&b).contains(&(0, 1)));
        assert!(automatic(&b).contains(&(0, 2)) && automatic(&b).contains(&(1, 2)));
    }

    #[test]
    fn few_or_coincident_bosses_give_no_web_to_themselves() {
        assert!(automatic(&[]).is_empty());
        assert!(automatic(&bosses(&[(1.0, 2.0)])).is_empty());
        assert_eq!(
            automatic(&bosses(&[(1.0, 2.0), (1.0, 2.0), (50.0, 2.0)])),
            [(0, 2)]
        );
    }

    #[test]
    fn every_set_of_bosses_is_joined() {
        let mut seed = 1_u64;
        let mut next = move || {
            seed = seed
                .wrapping_mul(6364136223846793005)
                .wrapping_add(1442695040888963407);
            (seed >> 11) as f64 / (1_u64 << 53) as f64
        };
        for n in 2..40 {
            let b: Vec<Disc> = (0..n)
                .map(|_| {
                    Disc::new(
                        Point::new(
                            (next() * 30.0).round() * 10.0,
                            (next() * 30.0).round() * 10.0,
                        ),
                        8.0,
                    )
                })
                .collect();
            let nodes = distinct(&b);
            let pairs: Vec<(usize, usize)> = automatic(&b)
                .into_iter()
                .filter_map(|(i, j)| {
                    let at = |k| nodes.iter().position(|&m| m == k);
                    Some((at(i)?, at(j)?))
                })
                .collect();
            assert!(join_all(nodes.len(), &pairs), "{n} bosses: {pairs:?}");
        }
    }
}
