//! Where a parameter file of a given name is looked for.

use std::collections::BTreeMap;
use std::io::{self, Read};
use std::path::{Path, PathBuf};

use super::decode::MOST_BYTES;
use super::spec::Designations;

/// The parameter files that come with the program: name below `params/`, and text.
pub const BUILT_IN: &[(&str, &str)] = include!(concat!(env!("OUT_DIR"), "/built_in.rs"));

/// Where files come from: a disk, or memory for tests.
pub trait Files {
    /// The bytes of a file, at most one more than [`MOST_BYTES`].
    ///
    /// # Errors
    ///
    /// Whatever the system says.
    fn read(&self, path: &Path) -> io::Result<Vec<u8>>;

    /// Stems of the `.toml` files in a folder, sorted; none if it cannot be listed.
    fn stems(&self, folder: &Path) -> Vec<String>;

    /// The path from the root.
    fn absolute(&self, path: &Path) -> PathBuf;

    /// The working folder, if there is one.
    fn working_folder(&self) -> Option<PathBuf>;
}

/// The files of this machine.
#[derive(Debug, Clone, Copy, Default)]
pub struct Disk;

impl Files for Disk {
    fn read(&self, path: &Path) -> io::Result<Vec<u8>> {
        let mut bytes = Vec::new();
        let most = u64::try_from(MOST_BYTES + 1).unwrap_or(u64::MAX);
        std::fs::File::open(path)?
            .take(most)
            .read_to_end(&mut bytes)?;
        Ok(bytes)
    }

    fn stems(&self, folder: &Path) -> Vec<String> {
        let Ok(entries) = std::fs::read_dir(folder) else {
            return Vec::new();
        };
        let mut stems: Vec<String> = entries.filter_map(|e| stem(&e.ok()?.path())).collect();
        stems.sort();
        stems
    }

    fn absolute(&self, path: &Path) -> PathBuf {
        std::path::absolute(path).unwrap_or_else(|_| path.to_path_buf())
    }

    fn working_folder(&self) -> Option<PathBuf> {
        std::env::current_dir().ok()
    }
}

/// Files kept in memory by their full path; its root is the working folder.
#[derive(Debug, Clone, Default)]
pub struct Memory(pub BTreeMap<PathBuf, Vec<u8>>);

impl Files for Memory {
    fn read(&self, path: &Path) -> io::Result<Vec<u8>> {
        match self.0.get(path) {
            Some(bytes) => Ok(bytes.clone()),
            None => Err(io::ErrorKind::NotFound.into()),
        }
    }

    fn stems(&self, folder: &Path) -> Vec<String> {
        self.0
            .keys()
            .filter(|p| p.parent() == Some(folder))
            .filter_map(|p| stem(p))
            .collect()
    }

    fn absolute(&self, path: &Path) -> PathBuf {
        Path::new("/").join(path)
    }

    fn working_folder(&self) -> Option<PathBuf> {
        Some(PathBuf::from("/"))
    }
}

/// The stem of a `.toml` file.
fn stem(path: &Path) -> Option<String> {
    if path.extension()? != "toml" {
        return None;
    }
    Some(path.file_stem()?.to_str()?.to_owned())
}

/// How files that a job names are found.
///
/// In this order: beside the job; in the kind's folder (`blocks`,
/// `accessories`, `stock`, `shops`) beside the job; in the kind's folder of the
/// `params` folder nearest above the job, then of those further above; in that of
/// [`Lookup::folders`]; in that of the working folder's `params`; and in the
/// set that comes with the program.
#[derive(Debug)]
pub struct Lookup<F = Disk> {
    /// Where files come from.
    pub files: F,
    /// Further parameter folders.
    pub folders: Vec<PathBuf>,
    /// Whether the set that comes with the program is used.
    pub built_in: bool,
    /// Designations that exist; an empty list checks nothing.
    pub known: Designations,
}

impl Default for Lookup<Disk> {
    fn default() -> Self {
        Self::new(Disk)
    }
}

/// A file that was found.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Found {
    /// Its path as the user is shown it.
    pub shown: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// Why a file was not found.
#[derive(Debug, thiserror::Error)]
pub enum NotFound {
    /// No place has a file of that name.
    #[error("no file `{0}`")]
    Nowhere(String),
    /// A file of that name is there but cannot be read.
    #[error("cannot read `{path}`: {error}")]
    Unreadable {
        /// Its path as the user is shown it.
        path: String,
        /// What the system says.
        error: io::Error,
    },
}

impl<F: Files> Lookup<F> {
    /// A lookup with the program's own set, no further folders and no tables.
    #[must_use]
    pub fn new(files: F) -> Self {
        Self {
            files,
            folders: Vec::new(),
            built_in: true,
            known: Designations::default(),
        }
    }

    /// Finds the file `name`.toml of a kind kept in `folder`, for a job at `job`.
    ///
    /// # Errors
    ///
    /// [`NotFound`] when there is none or the first one found cannot be read.
    pub fn find(&self, job: &Path, folder: &str, name: &str) -> Result<Found, NotFound> {
        let file = format!("{name}.toml");
        for place in self.places(job, folder) {
            let path = place.join(&file);
            match self.files.read(&path) {
                Ok(bytes) => {
                    return Ok(Found {
                        shown: self.shown(&path),
                        bytes,
                    });
                }
                Err(e)
                    if matches!(
                        e.kind(),
                        io::ErrorKind::NotFound | io::ErrorKind::NotADirectory
                    ) => {}
                Err(error) => {
                    return Err(NotFound::Unreadable {
                        path: self.shown(&path),
                        error,
                    });
                }
            }
        }
        let built_in = format!("{folder}/{file}");
        BUILT_IN
            .iter()
            .find(|(path, _)| self.built_in && *path == built_in)
            .map(|(path, text)| Found {
                shown: format!("built-in {path}"),
                bytes: text.as_bytes().to_vec(),
            })
            .ok_or(NotFound::Nowhere(file))
    }

    /// Names of all files of a kind that a job at `job` could name, nearest places first.
    #[must_use]
    pub fn names(&self, job: &Path, folder: &str) -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        // A file beside the job may be of any kind: only the kind's own folders are listed.
        for place in self.places(job, folder).iter().skip(1) {
            names.extend(self.files.stems(place));
        }
        if self.built_in {
            names.extend(BUILT_IN.iter().filter_map(|(path, _)| {
                let rest = path.strip_prefix(folder)?.strip_prefix('/')?;
                Some(rest.strip_suffix(".toml")?.to_owned())
            }));
        }
        names
    }

    /// Folders in which a file of a kind is looked for, in order.
    #[must_use]
    pub fn places(&self, job: &Path, folder: &str) -> Vec<PathBuf> {
        let home = self.files.absolute(job);
        let home = home.parent().unwrap_or(Path::new("/"));
        let mut places = vec![home.to_path_buf(), home.join(folder)];
        for above in home.ancestors() {
            if above.file_name().is_some_and(|n| n == "params") {
                places.push(above.join(folder));
            }
            places.push(above.join("params").join(folder));
        }
        places.extend(self.folders.iter().map(|f| f.join(folder)));
        places.extend(
            self.files
                .working_folder()
                .map(|w| w.join("params").join(folder)),
        );
        let mut seen = std::collections::BTreeSet::new();
        places.retain(|p| seen.insert(p.clone()));
        places
    }

    /// A path as the user is shown it: from the working folder where it lies below it.
    pub(super) fn shown(&self, path: &Path) -> String {
        let short = self
            .files
            .working_folder()
            .and_then(|w| path.strip_prefix(&w).ok().map(Path::to_path_buf));
        short.as_deref().unwrap_or(path).display().to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lookup(paths: &[&str]) -> Lookup<Memory> {
        let files = paths
            .iter()
            .map(|p| (PathBuf::from(p), p.as_bytes().to_vec()))
            .collect();
        Lookup {
            built_in: false,
            ..Lookup::new(Memory(files))
        }
    }

    #[test]
    fn the_nearest_place_wins() {
        let job = Path::new("/shop/cars/job.toml");
        let order = [
            "/shop/cars/om.toml",
            "/shop/cars/blocks/om.toml",
            "/shop/cars/params/blocks/om.toml",
            "/shop/params/blocks/om.toml",
            "/params/blocks/om.toml",
        ];
        for i in 0..order.len() {
            let found = lookup(&order[i..]).find(job, "blocks", "om").unwrap();
            assert_eq!(found.bytes, order[i].as_bytes());
        }
        assert!(matches!(
            lookup(&["/shop/accessories/om.toml"]).find(job, "blocks", "om"),
            Err(NotFound::Nowhere(name)) if name == "om.toml"
        ));
    }

    #[test]
    fn a_job_inside_params_finds_its_neighbours() {
        let l = lookup(&["/a/params/blocks/om.toml", "/a/params/jobs/x.toml"]);
        let found = l.find(Path::new("/a/params/jobs/x.toml"), "blocks", "om");
        assert_eq!(found.unwrap().shown, "a/params/blocks/om.toml");
        assert_eq!(
            l.names(Path::new("/a/params/jobs/x.toml"), "blocks"),
            ["om"]
        );
    }

    #[test]
    fn further_folders_come_before_the_built_in_set() {
        let mut l = lookup(&["/mine/stock/alu.toml"]);
        l.folders.push(PathBuf::from("/mine"));
        assert!(l.find(Path::new("/b/x.toml"), "stock", "alu").is_ok());
    }
}
