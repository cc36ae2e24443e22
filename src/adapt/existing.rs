//! Mounts on the plates that are there: a hole that serves, a hole to drill, or a boss to grow.

use crate::diag::Sink;
use crate::layout::seat::Made;
use crate::layout::{EngineHole, Parts, lay_out};
use crate::params::job::{PlateSpec, Take};
use crate::tol;

use super::{Held, How, Search};

/// Longest stack of spacers by which an existing plate holds a mount, mm (common practice, no source:
/// a longer one bends its bolt).
const MOST_SPACER_MM: f64 = 45.0;

/// How far outside an existing plate a boss may grow before a new plate is proposed, mm (common practice, no source).
const MOST_GROWTH_MM: f64 = 40.0;

impl Search<'_> {
    /// Each mount on the plate that needs least for it; `None` where one finds no plate.
    pub(super) fn on_existing(
        &self,
        mounts: &[EngineHole],
        tried: &mut usize,
    ) -> Option<Vec<Held>> {
        let mut held = Vec::new();
        for mount in mounts {
            let take = self.pattern(mount);
            // A mount that a variant's accessory has too stays on the plate that takes it.
            let fixed = self.kept.contains(&mount.target);
            let takes = |p: &PlateSpec| p.takes.iter().any(|t| t.target == mount.target);
            let mut best: Option<(How, f64, &str)> = None;
            for spec in self.bare.job.plates.iter().filter(|p| !fixed || takes(p)) {
                *tried += 1;
                let Some((how, more)) = self.could_hold(spec, mount, &take) else {
                    continue;
                };
                let better = best
                    .as_ref()
                    .is_none_or(|(h, m, _)| how.cmp(h).then(more.total_cmp(m)).is_lt());
                if better {
                    best = Some((how, more, &spec.id));
                }
            }
            let (how, _, plate) = best?;
            held.push(Held {
                mount: mount.target.to_string(),
                plate: plate.to_owned(),
                how,
                spacers_mm: Vec::new(),
            });
        }
        Some(held)
    }

    /// What a plate needs to hold a mount, and how far it must grow, mm; `None` where the stack cannot be built.
    fn could_hold(&self, spec: &PlateSpec, mount: &EngineHole, take: &Take) -> Option<(How, f64)> {
        let mut trial = self.bare.clone();
        for p in &mut trial.job.plates {
            p.takes
                .retain(|t| t.target.owner == "block" || p.id != spec.id);
            if p.id == spec.id {
                p.takes.push(take.clone());
            }
        }
        trial.job.plates.retain(|p| p.id == spec.id);
        let mut sink = Sink::new();
        let parts = Parts {
            job: &trial.job,
            block: &trial.block,
            accessories: &trial.accessories,
            stocks: &trial.stocks,
        };
        let layout = lay_out(&parts, &mut sink);
        if sink.has_errors() {
            return None;
        }
        let joint = layout
            .joints
            .iter()
            .find(|j| j.holes.contains(&mount.target))?;
        if joint.spacers().any(|s| s.length_mm > MOST_SPACER_MM) {
            return None;
        }
        let hole = layout
            .plates
            .first()?
            .holes
            .iter()
            .find(|h| h.target == mount.target)?;
        let made = self.old_plates.iter().find(|m| m.plate.id == spec.id)?;
        let serves = made.holes.iter().any(|h| {
            h.at.distance(hole.at) <= tol::INPUT_GRID_MM
                && h.made == hole.made
                && (h.diameter_mm - hole.diameter_mm).abs() <= tol::RULE_MM
                && hole.made != Made::Reamed
        });
        if serves {
            return Some((How::Serves, 0.0));
        }
        let inside = made.plate.outline.signed_distance(hole.at);
        // Metal must reach a boss radius beyond the centre.
        let missing = 0.5 * hole.boss_mm - inside;
        let open = made
            .plate
            .features
            .iter()
            .filter_map(crate::feature::Feature::footprint)
            .any(|f| {
                f.contains(hole.at) || f.nearest(hole.at).distance(hole.at) < 0.5 * hole.boss_mm
            });
        if missing <= 0.0 && !open {
            Some((How::Drill, 0.0))
        } else if missing <= MOST_GROWTH_MM {
            Some((How::Grow, missing.max(0.0)))
        } else {
            None
        }
    }
}
