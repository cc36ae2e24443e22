//! Shop files: they read the model and compute nothing.

pub mod step;
