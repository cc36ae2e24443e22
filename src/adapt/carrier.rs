//! A new plate for mounts of one direction: which block holes, which stock, how high.

use rayon::prelude::*;

use crate::diag::Spot;
use crate::geom::{Frame, Point};
use crate::layout::resolve::side_word;
use crate::layout::{EngineHole, Offer};
use crate::params::Loaded;
use crate::params::job::{BackFace, HoleRef, PlateSpec, Take, Webs, WindowKind, WindowSpec};
use crate::params::keys::plate::facing;
use crate::tol;

use super::verdicts::Verdicts;
use super::{Search, built, take};

/// Bolts with which a new plate sits on the block, least and greatest tried.
const BLOCK_BOLTS: [usize; 2] = [3, 4];

/// Block holes tried for a new plate: those nearest its accessory.
const BLOCK_HOLES_TRIED: usize = 7;

/// Room round a nose that passes through a new plate, mm a side (common practice, no source).
const NOSE_ROOM_MM: f64 = 10.0;

impl Search<'_> {
    /// The lightest new plate that holds mounts of one direction on `trial`'s engine and breaks nothing;
    /// the one that breaks fewest rules where every one breaks some.
    pub(super) fn on_new_plate(
        &self,
        trial: &Loaded,
        mounts: &[EngineHole],
        several: bool,
        tried: &mut usize,
    ) -> Option<PlateSpec> {
        // A mount that a variant's accessory has too cannot go to another plate.
        if mounts.iter().any(|m| self.kept.contains(&m.target)) {
            return None;
        }
        let normal = mounts.first()?.axis;
        let faces = |f: &Frame| {
            f.normal.cross(normal).length() <= tol::PARALLEL && f.normal.dot(normal) > 0.0
        };
        let frame = self
            .before
            .iter()
            .map(|p| p.frame)
            .find(faces)
            .or_else(|| facing(normal).map(|f| f.1))?;
        let mut id = format!("{}-carrier", self.placed);
        if several {
            id = format!("{id}-{}", side_word(normal));
        }
        while trial.job.plates.iter().any(|p| p.id == id) {
            id.push('x');
        }
        let takes: Vec<Take> = mounts
            .iter()
            .map(|m| Take {
                slot: None,
                ..self.pattern(m)
            })
            .collect();
        let mut candidates: Vec<PlateSpec> = Vec::new();
        for (stock, thickness) in trial.stocks.iter().map(|(n, s)| (n, s.thickness_mm)) {
            let mut heights: Vec<f64> = mounts.iter().map(|m| seat_height(m, thickness)).collect();
            heights.sort_by(f64::total_cmp);
            heights.dedup();
            for back in heights {
                for set in &self.block_sets(trial, frame) {
                    let on_block = set.iter().cloned().map(take);
                    let all = on_block.chain(takes.iter().cloned()).collect();
                    candidates.push(self.new_plate(&id, frame, stock, thickness, back, all));
                }
            }
        }
        *tried += candidates.len();
        let results: Vec<Option<(usize, f64)>> = candidates
            .par_iter()
            .map(|spec| {
                let mut trial = trial.clone();
                trial.job.plates.push(spec.clone());
                let project = built(trial)?;
                let broken = Verdicts::of_findings(&project.findings).beyond(&self.old_base);
                let made = project.plates.iter().find(|m| m.plate.id == spec.id)?;
                Some((broken.len(), made.plate.properties().mass_kg))
            })
            .collect();
        let best = results
            .iter()
            .enumerate()
            .filter_map(|(i, r)| r.map(|r| (i, r)))
            .min_by(|(_, a), (_, b)| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)))?;
        candidates.get(best.0).cloned()
    }

    /// Sets of block holes that a new plate may use: those no remaining plate takes, nearest first.
    fn block_sets(&self, bare: &Loaded, frame: Frame) -> Vec<Vec<HoleRef>> {
        let mut free: Vec<(f64, HoleRef)> = bare
            .block
            .holes
            .iter()
            .filter(|h| {
                h.axis.cross(frame.normal).length() <= tol::PARALLEL
                    && h.axis.dot(frame.normal) > 0.0
            })
            .map(|h| {
                let target = HoleRef {
                    owner: "block".to_owned(),
                    id: h.id.clone(),
                };
                let (p, _) = frame.to_plane(h.at);
                let (c, _) = frame.to_plane(self.at);
                (p.distance(c), target)
            })
            .filter(|(_, t)| {
                !bare
                    .job
                    .plates
                    .iter()
                    .any(|p| p.takes.iter().any(|x| x.target == *t))
            })
            .collect();
        free.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.cmp(&b.1)));
        free.truncate(BLOCK_HOLES_TRIED);
        let mut out = Vec::new();
        for mask in 0_u32..(1 << free.len()) {
            if !BLOCK_BOLTS.contains(&(mask.count_ones() as usize)) {
                continue;
            }
            out.push(
                free.iter()
                    .enumerate()
                    .filter(|(i, _)| mask & (1 << i) != 0)
                    .map(|(_, (_, t))| t.clone())
                    .collect(),
            );
        }
        out
    }

    fn new_plate(
        &self,
        id: &str,
        frame: Frame,
        stock: &str,
        thickness_mm: f64,
        back: f64,
        takes: Vec<Take>,
    ) -> PlateSpec {
        PlateSpec {
            title: format!("Carrier of {}", self.placed),
            id: id.to_owned(),
            frame,
            back: BackFace::At(back),
            stock: stock.to_owned(),
            process: None,
            takes,
            bosses: Vec::new(),
            webs: Webs::Hull,
            outline: Vec::new(),
            fillet_mm: None,
            features: Vec::new(),
            windows: self.nose(frame, back, thickness_mm).into_iter().collect(),
            auto_windows: None,
            quantity: 1,
            spot: Spot::NOWHERE,
        }
    }

    /// A bore for what of the accessory passes through a plate between two heights.
    fn nose(&self, frame: Frame, back: f64, thickness_mm: f64) -> Option<WindowSpec> {
        let (centre, base) = frame.to_plane(self.at);
        let (low, high) = (back - base, back - base + thickness_mm);
        let radius = self
            .with
            .bodies
            .iter()
            .filter(|b| b.z_mm.0 < high && b.z_mm.1 > low)
            .map(|b| {
                let e = b.outline.extents();
                [e.min, e.max]
                    .iter()
                    .map(|p| p.x.abs().max(p.y.abs()))
                    .fold(0.0, f64::max)
            })
            .fold(0.0, f64::max);
        (radius > 0.0 && frame.normal == crate::geom::Vector3::Z).then(|| WindowSpec {
            id: "nose".to_owned(),
            kind: WindowKind::Circle {
                at: Point::new(centre.x, centre.y),
                diameter_mm: 2.0 * (radius + NOSE_ROOM_MM),
            },
            spot: Spot::NOWHERE,
        })
    }
}

/// Height of the back face of a plate that seats on a mount.
fn seat_height(mount: &EngineHole, thickness_mm: f64) -> f64 {
    match &mount.offer {
        Offer::BlockThread { face_mm, .. } => *face_mm,
        // Behind the foremost ear.
        Offer::Ears { spans_mm, .. } => spans_mm.last().map_or(0.0, |s| s.0) - thickness_mm,
        Offer::ThreadedEar {
            span_mm,
            from_below,
            ..
        } => {
            if *from_below {
                span_mm.0 - thickness_mm
            } else {
                span_mm.1
            }
        }
        Offer::Pad {
            span_mm, face_low, ..
        } => {
            if *face_low {
                span_mm.0 - thickness_mm
            } else {
                span_mm.1
            }
        }
    }
}
