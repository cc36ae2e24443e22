//! The limits a drive is judged by, each with its source.

use super::input::{Duty, Side};

/// Source line of limits that the trade uses without a document behind them.
pub const PRACTICE: &str = "common practice, no source";

/// Source line of quantities that follow from the drive's own data.
pub const OWN_DATA: &str = "the drive's own data";

/// Least wrap of a pulley by what it drives, deg. Common practice, no source.
///
/// Crank ≥ 150, alternator ≥ 120, compressor ≥ 120, pumps ≥ 90 (back side
/// too), idlers and tensioners ≥ 20; anything else that takes torque is held
/// to a pump's 90.
#[must_use]
pub const fn least_wrap_deg(duty: Duty) -> f64 {
    match duty {
        Duty::Crank => 150.0,
        Duty::Alternator | Duty::Compressor => 120.0,
        Duty::HydraulicPump | Duty::CoolantPump | Duty::Other => 90.0,
        Duty::Idler | Duty::Tensioner => 20.0,
    }
}

/// Effective friction taken for the slip check: 0.5 on ribs (practice 0.5–1.2), 0.3 on the back (0.3–0.45).
///
/// The low end of each range, so that a wet or glazed belt still holds. Common practice, no source.
#[must_use]
pub const fn usual_friction(side: Side) -> f64 {
    match side {
        Side::Rib => 0.5,
        Side::Back => 0.3,
    }
}

/// Length tolerance of a belt, half range over length. Common practice, no source.
pub const LENGTH_TOLERANCE: f64 = 0.005;

/// Stretch and wear over life, over length (0.007 to 0.015). Common practice, no source.
pub const LIFE_STRETCH: f64 = 0.010;

/// Static tension left after running in with fixed centres, over the set tension. Common practice, no source.
pub const KEPT_TENSION: f64 = 0.7;

/// Greatest share of a tensioner's travel used between shortest belt and end of life. Common practice, no source.
pub const TRAVEL_USED: f64 = 2.0 / 3.0;

/// Least angle between hub load and arm, deg; the greatest is its supplement, 120. Common practice, no source.
pub const HUB_TO_ARM_DEG: f64 = 60.0;

/// Least room over the rim when the belt is slipped on, mm. Follows from geometry: the belt does not stretch by hand.
pub const SLIP_ON_MM: f64 = 0.0;

/// Least slip margin of a loaded pulley. Common practice, no source.
pub const SLIP_MARGIN: f64 = 1.3;

/// Greatest effective tight over slack tension (3 to 5). Common practice, no source.
pub const TENSION_RATIO: f64 = 4.0;

/// Greatest tension per rib, N (45–80 steady, 110–130 at peaks, PK). Common practice, no source.
///
/// Other sections are scaled by the area of a rib, pitch × height, against PK.
pub const PK_TENSION_PER_RIB_N: f64 = 130.0;

/// Least tension per rib of the slackest span at rest or running, N. Common practice, no source.
///
/// Below about a third of the usual 45 N steady a belt flaps and squeals on load steps.
pub const PK_SLACK_PER_RIB_N: f64 = 15.0;

/// Area of a PK rib, pitch × height, mm²: the measure by which per-rib limits are scaled to other sections.
pub const PK_RIB_AREA_MM2: f64 = 3.56 * 5.0;

/// Least distance of a span's frequency from the firing frequency at a held speed, over the firing frequency.
/// Common practice, no source.
pub const SPAN_SEPARATION: f64 = 0.15;

/// Greatest parallel offset, mm per 100 mm of span. SAE J1596 (cancelled 2019), read in a quotation.
pub const OFFSET_PER_100_MM: f64 = 0.58;

/// Greatest entry angle as built, deg: atan(0.58 / 100). SAE J1596 (cancelled 2019), read in a quotation.
pub const ENTRY_ANGLE_DEG: f64 = 0.332_312;

/// Greatest entry angle with tolerances as root sum square, deg ("good" 0.5). Common practice, no source.
pub const ENTRY_ANGLE_RSS_DEG: f64 = 0.5;

/// Greatest entry angle with every tolerance at its worst, deg; noise starts at 1 to 3. Common practice, no source.
pub const ENTRY_ANGLE_WORST_DEG: f64 = 1.0;

/// Least gap from the belt to a fixed part, mm. Common practice, no source.
pub const BELT_TO_FIXED_MM: f64 = 10.0;

/// Least gap from a span to a pulley it passes, mm. Common practice, no source.
pub const BELT_TO_PULLEY_MM: f64 = 8.0;

/// Least gap between two spans, mm. Common practice, no source.
pub const BELT_TO_BELT_MM: f64 = 10.0;

/// Least gap between two pulleys, belt included, mm. Common practice, no source.
pub const PULLEY_TO_PULLEY_MM: f64 = 6.0;

/// Least gap from a pulley to a fixed part, mm. Common practice, no source.
pub const PULLEY_TO_FIXED_MM: f64 = 6.0;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_entry_angle_is_the_parallel_offset_over_its_span() {
        let deg = (OFFSET_PER_100_MM / 100.0).atan().to_degrees();
        assert!((deg - ENTRY_ANGLE_DEG).abs() < 1e-6);
    }
}
