//! The patterns of blocks and accessories, for holding a measured one against.

use crate::geom::{Frame, Vector3};
use crate::params::accessory::{Accessory, MountKind};
use crate::params::block::Block;
use crate::tables::Threads;

use super::fit::{KnownPattern, Spot};
use super::network::Size;

/// Two axes belong to one face when the sine of their angle is below this: the file's own numbers are exact.
const ONE_FACE: f64 = 1e-6;

/// A hole before its face is known: name, place, axis, bore.
type Bored = (String, crate::geom::Point3, Vector3, Option<f64>);

/// The patterns of a block, one for every direction its holes face.
pub fn of_block(block: &Block) -> Vec<KnownPattern> {
    let holes: Vec<Bored> = block
        .holes
        .iter()
        .map(|h| (h.id.clone(), h.at, h.axis, crest_mm(&h.thread)))
        .collect();
    faces(&format!("block {}", block.name), &holes)
}

/// The patterns of an accessory, one for every direction its holes face.
pub fn of_accessory(accessory: &Accessory) -> Vec<KnownPattern> {
    let holes: Vec<Bored> = accessory
        .mounts
        .iter()
        .map(|m| {
            let bore = match &m.kind {
                MountKind::ThroughEar { hole_mm, .. } | MountKind::Pad { hole_mm, .. } => {
                    Some(*hole_mm)
                }
                MountKind::ThreadedEar { .. } => crest_mm(&m.thread),
            };
            (m.id.clone(), m.at, m.axis, bore)
        })
        .collect();
    faces(&format!("accessory {}", accessory.name), &holes)
}

/// What inside jaws find in a thread, mm.
fn crest_mm(thread: &str) -> Option<f64> {
    let thread = Threads::standard().thread(thread).ok()?;
    Some(Size::thread_crest(thread).diameter_mm)
}

/// Sorts holes by the direction they face and lays each group flat.
fn faces(name: &str, holes: &[Bored]) -> Vec<KnownPattern> {
    let mut groups: Vec<(Vector3, Vec<&Bored>)> = Vec::new();
    for hole in holes {
        let same =
            |axis: &Vector3| axis.cross(hole.2).length() < ONE_FACE && axis.dot(hole.2) > 0.0;
        match groups.iter_mut().find(|(axis, _)| same(axis)) {
            Some((_, group)) => group.push(hole),
            None => groups.push((hole.2, vec![hole])),
        }
    }
    let several = groups.len() > 1;
    groups
        .into_iter()
        .filter(|(_, group)| group.len() >= 2)
        .filter_map(|(axis, group)| {
            let across = if axis.cross(Vector3::Y).length() < ONE_FACE {
                Vector3::X
            } else {
                Vector3::Y.cross(axis)
            };
            let frame = Frame::new(crate::geom::Point3::ORIGIN, axis, across)?;
            let spots = group
                .iter()
                .map(|(name, at, _, bore)| {
                    let (p, _) = frame.to_plane(*at);
                    Spot {
                        name: name.clone(),
                        x_mm: p.x,
                        y_mm: p.y,
                        bore_mm: *bore,
                    }
                })
                .collect();
            Some(KnownPattern {
                name: if several {
                    format!("{name}, face {}", facing(axis))
                } else {
                    name.to_owned()
                },
                spots,
            })
        })
        .collect()
}

/// A word for a direction.
fn facing(axis: Vector3) -> String {
    let named = [
        (Vector3::Z, "front"),
        (-Vector3::Z, "rear"),
        (Vector3::X, "right"),
        (-Vector3::X, "left"),
        (Vector3::Y, "top"),
        (-Vector3::Y, "bottom"),
    ];
    named
        .iter()
        .find(|(d, _)| d.cross(axis).length() < ONE_FACE && d.dot(axis) > 0.0)
        .map_or_else(
            || format!("[{:.3}, {:.3}, {:.3}]", axis.x, axis.y, axis.z),
            |(_, w)| (*w).to_owned(),
        )
}
