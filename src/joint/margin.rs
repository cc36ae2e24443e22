//! What each bolt of a loaded group has left: slip, separation, proof, yield, thread, fatigue.

use std::f64::consts::PI;

use serde::Serialize;

use crate::geom::Frame;

use super::fastening::{Fastening, FasteningReport};
use super::group::{BoltLoad, Group, GroupLoads};
use super::hole::{bolt_shear_n, bolt_tension_n};
use super::judgement::{Bench, Judgement};
use super::load::Case;
use super::preload::thread_torque_nm;

/// Safety against slip that the least clamp force must give (VDI 2230-1 5.5.6: 1.2 for steady load,
/// which a load with its shock factor counted is; from memory).
pub const SLIP_SAFETY: f64 = 1.2;

/// Safety against separation of the clamped faces (common practice, no source).
pub const SEPARATION_SAFETY: f64 = 1.2;

/// Safety of the tapped thread against stripping under the greatest screw force: γM2 of EN 1993-1-8.
pub const THREAD_SAFETY: f64 = 1.25;

/// Share of the tightening twist that stays in the shank (VDI 2230-1 5.5.2: 0.5, from memory).
const TWIST_LEFT: f64 = 0.5;

/// Share of the fatigue strength of rolled threads that a design uses (VDI 2230-1 5.5.3 S_D = 1.2, from memory).
const FATIGUE_SAFETY: f64 = 1.2;

/// The joint face all bolts of a group clamp.
#[derive(Debug, Clone, PartialEq)]
pub struct Face {
    /// Slip factor between the clamped faces.
    pub slip_factor: f64,
    /// Where the slip factor is from.
    pub slip_source: String,
    /// Outer diameter of the seat ring at each bolt, mm: what resists a tilt that bolts in a line
    /// cannot. None where the parts seat over a wide face.
    pub seat_mm: Option<f64>,
}

/// What one bolt has left in its worst load case.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BoltReport {
    /// Name of the bolt.
    pub id: String,
    /// Greatest shear of all cases, N, and its case.
    pub shear_n: f64,
    /// Case with the greatest shear.
    pub shear_case: String,
    /// Greatest tension of all cases, N; 0 or more.
    pub tension_n: f64,
    /// Case with the greatest tension.
    pub tension_case: String,
    /// Greatest force in the screw: preload, temperature and its share of the tension, N.
    pub screw_n: f64,
    /// Least clamp force left with the tension taken off in full, N.
    pub clamp_n: f64,
    /// Share of the friction that holds the joint that the worst case uses.
    pub slip_use: f64,
    /// Case with the greatest slip use.
    pub slip_case: String,
    /// Stress amplitude in the thread over all cases, MPa.
    pub amplitude_mpa: f64,
    /// Equivalent stress in service, MPa.
    pub service_stress_mpa: f64,
    /// Verdicts.
    pub judgements: Vec<Judgement>,
}

/// A loaded group: how the cases are shared and what each bolt has left.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GroupReport {
    /// Each load case: name and shares.
    pub cases: Vec<(String, GroupLoads)>,
    /// Each bolt, in the group's order.
    pub bolts: Vec<BoltReport>,
}

/// Extremes of one bolt over all cases.
#[derive(Default)]
struct Extremes {
    shear: (f64, String),
    tension: (f64, String),
    slip: (f64, String),
    axial: (f64, f64),
    tilt_use: (f64, String),
}

/// Shares `cases` (engine frame) over a group in `frame` and judges every bolt.
///
/// `fastenings` are in the group's order: each with its report.
#[must_use]
pub fn judge_group(
    group: &Group,
    frame: &Frame,
    cases: &[Case],
    face: &Face,
    fastenings: &[(&Fastening, &FasteningReport)],
) -> GroupReport {
    let shared: Vec<(String, GroupLoads)> = cases
        .iter()
        .map(|c| (c.name.clone(), group.share(&c.wrench.seen_from(frame))))
        .collect();
    let bolts = group
        .bolts
        .iter()
        .zip(fastenings)
        .enumerate()
        .map(|(i, (bolt, (fastening, report)))| {
            let extremes = extremes(i, &shared, face, fastening, report);
            judge_bolt(&bolt.id, &extremes, face, fastening, report)
        })
        .collect();
    GroupReport {
        cases: shared,
        bolts,
    }
}

fn extremes(
    i: usize,
    shared: &[(String, GroupLoads)],
    face: &Face,
    fastening: &Fastening,
    report: &FasteningReport,
) -> Extremes {
    let mut e = Extremes {
        axial: (f64::INFINITY, f64::NEG_INFINITY),
        ..Extremes::default()
    };
    let keep = |best: &mut (f64, String), value: f64, case: &str| {
        if value > best.0 || best.1.is_empty() {
            *best = (value, case.to_owned());
        }
    };
    for (case, loads) in shared {
        let Some(bolt) = loads.bolts.get(i) else {
            continue;
        };
        let n = loads.bolts.len() as f64;
        let clamp = report.settling.least_clamp_n - bolt.axial_n.max(0.0);
        keep(&mut e.shear, bolt.shear_n, case);
        keep(&mut e.tension, bolt.axial_n.max(0.0), case);
        keep(
            &mut e.slip,
            slip_use(bolt, loads.seat_twist_nm / n, clamp, face, fastening),
            case,
        );
        let tilt_nm = loads.seat_tilt_x_nm.hypot(loads.seat_tilt_y_nm) / n;
        keep(
            &mut e.tilt_use,
            tilt_use(tilt_nm, clamp, face, fastening),
            case,
        );
        e.axial.0 = e.axial.0.min(bolt.axial_n.max(0.0));
        e.axial.1 = e.axial.1.max(bolt.axial_n.max(0.0));
    }
    e
}

/// Share of the friction used by shear and by a twist that only friction carries.
///
/// Both are added at full value, as if they pointed the same way everywhere.
fn slip_use(bolt: &BoltLoad, twist_nm: f64, clamp_n: f64, face: &Face, f: &Fastening) -> f64 {
    if bolt.shear_n == 0.0 && twist_nm == 0.0 {
        return 0.0;
    }
    let hold = face.slip_factor * clamp_n;
    if hold <= 0.0 {
        return f64::INFINITY;
    }
    let (inner, outer) = ring_mm(face, f);
    // Mean friction radius of a ring under even pressure.
    let arm = (outer.powi(3) - inner.powi(3)) / (3.0 * (outer * outer - inner * inner));
    bolt.shear_n / hold + 1e3 * twist_nm.abs() / (hold * arm)
}

/// Share of the tilt that opens the seat ring's edge: M ≤ F·(D² + d²)/(8·D).
fn tilt_use(tilt_nm: f64, clamp_n: f64, face: &Face, f: &Fastening) -> f64 {
    if tilt_nm == 0.0 {
        return 0.0;
    }
    if clamp_n <= 0.0 {
        return f64::INFINITY;
    }
    let (inner, outer) = ring_mm(face, f);
    1e3 * tilt_nm / (clamp_n * (outer * outer + inner * inner) / (8.0 * outer))
}

/// Seat ring of a bolt, mm: the stated one, else the head's bearing face.
fn ring_mm(face: &Face, f: &Fastening) -> (f64, f64) {
    let inner = f.stack.layers.last().map_or(0.0, |l| l.hole_mm);
    let head = f.stack.screw.head.bearing_dia_mm;
    (inner, face.seat_mm.unwrap_or(head).max(inner + 0.1 * inner))
}

fn judge_bolt(
    id: &str,
    e: &Extremes,
    face: &Face,
    fastening: &Fastening,
    report: &FasteningReport,
) -> BoltReport {
    let screw = &fastening.stack.screw;
    let t = &screw.thread;
    let strength = screw.head.strength_factor();
    let settling = &report.settling;
    let (shear, tension) = (e.shear.0, e.tension.0);
    let screw_n = settling.greatest_preload_n + settling.load_factor * tension;
    let clamp = settling.least_clamp_n - tension;
    let d0 = 0.5 * (t.d2_mm() + t.d3_mm());
    let twist_mpa = 1e3
        * TWIST_LEFT
        * thread_torque_nm(t, report.preload.preload_max_n, report.preload.mu_thread)
        / (PI * d0.powi(3) / 16.0);
    let pull_mpa = screw_n / t.stress_area_exact_mm2();
    let service = pull_mpa.hypot(3.0_f64.sqrt() * twist_mpa);
    let amplitude =
        0.5 * settling.load_factor * (e.axial.1 - e.axial.0).max(0.0) / t.stress_area_mm2;
    let mut judgements = clamp_judgements(id, e, face, settling.least_clamp_n);
    let bench = Bench { place: id };
    judgements.push(bench.at_most(
        "J304",
        "greatest force in the screw against its proof load",
        (
            screw_n,
            screw.class.proof_mpa * t.stress_area_mm2 * strength,
            "N",
        ),
        "ISO 898-1:2013 T.3",
    ));
    judgements.push(bench.at_most(
        "J305",
        "equivalent stress of the screw in service",
        (service, screw.class.yield_min_mpa * strength, "MPa"),
        "VDI 2230-1 5.5.2, half the tightening twist left (from memory)",
    ));
    if let Some(s) = &report.strip {
        judgements.push(bench.at_least(
            "J306",
            "force that strips the thread against the greatest force in the screw",
            (s.strip_n, THREAD_SAFETY * screw_n, "N"),
            "VDI 2230-1 5.5.5 (from memory), factor of EN 1993-1-8 γM2",
        ));
    }
    judgements.push(bench.at_most(
        "J307",
        "stress amplitude in the thread",
        (
            amplitude,
            fatigue_strength_mpa(t.d_mm) / FATIGUE_SAFETY,
            "MPa",
        ),
        "VDI 2230-1 5.5.3: rolled before heat treatment, 0.85·(150/d + 45) (from memory)",
    ));
    judgements.push(bench.at_most(
        "J308",
        "shear and tension together, should the joint slip",
        (
            shear / (bolt_shear_n(t, &screw.class, true) * strength)
                + tension / (1.4 * bolt_tension_n(t, &screw.class) * strength),
            1.0,
            "",
        ),
        "EN 1993-1-8:2005 T.3.4",
    ));
    BoltReport {
        id: id.to_owned(),
        shear_n: shear,
        shear_case: e.shear.1.clone(),
        tension_n: tension,
        tension_case: e.tension.1.clone(),
        screw_n,
        clamp_n: clamp,
        slip_use: e.slip.0,
        slip_case: e.slip.1.clone(),
        amplitude_mpa: amplitude,
        service_stress_mpa: service,
        judgements,
    }
}

/// Slip, separation and seat opening.
fn clamp_judgements(id: &str, e: &Extremes, face: &Face, least_clamp_n: f64) -> Vec<Judgement> {
    let bench = Bench { place: id };
    let mut all = vec![
        bench.at_most(
            "J301",
            format!("share of the friction used ({})", e.slip.1),
            (e.slip.0, 1.0 / SLIP_SAFETY, ""),
            format!(
                "VDI 2230-1 5.5.6, safety {SLIP_SAFETY}; slip factor {} {}",
                face.slip_factor, face.slip_source
            ),
        ),
        bench.at_least(
            "J302",
            format!("least clamp force against the pull ({})", e.tension.1),
            (least_clamp_n, SEPARATION_SAFETY * e.tension.0, "N"),
            "common practice, no source: safety 1.2; the pull is taken off the clamp force in full",
        ),
    ];
    if e.tilt_use.0 > 0.0 {
        all.push(bench.at_most(
            "J303",
            format!("share of the tilt that opens the seat's edge ({})", e.tilt_use.1),
            (e.tilt_use.0, 1.0 / SEPARATION_SAFETY, ""),
            "even pressure on a ring seat opens at F·(D² + d²)/(8·D); safety 1.2 common practice, no source",
        ));
    }
    all
}

/// Amplitude a rolled thread endures, MPa (VDI 2230-1: 0.85·(150/d + 45), from memory).
#[must_use]
pub fn fatigue_strength_mpa(d_mm: f64) -> f64 {
    0.85 * (150.0 / d_mm + 45.0)
}
