//! What a plate's DXF file shows: every operation on its layer, marks and notes.

use std::collections::BTreeMap;

use super::{Drawing, DxfError, Entity, Layer, Operation, Shape as Drawn};
use crate::callout::{Labelled, label_features};
use crate::feature::{Depth, Face, Feature, Hole, Mouth, Purpose, Shape, Slot, SlotTrack};
use crate::geom::{Path, Point};
use crate::plate::Plate;

/// Why the chosen process cannot cut a feature, in words: `smaller than the thickness`.
pub type Reason = String;

/// Features, by name, that the chosen process cannot cut.
pub type NotCut = BTreeMap<String, Reason>;

/// Height of a note's capitals, mm (common practice, no source: readable on a screen, small beside a hole).
const NOTE_HEIGHT_MM: f64 = 2.5;

/// Base line to base line in the list under the plate, note heights (ISO 3098-1: 1.6 for lettering B).
const LEGEND_PITCH: f64 = 1.6;

/// Longest half arm of a centre mark, mm (common practice, no source: large enough for a punch to find).
const CENTRE_MARK_MM: f64 = 2.0;

/// A centre mark stays this share of the hole's radius, so that the drill takes it away.
const CENTRE_MARK_SHARE: f64 = 0.5;

impl Drawing {
    /// The plate seen on its front face, in its own frame.
    ///
    /// A hole or slot named in `not_cut` becomes centre marks on the marking
    /// layer with a note; a window, pocket or groove so named is scribed on the
    /// marking layer along its edge, with a note.
    ///
    /// # Errors
    ///
    /// [`DxfError::UnknownFeature`] where `not_cut` names what the plate does not have.
    pub fn of_plate(plate: &Plate, not_cut: &NotCut) -> Result<Self, DxfError> {
        if let Some(unknown) = not_cut.keys().find(|id| plate.feature(id).is_none()) {
            return Err(DxfError::UnknownFeature {
                plate: plate.id.clone(),
                feature: unknown.clone(),
            });
        }
        let mut drawing = Self::default();
        for feature in &plate.features {
            if not_cut.contains_key(&feature.id) {
                drawing.mark_instead(feature);
            } else {
                drawing.cut(feature);
            }
        }
        drawing.push(Entity {
            layer: Layer::OUTLINE,
            shape: Drawn::Loop(plate.outline.clone()),
        });
        let labelled = label_features(plate);
        for l in &labelled {
            drawing.label(l);
        }
        drawing.explain(plate, &labelled, not_cut);
        drawing.entities.sort_by_key(|e| e.layer);
        Ok(drawing)
    }

    fn cut(&mut self, feature: &Feature) {
        match &feature.shape {
            Shape::Hole(h) => self.cut_hole(h),
            Shape::Slot(s) => self.trace(Layer::INSIDE, s.path()),
            Shape::Window(p) => self.trace(Layer::INSIDE, p.clone()),
            Shape::Pocket { path, face, .. } => {
                self.trace(Layer::from_face(Operation::Pocket, *face), path.clone());
            }
            Shape::Groove {
                centre,
                inner_mm,
                outer_mm,
                face,
                ..
            } => {
                for d in [inner_mm, outer_mm] {
                    self.ring(Layer::from_face(Operation::Groove, *face), *centre, *d);
                }
            }
            Shape::Mark(m) => {
                for stroke in &m.strokes {
                    match stroke[..] {
                        [] => {}
                        [p] => self.centre_mark(p, f64::INFINITY),
                        _ => self.push(Entity {
                            layer: Layer::MARK,
                            shape: Drawn::Stroke(stroke.clone()),
                        }),
                    }
                }
            }
        }
    }

    fn cut_hole(&mut self, h: &Hole) {
        let (through, blind) = match h.purpose {
            Purpose::Clearance { .. } | Purpose::Plain => (Operation::Drill, Operation::DrillBlind),
            Purpose::Tapped { .. } => (Operation::TapDrill, Operation::TapDrillBlind),
            Purpose::Dowel { .. } => (Operation::Ream, Operation::ReamBlind),
        };
        let layer = match h.depth {
            Depth::Through => Layer::through(through),
            Depth::Blind { from, .. } => Layer::from_face(blind, from),
        };
        self.ring(layer, h.centre, h.diameter_mm);
        let (operation, diameter_mm, face) = match h.mouth {
            None => return,
            Some(Mouth::Counterbore {
                diameter_mm, face, ..
            }) => (Operation::Counterbore, diameter_mm, face),
            Some(Mouth::Countersink {
                diameter_mm, face, ..
            }) => (Operation::Countersink, diameter_mm, face),
        };
        self.ring(Layer::from_face(operation, face), h.centre, diameter_mm);
    }

    /// Marks where a feature is to be made by other means.
    fn mark_instead(&mut self, feature: &Feature) {
        match &feature.shape {
            Shape::Hole(h) => self.centre_mark(h.centre, 0.5 * h.diameter_mm),
            Shape::Slot(s) => {
                let (from, to) = end_centres(s);
                self.centre_mark(from, 0.5 * s.width_mm);
                self.centre_mark(to, 0.5 * s.width_mm);
            }
            Shape::Window(p) | Shape::Pocket { path: p, .. } => self.trace(Layer::MARK, p.clone()),
            Shape::Groove {
                centre,
                inner_mm,
                outer_mm,
                ..
            } => {
                for d in [inner_mm, outer_mm] {
                    self.ring(Layer::MARK, *centre, *d);
                }
            }
            // An engraving that cannot be made leaves its words only.
            Shape::Mark(_) => {}
        }
    }

    fn trace(&mut self, layer: Layer, path: Path) {
        self.push(Entity {
            layer,
            shape: Drawn::Loop(path),
        });
    }

    fn ring(&mut self, layer: Layer, centre: Point, diameter_mm: f64) {
        self.push(Entity {
            layer,
            shape: Drawn::Circle {
                centre,
                radius: 0.5 * diameter_mm,
            },
        });
    }

    /// A cross, small enough for a hole of `radius` to swallow it.
    fn centre_mark(&mut self, at: Point, radius: f64) {
        let arm = CENTRE_MARK_MM.min(CENTRE_MARK_SHARE * radius);
        for (dx, dy) in [(arm, 0.0), (0.0, arm)] {
            self.push(Entity {
                layer: Layer::MARK,
                shape: Drawn::Stroke(vec![
                    Point::new(at.x - dx, at.y - dy),
                    Point::new(at.x + dx, at.y + dy),
                ]),
            });
        }
    }

    /// A feature's label to its upper right.
    fn label(&mut self, l: &Labelled<'_>) {
        let (centre, reach) = match &l.feature.shape {
            Shape::Hole(h) => (h.centre, 0.5 * h.widest_mm()),
            Shape::Groove {
                centre, outer_mm, ..
            } => (*centre, 0.5 * outer_mm),
            Shape::Slot(s) => (end_centres(s).1, 0.5 * s.width_mm),
            _ => match l.feature.footprint() {
                Some(p) => (p.extents().centre(), 0.0),
                None => return,
            },
        };
        // On the diagonal, just clear of the circle.
        let off = reach * std::f64::consts::FRAC_1_SQRT_2 + 0.5 * NOTE_HEIGHT_MM;
        self.write(Point::new(centre.x + off, centre.y + off), l.label.clone());
    }

    /// Under the plate, what the labels stand for, what is left uncut and why, and how the back face is shown.
    fn explain(&mut self, plate: &Plate, labelled: &[Labelled<'_>], not_cut: &NotCut) {
        let mut lines: Vec<String> = Vec::new();
        let mut seen = std::collections::BTreeSet::new();
        for l in labelled {
            if seen.insert(l.letter.as_str()) {
                lines.push(format!(
                    "{}: {} {}",
                    l.letter,
                    l.callout.kind,
                    l.callout.line()
                ));
            }
        }
        for (id, reason) in not_cut {
            let name = labelled.iter().find(|l| l.feature.id == *id);
            let name = name.map_or(id, |l| &l.label);
            lines.push(format!("{name}: NOT CUT HERE: {reason}"));
        }
        if self.entities.iter().any(|e| e.layer.face() == Face::Back) {
            lines.push(
                "Seen on the front face. Layers ending in _BACK are worked from the back face."
                    .to_string(),
            );
        }
        let corner = plate.outline.extents().min;
        for (k, line) in lines.into_iter().enumerate() {
            let down = (LEGEND_PITCH * k as f64 + 3.0) * NOTE_HEIGHT_MM;
            self.write(Point::new(corner.x, corner.y - down), line);
        }
    }

    fn write(&mut self, at: Point, text: String) {
        self.push(Entity {
            layer: Layer::NOTE,
            shape: Drawn::Text {
                at,
                height_mm: NOTE_HEIGHT_MM,
                angle_rad: 0.0,
                text,
            },
        });
    }
}

fn end_centres(s: &Slot) -> (Point, Point) {
    match s.track {
        SlotTrack::Straight { from, to } => (from, to),
        SlotTrack::Arc {
            pivot,
            radius_mm,
            start_rad,
            end_rad,
        } => (
            pivot.polar(radius_mm, start_rad),
            pivot.polar(radius_mm, end_rad),
        ),
    }
}
