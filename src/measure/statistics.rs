//! The normal and chi-square distributions, as far as judging readings needs them.

use std::f64::consts::SQRT_2;

/// Level of the test of a single reading: one good reading in a thousand is doubted.
///
/// Source: W. Baarda, A testing procedure for use in geodetic networks,
/// Netherlands Geodetic Commission 2/5, 1968: α₀ = 0.001.
pub const DOUBT_LEVEL: f64 = 0.001;

/// Normalised residual above which a reading is doubted: the two-sided normal quantile of [`DOUBT_LEVEL`].
pub const DOUBT_LIMIT: f64 = 3.290_526_731_491_926;

/// Noncentrality at which a blunder is found four times in five.
///
/// δ₀ = quantile(1 − α₀/2) + quantile(0.80) = 3.29 + 0.84; source: Baarda 1968, as above.
pub const DETECTION_SHIFT: f64 = 4.132_147_965_064_806;

/// How often a stated region holds the true value.
pub const CONFIDENCE: f64 = 0.95;

/// Two-sided normal quantile of [`CONFIDENCE`].
pub const NORMAL_95: f64 = 1.959_963_984_540_054;

/// Square root of the chi-square quantile of [`CONFIDENCE`] with two degrees of freedom:
/// semi-axes of a 95 % ellipse in standard deviations.
pub const ELLIPSE_95: f64 = 2.447_746_830_680_816;

/// Logarithm of the gamma function for `x` > 0.
///
/// Source: Lanczos approximation, g = 7, 9 coefficients (Numerical Recipes,
/// 3rd ed., 6.1; relative error below 1e-14).
fn ln_gamma(x: f64) -> f64 {
    const C: [f64; 9] = [
        0.999_999_999_999_809_9,
        676.520_368_121_885_1,
        -1_259.139_216_722_402_8,
        771.323_428_777_653_1,
        -176.615_029_162_140_6,
        12.507_343_278_686_905,
        -0.138_571_095_265_720_12,
        9.984_369_578_019_572e-6,
        1.505_632_735_149_311_6e-7,
    ];
    if x < 0.5 {
        let pi = std::f64::consts::PI;
        return (pi / (pi * x).sin()).ln() - ln_gamma(1.0 - x);
    }
    let x = x - 1.0;
    let t = x + 7.5;
    let sum: f64 = C[0]
        + C.iter()
            .enumerate()
            .skip(1)
            .map(|(i, c)| c / (x + i as f64))
            .sum::<f64>();
    0.5 * (2.0 * std::f64::consts::PI).ln() + (x + 0.5) * t.ln() - t + sum.ln()
}

/// Lower regularised incomplete gamma function P(a, x): series below a + 1, continued fraction above.
fn gamma_p(a: f64, x: f64) -> f64 {
    const STEPS: usize = 1000;
    if x <= 0.0 {
        return 0.0;
    }
    let front = (a * x.ln() - x - ln_gamma(a)).exp();
    if x < a + 1.0 {
        let mut term = 1.0 / a;
        let mut sum = term;
        for n in 1..STEPS {
            term *= x / (a + n as f64);
            sum += term;
            if term < 1e-17 * sum {
                break;
            }
        }
        return (front * sum).min(1.0);
    }
    // Lentz's method for the upper function.
    let tiny = 1e-300;
    let mut b = x + 1.0 - a;
    let mut c = 1.0 / tiny;
    let mut d = 1.0 / b;
    let mut h = d;
    for n in 1..STEPS {
        let an = -(n as f64) * (n as f64 - a);
        b += 2.0;
        d = 1.0 / (an * d + b);
        c = b + an / c;
        let step = c * d;
        h *= step;
        if (step - 1.0).abs() < 1e-16 {
            break;
        }
    }
    (1.0 - front * h).clamp(0.0, 1.0)
}

/// Probability that a chi-square value with `freedom` degrees of freedom stays below `value`.
///
/// Returns 1 for no degree of freedom: nothing can exceed nothing.
pub fn chi_square_below(value: f64, freedom: usize) -> f64 {
    if freedom == 0 {
        return 1.0;
    }
    gamma_p(0.5 * freedom as f64, 0.5 * value)
}

/// The value a chi-square variable with `freedom` degrees of freedom stays below with probability `share`.
///
/// `share` in (0, 1); found by bisection to 1e-12 of the value. 0 for no degree of freedom.
pub fn chi_square_quantile(share: f64, freedom: usize) -> f64 {
    if freedom == 0 {
        return 0.0;
    }
    let mut high = freedom as f64 + 10.0;
    while chi_square_below(high, freedom) < share && high < 1e6 {
        high *= 2.0;
    }
    let mut low = 0.0;
    for _ in 0..200 {
        let mid = 0.5 * (low + high);
        if chi_square_below(mid, freedom) < share {
            low = mid;
        } else {
            high = mid;
        }
        if high - low < 1e-12 * high {
            break;
        }
    }
    0.5 * (low + high)
}

/// Probability that a standard normal value lies within ±`z`.
pub fn normal_within(z: f64) -> f64 {
    // P(|Z| < z) = P(χ²₁ < z²)
    gamma_p(0.5, (z / SQRT_2).powi(2))
}

/// A fixed sequence of standard normal numbers, the same in every run.
///
/// splitmix64 (Steele, Lea and Flood, OOPSLA 2014) feeding the Box-Muller transform.
#[derive(Debug, Clone)]
pub struct NormalSequence {
    state: u64,
    spare: Option<f64>,
}

impl NormalSequence {
    /// The sequence that belongs to `seed`.
    pub fn new(seed: u64) -> Self {
        Self {
            state: seed,
            spare: None,
        }
    }

    /// The next number, uniform in (0, 1).
    pub fn uniform(&mut self) -> f64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^= z >> 31;
        ((z >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    /// The next standard normal number.
    pub fn normal(&mut self) -> f64 {
        if let Some(z) = self.spare.take() {
            return z;
        }
        let radius = (-2.0 * self.uniform().ln()).sqrt();
        let (sin, cos) = (2.0 * std::f64::consts::PI * self.uniform()).sin_cos();
        self.spare = Some(radius * sin);
        radius * cos
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chi_square_quantiles_are_those_of_the_printed_table() {
        // Printed tables, e.g. NIST/SEMATECH e-Handbook 1.3.6.7.4.
        for (freedom, share, value) in [
            (1, 0.95, 3.841),
            (2, 0.95, 5.991),
            (10, 0.95, 18.307),
            (30, 0.99, 50.892),
            (100, 0.95, 124.342),
        ] {
            assert!((chi_square_quantile(share, freedom) - value).abs() < 6e-4);
        }
    }

    #[test]
    fn the_constants_are_the_quantiles_they_claim_to_be() {
        assert!((normal_within(DOUBT_LIMIT) - (1.0 - DOUBT_LEVEL)).abs() < 1e-13);
        assert!((normal_within(NORMAL_95) - CONFIDENCE).abs() < 1e-13);
        assert!((chi_square_below(ELLIPSE_95 * ELLIPSE_95, 2) - CONFIDENCE).abs() < 1e-13);
        assert!((normal_within(DETECTION_SHIFT - DOUBT_LIMIT) - 0.6).abs() < 1e-12);
    }

    #[test]
    fn the_normal_sequence_has_mean_0_and_variance_1() {
        let mut s = NormalSequence::new(7);
        let v: Vec<f64> = (0..20_000).map(|_| s.normal()).collect();
        let mean = v.iter().sum::<f64>() / 2e4;
        let var = v.iter().map(|x| x * x).sum::<f64>() / 2e4;
        // three standard deviations of the estimates
        assert!(mean.abs() < 0.0213);
        assert!((var - 1.0).abs() < 0.03);
    }
}
