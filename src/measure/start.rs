//! A start nobody has to guess: rigid pieces grown hole by hole from the readings themselves.
//!
//! Each hole with two or more constraints to what already stands is put where
//! two of them cross and most of the others agree, so that one bad reading
//! does not carry the rest away. Where two places fit, both are followed.

use super::adjust::{Settled, Workbench};
use super::lifted;
use super::statistics::{NormalSequence, chi_square_quantile};
use super::system::{Slot, System, Target};

/// Partial patterns followed at once.
const BEAM: usize = 8;

/// Seeds tried before falling back to scattered starts.
const SEEDS: usize = 6;

/// Scattered starts tried when growth gives nothing that fits.
pub(super) const SCATTERED: usize = 24;

/// Any number: it only has to be the same in every run.
const SCATTER_SEED: u64 = 0x0063_616c_6970_6572;

/// A constraint's contribution to a score ends here: a blunder counts once, not squared.
const CAP: f64 = 25.0;

/// Slack added to a reading's own deviation while growing, mm: errors of the holes it hangs on pile up.
const GROWTH_SLACK_MM: f64 = 0.3;

/// Two patterns are one when no hole differs by more than this, mm; well above any noise, well below a flip worth telling.
pub(super) const SAME_MM: f64 = 0.5;

/// Deviation of a length whose rims nobody measured, mm: the size of a bolt hole.
const GUESSED_RIM_SD_MM: f64 = 10.0;

/// Share of good networks whose cost stays below the limit for accepting a start without further search.
const ACCEPT: f64 = 0.9999;

/// A distance between two holes, from a reading with the rims taken off.
#[derive(Debug, Clone, Copy)]
pub(super) struct Link {
    pub(super) a: usize,
    pub(super) b: usize,
    pub(super) length: f64,
    pub(super) sd: f64,
}

/// A hole's distance from an edge that is square.
#[derive(Debug, Clone, Copy)]
struct Ray {
    hole: usize,
    line: usize,
    gap: f64,
    sd: f64,
}

/// What a hole's place has to obey.
#[derive(Debug, Clone, Copy)]
enum Constraint {
    Circle {
        centre: [f64; 2],
        radius: f64,
        sd: f64,
    },
    Straight {
        normal: [f64; 2],
        offset: f64,
        sd: f64,
    },
}

impl Constraint {
    /// Misfit of a point in widened standard deviations.
    fn misfit(self, p: [f64; 2]) -> f64 {
        let (gap, sd) = match self {
            Self::Circle { centre, radius, sd } => {
                ((p[0] - centre[0]).hypot(p[1] - centre[1]) - radius, sd)
            }
            Self::Straight { normal, offset, sd } => {
                (p[0] * normal[0] + p[1] * normal[1] - offset, sd)
            }
        };
        gap / (3.0 * sd + GROWTH_SLACK_MM)
    }
}

/// A pattern as far as it has grown.
#[derive(Debug, Clone)]
struct Partial {
    points: Vec<Option<[f64; 2]>>,
    offsets: Vec<Option<f64>>,
    cost: f64,
}

/// The distances between holes, with the measured diameters taken off.
pub(super) fn links(system: &System) -> Vec<Link> {
    system
        .observations
        .iter()
        .filter_map(|o| match o.target {
            Target::Distance { a, b, rims } => {
                let off: f64 = rims
                    .into_iter()
                    .flatten()
                    .map(|(r, f)| f * system.rims[r].start)
                    .sum();
                let known = rims
                    .into_iter()
                    .flatten()
                    .all(|(r, _)| system.rims[r].measured);
                Some(Link {
                    a,
                    b,
                    length: o.value - off,
                    sd: if known { o.sd } else { GUESSED_RIM_SD_MM },
                })
            }
            _ => None,
        })
        .collect()
}

/// The distances that take part.
fn weighed(system: &System, weights: &[f64]) -> Vec<Link> {
    let taking_part = system
        .observations
        .iter()
        .zip(weights)
        .filter(|(o, _)| matches!(o.target, Target::Distance { .. }))
        .map(|(_, w)| *w > 0.0);
    links(system)
        .into_iter()
        .zip(taking_part)
        .filter_map(|(l, t)| t.then_some(l))
        .collect()
}

/// The readings from square edges that take part.
fn rays(system: &System, weights: &[f64]) -> Vec<Ray> {
    system
        .observations
        .iter()
        .zip(weights)
        .filter(|(_, w)| **w > 0.0)
        .filter_map(|(o, _)| match o.target {
            Target::FromLine { line, hole, rim }
                if matches!(system.lines[line].turn, Slot::Fixed(_)) =>
            {
                let off = rim.map_or(0.0, |(r, f)| f * system.rims[r].start);
                Some(Ray {
                    hole,
                    line,
                    gap: o.value - off,
                    sd: o.sd,
                })
            }
            _ => None,
        })
        .collect()
}

/// Solutions worth looking at, best first; costs are capped ones ([`capped`]).
pub(super) fn solutions(system: &System, bench: &mut Workbench, weights: &[f64]) -> Vec<Settled> {
    let links = weighed(system, weights);
    let rays = rays(system, weights);
    let taking_part = weights.iter().filter(|w| **w > 0.0).count();
    let spare = taking_part.saturating_sub(system.unknowns).max(1);
    let accept = chi_square_quantile(ACCEPT, spare);
    let mut pool: Vec<Settled> = Vec::new();
    for seed in seeds(system, &links) {
        for partial in grow(system, seed, &links, &rays) {
            let points: Vec<[f64; 2]> = partial
                .points
                .iter()
                .map(|p| p.unwrap_or_default())
                .collect();
            let settled = bench.settle_roughly(system, weights, &system.state(&points), 40);
            offer(system, &mut pool, capped(system, bench, weights, settled));
        }
        if pool.first().is_some_and(|s| s.cost <= accept) {
            return pool;
        }
    }
    // Not yet a fit: a blunder, or a network that cannot be grown hole by hole.
    let grown: Vec<Vec<f64>> = pool.iter().take(4).map(|s| s.x.clone()).collect();
    for x in grown {
        let freed = resist(system, bench, weights, &x);
        offer(system, &mut pool, freed);
    }
    // A few capped blunders are an explanation; more than that and the pattern itself is in doubt.
    // Without readings to spare there is no telling a blunder from a wrong pattern.
    let to_spare = taking_part.saturating_sub(system.unknowns);
    let explained = accept + CAP * (to_spare as f64 / 3.0).min(4.0);
    if pool.first().is_none_or(|s| s.cost > explained) {
        for settled in scattered(system, bench, weights, &links) {
            let settled = capped(system, bench, weights, settled);
            offer(system, &mut pool, settled);
        }
    }
    pool
}

/// The same solution with a cost in which each reading counts up to [`CAP`].
fn capped(system: &System, bench: &mut Workbench, weights: &[f64], settled: Settled) -> Settled {
    let misfits = bench.misfits(system, &settled.x);
    let cost = misfits
        .iter()
        .zip(weights)
        .map(|(z, w)| w * (z * z).min(CAP))
        .sum();
    Settled { cost, ..settled }
}

/// Adds a solution to the pool unless it is there already; the pool stays sorted by cost.
pub(super) fn offer(system: &System, pool: &mut Vec<Settled>, settled: Settled) {
    if !settled.cost.is_finite() {
        return;
    }
    if let Some(twin) = pool.iter_mut().find(|s| same(system, &s.x, &settled.x)) {
        if settled.cost < twin.cost {
            *twin = settled;
        }
    } else {
        pool.push(settled);
    }
    pool.sort_by(|a, b| a.cost.total_cmp(&b.cost));
    pool.truncate(16);
}

/// Whether two solutions put every hole at the same place.
pub(super) fn same(system: &System, a: &[f64], b: &[f64]) -> bool {
    (0..system.holes.len()).all(|h| {
        let (p, q) = (system.hole(h, a), system.hole(h, b));
        (p[0] - q[0]).hypot(p[1] - q[1]) < SAME_MM
    })
}

/// Pulls a solution towards the readings that agree with one another.
///
/// Weights fall with the square of the misfit beyond a scale that shrinks
/// step by step (graduated Geman-McClure weights), then all readings count
/// again only where they are not far off.
pub(super) fn resist(
    system: &System,
    bench: &mut Workbench,
    weights: &[f64],
    start: &[f64],
) -> Settled {
    let mut x = start.to_vec();
    for scale in [300.0, 100.0, 30.0, 10.0, 4.0, 4.0, 4.0] {
        let misfits = bench.misfits(system, &x);
        let soft: Vec<f64> = misfits
            .iter()
            .zip(weights)
            .map(|(z, w)| {
                let q = 1.0 + (z / scale) * (z / scale);
                w / (q * q)
            })
            .collect();
        x = bench.settle_roughly(system, &soft, &x, 15).x;
    }
    let freed = Settled {
        x,
        cost: 0.0,
        converged: false,
    };
    capped(system, bench, weights, freed)
}

/// Settled patterns from scattered starts.
pub(super) fn scattered(
    system: &System,
    bench: &mut Workbench,
    weights: &[f64],
    links: &[Link],
) -> Vec<Settled> {
    let mut sequence = NormalSequence::new(SCATTER_SEED);
    (0..SCATTERED)
        .map(|_| {
            let points = lifted::pattern(system, links, &mut sequence);
            bench.settle_roughly(system, weights, &system.state(&points), 60)
        })
        .collect()
}

/// First pieces to grow from.
fn seeds(system: &System, links: &[Link]) -> Vec<Partial> {
    let holes = system.holes.len();
    let offsets: Vec<Option<f64>> = system
        .lines
        .iter()
        .map(|l| match l.offset {
            Slot::Fixed(v) => Some(v),
            Slot::Free(_) => None,
        })
        .collect();
    let empty = Partial {
        points: vec![None; holes],
        offsets,
        cost: 0.0,
    };
    if system.absolute {
        return vec![empty];
    }
    let mut linked = vec![false; holes * holes];
    for l in links {
        linked[l.a * holes + l.b] = true;
        linked[l.b * holes + l.a] = true;
    }
    let mut ranked: Vec<(usize, usize)> = links
        .iter()
        .enumerate()
        .map(|(i, l)| {
            let common = (0..holes)
                .filter(|c| linked[l.a * holes + c] && linked[l.b * holes + c])
                .count();
            (common, i)
        })
        .collect();
    ranked.sort_by(|a, b| {
        b.0.cmp(&a.0)
            .then(links[b.1].length.total_cmp(&links[a.1].length))
            .then(a.1.cmp(&b.1))
    });
    ranked
        .iter()
        .take(SEEDS)
        .map(|(_, i)| {
            let mut seed = empty.clone();
            seed.points[links[*i].a] = Some([0.0, 0.0]);
            seed.points[links[*i].b] = Some([links[*i].length, 0.0]);
            seed
        })
        .collect()
}

/// Grows a seed until every hole stands.
fn grow(system: &System, seed: Partial, links: &[Link], rays: &[Ray]) -> Vec<Partial> {
    let mut beam = vec![seed];
    while let Some(first) = beam.first() {
        let open: Vec<usize> = (0..first.points.len())
            .filter(|h| first.points[*h].is_none())
            .collect();
        // All partial patterns stand on the same holes, so the first one decides who is next.
        let next = open
            .iter()
            .map(|h| (constraints(system, first, *h, links, rays).len(), *h))
            .max_by_key(|(n, h)| (*n, std::cmp::Reverse(*h)));
        let Some((count, hole)) = next else { break };
        let mut grown: Vec<Partial> = Vec::new();
        for partial in &beam {
            let found = constraints(system, partial, hole, links, rays);
            let places = if count >= 2 {
                crossings(&found)
            } else {
                around(&found, hole)
            };
            let mirrored_twice = !system.absolute && is_straight(partial);
            for place in places {
                if mirrored_twice && place[1] < -1e-6 {
                    // Nothing tells the first triangle from its mirror image; one of them is enough.
                    continue;
                }
                grown.push(extended(system, partial, hole, place, &found, rays));
            }
        }
        grown.sort_by(|a, b| a.cost.total_cmp(&b.cost));
        grown.truncate(BEAM);
        if grown.is_empty() {
            break;
        }
        beam = grown;
    }
    // Followers far worse than the leader are mirror images the readings already refuse.
    let best = beam.first().map_or(0.0, |p| p.cost);
    beam.retain(|p| p.cost <= best + 2.0 * CAP);
    beam.truncate(4);
    beam
}

/// Whether all holes that stand lie on the x axis of the piece.
fn is_straight(partial: &Partial) -> bool {
    partial.points.iter().flatten().all(|p| p[1].abs() < 1e-9)
}

/// A partial pattern with one more hole.
fn extended(
    system: &System,
    partial: &Partial,
    hole: usize,
    place: [f64; 2],
    found: &[Constraint],
    rays: &[Ray],
) -> Partial {
    let mut next = partial.clone();
    next.points[hole] = Some(place);
    next.cost += score(found, place);
    for ray in rays.iter().filter(|r| r.hole == hole) {
        if next.offsets[ray.line].is_none() {
            let n = normal(system, ray.line);
            next.offsets[ray.line] = Some(place[0] * n[0] + place[1] * n[1] - ray.gap);
        }
    }
    next
}

/// Direction from a square edge to the holes.
fn normal(system: &System, line: usize) -> [f64; 2] {
    let (sin, cos) = system.lines[line].nominal.sin_cos();
    [cos, sin]
}

/// What the place of `hole` has to obey, given the holes and edges that stand.
fn constraints(
    system: &System,
    partial: &Partial,
    hole: usize,
    links: &[Link],
    rays: &[Ray],
) -> Vec<Constraint> {
    let mut found: Vec<Constraint> = links
        .iter()
        .filter_map(|l| {
            let other = if l.a == hole {
                l.b
            } else if l.b == hole {
                l.a
            } else {
                return None;
            };
            Some(Constraint::Circle {
                centre: partial.points[other]?,
                radius: l.length,
                sd: l.sd,
            })
        })
        .collect();
    if system.absolute {
        for ray in rays.iter().filter(|r| r.hole == hole) {
            if let Some(offset) = partial.offsets[ray.line] {
                found.push(Constraint::Straight {
                    normal: normal(system, ray.line),
                    offset: offset + ray.gap,
                    sd: ray.sd,
                });
            }
        }
        for (axis, slot) in system.holes[hole].iter().enumerate() {
            if let Slot::Fixed(v) = slot {
                let normal = if axis == 0 { [1.0, 0.0] } else { [0.0, 1.0] };
                found.push(Constraint::Straight {
                    normal,
                    offset: *v,
                    sd: 1e-3,
                });
            }
        }
    }
    found
}

/// How badly a place obeys its constraints; each counts up to [`CAP`].
fn score(found: &[Constraint], place: [f64; 2]) -> f64 {
    found
        .iter()
        .map(|c| {
            let z = c.misfit(place);
            (z * z).min(CAP)
        })
        .sum()
}

/// The best few places where two constraints cross.
fn crossings(found: &[Constraint]) -> Vec<[f64; 2]> {
    const CONSIDERED: usize = 6;
    const KEPT: usize = 3;
    let mut places: Vec<(f64, [f64; 2])> = Vec::new();
    let considered = &found[..found.len().min(CONSIDERED)];
    for (i, a) in considered.iter().enumerate() {
        for b in &considered[i + 1..] {
            for place in cross(*a, *b) {
                places.push((score(found, place), place));
            }
        }
    }
    places.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut kept: Vec<[f64; 2]> = Vec::new();
    for (_, place) in places {
        if kept
            .iter()
            .all(|k| (k[0] - place[0]).hypot(k[1] - place[1]) > 1.0)
        {
            kept.push(place);
            if kept.len() == KEPT {
                break;
            }
        }
    }
    kept
}

/// Places to try for a hole that hangs on one constraint or none: eight directions, as nothing tells which.
fn around(found: &[Constraint], hole: usize) -> Vec<[f64; 2]> {
    (0..8)
        .map(|k| {
            let angle = std::f64::consts::FRAC_PI_4 * (f64::from(k) + 0.37 + 0.11 * hole as f64);
            match found.first() {
                Some(Constraint::Circle { centre, radius, .. }) => [
                    centre[0] + radius * angle.cos(),
                    centre[1] + radius * angle.sin(),
                ],
                Some(Constraint::Straight { normal, offset, .. }) => {
                    let along = 40.0 * (f64::from(k) - 3.5);
                    [
                        normal[0] * offset - normal[1] * along,
                        normal[1] * offset + normal[0] * along,
                    ]
                }
                None => [60.0 * angle.cos(), 60.0 * angle.sin()],
            }
        })
        .collect()
}

/// Where two constraints cross; where noise keeps them apart, the place between them.
fn cross(a: Constraint, b: Constraint) -> Vec<[f64; 2]> {
    match (a, b) {
        (
            Constraint::Circle {
                centre: p,
                radius: r,
                ..
            },
            Constraint::Circle {
                centre: q,
                radius: s,
                ..
            },
        ) => circles(p, r, q, s),
        (
            Constraint::Circle { centre, radius, .. },
            Constraint::Straight { normal, offset, .. },
        )
        | (
            Constraint::Straight { normal, offset, .. },
            Constraint::Circle { centre, radius, .. },
        ) => {
            let gap = offset - (centre[0] * normal[0] + centre[1] * normal[1]);
            let foot = [centre[0] + normal[0] * gap, centre[1] + normal[1] * gap];
            let half = (radius * radius - gap * gap).max(0.0).sqrt();
            both_sides(foot, [-normal[1], normal[0]], half)
        }
        (
            Constraint::Straight {
                normal: n,
                offset: c,
                ..
            },
            Constraint::Straight {
                normal: m,
                offset: d,
                ..
            },
        ) => {
            let det = n[0] * m[1] - n[1] * m[0];
            if det.abs() < 1e-6 {
                return Vec::new();
            }
            vec![[(c * m[1] - d * n[1]) / det, (n[0] * d - m[0] * c) / det]]
        }
    }
}

/// Where two circles cross.
fn circles(p: [f64; 2], r: f64, q: [f64; 2], s: f64) -> Vec<[f64; 2]> {
    let (dx, dy) = (q[0] - p[0], q[1] - p[1]);
    let d = dx.hypot(dy);
    if d < 1e-6 {
        return Vec::new();
    }
    let (ux, uy) = (dx / d, dy / d);
    let along = 0.5 * (d + (r - s) * (r + s) / d);
    let half = (r * r - along * along).max(0.0).sqrt();
    both_sides([p[0] + ux * along, p[1] + uy * along], [-uy, ux], half)
}

/// The two points `half` either side of `foot`, one when they meet.
fn both_sides(foot: [f64; 2], across: [f64; 2], half: f64) -> Vec<[f64; 2]> {
    if half < 1e-9 {
        return vec![foot];
    }
    vec![
        [foot[0] + across[0] * half, foot[1] + across[1] * half],
        [foot[0] - across[0] * half, foot[1] - across[1] * half],
    ]
}
