//! Writing shop files: a whole set of files appears in its folder, or nothing does.

pub mod dxf;
pub mod pdf;
pub mod step;
pub mod svg;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use thiserror::Error;

/// One file of a set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShopFile {
    /// Name within the set's folder, with `/` between folders: `dxf/upper.dxf`.
    pub name: String,
    /// Content.
    pub bytes: Vec<u8>,
}

impl ShopFile {
    /// A file from its name and content.
    pub fn new(name: impl Into<String>, bytes: impl Into<Vec<u8>>) -> Self {
        Self {
            name: name.into(),
            bytes: bytes.into(),
        }
    }
}

/// What to do where the target folder already holds something else.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Existing {
    /// Leave it alone and report [`ExportError::TargetDiffers`].
    Keep,
    /// Put the new set in its place; the old one is only removed once the new one stands.
    Replace,
}

/// What [`write_set`] did.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Written {
    /// The folder was new.
    Created,
    /// The folder already held exactly these files.
    Unchanged,
    /// The folder's former content gave way.
    Replaced,
}

/// Why a set of files could not be written. Nothing of the set is left behind.
#[derive(Debug, Error)]
pub enum ExportError {
    /// A file name that not every shop's machine can hold.
    #[error("`{name}` cannot be a file name: {why}")]
    BadName {
        /// The name.
        name: String,
        /// What is wrong with it.
        why: &'static str,
    },
    /// Two files of the set have one name (letter case aside).
    #[error("two files are called `{name}`")]
    SameName {
        /// The name.
        name: String,
    },
    /// The target, or a folder above it, is a file.
    #[error("`{}` is a file, not a folder", path.display())]
    NotAFolder {
        /// The path that is a file.
        path: PathBuf,
    },
    /// The target folder holds something else already.
    #[error("`{}` already holds a different content: {difference}", path.display())]
    TargetDiffers {
        /// The target folder.
        path: PathBuf,
        /// The first difference, by file name.
        difference: String,
    },
    /// What is already there cannot be read.
    #[error("`{}` cannot be read: {source}", path.display())]
    Unreadable {
        /// The file or folder.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
    /// The user may not write there.
    #[error("`{}` may not be written: {source}", path.display())]
    Forbidden {
        /// The file or folder.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
    /// The disk or the user's share of it is full.
    #[error("no room left to write `{}`", path.display())]
    DiskFull {
        /// The file or folder.
        path: PathBuf,
    },
    /// The file system cannot hold so long a name.
    #[error("`{}` is too long a name for this disk", path.display())]
    NameTooLong {
        /// The file or folder.
        path: PathBuf,
    },
    /// Anything else the system reports.
    #[error("`{}` cannot be written: {source}", path.display())]
    Failed {
        /// The file or folder.
        path: PathBuf,
        /// The system's reason.
        source: io::Error,
    },
}

impl ExportError {
    /// Sorts a failure to write `path` by its cause.
    #[must_use]
    pub fn writing(path: &Path, source: io::Error) -> Self {
        let path = path.to_path_buf();
        match source.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Self::DiskFull { path },
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                Self::Forbidden { path, source }
            }
            io::ErrorKind::InvalidFilename => Self::NameTooLong { path },
            io::ErrorKind::NotADirectory => Self::NotAFolder { path },
            _ => Self::Failed { path, source },
        }
    }
}

/// Writes `files` as the whole content of `folder`.
///
/// The set is first written in full into a new folder beside the target and
/// flushed to the disk; then one rename puts it in place. A target that
/// already holds exactly this set is left alone. Missing parent folders are
/// made.
///
/// # Errors
///
/// One [`ExportError`] per cause; then neither a part of the set nor a new
/// parent folder is left behind, and what was there before still is.
pub fn write_set(
    folder: &Path,
    files: &[ShopFile],
    existing: Existing,
) -> Result<Written, ExportError> {
    write_set_with(folder, files, existing, &mut |path, bytes| {
        fs::write(path, bytes)
    })
}

/// Writes one file whole or not at all: into a temporary file beside it, then renamed over it.
///
/// # Errors
///
/// One [`ExportError`] per cause; a file that stood there before still does.
pub fn write_file(path: &Path, bytes: &[u8]) -> Result<(), ExportError> {
    let folder = match path.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    };
    let failed = |e: io::Error| ExportError::writing(path, e);
    let mut file = tempfile::NamedTempFile::new_in(folder).map_err(failed)?;
    io::Write::write_all(&mut file, bytes).map_err(failed)?;
    file.persist(path).map_err(|e| failed(e.error))?;
    Ok(())
}

/// Every file of a folder, by name; what [`write_set`] wrote reads back the same.
///
/// # Errors
///
/// [`ExportError::NotAFolder`], or [`ExportError::Unreadable`] with the file.
pub fn read_set(folder: &Path) -> Result<Vec<ShopFile>, ExportError> {
    if folder.is_file() {
        return Err(ExportError::NotAFolder {
            path: folder.to_path_buf(),
        });
    }
    list(folder)?
        .into_iter()
        .map(|(name, path)| match fs::read(&path) {
            Ok(bytes) => Ok(ShopFile::new(name, bytes)),
            Err(e) => Err(unreadable(&path, e)),
        })
        .collect()
}

/// How one file's bytes reach its path; an argument so that tests can rehearse a full disk.
type WriteFile<'a> = &'a mut dyn FnMut(&Path, &[u8]) -> io::Result<()>;

fn write_set_with(
    folder: &Path,
    files: &[ShopFile],
    existing: Existing,
    write: WriteFile<'_>,
) -> Result<Written, ExportError> {
    check_names(files)?;
    let old = match fs::metadata(folder) {
        Ok(m) if m.is_dir() => Some(list(folder)?),
        Ok(_) => {
            return Err(ExportError::NotAFolder {
                path: folder.to_path_buf(),
            });
        }
        // A file further up is named by `make_parents`.
        Err(e)
            if matches!(
                e.kind(),
                io::ErrorKind::NotFound | io::ErrorKind::NotADirectory
            ) =>
        {
            None
        }
        Err(e) => return Err(unreadable(folder, e)),
    };
    if let Some(old) = old.as_ref().filter(|o| !o.is_empty()) {
        match first_difference(old, files)? {
            None => return Ok(Written::Unchanged),
            Some(difference) if existing == Existing::Keep => {
                return Err(ExportError::TargetDiffers {
                    path: folder.to_path_buf(),
                    difference,
                });
            }
            Some(_) => {}
        }
    }
    let parent = match folder.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    };
    let made = make_parents(parent)?;
    let result = stage_and_place(parent, folder, files, old.map(|o| o.is_empty()), write);
    if result.is_err() {
        // Only folders made here, deepest first, and only while they are empty.
        for path in made.iter().rev() {
            let _ = fs::remove_dir(path);
        }
    }
    result
}

/// Writes the set beside the target and renames it there; `old_is_empty` is `None` where there is no target yet.
fn stage_and_place(
    parent: &Path,
    folder: &Path,
    files: &[ShopFile],
    old_is_empty: Option<bool>,
    write: WriteFile<'_>,
) -> Result<Written, ExportError> {
    let beside = tempfile::Builder::new()
        .prefix(".release-")
        .tempdir_in(parent)
        .map_err(|e| ExportError::writing(parent, e))?;
    // A folder within, because a temporary folder itself is closed to everyone but its owner.
    let staged = beside.path().join("new");
    fs::create_dir(&staged).map_err(|e| ExportError::writing(folder, e))?;
    for file in files {
        let path = staged.join(&file.name);
        let named = folder.join(&file.name);
        if let Some(p) = path.parent() {
            fs::create_dir_all(p).map_err(|e| ExportError::writing(&named, e))?;
        }
        write(&path, &file.bytes).map_err(|e| ExportError::writing(&named, e))?;
    }
    // A second pass: some disks report a lack of room only when flushed, and
    // flushing after all is written costs one commit, not one a file.
    for file in files {
        fs::File::open(staged.join(&file.name))
            .and_then(|f| f.sync_all())
            .map_err(|e| ExportError::writing(&folder.join(&file.name), e))?;
    }
    let place = |from: &Path| fs::rename(from, folder).map_err(|e| ExportError::writing(folder, e));
    match old_is_empty {
        None => {
            place(&staged)?;
            Ok(Written::Created)
        }
        Some(empty) => {
            let aside = beside.path().join("old");
            fs::rename(folder, &aside).map_err(|e| ExportError::writing(folder, e))?;
            if let Err(e) = place(&staged) {
                fs::rename(&aside, folder).map_err(|e| ExportError::writing(folder, e))?;
                return Err(e);
            }
            Ok(if empty {
                Written::Created
            } else {
                Written::Replaced
            })
        }
    }
}

/// Makes the missing folders down to `path`; answers those it made, outermost first.
fn make_parents(path: &Path) -> Result<Vec<PathBuf>, ExportError> {
    let mut missing = Vec::new();
    for p in path.ancestors().filter(|p| !p.as_os_str().is_empty()) {
        match fs::metadata(p) {
            Ok(m) if m.is_dir() => break,
            Ok(_) => {
                return Err(ExportError::NotAFolder {
                    path: p.to_path_buf(),
                });
            }
            Err(_) => missing.push(p),
        }
    }
    let mut made: Vec<PathBuf> = Vec::new();
    for p in missing.into_iter().rev() {
        if let Err(e) = fs::create_dir(p) {
            for done in made.iter().rev() {
                let _ = fs::remove_dir(done);
            }
            return Err(ExportError::writing(p, e));
        }
        made.push(p.to_path_buf());
    }
    Ok(made)
}

/// Every file below `folder`, by name with `/` between folders.
fn list(folder: &Path) -> Result<BTreeMap<String, PathBuf>, ExportError> {
    let mut found = BTreeMap::new();
    let mut open = vec![(String::new(), folder.to_path_buf())];
    while let Some((prefix, path)) = open.pop() {
        for entry in fs::read_dir(&path).map_err(|e| unreadable(&path, e))? {
            let entry = entry.map_err(|e| unreadable(&path, e))?;
            let name = format!("{prefix}{}", entry.file_name().to_string_lossy());
            let kind = entry
                .file_type()
                .map_err(|e| unreadable(&entry.path(), e))?;
            if kind.is_dir() {
                open.push((format!("{name}/"), entry.path()));
            } else {
                found.insert(name, entry.path());
            }
        }
    }
    Ok(found)
}

/// The first file, by name, in which the old set and the new one differ.
fn first_difference(
    old: &BTreeMap<String, PathBuf>,
    files: &[ShopFile],
) -> Result<Option<String>, ExportError> {
    let new: BTreeMap<&str, &[u8]> = files
        .iter()
        .map(|f| (f.name.as_str(), f.bytes.as_slice()))
        .collect();
    for (name, bytes) in &new {
        let Some(path) = old.get(*name) else {
            return Ok(Some(format!("`{name}` is new")));
        };
        let there = fs::read(path).map_err(|e| unreadable(path, e))?;
        if there != *bytes {
            return Ok(Some(format!("`{name}` differs")));
        }
    }
    Ok(old
        .keys()
        .find(|name| !new.contains_key(name.as_str()))
        .map(|name| format!("`{name}` would go")))
}

fn unreadable(path: &Path, source: io::Error) -> ExportError {
    ExportError::Unreadable {
        path: path.to_path_buf(),
        source,
    }
}

/// Refuses names that leave the folder, that two systems read differently, or that collide.
fn check_names(files: &[ShopFile]) -> Result<(), ExportError> {
    let mut seen = BTreeSet::new();
    let mut folders = BTreeSet::new();
    for file in files {
        if let Some(why) = bad_name(&file.name) {
            return Err(ExportError::BadName {
                name: file.name.clone(),
                why,
            });
        }
        let folded = file.name.to_lowercase();
        for (at, _) in folded.match_indices('/') {
            folders.insert(folded[..at].to_string());
        }
        if !seen.insert(folded) {
            return Err(ExportError::SameName {
                name: file.name.clone(),
            });
        }
    }
    match seen.intersection(&folders).next() {
        Some(name) => Err(ExportError::SameName { name: name.clone() }),
        None => Ok(()),
    }
}

/// Device names that Windows reserves whatever their extension (Microsoft, "Naming Files, Paths, and Namespaces").
const RESERVED: [&str; 4] = ["con", "prn", "aux", "nul"];

fn bad_name(name: &str) -> Option<&'static str> {
    if name.is_empty() {
        return Some("it is empty");
    }
    for part in name.split('/') {
        if part.is_empty() {
            return Some("a folder name in it is empty");
        }
        if part == "." || part == ".." {
            return Some("it leaves its folder");
        }
        if part
            .chars()
            .any(|c| c.is_control() || "<>:\"\\|?*".contains(c))
        {
            return Some("it holds a character that not every system allows");
        }
        if part.ends_with(['.', ' ']) || part.starts_with(' ') {
            return Some("it starts or ends with a space, or ends with a point");
        }
        let stem = part.split('.').next().unwrap_or(part).to_lowercase();
        let device = stem.trim_end_matches(|c: char| c.is_ascii_digit());
        let numbered = stem.len() == device.len() + 1 && matches!(device, "com" | "lpt");
        if numbered || (stem == device && RESERVED.contains(&device)) {
            return Some("Windows keeps that name for a device");
        }
        if part.len() > 255 {
            return Some("it is longer than 255 bytes");
        }
    }
    None
}

#[cfg(test)]
mod tests;
