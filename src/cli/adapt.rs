//! `adapt`: what it takes to hold another accessory, written as the next revision of the job.

use std::fmt::Write as _;
use std::io;
use std::path::{Path, PathBuf};

use crate::adapt::{self, How, Plan};
use crate::export::write_file;
use crate::params::lookup::{Files, NotFound};
use crate::params::{self, Accessory, Disk, Lookup};
use crate::project;
use crate::report::{check::Tally, compare, json_text};

use super::args::{AdaptArgs, Format};
use super::{Outcome, Status, remarks};

/// This machine's files, with one that is not written yet.
#[derive(Debug)]
struct Drafted {
    path: PathBuf,
    text: String,
}

impl Files for Drafted {
    fn read(&self, path: &Path) -> io::Result<Vec<u8>> {
        if path == self.path {
            Ok(self.text.clone().into_bytes())
        } else {
            Disk.read(path)
        }
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

pub(super) fn run(args: &AdaptArgs, colour: bool) -> Outcome {
    let lookup = project::disk();
    let old = match project::open(&args.job) {
        Ok(p) => p,
        Err(failure) => return Outcome::bad_input(&failure, colour),
    };
    let with = match accessory(&args.job, &args.with, &lookup, colour) {
        Ok(a) => a,
        Err(outcome) => return *outcome,
    };
    let plan = match adapt::plan(&old, &args.accessory, &with) {
        Ok(p) => p,
        Err(e) => return Outcome::complaint(e, Status::BadInput),
    };
    let text = match std::fs::read_to_string(&args.job) {
        Ok(t) => t,
        Err(e) => return Outcome::complaint(e, Status::BadInput),
    };
    let text = match adapt::revised(&text, &plan) {
        Ok(t) => t,
        Err(e) => return Outcome::complaint(e, Status::BadInput),
    };
    let out = args.out.clone().unwrap_or_else(|| {
        let next = adapt::next_revision(&old.loaded.job.revision).to_lowercase();
        args.job
            .with_file_name(format!("{}-{next}.toml", old.loaded.job.name))
    });
    if out.exists() {
        return Outcome::complaint(
            format!(
                "`{}` is there already: name another file with --out",
                out.display()
            ),
            Status::CannotWrite,
        );
    }
    // The draft is read as any job before it is written: what is written can be used.
    let mut drafted = Lookup::new(Drafted {
        path: Disk.absolute(&out),
        text: text.clone(),
    });
    drafted.known = project::designations();
    let new = match params::open(&out, &drafted).and_then(|l| project::build(l, None)) {
        Ok(p) => p,
        Err(failure) => return Outcome::bad_input(&failure, colour),
    };
    if let Err(e) = write_file(&out, text.as_bytes()) {
        return Outcome::complaint(e, Status::CannotWrite);
    }
    let changes = compare::compare(&old, &new);
    let holds = Tally::of(&new.findings).releasable();
    Outcome {
        results: match args.format {
            Format::Text => said(&plan, &out) + &changes.text(),
            Format::Json => json_text(&serde_json::json!({
                "file": out.display().to_string(),
                "held": plan.held,
                "removed": plan.removed,
                "new_plate": plan.new_plate.as_ref().map(|p| &p.id),
                "fails": plan.fails,
                "tried": plan.tried,
                "changes": changes,
            })),
        },
        remarks: remarks(&new.diags, new.sources(), colour),
        status: if holds { Status::Holds } else { Status::Fails },
    }
}

/// The accessory file, found as a job finds it.
fn accessory(
    job: &Path,
    name: &str,
    lookup: &Lookup<Disk>,
    colour: bool,
) -> Result<Accessory, Box<Outcome>> {
    match lookup.find(job, "accessories", name) {
        Ok(found) => params::read_text::<Accessory>(&found.shown, &found.bytes, &lookup.known)
            .map(|o| o.value)
            .map_err(|f| Box::new(Outcome::bad_input(&f, colour))),
        Err(NotFound::Nowhere(_)) => Err(Box::new(Outcome::complaint(
            format!(
                "there is no accessory file named `{name}`; there are: {}",
                lookup.names(job, "accessories").join(", ")
            ),
            Status::BadInput,
        ))),
        Err(e) => Err(Box::new(Outcome::complaint(e, Status::BadInput))),
    }
}

/// The plan in words.
fn said(plan: &Plan, out: &Path) -> String {
    let mut text = String::new();
    let kept = plan.new_plate.is_none();
    let _ = writeln!(
        text,
        "{} as {}: {}{}\n",
        plan.placed,
        plan.with,
        if kept {
            "the existing plates hold it"
        } else {
            "the existing plates cannot hold it, a new plate does"
        },
        if plan.fails > 0 {
            format!(", but {} rules fail", plan.fails)
        } else {
            String::new()
        }
    );
    for h in &plan.held {
        let spacers: Vec<String> = h.spacers_mm.iter().map(|s| format!("{s:.2} mm")).collect();
        let spacers = if spacers.is_empty() {
            "no spacer".to_owned()
        } else {
            format!("spacer {}", spacers.join(" and "))
        };
        let how = match h.how {
            How::NewPlate => format!("on new plate {}", h.plate),
            how => format!("plate {}: {}", h.plate, how.words()),
        };
        let _ = writeln!(text, "  {}  {how}, {spacers}", h.mount);
    }
    for r in &plan.removed {
        let _ = writeln!(text, "  plate {r} has nothing left to carry and goes");
    }
    let _ = writeln!(
        text,
        "\n{} layouts tried; the new revision is in {}\n",
        plan.tried,
        out.display()
    );
    text
}
