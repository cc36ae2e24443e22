//! Why a belt path does not exist: overlapping pulleys, lost wraps, crossing spans, spans that cut into pulleys.

use std::f64::consts::{PI, TAU};

use super::course::{self, Circle, Course};
use super::fault::Fault;
use super::input::Drive;
use crate::geom::{Segment, Vector};
use crate::tol::PARALLEL;

/// How far a span may run into a neighbour's metal before it is called a cut, mm.
///
/// Rounding only: real gaps are judged against limits in the clearance table.
pub(super) const TOUCH_MM: f64 = 1e-9;

/// A wrap above this in a line that does not close with one turn is a vanished one, rad.
///
/// Where a pulley stands clear of the belt its wrap is a small negative angle,
/// which the directed tangents report as a whole turn less that angle.
const VANISHED_RAD: f64 = 1.5 * PI;

/// Pairs of pulleys whose metal, or whose belt lines where the belt passes between them, overlap.
pub(super) fn overlaps(drive: &Drive, listed: &[Circle], order: &[usize]) -> Vec<Fault> {
    let n = listed.len();
    let mut faults = Vec::new();
    for (a, &i) in order.iter().enumerate() {
        for (b, &j) in order.iter().enumerate().skip(a + 1) {
            let (p, q) = (&drive.pulleys[i], &drive.pulleys[j]);
            let mut least_mm = 0.5 * (p.rim_diameter_mm + q.rim_diameter_mm);
            let neighbours = b == a + 1 || (a == 0 && b == n - 1);
            if neighbours && p.contact != q.contact {
                least_mm = least_mm.max(listed[i].radius + listed[j].radius);
            }
            let distance_mm = listed[i].centre.distance(listed[j].centre);
            if distance_mm < least_mm - TOUCH_MM {
                faults.push(Fault::Overlap {
                    a: p.id.clone(),
                    b: q.id.clone(),
                    distance_mm,
                    least_mm,
                });
            }
        }
    }
    faults
}

/// Pulleys the belt runs straight past.
pub(super) fn vanished(
    circles: &[Circle],
    course: &Course,
    name: &impl Fn(usize) -> String,
) -> Vec<Fault> {
    let n = circles.len();
    let mut faults = Vec::new();
    for (k, &wrap) in course.wraps.iter().enumerate() {
        if n < 3 || (wrap < VANISHED_RAD && wrap > course::WRAP_ROUNDING_RAD) {
            continue;
        }
        let (before, after) = ((k + n - 1) % n, (k + 1) % n);
        // The straight run from before to after passes the circle on the side it should press.
        let clear = course::tangent(&circles[before], &circles[after]).map(|run| {
            let own = &circles[k];
            let left = run.direction.cross(own.centre - run.start);
            own.turn * left - own.radius
        });
        if let Some(clear_mm) = clear.filter(|c| *c >= -TOUCH_MM) {
            faults.push(Fault::WrapVanishes {
                pulley: name(k),
                before: name(before),
                after: name(after),
                clear_mm,
            });
        }
    }
    faults
}

/// Spans that cross other spans.
pub(super) fn crossings(
    circles: &[Circle],
    course: &Course,
    name: &impl Fn(usize) -> String,
) -> Vec<Fault> {
    let n = circles.len();
    let mut faults = Vec::new();
    for i in 0..n {
        for j in i + 1..n {
            let (a, b) = (&course.runs[i], &course.runs[j]);
            let (da, db) = (a.end - a.start, b.end - b.start);
            let det = da.cross(db);
            if det.abs() <= PARALLEL * da.length() * db.length() {
                // Parallel spans never cross; overlapping ones overlap their pulleys.
                continue;
            }
            let gap = b.start - a.start;
            let (s, t) = (gap.cross(db) / det, gap.cross(da) / det);
            if s > 0.0 && s < 1.0 && t > 0.0 && t < 1.0 {
                let at = a.start + da * s;
                faults.push(Fault::BeltCrosses {
                    from: name(i),
                    to: name((i + 1) % n),
                    other_from: name(j),
                    other_to: name((j + 1) % n),
                    x_mm: at.x,
                    y_mm: at.y,
                });
            }
        }
    }
    faults
}

/// Spans that cut into a pulley they should pass, or into the belt lying on it.
pub(super) fn cuts(
    drive: &Drive,
    order: &[usize],
    circles: &[Circle],
    course: &Course,
    name: &impl Fn(usize) -> String,
) -> Vec<Fault> {
    let n = circles.len();
    let mut faults = Vec::new();
    for (i, run) in course.runs.iter().enumerate() {
        for k in (0..n).filter(|&k| k != i && k != (i + 1) % n) {
            let span = Segment::Line {
                from: run.start,
                to: run.end,
            };
            let centre = circles[k].centre;
            let nearest = span.nearest(centre);
            let distance = nearest.distance(centre);
            let metal = 0.5 * drive.pulleys[order[k]].face_diameter_mm();
            let belt_there = on_wrap(circles, course, k, nearest - centre);
            let reach = if belt_there {
                metal.max(circles[k].radius)
            } else {
                metal
            };
            if distance < reach - TOUCH_MM {
                faults.push(Fault::SpanCutsPulley {
                    from: name(i),
                    to: name((i + 1) % n),
                    pulley: name(k),
                    cut_mm: reach - distance,
                });
            }
        }
    }
    faults
}

/// Whether the direction `v` from circle `k` points at belt lying on it.
fn on_wrap(circles: &[Circle], course: &Course, k: usize, v: Vector) -> bool {
    let n = circles.len();
    let turn = circles[k].turn;
    let arrives = course.runs[(k + n - 1) % n].direction;
    // The radius to the point of arrival is −left(direction)·turn.
    let start = arrives.left() * -turn;
    let past = (turn * start.cross(v)).atan2(start.dot(v)).rem_euclid(TAU);
    past <= course.wraps[k]
}
