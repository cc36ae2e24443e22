//! The drive to scale as SVG: pulleys, belt, arm sweep, span numbers, wraps and keep-outs, fit for a black and white printer.

mod label;
mod panel;
mod sheet;
mod sweep;

use std::fmt::Write as _;

use serde::Serialize;

pub use label::{Ink, TextBox, place, width_mm};
pub use sheet::{Anchor, Sheet, Type, escape, n};

use super::Analysis;
use super::input::{Drive, Face, Motion, Rotation, TakeUp};
use super::path::{BeltPath, Contact};
use super::tensioner::BeltState;
use crate::geom::{Extents, Path, Point, Segment, Vector};
use crate::tol::PARALLEL;

/// Scales tried, model mm per paper mm, finest first (ISO 5455).
const SCALES: [f64; 5] = [1.0, 2.0, 5.0, 10.0, 20.0];

/// Greatest width of the drawing itself, mm of paper: with the panel it fills an A3 sheet.
const GREATEST_WIDTH_MM: f64 = 370.0;

/// Greatest height, mm of paper.
const GREATEST_HEIGHT_MM: f64 = 280.0;

/// Margin round everything, mm of paper.
const MARGIN_MM: f64 = 9.0;

/// Distance of the ticks on the rib side, mm of paper.
const TICK_PITCH_MM: f64 = 2.2;

/// Every rule is bound to the picture's own class, so that it stays inside a page that holds more than the picture.
const STYLE: &str = r#"
.drive-picture text{font-family:"Liberation Sans",Arial,Helvetica,sans-serif;fill:#111}
.drive-picture path,.drive-picture circle{fill:none;stroke:#111;stroke-width:.25;stroke-linecap:round;stroke-linejoin:round}
.drive-picture .axis{stroke:#777;stroke-width:.13;stroke-dasharray:6 1.2 .8 1.2}
.drive-picture .rim{fill:#fff;stroke-width:.25}
.drive-picture .face{stroke-width:.18}
.drive-picture .flat{fill:#f1f1f1;stroke-width:.25}
.drive-picture .groove{stroke:#777;stroke-width:.13}
.drive-picture .hub{fill:#fff;stroke-width:.18}
.drive-picture .mark{stroke-width:.18}
.drive-picture .wrap{stroke-width:.7;stroke:#555;stroke-linecap:butt}
.drive-picture .belt{fill:#d6d6d6;stroke:none;fill-rule:evenodd}
.drive-picture .back{stroke-width:.75}
.drive-picture .ribs{stroke-width:.25}
.drive-picture .tick{stroke-width:.3;stroke-linecap:butt}
.drive-picture .turn{stroke-width:.45}
.drive-picture .solid{fill:#111;stroke:none}
.drive-picture .keepout{fill:url(#drive-hatch);stroke-width:.35;stroke-dasharray:2.4 1}
.drive-picture .arm{fill:#fff;stroke-width:.35}
.drive-picture .ghost{stroke:#444;stroke-width:.22;stroke-dasharray:1.4 .9}
.drive-picture .sweep{stroke-width:.3}
.drive-picture .slot{fill:#fff;stroke-width:.4}
.drive-picture .balloon{fill:#fff;stroke-width:.3}
.drive-picture .leader{stroke-width:.15}
.drive-picture .rule{stroke-width:.2}
.drive-picture .frame{stroke-width:.5}
.drive-picture .bar{fill:#111;stroke:#111;stroke-width:.2}
.drive-picture .barlight{fill:#fff;stroke:#111;stroke-width:.2}
"#;

/// A finished picture.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Picture {
    /// The SVG document; its width and height print it to scale.
    pub svg: String,
    /// Every text with its box, mm of paper.
    pub texts: Vec<TextBox>,
    /// Model mm per paper mm.
    pub scale: f64,
    /// Model point at the paper's origin, mm.
    #[serde(serialize_with = "super::xy::point")]
    pub origin_mm: Point,
    /// Paper width, mm.
    pub width_mm: f64,
    /// Paper height, mm.
    pub height_mm: f64,
    /// The drive alone, without the panel beside it: left, upper, right and lower edge, mm of paper.
    pub drive_mm: [f64; 4],
}

impl Picture {
    /// Paper position of a model point, mm.
    #[must_use]
    pub fn at(&self, p: Point) -> (f64, f64) {
        Sheet::new(self.scale, self.origin_mm).at(p)
    }
}

/// Draws a drive and what is known of it.
///
/// The same analysis gives the same bytes.
#[must_use]
pub fn draw(drive: &Drive, analysis: &Analysis) -> Picture {
    let extents = extents(drive, analysis);
    let scale = SCALES
        .into_iter()
        .find(|s| {
            extents.width() / s <= GREATEST_WIDTH_MM && extents.height() / s <= GREATEST_HEIGHT_MM
        })
        .unwrap_or(SCALES[SCALES.len() - 1]);
    drawn(drive, analysis, &extents, scale)
}

/// Draws a drive so that it is `width_mm` wide on paper, to no standard scale: the smaller, the larger its text beside it.
///
/// The same analysis gives the same bytes.
#[must_use]
pub fn draw_within(drive: &Drive, analysis: &Analysis, width_mm: f64) -> Picture {
    let extents = extents(drive, analysis);
    let scale = extents.width() / width_mm;
    drawn(drive, analysis, &extents, scale)
}

fn drawn(drive: &Drive, analysis: &Analysis, extents: &Extents, scale: f64) -> Picture {
    let mut sheet = Sheet::new(scale, Point::new(extents.min.x, extents.max.y));
    axes(&mut sheet, extents);
    keep_outs(&mut sheet, drive);
    match &drive.take_up {
        TakeUp::Fixed { .. } => {}
        TakeUp::Spring(t) => sweep::arm_sweep(&mut sheet, drive, analysis, t),
        TakeUp::Manual(m) => sweep::slot_sweep(&mut sheet, drive, analysis, m),
    }
    for contact in &analysis.path.contacts {
        pulley(&mut sheet, drive, contact);
    }
    belt(&mut sheet, drive, &analysis.path);
    for contact in &analysis.path.contacts {
        turn_arrow(&mut sheet, drive, contact);
        pulley_text(&mut sheet, drive, contact);
    }
    span_numbers(&mut sheet, drive, &analysis.path);
    sweep::sweep_letters(&mut sheet, drive, analysis);
    keep_out_names(&mut sheet, drive);
    finish(sheet, drive, analysis, extents)
}

/// Everything drawn to scale, with room for text round it.
fn extents(drive: &Drive, analysis: &Analysis) -> Extents {
    let mut e = Extents::EMPTY;
    let mut disc = |c: Point, r: f64| {
        e.add(Point::new(c.x - r, c.y - r));
        e.add(Point::new(c.x + r, c.y + r));
    };
    for contact in &analysis.path.contacts {
        let p = &drive.pulleys[contact.pulley];
        let r = (0.5 * p.rim_diameter_mm).max(contact.line_radius_mm);
        disc(contact.centre_mm, r + drive.belt.section.height_mm);
    }
    match &drive.take_up {
        TakeUp::Fixed { .. } => {}
        TakeUp::Spring(t) => {
            let r = 0.5 * drive.pulleys[t.pulley].rim_diameter_mm;
            disc(t.pivot, 25.0);
            for state in BeltState::ALL {
                if let Some(arm) = analysis.tensioner.as_ref().and_then(|w| w.arm(state)) {
                    disc(arm.centre_mm, r);
                }
            }
        }
        TakeUp::Manual(m) => {
            let r = 0.5 * drive.pulleys[m.pulley].rim_diameter_mm;
            if let Motion::Swing { pivot, .. } = m.motion {
                disc(pivot, 15.0);
            }
            for need in analysis.take_up.iter().flat_map(|t| &t.needs) {
                if let Some(p) = &need.position {
                    disc(p.centre_mm, r);
                    disc(p.bolt_mm, 15.0);
                }
            }
        }
    }
    for o in &drive.obstacles {
        let b = o.outline.extents();
        e.add(b.min);
        e.add(b.max);
    }
    let room = 14.0;
    e.add(Point::new(e.min.x - room, e.min.y - room));
    e.add(Point::new(e.max.x + room, e.max.y + room));
    e
}

fn axes(sheet: &mut Sheet, e: &Extents) {
    // The crankshaft's centre lines place the picture in the engine frame.
    sheet.line(
        "axis",
        Point::new(e.min.x, 0.0),
        Point::new(e.max.x, 0.0),
        0.0,
    );
    sheet.line(
        "axis",
        Point::new(0.0, e.min.y),
        Point::new(0.0, e.max.y),
        0.0,
    );
}

fn keep_outs(sheet: &mut Sheet, drive: &Drive) {
    for o in &drive.obstacles {
        sheet.closed("keepout", &o.outline, 0.5);
    }
}

fn keep_out_names(sheet: &mut Sheet, drive: &Drive) {
    for o in &drive.obstacles {
        let centre = sheet.at(o.outline.extents().centre());
        let size = (width_mm(&o.id, 3.0, false) + 1.0, 4.0);
        let at = place(centre, size, 0.0, &sheet.texts, &sheet.ink);
        let e = o.outline.extents();
        let half = (
            0.5 * e.width() / sheet.scale,
            0.5 * e.height() / sheet.scale,
        );
        if (at.0 - centre.0).abs() > half.0 || (at.1 - centre.1).abs() > half.1 {
            sheet.paper_line("leader", at, centre);
        }
        // A white ground keeps the name readable on the hatching.
        let _ = writeln!(
            sheet.body,
            r##"<rect x="{}" y="{}" width="{}" height="{}" fill="#fff"/>"##,
            n(at.0 - 0.5 * size.0),
            n(at.1 - 0.5 * size.1),
            n(size.0),
            n(size.1)
        );
        sheet.text((at.0, at.1 + 1.05), Anchor::Middle, Type::TEXT, &o.id);
    }
}

fn pulley(sheet: &mut Sheet, drive: &Drive, contact: &Contact) {
    let p = &drive.pulleys[contact.pulley];
    let c = contact.centre_mm;
    let face = 0.5 * p.face_diameter_mm();
    let rim = 0.5 * p.rim_diameter_mm;
    match p.face {
        Face::Ribbed { .. } => {
            sheet.circle("rim", c, rim, 0.6);
            let root = (face - drive.belt.section.rib_depth_mm()).max(0.5 * face);
            sheet.circle("groove", c, root, 0.0);
            sheet.circle("face", c, face, 0.0);
        }
        Face::Flat { .. } => sheet.circle("flat", c, rim.max(face), 0.6),
    }
    // The wrap, as a heavy arc just inside the running face.
    let inside = face - 2.2 * sheet.scale;
    if inside > 0.0 && contact.wrap_deg > 0.0 {
        let arc = Segment::Arc {
            from: c + radial(contact.arrives_mm - c) * inside,
            to: c + radial(contact.leaves_mm - c) * inside,
            centre: c,
            radius: inside,
            ccw: contact.turns == Rotation::CounterClockwise,
        };
        sheet.stroke("wrap", &[arc], false, 0.4);
    }
    cross(sheet, c, 1.3);
}

fn radial(v: Vector) -> Vector {
    v.unit().unwrap_or_default()
}

fn cross(sheet: &mut Sheet, at: Point, half_mm: f64) {
    let (x, y) = sheet.at(at);
    sheet.paper_line("mark", (x - half_mm, y), (x + half_mm, y));
    sheet.paper_line("mark", (x, y - half_mm), (x, y + half_mm));
}

fn belt(sheet: &mut Sheet, drive: &Drive, path: &BeltPath) {
    let section = &drive.belt.section;
    let back = path.offset_loop(section.back_offset_mm);
    let ribs = path.offset_loop(-section.rib_depth_mm());
    let band = format!(
        "{}{}",
        sheet.data(&back.segments, true),
        sheet.data(&ribs.segments, true)
    );
    let _ = writeln!(sheet.body, r#"<path class="belt" d="{band}"/>"#);
    ticks(sheet, drive, path, &ribs);
    sheet.closed("ribs", &ribs, 1.0);
    sheet.closed("back", &back, 1.0);
    for span in &path.spans {
        let middle = span.start_mm.midpoint(span.end_mm);
        let travel = (span.direction.x, -span.direction.y);
        let tip = sheet.at(middle);
        // The head points along the travel and stands on the back, clear of the ticks.
        let out = span.direction.left() * -path.travel.sign();
        let lift = section.back_offset_mm / sheet.scale + 1.5;
        let at = (
            tip.0 + out.x * lift + travel.0,
            tip.1 - out.y * lift + travel.1,
        );
        sheet.arrowhead(at, travel, 2.4);
        // Numbers must not hide the arrow.
        for back in [0.0, 1.2, 2.4] {
            sheet.ink.push(Ink {
                x: at.0 - back * travel.0,
                y: at.1 - back * travel.1,
                weight: 4.0,
            });
        }
    }
}

/// Ticks across the ribs, which tell the rib side from the back.
fn ticks(sheet: &mut Sheet, drive: &Drive, path: &BeltPath, ribs: &Path) {
    let depth = 0.62 * drive.belt.section.height_mm;
    let pitch = TICK_PITCH_MM * sheet.scale;
    let count = (ribs.length() / pitch).floor().max(1.0);
    let step = ribs.length() / count;
    // Into the belt is away from the inside of the loop.
    let outward = -path.travel.sign();
    let mut d = String::new();
    let mut next = 0.5 * step;
    for s in &ribs.segments {
        let length = s.length();
        while next < length {
            let t = next / length;
            let from = s.at(t);
            let to = from + s.direction(t).left() * (outward * depth);
            let ((x0, y0), (x1, y1)) = (sheet.at(from), sheet.at(to));
            let _ = write!(d, "M{} {}L{} {}", n(x0), n(y0), n(x1), n(y1));
            next += step;
        }
        next -= length;
    }
    let _ = writeln!(sheet.body, r#"<path class="tick" d="{d}"/>"#);
}

/// Arrow of rotation, on the upper part inside the running face.
fn turn_arrow(sheet: &mut Sheet, drive: &Drive, contact: &Contact) {
    let p = &drive.pulleys[contact.pulley];
    let radius = 0.5 * p.face_diameter_mm() - 5.0 * sheet.scale;
    if radius <= 2.0 * sheet.scale {
        return;
    }
    let c = contact.centre_mm;
    let (middle, half) = (std::f64::consts::FRAC_PI_2, 0.62);
    let ccw = contact.turns == Rotation::CounterClockwise;
    let sign = contact.turns.sign();
    let arc = Segment::Arc {
        from: c.polar(radius, middle - sign * half),
        to: c.polar(radius, middle + sign * half),
        centre: c,
        radius,
        ccw,
    };
    sheet.stroke("turn", &[arc], false, 2.0);
    let direction = arc.direction(1.0);
    let tip = arc.to() + direction * (1.4 * sheet.scale);
    sheet.arrowhead(sheet.at(tip), (direction.x, -direction.y), 2.8);
}

/// Name, wrap and ratio: inside the pulley where they fit, else beside it on a leader.
fn pulley_text(sheet: &mut Sheet, drive: &Drive, contact: &Contact) {
    let p = &drive.pulleys[contact.pulley];
    let (x, y) = sheet.at(contact.centre_mm);
    let wrap = format!("wrap {:.1}°", contact.wrap_deg);
    let ratio = format!("ratio {:.3}", contact.ratio);
    let width = width_mm(&contact.id, 3.0, true)
        .max(width_mm(&wrap, 2.6, false))
        .max(width_mm(&ratio, 2.6, false));
    let room = 0.5 * p.face_diameter_mm() / sheet.scale - 3.2;
    // The farthest corner of the three lines from the centre.
    let corner = (0.5 * width_mm(&contact.id, 3.0, true))
        .hypot(4.9)
        .max((0.5 * width).hypot(4.2))
        .max((0.5 * width_mm(&ratio, 2.6, false)).hypot(8.0));
    if corner <= room {
        sheet.text((x, y - 2.2), Anchor::Middle, Type::HEAD, &contact.id);
        sheet.text((x, y + 4.2), Anchor::Middle, Type::SMALL, &wrap);
        sheet.text((x, y + 7.6), Anchor::Middle, Type::SMALL, &ratio);
        return;
    }
    let size = (width, 10.6);
    let first = 0.5 * p.rim_diameter_mm / sheet.scale + 8.0;
    let at = place((x, y), size, first, &sheet.texts, &sheet.ink);
    let toward = (at.0 - x, at.1 - y);
    let far = toward.0.hypot(toward.1).max(1.0);
    let rim = 0.5 * p.rim_diameter_mm / sheet.scale;
    sheet.paper_line(
        "leader",
        (x + toward.0 / far * rim, y + toward.1 / far * rim),
        box_edge(at, (0.5 * size.0 + 0.8, 0.5 * size.1 + 0.6), toward),
    );
    sheet.text((at.0, at.1 - 2.4), Anchor::Middle, Type::HEAD, &contact.id);
    sheet.text((at.0, at.1 + 1.1), Anchor::Middle, Type::SMALL, &wrap);
    sheet.text((at.0, at.1 + 4.5), Anchor::Middle, Type::SMALL, &ratio);
}

/// Where a line coming along `toward` meets a box of half size `half` about `centre`.
fn box_edge(centre: (f64, f64), half: (f64, f64), toward: (f64, f64)) -> (f64, f64) {
    let reach = |half: f64, d: f64| {
        if d.abs() > PARALLEL {
            half / d.abs()
        } else {
            f64::INFINITY
        }
    };
    let t = reach(half.0, toward.0)
        .min(reach(half.1, toward.1))
        .min(1.0);
    (centre.0 - t * toward.0, centre.1 - t * toward.1)
}

/// Span numbers in balloons beside the middle of each span.
fn span_numbers(sheet: &mut Sheet, drive: &Drive, path: &BeltPath) {
    for span in &path.spans {
        let text = span.number.to_string();
        let middle = span.start_mm.midpoint(span.end_mm);
        let anchor = sheet.at(middle);
        let size = (5.4, 5.4);
        let at = place(anchor, size, 5.0, &sheet.texts, &sheet.ink);
        let away = (at.0 - anchor.0, at.1 - anchor.1);
        let far = away.0.hypot(away.1).max(0.1);
        let from = drive.belt.section.back_offset_mm / sheet.scale + 0.4;
        if far > 2.7 + from {
            sheet.paper_line(
                "leader",
                (
                    anchor.0 + away.0 / far * from,
                    anchor.1 + away.1 / far * from,
                ),
                (at.0 - away.0 / far * 2.5, at.1 - away.1 / far * 2.5),
            );
        }
        let _ = writeln!(
            sheet.body,
            r#"<circle class="balloon" cx="{}" cy="{}" r="2.5"/>"#,
            n(at.0),
            n(at.1)
        );
        sheet.text((at.0, at.1 + 1.05), Anchor::Middle, Type::HEAD, &text);
    }
}

/// Adds the panel, fits the page round everything and writes the document.
fn finish(mut sheet: Sheet, drive: &Drive, analysis: &Analysis, extents: &Extents) -> Picture {
    let scale = sheet.scale;
    // Text may have been pushed out of the drawing: the page grows to hold it.
    let (mut left, mut top) = (0.0_f64, 0.0_f64);
    let (mut right, mut bottom) = (extents.width() / scale, extents.height() / scale);
    for t in &sheet.texts {
        left = left.min(t.x_mm);
        top = top.min(t.y_mm);
        right = right.max(t.x_mm + t.width_mm);
        bottom = bottom.max(t.y_mm + t.height_mm);
    }
    let drive_mm = [left, top, right, bottom];
    let (panel_right, panel_bottom) =
        panel::write(&mut sheet, drive, analysis, right + MARGIN_MM, top);
    bottom = bottom.max(panel_bottom);
    let (x, y) = (left - MARGIN_MM, top - MARGIN_MM);
    let width_mm = panel_right + MARGIN_MM - x;
    let height_mm = bottom + MARGIN_MM - y;
    let inset = 0.5 * MARGIN_MM;
    let mut svg = String::new();
    let _ = write!(
        svg,
        r##"<svg xmlns="http://www.w3.org/2000/svg" class="drive-picture" width="{w}mm" height="{h}mm" viewBox="{x} {y} {w} {h}" role="img">
<title>{title}</title>
<style>{STYLE}</style>
<defs><pattern id="drive-hatch" width="2.2" height="2.2" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0V2.2" style="stroke:#8a8a8a;stroke-width:.3"/></pattern></defs>
<rect x="{x}" y="{y}" width="{w}" height="{h}" fill="#fff"/>
<path class="frame" d="M{fx} {fy}h{fw}v{fh}h-{fw}Z"/>
"##,
        w = n(width_mm),
        h = n(height_mm),
        x = n(x),
        y = n(y),
        title = escape(&format!("{}, {}", analysis.name, analysis.belt.designation)),
        fx = n(x + inset),
        fy = n(y + inset),
        fw = n(width_mm - 2.0 * inset),
        fh = n(height_mm - 2.0 * inset),
    );
    svg.push_str(&sheet.body);
    svg.push_str("</svg>\n");
    Picture {
        svg,
        texts: sheet.texts,
        scale,
        origin_mm: sheet.origin,
        width_mm,
        height_mm,
        drive_mm,
    }
}
