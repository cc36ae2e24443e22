//! What a feature is called on a drawing or a note: size, depth, thread, kind.

use crate::feature::{Depth, Face, Feature, Floor, Hole, Mouth, Purpose, Shape, Slot, SlotTrack};
use crate::geom::{Path, Segment};
use crate::number::short;
use crate::plate::Plate;
use crate::tol::SNAP_MM;

/// Decimals of a size in words, mm: a micron, below any tolerance on a drawing.
const DECIMALS: u32 = 3;

/// The callout of a feature, one column of a hole table each.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Callout {
    /// What kind of feature it is: `clearance hole`, `tapped hole`, `straight slot`, …
    pub kind: &'static str,
    /// Its size in the plane: `Ø11`, `Ø8 H7`, `12 wide`.
    pub size: String,
    /// How deep: `through` or `20 deep`.
    pub depth: String,
    /// Thread with its depth, or the bolt a clearance hole is for; empty where there is none.
    pub thread: String,
    /// Mouth, floor, face and further sizes; empty where there is nothing more to say.
    pub more: String,
}

impl Callout {
    /// The callout of `feature`.
    #[must_use]
    pub fn of(feature: &Feature) -> Self {
        match &feature.shape {
            Shape::Hole(h) => hole(h),
            Shape::Slot(s) => slot(s),
            Shape::Window(path) => Self {
                size: across(path),
                ..Self::plain("window", "through".to_string(), String::new())
            },
            Shape::Pocket {
                path,
                depth_mm,
                face,
            } => Self {
                size: across(path),
                ..Self::plain("pocket", deep(*depth_mm), on_face(*face))
            },
            Shape::Groove {
                inner_mm,
                outer_mm,
                depth_mm,
                face,
                ..
            } => Self {
                size: format!("Ø{} / Ø{}", mm(*inner_mm), mm(*outer_mm)),
                ..Self::plain("ring groove", deep(*depth_mm), on_face(*face))
            },
            Shape::Mark(m) => Self {
                size: m.text.clone(),
                ..Self::plain("engraving", String::new(), String::new())
            },
        }
    }

    /// Everything in one line: `clearance hole Ø11 through, for M10x1.5, counterbore Ø18 × 11 deep`.
    #[must_use]
    pub fn line(&self) -> String {
        let sized = |what: &str| match (what.is_empty(), self.depth.ends_with("deep")) {
            (true, _) => self.depth.clone(),
            (false, true) => format!("{what} × {}", self.depth),
            (false, false) => format!("{what} {}", self.depth),
        };
        let tapped = !self.thread.is_empty() && !self.thread.starts_with("for ");
        let mut parts = if tapped && self.thread.ends_with("deep") {
            vec![self.thread.clone(), format!("drill {}", sized(&self.size))]
        } else if tapped {
            vec![sized(&self.thread), format!("drill {}", self.size)]
        } else {
            vec![sized(&self.size), self.thread.clone()]
        };
        parts.push(self.more.clone());
        parts.retain(|s| !s.is_empty());
        format!("{} {}", self.kind, parts.join(", "))
    }

    fn plain(kind: &'static str, depth: String, more: String) -> Self {
        Self {
            kind,
            size: String::new(),
            depth,
            thread: String::new(),
            more,
        }
    }
}

/// A feature with its label.
#[derive(Debug, Clone)]
pub struct Labelled<'a> {
    /// Letter shared by all features with the same callout.
    pub letter: String,
    /// Letter and running number: `A1`.
    pub label: String,
    /// Its callout.
    pub callout: Callout,
    /// The feature.
    pub feature: &'a Feature,
}

/// The plate's features but its marks, each with a letter for its callout and a number of its own.
///
/// Letters run in the order of first appearance; I, O and Q are left out,
/// which a bad print turns into 1 and 0 (ISO 128-3 keeps I and O off section
/// letters; Q is common practice).
#[must_use]
pub fn label_features(plate: &Plate) -> Vec<Labelled<'_>> {
    let mut kinds: Vec<(Callout, usize)> = Vec::new();
    plate
        .cuts()
        .map(|feature| {
            let callout = Callout::of(feature);
            let at = kinds
                .iter()
                .position(|(known, _)| *known == callout)
                .unwrap_or_else(|| {
                    kinds.push((callout.clone(), 0));
                    kinds.len() - 1
                });
            kinds[at].1 += 1;
            let letter = letter(at);
            Labelled {
                label: format!("{letter}{}", kinds[at].1),
                letter,
                callout,
                feature,
            }
        })
        .collect()
}

/// `A` to `Z` without I, O and Q, then `AA`, `AB`, …
pub fn letter(mut at: usize) -> String {
    const LETTERS: &[u8; 23] = b"ABCDEFGHJKLMNPRSTUVWXYZ";
    let mut out = Vec::new();
    loop {
        out.push(char::from(LETTERS[at % LETTERS.len()]));
        if at < LETTERS.len() {
            break;
        }
        at = at / LETTERS.len() - 1;
    }
    out.iter().rev().collect()
}

/// A loop's size: its diameter, or width and height of its box and the corner radius where all its arcs share one.
fn across(path: &Path) -> String {
    let e = path.extents();
    let mut radii = path.segments.iter().filter_map(|s| match s {
        Segment::Line { .. } => None,
        Segment::Arc { radius, .. } => Some(*radius),
    });
    let first = radii.next();
    if let [only] = path.segments[..]
        && only.is_full_circle()
    {
        return format!("Ø{}", mm(e.width()));
    }
    let corner = first.filter(|r| radii.all(|other| (other - r).abs() < SNAP_MM));
    let corner = corner.map(|r| format!(" R{}", mm(r))).unwrap_or_default();
    format!("{} × {}{corner}", mm(e.width()), mm(e.height()))
}

/// A length in words, mm; `?` for what is no number, which the rules refuse long before.
#[must_use]
pub fn mm(value: f64) -> String {
    short(value, DECIMALS).unwrap_or_else(|_| "?".to_string())
}

/// An angle in words, two decimals of a degree at most: 0.02 mm on a radius of 100 mm.
fn degrees(rad: f64) -> String {
    short(rad.to_degrees(), 2).unwrap_or_else(|_| "?".to_string())
}

fn deep(depth_mm: f64) -> String {
    format!("{} deep", mm(depth_mm))
}

fn on_face(face: Face) -> String {
    match face {
        Face::Front => String::new(),
        Face::Back => "from back face".to_string(),
    }
}

fn hole(h: &Hole) -> Callout {
    let (mut size, kind) = (format!("Ø{}", mm(h.diameter_mm)), kind_of(&h.purpose));
    let mut more = Vec::new();
    let depth = match h.depth {
        Depth::Through => "through".to_string(),
        Depth::Blind {
            depth_mm,
            from,
            floor,
        } => {
            if floor == Floor::Flat {
                more.push("flat floor".to_string());
            }
            if from == Face::Back {
                more.push(on_face(from));
            }
            deep(depth_mm)
        }
    };
    let thread = match &h.purpose {
        Purpose::Clearance { thread } => format!("for {thread}"),
        Purpose::Tapped {
            thread,
            thread_depth_mm,
        } => match h.depth {
            Depth::Through => thread.clone(),
            Depth::Blind { .. } => format!("{thread} × {}", deep(*thread_depth_mm)),
        },
        Purpose::Dowel { tolerance } => {
            size = format!("{size} {tolerance}");
            String::new()
        }
        Purpose::Plain => String::new(),
    };
    if let Some(m) = h.mouth {
        more.push(mouth(m));
    }
    Callout {
        kind,
        size,
        depth,
        thread,
        more: more.join(", "),
    }
}

const fn kind_of(purpose: &Purpose) -> &'static str {
    match purpose {
        Purpose::Clearance { .. } => "clearance hole",
        Purpose::Tapped { .. } => "tapped hole",
        Purpose::Dowel { .. } => "dowel hole",
        Purpose::Plain => "hole",
    }
}

fn mouth(m: Mouth) -> String {
    let (words, face) = match m {
        Mouth::Counterbore {
            diameter_mm,
            depth_mm,
            face,
        } => (
            format!("counterbore Ø{} × {}", mm(diameter_mm), deep(depth_mm)),
            face,
        ),
        Mouth::Countersink {
            diameter_mm,
            angle_deg,
            face,
        } => (
            format!("countersink Ø{} × {}°", mm(diameter_mm), mm(angle_deg)),
            face,
        ),
    };
    match face {
        Face::Front => words,
        Face::Back => format!("{words} in back face"),
    }
}

fn slot(s: &Slot) -> Callout {
    let (kind, more) = match s.track {
        SlotTrack::Straight { from, to } => (
            "straight slot",
            format!("{} between end centres", mm(from.distance(to))),
        ),
        SlotTrack::Arc {
            radius_mm,
            start_rad,
            end_rad,
            ..
        } => (
            "arc slot",
            format!("R{} over {}°", mm(radius_mm), degrees(end_rad - start_rad)),
        ),
    };
    Callout {
        kind,
        size: format!("{} wide", mm(s.width_mm)),
        depth: "through".to_string(),
        thread: s
            .thread
            .as_ref()
            .map(|t| format!("for {t}"))
            .unwrap_or_default(),
        more,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Point;

    fn feature(shape: Shape) -> Feature {
        Feature {
            id: "x".to_string(),
            variants: std::sync::Arc::default(),
            shape,
        }
    }

    #[test]
    fn a_counterbored_clearance_hole_says_all_its_sizes() {
        let c = Callout::of(&feature(Shape::Hole(Hole {
            centre: Point::ORIGIN,
            diameter_mm: 11.0,
            depth: Depth::Through,
            mouth: Some(Mouth::Counterbore {
                diameter_mm: 18.0,
                depth_mm: 10.8,
                face: Face::Back,
            }),
            purpose: Purpose::Clearance {
                thread: "M10x1.5".to_string(),
            },
        })));
        assert_eq!(
            c.line(),
            "clearance hole Ø11 through, for M10x1.5, counterbore Ø18 × 10.8 deep in back face"
        );
    }

    #[test]
    fn letters_leave_out_what_reads_as_a_digit_and_never_repeat() {
        let all: Vec<String> = (0..1200).map(letter).collect();
        assert_eq!((all[0].as_str(), all[8].as_str()), ("A", "J"));
        assert_eq!((all[22].as_str(), all[23].as_str()), ("Z", "AA"));
        assert_eq!(all[23 + 23 * 23].as_str(), "AAA");
        let distinct: std::collections::BTreeSet<_> = all.iter().collect();
        assert_eq!(distinct.len(), all.len());
        assert!(all.iter().all(|l| !l.contains(['I', 'O', 'Q'])));
    }

    #[test]
    fn a_blind_tapped_hole_says_both_depths() {
        let c = Callout::of(&feature(Shape::Hole(Hole {
            centre: Point::ORIGIN,
            diameter_mm: 8.5,
            depth: Depth::Blind {
                depth_mm: 20.0,
                from: Face::Front,
                floor: Floor::DrillPoint,
            },
            mouth: None,
            purpose: Purpose::Tapped {
                thread: "M10x1.5".to_string(),
                thread_depth_mm: 15.0,
            },
        })));
        assert_eq!(
            c.line(),
            "tapped hole M10x1.5 × 15 deep, drill Ø8.5 × 20 deep"
        );
    }
}
