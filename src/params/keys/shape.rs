//! Keys and values that several kinds share: directions, envelopes, polygons, references.

use crate::diag::{Code, Diag, Sink};
use crate::geom::{Path, Point, Vector3};
use crate::params::job::HoleRef;
use crate::params::record::{Node, Record};
use crate::params::spec::{Key, Table, Type};

/// Two holes nearer to each other than this are one hole written twice, mm.
///
/// A caliper reads 0.01 mm; nobody drills two holes that near.
pub const SAME_PLACE_MM: f64 = 0.01;

/// Directions by the face they point out of.
pub const DIRECTIONS: &[(&str, &str)] = &[
    ("front", "+z, towards the viewer in front of the pulleys"),
    ("back", "-z"),
    ("right", "+x, right as seen from in front"),
    ("left", "-x"),
    ("top", "+y, up"),
    ("bottom", "-y"),
];

/// A direction: a face's word or three components.
pub const AXIS: Type = Type::Either(&[Type::Choice(DIRECTIONS), Type::DIRECTION]);

/// A circular cylinder along z.
pub static CYLINDER: Table = Table::new(
    "cylinder",
    "a cylinder along z",
    &[
        Key::required("at", Type::POINT, "centre [x, y], mm"),
        Key::required("diameter", Type::SIZE, "diameter, mm"),
    ],
);

/// The unit vector of a direction's word.
pub(super) fn direction(word: &str) -> Option<Vector3> {
    Some(match word {
        "front" => Vector3::Z,
        "back" => -Vector3::Z,
        "right" => Vector3::X,
        "left" => -Vector3::X,
        "top" => Vector3::Y,
        "bottom" => -Vector3::Y,
        _ => return None,
    })
}

/// The unit vector of an [`AXIS`] or [`Type::DIRECTION`] key.
pub(super) fn axis(record: &Record, key: &str, sink: &mut Sink) -> Option<Vector3> {
    let node = record.node(key)?;
    if let Some(word) = node.text() {
        return direction(word);
    }
    let v = node.vector3()?;
    let unit = (v.length() > crate::tol::PARALLEL)
        .then(|| v.unit())
        .flatten();
    if unit.is_none() {
        sink.push(
            super::about(
                Code::Degenerate,
                record,
                key,
                format!("`{}` has no direction", record.path_of(key)),
            )
            .help("at least one component must differ from zero, such as [0, 0, 1]"),
        );
    }
    unit
}

/// The outline of a record with the keys `cylinder` and `prism`, counter-clockwise.
pub(super) fn envelope(record: &Record, sink: &mut Sink) -> Option<Path> {
    if let Some(c) = record.table_at("cylinder") {
        return Some(Path::circle(c.point("at")?, 0.5 * c.number("diameter")?));
    }
    let node = record.node("prism")?;
    let points = polygon(node, &record.path_of("prism"), sink)?;
    Some(Path::polygon(&points))
}

/// Corners of a simple polygon, counter-clockwise; `path` is shown to the user.
pub(super) fn polygon(node: &Node, path: &str, sink: &mut Sink) -> Option<Vec<Point>> {
    let mut points = node.points()?;
    let fault = polygon_fault(&points);
    if let Some(fault) = fault {
        sink.push(
            Diag::new(Code::Degenerate, format!("`{path}` is no polygon: {fault}"))
                .at(node.spot)
                .key(path)
                .help("list the corners once round, without repeating the first"),
        );
        return None;
    }
    if Path::polygon(&points).area() < 0.0 {
        points.reverse();
    }
    Some(points)
}

/// Why corners do not make a simple polygon.
fn polygon_fault(points: &[Point]) -> Option<String> {
    let n = points.len();
    let side = |i: usize| Some((*points.get(i)?, *points.get((i + 1) % n)?));
    for i in 0..n {
        let (a, b) = side(i)?;
        if a.distance(b) < SAME_PLACE_MM {
            return Some(format!("corners {} and {} are one", i + 1, (i + 1) % n + 1));
        }
        for j in i + 2..n {
            if (j + 1) % n == i {
                continue;
            }
            let (c, d) = side(j)?;
            if sides_meet(a, b, c, d) {
                return Some(format!("its sides {} and {} meet", i + 1, j + 1));
            }
        }
    }
    let area = Path::polygon(points).area().abs();
    (area < SAME_PLACE_MM * SAME_PLACE_MM).then(|| "it has no area".to_owned())
}

/// Whether two sides that share no corner have a point in common.
fn sides_meet(a: Point, b: Point, c: Point, d: Point) -> bool {
    let side = |p: Point, q: Point, r: Point| {
        let area = (q - p).cross(r - p);
        // Nearer to the line than the snapping distance is on it.
        if area.abs() <= crate::tol::SNAP_MM * p.distance(q) {
            0
        } else if area > 0.0 {
            1
        } else {
            -1
        }
    };
    let within = |p: Point, q: Point, r: Point| {
        r.x >= p.x.min(q.x) && r.x <= p.x.max(q.x) && r.y >= p.y.min(q.y) && r.y <= p.y.max(q.y)
    };
    let (sc, sd, sa, sb) = (side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b));
    if sc * sd < 0 && sa * sb < 0 {
        return true;
    }
    (sc == 0 && within(a, b, c))
        || (sd == 0 && within(a, b, d))
        || (sa == 0 && within(c, d, a))
        || (sb == 0 && within(c, d, b))
}

/// Splits `owner.id` at its point.
pub(in crate::params) fn split_reference(text: &str) -> HoleRef {
    let (owner, id) = text.split_once('.').unwrap_or((text, ""));
    HoleRef {
        owner: owner.to_owned(),
        id: id.to_owned(),
    }
}

/// A key that holds a reference.
pub(super) fn reference(record: &Record, key: &str) -> Option<HoleRef> {
    record.text(key).map(split_reference)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fault(points: &[(f64, f64)]) -> Option<String> {
        let points: Vec<Point> = points.iter().map(|&(x, y)| Point::new(x, y)).collect();
        polygon_fault(&points)
    }

    #[test]
    fn a_polygon_may_not_cross_touch_or_vanish() {
        assert_eq!(fault(&[(0.0, 0.0), (4.0, 0.0), (4.0, 3.0)]), None);
        let l = [
            (0.0, 0.0),
            (4.0, 0.0),
            (4.0, 1.0),
            (1.0, 1.0),
            (1.0, 4.0),
            (0.0, 4.0),
        ];
        assert_eq!(fault(&l), None);
        let bow = [(0.0, 0.0), (4.0, 3.0), (4.0, 0.0), (0.0, 3.0)];
        assert!(fault(&bow).unwrap().contains("sides 1 and 3 meet"));
        let touching = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (2.0, 0.0), (0.0, 3.0)];
        assert!(fault(&touching).is_some());
        assert!(fault(&[(0.0, 0.0), (1.0, 0.0), (2.0, 0.0)]).is_some());
        assert!(fault(&[(0.0, 0.0), (1.0, 0.0), (1.0, 0.0)]).is_some());
    }

    #[test]
    fn every_direction_word_is_a_unit_vector_and_opposites_cancel() {
        for (word, _) in DIRECTIONS {
            let v = direction(word).unwrap();
            assert!((v.length() - 1.0).abs() < 1e-15, "{word}");
        }
        for (a, b) in [("front", "back"), ("right", "left"), ("top", "bottom")] {
            assert_eq!(direction(a).unwrap(), -direction(b).unwrap());
        }
    }
}
