//! The order of the modules in `src/lib.rs` is the order of the data: a module uses only modules above it.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test stops where its ground is missing"
)]

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// The modules of the crate in the order `src/lib.rs` lists them.
fn listed(lib: &str) -> Vec<String> {
    lib.lines()
        .filter_map(|l| l.strip_prefix("pub mod "))
        .map(|l| l.trim_end_matches([';', ' ', '{']).to_owned())
        .collect()
}

/// Every Rust file of module `name` that is part of the program, not of its tests.
fn files_of(name: &str) -> Vec<PathBuf> {
    let mut open = vec![PathBuf::from("src").join(name)];
    let mut found: Vec<PathBuf> = Some(PathBuf::from(format!("src/{name}.rs")))
        .into_iter()
        .filter(|p| p.is_file())
        .collect();
    while let Some(folder) = open.pop() {
        let Ok(entries) = fs::read_dir(&folder) else {
            continue;
        };
        for path in entries.map(|e| e.unwrap().path()) {
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|e| e == "rs")
                && path.file_stem().is_some_and(|s| s != "tests")
            {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

/// How many modules deep below the crate the file's own module is.
fn depth(path: &Path) -> usize {
    let parts = path.components().count() - 1;
    if path.file_stem().is_some_and(|s| s == "mod") {
        parts - 1
    } else {
        parts
    }
}

/// The program's lines: comments, and what follows `#[cfg(test)]`, left out.
fn program(text: &str) -> String {
    let mut out = String::new();
    for line in text.lines() {
        if line.trim_start().starts_with("#[cfg(test)]") {
            break;
        }
        out.push_str(line.split("//").next().unwrap_or(""));
        out.push('\n');
    }
    out
}

/// Top-level modules that `program` names, by `crate::` or by enough `super::` to reach the crate.
fn named(program: &str, depth: usize) -> BTreeSet<String> {
    let root = "super::".repeat(depth);
    let mut found = BTreeSet::new();
    for start in ["crate::", root.as_str()] {
        for (at, _) in program.match_indices(start) {
            if program[..at].ends_with("super::") && start != "crate::" {
                continue;
            }
            let rest = &program[at + start.len()..];
            let names: Vec<&str> = match rest.strip_prefix('{') {
                // Each name that opens an item of the braces, at their own level.
                Some(inner) => {
                    let mut level = 0_i32;
                    let mut names = Vec::new();
                    let mut opens = 0;
                    for (i, c) in inner.char_indices() {
                        match c {
                            '{' => level += 1,
                            '}' if level == 0 => {
                                names.push(inner[opens..i].trim());
                                break;
                            }
                            '}' => level -= 1,
                            ',' if level == 0 => {
                                names.push(inner[opens..i].trim());
                                opens = i + 1;
                            }
                            _ => {}
                        }
                    }
                    names
                }
                None => vec![rest],
            };
            for n in names {
                let word: String = n
                    .chars()
                    .take_while(|c| c.is_alphanumeric() || *c == '_')
                    .collect();
                found.insert(word);
            }
        }
    }
    found
}

#[test]
fn a_module_uses_only_modules_listed_above_it() {
    let order = listed(&fs::read_to_string("src/lib.rs").unwrap());
    assert!(order.len() > 25, "{order:?}");
    let mut faults = Vec::new();
    let mut uses = 0;
    for (i, module) in order.iter().enumerate() {
        let files = files_of(module);
        assert!(!files.is_empty(), "no file of module `{module}`");
        for path in files {
            let text = program(&fs::read_to_string(&path).unwrap());
            for name in named(&text, depth(&path)) {
                let Some(at) = order.iter().position(|m| *m == name) else {
                    continue;
                };
                uses += 1;
                if at > i {
                    faults.push(format!("{} uses `{name}`", path.display()));
                }
            }
        }
    }
    assert!(
        uses > 500,
        "only {uses} uses were found: the reader is blind"
    );
    assert!(faults.is_empty(), "{faults:#?}");
}

#[test]
fn the_reader_of_uses_sees_every_form() {
    let text = "use crate::geom::Point;\nuse crate::{a, b::{c, d}, e};\nfn f() { crate::g::h(); }\n\
                use super::super::i::j;\n// crate::k\n#[cfg(test)]\nmod tests { use crate::l; }\n";
    let want: BTreeSet<String> = ["geom", "a", "b", "e", "g", "i"].map(str::to_owned).into();
    assert_eq!(named(&program(text), 2), want);
    assert_eq!(depth(Path::new("src/shim/mod.rs")), 1);
    assert_eq!(depth(Path::new("src/shim/rod.rs")), 2);
    assert_eq!(depth(Path::new("src/run.rs")), 1);
}

#[test]
fn only_reading_export_and_commands_touch_the_disk_and_only_main_prints() {
    let order = listed(&fs::read_to_string("src/lib.rs").unwrap());
    for module in &order {
        for path in files_of(module) {
            let text = program(&fs::read_to_string(&path).unwrap());
            let shown = path.to_string_lossy().replace('\\', "/");
            let may_touch =
                matches!(module.as_str(), "export" | "cli") || shown == "src/params/lookup.rs";
            assert!(
                may_touch || !text.contains("std::fs") && !text.contains("fs::"),
                "{shown} touches the file system"
            );
            assert!(
                !text.contains("println!(") && !text.contains("eprint"),
                "{shown} prints"
            );
        }
    }
}
