//! Belt choice: which stocked lengths the take-up accepts, and where each puts the arm or the accessory.

use serde::Serialize;

use super::fault::Faults;
use super::input::{Drive, TakeUp};
use super::limits;
use super::path;
use super::takeup;
use super::tensioner::{Arm, BeltState};

/// Lengths further than this from the drive as drawn, over its length, are not looked at.
///
/// No tensioner or slot takes up more than a few per cent.
pub const LOOK_AROUND: f64 = 0.05;

/// What a belt is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BeltFacts {
    /// Ribs, section and effective length, such as `7PK 2115`.
    pub designation: String,
    /// Section.
    pub section: String,
    /// Ribs.
    pub ribs: u32,
    /// Nominal effective length, mm.
    pub effective_length_mm: f64,
    /// Lower limit of the length tolerance, mm.
    pub shortest_mm: f64,
    /// Upper limit, mm.
    pub longest_mm: f64,
    /// Upper limit stretched and worn, mm.
    pub end_of_life_mm: f64,
    /// Width, mm.
    pub width_mm: f64,
    /// Mass per length, kg/m.
    pub mass_kg_m: f64,
    /// Whether the nominal length is in the stock list.
    pub is_stocked: bool,
}

/// What one stocked length costs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BeltChoice {
    /// Effective length, mm.
    pub length_mm: f64,
    /// Whether every belt state, the travel and the slipping-on are in order.
    pub fits: bool,
    /// Why not, or nothing.
    pub why_not: Vec<String>,
    /// Arm angle (deg) or accessory travel (deg or mm) for the nominal belt.
    pub position: Option<f64>,
    /// The same for the shortest belt.
    pub shortest_position: Option<f64>,
    /// The same at the end of life.
    pub end_of_life_position: Option<f64>,
    /// Share of the arm's travel used.
    pub travel_used: Option<f64>,
    /// Static tension of the nominal belt, N (spring tensioner).
    pub tension_n: Option<f64>,
    /// Room over the rim, mm.
    pub slip_on_room_mm: Option<f64>,
}

/// A stock list and a length agree when they differ by less than this, mm: lists are printed in whole mm.
pub(super) const STOCK_MM: f64 = 0.5;

/// Facts of the drive's belt at a nominal length, against a stock list.
#[must_use]
pub fn facts(drive: &Drive, nominal_mm: f64, stocked_mm: &[f64]) -> BeltFacts {
    let belt = &drive.belt;
    let length =
        |state: BeltState| state.length_mm(nominal_mm, belt.length_tolerance, belt.life_stretch);
    BeltFacts {
        designation: format!("{}{} {:.0}", belt.ribs, belt.section.name, nominal_mm),
        section: belt.section.name.clone(),
        ribs: belt.ribs,
        effective_length_mm: nominal_mm,
        shortest_mm: length(BeltState::Shortest),
        longest_mm: length(BeltState::Longest),
        end_of_life_mm: length(BeltState::EndOfLife),
        width_mm: belt.width_mm(),
        mass_kg_m: belt.mass_kg_m(),
        is_stocked: stocked_mm.iter().any(|l| (l - nominal_mm).abs() < STOCK_MM),
    }
}

/// Tries every stocked length near the drive as drawn.
///
/// With fixed centres only a length within the belt's tolerance of the drive's own fits.
///
/// # Errors
/// Unusable input, no path as drawn, or a take-up that takes up no belt.
pub fn choices(drive: &Drive, stocked_mm: &[f64]) -> Result<Vec<BeltChoice>, Faults> {
    super::validate::validate(drive)?;
    let drawn_mm = path::solve_valid(drive)?.effective_length_mm;
    let near = stocked_mm
        .iter()
        .copied()
        .filter(|l| (l - drawn_mm).abs() <= LOOK_AROUND * drawn_mm);
    match &drive.take_up {
        TakeUp::Fixed { .. } => Ok(near
            .map(|length_mm| fixed_choice(drive, drawn_mm, length_mm))
            .collect()),
        TakeUp::Spring(tensioner) => {
            let arm = Arm::of(drive, tensioner)?;
            Ok(near.map(|length| spring_choice(&arm, length)).collect())
        }
        TakeUp::Manual(manual) => near
            .map(|length| {
                takeup::range_for(drive, manual, length).map(|range| manual_choice(&range, length))
            })
            .collect(),
    }
}

fn fixed_choice(drive: &Drive, drawn_mm: f64, length_mm: f64) -> BeltChoice {
    let miss = (length_mm - drawn_mm).abs();
    let allowed = drive.belt.length_tolerance * length_mm;
    let fits = miss <= allowed;
    BeltChoice {
        length_mm,
        fits,
        why_not: if fits {
            Vec::new()
        } else {
            vec![format!(
                "{miss:.1} mm from the drive's length, {allowed:.1} mm is the belt's own tolerance"
            )]
        },
        position: None,
        shortest_position: None,
        end_of_life_position: None,
        travel_used: None,
        tension_n: None,
        slip_on_room_mm: None,
    }
}

fn spring_choice(arm: &Arm<'_>, length_mm: f64) -> BeltChoice {
    let window = arm.window(length_mm);
    let mut why_not: Vec<String> = window
        .reaches
        .iter()
        .filter_map(|r| {
            r.fault
                .as_ref()
                .map(|f| format!("{}: {f}", r.state.words()))
        })
        .collect();
    if let Some(used) = window.travel_used.filter(|u| *u > limits::TRAVEL_USED) {
        why_not.push(format!(
            "uses {:.0} % of the arm's travel, {:.0} % is the limit",
            100.0 * used,
            100.0 * limits::TRAVEL_USED
        ));
    }
    let slip_on_room_mm = window.slip_on.as_ref().map(|s| s.room_mm);
    if let Some(room) = slip_on_room_mm.filter(|r| *r < limits::SLIP_ON_MM) {
        why_not.push(format!("{:.1} mm short of going over the rim", -room));
    }
    let at = |state| window.arm(state).map(|a| a.arm_deg);
    BeltChoice {
        length_mm,
        fits: why_not.is_empty(),
        why_not,
        position: at(BeltState::Nominal),
        shortest_position: at(BeltState::Shortest),
        end_of_life_position: at(BeltState::EndOfLife),
        travel_used: window.travel_used,
        tension_n: window.arm(BeltState::Nominal).map(|a| a.tension_n),
        slip_on_room_mm,
    }
}

fn manual_choice(range: &takeup::TakeUpRange, length_mm: f64) -> BeltChoice {
    let mut why_not: Vec<String> = range
        .needs
        .iter()
        .filter_map(|n| n.fault.as_ref().map(|f| format!("{}: {f}", n.what)))
        .collect();
    if let (Some((low, high)), Some(from), Some(to)) = (range.available, range.from, range.to)
        && (from < low || to > high)
    {
        why_not.push(format!(
            "needs {from:.2} to {to:.2} {unit}, the slot has {low:.2} to {high:.2} {unit}",
            unit = range.unit
        ));
    }
    let at = |state| range.position(state).map(|p| p.travel);
    BeltChoice {
        length_mm,
        fits: why_not.is_empty(),
        why_not,
        position: at(BeltState::Nominal),
        shortest_position: at(BeltState::Shortest),
        end_of_life_position: at(BeltState::EndOfLife),
        travel_used: None,
        tension_n: None,
        slip_on_room_mm: range.slip_on.as_ref().map(|s| s.room_mm),
    }
}
