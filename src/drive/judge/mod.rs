//! Every measured value of a drive held against its limit.

mod place;
mod running;
mod take_up;

use serde::Serialize;

use super::input::{Drive, Face, Side, TakeUp};
use super::limits;
use super::rule::{self, Rule, Sense};
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
                super::belt::STOCK_MM,
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
