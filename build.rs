//! Lists the parameter files below `params/` so that the library can carry them inside.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::{env, fs, io};

fn main() -> io::Result<()> {
    println!("cargo::rerun-if-changed=build.rs");
    println!("cargo::rerun-if-changed=params");
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").unwrap_or_default());
    let out = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default());
    let mut files = Vec::new();
    collect(&root.join("params"), "", &mut files)?;
    files.sort();
    let mut code = String::from("&[\n");
    for (name, path) in &files {
        let path = path.to_string_lossy();
        // Writing into a String cannot fail.
        let _ = writeln!(code, "    ({name:?}, include_str!({path:?})),");
    }
    code.push_str("]\n");
    fs::write(out.join("built_in.rs"), code)
}

/// Files below `folder`, each with its name from there and its full path; none if there is no such folder.
fn collect(folder: &Path, prefix: &str, files: &mut Vec<(String, PathBuf)>) -> io::Result<()> {
    if !folder.is_dir() {
        return Ok(());
    }
    println!("cargo::rerun-if-changed={}", folder.display());
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        let Some(name) = path.file_name().and_then(|n| n.to_str()) else {
            continue;
        };
        let name = format!("{prefix}{name}");
        if path.is_dir() {
            collect(&path, &format!("{name}/"), files)?;
        } else if path.extension().is_some_and(|e| e == "toml") {
            files.push((name, path));
        }
    }
    Ok(())
}
