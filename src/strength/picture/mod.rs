//! Pictures of strength results as SVG: stress contours, mode shapes, Campbell chart.

mod campbell;
mod contour;
mod labels;
mod shapes;

pub use campbell::campbell_chart;
pub use contour::stress_contour;
pub use shapes::mode_sheet;

use std::fmt::Write;

/// Ink of text and outlines.
const INK: &str = "#1c1c1c";

/// Quiet ink of grids and undeformed shapes.
const QUIET: &str = "#9a9a9a";

/// An SVG under construction; y runs down, units are pixels.
struct Svg {
    text: String,
}

/// Where a text's anchor lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Anchor {
    Start,
    Middle,
    End,
}

impl Svg {
    fn new(width: f64, height: f64, title: &str) -> Self {
        let mut text = String::new();
        // Writing to a String cannot fail.
        let _ = write!(
            text,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.0}\" height=\"{height:.0}\" \
             viewBox=\"0 0 {width:.0} {height:.0}\" font-family=\"sans-serif\">\n\
             <title>{}</title>\n<rect width=\"100%\" height=\"100%\" fill=\"white\"/>\n",
            escaped(title)
        );
        Self { text }
    }

    fn raw(&mut self, piece: &str) {
        self.text.push_str(piece);
        self.text.push('\n');
    }

    fn line(&mut self, (x1, y1): (f64, f64), (x2, y2): (f64, f64), style: &str) {
        let _ = writeln!(
            self.text,
            "<line x1=\"{x1:.2}\" y1=\"{y1:.2}\" x2=\"{x2:.2}\" y2=\"{y2:.2}\" {style}/>"
        );
    }

    fn path(&mut self, d: &str, style: &str) {
        if !d.is_empty() {
            let _ = writeln!(self.text, "<path d=\"{d}\" {style}/>");
        }
    }

    fn circle(&mut self, (x, y): (f64, f64), r: f64, style: &str) {
        let _ = writeln!(
            self.text,
            "<circle cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"{r:.2}\" {style}/>"
        );
    }

    fn words(&mut self, (x, y): (f64, f64), size: f64, anchor: Anchor, what: &str) {
        self.styled_words((x, y), size, anchor, INK, "normal", what);
    }

    fn styled_words(
        &mut self,
        (x, y): (f64, f64),
        size: f64,
        anchor: Anchor,
        fill: &str,
        weight: &str,
        what: &str,
    ) {
        let anchor = match anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        // A white rim keeps words readable on any colour.
        let _ = writeln!(
            self.text,
            "<text x=\"{x:.2}\" y=\"{y:.2}\" font-size=\"{size:.1}\" text-anchor=\"{anchor}\" \
             fill=\"{fill}\" font-weight=\"{weight}\" paint-order=\"stroke\" stroke=\"white\" \
             stroke-width=\"3\" stroke-linejoin=\"round\">{}</text>",
            escaped(what)
        );
    }

    fn finish(mut self) -> String {
        self.text.push_str("</svg>\n");
        self.text
    }
}

fn escaped(s: &str) -> String {
    s.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

/// A round step (1, 2, 2.5 or 5 times a power of ten) of which about `count` cover `span`.
fn round_step(span: f64, count: f64) -> f64 {
    let raw = (span / count).max(f64::MIN_POSITIVE);
    let power = 10.0_f64.powf(raw.log10().floor());
    let share = raw / power;
    let nice = [1.0, 2.0, 2.5, 5.0, 10.0]
        .into_iter()
        .find(|n| *n >= share - 1e-9)
        .unwrap_or(10.0);
    nice * power
}

/// A number with as many decimals as its step needs.
fn stepped(value: f64, step: f64) -> String {
    let decimals = (0..6)
        .find(|&d| {
            let scaled = step * 10.0_f64.powi(d);
            (scaled - scaled.round()).abs() < 1e-6 * scaled.max(1.0)
        })
        .unwrap_or(6);
    format!("{value:.*}", usize::try_from(decimals).unwrap_or(0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_round_and_numbers_keep_the_decimals_they_need() {
        assert!((round_step(41.6, 8.0) - 10.0).abs() < 1e-9);
        assert!((round_step(37.0, 8.0) - 5.0).abs() < 1e-9);
        assert!((round_step(18.0, 8.0) - 2.5).abs() < 1e-9);
        assert_eq!(stepped(7.5, 2.5), "7.5");
        assert_eq!(stepped(40.0, 10.0), "40");
    }

    #[test]
    fn markup_in_names_is_escaped() {
        assert_eq!(escaped("a<b & \"c\""), "a&lt;b &amp; &quot;c&quot;");
    }
}
