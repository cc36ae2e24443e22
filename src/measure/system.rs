//! The observation equations: which unknowns there are and what each reading says about them.

use std::collections::BTreeMap;

use super::check::{Names, describe, label};
use super::finding::{Finding, Matter};
use super::network::{EdgeTarget, Kind, Network, Pair, Surface};

/// Turns an edge's angle into a length of the size of the other unknowns, mm: its play at this arm.
pub(super) const TURN_ARM_MM: f64 = 100.0;

/// Diameter an unmeasured rim starts from, mm; the readings decide, this only has to be of the right size.
const START_DIAMETER_MM: f64 = 10.0;

/// A coordinate that is either given or looked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Slot {
    Fixed(f64),
    Free(usize),
}

impl Slot {
    /// Its value, given the unknowns.
    pub(super) fn value(self, x: &[f64]) -> f64 {
        match self {
            Self::Fixed(v) => v,
            Self::Free(k) => x[k],
        }
    }
}

/// A diameter that enters rim readings.
#[derive(Debug, Clone, Copy)]
pub(super) struct Rim {
    pub(super) hole: usize,
    pub(super) surface: Surface,
    pub(super) slot: usize,
    pub(super) start: f64,
    /// Whether anybody measured it.
    pub(super) measured: bool,
}

/// An edge that has readings.
#[derive(Debug, Clone, Copy)]
pub(super) struct Line {
    pub(super) edge: usize,
    /// Direction from the edge to the holes, as declared, rad.
    pub(super) nominal: f64,
    pub(super) offset: Slot,
    /// Deviation from `nominal`, rad × [`TURN_ARM_MM`].
    pub(super) turn: Slot,
}

/// What an observation measures; `(rim, factor)` adds factor × diameter.
#[derive(Debug, Clone, Copy)]
pub(super) enum Target {
    Distance {
        a: usize,
        b: usize,
        rims: [Option<(usize, f64)>; 2],
    },
    FromLine {
        line: usize,
        hole: usize,
        rim: Option<(usize, f64)>,
    },
    Step {
        upper: usize,
        lower: usize,
    },
    Diameter {
        rim: usize,
    },
}

/// One observed value.
#[derive(Debug, Clone)]
pub(super) struct Observation {
    pub(super) target: Target,
    pub(super) value: f64,
    pub(super) sd: f64,
    /// Index of the reading; `None` for a measured diameter.
    pub(super) reading: Option<usize>,
    pub(super) label: String,
}

/// The unknowns and observations of a network.
#[derive(Debug, Clone)]
pub(super) struct System {
    pub(super) unknowns: usize,
    pub(super) holes: Vec<[Slot; 2]>,
    pub(super) rims: Vec<Rim>,
    pub(super) lines: Vec<Line>,
    /// Height of each face; `None` where no reading reaches it.
    pub(super) faces: Vec<Option<Slot>>,
    pub(super) observations: Vec<Observation>,
    /// Whether known holes or square edges fix the frame's direction.
    pub(super) absolute: bool,
    /// The datum pair and whether it is level (else plumb).
    pub(super) pair: Option<(usize, usize, bool)>,
}

/// A gradient: unknown and derivative.
pub(super) type Gradient = Vec<(usize, f64)>;

impl System {
    /// Position of a hole.
    pub(super) fn hole(&self, index: usize, x: &[f64]) -> [f64; 2] {
        self.holes[index].map(|s| s.value(x))
    }

    /// What observation `index` would read, and the derivatives of that.
    pub(super) fn predict(&self, target: Target, x: &[f64], gradient: &mut Gradient) -> f64 {
        gradient.clear();
        let mut push = |slot: Slot, d: f64| {
            if let Slot::Free(k) = slot {
                gradient.push((k, d));
            }
        };
        match target {
            Target::Distance { a, b, rims } => {
                let (pa, pb) = (self.hole(a, x), self.hole(b, x));
                let (dx, dy) = (pb[0] - pa[0], pb[1] - pa[1]);
                let length = dx.hypot(dy);
                // Two holes on one spot have no direction between them; any serves to part them.
                let (ux, uy) = if length > 1e-9 {
                    (dx / length, dy / length)
                } else {
                    (1.0, 0.0)
                };
                push(self.holes[a][0], -ux);
                push(self.holes[a][1], -uy);
                push(self.holes[b][0], ux);
                push(self.holes[b][1], uy);
                let mut value = length;
                for (rim, factor) in rims.into_iter().flatten() {
                    let slot = self.rims[rim].slot;
                    push(Slot::Free(slot), factor);
                    value += factor * x[slot];
                }
                value
            }
            Target::FromLine { line, hole, rim } => {
                let l = self.lines[line];
                let angle = l.nominal + l.turn.value(x) / TURN_ARM_MM;
                let (sin, cos) = angle.sin_cos();
                let p = self.hole(hole, x);
                push(self.holes[hole][0], cos);
                push(self.holes[hole][1], sin);
                push(l.offset, -1.0);
                push(l.turn, (p[1] * cos - p[0] * sin) / TURN_ARM_MM);
                let mut value = p[0] * cos + p[1] * sin - l.offset.value(x);
                if let Some((rim, factor)) = rim {
                    let slot = self.rims[rim].slot;
                    push(Slot::Free(slot), factor);
                    value += factor * x[slot];
                }
                value
            }
            Target::Step { upper, lower } => {
                let z = |f: usize| self.faces[f].unwrap_or(Slot::Fixed(0.0));
                push(z(upper), 1.0);
                push(z(lower), -1.0);
                z(upper).value(x) - z(lower).value(x)
            }
            Target::Diameter { rim } => {
                let slot = self.rims[rim].slot;
                push(Slot::Free(slot), 1.0);
                x[slot]
            }
        }
    }

    /// The unknowns before anything is known: holes at the origin, rims as measured.
    pub(super) fn blank(&self) -> Vec<f64> {
        let mut x = vec![0.0; self.unknowns];
        for rim in &self.rims {
            x[rim.slot] = rim.start;
        }
        x
    }

    /// The unknowns with the holes at `points`, edges and faces to match.
    ///
    /// `points` may lie anywhere unless the frame is absolute; they are
    /// brought into the frame of the datum pair first.
    pub(super) fn state(&self, points: &[[f64; 2]]) -> Vec<f64> {
        let mut x = self.blank();
        let placed = self.in_frame(points);
        for (slots, p) in self.holes.iter().zip(&placed) {
            for (slot, v) in slots.iter().zip(p) {
                if let Slot::Free(k) = slot {
                    x[*k] = *v;
                }
            }
        }
        self.settle_lines(&mut x);
        x
    }

    /// Turns and moves points so that the datum pair lies as defined.
    fn in_frame(&self, points: &[[f64; 2]]) -> Vec<[f64; 2]> {
        let Some((a, b, level)) = self.pair else {
            return points.to_vec();
        };
        let (pa, pb) = (points[a], points[b]);
        let now = (pb[1] - pa[1]).atan2(pb[0] - pa[0]);
        let wanted = if level {
            0.0
        } else {
            std::f64::consts::FRAC_PI_2
        };
        let (sin, cos) = (wanted - now).sin_cos();
        let turned: Vec<[f64; 2]> = points
            .iter()
            .map(|p| [p[0] * cos - p[1] * sin, p[0] * sin + p[1] * cos])
            .collect();
        // The hole with both coordinates given carries the pattern to its place.
        let anchor = self.holes.iter().zip(&turned).find_map(|(s, p)| match s {
            [Slot::Fixed(x), Slot::Fixed(y)] => Some([x - p[0], y - p[1]]),
            _ => None,
        });
        let shift = anchor.unwrap_or([0.0, 0.0]);
        turned
            .iter()
            .map(|p| [p[0] + shift[0], p[1] + shift[1]])
            .collect()
    }

    /// Sets each free edge offset to what its readings say on average.
    fn settle_lines(&self, x: &mut [f64]) {
        let mut gradient = Gradient::new();
        for (index, line) in self.lines.iter().enumerate() {
            let Slot::Free(k) = line.offset else { continue };
            x[k] = 0.0;
            let gaps: Vec<f64> = self
                .observations
                .iter()
                .filter(|o| matches!(o.target, Target::FromLine { line, .. } if line == index))
                .map(|o| self.predict(o.target, x, &mut gradient) - o.value)
                .collect();
            if !gaps.is_empty() {
                x[k] = gaps.iter().sum::<f64>() / gaps.len() as f64;
            }
        }
    }
}

/// Resolves a checked network into a system. `None` when the datum is contradictory (said in `findings`).
pub(super) fn build(
    network: &Network,
    names: &Names,
    findings: &mut Vec<Finding>,
) -> Option<System> {
    let mut builder = Builder {
        network,
        names,
        system: System {
            unknowns: 0,
            holes: Vec::new(),
            rims: Vec::new(),
            lines: Vec::new(),
            faces: Vec::new(),
            observations: Vec::new(),
            absolute: false,
            pair: None,
        },
        rims: BTreeMap::new(),
    };
    builder.datum(findings)?;
    builder.lines(findings)?;
    builder.faces(findings);
    builder.readings();
    builder.diameters();
    Some(builder.system)
}

/// The system while it is put together.
struct Builder<'a> {
    network: &'a Network,
    names: &'a Names,
    system: System,
    rims: BTreeMap<(usize, Surface), usize>,
}

impl Builder<'_> {
    /// The number of a new unknown.
    fn fresh_index(&mut self) -> usize {
        let k = self.system.unknowns;
        self.system.unknowns += 1;
        k
    }

    /// A new unknown.
    fn fresh(&mut self) -> Slot {
        Slot::Free(self.fresh_index())
    }

    /// Decides what the frame hangs on and lays out the hole coordinates.
    fn datum(&mut self, findings: &mut Vec<Finding>) -> Option<()> {
        let network = self.network;
        let source = network.datum.source;
        let known: Vec<usize> = (0..network.holes.len())
            .filter(|i| network.holes[*i].known_mm.is_some())
            .collect();
        let square = network.edges.iter().find(|e| e.square);
        self.system.absolute = known.len() >= 2 || square.is_some();
        let given = network
            .datum
            .pair
            .as_ref()
            .and_then(|p| self.resolve_pair(p));
        if self.system.absolute && given.is_some() {
            let other = match square {
                Some(edge) => format!("the square edge {}", edge.name),
                None => "two known holes".to_owned(),
            };
            findings.push(
                Finding::error(
                    Matter::Datum,
                    format!(
                        "the frame's direction is defined twice: by the datum pair and by {other}"
                    ),
                )
                .help("leave the pair out, or mark the edge as not square")
                .at([source]),
            );
            return None;
        }
        let set_by_edge = self.axes_set_by_edges();
        let mut origin = network
            .datum
            .origin
            .as_ref()
            .and_then(|n| self.names.holes.get(n).copied());
        let mut origin_mm = network.datum.origin_mm;
        if let (Some(o), Some(k)) = (origin, known.first()) {
            findings.push(
                Finding::error(
                    Matter::Datum,
                    format!(
                        "the origin is defined twice: by hole {} and by the known hole {}",
                        network.holes[o].name, network.holes[*k].name
                    ),
                )
                .help("leave out the origin")
                .at([source]),
            );
            return None;
        }
        if let Some(k) = known.first() {
            origin = Some(*k);
            origin_mm = network.holes[*k].known_mm.unwrap_or_default();
        }
        if !self.system.absolute {
            self.system.pair = Some(match given {
                Some(pair) => pair,
                None => self.assume_pair(origin, findings)?,
            });
        }
        if origin.is_none() && set_by_edge != [true, true] {
            let first = self.system.pair.map_or(0, |p| p.0);
            origin = Some(first);
            if let Some(hole) = network.holes.get(first) {
                findings.push(Finding::note(
                    Matter::Assumed,
                    format!(
                        "no origin was named: coordinates count from hole {}",
                        hole.name
                    ),
                ));
            }
        }
        self.lay_out_holes(origin, origin_mm, set_by_edge);
        Some(())
    }

    /// Which axes a square edge with a kept place sets.
    fn axes_set_by_edges(&self) -> [bool; 2] {
        let mut set = [false, false];
        for edge in &self.network.edges {
            if edge.square && edge.at_mm.is_some() {
                let axis = usize::from(edge.holes_lie.unit()[0] == 0.0);
                set[axis] = true;
            }
        }
        set
    }

    /// The hole numbers of a pair.
    fn resolve_pair(&self, pair: &Pair) -> Option<(usize, usize, bool)> {
        let (a, b, level) = match pair {
            Pair::Level(a, b) => (a, b, true),
            Pair::Plumb(a, b) => (a, b, false),
        };
        Some((*self.names.holes.get(a)?, *self.names.holes.get(b)?, level))
    }

    /// Takes the first hole and the first hole measured against it as level.
    fn assume_pair(
        &self,
        origin: Option<usize>,
        findings: &mut Vec<Finding>,
    ) -> Option<(usize, usize, bool)> {
        let pairs = self.network.readings.iter().filter_map(|r| match &r.kind {
            Kind::Inside { a, b, .. }
            | Kind::Over { a, b, .. }
            | Kind::SameSide { a, b, .. }
            | Kind::Centres { a, b } => {
                Some((*self.names.holes.get(a)?, *self.names.holes.get(b)?))
            }
            _ => None,
        });
        let first = origin.unwrap_or(0);
        let other = pairs
            .filter_map(|(a, b)| (a == first).then_some(b).or((b == first).then_some(a)))
            .min()
            .or_else(|| (0..self.network.holes.len()).find(|i| *i != first));
        let Some(other) = other else {
            findings.push(
                Finding::error(Matter::TooFew, "a network needs two holes at least")
                    .help("list the holes and the readings between them"),
            );
            return None;
        };
        let (a, b) = (
            &self.network.holes[first].name,
            &self.network.holes[other].name,
        );
        findings.push(
            Finding::note(
                Matter::Assumed,
                format!(
                    "no direction was named: hole {b} is taken to lie level with {a}, to its right"
                ),
            )
            .help("name the pair that is level, or an edge that is square"),
        );
        Some((first, other, true))
    }

    /// Gives every hole coordinate its slot.
    fn lay_out_holes(
        &mut self,
        origin: Option<usize>,
        origin_mm: [f64; 2],
        set_by_edge: [bool; 2],
    ) {
        let network = self.network;
        let mut slots: Vec<[Option<Slot>; 2]> = network
            .holes
            .iter()
            .map(|h| match h.known_mm {
                Some(p) => p.map(|v| Some(Slot::Fixed(v))),
                None => [None, None],
            })
            .collect();
        if let Some(o) = origin.and_then(|o| slots.get_mut(o)) {
            for axis in 0..2 {
                if !set_by_edge[axis] && o[axis].is_none() {
                    o[axis] = Some(Slot::Fixed(origin_mm[axis]));
                }
            }
        }
        if let Some((a, b, level)) = self.system.pair {
            let axis = usize::from(level);
            let shared = slots[a][axis].or(slots[b][axis]).unwrap_or_else(|| {
                let k = self.system.unknowns;
                self.system.unknowns += 1;
                Slot::Free(k)
            });
            slots[a][axis] = Some(shared);
            slots[b][axis] = Some(shared);
        }
        self.system.holes = slots
            .into_iter()
            .map(|s| s.map(|slot| slot.unwrap_or_else(|| self.fresh())))
            .collect();
    }

    /// Gives every edge with readings its slots.
    fn lines(&mut self, findings: &mut Vec<Finding>) -> Option<()> {
        for (index, edge) in self.network.edges.iter().enumerate() {
            let used = self
                .network
                .readings
                .iter()
                .any(|r| matches!(&r.kind, Kind::FromEdge { edge: e, .. } if *e == edge.name));
            if !used {
                findings.push(
                    Finding::note(
                        Matter::Unchecked,
                        format!("no reading was taken from edge {}", edge.name),
                    )
                    .at([edge.source]),
                );
            }
            if !edge.square && edge.at_mm.is_some() {
                findings.push(
                    Finding::error(
                        Matter::Datum,
                        format!(
                            "edge {} is not square, so it has no one place to be kept at",
                            edge.name
                        ),
                    )
                    .help("leave out its place, or mark it square")
                    .at([edge.source]),
                );
                return None;
            }
            // The place is a coordinate; the offset counts along the direction to the holes.
            let sign = edge.holes_lie.unit().iter().sum::<f64>();
            let offset = match edge.at_mm {
                Some(at) => Slot::Fixed(sign * at),
                None => self.fresh_if(used),
            };
            let turn = if edge.square {
                Slot::Fixed(0.0)
            } else {
                self.fresh_if(used)
            };
            self.system.lines.push(Line {
                edge: index,
                nominal: edge.holes_lie.angle(),
                offset,
                turn,
            });
        }
        Some(())
    }

    /// A new unknown where one is wanted.
    fn fresh_if(&mut self, wanted: bool) -> Slot {
        if wanted {
            self.fresh()
        } else {
            Slot::Fixed(0.0)
        }
    }

    /// Gives every face that a reading reaches its height.
    fn faces(&mut self, findings: &mut Vec<Finding>) {
        let network = self.network;
        let reached = |name: &str| {
            network
                .readings
                .iter()
                .any(|r| matches!(&r.kind, Kind::Step { upper, lower } if upper == name || lower == name))
        };
        let any_known = network.faces.iter().any(|f| f.known_mm.is_some());
        let mut have_zero = any_known;
        for face in &network.faces {
            let slot = if let Some(z) = face.known_mm {
                Some(Slot::Fixed(z))
            } else if !reached(&face.name) {
                findings.push(
                    Finding::warning(
                        Matter::TooFew,
                        format!(
                            "no depth reading reaches face {}: its height stays unknown",
                            face.name
                        ),
                    )
                    .at([face.source]),
                );
                None
            } else if have_zero {
                Some(self.fresh())
            } else {
                have_zero = true;
                findings.push(Finding::note(
                    Matter::Assumed,
                    format!(
                        "no face height was given: heights count from face {}",
                        face.name
                    ),
                ));
                Some(Slot::Fixed(0.0))
            };
            self.system.faces.push(slot);
        }
    }

    /// The number of the rim of `hole`.
    fn rim(&mut self, hole: usize, surface: Surface) -> usize {
        if let Some(index) = self.rims.get(&(hole, surface)) {
            return *index;
        }
        let size = match surface {
            Surface::Bore => self.network.holes[hole].bore,
            Surface::Pin => self.network.holes[hole].pin,
        };
        let slot = self.fresh_index();
        let index = self.system.rims.len();
        self.system.rims.push(Rim {
            hole,
            surface,
            slot,
            start: size.map_or(START_DIAMETER_MM, |s| s.diameter_mm),
            measured: size.is_some(),
        });
        self.rims.insert((hole, surface), index);
        index
    }

    /// Turns readings into observations; names were checked before.
    fn readings(&mut self) {
        let network = self.network;
        for (index, reading) in network.readings.iter().enumerate() {
            let Some(target) = self.target(&reading.kind) else {
                continue;
            };
            self.system.observations.push(Observation {
                target,
                value: reading.value_mm,
                sd: reading.sd_mm.unwrap_or(reading.kind.default_sd_mm().0),
                reading: Some(index),
                label: label(&network.readings, index),
            });
        }
    }

    /// What a reading measures.
    fn target(&mut self, kind: &Kind) -> Option<Target> {
        let hole = |name: &String| self.names.holes.get(name).copied();
        Some(match kind {
            Kind::Inside { a, b, surface } => {
                let (a, b) = (hole(a)?, hole(b)?);
                self.distance(a, b, *surface, [-0.5, -0.5])
            }
            Kind::Over { a, b, surface } => {
                let (a, b) = (hole(a)?, hole(b)?);
                self.distance(a, b, *surface, [0.5, 0.5])
            }
            Kind::SameSide { a, b, surface } => {
                let (a, b) = (hole(a)?, hole(b)?);
                self.distance(a, b, *surface, [0.5, -0.5])
            }
            Kind::Centres { a, b } => Target::Distance {
                a: hole(a)?,
                b: hole(b)?,
                rims: [None, None],
            },
            Kind::FromEdge { edge, hole: h, to } => {
                let (line, hole) = (*self.names.edges.get(edge)?, hole(h)?);
                let rim = match to {
                    EdgeTarget::Centre => None,
                    EdgeTarget::Near(s) => Some((self.rim(hole, *s), -0.5)),
                    EdgeTarget::Far(s) => Some((self.rim(hole, *s), 0.5)),
                };
                Target::FromLine { line, hole, rim }
            }
            Kind::Step { upper, lower } => Target::Step {
                upper: *self.names.faces.get(upper)?,
                lower: *self.names.faces.get(lower)?,
            },
        })
    }

    /// A rim reading between two holes.
    fn distance(&mut self, a: usize, b: usize, surface: Surface, factors: [f64; 2]) -> Target {
        let rims = [
            Some((self.rim(a, surface), factors[0])),
            Some((self.rim(b, surface), factors[1])),
        ];
        Target::Distance { a, b, rims }
    }

    /// A measured diameter is an observation like any other.
    fn diameters(&mut self) {
        for index in 0..self.system.rims.len() {
            let rim = self.system.rims[index];
            let hole = &self.network.holes[rim.hole];
            let (size, what) = match rim.surface {
                Surface::Bore => (hole.bore, "bore"),
                Surface::Pin => (hole.pin, "pin"),
            };
            if let Some(size) = size {
                self.system.observations.push(Observation {
                    target: Target::Diameter { rim: index },
                    value: size.diameter_mm,
                    sd: size.sd_mm,
                    reading: None,
                    label: format!("the {what} of {}, ⌀", hole.name),
                });
            }
        }
    }
}

/// Words for what a reading in a system is between, for messages about one not yet taken.
pub(super) fn proposal_words(network: &Network, target: Target, system: &System) -> String {
    match target {
        Target::Distance { a, b, .. } => describe(&Kind::Centres {
            a: network.holes[a].name.clone(),
            b: network.holes[b].name.clone(),
        }),
        Target::FromLine { line, hole, .. } => format!(
            "{} from edge {}",
            network.holes[hole].name, network.edges[system.lines[line].edge].name
        ),
        Target::Step { upper, lower } => {
            format!(
                "{} down to {}",
                network.faces[upper].name, network.faces[lower].name
            )
        }
        Target::Diameter { rim } => {
            let rim = system.rims[rim];
            let what = match rim.surface {
                Surface::Bore => "bore",
                Surface::Pin => "pin",
            };
            format!(
                "the diameter of the {what} of {}",
                network.holes[rim.hole].name
            )
        }
    }
}
