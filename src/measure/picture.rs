//! Draws a measured network: readings as lines, holes to scale, error ellipses enlarged, doubtful readings marked.
//!
//! Text is placed where nothing else is: each label tries places round its
//! hole or along its line and takes the first that is free.

use std::fmt::Write as _;

use super::network::{Kind, Network};
use super::survey::{Survey, Verdict};

/// Width of the drawing field, px.
const FIELD_WIDTH: f64 = 860.0;
/// Greatest height of the drawing field, px.
const FIELD_HEIGHT: f64 = 560.0;
/// Room round the field for labels, px.
const MARGIN: f64 = 70.0;
/// Height of the strip with title and of the one with the key, px.
const STRIP: f64 = 58.0;
/// Size of the text, px.
const TEXT: f64 = 13.0;
/// Width of a character in text sizes: the average of common sans-serif faces, rounded up.
const CHARACTER: f64 = 0.60;
/// Longest ellipse axis wanted on the drawing, px.
const ELLIPSE: f64 = 26.0;

/// A rectangle that is taken, px.
#[derive(Debug, Clone, Copy)]
struct Taken {
    x0: f64,
    y0: f64,
    x1: f64,
    y1: f64,
}

impl Taken {
    /// A rectangle round a middle.
    fn round(x: f64, y: f64, half_width: f64, half_height: f64) -> Self {
        Self {
            x0: x - half_width,
            y0: y - half_height,
            x1: x + half_width,
            y1: y + half_height,
        }
    }

    /// Whether two rectangles share room.
    fn meets(self, o: Self) -> bool {
        self.x0 < o.x1 && o.x0 < self.x1 && self.y0 < o.y1 && o.y0 < self.y1
    }

    /// The part of `self` that `o` covers, px².
    fn overlap(self, o: Self) -> f64 {
        if !self.meets(o) {
            return 0.0;
        }
        (self.x1.min(o.x1) - self.x0.max(o.x0)) * (self.y1.min(o.y1) - self.y0.max(o.y0))
    }
}

/// What is on the paper already.
#[derive(Debug, Default)]
struct Paper {
    taken: Vec<Taken>,
    lines: Vec<([f64; 2], [f64; 2])>,
}

impl Paper {
    /// How much a label in this room would hide: covered areas, and a little for each line under it.
    fn hidden(&self, room: Taken) -> f64 {
        const STEPS: i32 = 64;
        let covered: f64 = self.taken.iter().map(|t| room.overlap(*t)).sum();
        let crossed = self.lines.iter().filter(|(p, q)| {
            (0..=STEPS).any(|k| {
                let t = f64::from(k) / f64::from(STEPS);
                let (x, y) = (p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1]));
                Taken::round(x, y, 0.5, 0.5).meets(room)
            })
        });
        covered + LINE_UNDER * crossed.count() as f64
    }
}

/// What a line under a label counts against covered area, px²: any free place beats it, a covered one does not.
const LINE_UNDER: f64 = 2.0;

/// The scale of the drawing.
#[derive(Debug, Clone, Copy)]
struct View {
    scale: f64,
    left: f64,
    top: f64,
    enlarge: f64,
    height: f64,
}

impl View {
    /// Paper place of a point, px.
    fn at(self, p: [f64; 2]) -> [f64; 2] {
        [
            MARGIN + (p[0] - self.left) * self.scale,
            STRIP + MARGIN + (self.top - p[1]) * self.scale,
        ]
    }
}

/// The network as an SVG document.
pub fn picture(network: &Network, survey: &Survey) -> String {
    let view = view(survey);
    let mut paper = Paper {
        lines: (0..survey.readings.len())
            .filter_map(|i| ends(network, survey, view, i))
            .collect(),
        ..Paper::default()
    };
    let mut svg = String::new();
    let width = FIELD_WIDTH + 2.0 * MARGIN;
    let height = view.height + 2.0 * (MARGIN + STRIP);
    let _ = writeln!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width:.0} {height:.0}\" width=\"{width:.0}\" height=\"{height:.0}\" font-family=\"sans-serif\" font-size=\"{TEXT}\">"
    );
    let _ = writeln!(
        svg,
        "<rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>"
    );
    let _ = writeln!(
        svg,
        "<text x=\"{MARGIN}\" y=\"34\" font-size=\"18\" fill=\"#1d2733\">{}</text>",
        escaped(&survey.name)
    );
    for h in &survey.holes {
        let [x, y] = view.at([h.x_mm, h.y_mm]);
        let r =
            hole_radius(view, h.bore_mm).max(view.enlarge * h.ellipse.major_mm * view.scale) + 2.0;
        paper.taken.push(Taken::round(x, y, r, r));
    }
    edges(network, survey, view, &mut svg, &mut paper);
    readings(network, survey, view, &mut svg);
    holes(survey, view, &mut svg);
    hole_names(survey, view, &mut svg, &mut paper);
    doubt_labels(network, survey, view, &mut svg, &mut paper);
    key(survey, view, &mut svg, height);
    svg.push_str("</svg>\n");
    svg
}

/// Chooses the scale so that everything fits, and a round enlargement for the ellipses.
fn view(survey: &Survey) -> View {
    let bounds = |f: &dyn Fn(usize) -> f64| -> (f64, f64) {
        (0..survey.holes.len()).fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), i| {
            (lo.min(f(i)), hi.max(f(i)))
        })
    };
    let (x0, x1) = bounds(&|i| survey.holes[i].x_mm);
    let (y0, y1) = bounds(&|i| survey.holes[i].y_mm);
    let (w, h) = ((x1 - x0).max(1.0), (y1 - y0).max(1.0));
    let scale = (FIELD_WIDTH / w).min(FIELD_HEIGHT / h);
    let largest = survey
        .holes
        .iter()
        .map(|h| h.ellipse.major_mm)
        .fold(0.0, f64::max);
    let enlarge = if largest > 0.0 {
        round_down(ELLIPSE / (largest * scale))
    } else {
        1.0
    };
    View {
        scale,
        left: x0 - 0.5 * (FIELD_WIDTH / scale - w),
        top: y1,
        enlarge,
        height: (h * scale).max(120.0),
    }
}

/// The largest of 1, 2, 5, 10, 20 … not above `v`; 1 at least.
fn round_down(v: f64) -> f64 {
    let mut best = 1.0;
    let mut decade = 1.0;
    while decade <= v {
        for m in [1.0, 2.0, 5.0] {
            if m * decade <= v {
                best = m * decade;
            }
        }
        decade *= 10.0;
    }
    best
}

/// Radius of a hole on paper, px.
fn hole_radius(view: View, bore_mm: Option<f64>) -> f64 {
    (0.5 * bore_mm.unwrap_or(0.0) * view.scale).clamp(4.0, 30.0)
}

/// Text made safe for SVG.
fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}

/// The two ends of a reading on paper, with the edge's foot for one from an edge.
fn ends(
    network: &Network,
    survey: &Survey,
    view: View,
    index: usize,
) -> Option<([f64; 2], [f64; 2])> {
    let hole = |name: &str| {
        survey
            .holes
            .iter()
            .find(|h| h.name == name)
            .map(|h| [h.x_mm, h.y_mm])
    };
    match &network.readings.get(index)?.kind {
        Kind::Inside { a, b, .. }
        | Kind::Over { a, b, .. }
        | Kind::SameSide { a, b, .. }
        | Kind::Centres { a, b } => Some((view.at(hole(a)?), view.at(hole(b)?))),
        Kind::FromEdge { edge, hole: h, .. } => {
            let p = hole(h)?;
            let (normal, offset) = edge_line(network, survey, edge)?;
            let gap = p[0] * normal[0] + p[1] * normal[1] - offset;
            let foot = [p[0] - gap * normal[0], p[1] - gap * normal[1]];
            Some((inside(view, view.at(foot)), view.at(p)))
        }
        Kind::Step { .. } => None,
    }
}

/// The direction from an edge to the holes and its offset along it.
fn edge_line(network: &Network, survey: &Survey, name: &str) -> Option<([f64; 2], f64)> {
    let declared = network.edges.iter().find(|e| e.name == name)?;
    let found = survey.edges.iter().find(|e| e.name == name)?;
    let (sin, cos) = (declared.holes_lie.angle() + found.out_of_square_deg.to_radians()).sin_cos();
    Some(([cos, sin], -found.origin_distance_mm))
}

/// A paper point brought inside the drawing field: an edge may lie far outside.
fn inside(view: View, p: [f64; 2]) -> [f64; 2] {
    [
        p[0].clamp(12.0, FIELD_WIDTH + 2.0 * MARGIN - 12.0),
        p[1].clamp(STRIP + 12.0, STRIP + view.height + 2.0 * MARGIN - 12.0),
    ]
}

/// Draws the edges as chain lines with their names.
fn edges(network: &Network, survey: &Survey, view: View, svg: &mut String, paper: &mut Paper) {
    for edge in &survey.edges {
        let Some((normal, offset)) = edge_line(network, survey, &edge.name) else {
            continue;
        };
        let along = [-normal[1], normal[0]];
        let span = 1.2 * (FIELD_WIDTH + FIELD_HEIGHT) / view.scale;
        let middle = [
            view.left + 0.5 * FIELD_WIDTH / view.scale,
            view.top - 0.5 * view.height / view.scale,
        ];
        let off = offset - (middle[0] * normal[0] + middle[1] * normal[1]);
        let foot = [middle[0] + off * normal[0], middle[1] + off * normal[1]];
        let p = inside(
            view,
            view.at([foot[0] - span * along[0], foot[1] - span * along[1]]),
        );
        let q = inside(
            view,
            view.at([foot[0] + span * along[0], foot[1] + span * along[1]]),
        );
        let _ = writeln!(
            svg,
            "<line x1=\"{:.1}\" y1=\"{:.1}\" x2=\"{:.1}\" y2=\"{:.1}\" stroke=\"#6b4f1d\" stroke-width=\"1.6\" stroke-dasharray=\"14 4 3 4\"/>",
            p[0], p[1], q[0], q[1]
        );
        let text = format!("edge {}", edge.name);
        place(svg, paper, &text, "#6b4f1d", &along_line(p, q, &text));
    }
}

/// Draws the readings as lines.
fn readings(network: &Network, survey: &Survey, view: View, svg: &mut String) {
    for (index, judged) in survey.readings.iter().enumerate() {
        let Some((p, q)) = ends(network, survey, view, index) else {
            continue;
        };
        let style = match judged.verdict {
            Verdict::Fits => "stroke=\"#9aa7b4\" stroke-width=\"1\"",
            Verdict::Unchecked => "stroke=\"#9aa7b4\" stroke-width=\"1\" stroke-dasharray=\"2 3\"",
            Verdict::Doubtful { .. } => {
                "stroke=\"#c62828\" stroke-width=\"2.4\" stroke-dasharray=\"9 4\""
            }
            Verdict::Suspect => "stroke=\"#c77700\" stroke-width=\"2\" stroke-dasharray=\"5 4\"",
        };
        let _ = writeln!(
            svg,
            "<line x1=\"{:.1}\" y1=\"{:.1}\" x2=\"{:.1}\" y2=\"{:.1}\" {style}/>",
            p[0], p[1], q[0], q[1]
        );
    }
}

/// Draws the holes and their ellipses.
fn holes(survey: &Survey, view: View, svg: &mut String) {
    for h in &survey.holes {
        let [x, y] = view.at([h.x_mm, h.y_mm]);
        let r = hole_radius(view, h.bore_mm);
        let _ = writeln!(
            svg,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{r:.1}\" fill=\"#ffffff\" stroke=\"#1d2733\" stroke-width=\"1.3\"/>"
        );
        let k = view.enlarge * view.scale;
        let e = h.ellipse;
        if e.major_mm > 0.0 {
            let _ = writeln!(
                svg,
                "<ellipse cx=\"{x:.1}\" cy=\"{y:.1}\" rx=\"{:.1}\" ry=\"{:.1}\" transform=\"rotate({:.1} {x:.1} {y:.1})\" fill=\"#1565c0\" fill-opacity=\"0.16\" stroke=\"#1565c0\"/>",
                (k * e.major_mm).max(0.6),
                (k * e.minor_mm).max(0.6),
                -e.direction_deg
            );
        } else {
            let _ = writeln!(
                svg,
                "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"2\" fill=\"#1565c0\"/>"
            );
        }
    }
}

/// Writes the names of the holes beside them.
fn hole_names(survey: &Survey, view: View, svg: &mut String, paper: &mut Paper) {
    for h in &survey.holes {
        let [x, y] = view.at([h.x_mm, h.y_mm]);
        let own = hole_radius(view, h.bore_mm).max(view.enlarge * h.ellipse.major_mm * view.scale);
        place(
            svg,
            paper,
            &h.name,
            "#1d2733",
            &round_point(x, y, own, &h.name),
        );
    }
}

/// Writes what is doubtful beside the lines.
fn doubt_labels(
    network: &Network,
    survey: &Survey,
    view: View,
    svg: &mut String,
    paper: &mut Paper,
) {
    for (index, judged) in survey.readings.iter().enumerate() {
        let (text, colour) = match judged.verdict {
            Verdict::Doubtful { would_fit_mm, .. } => (
                format!(
                    "reading {}: {:.2}, {would_fit_mm:.2} would fit",
                    index + 1,
                    judged.value_mm
                ),
                "#c62828",
            ),
            Verdict::Suspect => (format!("reading {}?", index + 1), "#c77700"),
            _ => continue,
        };
        let Some((p, q)) = ends(network, survey, view, index) else {
            continue;
        };
        place(svg, paper, &text, colour, &along_line(p, q, &text));
    }
}

/// Half the room a text needs, px.
fn half_size(text: &str) -> (f64, f64) {
    (
        0.5 * CHARACTER * TEXT * text.chars().count() as f64 + 2.0,
        0.5 * TEXT + 2.0,
    )
}

/// Middles to try round a point.
fn round_point(x: f64, y: f64, own: f64, text: &str) -> Vec<[f64; 2]> {
    let (w, h) = half_size(text);
    let mut list = Vec::new();
    for extra in [3.0, 10.0, 20.0, 34.0] {
        for (dx, dy) in [
            (1.0, -1.0),
            (1.0, 1.0),
            (-1.0, -1.0),
            (-1.0, 1.0),
            (1.0, 0.0),
            (-1.0, 0.0),
            (0.0, -1.0),
            (0.0, 1.0),
        ] {
            let diagonal = if dx != 0.0 && dy != 0.0 {
                std::f64::consts::FRAC_1_SQRT_2
            } else {
                1.0
            };
            let reach = own * diagonal + extra;
            list.push([x + dx * (reach + w), y + dy * (reach + h)]);
        }
    }
    list
}

/// Middles to try along and beside a line.
fn along_line(p: [f64; 2], q: [f64; 2], text: &str) -> Vec<[f64; 2]> {
    let (_, h) = half_size(text);
    let d = [q[0] - p[0], q[1] - p[1]];
    let length = d[0].hypot(d[1]).max(1e-6);
    let n = [-d[1] / length, d[0] / length];
    let mut list = Vec::new();
    for side in [0.0, h + 4.0, -(h + 4.0), 2.0 * h + 10.0, -(2.0 * h + 10.0)] {
        for t in [0.5, 0.4, 0.6, 0.3, 0.7, 0.22, 0.78, 0.15, 0.85] {
            list.push([p[0] + t * d[0] + side * n[0], p[1] + t * d[1] + side * n[1]]);
        }
    }
    list
}

/// Writes a text at the first free place, or at the one that covers least.
fn place(svg: &mut String, paper: &mut Paper, text: &str, colour: &str, places: &[[f64; 2]]) {
    let (w, h) = half_size(text);
    let kept = |m: &[f64; 2]| {
        let x = m[0].clamp(w + 4.0, FIELD_WIDTH + 2.0 * MARGIN - w - 4.0);
        Taken::round(x, m[1].max(STRIP + h), w, h)
    };
    let best = places
        .iter()
        .map(|m| (paper.hidden(kept(m)), kept(m)))
        .min_by(|a, b| a.0.total_cmp(&b.0));
    let Some((_, room)) = best else { return };
    let (x, y) = (0.5 * (room.x0 + room.x1), 0.5 * (room.y0 + room.y1));
    let _ = writeln!(
        svg,
        "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\" fill=\"#ffffff\" fill-opacity=\"0.82\"/>",
        room.x0,
        room.y0,
        room.x1 - room.x0,
        room.y1 - room.y0
    );
    let _ = writeln!(
        svg,
        "<text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\" fill=\"{colour}\">{}</text>",
        y + 0.36 * TEXT,
        escaped(text)
    );
    paper.taken.push(room);
}

/// Writes the key: scale of the holes, scale of the ellipses, what the lines mean.
fn key(survey: &Survey, view: View, svg: &mut String, height: f64) {
    let y = height - 0.5 * STRIP;
    let bar = round_down(140.0 / view.scale);
    let bar_px = bar * view.scale;
    let ellipse_mm = ELLIPSE / (view.enlarge * view.scale);
    let ellipse_mm = [0.5, 0.2, 0.1, 0.05, 0.02, 0.01]
        .into_iter()
        .find(|v| *v <= ellipse_mm)
        .unwrap_or(0.01);
    let ellipse_px = ellipse_mm * view.enlarge * view.scale;
    let _ = writeln!(
        svg,
        "<path d=\"M{MARGIN} {:.1}v-8v4h{bar_px:.1}v-4v8\" fill=\"none\" stroke=\"#1d2733\"/><text x=\"{:.1}\" y=\"{:.1}\" fill=\"#1d2733\">{bar} mm</text>",
        y + 4.0,
        MARGIN + bar_px + 8.0,
        y + 5.0
    );
    let x = MARGIN + bar_px + 100.0;
    let _ = writeln!(
        svg,
        "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"{ellipse_px:.1}\" fill=\"#1565c0\" fill-opacity=\"0.16\" stroke=\"#1565c0\"/><text x=\"{:.1}\" y=\"{:.1}\" fill=\"#1d2733\">± {ellipse_mm} mm: 95 % ellipses, drawn {} times larger than the holes</text>",
        x + ELLIPSE + 8.0,
        y + 5.0,
        view.enlarge
    );
    let doubted = survey
        .readings
        .iter()
        .any(|r| matches!(r.verdict, Verdict::Doubtful { .. } | Verdict::Suspect));
    if doubted {
        let x = x + 475.0;
        let _ = writeln!(
            svg,
            "<line x1=\"{x:.1}\" y1=\"{y:.1}\" x2=\"{:.1}\" y2=\"{y:.1}\" stroke=\"#c62828\" stroke-width=\"2.4\" stroke-dasharray=\"9 4\"/><text x=\"{:.1}\" y=\"{:.1}\" fill=\"#1d2733\">doubtful reading</text>",
            x + 40.0,
            x + 48.0,
            y + 5.0
        );
    }
}
