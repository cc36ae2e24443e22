//! Lateral vibration of the spans against the engine's firing.

use serde::Serialize;

use super::input::{Drive, Engine};
use super::path::BeltPath;
use super::tension::{self, Pretension};

/// Speeds sampled from idle to top when crossings are searched.
///
/// Span frequencies change slowly with speed; 48 steps of an 800–2400 rpm
/// range are 33 rpm each, finer than any two crossings of one order lie apart.
const SAMPLES: usize = 49;

/// Halvings of a sample step: 2⁻³⁰ of 33 rpm.
const HALVINGS: usize = 30;

/// An excitation order with its name.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Order {
    /// Events per turn of the crank.
    pub order: f64,
    /// What it is.
    pub name: &'static str,
    /// Whether it is the firing order itself.
    pub is_firing: bool,
}

/// A span at one held speed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SpanFrequency {
    /// Driver speed, rpm.
    pub crank_rpm: f64,
    /// Total tension, N.
    pub tension_n: f64,
    /// First lateral frequency as if the belt stood still, Hz.
    pub still_hz: f64,
    /// The same of the running belt, Hz; 0 where the belt runs faster than its waves.
    pub running_hz: f64,
    /// Firing frequency there, Hz.
    pub firing_hz: f64,
}

/// A speed at which a span's frequency meets an excitation order.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Resonance {
    /// Order met.
    pub order: Order,
    /// Driver speed, rpm.
    pub crank_rpm: f64,
    /// Frequency there, Hz.
    pub frequency_hz: f64,
}

/// One span over the speed range.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpanSurvey {
    /// Span number.
    pub number: usize,
    /// Pulley it leaves.
    pub from: String,
    /// Pulley it arrives at.
    pub to: String,
    /// Length, mm.
    pub length_mm: f64,
    /// At idle, the further speeds in rising order, and top.
    pub held: Vec<SpanFrequency>,
    /// Meetings between idle and top, by order, then speed.
    pub resonances: Vec<Resonance>,
}

/// First lateral frequency of a span at rest, Hz: √(T/m′) / 2L.
#[must_use]
pub fn still_hz(tension_n: f64, mass_kg_m: f64, length_mm: f64) -> f64 {
    (tension_n.max(0.0) / mass_kg_m).sqrt() / (2.0 * length_mm / 1000.0)
}

/// Tension that gives a span its frequency at rest, N: 4 m′ L² f².
#[must_use]
pub fn tension_from_hz(frequency_hz: f64, mass_kg_m: f64, length_mm: f64) -> f64 {
    let l = length_mm / 1000.0;
    4.0 * mass_kg_m * l * l * frequency_hz * frequency_hz
}

/// First lateral frequency of a running span, Hz: (c² − v²) / 2Lc with c = √(T/m′), T the total tension.
///
/// Axially moving string, C. D. Mote, "A study of band saw vibrations", J. Franklin Inst. 279 (1965).
/// 0 where the belt runs faster than its waves.
#[must_use]
pub fn running_hz(tension_n: f64, mass_kg_m: f64, length_mm: f64, speed_m_s: f64) -> f64 {
    let c2 = tension_n / mass_kg_m;
    if c2.is_nan() || c2 <= speed_m_s * speed_m_s {
        return 0.0;
    }
    (c2 - speed_m_s * speed_m_s) / (2.0 * length_mm / 1000.0 * c2.sqrt())
}

/// Orders looked at: the firing order, its neighbours half a cycle's step to either side, and its double.
///
/// A four-stroke engine repeats every two turns, so its orders step by ½; a
/// two-stroke's by 1. Common practice, no source.
#[must_use]
pub fn orders(engine: &Engine) -> Vec<Order> {
    let firing = engine.firing_order();
    let step = 2.0 / f64::from(engine.strokes.max(1));
    let order = |order, name, is_firing| Order {
        order,
        name,
        is_firing,
    };
    [
        order(firing - step, "below firing", false),
        order(firing, "firing", true),
        order(firing + step, "above firing", false),
        order(2.0 * firing, "twice firing", false),
    ]
    .into_iter()
    .filter(|o| o.order > 0.0)
    .collect()
}

/// Held speeds: idle, the further ones, top; ascending without repeats.
#[must_use]
pub fn held_rpm(engine: &Engine) -> Vec<f64> {
    let mut speeds: Vec<f64> = engine.more_rpm.clone();
    speeds.push(engine.idle_rpm);
    speeds.push(engine.top_rpm);
    speeds.sort_by(f64::total_cmp);
    speeds.dedup_by(|a, b| a.total_cmp(b).is_eq());
    speeds
}

/// Surveys every span from idle to top.
#[must_use]
pub fn survey(drive: &Drive, path: &BeltPath, pretension: Pretension<'_>) -> Vec<SpanSurvey> {
    let engine = &drive.engine;
    let mass = drive.belt.mass_kg_m();
    let spans_at = |rpm: f64| -> Vec<(f64, f64)> {
        let v = tension::belt_speed_m_s(path, rpm);
        let centrifugal = tension::centrifugal_n(mass, v);
        tension::effective_tensions_n(drive, path, pretension, rpm)
            .iter()
            .zip(&path.spans)
            .map(|(t, span)| {
                let total = t + centrifugal;
                (total, running_hz(total, mass, span.length_mm, v))
            })
            .collect()
    };
    let step = (engine.top_rpm - engine.idle_rpm) / (SAMPLES - 1) as f64;
    let samples: Vec<(f64, Vec<(f64, f64)>)> = (0..SAMPLES)
        .map(|i| {
            let rpm = engine.idle_rpm + step * i as f64;
            (rpm, spans_at(rpm))
        })
        .collect();
    let held: Vec<(f64, Vec<(f64, f64)>)> = held_rpm(engine)
        .into_iter()
        .map(|rpm| (rpm, spans_at(rpm)))
        .collect();
    path.spans
        .iter()
        .enumerate()
        .map(|(k, span)| SpanSurvey {
            number: span.number,
            from: path.contacts[span.from].id.clone(),
            to: path.contacts[span.to].id.clone(),
            length_mm: span.length_mm,
            held: held
                .iter()
                .map(|(rpm, at)| SpanFrequency {
                    crank_rpm: *rpm,
                    tension_n: at[k].0,
                    still_hz: still_hz(at[k].0, mass, span.length_mm),
                    running_hz: at[k].1,
                    firing_hz: engine.firing_order() * rpm / 60.0,
                })
                .collect(),
            resonances: orders(engine)
                .into_iter()
                .flat_map(|order| {
                    crossings(&samples, k, order.order, &spans_at)
                        .into_iter()
                        .map(move |(crank_rpm, frequency_hz)| Resonance {
                            order,
                            crank_rpm,
                            frequency_hz,
                        })
                })
                .collect(),
        })
        .collect()
}

/// Speeds at which span `k` meets `order`, each with its frequency.
fn crossings(
    samples: &[(f64, Vec<(f64, f64)>)],
    k: usize,
    order: f64,
    spans_at: &impl Fn(f64) -> Vec<(f64, f64)>,
) -> Vec<(f64, f64)> {
    let miss = |rpm: f64, hz: f64| hz - order * rpm / 60.0;
    samples
        .windows(2)
        .filter_map(|pair| {
            let (mut low, mut high) = (pair[0].0, pair[1].0);
            let at_low = miss(low, pair[0].1[k].1);
            let at_high = miss(high, pair[1].1[k].1);
            if at_low * at_high > 0.0 {
                return None;
            }
            for _ in 0..HALVINGS {
                let middle = 0.5 * (low + high);
                if miss(middle, spans_at(middle)[k].1) * at_low > 0.0 {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            let rpm = 0.5 * (low + high);
            Some((rpm, spans_at(rpm)[k].1))
        })
        .collect()
}
