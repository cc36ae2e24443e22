//! The drive as it stands, and how it would stand after a change.

use super::motion::{Layout, Motion, moved, whole};
use super::mount::{Drive, Stand};
use super::rod::ReadStand;

/// A drive with the stand of every pulley.
#[derive(Debug)]
pub(super) struct State<'a> {
    pub(super) drive: &'a Drive,
    pub(super) layouts: Vec<Layout>,
    /// Present stand of each pulley.
    pub(super) stands: Vec<Stand>,
    /// z of the reference's rib plane, mm.
    pub(super) plane: f64,
    spans: Vec<(usize, usize, f64, f64)>,
    /// Mount of each pulley.
    pub(super) carriers: Vec<Option<usize>>,
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
        let spans = drive
            .spans
            .iter()
            .filter_map(|s| {
                let limit = s.limit_deg.to_radians().tan();
                Some((
                    drive.pulley(&s.from)?,
                    drive.pulley(&s.to)?,
                    s.length_mm,
                    limit,
                ))
            })
            .collect();
        Self {
            drive,
            layouts: drive.mounts.iter().map(Layout::of).collect(),
            stands,
            plane,
            spans,
            carriers: drive
                .pulleys
                .iter()
                .map(|p| p.mount.as_deref().and_then(|m| drive.mount(m)))
                .collect(),
        }
    }

    /// Stands after each mount has moved by itself as given.
    pub(super) fn after(&self, own: &[Motion]) -> Vec<Stand> {
        self.drive
            .pulleys
            .iter()
            .zip(&self.stands)
            .zip(&self.carriers)
            .map(|((p, stand), carrier)| match carrier {
                Some(m) => moved(p.centre, self.plane, stand, &whole(self.drive, own, *m)),
                None => *stand,
            })
            .collect()
    }

    /// Motion of each mount by itself from the lifts at its bolts; `None` when a mount bends or leans too much.
    pub(super) fn motions(&self, lifts: &[Vec<f64>]) -> Option<Vec<Motion>> {
        self.drive
            .mounts
            .iter()
            .zip(&self.layouts)
            .zip(lifts)
            .map(|((mount, layout), lifts)| {
                if lifts.iter().all(|h| *h == 0.0) {
                    return Some(Motion::NONE);
                }
                let tipped = layout.tipped(lifts);
                (tipped.bend <= mount.bend_limit_mm + 1e-9
                    && tipped.lean_deg() <= mount.lean_limit_deg + 1e-9)
                    .then(|| tipped.motion(mount))
            })
            .collect()
    }

    /// How much of the limits these stands use.
    pub(super) fn used(&self, stands: &[Stand]) -> Use {
        let mut share = 0.0_f64;
        for (p, s) in self.drive.pulleys.iter().zip(stands) {
            share = share
                .max(s.offset_mm.abs() / p.offset_limit_mm)
                .max(s.tilt_deg() / p.tilt_limit_deg);
        }
        for (a, b, length, limit) in &self.spans {
            let skew = (stands[*a].offset_mm - stands[*b].offset_mm).abs() / length;
            share = share.max(skew / limit);
        }
        Use { share }
    }

    /// No lift anywhere.
    pub(super) fn no_lifts(&self) -> Vec<Vec<f64>> {
        self.drive
            .mounts
            .iter()
            .map(|m| vec![0.0; m.bolts.len()])
            .collect()
    }

    /// Spans as pulley numbers, length and limit slope.
    pub(super) fn spans(&self) -> &[(usize, usize, f64, f64)] {
        &self.spans
    }
}
