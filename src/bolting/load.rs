//! What each group of bolts carries: belt pull, torque reaction and weight under shock.

use std::collections::{BTreeMap, BTreeSet};

use crate::drive::Rotation;
use crate::geom::{Frame, Point, Point3, Vector3};
use crate::joint::{Case, Demands, Face, Group, GroupBolt, GroupReport, Wrench, judge_group};
use crate::layout::{Joint, Part};
use crate::params::job::{HoleRef, Make};
use crate::tables::Interfaces;
use crate::tol;

use super::{Bolted, Sources};

/// What the belt does to one accessory at one operating point.
#[derive(Debug, Clone)]
struct Pull {
    hub: Wrench,
    reaction_nm: Vector3,
}

/// Belt loads by operating point and accessory, and the mass of every part held.
pub(super) struct Loads<'a> {
    /// For each operating point that matters: its name and the pulls by accessory.
    points: Vec<(String, BTreeMap<String, Pull>)>,
    s: &'a Sources<'a>,
    slip_factor: f64,
    slip_source: String,
}

impl<'a> Loads<'a> {
    /// Reads the loads of a job's drive.
    ///
    /// Of all operating points only those are kept at which some pulley has its
    /// greatest hub load or torque: every other lies between them.
    pub(super) fn of(s: &'a Sources<'a>) -> Self {
        let row = Interfaces::standard().get(&s.loaded.job.fasteners.faces);
        let (slip_factor, slip_source) =
            row.map_or((0.1, String::new()), |r| (r.slip_factor, r.source.clone()));
        Self {
            points: points(s),
            s,
            slip_factor,
            slip_source,
        }
    }

    fn demands(
        &self,
        owners: &BTreeSet<String>,
        plates: &BTreeSet<String>,
    ) -> Vec<(String, Demands)> {
        let f = &self.s.loaded.job.fasteners;
        let mut mass_kg = 0.0;
        let mut moment = Vector3::default();
        let mut add = |kg: f64, at: Point3| {
            mass_kg += kg;
            moment = moment + (at - Point3::ORIGIN) * kg;
        };
        for placed in &self.s.layout.placed {
            if let (true, Some(a)) = (
                owners.contains(&placed.id),
                self.s.loaded.accessories.get(&placed.accessory),
            ) {
                let c = a.centre;
                add(a.mass_kg, placed.frame.to_engine(Point::new(c.x, c.y), c.z));
            }
        }
        for made in self
            .s
            .plates
            .iter()
            .filter(|m| plates.contains(&m.plate.id))
        {
            let p = made.plate.properties();
            let at = made
                .plate
                .frame
                .to_engine(p.section.centroid, 0.5 * made.plate.thickness_mm);
            add(p.mass_kg, at);
        }
        let centre = if mass_kg > 0.0 {
            Point3::ORIGIN + moment * (1.0 / mass_kg)
        } else {
            Point3::ORIGIN
        };
        let of = |pulls: &BTreeMap<String, Pull>| {
            let mine = || pulls.iter().filter(|(o, _)| owners.contains(*o));
            Demands {
                hubs: mine().map(|(_, p)| p.hub).collect(),
                torque_reaction_nm: mine()
                    .fold(Vector3::default(), |sum, (_, p)| sum + p.reaction_nm),
                mass_kg,
                centre,
                down: -Vector3::Y,
                shock_g: f.shock_g,
                shock_source: "common practice, no source: rough-ground machine".to_owned(),
            }
        };
        // At rest the belt is off: weight alone.
        let still = std::iter::once(("belt off".to_owned(), of(&BTreeMap::new())));
        still
            .chain(
                self.points
                    .iter()
                    .map(|(name, pulls)| (name.clone(), of(pulls))),
            )
            .collect()
    }
}

fn points(s: &Sources<'_>) -> Vec<(String, BTreeMap<String, Pull>)> {
    let Some((drive, analysis)) = s.drive else {
        return Vec::new();
    };
    let mut kept: BTreeSet<usize> = BTreeSet::new();
    for p in 0..drive.pulleys.len() {
        for size in [
            (|f: &crate::drive::tension::PulleyForces| f.hub_load_size_n)
                as fn(&crate::drive::tension::PulleyForces) -> f64,
            |f| f.torque_nm.abs(),
        ] {
            let value = |k: usize| {
                analysis.points.get(k).map_or(0.0, |o| {
                    o.pulleys.iter().find(|f| f.pulley == p).map_or(0.0, size)
                })
            };
            let best = (0..analysis.points.len())
                .max_by(|a, b| value(*a).total_cmp(&value(*b)).then(b.cmp(a)));
            kept.extend(best);
        }
    }
    kept.into_iter()
        .filter_map(|k| analysis.points.get(k))
        .map(|o| {
            let mut pulls = BTreeMap::new();
            for f in &o.pulleys {
                let (Some(pulley), Some(contact)) = (
                    drive.pulleys.get(f.pulley),
                    analysis.path.contacts.iter().find(|c| c.pulley == f.pulley),
                ) else {
                    continue;
                };
                if pulley.owner == "block" {
                    continue;
                }
                let c = contact.centre_mm;
                // The belt turns the shaft, the shaft drags its body the same way round.
                let turns = match contact.turns {
                    Rotation::CounterClockwise => 1.0,
                    Rotation::Clockwise => -1.0,
                };
                pulls.insert(
                    pulley.owner.clone(),
                    Pull {
                        hub: Wrench {
                            force_n: Vector3::new(f.hub_load_n.x, f.hub_load_n.y, 0.0),
                            at: Point3::new(c.x, c.y, pulley.rib_plane_z_mm),
                            moment_nm: Vector3::default(),
                        },
                        reaction_nm: Vector3::Z * (turns * f.torque_nm.abs()),
                    },
                );
            }
            (format!("{}, {:.0} rpm", o.state, o.crank_rpm), pulls)
        })
        .collect()
}

/// Bolts that share a load.
pub(super) struct BoltGroup<'a> {
    pub(super) holds: String,
    pub(super) joints: Vec<&'a Joint>,
    owners: BTreeSet<String>,
    plates: BTreeSet<String>,
    /// Mean height of the loaded faces along the joints' axis, mm.
    height_mm: f64,
    /// Narrowest seat of any of its bolts, mm.
    seat_mm: Option<f64>,
    /// Pins that keep the group from turning.
    pins: Vec<Point3>,
}

/// The groups of a job: each accessory's bolts, then the block's bolts of plates that share an accessory.
///
/// Parts are taken as rigid (see [`crate::joint::group`]). Where bolts of one
/// accessory point in different directions, the bolts of each direction are
/// held to the whole load.
pub(super) fn groups<'a>(s: &Sources<'a>) -> Vec<BoltGroup<'a>> {
    let mut out = Vec::new();
    for placed in &s.layout.placed {
        let mine: Vec<&Joint> = s
            .layout
            .joints
            .iter()
            .filter(|j| j.holes.iter().any(|h| h.owner == placed.id))
            .collect();
        for joints in by_axis(mine) {
            out.push(BoltGroup {
                holds: placed.id.clone(),
                owners: BTreeSet::from([placed.id.clone()]),
                plates: BTreeSet::new(),
                height_mm: mean(joints.iter().flat_map(|j| ear_faces(j))),
                seat_mm: narrowest(joints.iter().flat_map(|j| {
                    j.layers
                        .iter()
                        .filter(|l| matches!(l.part, Part::Ear(_)))
                        .filter_map(|l| l.bears_mm)
                })),
                pins: pins(s, &placed.id),
                joints,
            });
        }
    }
    for (plates, owners) in plate_sets(s) {
        let mine: Vec<&Joint> = s
            .layout
            .joints
            .iter()
            .filter(|j| {
                j.holes.iter().any(|h| h.owner == "block")
                    && j.layers
                        .iter()
                        .any(|l| matches!(&l.part, Part::Plate(p) if plates.contains(p)))
            })
            .collect();
        let names: Vec<&str> = plates.iter().map(String::as_str).collect();
        for joints in by_axis(mine) {
            out.push(BoltGroup {
                holds: format!("plate {} on the block", names.join(" and ")),
                height_mm: mean(
                    joints
                        .iter()
                        .filter_map(|j| j.layers.first().map(|l| l.low_mm)),
                ),
                seat_mm: narrowest(joints.iter().filter_map(|j| {
                    let first = j.layers.first()?;
                    first.bears_mm.or_else(|| boss_mm(s, j, &first.part))
                })),
                plates: plates.clone(),
                owners: owners.clone(),
                pins: Vec::new(),
                joints,
            });
        }
    }
    out
}

fn boss_mm(s: &Sources<'_>, joint: &Joint, part: &Part) -> Option<f64> {
    let Part::Plate(id) = part else {
        return None;
    };
    let made = s.plates.iter().find(|m| m.plate.id == *id)?;
    made.holes
        .iter()
        .find(|h| joint.holes.contains(&h.target))
        .map(|h| h.boss_mm)
}

fn by_axis(joints: Vec<&Joint>) -> Vec<Vec<&Joint>> {
    let mut out: Vec<Vec<&Joint>> = Vec::new();
    for j in joints {
        let same = |g: &&mut Vec<&Joint>| {
            g.first().is_some_and(|f| {
                f.axis.cross(j.axis).length() <= tol::PARALLEL && f.axis.dot(j.axis) > 0.0
            })
        };
        match out.iter_mut().find(same) {
            Some(g) => g.push(j),
            None => out.push(vec![j]),
        }
    }
    out
}

/// Heights of the faces between an ear and what is not an ear.
fn ear_faces(joint: &Joint) -> Vec<f64> {
    let ear = |p: &Part| matches!(p, Part::Ear(_));
    joint
        .layers
        .windows(2)
        .filter(|w| ear(&w[0].part) != ear(&w[1].part))
        .map(|w| w[0].high_mm)
        .collect()
}

fn mean(values: impl Iterator<Item = f64>) -> f64 {
    let (sum, n) = values.fold((0.0, 0.0), |(s, n), v| (s + v, n + 1.0));
    if n > 0.0 { sum / n } else { 0.0 }
}

fn narrowest(values: impl Iterator<Item = f64>) -> Option<f64> {
    values.min_by(f64::total_cmp)
}

/// Reamed holes of an accessory: their pins carry its twist.
fn pins(s: &Sources<'_>, owner: &str) -> Vec<Point3> {
    s.loaded
        .job
        .plates
        .iter()
        .flat_map(|p| &p.takes)
        .filter(|t| t.make == Some(Make::Reamed) && t.target.owner == owner)
        .filter_map(|t| s.layout.hole(&t.target))
        .map(|h| h.at)
        .collect()
}

/// Sets of plates that an accessory ties together, with the accessories on them.
fn plate_sets(s: &Sources<'_>) -> Vec<(BTreeSet<String>, BTreeSet<String>)> {
    let owners_of = |takes: &mut dyn Iterator<Item = &HoleRef>| -> BTreeSet<String> {
        takes
            .filter(|t| t.owner != "block" && s.layout.hole(t).is_some())
            .map(|t| t.owner.clone())
            .collect()
    };
    let mut sets: Vec<(BTreeSet<String>, BTreeSet<String>)> = Vec::new();
    for plate in &s.loaded.job.plates {
        let mut plates = BTreeSet::from([plate.id.clone()]);
        let mut owners = owners_of(&mut plate.takes.iter().map(|t| &t.target));
        let (joined, rest): (Vec<_>, Vec<_>) =
            sets.into_iter().partition(|(_, o)| !o.is_disjoint(&owners));
        for (p, o) in joined {
            plates.extend(p);
            owners.extend(o);
        }
        sets = rest;
        sets.push((plates, owners));
    }
    sets
}

impl BoltGroup<'_> {
    /// Shares every load case over the bolts and judges each.
    pub(super) fn judge(&self, loads: &Loads<'_>, members: &[(&Joint, &Bolted)]) -> GroupReport {
        let (origin, axis) = self
            .joints
            .first()
            .map_or((Point3::ORIGIN, Vector3::Z), |j| (j.at, j.axis));
        let aside = if axis.x.abs() < 0.9 {
            Vector3::X
        } else {
            Vector3::Y
        };
        let frame = Frame::new(origin, axis, aside).unwrap_or(Frame::FRONT);
        let base = (frame.origin - Point3::ORIGIN).dot(frame.normal);
        let group = Group {
            bolts: members
                .iter()
                .map(|(j, b)| GroupBolt {
                    id: j.id.clone(),
                    at: frame.to_plane(j.at).0,
                    weight: b.fastening.stack.screw.thread.stress_area_mm2,
                })
                .collect(),
            height_mm: self.height_mm - base,
        };
        let mut cases: Vec<Case> = Vec::new();
        for (name, demands) in loads.demands(&self.owners, &self.plates) {
            for case in demands.cases() {
                cases.push(Case {
                    name: format!("{name}, {}", case.name),
                    wrench: self.pinned(&case.wrench, &group, &frame),
                });
            }
        }
        let face = Face {
            slip_factor: loads.slip_factor,
            slip_source: loads.slip_source.clone(),
            seat_mm: self.seat_mm,
        };
        let fastenings: Vec<_> = members
            .iter()
            .map(|(_, b)| (&b.fastening, &b.report))
            .collect();
        judge_group(&group, &frame, &cases, &face, &fastenings)
    }

    /// The wrench with the twist about the bolts taken by the pin: its push stays on the bolts.
    fn pinned(&self, wrench: &Wrench, group: &Group, frame: &Frame) -> Wrench {
        let Some(pin) = self.pins.first() else {
            return *wrench;
        };
        let centre = frame.to_engine(group.centre(), group.height_mm);
        let twist_nm = wrench.moment_about_nm(centre).dot(frame.normal);
        let arm = *pin - centre;
        let across = arm - frame.normal * arm.dot(frame.normal);
        let length2 = across.dot(across);
        if length2 <= tol::INPUT_GRID_MM {
            return *wrench;
        }
        // A force at the pin that makes the opposite twist.
        let push = frame.normal.cross(across) * (-1e3 * twist_nm / length2);
        wrench.plus(&Wrench {
            force_n: push,
            at: *pin,
            moment_nm: Vector3::default(),
        })
    }
}
