//! Where stress is read: hole edges, the outline, beside clamps, and the sharp places it cannot be judged at.

use serde::Serialize;

use crate::feature::{Depth, Face, Mouth, Shape};
use crate::geom::{Path, Point, Segment};
use crate::plate::Plate;

use super::build::Built;
use super::mesh::plate::{OUTLINE, RIM_SHARE};
use super::model::{Model, Seat};
use crate::tol::SNAP_MM;

/// Round a sharp corner or floor edge, stress within this share of the thickness is not judged.
const SHARP_SHARE: f64 = 0.1;

/// Two boundary pieces meet in a re-entrant corner when the metal's angle exceeds 180° by more than this, rad.
///
/// 5°: the stress of a shallower one grows too slowly to matter (Williams, J. Appl. Mech. 19 (1952) 526–528).
const CORNER_RAD: f64 = 0.0873;

/// What kind of place it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// The edge of an opening or of the outline.
    Edge,
    /// The face round a clamp, clear of its rim.
    Beside,
    /// Anywhere else.
    Inside,
    /// A clamp's ring and its rim: singular by the model.
    Rim,
    /// A re-entrant corner without a fillet: singular by the drawing.
    Corner,
    /// The inner edge of a pocket's, groove's or counterbore's floor: singular by the drawing.
    Floor,
}

impl Kind {
    /// Whether a peak there can be judged; singular ones are only named.
    #[must_use]
    pub const fn is_judged(self) -> bool {
        matches!(self, Self::Edge | Self::Beside | Self::Inside)
    }
}

/// A set of nodes with a name.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Plate, an index.
    pub plate: usize,
    /// Kind.
    pub kind: Kind,
    /// Feature, clamp, `outline`, or a corner's coordinates.
    pub name: String,
    /// Nodes of the structure.
    pub nodes: Vec<usize>,
}

/// A ring or wall that a clamp holds, in the plate's frame.
struct Zone {
    clamp: usize,
    centre: Point,
    inner: f64,
    outer: f64,
    low: f64,
    high: f64,
}

impl Zone {
    /// Distance of a node from the held metal, mm.
    fn distance(&self, p: Point, z: f64) -> f64 {
        let r = p.distance(self.centre);
        let across = (r - self.outer).max(self.inner - r).max(0.0);
        let along = (self.low - z).max(z - self.high).max(0.0);
        across.hypot(along)
    }
}

/// All places of all plates; every node of a plate belongs to exactly one.
#[must_use]
pub fn places(model: &Model, built: &Built) -> Vec<Place> {
    let mut out = Vec::new();
    for (k, part) in model.plates.iter().enumerate() {
        plate_places(model, built, k, &part.plate, &mut out);
    }
    out
}

fn plate_places(model: &Model, built: &Built, k: usize, plate: &Plate, out: &mut Vec<Place>) {
    let part = &built.plates[k];
    let zones = zones(model, built, plate);
    let corners = sharp_corners(plate);
    let floors = floors(plate);
    let sharp = SHARP_SHARE * plate.thickness_mm;
    let first = out.len();
    let mut add = |kind: Kind, name: &str, node: usize| {
        if let Some(p) = out[first..]
            .iter_mut()
            .find(|p| p.kind == kind && p.name == name)
        {
            p.nodes.push(node);
        } else {
            out.push(Place {
                plate: k,
                kind,
                name: name.to_owned(),
                nodes: vec![node],
            });
        }
    };
    let mut edge_of: Vec<Option<&str>> = vec![None; part.mesh.plan.points.len()];
    for (name, points) in &part.mesh.edges {
        for &p in points {
            // A hole's own name wins over the outline's, and the first feature's over a later one's.
            if edge_of[p].is_none_or(|n| n == OUTLINE) {
                edge_of[p] = Some(name);
            }
        }
    }
    for (p, q) in part.mesh.plan.points.iter().enumerate() {
        for local in part.mesh.wedges.column(p) {
            let node = part.node + local;
            let z = part.mesh.wedges.nodes[local][2];
            let near = zones
                .iter()
                .map(|zone| (zone.distance(*q, z), zone))
                .min_by(|a, b| a.0.total_cmp(&b.0));
            let tied = built.structure.tied[node].is_some();
            if let Some((d, zone)) = near
                && (tied || d < RIM_SHARE * zone.outer - SNAP_MM)
            {
                add(Kind::Rim, &model.clamps[zone.clamp].id, node);
            } else if let Some(c) = corners.iter().find(|c| c.at.distance(*q) < sharp) {
                let name = format!("{} at ({:.1}, {:.1})", c.of, c.at.x, c.at.y);
                add(Kind::Corner, &name, node);
            } else if let Some(f) = floors.iter().find(|f| {
                (z - f.height).abs() < sharp
                    && f.path.nearest(*q).distance(*q).hypot(z - f.height) < sharp
            }) {
                add(Kind::Floor, &f.of, node);
            } else if let Some(name) = edge_of[p] {
                add(Kind::Edge, name, node);
            } else if let Some((d, zone)) = near
                && d < zone.outer
            {
                add(Kind::Beside, &model.clamps[zone.clamp].id, node);
            } else {
                add(Kind::Inside, "face", node);
            }
        }
    }
    out[first..].sort_by(|a, b| a.kind.cmp(&b.kind).then(a.name.cmp(&b.name)));
}

fn zones(model: &Model, built: &Built, plate: &Plate) -> Vec<Zone> {
    let mut out = Vec::new();
    for (c, clamp) in model.clamps.iter().enumerate() {
        if clamp.plate != plate.id {
            continue;
        }
        match &clamp.seat {
            Seat::Face {
                centre,
                inner_mm,
                outer_mm,
                height_mm,
            } => out.push(Zone {
                clamp: c,
                centre: *centre,
                inner: *inner_mm,
                outer: built.clamp_outer_mm[c].unwrap_or(*outer_mm),
                low: *height_mm,
                high: *height_mm,
            }),
            Seat::Wall {
                feature,
                from_mm,
                to_mm,
            } => {
                if let Some(Shape::Hole(h)) = plate.feature(feature).map(|f| &f.shape) {
                    out.push(Zone {
                        clamp: c,
                        centre: h.centre,
                        inner: 0.0,
                        outer: 0.5 * h.widest_mm(),
                        low: *from_mm,
                        high: *to_mm,
                    });
                }
            }
        }
    }
    out
}

/// A re-entrant corner.
#[derive(Debug, Clone, PartialEq)]
pub struct Corner {
    /// Boundary it lies on.
    pub of: String,
    /// Where, plate frame.
    pub at: Point,
}

/// Re-entrant corners of a plate's outline and openings, without fillet.
#[must_use]
pub fn sharp_corners(plate: &Plate) -> Vec<Corner> {
    let mut out = Vec::new();
    let mut scan = |name: &str, path: &Path, metal_inside: bool| {
        let path = path.oriented(true);
        let n = path.segments.len();
        for i in 0..n {
            let (a, b) = (&path.segments[i], &path.segments[(i + 1) % n]);
            if a.is_full_circle() {
                continue;
            }
            let (u, v) = (a.direction(1.0), b.direction(0.0));
            let turn = u.cross(v).atan2(u.dot(v));
            // Going counter-clockwise, metal inside lies left: a right turn opens its angle beyond 180°.
            let opening = if metal_inside { -turn } else { turn };
            if opening > CORNER_RAD {
                out.push(Corner {
                    of: name.to_owned(),
                    at: Segment::to(a),
                });
            }
        }
    };
    scan(OUTLINE, &plate.outline, true);
    for f in &plate.features {
        match &f.shape {
            Shape::Window(p) | Shape::Pocket { path: p, .. } => scan(&f.id, p, false),
            Shape::Slot(s) => scan(&f.id, &s.path(), false),
            Shape::Hole(_) | Shape::Groove { .. } | Shape::Mark(_) => {}
        }
    }
    out
}

/// The inner edge of a floor.
struct Floor {
    of: String,
    path: Path,
    height: f64,
}

fn floors(plate: &Plate) -> Vec<Floor> {
    let t = plate.thickness_mm;
    let height = |depth: f64, face: Face| match face {
        Face::Front => t - depth,
        Face::Back => depth,
    };
    let mut out = Vec::new();
    for f in &plate.features {
        let mut add = |path: Path, height: f64| {
            out.push(Floor {
                of: f.id.clone(),
                path,
                height,
            });
        };
        match &f.shape {
            Shape::Hole(h) => {
                if let Some(Mouth::Counterbore {
                    diameter_mm,
                    depth_mm,
                    face,
                }) = h.mouth
                {
                    add(
                        Path::circle(h.centre, 0.5 * diameter_mm),
                        height(depth_mm, face),
                    );
                }
                if let Depth::Blind {
                    depth_mm,
                    from,
                    floor,
                } = h.depth
                {
                    let r = 0.5 * h.diameter_mm;
                    let depth = depth_mm + floor.point_mm(r) / 3.0;
                    add(Path::circle(h.centre, r), height(depth, from));
                }
            }
            Shape::Pocket {
                path,
                depth_mm,
                face,
            } => add(path.clone(), height(*depth_mm, *face)),
            Shape::Groove {
                centre,
                inner_mm,
                outer_mm,
                depth_mm,
                face,
            } => {
                for d in [inner_mm, outer_mm] {
                    add(Path::circle(*centre, 0.5 * d), height(*depth_mm, *face));
                }
            }
            Shape::Slot(_) | Shape::Window(_) | Shape::Mark(_) => {}
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Frame;

    #[test]
    fn an_inner_corner_is_sharp_and_an_outer_one_or_a_fillet_is_not() {
        let l = [
            (0.0, 0.0),
            (60.0, 0.0),
            (60.0, 20.0),
            (20.0, 20.0),
            (20.0, 60.0),
            (0.0, 60.0),
        ]
        .map(|(x, y)| Point::new(x, y));
        let plate = Plate {
            id: "angle".into(),
            title: "Angle".into(),
            frame: Frame::FRONT,
            thickness_mm: 10.0,
            material: "steel".into(),
            density_kg_m3: 7850.0,
            outline: Path::polygon(&l),
            features: Vec::new(),
        };
        let found = sharp_corners(&plate);
        assert_eq!(found.len(), 1);
        assert!(found[0].at.distance(Point::new(20.0, 20.0)) < 1e-12);
        let round = Plate {
            outline: Path::slot(Point::ORIGIN, Point::new(50.0, 0.0), 20.0),
            ..plate
        };
        assert!(sharp_corners(&round).is_empty());
    }
}
