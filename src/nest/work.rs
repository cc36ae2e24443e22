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

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;
    use std::f64::consts::PI;

    use super::*;
    use crate::diag::Spot;
    use crate::feature::{Hole, Purpose};
    use crate::geom::{Frame, Path, Point};
    use crate::params::shop::Method;
    use crate::plate::Plate;

    fn process(machines: bool) -> Process {
        Process {
            id: "p".to_owned(),
            method: if machines {
                Method::Milling
            } else {
                Method::Waterjet
            },
            least_hole_per_thickness: 0.0,
            least_hole_mm: 0.0,
            least_web_per_thickness: 0.0,
            least_web_mm: 0.0,
            cutters_mm: vec![8.0],
            inside_radius_mm: 4.0,
            most_thickness_mm: 50.0,
            sheet_mm: (1000.0, 500.0),
            machines,
            engraves: true,
            kerf_mm: 1.0,
            part_gap_mm: 10.0,
            edge_margin_mm: 10.0,
            cuts: Vec::new(),
            hole_s: 30.0,
            sheet_min: 5.0,
            spot: Spot::NOWHERE,
        }
    }

    /// 100 x 50 mm, 20 thick: a through hole of 10, a blind one, a round window of 20.
    fn made() -> MadePlate {
        let at = Point::new;
        let hole = |id: &str, x: f64, depth: Depth| Feature {
            id: id.to_owned(),
            variants: std::sync::Arc::default(),
            shape: Shape::Hole(Hole {
                centre: at(x, 25.0),
                diameter_mm: 10.0,
                depth,
                mouth: None,
                purpose: Purpose::Plain,
            }),
        };
        let blind = Depth::Blind {
            from: crate::feature::Face::Front,
            depth_mm: 8.0,
            floor: crate::feature::Floor::Flat,
        };
        MadePlate {
            plate: Plate {
                id: "plate".to_owned(),
                title: String::new(),
                frame: Frame::FRONT,
                thickness_mm: 20.0,
                material: String::new(),
                density_kg_m3: 2700.0,
                outline: Path::polygon(&[
                    at(0.0, 0.0),
                    at(100.0, 0.0),
                    at(100.0, 50.0),
                    at(0.0, 50.0),
                ]),
                features: vec![
                    hole("through", 20.0, Depth::Through),
                    hole("blind", 50.0, blind),
                    Feature {
                        id: "window".to_owned(),
                        variants: std::sync::Arc::default(),
                        shape: Shape::Window(Path::circle(at(80.0, 25.0), 10.0)),
                    },
                ],
            },
            stock: String::new(),
            process: String::new(),
            holes: Vec::new(),
            marked: BTreeMap::new(),
            pieces: 1,
            quantity: 1,
            mixups: Vec::new(),
            way_up: None,
            spot: Spot::NOWHERE,
            spots: BTreeMap::new(),
        }
    }

    #[test]
    fn a_mill_drills_what_a_jet_cuts() {
        let mill = Work::of(&made(), &process(true));
        assert!((mill.cut_mm - (300.0 + 20.0 * PI)).abs() < 1e-9);
        assert_eq!((mill.pierces, mill.holes), (2, 2));
        let mut left = made();
        left.marked
            .insert("blind".to_owned(), "not by a jet".to_owned());
        let jet = Work::of(&left, &process(false));
        assert!((jet.cut_mm - (300.0 + 30.0 * PI)).abs() < 1e-9);
        assert_eq!((jet.pierces, jet.holes), (3, 0));
    }

    #[test]
    fn time_is_passes_over_feed_and_pierces_and_holes_and_loading() {
        let cut = Cut {
            material: String::new(),
            up_to_mm: None,
            feed_mm_min: 1000.0,
            pierce_s: 12.0,
            pass_mm: Some(4.0),
        };
        let work = Work {
            cut_mm: 600.0,
            pierces: 5,
            holes: 4,
        };
        // By hand: 5 passes x 0.6 min, 5 x 0.2 min, 4 x 0.5 min, 5 min.
        let minutes = work.minutes(&process(true), &cut, 20.0);
        assert!((minutes - (3.0 + 1.0 + 2.0 + 5.0)).abs() < 1e-12);
    }
}
