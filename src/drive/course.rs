//! Tangent geometry of a closed line round circles, each passed on a stated side.
//!
//! The line runs from circle to circle in order, turning `turn` (+1
//! counter-clockwise, −1 clockwise) about each. Everything is closed form: the
//! directed common tangent leaves the line of centres by
//! asin((t₂r₂ − t₁r₁)/D), and the span is √(D² − (t₂r₂ − t₁r₁)²).

use std::f64::consts::TAU;

use crate::geom::{Point, Vector};

/// A wrap within this of a whole turn is rounding of none, rad.
///
/// Directions of metre-long spans carry about 1e-16 rad of rounding; a wrap of
/// 1e-10 rad is 1e-8 mm of belt on any pulley.
pub const WRAP_ROUNDING_RAD: f64 = 1e-10;

/// A circle the line passes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Circle {
    /// Centre, mm.
    pub centre: Point,
    /// Radius, mm; 0 or more.
    pub radius: f64,
    /// +1 where the line turns counter-clockwise about it, −1 clockwise.
    pub turn: f64,
}

/// One straight run, from the circle of the same index to the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Run {
    /// Where it leaves its circle, mm.
    pub start: Point,
    /// Where it meets the next circle, mm.
    pub end: Point,
    /// Unit direction of travel.
    pub direction: Vector,
    /// Length, mm.
    pub length: f64,
}

/// The whole line.
#[derive(Debug, Clone, PartialEq)]
pub struct Course {
    /// Run after each circle.
    pub runs: Vec<Run>,
    /// Wrap on each circle, rad in [0, 2π).
    pub wraps: Vec<f64>,
    /// Total length, mm.
    pub length: f64,
    /// Sum of turn × wrap, in whole turns: ±1 for a line that does not cross itself.
    pub turns: f64,
}

/// The directed tangent from `a` to `b`, or `None` where one circle holds the other back.
#[must_use]
pub fn tangent(a: &Circle, b: &Circle) -> Option<Run> {
    let (ra, rb) = (a.turn * a.radius, b.turn * b.radius);
    let between = b.centre - a.centre;
    let distance = between.length();
    let along = between.unit()?;
    let offset = rb - ra;
    let square = (distance - offset) * (distance + offset);
    if square.is_nan() || square < 0.0 {
        return None;
    }
    let length = square.sqrt();
    // Turned from the line of centres by −asin(offset / distance).
    let direction = along * (length / distance) - along.left() * (offset / distance);
    let normal = direction.left();
    Some(Run {
        start: a.centre - normal * ra,
        end: b.centre - normal * rb,
        direction,
        length,
    })
}

/// Wrap on a circle between the runs arriving and leaving, rad in [0, 2π).
#[must_use]
pub fn wrap(turn: f64, arrives: Vector, leaves: Vector) -> f64 {
    let angle = (turn * arrives.cross(leaves)).atan2(arrives.dot(leaves));
    if angle < -WRAP_ROUNDING_RAD {
        angle + TAU
    } else {
        angle.max(0.0)
    }
}

/// Lays the line round `circles`.
///
/// # Errors
/// The pair of neighbours (by index) that has no common tangent.
pub fn lay(circles: &[Circle]) -> Result<Course, (usize, usize)> {
    let n = circles.len();
    let mut runs = Vec::with_capacity(n);
    for (i, circle) in circles.iter().enumerate() {
        let j = (i + 1) % n;
        runs.push(tangent(circle, &circles[j]).ok_or((i, j))?);
    }
    let (mut length, mut turns) = (0.0, 0.0);
    let mut wraps = Vec::with_capacity(n);
    for (i, circle) in circles.iter().enumerate() {
        let arrives = runs[(i + n - 1) % n].direction;
        let angle = wrap(circle.turn, arrives, runs[i].direction);
        length += runs[i].length + circle.radius * angle;
        turns += circle.turn * angle / TAU;
        wraps.push(angle);
    }
    Ok(Course {
        runs,
        wraps,
        length,
        turns,
    })
}

/// What changes when one circle moves: its two runs and the three wraps they end in.
///
/// Holds all that stays, so that a search over positions costs three tangents
/// and no allocation.
#[derive(Debug, Clone, Copy)]
pub struct Moving {
    before: Circle,
    own: Circle,
    after: Circle,
    into_before: Vector,
    out_of_after: Vector,
    fixed: f64,
    alone: bool,
}

/// The line at one position of the moving circle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Local {
    /// Total length, mm.
    pub length: f64,
    /// Change of length with the circle's centre: arriving less leaving direction.
    pub gradient: Vector,
    /// Direction of the arriving run.
    pub arrives: Vector,
    /// Direction of the leaving run.
    pub leaves: Vector,
    /// Wrap on the moving circle, rad.
    pub wrap: f64,
    /// Greatest of the three wraps that change, rad.
    pub most_wrap: f64,
}

impl Moving {
    /// Prepares circle `k` of a line that can be laid as drawn.
    ///
    /// # Errors
    /// The pair of neighbours without a common tangent.
    pub fn of(circles: &[Circle], k: usize) -> Result<Self, (usize, usize)> {
        let n = circles.len();
        let course = lay(circles)?;
        let (b, a) = ((k + n - 1) % n, (k + 1) % n);
        // Runs k−1 and k, wraps k−1, k, k+1 move; everything else stays.
        let mut fixed = 0.0;
        for (i, circle) in circles.iter().enumerate() {
            if i != b && i != k {
                fixed += course.runs[i].length;
            }
            if i != b && i != k && i != a {
                fixed += circle.radius * course.wraps[i];
            }
        }
        Ok(Self {
            before: circles[b],
            own: circles[k],
            after: circles[a],
            into_before: course.runs[(b + n - 1) % n].direction,
            out_of_after: course.runs[a].direction,
            fixed,
            alone: a == b,
        })
    }

    /// The line with the circle's centre at `centre`, or `None` where no line exists.
    #[must_use]
    pub fn at(&self, centre: Point) -> Option<Local> {
        let own = Circle { centre, ..self.own };
        let first = tangent(&self.before, &own)?;
        let second = tangent(&own, &self.after)?;
        let (arrives, leaves) = (first.direction, second.direction);
        let on_own = wrap(own.turn, arrives, leaves);
        let (on_before, on_after) = if self.alone {
            // Two circles: one neighbour, met by the second run and left by the first.
            (wrap(self.before.turn, leaves, arrives), 0.0)
        } else {
            (
                wrap(self.before.turn, self.into_before, arrives),
                wrap(self.after.turn, leaves, self.out_of_after),
            )
        };
        let ends = self.before.radius * on_before + self.after.radius * on_after;
        Some(Local {
            length: self.fixed + first.length + second.length + own.radius * on_own + ends,
            gradient: arrives - leaves,
            arrives,
            leaves,
            wrap: on_own,
            most_wrap: on_own.max(on_before).max(on_after),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn circle(x: f64, y: f64, radius: f64, turn: f64) -> Circle {
        Circle {
            centre: Point::new(x, y),
            radius,
            turn,
        }
    }

    #[test]
    fn two_equal_circles_give_2c_plus_pi_d() {
        let course = lay(&[circle(0.0, 0.0, 40.0, 1.0), circle(250.0, 0.0, 40.0, 1.0)]).unwrap();
        assert!((course.length - (500.0 + PI * 80.0)).abs() < 1e-10);
        assert!((course.turns - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_circle_inside_the_next_has_no_tangent() {
        let pair = [circle(0.0, 0.0, 40.0, 1.0), circle(10.0, 0.0, 10.0, 1.0)];
        assert_eq!(lay(&pair), Err((0, 1)));
    }

    #[test]
    fn moving_one_circle_agrees_with_laying_the_whole_line() {
        let mut circles = [
            circle(0.0, 0.0, 80.0, 1.0),
            circle(230.0, -40.0, 60.0, 1.0),
            circle(260.0, 220.0, 30.0, 1.0),
            circle(140.0, 285.0, 35.0, -1.0),
            circle(0.0, 240.0, 65.0, 1.0),
        ];
        for k in 0..5 {
            let moving = Moving::of(&circles, k).unwrap();
            let home = circles[k].centre;
            let to = home + Vector::new(3.0, -2.0);
            circles[k].centre = to;
            let whole = lay(&circles).unwrap();
            circles[k].centre = home;
            let local = moving.at(to).unwrap();
            assert!((local.length - whole.length).abs() < 1e-10, "{k}");
            assert!((local.wrap - whole.wraps[k]).abs() < 1e-12, "{k}");
        }
    }

    #[test]
    fn moving_one_of_two_circles_agrees_with_laying_both() {
        let pair = [circle(0.0, 0.0, 75.0, 1.0), circle(300.0, 0.0, 30.0, 1.0)];
        let local = Moving::of(&pair, 1)
            .unwrap()
            .at(Point::new(320.0, 5.0))
            .unwrap();
        let whole = lay(&[pair[0], circle(320.0, 5.0, 30.0, 1.0)]).unwrap();
        assert!((local.length - whole.length).abs() < 1e-10);
    }
}
