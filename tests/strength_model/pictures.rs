//! Pictures carry their caution, their peak and every mode; set `PLATEWRIGHT_PICTURES` to a folder to keep them.

use std::fs;
use std::path::Path;

use platewright::drawing::font::{Weight, width};
use platewright::strength::campbell;
use platewright::strength::picture::{campbell_chart, mode_sheet, stress_contour};
use platewright::strength::report::CAUTION;

use crate::bracket::{solved_set, two_plate_set};

#[test]
fn every_picture_says_that_it_is_an_aid_to_judgement() {
    let model = two_plate_set();
    let s = solved_set();
    let mut pictures = vec![
        ("modes".to_owned(), mode_sheet(s, 6)),
        ("campbell".to_owned(), campbell_chart(s, &model.excitation)),
    ];
    for (k, p) in s.report.plates.iter().enumerate() {
        let svg = stress_contour(s, k).expect("a plate");
        let peak = p.places.iter().map(|x| x.von_mises_mpa).fold(0.0, f64::max);
        assert!(
            svg.contains(&format!("{peak:.1} MPa")),
            "the peak is written"
        );
        pictures.push((format!("stress-{}", p.plate), svg));
    }
    assert!(stress_contour(s, 2).is_none());
    for m in &s.report.modes[..6] {
        assert!(
            pictures[0]
                .1
                .contains(&format!("Mode {}: {:.1} Hz", m.mode, m.hz))
        );
    }
    for (name, svg) in &pictures {
        assert!(svg.contains(CAUTION), "{name}");
        assert!(!svg.contains("NaN") && !svg.contains("inf"), "{name}");
        assert!(svg.len() < 2_000_000, "{name} has {} bytes", svg.len());
        if let Ok(folder) = std::env::var("PLATEWRIGHT_PICTURES") {
            let file = Path::new(&folder).join(format!("{name}.svg"));
            fs::write(file, svg).expect("written");
        }
    }
}

/// A text's words and box: left, top, right, bottom, px.
type Words = (String, [f64; 4]);

/// Fonts that viewers put in for `sans-serif` run up to this much wider than Helvetica
/// (DejaVu Sans against Helvetica, from memory).
const WIDER: f64 = 1.15;

/// Every text of a picture that is not turned, by Helvetica's widths.
fn texts(svg: &str) -> Vec<Words> {
    let attribute = |tag: &str, name: &str| -> Option<String> {
        let from = tag.find(&format!(" {name}=\""))? + name.len() + 3;
        let length = tag[from..].find('"')?;
        Some(tag[from..from + length].to_owned())
    };
    svg.split("<text")
        .skip(1)
        .filter_map(|piece| {
            let (tag, rest) = piece.split_once('>')?;
            let words = rest.split("</text>").next()?;
            let words = words
                .replace("&lt;", "<")
                .replace("&gt;", ">")
                .replace("&quot;", "\"")
                .replace("&amp;", "&");
            let number = |name: &str| attribute(tag, name)?.parse::<f64>().ok();
            let (x, y, size) = (number("x")?, number("y")?, number("font-size")?);
            let weight = match attribute(tag, "font-weight").as_deref() {
                Some("bold") => Weight::Bold,
                _ => Weight::Regular,
            };
            let w = WIDER * size * width(&words, weight);
            let left = match attribute(tag, "text-anchor").as_deref() {
                Some("middle") => x - 0.5 * w,
                Some("end") => x - w,
                _ => x,
            };
            Some((words, [left, y - 0.75 * size, left + w, y + 0.2 * size]))
        })
        .collect()
}

/// Asserts that no text covers another or runs off the sheet.
#[track_caller]
fn assert_readable(name: &str, svg: &str) {
    let head = svg.split_once('>').map_or("", |h| h.0);
    let side = |what: &str| -> f64 {
        head.split_once(&format!(" {what}=\""))
            .and_then(|(_, rest)| rest.split('"').next()?.parse().ok())
            .expect("a size")
    };
    let (sheet_width, sheet_height) = (side("width"), side("height"));
    let all = texts(svg);
    assert!(all.len() > 4, "{name} has words");
    for (k, (words, a)) in all.iter().enumerate() {
        assert!(
            a[0] >= 0.0 && a[1] >= 0.0 && a[2] <= sheet_width && a[3] <= sheet_height,
            "{name}: `{words}` runs off the sheet: {a:?} of {sheet_width} x {sheet_height}"
        );
        for (other, b) in &all[k + 1..] {
            let apart = a[2] <= b[0] || b[2] <= a[0] || a[3] <= b[1] || b[3] <= a[1];
            assert!(apart, "{name}: `{words}` covers `{other}`");
        }
    }
}

#[test]
fn no_text_of_a_picture_covers_another() {
    let (model, s) = (two_plate_set(), solved_set());
    assert_readable("modes", &mode_sheet(s, 6));
    assert_readable("campbell", &campbell_chart(s, &model.excitation));
    for (k, p) in s.report.plates.iter().enumerate() {
        assert_readable(&p.plate, &stress_contour(s, k).expect("a plate"));
    }
}

#[test]
fn crowded_modes_and_long_names_stay_readable() {
    let (model, mut s) = (two_plate_set(), solved_set().clone());
    let top = model
        .excitation
        .orders
        .iter()
        .map(|o| o.per_turn)
        .fold(0.0, f64::max)
        * model.excitation.top_rpm
        / 60.0;
    // All ten modes within two per cent, in the middle of the excited range.
    for (k, m) in s.report.modes.iter_mut().enumerate() {
        m.hz = 0.5 * top * (1.0 + 0.002 * k as f64);
        m.moves = vec![("an accessory with a very long name".to_owned(), 0.3); 3];
    }
    let hz: Vec<f64> = s.report.modes.iter().map(|m| m.hz).collect();
    s.report.campbell = campbell::table(&hz, &model.excitation);
    for body in &mut s.bodies {
        body.centre = [0.0; 3];
    }
    for place in s.report.plates.iter_mut().flat_map(|p| &mut p.places) {
        place.name = "a hole with a long name, and the plate it is in as well".to_owned();
    }
    assert_readable("modes", &mode_sheet(&s, 6));
    assert_readable("contour", &stress_contour(&s, 0).expect("a plate"));
    assert_readable("campbell", &campbell_chart(&s, &model.excitation));
}

#[test]
fn no_text_of_the_demo_pictures_covers_another() {
    let exports = Path::new(env!("CARGO_MANIFEST_DIR")).join("exports");
    let mut seen = 0;
    for job in fs::read_dir(exports).expect("the demo packages") {
        let folder = job.expect("a package").path().join("strength");
        let Ok(files) = fs::read_dir(&folder) else {
            continue;
        };
        for file in files {
            let path = file.expect("a file").path();
            if path.extension().is_some_and(|e| e == "svg") {
                let svg = fs::read_to_string(&path).expect("a picture");
                assert_readable(&path.display().to_string(), &svg);
                seen += 1;
            }
        }
    }
    assert!(seen >= 6, "{seen} demo pictures");
}
