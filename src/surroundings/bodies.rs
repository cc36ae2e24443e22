//! The bodies of a project: plates, spacers, heads and tool room, accessories, pulleys, belt, keep-outs, hoses.

use crate::clearance::body::ACCESS_LENGTH_MM;
use crate::clearance::{Body, Clamp, Prism, Solid, access_radius_mm};
use crate::feature::{Depth, Feature, Shape};
use crate::geom::{Frame, Path, Point, Point3, Region, Vector3};
use crate::joint::End;
use crate::layout::{Joint, Offer, Part};
use crate::params::KeepoutKind;
use crate::params::job::HoseSpec;
use crate::tables::gap::Kind;
use crate::tables::{Drive, Sockets};
use crate::tol;

use super::Sources;

/// Socket drive whose outside diameters the tool room uses: 1/2 in (common practice, no source).
const SOCKET_DRIVE: Drive = Drive::TwelveAndHalf;

/// All bodies, and which of them touch by design.
pub(super) struct Set {
    pub(super) bodies: Vec<Body>,
    /// Pairs that are not judged.
    pub(super) contacts: Vec<(String, String)>,
    /// Of those, the pairs that are bolted face to face: they may touch, not overlap.
    pub(super) bolted: Vec<(String, String)>,
    /// Place among the bodies where the hoses stand.
    pub(super) hoses_at: usize,
}

pub(super) fn plate_id(plate: &str) -> String {
    format!("plate {plate}")
}

pub(super) fn ears_id(accessory: &str) -> String {
    format!("{accessory} ears")
}

pub(super) fn pulley_id(owner: &str) -> String {
    format!("{owner} pulley")
}

const BELT: &str = "belt";

/// The hoses of a job.
pub(super) fn hoses(specs: &[HoseSpec]) -> impl Iterator<Item = Body> {
    specs.iter().map(|h| {
        let clamps: Vec<Clamp> = h
            .clamps
            .iter()
            .map(|c| Clamp {
                along_mm: c.along_mm,
                outer_mm: h.diameter_mm + 2.0 * c.height_mm,
                width_mm: c.width_mm,
            })
            .collect();
        let mut body = Body::hose(hose_id(h), h.points.clone(), h.diameter_mm, &clamps);
        body.kind = match h.kind {
            KeepoutKind::Fixed => Kind::Hose,
            other => kind(other),
        };
        body
    })
}

fn hose_id(h: &HoseSpec) -> String {
    format!("hose {}", h.id)
}

impl Set {
    /// Everything that stands: all bodies but the hoses.
    pub(super) fn of(s: &Sources<'_>) -> Self {
        let mut set = Self {
            bodies: Vec::new(),
            contacts: Vec::new(),
            bolted: Vec::new(),
            hoses_at: 0,
        };
        set.block(s);
        set.plates(s);
        set.accessories(s);
        set.belt(s);
        set.hoses_at = set.bodies.len();
        for joint in &s.layout.joints {
            set.joint(s, joint);
        }
        set
    }

    fn touch(&mut self, a: impl Into<String>, b: impl Into<String>) {
        self.contacts.push((a.into(), b.into()));
    }

    fn block(&mut self, s: &Sources<'_>) {
        for k in &s.loaded.block.keepouts {
            let region = Region::solid(k.outline.clone());
            let prism = Prism::new(k.name.clone(), Frame::FRONT, region, k.z_mm.0, k.z_mm.1);
            self.bodies.push(
                Body::new(k.name.clone(), kind(k.kind), vec![Solid::Prism(prism)]).part_of("block"),
            );
        }
        for p in &s.loaded.block.pulleys {
            let at = Point3::new(p.at.x, p.at.y, p.pulley.rib_plane_mm);
            let id = pulley_id(&p.id);
            if let Some(body) = pulley(&id, at, p.pulley.rim_mm, p.pulley.width_mm) {
                self.bodies.push(body.part_of("block"));
                self.touch(id, BELT);
            }
        }
    }

    fn plates(&mut self, s: &Sources<'_>) {
        for made in s.plates {
            let p = &made.plate;
            let region = Region {
                outer: p.outline.clone(),
                // Only what goes right through lets anything pass.
                openings: p.features.iter().filter_map(through).collect(),
            };
            let prism = Prism::new(p.id.clone(), p.frame, region, 0.0, p.thickness_mm);
            self.bodies.push(Body::new(
                plate_id(&p.id),
                Kind::Fixed,
                vec![Solid::Prism(prism)],
            ));
        }
    }

    fn accessories(&mut self, s: &Sources<'_>) {
        for placed in &s.layout.placed {
            let Some(a) = s.loaded.accessories.get(&placed.accessory) else {
                continue;
            };
            let f = placed.frame;
            let solids: Vec<Solid> = a
                .bodies
                .iter()
                .map(|b| {
                    let prism = Prism::new(
                        b.name.clone(),
                        f,
                        Region::solid(b.outline.clone()),
                        b.z_mm.0,
                        b.z_mm.1,
                    );
                    Solid::Prism(if b.trim_mm > 0.0 {
                        prism.trimmable(b.trim_mm)
                    } else {
                        prism
                    })
                })
                .collect();
            if !solids.is_empty() {
                self.bodies
                    .push(Body::new(placed.id.clone(), Kind::Fixed, solids));
            }
            let ears = ears(s, &placed.id);
            if !ears.is_empty() {
                self.bodies.push(
                    Body::new(ears_id(&placed.id), Kind::Fixed, ears).part_of(placed.id.clone()),
                );
            }
            if let Some(p) = a.pulley {
                let drawn = s.drive.and_then(|(d, an)| {
                    let i = d.pulleys.iter().position(|q| q.owner == placed.id)?;
                    an.path.contact(i).map(|c| c.centre_mm)
                });
                let centre = match (drawn, &a.arm) {
                    (Some(c), _) => c,
                    (None, None) => Point::new(f.origin.x, f.origin.y),
                    // An arm that no belt holds stands anywhere between its stops.
                    (None, Some(_)) => continue,
                };
                let at = Point3::new(centre.x, centre.y, f.origin.z + p.rib_plane_mm);
                let id = pulley_id(&placed.id);
                if let Some(body) = pulley(&id, at, p.rim_mm, p.width_mm) {
                    self.bodies.push(body.part_of(placed.id.clone()));
                    self.touch(id, BELT);
                }
            }
        }
    }

    /// The belt as it lies, nominal length, between its back and the tips of its ribs.
    fn belt(&mut self, s: &Sources<'_>) {
        let Some((drive, analysis)) = s.drive else {
            return;
        };
        let section = &drive.belt.section;
        let (outer, inner) = analysis
            .path
            .band(section.back_offset_mm, section.rib_depth_mm());
        let Some(z) = drive.pulleys.get(drive.driver).map(|p| p.rib_plane_z_mm) else {
            return;
        };
        let half = 0.5 * section.width_mm(drive.belt.ribs);
        let region = Region {
            outer: outer.oriented(true),
            openings: vec![inner.oriented(true)],
        };
        let prism = Prism::new(BELT, Frame::FRONT, region, z - half, z + half);
        self.bodies
            .push(Body::new(BELT, Kind::Belt, vec![Solid::Prism(prism)]));
        // How near the belt runs to bodies, plates and keep-outs over its sweep is judged with the drive.
        for k in &s.loaded.block.keepouts {
            self.touch(BELT, k.name.clone());
        }
        for placed in &s.layout.placed {
            self.touch(BELT, placed.id.clone());
        }
        for made in s.plates {
            self.touch(BELT, plate_id(&made.plate.id));
        }
    }

    /// Spacers, head, far end and tool room of one joint.
    fn joint(&mut self, s: &Sources<'_>, joint: &Joint) {
        let Some(bolted) = s.bolting.of(&joint.id) else {
            return;
        };
        let along = |height: f64| {
            joint.at + joint.axis * (height - (joint.at - Point3::ORIGIN).dot(joint.axis))
        };
        let mut parts: Vec<String> = Vec::new();
        let mut owners: Vec<String> = Vec::new();
        for l in &joint.layers {
            match &l.part {
                Part::Plate(p) => parts.push(plate_id(p)),
                Part::Ear(e) => {
                    parts.push(ears_id(&e.owner));
                    owners.push(e.owner.clone());
                }
                Part::Spacer { .. } => {}
            }
        }
        let mut mine: Vec<String> = Vec::new();
        for (n, sp) in joint.spacers().enumerate() {
            let name = format!("spacer {} of {}", n + 1, joint.id);
            mine.extend(self.own(
                &name,
                joint,
                Prism::ring(
                    "tube",
                    along(sp.low_mm),
                    joint.axis,
                    (sp.bore_mm, sp.outside_mm),
                    sp.length_mm,
                ),
            ));
        }
        let head = &bolted.fastening.stack.screw.head;
        let stack = &bolted.report.stack;
        let (low, high) = (
            joint.layers.first().map_or(0.0, |l| l.low_mm),
            joint.layers.last().map_or(0.0, |l| l.high_mm),
        );
        let up = if joint.head_high { 1.0 } else { -1.0 };
        let first = bolted.fastening.stack.layers.first();
        let washer = first
            .filter(|l| l.kind == crate::joint::LayerKind::Washer)
            .map_or(0.0, |l| l.thickness_mm);
        let sunk = first.map_or(0.0, |l| l.sunk_mm);
        let seat = if joint.head_high { high } else { low } + up * (washer - sunk);
        let out = joint.axis * up;
        mine.extend(self.own(
            &format!("head of {}", joint.id),
            joint,
            Prism::cylinder(
                "head",
                along(seat),
                out,
                0.5 * head.head_dia_mm,
                head.head_height_mm,
            ),
        ));
        // The far end stands out of a nut or a through thread.
        let far = if joint.head_high { low } else { high };
        let tip = seat - up * stack.length_mm;
        let reaches = (far - tip) * up;
        let radius = match &bolted.fastening.stack.end {
            End::Nut(n) => 0.5 * n.across_corners_mm,
            End::Tapped(h) if h.floor_mm.is_none() => {
                0.5 * bolted.fastening.stack.screw.thread.d_mm
            }
            End::Tapped(_) => 0.0,
        };
        if radius > 0.0 && reaches > tol::RULE_MM {
            mine.extend(self.own(
                &format!("end of {}", joint.id),
                joint,
                Prism::cylinder("end", along(far), -out, radius, reaches),
            ));
        }
        self.touching(&mine, &parts, &owners);
        self.tool(
            s,
            joint,
            along(seat) + out * head.head_height_mm,
            out,
            &owners,
        );
    }

    /// What one joint brings into contact: its own pieces, the parts it clamps, their accessories.
    fn touching(&mut self, mine: &[String], parts: &[String], owners: &[String]) {
        for a in mine {
            for b in parts {
                self.touch(a.clone(), b.clone());
            }
        }
        // An accessory's envelope is coarse round its lugs and its own bolts.
        for o in owners {
            for a in mine {
                self.touch(a.clone(), o.clone());
                self.touch(a.clone(), pulley_id(o));
            }
        }
        for (i, a) in parts.iter().enumerate() {
            for b in parts.iter().skip(i + 1) {
                self.touch(a.clone(), b.clone());
            }
        }
        // A housing may lie on the plate that carries it.
        for p in parts.iter().filter(|p| p.starts_with("plate ")) {
            for o in owners {
                let pair = (o.clone(), p.clone());
                if !self.bolted.contains(&pair) {
                    self.touch(o.clone(), p.clone());
                    self.bolted.push(pair);
                }
            }
        }
    }

    fn own(&mut self, id: &str, joint: &Joint, prism: Option<Prism>) -> Option<String> {
        let prism = prism?;
        self.bodies.push(
            Body::new(id, Kind::Fixed, vec![Solid::Prism(prism)])
                .part_of(format!("joint {}", joint.id)),
        );
        Some(id.to_owned())
    }

    /// Straight room for the socket over a head.
    ///
    /// The block's bolts are tightened with the plates alone on the engine: accessories, their bolts
    /// and hoses come later. An accessory's own envelope is coarse round its lugs; access past it
    /// is its maker's matter.
    fn tool(
        &mut self,
        s: &Sources<'_>,
        joint: &Joint,
        top: Point3,
        out: Vector3,
        owners: &[String],
    ) {
        let Some(bolted) = s.bolting.of(&joint.id) else {
            return;
        };
        let head = &bolted.fastening.stack.screw.head;
        let Ok(radius) = access_radius_mm(head, Sockets::standard(), SOCKET_DRIVE) else {
            return;
        };
        let id = format!("socket on {}", joint.id);
        let part_of = format!("joint {}", joint.id);
        let Some(body) = Body::tool_access(id.clone(), part_of, top, out, radius, ACCESS_LENGTH_MM)
        else {
            return;
        };
        let accessory_bolt = |part_of: &str| {
            let joint = part_of.strip_prefix("joint ");
            s.layout.joints.iter().any(|j| {
                joint == Some(j.id.as_str()) && !j.holes.iter().any(|h| h.owner == "block")
            })
        };
        let beside: Vec<String> = self
            .bodies
            .iter()
            .filter(|other| {
                let later = owners.is_empty()
                    && (other.kind == Kind::Belt
                        || s.layout.placed.iter().any(|p| p.id == other.part_of)
                        || accessory_bolt(&other.part_of));
                later || owners.contains(&other.part_of)
            })
            .map(|other| other.id.clone())
            .collect();
        for other in beside {
            self.touch(id.clone(), other);
        }
        if owners.is_empty() {
            // A hose that is an exhaust pipe or the like stands there already.
            let hoses = s.loaded.job.hoses.iter();
            for h in hoses.filter(|h| h.kind == KeepoutKind::Fixed) {
                self.touch(id.clone(), hose_id(h));
            }
        }
        for l in &joint.layers {
            if let Part::Plate(p) = &l.part {
                self.touch(id.clone(), plate_id(p));
            }
        }
        self.bodies.push(body);
    }
}

/// What of a feature goes right through its plate.
fn through(f: &Feature) -> Option<Path> {
    match &f.shape {
        Shape::Hole(h) if h.depth == Depth::Through => {
            Some(Path::circle(h.centre, 0.5 * h.diameter_mm))
        }
        Shape::Slot(_) | Shape::Window(_) => f.footprint(),
        _ => None,
    }
}

const fn kind(k: KeepoutKind) -> Kind {
    match k {
        KeepoutKind::Fixed => Kind::Fixed,
        KeepoutKind::Moving => Kind::Moving,
        KeepoutKind::Hot => Kind::Hot,
    }
}

/// A pulley: a cylinder over its rims, centred on its rib plane.
fn pulley(id: &str, at: Point3, rim_mm: f64, width_mm: f64) -> Option<Body> {
    let from = at + Vector3::Z * (-0.5 * width_mm);
    let prism = Prism::cylinder("pulley", from, Vector3::Z, 0.5 * rim_mm, width_mm)?;
    Some(Body::new(id, Kind::Moving, vec![Solid::Prism(prism)]))
}

/// The ears and lugs of an accessory.
fn ears(s: &Sources<'_>, accessory: &str) -> Vec<Solid> {
    let mut out = Vec::new();
    for h in s
        .layout
        .holes
        .iter()
        .filter(|h| h.target.owner == accessory)
    {
        let (spans, bore, diameter) = match &h.offer {
            Offer::Ears {
                spans_mm,
                hole_mm,
                diameter_mm,
            } => (spans_mm.clone(), *hole_mm, *diameter_mm),
            Offer::ThreadedEar {
                span_mm,
                diameter_mm,
                ..
            } => (vec![*span_mm], 0.0, *diameter_mm),
            Offer::Pad {
                span_mm,
                hole_mm,
                diameter_mm,
                ..
            } => (vec![*span_mm], *hole_mm, *diameter_mm),
            Offer::BlockThread { .. } => continue,
        };
        for (low, high) in spans {
            let from = h.at + h.axis * (low - (h.at - Point3::ORIGIN).dot(h.axis));
            let prism = if bore > 0.0 {
                Prism::ring(
                    h.target.id.clone(),
                    from,
                    h.axis,
                    (bore, diameter),
                    high - low,
                )
            } else {
                Prism::cylinder(
                    h.target.id.clone(),
                    from,
                    h.axis,
                    0.5 * diameter,
                    high - low,
                )
            };
            out.extend(prism.map(Solid::Prism));
        }
    }
    out
}
