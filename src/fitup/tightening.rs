//! The order in which bolts are tightened for good.

use crate::layout::{Joint, Layout, Part};
use crate::platework::MadePlate;

use super::pieces::{Assembly, What};

/// One bolt of the final order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tightened {
    /// Its joint.
    pub joint: String,
    /// What covers its head later: it gets its full torque before that goes on.
    pub before: Vec<String>,
}

/// Bolts that something covers first, in the order they are reached; then all others, plate by plate,
/// the block's bolts before the accessories', across from each other in turn.
#[must_use]
pub fn tightening(plates: &[MadePlate], layout: &Layout, assembly: &Assembly) -> Vec<Tightened> {
    let covered = |joint: &str| -> Vec<String> {
        assembly
            .covers(joint)
            .into_iter()
            .map(What::words)
            .collect()
    };
    let mut out: Vec<Tightened> = Vec::new();
    if let Ok(order) = &assembly.order {
        for put in order {
            if let What::Bolt(joint) = &assembly.what[put.piece] {
                let before = covered(joint);
                if !before.is_empty() {
                    out.push(Tightened {
                        joint: joint.clone(),
                        before,
                    });
                }
            }
        }
    }
    let rest: Vec<String> = across(plates, layout)
        .into_iter()
        .filter(|id| !out.iter().any(|t| t.joint == *id))
        .collect();
    out.extend(rest.into_iter().map(|joint| Tightened {
        before: covered(&joint),
        joint,
    }));
    out
}

fn across(plates: &[MadePlate], layout: &Layout) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for made in plates {
        let in_plate = |j: &&Joint| {
            j.layers
                .iter()
                .any(|l| matches!(&l.part, Part::Plate(p) if *p == made.plate.id))
        };
        let block = |j: &Joint| j.holes.iter().any(|h| h.owner == "block");
        for on_block in [true, false] {
            let mut round: Vec<(f64, &Joint)> = Vec::new();
            let mine: Vec<&Joint> = layout
                .joints
                .iter()
                .filter(in_plate)
                .filter(|j| block(j) == on_block)
                .collect();
            let places: Vec<_> = mine
                .iter()
                .map(|j| made.plate.frame.to_plane(j.at).0)
                .collect();
            let n = places.len().max(1) as f64;
            let (cx, cy) = places
                .iter()
                .fold((0.0, 0.0), |(x, y), p| (x + p.x / n, y + p.y / n));
            for (j, p) in mine.iter().zip(&places) {
                round.push(((p.y - cy).atan2(p.x - cx), j));
            }
            round.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.id.cmp(&b.1.id)));
            // Round the circle from both of its halves in turn: each bolt lies across from the last.
            let half = round.len().div_ceil(2);
            for i in 0..half {
                for k in [i, i + half] {
                    if let Some((_, j)) = round.get(k)
                        && !out.contains(&j.id)
                    {
                        out.push(j.id.clone());
                    }
                }
            }
        }
    }
    out
}
