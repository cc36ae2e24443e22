//! The ways to fill one place with stocked washers: every lift once, by the fewest pieces.

use super::mount::{Fork, Place};

/// A spacer turned shorter than this is a washer, mm (common practice, no source).
const SHORTEST_SPACER_MM: f64 = 1.0;

/// A way to fill one place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Choice {
    pub(super) lift: f64,
    pub(super) added: Vec<f64>,
    pub(super) removed: Vec<f64>,
    /// Whether they go to the other side of a fork's plate.
    pub(super) across: bool,
}

impl Choice {
    /// Washers handled.
    pub(super) fn pieces(&self) -> usize {
        self.added.len() + self.removed.len()
    }

    /// How much thicker the pack gets, mm.
    pub(super) fn thicker(&self) -> f64 {
        self.added.iter().sum::<f64>() - self.removed.iter().sum::<f64>()
    }
}

/// The ways to fill a place: every lift once, by the fewest pieces.
pub(super) fn choices(place: &Place, stock: &[f64], most_handled: usize) -> Vec<Choice> {
    let mut stock: Vec<f64> = stock.to_vec();
    stock.sort_by(|a, b| b.total_cmp(a));
    stock.dedup();
    let fitted = &place.fitted_mm;
    let mut list: Vec<Choice> = Vec::new();
    // Beyond a dozen washers in one place nobody counts on; the mask must stay small.
    let masks = 1_u32 << fitted.len().min(12);
    for mask in 0..masks {
        let (mut removed, mut kept) = (Vec::new(), Vec::new());
        for (i, t) in fitted.iter().enumerate() {
            if i < 12 && mask & (1 << i) != 0 {
                removed.push(*t);
            } else {
                kept.push(*t);
            }
        }
        let room = place.most_pieces.saturating_sub(kept.len());
        let thick: f64 = kept.iter().sum();
        if removed.len() > most_handled || (mask != 0 && kept.len() > place.most_pieces) {
            continue;
        }
        let out: f64 = removed.iter().sum();
        let most = room.min(most_handled - removed.len());
        packs(&stock, most, place.most_mm - thick + 1e-9, &mut |added| {
            let lift = added.iter().sum::<f64>() - out;
            list.push(Choice {
                lift: if place.inwards { -lift } else { lift },
                added: added.to_vec(),
                removed: removed.clone(),
                across: false,
            });
        });
    }
    if let Some(fork) = &place.fork {
        fork_limits(fork, place, &stock, most_handled, &mut list);
    }
    list.sort_by(|a, b| {
        a.pieces()
            .cmp(&b.pieces())
            .then(a.removed.len().cmp(&b.removed.len()))
            .then(a.lift.total_cmp(&b.lift))
    });
    let mut kept: Vec<Choice> = Vec::new();
    for c in list {
        if kept.iter().all(|k| (k.lift - c.lift).abs() > 1e-9) {
            kept.push(c);
        }
    }
    kept
}

/// What a fork's spacers allow: each side takes washers only as far as the spacer across can be turned shorter.
fn fork_limits(
    fork: &Fork,
    place: &Place,
    stock: &[f64],
    most_handled: usize,
    list: &mut Vec<Choice>,
) {
    let room = |spacer: Option<f64>| spacer.map_or(0.0, |s| s - SHORTEST_SPACER_MM);
    let here = room(fork.across_mm);
    list.retain(|c| c.added.is_empty() || c.lift.abs() <= here + 1e-9);
    if let Some((_, spacer)) = &fork.other {
        let most = place.most_mm.min(room(Some(*spacer))) + 1e-9;
        let pieces = place.most_pieces.min(most_handled);
        packs(stock, pieces, most, &mut |added| {
            let lift = added.iter().sum::<f64>();
            if !added.is_empty() {
                list.push(Choice {
                    lift: if place.inwards { lift } else { -lift },
                    added: added.to_vec(),
                    removed: Vec::new(),
                    across: true,
                });
            }
        });
    }
}

/// Every pack of up to `most` washers no thicker than `room`, the empty one among them.
fn packs(stock: &[f64], most: usize, room: f64, found: &mut dyn FnMut(&[f64])) {
    fn deeper(
        stock: &[f64],
        most: usize,
        room: f64,
        pack: &mut Vec<f64>,
        found: &mut dyn FnMut(&[f64]),
    ) {
        found(pack);
        if most == 0 {
            return;
        }
        for (i, t) in stock.iter().enumerate() {
            if *t <= room {
                pack.push(*t);
                deeper(&stock[i..], most - 1, room - t, pack, found);
                pack.pop();
            }
        }
    }
    deeper(stock, most, room, &mut Vec::new(), found);
}
