//! The JSON Schemas against an independent validator (the Python package `jsonschema`): they and the
//! reader give the same verdict on whole files, on bad ones, and on files with one key too many.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

use std::path::{Path, PathBuf};
use std::process::Command;

use platewright::params::keys::KINDS;
use platewright::params::{
    Accessory, Block, Job, Shop, Stock, lookup::BUILT_IN, read_text, spec::Designations,
};
use platewright::schema;

/// Folders of good files, each with the kind it holds.
const FOLDERS: &[(&str, &str)] = &[
    ("blocks", "block"),
    ("accessories", "accessory"),
    ("stock", "stock"),
    ("shops", "shop"),
    ("jobs", "job"),
];

/// Kind, name and text of every good file: the tests' and those that come with the program.
fn good_files() -> Vec<(String, String, String)> {
    let mut files = Vec::new();
    for (folder, kind) in FOLDERS {
        let mut paths: Vec<PathBuf> =
            std::fs::read_dir(Path::new("tests/data/params").join(folder))
                .unwrap()
                .map(|e| e.unwrap().path())
                .collect();
        paths.sort();
        for path in paths {
            let text = std::fs::read_to_string(&path).unwrap();
            files.push(((*kind).to_owned(), path.display().to_string(), text));
        }
        for (name, text) in BUILT_IN {
            if name.starts_with(&format!("{folder}/")) {
                files.push(((*kind).to_owned(), (*name).to_owned(), (*text).to_owned()));
            }
        }
    }
    files
}

/// Whether the reader takes a file by itself.
fn reader_takes(kind: &str, text: &str) -> bool {
    let (bytes, known) = (text.as_bytes(), Designations::default());
    match kind {
        "block" => read_text::<Block>("x.toml", bytes, &known).is_ok(),
        "accessory" => read_text::<Accessory>("x.toml", bytes, &known).is_ok(),
        "stock" => read_text::<Stock>("x.toml", bytes, &known).is_ok(),
        "shop" => read_text::<Shop>("x.toml", bytes, &known).is_ok(),
        "job" => read_text::<Job>("x.toml", bytes, &known).is_ok(),
        other => panic!("{other} is no kind"),
    }
}

/// The validator's messages about each text; `None` for one that is not TOML.
fn judge(files: &[(String, String)]) -> Vec<Option<Vec<String>>> {
    let folder = tempfile::tempdir().unwrap();
    for kind in KINDS {
        let text = serde_json::to_string_pretty(&schema::of(kind)).unwrap();
        let path = folder.path().join(format!("{}.schema.json", kind.name));
        std::fs::write(path, text).unwrap();
    }
    let mut list = Vec::new();
    for (i, (kind, text)) in files.iter().enumerate() {
        let path = folder.path().join(format!("{i}.toml"));
        std::fs::write(&path, text).unwrap();
        list.push((kind, path));
    }
    std::fs::write(
        folder.path().join("list.json"),
        serde_json::to_string(&list).unwrap(),
    )
    .unwrap();
    let python = std::env::var_os("PLATEWRIGHT_PYTHON")
        .expect("PLATEWRIGHT_PYTHON names the interpreter with the test packages");
    let out = Command::new(python)
        .arg("tests/python/schema_check.py")
        .arg(folder.path())
        .output()
        .unwrap();
    assert!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    serde_json::from_slice(&out.stdout).unwrap()
}

#[test]
fn good_files_are_valid_and_a_key_too_many_is_not() {
    let mut files = Vec::new();
    let mut expected = Vec::new();
    for (kind, name, text) in good_files() {
        assert!(reader_takes(&kind, &text), "{name}");
        files.push((kind.clone(), text.clone()));
        expected.push((name.clone(), true));
        // One more key below each table's header, and one at the top of the file.
        let lines: Vec<&str> = text.lines().collect();
        let headers = lines.iter().enumerate().filter(|(_, l)| l.starts_with('['));
        for at in std::iter::once(0).chain(headers.map(|(i, _)| i + 1)) {
            let mut more = lines.clone();
            more.insert(at, "one-more-key = 1");
            let more = more.join("\n");
            assert!(!reader_takes(&kind, &more), "{name}:{at}");
            files.push((kind.clone(), more));
            expected.push((format!("{name}, a key more in line {at}"), false));
        }
    }
    for ((name, valid), messages) in expected.iter().zip(judge(&files)) {
        let messages = messages.unwrap_or_else(|| panic!("{name}: not TOML"));
        assert_eq!(messages.is_empty(), *valid, "{name}: {messages:?}");
    }
}

#[test]
fn files_refused_for_a_key_or_value_are_refused_by_the_schema_too() {
    let mut names = Vec::new();
    let mut files = Vec::new();
    let mut paths: Vec<PathBuf> = std::fs::read_dir("tests/bad")
        .unwrap()
        .map(|e| e.unwrap().path())
        .collect();
    paths.sort();
    for path in paths {
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        if !name.starts_with("p2") && !name.starts_with("p120-job-is") {
            continue;
        }
        let kind = name.split('-').nth(1).unwrap().to_owned();
        files.push((kind, std::fs::read_to_string(&path).unwrap()));
        names.push(name);
    }
    assert!(names.len() > 10, "{names:?}");
    for (name, messages) in names.iter().zip(judge(&files)) {
        // An outline of two corners is refused for its meaning, which a schema cannot say.
        let beyond = name == "p209-job-open-outline.toml";
        assert_eq!(messages.unwrap().is_empty(), beyond, "{name}");
    }
}
