//! Judgements of the running drive: slip, tension ratio, tension per rib, span vibration.

use super::super::{OperatingPoint, limits, rule};
use super::Bench;

impl Bench<'_> {
    pub(super) fn tensions(&mut self) {
        let section = &self.drive.belt.section;
        let scale = section.rib_pitch_mm * section.height_mm / limits::PK_RIB_AREA_MM2;
        let ribs = f64::from(self.drive.belt.ribs);
        let when = |p: &OperatingPoint| format!("{}, {:.0} rpm", p.state, p.crank_rpm);
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

    pub(super) fn vibration(&mut self) {
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
}
