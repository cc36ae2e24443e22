//! Judgements of the take-up: window, travel, arm angle, slot, and slipping the belt on.

use super::super::Fault;
use super::super::input::TakeUp;
use super::super::tensioner::{BeltState, SlipOn};
use super::super::{limits, rule};
use super::Bench;

impl Bench<'_> {
    pub(super) fn tensioner(&mut self) {
        let (Some(window), TakeUp::Spring(t)) = (&self.analysis.tensioner, &self.drive.take_up)
        else {
            return;
        };
        let id = self.drive.pulleys[t.pulley].id.clone();
        let pivot = Some(t.pivot);
        let belt = &self.analysis.belt;
        let (short, long) = (
            belt.shortest_mm - window.shortest_mm,
            window.longest_mm - belt.end_of_life_mm,
        );
        let end = if window.ends_at_dead_centre {
            "dead centre"
        } else {
            "wound stop"
        };
        let note = format!("{end} at {:.2} deg", window.shortest_arm_deg);
        self.hold(rule::SHORT_BELT, &id, Some(short), 0.0, note, pivot);
        let note = format!("longest at {:.2} deg", window.longest_arm_deg);
        self.hold(rule::LONG_BELT, &id, Some(long), 0.0, note, pivot);
        let note = if window.travel_used.is_none() {
            "not every belt state is within the stops".to_owned()
        } else {
            String::new()
        };
        self.hold(
            rule::TRAVEL,
            &id,
            window.travel_used,
            limits::TRAVEL_USED,
            note,
            pivot,
        );
        for state in [
            BeltState::Shortest,
            BeltState::Nominal,
            BeltState::EndOfLife,
        ] {
            if let Some(arm) = window.arm(state) {
                self.hold(
                    rule::ARM_ANGLE,
                    &id,
                    Some((arm.hub_to_arm_deg - 90.0).abs()),
                    90.0 - limits::HUB_TO_ARM_DEG,
                    state.words().to_owned(),
                    Some(arm.centre_mm),
                );
            }
        }
        let (slip_on, fault) = (window.slip_on.clone(), window.slip_on_fault.clone());
        self.slip_on(slip_on.as_ref(), fault.map(|f| f.to_string()));
    }

    pub(super) fn slip_on(&mut self, slip_on: Option<&SlipOn>, fault: Option<String>) {
        let Some(over) = self.drive.last_on else {
            return;
        };
        let pulley = &self.drive.pulleys[over];
        let (id, at) = (pulley.id.clone(), Some(pulley.centre));
        if let Some(s) = slip_on {
            let note = format!(
                "{:.1} mm over the rim, shortest belt {:.1} mm",
                s.needed_mm, s.shortest_mm
            );
            self.hold(
                rule::SLIP_ON,
                &id,
                Some(s.room_mm),
                limits::SLIP_ON_MM,
                note,
                at,
            );
            self.hold(
                rule::SAE_LENGTH,
                &id,
                Some(s.sae_room_mm),
                0.0,
                String::new(),
                at,
            );
        } else {
            let note = fault.unwrap_or_else(|| "no path over the rim".to_owned());
            self.hold(rule::SLIP_ON, &id, None, limits::SLIP_ON_MM, note, at);
        }
    }

    pub(super) fn take_up(&mut self) {
        let (Some(range), TakeUp::Manual(m)) = (&self.analysis.take_up, &self.drive.take_up) else {
            return;
        };
        let pulley = &self.drive.pulleys[m.pulley];
        let (id, at) = (pulley.id.clone(), Some(pulley.centre));
        for need in &range.needs {
            if let Some(fault) = &need.fault {
                let rule = match fault {
                    Fault::TooLong { .. } => rule::LONG_BELT,
                    _ => rule::SHORT_BELT,
                };
                let beyond = match *fault {
                    Fault::TooLong {
                        length_mm,
                        greatest_mm,
                        ..
                    } => Some(greatest_mm - length_mm),
                    Fault::TooShort {
                        length_mm,
                        least_mm,
                        ..
                    } => Some(length_mm - least_mm),
                    _ => None,
                };
                self.hold(
                    rule,
                    &id,
                    beyond,
                    0.0,
                    format!("{}: {fault}", need.what),
                    at,
                );
            }
        }
        let belt = &self.analysis.belt;
        if range.needs.iter().all(|n| n.fault.is_none()) {
            let short = belt.shortest_mm - range.shortest_mm;
            self.hold(rule::SHORT_BELT, &id, Some(short), 0.0, String::new(), at);
            let long = range.longest_mm - belt.end_of_life_mm;
            self.hold(rule::LONG_BELT, &id, Some(long), 0.0, String::new(), at);
        }
        if let Some((low, high)) = range.available {
            let note = format!("in {}", range.unit);
            self.hold(rule::SLOT_FROM, &id, range.from, low, note.clone(), at);
            self.hold(rule::SLOT_TO, &id, range.to, high, note, at);
        }
        let slip_on = range.slip_on.clone();
        self.slip_on(slip_on.as_ref(), None);
    }
}
