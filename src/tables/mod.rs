//! Standard tables compiled into the binary; each row carries its source and how sure it is.

pub mod belt;
