//! Bolting: every fastener of a layout worked out with what it clamps, how it is tightened and what it carries.

mod load;
mod stack;

use serde::Serialize;

use crate::diag::{Code, Diag, Sink, Spot};
use crate::drive::{Analysis, Drive};
use crate::geom::Point;
use crate::joint::{
    self, Fastening, FasteningReport, GroupReport, Judgement, PurchaseLine, purchase_list,
};
use crate::layout::{Joint, Layout};
use crate::params::Loaded;
use crate::platework::MadePlate;

/// What the bolting of a job is worked out from.
#[derive(Debug, Clone, Copy)]
pub struct Sources<'a> {
    /// The files.
    pub loaded: &'a Loaded,
    /// Where everything is.
    pub layout: &'a Layout,
    /// Plates as made.
    pub plates: &'a [MadePlate],
    /// The belt drive, if there is one: it loads what it runs over.
    pub drive: Option<&'a (Drive, Analysis)>,
}

/// One fastener, worked out.
#[derive(Debug, Clone, PartialEq)]
pub struct Bolted {
    /// Name of the joint, as in the layout.
    pub joint: String,
    /// The fastener with its stack and tightening.
    pub fastening: Fastening,
    /// Lengths, preload, threads, pressures.
    pub report: FasteningReport,
    /// Where it is written.
    pub spot: Spot,
}

/// Bolts that share a load, and what each has left.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LoadedGroup {
    /// What the group holds: an accessory, or plates on the block.
    pub holds: String,
    /// Shares of every load case and what each bolt has left.
    pub report: GroupReport,
}

/// A verdict with the part and hole it is about.
#[derive(Debug, Clone, PartialEq)]
pub struct Placed {
    /// Joint or plate.
    pub on: String,
    /// Hole of a plate; the group's name for a verdict on a loaded bolt.
    pub at: String,
    /// The verdict.
    pub judgement: Judgement,
    /// Where, in the plate's frame, for a verdict on a plate's hole.
    pub place: Option<Point>,
    /// Where in the input it comes from.
    pub spot: Spot,
}

/// The bolting of a job.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Bolting {
    /// Fasteners in the layout's order.
    pub joints: Vec<Bolted>,
    /// Groups: accessories in job order, then plates on the block.
    pub groups: Vec<LoadedGroup>,
    /// Every verdict.
    pub judgements: Vec<Placed>,
}

impl Bolting {
    /// One list of fasteners to buy.
    #[must_use]
    pub fn purchase_list(&self) -> Vec<PurchaseLine> {
        let all: Vec<_> = self
            .joints
            .iter()
            .map(|b| (&b.fastening, &b.report))
            .collect();
        purchase_list(&all)
    }

    /// A fastener by its joint's name.
    #[must_use]
    pub fn of(&self, joint: &str) -> Option<&Bolted> {
        self.joints.iter().find(|b| b.joint == joint)
    }
}

/// Works out every fastener of a layout.
///
/// A stack that cannot exist is pushed into `sink` with its numbers and left out.
pub fn work_out(s: &Sources<'_>, sink: &mut Sink) -> Bolting {
    let mut out = Bolting {
        joints: fasteners(s, sink),
        ..Bolting::default()
    };
    for b in &out.joints {
        out.judgements
            .extend(b.report.judgements.iter().map(|j| Placed {
                on: b.joint.clone(),
                at: String::new(),
                judgement: j.clone(),
                place: None,
                spot: b.spot,
            }));
    }
    let loads = load::Loads::of(s);
    for group in load::groups(s) {
        let members: Vec<(&Joint, &Bolted)> = group
            .joints
            .iter()
            .filter_map(|j| Some((*j, out.of(&j.id)?)))
            .collect();
        // A bolt that could not be worked out would leave its load to the others.
        if members.len() < group.joints.len() || members.is_empty() {
            continue;
        }
        let report = group.judge(&loads, &members);
        let mut found = Vec::new();
        for (bolt, (joint, bolted)) in report.bolts.iter().zip(&members) {
            found.extend(bolt.judgements.iter().map(|j| Placed {
                on: bolted.joint.clone(),
                at: group.holds.clone(),
                judgement: j.clone(),
                place: None,
                spot: bolted.spot,
            }));
            found.extend(stack::plate_holes(s, joint, bolted).into_iter().flat_map(
                |(plate, hole, at)| {
                    hole.judge(bolt.shear_n, bolt.tension_n)
                        .into_iter()
                        .map(move |judgement| Placed {
                            on: plate.clone(),
                            at: hole.place.clone(),
                            judgement,
                            place: Some(at),
                            spot: bolted.spot,
                        })
                        .collect::<Vec<_>>()
                },
            ));
        }
        out.judgements.extend(found);
        out.groups.push(LoadedGroup {
            holds: group.holds,
            report,
        });
    }
    out
}

/// Every fastener of a layout by itself: what it clamps and how it is tightened, without what it carries.
///
/// A stack that cannot exist is pushed into `sink` with its numbers and left out.
pub fn fasteners(s: &Sources<'_>, sink: &mut Sink) -> Vec<Bolted> {
    let mut out = Vec::new();
    for joint in &s.layout.joints {
        let spot = spot_of(s, joint);
        let Some(fastening) = stack::fastening(s, joint) else {
            sink.push(
                Diag::new(
                    Code::UnknownThread,
                    format!(
                        "joint `{}`: the tables have no row for one of its parts",
                        joint.id
                    ),
                )
                .labelled(spot, "taken here")
                .help("use a thread from M5 to M16 and a material of the materials table"),
            );
            continue;
        };
        match fastening.work_out() {
            Ok(report) => out.push(Bolted {
                joint: joint.id.clone(),
                fastening,
                report,
                spot,
            }),
            Err(e) => sink.push(
                Diag::new(Code::StackOverlaps, format!("joint {e}"))
                    .labelled(spot, "this stack cannot be built")
                    .help("change the plate's height or thickness, or the bolt's head"),
            ),
        }
    }
    out
}

/// Title of a rule of the joint family.
#[must_use]
pub fn title(rule: &str) -> &'static str {
    joint::RULES
        .iter()
        .find(|(id, _)| *id == rule)
        .map_or("", |(_, title)| title)
}

/// Where the first hole of a joint is taken.
fn spot_of(s: &Sources<'_>, joint: &Joint) -> Spot {
    s.loaded
        .job
        .plates
        .iter()
        .flat_map(|p| &p.takes)
        .find(|t| joint.holes.contains(&t.target))
        .map_or(Spot::NOWHERE, |t| t.spot)
}
