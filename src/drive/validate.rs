//! The door of the drive module: every number is checked once, so that the solvers see only finite, sensible values.

use super::fault::{Fault, Faults};
use super::input::{ArmTorque, Drive, Face, Load, ManualTakeUp, Motion, Side, TakeUp, Tensioner};
use crate::geom::Point;

/// Largest coordinate or length accepted, mm.
///
/// An engine is metres, not kilometres; beyond this a length is a slip of the
/// unit, and rounding would eat the 1e-6 mm that outputs promise.
pub const GREATEST_LENGTH_MM: f64 = 1e5;

struct Door {
    faults: Vec<Fault>,
}

impl Door {
    fn refuse(&mut self, what: String, value: impl std::fmt::Display, want: &str) {
        self.faults.push(Fault::Value {
            what,
            value: value.to_string(),
            want: want.to_owned(),
        });
    }

    fn length(&mut self, what: impl FnOnce() -> String, mm: f64) {
        if !(mm.is_finite() && mm > 0.0 && mm <= GREATEST_LENGTH_MM) {
            self.refuse(
                what(),
                mm,
                "a length above 0 and at most 100000 mm is needed",
            );
        }
    }

    fn coordinate(&mut self, what: impl FnOnce() -> String, mm: f64) {
        if !(mm.is_finite() && mm.abs() <= GREATEST_LENGTH_MM) {
            self.refuse(
                what(),
                mm,
                "a coordinate within 100000 mm of the origin is needed",
            );
        }
    }

    fn point(&mut self, what: impl Fn() -> String, p: Point) {
        self.coordinate(|| format!("x of {}", what()), p.x);
        self.coordinate(|| format!("y of {}", what()), p.y);
    }

    fn angle(&mut self, what: impl FnOnce() -> String, deg: f64) {
        if !(deg.is_finite() && deg.abs() <= 720.0) {
            self.refuse(what(), deg, "an angle within 720 deg of 0 is needed");
        }
    }

    fn at_least_zero(&mut self, what: impl FnOnce() -> String, value: f64) {
        if !(value.is_finite() && value >= 0.0) {
            self.refuse(what(), value, "0 or more is needed");
        }
    }

    fn positive(&mut self, what: impl FnOnce() -> String, value: f64) {
        if !(value.is_finite() && value > 0.0) {
            self.refuse(what(), value, "more than 0 is needed");
        }
    }

    fn share(&mut self, what: impl FnOnce() -> String, value: f64) {
        if !(value.is_finite() && value > 0.0 && value <= 1.0) {
            self.refuse(what(), value, "a share above 0 and at most 1 is needed");
        }
    }

    fn curve(&mut self, what: impl Fn() -> String, points: &[(f64, f64)]) {
        if points.is_empty() {
            self.refuse(what(), "empty", "at least one point is needed");
        }
        if points.iter().any(|(x, y)| !x.is_finite() || !y.is_finite()) {
            self.refuse(what(), "not finite", "finite points are needed");
        } else if points.windows(2).any(|w| w[0].0 >= w[1].0) {
            self.refuse(what(), "out of order", "points must ascend");
        }
    }

    fn index(&mut self, what: &str, index: usize, count: usize) {
        if index >= count {
            self.refuse(
                what.to_owned(),
                index,
                "it must be one of the drive's pulleys",
            );
        }
    }
}

/// Checks every number of a drive at the door, so that the solvers see only finite, sensible values.
///
/// # Errors
/// All unusable values at once.
pub fn validate(drive: &Drive) -> Result<(), Faults> {
    let mut door = Door { faults: Vec::new() };
    if drive.pulleys.len() < 2 {
        door.refuse(
            "the number of pulleys".to_owned(),
            drive.pulleys.len(),
            "at least 2 are needed",
        );
    }
    door.index("the driver", drive.driver, drive.pulleys.len());
    if let Some(last) = drive.last_on {
        door.index("the pulley fitted last", last, drive.pulleys.len());
    }
    belt(&mut door, drive);
    engine(&mut door, drive);
    for pulley in 0..drive.pulleys.len() {
        pulley_values(&mut door, drive, pulley);
    }
    take_up(&mut door, drive);
    for o in &drive.obstacles {
        let inside = o.z_from_mm.is_finite() && o.z_to_mm.is_finite() && o.z_from_mm < o.z_to_mm;
        if !inside || o.outline.segments.is_empty() {
            door.refuse(
                format!("obstacle `{}`", o.id),
                format!("z {} to {}", o.z_from_mm, o.z_to_mm),
                "an outline and a z range that rises are needed",
            );
        }
    }
    if door.faults.is_empty() {
        Ok(())
    } else {
        Err(Faults {
            faults: door.faults,
        })
    }
}

fn belt(door: &mut Door, drive: &Drive) {
    let belt = &drive.belt;
    if belt.ribs == 0 || belt.ribs > 100 {
        door.refuse(
            "the belt's number of ribs".to_owned(),
            belt.ribs,
            "1 to 100 are needed",
        );
    }
    if let Some(length) = belt.length_mm {
        door.length(|| "the belt's length".to_owned(), length);
    }
    for (what, value) in [
        ("the belt's length tolerance", belt.length_tolerance),
        ("the belt's life stretch", belt.life_stretch),
    ] {
        if !(value.is_finite() && (0.0..0.2).contains(&value)) {
            door.refuse(
                what.to_owned(),
                value,
                "a fraction from 0 to below 0.2 is needed",
            );
        }
    }
    let s = &belt.section;
    door.length(|| "the section's rib pitch".to_owned(), s.rib_pitch_mm);
    door.length(|| "the section's height".to_owned(), s.height_mm);
    door.positive(|| "the section's mass".to_owned(), s.mass_per_rib_kg_m);
    if !(s.back_offset_mm > 0.0 && s.back_offset_mm <= s.height_mm) {
        door.refuse(
            "the section's back offset".to_owned(),
            s.back_offset_mm,
            "it must lie within the belt's height",
        );
    }
    door.at_least_zero(
        || "the section's effective line differential".to_owned(),
        s.effective_line_differential_mm,
    );
    door.share(
        || "friction on the ribs, over 10".to_owned(),
        drive.friction.rib / 10.0,
    );
    door.share(
        || "friction on the back, over 10".to_owned(),
        drive.friction.back / 10.0,
    );
}

fn engine(door: &mut Door, drive: &Drive) {
    let e = &drive.engine;
    if e.cylinders == 0 || (e.strokes != 2 && e.strokes != 4) {
        door.refuse(
            "the engine's cylinders and strokes".to_owned(),
            format!("{} and {}", e.cylinders, e.strokes),
            "at least 1 cylinder and 2 or 4 strokes are needed",
        );
    }
    door.positive(|| "idle speed".to_owned(), e.idle_rpm);
    if !(e.top_rpm.is_finite() && e.top_rpm > e.idle_rpm) {
        door.refuse("top speed".to_owned(), e.top_rpm, "it must be above idle");
    }
    for &rpm in &e.more_rpm {
        door.positive(|| "a further speed".to_owned(), rpm);
    }
}

fn pulley_values(door: &mut Door, drive: &Drive, index: usize) {
    let p = &drive.pulleys[index];
    let of = |what: &str| format!("{what} of pulley `{}`", p.id);
    if drive.pulleys[..index].iter().any(|q| q.id == p.id) {
        door.refuse(of("the name"), &p.id, "every pulley needs its own name");
    }
    door.point(|| of("the centre"), p.centre);
    door.coordinate(|| of("the rib plane"), p.rib_plane_z_mm);
    door.length(|| of("the diameter"), p.face_diameter_mm());
    door.length(|| of("the width"), p.width_mm);
    if !(p.rim_diameter_mm.is_finite() && p.rim_diameter_mm >= p.face_diameter_mm()) {
        door.refuse(
            of("the rim diameter"),
            p.rim_diameter_mm,
            "it must be at least the running face's",
        );
    }
    match p.face {
        Face::Ribbed { grooves, .. } => {
            if grooves == 0 {
                door.refuse(of("the number of grooves"), grooves, "at least 1 is needed");
            }
            if p.contact == Side::Back {
                door.refuse(
                    of("the contact side"),
                    "back",
                    "the belt's back needs a flat face, and this pulley is grooved",
                );
            }
        }
        Face::Flat { width_mm, .. } => door.length(|| of("the face width"), width_mm),
    }
    door.angle(|| of("the tilt"), p.tilt_deg.0);
    door.angle(|| of("the tilt"), p.tilt_deg.1);
    door.at_least_zero(|| of("the play"), p.play.shift_mm);
    door.at_least_zero(|| of("the play"), p.play.tilt_deg);
    for c in &p.contributors {
        door.coordinate(|| of(&format!("tolerance `{}`", c.id)), c.shift_mm);
        door.angle(|| of(&format!("tolerance `{}`", c.id)), c.tilt_deg);
    }
    for limit in [p.greatest_rpm, p.full_output_rpm].into_iter().flatten() {
        door.positive(|| of("a speed limit"), limit);
    }
    if let Some(least) = p.least_wrap_deg {
        door.at_least_zero(|| of("the least wrap"), least);
    }
    match &p.load {
        Load::None => {}
        Load::Torque { points } | Load::Power { points } => {
            door.curve(|| of("the load"), points);
        }
        Load::Electrical {
            volts,
            amps,
            efficiency,
        } => {
            door.positive(|| of("the voltage"), *volts);
            door.curve(|| of("the current"), amps);
            door.share(|| of("the efficiency"), *efficiency);
        }
    }
}

fn take_up(door: &mut Door, drive: &Drive) {
    match &drive.take_up {
        TakeUp::Fixed { set_tension_n } => {
            door.positive(|| "the set tension".to_owned(), *set_tension_n);
        }
        TakeUp::Spring(tensioner) => spring(door, drive, tensioner),
        TakeUp::Manual(manual) => by_hand(door, drive, manual),
    }
}

fn spring(door: &mut Door, drive: &Drive, t: &Tensioner) {
    door.index("the tensioner's pulley", t.pulley, drive.pulleys.len());
    if t.pulley == drive.driver {
        door.refuse(
            "the tensioner's pulley".to_owned(),
            t.pulley,
            "it cannot be the driver",
        );
    }
    door.point(|| "the arm's pivot".to_owned(), t.pivot);
    door.length(|| "the arm's length".to_owned(), t.arm_mm);
    for (what, deg) in [
        ("the arm as drawn", t.drawn_deg),
        ("the arm's slack stop", t.slack_stop_deg),
        ("the arm's wound stop", t.wound_stop_deg),
    ] {
        door.angle(|| what.to_owned(), deg);
    }
    // The wound stop lies against the spring from the slack stop.
    let travel = (t.slack_stop_deg - t.wound_stop_deg) * t.spring.sign();
    if !(travel > 0.0 && travel < 180.0) {
        door.refuse(
            "the arm's travel from wound to slack stop in the spring's direction".to_owned(),
            travel,
            "more than 0 and less than 180 deg is needed",
        );
    }
    let from_wound = (t.drawn_deg - t.wound_stop_deg) * t.spring.sign();
    if !(0.0..=travel.max(0.0)).contains(&from_wound) {
        door.refuse(
            "the arm as drawn".to_owned(),
            t.drawn_deg,
            "it must lie between the stops",
        );
    }
    if !(t.damping.is_finite() && (0.0..1.0).contains(&t.damping)) {
        door.refuse(
            "the damping".to_owned(),
            t.damping,
            "0 to below 1 is needed",
        );
    }
    match &t.torque {
        ArmTorque::Linear {
            torque_nm,
            at_deg,
            rate_nm_per_deg,
        } => {
            door.positive(|| "the arm's torque".to_owned(), *torque_nm);
            door.angle(|| "the arm's torque angle".to_owned(), *at_deg);
            door.at_least_zero(|| "the arm's torque rate".to_owned(), *rate_nm_per_deg);
        }
        ArmTorque::Table { points } => {
            door.curve(|| "the arm's torque".to_owned(), points);
        }
    }
}

fn by_hand(door: &mut Door, drive: &Drive, m: &ManualTakeUp) {
    door.index("the adjusted pulley", m.pulley, drive.pulleys.len());
    if m.pulley == drive.driver {
        door.refuse(
            "the adjusted pulley".to_owned(),
            m.pulley,
            "it cannot be the driver",
        );
    }
    door.positive(|| "the set tension".to_owned(), m.set_tension_n);
    door.share(|| "the tension kept after running in".to_owned(), m.kept);
    door.at_least_zero(|| "the fitting allowance".to_owned(), m.fitting_mm);
    if let Some((from, to)) = m.available
        && !(from.is_finite() && to.is_finite() && from < to)
    {
        door.refuse(
            "the slot's travel".to_owned(),
            format!("{from} to {to}"),
            "it must rise",
        );
    }
    match m.motion {
        Motion::Swing { pivot, bolt } => {
            door.point(|| "the swing's pivot".to_owned(), pivot);
            door.point(|| "the swing's bolt".to_owned(), bolt);
            door.length(
                || "the swing's bolt radius".to_owned(),
                pivot.distance(bolt),
            );
            let arm = drive
                .pulleys
                .get(m.pulley)
                .map_or(1.0, |p| p.centre.distance(pivot));
            door.length(|| "the swing's shaft radius".to_owned(), arm);
        }
        Motion::Slide {
            bolt,
            direction_deg,
        } => {
            door.point(|| "the slot's bolt".to_owned(), bolt);
            door.angle(|| "the slot's direction".to_owned(), direction_deg);
        }
    }
}
