//! How long an edge may be at each place of a plan.

use crate::geom::{Extents, Point};

/// Cells along the longer side of the background grid.
const CELLS: f64 = 256.0;

/// Rounds of sweeping; four directions each settle a field of one growth rate.
const SWEEPS: usize = 2;

/// Edge length as a function of place: small at its sources, growing with distance.
#[derive(Debug, Clone)]
pub struct SizeField {
    origin: Point,
    cell: f64,
    nx: usize,
    ny: usize,
    values: Vec<f64>,
    growth: f64,
    settled: bool,
}

impl SizeField {
    /// A field of edge length `largest` over the box, growing by `growth` per length away from its sources.
    #[must_use]
    pub fn new(extents: Extents, largest: f64, growth: f64) -> Self {
        let span = extents.width().max(extents.height()).max(largest * 1e-3);
        let cell = span / CELLS;
        let count = |length: f64| (length / cell).ceil().max(0.0) as usize + 2;
        let (nx, ny) = (count(extents.width()), count(extents.height()));
        Self {
            origin: extents.min,
            cell,
            nx,
            ny,
            values: vec![largest; nx * ny],
            growth,
            settled: true,
        }
    }

    /// Asks for edges of length `size` at `p`.
    pub fn ask(&mut self, p: Point, size: f64) {
        let (i, j, _, _) = self.cell_of(p);
        for (di, dj) in [(0, 0), (1, 0), (0, 1), (1, 1)] {
            let q = Point::new(
                self.origin.x + (i + di) as f64 * self.cell,
                self.origin.y + (j + dj) as f64 * self.cell,
            );
            let value = size + self.growth * q.distance(p);
            let slot = &mut self.values[(j + dj) * self.nx + i + di];
            if value < *slot {
                *slot = value;
                self.settled = false;
            }
        }
    }

    /// Spreads what was asked over the grid; call once after the last [`SizeField::ask`].
    pub fn settle(&mut self) {
        if self.settled {
            return;
        }
        let step = self.growth * self.cell;
        let diagonal = step * std::f64::consts::SQRT_2;
        let (nx, ny) = (self.nx, self.ny);
        for _ in 0..SWEEPS {
            for (up, right) in [(true, true), (false, false), (true, false), (false, true)] {
                for jj in 0..ny {
                    let j = if up { jj } else { ny - 1 - jj };
                    let jb = if up {
                        j.checked_sub(1)
                    } else {
                        Some(j + 1).filter(|&k| k < ny)
                    };
                    for ii in 0..nx {
                        let i = if right { ii } else { nx - 1 - ii };
                        let ib = if right {
                            i.checked_sub(1)
                        } else {
                            Some(i + 1).filter(|&k| k < nx)
                        };
                        let mut v = self.values[j * nx + i];
                        if let Some(b) = ib {
                            v = v.min(self.values[j * nx + b] + step);
                        }
                        if let Some(b) = jb {
                            v = v.min(self.values[b * nx + i] + step);
                            if let Some(c) = ib {
                                v = v.min(self.values[b * nx + c] + diagonal);
                            }
                        }
                        self.values[j * nx + i] = v;
                    }
                }
            }
        }
        self.settled = true;
    }

    /// Edge length at `p`, mm.
    #[must_use]
    pub fn at(&self, p: Point) -> f64 {
        let (i, j, u, v) = self.cell_of(p);
        let k = j * self.nx + i;
        let low = self.values[k] * (1.0 - u) + self.values[k + 1] * u;
        let high = self.values[k + self.nx] * (1.0 - u) + self.values[k + self.nx + 1] * u;
        low * (1.0 - v) + high * v
    }

    /// Lower-left grid point of the cell that holds `p` and the place in the cell, 0 to 1.
    fn cell_of(&self, p: Point) -> (usize, usize, f64, f64) {
        let place = |x: f64, n: usize| {
            let t = (x / self.cell).clamp(0.0, (n - 1) as f64);
            let i = (t as usize).min(n - 2);
            (i, t - i as f64)
        };
        let (i, u) = place(p.x - self.origin.x, self.nx);
        let (j, v) = place(p.y - self.origin.y, self.ny);
        (i, j, u, v)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges_grow_with_distance_from_a_source_up_to_the_largest() {
        let mut extents = Extents::EMPTY;
        extents.add(Point::ORIGIN);
        extents.add(Point::new(100.0, 50.0));
        let mut field = SizeField::new(extents, 10.0, 0.3);
        field.ask(Point::new(20.0, 20.0), 1.0);
        field.settle();
        assert!(field.at(Point::new(20.0, 20.0)) < 1.2);
        // The grid's chamfer distance is at most 8.3 % above the true one.
        let wanted = 1.0 + 0.3 * 20.0;
        let got = field.at(Point::new(40.0, 20.0));
        assert!((got / wanted - 1.0).abs() < 0.09, "{got}");
        assert!((field.at(Point::new(95.0, 45.0)) - 10.0).abs() < 1e-12);
    }
}
