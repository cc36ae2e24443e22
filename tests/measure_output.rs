//! What a measured block face looks like as text and as a picture.

mod measure_support;

use measure_support::block_face;
use platewright::measure::{Matter, Options, picture, report, solve};

/// Where pictures go to be looked at, when that is wanted.
fn keep(name: &str, text: &str) {
    if let Ok(dir) = std::env::var("PLATEWRIGHT_PICTURES") {
        std::fs::write(std::path::Path::new(&dir).join(name), text)
            .expect("the picture folder can be written");
    }
}

#[test]
fn the_block_face_reads_as_expected() {
    let network = block_face();
    let survey = solve(&network, Options::default()).expect("a sound network");
    let text = report(&survey);
    keep("block_face.txt", &text);
    keep("block_face.svg", &picture(&network, &survey));
    println!("{text}");
    let truth = [
        ("A3", 172.5, 64.0),
        ("A6", -38.0, 118.0),
        ("A8", 70.0, 72.0),
    ];
    for (name, x, y) in truth {
        let h = survey
            .holes
            .iter()
            .find(|h| h.name == name)
            .expect("listed");
        assert!(
            (h.x_mm - x).hypot(h.y_mm - y) < 0.15,
            "{name}: {} {}",
            h.x_mm,
            h.y_mm
        );
    }
    let boss = survey
        .holes
        .iter()
        .find(|h| h.name == "A8")
        .and_then(|h| h.z_mm)
        .expect("gauged");
    assert!((boss - 12.0).abs() < 0.1);
    assert!(
        !survey.findings.iter().any(|f| f.matter == Matter::Mirror),
        "the sump edge tells the side"
    );
}

#[test]
fn a_doubtful_reading_is_marked_in_text_and_picture() {
    let mut network = block_face();
    network.readings[2].value_mm += 1.3;
    let survey = solve(&network, Options::default()).expect("a sound network");
    let text = report(&survey);
    let svg = picture(&network, &survey);
    keep("block_face_doubt.svg", &svg);
    println!("{text}");
    assert!(text.contains("DOUBTFUL, left out"));
    assert!(svg.contains("reading 3: ") && svg.contains("would fit"));
}
