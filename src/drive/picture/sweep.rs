//! The take-up's sweep in the picture: arm, dial and stops, or accessory, slot and clamp bolt, with their letters.

use super::super::Analysis;
use super::super::input::{Drive, ManualTakeUp, Motion, TakeUp, Tensioner};
use super::super::takeup;
use super::super::tensioner::BeltState;
use super::sheet::{Anchor, Sheet, Type};
use super::{cross, label};
use crate::geom::{Path, Point, Segment};

/// Width drawn for an adjusting slot, mm: an M10 bolt's clearance hole (ISO 273 medium, 11 mm). The plate sets the real one.
const SLOT_WIDTH_MM: f64 = 11.0;

/// Positions of the sweep that carry a letter: (letter, what it is, angle or travel).
pub(super) fn lettered(drive: &Drive, analysis: &Analysis) -> Vec<(char, &'static str, f64)> {
    match &drive.take_up {
        TakeUp::Fixed { .. } => Vec::new(),
        TakeUp::Spring(t) => {
            let arm = |state| {
                analysis
                    .tensioner
                    .as_ref()
                    .and_then(|w| w.arm(state))
                    .map(|a| a.arm_deg)
            };
            let mut list = vec![('W', "wound stop", t.wound_stop_deg)];
            for (letter, state) in [
                ('S', BeltState::Shortest),
                ('N', BeltState::Nominal),
                ('E', BeltState::EndOfLife),
            ] {
                if let Some(deg) = arm(state) {
                    list.push((letter, state.words(), deg));
                }
            }
            list.push(('K', "slack stop", t.slack_stop_deg));
            list
        }
        TakeUp::Manual(_) => {
            let mut list = Vec::new();
            for need in analysis.take_up.iter().flat_map(|t| &t.needs) {
                let named = match need.what.as_str() {
                    "fitting" => Some(('F', "fitting")),
                    "nominal belt" => Some(('N', "nominal belt")),
                    "end of life" => Some(('E', "end of life")),
                    _ => None,
                };
                if let (Some((letter, words)), Some(p)) = (named, &need.position) {
                    list.push((letter, words, p.travel));
                }
            }
            list
        }
    }
}

pub(super) fn arm_sweep(sheet: &mut Sheet, drive: &Drive, analysis: &Analysis, t: &Tensioner) {
    let Some(window) = &analysis.tensioner else {
        return;
    };
    let radius = 0.5 * drive.pulleys[t.pulley].rim_diameter_mm;
    for state in [BeltState::Shortest, BeltState::EndOfLife] {
        if let Some(arm) = window.arm(state) {
            sheet.circle("ghost", arm.centre_mm, radius, 0.3);
        }
    }
    let (from, to) = (t.wound_stop_deg.to_radians(), t.slack_stop_deg.to_radians());
    let dial = dial_radius(t, radius);
    for (class, r) in [("sweep", dial), ("ghost", t.arm_mm)] {
        let arc = Segment::Arc {
            from: t.pivot.polar(r, from),
            to: t.pivot.polar(r, to),
            centre: t.pivot,
            radius: r,
            ccw: t.slack_stop_deg > t.wound_stop_deg,
        };
        sheet.stroke(class, &[arc], false, 0.5);
    }
    for (letter, _, deg) in lettered(drive, analysis) {
        let half = if letter == 'W' || letter == 'K' {
            3.0
        } else {
            1.6
        } * sheet.scale;
        let a = deg.to_radians();
        sheet.line(
            "sweep",
            t.pivot.polar(dial - half, a),
            t.pivot.polar(dial + half, a),
            0.5,
        );
    }
    if let Some(arm) = window.arm(BeltState::Nominal) {
        let link = Path::slot(t.pivot, arm.centre_mm, 11.0);
        sheet.closed("arm", &link, 0.6);
        sheet.circle("hub", t.pivot, 17.0, 0.6);
        cross(sheet, t.pivot, 2.0);
    }
}

/// Radius of the dial on which the arm's positions are marked, mm: between pivot and pulley, or beyond a pulley that leaves no room.
fn dial_radius(t: &Tensioner, pulley_radius: f64) -> f64 {
    let room = t.arm_mm - pulley_radius - 17.0;
    if room > 12.0 {
        t.arm_mm - pulley_radius - 0.35 * room
    } else {
        t.arm_mm + pulley_radius + 12.0
    }
}

pub(super) fn slot_sweep(sheet: &mut Sheet, drive: &Drive, analysis: &Analysis, m: &ManualTakeUp) {
    let radius = 0.5 * drive.pulleys[m.pulley].rim_diameter_mm;
    let Some(range) = &analysis.take_up else {
        return;
    };
    for need in &range.needs {
        if let Some(p) = &need.position
            && (need.what == "fitting" || need.what == BeltState::EndOfLife.words())
        {
            sheet.circle("ghost", p.centre_mm, radius, 0.3);
        }
    }
    let centre = range
        .position(BeltState::Nominal)
        .map_or(drive.pulleys[m.pulley].centre, |p| p.centre_mm);
    if let Motion::Swing { pivot, .. } = m.motion {
        let track = pivot.distance(centre);
        if let (Some(from), Some(to)) = (range.from, range.to) {
            let drawn = (drive.pulleys[m.pulley].centre - pivot).angle();
            let (a, b) = (drawn + from.to_radians(), drawn + to.to_radians());
            sheet.stroke("ghost", &[Segment::arc(pivot, track, a, b)], false, 0.3);
        }
        sheet.closed("arm", &Path::slot(pivot, centre, 9.0), 0.6);
        sheet.circle("hub", pivot, 12.0, 0.6);
        cross(sheet, pivot, 1.8);
    }
    let slot = match range.available {
        Some((from, to)) => Some(takeup::slot(&m.motion, from, to)),
        None => range.slot,
    };
    if let Some(slot) = slot {
        sheet.closed("slot", &slot.outline(SLOT_WIDTH_MM), 0.8);
    }
    if let Some(p) = range.position(BeltState::Nominal) {
        sheet.circle("face", p.bolt_mm, 5.0, 0.5);
        cross(sheet, p.bolt_mm, 1.6);
    }
}

/// Letters at the marked positions; the panel tells what they mean.
pub(super) fn sweep_letters(sheet: &mut Sheet, drive: &Drive, analysis: &Analysis) {
    let marks: Vec<(char, Point)> = match &drive.take_up {
        TakeUp::Fixed { .. } => Vec::new(),
        TakeUp::Spring(t) => {
            let r = 0.5 * drive.pulleys[t.pulley].rim_diameter_mm;
            let dial = dial_radius(t, r);
            lettered(drive, analysis)
                .into_iter()
                .map(|(letter, _, deg)| (letter, t.pivot.polar(dial, deg.to_radians())))
                .collect()
        }
        TakeUp::Manual(_) => analysis
            .take_up
            .iter()
            .flat_map(|t| &t.needs)
            .filter_map(|need| {
                let letter = match need.what.as_str() {
                    "fitting" => 'F',
                    "nominal belt" => 'N',
                    "end of life" => 'E',
                    _ => return None,
                };
                need.position.as_ref().map(|p| (letter, p.bolt_mm))
            })
            .collect(),
    };
    for (letter, at) in marks {
        let anchor = sheet.at(at);
        let place = label::place(anchor, (2.6, 3.0), 3.6, &sheet.texts, &sheet.ink);
        let text = letter.to_string();
        sheet.text(
            (place.0, place.1 + 0.95),
            Anchor::Middle,
            Type::SMALL_BOLD,
            &text,
        );
        let away = (place.0 - anchor.0, place.1 - anchor.1);
        let far = away.0.hypot(away.1);
        if far > 5.0 {
            sheet.paper_line(
                "leader",
                anchor,
                (
                    anchor.0 + away.0 / far * (far - 2.0),
                    anchor.1 + away.1 / far * (far - 2.0),
                ),
            );
        }
    }
}
