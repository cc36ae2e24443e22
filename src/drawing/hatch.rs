//! Hatching of cut faces (ISO 128-50): narrow lines at 45°.

use super::{Item, Line};
use crate::geom::{Point, Vector};

/// Distance between hatch lines, mm (ISO 128-50 leaves it to the size of the face).
const PITCH_MM: f64 = 2.0;

/// Hatch lines over the inside of a polygon, by the even-odd rule.
///
/// Lines lie on one grid whatever the polygon, so that neighbouring faces of one part match.
pub(super) fn lines(polygon: &[Point]) -> Vec<Item> {
    let along = Vector::unit_at(std::f64::consts::FRAC_PI_4);
    let across = along.left();
    let flat: Vec<Vector> = polygon
        .iter()
        .map(|p| Vector::new(p.to_vector().dot(along), p.to_vector().dot(across)))
        .collect();
    let low = flat.iter().map(|v| v.y).fold(f64::INFINITY, f64::min);
    let high = flat.iter().map(|v| v.y).fold(f64::NEG_INFINITY, f64::max);
    if !(low.is_finite() && high.is_finite()) {
        return Vec::new();
    }
    let first = (low / PITCH_MM).floor() as i64;
    let last = (high / PITCH_MM).ceil() as i64;
    let mut items = Vec::new();
    for k in first..=last {
        // Half a pitch off the grid's origin keeps lines off corners that lie on it.
        let level = (k as f64 + 0.5) * PITCH_MM;
        let mut cuts: Vec<f64> = Vec::new();
        for (i, a) in flat.iter().enumerate() {
            let b = &flat[(i + 1) % flat.len()];
            if (a.y > level) != (b.y > level) {
                cuts.push(a.x + (level - a.y) / (b.y - a.y) * (b.x - a.x));
            }
        }
        cuts.sort_by(f64::total_cmp);
        let point = |x: f64| Point::ORIGIN + along * x + across * level;
        items.extend(
            cuts.chunks_exact(2)
                .map(|c| Item::line(point(c[0]), point(c[1]), Line::Narrow)),
        );
    }
    items
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hatch_lines_cover_the_face_at_their_pitch() {
        let corners = [
            (0.0, 0.0),
            (60.0, 0.0),
            (60.0, 10.0),
            (20.0, 10.0),
            (20.0, 40.0),
            (0.0, 40.0),
        ];
        let polygon: Vec<Point> = corners.iter().map(|&(x, y)| Point::new(x, y)).collect();
        let area = 60.0 * 10.0 + 20.0 * 30.0;
        let length: f64 = lines(&polygon)
            .iter()
            .map(|i| match i {
                Item::Line { path, .. } => path[0].length(),
                _ => 0.0,
            })
            .sum();
        assert!((length * PITCH_MM / area - 1.0).abs() < 0.05, "{length}");
    }
}
