//! The drive's rules: identifier, what each measures, unit, sense, weight and the source of its limit.

use serde::Serialize;

use super::limits;

/// Which way the limit holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sense {
    /// Measured must be at least the limit.
    AtLeast,
    /// Measured must be at most the limit.
    AtMost,
}

/// What a failing value means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Weight {
    /// The drive is not right.
    Must,
    /// Worth knowing; does not refuse the drive.
    Advice,
}

/// One rule of the belt family.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Rule {
    /// Identifier, `B2xx`.
    pub id: &'static str,
    /// What it measures.
    pub title: &'static str,
    /// Unit of measured value and limit.
    pub unit: &'static str,
    /// Which way the limit holds.
    pub sense: Sense,
    /// What a failure means.
    pub weight: Weight,
    /// Where the limit comes from.
    pub source: &'static str,
}

macro_rules! rules {
    ($($name:ident = $id:literal $title:literal $unit:literal $sense:ident $weight:ident $source:expr;)*) => {
        $(pub(super) const $name: Rule = Rule {
            id: $id,
            title: $title,
            unit: $unit,
            sense: Sense::$sense,
            weight: Weight::$weight,
            source: $source,
        };)*
        /// Every rule of the drive, by identifier.
        pub const RULES: &[Rule] = &[$($name),*];
    };
}

rules! {
    WRAP = "B201" "wrap" "deg" AtLeast Must limits::PRACTICE;
    SHAFT_SPEED = "B202" "shaft speed at the engine's top speed" "rpm" AtMost Must "the accessory's data";
    FULL_OUTPUT = "B203" "shaft speed at idle for full output" "rpm" AtLeast Advice "the accessory's data";
    BELT_SPEED = "B204" "belt speed at the engine's top speed" "m/s" AtMost Must "SAE J1596 (cancelled 2019) for PK; other sections common practice, no source";
    GROOVED_DIAMETER = "B205" "effective diameter" "mm" AtLeast Must "ISO 9981:2020 5.2 for PK; ISO 9982 (from memory) for other sections";
    BACK_DIAMETER = "B206" "diameter on the belt's back" "mm" AtLeast Advice "SAE J1596 (cancelled 2019) for PK; other sections common practice, no source";
    GROOVES = "B207" "grooves for the belt's ribs" "1" AtLeast Must limits::OWN_DATA;
    STOCKED = "B208" "distance to the nearest stocked length" "mm" AtMost Advice "the stock list";
    SHORT_BELT = "B210" "shortest belt over the shortest the take-up holds" "mm" AtLeast Must limits::OWN_DATA;
    LONG_BELT = "B211" "longest the take-up takes up over the belt at its end of life" "mm" AtLeast Must limits::OWN_DATA;
    TRAVEL = "B212" "share of the arm's travel used" "1" AtMost Must limits::PRACTICE;
    ARM_ANGLE = "B213" "hub load off square to the arm" "deg" AtMost Must limits::PRACTICE;
    SLIP_ON = "B214" "room to slip the belt over the rim" "mm" AtLeast Must limits::OWN_DATA;
    SAE_LENGTH = "B215" "nominal length over the least installation length" "mm" AtLeast Advice "SAE J1596 (cancelled 2019), read in a quotation";
    SLOT_FROM = "B216" "needed travel within the slot, low end" "deg or mm" AtLeast Must limits::OWN_DATA;
    SLOT_TO = "B217" "needed travel within the slot, high end" "deg or mm" AtMost Must limits::OWN_DATA;
    FIXED_LENGTH = "B218" "belt length off the drive's length, fixed centres" "mm" AtMost Must limits::OWN_DATA;
    SLIP = "B220" "slip margin" "1" AtLeast Must limits::PRACTICE;
    RATIO = "B221" "effective tight over slack tension" "1" AtMost Must limits::PRACTICE;
    RIB_TENSION = "B222" "greatest tension per rib" "N" AtMost Must limits::PRACTICE;
    SLACK_TENSION = "B223" "least tension per rib" "N" AtLeast Must limits::PRACTICE;
    SEPARATION = "B230" "span frequency off the firing frequency at a held speed" "1" AtLeast Must limits::PRACTICE;
    CROSSINGS = "B231" "speeds at which a span meets the firing order" "1" AtMost Advice limits::PRACTICE;
    OFFSET = "B240" "parallel offset per 100 mm of span" "mm" AtMost Must "SAE J1596 (cancelled 2019), read in a quotation";
    ENTRY = "B241" "entry angle" "deg" AtMost Must "SAE J1596 (cancelled 2019), read in a quotation";
    ENTRY_RSS = "B242" "entry angle, tolerances as root sum square" "deg" AtMost Must limits::PRACTICE;
    ENTRY_WORST = "B243" "entry angle, tolerances at their worst, after the fitter's correction" "deg" AtMost Must limits::PRACTICE;
    FLAT_FACE = "B244" "face left beside the belt on a flat pulley" "mm" AtLeast Must limits::OWN_DATA;
    GAP_SPAN_PULLEY = "B250" "gap from span to pulley" "mm" AtLeast Must limits::PRACTICE;
    GAP_SPAN_SPAN = "B251" "gap from span to span" "mm" AtLeast Must limits::PRACTICE;
    GAP_PULLEYS = "B252" "gap from pulley to pulley, belt included" "mm" AtLeast Must limits::PRACTICE;
    GAP_BELT_FIXED = "B253" "gap from belt to fixed part over the sweep" "mm" AtLeast Must limits::PRACTICE;
    GAP_PULLEY_FIXED = "B254" "gap from pulley to fixed part over the sweep" "mm" AtLeast Must limits::PRACTICE;
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rule_ids_ascend_without_repeats() {
        assert!(RULES.windows(2).all(|w| w[0].id < w[1].id));
        assert!(
            RULES
                .iter()
                .all(|r| r.id.starts_with("B2") && !r.source.is_empty())
        );
    }
}
