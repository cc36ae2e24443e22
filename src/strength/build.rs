//! A model made into a structure: plates meshed, clamps tied, bodies joined.

use std::collections::BTreeMap;

use crate::geom::{Point, Point3};

use super::StrengthError;
use super::groups::Groups;
use super::mesh::MeshOptions;
use super::mesh::plate::{PlateMesh, Ring, mesh_plate};
use super::model::{Anchor, Body, Clamp, Model, Seat};
use super::structure::{Beam, RigidBody, Structure};

/// A node lies on a seat's face or wall within this, mm.
const ON_SEAT_MM: f64 = 1e-6;

/// A model's structure, with the ways back.
#[derive(Debug, Clone)]
pub struct Built {
    /// The structure.
    pub structure: Structure,
    /// Each plate's mesh and place in the structure.
    pub plates: Vec<BuiltPlate>,
    /// Rigid body of each of the model's bodies.
    pub body_group: Vec<usize>,
    /// Rigid body of each clamp.
    pub clamp_group: Vec<usize>,
    /// Nodes each clamp holds; a node belongs to the first clamp that takes it.
    pub clamp_nodes: Vec<Vec<usize>>,
    /// Outer radius of each clamp as meshed, mm; `None` for a wall.
    pub clamp_outer_mm: Vec<Option<f64>>,
    /// The rigid body that is ground.
    pub ground: usize,
}

/// One plate in the structure.
#[derive(Debug, Clone)]
pub struct BuiltPlate {
    /// Its mesh.
    pub mesh: PlateMesh,
    /// Its first node.
    pub node: usize,
    /// Its first element.
    pub element: usize,
}

impl Built {
    /// The rigid body an anchor stands for.
    #[must_use]
    pub fn group(&self, model: &Model, anchor: &Anchor) -> Option<usize> {
        match anchor {
            Anchor::Block => Some(self.ground),
            Anchor::Body(id) => model
                .bodies
                .iter()
                .position(|b| b.id == *id)
                .map(|k| self.body_group[k]),
            Anchor::Clamp(id) => model
                .clamps
                .iter()
                .position(|c| c.id == *id)
                .map(|k| self.clamp_group[k]),
            Anchor::Free => None,
        }
    }
}

/// Builds the structure; `finer` asks for smaller edges, plate by plate.
///
/// # Errors
/// As [`mesh_plate`], and [`StrengthError::EmptyClamp`].
pub fn build(
    model: &Model,
    options: &MeshOptions,
    finer: &[Vec<(Point, f64)>],
) -> Result<Built, StrengthError> {
    let mut structure = Structure::default();
    let mut plates = Vec::new();
    let mut clamp_nodes: Vec<Vec<usize>> = vec![Vec::new(); model.clamps.len()];
    let mut clamp_outer_mm = vec![None; model.clamps.len()];
    for (k, part) in model.plates.iter().enumerate() {
        let own: Vec<usize> = (0..model.clamps.len())
            .filter(|&c| model.clamps[c].plate == part.plate.id)
            .collect();
        let rings: Vec<Ring> = own.iter().filter_map(|&c| ring(&model.clamps[c])).collect();
        let nothing = Vec::new();
        let mesh = mesh_plate(
            &part.plate,
            &rings,
            options,
            finer.get(k).unwrap_or(&nothing),
        )?;
        let (node, element) = structure.add_part(
            &part.plate.id,
            &mesh.wedges,
            &part.plate.frame,
            part.material.elastic(),
        );
        let mut next_ring = 0;
        for &c in &own {
            let clamp = &model.clamps[c];
            let (nodes, inner, outer) = match &clamp.seat {
                Seat::Face {
                    centre,
                    outer_mm,
                    height_mm,
                    inner_mm,
                } => {
                    let fit = mesh.rings[next_ring];
                    next_ring += 1;
                    clamp_outer_mm[c] = Some(fit.to_mm.min(*outer_mm));
                    (
                        face_nodes(&mesh, *centre, fit.from_mm, fit.to_mm, *height_mm),
                        *inner_mm,
                        *outer_mm,
                    )
                }
                Seat::Wall {
                    feature,
                    from_mm,
                    to_mm,
                } => (wall_nodes(&mesh, feature, *from_mm, *to_mm), 0.0, 0.0),
            };
            if nodes.is_empty() {
                return Err(StrengthError::EmptyClamp {
                    clamp: clamp.id.clone(),
                    plate: clamp.plate.clone(),
                    inner_mm: inner,
                    outer_mm: outer,
                });
            }
            clamp_nodes[c] = nodes.into_iter().map(|n| n + node).collect();
        }
        plates.push(BuiltPlate {
            mesh,
            node,
            element,
        });
    }
    let mut built = Built {
        structure,
        plates,
        body_group: Vec::new(),
        clamp_group: Vec::new(),
        clamp_nodes,
        clamp_outer_mm,
        ground: 0,
    };
    join(model, &mut built);
    for s in &model.spacers {
        if let (Some(from), Some(to)) = (built.group(model, &s.from), built.group(model, &s.to))
            && from != to
        {
            built.structure.beams.push(Beam {
                name: s.id.clone(),
                from,
                to,
                start: xyz(s.start),
                end: xyz(s.end),
                outer_mm: s.outer_mm,
                inner_mm: s.inner_mm,
                material: s.material.elastic(),
            });
        }
    }
    Ok(built)
}

const fn xyz(p: Point3) -> [f64; 3] {
    [p.x, p.y, p.z]
}

fn ring(clamp: &Clamp) -> Option<Ring> {
    match &clamp.seat {
        Seat::Face {
            centre,
            inner_mm,
            outer_mm,
            ..
        } => Some(Ring {
            name: clamp.id.clone(),
            centre: *centre,
            inner_mm: *inner_mm,
            outer_mm: *outer_mm,
        }),
        Seat::Wall { .. } => None,
    }
}

/// Nodes of a ring on the face at a height (a level with metal on one side only).
fn face_nodes(mesh: &PlateMesh, centre: Point, from: f64, to: f64, height: f64) -> Vec<usize> {
    let Some(layer) = mesh
        .layers
        .heights_mm
        .iter()
        .position(|h| (h - height).abs() <= ON_SEAT_MM)
    else {
        return Vec::new();
    };
    let level = 2 * layer;
    let mut nodes = Vec::new();
    let mut is_face = false;
    for (k, p) in mesh.plan.points.iter().enumerate() {
        let r = p.distance(centre);
        if r < from - ON_SEAT_MM || r > to + ON_SEAT_MM {
            continue;
        }
        if let Some(n) = mesh.wedges.node(k, level) {
            nodes.push(n);
            if k < mesh.plan.corners {
                let below = level > 0 && mesh.wedges.node(k, level - 1).is_some();
                let above =
                    mesh.wedges.node(k, level + 1).is_some() && level + 1 < mesh.wedges.levels();
                is_face |= below != above;
            }
        }
    }
    if is_face { nodes } else { Vec::new() }
}

/// Nodes on a feature's wall between two heights.
fn wall_nodes(mesh: &PlateMesh, feature: &str, from: f64, to: f64) -> Vec<usize> {
    let mut nodes: Vec<usize> = mesh
        .edges
        .iter()
        .filter(|(name, _)| name == feature)
        .flat_map(|(_, points)| points)
        .flat_map(|&p| mesh.wedges.column(p))
        .filter(|&n| {
            let z = mesh.wedges.nodes[n][2];
            z >= from - ON_SEAT_MM && z <= to + ON_SEAT_MM
        })
        .collect();
    nodes.sort_unstable();
    nodes.dedup();
    nodes
}

/// Joins clamps, bodies and the block into rigid bodies and ties the nodes.
fn join(model: &Model, built: &mut Built) {
    // Places: 0 the block, then bodies, then clamps.
    let bodies = model.bodies.len();
    let count = 1 + bodies + model.clamps.len();
    let mut groups = Groups::new(count);
    for (c, clamp) in model.clamps.iter().enumerate() {
        let own = 1 + bodies + c;
        match &clamp.tied_to {
            Anchor::Block => groups.join(own, 0),
            Anchor::Body(id) => {
                if let Some(b) = model.bodies.iter().position(|b| b.id == *id) {
                    groups.join(own, 1 + b);
                }
            }
            Anchor::Clamp(id) => {
                if let Some(o) = model.clamps.iter().position(|x| x.id == *id) {
                    groups.join(own, 1 + bodies + o);
                }
            }
            Anchor::Free => {}
        }
    }
    // Clamps that share metal move as one.
    let mut taken: BTreeMap<usize, usize> = BTreeMap::new();
    for c in 0..model.clamps.len() {
        let mut kept = Vec::new();
        for &n in &built.clamp_nodes[c] {
            if let Some(&other) = taken.get(&n) {
                groups.join(1 + bodies + c, 1 + bodies + other);
            } else {
                taken.insert(n, c);
                kept.push(n);
            }
        }
        built.clamp_nodes[c] = kept;
    }
    let mut number: BTreeMap<usize, usize> = BTreeMap::new();
    let s = &mut built.structure;
    let ground = s.add_body(RigidBody::ground("block"));
    number.insert(0, ground);
    for i in 1..count {
        let r = groups.of(i);
        if number.contains_key(&r) {
            continue;
        }
        let members: Vec<&Body> = (0..bodies)
            .filter(|&b| groups.of(1 + b) == r)
            .map(|b| &model.bodies[b])
            .collect();
        let body = if let Some(first) = members.first() {
            together(&first.id, &members)
        } else {
            let c = i - 1 - bodies;
            let nodes = &built.clamp_nodes[c];
            let n = nodes.len().max(1) as f64;
            let at = [0, 1, 2].map(|k| nodes.iter().map(|&m| s.nodes[m][k]).sum::<f64>() / n);
            RigidBody::massless(&model.clamps[c].id, at)
        };
        let id = s.add_body(body);
        number.insert(r, id);
    }
    let group = |i: usize| number.get(&groups.of(i)).copied().unwrap_or(ground);
    built.ground = ground;
    built.body_group = (0..bodies).map(|b| group(1 + b)).collect();
    built.clamp_group = (0..model.clamps.len())
        .map(|c| group(1 + bodies + c))
        .collect();
    for (n, c) in taken {
        s.tied[n] = Some(built.clamp_group[c]);
    }
}

/// Several bodies as one, about their common centre of mass.
fn together(name: &str, members: &[&Body]) -> RigidBody {
    let mass: f64 = members.iter().map(|b| b.mass_kg).sum();
    let centre = if mass > 0.0 {
        [0, 1, 2].map(|k| {
            members
                .iter()
                .map(|b| b.mass_kg * xyz(b.centre)[k])
                .sum::<f64>()
                / mass
        })
    } else {
        members.first().map_or([0.0; 3], |b| xyz(b.centre))
    };
    let mut inertia = [0.0; 6];
    for b in members {
        let d = [0, 1, 2].map(|k| xyz(b.centre)[k] - centre[k]);
        let m = b.mass_kg;
        let shift = [
            m * (d[1] * d[1] + d[2] * d[2]),
            m * (d[2] * d[2] + d[0] * d[0]),
            m * (d[0] * d[0] + d[1] * d[1]),
            m * d[0] * d[1],
            m * d[1] * d[2],
            m * d[2] * d[0],
        ];
        for k in 0..6 {
            inertia[k] += b.inertia_kg_mm2[k] + shift[k];
        }
    }
    RigidBody {
        name: name.to_owned(),
        at: centre,
        mass_t: mass * 1e-3,
        centre,
        inertia_t_mm2: inertia.map(|v| v * 1e-3),
        ground: false,
    }
}
