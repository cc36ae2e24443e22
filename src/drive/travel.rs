//! A pulley that travels along a circle or a line, and the belt length over its travel.

use super::course::{Circle, Local, Moving};
use crate::geom::{Point, Vector};

/// Step of the search for the working zone along an arm's travel, rad.
///
/// Length over angle bends over tens of degrees, so one degree cannot step
/// over a dead centre and back.
const STEP_RAD: f64 = 1.0 / 57.0;

/// Step along a straight slot, mm.
const STEP_MM: f64 = 1.0;

/// A position is found when the belt length agrees to this, mm.
///
/// A tenth of a nanometre: far below the 1e-6 mm that outputs promise, far above rounding of metre-long sums.
const LENGTH_MM: f64 = 1e-10;

/// Belt taken up per mm the pulley moves, below which it counts as none.
///
/// The direction of a slot carries 1e-16 of rounding; a billionth of a
/// millimetre per millimetre is a dead centre on any engine.
const LEAST_GAIN: f64 = 1e-9;

/// Upper bound of safeguarded Newton steps; bisection alone needs about 50 for a whole travel.
const GREATEST_STEPS: usize = 100;

/// The line along which a pulley centre moves; `q` is rad of swing or mm of slide.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Track {
    /// About a pivot: the centre stands at `start` rad for q = 0 and turns with `sense` (±1).
    Swing {
        /// Pivot, mm.
        pivot: Point,
        /// Pivot to pulley centre, mm.
        radius: f64,
        /// Direction of the pulley centre at q = 0, rad.
        start: f64,
        /// +1 for q counter-clockwise, −1 clockwise.
        sense: f64,
    },
    /// Along a straight line.
    Slide {
        /// Centre at q = 0, mm.
        origin: Point,
        /// Unit direction of growing q.
        direction: Vector,
    },
}

impl Track {
    /// Pulley centre at `q`.
    #[must_use]
    pub fn centre(&self, q: f64) -> Point {
        match *self {
            Self::Swing {
                pivot,
                radius,
                start,
                sense,
            } => pivot.polar(radius, start + sense * q),
            Self::Slide { origin, direction } => origin + direction * q,
        }
    }

    /// Movement of the centre per unit of `q`.
    #[must_use]
    pub fn velocity(&self, q: f64) -> Vector {
        match *self {
            Self::Swing {
                radius,
                start,
                sense,
                ..
            } => Vector::unit_at(start + sense * q).left() * (sense * radius),
            Self::Slide { direction, .. } => direction,
        }
    }

    const fn step(&self) -> f64 {
        match self {
            Self::Swing { .. } => STEP_RAD,
            Self::Slide { .. } => STEP_MM,
        }
    }
}

/// Belt length over the travel of one pulley.
#[derive(Debug, Clone, Copy)]
pub struct Travel {
    /// Where the centre moves.
    pub track: Track,
    moving: Moving,
    home_wrap: f64,
}

/// State at one position.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct At {
    /// Position, rad or mm.
    pub q: f64,
    /// Belt length and directions.
    pub local: Local,
    /// Length gained per unit of q.
    pub rate: f64,
}

/// Why the working zone ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Limit {
    /// At the stop or the end of the search.
    Stop,
    /// At a dead centre: the length neither grows nor shrinks.
    DeadCentre,
    /// The belt path ends there: a pulley loses its wrap or its neighbours meet.
    PathEnds,
}

/// The part of the travel round the drawn position in which growing q takes up belt.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zone {
    /// Shortest belt.
    pub low: At,
    /// What ends it there.
    pub low_limit: Limit,
    /// Longest belt.
    pub high: At,
    /// What ends it there.
    pub high_limit: Limit,
}

/// A length outside a zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outside {
    /// Shorter than the zone's shortest.
    Short,
    /// Longer than the zone's longest.
    Long,
}

impl Travel {
    /// Prepares circle `k` of `circles` (in belt order, as drawn) to move along `track`.
    ///
    /// # Errors
    /// The pair of neighbours without a common tangent as drawn.
    pub fn of(circles: &[Circle], k: usize, track: Track) -> Result<Self, (usize, usize)> {
        let moving = Moving::of(circles, k)?;
        let home_wrap = moving
            .at(circles[k].centre)
            .map_or(f64::NAN, |local| local.most_wrap);
        Ok(Self {
            track,
            moving,
            home_wrap,
        })
    }

    /// State at `q`, or `None` where the belt path has ended.
    #[must_use]
    pub fn at(&self, q: f64) -> Option<At> {
        let local = self.moving.at(self.track.centre(q))?;
        // A wrap that passes zero reappears as nearly a whole turn.
        let lost = local.most_wrap > self.home_wrap + std::f64::consts::PI;
        (!lost).then(|| At {
            q,
            local,
            rate: local.gradient.dot(self.track.velocity(q)),
        })
    }

    /// Whether growing q takes up belt there.
    fn takes_up(&self, at: &At) -> bool {
        at.rate > LEAST_GAIN * self.track.velocity(at.q).length()
    }

    /// The working zone round `home`, within `low..=high`.
    ///
    /// `None` where the path does not exist at `home` or growing q does not take up belt there.
    #[must_use]
    pub fn zone(&self, home: f64, low: f64, high: f64) -> Option<Zone> {
        let start = self.at(home).filter(|at| self.takes_up(at))?;
        let (low, low_limit) = self.walk(start, low, -self.track.step());
        let (high, high_limit) = self.walk(start, high, self.track.step());
        Some(Zone {
            low,
            low_limit,
            high,
            high_limit,
        })
    }

    /// Walks from `from` towards `end` while the length keeps growing with q.
    fn walk(&self, from: At, end: f64, step: f64) -> (At, Limit) {
        let mut good = from;
        loop {
            let past = (good.q + step - end) * step.signum() >= 0.0;
            let q = if past { end } else { good.q + step };
            match self.at(q).filter(|at| self.takes_up(at)) {
                Some(at) if past => return (at, Limit::Stop),
                Some(at) => good = at,
                None => return self.edge(good, q),
            }
        }
    }

    /// The last good position between `good` and the bad `q`, by bisection.
    fn edge(&self, mut good: At, mut bad: f64) -> (At, Limit) {
        let mut limit = Limit::PathEnds;
        for _ in 0..GREATEST_STEPS {
            let middle = 0.5 * (good.q + bad);
            if middle <= good.q.min(bad) || middle >= good.q.max(bad) {
                break;
            }
            match self.at(middle) {
                Some(at) if self.takes_up(&at) => good = at,
                Some(_) => {
                    limit = Limit::DeadCentre;
                    bad = middle;
                }
                None => bad = middle,
            }
        }
        if limit == Limit::PathEnds && self.at(bad).is_some() {
            limit = Limit::DeadCentre;
        }
        (good, limit)
    }

    /// Position in `zone` at which the belt has `length` mm.
    ///
    /// # Errors
    /// On which side the length lies outside.
    pub fn find(&self, zone: &Zone, length: f64) -> Result<At, Outside> {
        if length < zone.low.local.length - LENGTH_MM {
            return Err(Outside::Short);
        }
        if length > zone.high.local.length + LENGTH_MM {
            return Err(Outside::Long);
        }
        let (mut low, mut high) = (zone.low, zone.high);
        let mut guess = low;
        for _ in 0..GREATEST_STEPS {
            // Newton from the better end, kept inside the bracket by bisection.
            let newton = guess.q + (length - guess.local.length) / guess.rate;
            let q = if newton > low.q && newton < high.q {
                newton
            } else {
                0.5 * (low.q + high.q)
            };
            let Some(at) = self.at(q) else {
                // The zone was walked without a gap, so this position exists.
                return Err(Outside::Short);
            };
            if (at.local.length - length).abs() <= LENGTH_MM || q <= low.q || q >= high.q {
                return Ok(at);
            }
            if at.local.length < length {
                low = at;
            } else {
                high = at;
            }
            guess = at;
        }
        Ok(guess)
    }
}
