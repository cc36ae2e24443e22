//! Outlines: from bosses, webs and drawn edges to one exact loop of lines and arcs.

pub mod drawn;
