//! Keys of a job's belt drive.

use crate::params::job::{DriveSpec, RunStop, TakeUp};
use crate::params::record::{Node, Record};
use crate::params::spec::{Key, Range, Table, Type};

use super::shape::{reference, split_reference};

/// The belt drive.
pub static DRIVE: Table = Table::new(
    "drive",
    "the belt drive",
    &[
        Key::required(
            "section",
            Type::Choice(&[
                ("PH", "rib pitch 1.60 mm"),
                ("PJ", "rib pitch 2.34 mm"),
                ("PK", "rib pitch 3.56 mm"),
                ("PL", "rib pitch 4.70 mm"),
                ("PM", "rib pitch 9.40 mm"),
            ]),
            "belt section (ISO 9982, PK also ISO 9981)",
        ),
        Key::required("ribs", Type::Count(1, 40), "ribs of the belt").such_as("6"),
        Key::required("rib-plane", Type::POSITION, "rib plane, engine z, mm"),
        Key::optional(
            "length",
            Type::SIZE,
            "effective length of the belt, mm; chosen from the stocked lengths unless given",
        ),
        Key::required(
            "run",
            RUN,
            "the pulleys in the order the belt runs over them, counter-clockwise round the loop",
        )
        .such_as("[\"block.crank\", \"alternator\", { pulley = \"tensioner\", side = \"back\" }]"),
        Key::optional(
            "set-tension-n",
            Type::Number(Range::above(0.0, 20_000.0, "N")),
            "tension of a manually tightened belt in each span at rest, N; none with a spring tensioner",
        ),
        Key::optional(
            "take-up",
            Type::Marked(&[&SWING, &SLIDE]),
            "how a manually tightened belt is taken up",
        ),
        Key::optional(
            "fit-last",
            Type::Reference,
            "pulley over whose rim the belt is slipped last",
        ),
    ],
);

/// The run of a belt.
pub(super) const RUN: Type = Type::List {
    of: &Type::Either(&[Type::Reference, Type::Table(&STOP)]),
    least: 2,
    most: 40,
};

static STOP: Table = Table::new(
    "run stop",
    "one pulley of the run",
    &[
        Key::required(
            "pulley",
            Type::Reference,
            "`block.<pulley>` or a placed accessory",
        ),
        Key::default(
            "side",
            Type::Choice(&[
                ("ribs", "the ribs run on it, inside the loop"),
                ("back", "the belt's back runs on it, outside the loop"),
            ]),
            "\"ribs\"",
            "which side of the belt touches it",
        ),
        Key::optional(
            "least-wrap",
            Type::Number(Range::new(0.0, 360.0, "deg")),
            "least wrap, deg, where another than the usual one for its shaft is right",
        ),
    ],
);

static SWING: Table = Table::new(
    "take-up by swinging",
    "an accessory swings about one of its mounts",
    &[
        Key::required("pivot", Type::Reference, "the mount it swings about"),
        Key::required(
            "adjust",
            Type::Reference,
            "the mount that slides in an arc slot",
        ),
    ],
);

static SLIDE: Table = Table::new(
    "take-up by sliding",
    "an accessory slides along a direction",
    &[
        Key::required("slide", Type::Id, "the placed accessory that slides"),
        Key::required(
            "direction",
            Type::ANGLE,
            "direction of travel that tightens the belt, deg from +X",
        ),
    ],
);

pub(super) fn drive(r: &Record) -> Option<DriveSpec> {
    let take_up = match r.table_at("take-up") {
        None if r.has("take-up") => return None,
        None => None,
        Some(t) if t.table.name == SWING.name => Some(TakeUp::Swing {
            pivot: reference(t, "pivot")?,
            adjust: reference(t, "adjust")?,
        }),
        Some(t) => Some(TakeUp::Slide {
            accessory: t.string("slide")?,
            direction_deg: t.number("direction")?,
        }),
    };
    Some(DriveSpec {
        section: r.string("section")?,
        ribs: r.count("ribs")?,
        rib_plane_mm: r.number("rib-plane")?,
        length_mm: r.number("length"),
        run: run(r.list("run"))?,
        set_tension_n: r.number("set-tension-n"),
        take_up,
        fit_last: reference(r, "fit-last"),
        spot: r.spot,
    })
}

/// The stops of a run.
pub(super) fn run(list: &[Node]) -> Option<Vec<RunStop>> {
    list.iter()
        .map(|node| {
            Some(match node.table() {
                None => RunStop {
                    pulley: split_reference(node.text()?),
                    back: false,
                    least_wrap_deg: None,
                    spot: node.spot,
                },
                Some(t) => RunStop {
                    pulley: reference(t, "pulley")?,
                    back: t.text("side")? == "back",
                    least_wrap_deg: t.number("least-wrap"),
                    spot: t.spot_of("pulley"),
                },
            })
        })
        .collect()
}
