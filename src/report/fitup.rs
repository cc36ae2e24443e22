//! The fit-up sheet: order of assembly, rod, belt, tightening, troubleshooting, as parts of a document.

use std::fmt::Write as _;

use crate::drive::{Analysis, Drive, TakeUp, tensioner};
use crate::fitup::{self, What};
use crate::layout::Part as LayerOf;
use crate::project::Project;
use crate::shim::{self, Symptom, Towards};

use super::document::{Document, Part};
use super::torque;

/// What every fit-up and torque sheet says before anyone picks up a wrench.
pub const CAUTIONS: &str = "\
Before fitting up

- Isolate the battery. Engine cold, locked out, and tagged so that nobody starts it.
- Coolant and refrigerant are under pressure and hot: let down and drain before a line is opened.
  Refrigerant work is for licensed practice only.
- A spring tensioner stores force: let it back slowly, fingers clear of belt and pulleys.
- Guard the belt before the engine turns. Nobody reaches past a running belt.
- Use new bolts of the standard and class listed. Threads clean, in the lubrication listed: another
  lubrication gives another preload for the same torque.
- Tighten in the sequence listed, first all bolts of a part to half the torque, then to the full one.
- Check every torque again after the first heat cycle, engine cold.

Strength, slip and thread results are an aid to judgement and no certification. The engine's and the
accessories' makers' data, local codes, licensed practice (refrigerant work, pressure equipment) and
road approval go before anything printed here.
";

/// The cautions as parts of a document.
#[must_use]
pub fn cautions() -> Vec<Part> {
    let mut out = Vec::new();
    let mut points: Vec<String> = Vec::new();
    for paragraph in CAUTIONS.split("\n\n") {
        if paragraph.starts_with("- ") {
            for line in paragraph.lines() {
                match line.strip_prefix("- ") {
                    Some(l) => points.push(l.to_owned()),
                    None => {
                        if let Some(last) = points.last_mut() {
                            last.push(' ');
                            last.push_str(line.trim());
                        }
                    }
                }
            }
            out.push(Part::Points(std::mem::take(&mut points)));
        } else if out.is_empty() {
            out.push(Part::Heading(paragraph.trim().to_owned()));
        } else {
            let words: Vec<&str> = paragraph.split_whitespace().collect();
            out.push(Part::Text(words.join(" ")));
        }
    }
    out
}

/// The fit-up sheet of a variant.
#[must_use]
pub fn sheet(project: &Project) -> Document {
    let mut parts = cautions();
    parts.extend(order(project));
    parts.extend(mixups(project));
    parts.extend(loose(project));
    if let Some((drive, analysis)) = &project.drive {
        let line_up = shim::drive_of(&project.layout, drive, &analysis.path);
        parts.extend(rod(drive, &line_up));
        parts.extend(belt(drive, analysis));
        parts.extend(tightening(project));
        parts.extend(afterwards(project));
        parts.extend(trouble(drive, analysis, &line_up));
    } else {
        parts.extend(tightening(project));
        parts.extend(afterwards(project));
    }
    Document {
        kind: "fit-up sheet",
        parts,
    }
}

/// The steps of putting the set together.
fn order(project: &Project) -> Vec<Part> {
    let a = &project.assembly;
    let mut out = vec![Part::Heading("Order of assembly".to_owned())];
    let Ok(puts) = &a.order else {
        out.push(Part::Text("This set cannot be put together:".to_owned()));
        out.push(Part::Points(a.stuck_words()));
        return out;
    };
    let mut steps: Vec<String> = Vec::new();
    let mut k = 0;
    while k < puts.len() {
        let run: Vec<_> = puts[k..]
            .iter()
            .take_while(|p| {
                std::mem::discriminant(&a.what[p.piece])
                    == std::mem::discriminant(&a.what[puts[k].piece])
                    && is_run(&a.what[p.piece])
            })
            .collect();
        let put = &puts[k];
        match &a.what[put.piece] {
            What::Plate(id) => {
                let to = a.pieces[put.piece].ways[put.way].to;
                steps.push(format!("Plate {id}: put it on {}{}.", from(to), mark(project, id)));
            }
            What::Accessory(id) => {
                let to = a.pieces[put.piece].ways[put.way].to;
                let mut step = format!("{}: put it on {}.", title(project, id), from(to));
                let under: Vec<String> = carriers(project, id)
                    .into_iter()
                    .filter(|p| {
                        puts[k..]
                            .iter()
                            .any(|q| matches!(&a.what[q.piece], What::Plate(id) if id == p))
                    })
                    .map(|p| format!("plate {p}"))
                    .collect();
                if !under.is_empty() {
                    let _ = write!(
                        step,
                        " It goes behind {}: join them at the bench and offer them up together.",
                        under.join(" and ")
                    );
                }
                steps.push(step);
            }
            What::Pulley(id) => steps.push(format!(
                "The pulley of {id}: fit it to its shaft, from the front; it does not pass {} with the pulley on.",
                carriers(project, id)
                    .iter()
                    .map(|p| format!("plate {p}"))
                    .collect::<Vec<_>>()
                    .join(" or ")
            )),
            What::Spacer(..) => {
                let spacers: Vec<String> = run.iter().map(|p| spacer(project, &a.what[p.piece])).collect();
                steps.push(format!("Put in {}.", spacers.join("; ")));
            }
            What::Bolt(_) => {
                steps.extend(bolts(project, &run.iter().map(|p| &a.what[p.piece]).collect::<Vec<_>>()));
            }
        }
        k += run.len().max(1);
    }
    steps.extend((project.drive.is_some()).then(|| {
        "Line the pulleys up with the rod, then fit the belt; both are told below. Hoses and lines last."
            .to_owned()
    }));
    out.push(Part::Steps(steps));
    out
}

/// Plates that an accessory's bolts pass.
fn carriers(project: &Project, accessory: &str) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for j in &project.layout.joints {
        if j.holes.iter().any(|h| h.owner == accessory) {
            for l in &j.layers {
                if let LayerOf::Plate(p) = &l.part
                    && !out.contains(p)
                {
                    out.push(p.clone());
                }
            }
        }
    }
    out
}

const fn is_run(what: &What) -> bool {
    matches!(what, What::Spacer(..) | What::Bolt(_))
}

/// Where something comes from that comes off in a direction.
fn from(to: &str) -> &str {
    match to {
        "to the front" => "from the front",
        "to the right" => "from the right",
        "to the left" => "from the left",
        "upwards" => "from above",
        "downwards" => "from below",
        "up to the right" => "from above right",
        "up to the left" => "from above left",
        "down to the right" => "from below right",
        "down to the left" => "from below left",
        _ => "square on to its face",
    }
}

fn mark(project: &Project, plate: &str) -> String {
    let made = project.plates.iter().find(|m| m.plate.id == plate);
    match made.and_then(|m| m.way_up.as_ref()) {
        Some(Ok(text)) => format!(
            "; its mark, {}, faces out and the arrow points the way it says",
            lettering(text)
        ),
        _ => String::new(),
    }
}

/// An engraved text without its arrow, which plain lettering lacks.
fn lettering(text: &str) -> String {
    let words: Vec<&str> = text
        .split(|c: char| c.is_whitespace() || "←→↑↓".contains(c))
        .filter(|w| !w.is_empty())
        .collect();
    words.join(" ")
}

fn title(project: &Project, id: &str) -> String {
    let placed = project.layout.placed.iter().find(|p| p.id == id);
    placed
        .and_then(|p| project.loaded.accessories.get(&p.accessory))
        .map_or_else(
            || format!("Accessory {id}"),
            |a| format!("Accessory {id} ({})", a.title),
        )
}

fn spacer(project: &Project, what: &What) -> String {
    let What::Spacer(joint, n) = what else {
        return what.words();
    };
    let found = project
        .layout
        .joints
        .iter()
        .find(|j| j.id == *joint)
        .and_then(|j| j.spacers().nth(*n));
    match found {
        Some(s) => format!(
            "the spacer {:.1} x {:.1}, {:.2} mm long, at {joint}",
            s.outside_mm, s.bore_mm, s.length_mm
        ),
        None => what.words(),
    }
}

/// Bolts put in one after the other: those that something covers later are tightened at once.
fn bolts(project: &Project, run: &[&What]) -> Vec<String> {
    let mut now = Vec::new();
    let mut later = Vec::new();
    for what in run {
        let What::Bolt(joint) = what else { continue };
        let covers = project.assembly.covers(joint);
        if covers.is_empty() {
            later.push(joint.as_str());
        } else {
            let by: Vec<String> = covers.into_iter().map(What::words).collect();
            now.push(format!(
                "Bolt {joint}: full torque now, {}; {} covers it later.",
                torque::of(project, joint),
                by.join(" and ")
            ));
        }
    }
    let mut out = Vec::new();
    if !later.is_empty() {
        out.push(format!(
            "Bolt{} {}: in by hand, then snug so that the part can still be moved.",
            if later.len() == 1 { "" } else { "s" },
            later.join(", ")
        ));
    }
    out.extend(now);
    out
}

/// Plates that can be bolted on wrongly.
fn mixups(project: &Project) -> Vec<Part> {
    let rows: Vec<Vec<String>> = project
        .plates
        .iter()
        .filter(|m| !m.mixups.is_empty())
        .map(|m| {
            vec![
                m.plate.id.clone(),
                match &m.way_up {
                    Some(Ok(text)) => lettering(text),
                    Some(Err(why)) => format!("none: {why}. Mark it by hand."),
                    None => String::new(),
                },
                crate::mixup::told(&m.mixups, 4),
            ]
        })
        .collect();
    if rows.is_empty() {
        return Vec::new();
    }
    vec![
        Part::Heading("Plates that can be bolted on wrongly".to_owned()),
        Part::Text(
            "Their holes fit in other ways too, within the clearance of the holes. Look for the mark before \
             the first bolt goes in."
                .to_owned(),
        ),
        Part::Table {
            head: vec!["plate", "mark", "also fits"],
            shares: vec![0.12, 0.28, 0.60],
            rows,
        },
    ]
}

/// What stays loose until the belt lines up.
fn loose(project: &Project) -> Vec<Part> {
    let mut lines = Vec::new();
    let mut held: Vec<&str> = Vec::new();
    let mut slides: Vec<&str> = Vec::new();
    for j in &project.layout.joints {
        let slotted = project
            .plates
            .iter()
            .flat_map(|m| &m.holes)
            .any(|h| h.slot.is_some() && j.holes.contains(&h.target));
        if slotted {
            slides.push(&j.id);
        } else if project.assembly.covers(&j.id).is_empty() {
            held.push(&j.id);
        }
    }
    if !held.is_empty() {
        lines.push(format!(
            "Snug, not tight, until the rod finds every pulley where it should be: {}.",
            held.join(", ")
        ));
    }
    if !slides.is_empty() {
        lines.push(format!(
            "Free to slide in its slot until the belt has its tension: {}.",
            slides.join(", ")
        ));
    }
    let tight: Vec<&str> = project
        .layout
        .joints
        .iter()
        .filter(|j| !project.assembly.covers(&j.id).is_empty())
        .map(|j| j.id.as_str())
        .collect();
    if !tight.is_empty() {
        lines.push(format!(
            "Tight from the start, since their heads are covered: {}. A washer there means taking off what covers it.",
            tight.join(", ")
        ));
    }
    vec![
        Part::Heading("What stays loose until the belt lines up".to_owned()),
        Part::Points(lines),
    ]
}

fn rod(drive: &Drive, line_up: &shim::Drive) -> Vec<Part> {
    let (reference, rows) = fitup::readings(drive, line_up);
    let table = rows
        .iter()
        .map(|r| {
            vec![
                r.pulley.clone(),
                signed(r.gap_mm),
                format!("{:.2}", r.rss_mm),
                format!("{:.2}", r.worst_mm),
                format!("{:.2}", r.limit_mm),
                format!("{:.2}", r.rims_mm),
                if r.mounted { "washers" } else { "on the block" }.to_owned(),
            ]
        })
        .collect();
    vec![
        Part::Heading("Where to lay the rod, and what to expect".to_owned()),
        Part::Text(format!(
            "Lay a straight rod across the front face of {reference}, over its middle, and over the pulley looked \
             at. Measure the air between rod and front face at both rims. Below 0: the pulley stands proud and \
             lifts the rod; measure the air at {reference} instead. Off by more than the limit, or rims that differ \
             by more than theirs: put the readings into a rod-readings file and let shim find the washers."
        )),
        Part::Table {
            head: vec![
                "pulley",
                "gap as designed, mm",
                "likely off by, mm",
                "at worst, mm",
                "limit off by, mm",
                "rims may differ, mm",
                "corrected by",
            ],
            shares: vec![0.2, 0.14, 0.13, 0.12, 0.13, 0.14, 0.14],
            rows: table,
        },
    ]
}

fn signed(v: f64) -> String {
    // No minus before a zero.
    let v = if v.abs() < 0.005 { 0.0 } else { v };
    format!("{v:.2}")
}

fn belt(drive: &Drive, analysis: &Analysis) -> Vec<Part> {
    let mut steps = Vec::new();
    let around: Vec<&str> = analysis
        .path
        .contacts
        .iter()
        .map(|c| c.id.as_str())
        .collect();
    let belt = &analysis.belt;
    let last = match &drive.take_up {
        TakeUp::Spring(_) => analysis.tensioner.as_ref().and_then(|w| w.slip_on.as_ref()),
        TakeUp::Manual(_) => analysis.take_up.as_ref().and_then(|t| t.slip_on.as_ref()),
        TakeUp::Fixed { .. } => analysis.slip_on_fixed.as_ref(),
    };
    steps.push(format!(
        "Belt {}: lay it round {}, in this order{}.",
        belt.designation,
        around.join(", "),
        last.map_or_else(String::new, |l| format!(", all but {}", l.over))
    ));
    match &drive.take_up {
        TakeUp::Spring(t) => {
            if let Some(w) = &analysis.tensioner {
                let fitting = last.and_then(|l| l.arm_deg).unwrap_or(w.shortest_arm_deg);
                steps.push(format!(
                    "Turn the tensioner's arm against its spring to {fitting:.0} deg (counter-clockwise from the right); \
                     it takes {:.0} N·m. Hold it there.",
                    tensioner::arm_torque_nm(t, fitting).abs()
                ));
            }
        }
        TakeUp::Manual(m) => {
            let id = &drive.pulleys[m.pulley].id;
            if let Some(p) = analysis
                .take_up
                .as_ref()
                .and_then(|t| t.needs.first())
                .and_then(|n| n.position.as_ref())
            {
                let unit = analysis.take_up.as_ref().map_or("", |t| t.unit);
                steps.push(format!(
                    "Move {id} to its loose end: {:.1} {unit} from where it is drawn, the clamp bolt at x {:.1}, y {:.1}.",
                    p.travel, p.bolt_mm.x, p.bolt_mm.y
                ));
            }
        }
        TakeUp::Fixed { .. } => {}
    }
    if let Some(l) = last {
        steps.push(format!(
            "Slip it over the rim of {} last: the shortest belt has {:.1} mm to spare there{}.",
            l.over,
            l.room_mm,
            if l.room_mm < 0.0 {
                " (too little: it does not go on)"
            } else {
                ""
            }
        ));
    }
    match &drive.take_up {
        TakeUp::Spring(_) => {
            if let Some(w) = &analysis.tensioner {
                steps.push("Let the arm back slowly.".to_owned());
                if let Some(arm) = w.arm(tensioner::BeltState::Nominal) {
                    steps.push(format!(
                        "Look at the arm: a belt of nominal length holds it at {:.0} deg with {:.0} N in the belt.{}",
                        arm.arm_deg,
                        arm.tension_n,
                        match (
                            w.arm(tensioner::BeltState::Shortest),
                            w.arm(tensioner::BeltState::Longest)
                        ) {
                            (Some(s), Some(l)) => format!(
                                " A new belt may stand between {:.0} and {:.0} deg.",
                                s.arm_deg, l.arm_deg
                            ),
                            _ => String::new(),
                        }
                    ));
                }
            }
        }
        TakeUp::Manual(m) => steps.push(tension(drive, analysis, m.set_tension_n)),
        TakeUp::Fixed { set_tension_n } => steps.push(tension(drive, analysis, *set_tension_n)),
    }
    steps.push(
        "Turn the engine over by hand, twice: every rib in its groove, the belt off no face's edge, the rod as before."
            .to_owned(),
    );
    vec![
        Part::Heading("Fitting the belt".to_owned()),
        Part::Steps(steps),
    ]
}

fn tension(drive: &Drive, analysis: &Analysis, set_n: f64) -> String {
    let longest = analysis
        .path
        .spans
        .iter()
        .max_by(|a, b| a.length_mm.total_cmp(&b.length_mm));
    let hz = longest.map_or_else(String::new, |s| {
        format!(
            ": the span from {} to {}, {:.0} mm, then rings at {:.0} Hz when plucked",
            analysis.path.contacts[s.from].id,
            analysis.path.contacts[s.to].id,
            s.length_mm,
            crate::drive::span::still_hz(set_n, drive.belt.mass_kg_m(), s.length_mm)
        )
    });
    format!("Set the belt to {set_n:.0} N{hz}.")
}

fn tightening(project: &Project) -> Vec<Part> {
    let rows = torque::rows(project);
    vec![
        Part::Heading("Final tightening".to_owned()),
        Part::Text(
            "In this order: first every bolt of a part to the first pass, then to the full torque. Bolts that are \
             covered later have had theirs."
                .to_owned(),
        ),
        Part::Table {
            head: vec!["no.", "joint", "tool", "first, N·m", "full, N·m", "when"],
            shares: vec![0.06, 0.24, 0.2, 0.12, 0.12, 0.26],
            rows: rows
                .into_iter()
                .map(|r| {
                    vec![
                        r.sequence.to_string(),
                        r.joint,
                        r.tool,
                        format!("{:.1}", r.first_nm),
                        format!("{:.1}", r.torque_nm),
                        r.when,
                    ]
                })
                .collect(),
        },
    ]
}

fn afterwards(project: &Project) -> Vec<Part> {
    let mut points = vec![
        "Run to working temperature and let the engine go cold. Battery off, locked out.".to_owned(),
        "Set the wrench to the full torque of the table and pull each bolt in the same order: a bolt that turns has \
         settled; one that turns again the next time has a fault that torque does not mend."
            .to_owned(),
    ];
    let soft: Vec<&str> = project
        .bolting
        .joints
        .iter()
        .filter(|b| b.report.settling.thermal_gain_n > 0.2 * b.report.preload.preload_max_n)
        .map(|b| b.joint.as_str())
        .collect();
    if !soft.is_empty() {
        points.push(format!(
            "Heat adds more than a fifth to the preload of {}: look there first.",
            soft.join(", ")
        ));
    }
    if project.drive.is_some() {
        points.push(
            "Lay the rod again; look at the belt's edges and at the grooves for dust.".to_owned(),
        );
        points.push(
            "Look at the tensioner's arm, or check the set tension: a new belt loses some of it."
                .to_owned(),
        );
    }
    vec![
        Part::Heading("After the first heat cycle".to_owned()),
        Part::Points(points),
    ]
}

/// What to do when the belt misbehaves, with the computed side to shim.
fn trouble(drive: &Drive, analysis: &Analysis, line_up: &shim::Drive) -> Vec<Part> {
    let mut rows: Vec<Vec<String>> = Vec::new();
    for (symptom, name) in [
        (Symptom::Climbs, "belt climbs"),
        (Symptom::Walks, "belt walks off"),
        (Symptom::Squeals, "squeal"),
    ] {
        for p in line_up
            .pulleys
            .iter()
            .filter(|p| p.name != line_up.reference && p.mount.is_some())
        {
            // Ribs climb out of grooves; on a flat face the belt walks.
            let flat = drive
                .pulleys
                .iter()
                .any(|q| q.id == p.name && !q.guides_the_belt());
            if (symptom == Symptom::Climbs && flat) || (symptom == Symptom::Walks && !flat) {
                continue;
            }
            let Ok(advice) = shim::advise(line_up, symptom, &p.name, None) else {
                continue;
            };
            for a in advice {
                let side = match a.towards {
                    Towards::Front => "front",
                    Towards::Back => "engine",
                };
                rows.push(vec![
                    format!("{name} at {}", p.name),
                    side.to_owned(),
                    a.likely,
                    a.correction,
                ]);
            }
        }
    }
    rows.extend(at_its_stop(drive, analysis));
    vec![
        Part::Heading("When the belt misbehaves".to_owned()),
        Part::Text(
            "Common practice, no source; the directions come from the geometry. Engine off and locked out before \
             anything is touched."
                .to_owned(),
        ),
        Part::Table {
            head: vec!["what is seen or heard", "towards", "likely", "do"],
            shares: vec![0.16, 0.09, 0.33, 0.42],
            rows,
        },
    ]
}

/// The arm, or the accessory in its slot, at the end of its travel.
fn at_its_stop(drive: &Drive, analysis: &Analysis) -> Vec<Vec<String>> {
    let row = |what: &str, likely: String, then: String| {
        vec![what.to_owned(), "-".to_owned(), likely, then]
    };
    match &drive.take_up {
        TakeUp::Spring(t) => {
            let Some(w) = &analysis.tensioner else {
                return Vec::new();
            };
            vec![
                row(
                    "arm at its slack stop",
                    format!(
                        "the belt is longer than {:.0} mm: stretched, a longer one, or off a pulley",
                        w.longest_mm
                    ),
                    format!(
                        "check the route and the length; a belt in order keeps the arm clear of {:.0} deg",
                        t.slack_stop_deg
                    ),
                ),
                row(
                    "arm at its wound stop",
                    format!(
                        "the belt is shorter than {:.0} mm, or it runs on the wrong side of a pulley",
                        w.shortest_mm
                    ),
                    format!(
                        "check the route, then the length; the stop is at {:.0} deg",
                        t.wound_stop_deg
                    ),
                ),
            ]
        }
        TakeUp::Manual(_) => {
            let Some(t) = &analysis.take_up else {
                return Vec::new();
            };
            vec![row(
                "clamp bolt at the slot's end",
                format!(
                    "the belt is not between {:.0} and {:.0} mm",
                    t.shortest_mm, t.longest_mm
                ),
                "check the route and the length; a belt at the end of its life is replaced"
                    .to_owned(),
            )]
        }
        TakeUp::Fixed { .. } => Vec::new(),
    }
}
