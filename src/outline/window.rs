//! Windows: lightening openings drawn by the user or found by the program.

use crate::geom::{Path, Point, Segment};
use crate::params::job::WindowKind;
use crate::tol;

use super::build;
use super::drawn::{self, DrawnError};
use super::invariants::check_opening;
use super::shape::{Disc, Shape};

/// Wall left round automatic windows, as a share of the thickness.
///
/// A wall half as wide as the plate is thick neither chatters nor buckles
/// (common practice, no source); never less than [`LEAST_WALL_MM`].
pub const WALL_PER_THICKNESS: f64 = 0.5;

/// Least wall round automatic windows, mm (common practice, no source).
pub const LEAST_WALL_MM: f64 = 6.0;

/// Smallest automatic window worth its pierce, mm² (common practice, no source): about a 20 mm hole.
pub const LEAST_AREA_MM2: f64 = 300.0;

/// The wall automatic windows leave in a plate when the job does not say, mm.
#[must_use]
pub fn default_wall_mm(thickness_mm: f64) -> f64 {
    (WALL_PER_THICKNESS * thickness_mm).max(LEAST_WALL_MM)
}

/// The boundary of a window the user drew, counter-clockwise.
///
/// # Errors
///
/// [`DrawnError`] names the corner of a polygon that cannot be drawn.
pub fn drawn(kind: &WindowKind) -> Result<Path, DrawnError> {
    let grid = |p: Point| Point::new(tol::on_input_grid(p.x), tol::on_input_grid(p.y));
    match kind {
        WindowKind::Circle { at, diameter_mm } => Ok(Path::circle(grid(*at), 0.5 * diameter_mm)),
        WindowKind::Slot { from, to, width_mm } => {
            Ok(Path::slot(grid(*from), grid(*to), 0.5 * width_mm))
        }
        WindowKind::Polygon { points, corner_mm } => drawn::rounded_polygon(points, *corner_mm),
    }
}

/// Windows that lighten a plate without touching anything it needs, counter-clockwise, from left to right.
///
/// What has to stay is a band `wall_mm` wide along the outline and round every
/// opening, every disc of `discs` (bosses and seats: centre, radius) and every
/// rib (two ends and a width). The rest is what a cutter of `cutter_mm` radius
/// can reach of it: the openings of the closing of what stays. A window that
/// is smaller than [`LEAST_AREA_MM2`], has an island, or does not keep the
/// wall when measured, is not cut.
#[must_use]
pub fn automatic(
    outer: &Path,
    discs: &[(Point, f64)],
    openings: &[Path],
    wall_mm: f64,
    cutter_mm: f64,
    ribs: &[(Point, Point, f64)],
) -> Vec<Path> {
    let mut stays: Vec<Shape> = Vec::new();
    band(outer, wall_mm, &mut stays);
    for o in openings {
        band(o, wall_mm, &mut stays);
        stays.push(Shape::Drawn(o.oriented(true)));
    }
    for &(centre, radius) in discs {
        stays.push(Shape::Disc(Disc { centre, radius }));
    }
    for &(a, b, width) in ribs {
        if a.distance(b) > tol::INPUT_GRID_MM && width > 0.0 {
            stays.push(Shape::Bar { a, b, width });
        }
    }
    let Ok(loops) = build::loops(&stays, cutter_mm) else {
        return Vec::new();
    };
    let islands = loops.outer;
    let least = LEAST_AREA_MM2.max(4.0 * std::f64::consts::PI * cutter_mm * cutter_mm);
    let mut windows: Vec<Path> = loops
        .inner
        .into_iter()
        .filter(|w| {
            let within = |p: &Path| p.segments.first().is_some_and(|s| w.contains(s.from()));
            w.area() >= least
                && w.segments.first().is_some_and(|s| outer.contains(s.from()))
                && !islands.iter().any(within)
                && check_opening(w, cutter_mm).is_ok()
                && keeps(w, outer, discs, openings, wall_mm)
        })
        .collect();
    windows.sort_by(|a, b| {
        let (p, q) = (a.extents().min, b.extents().min);
        p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y))
    });
    windows
}

/// Whether a window keeps its walls, measured.
fn keeps(w: &Path, outer: &Path, discs: &[(Point, f64)], openings: &[Path], wall: f64) -> bool {
    let enough = wall - tol::RULE_MM;
    w.gap(outer).distance >= enough
        && openings.iter().all(|o| w.gap(o).distance >= enough)
        && discs
            .iter()
            .all(|&(c, r)| !w.contains(c) && w.gap_to_point(c).distance >= r - tol::INPUT_GRID_MM)
}

/// Shapes that cover everything within `wall` of a boundary.
fn band(path: &Path, wall: f64, out: &mut Vec<Shape>) {
    for s in &path.segments {
        match *s {
            Segment::Line { from, to } => {
                let end = |centre| Disc {
                    centre,
                    radius: wall,
                };
                if from.distance(to) > tol::INPUT_GRID_MM {
                    out.push(Shape::Taper {
                        a: end(from),
                        b: end(to),
                    });
                } else {
                    out.push(Shape::Disc(end(from)));
                }
            }
            Segment::Arc {
                centre,
                radius,
                from,
                ccw,
                ..
            } => {
                let sweep = s.sweep().abs();
                if s.is_full_circle() || radius <= wall || sweep > 6.0 {
                    out.push(Shape::Disc(Disc {
                        centre,
                        radius: radius + wall,
                    }));
                } else {
                    let a = (from - centre).angle();
                    let start = if ccw { a } else { a - sweep };
                    out.push(Shape::Drawn(Path::arc_slot(
                        centre,
                        radius,
                        start,
                        start + sweep,
                        wall,
                    )));
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::outline::hull;

    #[test]
    fn a_hull_with_ribs_gets_windows_that_keep_their_walls() {
        let d = |x, y| Disc {
            centre: Point::new(x, y),
            radius: 16.0,
        };
        let bosses = [d(0.0, 0.0), d(160.0, 0.0), d(160.0, 110.0), d(0.0, 110.0)];
        let outer = hull(&bosses);
        let discs: Vec<_> = bosses.iter().map(|b| (b.centre, b.radius)).collect();
        let ribs = [(bosses[0].centre, bosses[2].centre, 14.0)];
        let holes: Vec<Path> = bosses.iter().map(|b| Path::circle(b.centre, 5.5)).collect();
        let w = automatic(&outer, &discs, &holes, 8.0, 4.0, &ribs);
        assert_eq!(w.len(), 2);
        for p in &w {
            assert!(p.area() > 1000.0);
            assert!(p.gap(&outer).distance >= 8.0 - 1e-6);
            // Half the rib stays on either side of its middle line.
            let rib = Segment::Line {
                from: bosses[0].centre,
                to: bosses[2].centre,
            };
            assert!(p.gap_to_segment(&rib).distance >= 7.0 - 1e-4);
        }
        assert!((w[0].area() - w[1].area()).abs() < 1e-3, "mirror images");
    }

    #[test]
    fn a_plate_without_room_gets_no_window() {
        let outer = Path::slot(Point::ORIGIN, Point::new(60.0, 0.0), 11.0);
        assert!(automatic(&outer, &[], &[], 8.0, 4.0, &[]).is_empty());
    }
}
