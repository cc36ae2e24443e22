//! Safety, reactions, mode descriptions: the report from the last pass.

use rayon::prelude::*;

use super::adapt::{Peak, Peaks, same};
use super::campbell;
use super::deflection::pulley_shift;
use super::fatigue::{combined, goodman};
use super::mass::Mass;
use super::model::{FatigueCycle, Model};
use super::places::Place;
use super::recover::{principal, von_mises};
use super::report::{
    ASSUMPTIONS, BodyField, CAUTION, CaseReport, ClampForce, ModeReport, Pass, PlaceReport,
    PlateField, PlateReport, SharpPlace, Strength, StrengthReport, TrimmedRing,
};
use super::run::{Options, Solved};
use super::system::translation;

/// Energy shares below this are not worth a word.
const WORTH_NAMING: f64 = 0.01;

/// Nodes judged by one task, at least.
const NODES_PER_TASK: usize = 256;

/// What the passes found beside the last solution.
pub(super) struct Found<'a> {
    pub(super) passes: &'a [Pass],
    pub(super) converged: bool,
    /// Change of each plate's peak in the last pass; `None` after one pass.
    pub(super) changes: Option<&'a [f64]>,
    pub(super) history: &'a [Peaks],
    pub(super) reactions: &'a [Vec<f64>],
    pub(super) mass: &'a Mass,
    pub(super) hz: &'a [f64],
    pub(super) shapes: &'a [Vec<f64>],
}

pub(super) fn report(
    model: &Model,
    options: &Options,
    solved: &Solved,
    found: &Found<'_>,
) -> Strength {
    let modes = modes(model, solved, found);
    let one = translation(&solved.built.structure, [1.0, 0.0, 0.0]);
    let masses = found.mass.shares(&one);
    let report = StrengthReport {
        caution: CAUTION,
        assumptions: ASSUMPTIONS.to_vec(),
        passes: found.passes.to_vec(),
        is_converged: found.converged,
        peak_change_limit: options.peak_change,
        plates: masses
            .parts
            .iter()
            .enumerate()
            .map(|part| plate(model, solved, found, (part.0, *part.1)))
            .collect(),
        cases: (0..model.cases.len())
            .map(|k| case(model, solved, found, k))
            .collect(),
        pulleys: model
            .cases
            .iter()
            .zip(&solved.displacements)
            .flat_map(|(c, u)| {
                model
                    .pulleys
                    .iter()
                    .filter_map(|p| pulley_shift(model, &solved.built, p, &c.id, u))
            })
            .collect(),
        campbell: campbell::table(found.hz, &model.excitation),
        modes,
        sharp: sharp(model, solved, found, options.peak_change),
        trimmed: trimmed(model, solved),
    };
    Strength {
        report,
        fields: fields(model, solved, found),
        bodies: bodies(model, solved, found),
    }
}

fn plate(
    model: &Model,
    solved: &Solved,
    found: &Found<'_>,
    (k, mass_t): (usize, f64),
) -> PlateReport {
    let part = &solved.built.plates[k];
    let quality = part.mesh.quality;
    let own = |e: usize| solved.built.structure.wedges[e].part == k;
    let energy_error = solved
        .stresses
        .iter()
        .map(|s| s.relative_error(own))
        .fold(0.0, f64::max);
    let mut places: Vec<PlaceReport> = solved
        .places
        .iter()
        .zip(&solved.peaks)
        .filter(|(p, _)| p.plate == k && p.kind.is_judged() && !model.cases.is_empty())
        .map(|(p, peak)| place(model, solved, found, p, peak))
        .collect();
    places.sort_by(|a, b| nearness(b).total_cmp(&nearness(a)));
    PlateReport {
        plate: model.plates[k].plate.id.clone(),
        mass_kg: mass_t * 1e3,
        elements: quality.elements,
        least_angle_deg: quality.least_angle_deg,
        least_jacobian: quality.least_jacobian,
        energy_error,
        peak_change: found.changes.and_then(|c| c.get(k).copied()),
        places,
    }
}

/// How near a place is to a limit: the reciprocal of its least safety.
fn nearness(p: &PlaceReport) -> f64 {
    let by_yield = 1.0 / p.yield_safety;
    p.fatigue_safety.map_or(by_yield, |f| by_yield.max(1.0 / f))
}

fn place(
    model: &Model,
    solved: &Solved,
    found: &Found<'_>,
    place: &Place,
    peak: &Peak,
) -> PlaceReport {
    let material = &model.plates[place.plate].material;
    let (stress, case, node) = peak.greatest();
    let (high, low) = extreme_principals(solved, place);
    let fatigue = model
        .cycles
        .iter()
        .map(|c| (least_fatigue(model, solved, place, c), c.id.clone()))
        .min_by(|a, b| a.0.total_cmp(&b.0));
    let part = &solved.built.plates[place.plate];
    let before = found.history.len().checked_sub(2);
    PlaceReport {
        kind: place.kind,
        name: place.name.clone(),
        von_mises_mpa: stress,
        case: model.cases[case].id.clone(),
        at: solved.built.structure.nodes[node],
        at_plate: part.mesh.wedges.nodes[node - part.node],
        principal_max_mpa: high,
        principal_min_mpa: low,
        yield_safety: (material.yield_mpa / stress).min(super::fatigue::UNLOADED),
        fatigue_safety: fatigue.as_ref().map(|f| f.0),
        fatigue_cycle: fatigue.map(|f| f.1),
        peak_change: before
            .and_then(|k| same(peak, &found.history[k]))
            .map(|old| stress / old.greatest().0.max(f64::MIN_POSITIVE) - 1.0),
        by_case_mpa: peak.cases.iter().map(|c| c.0).collect(),
    }
}

fn least_fatigue(model: &Model, solved: &Solved, place: &Place, cycle: &FatigueCycle) -> f64 {
    let material = &model.plates[place.plate].material;
    let pick = |terms: &[(String, f64)]| -> Vec<(f64, usize)> {
        terms
            .iter()
            .filter_map(|(id, f)| {
                let k = model.cases.iter().position(|c| c.id == *id)?;
                Some((*f, k))
            })
            .collect()
    };
    let (mean, amplitude) = (pick(&cycle.mean), pick(&cycle.amplitude));
    let tensor = |terms: &[(f64, usize)], n: usize| {
        combined(
            terms
                .iter()
                .map(|&(f, k)| (f, &solved.stresses[k].nodes[n])),
        )
    };
    place
        .nodes
        .par_iter()
        .with_min_len(NODES_PER_TASK)
        .map(|&n| {
            goodman(
                &tensor(&amplitude, n),
                &tensor(&mean, n),
                material.fatigue_mpa,
                material.ultimate_mpa,
            )
        })
        .reduce(|| super::fatigue::UNLOADED, f64::min)
}

/// Greatest and least principal stress of a place over all cases, MPa.
fn extreme_principals(solved: &Solved, place: &Place) -> (f64, f64) {
    place
        .nodes
        .par_iter()
        .with_min_len(NODES_PER_TASK)
        .map(|&n| {
            solved
                .stresses
                .iter()
                .map(|s| principal(&s.nodes[n]))
                .fold((f64::NEG_INFINITY, f64::INFINITY), |(high, low), p| {
                    (high.max(p[0]), low.min(p[2]))
                })
        })
        .reduce(
            || (f64::NEG_INFINITY, f64::INFINITY),
            |a, b| (a.0.max(b.0), a.1.min(b.1)),
        )
}

/// Adds force and moment about `at` of a node's or body's residual.
fn add(
    force: &mut [f64; 3],
    moment: &mut [f64; 3],
    at: [f64; 3],
    p: [f64; 3],
    f: &[f64],
    own_moment: &[f64],
) {
    let r = [0, 1, 2].map(|k| p[k] - at[k]);
    for d in 0..3 {
        force[d] += f[d];
        let (j, k) = ((d + 1) % 3, (d + 2) % 3);
        moment[d] += r[j] * f[k] - r[k] * f[j] + own_moment.get(d).copied().unwrap_or(0.0);
    }
}

fn case(model: &Model, solved: &Solved, found: &Found<'_>, k: usize) -> CaseReport {
    let s = &solved.built.structure;
    let (load, residual) = (&solved.loads[k], &found.reactions[k]);
    let (mut load_n, mut load_m) = ([0.0; 3], [0.0; 3]);
    let (mut back_n, mut back_m) = ([0.0; 3], [0.0; 3]);
    let mut scale = 0.0_f64;
    for (n, p) in s.nodes.iter().enumerate() {
        let f = &load[3 * n..3 * n + 3];
        add(&mut load_n, &mut load_m, [0.0; 3], *p, f, &[]);
        if s.tied[n].is_some_and(|b| s.bodies[b].ground) {
            let r = &residual[3 * n..3 * n + 3];
            add(&mut back_n, &mut back_m, [0.0; 3], *p, r, &[]);
        }
    }
    for (b, body) in s.bodies.iter().enumerate() {
        let at = s.body_start(b);
        let f = &load[at..at + 6];
        add(
            &mut load_n,
            &mut load_m,
            [0.0; 3],
            body.at,
            &f[..3],
            &f[3..],
        );
        scale = f[..3].iter().fold(scale, |m, v| m.max(v.abs()));
        if body.ground {
            let r = &residual[at..at + 6];
            add(
                &mut back_n,
                &mut back_m,
                [0.0; 3],
                body.at,
                &r[..3],
                &r[3..],
            );
        }
    }
    let reach = s
        .nodes
        .iter()
        .flat_map(|p| p.map(f64::abs))
        .fold(1.0, f64::max);
    scale = load_n.iter().fold(scale, |m, v| m.max(v.abs()));
    let off = (0..3)
        .map(|d| {
            (load_n[d] + back_n[d])
                .abs()
                .max((load_m[d] + back_m[d]).abs() / reach)
        })
        .fold(0.0, f64::max);
    let clamps = model
        .clamps
        .iter()
        .enumerate()
        .map(|(c, clamp)| {
            let nodes = &solved.built.clamp_nodes[c];
            let count = nodes.len().max(1) as f64;
            let centre =
                [0, 1, 2].map(|d| nodes.iter().map(|&n| s.nodes[n][d]).sum::<f64>() / count);
            let (mut force, mut moment) = ([0.0; 3], [0.0; 3]);
            for &n in nodes {
                let r = &residual[3 * n..3 * n + 3];
                add(&mut force, &mut moment, centre, s.nodes[n], r, &[]);
            }
            ClampForce {
                clamp: clamp.id.clone(),
                force_n: force,
                moment_nm: moment.map(|m| m * 1e-3),
            }
        })
        .collect();
    let u = &solved.displacements[k];
    let mut greatest = (0.0, 0);
    for (p, part) in solved.built.plates.iter().enumerate() {
        for n in part.node..part.node + part.mesh.wedges.nodes.len() {
            let d = u[3 * n..3 * n + 3]
                .iter()
                .map(|v| v * v)
                .sum::<f64>()
                .sqrt();
            if d > greatest.0 {
                greatest = (d, p);
            }
        }
    }
    CaseReport {
        case: model.cases[k].id.clone(),
        load_n,
        reaction_n: back_n,
        imbalance: if scale > 0.0 { off / scale } else { 0.0 },
        clamps,
        greatest_mm: greatest.0,
        greatest_in: model
            .plates
            .get(greatest.1)
            .map_or_else(String::new, |p| p.plate.id.clone()),
    }
}

fn modes(model: &Model, solved: &Solved, found: &Found<'_>) -> Vec<ModeReport> {
    let s = &solved.built.structure;
    let directions = [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]];
    let rigid = directions.map(|d| {
        let field = translation(s, d);
        let m = found.mass.apply(&field);
        let total: f64 = field.iter().zip(&m).map(|(a, b)| a * b).sum();
        (m, total)
    });
    found
        .shapes
        .iter()
        .zip(found.hz)
        .enumerate()
        .map(|(k, (shape, hz))| {
            let shares = found.mass.shares(shape);
            let total: f64 = shares
                .parts
                .iter()
                .chain(&shares.bodies)
                .chain(&shares.beams)
                .sum();
            let names = model
                .plates
                .iter()
                .map(|p| p.plate.id.clone())
                .chain(s.bodies.iter().map(|b| b.name.clone()))
                .chain(s.beams.iter().map(|b| b.name.clone()));
            let mut moves: Vec<(String, f64)> = names
                .zip(
                    shares
                        .parts
                        .iter()
                        .chain(&shares.bodies)
                        .chain(&shares.beams),
                )
                .map(|(n, v)| (n, v / total))
                .filter(|(_, v)| *v >= WORTH_NAMING)
                .collect();
            moves.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
            let effective_mass = [0, 1, 2].map(|d| {
                let (m, all) = &rigid[d];
                let gamma: f64 = shape.iter().zip(m).map(|(a, b)| a * b).sum();
                if *all > 0.0 { gamma * gamma / all } else { 0.0 }
            });
            ModeReport {
                mode: k + 1,
                hz: *hz,
                moves,
                effective_mass,
            }
        })
        .collect()
}

fn sharp(model: &Model, solved: &Solved, found: &Found<'_>, limit: f64) -> Vec<SharpPlace> {
    solved
        .peaks
        .iter()
        .filter(|p| !p.cases.is_empty())
        .filter_map(|p| {
            let peaks_mpa: Vec<f64> = found
                .history
                .iter()
                .filter_map(|h| same(p, h))
                .map(|q| q.greatest().0)
                .collect();
            let is_settled = match peaks_mpa.as_slice() {
                [.., a, b] => (b / a.max(f64::MIN_POSITIVE) - 1.0).abs() <= limit,
                _ => false,
            };
            // A judged place is named too when its peak keeps growing.
            let grows = p.kind.is_judged()
                && matches!(peaks_mpa.as_slice(), [.., a, b, c]
                    if *c > *b * (1.0 + limit) && c - b > 0.9 * (b - a) && b > a);
            (!p.kind.is_judged() || grows).then(|| SharpPlace {
                plate: model.plates[p.plate].plate.id.clone(),
                kind: p.kind,
                name: p.name.clone(),
                peaks_mpa,
                is_settled,
            })
        })
        .collect()
}

fn trimmed(model: &Model, solved: &Solved) -> Vec<TrimmedRing> {
    model
        .clamps
        .iter()
        .zip(&solved.built.clamp_outer_mm)
        .filter_map(|(c, held)| match (&c.seat, held) {
            (super::model::Seat::Face { outer_mm, .. }, Some(held))
                if *held < outer_mm - crate::tol::SNAP_MM =>
            {
                Some(TrimmedRing {
                    clamp: c.id.clone(),
                    asked_mm: *outer_mm,
                    held_mm: *held,
                })
            }
            _ => None,
        })
        .collect()
}

fn fields(model: &Model, solved: &Solved, found: &Found<'_>) -> Vec<PlateField> {
    let s = &solved.built.structure;
    let mut singular = vec![false; s.nodes.len()];
    for p in solved.places.iter().filter(|p| !p.kind.is_judged()) {
        for &n in &p.nodes {
            singular[n] = true;
        }
    }
    model
        .plates
        .iter()
        .zip(&solved.built.plates)
        .map(|(m, part)| {
            let plan = &part.mesh.plan;
            let column = |p: usize| part.mesh.wedges.column(p).map(|n| n + part.node);
            let f = &m.plate.frame;
            let axes = [f.x, f.y, f.normal].map(|v| [v.x, v.y, v.z]);
            PlateField {
                plate: m.plate.id.clone(),
                frame: m.plate.frame,
                middle_mm: 0.5 * m.plate.thickness_mm,
                plan: plan.clone(),
                von_mises_mpa: (0..plan.points.len())
                    .map(|p| {
                        column(p)
                            .filter(|&n| !singular[n])
                            .flat_map(|n| {
                                solved.stresses.iter().map(move |t| von_mises(&t.nodes[n]))
                            })
                            .fold(0.0, f64::max)
                    })
                    .collect(),
                is_singular: (0..plan.points.len())
                    .map(|p| column(p).any(|n| singular[n]))
                    .collect(),
                modes: found
                    .shapes
                    .iter()
                    .map(|shape| {
                        (0..plan.points.len())
                            .map(|p| {
                                let nodes: Vec<usize> = column(p).collect();
                                let Some(&n) = nodes.get(nodes.len() / 2) else {
                                    return [0.0; 3];
                                };
                                axes.map(|a| (0..3).map(|d| a[d] * shape[3 * n + d]).sum())
                            })
                            .collect()
                    })
                    .collect(),
            }
        })
        .collect()
}

fn bodies(model: &Model, solved: &Solved, found: &Found<'_>) -> Vec<BodyField> {
    let s = &solved.built.structure;
    model
        .bodies
        .iter()
        .zip(&solved.built.body_group)
        .map(|(b, &group)| {
            let centre = [b.centre.x, b.centre.y, b.centre.z];
            let arm = [0, 1, 2].map(|k| centre[k] - s.bodies[group].at[k]);
            let start = s.body_start(group);
            BodyField {
                body: b.id.clone(),
                centre,
                modes: found
                    .shapes
                    .iter()
                    .map(|shape| {
                        let u = &shape[start..start + 6];
                        [0, 1, 2].map(|d| {
                            let (j, k) = ((d + 1) % 3, (d + 2) % 3);
                            u[d] + u[3 + j] * arm[k] - u[3 + k] * arm[j]
                        })
                    })
                    .collect(),
            }
        })
        .collect()
}
