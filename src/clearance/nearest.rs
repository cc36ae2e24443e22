//! The nearest solids of two bodies.

use std::sync::Arc;

use crate::tables::gap::Kind;
use crate::tol;

use super::body::Body;
use super::bounds::Bounds;
use super::pair::{self, SolidGap};
use super::solid::Ready;

/// A body made ready for distances; variants that share it share this.
#[derive(Debug, Clone)]
pub struct ReadyBody {
    pub(super) id: String,
    pub(super) kind: Kind,
    pub(super) part_of: String,
    pub(super) solids: Vec<Ready>,
    /// The box round all of them.
    pub(super) bounds: Bounds<3>,
}

impl ReadyBody {
    /// Makes a body ready.
    #[must_use]
    pub fn new(body: &Body) -> Arc<Self> {
        let solids: Vec<Ready> = body.solids.iter().map(Ready::new).collect();
        Arc::new(Self {
            id: body.id.clone(),
            kind: body.kind,
            part_of: body.part_of.clone(),
            bounds: solids
                .iter()
                .fold(Bounds::EMPTY, |all, s| all.with(s.bounds())),
            solids,
        })
    }

    /// Its name.
    #[must_use]
    pub fn id(&self) -> &str {
        &self.id
    }

    /// What it is.
    #[must_use]
    pub const fn kind(&self) -> Kind {
        self.kind
    }
}

/// Two solids of two bodies, by their places in them.
#[derive(Debug, Clone, Copy)]
pub(super) struct SolidPair {
    /// Squared distance of their boxes, mm².
    pub(super) box_gap2: f64,
    pub(super) first: usize,
    pub(super) second: usize,
}

impl SolidPair {
    pub(super) fn order(&self, other: &Self) -> std::cmp::Ordering {
        self.box_gap2
            .total_cmp(&other.box_gap2)
            .then(self.first.cmp(&other.first))
            .then(self.second.cmp(&other.second))
    }
}

/// The nearest solids of two bodies.
#[derive(Debug, Clone, Copy)]
pub(super) struct Nearest {
    pub(super) gap: SolidGap,
    pub(super) first: usize,
    pub(super) second: usize,
}

/// Every pair of solids of two bodies, near boxes first.
pub(super) fn all_pairs(a: &ReadyBody, b: &ReadyBody) -> Vec<SolidPair> {
    let mut all = Vec::with_capacity(a.solids.len() * b.solids.len());
    for (first, x) in a.solids.iter().enumerate() {
        for (second, y) in b.solids.iter().enumerate() {
            all.push(SolidPair {
                box_gap2: x.bounds().gap2(y.bounds()),
                first,
                second,
            });
        }
    }
    all.sort_by(SolidPair::order);
    all
}

/// The nearest of some pairs of solids, if nearer than `near` mm.
pub(super) fn nearest_solids(
    a: &ReadyBody,
    b: &ReadyBody,
    pairs: &[SolidPair],
    near: f64,
) -> Option<Nearest> {
    let mut best: Option<Nearest> = None;
    for &SolidPair {
        box_gap2,
        first,
        second,
    } in pairs
    {
        // Once two solids clash, only those whose boxes meet can clash deeper.
        let reach = best.map_or(near, |n| n.gap.gap + n.gap.bound);
        if box_gap2 > 0.0 && box_gap2 >= reach.max(0.0).powi(2) {
            continue;
        }
        let (Some(x), Some(y)) = (a.solids.get(first), b.solids.get(second)) else {
            continue;
        };
        let reach = if reach > 0.0 { reach } else { tol::SNAP_MM };
        if let Some(gap) = pair::gap(x, y, reach)
            && best.is_none_or(|old| gap.gap < old.gap.gap)
        {
            best = Some(Nearest { gap, first, second });
        }
    }
    best
}
