//! What cutting a part takes: length of cut, pierces, holes, time.

use crate::feature::{Depth, Feature, Shape};
use crate::params::shop::{Cut, Process};
use crate::platework::MadePlate;

/// Work of a process on a part or on a sheet of parts.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Work {
    /// Length of all closed cuts along the outlines, mm.
    pub cut_mm: f64,
    /// Closed cuts: the process pierces or plunges once for each.
    pub pierces: usize,
    /// Holes drilled, reamed or tapped, seats, pockets and grooves.
    pub holes: usize,
}

impl Work {
    /// The work on one plate: a process that machines drills round holes, another cuts them.
    ///
    /// What the process cannot make ([`MadePlate::marked`]) is no work of it.
    #[must_use]
    pub fn of(made: &MadePlate, process: &Process) -> Self {
        let mut work = Self::default();
        work.cut(made.plate.outline.length());
        for f in &made.plate.features {
            if !made.marked.contains_key(&f.id) {
                work.feature(f, process);
            }
        }
        work
    }

    fn cut(&mut self, length_mm: f64) {
        self.cut_mm += length_mm;
        self.pierces += 1;
    }

    fn feature(&mut self, f: &Feature, process: &Process) {
        match &f.shape {
            Shape::Hole(h) => {
                let through = matches!(h.depth, Depth::Through);
                if process.machines || !through {
                    self.holes += 1;
                } else {
                    self.cut(std::f64::consts::PI * h.diameter_mm);
                }
                self.holes += usize::from(h.mouth.is_some());
            }
            Shape::Slot(s) => self.cut(s.path().length()),
            Shape::Window(p) => self.cut(p.length()),
            Shape::Pocket { .. } | Shape::Groove { .. } => self.holes += 1,
            Shape::Mark(_) => {}
        }
    }

    /// Both together.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        Self {
            cut_mm: self.cut_mm + other.cut_mm,
            pierces: self.pierces + other.pierces,
            holes: self.holes + other.holes,
        }
    }

    /// Time on the machine for one sheet, min: cutting in as many passes as the thickness takes, piercing,
    /// holes, loading. Moves between cuts are not counted.
    #[must_use]
    pub fn minutes(&self, process: &Process, cut: &Cut, thickness_mm: f64) -> f64 {
        let passes = cut
            .pass_mm
            .map_or(1.0, |deep| (thickness_mm / deep - 1e-9).ceil().max(1.0));
        passes * self.cut_mm / cut.feed_mm_min
            + (self.pierces as f64 * cut.pierce_s + self.holes as f64 * process.hole_s) / 60.0
            + process.sheet_min
    }
}
