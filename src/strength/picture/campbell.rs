//! Natural frequencies and excitation orders over speed.

use super::{Anchor, INK, QUIET, Svg, round_step, stepped};
use crate::strength::model::Excitation;
use crate::strength::report::{CAUTION, Strength};

/// Plot area, px: left, top, width, height.
const PLOT: (f64, f64, f64, f64) = (80.0, 100.0, 640.0, 430.0);

/// Strokes that stay apart in grey.
const DASHES: [&str; 4] = ["", "9 4", "3 3", "12 4 3 4"];

/// Campbell chart of the set.
#[must_use]
pub fn campbell_chart(strength: &Strength, excitation: &Excitation) -> String {
    let (left, top, width, height) = PLOT;
    let mut svg = Svg::new(left + width + 190.0, top + height + 96.0, "Campbell chart");
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
    let above = levels(&mut svg, strength, most_hz, &y);
    for c in strength
        .report
        .campbell
        .iter()
        .filter(|c| c.is_met && c.hz <= most_hz)
    {
        let at = (x(c.at_rpm), y(c.hz));
        svg.circle(
            at,
            8.0,
            "fill=\"none\" stroke=\"#b3321a\" stroke-width=\"2.6\"",
        );
        svg.styled_words(
            (at.0 + 11.0, at.1 + 17.0),
            12.0,
            Anchor::Start,
            "#b3321a",
            "bold",
            &format!("{:.0} rpm", c.at_rpm),
        );
    }
    if above > 0 {
        svg.words(
            (left, top + height + 78.0),
            12.0,
            Anchor::Start,
            &format!("{above} more modes lie above the chart."),
        );
    }
    svg.finish()
}

/// The orders' lines, named at their ends.
fn orders(
    svg: &mut Svg,
    excitation: &Excitation,
    (most_rpm, most_hz): (f64, f64),
    x: &impl Fn(f64) -> f64,
    y: &impl Fn(f64) -> f64,
) {
    let (left, top, width, _) = PLOT;
    for (k, o) in excitation.orders.iter().enumerate() {
        // The line ends at the frame's right or upper side.
        let end = most_rpm.min(60.0 * most_hz / o.per_turn);
        let style = format!(
            "stroke=\"{INK}\" stroke-width=\"1.6\" stroke-dasharray=\"{}\"",
            DASHES[k % DASHES.len()]
        );
        let tip = (x(end), y(o.per_turn * end / 60.0));
        svg.line((x(0.0), y(0.0)), tip, &style);
        svg.words(
            (left + width + 10.0, (tip.1 + 5.0).max(top + 5.0)),
            12.0,
            Anchor::Start,
            &format!(
                "{} ({} per turn)",
                o.id,
                stepped(o.per_turn, 0.01)
                    .trim_end_matches('0')
                    .trim_end_matches('.')
            ),
        );
    }
}

/// The modes' levels, named; answers how many lie above the chart.
fn levels(svg: &mut Svg, strength: &Strength, most_hz: f64, y: &impl Fn(f64) -> f64) -> usize {
    /// Room a label needs between two levels, px.
    const LABEL: f64 = 18.0;
    let (left, _, width, _) = PLOT;
    let modes = &strength.report.modes;
    let shown: Vec<(usize, f64, f64)> = modes
        .iter()
        .filter(|m| m.hz <= most_hz)
        .map(|m| (m.mode, m.hz, y(m.hz)))
        .collect();
    for (_, _, level) in &shown {
        svg.line(
            (left, *level),
            (left + width, *level),
            "stroke=\"#1f5f99\" stroke-width=\"1.8\"",
        );
    }
    for (k, (mode, hz, level)) in shown.iter().enumerate() {
        // A label stands over its level where the next one leaves room, else under it, else aside.
        let free = |other: Option<usize>| {
            other
                .and_then(|i| shown.get(i))
                .is_none_or(|o| (o.2 - level).abs() >= LABEL)
        };
        let (aside, down) = if free(Some(k + 1)) {
            (0.0, -5.0)
        } else if free(k.checked_sub(1)) {
            (0.0, 14.0)
        } else {
            (150.0, -5.0)
        };
        svg.styled_words(
            (left + 8.0 + aside, level + down),
            12.0,
            Anchor::Start,
            "#1f5f99",
            "normal",
            &format!("mode {mode}: {hz:.1} Hz"),
        );
    }
    modes.len() - shown.len()
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
