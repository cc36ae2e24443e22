//! Pictures carry their caution, their peak and every mode; set `PLATEWRIGHT_PICTURES` to a folder to keep them.

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
            let file = std::path::Path::new(&folder).join(format!("{name}.svg"));
            std::fs::write(file, svg).expect("written");
        }
    }
}
