//! Strength and vibration of a bracket set: stress, deflection, natural frequencies.
//!
//! Plates are solids: their exact outlines and openings are triangulated with
//! curved second-order edges and extruded in layers that follow every floor.
//! The whole set is one model. Input is a [`Model`], the answer a [`Strength`].
//!
//! ```text
//! Model -> build (mesh, clamps, bodies) -> System (reduction, assembly, factor)
//!       -> solve, recover -> adapt (finer mesh, again) -> modes -> judge -> report, picture
//! ```

pub mod adapt;
pub mod assemble;
pub mod beam;
pub mod build;
pub mod campbell;
pub mod deflection;
pub mod element;
pub mod error;
pub mod factor;
pub mod fatigue;
mod groups;
mod judge;
pub mod mass;
pub mod mesh;
pub mod mobility;
pub mod model;
pub mod modes;
pub mod picture;
pub mod places;
pub mod progress;
pub mod recover;
pub mod reduction;
pub mod report;
pub mod run;
pub mod structure;
pub mod surface;
pub mod system;

pub use error::StrengthError;
pub use model::Model;
pub use progress::{Progress, Silent, Stage};
pub use report::{Strength, StrengthReport};
pub use run::{Options, run};
pub use structure::{Beam, Elastic, Hold, RigidBody, Structure, Wedge};
pub use system::System;
