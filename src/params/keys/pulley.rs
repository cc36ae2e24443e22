//! Keys of a pulley, its load and its speed limits.

use crate::diag::{Code, Sink};
use crate::params::pulley::{Duty, Load, Pulley, SpeedLimits};
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

/// A value over the shaft's speed.
const CURVE: Type = Type::List {
    of: &Type::List {
        of: &Type::Number(Range::new(0.0, MOST_RPM, "")),
        least: 2,
        most: 2,
    },
    least: 1,
    most: 100,
};

/// What a shaft drives.
pub const DUTY: Key = Key::optional(
    "duty",
    Type::Choice(&[
        ("alternator", "a charging alternator"),
        ("compressor", "a refrigerant compressor"),
        ("hydraulic-pump", "a hydraulic pump"),
        ("coolant-pump", "the coolant pump"),
        ("idler", "an idler"),
        ("other", "anything else that takes torque"),
    ]),
    "what its shaft drives, which decides the wrap it needs; from its load unless given",
);

/// A shaft that takes a torque.
pub static TORQUE: Table = Table::new(
    "torque load",
    "a shaft that takes a steady torque",
    &[Key::required(
        "torque-nm",
        Type::Either(&[Type::Number(Range::new(0.0, 10_000.0, "N·m")), CURVE]),
        "torque at the shaft, N·m: one for every speed, or [[rpm, N·m], ...], speeds ascending",
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
            Type::Either(&[Type::Number(Range::above(0.0, 2_000.0, "A")), CURVE]),
            "output current, A: one for every speed, or [[rotor rpm, A], ...], speeds ascending",
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
pub(super) fn load(r: &Record, key: &str, sink: &mut Sink) -> Option<Load> {
    if !r.has(key) {
        return Some(Load::None);
    }
    let t = r.table_at(key)?;
    Some(if t.table.name == TORQUE.name {
        Load::Torque {
            points: curve(t, "torque-nm", sink)?,
        }
    } else {
        Load::Electrical {
            volts: t.number("volts")?,
            amps: curve(t, "amps", sink)?,
            efficiency: t.number("efficiency")?,
        }
    })
}

/// A value over speed: one number stands for every speed.
fn curve(t: &Record, key: &str, sink: &mut Sink) -> Option<Vec<(f64, f64)>> {
    if let Some(value) = t.node(key)?.number() {
        return Some(vec![(0.0, value)]);
    }
    let points: Vec<(f64, f64)> = t
        .list(key)
        .iter()
        .filter_map(|n| n.numbers::<2>().map(|[rpm, value]| (rpm, value)))
        .collect();
    if points.windows(2).any(|w| w[1].0 <= w[0].0) {
        sink.push(
            super::about(
                Code::Contradiction,
                t,
                key,
                format!("the speeds of `{}` do not ascend", t.path_of(key)),
            )
            .help("list the points from the lowest speed to the highest"),
        );
        return None;
    }
    Some(points)
}

/// What a shaft drives, if the file says.
pub(super) fn duty(r: &Record) -> Option<Duty> {
    Some(match r.text("duty")? {
        "alternator" => Duty::Alternator,
        "compressor" => Duty::Compressor,
        "hydraulic-pump" => Duty::HydraulicPump,
        "coolant-pump" => Duty::CoolantPump,
        "idler" => Duty::Idler,
        _ => Duty::Other,
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
