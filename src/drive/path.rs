//! The belt's path: contacts, wraps, spans, lengths on three lines, directions of rotation and ratios.

use serde::Serialize;

use super::course::{self, Circle, Course};
use super::fault::{Fault, Faults};
use super::input::{Drive, Rotation, Side, TakeUp};
use super::obstruction;
use super::xy;
use crate::geom::{Path, Point, Segment, Vector};

/// A reading of the list whose misfit is this many times the other's is not what was meant.
const NEARLY: f64 = 3.0;

/// Misfit of a fault without a distance, mm: more than any engine's pulleys are apart.
const NO_DISTANCE_MM: f64 = 1e4;

/// Belt on one pulley.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Contact {
    /// Index of the pulley in the drive's list.
    pub pulley: usize,
    /// Its name.
    pub id: String,
    /// Side of the belt on it.
    pub side: Side,
    /// Direction it turns.
    pub turns: Rotation,
    /// Centre used, mm.
    #[serde(serialize_with = "xy::point")]
    pub centre_mm: Point,
    /// Radius of the effective line, mm.
    pub line_radius_mm: f64,
    /// Radius of the pitch line, mm.
    pub pitch_radius_mm: f64,
    /// Contact angle, deg.
    pub wrap_deg: f64,
    /// Contact length on the effective line, mm.
    pub arc_mm: f64,
    /// Where the belt meets the pulley, on the effective line, mm.
    #[serde(serialize_with = "xy::point")]
    pub arrives_mm: Point,
    /// Where it leaves, mm.
    #[serde(serialize_with = "xy::point")]
    pub leaves_mm: Point,
    /// Speed of this shaft over the driver's, from pitch diameters.
    pub ratio: f64,
}

/// Straight belt between two pulleys.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Span {
    /// Number along the direction of travel, 1 after the driver.
    pub number: usize,
    /// Index into [`BeltPath::contacts`] of the pulley it leaves.
    pub from: usize,
    /// Index of the pulley it arrives at.
    pub to: usize,
    /// Length, mm.
    pub length_mm: f64,
    /// Start on the effective line, mm.
    #[serde(serialize_with = "xy::point")]
    pub start_mm: Point,
    /// End, mm.
    #[serde(serialize_with = "xy::point")]
    pub end_mm: Point,
    /// Unit direction of travel.
    #[serde(serialize_with = "xy::vector")]
    pub direction: Vector,
}

/// The whole belt, from the driver in the direction of travel.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BeltPath {
    /// One per pulley, driver first.
    pub contacts: Vec<Contact>,
    /// Span after each contact.
    pub spans: Vec<Span>,
    /// Direction in which the belt runs round the loop.
    pub travel: Rotation,
    /// Whether the drive's list runs against the travel.
    pub listed_against_travel: bool,
    /// Length of the effective line, mm: the belt's nominal length.
    pub effective_length_mm: f64,
    /// Length of the pitch line, mm.
    pub pitch_length_mm: f64,
    /// Length of the back, mm.
    pub outside_length_mm: f64,
}

impl BeltPath {
    /// The contact on a pulley, by its index in the drive's list.
    #[must_use]
    pub fn contact(&self, pulley: usize) -> Option<&Contact> {
        self.contacts.iter().find(|c| c.pulley == pulley)
    }

    /// The span arriving at contact `k`.
    #[must_use]
    pub fn span_before(&self, k: usize) -> &Span {
        let n = self.spans.len();
        &self.spans[(k + n - 1) % n]
    }

    /// Outer and inner boundary of the belt's band, from `back_mm` towards the back to `ribs_mm` towards the ribs.
    #[must_use]
    pub fn band(&self, back_mm: f64, ribs_mm: f64) -> (Path, Path) {
        let (back, ribs) = (self.offset_loop(back_mm), self.offset_loop(-ribs_mm));
        if back.area().abs() > ribs.area().abs() {
            (back, ribs)
        } else {
            (ribs, back)
        }
    }

    /// The loop at `out_mm` outside the effective line (towards the back; negative towards the ribs), as exact lines and arcs.
    #[must_use]
    pub fn offset_loop(&self, out_mm: f64) -> Path {
        // The ribs face the inside, which is left of a belt running counter-clockwise.
        let inside = self.travel.sign();
        let mut segments = Vec::with_capacity(2 * self.spans.len());
        for (contact, span) in self.contacts.iter().zip(&self.spans) {
            let shift = |s: &Span| s.direction.left() * (-inside * out_mm);
            let before = &self.spans[(span.from + self.spans.len() - 1) % self.spans.len()];
            let radius = match contact.side {
                Side::Rib => contact.line_radius_mm + out_mm,
                Side::Back => contact.line_radius_mm - out_mm,
            };
            segments.push(Segment::Arc {
                from: contact.arrives_mm + shift(before),
                to: contact.leaves_mm + shift(span),
                centre: contact.centre_mm,
                radius,
                ccw: contact.turns == Rotation::CounterClockwise,
            });
            segments.push(Segment::Line {
                from: span.start_mm + shift(span),
                to: span.end_mm + shift(span),
            });
        }
        Path::new(segments)
    }
}

/// The circles of a drive in the order of its list, with the sense each is passed; a tensioner's arm stands as drawn.
pub(super) fn circles(drive: &Drive) -> Vec<Circle> {
    let rib_turn = rib_turn(drive);
    let mut circles: Vec<Circle> = drive
        .pulleys
        .iter()
        .map(|p| Circle {
            centre: p.centre,
            radius: p.line_radius_mm(&drive.belt.section),
            turn: match p.contact {
                Side::Rib => rib_turn,
                Side::Back => -rib_turn,
            },
        })
        .collect();
    if let TakeUp::Spring(t) = &drive.take_up
        && let Some(circle) = circles.get_mut(t.pulley)
    {
        circle.centre = t.pivot.polar(t.arm_mm, t.drawn_deg.to_radians());
    }
    circles
}

/// Sense in which the pulleys on the rib side turn.
fn rib_turn(drive: &Drive) -> f64 {
    let driver = &drive.pulleys[drive.driver];
    match driver.contact {
        Side::Rib => drive.rotation.sign(),
        Side::Back => -drive.rotation.sign(),
    }
}

/// Finds the belt's path over the pulleys where they stand.
///
/// The list may run with the travel or against it; the driver's rotation and
/// the sides decide. Ribs face the inside of the loop.
///
/// # Errors
/// Unusable input, or every reason why no path exists.
///
/// Source: plane geometry; ratio from pitch diameters de + 2 be (ISO 9981:2020 5.4).
pub fn solve(drive: &Drive) -> Result<BeltPath, Faults> {
    super::validate::validate(drive)?;
    solve_valid(drive)
}

/// [`solve`] for a drive that has passed the door.
pub(super) fn solve_valid(drive: &Drive) -> Result<BeltPath, Faults> {
    solve_circles(drive, &circles(drive))
}

/// [`solve_valid`] with one pulley standing elsewhere.
pub(super) fn solve_moved(drive: &Drive, pulley: usize, centre: Point) -> Result<BeltPath, Faults> {
    let mut listed = circles(drive);
    if let Some(circle) = listed.get_mut(pulley) {
        circle.centre = centre;
    }
    solve_circles(drive, &listed)
}

fn solve_circles(drive: &Drive, listed: &[Circle]) -> Result<BeltPath, Faults> {
    let (order, course) = ordered(drive, listed)?;
    Ok(assemble(drive, listed, &order, &course))
}

/// Pulley indices along the travel from the driver, and the laid line.
fn ordered(drive: &Drive, listed: &[Circle]) -> Result<(Vec<usize>, Course), Faults> {
    let n = listed.len();
    let forward: Vec<usize> = (0..n).map(|i| (drive.driver + i) % n).collect();
    let backward: Vec<usize> = (0..n).map(|i| (drive.driver + n - i) % n).collect();
    let first = lay_in_order(drive, listed, &forward);
    let faults = match first {
        Ok(course) => return Ok((forward, course)),
        Err(faults) => faults,
    };
    match lay_in_order(drive, listed, &backward) {
        Ok(course) => Ok((backward, course)),
        Err(other) => Err(told(faults, other)),
    }
}

/// Faults of the reading that comes nearer to a path, and of the other too where it comes nearly as near.
///
/// Which way round the list was meant cannot be known for certain.
fn told(listed: Vec<Fault>, against: Vec<Fault>) -> Faults {
    let (own, other) = (misfit_mm(&listed), misfit_mm(&against));
    let against = vec![Fault::AgainstTheList { faults: against }];
    let faults = if other >= NEARLY * own {
        listed
    } else if own >= NEARLY * other {
        against
    } else if own <= other {
        [listed, against].concat()
    } else {
        [against, listed].concat()
    };
    Faults { faults }
}

/// How far faults are from a path, mm: the sum of the distances they tell.
fn misfit_mm(faults: &[Fault]) -> f64 {
    faults
        .iter()
        .map(|fault| match fault {
            Fault::WrapVanishes { clear_mm, .. } => *clear_mm,
            Fault::SpanCutsPulley { cut_mm, .. } => *cut_mm,
            Fault::Overlap {
                distance_mm,
                least_mm,
                ..
            } => least_mm - distance_mm,
            // A crossing has no distance: it is worse than any.
            _ => NO_DISTANCE_MM,
        })
        .sum()
}

/// Lays the line in one order of the pulleys, or tells the faults of the first kind met: the others follow from them.
fn lay_in_order(drive: &Drive, listed: &[Circle], order: &[usize]) -> Result<Course, Vec<Fault>> {
    let overlaps = obstruction::overlaps(drive, listed, order);
    if !overlaps.is_empty() {
        return Err(overlaps);
    }
    let circles: Vec<Circle> = order.iter().map(|&i| listed[i]).collect();
    let name = |k: usize| drive.pulleys[order[k]].id.clone();
    let course = course::lay(&circles).map_err(|(a, b)| {
        let (p, q) = (&circles[a], &circles[b]);
        vec![Fault::Overlap {
            a: name(a),
            b: name(b),
            distance_mm: p.centre.distance(q.centre),
            least_mm: (p.turn * p.radius - q.turn * q.radius).abs(),
        }]
    })?;
    // Whole turns are exact up to rounding, so the nearest integer is the count;
    // counted in the sense the ribbed side turns, it is 1 with the ribs inside.
    let turns = (course.turns * rib_turn(drive)).round() as i32;
    let kinds = [
        obstruction::vanished(&circles, &course, &name),
        obstruction::crossings(&circles, &course, &name),
        obstruction::cuts(drive, order, &circles, &course, &name),
        if turns == 1 {
            Vec::new()
        } else {
            vec![Fault::NotOneTurn { turns }]
        },
    ];
    match kinds.into_iter().find(|faults| !faults.is_empty()) {
        Some(faults) => Err(faults),
        None => Ok(course),
    }
}

fn assemble(drive: &Drive, listed: &[Circle], order: &[usize], course: &Course) -> BeltPath {
    let n = order.len();
    let section = &drive.belt.section;
    let rib_turn = rib_turn(drive);
    let driver_pitch = drive.pulleys[drive.driver].pitch_radius_mm(section);
    let contacts: Vec<Contact> = order
        .iter()
        .enumerate()
        .map(|(k, &i)| {
            let p = &drive.pulleys[i];
            let pitch_radius_mm = p.pitch_radius_mm(section);
            let turn = match p.contact {
                Side::Rib => rib_turn,
                Side::Back => -rib_turn,
            };
            let line_radius_mm = p.line_radius_mm(section);
            Contact {
                pulley: i,
                id: p.id.clone(),
                side: p.contact,
                turns: if turn > 0.0 {
                    Rotation::CounterClockwise
                } else {
                    Rotation::Clockwise
                },
                centre_mm: listed[i].centre,
                line_radius_mm,
                pitch_radius_mm,
                wrap_deg: course.wraps[k].to_degrees(),
                arc_mm: line_radius_mm * course.wraps[k],
                arrives_mm: course.runs[(k + n - 1) % n].end,
                leaves_mm: course.runs[k].start,
                ratio: driver_pitch / pitch_radius_mm,
            }
        })
        .collect();
    let spans = course
        .runs
        .iter()
        .enumerate()
        .map(|(k, run)| Span {
            number: k + 1,
            from: k,
            to: (k + 1) % n,
            length_mm: run.length,
            start_mm: run.start,
            end_mm: run.end,
            direction: run.direction,
        })
        .collect();
    // A line offset by h outwards all round gains h × the turns it makes.
    let gain = |offset: f64| {
        contacts
            .iter()
            .zip(&course.wraps)
            .map(|(c, wrap)| match c.side {
                Side::Rib => offset * wrap,
                Side::Back => -offset * wrap,
            })
            .sum::<f64>()
    };
    let pitch_length_mm = course.length + gain(section.effective_line_differential_mm);
    let outside_length_mm = course.length + gain(section.back_offset_mm);
    BeltPath {
        travel: if rib_turn > 0.0 {
            Rotation::CounterClockwise
        } else {
            Rotation::Clockwise
        },
        listed_against_travel: n > 2 && order[1] != (order[0] + 1) % n,
        effective_length_mm: course.length,
        pitch_length_mm,
        outside_length_mm,
        contacts,
        spans,
    }
}
