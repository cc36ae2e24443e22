//! The pieces of a set, and what stands in the way of each: bolts, spacers, plates, accessories.

use std::collections::BTreeSet;
use std::sync::Arc;

use crate::clearance::{Body, Motion, ReadyBody, Scene, Solid};
use crate::geom::{Frame, Point, Point3, Vector3};
use crate::layout::{Joint, Part};
use crate::surroundings::{self, Sources};
use crate::tables::gap::{Kind, Limits};
use crate::tol;

use super::order::{Piece, Put, Stuck, WayOff, early, order};

/// How far a piece is moved to be off, mm: past anything on the engine's front.
const OFF_MM: f64 = 400.0;

/// Parts that slide along each other may overlap by this much on paper, mm (the sweep's own bound and
/// a deburred edge).
const RUB_MM: f64 = 0.1;

/// Least step along a way, mm: a corner that reaches in for less is a burr.
const LEAST_STEP_MM: f64 = 0.5;

/// Ways told of for one stuck piece.
const TOLD: usize = 3;

/// Directions tried before anything is taken apart further: to the front and square to the sides.
const SQUARE: usize = 5;

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
    /// An accessory's pulley, where it has to come off by itself.
    Pulley(String),
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
            Self::Pulley(a) => format!("the pulley of {a}"),
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
        let by = |set: &BTreeSet<usize>| -> Vec<String> {
            set.intersection(&stuck.left)
                .map(|&k| self.what[k].words())
                .collect()
        };
        let (held, free): (Vec<usize>, Vec<usize>) = stuck
            .left
            .iter()
            .partition(|&&i| !self.pieces[i].held_by.is_disjoint(&stuck.left));
        let mut out: Vec<String> = free
            .into_iter()
            .map(|i| {
                let ways: Vec<String> = self.pieces[i]
                    .ways
                    .iter()
                    .take(TOLD)
                    .map(|w| {
                        let mut who = by(&w.blocked_by);
                        who.extend(w.fixed.clone());
                        format!("{} stands in the way {}", who.join(" and "), w.to)
                    })
                    .collect();
                format!("{}: {}", self.what[i].words(), ways.join(", "))
            })
            .collect();
        out.extend(held.into_iter().filter_map(|i| match self.what[i] {
            What::Plate(_) | What::Accessory(_) => Some(format!(
                "{}: held by {}",
                self.what[i].words(),
                by(&self.pieces[i].held_by).join(" and ")
            )),
            _ => None,
        }));
        out
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
/// Plates and accessories come off in one straight move. What is tried first is the way square off the
/// plate, or to the front; then accessories to the sides; then the pulleys of stuck accessories by
/// themselves; then every direction for everything. Heads are reached straight along their axes. Belt
/// and hoses come last and are left out.
#[must_use]
pub fn assemble(s: &Sources<'_>) -> Assembly {
    let bodies = surroundings::bodies(s);
    let whole = attempt(s, &bodies, &BTreeSet::new(), false);
    let Err(stuck) = &whole.order else {
        return whole;
    };
    let loose: BTreeSet<String> = stuck
        .left
        .iter()
        .filter_map(|&i| match &whole.what[i] {
            What::Accessory(a) => Some(a.clone()),
            _ => None,
        })
        .collect();
    let parted = attempt(s, &bodies, &loose, false);
    if parted.order.is_ok() {
        return parted;
    }
    attempt(s, &bodies, &loose, true)
}

/// Looks for an order with the pulleys of `loose` accessories as pieces of their own; `thorough`
/// tries every direction.
fn attempt(s: &Sources<'_>, bodies: &[Body], loose: &BTreeSet<String>, thorough: bool) -> Assembly {
    let set = Set::of(s, bodies, loose);
    let mut pieces: Vec<Piece> = (0..set.what.len()).map(|i| set.piece(i)).collect();
    // One more direction for everything that is stuck, until it comes apart or none is left.
    let mut next = vec![0_usize; pieces.len()];
    for (i, n) in next.iter_mut().enumerate() {
        set.further_way(i, n, &mut pieces[i], true);
    }
    let mut found = order(&pieces);
    while let Err(stuck) = &found {
        let mut more = false;
        for &i in &stuck.left {
            more |= set.further_way(i, &mut next[i], &mut pieces[i], thorough);
        }
        if !more {
            break;
        }
        found = order(&pieces);
    }
    // A bolt goes in as soon as what it holds is on, and before it the spacers slipped in on its axis.
    let soon: BTreeSet<usize> = (0..pieces.len())
        .filter(|&i| match &set.what[i] {
            What::Bolt(_) => true,
            What::Spacer(..) => {
                let bolted = |k: &usize| matches!(set.what[*k], What::Bolt(_));
                pieces[i].held_by.iter().all(bolted)
                    && pieces.iter().any(|p| p.held_by.contains(&i))
            }
            _ => false,
        })
        .collect();
    Assembly {
        order: found.map(|puts| early(&pieces, &puts, &soon)),
        what: set.what,
        pieces,
    }
}

/// One solid of what is on the engine, with the box round it.
struct Block {
    piece: Option<usize>,
    body: usize,
    solid: Solid,
    ready: Arc<ReadyBody>,
    bounds: [(f64, f64); 3],
}

struct Set<'a> {
    s: &'a Sources<'a>,
    bodies: &'a [Body],
    what: Vec<What>,
    solids: Vec<Block>,
    limits: Limits,
    /// Accessories whose pulleys come off by themselves and whose spacers are slipped in last.
    loose: BTreeSet<String>,
}

impl<'a> Set<'a> {
    fn of(s: &'a Sources<'a>, bodies: &'a [Body], loose: &BTreeSet<String>) -> Self {
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
        what.extend(loose.iter().map(|a| What::Pulley(a.clone())));
        let mut set = Self {
            s,
            bodies,
            what,
            solids: Vec::new(),
            limits: Limits::standard(),
            loose: loose.clone(),
        };
        for (k, b) in bodies.iter().enumerate() {
            if matches!(b.kind, Kind::Belt | Kind::Hose | Kind::Tool) {
                continue;
            }
            let piece = set.piece_of(b);
            set.solids.extend(b.solids.iter().map(|solid| Block {
                piece,
                body: k,
                solid: solid.clone(),
                ready: ready(solid),
                bounds: bounds(solid),
            }));
        }
        set
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
        if let Some(pulley) = self.index(&What::Pulley(body.part_of.clone()))
            && body.id == format!("{} pulley", body.part_of)
        {
            return Some(pulley);
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
            What::Bolt(_) | What::Pulley(_) => {}
            What::Plate(_) | What::Accessory(_) => {
                for j in joints.iter().filter(|j| self.takes(j, i)) {
                    held_by.extend(self.index(&What::Bolt(j.id.clone())));
                    for (n, (below, above)) in around_spacers(j).into_iter().enumerate() {
                        let is = |p: Option<&Part>| p.is_some_and(|p| self.layer_is(p, i));
                        let slips_in = self.slips_in(j, below, above);
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
                    && !self.slips_in(j, below, Some(above))
                {
                    held_by.extend((0..self.what.len()).filter(|&k| self.layer_is(above, k)));
                }
            }
        }
        if let What::Accessory(a) = &self.what[i] {
            held_by.extend(self.index(&What::Pulley(a.clone())));
        }
        Piece {
            held_by,
            ways: Vec::new(),
            rank: self.rank(i),
        }
    }

    /// Whether a spacer is slipped in between two parts that are on already: beside an accessory that
    /// reaches round its plate, hangs behind it, or does not come off otherwise.
    fn slips_in(&self, j: &Joint, below: Option<&Part>, above: Option<&Part>) -> bool {
        let slips = |p: Option<&Part>| match p {
            Some(Part::Ear(e)) => {
                let ears = j
                    .layers
                    .iter()
                    .filter(|l| matches!(&l.part, Part::Ear(o) if o.owner == e.owner));
                self.loose.contains(&e.owner) || ears.count() > 1
            }
            _ => false,
        };
        let behind = matches!((below, above), (Some(Part::Ear(_)), Some(Part::Plate(_))));
        behind || slips(below) || slips(above)
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
            What::Pulley(_) => (usize::MAX, 0, i),
        }
    }

    /// Looks at one more way off; false where there is none.
    fn further_way(&self, i: usize, next: &mut usize, piece: &mut Piece, thorough: bool) -> bool {
        let few = if thorough { usize::MAX } else { SQUARE };
        let way = match &self.what[i] {
            What::Bolt(j) if *next == 0 => Some(self.reached(i, j)),
            What::Spacer(..) if *next == 0 => Some(WayOff {
                to: "",
                blocked_by: BTreeSet::new(),
                fixed: None,
            }),
            What::Pulley(_) if *next == 0 => Some(self.slid(i, "to the front", Vector3::Z)),
            What::Plate(p) if *next == 0 || thorough => {
                let place = self.s.layout.plates.iter().find(|q| q.id == *p);
                place
                    .and_then(|q| plate_directions(&q.frame).get(*next).copied())
                    .map(|(to, d)| self.slid(i, to, d))
            }
            What::Accessory(_) if *next < few => {
                directions().get(*next).map(|(to, d)| self.slid(i, to, *d))
            }
            _ => None,
        };
        *next += usize::from(way.is_some());
        let more = way.is_some();
        piece.ways.extend(way);
        more
    }

    /// The way of a bolt: its head reached straight along its axis.
    fn reached(&self, i: usize, joint: &str) -> WayOff {
        let mut blocked_by = BTreeSet::new();
        let id = format!("socket on {joint}");
        let tool = self.bodies.iter().find(|b| b.id == id);
        let room = tool.and_then(|b| b.solids.first());
        if let (Some(room), Some(j)) = (room, self.joint(joint)) {
            let (mine, tool) = (bounds(room), ready(room));
            for other in &self.solids {
                // What is fixed to the block is judged with the room for the socket.
                let Some(k) = other.piece.filter(|&k| k != i) else {
                    continue;
                };
                // An envelope is coarse round its own lugs.
                let own = self.takes(j, k)
                    || matches!(&self.what[k], What::Spacer(own, _) if own == joint)
                    || matches!(&self.what[k], What::Pulley(a)
                        if j.holes.iter().any(|h| h.owner == *a));
                if !own
                    && !blocked_by.contains(&k)
                    && overlap(&mine, &other.bounds)
                    && self.gap(&tool, &other.ready) < -RUB_MM
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
        let by = direction * OFF_MM;
        for mine in self.solids.iter().filter(|b| b.piece == Some(i)) {
            for other in &self.solids {
                let known = match other.piece {
                    Some(k) => k == i || way.blocked_by.contains(&k) || self.is_own(i, k),
                    None => way.fixed.is_some(),
                };
                if known || !self.strikes(mine, other, by) {
                    continue;
                }
                match other.piece {
                    Some(k) => {
                        way.blocked_by.insert(k);
                    }
                    None => way.fixed = Some(self.bodies[other.body].id.clone()),
                }
            }
        }
        way
    }

    /// Whether a solid on its way goes into another one.
    ///
    /// A gap shrinks by no more than the way gone, so the way may be gone in steps of the gap. Solids
    /// that overlap as they stand are judged with the gaps; no move can tell more of them.
    fn strikes(&self, mine: &Block, other: &Block, by: Vector3) -> bool {
        let Some((from, to)) = meeting(&mine.bounds, &other.bounds, by) else {
            return false;
        };
        let length = by.length();
        let motion = Motion::Slide { by };
        let body = Body::new("moving", Kind::Fixed, vec![mine.solid.clone()]);
        let mut gone = from * length;
        while gone <= to * length {
            let there = ReadyBody::new(&motion.placed(&body, gone / length));
            let gap = self.gap(&there, &other.ready);
            if gap < -RUB_MM {
                return gone > 0.0;
            }
            gone += (gap + RUB_MM).max(LEAST_STEP_MM);
        }
        false
    }

    fn gap(&self, a: &Arc<ReadyBody>, b: &Arc<ReadyBody>) -> f64 {
        Scene::new(vec![Arc::clone(a), Arc::clone(b)], &[])
            .gap_between(0, 1, &self.limits)
            .map_or(f64::INFINITY, |g| g.gap_mm)
    }

    /// Bolts and spacers of a piece's own joints, and its own pulley: they hold it, or go with it, as
    /// told elsewhere.
    fn is_own(&self, i: usize, other: usize) -> bool {
        let joint = match (&self.what[i], &self.what[other]) {
            (_, What::Bolt(j) | What::Spacer(j, _)) => self.joint(j),
            (What::Accessory(a), What::Pulley(b)) | (What::Pulley(a), What::Accessory(b)) => {
                return a == b;
            }
            _ => None,
        };
        joint.is_some_and(|j| self.takes(j, i))
    }
}

fn ready(solid: &Solid) -> Arc<ReadyBody> {
    ReadyBody::new(&Body::new("solid", Kind::Fixed, vec![solid.clone()]))
}

/// First and last share of a way, 0 to 1, at which the moving box may be in the other one.
fn meeting(moving: &[(f64, f64); 3], other: &[(f64, f64); 3], by: Vector3) -> Option<(f64, f64)> {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for ((m, o), d) in moving.iter().zip(other).zip([by.x, by.y, by.z]) {
        let (enter, leave) = (o.0 - m.1, o.1 - m.0);
        if d.abs() < tol::SNAP_MM {
            if enter > -RUB_MM || leave < RUB_MM {
                return None;
            }
            continue;
        }
        let (a, b) = (enter / d, leave / d);
        from = from.max(a.min(b));
        to = to.min(a.max(b));
    }
    (from <= to).then_some((from, to))
}

/// The box round a solid in engine x, y and z: lowest and highest, mm.
fn bounds(solid: &Solid) -> [(f64, f64); 3] {
    let points: Vec<Point3> = match solid {
        Solid::Prism(p) => {
            let e = p.region.outer.extents();
            let corners = [
                e.min,
                Point::new(e.max.x, e.min.y),
                e.max,
                Point::new(e.min.x, e.max.y),
            ];
            [p.low_mm, p.high_mm]
                .into_iter()
                .flat_map(|h| corners.map(|c| p.frame.to_engine(c, h)))
                .collect()
        }
        Solid::Tube(t) => {
            let r = Vector3::new(t.radius_mm, t.radius_mm, t.radius_mm);
            t.centres
                .iter()
                .flat_map(|&c| [c + r, c + r * -1.0])
                .collect()
        }
    };
    let range = |f: fn(&Point3) -> f64| {
        points
            .iter()
            .map(f)
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
                (l.min(v), h.max(v))
            })
    };
    [range(|p| p.x), range(|p| p.y), range(|p| p.z)]
}

/// Whether two boxes overlap by more than parts may rub.
fn overlap(a: &[(f64, f64); 3], b: &[(f64, f64); 3]) -> bool {
    a.iter()
        .zip(b)
        .all(|(a, b)| a.1.min(b.1) - a.0.max(b.0) > RUB_MM)
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
