//! The washers of one tree of mounts: every set of a given number of pieces that lines its pulleys up.
//!
//! All ways of spreading the pieces over the tree's places are looked at,
//! except branches that a bound proves hopeless. The bound is the effect of
//! lifts to first order, widened by what the second order can be at most; it
//! is worked out for every number of pieces still to be spent. Each set that
//! is left is judged with the exact motion.

use super::choice::{Choice, choices};
use super::forest::Tree;
use super::motion::Motion;
use super::state::State;

/// Branches looked at in one tree before its search is called off, and said to be.
const MOST_BRANCHES: u64 = 20_000_000;

/// What the first order of a motion is allowed to be off by beyond the proven bound, mm and rad: rounding.
const ROUNDING: f64 = 1e-7;

/// Shares of limits closer than this are the same.
pub(super) const SAME_SHARE: f64 = 1e-12;

/// A set of washers that lines the pulleys of a tree up.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Candidate {
    /// Largest share of a limit of this tree's own.
    pub(super) share: f64,
    /// Sum of the shares of its pulleys' offsets and tilts: of two as good, the one that leaves less.
    pub(super) left: f64,
    /// Number of the choice at each lever.
    pub(super) chosen: Vec<usize>,
    /// Offset of each of the tree's pulleys, mm.
    pub(super) offsets: Vec<f64>,
}

/// A place with its choices and its first-order effect on the tree's pulleys.
#[derive(Debug)]
pub(super) struct Lever {
    pub(super) mount: usize,
    pub(super) bolt: usize,
    pub(super) choices: Vec<Choice>,
    /// Per pulley: offset, axis x, axis y, each per mm of lift.
    effect: Vec<[f64; 3]>,
    /// Lowest and highest lift with exactly r pieces; none where there is no such choice.
    reach: Vec<Option<[f64; 2]>>,
}

impl Lever {
    /// The largest lift either way with up to this many pieces, mm.
    fn most_lift(&self, pieces: usize) -> f64 {
        self.reach[..=pieces]
            .iter()
            .flatten()
            .fold(0.0, |most: f64, [lo, hi]| most.max(*hi).max(-lo))
    }
}

/// Lowest and highest of the three effects on a pulley.
type Bounds = [[f64; 2]; 3];

/// The search of one tree.
#[derive(Debug)]
pub(super) struct Search<'a> {
    state: &'a State<'a>,
    tree: &'a Tree,
    pub(super) levers: Vec<Lever>,
    /// What levers from i on can add with exactly r pieces, per pulley; none where they cannot take r.
    ahead: Vec<Vec<Option<Vec<Bounds>>>>,
    /// What the first order may be wrong by: per pulley, offset and axis.
    margin: Vec<[f64; 2]>,
    lifts: Vec<Vec<f64>>,
    chosen: Vec<usize>,
    branches: u64,
    keep_all: bool,
    found: Vec<Candidate>,
}

impl<'a> Search<'a> {
    /// Prepares the search for sets of up to `most_pieces`.
    ///
    /// `keep_all` keeps every set that is good, not only the truest: belt pieces to other trees may need another.
    pub(super) fn new(
        state: &'a State<'a>,
        tree: &'a Tree,
        most_pieces: usize,
        keep_all: bool,
    ) -> Self {
        let levers = levers(state, tree, most_pieces);
        let ahead = ahead(tree.pulleys.len(), &levers, most_pieces);
        Self {
            state,
            tree,
            margin: vec![[0.0; 2]; tree.pulleys.len()],
            lifts: state.no_lifts(),
            chosen: vec![0; levers.len()],
            levers,
            ahead,
            branches: 0,
            keep_all,
            found: Vec::new(),
        }
    }

    /// Every good set of exactly this many pieces, the truest first; `None` when the search was called off.
    pub(super) fn sets(&mut self, pieces: usize) -> Option<Vec<Candidate>> {
        self.margin = self.margins(pieces);
        let now: Vec<[f64; 3]> = self
            .tree
            .pulleys
            .iter()
            .map(|p| {
                let s = &self.state.stands[*p];
                [s.offset_mm, s.axis[0], s.axis[1]]
            })
            .collect();
        self.found.clear();
        if !self.deeper(0, pieces, &now) {
            return None;
        }
        let mut found = std::mem::take(&mut self.found);
        found.sort_by(|a, b| a.share.total_cmp(&b.share).then(a.left.total_cmp(&b.left)));
        Some(found)
    }

    /// What the first order can be wrong by with this many pieces: per pulley, offset and axis.
    ///
    /// A mount that turns by the slope s about its middle moves a point at the
    /// arm r by at most r s²/2 (1 + s) otherwise than the first order says
    /// (tan s against sin s, and 1 − cos s). Carried on a mount that turns as
    /// well, a point that has moved by D moves by s D more. No mount leans by
    /// more than its limit, so s is bounded by that, too.
    fn margins(&self, pieces: usize) -> Vec<[f64; 2]> {
        self.tree
            .pulleys
            .iter()
            .map(|p| {
                let (mut off, mut turned_off) = (ROUNDING, ROUNDING);
                let (mut moved, mut turned) = (0.0, 0.0);
                for m in self.state.chain(*p) {
                    let (s, rise) = self.most(m, pieces);
                    let r = self.arm(m, *p);
                    let second = 0.5 * s * s * (1.0 + s);
                    off += r * second + s * moved;
                    turned_off += second + s * turned;
                    moved += rise + s * (r + moved);
                    turned += s;
                }
                [off, turned_off]
            })
            .collect()
    }

    /// The largest slope and rise this many pieces can give a mount, rad and mm.
    fn most(&self, mount: usize, pieces: usize) -> (f64, f64) {
        let m = &self.state.drive.mounts[mount];
        let lean = (m.lean_limit_deg + 1e-9).to_radians().tan();
        let (mut slope, mut rise) = (0.0, 0.0);
        for l in self.levers.iter().filter(|l| l.mount == mount) {
            let mut lifts = vec![0.0; m.bolts.len()];
            lifts[l.bolt] = l.most_lift(pieces);
            let tipped = self.state.layouts[mount].tipped(&lifts);
            slope += tipped.slope[0].hypot(tipped.slope[1]);
            rise += tipped.rise;
        }
        (slope.min(lean), rise)
    }

    /// Distance of a pulley from the middle a mount turns about, mm.
    fn arm(&self, mount: usize, pulley: usize) -> f64 {
        let seat = &self.state.drive.mounts[mount].seat;
        let [x, y] = self.state.layouts[mount].middle();
        let mut centre = self.state.drive.pulleys[pulley].centre;
        centre.z = self.state.plane + self.state.stands[pulley].offset_mm;
        (seat.origin + seat.x * x + seat.y * y).distance(centre)
    }

    /// Tries lever `i` on with exactly `left` pieces; false when the search is called off.
    fn deeper(&mut self, i: usize, left: usize, now: &[[f64; 3]]) -> bool {
        self.branches += 1;
        if self.branches > MOST_BRANCHES {
            return false;
        }
        if self.is_hopeless(i, left, now) || !self.is_sound(i) {
            return true;
        }
        if i == self.levers.len() {
            self.judge();
            return true;
        }
        let (mount, bolt) = (self.levers[i].mount, self.levers[i].bolt);
        for c in 0..self.levers[i].choices.len() {
            let choice = &self.levers[i].choices[c];
            let pieces = choice.pieces();
            if pieces > left {
                break;
            }
            let lift = choice.lift;
            let next: Vec<[f64; 3]> = now
                .iter()
                .zip(&self.levers[i].effect)
                .map(|(n, e)| [n[0] + e[0] * lift, n[1] + e[1] * lift, n[2] + e[2] * lift])
                .collect();
            self.chosen[i] = c;
            self.lifts[mount][bolt] = lift;
            let goes_on = self.deeper(i + 1, left - pieces, &next);
            self.chosen[i] = 0;
            self.lifts[mount][bolt] = 0.0;
            if !goes_on {
                return false;
            }
        }
        true
    }

    /// Whether the mount whose last lever is before `i` neither bends nor leans too much.
    fn is_sound(&self, i: usize) -> bool {
        let Some(done) = i.checked_sub(1).map(|j| self.levers[j].mount) else {
            return true;
        };
        self.levers.get(i).is_some_and(|l| l.mount == done)
            || self.state.motion(done, &self.lifts[done]).is_some()
    }

    /// Whether no choice for the levers from `i` on can bring everything within its limits.
    fn is_hopeless(&self, i: usize, left: usize, now: &[[f64; 3]]) -> bool {
        let Some(ahead) = &self.ahead[i][left] else {
            return true;
        };
        let range = |p: usize, k: usize| [now[p][k] + ahead[p][k][0], now[p][k] + ahead[p][k][1]];
        for (local, p) in self.tree.pulleys.iter().enumerate() {
            let pulley = &self.state.drive.pulleys[*p];
            let least = |k: usize| nearest(range(local, k));
            if least(0) > pulley.offset_limit_mm + self.margin[local][0] {
                return true;
            }
            let tilt = least(1).hypot(least(2));
            if tilt > pulley.tilt_limit_deg.to_radians().sin() + self.margin[local][1] {
                return true;
            }
        }
        self.tree.pieces.iter().any(|piece| {
            let end = |p: usize| match self.tree.pulleys.iter().position(|q| *q == p) {
                Some(local) => (range(local, 0), self.margin[local][0]),
                None => ([self.state.stands[p].offset_mm; 2], 0.0),
            };
            let ((a, a_off), (b, b_off)) = (end(piece.from), end(piece.to));
            nearest([a[0] - b[1], a[1] - b[0]]) > piece.limit_mm + a_off + b_off
        })
    }

    /// Judges the chosen set exactly.
    fn judge(&mut self) {
        let mut own = vec![Motion::NONE; self.state.drive.mounts.len()];
        for m in &self.tree.mounts {
            let Some(motion) = self.state.motion(*m, &self.lifts[*m]) else {
                return;
            };
            own[*m] = motion;
        }
        let (mut share, mut left) = (0.0_f64, 0.0);
        let mut offsets = Vec::with_capacity(self.tree.pulleys.len());
        for p in &self.tree.pulleys {
            let stand = self.state.stand_after(*p, &own);
            let shares = self.state.pulley_shares(*p, &stand);
            share = share.max(shares[0]).max(shares[1]);
            left += shares[0] + shares[1];
            offsets.push(stand.offset_mm);
        }
        for piece in &self.tree.pieces {
            let end = |p: usize| match self.tree.pulleys.iter().position(|q| *q == p) {
                Some(local) => offsets[local],
                None => self.state.stands[p].offset_mm,
            };
            share = share.max(piece.share(end(piece.from), end(piece.to)));
        }
        if share > 1.0 + 1e-9 {
            return;
        }
        if !self.keep_all {
            let is_beaten = |f: &Candidate| {
                share > f.share + SAME_SHARE
                    || (share > f.share - SAME_SHARE && left > f.left - SAME_SHARE)
            };
            if self.found.first().is_some_and(is_beaten) {
                return;
            }
            self.found.clear();
        }
        self.found.push(Candidate {
            share,
            left,
            chosen: self.chosen.clone(),
            offsets,
        });
    }
}

/// The value of a range that is nearest to none, without its sign.
fn nearest([low, high]: [f64; 2]) -> f64 {
    if low > 0.0 {
        low
    } else if high < 0.0 {
        -high
    } else {
        0.0
    }
}

/// All places of a tree with their choices and effects.
fn levers(state: &State<'_>, tree: &Tree, most_pieces: usize) -> Vec<Lever> {
    let mut list = Vec::new();
    for m in &tree.mounts {
        for (b, bolt) in state.drive.mounts[*m].bolts.iter().enumerate() {
            let Some(place) = &bolt.place else { continue };
            let choices = choices(place, &state.drive.stock_mm, most_pieces);
            let reach = (0..=most_pieces)
                .map(|r| {
                    choices
                        .iter()
                        .filter(|c| c.pieces() == r)
                        .map(|c| [c.lift, c.lift])
                        .reduce(|[lo, hi], [l, h]| [lo.min(l), hi.max(h)])
                })
                .collect();
            list.push(Lever {
                mount: *m,
                bolt: b,
                choices,
                effect: tree
                    .pulleys
                    .iter()
                    .map(|p| state.effect(*m, b, *p))
                    .collect(),
                reach,
            });
        }
    }
    list
}

/// What the levers from each on can add, for every exact number of pieces.
fn ahead(pulleys: usize, levers: &[Lever], most_pieces: usize) -> Vec<Vec<Option<Vec<Bounds>>>> {
    let mut table = vec![vec![None; most_pieces + 1]; levers.len() + 1];
    table[levers.len()][0] = Some(vec![[[0.0; 2]; 3]; pulleys]);
    for (i, lever) in levers.iter().enumerate().rev() {
        for r in 0..=most_pieces {
            let mut row: Option<Vec<Bounds>> = None;
            for spent in 0..=r {
                let (Some(lifts), Some(behind)) = (lever.reach[spent], &table[i + 1][r - spent])
                else {
                    continue;
                };
                let with: Vec<Bounds> = behind
                    .iter()
                    .zip(&lever.effect)
                    .map(|(b, effect)| add(b, effect, lifts))
                    .collect();
                row = Some(match row {
                    None => with,
                    Some(old) => old.iter().zip(&with).map(|(a, b)| hull(a, b)).collect(),
                });
            }
            table[i][r] = row;
        }
    }
    table
}

/// Bounds with the effect of a lift between two added.
fn add(bounds: &Bounds, effect: &[f64; 3], [lo, hi]: [f64; 2]) -> Bounds {
    std::array::from_fn(|k| {
        let (a, b) = (effect[k] * lo, effect[k] * hi);
        [bounds[k][0] + a.min(b), bounds[k][1] + a.max(b)]
    })
}

/// The bounds that hold two.
fn hull(a: &Bounds, b: &Bounds) -> Bounds {
    std::array::from_fn(|k| [a[k][0].min(b[k][0]), a[k][1].max(b[k][1])])
}
