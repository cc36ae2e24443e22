//! A plan: second-order triangles of the plane.

use std::collections::BTreeMap;

use crate::geom::Point;

/// A plane mesh of six-node triangles.
///
/// The first [`Plan::corners`] points are corners, the rest mid-edge points.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Plan {
    /// Points, mm.
    pub points: Vec<Point>,
    /// How many of the points are corners.
    pub corners: usize,
    /// Triangles: three corners counter-clockwise, then the points on edges 0–1, 1–2, 2–0.
    pub triangles: Vec<[usize; 6]>,
}

impl Plan {
    /// A plan from corner points and straight triangles; `bend` says where the middle of an edge lies.
    ///
    /// `bend` gets the two corner indices, smaller first, and answers `None` for a straight edge.
    #[must_use]
    pub fn new(
        corners: Vec<Point>,
        triangles: &[[usize; 3]],
        bend: impl Fn(usize, usize) -> Option<Point>,
    ) -> Self {
        let count = corners.len();
        let mut points = corners;
        let mut middle: BTreeMap<(usize, usize), usize> = BTreeMap::new();
        let triangles = triangles
            .iter()
            .map(|&[a, b, c]| {
                let mut mid = |i: usize, j: usize| {
                    let key = (i.min(j), i.max(j));
                    *middle.entry(key).or_insert_with(|| {
                        let p = bend(key.0, key.1)
                            .unwrap_or_else(|| points[key.0].midpoint(points[key.1]));
                        points.push(p);
                        points.len() - 1
                    })
                };
                [a, b, c, mid(a, b), mid(b, c), mid(c, a)]
            })
            .collect();
        Self {
            points,
            corners: count,
            triangles,
        }
    }

    /// Centre of a triangle's corners.
    #[must_use]
    pub fn centre(&self, triangle: usize) -> Point {
        let [a, b, c, ..] = self.triangles[triangle];
        let (a, b, c) = (self.points[a], self.points[b], self.points[c]);
        Point::new((a.x + b.x + c.x) / 3.0, (a.y + b.y + c.y) / 3.0)
    }

    /// The mid-edge point between two corners, if an edge joins them.
    #[must_use]
    pub fn edges(&self) -> BTreeMap<(usize, usize), usize> {
        let mut edges = BTreeMap::new();
        for &[a, b, c, ab, bc, ca] in &self.triangles {
            for (i, j, m) in [(a, b, ab), (b, c, bc), (c, a, ca)] {
                edges.insert((i.min(j), i.max(j)), m);
            }
        }
        edges
    }
}
