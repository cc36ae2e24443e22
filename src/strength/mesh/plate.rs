//! The mesh of a plate: its boundaries, the heights its features cut to, and what is void.

use std::collections::BTreeMap;

use super::boundary::{self, Boundary, Crossing, Loop};
use super::quality::{least_angle_deg, least_jacobian, straighten_folds};
use super::triangulate::triangulate;
use super::{Layers, MeshOptions, Plan, Quality, Wedges, extrude};
use crate::feature::{Depth, Face, Hole, Mouth, Shape};
use crate::geom::{Path, Point, Segment};
use crate::plate::Plate;
use crate::strength::StrengthError;
use crate::tol::SNAP_MM;

/// What the outer boundary is called among a plate's edges.
pub const OUTLINE: &str = "outline";

/// A clamp ring keeps at least this from other boundaries, as a share of its radius.
///
/// A ring circle that all but touches a boundary would force needle elements; a
/// ring trimmed by 6 % moves a joint's load path by less than its own fit-up.
const RING_CLEAR_SHARE: f64 = 0.06;

/// ... and at least this, mm.
const RING_CLEAR_MM: f64 = 0.3;

/// Beyond a ring's rim, by this share of its radius, a second circle is drawn: stress is judged from there on.
///
/// A rigid ring's edge is a stress singularity that a real, slightly yielding joint does not
/// have (common practice: read outside the contact's edge). The circle puts nodes on the limit
/// itself, so that every mesh reads at the same distance.
pub const RIM_SHARE: f64 = 0.15;

/// A ring trimmed below this share of its radius is not drawn in the mesh at all.
const RING_LEAST_SHARE: f64 = 0.75;

/// A ring the mesh should draw, in the plate's plane.
#[derive(Debug, Clone, PartialEq)]
pub struct Ring {
    /// Whose it is, for messages.
    pub name: String,
    /// Centre, mm.
    pub centre: Point,
    /// Inner radius, mm.
    pub inner_mm: f64,
    /// Outer radius, mm.
    pub outer_mm: f64,
}

/// A ring as the mesh holds it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RingFit {
    /// Least distance of its points from the centre, mm.
    pub from_mm: f64,
    /// Greatest distance, mm: the ring's, or less where a boundary is near.
    pub to_mm: f64,
    /// Whether the outer circle is drawn by element edges.
    pub drawn: bool,
}

/// A plate's mesh in the plate's frame.
#[derive(Debug, Clone, PartialEq)]
pub struct PlateMesh {
    /// Plan.
    pub plan: Plan,
    /// Heights.
    pub layers: Layers,
    /// Elements.
    pub wedges: Wedges,
    /// Plan points on each boundary: `outline` and every feature that cuts metal.
    pub edges: Vec<(String, Vec<usize>)>,
    /// Rings asked for, as held.
    pub rings: Vec<RingFit>,
    /// Measures.
    pub quality: Quality,
}

/// A prism of void: inside a loop, outside its island, between two heights.
struct Void {
    owner: usize,
    island: Option<usize>,
    low: f64,
    high: f64,
}

/// A conical wall: nodes near a hole are pushed outward with height.
struct Cone {
    centre: Point,
    hole: f64,
    mouth: f64,
    depth: f64,
    face: Face,
    fades: f64,
}

/// A plate's features as loops, voids and heights.
struct Cut {
    loops: Vec<Loop>,
    voids: Vec<Void>,
    cones: Vec<Cone>,
    heights: Vec<f64>,
    owners: Vec<(String, Vec<usize>)>,
}

/// Meshes a plate.
///
/// `finer` asks for edge lengths at places, on top of what the geometry asks for.
///
/// Simplifications, all on the fine scale: threads are smooth bores of the
/// drilled diameter, a drill's conical floor is a flat one of the same volume,
/// a mark is nothing.
///
/// # Errors
/// [`StrengthError::BoundariesCross`], [`StrengthError::NoMetal`], [`StrengthError::FoldedMesh`].
pub fn mesh_plate(
    plate: &Plate,
    rings: &[Ring],
    options: &MeshOptions,
    finer: &[(Point, f64)],
) -> Result<PlateMesh, StrengthError> {
    let mut cut = Cut::new(plate);
    let fits: Vec<RingFit> = rings.iter().map(|r| cut.add_ring(r)).collect();
    let crossing = |c: Crossing| StrengthError::BoundariesCross {
        plate: plate.id.clone(),
        first: cut.loops[c.first].name.clone(),
        second: cut.loops[c.second].name.clone(),
        at: c.at,
    };
    let field = boundary::sizes(&cut.loops, options, finer).map_err(crossing)?;
    let boundary = boundary::divide(&cut.loops, &field, options);
    let keep = |p: Point| cut.is_metal_somewhere(&boundary, plate.thickness_mm, p);
    let mut plan = triangulate(&boundary, &field, &keep).map_err(crossing)?;
    if plan.triangles.is_empty() {
        return Err(StrengthError::NoMetal {
            plate: plate.id.clone(),
        });
    }
    let straightened = straighten_folds(&mut plan);
    let thickest = plate.thickness_mm / options.layers.max(1) as f64;
    let layers = Layers::following(cut.heights.clone(), thickest, SNAP_MM);
    let solid = |p: Point, z: f64| !cut.is_void(&boundary, p, z);
    let shift = |p: Point, z: f64| cut.shifted(plate.thickness_mm, p, z);
    let wedges = extrude(&plan, &layers, solid, shift);
    let quality = measure(&plan, &wedges, straightened);
    if quality.least_jacobian <= 0.0 {
        let worst = (0..plan.triangles.len())
            .min_by(|&a, &b| least_jacobian(&plan, a).total_cmp(&least_jacobian(&plan, b)))
            .unwrap_or(0);
        return Err(StrengthError::FoldedMesh {
            plate: plate.id.clone(),
            at: plan.centre(worst),
        });
    }
    let edges = cut.edges(&boundary, &plan);
    Ok(PlateMesh {
        plan,
        layers,
        wedges,
        edges,
        rings: fits,
        quality,
    })
}

impl Cut {
    fn new(plate: &Plate) -> Self {
        let t = plate.thickness_mm;
        let mut cut = Self {
            loops: Vec::new(),
            voids: Vec::new(),
            cones: Vec::new(),
            heights: vec![0.0, t],
            owners: Vec::new(),
        };
        let outer = cut.add_loop(OUTLINE, plate.outline.clone(), true);
        cut.owners.push((OUTLINE.to_owned(), vec![outer]));
        for f in &plate.features {
            let owned = match &f.shape {
                Shape::Mark(_) => continue,
                Shape::Hole(h) => cut.add_hole(&f.id, h, t),
                Shape::Slot(s) => cut.add_through(&f.id, s.path(), t),
                Shape::Window(p) => cut.add_through(&f.id, p.clone(), t),
                Shape::Pocket {
                    path,
                    depth_mm,
                    face,
                } => {
                    let owner = cut.add_loop(&f.id, path.clone(), false);
                    cut.add_void(owner, None, *depth_mm, *face, t);
                    vec![owner]
                }
                Shape::Groove {
                    centre,
                    inner_mm,
                    outer_mm,
                    depth_mm,
                    face,
                } => {
                    let outer = cut.add_loop(&f.id, Path::circle(*centre, 0.5 * outer_mm), false);
                    let inner = cut.add_loop(&f.id, Path::circle(*centre, 0.5 * inner_mm), false);
                    cut.add_void(outer, Some(inner), *depth_mm, *face, t);
                    vec![outer, inner]
                }
            };
            cut.owners.push((f.id.clone(), owned));
        }
        cut.limit_cones();
        cut
    }

    /// Adds a loop, or finds the circle that is already there.
    fn add_loop(&mut self, name: &str, path: Path, through: bool) -> usize {
        let circle = |p: &Path| match p.segments.as_slice() {
            [Segment::Arc { centre, radius, .. }] => Some((*centre, *radius)),
            _ => None,
        };
        if let Some((c, r)) = circle(&path) {
            let same = |l: &Loop| {
                circle(&l.path)
                    .is_some_and(|(d, s)| c.distance(d) < SNAP_MM && (r - s).abs() < SNAP_MM)
            };
            if let Some(k) = self.loops.iter().position(same) {
                self.loops[k].through |= through;
                return k;
            }
        }
        self.loops.push(Loop {
            name: name.to_owned(),
            path,
            through,
            hard: true,
        });
        self.loops.len() - 1
    }

    fn add_void(&mut self, owner: usize, island: Option<usize>, depth: f64, face: Face, t: f64) {
        let (low, high) = match face {
            Face::Front => (t - depth, t),
            Face::Back => (0.0, depth),
        };
        self.heights.extend([low, high]);
        self.voids.push(Void {
            owner,
            island,
            low,
            high,
        });
    }

    fn add_through(&mut self, id: &str, path: Path, t: f64) -> Vec<usize> {
        let owner = self.add_loop(id, path, true);
        self.add_void(owner, None, t, Face::Back, t);
        vec![owner]
    }

    fn add_hole(&mut self, id: &str, h: &Hole, t: f64) -> Vec<usize> {
        let radius = 0.5 * h.diameter_mm;
        let bore = Path::circle(h.centre, radius);
        let mut owned = match h.depth {
            Depth::Through => self.add_through(id, bore, t),
            Depth::Blind {
                depth_mm,
                from,
                floor,
            } => {
                let owner = self.add_loop(id, bore, false);
                // A third of the cone's height holds the cone's volume at full diameter.
                let depth = (depth_mm + floor.point_mm(radius) / 3.0).min(t);
                self.add_void(owner, None, depth, from, t);
                vec![owner]
            }
        };
        match h.mouth {
            None => {}
            Some(Mouth::Counterbore {
                diameter_mm,
                depth_mm,
                face,
            }) => {
                let owner = self.add_loop(id, Path::circle(h.centre, 0.5 * diameter_mm), false);
                self.add_void(owner, None, depth_mm, face, t);
                owned.push(owner);
            }
            Some(
                m @ Mouth::Countersink {
                    diameter_mm, face, ..
                },
            ) => {
                let depth = m.depth_mm(h.diameter_mm).min(t);
                self.heights.push(match face {
                    Face::Front => t - depth,
                    Face::Back => depth,
                });
                let mouth = 0.5 * diameter_mm;
                self.cones.push(Cone {
                    centre: h.centre,
                    hole: radius,
                    mouth,
                    depth,
                    face,
                    fades: mouth + (mouth - radius),
                });
            }
        }
        owned
    }

    /// Ends the push of each cone short of the nearest other boundary.
    fn limit_cones(&mut self) {
        for cone in &mut self.cones {
            let nearest = self
                .loops
                .iter()
                .flat_map(|l| &l.path.segments)
                .map(|s| s.distance(cone.centre))
                .filter(|d| (d - cone.hole).abs() > SNAP_MM)
                .fold(f64::INFINITY, f64::min);
            if nearest < cone.fades {
                cone.fades = (0.5 * (cone.mouth + nearest)).max(0.5 * (cone.hole + nearest));
                // A mouth beyond the nearest boundary is cut back to what the metal allows.
                cone.mouth = cone.mouth.min(0.5 * (cone.hole + cone.fades));
            }
        }
    }

    /// Draws a ring as far as the boundaries near it allow.
    fn add_ring(&mut self, ring: &Ring) -> RingFit {
        let clear = |r: f64| (RING_CLEAR_SHARE * r).max(RING_CLEAR_MM);
        let obstacles: Vec<(f64, f64)> = self
            .loops
            .iter()
            .flat_map(|l| &l.path.segments)
            .map(|s| (s.distance(ring.centre), farthest(s, ring.centre)))
            .collect();
        let free = |r: f64| {
            obstacles
                .iter()
                .all(|&(near, far)| r < near - clear(r) + 1e-9 || r > far + clear(r) - 1e-9)
        };
        let exists = |r: f64| {
            obstacles
                .iter()
                .any(|&(near, far)| (near - r).abs() < SNAP_MM && (far - r).abs() < SNAP_MM)
        };
        let draw = |r: f64, loops: &mut Vec<Loop>| {
            if !exists(r) {
                loops.push(Loop {
                    name: ring.name.clone(),
                    path: Path::circle(ring.centre, r),
                    through: false,
                    hard: false,
                });
            }
        };
        let mut outer = ring.outer_mm;
        if !exists(outer) && !free(outer) {
            // The nearest boundary that is in the way sets the trimmed radius.
            outer = obstacles
                .iter()
                .filter(|&&(near, far)| {
                    near - clear(ring.outer_mm) < ring.outer_mm
                        && far + clear(ring.outer_mm) > ring.outer_mm
                })
                .map(|&(near, _)| near - clear(near))
                .fold(outer, f64::min);
        }
        let drawn = outer >= RING_LEAST_SHARE * ring.outer_mm
            && outer > ring.inner_mm
            && (exists(outer) || free(outer));
        let to_mm = if drawn { outer } else { ring.outer_mm };
        if drawn {
            draw(to_mm, &mut self.loops);
            let reading = to_mm * (1.0 + RIM_SHARE);
            if free(reading) {
                draw(reading, &mut self.loops);
            }
        }
        let inner = ring.inner_mm;
        let inner_drawn = inner > 0.0 && to_mm - inner > clear(inner) && free(inner);
        if inner_drawn {
            draw(inner, &mut self.loops);
        }
        RingFit {
            from_mm: if inner_drawn || exists(inner) {
                inner
            } else {
                (inner - clear(inner)).max(0.0)
            },
            to_mm,
            drawn,
        }
    }

    fn is_void(&self, boundary: &Boundary, p: Point, z: f64) -> bool {
        !boundary.inside(0, p)
            || self.voids.iter().any(|v| {
                v.low <= z
                    && z <= v.high
                    && boundary.inside(v.owner, p)
                    && !v.island.is_some_and(|i| boundary.inside(i, p))
            })
    }

    fn is_metal_somewhere(&self, boundary: &Boundary, thickness: f64, p: Point) -> bool {
        if !boundary.inside(0, p) {
            return false;
        }
        // Voids over p, as heights taken off; blind ones from both faces may meet.
        let mut low = 0.0_f64;
        let mut high = thickness;
        for v in &self.voids {
            if boundary.inside(v.owner, p) && !v.island.is_some_and(|i| boundary.inside(i, p)) {
                if v.low <= SNAP_MM {
                    low = low.max(v.high);
                }
                if v.high >= thickness - SNAP_MM {
                    high = high.min(v.low);
                }
            }
        }
        high - low > SNAP_MM
    }

    /// Where a plan point lies at height `z` once conical walls are followed.
    fn shifted(&self, thickness: f64, p: Point, z: f64) -> Point {
        for c in &self.cones {
            let r = p.distance(c.centre);
            if r >= c.fades || r < 0.5 * c.hole {
                continue;
            }
            let below = match c.face {
                Face::Front => thickness - z,
                Face::Back => z,
            };
            if below >= c.depth {
                continue;
            }
            let wall = (c.mouth - c.hole) * (1.0 - below / c.depth);
            let push = wall * (c.fades - r) / (c.fades - c.hole);
            if let Some(u) = (p - c.centre).unit() {
                return p + u * push;
            }
        }
        p
    }

    /// Plan points on each owner's loops.
    fn edges(&self, boundary: &Boundary, plan: &Plan) -> Vec<(String, Vec<usize>)> {
        let bits = |p: Point| (p.x.to_bits(), p.y.to_bits());
        let at: BTreeMap<(u64, u64), usize> = plan
            .points
            .iter()
            .enumerate()
            .map(|(i, p)| (bits(*p), i))
            .collect();
        self.owners
            .iter()
            .map(|(name, loops)| {
                let mut points: Vec<usize> = boundary
                    .chords
                    .iter()
                    .filter(|c| loops.contains(&c.owner))
                    .flat_map(|c| {
                        let (a, b) = (boundary.points[c.from], boundary.points[c.to]);
                        // A straightened edge has its middle on the chord.
                        [Some(a), c.middle, Some(a.midpoint(b))]
                    })
                    .flatten()
                    .filter_map(|p| at.get(&bits(p)).copied())
                    .collect();
                points.sort_unstable();
                points.dedup();
                (name.clone(), points)
            })
            .collect()
    }
}

/// Greatest distance from `c` to a point of the segment, mm.
fn farthest(s: &Segment, c: Point) -> f64 {
    let ends = s.from().distance(c).max(s.to().distance(c));
    match *s {
        Segment::Line { .. } => ends,
        Segment::Arc { centre, radius, .. } => match (centre - c).unit() {
            Some(u) if s.spans_angle(u.angle()) => centre.distance(c) + radius,
            Some(_) => ends,
            None => radius,
        },
    }
}

fn measure(plan: &Plan, wedges: &Wedges, straightened: usize) -> Quality {
    let mut q = Quality {
        elements: wedges.wedges.len(),
        nodes: wedges.nodes.len(),
        least_angle_deg: f64::INFINITY,
        least_jacobian: f64::INFINITY,
        straightened,
        shortest_edge_mm: f64::INFINITY,
    };
    for (t, tri) in plan.triangles.iter().enumerate() {
        let [a, b, c] = [tri[0], tri[1], tri[2]].map(|i| plan.points[i]);
        q.least_angle_deg = q.least_angle_deg.min(least_angle_deg([a, b, c]));
        q.least_jacobian = q.least_jacobian.min(least_jacobian(plan, t));
        for (p, r) in [(a, b), (b, c), (c, a)] {
            q.shortest_edge_mm = q.shortest_edge_mm.min(p.distance(r));
        }
    }
    q
}
