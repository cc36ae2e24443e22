//! Judgements of place: alignment of the rib planes and gaps over the sweep.

use super::super::clearance::GapKind;
use super::super::{limits, rule};
use super::{Bench, NEAR};

impl Bench<'_> {
    pub(super) fn alignment(&mut self) {
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

    pub(super) fn gaps(&mut self) {
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
