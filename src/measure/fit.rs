//! Lays a measured pattern on known ones: which one is it, how well, and which holes disagree.
//!
//! Every pair of measured holes is laid on every pair of known holes of about
//! the same length, straight and mirrored; the placing that brings most holes
//! together wins and is then refined by least squares (in the plane the
//! Procrustes rotation is one arc tangent; P. H. Schönemann, Psychometrika 31
//! (1966) 1–10).

use serde::Serialize;

use super::survey::Survey;

/// Holes further apart than this many agreement widths are not called a pair at all.
const STRANGERS: f64 = 12.0;

/// Diameters that differ by more than this are pointed out, mm: one drill size apart.
const SIZE_APART_MM: f64 = 0.5;

/// A hole of a pattern.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spot {
    /// Its name.
    pub name: String,
    /// Position, mm.
    pub x_mm: f64,
    /// Position, mm.
    pub y_mm: f64,
    /// Bore, mm, where known.
    pub bore_mm: Option<f64>,
}

/// A pattern from the library.
#[derive(Debug, Clone, PartialEq)]
pub struct KnownPattern {
    /// What it belongs to.
    pub name: String,
    /// Its holes.
    pub spots: Vec<Spot>,
}

/// How a measured pattern lies on a known one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PatternFit {
    /// Name of the known pattern.
    pub pattern: String,
    /// Whether the known pattern had to be turned over.
    pub mirrored: bool,
    /// How the known pattern is turned onto the measured one, deg counter-clockwise (after turning over, x reversed).
    pub turn_deg: f64,
    /// And then shifted, mm.
    pub shift_mm: [f64; 2],
    /// Holes that belong together, in the measured order.
    pub pairs: Vec<PairFit>,
    /// Measured holes without a partner.
    pub measured_alone: Vec<String>,
    /// Known holes without a partner.
    pub known_alone: Vec<String>,
    /// Largest gap among the pairs that agree, mm.
    pub within_mm: f64,
    /// Root mean square of those gaps, mm.
    pub rms_mm: f64,
    /// The agreement width used, mm.
    pub agree_mm: f64,
}

/// Two holes that belong together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PairFit {
    /// Name of the measured hole.
    pub measured: String,
    /// Name of the known hole.
    pub known: String,
    /// Distance between them, mm.
    pub gap_mm: f64,
    /// Whether that is within the agreement width.
    pub agrees: bool,
    /// The two bores when they differ, mm.
    pub bores_mm: Option<[f64; 2]>,
}

impl PatternFit {
    /// Pairs that agree.
    pub fn agreeing(&self) -> usize {
        self.pairs.iter().filter(|p| p.agrees).count()
    }

    /// Whether every hole of both patterns has a partner that agrees.
    pub fn is_complete(&self) -> bool {
        self.measured_alone.is_empty()
            && self.known_alone.is_empty()
            && self.agreeing() == self.pairs.len()
    }

    /// The result as a sentence.
    pub fn sentence(&self) -> String {
        let over = if self.mirrored { ", turned over" } else { "" };
        let mut parts = Vec::new();
        if self.is_complete() {
            parts.push(format!(
                "this is {}{over}, within {:.2} mm",
                self.pattern, self.within_mm
            ));
        } else {
            parts.push(format!(
                "{} of {} holes lie on {}{over} within {:.2} mm",
                self.agreeing(),
                self.pairs.len() + self.measured_alone.len(),
                self.pattern,
                self.within_mm
            ));
        }
        for p in &self.pairs {
            if !p.agrees {
                parts.push(format!(
                    "{} is {:.2} mm off {}",
                    p.measured, p.gap_mm, p.known
                ));
            }
            if let Some([a, b]) = p.bores_mm {
                parts.push(format!("{} is ⌀ {a:.2}, there it is ⌀ {b:.2}", p.measured));
            }
        }
        if !self.measured_alone.is_empty() {
            parts.push(format!(
                "nothing there for {}",
                self.measured_alone.join(", ")
            ));
        }
        if !self.known_alone.is_empty() {
            parts.push(format!(
                "nothing measured for its {}",
                self.known_alone.join(", ")
            ));
        }
        parts.join("; ")
    }
}

/// The holes of a survey as a pattern.
pub fn spots(survey: &Survey) -> Vec<Spot> {
    survey
        .holes
        .iter()
        .map(|h| Spot {
            name: h.name.clone(),
            x_mm: h.x_mm,
            y_mm: h.y_mm,
            bore_mm: h.bore_mm,
        })
        .collect()
}

/// Lays the measured pattern on every known one, the best first.
///
/// `agree_mm`: how far a hole may be off and still agree; measured patterns and
/// catalogue drawings usually meet within 0.5 mm (common practice, no source).
/// Patterns that share fewer than two holes are left out.
pub fn rank(measured: &[Spot], known: &[KnownPattern], agree_mm: f64) -> Vec<PatternFit> {
    let mut fits: Vec<PatternFit> = known
        .iter()
        .filter_map(|k| best_fit(measured, k, agree_mm))
        .collect();
    fits.sort_by(|a, b| {
        let open = |f: &PatternFit| {
            f.measured_alone.len() + f.known_alone.len() + f.pairs.len() - f.agreeing()
        };
        b.is_complete()
            .cmp(&a.is_complete())
            // Two holes always find a pair somewhere; every further one that agrees is telling, however large the pattern.
            .then(b.agreeing().cmp(&a.agreeing()))
            .then(open(a).cmp(&open(b)))
            .then(a.rms_mm.total_cmp(&b.rms_mm))
            .then(a.mirrored.cmp(&b.mirrored))
            .then(a.pattern.cmp(&b.pattern))
    });
    fits
}

/// A rigid motion, perhaps with a turn-over first.
#[derive(Debug, Clone, Copy)]
pub(super) struct Motion {
    pub(super) mirrored: bool,
    pub(super) angle: f64,
    pub(super) shift: [f64; 2],
}

impl Motion {
    /// Where it takes a point.
    pub(super) fn apply(self, p: [f64; 2]) -> [f64; 2] {
        let x = if self.mirrored { -p[0] } else { p[0] };
        let (sin, cos) = self.angle.sin_cos();
        [
            x * cos - p[1] * sin + self.shift[0],
            x * sin + p[1] * cos + self.shift[1],
        ]
    }
}

/// A placing and the pairs it makes.
type Placing = (Motion, Vec<(usize, usize)>);

/// The best placing of one known pattern; `None` when not even two holes agree.
pub fn best_fit(measured: &[Spot], known: &KnownPattern, agree_mm: f64) -> Option<PatternFit> {
    let to: Vec<[f64; 2]> = measured.iter().map(|s| [s.x_mm, s.y_mm]).collect();
    let from: Vec<[f64; 2]> = known.spots.iter().map(|s| [s.x_mm, s.y_mm]).collect();
    let usable = |v: &[[f64; 2]]| v.iter().flatten().all(|c| c.is_finite());
    if !agree_mm.is_finite() || agree_mm <= 0.0 || !usable(&to) || !usable(&from) {
        return None;
    }
    let (motion, agreeing) = best_motion(&from, &to, agree_mm, &[false, true], |_| true)?;
    Some(written(measured, known, motion, &agreeing, agree_mm))
}

/// The motion that brings most points of `from` onto points of `to`, among placings that `accept` lets through.
pub(super) fn best_motion(
    from: &[[f64; 2]],
    to: &[[f64; 2]],
    agree: f64,
    mirrors: &[bool],
    accept: impl Fn(&[(usize, usize)]) -> bool,
) -> Option<Placing> {
    let mut best: Option<(usize, f64, Placing)> = None;
    for a in 0..to.len() {
        for b in a + 1..to.len() {
            let length = distance(to[a], to[b]);
            for c in 0..from.len() {
                for d in 0..from.len() {
                    if c == d || (distance(from[c], from[d]) - length).abs() > 2.0 * agree {
                        continue;
                    }
                    for mirrored in mirrors {
                        let seed = [(c, a), (d, b)];
                        let mut motion = least_squares(from, to, &seed, *mirrored);
                        let mut pairs = partners(from, to, motion, 2.0 * agree);
                        for _ in 0..2 {
                            if pairs.len() >= 2 {
                                motion = least_squares(from, to, &pairs, *mirrored);
                            }
                            pairs = partners(from, to, motion, agree);
                        }
                        if pairs.len() < 2 || !accept(&pairs) {
                            continue;
                        }
                        let rms = rms(from, to, motion, &pairs);
                        let better = best.as_ref().is_none_or(|(n, r, (m, _))| {
                            // Equal but for rounding: the straight one, then the least turn.
                            pairs.len() > *n
                                || (pairs.len() == *n
                                    && (rms < r - 1e-6
                                        || (rms < r + 1e-6
                                            && (m.mirrored, m.angle.abs())
                                                > (*mirrored, motion.angle.abs() + 1e-9))))
                        });
                        if better {
                            best = Some((pairs.len(), rms, (motion, pairs)));
                        }
                    }
                }
            }
        }
    }
    best.map(|b| b.2)
}

/// Distance between two points.
fn distance(p: [f64; 2], q: [f64; 2]) -> f64 {
    (p[0] - q[0]).hypot(p[1] - q[1])
}

/// Root mean square gap of some pairs.
fn rms(from: &[[f64; 2]], to: &[[f64; 2]], motion: Motion, pairs: &[(usize, usize)]) -> f64 {
    let sum: f64 = pairs
        .iter()
        .map(|(f, t)| distance(motion.apply(from[*f]), to[*t]).powi(2))
        .sum();
    (sum / pairs.len().max(1) as f64).sqrt()
}

/// The motion that brings the pairs together best.
fn least_squares(
    from: &[[f64; 2]],
    to: &[[f64; 2]],
    pairs: &[(usize, usize)],
    mirrored: bool,
) -> Motion {
    let sign = if mirrored { -1.0 } else { 1.0 };
    let n = pairs.len().max(1) as f64;
    let mut middle = [[0.0; 2]; 2];
    for (f, t) in pairs {
        middle[0][0] += sign * from[*f][0] / n;
        middle[0][1] += from[*f][1] / n;
        middle[1][0] += to[*t][0] / n;
        middle[1][1] += to[*t][1] / n;
    }
    let (mut dot, mut cross) = (0.0, 0.0);
    for (f, t) in pairs {
        let p = [
            sign * from[*f][0] - middle[0][0],
            from[*f][1] - middle[0][1],
        ];
        let q = [to[*t][0] - middle[1][0], to[*t][1] - middle[1][1]];
        dot += p[0] * q[0] + p[1] * q[1];
        cross += p[0] * q[1] - p[1] * q[0];
    }
    let angle = cross.atan2(dot);
    let (sin, cos) = angle.sin_cos();
    Motion {
        mirrored,
        angle,
        shift: [
            middle[1][0] - middle[0][0] * cos + middle[0][1] * sin,
            middle[1][1] - middle[0][0] * sin - middle[0][1] * cos,
        ],
    }
}

/// Pairs each point with the nearest one within `reach`, the closest pairs first.
fn partners(from: &[[f64; 2]], to: &[[f64; 2]], motion: Motion, reach: f64) -> Vec<(usize, usize)> {
    let mut gaps: Vec<(f64, usize, usize)> = Vec::new();
    for (f, p) in from.iter().enumerate() {
        let q = motion.apply(*p);
        for (t, r) in to.iter().enumerate() {
            let gap = distance(q, *r);
            if gap <= reach {
                gaps.push((gap, f, t));
            }
        }
    }
    gaps.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2)));
    let mut used_from = vec![false; from.len()];
    let mut used_to = vec![false; to.len()];
    let mut pairs = Vec::new();
    for (_, f, t) in gaps {
        if !used_from[f] && !used_to[t] {
            used_from[f] = true;
            used_to[t] = true;
            pairs.push((f, t));
        }
    }
    pairs
}

/// Writes a placing down with names.
fn written(
    measured: &[Spot],
    known: &KnownPattern,
    motion: Motion,
    agreeing: &[(usize, usize)],
    agree_mm: f64,
) -> PatternFit {
    let to: Vec<[f64; 2]> = measured.iter().map(|s| [s.x_mm, s.y_mm]).collect();
    let from: Vec<[f64; 2]> = known.spots.iter().map(|s| [s.x_mm, s.y_mm]).collect();
    let mut pairs = agreeing.to_vec();
    // What is left over pairs up by nearness, to say by how much it disagrees.
    let rest_from: Vec<usize> = (0..from.len())
        .filter(|f| !pairs.iter().any(|p| p.0 == *f))
        .collect();
    let rest_to: Vec<usize> = (0..to.len())
        .filter(|t| !pairs.iter().any(|p| p.1 == *t))
        .collect();
    let left_from: Vec<[f64; 2]> = rest_from.iter().map(|f| from[*f]).collect();
    let left_to: Vec<[f64; 2]> = rest_to.iter().map(|t| to[*t]).collect();
    for (f, t) in partners(&left_from, &left_to, motion, STRANGERS * agree_mm) {
        pairs.push((rest_from[f], rest_to[t]));
    }
    pairs.sort_by_key(|p| p.1);
    let alone = |count: usize, side: &dyn Fn(&(usize, usize)) -> usize| -> Vec<usize> {
        (0..count)
            .filter(|i| !pairs.iter().any(|p| side(p) == *i))
            .collect()
    };
    let within = agreeing
        .iter()
        .map(|(f, t)| distance(motion.apply(from[*f]), to[*t]))
        .fold(0.0, f64::max);
    let written_pairs = pairs
        .iter()
        .map(|(f, t)| {
            let (k, m) = (&known.spots[*f], &measured[*t]);
            let bores = m
                .bore_mm
                .zip(k.bore_mm)
                .filter(|(a, b)| (a - b).abs() > SIZE_APART_MM);
            PairFit {
                measured: m.name.clone(),
                known: k.name.clone(),
                gap_mm: distance(motion.apply(from[*f]), to[*t]),
                agrees: agreeing.contains(&(*f, *t)),
                bores_mm: bores.map(|(a, b)| [a, b]),
            }
        })
        .collect();
    PatternFit {
        pattern: known.name.clone(),
        mirrored: motion.mirrored,
        turn_deg: motion.angle.to_degrees(),
        shift_mm: motion.shift,
        measured_alone: alone(to.len(), &|p| p.1)
            .into_iter()
            .map(|i| measured[i].name.clone())
            .collect(),
        known_alone: alone(from.len(), &|p| p.0)
            .into_iter()
            .map(|i| known.spots[i].name.clone())
            .collect(),
        within_mm: within,
        rms_mm: rms(&from, &to, motion, agreeing),
        pairs: written_pairs,
        agree_mm,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pattern(points: &[(&str, f64, f64)]) -> Vec<Spot> {
        points
            .iter()
            .map(|(n, x, y)| Spot {
                name: (*n).to_owned(),
                x_mm: *x,
                y_mm: *y,
                bore_mm: Some(8.5),
            })
            .collect()
    }

    fn known(name: &str, points: &[(&str, f64, f64)]) -> KnownPattern {
        KnownPattern {
            name: name.to_owned(),
            spots: pattern(points),
        }
    }

    const EARS: [(&str, f64, f64); 4] = [
        ("1", 0.0, 0.0),
        ("2", 80.0, 0.0),
        ("3", 95.0, 60.0),
        ("4", -10.0, 42.0),
    ];

    fn moved(angle: f64, mirror: bool) -> Vec<Spot> {
        let motion = Motion {
            mirrored: mirror,
            angle,
            shift: [31.0, -12.0],
        };
        let mut spots = pattern(&EARS);
        spots.reverse();
        for (i, s) in spots.iter_mut().enumerate() {
            let p = motion.apply([s.x_mm, s.y_mm]);
            s.x_mm = p[0] + 0.05 * [1.0, -1.0, 0.5, -0.5][i];
            s.y_mm = p[1] + 0.05 * [-0.5, 1.0, 1.0, -1.0][i];
            s.name = format!("M{}", i + 1);
        }
        spots
    }

    #[test]
    fn a_turned_pattern_is_found_among_others() {
        let library = [
            known(
                "generator",
                &[("a", 0.0, 0.0), ("b", 70.0, 0.0), ("c", 0.0, 70.0)],
            ),
            known("charger", &EARS),
        ];
        let fits = rank(&moved(2.3, false), &library, 0.5);
        assert_eq!(fits[0].pattern, "charger");
        assert!(fits[0].is_complete() && !fits[0].mirrored);
        assert!((fits[0].turn_deg - 2.3_f64.to_degrees()).abs() < 0.1);
        assert!(fits[0].within_mm < 0.12);
        assert_eq!(fits[0].pairs[0].known, "4");
        assert!(fits[0].sentence().starts_with("this is charger, within 0."));
    }

    #[test]
    fn a_turned_over_pattern_is_called_so() {
        let fit = best_fit(&moved(-0.7, true), &known("charger", &EARS), 0.5).expect("fits");
        assert!(fit.mirrored && fit.is_complete());
        assert!(fit.sentence().contains("turned over"));
    }

    #[test]
    fn a_hole_that_is_off_is_named_with_its_gap() {
        let mut spots = moved(0.4, false);
        spots[1].x_mm += 3.0;
        let fit = best_fit(&spots, &known("charger", &EARS), 0.5).expect("fits");
        assert_eq!(fit.agreeing(), 3);
        let off: Vec<_> = fit.pairs.iter().filter(|p| !p.agrees).collect();
        assert_eq!(off.len(), 1);
        assert_eq!(
            (off[0].measured.as_str(), off[0].known.as_str()),
            ("M2", "3")
        );
        assert!((off[0].gap_mm - 3.0).abs() < 0.25);
    }

    #[test]
    fn numbers_that_are_none_fit_nothing() {
        let mut spots = moved(0.4, false);
        spots[0].x_mm = f64::NAN;
        assert!(best_fit(&spots, &known("charger", &EARS), 0.5).is_none());
        assert!(best_fit(&[], &known("charger", &EARS), 0.5).is_none());
    }
}
