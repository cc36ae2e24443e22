//! The strength family, F401 and on: safety, deflection and natural frequencies held against their limits.

use crate::bracket::{self, BracketError, Calculated, IDLE, Sources, TOP};
use crate::diag::Spot;
use crate::drive::limits::ENTRY_ANGLE_DEG;
use crate::geom::Point;
use crate::strength::StrengthError;
use crate::strength::campbell::Meeting;
use crate::strength::places::Kind;
use crate::strength::report::{PlaceReport, PlateReport};

use super::{Finding, Sense, Verdict, YES_NO};

mod held;

/// What a finding about the whole set is on.
pub const SET: &str = "set";

/// Least safety against yield under shock. Common practice, no source (1.5 to 2 on yield for machine parts).
pub const YIELD_SAFETY: f64 = 1.5;

/// Least safety against fatigue: 1.3 for parts that are inspected and whose failure is no
/// catastrophe (FKM guideline, safety factor of ductile materials, from memory).
pub const FATIGUE_SAFETY: f64 = 1.3;

/// Least first frequency over the highest firing frequency (1.2 to 1.5). Common practice, no source.
pub const OVER_FIRING: f64 = 1.2;

/// Least distance of any mode from any speed's order inside the range, as a share. Common practice, no source.
pub const CLEAR_OF_ORDERS: f64 = 0.1;

/// One rule of the family.
#[derive(Debug, Clone, Copy)]
pub struct StrengthRule {
    /// Id.
    pub id: &'static str,
    /// What it is called.
    pub title: &'static str,
    /// Unit of measured value and limit; `-` for a ratio.
    pub unit: &'static str,
    /// Which way the limit bounds.
    pub sense: Sense,
    /// Whether a broken limit is only worth knowing.
    pub is_advice: bool,
    /// Source of the limit.
    pub source: &'static str,
    /// Its page, printed by `explain`.
    pub page: &'static str,
}

/// The set can be calculated.
const CALCULABLE: StrengthRule = StrengthRule {
    id: "F401",
    title: "set held",
    unit: YES_NO,
    sense: Sense::AtLeast,
    is_advice: false,
    source: "statics",
    page: "\
Every plate and every accessory has to be held so that it cannot move or turn as a whole, and\n\
every part needs a material of the tables and metal under its bolts. Otherwise strength and\n\
vibration cannot be calculated, and the finding says which part is loose and how it moves.\n\
\n\
Bad: an accessory whose mounts no plate takes. Good: every accessory held by a plate, every\n\
plate by two bolts or more that reach the block.\n",
};

/// Safety against yield.
const YIELD: StrengthRule = StrengthRule {
    id: "F402",
    title: "safety against yield",
    unit: "-",
    sense: Sense::AtLeast,
    is_advice: false,
    source: "common practice, no source (1.5 to 2 on yield)",
    page: "\
Yield strength over the greatest von Mises stress of each plate: the belt's pull at idle and\n\
at top speed with the set's weight, and a shock in each direction on top of the latter\n\
(`shock-g` in the job's [strength]). Stress under a bolt's ring and at sharp inner corners\n\
grows without limit in the calculation and is not judged.\n\
\n\
Bad: 1.1 at a hole's edge. Good: 1.5 or more; a larger fillet, a thicker plate or one more\n\
bolt near the load helps.\n",
};

/// Safety against fatigue.
const FATIGUE: StrengthRule = StrengthRule {
    id: "F403",
    title: "safety against fatigue",
    unit: "-",
    sense: Sense::AtLeast,
    is_advice: false,
    source: "modified Goodman line, Shigley 10th ed. eq. 6-46; 1.3 from the FKM guideline (from memory)",
    page: "\
Safety against fatigue with mean stress of each plate, on the modified Goodman line\n\
1/n = amplitude / fatigue limit + mean / ultimate strength: a lasting vibration in each\n\
direction (`vibration-g` in the job's [strength]) about the belt's pull at top speed, and\n\
starting and stopping. The fatigue limit is the table's for a polished bar, times 0.8 for a\n\
milled and anodised edge (common practice, no source) and 0.814 for 99 % of parts (Shigley,\n\
Table 6-5).\n\
\n\
Bad: 0.9 at a hole's edge. Good: 1.3 or more.\n",
};

/// What the belt's pull does to its own entry angle.
const ENTRY: StrengthRule = StrengthRule {
    id: "F404",
    title: "belt entry angle with the set's deflection",
    unit: "deg",
    sense: Sense::AtMost,
    is_advice: false,
    source: "SAE J1596 (cancelled 2019), read in a quotation: 0.58 mm per 100 mm",
    page: "\
The belt's pull tilts and moves every pulley that a plate carries. The angle by which a span\n\
then enters that pulley beside its groove plane, as built and by deflection together, has to\n\
stay within the drive's limit for misalignment, at idle and at top speed.\n\
\n\
Bad: 0.5 deg. Good: 0.33 deg or less; a thicker plate or a bolt nearer to the pulley helps.\n",
};

/// First mode against firing.
const FIRST_MODE: StrengthRule = StrengthRule {
    id: "F405",
    title: "first natural frequency over the highest firing frequency",
    unit: "-",
    sense: Sense::AtLeast,
    is_advice: false,
    source: "common practice, no source (1.2 to 1.5)",
    page: "\
The set's lowest natural frequency, accessories' mass included, over the engine's firing\n\
frequency at top speed (half the number of cylinders times the speed, for a four-stroke).\n\
Below it the set rings at some speed of every run and cracks sooner or later.\n\
\n\
Bad: 0.9. Good: 1.2 or more; stiffness where the heaviest accessory hangs helps most.\n",
};

/// Modes against the other orders.
const ORDERS: StrengthRule = StrengthRule {
    id: "F406",
    title: "natural frequencies clear of an order",
    unit: "-",
    sense: Sense::AtLeast,
    is_advice: true,
    source: "common practice, no source",
    page: "\
A mode that meets a weaker order of the engine (beside firing, or twice firing) between idle\n\
and top speed, or lies within a tenth of it, is worth knowing: at that speed the set answers\n\
more than at others. The measured value is the distance of the nearest mode from the order's\n\
range of frequencies, as a share; negative inside.\n",
};

/// Settled peaks.
const SETTLED: StrengthRule = StrengthRule {
    id: "F407",
    title: "stress peaks settled",
    unit: "%",
    sense: Sense::AtMost,
    is_advice: true,
    source: "the calculation's stated change between two meshes",
    page: "\
The change of the greatest judged stress of each plate between the last two meshes. A larger\n\
one says that the peak is not known that well; the safety then deserves as much more room.\n",
};

/// Every rule of the family, in order of id.
pub const RULES: &[StrengthRule] = &[
    CALCULABLE,
    YIELD,
    FATIGUE,
    ENTRY,
    FIRST_MODE,
    ORDERS,
    SETTLED,
    held::MOUNTS,
    held::TURN,
];

/// A rule by its id, letter case ignored.
#[must_use]
pub fn rule(id: &str) -> Option<&'static StrengthRule> {
    RULES.iter().find(|r| r.id.eq_ignore_ascii_case(id))
}

/// What was measured and where.
struct Measured {
    on: String,
    at: String,
    what: String,
    value: f64,
    limit: f64,
    places: Vec<Point>,
    mend: &'static str,
    spot: Spot,
}

impl StrengthRule {
    fn judge(&self, m: Measured) -> Finding {
        // What is printed is what is judged: the digits that a solver's rounding can reach are cut off.
        let measured = rounded(m.value);
        let margin = match self.sense {
            Sense::AtLeast => measured - m.limit,
            Sense::AtMost => m.limit - measured,
        };
        let holds = margin >= 0.0;
        Finding {
            rule: self.id,
            title: self.title,
            on: m.on,
            at: m.at,
            what: m.what,
            measured,
            limit: m.limit,
            unit: self.unit,
            sense: self.sense,
            margin: rounded(margin),
            verdict: match (holds, self.is_advice) {
                (true, _) => Verdict::Holds,
                (false, false) => Verdict::Fails,
                (false, true) => Verdict::Advises,
            },
            reason: None,
            places: m.places,
            source: self.source.into(),
            mend: (!holds && !m.mend.is_empty()).then(|| m.mend.to_owned()),
            spot: m.spot,
        }
    }
}

/// Four decimals: more than a mesh is worth.
fn rounded(v: f64) -> f64 {
    (v * 1e4).round() / 1e4
}

/// Findings of a set that cannot be calculated: why, and how its accessories are held.
#[must_use]
pub fn refused(error: &BracketError, s: &Sources<'_>) -> Vec<Finding> {
    let (on, spot) = bracket::place_of(error, s);
    let mut out = vec![CALCULABLE.judge(Measured {
        on,
        at: String::new(),
        what: format!("cannot be calculated: {error}"),
        value: 0.0,
        limit: 1.0,
        places: Vec::new(),
        mend: mend_of(error),
        spot,
    })];
    out.extend(held::findings(s));
    out
}

/// What to do about a refusal.
const fn mend_of(error: &BracketError) -> &'static str {
    match error {
        BracketError::NoMaterial { .. } => {
            "name a material of the tables in the stock file, or one of its thickness"
        }
        BracketError::NoHole { .. } => "let the plate take the hole",
        BracketError::Strength(e) => match e {
            StrengthError::FreeToMove { .. } => {
                "let a plate that reaches the block take its mounts"
            }
            StrengthError::EmptyClamp { .. } => "move the hole inside the plate's outline",
            StrengthError::BoundariesCross { .. } | StrengthError::FoldedMesh { .. } => {
                "leave metal between the openings named"
            }
            StrengthError::NoMetal { .. } => "make the opening smaller than the plate",
            StrengthError::TooLarge { .. } | StrengthError::OutOfMemory { .. } => {
                "split the set into two jobs, or leave strength out with --no-strength"
            }
            _ => "leave strength out with --no-strength",
        },
    }
}

/// Findings of a calculated set.
#[must_use]
pub fn findings(done: &Calculated, s: &Sources<'_>) -> Vec<Finding> {
    let mut out = Vec::new();
    let report = &done.strength.report;
    out.push(CALCULABLE.judge(Measured {
        on: SET.to_owned(),
        at: String::new(),
        what: "every part is held".to_owned(),
        value: 1.0,
        limit: 1.0,
        places: Vec::new(),
        mend: "",
        spot: Spot::NOWHERE,
    }));
    for plate in &report.plates {
        plate_findings(plate, report.peak_change_limit, s, &mut out);
    }
    out.extend(entry_angles(done, s));
    out.extend(first_mode(done));
    out.extend(other_orders(done));
    out.extend(held::findings(s));
    out
}

/// Where a peak is, in words.
fn words(p: &PlaceReport) -> String {
    match p.kind {
        Kind::Beside => format!("beside the ring of {}", p.name),
        Kind::Inside => "on the face".to_owned(),
        _ => format!("edge of {}", p.name),
    }
}

fn plate_findings(plate: &PlateReport, change: f64, s: &Sources<'_>, out: &mut Vec<Finding>) {
    let spot = s
        .plates
        .iter()
        .find(|m| m.plate.id == plate.plate)
        .map_or(Spot::NOWHERE, |m| m.spot);
    let places = |p: &PlaceReport| {
        let [x, y, _] = p.at_plate.map(|v| (v * 1e2).round() / 1e2);
        vec![Point::new(x, y)]
    };
    let finding = |p: &PlaceReport, value, limit, what| Measured {
        on: plate.plate.clone(),
        at: p.name.clone(),
        what,
        value,
        limit,
        places: places(p),
        mend: "a thicker plate, a larger fillet, or one more bolt near the load",
        spot,
    };
    let by =
        |of: fn(&PlaceReport) -> f64| plate.places.iter().min_by(|a, b| of(a).total_cmp(&of(b)));
    if let Some(p) = by(|p| p.yield_safety) {
        let what = format!("{}, {:.1} MPa at {}", p.case, p.von_mises_mpa, words(p));
        out.push(YIELD.judge(finding(p, p.yield_safety, YIELD_SAFETY, what)));
    }
    if let Some(p) = by(|p| p.fatigue_safety.unwrap_or(f64::INFINITY))
        && let Some(safety) = p.fatigue_safety
    {
        let cycle = p.fatigue_cycle.clone().unwrap_or_default();
        let what = format!("{cycle}, {}", words(p));
        out.push(FATIGUE.judge(finding(p, safety, FATIGUE_SAFETY, what)));
    }
    let greatest = plate
        .places
        .iter()
        .max_by(|a, b| a.von_mises_mpa.total_cmp(&b.von_mises_mpa));
    if let Some(p) = greatest
        && let Some(moved) = plate.peak_change
    {
        let what = words(p);
        let mut m = finding(p, 100.0 * moved, 100.0 * change, what);
        m.mend = "";
        out.push(SETTLED.judge(m));
    }
}

/// The worst span of every pulley the set carries.
fn entry_angles(done: &Calculated, s: &Sources<'_>) -> Vec<Finding> {
    let as_built = |pulley: &str, span: &str| -> f64 {
        let Some((_, analysis)) = s.drive else {
            return 0.0;
        };
        analysis
            .alignment
            .spans
            .iter()
            .find(|a| format!("span {}", a.number) == span)
            .map_or(0.0, |a| {
                if a.from == pulley {
                    a.leaving_deg.abs()
                } else {
                    a.entry_deg.abs()
                }
            })
    };
    done.model
        .pulleys
        .iter()
        .filter_map(|p| {
            let (angle, span, case) = done
                .strength
                .report
                .pulleys
                .iter()
                .filter(|r| r.pulley == p.id && (r.case == IDLE || r.case == TOP))
                .flat_map(|r| r.spans.iter().map(move |e| (e, &r.case)))
                .map(|(e, case)| {
                    let built = as_built(&p.id, &e.span);
                    (built + e.total_deg.abs(), &e.span, case)
                })
                .max_by(|a, b| a.0.total_cmp(&b.0))?;
            Some(
                ENTRY.judge(Measured {
                    on: p.id.clone(),
                    at: span.clone(),
                    what: format!("{span}, {case}"),
                    value: angle,
                    limit: ENTRY_ANGLE_DEG,
                    places: Vec::new(),
                    mend: "a thicker plate, or a bolt nearer to the pulley",
                    spot: s
                        .loaded
                        .job
                        .drive
                        .as_ref()
                        .map_or(Spot::NOWHERE, |d| d.spot),
                }),
            )
        })
        .collect()
}

/// The firing order's name in the excitation.
const FIRING: &str = "firing";

fn first_mode(done: &Calculated) -> Option<Finding> {
    let report = &done.strength.report;
    let m = report
        .campbell
        .iter()
        .find(|m| m.mode == 1 && m.order == FIRING)?;
    Some(FIRST_MODE.judge(Measured {
        on: SET.to_owned(),
        at: "mode 1".to_owned(),
        what: format!(
            "{:.1} Hz, mostly {}, against {:.1} Hz",
            m.hz,
            moves(done, 1),
            m.top_hz
        ),
        value: m.hz / m.top_hz,
        limit: OVER_FIRING,
        places: Vec::new(),
        mend: "stiffen what carries the part that moves most: thickness, a wider web, one more bolt",
        spot: Spot::NOWHERE,
    }))
}

/// What moves most in a mode.
fn moves(done: &Calculated, mode: usize) -> String {
    done.strength
        .report
        .modes
        .iter()
        .find(|m| m.mode == mode)
        .and_then(|m| m.moves.first())
        .map_or_else(|| "nothing".to_owned(), |(name, _)| name.clone())
}

/// The mode nearest to each order but firing's.
fn other_orders(done: &Calculated) -> Vec<Finding> {
    let report = &done.strength.report;
    done.model
        .excitation
        .orders
        .iter()
        .filter(|o| o.id != FIRING)
        .filter_map(|o| {
            let clear = |m: &Meeting| m.above_top.max(m.below_idle);
            let m = report
                .campbell
                .iter()
                .filter(|m| m.order == o.id)
                .min_by(|a, b| clear(a).total_cmp(&clear(b)))?;
            let met = if m.is_met {
                format!(", met at {:.0} rpm", m.at_rpm)
            } else {
                String::new()
            };
            Some(ORDERS.judge(Measured {
                on: SET.to_owned(),
                at: format!("mode {}", m.mode),
                what: format!(
                    "mode {} at {:.1} Hz, mostly {}, against {} (order {}){met}",
                    m.mode,
                    m.hz,
                    moves(done, m.mode),
                    o.id,
                    o.per_turn
                ),
                value: clear(m),
                limit: CLEAR_OF_ORDERS,
                places: Vec::new(),
                mend: "",
                spot: Spot::NOWHERE,
            }))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_unique_and_in_order() {
        let ids: Vec<&str> = RULES.iter().map(|r| r.id).collect();
        let mut sorted = ids.clone();
        sorted.sort_unstable();
        sorted.dedup();
        assert_eq!(ids, sorted);
    }

    #[test]
    fn a_limit_met_to_the_printed_digits_holds() {
        let m = |value| Measured {
            on: "a".into(),
            at: String::new(),
            what: String::new(),
            value,
            limit: YIELD_SAFETY,
            places: Vec::new(),
            mend: "more",
            spot: Spot::NOWHERE,
        };
        assert_eq!(YIELD.judge(m(1.499_97)).verdict, Verdict::Holds);
        assert_eq!(YIELD.judge(m(1.499_9)).verdict, Verdict::Fails);
        // A value that is no number never holds.
        assert_eq!(YIELD.judge(m(f64::NAN)).verdict, Verdict::Fails);
    }
}
