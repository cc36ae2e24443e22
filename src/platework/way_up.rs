//! The mark that tells which plate it is and which way it goes on, engraved where it can be read.

use std::f64::consts::FRAC_PI_2;

use thiserror::Error;

use crate::feature::{Feature, Mark, Shape};
use crate::geom::{Extents, Path, Point, Region, Vector, Vector3};
use crate::marking;
use crate::params::shop::Process;
use crate::plate::Plate;

use super::MadePlate;

/// Heights of letters tried, mm (ISO 3098-1 series).
const HEIGHTS_MM: [f64; 4] = [7.0, 5.0, 3.5, 2.5];

/// Metal left between a mark and any edge, seat or other mark, mm (common practice, no source).
const ROOM_MM: f64 = 2.0;

/// From one base line to the next, letter heights (ISO 3098-1: 1.5 to 1.9).
const LINE: f64 = 1.6;

/// Fields of the grid of places tried, along the longer side of the plate.
const FIELDS: f64 = 48.0;

/// Least step of that grid, mm.
const STEP_MM: f64 = 2.0;

/// Why a plate has no mark although it can be mixed up.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Unmarked {
    /// The process does not engrave.
    #[error("process `{0}` does not engrave")]
    NotEngraved(String),
    /// No place is large enough for the smallest letters.
    #[error("there is no room for letters of 2.5 mm")]
    NoRoom,
    /// The part number has a character the alphabet lacks.
    #[error("{0}")]
    Letters(marking::UnknownCharacter),
}

/// Engraves part number and way up on the front face of a plate that can be mixed up.
///
/// `number` is the part number. What is engraved, or why nothing is, is kept in
/// [`MadePlate::way_up`]; a plate without mix-ups stays as it is.
pub fn mark(made: &mut MadePlate, number: &str, process: &Process) {
    if made.mixups.is_empty() {
        return;
    }
    made.way_up = Some(if process.engraves {
        placed(made, number).map(|mark| {
            let text = mark.text.clone();
            let id = free_name(&made.plate);
            made.plate.features.push(Feature {
                id,
                variants: std::sync::Arc::default(),
                shape: Shape::Mark(mark),
            });
            text
        })
    } else {
        Err(Unmarked::NotEngraved(process.id.clone()))
    });
}

fn free_name(plate: &Plate) -> String {
    let taken = |name: &str| plate.features.iter().any(|f| f.id == name);
    let mut name = "way-up".to_owned();
    let mut n = 2;
    while taken(&name) {
        name = format!("way-up-{n}");
        n += 1;
    }
    name
}

/// Which way the front face looks, and the direction that is called by `word` once the plate is on.
struct Look {
    face: &'static str,
    word: &'static str,
    /// That direction in the plate's plane.
    towards: Vector,
}

impl Look {
    fn of(plate: &Plate) -> Self {
        let n = plate.frame.normal;
        let faces = [
            (Vector3::Z, "FRONT"),
            (Vector3::X, "RIGHT"),
            (-Vector3::X, "LEFT"),
            (Vector3::Y, "TOP"),
            (-Vector3::Y, "BOTTOM"),
            (-Vector3::Z, "REAR"),
        ];
        let face = faces
            .iter()
            .max_by(|a, b| n.dot(a.0).total_cmp(&n.dot(b.0)))
            .map_or("FRONT", |f| f.1);
        // A plate that lies flat has no up: its forward edge is named instead.
        let (direction, word) = if n.y.abs() < 0.9 {
            (Vector3::Y, "UP")
        } else {
            (Vector3::Z, "FORWARD")
        };
        let f = &plate.frame;
        let towards = Vector::new(direction.dot(f.x), direction.dot(f.y));
        Self {
            face,
            word,
            towards: towards.unit().unwrap_or(Vector::new(0.0, 1.0)),
        }
    }
}

/// One arrangement of the mark: its lines, and the direction of the base line.
struct Lines {
    lines: Vec<String>,
    base_rad: f64,
}

/// Arrangements in order of preference: upright first, then along the arrow.
fn arrangements(number: &str, look: &Look, has_number: bool) -> Vec<Lines> {
    let upright = look.towards.angle() - FRAC_PI_2;
    let along = look.towards.angle();
    let mut out = Vec::new();
    for one_line in [false, true] {
        for (arrow, base_rad) in [("↑", upright), ("→", along)] {
            let way = format!("{} {arrow} {}", look.face, look.word);
            let lines = if has_number {
                vec![way]
            } else if one_line {
                vec![format!("{number} {way}")]
            } else {
                vec![number.to_owned(), way]
            };
            out.push(Lines { lines, base_rad });
        }
        if has_number {
            break;
        }
    }
    out
}

fn placed(made: &MadePlate, number: &str) -> Result<Mark, Unmarked> {
    let number = number.to_uppercase();
    let look = Look::of(&made.plate);
    let has_number = made
        .plate
        .features
        .iter()
        .any(|f| matches!(&f.shape, Shape::Mark(m) if m.text.to_uppercase().contains(&number)));
    let ground = Ground::of(made);
    for height in HEIGHTS_MM {
        for a in arrangements(&number, &look, has_number) {
            let width = a
                .lines
                .iter()
                .map(|l| marking::width_mm(l, height))
                .fold(0.0, f64::max);
            let tall = height * (1.0 + LINE * (a.lines.len() as f64 - 1.0));
            if let Some(middle) = ground.room(width, tall, a.base_rad) {
                return drawn(&a, middle, (width, tall), height);
            }
        }
    }
    Err(Unmarked::NoRoom)
}

fn drawn(
    a: &Lines,
    middle: Point,
    (width, tall): (f64, f64),
    height: f64,
) -> Result<Mark, Unmarked> {
    let along = Vector::unit_at(a.base_rad);
    let corner = middle + along * (-0.5 * width) + along.left() * (0.5 * tall - height);
    let mut strokes = Vec::new();
    for (k, line) in a.lines.iter().enumerate() {
        let at = corner + along.left() * (-LINE * height * k as f64);
        strokes.extend(marking::strokes(line, at, height, a.base_rad).map_err(Unmarked::Letters)?);
    }
    Ok(Mark {
        text: a.lines.join(" "),
        strokes,
    })
}

/// The front face with what a mark has to keep clear of, and places in order of their room.
struct Ground {
    outer: Path,
    /// Openings, pockets, seats and marks.
    taken: Vec<Path>,
    /// Points of the grid on free metal with their distance to the nearest edge, farthest first.
    places: Vec<(f64, Point)>,
}

impl Ground {
    fn of(made: &MadePlate) -> Self {
        let plate = &made.plate;
        let mut taken: Vec<Path> = plate
            .features
            .iter()
            .filter_map(|f| match &f.shape {
                Shape::Mark(m) => box_of(m),
                _ => f.footprint(),
            })
            .collect();
        for h in &made.holes {
            if let (Some(seat), None) = (&h.front, h.slot) {
                taken.push(Path::circle(h.at, 0.5 * seat.diameter_mm));
            }
        }
        let e = plate.outline.extents();
        let step = (e.width().max(e.height()) / FIELDS).max(STEP_MM);
        let region = Region::solid(plate.outline.clone());
        let (columns, rows) = (
            (e.width() / step).floor() as usize,
            (e.height() / step).floor() as usize,
        );
        let mut places = Vec::new();
        for j in 0..=rows {
            for i in 0..=columns {
                let p = Point::new(e.min.x + i as f64 * step, e.min.y + j as f64 * step);
                if !region.contains(p) || taken.iter().any(|t| t.contains(p)) {
                    continue;
                }
                let room = taken
                    .iter()
                    .map(|t| t.gap_to_point(p).distance)
                    .fold(plate.outline.gap_to_point(p).distance, f64::min);
                places.push((room, p));
            }
        }
        // Equal rooms keep the grid's order.
        places.sort_by(|a, b| b.0.total_cmp(&a.0));
        Self {
            outer: plate.outline.clone(),
            taken,
            places,
        }
    }

    /// Middle of a box `width` by `tall` along `base_rad` that keeps [`ROOM_MM`] from everything.
    fn room(&self, width: f64, tall: f64, base_rad: f64) -> Option<Point> {
        let least = 0.5 * tall.min(width) + ROOM_MM;
        let enough = 0.5 * tall.hypot(width) + ROOM_MM;
        self.places
            .iter()
            .take_while(|(room, _)| *room >= least)
            .find(|(room, p)| *room >= enough || self.is_free(*p, width, tall, base_rad))
            .map(|(_, p)| *p)
    }

    fn is_free(&self, middle: Point, width: f64, tall: f64, base_rad: f64) -> bool {
        let along = Vector::unit_at(base_rad);
        let corner =
            |i: f64, j: f64| middle + along * (i * 0.5 * width) + along.left() * (j * 0.5 * tall);
        let rectangle = Path::polygon(&[
            corner(-1.0, -1.0),
            corner(1.0, -1.0),
            corner(1.0, 1.0),
            corner(-1.0, 1.0),
        ]);
        self.outer.gap(&rectangle).distance >= ROOM_MM
            && self.taken.iter().all(|t| {
                t.gap(&rectangle).distance >= ROOM_MM
                    && t.segments
                        .first()
                        .is_none_or(|s| !rectangle.contains(s.at(0.0)))
            })
    }
}

/// The box round a mark's strokes.
fn box_of(mark: &Mark) -> Option<Path> {
    let mut points = mark.strokes.iter().flatten();
    let first = *points.next()?;
    let mut e = Extents {
        min: first,
        max: first,
    };
    for p in points {
        e.add(*p);
    }
    // A centre punch or a straight line has no area.
    let grow = Vector::new(0.5, 0.5);
    let (min, max) = (e.min + grow * -1.0, e.max + grow);
    Some(Path::polygon(&[
        min,
        Point::new(max.x, min.y),
        max,
        Point::new(min.x, max.y),
    ]))
}
