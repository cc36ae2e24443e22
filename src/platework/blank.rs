//! The blank of a plate: bosses round its holes, webs between them, drawn parts, and lightening windows.

use std::collections::{BTreeMap, BTreeSet};

use crate::diag::{Code, Diag, Sink, Spot};
use crate::feature::{Feature, Shape as FeatureShape, SlotTrack};
use crate::geom::{Extents, Path, Point};
use crate::layout::seat::PlateHole;
use crate::outline::{self, Disc, OutlineError, Shape, drawn, webs, window};
use crate::params::job::{PlateSpec, WebSpec, Webs};
use crate::params::shop::Process;
use crate::tol;

use super::track_ends;

/// The outline of a plate and the openings its webs enclose.
pub(super) struct Blank {
    /// Outer loop, counter-clockwise.
    pub outer: Path,
    /// Openings between webs, counter-clockwise.
    pub inner: Vec<Path>,
    /// Pieces the shapes fell into.
    pub pieces: usize,
    /// Bosses by name.
    bosses: Vec<Boss>,
    /// Webs between bosses: indices and width that must stay.
    webs: Vec<(usize, usize, f64)>,
}

/// A boss: metal round a hole, or a shape of its own.
struct Boss {
    name: String,
    /// Further holes it goes by: those that share its bolt.
    aliases: Vec<String>,
    /// Where webs reach it.
    disc: Disc,
    /// What it adds to the outline.
    shape: Shape,
    spot: Spot,
}

fn grid(p: Point) -> Point {
    Point::new(tol::on_input_grid(p.x), tol::on_input_grid(p.y))
}

/// Builds the outline of a plate.
///
/// What stands in its way becomes findings that name boss or web.
pub(super) fn build(
    spec: &PlateSpec,
    holes: &[PlateHole],
    fillet_mm: f64,
    sink: &mut Sink,
) -> Option<Blank> {
    let bosses = bosses(spec, holes);
    let webs = webs_of(spec, &bosses, sink)?;
    let mut shapes: Vec<Shape> = bosses.iter().map(|b| b.shape.clone()).collect();
    let mut owners: Vec<(String, Spot)> = bosses
        .iter()
        .map(|b| (format!("boss `{}`", b.name), b.spot))
        .collect();
    if spec.webs == Webs::Hull && bosses.len() > 1 {
        let discs: Vec<Disc> = bosses.iter().flat_map(hull_discs).collect();
        shapes.push(Shape::Drawn(outline::hull(&discs)));
        owners.push(("the hull".to_owned(), spec.spot));
    }
    for w in &webs {
        let (a, b) = (bosses[w.from].disc, bosses[w.to].disc);
        shapes.push(match w.width_mm {
            None => Shape::Taper { a, b },
            Some(width) => Shape::Bar {
                a: a.centre,
                b: b.centre,
                width,
            },
        });
        owners.push((
            format!("the web `{}`–`{}`", bosses[w.from].name, bosses[w.to].name),
            w.spot,
        ));
    }
    if !spec.outline.is_empty() {
        match drawn::outline(&spec.outline) {
            Ok(path) => {
                shapes.push(Shape::Drawn(path));
                owners.push(("the drawn outline".to_owned(), spec.spot));
            }
            Err(e) => {
                sink.push(
                    Diag::new(
                        Code::OutlineFails,
                        format!("plate `{}`: drawn outline: {e}", spec.id),
                    )
                    .labelled(spec.spot, "in the outline of this plate")
                    .help("mend the step that the message names"),
                );
                return None;
            }
        }
    }
    match outline::build(&shapes, fillet_mm) {
        Ok(o) => Some(Blank {
            outer: o.outer,
            inner: o.inner,
            pieces: o.pieces,
            webs: webs
                .iter()
                .map(|w| {
                    let narrow = bosses[w.from].disc.radius.min(bosses[w.to].disc.radius);
                    (w.from, w.to, w.width_mm.unwrap_or(narrow))
                })
                .collect(),
            bosses,
        }),
        Err(e) => {
            sink.push(explain(spec, &e, &owners));
            None
        }
    }
}

fn explain(spec: &PlateSpec, e: &OutlineError, owners: &[(String, Spot)]) -> Diag {
    let mut d = Diag::new(
        Code::OutlineFails,
        format!("plate `{}`: {}", spec.id, in_words(e, owners)),
    );
    let named: Vec<&(String, Spot)> = e.shapes().iter().filter_map(|&i| owners.get(i)).collect();
    match named.first() {
        Some((name, spot)) => {
            d = d.labelled(*spot, name.clone());
            for (name, spot) in named.iter().skip(1) {
                d = d.also(*spot, name.clone());
            }
        }
        None => d = d.labelled(spec.spot, "in this plate"),
    }
    d.help(match e {
        OutlineError::NotConnected { .. } | OutlineError::NothingGiven => {
            "join every boss to another with a web, or draw the outline by hand"
        }
        OutlineError::CoincidentEnds { .. } => "leave this web out: one boss covers the other",
        OutlineError::FilletNotUsable { .. } => "give `fillet` in mm, more than zero",
        OutlineError::DrawnFlat { .. }
        | OutlineError::DrawnEmpty { .. }
        | OutlineError::DrawnOpen { .. }
        | OutlineError::DrawnArcOff { .. }
        | OutlineError::DrawnCrossesItself { .. } => "mend the drawn outline",
        OutlineError::NotANumber { .. }
        | OutlineError::TooFar { .. }
        | OutlineError::RadiusNotPositive { .. }
        | OutlineError::WidthNotPositive { .. } => "look for a lost decimal point",
        OutlineError::ConstructionFailed { .. } => {
            "move a boss or change a web's width a little, or draw the outline by hand"
        }
    })
}

/// An outline's fault with its shapes by the names the job gives them.
fn in_words(e: &OutlineError, owners: &[(String, Spot)]) -> String {
    let name = |i: &usize| {
        owners
            .get(*i)
            .map_or_else(|| format!("part {i}"), |o| o.0.clone())
    };
    match e {
        OutlineError::NothingGiven => {
            "it takes no hole and has no boss or drawn outline".to_owned()
        }
        OutlineError::NotConnected { pieces } => {
            let parts: Vec<String> = pieces
                .iter()
                .map(|p| p.iter().map(name).collect::<Vec<_>>().join(" with "))
                .collect();
            format!(
                "it falls into {} loose parts: {}",
                pieces.len(),
                parts.join("; ")
            )
        }
        OutlineError::CoincidentEnds { shape } => {
            format!("{} joins two bosses on one place", name(shape))
        }
        OutlineError::TooFar { shape } => format!(
            "{} lies more than {:.0} mm from the frame's origin",
            name(shape),
            outline::FARTHEST_MM
        ),
        OutlineError::RadiusNotPositive { shape, radius_mm } => {
            format!(
                "{} needs a radius above zero, not {radius_mm} mm",
                name(shape)
            )
        }
        OutlineError::WidthNotPositive { shape, width_mm } => {
            format!(
                "{} needs a width above zero, not {width_mm} mm",
                name(shape)
            )
        }
        OutlineError::DrawnFlat { shape } => {
            format!("{} encloses no area", name(shape))
        }
        OutlineError::NotANumber { shape } => {
            format!(
                "{} has a coordinate or size that is not a number",
                name(shape)
            )
        }
        OutlineError::DrawnEmpty { shape, piece } => {
            format!("{} has a piece without length, piece {piece}", name(shape))
        }
        OutlineError::DrawnOpen {
            shape,
            piece,
            gap_mm,
        } => format!(
            "{} is open before piece {piece}: a gap of {gap_mm:.3} mm",
            name(shape)
        ),
        OutlineError::DrawnArcOff {
            shape,
            piece,
            off_mm,
        } => format!(
            "{}: the ends of arc {piece} are {off_mm:.6} mm off its circle",
            name(shape)
        ),
        OutlineError::DrawnCrossesItself { shape, at, .. } => format!(
            "{} crosses itself at ({:.2}, {:.2})",
            name(shape),
            at.x,
            at.y
        ),
        OutlineError::FilletNotUsable { .. } | OutlineError::ConstructionFailed { .. } => {
            e.to_string()
        }
    }
}

fn bosses(spec: &PlateSpec, holes: &[PlateHole]) -> Vec<Boss> {
    // A hand-drawn plate without webs is exactly what was drawn.
    let bare = spec.webs == Webs::None && !spec.outline.is_empty();
    let mut out = Vec::new();
    for (hole, take) in holes.iter().filter_map(|h| {
        let take = spec.takes.iter().find(|t| t.target == h.target)?;
        Some((h, take))
    }) {
        if bare && take.boss_mm.is_none() {
            continue;
        }
        let radius = 0.5 * hole.boss_mm;
        let (centre, shape) = match hole.slot {
            None => (
                hole.at,
                Shape::Disc(Disc {
                    centre: hole.at,
                    radius,
                }),
            ),
            Some(track) => {
                let path = match track {
                    SlotTrack::Straight { from, to } => Path::slot(from, to, radius),
                    SlotTrack::Arc {
                        pivot,
                        radius_mm,
                        start_rad,
                        end_rad,
                    } if radius_mm > radius && !track.meets_itself(2.0 * radius) => {
                        Path::arc_slot(pivot, radius_mm, start_rad, end_rad, radius)
                    }
                    SlotTrack::Arc {
                        pivot, radius_mm, ..
                    } => Path::circle(pivot, radius_mm + radius),
                };
                (track_ends(&track)[2], Shape::Drawn(path))
            }
        };
        out.push(Boss {
            name: hole.name.clone(),
            aliases: hole.shared.iter().map(ToString::to_string).collect(),
            disc: Disc { centre, radius },
            shape,
            spot: take.spot,
        });
    }
    for b in &spec.bosses {
        let disc = Disc {
            centre: grid(b.at),
            radius: 0.5 * b.diameter_mm,
        };
        out.push(Boss {
            name: b.id.clone(),
            aliases: Vec::new(),
            disc,
            shape: Shape::Disc(disc),
            spot: b.spot,
        });
    }
    out
}

fn hull_discs(boss: &Boss) -> Vec<Disc> {
    match &boss.shape {
        Shape::Drawn(path) => path
            .segments
            .iter()
            .map(|s| Disc {
                centre: s.from(),
                radius: 0.0,
            })
            .chain(std::iter::once(boss.disc))
            .collect(),
        _ => vec![boss.disc],
    }
}

struct Web {
    from: usize,
    to: usize,
    width_mm: Option<f64>,
    spot: Spot,
}

fn webs_of(spec: &PlateSpec, bosses: &[Boss], sink: &mut Sink) -> Option<Vec<Web>> {
    match &spec.webs {
        Webs::None | Webs::Hull => Some(Vec::new()),
        Webs::Automatic => {
            let discs: Vec<Disc> = bosses.iter().map(|b| b.disc).collect();
            Some(
                webs::automatic(&discs)
                    .into_iter()
                    .map(|(from, to)| Web {
                        from,
                        to,
                        width_mm: None,
                        spot: spec.spot,
                    })
                    .collect(),
            )
        }
        Webs::Listed(list) => {
            let resolved: Vec<Option<Web>> =
                list.iter().map(|w| listed(spec, w, bosses, sink)).collect();
            resolved.into_iter().collect()
        }
    }
}

fn listed(spec: &PlateSpec, web: &WebSpec, bosses: &[Boss], sink: &mut Sink) -> Option<Web> {
    let mut find = |name: &str| {
        let found = bosses
            .iter()
            .position(|b| b.name == name || b.aliases.iter().any(|a| a == name));
        if found.is_none() {
            let known: Vec<&str> = bosses.iter().map(|b| b.name.as_str()).collect();
            sink.push(
                Diag::new(
                    Code::OutlineFails,
                    format!("plate `{}` has no boss `{name}` for a web to join", spec.id),
                )
                .labelled(web.spot, "in this web")
                .help(format!("its bosses are {}", known.join(", "))),
            );
        }
        found
    };
    let (from, to) = (find(&web.from), find(&web.to));
    Some(Web {
        from: from?,
        to: to?,
        width_mm: web.width_mm,
        spot: web.spot,
    })
}

/// Width of the ribs left between the bosses of a lightened hull, over the wall (common practice, no source).
const RIB_PER_WALL: f64 = 1.5;

/// Metal left round engraving, mm, so that it can be read (common practice, no source).
const MARK_ROOM_MM: f64 = 2.5;

/// The field of a mark as a rib: two ends and a width.
fn mark_field(f: &Feature) -> Option<(Point, Point, f64)> {
    let FeatureShape::Mark(mark) = &f.shape else {
        return None;
    };
    let mut e = Extents::EMPTY;
    for p in mark.strokes.iter().flatten() {
        e.add(*p);
    }
    let (room, y) = (MARK_ROOM_MM, e.centre().y);
    (e.width() > 0.0).then(|| {
        (
            Point::new(e.min.x - room, y),
            Point::new(e.max.x + room, y),
            e.height() + 2.0 * room,
        )
    })
}

/// Windows of a plate: the openings its webs enclose, the ones drawn, the ones made automatically.
#[expect(
    clippy::too_many_arguments,
    reason = "a window depends on everything the plate has"
)]
pub(super) fn windows(
    spec: &PlateSpec,
    process: &Process,
    blank: &Blank,
    holes: &[PlateHole],
    features: &[Feature],
    thickness_mm: f64,
    spots: &mut BTreeMap<String, Spot>,
    sink: &mut Sink,
) -> Vec<Feature> {
    let mut out = Vec::new();
    let window = |id: String, path: Path| Feature {
        id,
        variants: std::sync::Arc::default(),
        shape: FeatureShape::Window(path),
    };
    // Names the job gives are its own; the program's windows take the numbers left.
    let taken: BTreeSet<&str> = spec
        .windows
        .iter()
        .map(|w| w.id.as_str())
        .chain(spec.features.iter().map(|f| f.id.as_str()))
        .collect();
    let free = |stem: &'static str| {
        (1_u32..)
            .map(move |n| format!("{stem}-{n}"))
            .filter(|id| !taken.contains(id.as_str()))
    };
    for (id, path) in free("opening").zip(&blank.inner) {
        out.push(window(id, path.clone()));
    }
    for w in &spec.windows {
        spots.insert(w.id.clone(), w.spot);
        match window::drawn(&w.kind) {
            Ok(path) => out.push(window(w.id.clone(), path)),
            Err(e) => sink.push(
                Diag::new(Code::OutlineFails, format!("window `{}`: {e}", w.id))
                    .labelled(w.spot, "this window cannot be drawn")
                    .help("mend its corners or make their radius smaller"),
            ),
        }
    }
    if let Some(wall) = spec.auto_windows {
        let least = process
            .least_web_mm
            .max(process.least_web_per_thickness * thickness_mm);
        let wall = wall
            .unwrap_or_else(|| window::default_wall_mm(thickness_mm))
            .max(least);
        let mut discs: Vec<(Point, f64)> = blank
            .bosses
            .iter()
            .map(|b| (b.disc.centre, b.disc.radius))
            .collect();
        for h in holes {
            for seat in [&h.front, &h.back].into_iter().flatten() {
                discs.push((h.at, 0.5 * seat.diameter_mm));
            }
        }
        let openings: Vec<Path> = features
            .iter()
            .chain(&out)
            .filter_map(Feature::footprint)
            .collect();
        let mut ribs: Vec<(Point, Point, f64)> = blank
            .webs
            .iter()
            .map(|&(a, b, w)| (blank.bosses[a].disc.centre, blank.bosses[b].disc.centre, w))
            .collect();
        if spec.webs == Webs::Hull {
            // A hull has no webs of its own: ribs between neighbours keep it stiff.
            let discs: Vec<Disc> = blank.bosses.iter().map(|b| b.disc).collect();
            ribs.extend(webs::automatic(&discs).into_iter().map(|(a, b)| {
                let width = RIB_PER_WALL * wall;
                (discs[a].centre, discs[b].centre, width)
            }));
        }
        ribs.extend(features.iter().filter_map(mark_field));
        let cut = window::automatic(
            &blank.outer,
            &discs,
            &openings,
            wall,
            process.inside_radius_mm,
            &ribs,
        );
        for (path, id) in cut.into_iter().zip(free("window")) {
            out.push(window(id, path));
        }
    }
    out
}
