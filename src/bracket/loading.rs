//! What loads and excites the set: belt pull, weight, shock, firing.

use crate::drive::span::orders;
use crate::drive::tension::OperatingPoint;
use crate::drive::{Analysis, Drive, Engine, Rotation, TakeUp};
use crate::geom::{Point, Point3, Vector, Vector3};
use crate::strength::Model;
use crate::strength::model::{
    Anchor, Excitation, FatigueCycle, Force, LoadCase, Order, Pulley, Span,
};

use super::Sources;

/// Case of the belt's pull at idle with weight.
pub const IDLE: &str = "belt at idle";

/// Case of the belt's pull at top speed with weight.
pub const TOP: &str = "belt at top speed";

/// Case of a set without a belt.
const STANDING: &str = "weight";

/// Weight with the engine upright.
const UPRIGHT: Vector3 = Vector3::new(0.0, -1.0, 0.0);

/// Directions in which shock and vibration come, with the words for to and fro.
const DIRECTIONS: [(&str, &str, &str, Vector3); 3] = [
    (
        "sideways",
        "shock to the right",
        "shock to the left",
        Vector3::new(1.0, 0.0, 0.0),
    ),
    (
        "up and down",
        "shock upward",
        "shock downward",
        Vector3::new(0.0, 1.0, 0.0),
    ),
    (
        "to and fro",
        "shock forward",
        "shock rearward",
        Vector3::new(0.0, 0.0, 1.0),
    ),
];

/// Fills the model's cases, cycles, pulleys and excitation.
pub(super) fn load(s: &Sources<'_>, model: &mut Model) {
    let shaking = s.loaded.job.strength;
    let engine = engine(s);
    let base = belt_cases(s, &engine, model);
    let pull = model
        .cases
        .iter()
        .find(|c| c.id == base)
        .map_or_else(Vec::new, |c| c.forces.clone());
    for (_, forth, back, along) in DIRECTIONS {
        for (id, sign) in [(forth, 1.0), (back, -1.0)] {
            model.cases.push(LoadCase {
                id: id.to_owned(),
                forces: pull.clone(),
                weight_factor: UPRIGHT + along * (sign * shaking.shock_g),
            });
        }
    }
    // Half the difference of a shock to and fro, over its g, is one g alone.
    let share = 0.5 * shaking.vibration_g / shaking.shock_g;
    for (word, forth, back, _) in DIRECTIONS {
        model.cycles.push(FatigueCycle {
            id: format!("vibration {word}"),
            mean: vec![(base.to_owned(), 1.0)],
            amplitude: vec![(forth.to_owned(), share), (back.to_owned(), -share)],
        });
    }
    model.cycles.push(FatigueCycle {
        id: "start and stop".to_owned(),
        mean: vec![(base.to_owned(), 0.5)],
        amplitude: vec![(base.to_owned(), 0.5)],
    });
    model.excitation = Excitation {
        idle_rpm: engine.idle_rpm,
        top_rpm: engine.top_rpm,
        orders: orders(&engine)
            .into_iter()
            .map(|o| Order {
                id: o.name.to_owned(),
                per_turn: o.order,
            })
            .collect(),
    };
}

fn engine(s: &Sources<'_>) -> Engine {
    let e = s.loaded.block.engine;
    Engine {
        cylinders: e.cylinders,
        strokes: e.strokes,
        idle_rpm: e.idle_rpm,
        top_rpm: e.top_rpm,
        more_rpm: Vec::new(),
    }
}

/// Adds the steady cases and the pulleys; answers the case that shocks come on top of.
fn belt_cases(s: &Sources<'_>, engine: &Engine, model: &mut Model) -> &'static str {
    let Some((drive, analysis)) = s.drive else {
        model.cases.push(LoadCase {
            id: STANDING.to_owned(),
            forces: Vec::new(),
            weight_factor: UPRIGHT,
        });
        return STANDING;
    };
    let carried = |k: usize| model.bodies.iter().any(|b| b.id == drive.pulleys[k].owner);
    for (id, rpm) in [(IDLE, engine.idle_rpm), (TOP, engine.top_rpm)] {
        // The belt state that pulls hardest on what the set carries.
        let pull = |p: &OperatingPoint| -> f64 {
            p.pulleys
                .iter()
                .filter(|f| carried(f.pulley))
                .map(|f| f.hub_load_size_n)
                .sum()
        };
        let worst = analysis
            .points
            .iter()
            .filter(|p| (p.crank_rpm - rpm).abs() < SAME_RPM)
            .max_by(|a, b| pull(a).total_cmp(&pull(b)));
        model.cases.push(LoadCase {
            id: id.to_owned(),
            forces: worst.map_or_else(Vec::new, |p| {
                p.pulleys
                    .iter()
                    .filter(|f| carried(f.pulley))
                    .map(|f| {
                        let pulley = &drive.pulleys[f.pulley];
                        let centre = centre(drive, analysis, f.pulley, &p.state);
                        let turns = analysis
                            .path
                            .contacts
                            .iter()
                            .find(|c| c.pulley == f.pulley)
                            .map_or(0.0, |c| match c.turns {
                                Rotation::CounterClockwise => 1.0,
                                Rotation::Clockwise => -1.0,
                            });
                        let pull: Vector = f.hub_load_n;
                        Force {
                            on: Anchor::Body(pulley.owner.clone()),
                            at: Point3::new(centre.x, centre.y, pulley.rib_plane_z_mm),
                            force_n: Vector3::new(pull.x, pull.y, 0.0),
                            // What the belt turns, the housing holds back.
                            moment_nm: Vector3::new(0.0, 0.0, turns * f.torque_nm),
                        }
                    })
                    .collect()
            }),
            weight_factor: UPRIGHT,
        });
    }
    model.pulleys = pulleys(drive, analysis, &carried);
    TOP
}

/// Two speeds are the same within this, rpm: they come from one number.
const SAME_RPM: f64 = 1e-6;

/// Where a pulley stands in a belt state.
fn centre(drive: &Drive, analysis: &Analysis, pulley: usize, state: &str) -> Point {
    let arm = match &drive.take_up {
        TakeUp::Spring(t) if t.pulley == pulley => analysis
            .tensioner
            .as_ref()
            .and_then(|w| w.reaches.iter().find(|r| r.state.words() == state))
            .and_then(|r| r.arm.as_ref())
            .map(|a| a.centre_mm),
        _ => None,
    };
    arm.or_else(|| {
        let on_path = |c: &&crate::drive::path::Contact| c.pulley == pulley;
        analysis
            .path
            .contacts
            .iter()
            .find(on_path)
            .map(|c| c.centre_mm)
    })
    .unwrap_or(drive.pulleys[pulley].centre)
}

fn pulleys(drive: &Drive, analysis: &Analysis, carried: &dyn Fn(usize) -> bool) -> Vec<Pulley> {
    let path = &analysis.path;
    path.contacts
        .iter()
        .enumerate()
        .filter(|(_, c)| carried(c.pulley))
        .map(|(k, c)| {
            let p = &drive.pulleys[c.pulley];
            let spans = path
                .spans
                .iter()
                .filter(|s| s.from == k || s.to == k)
                .map(|s| {
                    let sign = if s.from == k { 1.0 } else { -1.0 };
                    Span {
                        id: format!("span {}", s.number),
                        direction: Vector3::new(sign * s.direction.x, sign * s.direction.y, 0.0),
                        length_mm: s.length_mm,
                    }
                })
                .collect();
            Pulley {
                id: c.id.clone(),
                on: Anchor::Body(p.owner.clone()),
                centre: Point3::new(c.centre_mm.x, c.centre_mm.y, p.rib_plane_z_mm),
                axis: Vector3::Z,
                spans,
            }
        })
        .collect()
}
