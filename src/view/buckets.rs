//! Boxes sorted into squares of the picture, so that only near ones are asked.

use crate::geom::{Extents, Point};

/// Boxes a square holds on average.
const FILL: f64 = 4.0;

/// Most squares along a side.
const MOST: f64 = 400.0;

/// Numbered boxes by the squares they touch.
#[derive(Debug)]
pub(super) struct Buckets {
    boxes: Vec<Extents>,
    corner: Point,
    side: f64,
    columns: usize,
    rows: usize,
    squares: Vec<Vec<u32>>,
}

impl Buckets {
    /// Sorts boxes; empty ones are never found.
    pub(super) fn new(boxes: Vec<Extents>) -> Self {
        let mut all = Extents::EMPTY;
        for b in boxes.iter().filter(|b| b.min.x <= b.max.x) {
            all.add(b.min);
            all.add(b.max);
        }
        if all.min.x > all.max.x {
            all = Extents {
                min: Point::ORIGIN,
                max: Point::ORIGIN,
            };
        }
        let wide = all.width().max(all.height()).max(1e-6);
        let along = (boxes.len() as f64 / FILL).sqrt().clamp(1.0, MOST).ceil();
        let side = wide / along;
        let count = |mm: f64| (mm / side).floor() as usize + 1;
        let (columns, rows) = (count(all.width()), count(all.height()));
        let mut made = Self {
            corner: all.min,
            side,
            columns,
            rows,
            squares: vec![Vec::new(); columns * rows],
            boxes,
        };
        for k in 0..made.boxes.len() {
            let b = made.boxes[k];
            if b.min.x <= b.max.x {
                for square in made.touched(&b) {
                    made.squares[square].push(k as u32);
                }
            }
        }
        made
    }

    fn column(&self, x: f64) -> usize {
        let at = ((x - self.corner.x) / self.side).floor();
        at.clamp(0.0, (self.columns - 1) as f64) as usize
    }

    fn row(&self, y: f64) -> usize {
        let at = ((y - self.corner.y) / self.side).floor();
        at.clamp(0.0, (self.rows - 1) as f64) as usize
    }

    fn touched(&self, b: &Extents) -> Vec<usize> {
        let (c, r) = (
            self.column(b.min.x)..=self.column(b.max.x),
            self.row(b.min.y)..=self.row(b.max.y),
        );
        c.flat_map(|c| r.clone().map(move |r| (c, r)))
            .map(|(c, r)| r * self.columns + c)
            .collect()
    }

    /// Boxes that may hold a point.
    pub(super) fn near(&self, p: Point) -> impl Iterator<Item = usize> + '_ {
        let square = self.row(p.y) * self.columns + self.column(p.x);
        self.squares[square]
            .iter()
            .map(|k| *k as usize)
            .filter(move |&k| {
                let b = &self.boxes[k];
                p.x >= b.min.x && p.x <= b.max.x && p.y >= b.min.y && p.y <= b.max.y
            })
    }

    /// Boxes that meet a box, each once, in order.
    pub(super) fn across(&self, b: &Extents) -> Vec<usize> {
        let mut found: Vec<usize> = self
            .touched(b)
            .into_iter()
            .flat_map(|s| self.squares[s].iter().map(|k| *k as usize))
            .filter(|&k| {
                let o = &self.boxes[k];
                o.min.x <= b.max.x && b.min.x <= o.max.x && o.min.y <= b.max.y && b.min.y <= o.max.y
            })
            .collect();
        found.sort_unstable();
        found.dedup();
        found
    }
}
