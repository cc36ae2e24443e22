//! Refuses a network no sum can be made of, naming every reading at fault at once.

use std::collections::BTreeMap;

use super::finding::{Finding, Matter};
use super::network::{EdgeTarget, Kind, Network, Pair, Reading, Size, Surface};

/// Standard deviations a length may contradict another before it is called impossible.
///
/// Five: one good reading in two million, and three readings meet in a triangle.
pub(super) const IMPOSSIBLE_SD: f64 = 5.0;

/// Words for a reading, good enough to find it: its number and what it is between.
pub(super) fn label(readings: &[Reading], index: usize) -> String {
    let Some(reading) = readings.get(index) else {
        return format!("reading {}", index + 1);
    };
    format!("reading {} ({})", index + 1, describe(&reading.kind))
}

/// Words for what a reading is between.
pub fn describe(kind: &Kind) -> String {
    let touched = |s: Surface| match s {
        Surface::Bore => "",
        Surface::Pin => ", pins",
    };
    match kind {
        Kind::Inside { a, b, surface } => format!("{a}–{b} inside{}", touched(*surface)),
        Kind::Over { a, b, surface } => format!("{a}–{b} over{}", touched(*surface)),
        Kind::SameSide { a, b, surface } => format!("{a}–{b} same side{}", touched(*surface)),
        Kind::Centres { a, b } => format!("{a}–{b} centres"),
        Kind::FromEdge { edge, hole, to } => match to {
            EdgeTarget::Centre => format!("{hole} from edge {edge}"),
            EdgeTarget::Near(s) => format!("{hole} from edge {edge}, near side{}", touched(*s)),
            EdgeTarget::Far(s) => format!("{hole} from edge {edge}, far side{}", touched(*s)),
        },
        Kind::Step { upper, lower } => format!("{upper} down to {lower}"),
    }
}

/// Names of the holes, edges and faces with their places in the lists.
#[derive(Debug, Default)]
pub(super) struct Names {
    pub(super) holes: BTreeMap<String, usize>,
    pub(super) edges: BTreeMap<String, usize>,
    pub(super) faces: BTreeMap<String, usize>,
}

/// Checks every name and number; the names are returned for resolving.
pub(super) fn check(network: &Network, findings: &mut Vec<Finding>) -> Names {
    let names = collect_names(network, findings);
    for hole in &network.holes {
        for (size, what) in [(hole.bore, "bore"), (hole.pin, "pin")] {
            check_size(
                size,
                &format!("{what} of hole {}", hole.name),
                hole.source,
                findings,
            );
        }
        if hole
            .known_mm
            .is_some_and(|p| !p.iter().all(|v| v.is_finite()))
        {
            findings.push(
                bad_number(
                    &format!("the known position of hole {}", hole.name),
                    "a number",
                )
                .at([hole.source]),
            );
        }
        if let Some(face) = &hole.face
            && !names.faces.contains_key(face)
        {
            let what = format!("hole {}", hole.name);
            findings.push(unknown("face", face, &what, &names.faces).at([hole.source]));
        }
    }
    for face in &network.faces {
        if face.known_mm.is_some_and(|z| !z.is_finite()) {
            findings.push(
                bad_number(
                    &format!("the known height of face {}", face.name),
                    "a number",
                )
                .at([face.source]),
            );
        }
    }
    for edge in &network.edges {
        if edge.at_mm.is_some_and(|v| !v.is_finite()) {
            findings.push(
                bad_number(&format!("the place of edge {}", edge.name), "a number")
                    .at([edge.source]),
            );
        }
    }
    for index in 0..network.readings.len() {
        check_reading(network, index, &names, findings);
    }
    check_datum(network, &names, findings);
    names
}

/// Lists the names and complains about doubles.
fn collect_names(network: &Network, findings: &mut Vec<Finding>) -> Names {
    let mut names = Names::default();
    let holes = network.holes.iter().map(|h| (&h.name, h.source));
    let edges = network.edges.iter().map(|e| (&e.name, e.source));
    let faces = network.faces.iter().map(|f| (&f.name, f.source));
    gather("hole", holes, &mut names.holes, findings);
    gather("edge", edges, &mut names.edges, findings);
    gather("face", faces, &mut names.faces, findings);
    names
}

/// Lists the names of one kind.
fn gather<'a>(
    what: &str,
    items: impl Iterator<Item = (&'a String, Option<usize>)>,
    map: &mut BTreeMap<String, usize>,
    findings: &mut Vec<Finding>,
) {
    let mut sources = Vec::new();
    for (index, (name, source)) in items.enumerate() {
        sources.push(source);
        if name.trim().is_empty() {
            findings.push(
                Finding::error(
                    Matter::BadNumber,
                    format!("{what} {} has no name", index + 1),
                )
                .help("give it a short name, such as A1")
                .at([source]),
            );
            continue;
        }
        if let Some(first) = map.get(name) {
            findings.push(
                Finding::error(
                    Matter::NamedTwice,
                    format!(
                        "{what} {name} is named twice: items {} and {}",
                        first + 1,
                        index + 1
                    ),
                )
                .help(format!("give the second {what} its own name"))
                .at([source, sources.get(*first).copied().flatten()]),
            );
        } else {
            map.insert(name.clone(), index);
        }
    }
}

/// An error about a number.
fn bad_number(what: &str, wanted: &str) -> Finding {
    Finding::error(Matter::BadNumber, format!("{what} is not {wanted}"))
}

/// An error about a name that nothing carries, with the nearest one.
fn unknown(kind: &str, name: &str, place: &str, map: &BTreeMap<String, usize>) -> Finding {
    let finding = Finding::error(
        Matter::UnknownName,
        format!("{place} names {kind} {name}, which is not listed"),
    );
    let nearest = map
        .keys()
        .map(|k| (strsim::osa_distance(k, name), k))
        .min_by_key(|(d, _)| *d);
    match nearest {
        Some((_, k)) => finding.help(format!("did you mean {k}?")),
        None => finding.help(format!("list {kind} {name} first")),
    }
}

/// Checks a measured diameter.
fn check_size(size: Option<Size>, what: &str, source: Option<usize>, findings: &mut Vec<Finding>) {
    let Some(size) = size else { return };
    if !size.diameter_mm.is_finite() || size.diameter_mm <= 0.0 {
        findings.push(
            bad_number(
                &format!("the diameter of the {what}"),
                "a length above 0 mm",
            )
            .at([source]),
        );
    }
    if !size.sd_mm.is_finite() || size.sd_mm <= 0.0 {
        findings.push(
            bad_number(
                &format!("the uncertainty of the {what}"),
                "a length above 0 mm",
            )
            .at([source]),
        );
    }
}

/// Checks one reading: its number, its uncertainty, its names.
fn check_reading(network: &Network, index: usize, names: &Names, findings: &mut Vec<Finding>) {
    let reading = &network.readings[index];
    let what = label(&network.readings, index);
    let signed = matches!(reading.kind, Kind::Step { .. } | Kind::FromEdge { .. });
    if !reading.value_mm.is_finite() {
        findings.push(
            bad_number(&what, "a number")
                .help("take the reading again or leave the line out")
                .at([reading.source]),
        );
    } else if reading.value_mm <= 0.0 && !signed {
        findings.push(
            Finding::error(
                Matter::BadNumber,
                format!(
                    "{what} is {:.3} mm, a caliper reading is above 0 mm",
                    reading.value_mm
                ),
            )
            .at([reading.source]),
        );
    }
    if reading.sd_mm.is_some_and(|s| !s.is_finite() || s <= 0.0) {
        findings.push(
            bad_number(&format!("the uncertainty of {what}"), "a length above 0 mm")
                .at([reading.source]),
        );
    }
    let (first, second) = ends(&reading.kind);
    if first == second {
        findings.push(
            Finding::error(
                Matter::NamedTwice,
                format!("{what} goes from {} to itself", first.1),
            )
            .help("name the other end")
            .at([reading.source]),
        );
    }
    for (kind, name) in [first, second] {
        let map = match kind {
            "hole" => &names.holes,
            "edge" => &names.edges,
            _ => &names.faces,
        };
        if !map.contains_key(name) {
            findings.push(unknown(kind, name, &what, map).at([reading.source]));
        }
    }
}

/// The two things a reading is between: what they are and their names.
fn ends(kind: &Kind) -> ((&'static str, &str), (&'static str, &str)) {
    match kind {
        Kind::Inside { a, b, .. }
        | Kind::Over { a, b, .. }
        | Kind::SameSide { a, b, .. }
        | Kind::Centres { a, b } => (("hole", a), ("hole", b)),
        Kind::FromEdge { edge, hole, .. } => (("edge", edge), ("hole", hole)),
        Kind::Step { upper, lower } => (("face", upper), ("face", lower)),
    }
}

/// Checks the names in the datum and the sights.
fn check_datum(network: &Network, names: &Names, findings: &mut Vec<Finding>) {
    let source = network.datum.source;
    let mut wanted: Vec<(&str, &'static str, Option<usize>)> = Vec::new();
    if let Some(origin) = &network.datum.origin {
        wanted.push((origin, "the origin", source));
    }
    if let Some(Pair::Level(a, b) | Pair::Plumb(a, b)) = &network.datum.pair {
        wanted.push((a, "the datum pair", source));
        wanted.push((b, "the datum pair", source));
        if a == b {
            findings.push(
                Finding::error(
                    Matter::NamedTwice,
                    format!("the datum pair names hole {a} twice"),
                )
                .help("a direction needs two holes")
                .at([source]),
            );
        }
    }
    for sight in &network.sights {
        wanted.push((&sight.hole, "a sight", sight.source));
        wanted.push((&sight.of, "a sight", sight.source));
        if sight.hole == sight.of {
            findings.push(
                Finding::error(
                    Matter::NamedTwice,
                    format!("a sight compares hole {} with itself", sight.hole),
                )
                .at([sight.source]),
            );
        }
    }
    for (name, place, at) in wanted {
        if !names.holes.contains_key(name) {
            findings.push(unknown("hole", name, place, &names.holes).at([at]));
        }
    }
    if !network.datum.origin_mm.iter().all(|v| v.is_finite()) {
        findings.push(bad_number("the origin's position", "a number").at([source]));
    }
}
