//! Nothing twice: the same cut on one layer is an error, the same engraved stroke is written once.

use super::{DxfError, Layer, Ready, place};
use crate::geom::Point;
use crate::tol::SNAP_MM;

/// The entities without repeated marks.
///
/// # Errors
///
/// [`DxfError::Twice`] where a cutting layer holds one loop or circle twice.
pub(super) fn without(ready: Vec<(Layer, Ready<'_>)>) -> Result<Vec<(Layer, Ready<'_>)>, DxfError> {
    let mut order: Vec<(Layer, Point, usize)> = ready
        .iter()
        .enumerate()
        .filter_map(|(k, (layer, r))| Some((*layer, r.middle()?, k)))
        .collect();
    order.sort_by(|a, b| {
        a.0.cmp(&b.0)
            .then(a.1.x.total_cmp(&b.1.x))
            .then(a.2.cmp(&b.2))
    });
    let mut repeated = vec![false; ready.len()];
    for (at, &(layer, middle, first)) in order.iter().enumerate() {
        for &(other, near, second) in &order[at + 1..] {
            if other != layer || near.x - middle.x > SNAP_MM {
                break;
            }
            if near.distance(middle) > SNAP_MM || !ready[first].1.same_as(&ready[second].1) {
                continue;
            }
            if layer.is_cut() {
                return Err(DxfError::Twice {
                    layer: layer.name(),
                    x: place(middle.x),
                    y: place(middle.y),
                });
            }
            repeated[first.max(second)] = true;
        }
    }
    Ok(ready
        .into_iter()
        .zip(repeated)
        .filter_map(|(r, again)| (!again).then_some(r))
        .collect())
}

impl Ready<'_> {
    /// Middle of the circle or of the vertices; `None` for a text.
    fn middle(&self) -> Option<Point> {
        match self {
            Self::Text { .. } => None,
            Self::Circle { centre, .. } => Some(*centre),
            Self::Line { from, to } => Some(from.midpoint(*to)),
            Self::Polyline { vertices, .. } => {
                let n = vertices.len() as f64;
                Some(Point::new(
                    vertices.iter().map(|v| v.at.x).sum::<f64>() / n,
                    vertices.iter().map(|v| v.at.y).sum::<f64>() / n,
                ))
            }
        }
    }

    /// Whether both trace the same line, whatever their start and direction.
    fn same_as(&self, other: &Self) -> bool {
        let near = |a: Point, b: Point| a.distance(b) <= SNAP_MM;
        match (self, other) {
            (
                Self::Circle { centre, radius },
                Self::Circle {
                    centre: c,
                    radius: r,
                },
            ) => near(*centre, *c) && (radius - r).abs() <= SNAP_MM,
            (Self::Line { from, to }, Self::Line { from: f, to: t }) => {
                (near(*from, *f) && near(*to, *t)) || (near(*from, *t) && near(*to, *f))
            }
            (Self::Polyline { vertices: a, .. }, Self::Polyline { vertices: b, .. }) => {
                let bent =
                    |v: &[super::ready::Vertex]| v.iter().map(|v| v.bulge.abs()).sum::<f64>();
                a.len() == b.len()
                    && (bent(a) - bent(b)).abs() <= SNAP_MM
                    && a.iter().all(|v| b.iter().any(|w| near(v.at, w.at)))
            }
            _ => false,
        }
    }
}
