//! The answer for a mocked-up drive: push, washers, spacers or parts to remake, and the words for it.

use std::fmt::Write as _;

use serde::Serialize;

use super::mount::{Drive, Fault, Stand};
use super::play::{self, PushPlan};
use super::remake::{self, Needs, WORTH_MM};
use super::rod::{ReadStand, RodReading, stands};
use super::state::State;
use super::washers::{MOST_PIECES, Searched, WasherPlan, search};

/// What to do about a drive.
#[derive(Debug, Clone, Serialize)]
pub struct Plan {
    /// The drive.
    pub drive: String,
    /// How the pulleys stand by the readings.
    pub read: Vec<ReadStand>,
    /// Stand of every pulley now, in the drive's order.
    pub now: Vec<Stand>,
    /// Whether everything is within its limits as it is.
    pub is_true: bool,
    /// Pushes that do without washers, when there are some.
    pub push: Option<PushPlan>,
    /// The washers.
    pub washers: Searched,
    /// Spacer lengths to turn instead, when mounts stand on spacers and that does it.
    pub spacers: Option<Needs>,
    /// What to remake when nothing else works.
    pub remake: Option<Needs>,
}

/// Finds what to do.
///
/// # Errors
///
/// Every fault of the drive or the readings.
pub fn plan(drive: &Drive, readings: &[RodReading]) -> Result<Plan, Vec<Fault>> {
    let read = stands(drive, readings)?;
    Ok(plan_from(drive, read))
}

/// Finds what to do when the stands are known already; the drive has been checked.
fn plan_from(drive: &Drive, read: Vec<ReadStand>) -> Plan {
    let state = State::new(drive, &read);
    let is_true = state.used(&state.stands).is_good();
    let push = if is_true { None } else { play::push(&state) };
    let outcome = search(&state, MOST_PIECES);
    let washers = outcome.searched;
    let turned = |m: usize| drive.mounts[m].bolts.iter().all(|b| b.spacer_mm.is_some());
    let spacers = (!is_true && (0..drive.mounts.len()).any(turned))
        .then(|| remake::needs(&state, &turned, &state.no_lifts()))
        .filter(|n| n.share <= 1.0 && n.bolts.iter().all(|b| b.spacer_mm.is_some()));
    let helped = is_true || push.is_some() || washers.plan.is_some() || spacers.is_some();
    let remake = (!helped).then(|| {
        let may_move = |m: usize| outcome.stuck.is_empty() || outcome.stuck.contains(&m);
        remake::needs(&state, &may_move, &outcome.lifts)
    });
    Plan {
        drive: drive.name.clone(),
        now: state.stands.clone(),
        is_true,
        push,
        washers,
        spacers,
        remake,
        read,
    }
}

/// The plan in words.
pub fn words(drive: &Drive, plan: &Plan) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "{}", plan.drive);
    let _ = writeln!(out);
    for (p, s) in drive.pulleys.iter().zip(&plan.now) {
        if p.name == drive.reference {
            let _ = writeln!(out, "{}: reference", p.name);
            continue;
        }
        let read = plan.read.iter().find(|r| r.pulley == p.name);
        let how = match read {
            None => "not read, taken as designed".to_owned(),
            Some(r) => {
                let across = if r.tilt_is_whole {
                    ""
                } else {
                    ", across the rod not read"
                };
                format!(
                    "± {:.2} mm, ± {:.2} deg{across}",
                    r.offset_sd_mm, r.tilt_sd_deg
                )
            }
        };
        let _ = writeln!(
            out,
            "{}: {} ({how})",
            p.name,
            stand_words(s, p.offset_limit_mm, p.tilt_limit_deg)
        );
    }
    let _ = writeln!(out);
    if plan.is_true {
        let _ = writeln!(out, "Everything is within its limits: tighten up.");
        return out;
    }
    if let Some(push) = &plan.push {
        say_push(drive, push, &mut out);
    }
    match (&plan.washers.plan, &plan.push) {
        (Some(w), push) => {
            let lead = if push.is_some() {
                "Or with washers"
            } else {
                "Washers"
            };
            say_washers(drive, plan, lead, w, &mut out);
        }
        (None, None) => say_stuck(drive, plan, &mut out),
        (None, Some(_)) => {}
    }
    if !plan.washers.is_complete {
        let _ = writeln!(
            out,
            "The search was called off: every set of up to {} washers a bracket was looked at, larger ones only in part.",
            plan.washers.complete_to
        );
    }
    if let Some(spacers) = &plan.spacers {
        let lead = if plan.washers.plan.is_some() {
            "Or turn"
        } else {
            "Turn"
        };
        for n in &spacers.bolts {
            if let Some([now, then]) = n.spacer_mm {
                let _ = writeln!(
                    out,
                    "{lead} the spacer at the {} bolt of {} to {then:.2} mm (now {now:.2}).",
                    n.bolt, n.mount,
                );
            }
        }
        expected(drive, &plan.now, &spacers.stands, &mut out);
    }
    if let Some(needs) = &plan.remake {
        say_remake(drive, plan, needs, &mut out);
    }
    out
}

/// A stand against its limits.
fn stand_words(s: &Stand, offset_limit: f64, tilt_limit: f64) -> String {
    let place = if s.offset_mm.abs() < 0.005 {
        "in line".to_owned()
    } else if s.offset_mm > 0.0 {
        format!("{:.2} mm too far forward", s.offset_mm)
    } else {
        format!("{:.2} mm too far back", -s.offset_mm)
    };
    let looks = s.looks();
    let tilt = if looks.is_empty() {
        "square".to_owned()
    } else {
        format!("its face looks {looks} by {:.2} deg", s.tilt_deg())
    };
    format!("{place} (limit {offset_limit:.2}), {tilt} (limit {tilt_limit:.2})")
}

/// Says how the pulleys should stand afterwards.
fn expected(drive: &Drive, now: &[Stand], then: &[Stand], out: &mut String) {
    for ((p, a), b) in drive.pulleys.iter().zip(now).zip(then) {
        let still = (a.offset_mm - b.offset_mm).abs() < 0.005
            && (a.tilt_deg() - b.tilt_deg()).abs() < 0.005;
        if p.mount.is_some() && !still {
            let _ = writeln!(
                out,
                "  expect {}: {}, from {:+.2} mm and {:.2} deg",
                p.name,
                stand_words(b, p.offset_limit_mm, p.tilt_limit_deg),
                a.offset_mm,
                a.tilt_deg()
            );
        }
    }
}

/// Says which way to push.
fn say_push(drive: &Drive, push: &PushPlan, out: &mut String) {
    let _ = writeln!(out, "The play in the holes is enough. Before tightening:");
    for p in &push.pushes {
        let way = if p.forward_mm >= 0.0 {
            "forward, away from the engine"
        } else {
            "back, towards the engine"
        };
        let turn = if p.turn_deg.abs() < 0.01 {
            String::new()
        } else {
            format!(
                " and turn it {:.2} deg {} seen from outside",
                p.turn_deg.abs(),
                if p.turn_deg > 0.0 {
                    "counter-clockwise"
                } else {
                    "clockwise"
                }
            )
        };
        let _ = writeln!(
            out,
            "  push {} {:.2} mm {way}{turn}",
            p.mount,
            p.forward_mm.abs()
        );
    }
    for (p, s) in drive.pulleys.iter().zip(&push.stands) {
        if p.mount.is_some() {
            let _ = writeln!(
                out,
                "  expect {}: {}",
                p.name,
                stand_words(s, p.offset_limit_mm, p.tilt_limit_deg)
            );
        }
    }
}

/// Says which pulleys no washers bring into line, and what lines the others up.
fn say_stuck(drive: &Drive, plan: &Plan, out: &mut String) {
    let stuck = &plan.washers.stuck;
    let (fixed, on_mounts): (Vec<&String>, Vec<&String>) = stuck.iter().partition(|n| {
        drive
            .pulley(n)
            .is_some_and(|p| drive.pulleys[p].mount.is_none())
    });
    let list = |names: &[&String]| {
        let names: Vec<&str> = names.iter().map(|n| n.as_str()).collect();
        names.join(", ")
    };
    if !fixed.is_empty() {
        let _ = writeln!(
            out,
            "No washer moves {}: fixed to the block. Check the reading and the pulley's seat on its shaft.",
            list(&fixed)
        );
    }
    if !on_mounts.is_empty() {
        let _ = writeln!(
            out,
            "No set of up to {} stocked washers a bracket brings {} within the limits.",
            plan.washers.complete_to,
            list(&on_mounts)
        );
    }
    if stuck.is_empty() {
        let _ = writeln!(
            out,
            "Every pulley can be lined up by itself, but no set of washers straightens the belt pieces between them."
        );
    }
    if let Some(rest) = &plan.washers.rest {
        say_washers(drive, plan, "Washers for the others", rest, out);
    }
}

/// Says which washers go where.
fn say_washers(drive: &Drive, plan: &Plan, lead: &str, w: &WasherPlan, out: &mut String) {
    let proved = if plan.washers.is_complete {
        ", no smaller set does it"
    } else {
        ""
    };
    let _ = writeln!(out, "{lead} ({} in all{proved}):", w.pieces);
    for at in &w.washers {
        let list = |v: &[f64]| {
            v.iter()
                .map(|t| format!("{t} mm"))
                .collect::<Vec<_>>()
                .join(" and ")
        };
        let place = format!(
            "under the {} bolt of {}, between {} and {}",
            at.bolt, at.mount, at.between[0], at.between[1]
        );
        if !at.remove_mm.is_empty() {
            let _ = writeln!(out, "  take out {} {place}", list(&at.remove_mm));
        }
        if !at.add_mm.is_empty() {
            let _ = writeln!(out, "  put {} {place}", list(&at.add_mm));
            let higher = at.add_mm.iter().sum::<f64>() - at.remove_mm.iter().sum::<f64>();
            if higher > 0.0 {
                let _ = writeln!(
                    out,
                    "    that bolt then reaches {higher:.2} mm less deep: check its engagement"
                );
            }
        }
        if let Some([now, then]) = at.turn_mm {
            let _ = writeln!(
                out,
                "    and turn the spacer on the other side of the plate from {now:.2} to {then:.2} mm"
            );
        }
    }
    expected(drive, &plan.now, &w.stands, out);
}

/// Says what to remake and by how much.
fn say_remake(drive: &Drive, plan: &Plan, needs: &Needs, out: &mut String) {
    for mount in &drive.mounts {
        let mine: Vec<_> = needs
            .bolts
            .iter()
            .filter(|n| n.mount == mount.name)
            .collect();
        let Some(lowest) = mine.iter().map(|n| n.lift_mm).reduce(f64::min) else {
            continue;
        };
        let name = &mount.name;
        let _ = if lowest < -WORTH_MM {
            writeln!(
                out,
                "Bring the seat of {name} {:.2} mm lower: face it, or what it sits on",
                -lowest
            )
        } else if lowest > WORTH_MM {
            writeln!(
                out,
                "Bring the seat of {name} {lowest:.2} mm higher: remake it thicker, or turn spacers"
            )
        } else {
            writeln!(out, "Leave the seat of {name} as high as it is")
        };
        for n in mine.iter().filter(|n| n.lift_mm - lowest > WORTH_MM) {
            let _ = writeln!(
                out,
                "  and {:.2} mm higher still at the {} bolt",
                n.lift_mm - lowest,
                n.bolt
            );
        }
    }
    let before = plan.washers.rest.as_ref().map_or(&plan.now, |r| &r.stands);
    expected(drive, before, &needs.stands, out);
    for (pulley, forward) in &needs.beyond {
        let way = if *forward > 0.0 { "forward" } else { "back" };
        let _ = writeln!(
            out,
            "No height of the seats brings {pulley} into line: its mount's holes have to go {:.2} mm {way}.",
            forward.abs()
        );
    }
    for (pulley, tilt_deg) in &needs.askew {
        let _ = writeln!(
            out,
            "No height of the seats squares {pulley}: {tilt_deg:.2} deg stay, across its bolts or against another pulley on the same bracket. True its ears, or remake the bracket."
        );
    }
}
