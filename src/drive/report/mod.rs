//! The drive as text: belt, path, tensions, take-up, vibration, alignment, gaps and margins in plain tables.

mod table;

use std::fmt::Write as _;

use super::judge::Judgement;
use super::rule::{Sense, Weight};
use super::span::SpanFrequency;
use super::{Analysis, Fault};
use table::{f, optional, table};

/// Writes the whole report; the same analysis gives the same bytes.
#[must_use]
pub fn write(analysis: &Analysis) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "{}", analysis.name);
    let _ = writeln!(out, "{}", "=".repeat(analysis.name.chars().count()));
    verdict(&mut out, analysis);
    belt(&mut out, analysis);
    path(&mut out, analysis);
    tensions(&mut out, analysis);
    tensioner(&mut out, analysis);
    take_up(&mut out, analysis);
    choices(&mut out, analysis);
    vibration(&mut out, analysis);
    alignment(&mut out, analysis);
    gaps(&mut out, analysis);
    margins(&mut out, analysis);
    out
}

fn verdict(out: &mut String, analysis: &Analysis) {
    let failing = |weight| {
        analysis
            .judgements
            .iter()
            .filter(|j| !j.holds && j.rule.weight == weight)
            .count()
    };
    let (must, advice) = (failing(Weight::Must), failing(Weight::Advice));
    let held = analysis.judgements.len() - must - advice;
    let _ = writeln!(
        out,
        "{held} of {} rules hold, {must} fail, {advice} give advice",
        analysis.judgements.len()
    );
}

fn section(out: &mut String, title: &str) {
    let _ = writeln!(out, "\n{title}");
}

fn belt(out: &mut String, analysis: &Analysis) {
    let b = &analysis.belt;
    section(out, "Belt");
    let stocked = if b.is_stocked {
        "stocked"
    } else {
        "not in the stock list"
    };
    let _ = writeln!(
        out,
        "  {} ({stocked}): {} mm wide, {} kg/m",
        b.designation,
        f(b.width_mm, 2),
        f(b.mass_kg_m, 3)
    );
    let _ = writeln!(
        out,
        "  effective length {} mm new ({} to {}), {} mm at its end of life",
        f(b.effective_length_mm, 1),
        f(b.shortest_mm, 1),
        f(b.longest_mm, 1),
        f(b.end_of_life_mm, 1)
    );
    let _ = writeln!(
        out,
        "  in the drive: effective line {} mm, pitch line {} mm, outside {} mm",
        f(analysis.path.effective_length_mm, 3),
        f(analysis.path.pitch_length_mm, 3),
        f(analysis.path.outside_length_mm, 3)
    );
}

fn path(out: &mut String, analysis: &Analysis) {
    section(out, "Path, from the driver along the belt");
    let rows: Vec<Vec<String>> = analysis
        .path
        .contacts
        .iter()
        .zip(&analysis.path.spans)
        .zip(&analysis.speeds)
        .map(|((c, span), s)| {
            vec![
                c.id.clone(),
                match c.side {
                    super::Side::Rib => "ribs",
                    super::Side::Back => "back",
                }
                .to_owned(),
                match c.turns {
                    super::Rotation::Clockwise => "cw",
                    super::Rotation::CounterClockwise => "ccw",
                }
                .to_owned(),
                f(c.centre_mm.x, 2),
                f(c.centre_mm.y, 2),
                f(c.wrap_deg, 2),
                f(c.arc_mm, 2),
                span.number.to_string(),
                f(span.length_mm, 2),
                f(c.ratio, 4),
                f(s.idle_rpm, 0),
                f(s.top_rpm, 0),
                optional(s.greatest_rpm, 0),
            ]
        })
        .collect();
    table(
        out,
        &[
            "pulley",
            "side",
            "turns",
            "x mm",
            "y mm",
            "wrap deg",
            "arc mm",
            "span",
            "length mm",
            "ratio",
            "idle rpm",
            "top rpm",
            "limit rpm",
        ],
        3,
        false,
        &rows,
    );
}

fn tensions(out: &mut String, analysis: &Analysis) {
    for point in &analysis.points {
        let title = format!(
            "Tensions, {}, {} rpm: belt {} m/s, centrifugal part {} N",
            point.state,
            f(point.crank_rpm, 0),
            f(point.belt_speed_m_s, 1),
            f(point.centrifugal_n, 0)
        );
        section(out, &title);
        let rows: Vec<Vec<String>> = point
            .pulleys
            .iter()
            .map(|p| {
                vec![
                    p.id.clone(),
                    f(p.rpm, 0),
                    f(p.torque_nm, 2),
                    f(p.power_kw, 2),
                    f(p.tension_in_n, 0),
                    f(p.tension_out_n, 0),
                    f(p.tension_per_rib_n, 1),
                    optional(p.tension_ratio, 2),
                    f(p.ratio_limit, 2),
                    optional(p.slip_margin, 2),
                    f(p.hub_load_size_n, 0),
                    f(p.hub_load_deg, 1),
                ]
            })
            .collect();
        table(
            out,
            &[
                "pulley", "rpm", "N·m", "kW", "in N", "out N", "N/rib", "ratio", "slips at",
                "margin", "hub N", "hub deg",
            ],
            1,
            false,
            &rows,
        );
    }
}

fn reason(fault: Option<&Fault>) -> String {
    fault.map_or_else(String::new, ToString::to_string)
}

fn tensioner(out: &mut String, analysis: &Analysis) {
    let Some(w) = &analysis.tensioner else {
        return;
    };
    section(out, "Spring tensioner");
    let rows: Vec<Vec<String>> = w
        .reaches
        .iter()
        .map(|r| {
            let mut row = vec![r.state.words().to_owned(), f(r.length_mm, 1)];
            match &r.arm {
                Some(a) => row.extend([
                    f(a.arm_deg, 2),
                    f(100.0 * a.travel, 0),
                    f(a.take_up_mm_per_deg, 3),
                    f(a.wrap_deg, 1),
                    f(a.torque_nm, 2),
                    f(a.tension_n, 0),
                    f(a.tension_low_n, 0),
                    f(a.tension_high_n, 0),
                    f(a.hub_load_n.length(), 0),
                    f(a.hub_to_arm_deg, 1),
                ]),
                None => row.extend(std::iter::repeat_n("-".to_owned(), 10)),
            }
            row.push(reason(r.fault.as_ref()));
            row
        })
        .collect();
    table(
        out,
        &[
            "belt",
            "length mm",
            "arm deg",
            "travel %",
            "mm/deg",
            "wrap deg",
            "N·m",
            "T N",
            "damped",
            "to N",
            "hub N",
            "hub to arm",
            "",
        ],
        1,
        true,
        &rows,
    );
    let end = if w.ends_at_dead_centre {
        "dead centre"
    } else {
        "wound stop"
    };
    let _ = writeln!(
        out,
        "  holds {} mm ({end}, {} deg) to {} mm ({} deg)",
        f(w.shortest_mm, 1),
        f(w.shortest_arm_deg, 2),
        f(w.longest_mm, 1),
        f(w.longest_arm_deg, 2)
    );
    if let Some(s) = &w.slip_on {
        slip_on(out, s);
    }
    if let Some(fault) = &w.slip_on_fault {
        let _ = writeln!(out, "  slipping the belt on: {fault}");
    }
}

fn slip_on(out: &mut String, s: &super::tensioner::SlipOn) {
    let verdict = if s.room_mm >= 0.0 {
        format!("{} mm to spare", f(s.room_mm, 1))
    } else {
        format!("{} mm short", f(-s.room_mm, 1))
    };
    let _ = writeln!(
        out,
        "  belt over the rim of {}: needs {} mm, the shortest belt has {} mm: {verdict}",
        s.over,
        f(s.needed_mm, 1),
        f(s.shortest_mm, 1)
    );
}

fn take_up(out: &mut String, analysis: &Analysis) {
    let Some(t) = &analysis.take_up else {
        return;
    };
    section(out, "Manual take-up");
    let rows: Vec<Vec<String>> = t
        .needs
        .iter()
        .map(|n| {
            let mut row = vec![n.what.clone(), f(n.length_mm, 1)];
            match &n.position {
                Some(p) => row.extend([
                    f(p.travel, 2),
                    f(p.centre_mm.x, 2),
                    f(p.centre_mm.y, 2),
                    f(p.bolt_mm.x, 2),
                    f(p.bolt_mm.y, 2),
                    f(p.take_up_mm, 3),
                ]),
                None => row.extend(std::iter::repeat_n("-".to_owned(), 6)),
            }
            row.push(reason(n.fault.as_ref()));
            row
        })
        .collect();
    let travel = format!("travel {}", t.unit);
    let rate = format!("belt mm/{}", t.unit);
    table(
        out,
        &[
            "for",
            "length mm",
            &travel,
            "x mm",
            "y mm",
            "bolt x mm",
            "bolt y mm",
            &rate,
            "",
        ],
        1,
        true,
        &rows,
    );
    match &t.slot {
        Some(super::takeup::Slot::Arc {
            pivot_mm,
            track_mm,
            start_deg,
            end_deg,
        }) => {
            let _ = writeln!(
                out,
                "  arc slot about ({}, {}): radius {} mm, {} to {} deg, bolt path {} mm",
                f(pivot_mm.x, 2),
                f(pivot_mm.y, 2),
                f(*track_mm, 3),
                f(*start_deg, 3),
                f(*end_deg, 3),
                f(track_mm * (end_deg - start_deg).to_radians(), 2)
            );
        }
        Some(super::takeup::Slot::Straight { from_mm, to_mm }) => {
            let _ = writeln!(
                out,
                "  straight slot from ({}, {}) to ({}, {}), bolt path {} mm",
                f(from_mm.x, 3),
                f(from_mm.y, 3),
                f(to_mm.x, 3),
                f(to_mm.y, 3),
                f(from_mm.distance(*to_mm), 2)
            );
        }
        None => {
            let _ = writeln!(out, "  no slot serves every need");
        }
    }
    if let Some(s) = &t.slip_on {
        slip_on(out, s);
    }
}

fn choices(out: &mut String, analysis: &Analysis) {
    section(out, "Stocked lengths near this drive");
    let rows: Vec<Vec<String>> = analysis
        .choices
        .iter()
        .map(|c| {
            vec![
                f(c.length_mm, 0),
                if c.fits { "yes" } else { "no" }.to_owned(),
                optional(c.shortest_position, 2),
                optional(c.position, 2),
                optional(c.end_of_life_position, 2),
                optional(c.travel_used.map(|t| 100.0 * t), 0),
                optional(c.tension_n, 0),
                optional(c.slip_on_room_mm, 1),
                c.why_not.first().cloned().unwrap_or_default(),
            ]
        })
        .collect();
    table(
        out,
        &[
            "length mm",
            "fits",
            "shortest at",
            "nominal at",
            "old at",
            "travel %",
            "T N",
            "rim mm",
            "first reason",
        ],
        0,
        true,
        &rows,
    );
}

fn vibration(out: &mut String, analysis: &Analysis) {
    section(
        out,
        "Span vibration, first lateral mode of the running belt",
    );
    let hz = |h: &SpanFrequency| {
        format!(
            "{} Hz at {} rpm (firing {})",
            f(h.running_hz, 1),
            f(h.crank_rpm, 0),
            f(h.firing_hz, 1)
        )
    };
    let rows: Vec<Vec<String>> = analysis
        .spans
        .iter()
        .map(|s| {
            vec![
                s.number.to_string(),
                format!("{} to {}", s.from, s.to),
                f(s.length_mm, 1),
                s.held.iter().map(hz).collect::<Vec<_>>().join(", "),
            ]
        })
        .collect();
    table(
        out,
        &["span", "", "length mm", "held speeds"],
        2,
        true,
        &rows,
    );
    for s in &analysis.spans {
        for r in &s.resonances {
            let _ = writeln!(
                out,
                "  span {} meets order {} ({}) at {} rpm, {} Hz",
                s.number,
                f(r.order.order, 1),
                r.order.name,
                f(r.crank_rpm, 0),
                f(r.frequency_hz, 1)
            );
        }
    }
}

fn alignment(out: &mut String, analysis: &Analysis) {
    section(out, "Alignment");
    let rows: Vec<Vec<String>> = analysis
        .alignment
        .spans
        .iter()
        .map(|a| {
            vec![
                a.number.to_string(),
                format!("{} to {}", a.from, a.to),
                f(a.offset_mm, 3),
                f(a.offset_mm_per_100, 3),
                f(a.angle_deg, 3),
                f(a.rss_deg, 3),
                f(a.worst_deg, 3),
                f(a.correctable_deg, 3),
                f(a.worst_corrected_deg, 3),
            ]
        })
        .collect();
    table(
        out,
        &[
            "span",
            "",
            "offset mm",
            "mm/100",
            "entry deg",
            "rss deg",
            "worst deg",
            "play deg",
            "after deg",
        ],
        2,
        false,
        &rows,
    );
    for flat in &analysis.alignment.flats {
        let _ = writeln!(
            out,
            "  flat pulley {}: belt {} mm off its middle, {} mm at worst, {} mm of face left",
            flat.pulley,
            f(flat.off_middle_mm, 2),
            f(flat.worst_mm, 2),
            f(flat.face_left_mm, 2)
        );
    }
}

/// Gaps wider than this many times their limit are not printed.
const NEAR: f64 = 3.0;

fn gaps(out: &mut String, analysis: &Analysis) {
    section(out, "Gaps over the sweep, tightest first");
    let rows: Vec<Vec<String>> = analysis
        .gaps
        .iter()
        .filter(|g| g.gap_mm < NEAR * g.limit_mm)
        .map(|g| {
            vec![
                format!("{} to {}", g.a, g.b),
                f(g.gap_mm, 2),
                f(g.limit_mm, 1),
                f(g.at_mm.x, 1),
                f(g.at_mm.y, 1),
                f(100.0 * g.sweep, 0),
            ]
        })
        .collect();
    table(
        out,
        &["pair", "gap mm", "limit mm", "x mm", "y mm", "sweep %"],
        1,
        false,
        &rows,
    );
}

fn margins(out: &mut String, analysis: &Analysis) {
    section(out, "Margins, failing first");
    let mut sorted: Vec<&Judgement> = analysis.judgements.iter().collect();
    // Failing before holding, must before advice; within them the rule order stays.
    sorted.sort_by_key(|j| (j.holds, j.rule.weight == Weight::Advice));
    let rows: Vec<Vec<String>> = sorted
        .iter()
        .map(|j| {
            let state = match (j.holds, j.rule.weight) {
                (true, _) => "holds",
                (false, Weight::Must) => "FAILS",
                (false, Weight::Advice) => "advice",
            };
            let sense = match j.rule.sense {
                Sense::AtLeast => "≥",
                Sense::AtMost => "≤",
            };
            vec![
                j.rule.id.to_owned(),
                state.to_owned(),
                j.rule.title.to_owned(),
                j.what.clone(),
                optional(j.measured, 3),
                format!("{sense} {}", f(j.limit, 3)),
                optional(j.margin, 3),
                j.note.clone(),
            ]
        })
        .collect();
    table(
        out,
        &[
            "rule", "", "what", "where", "measured", "limit", "margin", "note",
        ],
        4,
        true,
        &rows,
    );
    section(out, "Sources of the limits");
    let mut seen = std::collections::BTreeMap::new();
    for j in &analysis.judgements {
        seen.insert(j.rule.id, j.rule);
    }
    for rule in seen.values() {
        let _ = writeln!(out, "  {} {}: {}", rule.id, rule.title, rule.source);
    }
}
