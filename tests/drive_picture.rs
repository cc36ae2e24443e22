//! The drive's picture: to scale, well formed, and no text on another.

mod demo_drives;
mod random_drives;

use platewright::drive::picture::{self, Picture};
use platewright::drive::{self, Drive};
use platewright::tables::belt::stocked_lengths_mm;

fn drawn(drive: &Drive) -> Picture {
    let analysis = drive::analyse(drive, stocked_lengths_mm("PK")).expect("the drive is sound");
    let picture = picture::draw(drive, &analysis);
    if let Ok(dir) = std::env::var("PLATEWRIGHT_PICTURES") {
        let name = format!("{dir}/{}.svg", drive.name.replace(' ', "-"));
        std::fs::write(name, &picture.svg).expect("the picture is written");
    }
    picture
}

fn overlapping(picture: &Picture) -> Vec<String> {
    let mut pairs = Vec::new();
    for (i, a) in picture.texts.iter().enumerate() {
        for b in &picture.texts[i + 1..] {
            if a.overlaps(b) {
                pairs.push(format!("{:?} on {:?}", a.text, b.text));
            }
        }
    }
    pairs
}

#[test]
fn no_text_overlaps_another_on_the_demo_drives() {
    for drive in [demo_drives::seven_rib(), demo_drives::four_rib()] {
        let picture = drawn(&drive);
        assert_eq!(
            overlapping(&picture),
            Vec::<String>::new(),
            "{}",
            drive.name
        );
        assert!(picture.texts.len() > 40);
    }
}

#[test]
fn no_text_overlaps_another_on_random_drives() {
    let mut random = random_drives::Random::new(31);
    for i in 0..40 {
        let mut drive = random_drives::drive(&mut random, i % 4 == 0);
        drive.name = format!("random {i}");
        let picture = drawn(&drive);
        assert_eq!(overlapping(&picture), Vec::<String>::new(), "drive {i}");
    }
}

#[test]
fn every_text_lies_on_the_sheet() {
    for drive in [demo_drives::seven_rib(), demo_drives::four_rib()] {
        let picture = drawn(&drive);
        let head = picture.svg.split("viewBox=\"").nth(1).unwrap();
        let frame: Vec<f64> = head
            .split('"')
            .next()
            .unwrap()
            .split(' ')
            .map(|v| v.parse().unwrap())
            .collect();
        for t in &picture.texts {
            assert!(t.x_mm > frame[0] && t.y_mm > frame[1], "{t:?}");
            assert!(t.x_mm + t.width_mm < frame[0] + frame[2], "{t:?}");
            assert!(t.y_mm + t.height_mm < frame[1] + frame[3], "{t:?}");
        }
    }
}

#[test]
fn a_name_full_of_markup_stays_text() {
    let mut drive = demo_drives::four_rib();
    drive.name = "<script>&\"'".to_owned();
    drive.pulleys[1].id = "a<b&c".to_owned();
    let picture = drawn(&drive);
    assert!(!picture.svg.contains("<script>"));
    assert!(picture.svg.contains("a&lt;b&amp;c"));
}
