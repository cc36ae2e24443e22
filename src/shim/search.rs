//! The fewest washers that make the belt run true: a complete search.
//!
//! Piece counts are tried in rising order; at each count every way of
//! spreading the pieces over the places is looked at, except branches that a
//! bound proves hopeless. The bound is the effect of lifts to first order,
//! widened by what the second order can be at most; every candidate is then
//! judged with the exact motion.

use serde::Serialize;

use super::mount::{Place, Stand};
use super::state::State;

/// Washers handled at most; more than that and the part is wrong.
pub const MOST_PIECES: usize = 6;

/// Branches looked at before the search is called off, and said to be.
const MOST_BRANCHES: u64 = 40_000_000;

/// A way to fill one place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Choice {
    pub(super) lift: f64,
    pub(super) added: Vec<f64>,
    pub(super) removed: Vec<f64>,
}

impl Choice {
    /// Washers handled.
    pub(super) fn pieces(&self) -> usize {
        self.added.len() + self.removed.len()
    }
}

/// Washers at one bolt.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Washers {
    /// The mount.
    pub mount: String,
    /// The bolt.
    pub bolt: String,
    /// What they go between.
    pub between: [String; 2],
    /// Washers to put in, mm each, the thickest first.
    pub add_mm: Vec<f64>,
    /// Washers to take out, mm each.
    pub remove_mm: Vec<f64>,
}

/// A set of washers that brings everything within its limits.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WasherPlan {
    /// What to change.
    pub washers: Vec<Washers>,
    /// Washers handled in all.
    pub pieces: usize,
    /// Largest share of a limit that is used afterwards, 0 to 1.
    pub share: f64,
    /// How each pulley is expected to stand, in the drive's order.
    pub stands: Vec<Stand>,
}

/// What the search found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Searched {
    /// The best plan: the fewest pieces, among those the one furthest inside the limits.
    pub plan: Option<WasherPlan>,
    /// Every set up to this many pieces was looked at or proved hopeless.
    pub complete_to: usize,
    /// Whether that covers [`MOST_PIECES`] or the plan found.
    pub is_complete: bool,
}

/// The ways to fill a place: every lift once, by the fewest pieces.
pub(super) fn choices(place: &Place, stock: &[f64], most_handled: usize) -> Vec<Choice> {
    let mut stock: Vec<f64> = stock.to_vec();
    stock.sort_by(|a, b| b.total_cmp(a));
    stock.dedup();
    let fitted = &place.fitted_mm;
    let mut list: Vec<Choice> = Vec::new();
    // Beyond a dozen washers in one place nobody counts on; the mask must stay small.
    let masks = 1_u32 << fitted.len().min(12);
    for mask in 0..masks {
        let (mut removed, mut kept) = (Vec::new(), Vec::new());
        for (i, t) in fitted.iter().enumerate() {
            if i < 12 && mask & (1 << i) != 0 {
                removed.push(*t);
            } else {
                kept.push(*t);
            }
        }
        let room = place.most_pieces.saturating_sub(kept.len());
        let thick: f64 = kept.iter().sum();
        if removed.len() > most_handled || (mask != 0 && kept.len() > place.most_pieces) {
            continue;
        }
        let out: f64 = removed.iter().sum();
        let most = room.min(most_handled - removed.len());
        packs(&stock, most, place.most_mm - thick + 1e-9, &mut |added| {
            let lift = added.iter().sum::<f64>() - out;
            list.push(Choice {
                lift: if place.inwards { -lift } else { lift },
                added: added.to_vec(),
                removed: removed.clone(),
            });
        });
    }
    list.sort_by(|a, b| {
        a.pieces()
            .cmp(&b.pieces())
            .then(a.removed.len().cmp(&b.removed.len()))
            .then(a.lift.total_cmp(&b.lift))
    });
    let mut kept: Vec<Choice> = Vec::new();
    for c in list {
        if kept.iter().all(|k| (k.lift - c.lift).abs() > 1e-9) {
            kept.push(c);
        }
    }
    kept
}

/// Every pack of up to `most` washers no thicker than `room`, the empty one among them.
fn packs(stock: &[f64], most: usize, room: f64, found: &mut dyn FnMut(&[f64])) {
    fn deeper(
        stock: &[f64],
        most: usize,
        room: f64,
        pack: &mut Vec<f64>,
        found: &mut dyn FnMut(&[f64]),
    ) {
        found(pack);
        if most == 0 {
            return;
        }
        for (i, t) in stock.iter().enumerate() {
            if *t <= room {
                pack.push(*t);
                deeper(&stock[i..], most - 1, room - t, pack, found);
                pack.pop();
            }
        }
    }
    deeper(stock, most, room, &mut Vec::new(), found);
}

/// A place with its choices and its first-order effect on every pulley.
#[derive(Debug)]
struct Lever {
    mount: usize,
    bolt: usize,
    choices: Vec<Choice>,
    /// Per pulley: offset, axis x, axis y, each per mm of lift.
    effect: Vec<[f64; 3]>,
    /// Lowest and highest lift with up to r pieces.
    reach: Vec<[f64; 2]>,
}

/// The search while it runs.
struct Search<'a> {
    state: &'a State<'a>,
    levers: Vec<Lever>,
    /// What levers from i on can add with r pieces: per pulley, lowest and highest of the three effects.
    ahead: Vec<Vec<Vec<[[f64; 2]; 3]>>>,
    /// What the first order may be wrong by: per pulley, offset and axis.
    margin: Vec<[f64; 2]>,
    chosen: Vec<usize>,
    branches: u64,
    best: Option<(f64, Vec<usize>, Vec<Stand>)>,
}

/// Looks for the fewest washers.
pub(super) fn search(state: &State<'_>, most_pieces: usize) -> Searched {
    let levers = levers(state, most_pieces);
    let ahead = ahead(state, &levers, most_pieces);
    let mut search = Search {
        state,
        margin: vec![[0.0; 2]; state.stands.len()],
        chosen: vec![0; levers.len()],
        levers,
        ahead,
        branches: 0,
        best: None,
    };
    for pieces in 0..=most_pieces {
        search.margin = search.margins(pieces);
        let first: Vec<[f64; 3]> = state
            .stands
            .iter()
            .map(|s| [s.offset_mm, s.axis[0], s.axis[1]])
            .collect();
        let finished = search.deeper(0, pieces, &first);
        if !finished {
            let plan = search.plan(pieces);
            return Searched {
                plan,
                complete_to: pieces.saturating_sub(1),
                is_complete: false,
            };
        }
        if search.best.is_some() {
            return Searched {
                plan: search.plan(pieces),
                complete_to: pieces,
                is_complete: true,
            };
        }
    }
    Searched {
        plan: None,
        complete_to: most_pieces,
        is_complete: true,
    }
}

/// All places with their choices and effects.
fn levers(state: &State<'_>, most_pieces: usize) -> Vec<Lever> {
    let mut list = Vec::new();
    for (m, mount) in state.drive.mounts.iter().enumerate() {
        for (b, bolt) in mount.bolts.iter().enumerate() {
            let Some(place) = &bolt.place else { continue };
            let choices = choices(place, &state.drive.stock_mm, most_pieces);
            let reach = (0..=most_pieces)
                .map(|r| {
                    choices
                        .iter()
                        .filter(|c| c.pieces() <= r)
                        .fold([0.0_f64, 0.0_f64], |[lo, hi], c| {
                            [lo.min(c.lift), hi.max(c.lift)]
                        })
                })
                .collect();
            list.push(Lever {
                mount: m,
                bolt: b,
                choices,
                effect: effect(state, m, b),
                reach,
            });
        }
    }
    list
}

/// First-order effect of a lift at one bolt on every pulley, per mm.
pub(super) fn effect(state: &State<'_>, mount: usize, bolt: usize) -> Vec<[f64; 3]> {
    // The exact motion for a tiny lift either way; what is left of the second order cancels.
    const STEP_MM: f64 = 1e-3;
    let stands = |h: f64| {
        let own: Vec<_> = state
            .drive
            .mounts
            .iter()
            .zip(&state.layouts)
            .enumerate()
            .map(|(m, (one, layout))| {
                let mut lifts = vec![0.0; one.bolts.len()];
                if m == mount {
                    lifts[bolt] = h;
                }
                layout.tipped(&lifts).motion(one)
            })
            .collect();
        state.after(&own)
    };
    let (up, down) = (stands(STEP_MM), stands(-STEP_MM));
    up.iter()
        .zip(&down)
        .map(|(u, d)| {
            [
                u.offset_mm - d.offset_mm,
                u.axis[0] - d.axis[0],
                u.axis[1] - d.axis[1],
            ]
            .map(|v| v / (2.0 * STEP_MM))
        })
        .collect()
}

/// What the levers from each on can add, for every number of pieces.
fn ahead(state: &State<'_>, levers: &[Lever], most_pieces: usize) -> Vec<Vec<Vec<[[f64; 2]; 3]>>> {
    let pulleys = state.stands.len();
    let none = vec![[[0.0; 2]; 3]; pulleys];
    let mut table = vec![vec![none; most_pieces + 1]; levers.len() + 1];
    for i in (0..levers.len()).rev() {
        let behind = table[i + 1].clone();
        for (r, mut row) in behind.into_iter().enumerate() {
            let [lo, hi] = levers[i].reach[r];
            for (p, bounds) in row.iter_mut().enumerate() {
                for (k, bound) in bounds.iter_mut().enumerate() {
                    let e = levers[i].effect[p][k];
                    bound[0] += (e * lo).min(e * hi).min(0.0);
                    bound[1] += (e * lo).max(e * hi).max(0.0);
                }
            }
            table[i][r] = row;
        }
    }
    table
}

impl Search<'_> {
    /// What the first order can be wrong by with this many pieces.
    ///
    /// With all turns of a pulley's chain together at most t rad, a point at
    /// the distance R from the seats moves by R t²/2 more than the first order
    /// says, each further turn of a chain by R t² again; an axis that leans by
    /// a changes by t²/2 + t a. Twice that is allowed for.
    fn margins(&self, pieces: usize) -> Vec<[f64; 2]> {
        (0..self.state.stands.len())
            .map(|p| {
                let mut turn = 0.0;
                let mut rise = 0.0;
                for l in &self.levers {
                    let [lo, hi] = l.reach[pieces];
                    let lift = hi.max(-lo);
                    let e = l.effect[p];
                    let slope = self.slope(l);
                    if e.iter().any(|v| *v != 0.0) {
                        turn += slope * lift;
                        rise += lift;
                    }
                }
                let reach = self.reach_of(p) + rise;
                let lean = self.state.stands[p].axis[0].hypot(self.state.stands[p].axis[1]);
                let all = turn * turn;
                [
                    2.0 * reach * (all + turn * all) + 1e-9,
                    2.0 * (all + turn * lean) + 1e-12,
                ]
            })
            .collect()
    }

    /// Turn a lever gives its mount, rad per mm.
    fn slope(&self, l: &Lever) -> f64 {
        let mount = &self.state.drive.mounts[l.mount];
        let mut lifts = vec![0.0; mount.bolts.len()];
        lifts[l.bolt] = 1.0;
        let s = self.state.layouts[l.mount].tipped(&lifts).slope;
        s[0].hypot(s[1])
    }

    /// Farthest a pulley is from any seat that can move it, mm.
    fn reach_of(&self, pulley: usize) -> f64 {
        let centre = self.state.drive.pulleys[pulley].centre;
        self.state
            .drive
            .mounts
            .iter()
            .flat_map(|m| {
                m.bolts
                    .iter()
                    .map(|b| m.seat.to_engine(b.at, 0.0).distance(centre))
            })
            .fold(0.0, f64::max)
    }

    /// Tries lever `i` on with exactly `left` pieces; false when the search is called off.
    fn deeper(&mut self, i: usize, left: usize, now: &[[f64; 3]]) -> bool {
        self.branches += 1;
        if self.branches > MOST_BRANCHES {
            return false;
        }
        if self.is_hopeless(i, left, now) {
            return true;
        }
        if i == self.levers.len() {
            if left == 0 {
                self.judge();
            }
            return true;
        }
        let last = i + 1 == self.levers.len();
        for c in 0..self.levers[i].choices.len() {
            let choice = &self.levers[i].choices[c];
            let pieces = choice.pieces();
            if pieces > left {
                break;
            }
            if last && pieces != left {
                continue;
            }
            let lift = choice.lift;
            let next: Vec<[f64; 3]> = now
                .iter()
                .zip(&self.levers[i].effect)
                .map(|(n, e)| [n[0] + e[0] * lift, n[1] + e[1] * lift, n[2] + e[2] * lift])
                .collect();
            self.chosen[i] = c;
            if !self.deeper(i + 1, left - pieces, &next) {
                return false;
            }
            self.chosen[i] = 0;
        }
        true
    }

    /// Whether no choice for the levers from `i` on can bring everything within its limits.
    fn is_hopeless(&self, i: usize, left: usize, now: &[[f64; 3]]) -> bool {
        let ahead = &self.ahead[i][left];
        let gap = |lo: f64, hi: f64| {
            if lo > 0.0 {
                lo
            } else if hi < 0.0 {
                -hi
            } else {
                0.0
            }
        };
        for (p, pulley) in self.state.drive.pulleys.iter().enumerate() {
            let least = |k: usize| gap(now[p][k] + ahead[p][k][0], now[p][k] + ahead[p][k][1]);
            if least(0) > pulley.offset_limit_mm + self.margin[p][0] {
                return true;
            }
            let tilt = least(1).hypot(least(2));
            if tilt > pulley.tilt_limit_deg.to_radians().sin() + self.margin[p][1] {
                return true;
            }
        }
        for (a, b, length, limit) in self.state.spans() {
            let lo = now[*a][0] + ahead[*a][0][0] - now[*b][0] - ahead[*b][0][1];
            let hi = now[*a][0] + ahead[*a][0][1] - now[*b][0] - ahead[*b][0][0];
            if gap(lo, hi) > limit * length + self.margin[*a][0] + self.margin[*b][0] {
                return true;
            }
        }
        false
    }

    /// Judges the chosen set exactly.
    fn judge(&mut self) {
        let mut lifts = self.state.no_lifts();
        for (l, c) in self.levers.iter().zip(&self.chosen) {
            lifts[l.mount][l.bolt] = l.choices[*c].lift;
        }
        let Some(own) = self.state.motions(&lifts) else {
            return;
        };
        let stands = self.state.after(&own);
        let used = self.state.used(&stands);
        if used.is_good() && self.best.as_ref().is_none_or(|b| used.share < b.0 - 1e-12) {
            self.best = Some((used.share, self.chosen.clone(), stands));
        }
    }

    /// The best set so far as a plan.
    fn plan(&self, pieces: usize) -> Option<WasherPlan> {
        let (share, chosen, stands) = self.best.as_ref()?;
        let washers = self
            .levers
            .iter()
            .zip(chosen)
            .filter(|(l, c)| l.choices[**c].pieces() > 0)
            .map(|(l, c)| {
                let mount = &self.state.drive.mounts[l.mount];
                let bolt = &mount.bolts[l.bolt];
                let choice = &l.choices[*c];
                Washers {
                    mount: mount.name.clone(),
                    bolt: bolt.name.clone(),
                    between: bolt
                        .place
                        .as_ref()
                        .map_or_else(Default::default, |p| p.between.clone()),
                    add_mm: choice.added.clone(),
                    remove_mm: choice.removed.clone(),
                }
            })
            .collect();
        Some(WasherPlan {
            washers,
            pieces,
            share: *share,
            stands: stands.clone(),
        })
    }
}
