//! Every measured value of a drive held against its limit.

use serde::Serialize;

use super::clearance::GapKind;
use super::input::{Drive, Face, Side, TakeUp};
use super::limits;
use super::rule::{self, Rule, Sense};
use super::tensioner::{BeltState, SlipOn};
use super::{Analysis, xy};
use crate::geom::Point;

/// Slack of a comparison, in the unit of the value, so that a limit met exactly passes.
///
/// Results print to six decimals at most; a shortfall below that cannot be read or made.
pub const SLACK: f64 = 1e-6;

/// Gaps wider than this many times their limit are not listed one by one.
const NEAR: f64 = 3.0;

/// One value held against its limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Judgement {
    /// The rule.
    #[serde(flatten)]
    pub rule: Rule,
    /// Pulley, span or pair it is about.
    pub what: String,
    /// Measured value in the rule's unit; none where it cannot be had, which fails.
    pub measured: Option<f64>,
    /// The limit.
    pub limit: f64,
    /// How far inside the limit, in the rule's unit; negative outside.
    pub margin: Option<f64>,
    /// Whether it holds.
    pub holds: bool,
    /// When or why: belt state and speed, or the reason nothing could be measured.
    pub note: String,
    /// Where, mm in the engine frame.
    #[serde(serialize_with = "place")]
    pub place_mm: Option<Point>,
}

#[expect(
    clippy::ref_option,
    reason = "serde's `serialize_with` passes a reference to the field"
)]
fn place<S: serde::Serializer>(p: &Option<Point>, serializer: S) -> Result<S::Ok, S::Error> {
    match p {
        Some(p) => xy::point(p, serializer),
        None => serializer.serialize_none(),
    }
}

struct Bench<'a> {
    drive: &'a Drive,
    analysis: &'a Analysis,
    list: Vec<Judgement>,
}

impl Bench<'_> {
    fn hold(
        &mut self,
        rule: Rule,
        what: &str,
        measured: Option<f64>,
        limit: f64,
        note: String,
        place_mm: Option<Point>,
    ) {
        let margin = measured.map(|m| match rule.sense {
            Sense::AtLeast => m - limit,
            Sense::AtMost => limit - m,
        });
        self.list.push(Judgement {
            rule,
            what: what.to_owned(),
            measured,
            limit,
            margin,
            holds: margin.is_some_and(|m| m >= -SLACK),
            note,
            place_mm,
        });
    }

    fn pulleys(&mut self) {
        let section = &self.drive.belt.section;
        for (contact, speed) in self
            .analysis
            .path
            .contacts
            .iter()
            .zip(&self.analysis.speeds)
        {
            let p = &self.drive.pulleys[contact.pulley];
            let at = Some(contact.centre_mm);
            let least = p
                .least_wrap_deg
                .unwrap_or_else(|| limits::least_wrap_deg(p.duty));
            self.hold(
                rule::WRAP,
                &p.id,
                Some(contact.wrap_deg),
                least,
                String::new(),
                at,
            );
            if let Some(greatest) = p.greatest_rpm {
                self.hold(
                    rule::SHAFT_SPEED,
                    &p.id,
                    Some(speed.top_rpm),
                    greatest,
                    String::new(),
                    at,
                );
            }
            if let Some(full) = p.full_output_rpm {
                self.hold(
                    rule::FULL_OUTPUT,
                    &p.id,
                    Some(speed.idle_rpm),
                    full,
                    String::new(),
                    at,
                );
            }
            let diameter = p.face_diameter_mm();
            match (p.face, p.contact) {
                (Face::Ribbed { grooves, .. }, _) => {
                    let least = section.least_effective_diameter_mm;
                    self.hold(
                        rule::GROOVED_DIAMETER,
                        &p.id,
                        Some(diameter),
                        least,
                        String::new(),
                        at,
                    );
                    let (grooves, ribs) = (f64::from(grooves), f64::from(self.drive.belt.ribs));
                    self.hold(rule::GROOVES, &p.id, Some(grooves), ribs, String::new(), at);
                }
                (Face::Flat { .. }, Side::Back) => {
                    let least = section.least_back_diameter_mm;
                    self.hold(
                        rule::BACK_DIAMETER,
                        &p.id,
                        Some(diameter),
                        least,
                        String::new(),
                        at,
                    );
                }
                (Face::Flat { .. }, Side::Rib) => {}
            }
        }
    }

    fn belt(&mut self, stocked_mm: &[f64]) {
        let fastest = self
            .analysis
            .points
            .iter()
            .map(|p| p.belt_speed_m_s)
            .fold(0.0, f64::max);
        let greatest = self.drive.belt.section.greatest_speed_m_s;
        self.hold(
            rule::BELT_SPEED,
            "belt",
            Some(fastest),
            greatest,
            String::new(),
            None,
        );
        let length = self.analysis.belt.effective_length_mm;
        let nearest = stocked_mm
            .iter()
            .copied()
            .min_by(|a, b| (a - length).abs().total_cmp(&(b - length).abs()));
        if let Some(nearest) = nearest {
            let note = format!("nearest stocked length {nearest:.0} mm");
            self.hold(
                rule::STOCKED,
                "belt",
                Some((nearest - length).abs()),
                0.5,
                note,
                None,
            );
        }
        if let TakeUp::Fixed { .. } = self.drive.take_up {
            let miss = (length - self.analysis.path.effective_length_mm).abs();
            let slip_on = self.analysis.slip_on_fixed.clone();
            self.slip_on(slip_on.as_ref(), None);
            let allowed = self.drive.belt.length_tolerance * length;
            self.hold(
                rule::FIXED_LENGTH,
                "belt",
                Some(miss),
                allowed,
                String::new(),
                None,
            );
        }
    }

    fn tensioner(&mut self) {
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

    fn slip_on(&mut self, slip_on: Option<&SlipOn>, fault: Option<String>) {
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

    fn take_up(&mut self) {
        let (Some(range), TakeUp::Manual(m)) = (&self.analysis.take_up, &self.drive.take_up) else {
            return;
        };
        let pulley = &self.drive.pulleys[m.pulley];
        let (id, at) = (pulley.id.clone(), Some(pulley.centre));
        for need in &range.needs {
            if let Some(fault) = &need.fault {
                let rule = match fault {
                    super::Fault::TooLong { .. } => rule::LONG_BELT,
                    _ => rule::SHORT_BELT,
                };
                let beyond = match *fault {
                    super::Fault::TooLong {
                        length_mm,
                        greatest_mm,
                        ..
                    } => Some(greatest_mm - length_mm),
                    super::Fault::TooShort {
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

    fn tensions(&mut self) {
        let section = &self.drive.belt.section;
        let scale = section.rib_pitch_mm * section.height_mm / limits::PK_RIB_AREA_MM2;
        let ribs = f64::from(self.drive.belt.ribs);
        let when = |p: &super::OperatingPoint| format!("{}, {:.0} rpm", p.state, p.crank_rpm);
        for (k, contact) in self.analysis.path.contacts.iter().enumerate() {
            let at = Some(contact.centre_mm);
            // The worst point decides; the note tells which.
            let slip = self
                .analysis
                .points
                .iter()
                .filter_map(|p| p.pulleys[k].slip_margin.map(|m| (m, when(p))))
                .min_by(|a, b| a.0.total_cmp(&b.0));
            if let Some((margin, note)) = slip {
                self.hold(
                    rule::SLIP,
                    &contact.id,
                    Some(margin),
                    limits::SLIP_MARGIN,
                    note,
                    at,
                );
            }
            // A slack side that pulls no more counts as an endless ratio.
            let ratio = self
                .analysis
                .points
                .iter()
                .map(|p| (p.pulleys[k].tension_ratio, when(p)))
                .max_by(|a, b| {
                    let endless = |r: Option<f64>| r.unwrap_or(f64::INFINITY);
                    endless(a.0).total_cmp(&endless(b.0))
                });
            if let Some((ratio, note)) = ratio {
                self.hold(
                    rule::RATIO,
                    &contact.id,
                    ratio,
                    limits::TENSION_RATIO,
                    note,
                    at,
                );
            }
        }
        for (k, span) in self.analysis.path.spans.iter().enumerate() {
            let place = Some(span.start_mm.midpoint(span.end_mm));
            let what = format!("span {}", span.number);
            let by_tension = |a: &(f64, String), b: &(f64, String)| a.0.total_cmp(&b.0);
            let per_rib = || {
                self.analysis
                    .points
                    .iter()
                    .map(|p| (p.spans_n[k] / ribs, when(p)))
            };
            let (most, least) = (per_rib().max_by(by_tension), per_rib().min_by(by_tension));
            if let (Some(most), Some(least)) = (most, least) {
                let (top, bottom) = (
                    limits::PK_TENSION_PER_RIB_N * scale,
                    limits::PK_SLACK_PER_RIB_N * scale,
                );
                self.hold(rule::RIB_TENSION, &what, Some(most.0), top, most.1, place);
                self.hold(
                    rule::SLACK_TENSION,
                    &what,
                    Some(least.0),
                    bottom,
                    least.1,
                    place,
                );
            }
        }
    }

    fn vibration(&mut self) {
        for (span, survey) in self.analysis.path.spans.iter().zip(&self.analysis.spans) {
            let place = Some(span.start_mm.midpoint(span.end_mm));
            let what = format!("span {}", survey.number);
            let nearest = survey
                .held
                .iter()
                .map(|h| ((h.running_hz / h.firing_hz - 1.0).abs(), h))
                .min_by(|a, b| a.0.total_cmp(&b.0));
            if let Some((off, h)) = nearest {
                let note = format!(
                    "{:.1} Hz against {:.1} Hz at {:.0} rpm",
                    h.running_hz, h.firing_hz, h.crank_rpm
                );
                self.hold(
                    rule::SEPARATION,
                    &what,
                    Some(off),
                    limits::SPAN_SEPARATION,
                    note,
                    place,
                );
            }
            let firing: Vec<String> = survey
                .resonances
                .iter()
                .filter(|r| r.order.is_firing)
                .map(|r| format!("{:.0} rpm", r.crank_rpm))
                .collect();
            let count = firing.len() as f64;
            self.hold(
                rule::CROSSINGS,
                &what,
                Some(count),
                0.0,
                firing.join(", "),
                place,
            );
        }
    }

    fn alignment(&mut self) {
        let alignment = &self.analysis.alignment;
        for (span, a) in self.analysis.path.spans.iter().zip(&alignment.spans) {
            let place = Some(span.start_mm.midpoint(span.end_mm));
            let what = format!("span {}", a.number);
            let note = || format!("{} to {}", a.from, a.to);
            let offset = Some(a.offset_mm_per_100.abs());
            self.hold(
                rule::OFFSET,
                &what,
                offset,
                limits::OFFSET_PER_100_MM,
                note(),
                place,
            );
            self.hold(
                rule::ENTRY,
                &what,
                Some(a.angle_deg),
                limits::ENTRY_ANGLE_DEG,
                note(),
                place,
            );
            self.hold(
                rule::ENTRY_RSS,
                &what,
                Some(a.rss_deg),
                limits::ENTRY_ANGLE_RSS_DEG,
                note(),
                place,
            );
            let corrected = format!(
                "{:.3} deg before, {:.3} deg correctable",
                a.worst_deg, a.correctable_deg
            );
            self.hold(
                rule::ENTRY_WORST,
                &what,
                Some(a.worst_corrected_deg),
                limits::ENTRY_ANGLE_WORST_DEG,
                corrected,
                place,
            );
        }
        for flat in &alignment.flats {
            let place = self
                .analysis
                .path
                .contacts
                .iter()
                .find(|c| c.id == flat.pulley)
                .map(|c| c.centre_mm);
            let note = format!("belt {:.2} mm off the middle at worst", flat.worst_mm);
            self.hold(
                rule::FLAT_FACE,
                &flat.pulley,
                Some(flat.face_left_mm),
                0.0,
                note,
                place,
            );
        }
    }

    fn gaps(&mut self) {
        let mut seen = Vec::new();
        for gap in &self.analysis.gaps {
            let rule = match gap.kind {
                GapKind::SpanToPulley => rule::GAP_SPAN_PULLEY,
                GapKind::SpanToSpan => rule::GAP_SPAN_SPAN,
                GapKind::PulleyToPulley => rule::GAP_PULLEYS,
                GapKind::BeltToObstacle => rule::GAP_BELT_FIXED,
                GapKind::PulleyToObstacle => rule::GAP_PULLEY_FIXED,
            };
            // The tightest of each kind is always told.
            let first = !seen.contains(&gap.kind);
            if first {
                seen.push(gap.kind);
            }
            if first || gap.gap_mm < NEAR * gap.limit_mm {
                let what = format!("{} to {}", gap.a, gap.b);
                self.hold(
                    rule,
                    &what,
                    Some(gap.gap_mm),
                    gap.limit_mm,
                    String::new(),
                    Some(gap.at_mm),
                );
            }
        }
    }
}

/// Judges an analysis; the list comes in rule order.
pub(super) fn judge(drive: &Drive, analysis: &Analysis, stocked_mm: &[f64]) -> Vec<Judgement> {
    let mut bench = Bench {
        drive,
        analysis,
        list: Vec::new(),
    };
    bench.pulleys();
    bench.belt(stocked_mm);
    bench.tensioner();
    bench.take_up();
    bench.tensions();
    bench.vibration();
    bench.alignment();
    bench.gaps();
    bench.list.sort_by(|a, b| a.rule.id.cmp(b.rule.id));
    bench.list
}
