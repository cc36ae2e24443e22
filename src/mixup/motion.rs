//! Whether one rigid motion in the plane brings every hole over its bolt at once.

use std::f64::consts::PI;

use crate::geom::{Point, Segment, Vector};

/// Slack of a contact, mm: two circles this far apart still touch (rounding of coordinates near 1 m).
const TOUCH_MM: f64 = 1e-9;

/// Motions this close to fitting count as fitting, mm: far below what any hole is made to.
pub const FIT_MM: f64 = 1e-7;

/// Boxes of motions looked at before the holes are taken to fit: a needless mark is the safe side.
const MOST_BOXES: usize = 200_000;

/// A hole and the bolt that is to pass it.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// Centre of a round hole, or the centre line of a slot.
    pub hole: Centre,
    /// Axis of the bolt.
    pub bolt: Point,
    /// How far the bolt's axis may lie from the hole's centre, mm; 0 or more.
    pub clearance_mm: f64,
}

/// Where a hole's centre lies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Centre {
    /// A round hole's.
    Round(Point),
    /// Anywhere along a slot's centre line.
    Along(Segment),
}

impl Centre {
    /// The centre at share `t` of a slot's line.
    #[must_use]
    pub fn at(&self, t: f64) -> Point {
        match self {
            Self::Round(p) => *p,
            Self::Along(s) => s.at(t),
        }
    }

    /// Length of the centre line, mm.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        match self {
            Self::Round(_) => 0.0,
            Self::Along(s) => s.length(),
        }
    }

    /// Least distance to a point, mm.
    #[must_use]
    pub fn distance(&self, p: Point) -> f64 {
        match self {
            Self::Round(c) => c.distance(p),
            Self::Along(s) => s.distance(p),
        }
    }
}

/// A rigid motion: the plate turned over about its y axis where `turned_over`, turned by
/// `angle_rad` counter-clockwise about the origin, then shifted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Motion {
    /// Whether the plate's back faces forward.
    pub turned_over: bool,
    /// Turn, rad, −π to π.
    pub angle_rad: f64,
    /// Shift, mm.
    pub shift: Vector,
}

impl Motion {
    /// Where a point of the plate comes to lie.
    #[must_use]
    pub fn of(&self, p: Point) -> Point {
        Point::ORIGIN
            + flipped(p, self.turned_over)
                .to_vector()
                .turned(self.angle_rad)
            + self.shift
    }
}

fn flipped(p: Point, turned_over: bool) -> Point {
    if turned_over {
        Point::new(-p.x, p.y)
    } else {
        p
    }
}

/// A range of motions: middle and half width of the turn, and of the share along every slot.
#[derive(Debug, Clone)]
struct Range {
    angle: (f64, f64),
    shares: Vec<(f64, f64)>,
}

/// A motion that brings every hole within its clearance of its bolt; `None` where there is none.
///
/// For one angle the shifts that suit a hole are a disc, and all discs have a common point or not:
/// that is decided from their centres and crossings. Over the angle (and the place along every slot)
/// ranges are halved; a range is dropped when not even discs widened by all it can move a hole have a
/// common point. What is left undecided is closer to fitting than [`FIT_MM`] and counts as fitting.
#[must_use]
pub fn motion(pairs: &[Pair], turned_over: bool) -> Option<Motion> {
    let n = pairs.len();
    if n == 0 || pairs.iter().any(|p| p.clearance_mm < 0.0) {
        return None;
    }
    let middle = pairs.iter().fold(Vector::default(), |v, p| {
        v + flipped(p.hole.at(0.5), turned_over).to_vector() * (1.0 / n as f64)
    });
    let place = |k: usize, t: f64| flipped(pairs[k].hole.at(t), turned_over).to_vector() - middle;
    // Farthest a hole's centre gets from the middle about which the plate turns.
    let arm: Vec<f64> = (0..n)
        .map(|k| place(k, 0.5).length() + 0.5 * pairs[k].hole.length_mm())
        .collect();
    let angle = window(pairs, turned_over)?;
    let slots: Vec<usize> = (0..n)
        .filter(|&k| matches!(pairs[k].hole, Centre::Along(_)))
        .collect();
    let mut ranges = vec![Range {
        angle,
        shares: vec![(0.5, 0.5); slots.len()],
    }];
    let mut looked_at = 0;
    while let Some(range) = ranges.pop() {
        looked_at += 1;
        let share = |k: usize| {
            slots
                .iter()
                .position(|&s| s == k)
                .map_or((0.5, 0.0), |i| range.shares[i])
        };
        let (theta, half) = range.angle;
        let discs = |grow: bool| -> Vec<(Point, f64)> {
            (0..n)
                .map(|k| {
                    let (t, w) = share(k);
                    let more = if grow {
                        half * arm[k] + w * pairs[k].hole.length_mm()
                    } else {
                        0.0
                    };
                    let centre = pairs[k].bolt + place(k, t).turned(theta) * -1.0;
                    (centre, pairs[k].clearance_mm + more)
                })
                .collect()
        };
        let found = |at: Point| Motion {
            turned_over,
            angle_rad: nearest_turn(theta),
            shift: at.to_vector() - middle.turned(theta),
        };
        if let Some(at) = common_point(&discs(false)) {
            return Some(found(at));
        }
        let Some(at) = common_point(&discs(true)) else {
            continue;
        };
        let turn_moves = half * arm.iter().copied().fold(0.0, f64::max);
        let widest = slots
            .iter()
            .enumerate()
            .map(|(i, &k)| (range.shares[i].1 * pairs[k].hole.length_mm(), i))
            .fold(
                (0.0, None),
                |a: (f64, Option<usize>), (w, i)| {
                    if w > a.0 { (w, Some(i)) } else { a }
                },
            );
        if turn_moves.max(widest.0) <= FIT_MM || looked_at >= MOST_BOXES {
            return Some(found(at));
        }
        match widest.1 {
            Some(i) if widest.0 > turn_moves => {
                let (t, w) = range.shares[i];
                for t in [t - 0.5 * w, t + 0.5 * w] {
                    let mut part = range.clone();
                    part.shares[i] = (t, 0.5 * w);
                    ranges.push(part);
                }
            }
            _ => {
                for a in [theta - 0.5 * half, theta + 0.5 * half] {
                    ranges.push(Range {
                        angle: (a, 0.5 * half),
                        shares: range.shares.clone(),
                    });
                }
            }
        }
    }
    None
}

/// Middle and half width of the turns that bring the farthest two round holes within reach of their bolts.
fn window(pairs: &[Pair], turned_over: bool) -> Option<(f64, f64)> {
    let round: Vec<(Point, &Pair)> = pairs
        .iter()
        .filter_map(|p| match p.hole {
            Centre::Round(c) => Some((flipped(c, turned_over), p)),
            Centre::Along(_) => None,
        })
        .collect();
    let mut best: Option<(f64, f64, f64)> = None;
    for (i, (a, pa)) in round.iter().enumerate() {
        for (b, pb) in &round[i + 1..] {
            let (holes, bolts) = (*b - *a, pb.bolt - pa.bolt);
            let (p, q) = (holes.length(), bolts.length());
            let reach = pa.clearance_mm + pb.clearance_mm + FIT_MM;
            if (p - q).abs() > reach {
                return None;
            }
            if best.is_some_and(|(far, _, _)| far >= p) || p <= reach || q <= reach {
                continue;
            }
            // The law of cosines: how far the two directions may part.
            let cosine = (p * p + q * q - reach * reach) / (2.0 * p * q);
            best = Some((
                p,
                bolts.angle() - holes.angle(),
                cosine.clamp(-1.0, 1.0).acos(),
            ));
        }
    }
    Some(best.map_or((0.0, PI), |(_, theta, half)| (theta, half)))
}

/// A point within all discs; `None` where there is none.
///
/// Discs that share a point share a centre (the least one lies in all others) or a crossing of two
/// of their circles.
fn common_point(discs: &[(Point, f64)]) -> Option<Point> {
    let inside = |p: &Point| discs.iter().all(|(c, r)| c.distance(*p) <= r + TOUCH_MM);
    if let Some(p) = discs.iter().map(|d| d.0).find(|p| inside(p)) {
        return Some(p);
    }
    for (i, (a, ra)) in discs.iter().enumerate() {
        for (b, rb) in &discs[i + 1..] {
            let d = a.distance(*b);
            if d > ra + rb + 2.0 * TOUCH_MM {
                return None;
            }
            let Some(u) = (*b - *a).unit() else { continue };
            let along = (d * d + ra * ra - rb * rb) / (2.0 * d);
            let across = (ra * ra - along * along).max(0.0).sqrt();
            for side in [across, -across] {
                let p = *a + u * along + u.left() * side;
                if inside(&p) {
                    return Some(p);
                }
            }
        }
    }
    None
}

/// An angle brought into −π..π.
fn nearest_turn(rad: f64) -> f64 {
    rad - 2.0 * PI * (rad / (2.0 * PI)).round()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pair(hole: (f64, f64), bolt: (f64, f64), clearance_mm: f64) -> Pair {
        Pair {
            hole: Centre::Round(Point::new(hole.0, hole.1)),
            bolt: Point::new(bolt.0, bolt.1),
            clearance_mm,
        }
    }

    #[test]
    fn two_holes_fit_to_the_sum_of_their_clearances_and_no_further() {
        for (over, fits) in [(0.9999, true), (1.0, true), (1.0001, false)] {
            let pairs = [
                pair((0.0, 0.0), (5.0, 5.0), 0.5),
                pair((80.0, 0.0), (5.0, 85.0 + over), 0.5),
            ];
            assert_eq!(motion(&pairs, false).is_some(), fits, "{over}");
        }
    }

    #[test]
    fn three_holes_pulled_apart_meet_at_the_circumradius() {
        // An equilateral triangle widened from radius 40 to 40 + g fits while the clearance is g.
        for (g, fits) in [(0.499, true), (0.501, false)] {
            let pairs: Vec<Pair> = (0..3)
                .map(|k| {
                    let a = 2.0 * PI * f64::from(k) / 3.0;
                    let (h, b) = (40.0, 40.0 + g);
                    pair(
                        (h * a.cos(), h * a.sin()),
                        (100.0 + b * (a + 0.7).cos(), -20.0 + b * (a + 0.7).sin()),
                        0.5,
                    )
                })
                .collect();
            let found = motion(&pairs, false);
            assert_eq!(found.is_some(), fits, "{g}");
            if let Some(m) = found {
                for p in &pairs {
                    assert!(m.of(p.hole.at(0.5)).distance(p.bolt) <= 0.5 + 1e-6);
                }
            }
        }
    }

    #[test]
    fn a_slot_counts_over_its_whole_length() {
        let slot = |bolt: f64| {
            [
                pair((0.0, 0.0), (0.0, 0.0), 0.25),
                Pair {
                    hole: Centre::Along(Segment::Line {
                        from: Point::new(40.0, 0.0),
                        to: Point::new(60.0, 0.0),
                    }),
                    bolt: Point::new(0.0, bolt),
                    clearance_mm: 0.25,
                },
            ]
        };
        for (bolt, fits) in [
            (39.4, false),
            (39.6, true),
            (50.0, true),
            (60.4, true),
            (60.6, false),
        ] {
            assert_eq!(motion(&slot(bolt), false).is_some(), fits, "{bolt}");
            assert_eq!(
                motion(&slot(bolt), true).is_some(),
                fits,
                "{bolt} turned over"
            );
        }
    }
}
