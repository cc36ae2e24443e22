//! The spring tensioner: arm angle and tension for each belt state, travel used, and whether the belt can be slipped on.
//!
//! Equilibrium is found by virtual work: the spring's torque M turns the arm by
//! dθ and takes up dL of belt against the tension T, so T = M / |dL/dθ|
//! (static, idler without friction, belt that does not stretch).

use serde::Serialize;

use super::course::{self, Circle};
use super::fault::{Fault, Faults};
use super::input::{ArmTorque, Drive, TakeUp, Tensioner};
use super::path;
use super::travel::{At, Limit, Outside, Track, Travel, Zone};
use super::xy;
use crate::geom::{Point, Vector};

/// A state of the belt over its life.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum BeltState {
    /// New, at the lower limit of its length tolerance.
    Shortest,
    /// New, of nominal length.
    Nominal,
    /// New, at the upper limit.
    Longest,
    /// At the upper limit, stretched and worn.
    EndOfLife,
}

impl BeltState {
    /// All states, shortest belt first.
    pub const ALL: [Self; 4] = [
        Self::Shortest,
        Self::Nominal,
        Self::Longest,
        Self::EndOfLife,
    ];

    /// Effective length in this state of a belt of `nominal_mm`, mm.
    #[must_use]
    pub fn length_mm(self, nominal_mm: f64, tolerance: f64, stretch: f64) -> f64 {
        nominal_mm
            * match self {
                Self::Shortest => 1.0 - tolerance,
                Self::Nominal => 1.0,
                Self::Longest => 1.0 + tolerance,
                Self::EndOfLife => (1.0 + tolerance) * (1.0 + stretch),
            }
    }

    /// Words for reports.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Shortest => "shortest belt",
            Self::Nominal => "nominal belt",
            Self::Longest => "longest belt",
            Self::EndOfLife => "end of life",
        }
    }
}

/// The arm in equilibrium at one angle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ArmState {
    /// Arm angle from +x, deg.
    pub arm_deg: f64,
    /// Pulley centre, mm.
    #[serde(serialize_with = "xy::point")]
    pub centre_mm: Point,
    /// Effective length of belt at this angle, mm.
    pub length_mm: f64,
    /// Change of length with the arm angle (counter-clockwise), mm/rad.
    pub rate_mm_per_rad: f64,
    /// Belt taken up per degree of spring travel, mm/deg.
    pub take_up_mm_per_deg: f64,
    /// Wrap on the tensioner's pulley, deg.
    pub wrap_deg: f64,
    /// Spring torque, N·m.
    pub torque_nm: f64,
    /// Belt tension at rest, N.
    pub tension_n: f64,
    /// Lower edge of the tension while the damper lets the arm give way, N.
    pub tension_low_n: f64,
    /// Upper edge while the damper holds the arm back, N.
    pub tension_high_n: f64,
    /// Force of the belt on the tensioner's pulley, N.
    #[serde(serialize_with = "xy::vector")]
    pub hub_load_n: Vector,
    /// Angle between that force and the arm (pivot to pulley), deg.
    pub hub_to_arm_deg: f64,
    /// Travel from the wound stop over the whole travel between the stops, 0 to 1.
    pub travel: f64,
}

/// One belt state with the arm position it leads to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reach {
    /// Belt state.
    pub state: BeltState,
    /// Its effective length, mm.
    pub length_mm: f64,
    /// Where the arm stands, where it can.
    pub arm: Option<ArmState>,
    /// Why it cannot.
    pub fault: Option<Fault>,
}

/// Whether the belt goes on over the rim of the pulley fitted last.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SlipOn {
    /// Pulley the belt is slipped over last.
    pub over: String,
    /// Arm angle against which it is fitted, deg; none for a manual take-up.
    pub arm_deg: Option<f64>,
    /// Belt needed with that pulley's rim in place of its running face, mm.
    pub needed_mm: f64,
    /// Shortest belt the tolerance allows, mm.
    pub shortest_mm: f64,
    /// Belt left over, mm; negative by how much it fails.
    pub room_mm: f64,
    /// Nominal length less the least installation length of SAE J1596 (1.003 L1 + L2 + 0.77 in + 2π h), mm.
    pub sae_room_mm: f64,
}

/// The tensioner's whole window.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TensionerWindow {
    /// Belt states from shortest to end of life.
    pub reaches: Vec<Reach>,
    /// Arm angle of the shortest belt it can hold, deg.
    pub shortest_arm_deg: f64,
    /// That length, mm.
    pub shortest_mm: f64,
    /// Whether a dead centre, not the stop, ends the travel there.
    pub ends_at_dead_centre: bool,
    /// Arm angle of the longest belt it takes up, deg.
    pub longest_arm_deg: f64,
    /// That length, mm.
    pub longest_mm: f64,
    /// Travel between shortest belt and end of life over the travel between the stops, where both are reached.
    pub travel_used: Option<f64>,
    /// Whether the belt can be slipped on, where a pulley is named.
    pub slip_on: Option<SlipOn>,
    /// Why that cannot be told, where a pulley is named but no path over its rim exists.
    pub slip_on_fault: Option<Fault>,
}

impl TensionerWindow {
    /// The arm's position for a belt state.
    #[must_use]
    pub fn arm(&self, state: BeltState) -> Option<&ArmState> {
        self.reaches
            .iter()
            .find(|r| r.state == state)
            .and_then(|r| r.arm.as_ref())
    }
}

/// Spring torque at an arm angle, N·m.
#[must_use]
pub fn arm_torque_nm(tensioner: &Tensioner, arm_deg: f64) -> f64 {
    match &tensioner.torque {
        ArmTorque::Linear {
            torque_nm,
            at_deg,
            rate_nm_per_deg,
        } => {
            // Pushed against the spring is against its sign.
            torque_nm + rate_nm_per_deg * (at_deg - arm_deg) * tensioner.spring.sign()
        }
        ArmTorque::Table { points } => super::load::interpolate(points, arm_deg),
    }
}

/// The arm with its belt: positions counted in rad of spring travel from the wound stop.
#[derive(Debug, Clone)]
pub struct Arm<'a> {
    drive: &'a Drive,
    tensioner: &'a Tensioner,
    order: Vec<usize>,
    listed: Vec<Circle>,
    travel: Travel,
    zone: Zone,
}

impl<'a> Arm<'a> {
    /// The arm of a drive whose take-up is a spring tensioner.
    ///
    /// # Errors
    /// No path as drawn, or a spring that slackens the belt there.
    pub fn of(drive: &'a Drive, tensioner: &'a Tensioner) -> Result<Self, Faults> {
        // The path as drawn gives the faults in full, and the order to use.
        let path = path::solve_valid(drive)?;
        let order: Vec<usize> = path.contacts.iter().map(|c| c.pulley).collect();
        Ok(Self::from_circles(
            drive,
            tensioner,
            order,
            path::circles(drive),
        )?)
    }

    fn from_circles(
        drive: &'a Drive,
        tensioner: &'a Tensioner,
        order: Vec<usize>,
        listed: Vec<Circle>,
    ) -> Result<Self, Fault> {
        let circles: Vec<Circle> = order.iter().map(|&i| listed[i]).collect();
        let k = order
            .iter()
            .position(|&i| i == tensioner.pulley)
            .unwrap_or_default();
        let track = Track::Swing {
            pivot: tensioner.pivot,
            radius: tensioner.arm_mm,
            start: tensioner.wound_stop_deg.to_radians(),
            sense: tensioner.spring.sign(),
        };
        let name = |i: usize| drive.pulleys[order[i]].id.clone();
        let travel = Travel::of(&circles, k, track).map_err(|(a, b)| Fault::Overlap {
            a: name(a),
            b: name(b),
            distance_mm: circles[a].centre.distance(circles[b].centre),
            least_mm: (circles[a].turn * circles[a].radius - circles[b].turn * circles[b].radius)
                .abs(),
        })?;
        let home = from_wound_rad(tensioner, tensioner.drawn_deg);
        let whole = from_wound_rad(tensioner, tensioner.slack_stop_deg);
        let zone = travel
            .zone(home, 0.0, whole)
            .ok_or_else(|| Fault::SpringSlackens {
                arm_deg: tensioner.drawn_deg,
                rate_mm_per_deg: travel.at(home).map_or(f64::NAN, |at| at.rate.to_radians()),
            })?;
        Ok(Self {
            drive,
            tensioner,
            order,
            listed,
            travel,
            zone,
        })
    }

    /// The arm where a belt of `length_mm` puts it.
    ///
    /// # Errors
    /// The belt is too short for the wound stop or the dead centre, or too long for the slack stop.
    pub fn at_length(&self, length_mm: f64) -> Result<ArmState, Fault> {
        match self.travel.find(&self.zone, length_mm) {
            Ok(at) => Ok(self.state(&at)),
            Err(Outside::Short) => Err(Fault::TooShort {
                length_mm,
                least_mm: self.zone.low.local.length,
                at: self.end_words(&self.zone.low, self.zone.low_limit, "wound"),
            }),
            Err(Outside::Long) => Err(Fault::TooLong {
                length_mm,
                greatest_mm: self.zone.high.local.length,
                at: self.end_words(&self.zone.high, self.zone.high_limit, "slack"),
            }),
        }
    }

    /// The arm at a given angle, deg from +x, or `None` where no path exists there.
    #[must_use]
    pub fn at_angle(&self, arm_deg: f64) -> Option<ArmState> {
        self.travel
            .at(from_wound_rad(self.tensioner, arm_deg))
            .map(|at| self.state(&at))
    }

    fn end_words(&self, at: &At, limit: Limit, stop: &str) -> String {
        let deg = self.arm_deg(at.q);
        match limit {
            Limit::Stop => format!("with the arm at its {stop} stop, {deg:.3} deg"),
            Limit::DeadCentre => format!(
                "with the arm at its dead centre, {deg:.3} deg, where swinging on takes up no more belt"
            ),
            Limit::PathEnds => {
                format!("with the arm at {deg:.3} deg, beyond which the belt loses a pulley")
            }
        }
    }

    fn arm_deg(&self, q: f64) -> f64 {
        self.tensioner.wound_stop_deg + self.tensioner.spring.sign() * q.to_degrees()
    }

    fn state(&self, at: &At) -> ArmState {
        let t = self.tensioner;
        let arm_deg = self.arm_deg(at.q);
        let centre_mm = self.travel.track.centre(at.q);
        let torque_nm = arm_torque_nm(t, arm_deg);
        let tension_n = 1000.0 * torque_nm / at.rate.abs();
        let hub_load_n = -at.local.gradient * tension_n;
        let arm = centre_mm - t.pivot;
        let whole = from_wound_rad(t, t.slack_stop_deg);
        ArmState {
            arm_deg,
            centre_mm,
            length_mm: at.local.length,
            rate_mm_per_rad: at.rate * t.spring.sign(),
            take_up_mm_per_deg: at.rate.to_radians(),
            wrap_deg: at.local.wrap.to_degrees(),
            torque_nm,
            tension_n,
            tension_low_n: tension_n * (1.0 - t.damping),
            tension_high_n: tension_n * (1.0 + t.damping),
            hub_load_n,
            hub_to_arm_deg: arm
                .cross(hub_load_n)
                .abs()
                .atan2(arm.dot(hub_load_n))
                .to_degrees(),
            travel: at.q / whole,
        }
    }

    /// [`Self::at_length`], with the whole belt path checked there.
    fn seated_at(&self, length_mm: f64) -> Result<ArmState, Fault> {
        let arm = self.at_length(length_mm)?;
        let fault = path::solve_moved(self.drive, self.tensioner.pulley, arm.centre_mm)
            .err()
            .and_then(Faults::first);
        fault.map_or(Ok(arm), Err)
    }

    /// The window for a belt of nominal length `nominal_mm`.
    #[must_use]
    pub fn window(&self, nominal_mm: f64) -> TensionerWindow {
        let belt = &self.drive.belt;
        let reaches: Vec<Reach> = BeltState::ALL
            .iter()
            .map(|&state| {
                let length_mm =
                    state.length_mm(nominal_mm, belt.length_tolerance, belt.life_stretch);
                let (arm, fault) = match self.seated_at(length_mm) {
                    Ok(arm) => (Some(arm), None),
                    Err(fault) => (None, Some(fault)),
                };
                Reach {
                    state,
                    length_mm,
                    arm,
                    fault,
                }
            })
            .collect();
        let travel_used = match (&reaches[0].arm, &reaches[3].arm) {
            (Some(first), Some(last)) => Some(last.travel - first.travel),
            _ => None,
        };
        let (slip_on, slip_on_fault) = match self.slip_on(nominal_mm) {
            None => (None, None),
            Some(Ok(slip_on)) => (Some(slip_on), None),
            Some(Err(fault)) => (None, Some(fault)),
        };
        TensionerWindow {
            travel_used,
            shortest_arm_deg: self.arm_deg(self.zone.low.q),
            shortest_mm: self.zone.low.local.length,
            ends_at_dead_centre: self.zone.low_limit == Limit::DeadCentre,
            longest_arm_deg: self.arm_deg(self.zone.high.q),
            longest_mm: self.zone.high.local.length,
            slip_on,
            slip_on_fault,
            reaches,
        }
    }

    /// The belt with the arm held at its wound end and lying on the rim of the pulley fitted last.
    fn slip_on(&self, nominal_mm: f64) -> Option<Result<SlipOn, Fault>> {
        let over = self.drive.last_on?;
        let mut listed = self.listed.clone();
        listed[over].radius = self.drive.pulleys[over].rim_line_radius_mm(&self.drive.belt.section);
        let rim = Self::from_circles(self.drive, self.tensioner, self.order.clone(), listed);
        Some(rim.map(|rim| {
            slip_on(
                self.drive,
                over,
                nominal_mm,
                rim.zone.low.local.length,
                self.zone.low.local.length,
                Some(rim.arm_deg(rim.zone.low.q)),
            )
        }))
    }
}

/// Weighs the belt on hand against what the rim needs.
pub(super) fn slip_on(
    drive: &Drive,
    over: usize,
    nominal_mm: f64,
    needed_mm: f64,
    seated_mm: f64,
    arm_deg: Option<f64>,
) -> SlipOn {
    let belt = &drive.belt;
    let pulley = &drive.pulleys[over];
    let shortest_mm =
        BeltState::Shortest.length_mm(nominal_mm, belt.length_tolerance, belt.life_stretch);
    let flange_mm = 0.5 * (pulley.rim_diameter_mm - pulley.face_diameter_mm());
    // SAE J1596 (cancelled 2019), inside pulleys: 1.003·L1 + L2 + 0.77 in + 6.28·h.
    let sae_least_mm = 1.003 * seated_mm
        + 2.0 * belt.length_tolerance * nominal_mm
        + 0.77 * 25.4
        + 2.0 * std::f64::consts::PI * flange_mm;
    SlipOn {
        over: pulley.id.clone(),
        arm_deg,
        needed_mm,
        shortest_mm,
        room_mm: shortest_mm - needed_mm,
        sae_room_mm: nominal_mm - sae_least_mm,
    }
}

/// The belt over the rim with fixed centres, where a pulley is named and nothing gives way.
pub(super) fn slip_on_fixed(drive: &Drive, nominal_mm: f64) -> Option<SlipOn> {
    let (TakeUp::Fixed { .. }, Some(over)) = (&drive.take_up, drive.last_on) else {
        return None;
    };
    let order: Vec<usize> = path::solve_valid(drive)
        .ok()?
        .contacts
        .iter()
        .map(|c| c.pulley)
        .collect();
    let mut listed = path::circles(drive);
    let length = |listed: &[Circle]| {
        let circles: Vec<Circle> = order.iter().map(|&i| listed[i]).collect();
        course::lay(&circles).map_or(f64::INFINITY, |laid| laid.length)
    };
    let seated = length(&listed);
    listed[over].radius = drive.pulleys[over].rim_line_radius_mm(&drive.belt.section);
    let needed = length(&listed);
    needed
        .is_finite()
        .then(|| slip_on(drive, over, nominal_mm, needed, seated, None))
}

fn from_wound_rad(t: &Tensioner, arm_deg: f64) -> f64 {
    ((arm_deg - t.wound_stop_deg) * t.spring.sign()).to_radians()
}

/// Nominal belt length of a drive: the belt's, or the drive's as drawn.
///
/// # Errors
/// No path as drawn.
pub(super) fn nominal_length_mm(drive: &Drive) -> Result<f64, Faults> {
    match drive.belt.length_mm {
        Some(length) => Ok(length),
        None => Ok(path::solve_valid(drive)?.effective_length_mm),
    }
}

/// Solves the window of a drive with a spring tensioner; `None` for another take-up.
///
/// # Errors
/// Unusable input, no path as drawn, or a spring that slackens the belt.
pub fn window(drive: &Drive) -> Result<Option<TensionerWindow>, Faults> {
    super::validate::validate(drive)?;
    let TakeUp::Spring(tensioner) = &drive.take_up else {
        return Ok(None);
    };
    let arm = Arm::of(drive, tensioner)?;
    Ok(Some(arm.window(nominal_length_mm(drive)?)))
}
