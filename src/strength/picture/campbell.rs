//! Natural frequencies and excitation orders over speed.

use super::labels::{Area, Covered, spread, width as words_width};
use super::{Anchor, INK, QUIET, Svg, round_step, stepped};
use crate::strength::model::Excitation;
use crate::strength::report::{CAUTION, Strength};

/// Plot area, px: left, top, width, height.
const PLOT: (f64, f64, f64, f64) = (80.0, 100.0, 640.0, 430.0);

/// Colour of modes.
const MODE: &str = "#1f5f99";

/// Colour of resonances.
const MET: &str = "#b3321a";

/// Room for the names right of the plot, px: for their leaders, and between two of them.
const NAMES: (f64, f64) = (26.0, 17.0);

/// Strokes that stay apart in grey.
const DASHES: [&str; 4] = ["", "9 4", "3 3", "12 4 3 4"];

/// Campbell chart of the set.
#[must_use]
pub fn campbell_chart(strength: &Strength, excitation: &Excitation) -> String {
    let (left, top, width, height) = PLOT;
    let most_rpm = 1.12 * excitation.top_rpm.max(1.0);
    let highest_order = excitation
        .orders
        .iter()
        .map(|o| o.per_turn)
        .fold(0.0, f64::max);
    let first = strength.report.modes.first().map_or(0.0, |m| m.hz);
    let most_hz = (1.25 * highest_order * excitation.top_rpm / 60.0)
        .max(1.35 * first)
        .max(1.0);
    let x = |rpm: f64| left + width * rpm / most_rpm;
    let y = |hz: f64| top + height * (1.0 - hz / most_hz);
    let names = names(strength, excitation, (most_rpm, most_hz), &y);
    let longest = names
        .iter()
        .map(|n| words_width(&n.words, 12.0, false))
        .fold(120.0, f64::max);
    let whole_width = left + width + NAMES.0 + longest + 20.0;
    let mut svg = Svg::new(whole_width, top + height + 96.0, "Campbell chart");
    svg.styled_words(
        (40.0, 34.0),
        20.0,
        Anchor::Start,
        INK,
        "bold",
        "Natural frequencies and excitation",
    );
    svg.words(
        (40.0, 56.0),
        13.0,
        Anchor::Start,
        "A slanted line meeting a level one inside the shaded speeds is a resonance (ringed)",
    );
    svg.styled_words(
        (40.0, 75.0),
        12.0,
        Anchor::Start,
        "#8a1010",
        "normal",
        CAUTION,
    );
    svg.raw(&format!(
        "<rect x=\"{:.2}\" y=\"{top:.2}\" width=\"{:.2}\" height=\"{height:.2}\" fill=\"#eef1f4\"/>",
        x(excitation.idle_rpm),
        x(excitation.top_rpm) - x(excitation.idle_rpm)
    ));
    axes(&mut svg, most_rpm, most_hz, &x, &y);
    for (rpm, name) in [(excitation.idle_rpm, "idle"), (excitation.top_rpm, "top")] {
        svg.words((x(rpm), top - 6.0), 12.0, Anchor::Middle, name);
    }
    orders(&mut svg, excitation, (most_rpm, most_hz), &x, &y);
    let shown = levels(&mut svg, strength, most_hz, &y);
    write_names(&mut svg, &names);
    resonances(&mut svg, strength, most_hz, &x, &y);
    let above = strength.report.modes.len() - shown;
    if above > 0 {
        let (many, lie) = if above == 1 {
            ("mode", "lies")
        } else {
            ("modes", "lie")
        };
        svg.words(
            (left, top + height + 78.0),
            12.0,
            Anchor::Start,
            &format!("{above} more {many} {lie} above the chart."),
        );
    }
    svg.finish()
}

/// Rings where a mode is met, with the speed.
fn resonances(
    svg: &mut Svg,
    strength: &Strength,
    most_hz: f64,
    x: &impl Fn(f64) -> f64,
    y: &impl Fn(f64) -> f64,
) {
    let (left, top, width, height) = PLOT;
    let plot = Area {
        left,
        top,
        right: left + width,
        bottom: top + height,
    };
    let mut covered = Covered::default();
    // Rings of one order that touch share their words.
    let mut named: Vec<Cluster<'_>> = Vec::new();
    let met = strength.report.campbell.iter().filter(|c| c.is_met);
    for c in met.filter(|c| c.hz <= most_hz) {
        let at = (x(c.at_rpm), y(c.hz));
        let style = format!("fill=\"none\" stroke=\"{MET}\" stroke-width=\"2.6\"");
        svg.circle(at, RING, &style);
        covered.add(Area::of_circle(at, RING + 1.0));
        let touches = |n: &&mut Cluster<'_>| {
            n.order == c.order && (n.at.0 - at.0).hypot(n.at.1 - at.1) < 2.0 * RING
        };
        if let Some(n) = named.iter_mut().find(touches) {
            n.at = at;
            n.high_rpm = c.at_rpm;
        } else {
            named.push(Cluster {
                order: &c.order,
                at,
                low_rpm: c.at_rpm,
                high_rpm: c.at_rpm,
            });
        }
    }
    for n in named {
        let (px, py) = n.at;
        let words = if n.high_rpm - n.low_rpm < 0.5 {
            format!("{:.0} rpm", n.low_rpm)
        } else {
            format!("{:.0} to {:.0} rpm", n.low_rpm, n.high_rpm)
        };
        // Beside the ring, clear of the level through it; farther off where that is taken.
        let places: Vec<((f64, f64), Anchor)> = [17.0, -9.0, 33.0, -25.0, 49.0, -41.0]
            .into_iter()
            .flat_map(|dy| {
                [
                    ((px + 11.0, py + dy), Anchor::Start),
                    ((px - 11.0, py + dy), Anchor::End),
                ]
            })
            .collect();
        let (at, anchor) = covered.place(&places, 12.0, &words, &plot);
        svg.styled_words(at, 12.0, anchor, MET, "bold", &words);
    }
}

/// Radius of a resonance's ring, px.
const RING: f64 = 8.0;

/// Rings that touch: the last one's place, and the speeds they span.
struct Cluster<'a> {
    order: &'a str,
    at: (f64, f64),
    low_rpm: f64,
    high_rpm: f64,
}

/// A name right of the plot.
struct Name {
    /// Height of what it names at the plot's right side, px.
    tip: f64,
    /// Height of its words' middle, px.
    at: f64,
    colour: &'static str,
    words: String,
}

/// Names of all orders and of the modes in the chart, spread so that none covers another.
fn names(
    strength: &Strength,
    excitation: &Excitation,
    (most_rpm, most_hz): (f64, f64),
    y: &impl Fn(f64) -> f64,
) -> Vec<Name> {
    let (_, top, _, height) = PLOT;
    let orders = excitation.orders.iter().map(|o| Name {
        tip: y((o.per_turn * most_rpm / 60.0).min(most_hz)),
        at: 0.0,
        colour: INK,
        words: format!(
            "{} ({} per turn)",
            o.id,
            stepped(o.per_turn, 0.01)
                .trim_end_matches('0')
                .trim_end_matches('.')
        ),
    });
    let modes = strength.report.modes.iter().filter(|m| m.hz <= most_hz);
    let mut out: Vec<Name> = orders
        .chain(modes.map(|m| Name {
            tip: y(m.hz),
            at: 0.0,
            colour: MODE,
            words: format!("mode {}: {:.1} Hz", m.mode, m.hz),
        }))
        .collect();
    out.sort_by(|a, b| a.tip.total_cmp(&b.tip));
    let wanted: Vec<f64> = out.iter().map(|n| n.tip).collect();
    let spread = spread(&wanted, NAMES.1, top, top + height);
    for (name, at) in out.iter_mut().zip(spread) {
        name.at = at;
    }
    out
}

fn write_names(svg: &mut Svg, names: &[Name]) {
    let right = PLOT.0 + PLOT.2;
    for n in names {
        let style = format!("stroke=\"{}\" stroke-width=\"0.8\"", n.colour);
        svg.line((right + 2.0, n.tip), (right + NAMES.0 - 4.0, n.at), &style);
        svg.styled_words(
            (right + NAMES.0, n.at + 4.0),
            12.0,
            Anchor::Start,
            n.colour,
            "normal",
            &n.words,
        );
    }
}

/// The orders' lines.
fn orders(
    svg: &mut Svg,
    excitation: &Excitation,
    (most_rpm, most_hz): (f64, f64),
    x: &impl Fn(f64) -> f64,
    y: &impl Fn(f64) -> f64,
) {
    for (k, o) in excitation.orders.iter().enumerate() {
        // The line ends at the frame's right or upper side.
        let end = most_rpm.min(60.0 * most_hz / o.per_turn);
        let style = format!(
            "stroke=\"{INK}\" stroke-width=\"1.6\" stroke-dasharray=\"{}\"",
            DASHES[k % DASHES.len()]
        );
        let tip = (x(end), y(o.per_turn * end / 60.0));
        svg.line((x(0.0), y(0.0)), tip, &style);
    }
}

/// The modes' levels; answers how many lie in the chart.
fn levels(svg: &mut Svg, strength: &Strength, most_hz: f64, y: &impl Fn(f64) -> f64) -> usize {
    let (left, _, width, _) = PLOT;
    let mut shown = 0;
    for m in strength.report.modes.iter().filter(|m| m.hz <= most_hz) {
        svg.line(
            (left, y(m.hz)),
            (left + width, y(m.hz)),
            &format!("stroke=\"{MODE}\" stroke-width=\"1.8\""),
        );
        shown += 1;
    }
    shown
}

fn axes(
    svg: &mut Svg,
    most_rpm: f64,
    most_hz: f64,
    x: &impl Fn(f64) -> f64,
    y: &impl Fn(f64) -> f64,
) {
    let (left, top, width, height) = PLOT;
    let grid = "stroke=\"#dcdcdc\" stroke-width=\"0.8\"";
    let step = round_step(most_hz, 6.0);
    let mut hz = 0.0;
    while hz <= most_hz {
        svg.line((left, y(hz)), (left + width, y(hz)), grid);
        svg.words(
            (left - 8.0, y(hz) + 4.0),
            12.0,
            Anchor::End,
            &stepped(hz, step),
        );
        hz += step;
    }
    let step = round_step(most_rpm, 7.0);
    let mut rpm = 0.0;
    while rpm <= most_rpm {
        svg.line((x(rpm), top), (x(rpm), top + height), grid);
        svg.words(
            (x(rpm), top + height + 18.0),
            12.0,
            Anchor::Middle,
            &stepped(rpm, step),
        );
        rpm += step;
    }
    let frame = format!("stroke=\"{QUIET}\" stroke-width=\"1.2\"");
    svg.line((left, top), (left, top + height), &frame);
    svg.line((left, top + height), (left + width, top + height), &frame);
    svg.words(
        (left + 0.5 * width, top + height + 42.0),
        13.0,
        Anchor::Middle,
        "crankshaft speed, rpm",
    );
    svg.raw(&format!(
        "<text transform=\"translate({:.1} {:.1}) rotate(-90)\" font-size=\"13\" text-anchor=\"middle\" fill=\"{INK}\">frequency, Hz</text>",
        left - 52.0,
        top + 0.5 * height
    ));
}
