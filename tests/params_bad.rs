//! Bad files: each of `tests/bad` is named after the code it must draw, and its findings are kept as rendered.
//!
//! A fixture's name is `<code>-<kind>-<what>.toml`; it is opened as a file of
//! that kind, jobs with the files of `tests/data/params` at hand.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a helper of a test fails it by panicking"
)]

use std::collections::BTreeSet;
use std::io;
use std::path::{Path, PathBuf};

use platewright::diag::{Code, Diag, Family, Sources, render};
use platewright::params::{
    self, Accessory, Block, Disk, Failure, Files, Lookup, ParamFile, Shop, Stock, read_text,
    spec::Designations,
};

const FOLDER: &str = "tests/bad";

fn lookup() -> Lookup {
    Lookup {
        folders: vec![PathBuf::from("tests/data/params")],
        built_in: false,
        ..Lookup::default()
    }
}

/// Names of all fixtures, sorted.
fn fixtures() -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(FOLDER)
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .filter(|n| n.starts_with('p'))
        .collect();
    names.sort();
    names
}

fn failure<T: ParamFile + std::fmt::Debug>(path: &Path) -> Failure {
    params::open_file::<T, _>(path, &lookup()).expect_err("a bad file is refused")
}

/// The findings about a fixture.
fn findings(name: &str) -> (Vec<Diag>, Sources) {
    let path = Path::new(FOLDER).join(name);
    let f = match name.split('-').nth(1).unwrap() {
        "job" => params::open(&path, &lookup()).expect_err("a bad job is refused"),
        "block" => failure::<Block>(&path),
        "accessory" => failure::<Accessory>(&path),
        "stock" => failure::<Stock>(&path),
        "shop" => failure::<Shop>(&path),
        other => panic!("{name}: `{other}` is no kind"),
    };
    (f.findings, f.sources)
}

/// Files too large to keep: code and what it must be drawn by.
fn generated() -> Vec<(Code, String)> {
    vec![
        (Code::TooLong, "# blank\n".repeat(200_000)),
        (
            Code::TooMany,
            (0..5_000)
                .map(|i| format!("key-{i} = {i}"))
                .collect::<Vec<_>>()
                .join("\n"),
        ),
    ]
}

#[test]
fn every_bad_file_draws_the_code_it_is_named_after_and_reads_well() {
    for name in fixtures() {
        let (diags, sources) = findings(&name);
        let code = Code::from_id(name.split('-').next().unwrap()).unwrap();
        let drawn: BTreeSet<&str> = diags.iter().map(|d| d.code.id()).collect();
        assert!(drawn.contains(code.id()), "{name}: {drawn:?}");
        insta::with_settings!({snapshot_path => "bad/snapshots", prepend_module_to_snapshot => false, omit_expression => true}, {
            insta::assert_snapshot!(
                name.trim_end_matches(".toml"),
                render::text(&diags, &sources, false)
            );
        });
    }
}

#[test]
fn every_finding_has_a_place_a_mend_and_one_sentence() {
    for name in fixtures() {
        let (diags, sources) = findings(&name);
        for d in &diags {
            let whole_file = name.starts_with("p101");
            assert!(
                whole_file || sources.place(d.spot()).is_some(),
                "{name}: {d:?}"
            );
            assert!(!d.help.is_empty(), "{name}: {d:?}");
            assert!(
                !d.title.contains('\n') && !d.title.ends_with('.'),
                "{name}: {d:?}"
            );
        }
    }
}

#[test]
fn every_code_of_parameter_files_has_a_bad_file() {
    let mut drawn: BTreeSet<Code> = fixtures()
        .iter()
        .flat_map(|n| findings(n).0)
        .map(|d| d.code)
        .collect();
    drawn.extend(generated().iter().map(|(code, _)| *code));
    for code in Code::ALL.iter().filter(|c| c.family() == Family::Params) {
        assert!(drawn.contains(code), "no bad file draws {code}");
    }
}

#[test]
fn files_too_large_to_keep_are_refused_with_few_words() {
    for (code, text) in generated() {
        let f = read_text::<Stock>("big.toml", text.as_bytes(), &Designations::default())
            .expect_err("refused");
        assert!(f.findings.iter().any(|d| d.code == code), "{code}");
        assert!(f.findings.len() <= 201, "{}", f.findings.len());
    }
}

#[test]
fn a_missing_job_suggests_its_neighbour() {
    let f = params::open(Path::new("tests/data/params/jobs/smal.toml"), &lookup()).unwrap_err();
    assert_eq!(f.findings.len(), 1);
    assert_eq!(f.findings[0].code, Code::Unreadable);
    assert_eq!(
        f.findings[0].help,
        ["did you mean `tests/data/params/jobs/small.toml`?"]
    );
}

/// The test files, of which one may not be read.
struct Locked(&'static str);

impl Files for Locked {
    fn read(&self, path: &Path) -> io::Result<Vec<u8>> {
        if path.ends_with(self.0) && path.exists() {
            return Err(io::ErrorKind::PermissionDenied.into());
        }
        Disk.read(path)
    }

    fn stems(&self, folder: &Path) -> Vec<String> {
        Disk.stems(folder)
    }

    fn absolute(&self, path: &Path) -> PathBuf {
        Disk.absolute(path)
    }

    fn working_folder(&self) -> Option<PathBuf> {
        Disk.working_folder()
    }
}

#[test]
fn a_file_that_may_not_be_read_is_named_where_the_job_names_it() {
    let job = Path::new("tests/data/params/jobs/small.toml");
    let f = params::open(job, &Lookup::new(Locked("blocks/test-four.toml"))).unwrap_err();
    assert_eq!(
        render::short(&f.findings, &f.sources),
        "tests/data/params/jobs/small.toml:5:9: error[P101]: cannot read \
         `tests/data/params/blocks/test-four.toml`: permission denied\n"
    );
    let f = params::open(job, &Lookup::new(Locked("jobs/small.toml"))).unwrap_err();
    assert_eq!(f.findings[0].code, Code::Unreadable);
    assert_eq!(f.findings[0].help, ["check who may read it"]);
}

#[test]
fn designations_are_checked_against_the_tables_when_there_are_any() {
    let known = Designations {
        materials: vec!["EN AW-6061-T6".into(), "S355J2".into()],
        ..Designations::default()
    };
    let text = "kind = 'stock'\ntitle = 'x'\nmaterial = 'EN AW-6061 T6'\nthickness = 8\n";
    let f = read_text::<Stock>("x.toml", text.as_bytes(), &known).unwrap_err();
    assert_eq!(f.findings[0].code, Code::UnknownChoice);
    assert_eq!(f.findings[0].help, ["did you mean `EN AW-6061-T6`?"]);
}
