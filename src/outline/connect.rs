//! Into how many parts the bare shapes fall, before fillets join them.

use super::body::Ground;
use super::carrier::{Carrier, boxes_meet, meet};
use super::shape::{Disc, Shape};
use crate::geom::Extents;
use crate::tol;

/// The number of parts that admitted shapes make; shapes that touch are one part.
pub(super) fn parts(shapes: &[Shape]) -> usize {
    let mut parts = Parts::new(shapes.len());
    // Webs that end on their bosses settle nearly every job without any crossing.
    let mut owners: Vec<(Disc, usize)> = Vec::with_capacity(2 * shapes.len());
    for (k, s) in shapes.iter().enumerate() {
        let discs = match s {
            Shape::Disc(d) => [Some(*d), None],
            Shape::Taper { a, b } => [Some(*a), Some(*b)],
            Shape::Bar { .. } | Shape::Drawn(_) => [None, None],
        };
        for d in discs.into_iter().flatten() {
            match owners.iter().find(|o| o.0 == d) {
                Some(&(_, owner)) => parts.join(owner, k),
                None => owners.push((d, k)),
            }
        }
    }
    if parts.count == 1 {
        return 1;
    }
    let boxes: Vec<Extents> = shapes.iter().map(Shape::extents).collect();
    let grounds: Vec<Ground> = shapes
        .iter()
        .map(|s| Ground::new(std::iter::once(s), 0.0))
        .collect();
    for i in 0..shapes.len() {
        for j in i + 1..shapes.len() {
            if parts.root(i) != parts.root(j)
                && boxes_meet(&boxes[i], &boxes[j], tol::SNAP_MM)
                && touch(&shapes[i], &grounds[i], &shapes[j], &grounds[j])
            {
                parts.join(i, j);
            }
        }
    }
    parts.count
}

/// Whether two shapes share a point: boundaries meet, or one holds a point of the other.
fn touch(a: &Shape, ground_a: &Ground, b: &Shape, ground_b: &Ground) -> bool {
    let holds = |ground: &Ground, other: &Shape| {
        other
            .reference_points()
            .into_iter()
            .any(|p| ground.covers(p, 0.0))
    };
    let ends_on = |c: &Carrier, d: &Carrier| {
        d.ends()
            .is_some_and(|(p, q)| c.is_on(p, tol::SNAP_MM) || c.is_on(q, tol::SNAP_MM))
    };
    holds(ground_a, b)
        || holds(ground_b, a)
        || ground_a.carriers.iter().any(|c| {
            ground_b.carriers.iter().any(|d| {
                meet(c, d, tol::SNAP_MM).points().next().is_some() || ends_on(c, d) || ends_on(d, c)
            })
        })
}

/// Union-find over shapes.
struct Parts {
    parent: Vec<usize>,
    count: usize,
}

impl Parts {
    fn new(n: usize) -> Self {
        Self {
            parent: (0..n).collect(),
            count: n,
        }
    }

    fn root(&mut self, mut k: usize) -> usize {
        while self.parent[k] != k {
            self.parent[k] = self.parent[self.parent[k]];
            k = self.parent[k];
        }
        k
    }

    fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.root(a), self.root(b));
        if a != b {
            self.parent[a.max(b)] = a.min(b);
            self.count -= 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Path, Point};

    fn disc(x: f64, y: f64, r: f64) -> Shape {
        Shape::Disc(Disc::new(Point::new(x, y), r))
    }

    fn web(a: (f64, f64, f64), b: (f64, f64, f64)) -> Shape {
        Shape::Taper {
            a: Disc::new(Point::new(a.0, a.1), a.2),
            b: Disc::new(Point::new(b.0, b.1), b.2),
        }
    }

    #[test]
    fn discs_that_touch_are_one_part_and_a_gap_makes_two() {
        assert_eq!(parts(&[disc(0.0, 0.0, 10.0), disc(20.0, 0.0, 10.0)]), 1);
        assert_eq!(parts(&[disc(0.0, 0.0, 10.0), disc(20.001, 0.0, 10.0)]), 2);
        assert_eq!(parts(&[disc(0.0, 0.0, 10.0), disc(1.0, 0.0, 2.0)]), 1);
    }

    #[test]
    fn webs_that_cross_without_a_common_boss_are_one_part() {
        let across = web((-50.0, 0.0, 5.0), (50.0, 0.0, 6.0));
        let up = web((0.0, -50.0, 5.0), (0.0, 50.0, 6.0));
        assert_eq!(parts(&[across.clone(), up]), 1);
        let square = Path::polygon(&[
            Point::new(0.0, 5.5),
            Point::new(4.0, 5.5),
            Point::new(4.0, 20.0),
            Point::new(0.0, 20.0),
        ]);
        assert_eq!(
            parts(&[across.clone(), Shape::Drawn(square.clone())]),
            1 + usize::from(5.5 > 5.54)
        );
        assert_eq!(
            parts(&[
                across,
                Shape::Drawn(square.moved(crate::geom::Vector::new(0.0, 5.0)))
            ]),
            2
        );
    }
}
