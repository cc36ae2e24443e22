//! What blocks and accessories share: a pulley, its load and its speed limits.

/// A belt pulley.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pulley {
    /// Effective diameter of a grooved pulley, face diameter of a flat one, mm.
    pub diameter_mm: f64,
    /// Number of ribs; `None` for a flat pulley.
    pub ribs: Option<u32>,
    /// Diameter over the rims, which a belt must pass to be fitted, mm.
    pub rim_mm: f64,
    /// Mid-plane of the ribs, along its owner's z, mm.
    pub rib_plane_mm: f64,
    /// Width over the rims, mm.
    pub width_mm: f64,
}

/// What a pulley's shaft takes from the belt.
///
/// Curves are over the shaft's own speed, rpm ascending; straight between the
/// points, constant beyond the ends. A single point is the same at every speed.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Load {
    /// Nothing: an idler, or the crankshaft that drives.
    #[default]
    None,
    /// A torque at the shaft.
    Torque {
        /// (rpm, N·m).
        points: Vec<(f64, f64)>,
    },
    /// An alternator's output.
    Electrical {
        /// Charging voltage, V.
        volts: f64,
        /// (rpm, A).
        amps: Vec<(f64, f64)>,
        /// Electrical out over mechanical in, 0..1.
        efficiency: f64,
    },
}

/// What a shaft drives, which decides the wrap its pulley needs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Duty {
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
    /// Anything else that takes torque.
    Other,
}

/// Speed limits of a shaft.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SpeedLimits {
    /// Greatest allowed speed, rpm.
    pub most_rpm: Option<f64>,
    /// Least speed for full output, rpm.
    pub full_output_rpm: Option<f64>,
}
