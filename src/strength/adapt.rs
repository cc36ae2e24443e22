//! Where the mesh must be finer, and whether the peaks have settled.

use crate::geom::Point;

use super::build::{Built, BuiltPlate};
use super::model::Model;
use super::places::{Kind, Place};
use super::recover::{Stresses, von_mises};

/// An element is refined until its stress error is below this share of its plate's judged peak.
///
/// Less than half the usual 5 % target of Zienkiewicz & Zhu, since the peak is what is reported.
const ERROR_SHARE: f64 = 0.02;

/// Only elements whose stress (or its error) reaches this share of the plate's peak are refined.
const LOADED_SHARE: f64 = 0.4;

/// An edge shrinks by no more than this in one pass.
const SMALLEST_STEP: f64 = 0.4;

/// An edge that would shrink by less than this is left alone.
const LEAST_STEP: f64 = 0.85;

/// Edges at a plate's peak shrink by this in every pass, whatever the error estimate says, so
/// that every peak is read on two different meshes before it counts as settled.
const PEAK_STEP: f64 = 0.6;

/// No edge near a singular place is made shorter than this share of the plate's thickness.
const SINGULAR_EDGE_SHARE: f64 = 0.12;

/// Peak of one place.
#[derive(Debug, Clone, PartialEq)]
pub struct Peak {
    /// Plate.
    pub plate: usize,
    /// Kind.
    pub kind: Kind,
    /// Name.
    pub name: String,
    /// Von Mises peak of each case, MPa, and its node.
    pub cases: Vec<(f64, usize)>,
}

impl Peak {
    /// Greatest over all cases: stress, case, node.
    #[must_use]
    pub fn greatest(&self) -> (f64, usize, usize) {
        let mut best = (0.0, 0, self.cases.first().map_or(0, |c| c.1));
        for (k, &(v, node)) in self.cases.iter().enumerate() {
            if v > best.0 {
                best = (v, k, node);
            }
        }
        best
    }
}

/// Peaks of all places.
pub type Peaks = Vec<Peak>;

/// Peaks of all places under all cases.
#[must_use]
pub fn peaks(places: &[Place], stresses: &[Stresses]) -> Peaks {
    places
        .iter()
        .map(|p| Peak {
            plate: p.plate,
            kind: p.kind,
            name: p.name.clone(),
            cases: stresses
                .iter()
                .map(|s| {
                    p.nodes.iter().map(|&n| (von_mises(&s.nodes[n]), n)).fold(
                        (0.0, p.nodes.first().copied().unwrap_or(0)),
                        |a, b| {
                            if b.0 > a.0 { b } else { a }
                        },
                    )
                })
                .collect(),
        })
        .collect()
}

/// Greatest judged stress of each plate.
fn plate_peaks(peaks: &Peaks) -> Vec<f64> {
    let plates = peaks.iter().map(|p| p.plate + 1).max().unwrap_or(0);
    let mut out = vec![0.0_f64; plates];
    for p in peaks.iter().filter(|p| p.kind.is_judged()) {
        out[p.plate] = out[p.plate].max(p.greatest().0);
    }
    out
}

/// The peak of the same place in an earlier pass.
#[must_use]
pub fn same<'a>(peak: &Peak, earlier: &'a Peaks) -> Option<&'a Peak> {
    earlier
        .iter()
        .find(|q| q.plate == peak.plate && q.kind == peak.kind && q.name == peak.name)
}

/// Change of each plate's peak since an earlier pass, as a share of the peak.
///
/// The greater of two: of the plate's greatest judged stress, and of the stress at the place
/// where that is now. 0 for a plate without stress.
#[must_use]
pub fn plate_changes(before: &Peaks, now: &Peaks, plates: usize) -> Vec<f64> {
    let earlier = plate_peaks(before);
    (0..plates)
        .map(|k| {
            let Some(peak) = plate_peak(now, k) else {
                return 0.0;
            };
            let stress = peak.greatest().0;
            if stress <= 0.0 {
                return 0.0;
            }
            let was = earlier.get(k).copied().unwrap_or(0.0);
            let there = same(peak, before).map_or(was, |p| p.greatest().0);
            (stress - was).abs().max((stress - there).abs()) / stress
        })
        .collect()
}

/// The judged place of a plate with the greatest stress.
#[must_use]
pub fn plate_peak(peaks: &Peaks, plate: usize) -> Option<&Peak> {
    peaks
        .iter()
        .filter(|p| p.plate == plate && p.kind.is_judged() && !p.cases.is_empty())
        .max_by(|a, b| a.greatest().0.total_cmp(&b.greatest().0))
}

/// Asks for finer edges where the stress error is large for the plate's peak, and at the peak
/// itself; answers how many elements ask.
///
/// Plates in `settled` are left as they are.
pub fn finer_edges(
    model: &Model,
    built: &Built,
    (places, stresses, peaks): (&[Place], &[Stresses], &Peaks),
    settled: &[bool],
    finer: &mut [Vec<(Point, f64)>],
) -> usize {
    let peak_of = plate_peaks(peaks);
    let mut singular = vec![false; built.structure.nodes.len()];
    for p in places.iter().filter(|p| !p.kind.is_judged()) {
        for &n in &p.nodes {
            singular[n] = true;
        }
    }
    let mut asked = 0;
    for (k, part) in built.plates.iter().enumerate() {
        let reference = peak_of.get(k).copied().unwrap_or(0.0);
        if reference <= 0.0 || settled.get(k).copied().unwrap_or(false) {
            continue;
        }
        let young = model.plates[k].material.young_mpa;
        let least = SINGULAR_EDGE_SHARE * model.plates[k].plate.thickness_mm;
        let triangles = part.mesh.plan.triangles.len();
        let mut worst = vec![0.0_f64; triangles];
        let mut near_singular = vec![false; triangles];
        for (e, &(t, _)) in part.mesh.wedges.from.iter().enumerate() {
            let element = part.element + e;
            let w = &built.structure.wedges[element];
            near_singular[t] |= w.nodes.iter().any(|&n| singular[n]);
            if w.nodes.iter().all(|&n| singular[n]) {
                continue;
            }
            let volume = volume(built, element);
            for s in stresses {
                // The error as a stress: √(E e²/V).
                let error = (young * s.error2[element] / volume).sqrt();
                let level = (young * s.energy2[element] / volume).sqrt();
                if level.max(error) >= LOADED_SHARE * reference {
                    worst[t] = worst[t].max(error / reference);
                }
            }
        }
        for (t, error) in worst.iter().enumerate() {
            // Stress error of a second-order element falls with the square of its edge.
            let step = (ERROR_SHARE / error).sqrt().max(SMALLEST_STEP);
            if step >= LEAST_STEP {
                continue;
            }
            let tri = part.mesh.plan.triangles[t];
            let [a, b, c] = [tri[0], tri[1], tri[2]].map(|i| part.mesh.plan.points[i]);
            let edge = (a.distance(b) + b.distance(c) + c.distance(a)) / 3.0;
            let floor = if near_singular[t] { least } else { 0.0 };
            let wanted = (edge * step).max(floor);
            if wanted >= LEAST_STEP * edge {
                continue;
            }
            asked += 1;
            let middle = part.mesh.plan.centre(t);
            finer[k].push((middle, wanted));
            for p in [a, b, c] {
                finer[k].push((p, wanted));
            }
        }
        if let Some((at, edge)) = peak_edge(part, peaks, k) {
            finer[k].push((at, PEAK_STEP * edge));
            asked += 1;
        }
    }
    asked
}

/// Where a plate's peak is in its plan, and the mean edge of the elements there.
fn peak_edge(part: &BuiltPlate, peaks: &Peaks, plate: usize) -> Option<(Point, f64)> {
    let node = plate_peak(peaks, plate)?.greatest().2 - part.node;
    let [x, y, _] = *part.mesh.wedges.nodes.get(node)?;
    let plan = &part.mesh.plan;
    let (mut sum, mut count) = (0.0, 0.0);
    for (w, &(t, _)) in part.mesh.wedges.wedges.iter().zip(&part.mesh.wedges.from) {
        if w.contains(&node) {
            let [a, b, c, ..] = plan.triangles[t].map(|i| plan.points[i]);
            sum += (a.distance(b) + b.distance(c) + c.distance(a)) / 3.0;
            count += 1.0;
        }
    }
    (count > 0.0).then(|| (Point::new(x, y), sum / count))
}

/// Volume of an element by its straight prism, mm³.
fn volume(built: &Built, element: usize) -> f64 {
    let x = built
        .structure
        .coordinates(&built.structure.wedges[element]);
    let d = |a: usize, b: usize| [0, 1, 2].map(|k| x[b][k] - x[a][k]);
    let (u, v, w) = (d(0, 1), d(0, 2), d(0, 3));
    let det = u[0] * (v[1] * w[2] - v[2] * w[1]) - u[1] * (v[0] * w[2] - v[2] * w[0])
        + u[2] * (v[0] * w[1] - v[1] * w[0]);
    (0.5 * det).abs().max(f64::MIN_POSITIVE)
}
