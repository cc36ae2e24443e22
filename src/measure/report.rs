//! The result in words and columns.

use std::fmt::Write as _;

use super::assembly::Assembly;
use super::snap::Snapped;
use super::survey::{JudgedReading, Survey, Verdict};
use crate::units::fixed;

/// The survey as text: coordinates and readings. What was found is said by its findings.
pub fn report(survey: &Survey) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "{}", survey.name);
    let _ = writeln!(out);
    coordinates(survey, &mut out);
    others(survey, &mut out);
    readings(survey, &mut out);
    let _ = writeln!(out);
    match (survey.scatter, survey.scatter_probability) {
        (Some(s), Some(p)) => {
            let _ = writeln!(
                out,
                "{} readings to spare; they scatter {s:.2} times as much as stated (honest readings scatter less in {:.0} of 100 cases)",
                survey.redundancy,
                100.0 * p
            );
        }
        _ => {
            let _ = writeln!(out, "no reading to spare: nothing checks the result");
        }
    }
    out
}

/// Width of the first column.
fn name_width<'a>(names: impl Iterator<Item = &'a str>) -> usize {
    names.map(|n| n.chars().count()).max().unwrap_or(0).max(4)
}

/// The table of holes.
fn coordinates(survey: &Survey, out: &mut String) {
    let w = name_width(survey.holes.iter().map(|h| h.name.as_str()));
    let _ = writeln!(
        out,
        "{:w$}  {:>9}  {:>9}  {:>8}  {:>6}  {:>6}  {:>22}",
        "hole", "x mm", "y mm", "z mm", "± x", "± y", "95 % ellipse mm @ deg"
    );
    for h in &survey.holes {
        let z = h.z_mm.map_or(String::from("-"), |z| fixed(z, 2));
        let e = h.ellipse;
        let ellipse = if e.major_mm > 0.0 {
            format!(
                "{:.3} × {:.3} @ {:>4.0}",
                e.major_mm,
                e.minor_mm,
                e.direction_deg + 0.0
            )
        } else {
            "given".to_owned()
        };
        let _ = writeln!(
            out,
            "{:w$}  {:>9}  {:>9}  {z:>8}  {:>6.3}  {:>6.3}  {ellipse:>22}",
            h.name,
            fixed(h.x_mm, 3),
            fixed(h.y_mm, 3),
            h.sd_x_mm,
            h.sd_y_mm
        );
    }
    let _ = writeln!(
        out,
        "± is one standard deviation, from the origin and direction of the frame"
    );
}

/// Edges and faces.
fn others(survey: &Survey, out: &mut String) {
    for e in &survey.edges {
        if e.sd_mm == 0.0 && e.out_of_square_deg == 0.0 {
            let _ = writeln!(
                out,
                "edge {}: given, {} mm from the origin",
                e.name,
                fixed(e.origin_distance_mm.abs(), 3)
            );
            continue;
        }
        let _ = writeln!(
            out,
            "edge {}: the origin is {} ± {:.3} mm from it on the holes' side, {} deg out of square",
            e.name,
            fixed(e.origin_distance_mm, 3),
            e.sd_mm,
            fixed(e.out_of_square_deg, 3)
        );
    }
    for f in &survey.faces {
        if f.sd_mm == 0.0 {
            let _ = writeln!(out, "face {}: given, z = {} mm", f.name, fixed(f.z_mm, 3));
            continue;
        }
        let _ = writeln!(
            out,
            "face {}: z = {} ± {:.3} mm",
            f.name,
            fixed(f.z_mm, 3),
            f.sd_mm
        );
    }
}

/// The table of readings and diameters.
fn readings(survey: &Survey, out: &mut String) {
    let all = || survey.readings.iter().chain(&survey.diameters);
    let w = name_width(all().map(|r| r.label.as_str()));
    let _ = writeln!(out);
    let _ = writeln!(
        out,
        "{:w$}  {:>9}  {:>6}  {:>9}  {:>7}  {:>5}  {:>5}",
        "reading", "mm", "±", "residual", "checked", "w", "finds"
    );
    for r in all() {
        let _ = writeln!(out, "{}", line(r, w));
    }
    let _ = writeln!(
        out,
        "checked: the share of an error that shows; w: residual in its own deviations, doubted beyond 3.29; finds: the smallest error found 4 times in 5, mm"
    );
}

/// One line of the table of readings.
fn line(r: &JudgedReading, w: usize) -> String {
    let text = |v: Option<f64>, digits: usize| v.map_or(String::from("-"), |v| fixed(v, digits));
    let mark = match r.verdict {
        Verdict::Fits => "",
        Verdict::Unchecked => "  unchecked",
        Verdict::Doubtful { left_out: true, .. } => "  DOUBTFUL, left out",
        Verdict::Doubtful { .. } => "  DOUBTFUL",
        Verdict::Suspect => "  SUSPECT",
    };
    format!(
        "{:w$}  {:>9}  {:>6.3}  {:>9}  {:>6.0} %  {:>5}  {:>5}{mark}",
        r.label,
        fixed(r.value_mm, 3),
        r.sd_mm,
        fixed(r.residual_mm, 3),
        100.0 * r.redundancy,
        text(r.w, 1),
        text(r.detectable_mm, 2)
    )
}

/// The assembly result as a sentence.
pub fn assembly_words(a: &Assembly) -> String {
    let share = format!(
        "{:.1} ± {:.1} times in 100",
        100.0 * a.probability,
        100.0 * a.counting_error
    );
    if a.goes_on && a.probability > 0.9995 {
        return "a plate drilled to these coordinates goes on practically always".to_owned();
    }
    if a.goes_on {
        return format!("a plate drilled to these coordinates goes on {share}");
    }
    let tight = a
        .tightest
        .as_ref()
        .map_or(String::new(), |t| format!(", most often {t} is in the way"));
    format!(
        "a plate drilled to these coordinates goes on only {share}{tight}; holes {:.2} mm larger would go on 95 times in 100",
        a.wider_mm
    )
}

/// The rounded or mirrored pattern as text.
pub fn snapped_words(s: &Snapped) -> String {
    let mut out = String::new();
    for line in &s.done {
        let _ = writeln!(out, "done: {line}");
    }
    for line in &s.refused {
        let _ = writeln!(out, "not done: {line}");
    }
    let _ = writeln!(
        out,
        "weighted change {:.2}, at most {:.2} at 95 %",
        s.chi_square, s.chi_square_limit
    );
    for h in &s.holes {
        let _ = writeln!(
            out,
            "{}  {}  {}  moved {:.3}",
            h.name,
            fixed(h.x_mm, 3),
            fixed(h.y_mm, 3),
            h.moved_mm
        );
    }
    out
}
