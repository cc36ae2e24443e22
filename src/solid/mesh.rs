//! A preview mesh.
