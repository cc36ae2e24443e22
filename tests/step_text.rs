//! The STEP files' own text, checked strictly, and proof that the check sees damage.

#![allow(clippy::panic, reason = "a test says what is wrong by panicking")]

use platewright::export::step::{Assembly, Colour, Header, Part, Placement, Schema, part};
use platewright::geom::{Frame, Point3, Vector3};
use platewright::solid::{Body, from_plate, tube};

#[allow(dead_code, reason = "the bench uses the rest")]
#[path = "support/plates.rs"]
mod plates;

#[allow(dead_code, reason = "other tests use the rest")]
#[path = "support/samples.rs"]
mod samples;

#[allow(dead_code, reason = "other tests use the rest")]
#[path = "support/part21.rs"]
mod part21;

use part21::{File, Value};
use samples::{Sample, gallery, random};

const HEADER: Header<'_> = Header {
    file_name: "part.step",
    time_stamp: "2026-01-31T08:00:00",
    author: "",
    organization: "Shop",
    schema: Schema::Ap242,
};

fn text_of(body: &Body) -> String {
    let part_ = Part {
        id: "P",
        description: "",
        body,
        colour: Colour::PLATE,
    };
    part(&part_, &HEADER)
}

fn build(sample: &Sample) -> Body {
    from_plate(&sample.plate).unwrap_or_else(|e| panic!("{}: {e}", sample.plate.title))
}

fn assert_text(sample: &Sample) {
    let body = build(sample);
    let file =
        File::parse(&text_of(&body)).unwrap_or_else(|e| panic!("{}: {e}", sample.plate.title));
    let found = file
        .check()
        .unwrap_or_else(|e| panic!("{}: {e:#?}", sample.plate.title));
    let mut radii = sample.expected.cylinders.clone();
    radii.sort_by(f64::total_cmp);
    assert_eq!(found.solids, 1);
    assert_eq!(
        found.planes, sample.expected.planes,
        "{}",
        sample.plate.title
    );
    assert_eq!(found.cylinders, radii, "{}", sample.plate.title);
    assert_eq!(
        found.cones.len(),
        sample.expected.cones.len(),
        "{}",
        sample.plate.title
    );
    let share = body.volume_mm3() / sample.expected.volume_mm3 - 1.0;
    assert!(
        share.abs() < 1e-12,
        "{}: volume off by {share:e}",
        sample.plate.title
    );
}

#[test]
fn every_kind_of_plate_is_written_right() {
    for sample in gallery() {
        assert_text(&sample);
    }
}

#[test]
fn a_thousand_random_plates_are_written_right() {
    for seed in 0..1_000 {
        assert_text(&random(seed));
    }
}

#[test]
fn the_same_plate_gives_the_same_bytes() {
    let sample = random(7);
    let first = text_of(&build(&sample));
    for _ in 0..5 {
        assert_eq!(text_of(&build(&sample)), first);
    }
}

#[test]
fn header_and_schema_say_what_they_were_told() {
    let body = tube("Hülse", 10.0, 20.0, 30.0).expect("a tube");
    let text = text_of(&body);
    assert!(text.contains("FILE_NAME('part.step','2026-01-31T08:00:00',(''),('Shop'),"));
    assert!(
        text.contains("AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 1 1 4 }")
    );
    assert!(text.contains("PRODUCT('P','H\\X2\\00FC\\X0\\lse','',"));
    assert!(text.contains("LENGTH_MEASURE(1.E-7)"));
    let header = Header {
        schema: Schema::Ap214,
        ..HEADER
    };
    let part_ = Part {
        id: "P",
        description: "",
        body: &body,
        colour: Colour::PLATE,
    };
    let text = part(&part_, &header);
    assert!(text.contains("FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 3 1 1 }'));"));
    assert!(text.is_ascii());
}

#[test]
fn an_assembly_stores_a_repeated_part_once() {
    let body = tube("Spacer", 10.0, 20.0, 30.0).expect("a tube");
    let at = |x: f64| Placement {
        name: "spacer",
        frame: Frame::new(Point3::new(x, 0.0, 0.0), Vector3::X, Vector3::Y).expect("a frame"),
    };
    let spacer = Part {
        id: "S",
        description: "",
        body: &body,
        colour: Colour::SPACER,
    };
    let mut whole = Assembly::new("A", "Whole");
    whole.add(spacer, vec![at(0.0), at(40.0), at(80.0)]);
    whole.add(spacer, vec![]);
    let file = File::parse(&whole.write(&HEADER)).expect("parses");
    assert_eq!(file.check().expect("right").solids, 1);
    assert_eq!(file.all("NEXT_ASSEMBLY_USAGE_OCCURRENCE").count(), 3);
    assert_eq!(file.all("PRODUCT").count(), 2);
}

/// A plate with planes, cylinders, cones and faces of several bounds.
fn good() -> String {
    text_of(&build(&gallery()[4]))
}

/// The file with the line of entity `id` changed.
fn with_line(text: &str, id: u32, change: impl Fn(&str) -> String) -> String {
    let start = format!("#{id}=");
    let changed: Vec<String> = text
        .lines()
        .map(|line| {
            if line.starts_with(&start) {
                change(line)
            } else {
                line.into()
            }
        })
        .collect();
    let changed = changed.join("\n") + "\n";
    assert_ne!(changed, text, "#{id} was not changed");
    changed
}

/// The first face on a surface of this kind: its number and the surface's.
fn face_on(file: &File, keyword: &str) -> (u32, u32) {
    file.all("ADVANCED_FACE")
        .find_map(|(id, values)| match values[2] {
            Value::Ref(s) if file.entities[&s][0].0 == keyword => Some((id, s)),
            _ => None,
        })
        .expect("a face of this kind")
}

fn flip_last_flag(line: &str) -> String {
    if let Some(head) = line.strip_suffix(",.T.);") {
        return format!("{head},.F.);");
    }
    format!(
        "{},.T.);",
        line.strip_suffix(",.F.);").expect("ends in a flag")
    )
}

/// Adds to the last real of a line.
fn add_to_last_real(line: &str, by: impl Fn(f64) -> f64) -> String {
    let head = line.strip_suffix(");").expect("ends an entity");
    let (head, real) = head.rsplit_once(',').expect("has arguments");
    let real: f64 = real.parse().expect("ends in a real");
    format!("{head},{:?});", by(real))
}

fn damage() -> Vec<(&'static str, String)> {
    let text = good();
    let file = File::parse(&text).expect("parses");
    let (plane_face, _) = face_on(&file, "PLANE");
    let (cylinder_face, cylinder) = face_on(&file, "CYLINDRICAL_SURFACE");
    let (cone_face, cone) = face_on(&file, "CONICAL_SURFACE");
    let first = |keyword| file.all(keyword).next().expect("there is one").0;
    let (oriented, circle) = (first("ORIENTED_EDGE"), first("CIRCLE"));
    let (several, bounds) = file
        .all("ADVANCED_FACE")
        .find_map(|(_, values)| match &values[1] {
            Value::List(bounds) if bounds.len() > 1 => match bounds.as_slice() {
                [Value::Ref(a), Value::Ref(b), ..] => Some((*a, *b)),
                _ => None,
            },
            _ => None,
        })
        .expect("a face of several bounds");
    let swapped = with_line(&text, several, |l| {
        l.replace("FACE_OUTER_BOUND", "FACE_BOUND")
    });
    let swapped = with_line(&swapped, bounds, |l| {
        l.replace("FACE_BOUND", "FACE_OUTER_BOUND")
    });
    let shell = first("CLOSED_SHELL");
    let vertex = first("VERTEX_POINT");
    let Value::Ref(point) = file.entities[&vertex][0].1[1] else {
        panic!("a vertex has a point")
    };
    let face_ref = format!("#{cylinder_face}");
    vec![
        (
            "same_sense of a plane",
            with_line(&text, plane_face, flip_last_flag),
        ),
        (
            "same_sense of a cylinder",
            with_line(&text, cylinder_face, flip_last_flag),
        ),
        (
            "same_sense of a cone",
            with_line(&text, cone_face, flip_last_flag),
        ),
        (
            "an oriented edge flipped",
            with_line(&text, oriented, flip_last_flag),
        ),
        ("a wrong outer bound", swapped),
        (
            "a radius out by 0.01",
            with_line(&text, cylinder, |l| add_to_last_real(l, |r| r + 0.01)),
        ),
        (
            "a radius out by 1e-6",
            with_line(&text, cylinder, |l| add_to_last_real(l, |r| r + 1e-6)),
        ),
        (
            "a cone's angle in degrees",
            with_line(&text, cone, |l| add_to_last_real(l, f64::to_degrees)),
        ),
        (
            "a cone's angle out by 1e-6",
            with_line(&text, cone, |l| add_to_last_real(l, |a| a + 1e-6)),
        ),
        ("a bound flipped", with_line(&text, several, flip_last_flag)),
        (
            "a circle out by 1e-6",
            with_line(&text, circle, |l| add_to_last_real(l, |r| r + 1e-6)),
        ),
        (
            "a face missing",
            with_line(&text, shell, |l| l.replace(&format!("{face_ref},"), "")),
        ),
        (
            "a face twice",
            with_line(&text, shell, |l| {
                l.replace(&face_ref, &format!("{face_ref},{face_ref}"))
            }),
        ),
        (
            "a vertex moved",
            with_line(&text, point, |l| l.replace("));", "1));")),
        ),
        (
            "a reference to nothing",
            with_line(&text, vertex, |l| l.replace(&format!("#{point}"), "#99999")),
        ),
        (
            "an entity misspelt",
            with_line(&text, circle, |l| l.replace("CIRCLE", "CIRCEL")),
        ),
        ("a small e", text.replace("1.E-7", "1.e-7")),
        (
            "a real without a point",
            text.replacen("0.,0.,1.", "0,0.,1.", 1),
        ),
    ]
}

#[test]
fn a_good_file_passes_the_strict_check() {
    let found = File::parse(&good())
        .expect("parses")
        .check()
        .expect("right");
    assert!(found.planes > 0 && !found.cylinders.is_empty() && !found.cones.is_empty());
}

#[test]
fn every_deliberate_damage_is_caught() {
    for (what, text) in damage() {
        let caught = File::parse(&text).map_or(true, |file| file.check().is_err());
        assert!(caught, "{what} was not caught");
    }
}
