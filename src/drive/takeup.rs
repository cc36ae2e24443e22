//! Manual take-up: how far an accessory must swing or slide, and the slot that allows it.

use serde::Serialize;

use super::course::Circle;
use super::fault::{Fault, Faults};
use super::input::{Drive, ManualTakeUp, Motion, TakeUp};
use super::path;
use super::tensioner::{self, BeltState, SlipOn};
use super::travel::{At, Limit, Outside, Track, Travel, Zone};
use super::xy;
use crate::geom::{Path, Point, Vector};

/// Furthest swing searched to either side of the accessory as drawn, deg.
///
/// An accessory that must swing further has its slot in the wrong place.
pub const GREATEST_SWING_DEG: f64 = 60.0;

/// Furthest slide searched to either side, mm; beyond any adjusting slot.
pub const GREATEST_SLIDE_MM: f64 = 200.0;

/// The accessory at one position of its travel.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Position {
    /// Swing counter-clockwise from as drawn, deg, or slide along the slot's direction, mm.
    pub travel: f64,
    /// Pulley centre, mm.
    #[serde(serialize_with = "xy::point")]
    pub centre_mm: Point,
    /// Clamp bolt, mm.
    #[serde(serialize_with = "xy::point")]
    pub bolt_mm: Point,
    /// Belt length there, mm.
    pub length_mm: f64,
    /// Belt taken up per degree or mm of travel in the tightening direction.
    pub take_up_mm: f64,
}

/// One need of the take-up with the position that meets it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Need {
    /// What it is: a belt state, or `fitting`.
    pub what: String,
    /// Belt length it asks for, mm (fitting: what the shortest belt leaves on the seat line).
    pub length_mm: f64,
    /// Where the accessory stands, where it can.
    pub position: Option<Position>,
    /// Why it cannot.
    pub fault: Option<Fault>,
}

/// The slot's centre line.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum Slot {
    /// An arc slot about the swing's pivot.
    Arc {
        /// Pivot, mm.
        #[serde(serialize_with = "xy::point")]
        pivot_mm: Point,
        /// Pivot to bolt centre, mm.
        track_mm: f64,
        /// Start, deg from +x.
        start_deg: f64,
        /// End, deg, counter-clockwise from the start.
        end_deg: f64,
    },
    /// A straight slot.
    Straight {
        /// First bolt centre, mm.
        #[serde(serialize_with = "xy::point")]
        from_mm: Point,
        /// Last bolt centre, mm.
        #[serde(serialize_with = "xy::point")]
        to_mm: Point,
    },
}

impl Slot {
    /// Length of the bolt's path, mm.
    #[must_use]
    pub fn track_length_mm(&self) -> f64 {
        match *self {
            Self::Arc {
                track_mm,
                start_deg,
                end_deg,
                ..
            } => track_mm * (end_deg - start_deg).to_radians(),
            Self::Straight { from_mm, to_mm } => from_mm.distance(to_mm),
        }
    }

    /// The opening for a bolt of clearance `width_mm`, as an exact closed outline.
    #[must_use]
    pub fn outline(&self, width_mm: f64) -> Path {
        match *self {
            Self::Arc {
                pivot_mm,
                track_mm,
                start_deg,
                end_deg,
            } => Path::arc_slot(
                pivot_mm,
                track_mm,
                start_deg.to_radians(),
                end_deg.to_radians(),
                0.5 * width_mm,
            ),
            Self::Straight { from_mm, to_mm } => Path::slot(from_mm, to_mm, 0.5 * width_mm),
        }
    }
}

/// What the take-up needs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TakeUpRange {
    /// Fitting first, then the belt states from shortest to end of life.
    pub needs: Vec<Need>,
    /// The slot that allows all of them, where all can be met.
    pub slot: Option<Slot>,
    /// Unit of `travel`: `deg` or `mm`.
    pub unit: &'static str,
    /// Least travel needed, deg or mm from as drawn.
    pub from: Option<f64>,
    /// Greatest travel needed.
    pub to: Option<f64>,
    /// Travel of the slot that exists already, where one was given.
    pub available: Option<(f64, f64)>,
    /// Shortest belt within reach, mm.
    pub shortest_mm: f64,
    /// Longest belt within reach, mm.
    pub longest_mm: f64,
    /// Whether the belt goes on over the named pulley at the loose end, where one is named.
    pub slip_on: Option<SlipOn>,
}

impl TakeUpRange {
    /// Where the accessory stands for a belt state.
    #[must_use]
    pub fn position(&self, state: BeltState) -> Option<&Position> {
        self.needs
            .iter()
            .find(|n| n.what == state.words())
            .and_then(|n| n.position.as_ref())
    }
}

struct Mover<'a> {
    drive: &'a Drive,
    manual: &'a ManualTakeUp,
    order: Vec<usize>,
    listed: Vec<Circle>,
    /// +1 where growing `travel` tightens, −1 where it slackens.
    sense: f64,
    travel: Travel,
    zone: Zone,
}

impl<'a> Mover<'a> {
    fn of(drive: &'a Drive, manual: &'a ManualTakeUp) -> Result<Self, Faults> {
        let path = path::solve_valid(drive)?;
        let order = path.contacts.iter().map(|c| c.pulley).collect();
        Ok(Self::from_circles(
            drive,
            manual,
            order,
            path::circles(drive),
        )?)
    }

    fn from_circles(
        drive: &'a Drive,
        manual: &'a ManualTakeUp,
        order: Vec<usize>,
        listed: Vec<Circle>,
    ) -> Result<Self, Fault> {
        let circles: Vec<Circle> = order.iter().map(|&i| listed[i]).collect();
        let k = order
            .iter()
            .position(|&i| i == manual.pulley)
            .unwrap_or_default();
        let name = |i: usize| drive.pulleys[order[i]].id.clone();
        let overlap = |(a, b): (usize, usize)| Fault::Overlap {
            a: name(a),
            b: name(b),
            distance_mm: circles[a].centre.distance(circles[b].centre),
            least_mm: (circles[a].turn * circles[a].radius - circles[b].turn * circles[b].radius)
                .abs(),
        };
        let track = |sense: f64| track(manual, circles[k].centre, sense);
        let mut sense = 1.0;
        let mut travel = Travel::of(&circles, k, track(sense)).map_err(overlap)?;
        let rate = travel.at(0.0).map_or(f64::NAN, |at| at.rate);
        if rate < 0.0 {
            sense = -1.0;
            travel = Travel::of(&circles, k, track(sense)).map_err(overlap)?;
        }
        let (low, high) = reach(manual, sense);
        let zone = travel.zone(0.0, low, high).ok_or_else(|| Fault::NoTakeUp {
            pulley: name(k),
            rate_mm: rate,
            unit: match manual.motion {
                Motion::Swing { .. } => "rad",
                Motion::Slide { .. } => "mm",
            },
        })?;
        Ok(Self {
            drive,
            manual,
            order,
            listed,
            sense,
            travel,
            zone,
        })
    }

    fn find(&self, length_mm: f64) -> Result<At, Fault> {
        self.travel
            .find(&self.zone, length_mm)
            .map_err(|outside| match outside {
                Outside::Short => Fault::TooShort {
                    length_mm,
                    least_mm: self.zone.low.local.length,
                    at: self.end_words(&self.zone.low, self.zone.low_limit),
                },
                Outside::Long => Fault::TooLong {
                    length_mm,
                    greatest_mm: self.zone.high.local.length,
                    at: self.end_words(&self.zone.high, self.zone.high_limit),
                },
            })
    }

    fn end_words(&self, at: &At, limit: Limit) -> String {
        let (value, unit) = (self.travel_of(at.q), unit(self.manual));
        match limit {
            Limit::Stop => format!("at the end of the travel searched, {value:.3} {unit}"),
            Limit::DeadCentre => {
                format!("at {value:.3} {unit}, where moving on changes the length no more")
            }
            Limit::PathEnds => {
                format!("at {value:.3} {unit}, beyond which the belt loses a pulley")
            }
        }
    }

    /// Travel as the user counts it (deg counter-clockwise or mm along) from the solver's `q`.
    fn travel_of(&self, q: f64) -> f64 {
        match self.manual.motion {
            Motion::Swing { .. } => self.sense * q.to_degrees(),
            Motion::Slide { .. } => self.sense * q,
        }
    }

    fn position(&self, at: &At) -> Position {
        let travel = self.travel_of(at.q);
        let take_up_mm = match self.manual.motion {
            Motion::Swing { .. } => at.rate.to_radians(),
            Motion::Slide { .. } => at.rate,
        };
        Position {
            travel,
            centre_mm: self.travel.track.centre(at.q),
            bolt_mm: bolt_at(&self.manual.motion, travel),
            length_mm: at.local.length,
            take_up_mm,
        }
    }

    /// The position at `at`, with the whole belt path checked there.
    fn seated(&self, at: &At) -> Result<Position, Fault> {
        let position = self.position(at);
        let fault = path::solve_moved(self.drive, self.manual.pulley, position.centre_mm)
            .err()
            .and_then(Faults::first);
        fault.map_or(Ok(position), Err)
    }

    fn need(&self, what: &str, length_mm: f64) -> Need {
        let found = self.find(length_mm).and_then(|at| self.seated(&at));
        let (position, fault) = match found {
            Ok(position) => (Some(position), None),
            Err(fault) => (None, Some(fault)),
        };
        Need {
            what: what.to_owned(),
            length_mm,
            position,
            fault,
        }
    }

    /// The loose end: far enough in that the shortest belt goes over the rim with the allowance to spare.
    fn fitting(&self, shortest_mm: f64) -> Need {
        let wanted = shortest_mm - self.manual.fitting_mm;
        let Some(over) = self.drive.last_on else {
            return self.need("fitting", wanted);
        };
        let mut listed = self.listed.clone();
        listed[over].radius = self.drive.pulleys[over].rim_line_radius_mm(&self.drive.belt.section);
        let rim = Mover::from_circles(self.drive, self.manual, self.order.clone(), listed);
        // The position found over the rim is told with the belt seated in the groove.
        let found = rim
            .and_then(|rim| rim.find(wanted))
            .and_then(|at| self.seated(&self.travel.at(at.q).unwrap_or(at)));
        let (position, fault) = match found {
            Ok(position) => (Some(position), None),
            Err(fault) => (None, Some(fault)),
        };
        Need {
            what: "fitting".to_owned(),
            length_mm: wanted,
            position,
            fault,
        }
    }

    /// Room over the rim with the accessory at the loose end of an existing slot, or of the slot found.
    fn slip_on(&self, nominal_mm: f64, loose: f64) -> Option<SlipOn> {
        let over = self.drive.last_on?;
        let mut listed = self.listed.clone();
        listed[over].radius = self.drive.pulleys[over].rim_line_radius_mm(&self.drive.belt.section);
        let rim = Mover::from_circles(self.drive, self.manual, self.order.clone(), listed).ok()?;
        let q = match self.manual.motion {
            Motion::Swing { .. } => self.sense * loose.to_radians(),
            Motion::Slide { .. } => self.sense * loose,
        };
        let (needed, seated) = (rim.travel.at(q)?, self.travel.at(q)?);
        Some(tensioner::slip_on(
            self.drive,
            over,
            nominal_mm,
            needed.local.length,
            seated.local.length,
            None,
        ))
    }
}

fn track(manual: &ManualTakeUp, centre: Point, sense: f64) -> Track {
    match manual.motion {
        Motion::Swing { pivot, .. } => Track::Swing {
            pivot,
            radius: pivot.distance(centre),
            start: (centre - pivot).angle(),
            sense,
        },
        Motion::Slide { direction_deg, .. } => Track::Slide {
            origin: centre,
            direction: Vector::unit_at(direction_deg.to_radians()) * sense,
        },
    }
}

/// Range of the solver's q: the slot that exists, or the search's furthest.
fn reach(manual: &ManualTakeUp, sense: f64) -> (f64, f64) {
    let (scale, furthest) = match manual.motion {
        Motion::Swing { .. } => (1.0_f64.to_radians(), GREATEST_SWING_DEG),
        Motion::Slide { .. } => (1.0, GREATEST_SLIDE_MM),
    };
    let (from, to) = (-furthest * scale, furthest * scale);
    if sense > 0.0 {
        (from, to)
    } else {
        (-to, -from)
    }
}

const fn unit(manual: &ManualTakeUp) -> &'static str {
    match manual.motion {
        Motion::Swing { .. } => "deg",
        Motion::Slide { .. } => "mm",
    }
}

/// Clamp bolt after `travel` deg or mm.
fn bolt_at(motion: &Motion, travel: f64) -> Point {
    match *motion {
        Motion::Swing { pivot, bolt } => pivot + (bolt - pivot).turned(travel.to_radians()),
        Motion::Slide {
            bolt,
            direction_deg,
        } => bolt + Vector::unit_at(direction_deg.to_radians()) * travel,
    }
}

/// The slot for bolt travel `from..=to`, deg or mm from as drawn.
#[must_use]
pub fn slot(motion: &Motion, from: f64, to: f64) -> Slot {
    match *motion {
        Motion::Swing { pivot, bolt } => {
            let drawn_deg = (bolt - pivot).angle().to_degrees();
            Slot::Arc {
                pivot_mm: pivot,
                track_mm: pivot.distance(bolt),
                start_deg: drawn_deg + from,
                end_deg: drawn_deg + to,
            }
        }
        Motion::Slide { .. } => Slot::Straight {
            from_mm: bolt_at(motion, from),
            to_mm: bolt_at(motion, to),
        },
    }
}

/// Solves the range of a drive with a manual take-up for a belt of nominal length `nominal_mm`.
///
/// # Errors
/// No path as drawn, or an accessory whose movement changes no length.
pub(super) fn range_for(
    drive: &Drive,
    manual: &ManualTakeUp,
    nominal_mm: f64,
) -> Result<TakeUpRange, Faults> {
    let mover = Mover::of(drive, manual)?;
    let belt = &drive.belt;
    let length =
        |state: BeltState| state.length_mm(nominal_mm, belt.length_tolerance, belt.life_stretch);
    let mut needs = vec![mover.fitting(length(BeltState::Shortest))];
    needs.extend(
        BeltState::ALL
            .iter()
            .map(|&state| mover.need(state.words(), length(state))),
    );
    let travels: Option<Vec<f64>> = needs
        .iter()
        .map(|n| n.position.as_ref().map(|p| p.travel))
        .collect();
    let ends = travels.map(|t| {
        t.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |e, &v| {
            (e.0.min(v), e.1.max(v))
        })
    });
    let loose_end = |range: (f64, f64)| if mover.sense > 0.0 { range.0 } else { range.1 };
    let slip_on = manual
        .available
        .or(ends)
        .and_then(|range| mover.slip_on(nominal_mm, loose_end(range)));
    Ok(TakeUpRange {
        slot: ends.map(|(from, to)| slot(&manual.motion, from, to)),
        unit: unit(manual),
        from: ends.map(|e| e.0),
        to: ends.map(|e| e.1),
        available: manual.available,
        shortest_mm: mover.zone.low.local.length,
        longest_mm: mover.zone.high.local.length,
        slip_on,
        needs,
    })
}

/// Solves the range of a drive with a manual take-up; `None` for another take-up.
///
/// # Errors
/// Unusable input, no path as drawn, or an accessory whose movement changes no length.
pub fn range(drive: &Drive) -> Result<Option<TakeUpRange>, Faults> {
    super::validate::validate(drive)?;
    let TakeUp::Manual(manual) = &drive.take_up else {
        return Ok(None);
    };
    let nominal_mm = tensioner::nominal_length_mm(drive)?;
    range_for(drive, manual, nominal_mm).map(Some)
}

/// Centre of the adjusted pulley after `travel` deg counter-clockwise or mm along the slot.
pub(super) fn centre_at(drive: &Drive, manual: &ManualTakeUp, travel: f64) -> Point {
    let drawn = drive.pulleys[manual.pulley].centre;
    match manual.motion {
        Motion::Swing { pivot, .. } => pivot + (drawn - pivot).turned(travel.to_radians()),
        Motion::Slide { direction_deg, .. } => {
            drawn + Vector::unit_at(direction_deg.to_radians()) * travel
        }
    }
}
