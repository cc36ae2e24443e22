//! What stops a drive from being computed: unusable input, and the reasons why no belt path exists.

use serde::Serialize;
use thiserror::Error;

/// Why a drive cannot be computed. Every case names the pulleys and the numbers.
#[derive(Debug, Clone, PartialEq, Error, Serialize)]
#[serde(rename_all = "kebab-case", tag = "fault")]
pub enum Fault {
    /// A value is missing, not finite or out of range.
    #[error("{what} is {value}, {want}")]
    Value {
        /// What the value is, with its owner.
        what: String,
        /// The value given.
        value: String,
        /// What would be right.
        want: String,
    },
    /// Two pulleys occupy the same place.
    #[error(
        "pulleys `{a}` and `{b}` overlap: their centres are {distance_mm:.3} mm apart, {least_mm:.3} mm is the least"
    )]
    Overlap {
        /// One pulley.
        a: String,
        /// The other.
        b: String,
        /// Centre distance, mm.
        distance_mm: f64,
        /// Centre distance at which they touch, mm.
        least_mm: f64,
    },
    /// The belt runs straight past a pulley.
    #[error(
        "the belt does not reach pulley `{pulley}`: from `{before}` to `{after}` it runs {clear_mm:.3} mm clear of it; move `{pulley}` towards the belt by more than that"
    )]
    WrapVanishes {
        /// Pulley without wrap.
        pulley: String,
        /// Pulley before it along the belt.
        before: String,
        /// Pulley after it.
        after: String,
        /// How far the straight run passes the pulley, mm.
        clear_mm: f64,
    },
    /// A span runs through another pulley.
    #[error(
        "the span from `{from}` to `{to}` cuts {cut_mm:.3} mm into pulley `{pulley}`, which it should pass"
    )]
    SpanCutsPulley {
        /// Pulley the span leaves.
        from: String,
        /// Pulley it arrives at.
        to: String,
        /// Pulley in the way.
        pulley: String,
        /// How deep, mm.
        cut_mm: f64,
    },
    /// Two spans cross.
    #[error(
        "the belt would cross itself: the span from `{from}` to `{to}` meets the span from `{other_from}` to `{other_to}` at x {x_mm:.3}, y {y_mm:.3} mm; check the order of the pulleys and which side of the belt each takes"
    )]
    BeltCrosses {
        /// Pulley the first span leaves.
        from: String,
        /// Pulley it arrives at.
        to: String,
        /// Pulley the second span leaves.
        other_from: String,
        /// Pulley it arrives at.
        other_to: String,
        /// Where, mm.
        x_mm: f64,
        /// Where, mm.
        y_mm: f64,
    },
    /// The loop does not close with one turn.
    #[error(
        "the belt would turn {turns} times round instead of once: check the order of the pulleys and which side of the belt each takes"
    )]
    NotOneTurn {
        /// Turns made.
        turns: i32,
    },
    /// What stands in the way if the list of pulleys runs against the travel.
    #[error("read against the travel: {}", joined(.faults))]
    AgainstTheList {
        /// The faults of that reading.
        faults: Vec<Fault>,
    },
    /// The belt is shorter than any arm or slot position allows.
    #[error("a belt of {length_mm:.3} mm cannot be fitted: {least_mm:.3} mm is the shortest, {at}")]
    TooShort {
        /// Effective belt length asked for, mm.
        length_mm: f64,
        /// Shortest length the take-up allows, mm.
        least_mm: f64,
        /// Where that is reached.
        at: String,
    },
    /// The belt is longer than any arm or slot position takes up.
    #[error("a belt of {length_mm:.3} mm stays slack: {greatest_mm:.3} mm is the longest, {at}")]
    TooLong {
        /// Effective belt length asked for, mm.
        length_mm: f64,
        /// Longest length the take-up takes up, mm.
        greatest_mm: f64,
        /// Where that is reached.
        at: String,
    },
    /// The spring would slacken the belt.
    #[error(
        "the tensioner's spring turns the arm the way that slackens the belt: at {arm_deg:.3} deg the length changes by {rate_mm_per_deg:.4} mm per degree of spring travel"
    )]
    SpringSlackens {
        /// Arm angle, deg.
        arm_deg: f64,
        /// Length gained per degree in the spring's direction, mm/deg; negative here.
        rate_mm_per_deg: f64,
    },
    /// Moving the adjusted accessory from its drawn place takes up no belt.
    #[error(
        "moving pulley `{pulley}` from where it is drawn takes up no belt (length changes by {rate_mm:.6} mm per {unit}); draw it elsewhere or move its pivot or slot"
    )]
    NoTakeUp {
        /// Adjusted pulley.
        pulley: String,
        /// Change of length per unit of travel, mm.
        rate_mm: f64,
        /// Unit of travel: `rad` or `mm`.
        unit: &'static str,
    },
}

/// Every fault found.
#[derive(Debug, Clone, PartialEq, Error, Serialize)]
#[error("{}", joined(.faults))]
pub struct Faults {
    /// At least one.
    pub faults: Vec<Fault>,
}

impl Faults {
    /// The first fault; a list from a solver has one.
    #[must_use]
    pub fn first(self) -> Option<Fault> {
        self.faults.into_iter().next()
    }
}

impl From<Fault> for Faults {
    fn from(fault: Fault) -> Self {
        Self {
            faults: vec![fault],
        }
    }
}

fn joined(faults: &[Fault]) -> String {
    let texts: Vec<String> = faults.iter().map(ToString::to_string).collect();
    texts.join("; ")
}
