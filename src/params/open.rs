//! Opens a job with every file it names, or a single file of any kind.

use std::collections::BTreeMap;
use std::path::Path;

use crate::diag::{Code, Diag, Sink, Sources, Spot};

use super::accessory::Accessory;
use super::block::Block;
use super::job::Job;
use super::keys::ParamFile;
use super::links;
use super::lookup::{Files, Lookup, NotFound};
use super::nearest::nearest;
use super::offers::{Offered, Offers};
use super::reader::{self, ReadFile};
use super::record::Record;
use super::shop::{Shop, Stock};
use super::spec::Designations;

/// A job with everything it names.
#[derive(Debug, Clone)]
pub struct Loaded {
    /// The job.
    pub job: Job,
    /// Its block.
    pub block: Block,
    /// Blocks that only variants use, by name.
    pub variant_blocks: BTreeMap<String, Block>,
    /// Every accessory the job or a variant uses, by name.
    pub accessories: BTreeMap<String, Accessory>,
    /// Its shop.
    pub shop: Shop,
    /// Every stock a plate uses, by name.
    pub stocks: BTreeMap<String, Stock>,
    /// The files read, so that later findings can show their lines.
    pub sources: Sources,
    /// What was found that does not keep the job from being used.
    pub findings: Vec<Diag>,
}

/// A single file, read.
#[derive(Debug, Clone)]
pub struct Opened<T> {
    /// What it holds.
    pub value: T,
    /// The file read.
    pub sources: Sources,
    /// What was found that does not keep it from being used.
    pub findings: Vec<Diag>,
}

/// Why input cannot be used: every finding of every file.
#[derive(Debug, Clone, thiserror::Error)]
#[error("the input cannot be used: {} findings", findings.len())]
pub struct Failure {
    /// The findings by file and place; at least one is an error.
    pub findings: Vec<Diag>,
    /// The files read, so that the findings can show their lines.
    pub sources: Sources,
}

/// Opens the job at `path` and every file it names.
///
/// # Errors
///
/// A [`Failure`] with every fault of every file at once (codes P101 to P306).
///
/// ```no_run
/// use platewright::params::{self, Lookup};
/// match params::open("params/jobs/forwarder.toml".as_ref(), &Lookup::default()) {
///     Ok(loaded) => assert!(!loaded.job.plates.is_empty()),
///     Err(failure) => {
///         let text = platewright::diag::render::text(&failure.findings, &failure.sources, false);
///         assert!(text.contains("error"));
///     }
/// }
/// ```
pub fn open<F: Files>(path: &Path, lookup: &Lookup<F>) -> Result<Loaded, Failure> {
    let mut session = Session {
        lookup,
        path,
        sources: Sources::new(),
        sink: Sink::new(),
    };
    match session.load() {
        Some(parts) if !session.sink.has_errors() => Ok(Loaded {
            job: parts.job,
            block: parts.block,
            variant_blocks: parts.variant_blocks,
            accessories: parts.accessories,
            shop: parts.shop,
            stocks: parts.stocks,
            findings: session.sink.sorted(),
            sources: session.sources,
        }),
        _ => Err(Failure {
            findings: session.sink.sorted(),
            sources: session.sources,
        }),
    }
}

/// Opens one file of any kind, without looking at the files it names.
///
/// # Errors
///
/// A [`Failure`] with every fault of the file at once.
pub fn open_file<T: ParamFile, F: Files>(
    path: &Path,
    lookup: &Lookup<F>,
) -> Result<Opened<T>, Failure> {
    let mut sink = Sink::new();
    match read_path(path, lookup, &mut sink) {
        Some(bytes) => read_text(
            &lookup.shown(&lookup.files.absolute(path)),
            &bytes,
            &lookup.known,
        ),
        None => Err(Failure {
            findings: sink.sorted(),
            sources: Sources::new(),
        }),
    }
}

/// Reads one file of any kind from its bytes; `shown` is the path the user knows it by and gives it its name.
///
/// # Errors
///
/// A [`Failure`] with every fault of the file at once.
///
/// ```
/// use platewright::params::{self, Stock, spec::Designations};
/// let text = "kind = 'stock'\ntitle = 'Plate'\nmaterial = 'S355J2'\nthickness = '1/2 in'\n";
/// let stock: Stock = params::read_text("half-inch.toml", text.as_bytes(), &Designations::default())
///     .unwrap()
///     .value;
/// assert_eq!((stock.name.as_str(), stock.thickness_mm), ("half-inch", 12.7));
/// ```
pub fn read_text<T: ParamFile>(
    shown: &str,
    bytes: &[u8],
    known: &Designations,
) -> Result<Opened<T>, Failure> {
    let mut sources = Sources::new();
    let mut sink = Sink::new();
    let value =
        reader::read(shown, bytes, T::KIND, known, &mut sources, &mut sink).and_then(|file| {
            let value = T::build(&stem(Path::new(shown)), &file.record, &mut sink);
            sink.retain(|d| !file.spoils(d));
            value
        });
    match value {
        Some(value) if !sink.has_errors() => Ok(Opened {
            value,
            sources,
            findings: sink.sorted(),
        }),
        _ => Err(Failure {
            findings: sink.sorted(),
            sources,
        }),
    }
}

fn stem(path: &Path) -> String {
    path.file_stem()
        .map(|s| s.to_string_lossy().into_owned())
        .unwrap_or_default()
}

/// The bytes of the file the user named, or a finding without a place.
fn read_path<F: Files>(path: &Path, lookup: &Lookup<F>, sink: &mut Sink) -> Option<Vec<u8>> {
    let error = match lookup.files.read(&lookup.files.absolute(path)) {
        Ok(bytes) => return Some(bytes),
        Err(error) => error,
    };
    let diag = Diag::new(
        Code::Unreadable,
        format!("cannot read `{}`: {}", path.display(), error.kind()),
    );
    let folder = lookup.files.absolute(path);
    let names = folder
        .parent()
        .map(|f| lookup.files.stems(f))
        .unwrap_or_default();
    let meant = nearest(&stem(path), names.iter().map(String::as_str));
    sink.push(match (error.kind(), meant) {
        (std::io::ErrorKind::NotFound, Some(m)) => diag.help(format!(
            "did you mean `{}`?",
            path.with_file_name(format!("{m}.toml")).display()
        )),
        (std::io::ErrorKind::NotFound, None) => {
            diag.help("check the path; `platewright new` starts a job with all its files")
        }
        (std::io::ErrorKind::IsADirectory, _) => diag.help("name the job file in it"),
        _ => diag.help("check who may read it"),
    });
    None
}

/// What a job is made of.
struct Parts {
    job: Job,
    block: Block,
    variant_blocks: BTreeMap<String, Block>,
    accessories: BTreeMap<String, Accessory>,
    shop: Shop,
    stocks: BTreeMap<String, Stock>,
}

/// A name of a file as a job writes it.
struct Named<'r> {
    name: &'r str,
    spot: Spot,
    key: String,
}

/// State while a job is opened.
struct Session<'a, F> {
    lookup: &'a Lookup<F>,
    path: &'a Path,
    sources: Sources,
    sink: Sink,
}

impl<F: Files> Session<'_, F> {
    fn load(&mut self) -> Option<Parts> {
        let bytes = read_path(self.path, self.lookup, &mut self.sink)?;
        let shown = self.lookup.shown(&self.lookup.files.absolute(self.path));
        let file = self.read::<Job>(&shown, &bytes)?;
        let record = &file.record;
        let mut offered = Offered::default();

        let mut blocks = BTreeMap::new();
        for named in named_blocks(record) {
            if let Some((built, file)) = self.named::<Block>(&named) {
                let offers = Offers::of_block(&file.record, file.is_complete());
                offered.blocks.insert(named.name.to_owned(), offers);
                blocks.extend(built.map(|b| (named.name.to_owned(), b)));
            }
        }
        let mut accessories = BTreeMap::new();
        for named in named_accessories(record) {
            if let Some((built, file)) = self.named::<Accessory>(&named) {
                let offers = Offers::of_accessory(&file.record, file.is_complete());
                offered.accessories.insert(named.name.to_owned(), offers);
                accessories.extend(built.map(|a| (named.name.to_owned(), a)));
            }
        }
        let mut stocks = BTreeMap::new();
        for named in distinct(record.tables("plate").filter_map(|p| named(p, "stock"))) {
            if let Some((Some(stock), _)) = self.named::<Stock>(&named) {
                stocks.insert(named.name.to_owned(), stock);
            }
        }
        let mut shop = None;
        if let Some(named) = named(record, "shop")
            && let Some((built, file)) = self.named::<Shop>(&named)
        {
            offered.processes = file.is_complete().then(|| {
                file.record
                    .tables("process")
                    .filter_map(|p| p.string("id"))
                    .collect()
            });
            shop = built;
        }
        links::check(record, file.is_complete(), &offered, &mut self.sink);
        let job = Job::build(&stem(self.path), record, &mut self.sink);
        self.sink.retain(|d| !file.spoils(d));
        let job = job?;
        let block = blocks.remove(&job.block)?;
        Some(Parts {
            job,
            block,
            variant_blocks: blocks,
            accessories,
            shop: shop?,
            stocks,
        })
    }

    fn read<T: ParamFile>(&mut self, shown: &str, bytes: &[u8]) -> Option<ReadFile> {
        reader::read(
            shown,
            bytes,
            T::KIND,
            &self.lookup.known,
            &mut self.sources,
            &mut self.sink,
        )
    }

    /// Finds, reads and builds a file the job names.
    fn named<T: ParamFile>(&mut self, named: &Named<'_>) -> Option<(Option<T>, ReadFile)> {
        let folder = T::KIND.folder;
        match self.lookup.find(self.path, folder, named.name) {
            Ok(found) => {
                let file = self.read::<T>(&found.shown, &found.bytes)?;
                let built = T::build(named.name, &file.record, &mut self.sink);
                self.sink.retain(|d| !file.spoils(d));
                Some((built, file))
            }
            Err(NotFound::Unreadable { path, error }) => {
                self.sink.push(
                    Diag::new(
                        Code::Unreadable,
                        format!("cannot read `{path}`: {}", error.kind()),
                    )
                    .labelled(named.spot, "named here")
                    .key(named.key.as_str())
                    .help("check who may read it"),
                );
                None
            }
            Err(NotFound::Nowhere(_)) => {
                let names = self.lookup.names(self.path, folder);
                let diag = Diag::new(
                    Code::NoSuchFile,
                    format!("there is no {} file named `{}`", T::KIND.name, named.name),
                )
                .at(named.spot)
                .key(named.key.as_str());
                let diag = match nearest(named.name, names.iter().map(String::as_str)) {
                    Some(n) => diag.help(format!("did you mean `{n}`?")),
                    None => diag,
                };
                self.sink.push(diag.help(format!(
                    "put {name}.toml beside the job or into a folder `{folder}` beside it",
                    name = named.name
                )));
                None
            }
        }
    }
}

/// The file named under a key.
fn named<'r>(record: &'r Record, key: &str) -> Option<Named<'r>> {
    Some(Named {
        name: record.text(key)?,
        spot: record.spot_of(key),
        key: record.path_of(key),
    })
}

/// Each name once, at the first place it is written.
fn distinct<'r>(names: impl Iterator<Item = Named<'r>>) -> Vec<Named<'r>> {
    let mut out: Vec<Named<'r>> = Vec::new();
    for n in names {
        if !out.iter().any(|o| o.name == n.name) {
            out.push(n);
        }
    }
    out
}

fn named_blocks(job: &Record) -> Vec<Named<'_>> {
    let variants = job.tables("variant").filter_map(|v| named(v, "block"));
    distinct(named(job, "block").into_iter().chain(variants))
}

fn named_accessories(job: &Record) -> Vec<Named<'_>> {
    let placed = job.tables("place").filter_map(|p| named(p, "accessory"));
    let replaced = job.tables("variant").flat_map(|v| {
        v.map("replace").iter().filter_map(|(id, _, node)| {
            Some(Named {
                name: node.text()?,
                spot: node.spot,
                key: format!("{}.{id}", v.path_of("replace")),
            })
        })
    });
    distinct(placed.chain(replaced))
}
