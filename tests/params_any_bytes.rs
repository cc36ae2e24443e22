//! Any bytes at all: the reader never panics, and what it refuses it explains.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

use std::path::{Path, PathBuf};

use proptest::prelude::*;

use platewright::diag::{Diag, Severity, Sources, json, render};
use platewright::params::{
    self, Accessory, Block, Failure, Job, Lookup, Memory, ParamFile, Shop, Stock, read_text,
    spec::Designations,
};

const WHOLE: &str = include_str!("data/params/jobs/whole.toml");
const BLOCK: &str = include_str!("data/params/blocks/test-four.toml");
const ALT_A: &str = include_str!("data/params/accessories/alt-a.toml");

/// The files of `tests/data/params`, in memory.
fn memory() -> Memory {
    let mut files = Memory::default();
    for (path, text) in [
        ("blocks/test-four.toml", BLOCK),
        (
            "blocks/test-four-old.toml",
            include_str!("data/params/blocks/test-four-old.toml"),
        ),
        ("accessories/alt-a.toml", ALT_A),
        (
            "accessories/alt-b.toml",
            include_str!("data/params/accessories/alt-b.toml"),
        ),
        (
            "accessories/tensioner-t.toml",
            include_str!("data/params/accessories/tensioner-t.toml"),
        ),
        (
            "stock/alu-12.toml",
            include_str!("data/params/stock/alu-12.toml"),
        ),
        (
            "shops/jobbing.toml",
            include_str!("data/params/shops/jobbing.toml"),
        ),
        ("jobs/whole.toml", WHOLE),
    ] {
        files
            .0
            .insert(Path::new("/params").join(path), text.as_bytes().to_vec());
    }
    files
}

/// Opens the whole job with one of its files replaced.
fn open_with(path: &str, bytes: &[u8]) -> Result<params::Loaded, Failure> {
    let mut files = memory();
    files.0.insert(PathBuf::from(path), bytes.to_vec());
    let lookup = Lookup {
        built_in: false,
        ..Lookup::new(files)
    };
    params::open(Path::new("/params/jobs/whole.toml"), &lookup)
}

/// A failure names an error with a place, and can be shown in every form.
fn explained(diags: &[Diag], sources: &Sources) {
    assert!(diags.iter().any(|d| d.severity == Severity::Error));
    for d in diags {
        let place = sources.place(d.spot()).expect("every finding has a place");
        assert!(place.line >= 1 && place.column >= 1);
    }
    let text = render::text(diags, sources, true);
    assert!(!text.is_empty() && !render::short(diags, sources).is_empty());
    assert_eq!(
        json::value(diags, sources).as_array().map(Vec::len),
        Some(diags.len())
    );
}

fn survives<T: ParamFile>(bytes: &[u8]) {
    if let Err(f) = read_text::<T>("any.toml", bytes, &Designations::default()) {
        explained(&f.findings, &f.sources);
    }
}

fn all_kinds(bytes: &[u8]) {
    survives::<Job>(bytes);
    survives::<Block>(bytes);
    survives::<Accessory>(bytes);
    survives::<Shop>(bytes);
    survives::<Stock>(bytes);
}

/// A value that stands where another one belongs.
fn odd_value() -> impl Strategy<Value = String> {
    prop_oneof![
        Just("nan".to_owned()),
        Just("-inf".to_owned()),
        Just("-0.0".to_owned()),
        Just("1e308".to_owned()),
        Just("99999999999999999999999".to_owned()),
        Just("true".to_owned()),
        Just("[]".to_owned()),
        Just("{}".to_owned()),
        Just("[[[[1]]]]".to_owned()),
        Just("\"\"".to_owned()),
        Just("\"block\"".to_owned()),
        Just("\"alternator.pivot\"".to_owned()),
        Just("\"1/0 in\"".to_owned()),
        Just("1979-05-27T07:32:00Z".to_owned()),
        any::<f64>().prop_map(|x| format!("{x:?}")),
        any::<i64>().prop_map(|x| x.to_string()),
        "[ -~]{0,12}".prop_map(|s| format!("{s:?}")),
        "[ -~]{0,12}",
    ]
}

proptest! {
    // A shrunk case becomes a named test below; no file of seeds is kept.
    #![proptest_config(ProptestConfig {
        cases: 200,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn any_bytes_are_read_or_refused_with_a_place(bytes in proptest::collection::vec(any::<u8>(), 0..600)) {
        all_kinds(&bytes);
    }

    #[test]
    fn any_text_is_read_or_refused_with_a_place(text in "(\\PC|\n){0,300}") {
        all_kinds(text.as_bytes());
    }

    #[test]
    fn toml_like_text_is_read_or_refused_with_a_place(
        text in "((kind|title|id|at|hole|plate|x|\\[|\\]|\\{|\\}|=|,|\"|'|\n|1|-|\\.|nan| ){0,80})"
    ) {
        all_kinds(text.as_bytes());
    }

    #[test]
    fn a_job_cut_off_anywhere_is_read_or_refused_with_a_place(at in 0..WHOLE.len()) {
        if let Err(f) = open_with("/params/jobs/whole.toml", &WHOLE.as_bytes()[..at]) {
            explained(&f.findings, &f.sources);
        }
    }

    #[test]
    fn bytes_struck_out_of_any_file_are_survived(
        file in 0_usize..3, at in any::<prop::sample::Index>(), n in 1_usize..40
    ) {
        let (path, text) = [
            ("/params/jobs/whole.toml", WHOLE),
            ("/params/blocks/test-four.toml", BLOCK),
            ("/params/accessories/alt-a.toml", ALT_A),
        ][file];
        let mut bytes = text.as_bytes().to_vec();
        let at = at.index(bytes.len());
        let to = (at + n).min(bytes.len());
        bytes.drain(at..to);
        if let Err(f) = open_with(path, &bytes) {
            explained(&f.findings, &f.sources);
        }
    }

    #[test]
    fn an_odd_value_in_any_line_is_taken_or_refused_with_a_place(
        file in 0_usize..3, line in any::<prop::sample::Index>(), value in odd_value()
    ) {
        let (path, text) = [
            ("/params/jobs/whole.toml", WHOLE),
            ("/params/blocks/test-four.toml", BLOCK),
            ("/params/accessories/alt-a.toml", ALT_A),
        ][file];
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        let assignments: Vec<usize> = (0..lines.len())
            .filter(|i| lines[*i].contains(" = ") && !lines[*i].starts_with(' '))
            .collect();
        let at = assignments[line.index(assignments.len())];
        let key = lines[at].split(" = ").next().unwrap().to_owned();
        lines[at] = format!("{key} = {value}");
        if let Err(f) = open_with(path, lines.join("\n").as_bytes()) {
            explained(&f.findings, &f.sources);
        }
    }

    #[test]
    fn a_mistyped_key_is_always_found_where_it_stands(
        file in 0_usize..3, line in any::<prop::sample::Index>(), letter in any::<prop::sample::Index>()
    ) {
        let (path, text) = [
            ("/params/jobs/whole.toml", WHOLE),
            ("/params/blocks/test-four.toml", BLOCK),
            ("/params/accessories/alt-a.toml", ALT_A),
        ][file];
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        let assignments: Vec<usize> = (0..lines.len())
            .filter(|i| lines[*i].contains(" = ") && lines[*i].starts_with(|c: char| c.is_ascii_lowercase()))
            .collect();
        let at = assignments[line.index(assignments.len())];
        let key_len = lines[at].find(' ').unwrap();
        let letter = letter.index(key_len);
        // No key has a q in it, so the result is no other key.
        lines[at].replace_range(letter..=letter, "q");
        let f = open_with(path, lines.join("\n").as_bytes()).expect_err("a mistyped key is refused");
        explained(&f.findings, &f.sources);
        let shown = path.trim_start_matches('/');
        let found = f.findings.iter().any(|d| {
            let place = f.sources.place(d.spot()).unwrap();
            place.file == shown && place.line == at + 1 && place.column == 1
        });
        prop_assert!(found, "{}: {}", lines[at], render::text(&f.findings, &f.sources, false));
    }
}

#[test]
fn odd_encodings_and_sizes_are_refused_or_read() {
    for bytes in [
        b"\xef\xbb\xbfkind = 'stock'\ntitle = 'x'\nmaterial = 'y'\nthickness = 1\n".to_vec(),
        b"kind = 'stock'\r\ntitle = 'x'\r\nmaterial = 'y'\r\nthickness = 1\r\n".to_vec(),
    ] {
        assert!(read_text::<Stock>("x.toml", &bytes, &Designations::default()).is_ok());
    }
    let line = |n: usize| format!("kind = 'stock'\ntitle = '{}'\n", "x".repeat(n)).into_bytes();
    all_kinds(&line(900_000));
    all_kinds(&line(2_000_000));
    all_kinds(&vec![b'['; 900_000]);
    all_kinds("a.".repeat(400_000).as_bytes());
    all_kinds("[[a]]\n".repeat(100_000).as_bytes());
    all_kinds("\n".repeat(1_000_000).as_bytes());
    all_kinds(&[0; 100]);
    all_kinds(format!("kind = 'job'\nplate = [{}]", "{id='a'},".repeat(90_000)).as_bytes());
}
