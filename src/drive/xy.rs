//! Points and vectors as `{"x": …, "y": …}` in JSON; the field's name carries the unit.

use serde::Serialize;
use serde::ser::Serializer;

use crate::geom::{Point, Vector};

#[derive(Serialize)]
struct Pair {
    x: f64,
    y: f64,
}

pub(super) fn point<S: Serializer>(p: &Point, serializer: S) -> Result<S::Ok, S::Error> {
    Pair { x: p.x, y: p.y }.serialize(serializer)
}

pub(super) fn vector<S: Serializer>(v: &Vector, serializer: S) -> Result<S::Ok, S::Error> {
    Pair { x: v.x, y: v.y }.serialize(serializer)
}
