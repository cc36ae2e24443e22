//! `adapt`: what it takes to hold another accessory, written as the next revision of the job.

use std::fmt::Write as _;
use std::io;
use std::path::{Path, PathBuf};

use crate::adapt::{self, How, Plan};
use crate::export::write_file;
use crate::params::lookup::{Files, NotFound};
use crate::params::{self, Accessory, Disk, Lookup};
use crate::project;
use crate::report::{compare, json_text};

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
    let loaded = match params::open(&args.job, &lookup) {
        Ok(l) => l,
        Err(failure) => return Outcome::bad_input(&failure, colour),
    };
    let old = match project::build(loaded.clone(), None) {
        Ok(p) => p,
        Err(failure) => return Outcome::bad_input(&failure, colour),
    };
    let with = match accessory(&args.job, &args.with, &lookup, colour) {
        Ok(a) => a,
        Err(outcome) => return *outcome,
    };
    let plan = match adapt::plan(&loaded, &args.accessory, &with) {
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
    Outcome {
        results: match args.format {
            Format::Text => said(&plan, &out) + &changes.text(),
            Format::Json => json_text(&serde_json::json!({
                "file": out.display().to_string(),
                "held": plan.held,
                "removed": plan.removed,
                "new_plates": plan.new_plates.iter().map(|p| &p.id).collect::<Vec<_>>(),
                "broken": plan.broken,
                "failed_before": plan.failed_before,
                "tried": plan.tried,
                "changes": changes,
            })),
        },
        remarks: remarks(&new.diags, new.sources(), colour),
        status: if plan.broken.is_empty() && plan.failed_before == 0 {
            Status::Holds
        } else {
            Status::Fails
        },
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

/// Broken rules told in full; more of them are counted.
const TOLD: usize = 12;

/// The plan in words.
fn said(plan: &Plan, out: &Path) -> String {
    let mut text = String::new();
    let how = match plan.new_plates.as_slice() {
        [] => "the plates there are hold it".to_owned(),
        [one] => format!("it needs one new plate, `{}`", one.id),
        several => {
            let ids: Vec<String> = several.iter().map(|p| format!("`{}`", p.id)).collect();
            format!(
                "it needs {} new plates, one for each direction its mounts face: {}",
                several.len(),
                ids.join(", ")
            )
        }
    };
    let _ = writeln!(text, "{} as {}: {how}\n", plan.placed, plan.with);
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
    text.push('\n');
    match plan.broken.len() {
        0 => text.push_str("The change breaks no rule in any variant.\n"),
        1 => text.push_str("The change breaks one rule that held before:\n"),
        n => {
            let _ = writeln!(text, "The change breaks {n} rules that held before:");
        }
    }
    for b in plan.broken.iter().take(TOLD) {
        let rule = if b.rule.is_empty() {
            "cannot be laid out"
        } else {
            &b.rule
        };
        let _ = writeln!(text, "  {}: {rule}, {}", b.variant, b.what);
    }
    if plan.broken.len() > TOLD {
        let _ = writeln!(text, "  and {} more", plan.broken.len() - TOLD);
    }
    if plan.failed_before > 0 {
        let _ = writeln!(
            text,
            "{} failed before the change and still {}; `fit` tells them.",
            plan.failed_before,
            if plan.failed_before == 1 {
                "does"
            } else {
                "do"
            }
        );
    }
    let _ = writeln!(
        text,
        "\n{} layouts tried; the new revision is in {}\n",
        plan.tried,
        out.display()
    );
    text
}
