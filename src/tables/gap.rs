//! Least gaps between bodies by what they are.

use std::collections::BTreeMap;
use std::fmt;

use serde::{Deserialize, Serialize};

use super::table::{Confidence, Table, row};

/// What a body is, as far as its distance to others matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Kind {
    /// A part that stands still on the engine.
    Fixed,
    /// A part that turns or swings: pulley, fan, tensioner arm.
    Moving,
    /// A belt.
    Belt,
    /// A hose with its clamps, or a cable.
    Hose,
    /// Exhaust and turbocharger.
    Hot,
    /// Space that must stay free.
    KeepOut,
    /// Space a tool needs while fitting.
    Tool,
}

impl fmt::Display for Kind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Fixed => "fixed",
            Self::Moving => "moving",
            Self::Belt => "belt",
            Self::Hose => "hose",
            Self::Hot => "hot",
            Self::KeepOut => "keep-out",
            Self::Tool => "tool",
        })
    }
}

/// Least gap of one pair of kinds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GapLimit {
    /// One kind.
    pub first: Kind,
    /// The other.
    pub second: Kind,
    /// Least gap, mm.
    pub minimum_mm: f64,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(GapLimit, "gap between", "gaps.csv", |r|
name: format!("{} and {}", r.first.min(r.second), r.first.max(r.second)),
check: if r.minimum_mm.is_finite() && r.minimum_mm >= 0.0 {
    Ok(())
} else {
    Err(format!("minimum_mm = {} must be 0 or more", r.minimum_mm))
});

/// The standard least gaps.
pub type GapLimits = Table<GapLimit>;

/// Least gaps as a shop uses them: the standard rows, some of them changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Limits(BTreeMap<(Kind, Kind), (f64, String)>);

impl Limits {
    /// The rows compiled in.
    #[must_use]
    pub fn standard() -> Self {
        Self(
            GapLimits::standard()
                .rows()
                .iter()
                .map(|r| (ordered(r.first, r.second), (r.minimum_mm, r.source.clone())))
                .collect(),
        )
    }

    /// Changes the least gap of a pair of kinds.
    pub fn set(&mut self, first: Kind, second: Kind, minimum_mm: f64, source: impl Into<String>) {
        self.0
            .insert(ordered(first, second), (minimum_mm, source.into()));
    }

    /// Least gap of a pair of kinds, mm, and its source; `None` where the two need not keep apart
    /// (two keep-outs, two tools).
    #[must_use]
    pub fn limit(&self, first: Kind, second: Kind) -> Option<(f64, &str)> {
        self.0
            .get(&ordered(first, second))
            .map(|(mm, source)| (*mm, source.as_str()))
    }

    /// The greatest of all least gaps, mm.
    #[must_use]
    pub fn greatest_mm(&self) -> f64 {
        self.0.values().map(|v| v.0).fold(0.0, f64::max)
    }
}

fn ordered(a: Kind, b: Kind) -> (Kind, Kind) {
    (a.min(b), a.max(b))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_limit_does_not_care_for_order_and_can_be_changed() {
        let mut l = Limits::standard();
        assert_eq!(
            l.limit(Kind::Hot, Kind::Hose),
            l.limit(Kind::Hose, Kind::Hot)
        );
        assert!(l.limit(Kind::Tool, Kind::Tool).is_none());
        l.set(Kind::Hot, Kind::Hose, 40.0, "the shop's rule");
        assert_eq!(
            l.limit(Kind::Hose, Kind::Hot),
            Some((40.0, "the shop's rule"))
        );
    }

    #[test]
    fn every_pair_of_real_bodies_has_a_limit() {
        let l = Limits::standard();
        let real = [Kind::Fixed, Kind::Moving, Kind::Belt, Kind::Hose, Kind::Hot];
        for a in real {
            for b in real {
                assert!(l.limit(a, b).is_some(), "{a} and {b}");
            }
            assert!(l.limit(a, Kind::Tool).is_some() && l.limit(a, Kind::KeepOut).is_some());
        }
    }
}
