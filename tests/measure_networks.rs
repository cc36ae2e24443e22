//! A thousand random networks with known truth: is the stated uncertainty true, and are blunders named?
//!
//! What is achieved with 1 mm planted in one reading, named alone or in a
//! stated group of readings that explain it as well:
//!
//! - 97.5 % of 713 readings that the result itself calls checked to 1 mm
//!   ("finds" at most 1.00), in networks with two readings to spare;
//! - 97.8 % of any reading where every hole has two readings to spare;
//! - 90.7 % of 792 readings taken anywhere in a network with two to spare.
//!
//! The last cannot reach 95 %: 56 of its 74 misses are readings of which at
//! most a few hundredths of an error show in any residual, so that 1 mm stays
//! below the limit of the test. The table of readings says so beforehand.
//! Of the 18 others seven stay just below the limit because the noise works
//! against the blunder; the rest end in another shape or in a group of more
//! suspects than are tried. Three of 926 clean networks settle on another
//! shape that the readings fit by chance: two say nothing of it, one warns
//! that the readings scatter more than stated.

mod measure_support;

use measure_support::{Simulated, simulate};
use platewright::measure::statistics::{ELLIPSE_95, chi_square_quantile};
use platewright::measure::{Matter, Options, Survey, solve};

const NETWORKS: u64 = 1000;

/// Network number `k`: 4 to 12 holes, three to six readings at each.
fn network(k: u64) -> Simulated {
    let holes = 4 + (k % 9) as usize;
    let reach = 3 + (k / 9 % 4) as usize;
    simulate(1000 + k, holes, reach)
}

/// (x̂ − x)ᵀ Σ⁻¹ (x̂ − x) over the free coordinates, and their number.
fn mahalanobis(survey: &Survey, truth: &[[f64; 2]]) -> (f64, usize) {
    let free: Vec<usize> = (0..2 * truth.len())
        .filter(|i| survey.covariance_mm2[*i][*i] > 0.0)
        .collect();
    let gap: Vec<f64> = free
        .iter()
        .map(|i| {
            let h = &survey.holes[i / 2];
            if i % 2 == 0 {
                h.x_mm - truth[i / 2][0]
            } else {
                h.y_mm - truth[i / 2][1]
            }
        })
        .collect();
    let matrix: Vec<Vec<f64>> = free
        .iter()
        .map(|i| free.iter().map(|j| survey.covariance_mm2[*i][*j]).collect())
        .collect();
    let solved = gauss(matrix, gap.clone());
    (
        gap.iter().zip(&solved).map(|(a, b)| a * b).sum(),
        free.len(),
    )
}

/// Gaussian elimination with row exchange, independent of the library's factor.
fn gauss(mut m: Vec<Vec<f64>>, mut b: Vec<f64>) -> Vec<f64> {
    let n = b.len();
    for c in 0..n {
        let p = (c..n)
            .max_by(|i, j| m[*i][c].abs().total_cmp(&m[*j][c].abs()))
            .unwrap_or(c);
        m.swap(c, p);
        b.swap(c, p);
        for r in c + 1..n {
            let f = m[r][c] / m[c][c];
            let pivot = m[c].clone();
            for (entry, above) in m[r].iter_mut().zip(&pivot).skip(c) {
                *entry -= f * above;
            }
            b[r] -= f * b[c];
        }
    }
    for c in (0..n).rev() {
        for k in c + 1..n {
            b[c] -= m[c][k] * b[k];
        }
        b[c] /= m[c][c];
    }
    b
}

#[test]
fn the_true_pattern_lies_within_the_stated_95_percent_region_95_times_in_100() {
    let (mut within, mut holes_within, mut holes, mut solved, mut several) = (0, 0, 0, 0, 0);
    let mut refused = Vec::new();
    for k in 0..NETWORKS {
        let s = network(k);
        let survey = match solve(
            &s.network,
            Options {
                keep_doubtful: true,
                ..Options::default()
            },
        ) {
            Ok(survey) => survey,
            Err(findings) => {
                refused.push(format!(
                    "{k}: {}",
                    findings
                        .iter()
                        .map(ToString::to_string)
                        .collect::<Vec<_>>()
                        .join("; ")
                ));
                continue;
            }
        };
        if survey.findings.iter().any(|f| f.matter == Matter::Mirror) {
            several += 1;
            continue;
        }
        solved += 1;
        let (m2, free) = mahalanobis(&survey, &s.truth);
        if m2 <= chi_square_quantile(0.95, free) {
            within += 1;
        } else if m2 > 10.0 * chi_square_quantile(0.95, free) {
            println!(
                "network {k}: {m2:.1} for {free}: {:?}",
                survey
                    .findings
                    .iter()
                    .map(ToString::to_string)
                    .collect::<Vec<_>>()
            );
        }
        for (h, t) in survey.holes.iter().zip(&s.truth) {
            if h.sd_x_mm == 0.0 || h.sd_y_mm == 0.0 {
                continue;
            }
            holes += 1;
            let e = h.ellipse;
            let (sin, cos) = e.direction_deg.to_radians().sin_cos();
            let (dx, dy) = (h.x_mm - t[0], h.y_mm - t[1]);
            let (u, v) = (dx * cos + dy * sin, dy * cos - dx * sin);
            holes_within += usize::from((u / e.major_mm).powi(2) + (v / e.minor_mm).powi(2) <= 1.0);
        }
    }
    println!("refused {}: {:#?}", refused.len(), refused);
    let rate = f64::from(within) / f64::from(solved);
    let hole_rate = holes_within as f64 / f64::from(holes);
    println!(
        "solved {solved}, several shapes {several}; whole pattern {rate:.4}; single holes {hole_rate:.4} of {holes}; 95 % factor {ELLIPSE_95}"
    );
    assert!((rate - 0.95).abs() <= 0.02, "whole pattern inside {rate}");
    assert!(
        (hole_rate - 0.95).abs() <= 0.02,
        "single holes inside {hole_rate}"
    );
    assert!(refused.len() <= 20, "{} networks refused", refused.len());
}

/// What became of planted blunders.
#[derive(Debug, Default)]
struct Tally {
    planted: u32,
    /// Named, alone or among several.
    named: u32,
    /// The one reading named.
    alone: u32,
}

impl Tally {
    /// Plants 1 mm in reading `victim` and looks whether it is named.
    fn plant(&mut self, k: u64, mut s: Simulated, victim: usize) -> bool {
        s.network.readings[victim].value_mm += if k.is_multiple_of(2) { 1.0 } else { -1.0 };
        self.planted += 1;
        let findings = match solve(&s.network, Options::default()) {
            Ok(survey) => survey.findings,
            Err(findings) => findings,
        };
        let accusing: Vec<_> = findings
            .iter()
            .filter(|f| {
                matches!(
                    f.matter,
                    Matter::Doubtful | Matter::InchSlip | Matter::ImpossibleTriangle
                )
            })
            .collect();
        let named = accusing.iter().any(|f| f.sources.contains(&victim));
        self.named += u32::from(named);
        self.alone += u32::from(accusing.len() == 1 && accusing[0].sources == [victim]);
        named
    }

    fn rate(&self) -> f64 {
        f64::from(self.named) / f64::from(self.planted)
    }
}

#[test]
fn a_blunder_of_1_mm_is_named_in_95_of_100_networks_with_two_readings_to_spare() {
    // Any network with two readings to spare; the blunder in a reading that the result itself calls checked to 1 mm.
    let mut checked = Tally::default();
    let mut any = Tally::default();
    for k in 0..NETWORKS {
        let s = network(k);
        let Ok(clean) = solve(&s.network, Options::default()) else {
            continue;
        };
        if clean.redundancy < 2 {
            continue;
        }
        let victim = (k as usize * 7) % s.network.readings.len();
        let detectable = clean.readings[victim]
            .detectable_mm
            .is_some_and(|d| d <= 1.0);
        let named = any.plant(k, network(k), victim);
        if detectable {
            checked.planted += 1;
            checked.named += u32::from(named);
        }
    }
    println!(
        "any reading: {any:?} {:.4}; checked ones: {checked:?} {:.4}",
        any.rate(),
        checked.rate()
    );
    assert!(checked.planted > 500);
    assert!(checked.rate() >= 0.95);
}

#[test]
fn a_blunder_of_1_mm_in_any_reading_is_named_where_every_hole_has_two_readings_to_spare() {
    let mut tally = Tally::default();
    for k in 0..NETWORKS {
        let holes = 5 + (k % 8) as usize;
        let reach = 4 + (k / 8 % 3) as usize;
        let s = simulate(50_000 + k, holes, reach);
        let victim = (k as usize * 5) % s.network.readings.len();
        if !tally.plant(k, s, victim) {
            println!("missed: network {k}, {holes} holes, {reach} at each");
        }
    }
    println!("{tally:?} {:.4}", tally.rate());
    assert!(tally.rate() >= 0.95);
}
