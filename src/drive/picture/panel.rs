//! The panel beside the picture: belt, key, scale, and the tables of pulleys, spans and arm positions.

use std::fmt::Write as _;

use super::super::Analysis;
use super::super::input::{Drive, TakeUp};
use super::super::tensioner::BeltState;
use super::label::width_mm;
use super::sheet::{Anchor, Sheet, Type, n};

/// Distance between table rows, mm.
const ROW_MM: f64 = 4.4;

/// Least width of the panel, mm.
const WIDTH_MM: f64 = 60.0;

/// Writes the panel with its upper left corner at (`x`, `y`); returns its right and lower edges.
pub(super) fn write(
    sheet: &mut Sheet,
    drive: &Drive,
    analysis: &Analysis,
    x: f64,
    y: f64,
) -> (f64, f64) {
    let belt = &analysis.belt;
    let mut y = y + 5.0;
    sheet.text((x, y), Anchor::Start, Type::TITLE, &analysis.name);
    y += 6.6;
    let line = format!(
        "belt {}: {:.2} mm wide, {:.3} kg/m",
        belt.designation, belt.width_mm, belt.mass_kg_m
    );
    sheet.text((x, y), Anchor::Start, Type::TEXT, &line);
    y += ROW_MM;
    let line = format!(
        "length: effective {:.1}, pitch {:.1}, outside {:.1} mm",
        analysis.path.effective_length_mm,
        analysis.path.pitch_length_mm,
        analysis.path.outside_length_mm
    );
    sheet.text((x, y), Anchor::Start, Type::TEXT, &line);
    y = key(sheet, drive, x, y + 8.0);
    y = scale_bar(sheet, x, y + 7.5);
    y = pulleys(sheet, analysis, x, y + 9.0);
    y = spans(sheet, analysis, x, y + 7.0);
    y = sweep(sheet, drive, analysis, x, y + 7.0);
    let width = sheet
        .texts
        .iter()
        .map(|t| t.x_mm + t.width_mm)
        .fold(x + WIDTH_MM, f64::max);
    (width, y)
}

/// A sample of belt that tells rib side from back, the travel and the wrap arc.
fn key(sheet: &mut Sheet, drive: &Drive, x: f64, y: f64) -> f64 {
    let (length, thick) = (24.0, 2.5);
    let _ = writeln!(
        sheet.body,
        r##"<rect x="{}" y="{}" width="{}" height="{}" fill="#d6d6d6"/>"##,
        n(x),
        n(y - thick),
        n(length),
        n(thick)
    );
    sheet.paper_line("back", (x, y - thick), (x + length, y - thick));
    sheet.paper_line("ribs", (x, y), (x + length, y));
    let mut at = x + 1.1;
    while at < x + length {
        sheet.paper_line("tick", (at, y), (at, y - 0.62 * thick));
        at += 2.2;
    }
    sheet.arrowhead((x + 0.5 * length + 1.2, y - thick - 1.5), (1.0, 0.0), 2.4);
    sheet.text(
        (x + length + 3.0, y - 1.9),
        Anchor::Start,
        Type::SMALL,
        "back: heavy edge, arrow shows the travel",
    );
    sheet.text(
        (x + length + 3.0, y + 1.7),
        Anchor::Start,
        Type::SMALL,
        "ribs: ticked edge",
    );
    let y = y + 6.2;
    sheet.paper_line("wrap", (x, y - 0.9), (x + length, y - 0.9));
    sheet.text(
        (x + length + 3.0, y),
        Anchor::Start,
        Type::SMALL,
        "wrap on a pulley",
    );
    let mut y = y;
    let positions = match &drive.take_up {
        TakeUp::Fixed { .. } => None,
        TakeUp::Spring(_) => Some("pulley at S and at E"),
        TakeUp::Manual(_) => Some("pulley at F and at E"),
    };
    if let Some(words) = positions {
        y += 4.2;
        sheet.paper_line("ghost", (x, y - 0.9), (x + length, y - 0.9));
        sheet.text((x + length + 3.0, y), Anchor::Start, Type::SMALL, words);
    }
    if !drive.obstacles.is_empty() {
        y += 5.0;
        let _ = writeln!(
            sheet.body,
            r#"<path class="keepout" d="M{} {}h{}v3.2h-{}Z"/>"#,
            n(x),
            n(y - 2.5),
            n(length),
            n(length)
        );
        sheet.text(
            (x + length + 3.0, y),
            Anchor::Start,
            Type::SMALL,
            "keep-out",
        );
    }
    y
}

fn scale_bar(sheet: &mut Sheet, x: f64, y: f64) -> f64 {
    // Pieces of 20 to 50 mm of paper.
    let model = match sheet.scale {
        s if s < 4.0 => 50,
        s if s < 8.0 => 100,
        s if s < 15.0 => 200,
        _ => 500,
    };
    let piece = f64::from(model) / sheet.scale;
    for i in 0..2 {
        let class = if i == 0 { "bar" } else { "barlight" };
        let _ = writeln!(
            sheet.body,
            r#"<path class="{class}" d="M{} {}h{}v1.4h-{}Z"/>"#,
            n(x + f64::from(i) * piece),
            n(y - 1.4),
            n(piece),
            n(piece)
        );
    }
    let numbers = [
        "0".to_owned(),
        model.to_string(),
        format!("{} mm", 2 * model),
    ];
    for (i, text) in numbers.iter().enumerate() {
        let anchor = if i == 0 {
            Anchor::Start
        } else {
            Anchor::Middle
        };
        sheet.text((x + i as f64 * piece, y + 3.2), anchor, Type::SMALL, text);
    }
    let text = format!("scale 1 : {}", n(sheet.scale));
    sheet.text(
        (x + 2.0 * piece + 12.0, y),
        Anchor::Start,
        Type::HEAD,
        &text,
    );
    y + 3.2
}

/// Which edge of a column its cells line up on.
type Column = (&'static str, Anchor);

const fn left(head: &'static str) -> Column {
    (head, Anchor::Start)
}

const fn right(head: &'static str) -> Column {
    (head, Anchor::End)
}

/// A table whose columns are as wide as what stands in them.
fn table(sheet: &mut Sheet, x: f64, y: f64, columns: &[Column], rows: &[Vec<String>]) -> f64 {
    const GAP_MM: f64 = 5.0;
    let size = Type::SMALL.size_mm;
    let rows: Vec<Vec<String>> = rows
        .iter()
        .map(|row| row.iter().map(|cell| true_minus(cell)).collect())
        .collect();
    let mut edges = Vec::with_capacity(columns.len());
    let mut at = x;
    for (i, (head, anchor)) in columns.iter().enumerate() {
        let width = rows
            .iter()
            .filter_map(|row| row.get(i))
            .map(|cell| width_mm(cell, size, false))
            .fold(width_mm(head, size, true), f64::max);
        edges.push(match anchor {
            Anchor::End => at + width,
            Anchor::Start | Anchor::Middle => at,
        });
        at += width + GAP_MM;
    }
    for ((head, anchor), edge) in columns.iter().zip(&edges) {
        sheet.text((*edge, y), *anchor, Type::SMALL_BOLD, head);
    }
    sheet.paper_line("rule", (x, y + 1.2), (at - GAP_MM, y + 1.2));
    let mut y = y;
    for row in &rows {
        y += ROW_MM;
        for (((_, anchor), edge), cell) in columns.iter().zip(&edges).zip(row) {
            sheet.text((*edge, y), *anchor, Type::SMALL, cell);
        }
    }
    y
}

/// A number with a minus as wide as a digit, which reads better than a hyphen.
fn true_minus(cell: &str) -> String {
    match cell.strip_prefix('-') {
        Some(rest) if rest.starts_with(|c: char| c.is_ascii_digit()) => format!("−{rest}"),
        _ => cell.to_owned(),
    }
}

fn pulleys(sheet: &mut Sheet, analysis: &Analysis, x: f64, y: f64) -> f64 {
    let columns = [
        left("pulley"),
        right("wrap deg"),
        right("ratio"),
        right("idle rpm"),
        right("top rpm"),
    ];
    let rows: Vec<Vec<String>> = analysis
        .path
        .contacts
        .iter()
        .zip(&analysis.speeds)
        .map(|(c, s)| {
            vec![
                c.id.clone(),
                format!("{:.1}", c.wrap_deg),
                format!("{:.3}", c.ratio),
                format!("{:.0}", s.idle_rpm),
                format!("{:.0}", s.top_rpm),
            ]
        })
        .collect();
    table(sheet, x, y, &columns, &rows)
}

fn spans(sheet: &mut Sheet, analysis: &Analysis, x: f64, y: f64) -> f64 {
    let columns = [
        left("span"),
        right("length mm"),
        right("N at idle"),
        right("N at top"),
        right("Hz at top"),
    ];
    let rows: Vec<Vec<String>> = analysis
        .spans
        .iter()
        .map(|s| {
            let (idle, top) = (s.held.first(), s.held.last());
            let force = |h: Option<&super::super::span::SpanFrequency>| {
                h.map_or_else(String::new, |h| format!("{:.0}", h.tension_n))
            };
            vec![
                s.number.to_string(),
                format!("{:.1}", s.length_mm),
                force(idle),
                force(top),
                top.map_or_else(String::new, |h| format!("{:.0}", h.running_hz)),
            ]
        })
        .collect();
    table(sheet, x, y, &columns, &rows)
}

fn sweep(sheet: &mut Sheet, drive: &Drive, analysis: &Analysis, x: f64, y: f64) -> f64 {
    let marks = super::sweep::lettered(drive, analysis);
    if marks.is_empty() {
        return y - 7.0;
    }
    let (head, columns) = if let TakeUp::Spring(_) = &drive.take_up {
        ("arm", [right("deg"), right("N at rest")])
    } else {
        let slides = analysis.take_up.as_ref().is_some_and(|t| t.unit == "mm");
        let travel = if slides { "travel mm" } else { "travel deg" };
        ("take-up", [right(travel), right("belt mm")])
    };
    let [second, third] = columns;
    let columns = [left(head), left(""), second, third];
    let rows: Vec<Vec<String>> = marks
        .iter()
        .map(|(letter, words, value)| {
            let last = match &analysis.tensioner {
                Some(w) => BeltState::ALL
                    .iter()
                    .find(|s| s.words() == *words)
                    .and_then(|s| w.arm(*s))
                    .map(|a| format!("{:.0}", a.tension_n)),
                None => analysis
                    .take_up
                    .iter()
                    .flat_map(|t| &t.needs)
                    .find(|need| need.what == *words)
                    .map(|need| format!("{:.1}", need.length_mm)),
            };
            vec![
                letter.to_string(),
                (*words).to_owned(),
                format!("{value:.1}"),
                last.unwrap_or_default(),
            ]
        })
        .collect();
    table(sheet, x, y, &columns, &rows)
}
