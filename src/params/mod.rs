//! Parameter files: what the user writes, read, checked and typed.

pub mod accessory;
pub mod block;
mod decode;
pub mod job;
pub mod keys;
mod links;
pub mod lookup;
pub mod nearest;
mod offers;
pub mod open;
pub mod pulley;
pub mod reader;
pub mod record;
mod scalar;
pub mod shop;
pub mod spec;
mod syntax;
mod value;
mod words;

pub use accessory::{Accessory, Body, Mount, MountKind, SpringArm};
pub use block::{Block, BlockHole, Engine, FixedPulley, Keepout, KeepoutKind};
pub use job::{
    BackFace, BossSpec, Deviation, DriveSpec, Fasteners, FeatureKind, FeatureSpec, Fit, Head,
    HoleRef, HoseSpec, Job, Make, OutlineStep, Placed, PlacedZ, PlateSpec, PulleySwap, RunStop,
    SlotSpec, Take, TakeUp, TitleBlock, VariantSpec, WebSpec, Webs, WindowKind, WindowSpec,
};
pub use keys::ParamFile;
pub use lookup::{Disk, Files, Lookup, Memory};
pub use open::{Failure, Loaded, Opened, open, open_file, read_text};
pub use pulley::{Duty, Load, Pulley, SpeedLimits};
pub use shop::{Method, Process, Shop, Stock};
