//! Assembly picture, parts list and nests of the demo jobs: nothing overlaps, every item has its balloon.
//!
//! With `PLATEWRIGHT_PICTURES` naming a folder, every sheet is also written there, to be looked at.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

#[path = "support/paper.rs"]
mod paper;

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::LazyLock;

use platewright::drawing::{Item, Line, Page};
use platewright::export::svg::svg;
use platewright::geom::{Point, Segment};
use platewright::package::{assembly_picture, nest_pictures, parts_pages};
use platewright::project::{self, Project};

/// Demo jobs, and variants of the fleet that differ in their parts.
const CASES: &[(&str, Option<&str>)] = &[
    ("forwarder", None),
    ("auxiliary", None),
    ("forwarder-fleet", None),
    ("forwarder-fleet", Some("pad-long-52-idler")),
];

fn projects() -> &'static [(String, Project)] {
    static ALL: LazyLock<Vec<(String, Project)>> = LazyLock::new(|| {
        CASES
            .iter()
            .map(|(job, variant)| {
                let path = format!("params/jobs/{job}.toml");
                let project = project::open_variant(Path::new(&path), *variant, None)
                    .unwrap_or_else(|f| panic!("{job}: {:?}", f.findings));
                (format!("{job} {}", variant.unwrap_or("base")), project)
            })
            .collect()
    });
    &ALL
}

fn sheets(project: &Project) -> Vec<(String, Page)> {
    let mut all = vec![(
        "assembly".to_owned(),
        assembly_picture(project).unwrap().unwrap(),
    )];
    for (n, page) in parts_pages(project).unwrap().into_iter().enumerate() {
        all.push((format!("parts {}", n + 1), page));
    }
    all.extend(nest_pictures(project).unwrap());
    all
}

#[test]
fn no_text_meets_another_text_or_any_line() {
    let mut found = Vec::new();
    for (name, project) in projects() {
        for (sheet, page) in sheets(project) {
            found.extend(
                paper::faults(&page)
                    .into_iter()
                    .map(|f| format!("{name}, {sheet}: {f}")),
            );
            if let Some(folder) = std::env::var_os("PLATEWRIGHT_PICTURES") {
                let file = Path::new(&folder).join(format!("{name} {sheet}.svg").replace(' ', "_"));
                std::fs::write(file, svg(&page, name)).unwrap();
            }
        }
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// Balloons of a page: number, middle, radius.
fn balloons(page: &Page) -> Vec<(usize, Point, f64)> {
    let circles = page.items.iter().filter_map(|i| match i {
        Item::Line { path, .. } => match path[..] {
            [Segment::Arc { centre, radius, .. }] if path[0].is_full_circle() && radius > 3.0 => {
                Some((centre, radius))
            }
            _ => None,
        },
        _ => None,
    });
    circles
        .filter_map(|(centre, radius)| {
            let inside = page
                .texts()
                .find(|t| t.bounds().centre().distance(centre) < 0.5 * radius)?;
            Some((inside.text.parse().ok()?, centre, radius))
        })
        .collect()
}

#[test]
fn every_item_of_the_set_has_one_balloon() {
    for (name, project) in projects() {
        let page = assembly_picture(project).unwrap().unwrap();
        let numbers: Vec<usize> = balloons(&page).iter().map(|b| b.0).collect();
        let distinct: BTreeSet<usize> = numbers.iter().copied().collect();
        assert_eq!(numbers.len(), distinct.len(), "{name}: a balloon twice");
        let wanted: BTreeSet<usize> = project.kit.shown_items().map(|(i, _)| i.number).collect();
        assert_eq!(distinct, wanted, "{name}");
    }
}

#[test]
fn leaders_cross_neither_each_other_nor_a_balloon() {
    for (name, project) in projects() {
        let page = assembly_picture(project).unwrap().unwrap();
        let balloons = balloons(&page);
        let leaders: Vec<(usize, Point, Point)> = balloons
            .iter()
            .map(|(n, centre, radius)| {
                let (from, to) = page
                    .items
                    .iter()
                    .find_map(|i| match i {
                        Item::Line {
                            path,
                            line: Line::Narrow,
                        } => match path[..] {
                            [Segment::Line { from, to }]
                                if (to.distance(*centre) - radius).abs() < 1e-6 =>
                            {
                                Some((from, to))
                            }
                            _ => None,
                        },
                        _ => None,
                    })
                    .unwrap_or_else(|| panic!("{name}: balloon {n} has no leader"));
                (*n, from, to)
            })
            .collect();
        for (k, (n, from, to)) in leaders.iter().enumerate() {
            let way = Segment::Line {
                from: *from,
                to: *to,
            };
            for (m, a, b) in &leaders[k + 1..] {
                let other = Segment::Line { from: *a, to: *b };
                assert!(
                    way.meets(&other).is_none(),
                    "{name}: leaders {n} and {m} cross"
                );
            }
            for (m, centre, radius) in &balloons {
                assert!(
                    m == n || way.distance(*centre) > *radius,
                    "{name}: leader {n} runs through balloon {m}"
                );
            }
        }
    }
}
