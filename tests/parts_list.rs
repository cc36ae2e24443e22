//! The parts list of the fleet: every variant's column against that variant worked out by itself, the kit
//! against all of them, the file read back.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

use std::collections::BTreeMap;
use std::path::Path;

use platewright::package::{self, Formats};
use platewright::parts::Kind;
use platewright::project::{self, Project};

const FLEET: &str = "params/jobs/forwarder-fleet.toml";

fn variant(name: &str) -> Project {
    project::open_variant(Path::new(FLEET), Some(name), None).unwrap_or_else(|_| panic!("{name}"))
}

/// Everything a variant needs, counted from its own joints, plates and placed accessories.
fn counted(p: &Project) -> BTreeMap<String, usize> {
    let mut all = BTreeMap::new();
    let mut add = |what: String, n: usize| *all.entry(what).or_insert(0) += n;
    for l in p.bolting.purchase_list() {
        add(l.item, l.count);
    }
    for s in p
        .layout
        .joints
        .iter()
        .flat_map(platewright::layout::Joint::spacers)
    {
        add(s.designation(), 1);
    }
    for m in &p.plates {
        add(
            format!("{} ({})", m.plate.title, m.plate.id),
            m.quantity as usize,
        );
    }
    for placed in &p.loaded.job.placed {
        add(p.loaded.accessories[&placed.accessory].title.clone(), 1);
    }
    add("Multi-rib belt 7PK 2120".to_owned(), 1);
    all
}

#[test]
fn a_variants_column_is_what_the_variant_alone_needs() {
    for name in [
        "base",
        "pivot-long-45-idler",
        "pad-base-38-pump",
        "pad-long-52-idler",
    ] {
        let p = variant(name);
        let listed: BTreeMap<String, usize> = p
            .kit
            .shown_items()
            .map(|(i, n)| (i.spec.name.to_string(), n))
            .collect();
        assert_eq!(p.kit.variants[p.kit.shown], name);
        assert_eq!(listed, counted(&p), "{name}");
    }
}

#[test]
fn the_kit_is_the_most_any_variant_needs_and_numbers_do_not_change() {
    let p = variant("base");
    assert_eq!(p.kit.variants.len(), 24);
    let mut most: BTreeMap<String, usize> = BTreeMap::new();
    for name in &p.kit.variants {
        for (what, n) in counted(&variant(name)) {
            let m = most.entry(what).or_insert(0);
            *m = n.max(*m);
        }
    }
    let kit: BTreeMap<String, usize> = p
        .kit
        .items
        .iter()
        .map(|i| (i.spec.name.to_string(), i.kit()))
        .collect();
    assert_eq!(kit, most);
    let other = variant("pad-long-52-idler");
    assert_eq!(p.kit.items, other.kit.items);
    // Two alternators, two pumps or idlers: hose sizes and engine length change no part's count.
    let builds = p.kit.builds();
    assert!(builds.len() >= 4, "{builds:?}");
    let members: usize = builds.iter().map(|b| b.variants.len()).sum();
    assert_eq!(members, 24);
    assert!(p.kit.items.iter().any(|i| i.spec.kind == Kind::Belt));
}

#[test]
fn the_file_says_the_same() {
    let p = variant("base");
    let files = package::files(&p, None, Formats::default()).unwrap();
    let file = files.iter().find(|f| f.name == "parts.csv").unwrap();
    let mut reader = csv::Reader::from_reader(&file.bytes[..]);
    let head: Vec<String> = reader
        .headers()
        .unwrap()
        .iter()
        .map(str::to_owned)
        .collect();
    let column = |name: &str| head.iter().position(|h| h == name).unwrap();
    let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
    assert_eq!(rows.len(), p.kit.items.len());
    for (row, item) in rows.iter().zip(&p.kit.items) {
        assert_eq!(row[column("item")], item.number.to_string());
        assert_eq!(row[column("kit")], item.kit().to_string());
        assert_eq!(row[column("what")], item.spec.name.to_string());
        for (v, n) in p.kit.variants.iter().zip(&item.counts) {
            assert_eq!(row[column(v)], n.to_string());
        }
    }
}
