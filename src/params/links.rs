//! References across the files of a job: every name refers to something that can serve.

use std::collections::BTreeMap;

use crate::diag::{Code, Diag, Sink, Spot};

use super::job::HoleRef;
use super::keys::shape::split_reference;
use super::nearest::nearest;
use super::offers::{Offered, Offers, ids, owners};
use super::record::{Node, Record};

/// Checks every reference of a job. `complete` tells whether the job file itself was readable throughout.
pub(super) fn check(job: &Record, complete: bool, offered: &Offered, sink: &mut Sink) {
    let mut links = Links {
        owners: owners(job, offered),
        placed: job.tables("place").filter_map(|p| p.string("id")).collect(),
        complete,
        sink,
    };
    links.places(job, offered);
    if let Some(drive) = job.table_at("drive") {
        links.drive(drive);
    }
    for plate in job.tables("plate") {
        links.plate(plate, job, offered);
    }
    for variant in job.tables("variant") {
        links.variant(variant, job, offered);
    }
}

struct Links<'a> {
    owners: BTreeMap<String, Offers>,
    placed: Vec<String>,
    complete: bool,
    sink: &'a mut Sink,
}

impl Links<'_> {
    fn unknown(&mut self, spot: Spot, key: &str, title: String, meant: Option<String>, list: &str) {
        let diag = Diag::new(Code::UnknownReference, title).at(spot).key(key);
        self.sink.push(match meant {
            Some(m) => diag.help(format!("did you mean `{m}`?")),
            None if list.is_empty() => diag.help("there is none to refer to"),
            None => diag.help(format!("there are: {list}")),
        });
    }

    /// What the owner offers, or a finding.
    fn owner(&mut self, r: &HoleRef, spot: Spot, key: &str) -> Option<Offers> {
        let placed = self.placed.contains(&r.owner);
        if r.owner == "block" || placed {
            return self.owners.get(&r.owner).cloned();
        }
        if self.complete {
            let names = || {
                self.placed
                    .iter()
                    .map(String::as_str)
                    .chain(std::iter::once("block"))
            };
            let meant = nearest(&r.owner, names()).map(|n| {
                HoleRef {
                    owner: n.to_owned(),
                    id: r.id.clone(),
                }
                .to_string()
            });
            let list = names().collect::<Vec<_>>().join(", ");
            let of_block = r.id.is_empty()
                && self
                    .owners
                    .get("block")
                    .is_some_and(|b| b.holes.contains(&r.owner) || b.pulleys.contains(&r.owner));
            let meant = if of_block {
                Some(format!("block.{}", r.owner))
            } else {
                meant
            };
            let title = if r.id.is_empty() {
                format!("nothing is placed as `{r}`")
            } else {
                format!("`{r}`: nothing is placed as `{}`", r.owner)
            };
            self.unknown(spot, key, title, meant, &list);
        }
        None
    }

    /// Checks a reference to a hole of the block or a mount of an accessory.
    fn hole(&mut self, node: &Node, key: &str) {
        let Some(text) = node.text() else { return };
        let r = split_reference(text);
        let Some(offers) = self.owner(&r, node.spot, key) else {
            return;
        };
        if r.id.is_empty() {
            self.sink.push(
                Diag::new(Code::NotApplicable, format!("`{r}` names no hole"))
                    .at(node.spot)
                    .key(key)
                    .help(format!("write one of: {}", dotted(&r.owner, &offers.holes))),
            );
            return;
        }
        if offers.holes.contains(&r.id) || !offers.complete {
            return;
        }
        let meant = nearest(&r.id, offers.holes.iter().map(String::as_str))
            .map(|id| format!("{}.{id}", r.owner));
        let title = format!("`{}` has no hole `{}`", r.owner, r.id);
        let list = dotted(&r.owner, &offers.holes);
        self.unknown(node.spot, key, title, meant, &list);
    }

    /// Checks a reference to a pulley.
    fn pulley(&mut self, node: &Node, key: &str) {
        let Some(text) = node.text() else { return };
        let r = split_reference(text);
        let Some(offers) = self.owner(&r, node.spot, key) else {
            return;
        };
        if !offers.complete {
            return;
        }
        if r.owner == "block" {
            if !offers.pulleys.contains(&r.id) {
                let meant = nearest(&r.id, offers.pulleys.iter().map(String::as_str))
                    .map(|id| format!("block.{id}"));
                let title = format!("`block` has no pulley `{}`", r.id);
                let list = dotted("block", &offers.pulleys);
                self.unknown(node.spot, key, title, meant, &list);
            }
        } else if !r.id.is_empty() {
            let title = format!("`{r}` is not a pulley");
            let meant = Some(r.owner.clone());
            self.unknown(node.spot, key, title, meant, "");
        } else if !offers.has_pulley {
            self.sink.push(
                Diag::new(
                    Code::NotApplicable,
                    format!("the accessory placed as `{r}` has no pulley"),
                )
                .at(node.spot)
                .key(key)
                .help("add [pulley] to its file, or take it out of the run"),
            );
        }
    }

    /// Checks the name of a placed accessory.
    fn accessory(&mut self, id: &str, spot: Spot, key: &str) {
        if self.complete && !self.placed.iter().any(|p| p == id) {
            let meant = nearest(id, self.placed.iter().map(String::as_str)).map(str::to_owned);
            let list = self.placed.join(", ");
            self.unknown(
                spot,
                key,
                format!("nothing is placed as `{id}`"),
                meant,
                &list,
            );
        }
    }

    fn places(&mut self, job: &Record, offered: &Offered) {
        for place in job.tables("place") {
            if place.text("z") != Some("drive") {
                continue;
            }
            if !job.has("drive") && self.complete {
                self.sink.push(
                    super::keys::about(
                        Code::NotApplicable,
                        place,
                        "z",
                        format!("`{}` follows the drive, but the job has none", place.path),
                    )
                    .help("add [drive], or give z in mm"),
                );
            }
            let file = place.text("accessory").unwrap_or("");
            if let Some(o) = offered.accessories.get(file) {
                self.follows(o, file, place.spot_of("z"), &place.path_of("z"));
            }
        }
    }

    /// Reports an accessory without a pulley whose z is to follow its rib plane.
    fn follows(&mut self, offers: &Offers, file: &str, spot: Spot, key: &str) {
        if offers.complete && !offers.has_pulley {
            self.sink.push(
                Diag::new(
                    Code::NotApplicable,
                    format!("`{file}` has no pulley whose rib plane could be the drive's"),
                )
                .at(spot)
                .key(key)
                .help("give z in mm, or add [pulley] to its file"),
            );
        }
    }

    fn run(&mut self, owner: &Record) {
        let key = owner.path_of("run");
        let mut seen: Vec<&Node> = Vec::new();
        for node in owner.list("run") {
            let pulley = match node.table() {
                Some(stop) => stop.node("pulley"),
                None => Some(node),
            };
            let Some(pulley) = pulley.filter(|p| p.text().is_some()) else {
                continue;
            };
            self.pulley(pulley, &key);
            if let Some(first) = seen.iter().find(|n| n.text() == pulley.text()) {
                self.sink.push(
                    Diag::new(
                        Code::DuplicateName,
                        format!(
                            "the belt runs over `{}` twice",
                            pulley.text().unwrap_or_default()
                        ),
                    )
                    .at(pulley.spot)
                    .key(key.as_str())
                    .also(first.spot, "here already")
                    .help("each pulley comes once; the loop closes by itself"),
                );
            }
            seen.push(pulley);
        }
    }

    fn drive(&mut self, drive: &Record) {
        self.run(drive);
        if let Some(take_up) = drive.table_at("take-up") {
            self.take_up(take_up);
        }
        let Some(last) = drive.node("fit-last") else {
            return;
        };
        let in_run = drive.list("run").iter().any(|n| {
            let stop = n
                .table()
                .and_then(|t| t.text("pulley"))
                .or_else(|| n.text());
            stop.is_none() || stop == last.text()
        });
        if !in_run && last.text().is_some() && drive.node("run").is_some() {
            self.sink.push(
                Diag::new(
                    Code::NotApplicable,
                    format!("`{}` is not in the run", last.text().unwrap_or_default()),
                )
                .at(last.spot)
                .key(drive.path_of("fit-last"))
                .help("name one of the pulleys the belt runs over"),
            );
        }
    }

    fn take_up(&mut self, t: &Record) {
        if t.table.key("slide").is_some() {
            if let Some(id) = t.text("slide") {
                self.accessory(id, t.spot_of("slide"), &t.path_of("slide"));
            }
            return;
        }
        for key in ["pivot", "adjust"] {
            if let Some(node) = t.node(key) {
                self.hole(node, &t.path_of(key));
            }
        }
        let (Some(pivot), Some(adjust)) = (t.text("pivot"), t.text("adjust")) else {
            return;
        };
        if pivot == adjust {
            self.sink.push(
                super::keys::about(
                    Code::SelfReference,
                    t,
                    "adjust",
                    format!("`{adjust}` is both the pivot and the mount that slides"),
                )
                .also(t.spot_of("pivot"), "the pivot")
                .help("name two mounts of the accessory"),
            );
        } else if split_reference(pivot).owner != split_reference(adjust).owner {
            self.sink.push(
                super::keys::about(
                    Code::Contradiction,
                    t,
                    "adjust",
                    format!("`{pivot}` and `{adjust}` belong to different things"),
                )
                .also(t.spot_of("pivot"), "the pivot")
                .help("an accessory swings about one of its own mounts"),
            );
        }
    }

    fn plate(&mut self, plate: &Record, job: &Record, offered: &Offered) {
        if let Some(back) = plate.node("back") {
            let on = back.table().map_or(Some(back), |t| t.node("on"));
            if let Some(on) = on {
                self.hole(on, &plate.path_of("back"));
            }
        }
        let mut bosses: Vec<String> = ids(plate, "boss");
        let mut whole = true;
        for node in plate.list("holes") {
            let target = node.table().map_or(Some(node), |t| t.node("take"));
            let Some(target) = target.filter(|t| t.text().is_some()) else {
                whole = false;
                continue;
            };
            self.hole(target, &plate.path_of("holes"));
            bosses.extend(target.text().map(str::to_owned));
            if let Some(slot) = node.table().and_then(|t| t.node("slot")) {
                self.slot(slot, target, job, &plate.path_of("holes"));
            }
        }
        if whole {
            self.webs(plate, &bosses);
        }
        if let (Some(process), Some(known)) = (plate.text("process"), &offered.processes)
            && !known.iter().any(|p| p == process)
        {
            let meant = nearest(process, known.iter().map(String::as_str)).map(str::to_owned);
            self.unknown(
                plate.spot_of("process"),
                &plate.path_of("process"),
                format!("the shop has no process `{process}`"),
                meant,
                &known.join(", "),
            );
        }
    }

    fn slot(&mut self, slot: &Node, target: &Node, job: &Record, key: &str) {
        if slot.text() == Some("drive") {
            let take_up = job.table_at("drive").is_some_and(|d| d.has("take-up"));
            let judged = self.complete && (job.table_at("drive").is_some() || !job.has("drive"));
            if judged && !take_up {
                self.sink.push(
                    Diag::new(
                        Code::NotApplicable,
                        "the slot follows the drive's take-up, but there is none",
                    )
                    .at(slot.spot)
                    .key(key)
                    .help("add take-up to [drive], or give the slot's ends"),
                );
            }
            return;
        }
        let Some(t) = slot.table().filter(|t| t.table.key("about").is_some()) else {
            return;
        };
        let Some(about) = t.node("about") else { return };
        if about.text().is_some() && about.text() == target.text() {
            self.sink.push(
                Diag::new(
                    Code::SelfReference,
                    format!(
                        "the slot of `{}` swings about its own hole",
                        target.text().unwrap_or_default()
                    ),
                )
                .at(about.spot)
                .key(key)
                .also(target.spot, "the hole")
                .help("name the mount the accessory pivots on"),
            );
        } else {
            self.hole(about, key);
        }
    }

    fn webs(&mut self, plate: &Record, bosses: &[String]) {
        let ends = plate.list("webs").iter().flat_map(|n| match n.table() {
            Some(t) => vec![t.node("from"), t.node("to")],
            None => n.list().unwrap_or(&[]).iter().map(Some).collect(),
        });
        for end in ends.flatten() {
            let Some(name) = end.text() else { continue };
            if bosses.iter().any(|b| b == name) {
                continue;
            }
            let meant = nearest(name, bosses.iter().map(String::as_str)).map(str::to_owned);
            self.unknown(
                end.spot,
                &plate.path_of("webs"),
                format!("the plate has no boss `{name}`"),
                meant,
                &bosses.join(", "),
            );
        }
    }

    fn variant(&mut self, variant: &Record, job: &Record, offered: &Offered) {
        let key = variant.path_of("replace");
        for (id, spot, file) in variant.map("replace") {
            self.accessory(id, *spot, &key);
            let follows = job
                .tables("place")
                .any(|p| p.text("id") == Some(id) && p.text("z") == Some("drive"));
            let name = file.text().unwrap_or("");
            if let (true, Some(o)) = (follows, offered.accessories.get(name)) {
                self.follows(o, name, file.spot, &key);
            }
        }
        for node in variant.list("without") {
            if let Some(id) = node.text() {
                self.accessory(id, node.spot, &variant.path_of("without"));
            }
        }
        let hoses = ids(job, "hose");
        for (id, spot, _) in variant.map("hoses") {
            if self.complete && !hoses.contains(id) {
                let meant = nearest(id, hoses.iter().map(String::as_str)).map(str::to_owned);
                self.unknown(
                    *spot,
                    &variant.path_of("hoses"),
                    format!("the job has no hose `{id}`"),
                    meant,
                    &hoses.join(", "),
                );
            }
        }
        self.spacers(variant, job);
        for swap in variant.tables("pulley") {
            if let Some(on) = swap.node("on") {
                self.pulley(on, &swap.path_of("on"));
            }
        }
        let drives = ["belt", "run"].iter().find(|k| variant.has(k));
        if let Some(key) = drives
            && !job.has("drive")
            && self.complete
        {
            self.sink.push(
                super::keys::about(
                    Code::NotApplicable,
                    variant,
                    key,
                    format!("`{}` changes the drive, but the job has none", variant.path),
                )
                .help("add [drive], or take this out"),
            );
        }
        self.run(variant);
    }
}

impl Links<'_> {
    /// Checks that each plate whose spacers a variant replaces is there and stands off from a hole's face.
    fn spacers(&mut self, variant: &Record, job: &Record) {
        let key = variant.path_of("spacers");
        let plates = ids(job, "plate");
        for (id, spot, _) in variant.map("spacers") {
            let Some(plate) = job.tables("plate").find(|p| p.text("id") == Some(id)) else {
                if self.complete {
                    let meant = nearest(id, plates.iter().map(String::as_str)).map(str::to_owned);
                    let title = format!("the job has no plate `{id}`");
                    self.unknown(*spot, &key, title, meant, &plates.join(", "));
                }
                continue;
            };
            let back = plate.node("back");
            let on_a_face = back.is_some_and(|b| b.table().is_some() || b.text().is_some());
            if !on_a_face && back.is_some() {
                self.sink.push(
                    Diag::new(
                        Code::NotApplicable,
                        format!("plate `{id}` lies at a given height: no spacer carries it"),
                    )
                    .at(*spot)
                    .key(key.as_str())
                    .help("write the plate's back as { on = \"block.A1\", plus = 20 }"),
                );
            }
        }
    }
}

fn dotted(owner: &str, ids: &[String]) -> String {
    ids.iter()
        .map(|id| format!("{owner}.{id}"))
        .collect::<Vec<_>>()
        .join(", ")
}
