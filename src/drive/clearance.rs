//! Gaps inside the drive over the sweep of the arm or the slot: belt, pulleys and what stands near them.

use serde::Serialize;

use super::gap;
use super::input::{Drive, Obstacle, Rotation, Side};
use super::limits;
use super::path::{BeltPath, Contact, Span};
use super::xy;
use crate::geom::{Path, Point, Segment, Vector};

/// Golden ratio's inverse, for the search of the least gap.
const GOLDEN: f64 = 0.618_033_988_749_894_9;

/// Steps of that search: 0.618³⁰ narrows a sweep interval two-millionfold.
const GOLDEN_STEPS: usize = 30;

/// What is near what.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum GapKind {
    /// A span passes a pulley.
    SpanToPulley,
    /// A span passes another.
    SpanToSpan,
    /// A pulley, with the belt on it, stands beside another.
    PulleyToPulley,
    /// The belt runs past a fixed part.
    BeltToObstacle,
    /// A pulley turns beside a fixed part.
    PulleyToObstacle,
}

impl GapKind {
    /// The least gap of this kind, mm.
    #[must_use]
    pub const fn limit_mm(self) -> f64 {
        match self {
            Self::SpanToPulley => limits::BELT_TO_PULLEY_MM,
            Self::SpanToSpan => limits::BELT_TO_BELT_MM,
            Self::PulleyToPulley => limits::PULLEY_TO_PULLEY_MM,
            Self::BeltToObstacle => limits::BELT_TO_FIXED_MM,
            Self::PulleyToObstacle => limits::PULLEY_TO_FIXED_MM,
        }
    }
}

/// The least gap of one pair over the sweep.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Gap {
    /// Kind of pair.
    pub kind: GapKind,
    /// First of the pair.
    pub a: String,
    /// Second of the pair.
    pub b: String,
    /// Least gap, mm; 0 or less where they touch.
    pub gap_mm: f64,
    /// Limit for the kind, mm.
    pub limit_mm: f64,
    /// Where, mm.
    #[serde(serialize_with = "xy::point")]
    pub at_mm: Point,
    /// Position of the sweep at which it is least, 0 (first) to 1 (last); beyond either while fitting the belt.
    pub sweep: f64,
}

#[derive(Debug, Clone, Copy)]
enum Pair {
    SpanPulley(usize, usize),
    SpanSpan(usize, usize),
    PulleyPulley(usize, usize),
    BeltObstacle(usize),
    PulleyObstacle(usize, usize),
}

impl Pair {
    const fn kind(self) -> GapKind {
        match self {
            Self::SpanPulley(..) => GapKind::SpanToPulley,
            Self::SpanSpan(..) => GapKind::SpanToSpan,
            Self::PulleyPulley(..) => GapKind::PulleyToPulley,
            Self::BeltObstacle(_) => GapKind::BeltToObstacle,
            Self::PulleyObstacle(..) => GapKind::PulleyToObstacle,
        }
    }

    fn names(self, drive: &Drive, path: &BeltPath) -> (String, String) {
        let pulley = |k: usize| path.contacts[k].id.clone();
        let span = |i: usize| format!("span {}", path.spans[i].number);
        match self {
            Self::SpanPulley(i, k) => (span(i), pulley(k)),
            Self::SpanSpan(i, j) => (span(i), span(j)),
            Self::PulleyPulley(j, k) => (pulley(j), pulley(k)),
            Self::BeltObstacle(o) => ("belt".to_owned(), drive.obstacles[o].id.clone()),
            Self::PulleyObstacle(k, o) => (pulley(k), drive.obstacles[o].id.clone()),
        }
    }
}

/// One position of the sweep: the path and the belt's two faces there.
struct Scene<'a> {
    drive: &'a Drive,
    path: BeltPath,
    back: Path,
    ribs: Path,
}

impl<'a> Scene<'a> {
    fn of(drive: &'a Drive, path: BeltPath) -> Self {
        let section = &drive.belt.section;
        Self {
            back: path.offset_loop(section.back_offset_mm),
            ribs: path.offset_loop(-section.rib_depth_mm()),
            drive,
            path,
        }
    }

    fn measure(&self, pair: Pair) -> (f64, Point) {
        match pair {
            Pair::SpanPulley(i, k) => self.span_to_pulley(i, k),
            Pair::SpanSpan(i, j) => self.span_to_span(i, j),
            Pair::PulleyPulley(j, k) => self.pulley_to_pulley(j, k),
            Pair::BeltObstacle(o) => self.belt_to_obstacle(&self.drive.obstacles[o]),
            Pair::PulleyObstacle(k, o) => self.pulley_to_obstacle(k, &self.drive.obstacles[o]),
        }
    }

    /// Thickness of the belt from its effective line towards `v`, for a span.
    fn towards(&self, span: &Span, v: Vector) -> f64 {
        let left = span.direction.cross(v) > 0.0;
        let rib_side_is_left = self.path.travel == Rotation::CounterClockwise;
        if left == rib_side_is_left {
            self.drive.belt.section.rib_depth_mm()
        } else {
            self.drive.belt.section.back_offset_mm
        }
    }

    fn rim(&self, k: usize) -> f64 {
        0.5 * self.drive.pulleys[self.path.contacts[k].pulley].rim_diameter_mm
    }

    /// Outermost radius of pulley `k` in the direction `v`: its rim, or the belt lying on it.
    fn reach(&self, k: usize, v: Vector) -> f64 {
        let contact = &self.path.contacts[k];
        let section = &self.drive.belt.section;
        let belt = contact.line_radius_mm
            + match contact.side {
                Side::Rib => section.back_offset_mm,
                Side::Back => section.rib_depth_mm(),
            };
        if wrapped(contact).spans_angle(v.angle()) {
            belt.max(self.rim(k))
        } else {
            self.rim(k)
        }
    }

    fn span_to_pulley(&self, i: usize, k: usize) -> (f64, Point) {
        let (span, centre) = (&self.path.spans[i], self.path.contacts[k].centre_mm);
        let at = line(span).nearest(centre);
        let v = centre - at;
        let gap = v.length() - self.towards(span, v) - self.reach(k, -v);
        (gap, at)
    }

    fn span_to_span(&self, i: usize, j: usize) -> (f64, Point) {
        let (p, q) = (&self.path.spans[i], &self.path.spans[j]);
        let n = gap::segments(&line(p), &line(q));
        let v = n.b - n.a;
        let gap = n.distance - self.towards(p, v) - self.towards(q, -v);
        (gap, n.a.midpoint(n.b))
    }

    fn pulley_to_pulley(&self, j: usize, k: usize) -> (f64, Point) {
        let (a, b) = (
            self.path.contacts[j].centre_mm,
            self.path.contacts[k].centre_mm,
        );
        let v = b - a;
        let (ra, rb) = (self.reach(j, v), self.reach(k, -v));
        let gap = v.length() - ra - rb;
        let at = v.unit().map_or(a, |u| a + u * (ra + 0.5 * gap));
        (gap, at)
    }

    fn belt_to_obstacle(&self, o: &Obstacle) -> (f64, Point) {
        let half = 0.5 * self.drive.belt.width_mm();
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for p in &self.drive.pulleys {
            low = low.min(p.rib_plane_z_mm - half);
            high = high.max(p.rib_plane_z_mm + half);
        }
        let (back, ribs) = (
            gap::loops(&self.back, &o.outline),
            gap::loops(&self.ribs, &o.outline),
        );
        let n = if back.distance <= ribs.distance {
            back
        } else {
            ribs
        };
        // An obstacle that touches neither face may still lie wholly within the belt.
        let within = o
            .outline
            .segments
            .first()
            .is_some_and(|s| self.back.contains(s.from()) && !self.ribs.contains(s.from()));
        let planar = if within { -n.distance } else { n.distance };
        (with_z(planar, low, high, o), n.a)
    }

    fn pulley_to_obstacle(&self, k: usize, o: &Obstacle) -> (f64, Point) {
        let contact = &self.path.contacts[k];
        let pulley = &self.drive.pulleys[contact.pulley];
        let centre = contact.centre_mm;
        let nearest = o.outline.nearest(centre);
        let outside = -o.outline.signed_distance(centre);
        let planar = outside - self.rim(k);
        let half = 0.5 * pulley.width_mm;
        let z = pulley.rib_plane_z_mm;
        (with_z(planar, z - half, z + half, o), nearest)
    }
}

/// A gap in the plane and one along z together: what is apart in z counts by its distance in space.
fn with_z(planar_mm: f64, low_mm: f64, high_mm: f64, o: &Obstacle) -> f64 {
    let z_gap = (o.z_from_mm - high_mm).max(low_mm - o.z_to_mm);
    if z_gap > 0.0 {
        z_gap.hypot(planar_mm.max(0.0))
    } else {
        planar_mm
    }
}

fn line(span: &Span) -> Segment {
    Segment::Line {
        from: span.start_mm,
        to: span.end_mm,
    }
}

fn wrapped(contact: &Contact) -> Segment {
    Segment::Arc {
        from: contact.arrives_mm,
        to: contact.leaves_mm,
        centre: contact.centre_mm,
        radius: contact.line_radius_mm,
        ccw: contact.turns == Rotation::CounterClockwise,
    }
}

fn pairs(drive: &Drive, path: &BeltPath) -> Vec<Pair> {
    let n = path.contacts.len();
    let mut pairs = Vec::new();
    for i in 0..n {
        for k in (0..n).filter(|&k| k != i && k != (i + 1) % n) {
            pairs.push(Pair::SpanPulley(i, k));
        }
    }
    for i in 0..n {
        for j in (i + 2)..n {
            // Neighbouring spans meet at their pulley.
            if (j + 1) % n != i {
                pairs.push(Pair::SpanSpan(i, j));
            }
        }
    }
    for j in 0..n {
        for k in (j + 1)..n {
            pairs.push(Pair::PulleyPulley(j, k));
        }
    }
    for (o, obstacle) in drive.obstacles.iter().enumerate() {
        pairs.push(Pair::BeltObstacle(o));
        for k in 0..n {
            // A pulley is made to fit its own accessory.
            if drive.pulleys[path.contacts[k].pulley].owner != obstacle.owner {
                pairs.push(Pair::PulleyObstacle(k, o));
            }
        }
    }
    pairs
}

/// Least gap of every pair over a sweep.
///
/// `positions` are parameters of the sweep in rising order, `path_at` gives the
/// path at one (and `None` where there is none, which counts as a touch).
/// Between neighbouring positions the least gap is refined, so a gap that
/// closes in mid-sweep is found. `fitting` is a position taken only while the
/// belt is put on: there the pulleys must clear, the belt hangs loose.
pub(super) fn survey(
    drive: &Drive,
    positions: &[f64],
    fitting: Option<f64>,
    path_at: &impl Fn(f64) -> Option<BeltPath>,
) -> Vec<Gap> {
    let scene = |q: f64| path_at(q).map(|path| (q, Scene::of(drive, path)));
    let scenes: Vec<(f64, Scene<'_>)> = positions.iter().filter_map(|&q| scene(q)).collect();
    let loose = fitting.and_then(scene);
    let Some((_, first)) = scenes.first() else {
        return Vec::new();
    };
    let (start, end) = (scenes[0].0, scenes[scenes.len() - 1].0);
    let mut gaps: Vec<Gap> = pairs(drive, &first.path)
        .into_iter()
        .map(|pair| {
            let (mut q, mut gap_mm, mut at_mm) = least(drive, &scenes, pair, path_at);
            let (a, b) = pair.names(drive, &first.path);
            let kind = pair.kind();
            if let (Some((at, scene)), Pair::PulleyPulley(..) | Pair::PulleyObstacle(..)) =
                (&loose, pair)
            {
                let (gap, place) = scene.measure(pair);
                if gap < gap_mm {
                    (q, gap_mm, at_mm) = (*at, gap, place);
                }
            }
            Gap {
                kind,
                a,
                b,
                gap_mm,
                limit_mm: kind.limit_mm(),
                at_mm,
                sweep: if end > start {
                    (q - start) / (end - start)
                } else {
                    0.0
                },
            }
        })
        .collect();
    for &q in positions {
        if !scenes.iter().any(|(at, _)| at.total_cmp(&q).is_eq()) {
            gaps.push(Gap {
                kind: GapKind::SpanToPulley,
                a: "belt".to_owned(),
                b: "no path at this position".to_owned(),
                gap_mm: 0.0,
                limit_mm: GapKind::SpanToPulley.limit_mm(),
                at_mm: first.path.contacts[0].centre_mm,
                sweep: (q - start) / (end - start),
            });
        }
    }
    gaps.sort_by(|a, b| (a.gap_mm - a.limit_mm).total_cmp(&(b.gap_mm - b.limit_mm)));
    gaps
}

fn least(
    drive: &Drive,
    scenes: &[(f64, Scene<'_>)],
    pair: Pair,
    path_at: &impl Fn(f64) -> Option<BeltPath>,
) -> (f64, f64, Point) {
    let measured: Vec<(f64, f64, Point)> = scenes
        .iter()
        .map(|(q, scene)| {
            let (gap, at) = scene.measure(pair);
            (*q, gap, at)
        })
        .collect();
    let mut best = measured[0];
    let mut index = 0;
    for (i, m) in measured.iter().enumerate() {
        if m.1 < best.1 {
            (best, index) = (*m, i);
        }
    }
    // Only a least value in mid-sweep that comes near its limit is worth refining.
    let near = best.1 < 2.0 * pair.kind().limit_mm();
    if index == 0 || index + 1 == measured.len() || !near {
        return best;
    }
    let (mut low, mut high) = (measured[index - 1].0, measured[index + 1].0);
    for _ in 0..GOLDEN_STEPS {
        let (a, b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
        let (Some(pa), Some(pb)) = (path_at(a), path_at(b)) else {
            break;
        };
        let (ga, gb) = (
            Scene::of(drive, pa).measure(pair),
            Scene::of(drive, pb).measure(pair),
        );
        for (q, g) in [(a, ga), (b, gb)] {
            if g.0 < best.1 {
                best = (q, g.0, g.1);
            }
        }
        if ga.0 < gb.0 {
            high = b;
        } else {
            low = a;
        }
    }
    best
}
