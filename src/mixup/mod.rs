//! Mix-ups: every way a plate's holes also go over bolts it is not made for.
//!
//! Two questions are asked. Do all of the plate's mounting holes find a bolt somewhere on the block,
//! turned in its plane or turned over? And do all bolts of a place find a hole of the plate, one of
//! its further holes perhaps? Bolts pass or do not within the holes' clearances, exactly (see
//! [`motion`]); whether the plate's outline would strike something there is told, not counted.

mod motion;

use std::collections::BTreeSet;
use std::fmt::Write as _;

use serde::Serialize;

use crate::geom::Point;
use crate::order;

pub use motion::{Centre, FIT_MM, Motion, Pair, motion};

/// Faces of bolts that differ by more than this from what the plate is made for let it rock, mm
/// (general flatness and gap of bolted faces; common practice, no source).
pub const ROCKS_MM: f64 = 0.5;

/// A hole a bolt may pass.
#[derive(Debug, Clone, PartialEq)]
pub struct Opening {
    /// What it is made for, such as `block.A1`.
    pub name: String,
    /// Its centre, in the plate's frame.
    pub centre: Centre,
    /// Diameter, or width of a slot, mm.
    pub diameter_mm: f64,
    /// Whether it holds the plate to the block, or to what carries it.
    pub mounting: bool,
}

/// A bolt on its axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Bolt {
    /// Its hole, such as `block.A1`.
    pub name: String,
    /// Where its axis meets the plane looked at.
    pub at: Point,
    /// Height of the face it is drawn down on, along its axis, mm.
    pub face_mm: f64,
    /// Nominal diameter, mm.
    pub d_mm: f64,
    /// Thread.
    pub thread: String,
    /// Diameter under its head, mm: a wider hole does not hold it.
    pub seat_mm: f64,
}

/// Bolts side by side with parallel axes: one face of the block.
#[derive(Debug, Clone, PartialEq)]
pub struct Face {
    /// Bolts, in coordinates of one plane square to their axes.
    pub bolts: Vec<Bolt>,
    /// Whether the plane is the plate's own, so that its own place is where it is drawn.
    pub own: bool,
}

/// Where a plate ends up when it is mixed up.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Place {
    /// On its own bolts.
    Own,
    /// On the bolts of another plate.
    Plate(String),
    /// On other bolts.
    Elsewhere,
}

/// One wrong way to bolt a plate on.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// Where.
    pub place: Place,
    /// One motion that does it.
    pub motion: Motion,
    /// Holes and the bolts that pass them, sorted by bolt.
    pub through: Vec<(String, String)>,
    /// Whether the plate turns to any angle about its only bolt.
    pub any_angle: bool,
    /// By how much the faces there differ from those it is made for, mm.
    pub step_mm: f64,
    /// What its outline strikes there, where it strikes something.
    pub strikes: Option<String>,
}

impl Way {
    /// In words, without the plate's name.
    #[must_use]
    pub fn words(&self) -> String {
        // Which of −180 and 180 comes out is rounding.
        let turn = self.motion.angle_rad.to_degrees().round();
        let turn = if turn <= -180.0 { 180.0 } else { turn };
        let how = match (self.motion.turned_over, self.any_angle) {
            (true, true) => "turned over, at any angle".to_owned(),
            (false, true) => "at any angle".to_owned(),
            (true, false) => "turned over".to_owned(),
            (false, false) if turn.abs() < 0.5 => "shifted".to_owned(),
            (false, false) => format!("turned by {turn:.0} deg in its plane"),
        };
        let bolts: Vec<&str> = self.through.iter().map(|(_, b)| b.as_str()).collect();
        let place = match &self.place {
            Place::Own => "on its own bolts".to_owned(),
            Place::Plate(p) => format!("in the place of plate {p} ({})", bolts.join(", ")),
            Place::Elsewhere => format!("on {}", bolts.join(", ")),
        };
        let mut out = format!("{how}, {place}");
        if let Some(what) = &self.strikes {
            let _ = write!(out, "; it would strike {what} there");
        } else if self.step_mm > ROCKS_MM {
            let _ = write!(
                out,
                "; it would not lie flat, the faces step by {:.1} mm more",
                self.step_mm
            );
        }
        out
    }
}

/// Every wrong way to bolt a plate on a face: all its mounting holes over some bolts, or all bolts of a
/// place through some of its holes.
///
/// `places` are the plates' own bolts on this face by plate name; `plate` is the one looked at.
/// Placement as drawn is no way. The order is fixed: by place, then as drawn side up first, then by bolts.
#[must_use]
pub fn ways(
    plate: &str,
    openings: &[Opening],
    face: &Face,
    places: &[(String, Vec<Bolt>)],
) -> Vec<Way> {
    let mounting: Vec<&Opening> = openings.iter().filter(|o| o.mounting).collect();
    let own: BTreeSet<&str> = places
        .iter()
        .filter(|(p, _)| face.own && p == plate)
        .flat_map(|(_, bolts)| bolts.iter().map(|b| b.name.as_str()))
        .collect();
    let mut found: Vec<Way> = Vec::new();
    let mut seen: BTreeSet<(bool, Vec<(String, String)>)> = BTreeSet::new();
    for turned_over in [false, true] {
        let all: Vec<&Bolt> = face.bolts.iter().collect();
        let threads = |o: &Opening, b: &Bolt| {
            // The bolt that belongs to the hole has to go into the thread.
            places.iter().any(|(p, bolts)| {
                p == plate
                    && bolts
                        .iter()
                        .any(|x| x.name == o.name && x.thread == b.thread)
            })
        };
        let choices = assign(mounting.len(), all.len(), &|chosen| {
            pairs_of(chosen, &|i, j| {
                passes(mounting[i], all[j]).filter(|_| threads(mounting[i], all[j]))
            })
        });
        for chosen in choices {
            let through: Vec<(&Opening, &Bolt)> = chosen
                .iter()
                .enumerate()
                .map(|(i, &j)| (mounting[i], all[j]))
                .collect();
            note(
                plate,
                &through,
                turned_over,
                face,
                places,
                &own,
                &mut seen,
                &mut found,
            );
        }
        for (_, bolts) in places {
            let here: Vec<&Bolt> = bolts
                .iter()
                .filter_map(|b| face.bolts.iter().find(|f| f.name == b.name))
                .collect();
            if here.len() < bolts.len() || here.len() < 2 {
                continue;
            }
            let choices = assign(here.len(), openings.len(), &|chosen| {
                pairs_of(chosen, &|i, j| passes(&openings[j], here[i]))
            });
            for chosen in choices {
                let through: Vec<(&Opening, &Bolt)> = chosen
                    .iter()
                    .enumerate()
                    .map(|(i, &j)| (&openings[j], here[i]))
                    .collect();
                note(
                    plate,
                    &through,
                    turned_over,
                    face,
                    places,
                    &own,
                    &mut seen,
                    &mut found,
                );
            }
        }
    }
    found.sort_by(|a, b| {
        (&a.place, a.motion.turned_over)
            .cmp(&(&b.place, b.motion.turned_over))
            .then_with(|| order::natural(&key_words(a), &key_words(b)))
    });
    found
}

fn key_words(w: &Way) -> String {
    let words: Vec<String> = w.through.iter().map(|(o, b)| format!("{b} {o}")).collect();
    words.join(" ")
}

/// Solves one assignment and keeps it where it is a way that is neither as drawn nor known.
#[expect(
    clippy::too_many_arguments,
    reason = "one call's whole context, used in one file"
)]
fn note(
    plate: &str,
    through: &[(&Opening, &Bolt)],
    turned_over: bool,
    face: &Face,
    places: &[(String, Vec<Bolt>)],
    own: &BTreeSet<&str>,
    seen: &mut BTreeSet<(bool, Vec<(String, String)>)>,
    found: &mut Vec<Way>,
) {
    let clearance = |o: &Opening, b: &Bolt| 0.5 * (o.diameter_mm - b.d_mm);
    let any_angle = through.len() == 1;
    let as_drawn = face.own
        && !turned_over
        && !any_angle
        && through
            .iter()
            .all(|(o, b)| o.centre.distance(b.at) <= clearance(o, b) + FIT_MM);
    if as_drawn {
        return;
    }
    let mut names: Vec<(String, String)> = through
        .iter()
        .map(|(o, b)| (o.name.clone(), b.name.clone()))
        .collect();
    names.sort_by(|a, b| order::natural(&a.1, &b.1));
    if seen.contains(&(turned_over, names.clone())) {
        return;
    }
    let pairs: Vec<Pair> = through
        .iter()
        .map(|(o, b)| Pair {
            hole: o.centre,
            bolt: b.at,
            clearance_mm: clearance(o, b),
        })
        .collect();
    let Some(motion) = motion(&pairs, turned_over) else {
        return;
    };
    let bolts: BTreeSet<&str> = through.iter().map(|(_, b)| b.name.as_str()).collect();
    let is_place = |(p, theirs): &&(String, Vec<Bolt>)| {
        p != plate && !theirs.is_empty() && theirs.iter().all(|b| bolts.contains(b.name.as_str()))
    };
    let place = if bolts == *own {
        Place::Own
    } else if let Some((p, _)) = places.iter().find(is_place) {
        Place::Plate(p.clone())
    } else {
        Place::Elsewhere
    };
    let mine = |name: &str| {
        places
            .iter()
            .filter(|(p, _)| p == plate)
            .flat_map(|(_, bolts)| bolts)
            .find(|b| b.name == name)
            .map(|b| b.face_mm)
    };
    let steps: Vec<f64> = through
        .iter()
        .filter_map(|(o, b)| Some(b.face_mm - mine(&o.name)?))
        .collect();
    let (low, high) = steps
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), &s| {
            (l.min(s), h.max(s))
        });
    seen.insert((turned_over, names.clone()));
    found.push(Way {
        place,
        motion,
        through: names,
        any_angle,
        step_mm: if steps.is_empty() { 0.0 } else { high - low },
        strikes: None,
    });
}

/// A hole and a bolt to look at together, where the bolt passes and its head holds.
fn passes(o: &Opening, b: &Bolt) -> Option<Pair> {
    (o.diameter_mm >= b.d_mm - FIT_MM && o.diameter_mm < b.seat_mm).then(|| Pair {
        hole: o.centre,
        bolt: b.at,
        clearance_mm: (0.5 * (o.diameter_mm - b.d_mm)).max(0.0),
    })
}

/// Pairs of a choice so far; `None` where a hole does not take its bolt, or two holes are farther apart
/// or closer together than their bolts by more than their clearances.
fn pairs_of(chosen: &[usize], pair: &dyn Fn(usize, usize) -> Option<Pair>) -> Option<()> {
    let (&last, before) = chosen.split_last()?;
    let new = pair(before.len(), last)?;
    for (i, &j) in before.iter().enumerate() {
        let old = pair(i, j)?;
        let apart = new.hole.at(0.5).distance(old.hole.at(0.5));
        let reach = new.clearance_mm
            + old.clearance_mm
            + 0.5 * (new.hole.length_mm() + old.hole.length_mm())
            + FIT_MM;
        if (apart - new.bolt.distance(old.bolt)).abs() > reach {
            return None;
        }
    }
    Some(())
}

/// Every choice of `count` different ones out of `of` that `holds` up at each step.
fn assign(count: usize, of: usize, holds: &dyn Fn(&[usize]) -> Option<()>) -> Vec<Vec<usize>> {
    fn further(
        count: usize,
        of: usize,
        chosen: &mut Vec<usize>,
        holds: &dyn Fn(&[usize]) -> Option<()>,
        out: &mut Vec<Vec<usize>>,
    ) {
        if chosen.len() == count {
            out.push(chosen.clone());
            return;
        }
        for j in 0..of {
            if chosen.contains(&j) {
                continue;
            }
            chosen.push(j);
            if holds(chosen).is_some() {
                further(count, of, chosen, holds, out);
            }
            chosen.pop();
        }
    }
    let mut out = Vec::new();
    if count > 0 {
        further(count, of, &mut Vec::new(), holds, &mut out);
    }
    out
}

/// Ways in words, equal ones told once with their number; at most `most` of them.
#[must_use]
pub fn told(ways: &[Way], most: usize) -> String {
    let mut lines: Vec<(String, usize)> = Vec::new();
    for way in ways {
        let words = way.words();
        match lines.iter_mut().find(|(l, _)| *l == words) {
            Some((_, n)) => *n += 1,
            None => lines.push((words, 1)),
        }
    }
    let more: usize = lines.iter().skip(most).map(|(_, n)| n).sum();
    let mut out: Vec<String> = lines
        .into_iter()
        .take(most)
        .map(|(l, n)| if n > 1 { format!("{l} ({n} ways)") } else { l })
        .collect();
    if more > 0 {
        out.push(format!("and {more} more"));
    }
    out.join("; ")
}
