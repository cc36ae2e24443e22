//! Keys of a job's plates: frame, back face, holes, bosses, webs, hand-drawn outline.

use crate::diag::{Code, Diag, Sink};
use crate::geom::{Frame, Point3, Vector3};
use crate::params::job::{BackFace, BossSpec, PlateSpec, Take, WebSpec, Webs};
use crate::params::record::{Node, Record};
use crate::params::spec::{Key, Table, Type};

use super::shape::{reference, split_reference};
use super::{feature, outline, shape, take};

/// A plate.
pub static PLATE: Table = Table::new(
    "plate",
    "one flat machined part",
    &[
        Key::required(
            "id",
            Type::Id,
            "its name, unique in the job; the stem of its files",
        )
        .such_as("\"upper\""),
        Key::optional("title", Type::TEXT, "what a person calls it"),
        Key::default(
            "frame",
            Type::Either(&[Type::Choice(FRAMES), Type::Table(&FRAME)]),
            "\"front\"",
            "its plane: a face's word or origin, normal and x direction",
        ),
        Key::required(
            "back",
            Type::Either(&[Type::POSITION, Type::Reference, Type::Table(&BACK)]),
            "where its back face lies: a height along the frame's normal, or the face of a hole",
        )
        .such_as("\"block.A1\""),
        Key::required("stock", Type::File("stock"), "name of the stock file"),
        Key::optional(
            "process",
            Type::Id,
            "process of the shop; the shop's first unless given",
        ),
        Key::default(
            "holes",
            Type::List {
                of: &Type::Either(&[Type::Reference, Type::Table(&take::TAKE)]),
                least: 0,
                most: 200,
            },
            "[]",
            "holes of the block and of accessories it takes",
        )
        .such_as("[\"block.A1\", { take = \"alternator.pivot\", fit = \"fine\" }]"),
        Key::default(
            "boss",
            Type::tables(&Type::Table(&BOSS)),
            "[]",
            "further bosses that only shape the outline",
        ),
        Key::default(
            "webs",
            Type::Either(&[
                Type::Choice(&[
                    ("auto", "chosen by the program"),
                    ("hull", "the convex hull of all bosses"),
                    ("none", "none: the outline is drawn by hand"),
                ]),
                Type::List {
                    of: &Type::Either(&[
                        Type::List {
                            of: &Type::Reference,
                            least: 2,
                            most: 2,
                        },
                        Type::Table(&WEB),
                    ]),
                    least: 0,
                    most: 400,
                },
            ]),
            "\"auto\"",
            "what joins the bosses: a word, or pairs of bosses",
        ),
        Key::default(
            "outline",
            Type::List {
                of: &Type::Either(&[
                    Type::List {
                        of: &Type::POSITION,
                        least: 2,
                        most: 3,
                    },
                    Type::Table(&outline::ARC),
                ]),
                least: 0,
                most: 500,
            },
            "[]",
            "hand-drawn part of the outline: corners [x, y] or [x, y, radius], and arcs, once round",
        ),
        Key::optional(
            "fillet",
            Type::SIZE,
            "fillet radius of concave corners, mm; the process's least unless given",
        ),
        Key::default(
            "feature",
            Type::tables(&Type::Tagged("kind", feature::FEATURES)),
            "[]",
            "further features",
        ),
        Key::default(
            "window",
            Type::tables(&Type::Tagged("kind", feature::WINDOWS)),
            "[]",
            "windows drawn by hand",
        ),
        Key::default(
            "windows",
            Type::Either(&[
                Type::Choice(&[
                    ("none", "only those drawn by hand"),
                    ("auto", "lighten what the wall rule allows"),
                ]),
                Type::Table(&AUTO_WINDOWS),
            ]),
            "\"none\"",
            "whether windows are cut automatically",
        ),
        Key::default(
            "quantity",
            Type::Count(1, 1_000),
            "1",
            "how many the set needs",
        ),
    ],
);

/// Named frames: the viewer looks at the face, the frame's x points to his right.
///
/// All have their origin at the engine's origin.
pub const FRAMES: &[(&str, &str)] = &[
    ("front", "normal +Z, x +X, y +Y"),
    ("back", "normal -Z, x -X, y +Y"),
    ("right", "normal +X, x -Z, y +Y"),
    ("left", "normal -X, x +Z, y +Y"),
    ("top", "normal +Y, x +X, y -Z"),
    ("bottom", "normal -Y, x +X, y +Z"),
];

static FRAME: Table = Table::new(
    "frame",
    "a plane given in full",
    &[
        Key::required(
            "origin",
            Type::POINT3,
            "where its x = y = 0 lies, engine frame, mm",
        ),
        Key::required("normal", shape::AXIS, "direction its front face looks in"),
        Key::required("x", shape::AXIS, "direction of its x, square to the normal"),
    ],
);

static BACK: Table = Table::new(
    "back",
    "the back face above the face of a hole",
    &[
        Key::required("on", Type::Reference, "the hole whose face it sits on"),
        Key::default(
            "plus",
            Type::POSITION,
            "0",
            "gap to it, which a spacer fills, mm",
        ),
    ],
);

static BOSS: Table = Table::new(
    "boss",
    "a boss that only shapes the outline",
    &[
        Key::required("id", Type::Id, "its name, unique in the plate"),
        Key::required("at", Type::POINT, "centre [x, y], plate frame, mm"),
        Key::required("diameter", Type::SIZE, "diameter, mm"),
    ],
);

static WEB: Table = Table::new(
    "web",
    "a web between two bosses, named by the holes they take or by their own name",
    &[
        Key::required("from", Type::Reference, "one boss"),
        Key::required("to", Type::Reference, "the other"),
        Key::optional(
            "width",
            Type::SIZE,
            "width, mm; tapered, tangent to both bosses, unless given",
        ),
    ],
);

static AUTO_WINDOWS: Table = Table::new(
    "automatic windows",
    "windows cut automatically",
    &[Key::required("wall", Type::SIZE, "wall they leave, mm")],
);

/// The named frame whose normal this is.
#[must_use]
pub fn facing(normal: Vector3) -> Option<(&'static str, Frame)> {
    FRAMES
        .iter()
        .filter_map(|(word, _)| Some((*word, named_frame(word)?)))
        .find(|(_, f)| (f.normal - normal).length() <= crate::tol::PARALLEL)
}

/// The frame by its word.
fn named_frame(word: &str) -> Option<Frame> {
    let (normal, x) = match word {
        "front" => (Vector3::Z, Vector3::X),
        "back" => (-Vector3::Z, -Vector3::X),
        "right" => (Vector3::X, -Vector3::Z),
        "left" => (-Vector3::X, Vector3::Z),
        "top" => (Vector3::Y, Vector3::X),
        "bottom" => (-Vector3::Y, Vector3::X),
        _ => return None,
    };
    Frame::new(Point3::ORIGIN, normal, x)
}

/// Builds a plate.
pub(super) fn plate(r: &Record, sink: &mut Sink) -> Option<PlateSpec> {
    super::unique(r.tables("boss"), "id", "bosses", sink);
    let own = r.tables("feature").chain(r.tables("window"));
    super::unique(own, "id", "features or windows", sink);
    let frame = frame(r, sink);
    let takes: Option<Vec<Take>> = r
        .list("holes")
        .iter()
        .map(|n| take::take(n, sink))
        .collect();
    if let Some(takes) = &takes {
        take::taken_twice(takes, &r.path_of("holes"), sink);
    }
    let outline = outline::outline(r, sink);
    let features: Vec<_> = r
        .tables("feature")
        .map(|f| feature::feature(f, sink))
        .collect();
    let windows: Vec<_> = r
        .tables("window")
        .map(|w| feature::window(w, sink))
        .collect();
    Some(PlateSpec {
        id: r.string("id")?,
        title: super::title_or_id(r, "id")?,
        frame: frame?,
        back: back(r.node("back")?)?,
        stock: r.string("stock")?,
        process: r.string("process"),
        takes: takes?,
        bosses: r.tables("boss").map(boss).collect::<Option<_>>()?,
        webs: webs(r.node("webs")?, sink)?,
        outline: outline?,
        fillet_mm: r.number("fillet"),
        features: features.into_iter().collect::<Option<_>>()?,
        windows: windows.into_iter().collect::<Option<_>>()?,
        auto_windows: match r.node("windows")?.table() {
            Some(t) => Some(Some(t.number("wall")?)),
            None => (r.text("windows")? == "auto").then_some(None),
        },
        quantity: r.count("quantity")?,
        spot: r.spot_of("id"),
    })
}

fn frame(r: &Record, sink: &mut Sink) -> Option<Frame> {
    let node = r.node("frame")?;
    let Some(t) = node.table() else {
        return named_frame(node.text()?);
    };
    let (normal, x) = (shape::axis(t, "normal", sink), shape::axis(t, "x", sink));
    let origin = t.point3("origin")?;
    let (normal, x) = (normal?, x?);
    let frame = Frame::new(origin, normal, x);
    if frame.is_none() {
        sink.push(
            super::about(
                Code::Degenerate,
                t,
                "x",
                format!("`{}` is parallel to the normal", t.path_of("x")),
            )
            .also(t.spot_of("normal"), "the normal")
            .help("give a direction that lies in the plate"),
        );
    }
    frame
}

fn back(node: &Node) -> Option<BackFace> {
    if let Some(mm) = node.number() {
        return Some(BackFace::At(mm));
    }
    if let Some(text) = node.text() {
        return Some(BackFace::On {
            hole: split_reference(text),
            plus_mm: 0.0,
        });
    }
    let t = node.table()?;
    Some(BackFace::On {
        hole: reference(t, "on")?,
        plus_mm: t.number("plus")?,
    })
}

fn boss(r: &Record) -> Option<BossSpec> {
    Some(BossSpec {
        id: r.string("id")?,
        at: r.point("at")?,
        diameter_mm: r.number("diameter")?,
        spot: r.spot_of("id"),
    })
}

fn webs(node: &Node, sink: &mut Sink) -> Option<Webs> {
    if let Some(word) = node.text() {
        return Some(match word {
            "auto" => Webs::Automatic,
            "hull" => Webs::Hull,
            _ => Webs::None,
        });
    }
    let mut out = Vec::new();
    for n in node.list()? {
        let web = if let Some(t) = n.table() {
            WebSpec {
                from: t.string("from")?,
                to: t.string("to")?,
                width_mm: t.number("width"),
                spot: t.spot,
            }
        } else {
            let [from, to] = n.list()? else { return None };
            WebSpec {
                from: from.text()?.to_owned(),
                to: to.text()?.to_owned(),
                width_mm: None,
                spot: n.spot,
            }
        };
        if web.from == web.to {
            sink.push(
                Diag::new(
                    Code::SelfReference,
                    format!("the web joins `{}` to itself", web.from),
                )
                .at(web.spot)
                .help("name two bosses, or take the web out"),
            );
        }
        out.push(web);
    }
    Some(Webs::Listed(out))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn named_frames_are_right_handed_and_as_documented() {
        let word = |v: Vector3| {
            let axis = |n: &str, c: f64| {
                (c.abs() > 0.5).then(|| format!("{}{n}", if c > 0.0 { "+" } else { "-" }))
            };
            axis("X", v.x)
                .or_else(|| axis("Y", v.y))
                .or_else(|| axis("Z", v.z))
                .unwrap()
        };
        for (name, doc) in FRAMES {
            let f = named_frame(name).unwrap();
            let said = format!(
                "normal {}, x {}, y {}",
                word(f.normal),
                word(f.x),
                word(f.y)
            );
            assert_eq!(&said, doc, "{name}");
            assert_eq!(f.x.cross(f.y), f.normal, "{name}");
            assert_eq!(shape::direction(name), Some(f.normal), "{name}");
        }
    }
}
