//! The package's manifest: what was released, from which inputs, by their SHA-256.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};

use crate::diag::Sources;
use crate::export::ShopFile;

/// Name of the manifest within its package.
pub const NAME: &str = "manifest.json";

/// Name of the list of sums within its package, as `sha256sum --check` reads it.
pub const SUMS: &str = "manifest.sha256";

/// Folders of parameter files, the part of an input's path that a manifest keeps.
const FOLDERS: [&str; 4] = ["accessories", "blocks", "shops", "stock"];

/// What a package holds and what it was made from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Manifest {
    /// The job's name.
    pub job: String,
    /// Its revision.
    pub revision: String,
    /// The variant drawn.
    pub variant: String,
    /// Version of the program that made the package.
    pub program: String,
    /// What was chosen on the command line.
    pub options: Options,
    /// The parameter files read, in the order they were read.
    pub inputs: Vec<Entry>,
    /// Every other file of the package but the list of sums, by name.
    pub files: Vec<Entry>,
}

/// Choices that change a package's content.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Options {
    /// Version of the DXF files, `r2000` or `r12`.
    pub dxf: String,
    /// Application protocol of the STEP files, `ap242` or `ap214`.
    pub step: String,
    /// Whether strength and vibration were asked for.
    pub strength: bool,
}

/// One file.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub struct Entry {
    /// Its name, with `/` between folders.
    pub name: String,
    /// Its length, bytes.
    pub bytes: u64,
    /// SHA-256 (FIPS 180-4) of its bytes, 64 hexadecimal digits in lower case.
    pub sha256: String,
}

/// Why a manifest cannot be used.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum ManifestError {
    /// There is none.
    #[error("it holds no `{NAME}`, so it is not a released package")]
    Missing,
    /// It is not a manifest.
    #[error("its `{NAME}` cannot be read: {0}")]
    Unreadable(String),
}

/// How two packages differ, or a package and what its job would release today.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize)]
pub struct Difference {
    /// The earlier one: job, revision, program.
    pub old: String,
    /// The later one.
    pub new: String,
    /// Files of the earlier package that are no longer what its manifest says.
    pub old_altered: Vec<String>,
    /// Files of the later package that are no longer what its manifest says.
    pub new_altered: Vec<String>,
    /// Choices that differ, in words.
    pub options: Vec<String>,
    /// Parameter files that differ, in words.
    pub inputs: Vec<String>,
    /// Files of the package that differ, in words.
    pub files: Vec<String>,
}

/// SHA-256 of some bytes, 64 hexadecimal digits in lower case.
///
/// ```
/// // FIPS 180-4's own example, as NIST's "SHA256 example" prints it.
/// assert_eq!(
///     platewright::manifest::sha256(b"abc"),
///     "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
/// );
/// ```
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(64);
    for byte in Sha256::digest(bytes) {
        let _ = write!(text, "{byte:02x}");
    }
    text
}

impl Entry {
    fn of(name: impl Into<String>, bytes: &[u8]) -> Self {
        Self {
            name: name.into(),
            bytes: bytes.len() as u64,
            sha256: sha256(bytes),
        }
    }
}

/// The parameter files of a run, named without the machine's own folders.
pub fn inputs(sources: &Sources) -> Vec<Entry> {
    sources
        .files()
        .map(|(path, text)| {
            let mut parts = path.rsplit(['/', '\\']);
            let file = parts.next().unwrap_or(path);
            let name = match parts.next() {
                Some(folder) if FOLDERS.contains(&folder) => format!("{folder}/{file}"),
                _ => file.to_owned(),
            };
            Entry::of(name, text.as_bytes())
        })
        .collect()
}

/// Every file of a package but the manifest and its sums, by name.
pub fn entries(files: &[ShopFile]) -> Vec<Entry> {
    let mut all: Vec<Entry> = files
        .iter()
        .filter(|f| f.name != NAME && f.name != SUMS)
        .map(|f| Entry::of(f.name.as_str(), &f.bytes))
        .collect();
    all.sort();
    all
}

impl Manifest {
    /// The manifest among a package's files.
    ///
    /// # Errors
    ///
    /// [`ManifestError`] where there is none or it is not one.
    pub fn read(files: &[ShopFile]) -> Result<Self, ManifestError> {
        let file = files
            .iter()
            .find(|f| f.name == NAME)
            .ok_or(ManifestError::Missing)?;
        serde_json::from_slice(&file.bytes).map_err(|e| ManifestError::Unreadable(e.to_string()))
    }

    /// The manifest and its list of sums as files of the package.
    #[must_use]
    pub fn files(&self) -> [ShopFile; 2] {
        // A manifest holds strings, whole numbers and flags: it always has a JSON form.
        let mut json = serde_json::to_string_pretty(self).unwrap_or_default();
        json.push('\n');
        let mut sums = String::new();
        for e in &self.files {
            let _ = writeln!(sums, "{}  {}", e.sha256, e.name);
        }
        let _ = writeln!(sums, "{}  {NAME}", sha256(json.as_bytes()));
        [ShopFile::new(NAME, json), ShopFile::new(SUMS, sums)]
    }

    /// Files on the disk that are not what the manifest says: altered, gone, or put there afterwards.
    #[must_use]
    pub fn altered(&self, files: &[ShopFile]) -> Vec<String> {
        changes(
            &self.files,
            &entries(files),
            "altered",
            "gone",
            "not of the release",
        )
    }

    fn called(&self) -> String {
        let variant = if self.variant == "base" {
            String::new()
        } else {
            format!(", variant {}", self.variant)
        };
        format!(
            "{}, revision {}{variant}, by platewright {}",
            self.job, self.revision, self.program
        )
    }
}

impl Difference {
    /// What differs from `old` to `new`, each with the files it was read from.
    #[must_use]
    pub fn between(old: (&Manifest, &[ShopFile]), new: (&Manifest, &[ShopFile])) -> Self {
        let (a, b) = (old.0, new.0);
        let mut options = Vec::new();
        let mut option = |what: &str, was: &str, is: &str| {
            if was != is {
                options.push(format!("{what}: {was} -> {is}"));
            }
        };
        option("DXF version", &a.options.dxf, &b.options.dxf);
        option("STEP protocol", &a.options.step, &b.options.step);
        let asked = |m: &Manifest| {
            if m.options.strength {
                "computed"
            } else {
                "left out"
            }
        };
        option("strength", asked(a), asked(b));
        option("variant", &a.variant, &b.variant);
        Self {
            old: a.called(),
            new: b.called(),
            old_altered: a.altered(old.1),
            new_altered: b.altered(new.1),
            options,
            inputs: changes(&a.inputs, &b.inputs, "changed", "no longer read", "new"),
            files: changes(&a.files, &b.files, "changed", "gone", "new"),
        }
    }

    /// Whether nothing that is cut, drawn or read differs; the program's version may.
    #[must_use]
    pub fn is_none(&self) -> bool {
        self.old_altered.is_empty()
            && self.new_altered.is_empty()
            && self.options.is_empty()
            && self.inputs.is_empty()
            && self.files.is_empty()
    }

    /// Whether a released file is not what was released.
    #[must_use]
    pub fn altered(&self) -> bool {
        !(self.old_altered.is_empty() && self.new_altered.is_empty())
    }

    /// As text, a heading a kind.
    #[must_use]
    pub fn text(&self) -> String {
        let mut out = format!("{}\n-> {}\n", self.old, self.new);
        if self.is_none() {
            out.push_str("the same in every file\n");
        }
        for (title, lines) in [
            ("altered since the earlier release:", &self.old_altered),
            ("altered since the later release:", &self.new_altered),
            ("options:", &self.options),
            ("parameter files:", &self.inputs),
            ("files of the package:", &self.files),
        ] {
            if lines.is_empty() {
                continue;
            }
            let _ = writeln!(out, "\n{title}");
            for line in lines {
                let _ = writeln!(out, "  {line}");
            }
        }
        out
    }
}

/// What became of each entry, by name; entries that are the same are left out.
fn changes(old: &[Entry], new: &[Entry], altered: &str, gone: &str, added: &str) -> Vec<String> {
    let by_name = |list: &[Entry]| -> BTreeMap<String, String> {
        list.iter()
            .map(|e| (e.name.clone(), e.sha256.clone()))
            .collect()
    };
    let (a, b) = (by_name(old), by_name(new));
    let mut out = Vec::new();
    for (name, sum) in &a {
        match b.get(name) {
            None => out.push(format!("{name}: {gone}")),
            Some(other) if other != sum => out.push(format!("{name}: {altered}")),
            Some(_) => {}
        }
    }
    out.extend(
        b.keys()
            .filter(|n| !a.contains_key(*n))
            .map(|name| format!("{name}: {added}")),
    );
    out.sort();
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn manifest(files: &[ShopFile], job: &str) -> Manifest {
        let mut sources = Sources::new();
        sources.add("home/me/params/blocks/b.toml", "kind = 'block'\n");
        sources.add("C:\\jobs\\j.toml", job);
        Manifest {
            job: "j".into(),
            revision: "A".into(),
            variant: "base".into(),
            program: "1.2.3".into(),
            options: Options {
                dxf: "r2000".into(),
                step: "ap242".into(),
                strength: false,
            },
            inputs: inputs(&sources),
            files: entries(files),
        }
    }

    #[test]
    fn inputs_are_named_without_the_machines_folders() {
        let m = manifest(&[], "x = 1\n");
        let names: Vec<&str> = m.inputs.iter().map(|e| e.name.as_str()).collect();
        assert_eq!(names, ["blocks/b.toml", "j.toml"]);
        assert_eq!(m.inputs[1].bytes, 6);
    }

    #[test]
    fn a_manifest_reads_back_and_knows_what_was_altered() {
        let mut files = vec![
            ShopFile::new("dxf/p.dxf", "0\nEOF\n"),
            ShopFile::new("check.txt", "holds\n"),
        ];
        let m = manifest(&files, "x = 1\n");
        files.extend(m.files());
        assert_eq!(Manifest::read(&files), Ok(m.clone()));
        assert!(m.altered(&files).is_empty());
        files[0].bytes.push(b'x');
        files.remove(1);
        files.push(ShopFile::new("note.txt", ""));
        assert_eq!(
            m.altered(&files),
            [
                "check.txt: gone",
                "dxf/p.dxf: altered",
                "note.txt: not of the release"
            ]
        );
        assert_eq!(Manifest::read(&[]), Err(ManifestError::Missing));
        let torn = [ShopFile::new(NAME, "{\"job\": 3}")];
        assert!(matches!(
            Manifest::read(&torn),
            Err(ManifestError::Unreadable(_))
        ));
    }

    #[test]
    fn a_difference_names_inputs_options_and_files() {
        let old = [ShopFile::new("dxf/p.dxf", "1")];
        let new = [ShopFile::new("dxf/p.dxf", "2")];
        let (a, mut b) = (manifest(&old, "x = 1\n"), manifest(&new, "x = 2\n"));
        b.options.dxf = "r12".into();
        let d = Difference::between((&a, &old), (&b, &new));
        assert_eq!(d.inputs, ["j.toml: changed"]);
        assert_eq!(d.files, ["dxf/p.dxf: changed"]);
        assert_eq!(d.options, ["DXF version: r2000 -> r12"]);
        assert!(!d.altered() && !d.is_none());
        b = a.clone();
        b.program = "9.9.9".into();
        assert!(Difference::between((&a, &old), (&b, &old)).is_none());
    }
}
