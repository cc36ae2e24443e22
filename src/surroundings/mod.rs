//! Surroundings: every body of a project as the clearance computations want it, and the gaps between them.

mod bodies;

use serde::Serialize;

use crate::bolting::Bolting;
use crate::clearance::{Body, Gap, Motion, Scene, Trim};
use crate::drive::{Analysis, Drive, TakeUp, takeup};
use crate::geom::{Point3, Vector3};
use crate::layout::Layout;
use crate::params::Loaded;
use crate::platework::MadePlate;
use crate::tables::gap::{Kind, Limits};

/// Pairs farther apart than this beyond their limit are not reported, mm (nothing on the engine moves that far).
pub const NEAR_MM: f64 = 4.0;

/// Room a belt needs in front of its own width to be lifted off, mm (common practice, no source).
const LIFT_OFF_MM: f64 = 5.0;

/// What the surroundings are made from.
#[derive(Debug, Clone, Copy)]
pub struct Sources<'a> {
    /// The files.
    pub loaded: &'a Loaded,
    /// Where everything is.
    pub layout: &'a Layout,
    /// Plates as made.
    pub plates: &'a [MadePlate],
    /// Fasteners worked out: their heads and ends stand in the way too.
    pub bolting: &'a Bolting,
    /// The belt drive, if there is one.
    pub drive: Option<&'a (Drive, Analysis)>,
}

/// One rule of this family.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rule {
    /// Id.
    pub id: &'static str,
    /// What it is called.
    pub title: &'static str,
}

/// Gap between parts that must keep apart.
pub const APART: Rule = Rule {
    id: "C101",
    title: "gap between parts",
};
/// Parts bolted to each other may touch, not overlap.
pub const BOLTED: Rule = Rule {
    id: "C102",
    title: "bolted parts do not overlap",
};
/// Straight room for the socket over each head.
pub const TOOL: Rule = Rule {
    id: "C103",
    title: "room for the socket",
};
/// Gap over the sweep of the tensioner's arm or along a slot.
pub const SWEEP: Rule = Rule {
    id: "C104",
    title: "gap over the sweep",
};
/// Way of the belt off its pulleys towards the front.
pub const LIFT: Rule = Rule {
    id: "C105",
    title: "way off for the belt",
};

/// The rules of this family.
pub const RULES: &[Rule] = &[APART, BOLTED, TOOL, SWEEP, LIFT];

/// A gap held against its limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Near {
    /// Rule id.
    pub rule: &'static str,
    /// What it is called.
    pub title: &'static str,
    /// The gap with its points and limit.
    pub gap: Gap,
    /// Where material may be taken off to mend it.
    pub trims: Vec<Trim>,
}

impl Near {
    /// The trims in words; empty where none would be enough.
    #[must_use]
    pub fn advice(&self) -> Option<String> {
        let t = self.trims.iter().find(|t| t.is_enough)?;
        let [x, y, z] = t.at_mm;
        Some(format!(
            "trim {:.1} mm off the {} of {} (its file allows {:.1} mm) at x {x:.1}, y {y:.1}, z {z:.1}, for {}",
            // Up to the next tenth: what a file or grinder can be held to.
            (10.0 * t.depth_mm - 1e-6).ceil() / 10.0,
            t.solid,
            t.body,
            t.allowed_mm,
            t.room_for,
        ))
    }
}

/// Every body of the set: block, plates, accessories, belt, hoses, spacers, heads and the tools on them.
///
/// Bodies of an accessory tell it in `part_of`, those of a joint as `joint ID`, those of the block as
/// `block`; a plate's body is called `plate ID`.
#[must_use]
pub fn bodies(s: &Sources<'_>) -> Vec<Body> {
    bodies::Set::of(s).bodies
}

/// Measures every near pair; the one with least room first.
#[must_use]
pub fn measure(s: &Sources<'_>) -> Vec<Near> {
    let limits = Limits::standard();
    let set = bodies::Set::of(s);
    let scene = Scene::of(&set.bodies, &set.contacts);
    let mut out: Vec<Near> = scene
        .gaps(&limits, NEAR_MM)
        .into_iter()
        .map(|gap| {
            let tool = gap.kinds.0 == Kind::Tool || gap.kinds.1 == Kind::Tool;
            near(&scene, &limits, if tool { TOOL } else { APART }, gap)
        })
        .collect();
    for (a, b) in &set.bolted {
        let index = |id: &str| set.bodies.iter().position(|x| x.id == id);
        let (Some(i), Some(j)) = (index(a), index(b)) else {
            continue;
        };
        if let Some(mut gap) = scene.gap_between(i, j, &limits)
            && gap.gap_mm <= NEAR_MM
        {
            gap.limit_mm = 0.0;
            "parts bolted to each other may touch".clone_into(&mut gap.source);
            out.push(near(&scene, &limits, BOLTED, gap));
        }
    }
    for (body, motion) in sweeps(s, &set) {
        for gap in scene.gaps_on_the_way(&body, &motion, &limits, NEAR_MM) {
            // Pulleys are judged to each other with the drive; a tool is used with the engine still.
            if (gap.kinds.0 != Kind::Moving || gap.kinds.1 != Kind::Moving)
                && gap.kinds.0 != Kind::Tool
                && gap.kinds.1 != Kind::Tool
            {
                out.push(near(&scene, &limits, SWEEP, gap));
            }
        }
    }
    if let Some(belt) = set.bodies.iter().find(|b| b.kind == Kind::Belt)
        && let Some((drive, _)) = s.drive
    {
        let by = Vector3::Z * (drive.belt.section.width_mm(drive.belt.ribs) + LIFT_OFF_MM);
        for mut gap in scene.gaps_on_the_way(belt, &Motion::Slide { by }, &limits, NEAR_MM) {
            gap.limit_mm = 0.0;
            "the belt must pass".clone_into(&mut gap.source);
            // Beside its own place the belt flaps and C101 judges; here only what lies in its way counts.
            if gap.gap_mm <= NEAR_MM && gap.kinds.0 != Kind::Tool && gap.kinds.1 != Kind::Tool {
                out.push(near(&scene, &limits, LIFT, gap));
            }
        }
    }
    out.sort_by(|a, b| {
        a.gap
            .margin_mm()
            .total_cmp(&b.gap.margin_mm())
            .then(a.rule.cmp(b.rule))
            .then_with(|| (&a.gap.first, &a.gap.second).cmp(&(&b.gap.first, &b.gap.second)))
    });
    out
}

fn near(scene: &Scene, limits: &Limits, rule: Rule, gap: Gap) -> Near {
    let trims = if gap.holds() {
        Vec::new()
    } else {
        scene.trims(&gap, limits)
    };
    Near {
        rule: rule.id,
        title: rule.title,
        gap,
        trims,
    }
}

/// What moves while the belt is fitted or wears: the tensioner's arm, or an accessory along its slot.
fn sweeps(s: &Sources<'_>, set: &bodies::Set) -> Vec<(Body, Motion)> {
    let Some((drive, analysis)) = s.drive else {
        return Vec::new();
    };
    let mut out = Vec::new();
    match &drive.take_up {
        TakeUp::Spring(t) => {
            let (Some(window), Some(contact)) =
                (&analysis.tensioner, analysis.path.contact(t.pulley))
            else {
                return out;
            };
            let arms = || {
                window
                    .reaches
                    .iter()
                    .filter_map(|r| r.arm.as_ref())
                    .map(|a| a.arm_deg)
            };
            let low = arms().fold(f64::INFINITY, f64::min);
            let high = arms().fold(f64::NEG_INFINITY, f64::max);
            if low >= high {
                return out;
            }
            let drawn = (contact.centre_mm - t.pivot).angle();
            let owner = drive.pulleys.get(t.pulley).map_or("", |p| p.owner.as_str());
            let turn = Motion::Turn {
                pivot: Point3::new(t.pivot.x, t.pivot.y, 0.0),
                axis: Vector3::Z,
                from_rad: nearest_turn(low.to_radians() - drawn),
                to_rad: nearest_turn(high.to_radians() - drawn),
            };
            let id = bodies::pulley_id(owner);
            out.extend(
                set.bodies
                    .iter()
                    .filter(|b| b.id == id)
                    .map(|b| (b.clone(), turn)),
            );
        }
        TakeUp::Manual(m) => {
            let owner = drive.pulleys.get(m.pulley).map_or("", |p| p.owner.as_str());
            let Some(motion) = analysis.take_up.as_ref().and_then(|r| way(r, m)) else {
                return out;
            };
            out.extend(
                set.bodies
                    .iter()
                    .filter(|b| b.part_of == owner && b.kind != Kind::Tool)
                    .filter(|b| b.id != bodies::ears_id(owner))
                    .map(|b| (b.clone(), motion)),
            );
        }
        TakeUp::Fixed { .. } => {}
    }
    out
}

/// The way of an accessory along its slot, from where it is drawn.
fn way(range: &takeup::TakeUpRange, m: &crate::drive::ManualTakeUp) -> Option<Motion> {
    Some(match (range.slot.as_ref()?, &m.motion) {
        (
            takeup::Slot::Arc {
                pivot_mm,
                start_deg,
                end_deg,
                ..
            },
            crate::drive::Motion::Swing { pivot, bolt },
        ) => {
            let drawn = (*bolt - *pivot).angle();
            Motion::Turn {
                pivot: Point3::new(pivot_mm.x, pivot_mm.y, 0.0),
                axis: Vector3::Z,
                from_rad: nearest_turn(start_deg.to_radians() - drawn),
                to_rad: nearest_turn(end_deg.to_radians() - drawn),
            }
        }
        (takeup::Slot::Straight { from_mm, to_mm }, crate::drive::Motion::Slide { bolt, .. }) => {
            // The longer of the two ways from the drawn place; the other is the same line.
            let (a, b) = (*from_mm - *bolt, *to_mm - *bolt);
            let far = if a.length() > b.length() { a } else { b };
            Motion::Slide {
                by: Vector3::new(far.x, far.y, 0.0),
            }
        }
        _ => return None,
    })
}

/// An angle brought into −π..π.
fn nearest_turn(rad: f64) -> f64 {
    let turn = std::f64::consts::TAU;
    rad - turn * (rad / turn).round()
}
