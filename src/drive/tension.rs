//! Span tensions, slip, hub loads and power at one speed.
//!
//! Effective tension is what pulls: total tension less the centrifugal m′v²,
//! which presses on no pulley. A driven pulley's leaving span is the tighter
//! one, by torque over pitch radius; the driver closes the loop.

use serde::Serialize;

use super::input::{Drive, Side, Tensioner};
use super::load::{rad_per_s, tension_difference_n};
use super::path::BeltPath;
use super::xy;
use crate::geom::Vector;

/// A tension difference below this carries no torque worth a slip check, N.
///
/// A thousandth of a newton at any radius is less than the drag of a bearing seal.
pub const NO_DIFFERENCE_N: f64 = 1e-3;

/// What sets the level of the tensions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pretension<'a> {
    /// A spring arm in equilibrium.
    Arm {
        /// The tensioner.
        tensioner: &'a Tensioner,
        /// Its spring torque at the arm angle of the path, N·m.
        torque_nm: f64,
    },
    /// A static tension set on fixed centres, N: the belt's mean tension, centrifugal part included, stays at it.
    Static {
        /// The tension, N.
        tension_n: f64,
    },
}

/// One pulley at one speed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PulleyForces {
    /// Index of the pulley in the drive's list.
    pub pulley: usize,
    /// Its name.
    pub id: String,
    /// Shaft speed, rpm.
    pub rpm: f64,
    /// Torque taken from the belt, N·m; negative at the driver.
    pub torque_nm: f64,
    /// Power taken from the belt, kW; negative at the driver.
    pub power_kw: f64,
    /// Total tension of the arriving span, N.
    pub tension_in_n: f64,
    /// Total tension of the leaving span, N.
    pub tension_out_n: f64,
    /// Effective tight over slack tension; none where the slack side pulls no more.
    pub tension_ratio: Option<f64>,
    /// The ratio at which it slips: e^(µθ).
    pub ratio_limit: f64,
    /// Difference the contact can carry over the difference it carries; none where it carries nothing.
    pub slip_margin: Option<f64>,
    /// Greater total tension per rib, N.
    pub tension_per_rib_n: f64,
    /// Force of the belt on the pulley, N.
    #[serde(serialize_with = "xy::vector")]
    pub hub_load_n: Vector,
    /// Its size, N.
    pub hub_load_size_n: f64,
    /// Its direction, deg from +x.
    pub hub_load_deg: f64,
}

/// The drive at one speed and one belt state.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct OperatingPoint {
    /// Belt state or setting.
    pub state: String,
    /// Driver speed, rpm.
    pub crank_rpm: f64,
    /// Belt speed at the pitch line, m/s.
    pub belt_speed_m_s: f64,
    /// Centrifugal part of every tension, N.
    pub centrifugal_n: f64,
    /// Total tension of each span in path order, N.
    pub spans_n: Vec<f64>,
    /// One per contact in path order.
    pub pulleys: Vec<PulleyForces>,
    /// Sum of torque × speed over the sum of its sizes: 0 but for rounding.
    pub energy_residual: f64,
}

/// Centrifugal tension of a belt, N: m′v².
#[must_use]
pub fn centrifugal_n(mass_kg_m: f64, speed_m_s: f64) -> f64 {
    mass_kg_m * speed_m_s * speed_m_s
}

/// Euler–Eytelwein limit of the tension ratio: e^(µθ).
#[must_use]
pub fn ratio_limit(friction: f64, wrap_deg: f64) -> f64 {
    (friction * wrap_deg.to_radians()).exp()
}

/// Effective friction of a groove of included angle `groove_deg`: µ / sin(α/2).
///
/// An upper bound: the ribs' own softness takes some of it away.
#[must_use]
pub fn wedge_friction(friction: f64, groove_deg: f64) -> f64 {
    friction / (0.5 * groove_deg).to_radians().sin()
}

/// Least total slack tension that carries `difference_n` at a ratio of effective tensions, N.
#[must_use]
pub fn slack_needed_n(difference_n: f64, ratio: f64, centrifugal_n: f64) -> f64 {
    centrifugal_n + difference_n / (ratio - 1.0)
}

/// Belt speed at the pitch line, m/s.
#[must_use]
pub fn belt_speed_m_s(path: &BeltPath, crank_rpm: f64) -> f64 {
    path.contacts
        .first()
        .map_or(0.0, |c| rad_per_s(crank_rpm) * c.pitch_radius_mm / 1000.0)
}

/// Effective span tensions in path order, N, without the centrifugal part.
///
/// `path` starts at the driver; with a spring arm it must be the path at the arm's angle.
#[must_use]
pub fn effective_tensions_n(
    drive: &Drive,
    path: &BeltPath,
    pretension: Pretension<'_>,
    crank_rpm: f64,
) -> Vec<f64> {
    // Rise over the span after the driver.
    let mut rise = 0.0;
    let mut rises: Vec<f64> = Vec::with_capacity(path.spans.len());
    for (k, contact) in path.contacts.iter().enumerate() {
        if k > 0 {
            let load = &drive.pulleys[contact.pulley].load;
            let torque = load.torque_nm(crank_rpm * contact.ratio);
            rise += tension_difference_n(torque, contact.pitch_radius_mm);
        }
        rises.push(rise);
    }
    let base = match pretension {
        Pretension::Arm {
            tensioner,
            torque_nm,
        } => base_from_arm(path, &rises, tensioner, torque_nm),
        Pretension::Static { tension_n } => {
            let speed = belt_speed_m_s(path, crank_rpm);
            let effective = tension_n - centrifugal_n(drive.belt.mass_kg_m(), speed);
            effective - mean_rise(path, &rises)
        }
    };
    rises.iter().map(|r| base + r).collect()
}

/// Tension after the driver that holds the arm: the belt's moment about the pivot balances the spring's.
fn base_from_arm(path: &BeltPath, rises: &[f64], tensioner: &Tensioner, torque_nm: f64) -> f64 {
    let Some(k) = path
        .contacts
        .iter()
        .position(|c| c.pulley == tensioner.pulley)
    else {
        return f64::NAN;
    };
    let before = path.span_before(k);
    let after = &path.spans[k];
    let arm = path.contacts[k].centre_mm - tensioner.pivot;
    let (into, out) = (arm.cross(before.direction), arm.cross(after.direction));
    let from_rises = rises[after.number - 1] * out - rises[before.number - 1] * into;
    (-tensioner.spring.sign() * 1000.0 * torque_nm - from_rises) / (out - into)
}

/// Mean of the rises over the belt's length; along a wrap the tension runs from one span's to the other's.
fn mean_rise(path: &BeltPath, rises: &[f64]) -> f64 {
    let n = rises.len();
    let sum: f64 = path
        .contacts
        .iter()
        .zip(&path.spans)
        .enumerate()
        .map(|(k, (contact, span))| {
            let before = rises[(k + n - 1) % n];
            span.length_mm * rises[k] + contact.arc_mm * 0.5 * (before + rises[k])
        })
        .sum();
    sum / path.effective_length_mm
}

/// Solves tensions, slip, hub loads and power at one driver speed (above 0).
#[must_use]
pub fn at_speed(
    drive: &Drive,
    path: &BeltPath,
    pretension: Pretension<'_>,
    crank_rpm: f64,
    state: &str,
) -> OperatingPoint {
    let n = path.contacts.len();
    let effective = effective_tensions_n(drive, path, pretension, crank_rpm);
    let belt_speed = belt_speed_m_s(path, crank_rpm);
    let centrifugal = centrifugal_n(drive.belt.mass_kg_m(), belt_speed);
    let mut pulleys = Vec::with_capacity(n);
    let (mut power, mut power_size) = (0.0, 0.0);
    for (k, contact) in path.contacts.iter().enumerate() {
        let (t_in, t_out) = (effective[(k + n - 1) % n], effective[k]);
        let rpm = crank_rpm * contact.ratio;
        let torque_nm = (t_out - t_in) * contact.pitch_radius_mm / 1000.0;
        let power_kw = torque_nm * rad_per_s(rpm) / 1000.0;
        power += power_kw;
        power_size += power_kw.abs();
        let (tight, slack) = (t_in.max(t_out), t_in.min(t_out));
        let friction = match contact.side {
            Side::Rib => drive.friction.rib,
            Side::Back => drive.friction.back,
        };
        let limit = ratio_limit(friction, contact.wrap_deg);
        let difference = tight - slack;
        let hub_load_n = path.spans[k].direction * t_out - path.span_before(k).direction * t_in;
        pulleys.push(PulleyForces {
            pulley: contact.pulley,
            id: contact.id.clone(),
            rpm,
            torque_nm,
            power_kw,
            tension_in_n: t_in + centrifugal,
            tension_out_n: t_out + centrifugal,
            tension_ratio: (slack > 0.0).then(|| tight / slack),
            ratio_limit: limit,
            slip_margin: (difference > NO_DIFFERENCE_N)
                .then(|| slack.max(0.0) * (limit - 1.0) / difference),
            tension_per_rib_n: (tight + centrifugal) / f64::from(drive.belt.ribs),
            hub_load_n,
            hub_load_size_n: hub_load_n.length(),
            hub_load_deg: hub_load_n.angle().to_degrees(),
        });
    }
    OperatingPoint {
        state: state.to_owned(),
        crank_rpm,
        belt_speed_m_s: belt_speed,
        centrifugal_n: centrifugal,
        spans_n: effective.iter().map(|t| t + centrifugal).collect(),
        pulleys,
        energy_residual: if power_size > 0.0 {
            power / power_size
        } else {
            0.0
        },
    }
}
