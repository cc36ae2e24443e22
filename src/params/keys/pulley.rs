//! Keys of a pulley, its load and its speed limits.

use crate::diag::{Code, Sink};
use crate::params::pulley::{Load, Pulley, SpeedLimits};
use crate::params::record::Record;
use crate::params::spec::{Key, Range, Table, Type};

/// Greatest shaft speed a file may name, rpm: twice that of the fastest charging alternators
/// (common practice, no source).
const MOST_RPM: f64 = 40_000.0;

/// A speed, rpm.
pub const SPEED: Type = Type::Number(Range::above(0.0, MOST_RPM, "rpm"));

/// Keys of a pulley, shared by every table that describes one.
pub const DIAMETER: Key = Key::required(
    "diameter",
    Type::SIZE,
    "effective diameter if grooved, face diameter if flat, mm",
);
/// Ribs.
pub const RIBS: Key = Key::optional(
    "ribs",
    Type::Count(1, 40),
    "number of ribs; left out for a flat pulley",
);
/// Rim.
pub const RIM: Key = Key::optional(
    "rim",
    Type::SIZE,
    "diameter over the rims, mm; the diameter itself unless given",
);
/// Rib plane.
pub const RIB_PLANE: Key = Key::required(
    "rib-plane",
    Type::POSITION,
    "mid-plane of the ribs along its owner's z, mm",
);
/// Width.
pub const WIDTH: Key = Key::required("width", Type::SIZE, "width over the rims, mm");

/// A pulley of an accessory.
pub static PULLEY: Table = Table::new(
    "pulley",
    "the pulley on the accessory's shaft",
    &[DIAMETER, RIBS, RIM, RIB_PLANE, WIDTH],
);

/// A shaft that takes a torque.
pub static TORQUE: Table = Table::new(
    "torque load",
    "a shaft that takes a steady torque",
    &[Key::required(
        "torque-nm",
        Type::Number(Range::new(0.0, 10_000.0, "N·m")),
        "steady torque at the shaft, N·m",
    )],
);

/// An alternator.
pub static ELECTRICAL: Table = Table::new(
    "electrical load",
    "an alternator's output",
    &[
        Key::required(
            "volts",
            Type::Number(Range::above(0.0, 1_000.0, "V")),
            "charging voltage, V",
        ),
        Key::required(
            "amps",
            Type::Number(Range::above(0.0, 2_000.0, "A")),
            "output current, A",
        ),
        Key::required(
            "efficiency",
            Type::Number(Range::above(0.0, 1.0, "")),
            "electrical power out over mechanical power in, 0 to 1",
        ),
    ],
);

/// What a shaft takes from the belt.
pub const LOAD: Type = Type::Marked(&[&TORQUE, &ELECTRICAL]);

/// Speed limits of a shaft.
pub static LIMITS: Table = Table::new(
    "limits",
    "speed limits of the shaft",
    &[
        Key::optional("most-rpm", SPEED, "greatest allowed speed, rpm"),
        Key::optional("full-output-rpm", SPEED, "least speed for full output, rpm"),
    ],
);

/// The pulley described by a record that has its keys.
pub(super) fn pulley(r: &Record, sink: &mut Sink) -> Option<Pulley> {
    let diameter_mm = r.number("diameter")?;
    let rim_mm = if r.has("rim") {
        r.number("rim")?
    } else {
        diameter_mm
    };
    if rim_mm < diameter_mm {
        sink.push(
            super::about(
                Code::Contradiction,
                r,
                "rim",
                format!(
                    "`{}` is {} mm, less than the diameter, {} mm",
                    r.path_of("rim"),
                    crate::units::plain(rim_mm, 6),
                    crate::units::plain(diameter_mm, 6)
                ),
            )
            .also(r.spot_of("diameter"), "this one")
            .help("the rims stand out over the belt's face, or leave `rim` out"),
        );
    }
    Some(Pulley {
        diameter_mm,
        ribs: r.count("ribs"),
        rim_mm,
        rib_plane_mm: r.number("rib-plane")?,
        width_mm: r.number("width")?,
    })
}

/// The load under `key`; none when it is left out.
pub(super) fn load(r: &Record, key: &str) -> Option<Load> {
    if !r.has(key) {
        return Some(Load::None);
    }
    let t = r.table_at(key)?;
    Some(if t.table.name == TORQUE.name {
        Load::Torque {
            torque_nm: t.number("torque-nm")?,
        }
    } else {
        Load::Electrical {
            volts: t.number("volts")?,
            amps: t.number("amps")?,
            efficiency: t.number("efficiency")?,
        }
    })
}

/// The speed limits under `limits`.
pub(super) fn limits(r: &Record, sink: &mut Sink) -> SpeedLimits {
    let Some(t) = r.table_at("limits") else {
        return SpeedLimits::default();
    };
    if t.has("most-rpm") && t.has("full-output-rpm") {
        super::later(t, "full-output-rpm", "most-rpm", "rpm", sink);
    }
    SpeedLimits {
        most_rpm: t.number("most-rpm"),
        full_output_rpm: t.number("full-output-rpm"),
    }
}
