//! Drawing sheets as SVG: one file a sheet, in mm, black on white.

use std::fmt::Write;

use crate::drawing::font::Weight;
use crate::drawing::{Item, Line, Page, Text};
use crate::geom::{Point, Segment};
use crate::number::short;

/// Decimals of a paper coordinate, mm: a tenth of a micron on paper.
const DECIMALS: u32 = 4;

/// Fonts with the widths the drawing was set with, the first that is there.
const FAMILY: &str = "Helvetica, 'Liberation Sans', 'Nimbus Sans', Arial, sans-serif";

/// A sheet as an SVG file of its real size.
///
/// Every text carries its exact length, so that a browser with another font
/// still keeps it in its place.
#[must_use]
pub fn svg(page: &Page, title: &str) -> Vec<u8> {
    let (w, h) = (page.size.width_mm(), page.size.height_mm());
    let mut out = String::with_capacity(64 * 1024);
    // Writing to a string cannot fail, here and below.
    let _ = writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" \
         viewBox=\"0 0 {w} {h}\" role=\"img\">"
    );
    let _ = writeln!(out, "<title>{}</title>", escape(title));
    out.push_str("<style>\n");
    for line in Line::ALL {
        let pattern = line.pattern_mm();
        let dashes = if pattern.is_empty() {
            String::new()
        } else {
            let list: Vec<String> = pattern.iter().map(|d| n(*d)).collect();
            format!(";stroke-dasharray:{}", list.join(" "))
        };
        let _ = writeln!(
            out,
            ".{}{{fill:none;stroke:#000;stroke-width:{};stroke-linecap:butt;stroke-linejoin:round{dashes}}}",
            class(line),
            n(line.width_mm())
        );
    }
    let _ = writeln!(
        out,
        "text{{font-family:{FAMILY};fill:#000;white-space:pre}}"
    );
    out.push_str(".b{font-weight:bold}\n</style>\n");
    let _ = writeln!(out, "<rect width=\"{w}\" height=\"{h}\" fill=\"#fff\"/>");
    for item in &page.items {
        match item {
            Item::Line { path, line } => path_of(&mut out, path, *line, h),
            Item::Fill(points) => {
                let list: Vec<String> = points
                    .iter()
                    .map(|p| format!("{},{}", n(p.x), n(h - p.y)))
                    .collect();
                let _ = writeln!(out, "<polygon points=\"{}\"/>", list.join(" "));
            }
            Item::Text(t) => text(&mut out, t, h),
        }
    }
    out.push_str("</svg>\n");
    out.into_bytes()
}

fn class(line: Line) -> &'static str {
    match line {
        Line::Visible => "visible",
        Line::Narrow => "narrow",
        Line::Hidden => "hidden",
        Line::Centre => "centre",
        Line::Frame => "frame",
        Line::Rule => "rule",
    }
}

/// A number without needless digits; the drawing holds finite numbers only.
fn n(v: f64) -> String {
    short(v, DECIMALS).unwrap_or_else(|_| "0".to_string())
}

fn path_of(out: &mut String, path: &[Segment], line: Line, h: f64) {
    let class = class(line);
    if let [Segment::Arc { centre, radius, .. }] = path
        && path[0].is_full_circle()
    {
        let _ = writeln!(
            out,
            "<circle class=\"{class}\" cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
            n(centre.x),
            n(h - centre.y),
            n(*radius)
        );
        return;
    }
    let (Some(first), Some(last)) = (path.first(), path.last()) else {
        return;
    };
    let at = |p: Point| format!("{} {}", n(p.x), n(h - p.y));
    let mut d = format!("M{}", at(first.from()));
    for s in path {
        match *s {
            Segment::Line { to, .. } => {
                let _ = write!(d, "L{}", at(to));
            }
            Segment::Arc {
                to, radius, ccw, ..
            } => {
                // The y axis points down: counter-clockwise is SVG's negative sweep.
                let _ = write!(
                    d,
                    "A{r} {r} 0 {} {} {}",
                    u8::from(s.is_major_arc()),
                    u8::from(!ccw),
                    at(to),
                    r = n(radius)
                );
            }
        }
    }
    if path.len() > 1 && first.from().distance(last.to()) < crate::tol::SNAP_MM {
        d.push('Z');
    }
    let _ = writeln!(out, "<path class=\"{class}\" d=\"{d}\"/>");
}

fn text(out: &mut String, t: &Text, h: f64) {
    let (x, y) = (n(t.at.x), n(h - t.at.y));
    let turn = if t.upright {
        format!(" transform=\"rotate(-90 {x} {y})\"")
    } else {
        String::new()
    };
    let bold = match t.weight {
        Weight::Regular => "",
        Weight::Bold => " class=\"b\"",
    };
    let _ = writeln!(
        out,
        "<text x=\"{x}\" y=\"{y}\" font-size=\"{}\"{bold}{turn} textLength=\"{}\" \
         lengthAdjust=\"spacingAndGlyphs\">{}</text>",
        n(t.size_mm()),
        n(t.length_mm()),
        escape(&t.text)
    );
}

/// Text safe in element content.
fn escape(s: &str) -> String {
    s.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}
