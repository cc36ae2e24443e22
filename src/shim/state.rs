//! The drive as it stands, and how it would stand after a change.

use super::motion::{Layout, Motion, moved, whole};
use super::mount::{Drive, Stand};
use super::rod::ReadStand;

/// A straight belt piece between two pulleys, by their numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Piece {
    pub(super) from: usize,
    pub(super) to: usize,
    /// Difference of the offsets at which it runs askew as far as it may, mm.
    pub(super) limit_mm: f64,
}

impl Piece {
    /// Share of its limit that two offsets use.
    pub(super) fn share(&self, from_mm: f64, to_mm: f64) -> f64 {
        (from_mm - to_mm).abs() / self.limit_mm
    }
}

/// A drive with the stand of every pulley.
#[derive(Debug)]
pub(super) struct State<'a> {
    pub(super) drive: &'a Drive,
    pub(super) layouts: Vec<Layout>,
    /// Present stand of each pulley.
    pub(super) stands: Vec<Stand>,
    /// z of the reference's rib plane, mm.
    pub(super) plane: f64,
    pub(super) pieces: Vec<Piece>,
    /// Mount of each pulley.
    pub(super) carriers: Vec<Option<usize>>,
    /// Mount each mount is bolted to.
    pub(super) parents: Vec<Option<usize>>,
}

/// How much of its limits a state uses, the worst first of all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Use {
    /// Largest share of a limit; at most 1 is good.
    pub(super) share: f64,
}

impl Use {
    /// Whether everything is within its limit; the last digits are forgiven.
    pub(super) fn is_good(self) -> bool {
        self.share <= 1.0 + 1e-9
    }
}

impl<'a> State<'a> {
    /// The drive with what was read; a pulley that was not read stands as designed.
    pub(super) fn new(drive: &'a Drive, read: &[ReadStand]) -> Self {
        let plane = drive.reference().map_or(0.0, |r| drive.pulleys[r].centre.z);
        let stands = drive
            .pulleys
            .iter()
            .map(|p| {
                read.iter().find(|r| r.pulley == p.name).map_or(
                    Stand {
                        offset_mm: p.centre.z - plane,
                        ..Stand::TRUE
                    },
                    |r| r.stand,
                )
            })
            .collect();
        let pieces = drive
            .spans
            .iter()
            .filter_map(|s| {
                Some(Piece {
                    from: drive.pulley(&s.from)?,
                    to: drive.pulley(&s.to)?,
                    limit_mm: s.length_mm * s.limit_deg.to_radians().tan(),
                })
            })
            .collect();
        let numbered = |name: Option<&str>| name.and_then(|m| drive.mount(m));
        Self {
            drive,
            layouts: drive.mounts.iter().map(Layout::of).collect(),
            stands,
            plane,
            pieces,
            carriers: drive
                .pulleys
                .iter()
                .map(|p| numbered(p.mount.as_deref()))
                .collect(),
            parents: drive
                .mounts
                .iter()
                .map(|m| numbered(m.on.as_deref()))
                .collect(),
        }
    }

    /// The mounts that can move a pulley, from the one that carries it down to the block.
    pub(super) fn chain(&self, pulley: usize) -> Vec<usize> {
        let mut chain = Vec::new();
        let mut above = self.carriers[pulley];
        while let Some(m) = above
            && !chain.contains(&m)
        {
            chain.push(m);
            above = self.parents[m];
        }
        chain
    }

    /// How one pulley stands after each mount has moved by itself as given.
    pub(super) fn stand_after(&self, pulley: usize, own: &[Motion]) -> Stand {
        let stand = &self.stands[pulley];
        match self.carriers[pulley] {
            Some(m) => moved(
                self.drive.pulleys[pulley].centre,
                self.plane,
                stand,
                &whole(&self.parents, own, m),
            ),
            None => *stand,
        }
    }

    /// Stands after each mount has moved by itself as given.
    pub(super) fn after(&self, own: &[Motion]) -> Vec<Stand> {
        (0..self.stands.len())
            .map(|p| self.stand_after(p, own))
            .collect()
    }

    /// Motion of one mount by itself from the lifts at its bolts; `None` when it bends or leans too much.
    pub(super) fn motion(&self, mount: usize, lifts: &[f64]) -> Option<Motion> {
        if lifts.iter().all(|h| *h == 0.0) {
            return Some(Motion::NONE);
        }
        let m = &self.drive.mounts[mount];
        let tipped = self.layouts[mount].tipped(lifts);
        (tipped.bend <= m.bend_limit_mm + 1e-9 && tipped.lean_deg() <= m.lean_limit_deg + 1e-9)
            .then(|| tipped.motion(m))
    }

    /// First-order effect of a lift at one bolt on a pulley: offset, axis x, axis y, each per mm.
    pub(super) fn effect(&self, mount: usize, bolt: usize, pulley: usize) -> [f64; 3] {
        // The exact motion for a tiny lift either way; what is left of the second order cancels.
        const STEP_MM: f64 = 1e-3;
        let stand = |h: f64| {
            let m = &self.drive.mounts[mount];
            let mut lifts = vec![0.0; m.bolts.len()];
            lifts[bolt] = h;
            let mut own = vec![Motion::NONE; self.drive.mounts.len()];
            own[mount] = self.layouts[mount].tipped(&lifts).motion(m);
            self.stand_after(pulley, &own)
        };
        let (u, d) = (stand(STEP_MM), stand(-STEP_MM));
        [
            u.offset_mm - d.offset_mm,
            u.axis[0] - d.axis[0],
            u.axis[1] - d.axis[1],
        ]
        .map(|v| v / (2.0 * STEP_MM))
    }

    /// Shares of its own offset and tilt limit that one pulley's stand uses.
    pub(super) fn pulley_shares(&self, pulley: usize, stand: &Stand) -> [f64; 2] {
        let p = &self.drive.pulleys[pulley];
        [
            stand.offset_mm.abs() / p.offset_limit_mm,
            stand.tilt_deg() / p.tilt_limit_deg,
        ]
    }

    /// How much of the limits these stands use.
    pub(super) fn used(&self, stands: &[Stand]) -> Use {
        let own = stands
            .iter()
            .enumerate()
            .flat_map(|(p, s)| self.pulley_shares(p, s));
        let between = self
            .pieces
            .iter()
            .map(|b| b.share(stands[b.from].offset_mm, stands[b.to].offset_mm));
        Use {
            share: own.chain(between).fold(0.0, f64::max),
        }
    }

    /// No lift anywhere.
    pub(super) fn no_lifts(&self) -> Vec<Vec<f64>> {
        self.drive
            .mounts
            .iter()
            .map(|m| vec![0.0; m.bolts.len()])
            .collect()
    }
}
