//! Small invented jobs kept in memory, changed by replacing pieces of their text.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use platewright::diag::render;
use platewright::params::lookup::Memory;
use platewright::params::{self, Failure, Lookup};
use platewright::project::{self, Project};
use platewright::rules::Finding;
use platewright::strength::{Progress, Silent};

/// Four M10 holes in grey iron on the front face, one M8 among them, and one on the right face.
const BLOCK: &str = r#"kind = "block"
title = "Test stand"

[engine]
cylinders = 4
idle-rpm = 800
top-rpm = 2400

[[hole]]
id = "A1"
at = [0, 0, 0]
thread = "M10x1.5"
depth = 24
material = "EN-GJL-250"

[[hole]]
id = "A2"
at = [80, 0, 0]
thread = "M10x1.5"
depth = 24
material = "EN-GJL-250"

[[hole]]
id = "A3"
at = [0, 120, 0]
thread = "M8x1.25"
depth = 20
material = "EN-GJL-250"

[[hole]]
id = "A4"
at = [80, 120, 0]
thread = "M20x2.5"
depth = 40
material = "EN-GJL-250"

[[hole]]
id = "R1"
at = [150, 0, -40]
axis = "right"
thread = "M10x1.5"
depth = 24
material = "EN-GJL-250"

[[pulley]]
id = "crank"
at = [0, -200]
diameter = 150
ribs = 6
rib-plane = 60
width = 30

[[pulley]]
id = "pump"
at = [0, 0]
diameter = 100
ribs = 6
rib-plane = 60
width = 30
load = { torque-nm = [[1000, 2], [3000, 4]] }
"#;

/// A mill, and a laser that only cuts.
const SHOP: &str = r#"kind = "shop"
title = "Test shop"

[[process]]
id = "mill"
method = "milling"
cutters = [8, 12]
least-hole = 2.5
least-hole-per-thickness = 0.1
least-web = 4
least-web-per-thickness = 0.2
most-thickness = 50
sheet = [760, 420]

[[process]]
id = "laser"
method = "laser"
least-hole = 1
least-hole-per-thickness = 1
least-web = 2
least-web-per-thickness = 0.2
inside-radius = 0.5
most-thickness = 20
sheet = [3000, 1500]
"#;

const STOCK: &str = r#"kind = "stock"
title = "Aluminium plate 15 mm"
material = "EN AW-6061-T6"
thickness = 15
"#;

/// An accessory with one mount of every kind along its shaft, and a lug bolted from the side.
const ACCESSORY: &str = r#"kind = "accessory"
title = "Test accessory"
mass = 4
centre = [0, 0, -20]

[[mount]]
id = "ear"
at = [0, 0]
thread = "M10x1.5"
through-ear = { hole = 10.5, ears = [[-40, -20]], diameter = 26 }

[[mount]]
id = "second"
at = [60, 0]
thread = "M10x1.5"
through-ear = { hole = 10.5, ears = [[-40, -20]], diameter = 26 }

[[mount]]
id = "threaded"
at = [0, 60]
thread = "M8x1.25"
threaded-ear = { ear = [-40, -20], depth = 20, mouth = "low", diameter = 22, material = "EN AC-46000-DF" }

[[mount]]
id = "pad"
at = [60, 60]
thread = "M8x1.25"
pad = { face = -40, seat = -28, hole = 8.5, diameter = 24 }

[pulley]
diameter = 70
ribs = 6
rib-plane = 0
width = 30
"#;

/// One plate over A1 and A2, drawn by hand as a rectangle from (-30, -30) to (110, 30).
pub(crate) const JOB: &str = r#"kind = "job"
title = "Test job"
revision = "A"
date = 2026-03-02
block = "stand"
shop = "shop"

[[plate]]
id = "plate"
back = "block.A1"
stock = "sheet"
holes = ["block.A1", "block.A2"]
webs = "none"
outline = [[-30, -30], [110, -30], [110, 30], [-30, 30]]
"#;

/// The files of a job.
#[derive(Debug, Clone)]
pub(crate) struct Job {
    files: BTreeMap<&'static str, String>,
}

impl Job {
    /// The job of one hand-drawn plate, [`JOB`].
    pub(crate) fn drawn() -> Self {
        let files = [
            ("job", JOB),
            ("stand", BLOCK),
            ("shop", SHOP),
            ("sheet", STOCK),
            ("thing", ACCESSORY),
        ];
        Self {
            files: files.map(|(n, t)| (n, t.to_owned())).into(),
        }
    }

    /// The same with one piece of the job's text replaced; the piece must be there once.
    pub(crate) fn with(self, old: &str, new: &str) -> Self {
        self.with_in("job", old, new)
    }

    /// The same with one piece of another file's text replaced.
    pub(crate) fn with_in(mut self, file: &str, old: &str, new: &str) -> Self {
        let text = self.files.get_mut(file).expect("a file of the set");
        assert_eq!(text.matches(old).count(), 1, "`{old}` once in {file}");
        *text = text.replace(old, new);
        self
    }

    /// The same with another file's text replaced whole.
    pub(crate) fn replaced(mut self, file: &'static str, text: &str) -> Self {
        self.files.insert(file, text.to_owned());
        self
    }

    /// The same with text added to the job's end.
    pub(crate) fn and(mut self, more: &str) -> Self {
        let text = self.files.get_mut("job").expect("the job");
        text.push('\n');
        text.push_str(more);
        self
    }

    /// Takes the job all the way but for strength.
    pub(crate) fn open(&self) -> Result<Project, Failure> {
        self.open_telling(None)
    }

    /// Takes the job all the way, strength and vibration too; panics with the findings where it cannot be.
    pub(crate) fn calculated(&self) -> Project {
        self.open_telling(Some(&mut Silent)).unwrap_or_else(|f| {
            panic!("{}", render::text(&f.findings, &f.sources, false));
        })
    }

    /// Writes the files into a folder; the job is `job.toml`.
    pub(crate) fn write(&self, folder: &Path) {
        for (name, text) in &self.files {
            std::fs::write(folder.join(format!("{name}.toml")), text).expect("written");
        }
    }

    fn open_telling(&self, strength: Option<&mut dyn Progress>) -> Result<Project, Failure> {
        let files = self
            .files
            .iter()
            .map(|(n, t)| (PathBuf::from(format!("/{n}.toml")), t.clone().into_bytes()));
        let mut lookup = Lookup::new(Memory(files.collect()));
        lookup.built_in = false;
        lookup.known = project::designations();
        project::build(params::open(Path::new("job.toml"), &lookup)?, strength)
    }

    /// The project; panics with the findings where there is none.
    pub(crate) fn project(&self) -> Project {
        self.open().unwrap_or_else(|f| {
            panic!("{}", render::text(&f.findings, &f.sources, false));
        })
    }

    /// What is said of the input, rendered without colour.
    pub(crate) fn said(&self) -> String {
        match self.open() {
            Ok(p) => render::text(&p.diags, p.sources(), false),
            Err(f) => render::text(&f.findings, &f.sources, false),
        }
    }

    /// The finding of a rule at a hole or feature, of several there the worst.
    pub(crate) fn finding(&self, rule: &str, at: &str) -> Finding {
        let project = self.project();
        let found = project
            .findings
            .iter()
            .find(|f| f.rule == rule && f.at == at);
        found.unwrap_or_else(|| panic!("{rule} at `{at}`")).clone()
    }
}
