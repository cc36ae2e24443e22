//! Whether every part is held, and if not, how it can move.

use faer::{Mat, Side};

use super::StrengthError;
use super::groups::Groups;
use super::structure::Structure;

/// A motion is free when the supports resist it with less than this share of the best-held one.
///
/// The measure is a square, so this is a lever of 1e-5 of the structure's size.
const FREE: f64 = 1e-10;

/// A free motion is called by an axis when it lies along it to this cosine.
const ALONG: f64 = 0.999;

/// One thing that resists a motion: a point and a direction.
type Support = ([f64; 3], usize);

/// Checks that no group of joined parts can move as a whole.
///
/// # Errors
/// [`StrengthError::FreeToMove`], naming the parts and the motions.
pub fn check_held(s: &Structure) -> Result<(), StrengthError> {
    let parts = s.parts.len();
    let mut groups = Groups::new(parts + s.bodies.len());
    let mut part_of = vec![0; s.nodes.len()];
    for w in &s.wedges {
        for &n in &w.nodes {
            part_of[n] = w.part;
        }
    }
    for (n, tie) in s.tied.iter().enumerate() {
        if let Some(b) = *tie
            && !s.bodies[b].ground
        {
            groups.join(part_of[n], parts + b);
        }
    }
    for b in &s.beams {
        if !s.bodies[b.from].ground && !s.bodies[b.to].ground {
            groups.join(parts + b.from, parts + b.to);
        }
    }
    let mut supports: Vec<Vec<Support>> = vec![Vec::new(); parts + s.bodies.len()];
    for h in &s.holds {
        supports[groups.of(part_of[h.node])].push((s.nodes[h.node], h.direction));
    }
    for (n, tie) in s.tied.iter().enumerate() {
        if tie.is_some_and(|b| s.bodies[b].ground) {
            let group = groups.of(part_of[n]);
            supports[group].extend((0..3).map(|d| (s.nodes[n], d)));
        }
    }
    for b in &s.beams {
        for (own, other) in [(b.from, b.to), (b.to, b.from)] {
            if s.bodies[other].ground && !s.bodies[own].ground {
                // A beam end holds position and slope: three points round its start do the same.
                let group = groups.of(parts + own);
                let p = b.start;
                for k in 0..3 {
                    let mut q = p;
                    q[k] += b.outer_mm;
                    supports[group].extend((0..3).map(|d| (q, d)));
                }
                supports[group].extend((0..3).map(|d| (p, d)));
            }
        }
    }
    for (group, held) in supports.iter().enumerate() {
        let is_ground = group >= parts && s.bodies[group - parts].ground;
        if is_ground || groups.of(group) != group {
            continue;
        }
        let free = free_motions(held);
        if !free.is_empty() {
            let mut names: Vec<String> = Vec::new();
            for i in 0..parts + s.bodies.len() {
                if groups.of(i) == group {
                    names.push(if i < parts {
                        format!("plate `{}`", s.parts[i])
                    } else {
                        format!("`{}`", s.bodies[i - parts].name)
                    });
                }
            }
            names.truncate(4);
            return Err(StrengthError::FreeToMove {
                part: names.join(" with "),
                motions: free.join(", "),
            });
        }
    }
    Ok(())
}

/// The rigid motions that a set of supports does not resist, in words.
fn free_motions(supports: &[Support]) -> Vec<String> {
    const NAMES: [&str; 6] = [
        "move in x",
        "move in y",
        "move in z",
        "turn about x",
        "turn about y",
        "turn about z",
    ];
    if supports.is_empty() {
        return vec!["move and turn in every direction".to_owned()];
    }
    // Motions are taken about the middle of the supports, so that a hinge reads as a pure turn.
    let count = supports.len() as f64;
    let middle = [0, 1, 2].map(|k| supports.iter().map(|(p, _)| p[k]).sum::<f64>() / count);
    let reach = supports
        .iter()
        .map(|(p, _)| (0..3).map(|k| (p[k] - middle[k]).abs()).fold(0.0, f64::max))
        .fold(0.0, f64::max);
    let scale = if reach > 0.0 { 1.0 / reach } else { 1.0 };
    let mut gram = Mat::<f64>::zeros(6, 6);
    for &(p, d) in supports {
        let arm = [0, 1, 2].map(|k| (p[k] - middle[k]) * scale);
        let mut row = [0.0; 6];
        row[d] = 1.0;
        let (j, k) = ((d + 1) % 3, (d + 2) % 3);
        row[3 + j] = arm[k];
        row[3 + k] = -arm[j];
        for a in 0..6 {
            for b in 0..6 {
                gram[(a, b)] += row[a] * row[b];
            }
        }
    }
    let Ok(e) = gram.self_adjoint_eigen(Side::Lower) else {
        return Vec::new();
    };
    let largest = e.S().column_vector()[5];
    let null: Vec<usize> = (0..6)
        .filter(|&k| e.S().column_vector()[k] <= FREE * largest)
        .collect();
    let mut words = Vec::new();
    for (axis, name) in NAMES.iter().enumerate() {
        let along: f64 = null.iter().map(|&k| e.U()[(axis, k)].powi(2)).sum();
        if along.sqrt() > ALONG {
            words.push((*name).to_owned());
        }
    }
    if words.len() < null.len() {
        let mut turn = [0.0; 3];
        for &k in &null {
            for (i, t) in turn.iter_mut().enumerate() {
                *t += e.U()[(3 + i, k)].powi(2);
            }
        }
        let most = (0..3)
            .max_by(|&a, &b| turn[a].total_cmp(&turn[b]))
            .unwrap_or(2);
        words.push(format!(
            "turn about a slanting axis near {}",
            ["x", "y", "z"][most]
        ));
    }
    words
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_points_in_all_directions_hold_everything() {
        let points = [[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [0.0, 10.0, 0.0]];
        let supports: Vec<Support> = points
            .iter()
            .flat_map(|p| (0..3).map(move |d| (*p, d)))
            .collect();
        assert!(free_motions(&supports).is_empty());
    }

    #[test]
    fn two_points_leave_the_turn_about_their_line() {
        let points = [[0.0, 5.0, 0.0], [10.0, 5.0, 0.0]];
        let supports: Vec<Support> = points
            .iter()
            .flat_map(|p| (0..3).map(move |d| (*p, d)))
            .collect();
        assert_eq!(free_motions(&supports), ["turn about x"]);
    }

    #[test]
    fn a_plate_held_flat_may_slide_and_spin() {
        let supports: Vec<Support> = [[0.0, 0.0, 0.0], [10.0, 0.0, 0.0], [0.0, 10.0, 0.0]]
            .iter()
            .map(|p| (*p, 2))
            .collect();
        assert_eq!(
            free_motions(&supports),
            ["move in x", "move in y", "turn about z"]
        );
    }
}
