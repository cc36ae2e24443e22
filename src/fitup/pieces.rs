//! The pieces of a set, and what stands in the way of each: bolts, spacers, plates, accessories.

use std::collections::BTreeSet;

use crate::clearance::{Body, Motion, Scene};
use crate::geom::{Frame, Vector3};
use crate::layout::{Joint, Part};
use crate::surroundings::{self, Sources};
use crate::tables::gap::{Kind, Limits};

use super::order::{Piece, Put, Stuck, WayOff, order};

/// How far a piece is moved to be off, mm: past anything on the engine's front.
const OFF_MM: f64 = 400.0;

/// Parts that slide along each other may overlap by this much on paper, mm (the sweep's own bound and
/// a deburred edge).
const RUB_MM: f64 = 0.1;

/// What a piece is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum What {
    /// A plate, by name.
    Plate(String),
    /// An accessory, by name.
    Accessory(String),
    /// A spacer: its joint, and which one of it from the low end.
    Spacer(String, usize),
    /// A joint's bolt.
    Bolt(String),
}

impl What {
    /// In words.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Self::Plate(p) => format!("plate {p}"),
            Self::Accessory(a) => a.clone(),
            Self::Spacer(j, n) => format!("spacer {} of {j}", n + 1),
            Self::Bolt(j) => format!("the bolt of {j}"),
        }
    }
}

/// The order a set goes together in.
#[derive(Debug, Clone, PartialEq)]
pub struct Assembly {
    /// Every piece.
    pub what: Vec<What>,
    /// What is in the way of each.
    pub pieces: Vec<Piece>,
    /// The order, or what is stuck.
    pub order: Result<Vec<Put>, Stuck>,
}

impl Assembly {
    /// What covers the head of a joint's bolt once it is on.
    #[must_use]
    pub fn covers(&self, joint: &str) -> Vec<&What> {
        self.what
            .iter()
            .zip(&self.pieces)
            .filter(|(w, _)| matches!(w, What::Bolt(j) if j == joint))
            .flat_map(|(_, p)| p.ways.iter().flat_map(|w| &w.blocked_by))
            .map(|&i| &self.what[i])
            .collect()
    }

    /// In words what keeps the stuck pieces from coming apart.
    #[must_use]
    pub fn stuck_words(&self) -> Vec<String> {
        let Err(stuck) = &self.order else {
            return Vec::new();
        };
        stuck
            .left
            .iter()
            .map(|&i| {
                let by = |set: &BTreeSet<usize>| {
                    let names: Vec<String> = set
                        .intersection(&stuck.left)
                        .map(|&k| self.what[k].words())
                        .collect();
                    names.join(", ")
                };
                let piece = &self.pieces[i];
                let held = by(&piece.held_by);
                let name = self.what[i].words();
                if !held.is_empty() {
                    return format!("{name} is held by {held}");
                }
                let ways: Vec<String> = piece
                    .ways
                    .iter()
                    .map(|w| {
                        let mut who = by(&w.blocked_by);
                        if let Some(f) = &w.fixed {
                            if !who.is_empty() {
                                who.push_str(", ");
                            }
                            who.push_str(f);
                        }
                        format!("{} of {who}", w.to)
                    })
                    .collect();
                format!("{name} does not come off: {}", ways.join("; "))
            })
            .collect()
    }
}

/// Directions in which something may come off, engine frame, in the order they are tried.
fn directions() -> [(&'static str, Vector3); 9] {
    let d = std::f64::consts::FRAC_1_SQRT_2;
    [
        ("to the front", Vector3::Z),
        ("to the right", Vector3::X),
        ("to the left", -Vector3::X),
        ("upwards", Vector3::Y),
        ("downwards", -Vector3::Y),
        ("up to the right", Vector3::new(d, d, 0.0)),
        ("up to the left", Vector3::new(-d, d, 0.0)),
        ("down to the right", Vector3::new(d, -d, 0.0)),
        ("down to the left", Vector3::new(-d, -d, 0.0)),
    ]
}

/// The order in which a laid-out set goes together.
///
/// Plates and accessories come off in one straight move; where the way square off the plate, or to the
/// front, is enough for an order, no other is looked at. Heads are reached straight along their axes.
/// Belt and hoses come last and are left out.
#[must_use]
pub fn assemble(s: &Sources<'_>) -> Assembly {
    let bodies = surroundings::bodies(s);
    let set = Set::of(s, &bodies);
    let mut pieces: Vec<Piece> = (0..set.what.len()).map(|i| set.piece(i)).collect();
    // One more direction for everything that is stuck, until it comes apart or none is left.
    let mut next = vec![0_usize; pieces.len()];
    for (i, n) in next.iter_mut().enumerate() {
        set.further_way(i, n, &mut pieces[i]);
    }
    let mut found = order(&pieces);
    while let Err(stuck) = &found {
        let mut more = false;
        for &i in &stuck.left {
            more |= set.further_way(i, &mut next[i], &mut pieces[i]);
        }
        if !more {
            break;
        }
        found = order(&pieces);
    }
    Assembly {
        what: set.what,
        pieces,
        order: found,
    }
}

struct Set<'a> {
    s: &'a Sources<'a>,
    bodies: &'a [Body],
    what: Vec<What>,
    scene: Scene,
    limits: Limits,
}

impl<'a> Set<'a> {
    fn of(s: &'a Sources<'a>, bodies: &'a [Body]) -> Self {
        let mut what: Vec<What> = Vec::new();
        what.extend(s.layout.plates.iter().map(|p| What::Plate(p.id.clone())));
        what.extend(
            s.layout
                .placed
                .iter()
                .map(|p| What::Accessory(p.id.clone())),
        );
        for j in &s.layout.joints {
            what.extend((0..j.spacers().count()).map(|n| What::Spacer(j.id.clone(), n)));
            what.push(What::Bolt(j.id.clone()));
        }
        // Plain obstacles, each for itself: whatever touches by design is told apart below.
        let plain: Vec<Body> = bodies
            .iter()
            .filter(|b| !matches!(b.kind, Kind::Belt | Kind::Hose | Kind::Tool))
            .map(|b| Body {
                kind: Kind::Fixed,
                part_of: b.id.clone(),
                ..b.clone()
            })
            .collect();
        Self {
            s,
            bodies,
            what,
            scene: Scene::of(&plain, &[]),
            limits: Limits::standard(),
        }
    }

    fn index(&self, what: &What) -> Option<usize> {
        self.what.iter().position(|w| w == what)
    }

    fn joint(&self, id: &str) -> Option<&'a Joint> {
        self.s.layout.joints.iter().find(|j| j.id == id)
    }

    /// The piece a body is of; `None` for what is fixed to the block.
    fn piece_of(&self, body: &Body) -> Option<usize> {
        if let Some(joint) = body.part_of.strip_prefix("joint ") {
            let spacer = body
                .id
                .strip_prefix("spacer ")
                .and_then(|r| r.split(' ').next())
                .and_then(|n| n.parse::<usize>().ok());
            return match spacer {
                Some(n) => self.index(&What::Spacer(joint.to_owned(), n.saturating_sub(1))),
                None => self.index(&What::Bolt(joint.to_owned())),
            };
        }
        body.id
            .strip_prefix("plate ")
            .and_then(|p| self.index(&What::Plate(p.to_owned())))
            .or_else(|| self.index(&What::Accessory(body.part_of.clone())))
    }

    /// Whether a joint passes a plate or an accessory.
    fn takes(&self, joint: &Joint, i: usize) -> bool {
        joint.layers.iter().any(|l| self.layer_is(&l.part, i))
    }

    fn layer_is(&self, part: &Part, i: usize) -> bool {
        match (part, &self.what[i]) {
            (Part::Plate(p), What::Plate(q)) => p == q,
            (Part::Ear(e), What::Accessory(a)) => e.owner == *a,
            _ => false,
        }
    }

    /// A piece with what holds it; its ways are added later.
    fn piece(&self, i: usize) -> Piece {
        let joints = &self.s.layout.joints;
        let mut held_by = BTreeSet::new();
        match &self.what[i] {
            What::Bolt(_) => {}
            What::Plate(_) | What::Accessory(_) => {
                for j in joints.iter().filter(|j| self.takes(j, i)) {
                    held_by.extend(self.index(&What::Bolt(j.id.clone())));
                    for (n, (below, above)) in around_spacers(j).into_iter().enumerate() {
                        let is = |p: Option<&Part>| p.is_some_and(|p| self.layer_is(p, i));
                        let slips_in = slips_in(j, below, above);
                        if is(below) || (is(above) && slips_in) {
                            held_by.extend(self.index(&What::Spacer(j.id.clone(), n)));
                        }
                    }
                }
            }
            What::Spacer(joint, n) => {
                held_by.extend(self.index(&What::Bolt(joint.clone())));
                if let Some(j) = self.joint(joint)
                    && let Some(&(below, Some(above))) = around_spacers(j).get(*n)
                    && !slips_in(j, below, Some(above))
                {
                    held_by.extend((0..self.what.len()).filter(|&k| self.layer_is(above, k)));
                }
            }
        }
        Piece {
            held_by,
            ways: Vec::new(),
            rank: self.rank(i),
        }
    }

    /// Plates in job order, each with its spacers before and its bolts after it; then the accessories.
    fn rank(&self, i: usize) -> (usize, usize, usize) {
        let group = |j: &Joint| {
            let plates = self.s.layout.plates.len();
            let ear = j.layers.iter().find_map(|l| match &l.part {
                Part::Ear(e) => self.s.layout.placed.iter().position(|p| p.id == e.owner),
                _ => None,
            });
            let plate = j.layers.iter().rev().find_map(|l| match &l.part {
                Part::Plate(p) => self.s.layout.plates.iter().position(|q| q.id == *p),
                _ => None,
            });
            ear.map_or(plate.unwrap_or(0), |e| plates + e)
        };
        match &self.what[i] {
            What::Plate(_) | What::Accessory(_) => (i, 1, i),
            What::Spacer(j, _) => (self.joint(j).map_or(0, group), 0, i),
            What::Bolt(j) => (self.joint(j).map_or(0, group), 2, i),
        }
    }

    /// Looks at one more way off; false where there is none.
    fn further_way(&self, i: usize, next: &mut usize, piece: &mut Piece) -> bool {
        let way = match &self.what[i] {
            What::Bolt(j) if *next == 0 => Some(self.reached(i, j)),
            What::Spacer(..) if *next == 0 => Some(WayOff {
                to: "",
                blocked_by: BTreeSet::new(),
                fixed: None,
            }),
            What::Bolt(_) | What::Spacer(..) => None,
            What::Plate(p) => {
                let frame = self
                    .s
                    .layout
                    .plates
                    .iter()
                    .find(|q| q.id == *p)
                    .map(|q| q.frame);
                frame
                    .and_then(|f| plate_directions(&f).get(*next).copied())
                    .map(|(to, d)| self.slid(i, to, d))
            }
            What::Accessory(_) => directions().get(*next).map(|(to, d)| self.slid(i, to, *d)),
        };
        *next += 1;
        let more = way.is_some();
        piece.ways.extend(way);
        more
    }

    /// The way of a bolt: its head reached straight along its axis.
    fn reached(&self, i: usize, joint: &str) -> WayOff {
        let mut blocked_by = BTreeSet::new();
        let id = format!("socket on {joint}");
        if let (Some(tool), Some(j)) = (self.bodies.iter().find(|b| b.id == id), self.joint(joint))
        {
            let tool = Body {
                kind: Kind::Fixed,
                part_of: tool.id.clone(),
                ..tool.clone()
            };
            for other in self
                .bodies
                .iter()
                .filter(|b| !matches!(b.kind, Kind::Belt | Kind::Hose | Kind::Tool))
            {
                // What is fixed to the block is judged with the room for the socket.
                let Some(k) = self.piece_of(other).filter(|&k| k != i) else {
                    continue;
                };
                // An envelope is coarse round its own lugs.
                if self.takes(j, k) || matches!(&self.what[k], What::Spacer(own, _) if own == joint)
                {
                    continue;
                }
                let pair = Scene::of(
                    &[
                        tool.clone(),
                        Body {
                            kind: Kind::Fixed,
                            part_of: other.id.clone(),
                            ..other.clone()
                        },
                    ],
                    &[],
                );
                if pair
                    .gap_between(0, 1, &self.limits)
                    .is_some_and(|g| g.gap_mm < -RUB_MM)
                {
                    blocked_by.insert(k);
                }
            }
        }
        WayOff {
            to: "along its axis",
            blocked_by,
            fixed: None,
        }
    }

    /// The way of a plate or accessory moved in one direction.
    fn slid(&self, i: usize, to: &'static str, direction: Vector3) -> WayOff {
        let mut way = WayOff {
            to,
            blocked_by: BTreeSet::new(),
            fixed: None,
        };
        let motion = Motion::Slide {
            by: direction * OFF_MM,
        };
        let mine =
            |b: &&Body| self.piece_of(b) == Some(i) && !matches!(b.kind, Kind::Belt | Kind::Tool);
        for body in self.bodies.iter().filter(mine) {
            let moving = Body {
                kind: Kind::Fixed,
                part_of: "moving".to_owned(),
                ..body.clone()
            };
            for gap in self
                .scene
                .gaps_on_the_way(&moving, &motion, &self.limits, 0.0)
            {
                if gap.gap_mm >= -RUB_MM {
                    continue;
                }
                let Some(other) = self.bodies.iter().find(|b| b.id == gap.second) else {
                    continue;
                };
                let k = self.piece_of(other);
                if k == Some(i) || self.is_own(i, k) || self.clash_at_rest(body, other) {
                    continue;
                }
                match k {
                    Some(k) => {
                        way.blocked_by.insert(k);
                    }
                    None => way.fixed = way.fixed.or_else(|| Some(other.id.clone())),
                }
            }
        }
        way
    }

    /// Bolts and spacers of a piece's own joints: they hold it, or go with it, as told elsewhere.
    fn is_own(&self, i: usize, other: Option<usize>) -> bool {
        let joint = match other.map(|k| &self.what[k]) {
            Some(What::Bolt(j) | What::Spacer(j, _)) => self.joint(j),
            _ => None,
        };
        joint.is_some_and(|j| self.takes(j, i))
    }

    /// Bodies that overlap as they stand are judged with the gaps; no move can tell more of them.
    fn clash_at_rest(&self, a: &Body, b: &Body) -> bool {
        let plain = |x: &Body| Body {
            kind: Kind::Fixed,
            part_of: x.id.clone(),
            ..x.clone()
        };
        Scene::of(&[plain(a), plain(b)], &[])
            .gap_between(0, 1, &self.limits)
            .is_some_and(|g| g.gap_mm < -RUB_MM)
    }
}

/// Square off the plate first, then in its plane.
fn plate_directions(frame: &Frame) -> Vec<(&'static str, Vector3)> {
    let square = directions()
        .into_iter()
        .find(|(_, d)| (*d - frame.normal).length() < 1e-6)
        .map_or("square off its face", |(to, _)| to);
    let mut out = vec![(square, frame.normal)];
    out.extend(
        directions()
            .into_iter()
            .filter(|(_, d)| d.dot(frame.normal).abs() < 1e-6),
    );
    out
}

/// For every spacer of a joint, low to high, what lies on its thread side and on its head side.
fn around_spacers(j: &Joint) -> Vec<(Option<&Part>, Option<&Part>)> {
    let part = |k: Option<usize>| k.and_then(|k| j.layers.get(k)).map(|l| &l.part);
    j.layers
        .iter()
        .enumerate()
        .filter(|(_, l)| matches!(l.part, Part::Spacer { .. }))
        .map(|(k, _)| {
            let (low, high) = (part(k.checked_sub(1)), part(Some(k + 1)));
            if j.head_high {
                (low, high)
            } else {
                (high, low)
            }
        })
        .collect()
}

/// Whether a spacer is slipped in between two parts that are on already: beside an accessory that
/// reaches round its plate, or hangs behind it.
fn slips_in(j: &Joint, below: Option<&Part>, above: Option<&Part>) -> bool {
    let both_sides = |p: Option<&Part>| match p {
        Some(Part::Ear(e)) => {
            j.layers
                .iter()
                .filter(|l| matches!(&l.part, Part::Ear(o) if o.owner == e.owner))
                .count()
                > 1
        }
        _ => false,
    };
    let behind = matches!((below, above), (Some(Part::Ear(_)), Some(Part::Plate(_))));
    behind || both_sides(below) || both_sides(above)
}
