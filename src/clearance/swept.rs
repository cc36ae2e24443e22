//! The exact space that a round or a straight-drawn prism sweeps, as one prism.

use std::f64::consts::TAU;

use crate::geom::{Path, Point, Point3, Region, Segment, Vector};
use crate::tol;

use super::motion::Motion;
use super::solid::Prism;

/// The space a prism sweeps, where that is a prism too: a cylinder that swings about a parallel
/// axis (an arc slot) or slides across its axis (a slot), and anything that slides along its own.
pub(super) fn swept(prism: &Prism, motion: &Motion) -> Option<Prism> {
    match *motion {
        Motion::Slide { by } => {
            let along = by.dot(prism.frame.normal);
            let across = Vector::new(by.dot(prism.frame.x), by.dot(prism.frame.y));
            if across.length() < tol::SNAP_MM {
                return Some(prism.drawn(along));
            }
            let (centre, radius) = circle(&prism.region)?;
            (along.abs() < tol::SNAP_MM)
                .then(|| with(prism, Path::slot(centre, centre + across, radius)))
        }
        Motion::Turn {
            pivot,
            axis,
            from_rad,
            to_rad,
        } => {
            let axis = axis.unit()?;
            if axis.cross(prism.frame.normal).length() > tol::PARALLEL {
                return None;
            }
            let (centre, radius) = circle(&prism.region)?;
            let (pivot, _) = prism.frame.to_plane(pivot);
            let track = pivot.distance(centre);
            let sign = axis.dot(prism.frame.normal).signum();
            let (a, b) = (sign * from_rad, sign * to_rad);
            let at = (centre - pivot).angle();
            let (start, end) = (at + a.min(b), at + a.max(b));
            // Both ends must keep off the pivot and off each other, else the slot's boundary crosses itself.
            if track <= radius + tol::SNAP_MM || end - start + 2.0 * (radius / track).asin() >= TAU
            {
                return None;
            }
            if (end - start) * track < tol::SNAP_MM {
                return Some(with(prism, Path::circle(pivot.polar(track, start), radius)));
            }
            Some(with(
                prism,
                Path::arc_slot(pivot, track, start, end, radius),
            ))
        }
    }
}

/// Where on its way a swept prism comes nearest to a point, 0 to 1.
pub(super) fn nearest_on_the_way(prism: &Prism, motion: &Motion, p: Point3) -> f64 {
    let centre = circle(&prism.region).map_or(Point::ORIGIN, |c| c.0);
    let (here, _) = prism.frame.to_plane(p);
    match *motion {
        Motion::Slide { by } => {
            let from = prism
                .frame
                .to_engine(centre, 0.5 * (prism.low_mm + prism.high_mm));
            ((p - from).dot(by) / by.dot(by)).clamp(0.0, 1.0)
        }
        Motion::Turn {
            pivot,
            axis,
            from_rad,
            to_rad,
        } => {
            let (pivot, _) = prism.frame.to_plane(pivot);
            let (u, v) = (centre - pivot, here - pivot);
            let turn = axis.dot(prism.frame.normal).signum() * u.cross(v).atan2(u.dot(v));
            // The angle is known up to whole turns: the one nearest the middle of the way counts.
            let middle = 0.5 * (from_rad + to_rad);
            let turn = turn + ((middle - turn) / TAU).round() * TAU;
            ((turn - from_rad) / (to_rad - from_rad)).clamp(0.0, 1.0)
        }
    }
}

fn with(prism: &Prism, outer: Path) -> Prism {
    Prism {
        region: Region::solid(outer),
        ..prism.clone()
    }
}

/// Centre and radius of a region that is one full disc.
fn circle(region: &Region) -> Option<(Point, f64)> {
    match region.outer.segments.as_slice() {
        [s @ Segment::Arc { centre, radius, .. }]
            if s.is_full_circle() && region.openings.is_empty() =>
        {
            Some((*centre, *radius))
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Vector3;

    #[test]
    fn a_swinging_roll_sweeps_an_arc_slot_whichever_way_its_frame_faces() {
        let swing = Motion::Turn {
            pivot: Point3::new(5.0, 0.0, 0.0),
            axis: Vector3::Z,
            from_rad: -0.3,
            to_rad: 1.0,
        };
        for axis in [Vector3::Z, -Vector3::Z] {
            let roll =
                Prism::cylinder("roll", Point3::new(95.0, 0.0, 0.0), axis, 30.0, 20.0).unwrap();
            let space = swept(&roll, &swing).unwrap();
            assert!(
                (space.region.outer.area() - (1.3 * 90.0 * 60.0 + 900.0 * std::f64::consts::PI))
                    .abs()
                    < 1e-6
            );
            for t in [0.0, 0.4, 1.0] {
                let centre = swing.carried(Point3::new(95.0, 0.0, 0.0), t);
                let (p, _) = space.frame.to_plane(centre);
                assert!(
                    (space.region.outer.signed_distance(p) - 30.0).abs() < 1e-9,
                    "{t}"
                );
                assert!(
                    (nearest_on_the_way(&roll, &swing, centre) - t).abs() < 1e-9,
                    "{t}"
                );
            }
        }
    }

    #[test]
    fn what_sweeps_no_prism_is_left_to_the_search() {
        let roll =
            Prism::cylinder("roll", Point3::new(20.0, 0.0, 0.0), Vector3::Z, 30.0, 20.0).unwrap();
        let turn = |axis: Vector3, to: f64| Motion::Turn {
            pivot: Point3::ORIGIN,
            axis,
            from_rad: 0.0,
            to_rad: to,
        };
        // Over its own pivot, about a crossing axis, nearly all the way round, slantwise.
        assert!(swept(&roll, &turn(Vector3::Z, 1.0)).is_none());
        assert!(swept(&roll, &turn(Vector3::X, 1.0)).is_none());
        let far =
            Prism::cylinder("roll", Point3::new(50.0, 0.0, 0.0), Vector3::Z, 30.0, 20.0).unwrap();
        assert!(swept(&far, &turn(Vector3::Z, 5.5)).is_none());
        let slant = Motion::Slide {
            by: Vector3::new(10.0, 0.0, 10.0),
        };
        assert!(swept(&far, &slant).is_none());
    }
}
