//! The belt's run: the job's drive with every pulley where the layout puts it, as the drive computations want it.

use crate::diag::{Code, Diag, Sink, Spot};
use crate::drive::{
    self, ArmTorque, Belt, Contributor, Drive, Engine, Face, Friction, ManualTakeUp, Motion,
    Obstacle, Play, Rotation, Side, TakeUp, Tensioner, limits,
};
use crate::geom::{Path, Point, Point3};
use crate::layout::{self, Joint, Layout, Part, PlacedAccessory, stocked};
use crate::params::accessory::{Accessory, SpringArm};
use crate::params::job::{DriveSpec, HoleRef, RunStop};
use crate::params::pulley::{Duty, Load, Pulley};
use crate::params::{self, Loaded};
use crate::platework::MadePlate;
use crate::tables::GeneralTolerances;
use crate::tables::belt::BeltSection;
use crate::tol;

/// Axial place of a bought-in pulley on its shaft, ± mm (common practice, no source: makers' drawings say 0.2 to 0.3).
const PULLEY_OFFSET_MM: f64 = 0.25;

/// Run-out of a pulley's face, full indicator reading, mm (ISO 9981:2020 5.3.3).
const RUN_OUT_MM: f64 = 0.25;

/// A damper's share of a spring arm's torque where the maker says nothing (common practice, no source).
const ARM_DAMPING: f64 = 0.2;

/// Free belt length wanted while fitting by hand, mm (common practice, no source).
const FITTING_MM: f64 = 10.0;

/// Tension of fixed centres where the job sets none, N a rib (common practice, no source: 45 to 80 steady).
const SET_TENSION_PER_RIB_N: f64 = 60.0;

/// What a run is made from.
#[derive(Debug, Clone, Copy)]
pub struct Sources<'a> {
    /// The files.
    pub loaded: &'a Loaded,
    /// Where everything is.
    pub layout: &'a Layout,
    /// Plates, if they are made already: the belt has to keep clear of them.
    pub plates: &'a [MadePlate],
}

/// The drive of a job; `None` without a `[drive]` or where a finding says why not.
pub fn drive_of(s: &Sources<'_>, sink: &mut Sink) -> Option<Drive> {
    let job = &s.loaded.job;
    let spec = job.drive.as_ref()?;
    let section = BeltSection::named(&spec.section)?;
    let mut pulleys = Vec::with_capacity(spec.run.len());
    for stop in &spec.run {
        pulleys.push(pulley(s, spec, stop, sink)?);
    }
    let driver = driver(&pulleys, spec, sink)?;
    let take_up = take_up(s, spec, &pulleys, sink)?;
    if let TakeUp::Spring(t) = &take_up {
        pulleys[t.pulley].centre = t.pivot.polar(t.arm_mm, t.drawn_deg.to_radians());
    }
    let last_on = spec
        .fit_last
        .as_ref()
        .and_then(|last| spec.run.iter().position(|stop| stop.pulley == *last));
    let engine = &s.loaded.block.engine;
    Some(Drive {
        name: job.title.clone(),
        belt: Belt {
            section: section.clone(),
            ribs: spec.ribs,
            length_mm: spec.length_mm,
            length_tolerance: limits::LENGTH_TOLERANCE,
            life_stretch: limits::LIFE_STRETCH,
        },
        pulleys,
        driver,
        rotation: if engine.clockwise {
            Rotation::Clockwise
        } else {
            Rotation::CounterClockwise
        },
        engine: Engine {
            cylinders: engine.cylinders,
            strokes: engine.strokes,
            idle_rpm: engine.idle_rpm,
            top_rpm: engine.top_rpm,
            more_rpm: Vec::new(),
        },
        take_up,
        friction: Friction {
            rib: limits::usual_friction(Side::Rib),
            back: limits::usual_friction(Side::Back),
        },
        last_on,
        obstacles: obstacles(s),
    })
}

/// The driver: the block's pulley that takes no torque.
fn driver(pulleys: &[drive::Pulley], spec: &DriveSpec, sink: &mut Sink) -> Option<usize> {
    let found = pulleys.iter().position(|p| p.duty == drive::Duty::Crank);
    if found.is_none() {
        sink.push(
            Diag::new(Code::NoDriver, "no pulley of the run drives the belt")
                .labelled(spec.spot, "in this run")
                .help("put the block's crankshaft pulley (one without a load) into the run"),
        );
    }
    found
}

fn find<'a>(s: &Sources<'a>, owner: &str) -> Option<(&'a PlacedAccessory, &'a Accessory)> {
    let placed = s.layout.placed.iter().find(|p| p.id == owner)?;
    Some((placed, s.loaded.accessories.get(&placed.accessory)?))
}

/// What a pulley of the run is called: a fixed one by its own name, another by its accessory's.
#[must_use]
pub fn name(stop: &RunStop) -> String {
    if stop.pulley.owner == "block" {
        stop.pulley.id.clone()
    } else {
        stop.pulley.owner.clone()
    }
}

fn pulley(
    s: &Sources<'_>,
    spec: &DriveSpec,
    stop: &RunStop,
    sink: &mut Sink,
) -> Option<drive::Pulley> {
    let block = &s.loaded.block;
    let name = name(stop);
    if stop.pulley.owner == "block" {
        let fixed = block.pulleys.iter().find(|p| p.id == stop.pulley.id)?;
        // The shaft that turns the belt has no load of its own.
        let duty = match fixed.duty {
            Some(d) => duty_of(d),
            None if fixed.load == Load::None => drive::Duty::Crank,
            None => drive::Duty::Other,
        };
        return Some(drive::Pulley {
            centre: fixed.at,
            rib_plane_z_mm: fixed.pulley.rib_plane_mm,
            owner: "block".to_owned(),
            duty,
            load: load(&fixed.load),
            contributors: vec![offset(&name, &fixed.pulley)],
            ..plain(&name, spec, stop, &fixed.pulley)
        });
    }
    let (placed, accessory) = find(s, &stop.pulley.owner)?;
    let Some(p) = &accessory.pulley else {
        sink.push(
            Diag::new(
                Code::NotApplicable,
                format!(
                    "accessory `{}` has no pulley for the belt to run over",
                    placed.accessory
                ),
            )
            .labelled(stop.spot, "in this run")
            .help("take it out of the run, or give the accessory a [pulley]"),
        );
        return None;
    };
    let origin = placed.frame.origin;
    let duty = match (accessory.duty, &accessory.arm, &accessory.load) {
        (_, Some(_), _) => drive::Duty::Tensioner,
        (Some(d), ..) => duty_of(d),
        (None, None, Load::Electrical { .. }) => drive::Duty::Alternator,
        (None, None, Load::None) => drive::Duty::Idler,
        (None, None, Load::Torque { .. }) => drive::Duty::Other,
    };
    let mut contributors = stack_tolerances(s, &placed.id);
    contributors.push(offset(&name, p));
    Some(drive::Pulley {
        centre: Point::new(origin.x, origin.y),
        rib_plane_z_mm: origin.z + p.rib_plane_mm,
        owner: placed.id.clone(),
        duty,
        load: load(&accessory.load),
        greatest_rpm: accessory.limits.most_rpm,
        full_output_rpm: accessory.limits.full_output_rpm,
        contributors,
        ..plain(&name, spec, stop, p)
    })
}

/// What every pulley of the run has in common.
fn plain(name: &str, spec: &DriveSpec, stop: &RunStop, p: &Pulley) -> drive::Pulley {
    drive::Pulley {
        id: name.to_owned(),
        owner: String::new(),
        duty: drive::Duty::Other,
        centre: Point::ORIGIN,
        rib_plane_z_mm: spec.rib_plane_mm,
        face: match p.ribs {
            Some(grooves) => Face::Ribbed {
                effective_diameter_mm: p.diameter_mm,
                grooves,
            },
            None => Face::Flat {
                diameter_mm: p.diameter_mm,
                width_mm: p.width_mm,
            },
        },
        rim_diameter_mm: p.rim_mm,
        width_mm: p.width_mm,
        contact: if stop.back { Side::Back } else { Side::Rib },
        load: drive::Load::None,
        greatest_rpm: None,
        full_output_rpm: None,
        least_wrap_deg: stop.least_wrap_deg,
        tilt_deg: (0.0, 0.0),
        contributors: Vec::new(),
        // Clearance in the holes moves a pulley in its plane, not along its shaft.
        play: Play::default(),
    }
}

const fn duty_of(d: Duty) -> drive::Duty {
    match d {
        Duty::Alternator => drive::Duty::Alternator,
        Duty::Compressor => drive::Duty::Compressor,
        Duty::HydraulicPump => drive::Duty::HydraulicPump,
        Duty::CoolantPump => drive::Duty::CoolantPump,
        Duty::Idler => drive::Duty::Idler,
        Duty::Other => drive::Duty::Other,
    }
}

fn load(l: &Load) -> drive::Load {
    match l {
        Load::None => drive::Load::None,
        Load::Torque { points } => drive::Load::Torque {
            points: points.clone(),
        },
        Load::Electrical {
            volts,
            amps,
            efficiency,
        } => drive::Load::Electrical {
            volts: *volts,
            amps: amps.clone(),
            efficiency: *efficiency,
        },
    }
}

fn offset(name: &str, p: &Pulley) -> Contributor {
    Contributor {
        id: format!("{name} pulley on its shaft"),
        shift_mm: PULLEY_OFFSET_MM,
        tilt_deg: (RUN_OUT_MM / p.diameter_mm).atan().to_degrees(),
    }
}

/// Tolerances of the plates and spacers that set an accessory's rib plane.
///
/// Only what lies between the block and the accessory along the shaft counts;
/// thickness and length carry the job's general tolerance (ISO 2768-1).
fn stack_tolerances(s: &Sources<'_>, owner: &str) -> Vec<Contributor> {
    let class = &s.loaded.job.title_block.tolerance;
    let mut out: Vec<Contributor> = Vec::new();
    let mut add = |id: String, size_mm: f64, miss_mm: f64| {
        let deviation = GeneralTolerances::standard()
            .deviation_mm(class, size_mm)
            .unwrap_or(0.0)
            + miss_mm;
        if deviation > 0.0 && !out.iter().any(|c| c.id == id) {
            out.push(Contributor {
                id,
                shift_mm: deviation,
                tilt_deg: 0.0,
            });
        }
    };
    let along_shaft = |j: &&Joint| j.axis.z.abs() > 1.0 - tol::PARALLEL;
    let holds = |j: &Joint, who: &str| j.holes.iter().any(|h| h.owner == who);
    let mut plates: Vec<&str> = Vec::new();
    for joint in s.layout.joints.iter().filter(along_shaft) {
        if !holds(joint, owner) {
            continue;
        }
        for layer in &joint.layers {
            match &layer.part {
                Part::Plate(p) => {
                    add(format!("plate {p} thickness"), layer.thickness_mm(), 0.0);
                    plates.push(p);
                }
                Part::Spacer { .. } => {
                    let miss = miss_mm(layer);
                    add(
                        format!("spacer at {}", joint.id),
                        layer.thickness_mm(),
                        miss,
                    );
                }
                Part::Ear(_) => {}
            }
        }
    }
    // The plates' own stand-offs from the block: one spacer stands for the set.
    for p in plates {
        let stand_off = s.layout.joints.iter().filter(along_shaft).find_map(|j| {
            let on_block =
                holds(j, "block") && j.layers.iter().any(|l| l.part == Part::Plate(p.to_owned()));
            let mut spacers = j.layers.iter();
            let first = || spacers.find(|l| matches!(l.part, Part::Spacer { .. }));
            on_block.then(first).flatten()
        });
        if let Some(spacer) = stand_off {
            add(
                format!("spacers under plate {p}"),
                spacer.thickness_mm(),
                miss_mm(spacer),
            );
        }
    }
    out
}

/// How much a stacked spacer misses its gap, mm; 0 for one turned to length.
fn miss_mm(layer: &layout::Layer) -> f64 {
    if layer.pieces.is_empty() {
        0.0
    } else {
        (stocked::length_mm(&layer.pieces) - layer.thickness_mm()).abs()
    }
}

fn take_up(
    s: &Sources<'_>,
    spec: &DriveSpec,
    pulleys: &[drive::Pulley],
    sink: &mut Sink,
) -> Option<TakeUp> {
    let tensioner = spec.run.iter().enumerate().find_map(|(i, stop)| {
        let (placed, accessory) = find(s, &stop.pulley.owner)?;
        Some((i, placed, accessory.arm.as_ref()?))
    });
    if let Some((pulley, placed, arm)) = tensioner {
        let clock = s
            .loaded
            .job
            .placed
            .iter()
            .find(|p| p.id == placed.id)
            .map_or(0.0, |p| p.clock_deg);
        return Some(TakeUp::Spring(spring(pulley, placed, arm, clock)));
    }
    let per_rib = SET_TENSION_PER_RIB_N * f64::from(spec.ribs);
    let set_tension_n = spec.set_tension_n.unwrap_or(per_rib);
    let Some(take_up) = &spec.take_up else {
        return Some(TakeUp::Fixed { set_tension_n });
    };
    let moved = |owner: &str| pulleys.iter().position(|p| p.owner == owner);
    let at = |hole: &HoleRef| s.layout.hole(hole).map(|h| Point::new(h.at.x, h.at.y));
    let (pulley, motion) = match take_up {
        params::TakeUp::Swing { pivot, adjust } => (
            moved(&pivot.owner),
            Motion::Swing {
                pivot: at(pivot)?,
                bolt: at(adjust)?,
            },
        ),
        params::TakeUp::Slide {
            accessory,
            direction_deg,
        } => {
            let (placed, _) = find(s, accessory)?;
            (
                moved(accessory),
                Motion::Slide {
                    bolt: Point::new(placed.frame.origin.x, placed.frame.origin.y),
                    direction_deg: *direction_deg,
                },
            )
        }
    };
    let Some(pulley) = pulley else {
        sink.push(
            Diag::new(
                Code::NoDriver,
                "the accessory that takes up the belt is not in the run",
            )
            .labelled(spec.spot, "in this drive")
            .help("put it into the run, or name another in `take-up`"),
        );
        return None;
    };
    Some(TakeUp::Manual(ManualTakeUp {
        pulley,
        motion,
        set_tension_n,
        kept: limits::KEPT_TENSION,
        fitting_mm: FITTING_MM,
        available: None,
    }))
}

fn spring(pulley: usize, placed: &PlacedAccessory, arm: &SpringArm, clock_deg: f64) -> Tensioner {
    let middle = 0.5 * (arm.free_stop_deg + arm.load_stop_deg);
    Tensioner {
        pulley,
        pivot: Point::new(placed.frame.origin.x, placed.frame.origin.y),
        arm_mm: arm.length_mm,
        // The spring pushes from the stop it is wound at to the one it is free at.
        spring: if arm.free_stop_deg > arm.load_stop_deg {
            Rotation::CounterClockwise
        } else {
            Rotation::Clockwise
        },
        drawn_deg: middle + clock_deg,
        slack_stop_deg: arm.free_stop_deg + clock_deg,
        wound_stop_deg: arm.load_stop_deg + clock_deg,
        torque: ArmTorque::Table {
            points: arm
                .torque
                .iter()
                .map(|&(deg, nm)| (deg + clock_deg, nm))
                .collect(),
        },
        damping: ARM_DAMPING,
    }
}

/// What the belt must keep clear of: keep-outs, other bodies, and the plates.
fn obstacles(s: &Sources<'_>) -> Vec<Obstacle> {
    let mut out: Vec<Obstacle> = s
        .loaded
        .block
        .keepouts
        .iter()
        .map(|k| Obstacle {
            id: k.name.clone(),
            owner: "block".to_owned(),
            outline: k.outline.clone(),
            z_from_mm: k.z_mm.0,
            z_to_mm: k.z_mm.1,
        })
        .collect();
    for placed in &s.layout.placed {
        let Some(accessory) = s.loaded.accessories.get(&placed.accessory) else {
            continue;
        };
        let f = placed.frame;
        for body in &accessory.bodies {
            let place = |p: Point| {
                let e = f.to_engine(p, 0.0);
                Point::new(e.x, e.y)
            };
            out.push(Obstacle {
                id: format!("{} {}", placed.id, body.name),
                owner: placed.id.clone(),
                outline: body.outline.mapped(place, false),
                z_from_mm: f.origin.z + body.z_mm.0,
                z_to_mm: f.origin.z + body.z_mm.1,
            });
        }
    }
    out.extend(s.plates.iter().map(plate_obstacle));
    out
}

/// A plate seen from the front: its outline where it lies across the shaft, else the box round it.
fn plate_obstacle(made: &MadePlate) -> Obstacle {
    let p = &made.plate;
    let f = p.frame;
    let (outline, z) = if f.normal.z.abs() > 1.0 - tol::PARALLEL {
        let place = |q: Point| {
            let e = f.to_engine(q, 0.0);
            Point::new(e.x, e.y)
        };
        let flipped = f.normal.z < 0.0;
        let (a, b) = (f.origin.z, f.origin.z + f.normal.z * p.thickness_mm);
        (p.outline.mapped(place, flipped), (a.min(b), a.max(b)))
    } else {
        let e = p.outline.extents();
        let corners: Vec<Point3> = [e.min.x, e.max.x]
            .into_iter()
            .flat_map(|x| [e.min.y, e.max.y].map(|y| Point::new(x, y)))
            .flat_map(|q| [0.0, p.thickness_mm].map(|h| f.to_engine(q, h)))
            .collect();
        let span = |of: fn(&Point3) -> f64| {
            corners
                .iter()
                .map(of)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), v| {
                    (lo.min(v), hi.max(v))
                })
        };
        let (x, y, z) = (span(|p| p.x), span(|p| p.y), span(|p| p.z));
        (
            Path::polygon(&[
                Point::new(x.0, y.0),
                Point::new(x.1, y.0),
                Point::new(x.1, y.1),
                Point::new(x.0, y.1),
            ]),
            z,
        )
    };
    Obstacle {
        id: format!("plate {}", p.id),
        owner: format!("plate {}", p.id),
        outline,
        z_from_mm: z.0,
        z_to_mm: z.1,
    }
}

/// Where the drive is written, for findings about it as a whole.
#[must_use]
pub fn spot(loaded: &Loaded) -> Spot {
    loaded.job.drive.as_ref().map_or(Spot::NOWHERE, |d| d.spot)
}
