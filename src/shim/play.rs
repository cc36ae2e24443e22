//! Whether the play in the holes alone lets the belt run true, and which way to push.

use serde::Serialize;

use super::motion::Motion;
use super::mount::{Mount, Stand};
use super::state::State;
use crate::geom::{Point3, Vector3};

/// Steps each way of the grid that is refined.
const GRID: i32 = 12;

/// Times the grid is drawn closer; each time to a third.
const CLOSER: usize = 14;

/// Rounds over the mounts when several have play.
const ROUNDS: usize = 4;

/// How to push a mount before its bolts are tightened.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Push {
    /// The mount.
    pub mount: String,
    /// Along the engine's axis, mm: forward, away from the engine, is +.
    pub forward_mm: f64,
    /// And turned about the normal of its seat, deg counter-clockwise seen from outside.
    pub turn_deg: f64,
}

/// Pushes that bring everything within its limits.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PushPlan {
    /// Which way each mount goes.
    pub pushes: Vec<Push>,
    /// Largest share of a limit that is used afterwards, 0 to 1.
    pub share: f64,
    /// How each pulley is expected to stand.
    pub stands: Vec<Stand>,
}

/// A mount that can be pushed along the engine's axis.
#[derive(Debug)]
struct Loose {
    mount: usize,
    /// Direction in the seat that goes forward most.
    along: Vector3,
    /// Its share along Z: how much of a push goes forward.
    forward: f64,
    centre: Point3,
    normal: Vector3,
    /// Bolts about the centre and their play.
    bolts: Vec<(Vector3, f64)>,
}

impl Loose {
    /// The loose mount, when its seat lets it move forward at all.
    fn of(mount: usize, m: &Mount) -> Option<Self> {
        let seat = &m.seat;
        let flat = Vector3::Z - seat.normal * seat.normal.dot(Vector3::Z);
        // A seat within half a degree of facing forward has no push worth the name along Z.
        if flat.length() < 0.01 || m.bolts.iter().all(|b| b.play_mm <= 0.0) {
            return None;
        }
        let along = flat.unit()?;
        let n = m.bolts.len() as f64;
        let places: Vec<Point3> = m.bolts.iter().map(|b| seat.to_engine(b.at, 0.0)).collect();
        let sum = places
            .iter()
            .fold(Vector3::default(), |s, p| s + (*p - Point3::ORIGIN));
        let centre = Point3::ORIGIN + sum * (1.0 / n);
        Some(Self {
            mount,
            along,
            forward: along.z,
            centre,
            normal: seat.normal,
            bolts: places
                .iter()
                .zip(&m.bolts)
                .map(|(p, b)| (*p - centre, b.play_mm))
                .collect(),
        })
    }

    /// The motion of a push and a turn.
    fn motion(&self, push: f64, turn: f64) -> Motion {
        Motion::turn(self.normal, turn, self.centre, self.along * push)
    }

    /// Whether every bolt's hole allows it.
    fn is_allowed(&self, push: f64, turn: f64) -> bool {
        let motion = self.motion(push, turn);
        self.bolts.iter().all(|(arm, play)| {
            let p = self.centre + *arm;
            motion.point(p).distance(p) <= play + 1e-12
        })
    }

    /// The farthest push and turn worth trying.
    fn bounds(&self) -> [f64; 2] {
        let least = self.bolts.iter().map(|b| b.1).fold(f64::INFINITY, f64::min);
        let turn = self
            .bolts
            .iter()
            .filter(|(arm, _)| arm.length() > 1e-9)
            .map(|(arm, play)| play / arm.length())
            .fold(f64::INFINITY, f64::min);
        [least, if turn.is_finite() { turn } else { 0.0 }]
    }
}

/// Looks for pushes that do without washers.
pub(super) fn push(state: &State<'_>) -> Option<PushPlan> {
    let loose: Vec<Loose> = state
        .drive
        .mounts
        .iter()
        .enumerate()
        .filter_map(|(i, m)| Loose::of(i, m))
        .collect();
    if loose.is_empty() {
        return None;
    }
    let mut at = vec![[0.0_f64; 2]; loose.len()];
    let stands = |at: &[[f64; 2]]| {
        let mut own = vec![Motion::NONE; state.drive.mounts.len()];
        for (l, [p, t]) in loose.iter().zip(at) {
            own[l.mount] = l.motion(*p, *t);
        }
        state.after(&own)
    };
    for _ in 0..ROUNDS {
        for i in 0..loose.len() {
            let mut width = loose[i].bounds();
            let mut best = (state.used(&stands(&at)).share, at[i]);
            for _ in 0..CLOSER {
                let middle = best.1;
                for p in -GRID..=GRID {
                    for t in -GRID..=GRID {
                        let trial = [
                            middle[0] + width[0] * f64::from(p) / f64::from(GRID),
                            middle[1] + width[1] * f64::from(t) / f64::from(GRID),
                        ];
                        if !loose[i].is_allowed(trial[0], trial[1]) {
                            continue;
                        }
                        at[i] = trial;
                        let share = state.used(&stands(&at)).share;
                        // The smaller of two pushes that do as well.
                        if share < best.0 - 1e-12 {
                            best = (share, trial);
                        }
                    }
                }
                at[i] = best.1;
                width = width.map(|w| w / 3.0);
            }
        }
    }
    let stands = stands(&at);
    let used = state.used(&stands);
    used.is_good().then(|| PushPlan {
        pushes: loose
            .iter()
            .zip(&at)
            .filter(|(_, [p, t])| p.abs() > 1e-3 || t.abs() > 1e-5)
            .map(|(l, [p, t])| Push {
                mount: state.drive.mounts[l.mount].name.clone(),
                forward_mm: p * l.forward,
                turn_deg: t.to_degrees(),
            })
            .collect(),
        share: used.share,
        stands,
    })
}
