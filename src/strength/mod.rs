//! Strength and vibration of a bracket set: stress, deflection, natural frequencies.

pub mod assemble;
pub mod beam;
pub mod element;
pub mod error;
pub mod factor;
pub mod mass;
pub mod mesh;
pub mod mobility;
pub mod modes;
pub mod progress;
pub mod recover;
pub mod reduction;
pub mod structure;
pub mod surface;
pub mod system;

pub use error::StrengthError;
pub use progress::{Progress, Silent, Stage};
pub use structure::{Beam, Elastic, Hold, RigidBody, Structure, Wedge};
pub use system::System;
