//! Axis-parallel boxes and the bounding-volume tree over them.

/// An axis-parallel box of `D` dimensions, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds<const D: usize> {
    /// Least coordinates.
    pub min: [f64; D],
    /// Greatest coordinates.
    pub max: [f64; D],
}

impl<const D: usize> Bounds<D> {
    /// The box that holds nothing.
    pub const EMPTY: Self = Self {
        min: [f64::INFINITY; D],
        max: [f64::NEG_INFINITY; D],
    };

    /// The box of some points.
    #[must_use]
    pub fn of(points: impl IntoIterator<Item = [f64; D]>) -> Self {
        let mut all = Self::EMPTY;
        for p in points {
            all.add(p);
        }
        all
    }

    /// Widens the box to hold a point.
    pub fn add(&mut self, p: [f64; D]) {
        for (k, x) in p.into_iter().enumerate() {
            self.min[k] = self.min[k].min(x);
            self.max[k] = self.max[k].max(x);
        }
    }

    /// The box of both.
    #[must_use]
    pub fn with(&self, other: &Self) -> Self {
        let mut all = *self;
        for k in 0..D {
            all.min[k] = all.min[k].min(other.min[k]);
            all.max[k] = all.max[k].max(other.max[k]);
        }
        all
    }

    /// The box grown by `mm` on every side.
    #[must_use]
    pub fn grown(&self, mm: f64) -> Self {
        let mut all = *self;
        for k in 0..D {
            all.min[k] -= mm;
            all.max[k] += mm;
        }
        all
    }

    /// Squared distance between two boxes, mm²; 0 where they overlap.
    #[must_use]
    pub fn gap2(&self, other: &Self) -> f64 {
        let mut sum = 0.0;
        for k in 0..D {
            let d = (other.min[k] - self.max[k])
                .max(self.min[k] - other.max[k])
                .max(0.0);
            sum += d * d;
        }
        sum
    }

    fn widest(&self) -> usize {
        let mut best = 0;
        for k in 1..D {
            if self.max[k] - self.min[k] > self.max[best] - self.min[best] {
                best = k;
            }
        }
        best
    }

    fn girth(&self) -> f64 {
        (0..D).map(|k| self.max[k] - self.min[k]).sum()
    }
}

/// Boxes in one leaf: below this a scan costs less than another level.
const LEAF: usize = 4;

#[derive(Debug, Clone, Copy)]
struct Node<const D: usize> {
    bounds: Bounds<D>,
    /// First entry of a leaf in `order`, or the left child's index.
    first: usize,
    /// Entries of a leaf; 0 for a branch, whose right child is `right`.
    count: usize,
    right: usize,
}

/// A binary tree of boxes, split at the median of the widest side.
#[derive(Debug, Clone)]
pub struct Tree<const D: usize> {
    nodes: Vec<Node<D>>,
    order: Vec<usize>,
}

impl<const D: usize> Tree<D> {
    /// A tree over boxes, which are known by their index from then on.
    #[must_use]
    pub fn new(boxes: &[Bounds<D>]) -> Self {
        let mut tree = Self {
            nodes: Vec::with_capacity(boxes.len().max(1)),
            order: (0..boxes.len()).collect(),
        };
        if !boxes.is_empty() {
            tree.build(boxes, 0, boxes.len());
        }
        tree
    }

    fn build(&mut self, boxes: &[Bounds<D>], first: usize, end: usize) -> usize {
        let mut bounds = Bounds::EMPTY;
        for &i in &self.order[first..end] {
            bounds = bounds.with(&boxes[i]);
        }
        let at = self.nodes.len();
        self.nodes.push(Node {
            bounds,
            first,
            count: end - first,
            right: 0,
        });
        if end - first > LEAF {
            let axis = bounds.widest();
            let middle = first + (end - first) / 2;
            let key = |i: &usize| boxes[*i].min[axis] + boxes[*i].max[axis];
            self.order[first..end].select_nth_unstable_by((end - first) / 2, |a, b| {
                key(a).total_cmp(&key(b)).then(a.cmp(b))
            });
            let left = self.build(boxes, first, middle);
            let right = self.build(boxes, middle, end);
            self.nodes[at].first = left;
            self.nodes[at].right = right;
            self.nodes[at].count = 0;
        }
        at
    }

    /// The box of everything.
    #[must_use]
    pub fn bounds(&self) -> Bounds<D> {
        self.nodes.first().map_or(Bounds::EMPTY, |n| n.bounds)
    }

    /// Calls `visit` for every entry whose leaf could be nearer than `best2` by `lower`, near ones first.
    ///
    /// `lower` gives a squared lower bound for a box; `visit` may lower `best2`.
    pub fn nearest(
        &self,
        best2: &mut f64,
        lower: &impl Fn(&Bounds<D>) -> f64,
        visit: &mut impl FnMut(usize, &mut f64),
    ) {
        if !self.nodes.is_empty() {
            self.descend(0, best2, lower, visit);
        }
    }

    fn descend(
        &self,
        at: usize,
        best2: &mut f64,
        lower: &impl Fn(&Bounds<D>) -> f64,
        visit: &mut impl FnMut(usize, &mut f64),
    ) {
        let n = &self.nodes[at];
        if n.count > 0 {
            for &i in &self.order[n.first..n.first + n.count] {
                visit(i, best2);
            }
            return;
        }
        let (a, b) = (
            lower(&self.nodes[n.first].bounds),
            lower(&self.nodes[n.right].bounds),
        );
        let ((near, d_near), (far, d_far)) = if a <= b {
            ((n.first, a), (n.right, b))
        } else {
            ((n.right, b), (n.first, a))
        };
        if d_near < *best2 {
            self.descend(near, best2, lower, visit);
        }
        if d_far < *best2 {
            self.descend(far, best2, lower, visit);
        }
    }

    /// Calls `visit` for every pair of entries of two trees whose leaves could be nearer than `best2`.
    pub fn nearest_between(
        &self,
        other: &Self,
        best2: &mut f64,
        visit: &mut impl FnMut(usize, usize, &mut f64),
    ) {
        if !self.nodes.is_empty() && !other.nodes.is_empty() {
            self.descend_both(0, other, 0, best2, visit);
        }
    }

    fn descend_both(
        &self,
        at: usize,
        other: &Self,
        at_other: usize,
        best2: &mut f64,
        visit: &mut impl FnMut(usize, usize, &mut f64),
    ) {
        let (a, b) = (&self.nodes[at], &other.nodes[at_other]);
        if a.bounds.gap2(&b.bounds) >= *best2 {
            return;
        }
        if a.count > 0 && b.count > 0 {
            for &i in &self.order[a.first..a.first + a.count] {
                for &j in &other.order[b.first..b.first + b.count] {
                    visit(i, j, best2);
                }
            }
            return;
        }
        let split_a = b.count > 0 || (a.count == 0 && a.bounds.girth() >= b.bounds.girth());
        let mut next = if split_a {
            [(a.first, at_other), (a.right, at_other)]
        } else {
            [(at, b.first), (at, b.right)]
        };
        let gap = |(i, j): (usize, usize)| self.nodes[i].bounds.gap2(&other.nodes[j].bounds);
        if gap(next[1]) < gap(next[0]) {
            next.swap(0, 1);
        }
        for (i, j) in next {
            self.descend_both(i, other, j, best2, visit);
        }
    }

    /// Calls `visit` once for every pair of different entries whose leaves come within `within` mm.
    pub fn pairs_within(&self, within: f64, visit: &mut impl FnMut(usize, usize)) {
        if !self.nodes.is_empty() {
            self.pairs(0, 0, within * within, visit);
        }
    }

    fn pairs(&self, at: usize, other: usize, within2: f64, visit: &mut impl FnMut(usize, usize)) {
        let (a, b) = (&self.nodes[at], &self.nodes[other]);
        if a.bounds.gap2(&b.bounds) > within2 {
            return;
        }
        if a.count > 0 && b.count > 0 {
            for (k, &i) in self.order[a.first..a.first + a.count].iter().enumerate() {
                let from = if at == other { k + 1 } else { 0 };
                for &j in &self.order[b.first + from..b.first + b.count] {
                    visit(i.min(j), i.max(j));
                }
            }
        } else if at == other {
            self.pairs(a.first, a.first, within2, visit);
            self.pairs(a.right, a.right, within2, visit);
            self.pairs(a.first, a.right, within2, visit);
        } else if b.count > 0 || (a.count == 0 && a.bounds.girth() >= b.bounds.girth()) {
            self.pairs(a.first, other, within2, visit);
            self.pairs(a.right, other, within2, visit);
        } else {
            self.pairs(at, b.first, within2, visit);
            self.pairs(at, b.right, within2, visit);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scattered(n: usize) -> Vec<Bounds<2>> {
        (0..n)
            .map(|i| {
                let x = (i as f64 * 37.0).rem_euclid(101.0);
                let y = (i as f64 * 53.0).rem_euclid(97.0);
                Bounds::of([[x, y], [x + 3.0, y + 2.0]])
            })
            .collect()
    }

    #[test]
    fn every_close_pair_is_visited_once() {
        let boxes = scattered(60);
        let mut seen = Vec::new();
        Tree::new(&boxes).pairs_within(4.0, &mut |i, j| {
            if boxes[i].gap2(&boxes[j]) <= 16.0 {
                seen.push((i, j));
            }
        });
        seen.sort_unstable();
        let mut want = Vec::new();
        for i in 0..boxes.len() {
            for j in i + 1..boxes.len() {
                if boxes[i].gap2(&boxes[j]) <= 16.0 {
                    want.push((i, j));
                }
            }
        }
        assert!(want.len() > 20);
        assert_eq!(seen, want);
    }

    #[test]
    fn the_nearest_pair_of_two_trees_is_found() {
        let a = scattered(40);
        let b: Vec<Bounds<2>> = scattered(50)
            .iter()
            .map(|x| Bounds::of([[x.min[0] + 130.0, x.min[1]], [x.max[0] + 130.0, x.max[1]]]))
            .collect();
        let mut best = f64::INFINITY;
        Tree::new(&a).nearest_between(&Tree::new(&b), &mut best, &mut |i, j, best| {
            *best = best.min(a[i].gap2(&b[j]));
        });
        let want = a
            .iter()
            .flat_map(|x| b.iter().map(|y| x.gap2(y)))
            .fold(f64::INFINITY, f64::min);
        assert!((best - want).abs() < 1e-12 && want > 0.0);
    }
}
