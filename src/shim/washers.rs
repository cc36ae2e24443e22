//! The fewest washers that make the belt run true: each tree of mounts by itself, then together.
//!
//! A washer moves only the pulleys of its own tree, so the fewest pieces of
//! the drive are the fewest of each tree, as long as the belt pieces between
//! trees are within their limits as well. Where one is not, every good set of
//! the trees is tried together, and one piece more is given until it fits.

use serde::Serialize;

use super::forest::Forest;
use super::mount::Stand;
use super::search::{Candidate, SAME_SHARE, Search};
use super::state::{State, Use};

/// Washers handled at most on one bracket with all it carries; more than that and the part is wrong.
pub const MOST_PIECES: usize = 6;

/// Combinations of trees looked at before the search is called off, and said to be.
const MOST_COMBINED: u64 = 2_000_000;

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
    /// Length of the spacer on the other side of the plate now, and what it has to be turned to, mm; with two ears.
    pub turn_mm: Option<[f64; 2]>,
}

/// A set of washers that brings pulleys within their limits.
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
    /// The best plan: the fewest pieces, among those the one furthest inside the limits, then each bracket as far as it goes.
    pub plan: Option<WasherPlan>,
    /// Pulleys that no set of washers brings within their limits.
    pub stuck: Vec<String>,
    /// The best plan for the other pulleys, when some are stuck and the others need washers.
    pub rest: Option<WasherPlan>,
    /// Every set up to this many pieces a bracket was looked at or proved hopeless.
    pub complete_to: usize,
    /// Whether that covers [`MOST_PIECES`] or the plan found.
    pub is_complete: bool,
}

/// A search together with what it means for the mounts.
#[derive(Debug)]
pub(super) struct Outcome {
    pub(super) searched: Searched,
    /// Lifts of the plan, or of the plan for the rest.
    pub(super) lifts: Vec<Vec<f64>>,
    /// Mounts that belong to stuck pulleys.
    pub(super) stuck: Vec<usize>,
}

/// Good sets of a tree by number of pieces, as far as they were asked for.
struct Sets<'a> {
    search: Search<'a>,
    /// Fewest pieces; none when the tree is stuck.
    least: Option<usize>,
    by_pieces: Vec<Option<Vec<Candidate>>>,
    is_tied: bool,
}

/// Looks for the fewest washers.
pub(super) fn search(state: &State<'_>, most_pieces: usize) -> Outcome {
    let forest = Forest::of(state);
    let mut together = Together {
        state,
        forest: &forest,
        trees: Vec::new(),
        complete_to: most_pieces,
        called_off: false,
        steps: 0,
        picks: Vec::new(),
        best: None,
        least: Vec::new(),
    };
    for t in 0..forest.trees.len() {
        together.open(t, most_pieces);
    }
    let mut stuck: Vec<usize> = (forest.fixed.iter())
        .copied()
        .filter(|p| {
            let [offset, tilt] = state.pulley_shares(*p, &state.stands[*p]);
            !Use {
                share: offset.max(tilt),
            }
            .is_good()
        })
        .collect();
    let mut stuck_mounts = Vec::new();
    for (tree, sets) in forest.trees.iter().zip(&together.trees) {
        if sets.least.is_none() {
            stuck.extend(&tree.pulleys);
            stuck_mounts.extend(&tree.mounts);
        }
    }
    stuck.sort_unstable();
    let fixed_share = forest
        .fixed_pieces
        .iter()
        .map(|b| b.share(state.stands[b.from].offset_mm, state.stands[b.to].offset_mm))
        .fold(0.0, f64::max);
    let good = stuck.is_empty() && Use { share: fixed_share }.is_good();
    together.combine(most_pieces);
    let (plan, lifts) = match together.best.take() {
        Some(best) => together.plan(&best),
        None => (None, state.no_lifts()),
    };
    let (plan, rest) = if good {
        (plan, None)
    } else {
        (None, plan.filter(|p| p.pieces > 0))
    };
    Outcome {
        searched: Searched {
            plan,
            stuck: stuck
                .iter()
                .map(|p| state.drive.pulleys[*p].name.clone())
                .collect(),
            rest,
            complete_to: together.complete_to,
            is_complete: !together.called_off,
        },
        lifts,
        stuck: stuck_mounts,
    }
}

/// How good a combination is; each number counts only where those before it are the same.
#[derive(Debug, Clone, Copy, Default)]
struct Score {
    /// Largest share of a limit.
    share: f64,
    /// Sum of the trees' own largest shares.
    sum: f64,
    /// Sum of all the shares that are left.
    left: f64,
}

impl Score {
    /// With a tree's set, and the share of the belt pieces that tie it to those before.
    fn with(self, c: &Candidate, tied: f64) -> Self {
        Self {
            share: self.share.max(c.share).max(tied),
            sum: self.sum + c.share,
            left: self.left + c.left,
        }
    }

    /// Whether it is better than the other.
    fn beats(self, other: Self) -> bool {
        for (a, b) in [
            (self.share, other.share),
            (self.sum, other.sum),
            (self.left, other.left),
        ] {
            if (a - b).abs() > SAME_SHARE {
                return a < b;
            }
        }
        false
    }
}

/// The best combination so far.
#[derive(Debug, Clone)]
struct Best {
    score: Score,
    /// Pieces and candidate of each tree; none for a stuck one.
    picks: Vec<Option<(usize, usize)>>,
}

/// The trees while they are put together.
struct Together<'a> {
    state: &'a State<'a>,
    forest: &'a Forest,
    trees: Vec<Sets<'a>>,
    complete_to: usize,
    called_off: bool,
    steps: u64,
    picks: Vec<Option<(usize, usize)>>,
    best: Option<Best>,
    /// The least sums the trees from each on can add.
    least: Vec<Score>,
}

impl Together<'_> {
    /// Opens tree `t` and finds its fewest pieces.
    fn open(&mut self, t: usize, most_pieces: usize) {
        let is_tied = self.forest.ties.iter().any(|(ends, _)| ends.contains(&t));
        let mut sets = Sets {
            search: Search::new(self.state, &self.forest.trees[t], most_pieces, is_tied),
            least: None,
            by_pieces: vec![None; most_pieces + 1],
            is_tied,
        };
        for pieces in 0..=most_pieces {
            let Some(found) = sets.search.sets(pieces) else {
                self.called_off = true;
                self.complete_to = self.complete_to.min(pieces.saturating_sub(1));
                break;
            };
            let any = !found.is_empty();
            sets.by_pieces[pieces] = Some(found);
            if any {
                sets.least = Some(pieces);
                break;
            }
        }
        self.trees.push(sets);
    }

    /// Puts the trees together with as few pieces beyond the least of each as will do.
    fn combine(&mut self, most_pieces: usize) {
        let room: usize = (self.trees.iter())
            .filter(|t| t.is_tied)
            .filter_map(|t| t.least.map(|l| most_pieces - l))
            .sum();
        for extra in 0..=room {
            if !self.fill(extra) {
                self.called_off = true;
                return;
            }
            self.set_floor(extra);
            self.picks.clear();
            if !self.deeper(0, extra, Score::default()) {
                self.called_off = true;
                return;
            }
            if self.best.is_some() {
                return;
            }
        }
    }

    /// Looks up the good sets of tied trees with up to `extra` pieces more; false when that is too much.
    fn fill(&mut self, extra: usize) -> bool {
        for sets in &mut self.trees {
            let Some(least) = sets.least.filter(|_| sets.is_tied) else {
                continue;
            };
            let pieces = least + extra;
            if let Some(slot) = sets.by_pieces.get_mut(pieces)
                && slot.is_none()
            {
                match sets.search.sets(pieces) {
                    Some(found) => *slot = Some(found),
                    None => return false,
                }
            }
        }
        true
    }

    /// Works out what no combination can do better than.
    fn set_floor(&mut self, extra: usize) {
        self.least = vec![Score::default(); self.trees.len() + 1];
        for (t, sets) in self.trees.iter().enumerate().rev() {
            let mut least = self.least[t + 1];
            if let Some(from) = sets.least {
                let to = if sets.is_tied { from + extra } else { from };
                let all = sets.by_pieces[from..=to.min(sets.by_pieces.len() - 1)]
                    .iter()
                    .flatten()
                    .flatten();
                let [share, left] = all.fold([f64::INFINITY; 2], |[s, l], c| {
                    [s.min(c.share), l.min(c.left)]
                });
                least.share = least.share.max(share);
                least.sum += share;
                least.left += left;
            }
            self.least[t] = least;
        }
    }

    /// Tries the sets of tree `t` on with exactly `left` pieces beyond the least; false when called off.
    fn deeper(&mut self, t: usize, left: usize, score: Score) -> bool {
        self.steps += 1;
        if self.steps > MOST_COMBINED {
            return false;
        }
        if !self.can_win(t, score) {
            return true;
        }
        let Some(sets) = self.trees.get(t) else {
            if left == 0 {
                self.best = Some(Best {
                    score,
                    picks: self.picks.clone(),
                });
            }
            return true;
        };
        let Some(least) = sets.least else {
            self.picks.push(None);
            let goes_on = self.deeper(t + 1, left, score);
            self.picks.pop();
            return goes_on;
        };
        let most = if sets.is_tied { left } else { 0 };
        for spent in 0..=most {
            let pieces = least + spent;
            let count = match self.trees[t].by_pieces.get(pieces) {
                Some(Some(list)) => list.len(),
                _ => 0,
            };
            for c in 0..count {
                self.picks.push(Some((pieces, c)));
                let tied = self.tied_share(t);
                let next = self.candidate(t).map_or(score, |c| score.with(c, tied));
                let goes_on = tied > 1.0 + 1e-9 || self.deeper(t + 1, left - spent, next);
                self.picks.pop();
                if !goes_on {
                    return false;
                }
            }
        }
        true
    }

    /// Whether something that begins like this can be better than the best found.
    fn can_win(&self, t: usize, score: Score) -> bool {
        let rest = self.least[t];
        let at_best = Score {
            share: score.share.max(self.least[0].share).max(rest.share),
            sum: score.sum + rest.sum,
            left: score.left + rest.left,
        };
        self.best.as_ref().is_none_or(|b| at_best.beats(b.score))
    }

    /// The set picked for tree `t`.
    fn candidate(&self, t: usize) -> Option<&Candidate> {
        let (pieces, c) = (*self.picks.get(t)?)?;
        self.trees[t].by_pieces[pieces].as_ref()?.get(c)
    }

    /// The largest share of the belt pieces between tree `t` and those before it.
    fn tied_share(&self, t: usize) -> f64 {
        let offset = |tree: usize, pulley: usize| {
            let local = (self.forest.trees[tree].pulleys.iter()).position(|p| *p == pulley)?;
            Some(self.candidate(tree)?.offsets[local])
        };
        self.forest
            .ties
            .iter()
            .filter(|([a, b], _)| (*a).max(*b) == t)
            .filter_map(|([a, b], piece)| {
                Some(piece.share(offset(*a, piece.from)?, offset(*b, piece.to)?))
            })
            .fold(0.0, f64::max)
    }

    /// A combination as a plan, with its lifts.
    fn plan(&mut self, best: &Best) -> (Option<WasherPlan>, Vec<Vec<f64>>) {
        self.picks.clone_from(&best.picks);
        let mut lifts = self.state.no_lifts();
        let mut washers = Vec::new();
        let mut pieces = 0;
        for (t, sets) in self.trees.iter().enumerate() {
            let Some(candidate) = self.candidate(t) else {
                continue;
            };
            for (l, c) in sets.search.levers.iter().zip(&candidate.chosen) {
                let choice = &l.choices[*c];
                lifts[l.mount][l.bolt] = choice.lift;
                let mount = &self.state.drive.mounts[l.mount];
                let bolt = &mount.bolts[l.bolt];
                let Some(place) = bolt.place.as_ref().filter(|_| choice.pieces() > 0) else {
                    continue;
                };
                pieces += choice.pieces();
                let other = place.fork.as_ref().and_then(|f| f.other.as_ref());
                let (between, spacer) = match (other, choice.across) {
                    (Some((between, spacer)), true) => (between, Some(*spacer)),
                    _ => (
                        &place.between,
                        place.fork.as_ref().and_then(|f| f.across_mm),
                    ),
                };
                washers.push((
                    (l.mount, l.bolt),
                    Washers {
                        mount: mount.name.clone(),
                        bolt: bolt.name.clone(),
                        between: between.clone(),
                        add_mm: choice.added.clone(),
                        remove_mm: choice.removed.clone(),
                        turn_mm: spacer.map(|s| [s, s - choice.thicker()]),
                    },
                ));
            }
        }
        washers.sort_by_key(|(at, _)| *at);
        let Some(own) = (lifts.iter().enumerate())
            .map(|(m, l)| self.state.motion(m, l))
            .collect::<Option<Vec<_>>>()
        else {
            return (None, lifts);
        };
        let plan = WasherPlan {
            washers: washers.into_iter().map(|(_, w)| w).collect(),
            pieces,
            share: best.score.share,
            stands: self.state.after(&own),
        };
        (Some(plan), lifts)
    }
}
