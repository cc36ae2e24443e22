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
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Load {
    /// Nothing: an idler, or the crankshaft that drives.
    #[default]
    None,
    /// A torque at the shaft, N·m.
    Torque {
        /// Steady torque, N·m.
        torque_nm: f64,
    },
    /// An alternator's output.
    Electrical {
        /// Charging voltage, V.
        volts: f64,
        /// Output current, A.
        amps: f64,
        /// Electrical out over mechanical in, 0..1.
        efficiency: f64,
    },
}

/// Speed limits of a shaft.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SpeedLimits {
    /// Greatest allowed speed, rpm.
    pub most_rpm: Option<f64>,
    /// Least speed for full output, rpm.
    pub full_output_rpm: Option<f64>,
}
