//! Keys of a plate's hand-drawn outline.

use crate::diag::{Code, Diag, Sink};
use crate::geom::Point;
use crate::params::job::OutlineStep;
use crate::params::record::{Node, Record};
use crate::params::spec::{Key, Table, Type};
use crate::units::plain;

use super::shape::SAME_PLACE_MM;

/// An arc of a hand-drawn outline.
pub static ARC: Table = Table::new(
    "outline arc",
    "an arc from the step before to a point",
    &[
        Key::required("arc-to", Type::POINT, "its end [x, y], plate frame, mm"),
        Key::required("radius", Type::SIZE, "its radius, mm"),
        Key::required(
            "turn",
            Type::Choice(&[("left", "counter-clockwise"), ("right", "clockwise")]),
            "which way it bends in the direction of travel",
        ),
        Key::default(
            "long",
            Type::Flag,
            "false",
            "whether it is the longer of the two arcs",
        ),
    ],
);

/// The hand-drawn outline; empty when there is none.
pub(super) fn outline(r: &Record, sink: &mut Sink) -> Option<Vec<OutlineStep>> {
    let nodes = r.list("outline");
    let mut steps = Vec::with_capacity(nodes.len());
    for n in nodes {
        steps.push(step(n, sink)?);
    }
    let arcs = steps.iter().any(|s| matches!(s, OutlineStep::ArcTo { .. }));
    let least = if arcs { 2 } else { 3 };
    if !steps.is_empty() && steps.len() < least {
        sink.push(
            super::about(
                Code::BadCount,
                r,
                "outline",
                format!(
                    "`{}` has {} steps, at least {least} are needed to close it",
                    r.path_of("outline"),
                    steps.len()
                ),
            )
            .help("list corners and arcs once round, without repeating the first"),
        );
        return None;
    }
    chords(r, &steps, sink);
    Some(steps)
}

fn step(n: &Node, sink: &mut Sink) -> Option<OutlineStep> {
    if let Some(t) = n.table() {
        return Some(OutlineStep::ArcTo {
            at: t.point("arc-to")?,
            radius_mm: t.number("radius")?,
            ccw: t.text("turn")? == "left",
            major: t.flag("long")?,
        });
    }
    if let Some(at) = n.point() {
        return Some(OutlineStep::Corner { at, radius_mm: 0.0 });
    }
    let [x, y, radius_mm] = n.numbers()?;
    if radius_mm < 0.0 {
        sink.push(
            Diag::new(
                Code::OutOfRange,
                format!(
                    "the corner's radius is {} mm, at least 0 mm is needed",
                    plain(radius_mm, 6)
                ),
            )
            .at(n.spot)
            .help("write [x, y, radius]; concave or convex follows from the outline"),
        );
        return None;
    }
    Some(OutlineStep::Corner {
        at: Point::new(x, y),
        radius_mm,
    })
}

/// Reports steps of no length and arcs too small to reach from end to end.
fn chords(r: &Record, steps: &[OutlineStep], sink: &mut Sink) {
    let end = |s: &OutlineStep| match *s {
        OutlineStep::Corner { at, .. } | OutlineStep::ArcTo { at, .. } => at,
    };
    let Some(last) = steps.last() else { return };
    let mut before = end(last);
    for (i, (step, node)) in steps.iter().zip(r.list("outline")).enumerate() {
        let at = end(step);
        let chord = before.distance(at);
        let path = format!("{}[{}]", r.path_of("outline"), i + 1);
        if chord < SAME_PLACE_MM {
            sink.push(
                Diag::new(
                    Code::Degenerate,
                    format!("`{path}` ends where the step before it ends"),
                )
                .at(node.spot)
                .key(path)
                .help("the outline closes by itself: do not repeat its first point"),
            );
        } else if let OutlineStep::ArcTo { radius_mm, .. } = *step
            && radius_mm < 0.5 * chord - crate::tol::SNAP_MM
        {
            sink.push(
                Diag::new(
                    Code::Contradiction,
                    format!(
                        "`{path}`: an arc of radius {} mm cannot span {} mm",
                        plain(radius_mm, 6),
                        plain(chord, 3)
                    ),
                )
                .at(node.spot)
                .key(path)
                .help(format!(
                    "use a radius of at least {} mm",
                    plain((0.5e3 * chord).ceil() / 1e3, 3)
                )),
            );
        }
        before = at;
    }
}
