//! What a network leaves open: parts that still move, and mirror images that fit as well.
//!
//! A network of lengths is rigid when its design matrix has full rank, and has
//! one shape only when it is also redundantly rigid and three-connected
//! (B. Jackson and T. Jordán, Connected rigidity matroids and unique
//! realizations of graphs, J. Combinatorial Theory B 94 (2005) 1–29). Here
//! both are looked at with the numbers themselves, so that a part that could
//! flip only within the noise is found as well.

use super::adjust::{Settled, Workbench};
use super::dense::Square;
use super::network::{Network, Sight};
use super::start::{self, Link};
use super::system::{Gradient, Slot, System, Target};

/// A direction of the unknowns whose stiffness is below this share of the stiffest is free to move.
///
/// Same reason as the pivot share of the factor: rounding sits at 1e-14.
const FREE_SHARE: f64 = 1e-10;

/// An unknown moves with a free direction when its share of it is above this.
const MOVES: f64 = 1e-3;

/// A second shape is possible when its cost is no more than this above the best one's.
///
/// 3.29² = 10.83: the reading that tells them apart would then just be doubted at 1 in 1000.
pub(super) const AS_GOOD: f64 = 10.83;

/// Neighbours lie nearly on a line when they spread less than this share across it: a flip over it then changes
/// every length by well under its own size, and only the readings' weight can refuse it.
const FLAT: f64 = 0.1;

/// Parts of a network that can still move.
#[derive(Debug, Clone)]
pub(super) struct Freedom {
    /// Unit directions of the unknowns nothing holds.
    directions: Vec<Vec<f64>>,
}

impl Freedom {
    /// How many independent motions are left.
    pub(super) fn count(&self) -> usize {
        self.directions.len()
    }

    /// Whether an unknown takes part in any of them.
    fn moves(&self, slot: Slot) -> bool {
        match slot {
            Slot::Fixed(_) => false,
            Slot::Free(k) => self.directions.iter().any(|d| d[k].abs() > MOVES),
        }
    }

    /// Names of everything that moves.
    pub(super) fn movers(&self, network: &Network, system: &System) -> Vec<String> {
        let mut names = Vec::new();
        for (hole, slots) in network.holes.iter().zip(&system.holes) {
            if slots.iter().any(|s| self.moves(*s)) {
                names.push(format!("hole {}", hole.name));
            }
        }
        for rim in &system.rims {
            if self.moves(Slot::Free(rim.slot)) {
                names.push(format!("the diameter at {}", network.holes[rim.hole].name));
            }
        }
        for line in &system.lines {
            if self.moves(line.offset) || self.moves(line.turn) {
                names.push(format!("edge {}", network.edges[line.edge].name));
            }
        }
        for (face, slot) in network.faces.iter().zip(&system.faces) {
            if slot.is_some_and(|s| self.moves(s)) {
                names.push(format!("face {}", face.name));
            }
        }
        names
    }

    /// The readings that hold everything, the most effective first.
    ///
    /// Each is the one that changes most per unit of the motion left over by
    /// those before it, so it fixes that motion with the least uncertainty.
    pub(super) fn cures(&self, system: &System, x: &[f64]) -> Vec<Target> {
        let mut left = self.directions.clone();
        let proposals = proposals(system);
        let mut gradient = Gradient::new();
        let mut cures = Vec::new();
        while !left.is_empty() {
            let mut best: Option<(f64, Target, Vec<f64>)> = None;
            for target in &proposals {
                system.predict(*target, x, &mut gradient);
                let grip: Vec<f64> = left
                    .iter()
                    .map(|d| gradient.iter().map(|(k, g)| g * d[*k]).sum())
                    .collect();
                let size: f64 = grip.iter().map(|g: &f64| g * g).sum::<f64>().sqrt();
                if size > best.as_ref().map_or(1e-6, |b| b.0 * (1.0 + 1e-9)) {
                    best = Some((size, *target, grip));
                }
            }
            let Some((_, target, grip)) = best else { break };
            cures.push(target);
            left = without(&left, &grip);
        }
        cures
    }
}

/// The motions of `left` that a reading with this grip on them does not see.
fn without(left: &[Vec<f64>], grip: &[f64]) -> Vec<Vec<f64>> {
    // Householder: turn the basis so that its first vector takes the whole grip, and drop it.
    let norm = grip.iter().map(|g| g * g).sum::<f64>().sqrt();
    let mut v: Vec<f64> = grip.iter().map(|g| g / norm).collect();
    let Some(first) = v.first_mut() else {
        return Vec::new();
    };
    *first += if *first < 0.0 { -1.0 } else { 1.0 };
    let vv: f64 = v.iter().map(|a| a * a).sum();
    (1..left.len())
        .map(|j| {
            let mut out = left[j].clone();
            for (i, d) in left.iter().enumerate() {
                let f = 2.0 * v[i] * v[j] / vv;
                for (o, dk) in out.iter_mut().zip(d) {
                    *o -= f * dk;
                }
            }
            out
        })
        .collect()
}

/// Every further reading that could be taken.
fn proposals(system: &System) -> Vec<Target> {
    let holes = system.holes.len();
    let mut list = Vec::new();
    for a in 0..holes {
        for b in a + 1..holes {
            list.push(Target::Distance {
                a,
                b,
                rims: [None, None],
            });
        }
    }
    for line in 0..system.lines.len() {
        for hole in 0..holes {
            list.push(Target::FromLine {
                line,
                hole,
                rim: None,
            });
        }
    }
    for upper in 0..system.faces.len() {
        for lower in upper + 1..system.faces.len() {
            if system.faces[upper].is_some() && system.faces[lower].is_some() {
                list.push(Target::Step { upper, lower });
            }
        }
    }
    for rim in 0..system.rims.len() {
        list.push(Target::Diameter { rim });
    }
    list
}

/// The motions the readings leave free, or `None` when they hold everything.
pub(super) fn freedom(normal: &Square) -> Option<Freedom> {
    let n = normal.size();
    if n == 0 {
        return None;
    }
    // Unknowns of unlike weight are put on one scale first.
    let scale: Vec<f64> = (0..n)
        .map(|i| {
            if normal.at(i, i) > 0.0 {
                normal.at(i, i).sqrt()
            } else {
                1.0
            }
        })
        .collect();
    let mut scaled = Square::zeros(n);
    for i in 0..n {
        for j in 0..n {
            scaled.set(i, j, normal.at(i, j) / (scale[i] * scale[j]));
        }
    }
    let pairs = scaled.eigen();
    let stiffest = pairs.last().map_or(1.0, |p| p.0.max(1e-300));
    let directions: Vec<Vec<f64>> = pairs
        .into_iter()
        .filter(|(value, _)| *value <= FREE_SHARE * stiffest)
        .map(|(_, v)| {
            let d: Vec<f64> = v.iter().zip(&scale).map(|(a, s)| a / s).collect();
            let norm = d.iter().map(|a| a * a).sum::<f64>().sqrt().max(1e-300);
            d.into_iter().map(|a| a / norm).collect()
        })
        .collect();
    (!directions.is_empty()).then_some(Freedom { directions })
}

/// Other shapes that fit about as well as `best`, each with its cost; the best one is not among them.
///
/// `unchecked` tells that some reading is not checked by the others, so that
/// shapes other than flips have to be looked for as well.
pub(super) fn others(
    system: &System,
    bench: &mut Workbench,
    weights: &[f64],
    best: &Settled,
    unchecked: bool,
) -> Vec<Settled> {
    let links = start::links(system);
    let mut pool = vec![best.clone()];
    for points in flips(system, best, &links) {
        let settled = bench.settle_roughly(system, weights, &system.state(&points), 60);
        start::offer(system, &mut pool, settled);
    }
    if unchecked {
        for settled in start::scattered(system, bench, weights, &links) {
            start::offer(system, &mut pool, settled);
        }
    }
    pool.into_iter()
        .filter(|s| s.cost <= best.cost + AS_GOOD && !start::same(system, &s.x, &best.x))
        .collect()
}

/// The whole pattern's mirror image in the datum pair, when nothing but the eye can refuse it.
pub(super) fn whole_mirror(system: &System, x: &[f64]) -> Option<Vec<[f64; 2]>> {
    let (a, _, level) = system.pair?;
    let axis = usize::from(level);
    let line = system.hole(a, x)[axis];
    Some(
        (0..system.holes.len())
            .map(|h| {
                let mut p = system.hole(h, x);
                p[axis] = 2.0 * line - p[axis];
                p
            })
            .collect(),
    )
}

/// Patterns made from the solution by turning a part over.
fn flips(system: &System, best: &Settled, links: &[Link]) -> Vec<Vec<[f64; 2]>> {
    let points: Vec<[f64; 2]> = (0..system.holes.len())
        .map(|h| system.hole(h, &best.x))
        .collect();
    let mut list = Vec::new();
    for hole in 0..points.len() {
        if let Some(flipped) = flip_one(system, &points, hole, links) {
            list.push(flipped);
        }
    }
    list.extend(flip_parts(system, &points, links));
    if system.absolute {
        list.extend(flip_across_edges(system, &points, links));
    }
    list
}

/// One hole turned over the line its neighbours lie on, if they do lie nearly on one.
fn flip_one(
    system: &System,
    points: &[[f64; 2]],
    hole: usize,
    links: &[Link],
) -> Option<Vec<[f64; 2]>> {
    if system.absolute
        && system.holes[hole]
            .iter()
            .all(|s| matches!(s, Slot::Fixed(_)))
    {
        return None;
    }
    let neighbours: Vec<[f64; 2]> = links
        .iter()
        .filter_map(|l| match (l.a == hole, l.b == hole) {
            (true, false) => Some(points[l.b]),
            (false, true) => Some(points[l.a]),
            _ => None,
        })
        .collect();
    if neighbours.len() < 2 {
        return None;
    }
    let (centre, along) = principal_line(&neighbours);
    let spread = |u: [f64; 2]| -> f64 {
        neighbours
            .iter()
            .map(|n| ((n[0] - centre[0]) * u[0] + (n[1] - centre[1]) * u[1]).powi(2))
            .sum::<f64>()
            .sqrt()
    };
    if spread([-along[1], along[0]]) > FLAT * spread(along) {
        return None;
    }
    let flipped = reflect(points[hole], centre, along);
    if (flipped[0] - points[hole][0]).hypot(flipped[1] - points[hole][1]) < start::SAME_MM {
        return None;
    }
    let mut moved = points.to_vec();
    moved[hole] = flipped;
    Some(moved)
}

/// The line through the mean of some points along which they spread most.
fn principal_line(points: &[[f64; 2]]) -> ([f64; 2], [f64; 2]) {
    let n = points.len().max(1) as f64;
    let cx = points.iter().map(|p| p[0]).sum::<f64>() / n;
    let cy = points.iter().map(|p| p[1]).sum::<f64>() / n;
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for p in points {
        let (dx, dy) = (p[0] - cx, p[1] - cy);
        xx += dx * dx;
        xy += dx * dy;
        yy += dy * dy;
    }
    let angle = 0.5 * (2.0 * xy).atan2(xx - yy);
    ([cx, cy], [angle.cos(), angle.sin()])
}

/// A point turned over a line.
fn reflect(p: [f64; 2], on: [f64; 2], along: [f64; 2]) -> [f64; 2] {
    let d = [p[0] - on[0], p[1] - on[1]];
    let t = d[0] * along[0] + d[1] * along[1];
    [
        on[0] + 2.0 * t * along[0] - d[0],
        on[1] + 2.0 * t * along[1] - d[1],
    ]
}

/// Parts that hang on two holes only, turned over the line through them.
fn flip_parts(system: &System, points: &[[f64; 2]], links: &[Link]) -> Vec<Vec<[f64; 2]>> {
    let n = points.len();
    let grounded = grounded(system);
    let mut list = Vec::new();
    for i in 0..n {
        for j in i + 1..n {
            let parts = parts_without(n, links, &[i, j]);
            let mut loose: Vec<&Vec<usize>> = parts
                .iter()
                .filter(|p| !p.iter().any(|h| grounded[*h]))
                .collect();
            if loose.len() == parts.len() {
                // One part has to stay where it is; the largest then.
                if parts.len() < 2 {
                    continue;
                }
                loose.sort_by_key(|p| (p.len(), p.first().copied()));
                loose.pop();
            }
            let d = [points[j][0] - points[i][0], points[j][1] - points[i][1]];
            let length = d[0].hypot(d[1]);
            if length < 1e-6 {
                continue;
            }
            let along = [d[0] / length, d[1] / length];
            for part in loose {
                let mut moved = points.to_vec();
                for h in part {
                    moved[*h] = reflect(points[*h], points[i], along);
                }
                list.push(moved);
            }
        }
    }
    list
}

/// Parts that can turn over when all square edges run one way, so that only one coordinate is held by them.
fn flip_across_edges(system: &System, points: &[[f64; 2]], links: &[Link]) -> Vec<Vec<[f64; 2]>> {
    let n = points.len();
    let known = system
        .holes
        .iter()
        .filter(|s| s.iter().all(|v| matches!(v, Slot::Fixed(_))))
        .count();
    if known >= 2 {
        return Vec::new();
    }
    let mut list = Vec::new();
    for (along, other) in [([0.0, 1.0], 0), ([1.0, 0.0], 1)] {
        // Mirroring in a vertical line changes x; no edge may hold x.
        let held = system.lines.iter().any(|l| {
            l.nominal.sin_cos().1.abs() > 0.5 && other == 0
                || l.nominal.sin_cos().0.abs() > 0.5 && other == 1
        });
        if held {
            continue;
        }
        for v in 0..n {
            for part in parts_without(n, links, &[v]) {
                let mut moved = points.to_vec();
                for h in &part {
                    moved[*h] = reflect(points[*h], points[v], along);
                }
                list.push(moved);
            }
        }
        let anchor = (0..n)
            .find(|h| matches!(system.holes[*h][other], Slot::Fixed(_)))
            .map_or([0.0, 0.0], |h| points[h]);
        list.push(points.iter().map(|p| reflect(*p, anchor, along)).collect());
    }
    list
}

/// Which holes are held by something other than lengths between holes.
fn grounded(system: &System) -> Vec<bool> {
    let mut held = vec![false; system.holes.len()];
    if !system.absolute {
        return held;
    }
    for (hole, slots) in system.holes.iter().enumerate() {
        held[hole] = slots.iter().any(|s| matches!(s, Slot::Fixed(_)));
    }
    for o in &system.observations {
        if let Target::FromLine { hole, .. } = o.target {
            held[hole] = true;
        }
    }
    held
}

/// The connected parts of the network when some holes are taken out.
fn parts_without(n: usize, links: &[Link], out: &[usize]) -> Vec<Vec<usize>> {
    let mut part: Vec<usize> = (0..n).collect();
    let root = |part: &[usize], mut i: usize| {
        while part[i] != i {
            i = part[i];
        }
        i
    };
    for l in links {
        if out.contains(&l.a) || out.contains(&l.b) {
            continue;
        }
        let (a, b) = (root(&part, l.a), root(&part, l.b));
        part[a.max(b)] = a.min(b);
    }
    let mut lists: Vec<Vec<usize>> = vec![Vec::new(); n];
    for i in (0..n).filter(|i| !out.contains(i)) {
        lists[root(&part, i)].push(i);
    }
    lists.retain(|l| !l.is_empty());
    lists
}

/// Whether a solution shows what the eye saw.
pub(super) fn agrees(system: &System, sights: &[(usize, Sight, usize)], x: &[f64]) -> bool {
    sights.iter().all(|(hole, sight, of)| {
        let (p, q) = (system.hole(*hole, x), system.hole(*of, x));
        let u = sight.side.unit();
        (p[0] - q[0]) * u[0] + (p[1] - q[1]) * u[1] > 0.0
    })
}

/// The reading that tells two shapes apart best, with what it would be in each.
pub(super) fn teller(system: &System, x: &[f64], y: &[f64]) -> Option<(Target, f64, f64)> {
    let mut gradient = Gradient::new();
    let mut best: Option<(Target, f64, f64)> = None;
    for target in proposals(system) {
        let first = system.predict(target, x, &mut gradient);
        let second = system.predict(target, y, &mut gradient);
        let gap = (first - second).abs();
        if gap > best.map_or(start::SAME_MM, |b| (b.1 - b.2).abs() * (1.0 + 1e-9)) {
            best = Some((target, first, second));
        }
    }
    best
}
