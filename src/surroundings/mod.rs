//! Surroundings: every body of a project as the clearance computations want it, and the gaps between them.

mod bodies;

use std::collections::BTreeMap;
use std::sync::Arc;

use rayon::prelude::*;
use serde::Serialize;

use crate::bolting::Bolting;
use crate::clearance::{Body, Gap, Motion, Moving, ReadyBody, Scene, Trim, gaps_of_all};
use crate::drive::{Analysis, Drive, TakeUp, takeup};
use crate::geom::{Point3, Vector3};
use crate::layout::Layout;
use crate::params::Loaded;
use crate::params::job::HoseSpec;
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
    /// Order by room, least first, then by rule and names.
    #[must_use]
    pub fn order(&self, other: &Self) -> std::cmp::Ordering {
        self.gap
            .margin_mm()
            .total_cmp(&other.gap.margin_mm())
            .then(self.rule.cmp(other.rule))
            .then_with(|| {
                (&self.gap.first, &self.gap.second).cmp(&(&other.gap.first, &other.gap.second))
            })
    }

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

/// What stands on the engine: every body but the hoses, and the gaps between them.
///
/// Variants that differ in hoses alone stand on the same ground, and grounds
/// made together share the bodies they have in common and the gaps between them.
#[derive(Debug)]
pub struct Ground {
    scene: Scene,
    /// Place among the bodies where the hoses stand.
    hoses_at: usize,
    /// What moves, with the rule that judges it.
    moving: Vec<(Rule, Moving)>,
    near: Vec<Arc<Near>>,
}

impl Ground {
    /// The grounds of several variants, in their order.
    #[must_use]
    pub fn of_all(sources: &[Sources<'_>]) -> Vec<Self> {
        let limits = Limits::standard();
        let sets: Vec<bodies::Set> = sources.par_iter().map(bodies::Set::of).collect();
        let scenes: Vec<Scene> = ready_bodies(&sets)
            .into_par_iter()
            .zip(&sets)
            .map(|(ready, set)| Scene::new(ready, &set.contacts))
            .collect();
        let gaps = gaps_of_all(&scenes, &limits, NEAR_MM);
        scenes
            .into_par_iter()
            .zip(gaps)
            .zip(sets.par_iter().zip(sources))
            .map(|((scene, gaps), (set, s))| Self::of(scene, gaps, set, s, &limits))
            .collect()
    }

    fn of(
        scene: Scene,
        gaps: Vec<Gap>,
        set: &bodies::Set,
        s: &Sources<'_>,
        limits: &Limits,
    ) -> Self {
        let mut ground = Self {
            hoses_at: set.hoses_at,
            moving: moving(s, set),
            near: Vec::new(),
            scene,
        };
        let mut out = ground.apart(gaps, &[], limits);
        for (a, b) in &set.bolted {
            let index = |id: &str| set.bodies.iter().position(|x| x.id == id);
            let (Some(i), Some(j)) = (index(a), index(b)) else {
                continue;
            };
            if let Some(mut gap) = ground.scene.gap_between(i, j, limits)
                && gap.gap_mm <= NEAR_MM
            {
                gap.limit_mm = 0.0;
                "parts bolted to each other may touch".clone_into(&mut gap.source);
                out.push(ground.near(BOLTED, gap, &[], limits));
            }
        }
        out.extend(ground.on_the_way(ground.scene.bodies(), &[], limits));
        out.sort_by(Near::order);
        ground.near = out.into_iter().map(Arc::new).collect();
        ground
    }

    /// What is near what of everything that stands, least room first.
    #[must_use]
    pub fn standing(&self) -> &[Arc<Near>] {
        &self.near
    }

    /// What is near hoses, least room first.
    #[must_use]
    pub fn near_hoses(&self, hoses: &[HoseSpec]) -> Vec<Arc<Near>> {
        let limits = Limits::standard();
        let guests: Vec<Arc<ReadyBody>> =
            bodies::hoses(hoses).map(|b| ReadyBody::new(&b)).collect();
        let gaps = self.scene.gaps_to(&guests, self.hoses_at, &limits, NEAR_MM);
        let mut out = self.apart(gaps, &guests, &limits);
        out.extend(self.on_the_way(&guests, &guests, &limits));
        out.sort_by(Near::order);
        out.into_iter().map(Arc::new).collect()
    }

    /// Gaps between still bodies under their rules.
    fn apart(&self, gaps: Vec<Gap>, guests: &[Arc<ReadyBody>], limits: &Limits) -> Vec<Near> {
        gaps.into_iter()
            .map(|gap| {
                let tool = gap.kinds.0 == Kind::Tool || gap.kinds.1 == Kind::Tool;
                self.near(if tool { TOOL } else { APART }, gap, guests, limits)
            })
            .collect()
    }

    /// Gaps of what moves to still bodies.
    fn on_the_way(
        &self,
        others: &[Arc<ReadyBody>],
        guests: &[Arc<ReadyBody>],
        limits: &Limits,
    ) -> Vec<Near> {
        let mut out = Vec::new();
        for (rule, moving) in &self.moving {
            for mut gap in moving.gaps(&self.scene, others, limits, NEAR_MM) {
                // A tool is used with the engine still.
                if gap.kinds.0 == Kind::Tool || gap.kinds.1 == Kind::Tool {
                    continue;
                }
                if *rule == LIFT {
                    gap.limit_mm = 0.0;
                    "the belt must pass".clone_into(&mut gap.source);
                    // Beside its own place the belt flaps and C101 judges; here only what lies in its way counts.
                    if gap.gap_mm > NEAR_MM {
                        continue;
                    }
                } else if gap.kinds.0 == Kind::Moving && gap.kinds.1 == Kind::Moving {
                    // Pulleys are judged to each other with the drive.
                    continue;
                }
                out.push(self.near(*rule, gap, guests, limits));
            }
        }
        out
    }

    fn near(&self, rule: Rule, gap: Gap, guests: &[Arc<ReadyBody>], limits: &Limits) -> Near {
        let trims = if gap.holds() {
            Vec::new()
        } else {
            self.scene.trims_with(guests, &gap, limits)
        };
        Near {
            rule: rule.id,
            title: rule.title,
            gap,
            trims,
        }
    }
}

/// Measures every near pair; the one with least room first.
#[must_use]
pub fn measure(s: &Sources<'_>) -> Vec<Arc<Near>> {
    let mut out = Vec::new();
    for ground in Ground::of_all(&[*s]) {
        out.extend(ground.near_hoses(&s.loaded.job.hoses));
        out.extend(ground.near);
    }
    out.sort_by(|a, b| a.order(b));
    out
}

/// The bodies of several sets made ready: equal ones once.
fn ready_bodies(sets: &[bodies::Set]) -> Vec<Vec<Arc<ReadyBody>>> {
    let mut different: Vec<&Body> = Vec::new();
    let mut by_name: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    let mut numbers: Vec<Vec<usize>> = Vec::with_capacity(sets.len());
    for set in sets {
        let mut mine = Vec::with_capacity(set.bodies.len());
        for body in &set.bodies {
            let named = by_name.entry(&body.id).or_default();
            let known = named.iter().copied().find(|&n| different[n] == body);
            mine.push(known.unwrap_or_else(|| {
                named.push(different.len());
                different.push(body);
                different.len() - 1
            }));
        }
        numbers.push(mine);
    }
    let ready: Vec<Arc<ReadyBody>> = different.par_iter().map(|b| ReadyBody::new(b)).collect();
    numbers
        .iter()
        .map(|n| n.iter().map(|&n| Arc::clone(&ready[n])).collect())
        .collect()
}

/// What moves: the tensioner's arm or an accessory along its slot, and the belt on its way off.
fn moving(s: &Sources<'_>, set: &bodies::Set) -> Vec<(Rule, Moving)> {
    let mut out: Vec<(Rule, Moving)> = sweeps(s, set)
        .iter()
        .map(|(body, motion)| (SWEEP, Moving::new(body, *motion)))
        .collect();
    if let Some(belt) = set.bodies.iter().find(|b| b.kind == Kind::Belt)
        && let Some((drive, _)) = s.drive
    {
        let by = Vector3::Z * (drive.belt.section.width_mm(drive.belt.ribs) + LIFT_OFF_MM);
        out.push((LIFT, Moving::new(belt, Motion::Slide { by })));
    }
    out
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
