//! What a drive is made of: pulleys in order along the belt, the belt, the engine and what keeps the belt tight.
//!
//! These are the module's own plain types in the engine frame (seen from in
//! front of the pulleys: +x right, +y up, +z towards the viewer), so that any
//! layout can fill them.

use serde::Serialize;

use crate::geom::{Path, Point};
use crate::tables::belt::BeltSection;

/// Direction of turning, seen from in front of the pulleys.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Rotation {
    /// With the hands of a clock.
    Clockwise,
    /// Against the hands of a clock.
    CounterClockwise,
}

impl Rotation {
    /// +1 counter-clockwise, −1 clockwise.
    #[must_use]
    pub const fn sign(self) -> f64 {
        match self {
            Self::Clockwise => -1.0,
            Self::CounterClockwise => 1.0,
        }
    }

    /// The other direction.
    #[must_use]
    pub const fn reversed(self) -> Self {
        match self {
            Self::Clockwise => Self::CounterClockwise,
            Self::CounterClockwise => Self::Clockwise,
        }
    }
}

/// Which side of the belt lies on a pulley.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Side {
    /// The ribbed side.
    Rib,
    /// The flat back.
    Back,
}

/// The running face of a pulley.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum Face {
    /// Grooved.
    Ribbed {
        /// Effective diameter, mm; greater than 0 (diameter over balls less the section's difference).
        effective_diameter_mm: f64,
        /// Number of grooves; at least 1.
        grooves: u32,
    },
    /// Flat.
    Flat {
        /// Diameter of the running face, mm; greater than 0.
        diameter_mm: f64,
        /// Width of the running face, mm; greater than 0.
        width_mm: f64,
    },
}

/// What a pulley drives, which decides the wrap it needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Duty {
    /// The driver.
    Crank,
    /// A charging alternator.
    Alternator,
    /// A refrigerant compressor.
    Compressor,
    /// A hydraulic pump.
    HydraulicPump,
    /// The coolant pump.
    CoolantPump,
    /// An idler.
    Idler,
    /// The tensioner's pulley.
    Tensioner,
    /// Anything else that takes torque.
    Other,
}

/// Torque an accessory takes at its load point.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum Load {
    /// Turns freely.
    None,
    /// Torque over the accessory's own speed.
    Torque {
        /// (shaft speed rpm, torque N·m), speeds ascending; straight lines between, constant beyond the ends.
        points: Vec<(f64, f64)>,
    },
    /// Electrical output over the accessory's own speed.
    Electrical {
        /// Voltage at the terminals, V.
        volts: f64,
        /// (rotor speed rpm, current A), speeds ascending; straight lines between, constant beyond the ends.
        amps: Vec<(f64, f64)>,
        /// Output over shaft power, above 0 to 1 (claw-pole machines: 0.55 to 0.70, practice).
        efficiency: f64,
    },
    /// Shaft power over the accessory's own speed.
    Power {
        /// (shaft speed rpm, power kW), speeds ascending; straight lines between, constant beyond the ends.
        points: Vec<(f64, f64)>,
    },
}

/// One tolerance that moves or tilts a rib plane.
///
/// The same `id` at two pulleys is the same part (one plate under both, say):
/// what it does to both alike cancels between them.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Contributor {
    /// The part and dimension, such as `plate A thickness`.
    pub id: String,
    /// Half the range of the axial shift it causes, mm; signed where it moves pulleys opposite ways.
    pub shift_mm: f64,
    /// Half the range of the tilt it causes, deg; signed as the shift.
    pub tilt_deg: f64,
}

/// What the fitter can correct before tightening.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Play {
    /// Axial shift available to either side, mm; 0 or more.
    pub shift_mm: f64,
    /// Tilt that the holes' clearance allows to either side, deg; 0 or more.
    pub tilt_deg: f64,
}

/// A pulley in its place.
#[derive(Debug, Clone, PartialEq)]
pub struct Pulley {
    /// Name used in every result, such as `alternator`.
    pub id: String,
    /// Accessory or block it belongs to.
    pub owner: String,
    /// What it drives.
    pub duty: Duty,
    /// Shaft centre, mm. The tensioner's pulley and an adjusted accessory are moved from here by the solver.
    pub centre: Point,
    /// Height of the rib plane (mid-plane of the face), mm.
    pub rib_plane_z_mm: f64,
    /// Running face.
    pub face: Face,
    /// Diameter over the rim or flange, mm; at least the face's.
    pub rim_diameter_mm: f64,
    /// Width of the whole pulley, mm, for clearances; centred on the rib plane.
    pub width_mm: f64,
    /// Side of the belt that runs on it.
    pub contact: Side,
    /// Torque it takes.
    pub load: Load,
    /// Greatest shaft speed the accessory allows, rpm.
    pub greatest_rpm: Option<f64>,
    /// Least shaft speed for the accessory's full output, rpm.
    pub full_output_rpm: Option<f64>,
    /// Least wrap, deg, where the maker asks another than the duty's.
    pub least_wrap_deg: Option<f64>,
    /// Known tilt of its axis, deg: turned about +x and about +y.
    pub tilt_deg: (f64, f64),
    /// Tolerances of its rib plane.
    pub contributors: Vec<Contributor>,
    /// What the fitter can correct.
    pub play: Play,
}

/// The belt.
#[derive(Debug, Clone, PartialEq)]
pub struct Belt {
    /// Section.
    pub section: BeltSection,
    /// Ribs; at least 1.
    pub ribs: u32,
    /// Effective length, mm; `None` takes the length of the drive as drawn.
    pub length_mm: Option<f64>,
    /// Half the length tolerance as a fraction of the length (0.005: practice).
    pub length_tolerance: f64,
    /// Stretch and wear over the belt's life as a fraction of the length (0.007 to 0.015: practice).
    pub life_stretch: f64,
}

/// The engine's speeds and firing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Engine {
    /// Cylinders; at least 1.
    pub cylinders: u32,
    /// Strokes of a working cycle: 2 or 4.
    pub strokes: u32,
    /// Idle speed, rpm; greater than 0.
    pub idle_rpm: f64,
    /// Top governed speed, rpm; above idle.
    pub top_rpm: f64,
    /// Further speeds to report, rpm.
    pub more_rpm: Vec<f64>,
}

impl Engine {
    /// Firing order: firings per turn of the crank.
    #[must_use]
    pub fn firing_order(&self) -> f64 {
        f64::from(self.cylinders) * 2.0 / f64::from(self.strokes.max(1))
    }
}

/// Effective friction between belt and pulley.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Friction {
    /// On the ribs, wedge action included.
    pub rib: f64,
    /// On the back.
    pub back: f64,
}

/// Torque of a spring arm over its angle.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum ArmTorque {
    /// A torque at one angle and a rate: the torque grows as the arm is pushed against the spring.
    Linear {
        /// Torque at `at_deg`, N·m.
        torque_nm: f64,
        /// Arm angle of that torque, deg.
        at_deg: f64,
        /// Rise per degree the arm is pushed against the spring, N·m/deg.
        rate_nm_per_deg: f64,
    },
    /// (arm angle deg, torque N·m), angles ascending; straight lines between, constant beyond the ends.
    Table {
        /// The measured points.
        points: Vec<(f64, f64)>,
    },
}

/// A spring tensioner: an arm about a pivot with a pulley at its end.
#[derive(Debug, Clone, PartialEq)]
pub struct Tensioner {
    /// Index of its pulley in [`Drive::pulleys`].
    pub pulley: usize,
    /// Arm pivot, mm.
    pub pivot: Point,
    /// Pivot to pulley centre, mm; greater than 0.
    pub arm_mm: f64,
    /// Direction in which the spring turns the arm.
    pub spring: Rotation,
    /// Arm angle from +x as drawn, deg.
    pub drawn_deg: f64,
    /// Stop at which the spring is most relaxed, deg from +x.
    pub slack_stop_deg: f64,
    /// Stop at which the spring is most wound, deg from +x; reached from the slack stop against the spring.
    pub wound_stop_deg: f64,
    /// Spring torque.
    pub torque: ArmTorque,
    /// Damper's share of the spring torque, 0 to below 1: the band the running tension may lie in.
    pub damping: f64,
}

/// How a manually tightened accessory moves.
#[derive(Debug, Clone, PartialEq)]
pub enum Motion {
    /// Swings about a pivot; the clamp bolt runs along an arc slot.
    Swing {
        /// Pivot bolt, mm.
        pivot: Point,
        /// Clamp bolt with the accessory as drawn, mm.
        bolt: Point,
    },
    /// Slides along a straight slot.
    Slide {
        /// Clamp bolt with the accessory as drawn, mm.
        bolt: Point,
        /// Direction of the slot, deg from +x.
        direction_deg: f64,
    },
}

/// A manual take-up.
#[derive(Debug, Clone, PartialEq)]
pub struct ManualTakeUp {
    /// Index of the moved accessory's pulley in [`Drive::pulleys`].
    pub pulley: usize,
    /// How it moves.
    pub motion: Motion,
    /// Static tension it is set to, N.
    pub set_tension_n: f64,
    /// Part of the set tension left after running in, above 0 to 1 (0.7: practice).
    pub kept: f64,
    /// Free belt length wanted while fitting, mm, beyond what the rim takes.
    pub fitting_mm: f64,
    /// Travel the slot has, where it exists already: from and to, deg of swing or mm of slide from as drawn.
    pub available: Option<(f64, f64)>,
}

/// What keeps the belt tight.
#[derive(Debug, Clone, PartialEq)]
pub enum TakeUp {
    /// Fixed centres and a static tension, N.
    Fixed {
        /// Static tension of every span, N.
        set_tension_n: f64,
    },
    /// A spring tensioner.
    Spring(Tensioner),
    /// An accessory moved by hand.
    Manual(ManualTakeUp),
}

/// Something the belt must not touch.
#[derive(Debug, Clone, PartialEq)]
pub struct Obstacle {
    /// Name, such as `oil filter`.
    pub id: String,
    /// Block, accessory or plate it belongs to.
    pub owner: String,
    /// Outline seen from the front, mm.
    pub outline: Path,
    /// Lowest z, mm.
    pub z_from_mm: f64,
    /// Highest z, mm; above `z_from_mm`.
    pub z_to_mm: f64,
}

/// A whole drive.
#[derive(Debug, Clone, PartialEq)]
pub struct Drive {
    /// Name used in titles.
    pub name: String,
    /// Belt.
    pub belt: Belt,
    /// Pulleys in order along the belt, in either direction of travel; at least 2.
    pub pulleys: Vec<Pulley>,
    /// Index of the driver.
    pub driver: usize,
    /// Direction in which the driver turns.
    pub rotation: Rotation,
    /// Speeds and firing.
    pub engine: Engine,
    /// What keeps the belt tight.
    pub take_up: TakeUp,
    /// Friction assumed in the slip check.
    pub friction: Friction,
    /// Index of the pulley over which the belt is slipped last, if the fitter names one.
    pub last_on: Option<usize>,
    /// What the belt must keep clear of.
    pub obstacles: Vec<Obstacle>,
}

impl Pulley {
    /// Diameter of the metal the belt runs on, mm.
    #[must_use]
    pub const fn face_diameter_mm(&self) -> f64 {
        match self.face {
            Face::Ribbed {
                effective_diameter_mm,
                ..
            } => effective_diameter_mm,
            Face::Flat { diameter_mm, .. } => diameter_mm,
        }
    }

    /// Radius of the effective line where the belt runs on this pulley, mm.
    ///
    /// Half the effective diameter in grooves; on a flat face the belt's back
    /// or its rib tips rest on the metal.
    #[must_use]
    pub fn line_radius_mm(&self, section: &BeltSection) -> f64 {
        let metal = 0.5 * self.face_diameter_mm();
        match (self.face, self.contact) {
            (Face::Ribbed { .. }, Side::Rib) => metal,
            (Face::Flat { .. }, Side::Rib) => metal + section.rib_depth_mm(),
            (_, Side::Back) => metal + section.back_offset_mm,
        }
    }

    /// Radius of the pitch line, which sets the speed ratio, mm (dp = de + 2 be; ISO 9981:2020 5.4).
    ///
    /// The pitch line lies outside the effective line, towards the belt's back.
    #[must_use]
    pub fn pitch_radius_mm(&self, section: &BeltSection) -> f64 {
        let be = section.effective_line_differential_mm;
        match self.contact {
            Side::Rib => self.line_radius_mm(section) + be,
            Side::Back => self.line_radius_mm(section) - be,
        }
    }

    /// Radius of the effective line where the belt rides up on the rim, mm.
    #[must_use]
    pub fn rim_line_radius_mm(&self, section: &BeltSection) -> f64 {
        let rim = 0.5 * self.rim_diameter_mm;
        match self.contact {
            Side::Rib => rim + section.rib_depth_mm(),
            Side::Back => rim + section.back_offset_mm,
        }
    }

    /// Whether the belt's ribs run in grooves here, which is what guides the belt sideways.
    #[must_use]
    pub const fn guides_the_belt(&self) -> bool {
        matches!((self.face, self.contact), (Face::Ribbed { .. }, Side::Rib))
    }
}

impl Belt {
    /// Width, mm.
    #[must_use]
    pub fn width_mm(&self) -> f64 {
        self.section.width_mm(self.ribs)
    }

    /// Mass per length, kg/m.
    #[must_use]
    pub fn mass_kg_m(&self) -> f64 {
        self.section.mass_kg_m(self.ribs)
    }
}
