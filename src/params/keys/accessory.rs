//! Keys of the accessory file.

use crate::diag::{Code, Diag, Sink};
use crate::geom::Point3;
use crate::params::accessory::{Accessory, Body, Mount, MountKind, SpringArm};
use crate::params::record::Record;
use crate::params::spec::{FileKind, Key, Range, Standard, Table, Type};
use crate::units::plain;

use super::shape::{AXIS, CYLINDER, SAME_PLACE_MM};
use super::{ParamFile, pulley, shape};

/// What an accessory file holds.
pub static ACCESSORY: FileKind = FileKind {
    name: "accessory",
    folder: "accessories",
    table: &TABLE,
};

static TABLE: Table = Table::new(
    "accessory",
    "what is bolted on, in its own frame: origin on the shaft (a tensioner's arm pivot), z towards the pulley",
    &[
        Key::required("title", Type::TEXT, "what a person calls it"),
        Key::required(
            "mass",
            Type::Number(Range::above(0.0, 1_000.0, "kg")),
            "mass, kg",
        ),
        Key::required(
            "centre",
            Type::POINT3,
            "centre of mass [x, y, z], local frame, mm",
        ),
        Key::default(
            "mount",
            Type::tables(&Type::Table(&MOUNT)),
            "[]",
            "holes of the mounting pattern",
        ),
        Key::optional(
            "pulley",
            Type::Table(&pulley::PULLEY),
            "its pulley; a tensioner's sits at the arm's end",
        ),
        Key::default(
            "body",
            Type::tables(&Type::Table(&BODY)),
            "[]",
            "pieces of its envelope",
        ),
        Key::optional(
            "load",
            pulley::LOAD,
            "what its shaft takes; nothing unless given",
        ),
        pulley::DUTY,
        Key::optional(
            "limits",
            Type::Table(&pulley::LIMITS),
            "speed limits of its shaft",
        ),
        Key::optional("arm", Type::Table(&ARM), "spring arm of a tensioner"),
    ],
);

static MOUNT: Table = Table::new(
    "mount",
    "one hole of the mounting pattern",
    &[
        Key::required("id", Type::Id, "its name, unique in the accessory"),
        Key::required(
            "at",
            Type::List {
                of: &Type::POSITION,
                least: 2,
                most: 3,
            },
            "a point on its axis, [x, y] or [x, y, z], local frame, mm",
        ),
        Key::default(
            "axis",
            AXIS,
            "\"front\"",
            "direction of its axis; heights are measured along it from the local origin",
        ),
        Key::required(
            "thread",
            Type::Designation(Standard::Thread),
            "thread of the bolt that belongs there, such as M10x1.5",
        ),
        Key::optional(
            "through-ear",
            Type::Table(&THROUGH_EAR),
            "a plain hole through one ear or more",
        ),
        Key::optional(
            "threaded-ear",
            Type::Table(&THREADED_EAR),
            "an ear with a thread in it",
        ),
        Key::optional(
            "pad",
            Type::Table(&PAD),
            "a pad that sits on a plate, bolted through a lug",
        ),
    ],
)
.one_of(&[&["through-ear", "threaded-ear", "pad"]]);

static THROUGH_EAR: Table = Table::new(
    "through-ear",
    "a plain hole through one ear or more; the bolt passes all of them",
    &[
        Key::required("hole", Type::SIZE, "hole diameter, mm"),
        Key::required(
            "ears",
            Type::List {
                of: &Type::SPAN,
                least: 1,
                most: 8,
            },
            "height range of each ear [[from, to], ...], lowest first, mm",
        )
        .such_as("[[-110, -85], [-45, -20]]"),
        Key::required("diameter", Type::SIZE, "ear outside diameter, mm"),
    ],
);

static THREADED_EAR: Table = Table::new(
    "threaded-ear",
    "an ear with a thread in it",
    &[
        Key::required("ear", Type::SPAN, "height range of the ear [from, to], mm")
            .such_as("[-60, -40]"),
        Key::required("depth", Type::SIZE, "usable thread depth, mm"),
        Key::required(
            "mouth",
            Type::Choice(&[
                ("low", "the thread opens at the ear's lower end"),
                ("high", "the thread opens at the ear's upper end"),
            ]),
            "end of the ear at which the thread opens",
        ),
        Key::required("diameter", Type::SIZE, "ear outside diameter, mm"),
        Key::required(
            "material",
            Type::Designation(Standard::Material),
            "material of the ear",
        ),
    ],
);

static PAD: Table = Table::new(
    "pad",
    "a pad that sits on a plate, bolted through the accessory's lug into the plate",
    &[
        Key::required(
            "face",
            Type::POSITION,
            "height of the machined pad face, mm",
        ),
        Key::required("seat", Type::POSITION, "height of the lug's bolt seat, mm"),
        Key::required("hole", Type::SIZE, "hole diameter through the lug, mm"),
        Key::required("diameter", Type::SIZE, "pad outside diameter, mm"),
    ],
);

static BODY: Table = Table::new(
    "body",
    "a piece of the envelope, local frame",
    &[
        Key::required("name", Type::TEXT, "what it is, in words"),
        Key::optional("cylinder", Type::Table(&CYLINDER), "a cylinder along z"),
        Key::optional(
            "prism",
            Type::POLYGON,
            "corners [[x, y], ...] of a prism along z, mm",
        ),
        Key::required("z", Type::SPAN, "from [z, to z], mm").such_as("[-140, 0]"),
        Key::default(
            "trim",
            Type::ZERO_OR_SIZE,
            "0",
            "how deep its maker lets material be taken off, mm",
        ),
    ],
)
.one_of(&[&["cylinder", "prism"]]);

static ARM: Table = Table::new(
    "arm",
    "spring arm of a tensioner; angles counter-clockwise from local +x, deg",
    &[
        Key::required("length", Type::SIZE, "pivot to pulley centre, mm"),
        Key::required(
            "free-stop",
            Type::ANGLE,
            "arm angle at the stop the spring pushes it to, deg",
        ),
        Key::required(
            "load-stop",
            Type::ANGLE,
            "arm angle at the stop the fitter levers it to, deg",
        ),
        Key::required(
            "torque",
            Type::List {
                of: &Type::List {
                    of: &Type::Number(Range::new(-1_000.0, 1_000.0, "")),
                    least: 2,
                    most: 2,
                },
                least: 2,
                most: 200,
            },
            "spring torque against arm angle [[deg, N·m], ...], angles ascending",
        )
        .such_as("[[10, 28.0], [70, 44.0]]"),
    ],
);

impl ParamFile for Accessory {
    const KIND: &'static FileKind = &ACCESSORY;

    fn build(name: &str, r: &Record, sink: &mut Sink) -> Option<Self> {
        super::unique(r.tables("mount"), "id", "mounts", sink);
        let mounts: Vec<Mount> = r.tables("mount").filter_map(|m| mount(m, sink)).collect();
        coincident(r, &mounts, sink);
        let bodies = r.tables("body").filter_map(|b| body(b, sink)).collect();
        let pulley = r.table_at("pulley").map(|p| pulley::pulley(p, sink));
        let arm = r.table_at("arm").map(|a| arm(a, sink));
        if r.has("arm") && !r.has("pulley") {
            sink.push(
                super::about(
                    Code::Contradiction,
                    r,
                    "arm",
                    "the accessory has an `arm` but no `pulley` at its end",
                )
                .help("add [pulley], or take [arm] out"),
            );
        }
        let limits = pulley::limits(r, sink);
        Some(Self {
            name: name.to_owned(),
            title: r.string("title")?,
            mounts,
            pulley: flat(pulley)?,
            bodies,
            mass_kg: r.number("mass")?,
            centre: r.point3("centre")?,
            load: pulley::load(r, "load", sink)?,
            duty: pulley::duty(r),
            limits,
            arm: flat(arm)?,
        })
    }
}

/// `None` for a thing that is there but refused.
#[allow(
    clippy::option_option,
    reason = "left out, refused and read are three cases"
)]
fn flat<T>(x: Option<Option<T>>) -> Option<Option<T>> {
    match x {
        None => Some(None),
        Some(None) => None,
        Some(some) => Some(some),
    }
}

fn mount(r: &Record, sink: &mut Sink) -> Option<Mount> {
    let axis = shape::axis(r, "axis", sink);
    let kind = kind(r, sink);
    let at = r.node("at")?;
    Some(Mount {
        id: r.string("id")?,
        at: at
            .point3()
            .or_else(|| at.point().map(|p| Point3::new(p.x, p.y, 0.0)))?,
        axis: axis?,
        thread: r.string("thread")?,
        kind: kind?,
        spot: r.spot_of("id"),
    })
}

fn kind(r: &Record, sink: &mut Sink) -> Option<MountKind> {
    if let Some(e) = r.table_at("through-ear") {
        let ears = ears(e, sink);
        wider(e, sink);
        return Some(MountKind::ThroughEar {
            hole_mm: e.number("hole")?,
            ears_mm: ears?,
            ear_diameter_mm: e.number("diameter")?,
        });
    }
    if let Some(e) = r.table_at("threaded-ear") {
        let ear_mm = super::ascending(e, "ear", sink)?;
        let depth_mm = e.number("depth")?;
        if depth_mm > ear_mm.1 - ear_mm.0 + crate::tol::RULE_MM {
            sink.push(
                super::about(
                    Code::Contradiction,
                    e,
                    "depth",
                    format!(
                        "the thread is {} mm deep, its ear only {} mm thick",
                        plain(depth_mm, 6),
                        plain(ear_mm.1 - ear_mm.0, 6)
                    ),
                )
                .also(e.spot_of("ear"), "the ear")
                .help("mend the depth or the ear's range"),
            );
        }
        return Some(MountKind::ThreadedEar {
            ear_mm,
            depth_mm,
            mouth_low: e.text("mouth")? == "low",
            ear_diameter_mm: e.number("diameter")?,
            material: e.string("material")?,
        });
    }
    let p = r.table_at("pad")?;
    wider(p, sink);
    let (face_mm, seat_mm) = (p.number("face")?, p.number("seat")?);
    if (face_mm - seat_mm).abs() < SAME_PLACE_MM {
        sink.push(
            super::about(
                Code::Contradiction,
                p,
                "seat",
                "the lug between `face` and `seat` has no thickness",
            )
            .also(p.spot_of("face"), "the face")
            .help("`seat` is where the bolt's head bears, `face` where the pad meets the plate"),
        );
    }
    Some(MountKind::Pad {
        face_mm,
        seat_mm,
        hole_mm: p.number("hole")?,
        pad_diameter_mm: p.number("diameter")?,
    })
}

/// Reports an ear or pad that is no wider than its hole.
fn wider(r: &Record, sink: &mut Sink) {
    if r.number("hole").is_some() && r.number("diameter").is_some() {
        super::later(r, "hole", "diameter", "mm", sink);
    }
}

/// Ears, lowest first and apart from each other.
fn ears(r: &Record, sink: &mut Sink) -> Option<Vec<(f64, f64)>> {
    let path = r.path_of("ears");
    let mut out: Vec<(f64, f64)> = Vec::new();
    for (i, node) in r.list("ears").iter().enumerate() {
        let ear = super::ascending_node(node, &format!("{path}[{}]", i + 1), sink)?;
        if let Some(before) = out.last()
            && ear.0 <= before.1
        {
            sink.push(
                Diag::new(
                    Code::Contradiction,
                    format!(
                        "ear {} begins at {} mm, below the end of the one before it, {} mm",
                        i + 1,
                        plain(ear.0, 6),
                        plain(before.1, 6)
                    ),
                )
                .at(node.spot)
                .key(path)
                .help("list the ears from the lowest to the highest, apart from each other"),
            );
            return None;
        }
        out.push(ear);
    }
    (!out.is_empty()).then_some(out)
}

/// Reports mounts whose axes are one line.
fn coincident(r: &Record, mounts: &[Mount], sink: &mut Sink) {
    let record = |id: &str| r.tables("mount").find(|m| m.text("id") == Some(id));
    for (i, a) in mounts.iter().enumerate() {
        for b in mounts.iter().skip(i + 1) {
            let parallel = a.axis.cross(b.axis).length() < crate::tol::PARALLEL;
            let apart = (b.at - a.at).cross(a.axis).length();
            if !parallel || apart >= SAME_PLACE_MM || a.id == b.id {
                continue;
            }
            if let (Some(first), Some(second)) = (record(&a.id), record(&b.id)) {
                sink.push(
                    super::about(
                        Code::Degenerate,
                        second,
                        "at",
                        format!("mounts `{}` and `{}` lie on one axis", a.id, b.id),
                    )
                    .also(first.spot_of("at"), "the other")
                    .help("one mount may have several ears: list them in its `ears`"),
                );
            }
        }
    }
}

fn body(r: &Record, sink: &mut Sink) -> Option<Body> {
    let outline = shape::envelope(r, sink);
    let z_mm = super::ascending(r, "z", sink);
    Some(Body {
        name: r.string("name")?,
        outline: outline?,
        z_mm: z_mm?,
        trim_mm: r.number("trim")?,
    })
}

fn arm(r: &Record, sink: &mut Sink) -> Option<SpringArm> {
    let (free, load) = (r.number("free-stop")?, r.number("load-stop")?);
    if (free - load).abs() < 1.0 {
        sink.push(
            super::about(
                Code::Contradiction,
                r,
                "load-stop",
                format!(
                    "the arm travels {} deg between its stops, at least 1 deg is needed",
                    plain((free - load).abs(), 6)
                ),
            )
            .also(r.spot_of("free-stop"), "the other stop")
            .help("measure both stops from local +x, counter-clockwise"),
        );
    }
    let mut torque: Vec<(f64, f64)> = Vec::new();
    for node in r.list("torque") {
        let [deg, nm] = node.numbers()?;
        let fault = if torque.last().is_some_and(|(before, _)| deg <= *before) {
            "angles must ascend from each pair to the next"
        } else if nm <= 0.0 {
            "the torque must be more than 0 N·m; its sense follows from the stops"
        } else {
            torque.push((deg, nm));
            continue;
        };
        sink.push(
            Diag::new(
                Code::Contradiction,
                format!("`{}`: {fault}", r.path_of("torque")),
            )
            .at(node.spot)
            .key(r.path_of("torque"))
            .help("write [[deg, N·m], ...], the least angle first"),
        );
        return None;
    }
    (torque.len() >= 2).then_some(SpringArm {
        length_mm: r.number("length")?,
        free_stop_deg: free,
        load_stop_deg: load,
        torque,
    })
}
