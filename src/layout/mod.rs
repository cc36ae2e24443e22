//! Layout: accessories placed in the engine frame, plates put on their planes, every fastener's stack resolved.

pub mod fastener;
pub mod place;
pub mod resolve;
pub mod seat;
pub mod stack;
pub mod stocked;

use std::collections::BTreeMap;

use crate::diag::Sink;
use crate::geom::Frame;
use crate::params::accessory::Accessory;
use crate::params::block::Block;
use crate::params::job::Job;
use crate::params::shop::Stock;

pub use place::{EngineHole, Offer, PlacedAccessory};
pub use seat::{PlateHole, Seat};
pub use stack::{Joint, Layer, Part, SpacerSize, ThreadIn};
pub use stocked::Piece;

/// Where everything is.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// Accessories in job order.
    pub placed: Vec<PlacedAccessory>,
    /// Every hole of the block and of the accessories, in the engine frame.
    pub holes: Vec<EngineHole>,
    /// Plates in job order.
    pub plates: Vec<PlatePlace>,
    /// Fasteners, sorted by name.
    pub joints: Vec<Joint>,
}

/// A plate on its plane, before its outline is made.
#[derive(Debug, Clone, PartialEq)]
pub struct PlatePlace {
    /// Its name.
    pub id: String,
    /// Frame on its back face.
    pub frame: Frame,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Holes it takes, in job order.
    pub holes: Vec<PlateHole>,
}

/// What a layout is made from.
#[derive(Debug, Clone, Copy)]
pub struct Parts<'a> {
    /// The job.
    pub job: &'a Job,
    /// Its block.
    pub block: &'a Block,
    /// Accessories by file name.
    pub accessories: &'a BTreeMap<String, Accessory>,
    /// Stocks by file name.
    pub stocks: &'a BTreeMap<String, Stock>,
}

/// Lays the job out.
///
/// Every contradiction is pushed into `sink`; what could be resolved is
/// returned all the same, so that one run shows all problems.
pub fn lay_out(parts: &Parts<'_>, sink: &mut Sink) -> Layout {
    let job = parts.job;
    let mut placed = Vec::new();
    for p in &job.placed {
        if let Some(accessory) = parts.accessories.get(&p.accessory) {
            placed.extend(place::place(p, accessory, job.drive.as_ref(), sink));
        }
    }
    let holes = place::all_holes(
        parts.block,
        placed
            .iter()
            .filter_map(|p| Some((p, parts.accessories.get(&p.accessory)?))),
    );
    let mut plates = Vec::new();
    for spec in &job.plates {
        if let Some(stock) = parts.stocks.get(&spec.stock) {
            plates.push(resolve::put_on_plane(
                spec,
                stock.thickness_mm,
                &holes,
                sink,
            ));
        }
    }
    let joints = resolve::joints(job, &holes, &plates, sink);
    for (plate, spec) in plates.iter_mut().zip(&job.plates) {
        seat::seat_holes(plate, spec, &job.fasteners, &holes, &joints, sink);
    }
    Layout {
        placed,
        holes,
        plates,
        joints,
    }
}

impl Layout {
    /// A hole by its name.
    #[must_use]
    pub fn hole(&self, target: &crate::params::job::HoleRef) -> Option<&EngineHole> {
        self.holes.iter().find(|h| h.target == *target)
    }
}
