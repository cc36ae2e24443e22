//! Slides a part by the exact distance between outlines.

use crate::geom::{Extents, Path, Point, Segment, Vector};

/// What is kept beyond the gap while sliding, so that places can be rounded to whole µm, mm.
pub(super) const SPARE_MM: f64 = 2e-3;

/// A slide ends when it gains less than this, mm.
const LEAST_GAIN_MM: f64 = 0.02;

/// Steps of one slide before it is left as it is: along a slope every step gains less.
const MOST_STEPS: usize = 40;

/// Rounds of left and down.
const ROUNDS: usize = 3;

/// How far an outline can be moved towards the lower left corner of `usable`, keeping `gap` from `others`.
///
/// The outline must lie within `usable` and keep the gap already. Answers whole µm.
pub(super) fn slide(outline: &Path, others: &[&Path], usable: &Extents, gap: f64) -> Vector {
    let start = outline.extents();
    let boxes: Vec<Extents> = others.iter().map(|o| o.extents()).collect();
    let mut moved = Vector::new(0.0, 0.0);
    for _ in 0..ROUNDS {
        let before = moved;
        for direction in [Vector::new(-1.0, 0.0), Vector::new(0.0, -1.0)] {
            for _ in 0..MOST_STEPS {
                let room = if direction.x < 0.0 {
                    start.min.x + moved.x - usable.min.x
                } else {
                    start.min.y + moved.y - usable.min.y
                };
                let free = nearest(outline, moved, others, &boxes, room + gap + SPARE_MM);
                // The distance changes no faster than the part moves.
                let step = (free - gap - SPARE_MM).min(room);
                if step < LEAST_GAIN_MM {
                    break;
                }
                moved = moved + direction * step;
            }
        }
        if (moved - before).length() < LEAST_GAIN_MM {
            break;
        }
    }
    moved
}

/// A place in whole µm, up and to the right, so that the margin is kept.
pub(super) fn rounded(v: Vector) -> Vector {
    let whole = |x: f64| (x * 1e3 - 1e-6).ceil() / 1e3;
    Vector::new(whole(v.x), whole(v.y))
}

/// Distance from a moved outline to the others, mm, at most `enough`.
fn nearest(outline: &Path, by: Vector, others: &[&Path], boxes: &[Extents], enough: f64) -> f64 {
    let own = outline.moved(by);
    let e = own.extents();
    let mut least = enough;
    for (other, b) in others.iter().zip(boxes) {
        if e.distance(b) < least {
            least = least.min(own.gap(other).distance);
        }
    }
    least
}

/// Whether one of two outlines lies within the other.
pub(super) fn covers(a: &Path, b: &Path) -> bool {
    let first = |p: &Path| p.segments.first().map_or(Point::ORIGIN, Segment::from);
    a.contains(first(b)) || b.contains(first(a))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_disc_slides_down_to_the_gap_above_another() {
        let usable = Extents {
            min: Point::new(10.0, 10.0),
            max: Point::new(200.0, 200.0),
        };
        let fixed = Path::circle(Point::new(30.0, 30.0), 20.0);
        let disc = Path::circle(Point::new(30.0, 150.0), 20.0);
        let by = slide(&disc, &[&fixed], &usable, 6.0);
        let now = disc.moved(by);
        let gap = now.gap(&fixed).distance;
        assert!((6.0..6.1).contains(&gap), "{gap}");
        assert!(now.extents().min.x >= 10.0 && now.extents().min.y >= 10.0);
    }

    #[test]
    fn places_are_whole_micrometres_never_past_the_margin() {
        let v = rounded(Vector::new(15.000_000_4, 14.999_9));
        assert_eq!((v.x, v.y), (15.001, 15.0));
    }
}
