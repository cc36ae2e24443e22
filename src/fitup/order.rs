//! An order in which pieces go together, found by taking the finished set apart.

use std::collections::BTreeSet;

/// One way a piece comes off, and goes on the other way round.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WayOff {
    /// Where it comes off to, in words; empty where it does not matter.
    pub to: &'static str,
    /// Pieces that stand in the way.
    pub blocked_by: BTreeSet<usize>,
    /// What stands in the way and does not come off.
    pub fixed: Option<String>,
}

/// What has to come off in one go.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Piece {
    /// Pieces that hold it: they have to be off first, whichever way it goes.
    pub held_by: BTreeSet<usize>,
    /// Its ways off; any one will do.
    pub ways: Vec<WayOff>,
    /// Where nothing else decides, what has the lower rank goes on first.
    pub rank: (usize, usize, usize),
}

/// One piece put on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Put {
    /// The piece.
    pub piece: usize,
    /// Which of its ways it goes on by.
    pub way: usize,
}

/// Pieces that hold each other in place: none of them can be put on last.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stuck {
    /// What is left when nothing more comes off.
    pub left: BTreeSet<usize>,
}

/// An order of putting the pieces on, first to last.
///
/// Taking a piece off never puts another one in the way, so whatever comes off may be taken off at
/// once: when nothing more comes off, no order exists.
///
/// # Errors
///
/// [`Stuck`] names what cannot be taken apart.
pub fn order(pieces: &[Piece]) -> Result<Vec<Put>, Stuck> {
    let mut left: BTreeSet<usize> = (0..pieces.len()).collect();
    let mut off = Vec::with_capacity(pieces.len());
    while !left.is_empty() {
        let next = left
            .iter()
            .filter_map(|&i| Some((pieces[i].rank, i, way_off(&pieces[i], &left)?)))
            .max();
        let Some((_, piece, way)) = next else {
            return Err(Stuck { left });
        };
        left.remove(&piece);
        off.push(Put { piece, way });
    }
    off.reverse();
    Ok(off)
}

/// The same order with `these` pieces put on as early as they can be: right after the last of what they
/// hold, or cover the way of.
#[must_use]
pub fn early(pieces: &[Piece], puts: &[Put], these: &BTreeSet<usize>) -> Vec<Put> {
    let mut out: Vec<Put> = Vec::with_capacity(puts.len());
    for put in puts {
        let needed_before = |p: &Put| {
            pieces[p.piece].held_by.contains(&put.piece)
                || pieces[p.piece].ways[p.way].blocked_by.contains(&put.piece)
        };
        let after = out.iter().rposition(needed_before).map_or(0, |k| k + 1);
        let mut at = if these.contains(&put.piece) {
            after
        } else {
            out.len()
        };
        // Side by side they keep their order.
        while at < out.len() && these.contains(&put.piece) && these.contains(&out[at].piece) {
            at += 1;
        }
        out.insert(at, *put);
    }
    out
}

/// The first way by which a piece comes off while `left` are still on.
fn way_off(piece: &Piece, left: &BTreeSet<usize>) -> Option<usize> {
    if !piece.held_by.is_disjoint(left) {
        return None;
    }
    piece
        .ways
        .iter()
        .position(|w| w.fixed.is_none() && w.blocked_by.is_disjoint(left))
}
