//! What changed between two jobs or two revisions of one.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use serde::Serialize;

use crate::feature::{Depth, Face, Feature, Mouth, Purpose, Shape, SlotTrack};
use crate::geom::Point;
use crate::order::Name;
use crate::platework::{MadePlate, track_ends};
use crate::project::Project;
use crate::rules::{Finding, Verdict};
use crate::tol;

use super::check::value;
use super::compare_joints;

/// Everything that changed, plate by plate.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// Name and revision of the earlier job.
    pub old: String,
    /// Name and revision of the later job.
    pub new: String,
    /// Plates only the later one has.
    pub plates_added: Vec<String>,
    /// Plates only the earlier one has.
    pub plates_removed: Vec<String>,
    /// Plates that both have and that differ.
    pub plates_changed: Vec<PlateChange>,
    /// Plates that both have and that are the same.
    pub plates_same: Vec<String>,
    /// Joints whose stack differs, in words.
    pub joints: Vec<String>,
    /// Rules that changed side.
    pub rules: Vec<RuleChange>,
}

/// What changed on one plate.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlateChange {
    /// The plate.
    pub plate: String,
    /// In words, one change each.
    pub changes: Vec<String>,
    /// Change of the net area, mm².
    pub area_mm2: f64,
    /// Change of the mass, kg.
    pub mass_kg: f64,
}

/// A rule that changed side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RuleChange {
    /// The rule.
    pub rule: String,
    /// Plate or part.
    pub on: String,
    /// Hole or feature.
    pub at: String,
    /// Verdict before; none when the place is new.
    pub before: Option<Verdict>,
    /// Verdict after; none when the place is gone.
    pub after: Option<Verdict>,
    /// What was measured, with value and limit.
    pub what: String,
}

/// Compares two projects.
#[must_use]
pub fn compare(old: &Project, new: &Project) -> Comparison {
    let by_id = |p: &Project| -> BTreeMap<Name, MadePlate> {
        p.plates
            .iter()
            .map(|m| (Name(m.plate.id.clone()), m.clone()))
            .collect()
    };
    let (a, b) = (by_id(old), by_id(new));
    let mut changed = Vec::new();
    let mut same = Vec::new();
    for (id, before) in &a {
        if let Some(after) = b.get(id) {
            match plate_change(before, after) {
                Some(c) => changed.push(c),
                None => same.push(id.0.clone()),
            }
        }
    }
    let only = |these: &BTreeMap<Name, MadePlate>, those: &BTreeMap<Name, MadePlate>| {
        let new = these.keys().filter(|k| !those.contains_key(*k));
        new.map(|k| k.0.clone()).collect()
    };
    let name = |p: &Project| format!("{} revision {}", p.loaded.job.name, p.loaded.job.revision);
    Comparison {
        old: name(old),
        new: name(new),
        plates_added: only(&b, &a),
        plates_removed: only(&a, &b),
        plates_changed: changed,
        plates_same: same,
        joints: compare_joints::changes(old, new),
        rules: rule_changes(&old.findings, &new.findings),
    }
}

impl Comparison {
    /// Whether nothing changed.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.plates_added.is_empty()
            && self.plates_removed.is_empty()
            && self.plates_changed.is_empty()
            && self.joints.is_empty()
            && self.rules.is_empty()
    }

    /// The comparison as text.
    #[must_use]
    pub fn text(&self) -> String {
        let mut out = String::new();
        let _ = writeln!(out, "{} -> {}", self.old, self.new);
        if self.is_empty() {
            out.push_str("  nothing changed\n");
        }
        for p in &self.plates_added {
            let _ = writeln!(out, "\n  plate `{p}` is new");
        }
        for p in &self.plates_removed {
            let _ = writeln!(out, "\n  plate `{p}` is gone");
        }
        for c in &self.plates_changed {
            let _ = writeln!(
                out,
                "\n  plate `{}`: area {:+.1} mm2, mass {:+.3} kg",
                c.plate, c.area_mm2, c.mass_kg
            );
            for line in &c.changes {
                let _ = writeln!(out, "    {line}");
            }
        }
        if !self.plates_same.is_empty() {
            let _ = writeln!(out, "\n  unchanged plates: {}", self.plates_same.join(", "));
        }
        if !self.joints.is_empty() {
            out.push_str("\n  joints\n");
            for line in &self.joints {
                let _ = writeln!(out, "    {line}");
            }
        }
        if !self.rules.is_empty() {
            out.push_str("\n  rules that changed side\n");
            let word = |v: Option<Verdict>| match v {
                None => "-",
                Some(Verdict::Fails) => "fails",
                Some(Verdict::Accepted) => "accepted",
                Some(Verdict::Advises) => "worth knowing",
                Some(Verdict::Holds) => "holds",
            };
            for r in &self.rules {
                let _ = writeln!(
                    out,
                    "    {} {}: {} -> {}, {}",
                    r.rule,
                    r.on,
                    word(r.before),
                    word(r.after),
                    r.what
                );
            }
        }
        out
    }
}

fn plate_change(a: &MadePlate, b: &MadePlate) -> Option<PlateChange> {
    let mut changes = Vec::new();
    let (p, q) = (&a.plate, &b.plate);
    if (p.thickness_mm - q.thickness_mm).abs() > tol::RULE_MM {
        changes.push(format!(
            "thickness {:.3} -> {:.3} mm",
            p.thickness_mm, q.thickness_mm
        ));
    }
    if p.material != q.material {
        changes.push(format!("material {} -> {}", p.material, q.material));
    }
    if a.process != b.process {
        changes.push(format!("process {} -> {}", a.process, b.process));
    }
    if a.quantity != b.quantity {
        changes.push(format!("quantity {} -> {}", a.quantity, b.quantity));
    }
    let shift = p.frame.origin.distance(q.frame.origin);
    let turned = (p.frame.normal - q.frame.normal).length() + (p.frame.x - q.frame.x).length();
    if shift > tol::RULE_MM || turned > tol::PARALLEL {
        changes.push(format!("plane moved by {shift:.3} mm"));
    }
    for f in &p.features {
        match q.feature(&f.id) {
            None => changes.push(format!("`{}` is gone", f.id)),
            Some(g) => changes.extend(feature_change(f, g)),
        }
    }
    for g in &q.features {
        if p.feature(&g.id).is_none() {
            changes.push(format!("`{}` is new", g.id));
        }
    }
    let (pa, qa) = (p.outline.area(), q.outline.area());
    let moved = p.outline.length() - q.outline.length();
    if (pa - qa).abs() > 1e-3 || moved.abs() > 1e-3 || p.outline.extents() != q.outline.extents() {
        changes.push(format!("outline area {pa:.1} -> {qa:.1} mm2"));
    }
    let (x, y) = (p.properties(), q.properties());
    (!changes.is_empty()).then(|| PlateChange {
        plate: p.id.clone(),
        changes,
        area_mm2: y.section.area_mm2 - x.section.area_mm2,
        mass_kg: y.mass_kg - x.mass_kg,
    })
}

fn feature_change(a: &Feature, b: &Feature) -> Vec<String> {
    if a == b {
        return Vec::new();
    }
    let mut out = Vec::new();
    let id = &a.id;
    match (&a.shape, &b.shape) {
        (Shape::Hole(x), Shape::Hole(y)) => {
            let moved = x.centre.distance(y.centre);
            if moved > tol::RULE_MM {
                out.push(format!(
                    "`{id}` moved by {moved:.3} mm, from {} to {}",
                    at(x.centre),
                    at(y.centre)
                ));
            }
            if (x.diameter_mm - y.diameter_mm).abs() > tol::RULE_MM {
                out.push(format!(
                    "`{id}` diameter {:.3} -> {:.3} mm",
                    x.diameter_mm, y.diameter_mm
                ));
            }
            if x.purpose != y.purpose {
                out.push(format!(
                    "`{id}` {} -> {}",
                    purpose(&x.purpose),
                    purpose(&y.purpose)
                ));
            }
            if x.depth != y.depth {
                out.push(format!("`{id}` {} -> {}", depth(&x.depth), depth(&y.depth)));
            }
            if x.mouth != y.mouth {
                let (p, q) = (mouth(x.mouth.as_ref()), mouth(y.mouth.as_ref()));
                out.push(format!("`{id}` {p} -> {q}"));
            }
        }
        (Shape::Slot(x), Shape::Slot(y)) => {
            if (x.width_mm - y.width_mm).abs() > tol::RULE_MM {
                out.push(format!(
                    "`{id}` slot width {:.3} -> {:.3} mm",
                    x.width_mm, y.width_mm
                ));
            }
            if x.track != y.track {
                let ends = |t: &SlotTrack| {
                    let [from, to, _] = track_ends(t);
                    format!("from {} to {}", at(from), at(to))
                };
                let (p, q) = (ends(&x.track), ends(&y.track));
                out.push(format!("`{id}` slot {p} -> {q}"));
            }
        }
        _ if std::mem::discriminant(&a.shape) == std::mem::discriminant(&b.shape) => {
            let area = |f: &Feature| f.footprint().map_or(0.0, |p| p.area().abs());
            out.push(format!(
                "`{id}` opening {:.1} -> {:.1} mm2",
                area(a),
                area(b)
            ));
        }
        _ => out.push(format!("`{id}` is made another way")),
    }
    out
}

fn face(f: Face) -> &'static str {
    match f {
        Face::Front => "front",
        Face::Back => "back",
    }
}

fn depth(d: &Depth) -> String {
    match d {
        Depth::Through => "through".to_owned(),
        Depth::Blind { depth_mm, from, .. } => {
            format!("{depth_mm:.3} mm deep from the {}", face(*from))
        }
    }
}

fn mouth(m: Option<&Mouth>) -> String {
    match m {
        None => "plain mouth".to_owned(),
        Some(Mouth::Counterbore {
            diameter_mm,
            depth_mm,
            face: f,
        }) => format!(
            "counterbore {diameter_mm:.3} x {depth_mm:.3} mm on the {}",
            face(*f)
        ),
        Some(Mouth::Countersink {
            diameter_mm,
            angle_deg,
            face: f,
        }) => format!(
            "countersink {diameter_mm:.3} mm, {angle_deg:.1} deg on the {}",
            face(*f)
        ),
    }
}

fn at(p: Point) -> String {
    format!("({:.3}, {:.3})", p.x, p.y)
}

fn purpose(p: &Purpose) -> String {
    match p {
        Purpose::Clearance { thread } => format!("clearance for {thread}"),
        Purpose::Tapped { thread, .. } => format!("tapped {thread}"),
        Purpose::Dowel { tolerance } => format!("reamed {tolerance}"),
        Purpose::Plain => "plain".to_owned(),
    }
}

fn rule_changes(old: &[Finding], new: &[Finding]) -> Vec<RuleChange> {
    // The worst verdict of a rule at a place is the place's verdict.
    let side = |list: &[Finding]| {
        let mut map: BTreeMap<(Name, Name, Name), (Verdict, String)> = BTreeMap::new();
        for f in list {
            let what = format!(
                "{}: {} against {}",
                f.what,
                value(f.measured, f.unit),
                value(f.limit, f.unit)
            );
            let entry = map
                .entry((
                    Name(f.rule.to_owned()),
                    Name(f.on.clone()),
                    Name(f.at.clone()),
                ))
                .or_insert_with(|| (f.verdict, what.clone()));
            if f.verdict < entry.0 {
                *entry = (f.verdict, what);
            }
        }
        map
    };
    let (a, b) = (side(old), side(new));
    let mut out = Vec::new();
    for (key, before) in &a {
        let after = b.get(key);
        let matters = match after {
            Some(after) => after.0 != before.0,
            None => before.0 != Verdict::Holds,
        };
        if matters {
            out.push(RuleChange {
                rule: key.0.0.clone(),
                on: key.1.0.clone(),
                at: key.2.0.clone(),
                before: Some(before.0),
                after: after.map(|x| x.0),
                what: after.map_or_else(|| before.1.clone(), |x| x.1.clone()),
            });
        }
    }
    for (key, after) in &b {
        if !a.contains_key(key) && after.0 != Verdict::Holds {
            out.push(RuleChange {
                rule: key.0.0.clone(),
                on: key.1.0.clone(),
                at: key.2.0.clone(),
                before: None,
                after: Some(after.0),
                what: after.1.clone(),
            });
        }
    }
    out
}
