//! Torque an accessory takes at its load point.

use std::f64::consts::PI;

use super::input::Load;

/// Straight-line interpolation in ascending points, constant beyond the ends; 0 without points.
#[must_use]
pub fn interpolate(points: &[(f64, f64)], x: f64) -> f64 {
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return 0.0;
    };
    if x <= first.0 {
        return first.1;
    }
    for pair in points.windows(2) {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        if x <= x1 {
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0);
        }
    }
    last.1
}

/// Angular speed of `rpm`, rad/s.
#[must_use]
pub fn rad_per_s(rpm: f64) -> f64 {
    rpm * PI / 30.0
}

/// Shaft torque of an electrical machine, N·m: V·I / (η·ω).
#[must_use]
pub fn electrical_torque_nm(volts: f64, amps: f64, efficiency: f64, rpm: f64) -> f64 {
    volts * amps / (efficiency * rad_per_s(rpm))
}

/// Belt tension difference that carries `torque_nm` at `radius_mm`, N.
#[must_use]
pub fn tension_difference_n(torque_nm: f64, radius_mm: f64) -> f64 {
    1000.0 * torque_nm / radius_mm
}

impl Load {
    /// Torque taken at a shaft speed above 0, N·m.
    #[must_use]
    pub fn torque_nm(&self, shaft_rpm: f64) -> f64 {
        match self {
            Self::None => 0.0,
            Self::Torque { points } => interpolate(points, shaft_rpm),
            Self::Electrical {
                volts,
                amps,
                efficiency,
            } => electrical_torque_nm(*volts, interpolate(amps, shaft_rpm), *efficiency, shaft_rpm),
            Self::Power { points } => {
                1000.0 * interpolate(points, shaft_rpm) / rad_per_s(shaft_rpm)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn interpolation_is_exact_at_points_and_constant_outside() {
        let points = [(1.0, 10.0), (2.0, 30.0), (4.0, 0.0)];
        for (x, y) in [
            (0.0, 10.0),
            (1.0, 10.0),
            (1.5, 20.0),
            (2.0, 30.0),
            (3.0, 15.0),
            (9.0, 0.0),
        ] {
            assert!((interpolate(&points, x) - y).abs() < 1e-12, "at {x}");
        }
        assert!(interpolate(&[], 1.0).abs() < 1e-12);
    }

    #[test]
    fn power_over_speed_is_torque() {
        let load = Load::Power {
            points: vec![(1000.0, 3.0)],
        };
        assert!((load.torque_nm(1000.0) * rad_per_s(1000.0) - 3000.0).abs() < 1e-9);
    }
}
