//! Finished SVG documents made fit to stand inside a page: names of their own, shorter path data.

use crate::drive::picture::n;

/// Steps to a pixel that path data keeps: a tenth of a pixel is below what a screen or a printer shows.
const STEPS: f64 = 10.0;

/// The document with every id and reference to one behind `prefix`, and its paths in short steps.
///
/// Ids are local to a file, but a page holds several files.
pub(super) fn inlined(svg: &str, prefix: &str) -> String {
    let named = svg
        .replace(" id=\"", &format!(" id=\"{prefix}"))
        .replace("url(#", &format!("url(#{prefix}"));
    let mut out = String::with_capacity(named.len());
    let mut rest = named.as_str();
    while let Some((before, after)) = rest.split_once(" d=\"") {
        out.push_str(before);
        out.push_str(" d=\"");
        let (data, after) = after.split_once('"').unwrap_or((after, ""));
        match stepped(data) {
            Some(short) if short.len() < data.len() => out.push_str(&short),
            _ => out.push_str(data),
        }
        out.push('"');
        rest = after;
    }
    out.push_str(rest);
    out
}

/// Path data of absolute M, L, Q and Z in steps from point to point; `None` where it holds anything else.
///
/// Points are rounded before the steps are taken, so that neighbours which
/// share one still do and errors do not add up.
fn stepped(data: &str) -> Option<String> {
    let mut out = String::with_capacity(data.len());
    let (mut at, mut start) = ([0_i64; 2], [0_i64; 2]);
    let mut last = ' ';
    let mut rest = data.trim();
    while let Some(letter) = rest.chars().next() {
        let body = rest.get(1..)?;
        let end = body
            .find(|c: char| c.is_ascii_alphabetic())
            .unwrap_or(body.len());
        let numbers: Vec<f64> = body[..end]
            .split([' ', ','])
            .filter(|s| !s.is_empty())
            .map(str::parse)
            .collect::<Result<_, _>>()
            .ok()?;
        rest = &body[end..];
        let points: Vec<[i64; 2]> = numbers
            .chunks_exact(2)
            .map(|p| [p[0], p[1]].map(|v| (v * STEPS).round() as i64))
            .collect();
        match (letter, numbers.len()) {
            ('M' | 'L', 2) | ('Q', 4) => {
                let small = letter.to_ascii_lowercase();
                // A step after a move is a line without a letter of its own.
                let same = (last == small && small != 'm') || (last == 'm' && small == 'l');
                if !same {
                    out.push(small);
                }
                last = small;
                let mut first = !same;
                for p in &points {
                    for k in 0..2 {
                        push(&mut out, p[k] - at[k], first);
                        first = false;
                    }
                }
                at = *points.last()?;
                if letter == 'M' {
                    start = at;
                }
            }
            ('Z' | 'z', 0) => {
                out.push('z');
                at = start;
                last = 'z';
            }
            _ => return None,
        }
    }
    Some(out)
}

/// A step as a number, with a blank where the number before it would run into it.
fn push(out: &mut String, steps: i64, first: bool) {
    let text = n(steps as f64 / STEPS);
    if !first && !text.starts_with('-') {
        out.push(' ');
    }
    match text.strip_prefix("0.") {
        Some(tail) => {
            out.push('.');
            out.push_str(tail);
        }
        None => out.push_str(&text.replace("-0.", "-.")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_lead_to_the_same_points() {
        let short =
            stepped("M66.39 353.51L75.53 361.75L84.68 370.00ZM1.00 2.00L1.50 2.00").unwrap();
        assert_eq!(short, "m66.4 353.5 9.1 8.3 9.2 8.2zm-65.4-351.5 .5 0");
    }

    #[test]
    fn curves_and_repeated_moves_keep_their_letters() {
        let short = stepped("M1 1Q2 2 3 1Q4 0 5 1M0 0L9 0").unwrap();
        // After SVG 1.1 section 8.3: relative control and end points both count from the current point.
        assert_eq!(short, "m1 1q1 1 2 0 1-1 2 0m-5-1 9 0");
    }

    #[test]
    fn what_it_does_not_know_it_leaves_alone() {
        assert_eq!(stepped("M0 0A1 1 0 0 1 2 2"), None);
        assert_eq!(stepped("M0 0h5"), None);
        let svg = "<svg><pattern id=\"hatch\"/><path fill=\"url(#hatch)\" d=\"M0 0v9\"/></svg>";
        assert_eq!(
            inlined(svg, "a-"),
            "<svg><pattern id=\"a-hatch\"/><path fill=\"url(#a-hatch)\" d=\"M0 0v9\"/></svg>"
        );
    }
}
