//! From a symptom without readings: the likely side and the direction of correction.
//!
//! Common practice, no source: on a tilted roller a belt moves towards the end
//! it meets first; on an offset pulley it rides up the flank on the side it
//! comes from; a squeal or chirp that stops with water on the ribs is a skew
//! span. The signs of the corrections come from the geometry.

use serde::Serialize;

use super::mount::{Drive, Fault};
use super::state::State;

/// A change of tilt or offset below this per mm of washer is none, in the unit of the effect.
const NO_EFFECT: f64 = 1e-6;

/// What is seen or heard.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Symptom {
    /// The belt climbs out of the grooves.
    Climbs,
    /// The belt walks sideways.
    Walks,
    /// It squeals or chirps.
    Squeals,
}

/// To which side the belt goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Towards {
    /// Away from the engine.
    Front,
    /// Towards the engine.
    Back,
}

impl Towards {
    /// Along +Z (front) or against it.
    const fn sign(self) -> f64 {
        match self {
            Self::Front => 1.0,
            Self::Back => -1.0,
        }
    }

    /// The word for the side.
    pub const fn side(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Back => "back",
        }
    }

    const fn word(self) -> &'static str {
        match self {
            Self::Front => "front",
            Self::Back => "engine",
        }
    }
}

/// What a washer at one bolt does about it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Remedy {
    /// The mount.
    pub mount: String,
    /// The bolt.
    pub bolt: String,
    /// What the washer goes between.
    pub between: [String; 2],
    /// Turn of the pulley's axis against the belt's travel where it runs on, deg per mm of washer; + pushes the belt back where it belongs.
    pub tilt_deg_per_mm: f64,
    /// Shift of the pulley forward, mm per mm of washer.
    pub forward_per_mm: f64,
}

/// Advice for one side the belt may go to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Advice {
    /// The side the belt goes to.
    pub towards: Towards,
    /// What is likely.
    pub likely: String,
    /// What to do.
    pub correction: String,
    /// Washers that help, the strongest first.
    pub remedies: Vec<Remedy>,
}

/// Advice from a symptom alone; for both sides when the side was not said.
///
/// # Errors
///
/// The faults of the drive, or that the pulley is not in it, is not reached by
/// a span, or is the reference.
pub fn advise(
    drive: &Drive,
    symptom: Symptom,
    at: &str,
    towards: Option<Towards>,
) -> Result<Vec<Advice>, Vec<Fault>> {
    drive.check()?;
    let Some(pulley) = drive.pulley(at) else {
        return Err(vec![Fault::Unknown {
            what: "pulley",
            name: at.to_owned(),
            place: "the symptom".to_owned(),
        }]);
    };
    let Some(from) = drive
        .spans
        .iter()
        .find(|s| s.to == at)
        .and_then(|s| drive.pulley(&s.from))
    else {
        return Err(vec![Fault::Unknown {
            what: "span on to",
            name: at.to_owned(),
            place: "the symptom".to_owned(),
        }]);
    };
    let (p, q) = (drive.pulleys[from].centre, drive.pulleys[pulley].centre);
    let length = (q.x - p.x).hypot(q.y - p.y).max(1e-9);
    let travel = [(q.x - p.x) / length, (q.y - p.y) / length];
    let state = State::new(drive, &[]);
    let sides = towards.map_or_else(|| vec![Towards::Front, Towards::Back], |t| vec![t]);
    Ok(sides
        .into_iter()
        .map(|side| one(&state, symptom, pulley, from, travel, side))
        .collect())
}

/// Advice for one side.
fn one(
    state: &State<'_>,
    symptom: Symptom,
    pulley: usize,
    from: usize,
    travel: [f64; 2],
    side: Towards,
) -> Advice {
    let drive = state.drive;
    let (name, before) = (&drive.pulleys[pulley].name, &drive.pulleys[from].name);
    let remedies = remedies(state, pulley, travel, side, symptom);
    let end = side.word();
    let upstream = words_of([-travel[0], -travel[1]]);
    let downstream = words_of(travel);
    let (likely, what) = match symptom {
        Symptom::Walks => (
            format!(
                "the belt meets the {end} end of {name} first: that end of its axis leans {upstream}, against the oncoming belt"
            ),
            format!("turn {name} so that the {end} end of its axis goes {downstream}"),
        ),
        Symptom::Climbs => {
            let (stands, back) = match side {
                Towards::Front => ("too far back", "forward"),
                Towards::Back => ("too far forward", "back"),
            };
            (
                format!(
                    "{name} stands {stands} for the belt coming from {before}, or the {end} end of its axis leans {upstream}: the belt rides up the flank on the side it comes from"
                ),
                format!(
                    "bring {name} {back}, or turn it so that the {end} end of its axis goes {downstream}"
                ),
            )
        }
        Symptom::Squeals => (
            format!(
                "the span from {before} runs askew, or {name} is tilted, {end} end of its axis {upstream}; a squeal that lasts under water is slip: look at the tension first"
            ),
            format!(
                "lay the rod from {before} over {name} before changing anything; if the {end} end leans {upstream}, turn it {downstream}"
            ),
        ),
    };
    let correction = match remedies.first() {
        Some(r) => format!(
            "{what}: a washer at the {} bolt of {}, between {} and {}, turns it by {:.2} deg for each mm and moves it {:.2} mm {}",
            r.bolt,
            r.mount,
            r.between[0],
            r.between[1],
            r.tilt_deg_per_mm.abs(),
            r.forward_per_mm.abs(),
            if r.forward_per_mm < 0.0 {
                "back"
            } else {
                "forward"
            }
        ),
        None => format!("{what}; no place for a washer does that"),
    };
    Advice {
        towards: side,
        likely,
        correction,
        remedies,
    }
}

/// The washers that help, the strongest first.
fn remedies(
    state: &State<'_>,
    pulley: usize,
    travel: [f64; 2],
    side: Towards,
    symptom: Symptom,
) -> Vec<Remedy> {
    let mut list = Vec::new();
    for (m, mount) in state.drive.mounts.iter().enumerate() {
        for (b, bolt) in mount.bolts.iter().enumerate() {
            let Some(place) = &bolt.place else { continue };
            let effect = state.effect(m, b, pulley);
            for (between, way) in place.ways() {
                let [forward, ax, ay] = effect.map(|e| way * e);
                // The end the belt goes to has to move with the travel: its displacement is ± the axis' change.
                let turn = side.sign() * (ax * travel[0] + ay * travel[1]);
                let shift = side.sign() * forward;
                let helps = turn > NO_EFFECT
                    || (symptom == Symptom::Climbs && turn.abs() <= NO_EFFECT && shift > NO_EFFECT);
                if helps {
                    list.push(Remedy {
                        mount: mount.name.clone(),
                        bolt: bolt.name.clone(),
                        between: between.clone(),
                        tilt_deg_per_mm: turn.to_degrees(),
                        forward_per_mm: forward,
                    });
                }
            }
        }
    }
    list.sort_by(|a, b| b.tilt_deg_per_mm.total_cmp(&a.tilt_deg_per_mm));
    list
}

/// A direction in the plane of the belt, in words.
fn words_of(d: [f64; 2]) -> String {
    let mut words = Vec::new();
    // Below a fifth the other word says it well enough.
    if d[1].abs() > 0.2 {
        words.push(if d[1] > 0.0 { "up" } else { "down" });
    }
    if d[0].abs() > 0.2 {
        words.push(if d[0] > 0.0 { "right" } else { "left" });
    }
    words.join(" and ")
}
