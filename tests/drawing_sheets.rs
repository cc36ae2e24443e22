//! Drawings of plates: nothing overlaps, everything is there, both file formats say the same.
//!
//! With `PLATEWRIGHT_PICTURES` naming a folder, every sheet is also written there, to be looked at.

#[path = "support/paper.rs"]
mod paper;
mod samples;

use std::collections::BTreeSet;
use std::path::Path as FilePath;
use std::process::Command;
use std::sync::LazyLock;

use platewright::drawing::{
    Datum, DrawingError, Item, Options, Page, Scale, SheetSize, Text, TitleData, document_sheets,
    hole_rows, plate_drawing,
};
use platewright::export::{pdf::pdf, svg::svg};
use platewright::geom::{Path, Point};
use platewright::plate::Plate;
use platewright::report;
use platewright::report::document::{Document, Part};

use paper::faults;

/// Random plates drawn, beside those made by hand.
const RANDOM_PLATES: u64 = 200;

struct Case {
    name: String,
    plate: Plate,
    title: TitleData,
    pages: Vec<Page>,
}

/// Every plate drawn once for all tests.
fn cases() -> &'static [Case] {
    static CASES: LazyLock<Vec<Case>> = LazyLock::new(draw_cases);
    &CASES
}

fn draw_cases() -> Vec<Case> {
    let full = samples::titles::full;
    let bare = samples::titles::bare;
    let by_hand = samples::by_hand().into_iter().flat_map(|p| {
        [
            (format!("{}_full", p.id), p.clone(), full()),
            (format!("{}_bare", p.id), p, bare()),
        ]
    });
    let random = (0..RANDOM_PLATES).map(|seed| {
        let plate = samples::random(seed);
        let title = if seed % 2 == 0 { full() } else { bare() };
        (plate.id.clone(), plate, title)
    });
    by_hand
        .chain(random)
        .map(|(name, plate, title)| {
            let pages = plate_drawing(&plate, &title, &Options::default()).expect(&name);
            Case {
                name,
                plate,
                title,
                pages,
            }
        })
        .collect()
}

#[test]
fn no_text_meets_another_text_or_any_line_on_any_sheet() {
    let mut found = Vec::new();
    for case in cases() {
        for page in &case.pages {
            found.extend(
                faults(page)
                    .into_iter()
                    .map(|f| format!("{}: {f}", case.name)),
            );
        }
        if let Some(folder) = std::env::var_os("PLATEWRIGHT_PICTURES") {
            let folder = FilePath::new(&folder);
            for (k, page) in case.pages.iter().enumerate() {
                let file = folder.join(format!("{}_{}.svg", case.name, k + 1));
                std::fs::write(file, svg(page, &case.name)).expect("written");
            }
            let file = folder.join(format!("{}.pdf", case.name));
            std::fs::write(file, pdf(&case.pages, &case.name).expect("made")).expect("written");
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// The fit-up and torque sheets of the demo jobs, and a document of every part with long words.
fn document_cases() -> Vec<(String, Document, Vec<Page>)> {
    let mut out = Vec::new();
    let mut add = |name: String, document: Document| {
        let pages = document_sheets(&document, &samples::titles::full()).expect(&name);
        out.push((name, document, pages));
    };
    for job in ["forwarder", "auxiliary"] {
        let path = format!("params/jobs/{job}.toml");
        let project = platewright::project::open(FilePath::new(&path)).expect("the demo opens");
        add(format!("{job} fit-up"), report::fitup::sheet(&project));
        add(format!("{job} torque"), report::torque::sheet(&project));
    }
    let words = |n: usize| "Überwurfmutternschlüssel at block.A1, and so on. ".repeat(n);
    for n in [1, 3, 40] {
        let parts = vec![
            Part::Heading("A heading".to_owned()),
            Part::Text(words(n)),
            Part::Points(vec![words(n); 3]),
            Part::Heading("Another heading".to_owned()),
            Part::Steps(vec![words(n); 120 / n]),
            Part::Text("What the table tells.".to_owned()),
            Part::Table {
                head: vec!["no.", "short", "long"],
                shares: vec![0.05, 0.15, 0.8],
                rows: vec![vec!["1".to_owned(), words(1), words(3 * n)]; 20],
            },
        ];
        add(
            format!("{n} words"),
            Document {
                kind: "test sheet",
                parts,
            },
        );
    }
    out
}

#[test]
fn sheets_of_text_say_everything_and_nothing_on_them_overlaps() {
    for (name, document, pages) in document_cases() {
        let found: Vec<String> = pages.iter().flat_map(faults).collect();
        assert!(found.is_empty(), "{name}: {}", found.join("\n"));
        // Words may be broken over lines; letters and their number may not change.
        let letters = |s: &str| {
            s.chars()
                .filter(|c| c.is_alphanumeric())
                .collect::<String>()
        };
        let whole = letters(&said(&pages));
        for part in &document.parts {
            let texts: Vec<&String> = match part {
                Part::Heading(t) | Part::Text(t) => vec![t],
                Part::Points(t) | Part::Steps(t) => t.iter().collect(),
                Part::Table { rows, .. } => rows.iter().flatten().collect(),
            };
            for word in texts.iter().flat_map(|t| t.split_whitespace()) {
                assert!(whole.contains(&letters(word)), "{name}: {word}");
            }
        }
        let count = pages.len();
        for (k, page) in pages.iter().enumerate() {
            let sheet = format!("{} of {count}", k + 1);
            assert!(page.texts().any(|t| t.text == sheet), "{name}: {sheet}");
            assert_eq!(page.size, SheetSize::A4);
        }
        if let Some(folder) = std::env::var_os("PLATEWRIGHT_PICTURES") {
            let file = FilePath::new(&folder).join(format!("{name}.pdf"));
            std::fs::write(file, pdf(&pages, &name).expect("made")).expect("written");
        }
    }
}

#[test]
fn the_overlap_test_finds_overlaps() {
    let plate = samples::twelve_holes();
    let mut pages =
        plate_drawing(&plate, &samples::titles::full(), &Options::default()).expect("drawn");
    assert!(faults(&pages[0]).is_empty());
    let label = pages[0]
        .texts()
        .find(|t| t.text == "A7")
        .expect("a label")
        .clone();
    let b = label.bounds();
    pages[0]
        .items
        .push(Item::line(b.min, b.max, platewright::drawing::Line::Narrow));
    pages[0].items.push(Item::Text(Text {
        at: Point::new(label.at.x + 1.0, label.at.y + 1.0),
        ..label
    }));
    let found = faults(&pages[0]).join("\n");
    assert!(
        found.contains("overlap") && found.contains("runs through"),
        "{found}"
    );
}

/// All texts of the sheets, wrapped lines joined.
fn said(pages: &[Page]) -> String {
    let texts: Vec<&str> = pages
        .iter()
        .flat_map(Page::texts)
        .map(|t| t.text.as_str())
        .collect();
    texts.join(" ")
}

#[test]
fn every_hole_has_a_label_a_row_with_its_place_and_its_callout() {
    for case in cases() {
        let texts: Vec<&Text> = case.pages.iter().flat_map(Page::texts).collect();
        let whole = said(&case.pages);
        let rows = hole_rows(&case.plate, &Datum::Auto);
        let features: BTreeSet<&str> = rows.iter().map(|r| r.id.as_str()).collect();
        assert_eq!(features.len(), case.plate.cuts().count(), "{}", case.name);
        let labels: BTreeSet<&str> = rows.iter().map(|r| r.label.as_str()).collect();
        for label in labels {
            let on_view = texts.iter().filter(|t| {
                t.text == label && t.weight == platewright::drawing::font::Weight::Bold
            });
            assert_eq!(on_view.count(), 1, "{}: {label}", case.name);
        }
        for row in &rows {
            for v in [row.x_mm, row.y_mm] {
                let near = texts
                    .iter()
                    .filter_map(|t| t.text.parse::<f64>().ok())
                    .any(|n| (n - v).abs() <= 5.001e-4);
                assert!(near, "{}: {} {v}", case.name, row.label);
            }
            assert!(whole.contains(&row.size), "{}: {}", case.name, row.size);
            assert!(
                whole.contains(&row.variants),
                "{}: {}",
                case.name,
                row.variants
            );
        }
    }
}

#[test]
fn the_sheet_says_all_that_the_job_says() {
    let plate = samples::everything();
    let title = samples::titles::full();
    let pages = plate_drawing(&plate, &title, &Options::default()).expect("drawn");
    let whole = said(&pages);
    let mass = plate.properties().mass_kg;
    for wanted in [
        title.owner.as_str(),
        &title.number,
        &title.title,
        &title.supplement,
        &title.issued,
        &title.creator,
        &title.approver,
        &title.status,
        &title.finish,
        &title.revisions[1].date,
        "First issue",
        "ISO 2768-m",
        "EN AW-6082-T651",
        "Accepted deviations",
        "edge-distance",
        "no room; the load there is 0.4 kN",
        "1 of 1",
        "1:2",
        "A3",
        "16 mm",
        &format!("{mass:.2} kg"),
        "upper_plate.dxf",
        "Datum hole",
    ] {
        let wanted = wanted.replace("Datum hole", "X and Y in mm from the datum");
        assert!(whole.contains(&wanted), "`{wanted}` is not on the sheet");
    }
    let e = plate.outline.extents();
    for size in [e.width(), e.height(), plate.thickness_mm] {
        let shown = pages[0]
            .texts()
            .filter_map(|t| t.text.parse::<f64>().ok())
            .any(|n| (n - size).abs() <= 0.005);
        assert!(shown, "{size}");
    }
}

#[test]
fn a_long_hole_table_runs_on_to_further_sheets() {
    let features = (0..150)
        .map(|k| {
            let (i, j) = (f64::from(k % 15), f64::from(k / 15));
            samples::through_hole(&format!("grid.{k}"), 30.0 * i, 30.0 * j, 6.6 + 0.1 * i)
        })
        .collect();
    let outline = Path::polygon(&[
        Point::new(-20.0, -20.0),
        Point::new(440.0, -20.0),
        Point::new(440.0, 290.0),
        Point::new(-20.0, 290.0),
    ]);
    let plate = samples::plate("grid", 10.0, outline, features);
    let pages =
        plate_drawing(&plate, &samples::titles::full(), &Options::default()).expect("drawn");
    assert!(pages.len() > 1);
    let ids: BTreeSet<&str> = pages
        .iter()
        .flat_map(Page::texts)
        .map(|t| t.text.as_str())
        .filter(|t| t.starts_with("grid."))
        .collect();
    assert_eq!(ids.len(), 150);
    for (k, page) in pages.iter().enumerate() {
        assert_eq!(faults(page), Vec::<String>::new());
        assert!(
            page.texts()
                .any(|t| t.text == format!("{} of {}", k + 1, pages.len()))
        );
    }
}

#[test]
fn sheet_and_scale_follow_the_plate_s_size_and_the_caller() {
    let of = |plate: &Plate, options: &Options| {
        let pages = plate_drawing(plate, &samples::titles::bare(), options).expect("drawn");
        (pages[0].size, said(&pages))
    };
    let (size, whole) = of(&samples::disc(), &Options::default());
    assert!(size == SheetSize::A4 && whole.contains("1:1"));
    let wide = |width| {
        let outline = Path::slot(Point::new(40.0, 40.0), Point::new(width - 40.0, 40.0), 40.0);
        let holes = vec![samples::through_hole("a", 40.0, 40.0, 11.0)];
        samples::plate("wide", 10.0, outline, holes)
    };
    let (size, whole) = of(&wide(240.0), &Options::default());
    assert!(size == SheetSize::A3 && whole.contains("1:1"));
    let (size, whole) = of(&wide(280.0), &Options::default());
    assert!(size == SheetSize::A4 && whole.contains("1:2"));
    let asked = Options {
        size: Some(SheetSize::A3),
        scale: Scale::STANDARD.into_iter().find(|s| s.name() == "1:5"),
        ..Options::default()
    };
    let (size, whole) = of(&samples::twelve_holes(), &asked);
    assert!(size == SheetSize::A3 && whole.contains("1:5"));
}

#[test]
fn the_datum_can_be_a_hole_the_corner_or_the_origin() {
    let plate = samples::twelve_holes();
    let first = |datum: Datum| {
        let row = hole_rows(&plate, &datum).remove(0);
        (row.x_mm, row.y_mm)
    };
    for (datum, x, y) in [
        (Datum::Auto, 0.0, 0.0),
        (Datum::Corner, 20.0, 20.0),
        (Datum::Origin, 20.0, 20.0),
        (Datum::Hole("block.A5".to_string()), -260.0, 0.0),
    ] {
        let (found_x, found_y) = first(datum);
        assert!((found_x - x).abs() < 1e-9 && (found_y - y).abs() < 1e-9);
    }
}

#[test]
fn what_cannot_be_lettered_fitted_or_drawn_is_said() {
    let plate = samples::twelve_holes();
    let draw = |plate: &Plate, title: TitleData| {
        plate_drawing(plate, &title, &Options::default()).expect_err("not drawable")
    };
    let cyrillic = TitleData {
        title: "плита".to_string(),
        ..samples::titles::bare()
    };
    assert!(matches!(
        draw(&plate, cyrillic),
        DrawingError::NoGlyph {
            character: 'п', ..
        }
    ));
    let long = TitleData {
        approver: "a very long name ".repeat(20),
        ..samples::titles::bare()
    };
    assert!(matches!(
        draw(&plate, long),
        DrawingError::TooLong {
            field: "Approved by",
            ..
        }
    ));
    let mut broken = plate.clone();
    broken.outline = Path::circle(Point::new(f64::NAN, 0.0), 10.0);
    assert!(matches!(
        draw(&broken, samples::titles::bare()),
        DrawingError::NoSize { .. }
    ));
    let mut huge = plate;
    huge.outline = Path::circle(Point::ORIGIN, 40_000.0);
    assert!(matches!(
        draw(&huge, samples::titles::bare()),
        DrawingError::NoRoom { .. }
    ));
}

/// What a tool of poppler says about a file.
fn poppler(tool: &str, arguments: &[&str]) -> String {
    let output = Command::new(tool)
        .args(arguments)
        .output()
        .expect("poppler's tools are installed");
    assert!(
        output.status.success() && output.stderr.is_empty(),
        "{output:?}"
    );
    String::from_utf8(output.stdout).expect("text")
}

#[test]
fn a_pdf_reader_finds_the_pages_their_size_and_every_text_in_its_place() {
    let folder = tempfile::tempdir().expect("a folder");
    for case in cases().iter().take(40) {
        let file = folder.path().join("sheet.pdf");
        std::fs::write(&file, pdf(&case.pages, &case.title.title).expect("made")).expect("written");
        let name = file.to_str().expect("plain");
        let info = poppler("pdfinfo", &[name]);
        assert!(
            info.contains(&format!("Pages:           {}", case.pages.len())),
            "{info}"
        );
        assert!(!info.contains("Date"), "{info}");
        let size = case.pages[0].size;
        let points = size.width_mm() * 72.0 / 25.4;
        let page_size = info
            .lines()
            .find(|l| l.starts_with("Page size"))
            .expect("a size");
        assert!(
            page_size.contains(&format!("{points:.2}")) || page_size.contains(size.name()),
            "{page_size}"
        );
        // Words of the model's texts, with the middle of each text that is one word.
        let words = boxes(&poppler("pdftotext", &["-bbox", name, "-"]));
        let height = size.height_mm();
        for t in case.pages.iter().flat_map(Page::texts) {
            if t.upright || t.text.contains([' ', '\u{A0}']) {
                continue;
            }
            let b = t.bounds();
            let found = words.iter().any(|(word, x0, x1, y0, y1)| {
                *word == t.text
                    && (x0 - t.at.x).abs() < 0.05
                    && (x1 - (t.at.x + t.length_mm())).abs() < 0.05
                    && height - y1 < b.min.y + 0.2
                    && height - y0 > b.max.y - 0.2
            });
            assert!(
                found,
                "{}: `{}` is not where it should be",
                case.name, t.text
            );
        }
    }
}

/// Words of `pdftotext -bbox` with xMin, xMax, yMin and yMax in mm.
fn boxes(xml: &str) -> Vec<(String, f64, f64, f64, f64)> {
    xml.lines()
        .filter_map(|l| l.trim().strip_prefix("<word "))
        .map(|l| {
            let number = |key: &str| {
                let from = l.find(key).expect("a box") + key.len() + 2;
                let to = from + l[from..].find('"').expect("quoted");
                l[from..to].parse::<f64>().expect("a number") * 25.4 / 72.0
            };
            let from = l.find('>').expect("a tag") + 1;
            let to = l.rfind("</word>").expect("a tag");
            let word = l[from..to]
                .replace("&quot;", "\"")
                .replace("&lt;", "<")
                .replace("&gt;", ">")
                .replace("&amp;", "&");
            (
                word,
                number("xMin"),
                number("xMax"),
                number("yMin"),
                number("yMax"),
            )
        })
        .collect()
}

#[test]
fn letters_beyond_western_european_ones_reach_the_pdf() {
    let title = TitleData {
        owner: "Zakład Ślusarski Żółć".to_string(),
        creator: "Jiří Ďuriš ≥ 5".to_string(),
        ..samples::titles::bare()
    };
    let pages = plate_drawing(&samples::disc(), &title, &Options::default()).expect("drawn");
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("sheet.pdf");
    std::fs::write(&file, pdf(&pages, "x").expect("made")).expect("written");
    let text = poppler(
        "pdftotext",
        &["-layout", file.to_str().expect("plain"), "-"],
    );
    assert!(
        text.contains("Zakład Ślusarski Żółć") && text.contains("Jiří Ďuriš ≥ 5"),
        "{text}"
    );
}

#[test]
fn the_same_plate_gives_the_same_sheets_byte_for_byte() {
    let files = || {
        let plate = samples::everything();
        let pages =
            plate_drawing(&plate, &samples::titles::full(), &Options::default()).expect("drawn");
        (svg(&pages[0], "all"), pdf(&pages, "all").expect("made"))
    };
    assert_eq!(files(), files());
}
