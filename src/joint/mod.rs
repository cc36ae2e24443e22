//! Bolted joints: the stack of each fastener, its preload, and what a group of them holds.

pub mod judgement;

pub mod stack;

pub mod length;

pub mod strip;

pub mod preload;

pub mod compliance;

pub mod fastening;

pub mod load;

pub mod group;

pub mod hole;

pub mod margin;

pub mod purchase;

pub use fastening::{Fastening, FasteningReport};
pub use group::{Group, GroupBolt, GroupLoads};
pub use hole::{HoleReport, PlateHole};
pub use judgement::{Judgement, RULES, Sense};
pub use length::StackReport;
pub use load::{Case, Demands, HubLoad, Wrench};
pub use margin::{BoltReport, Face, GroupReport, judge_group};
pub use preload::{Assembly, PreloadReport};
pub use purchase::{PurchaseLine, purchase_list};
pub use stack::{End, Layer, LayerKind, Metal, Screw, Stack, StackError, TappedHole};
