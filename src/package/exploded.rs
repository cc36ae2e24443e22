//! The set pulled apart along its bolts, as solids in the engine frame, each with its item number.
//!
//! Along every bolt the parts keep their order; each is moved out until it
//! stands clear of the one before it. A plate moves as far as the bolt that
//! asks most of it. Pulleys and belt stand in front of all of it, on their
//! own rib plane.

use crate::bolting::Bolted;
use crate::drive::Side;
use crate::geom::{Frame, Point3, Vector3};
use crate::joint::{End, LayerKind};
use crate::layout::{Joint, Part};
use crate::parts::Spec;
use crate::project::Project;
use crate::solid;
use crate::solid::mesh::TriMesh;
use crate::tol;

use super::PackageError;
use super::assembly::along;
use super::shapes::{
    UNDER_BELT_MM, band, bolt_mesh, chord, drilled_hexagon, made, moved, placed, plate_mesh, pulley,
};

/// Clear distance between parts pulled apart, mm (common practice, no source: enough to see a bolt's end).
const CLEAR_MM: f64 = 24.0;

/// A solid of the picture.
pub(super) struct Shown {
    /// Item number; `None` for what is not part of the kit.
    pub(super) number: Option<usize>,
    /// Its mesh, engine frame, pulled apart.
    pub(super) mesh: TriMesh,
}

/// The set pulled apart.
pub(super) struct Exploded {
    pub(super) solids: Vec<Shown>,
    /// Centre lines from a part to the next along a bolt.
    pub(super) ways: Vec<(Point3, Point3)>,
}

/// A part on a bolt's axis or a plate on many.
struct Node {
    number: Option<usize>,
    /// Heights along the group's direction as assembled.
    span: (f64, f64),
    mesh: TriMesh,
    shift: f64,
}

/// Parts that move along one direction.
struct Group {
    direction: Vector3,
    nodes: Vec<Node>,
    /// Plates by name, to their node.
    plates: Vec<(String, usize)>,
    /// Nodes in order along each bolt, with a point of its axis.
    stacks: Vec<(Point3, Vec<usize>)>,
    /// Nodes below the first of a stack: bolts whose head, or nuts, lie at the low end.
    below: Vec<(usize, usize)>,
}

/// Pulls a project's set apart.
///
/// Pulleys and belt stand `front_mm` in front of the foremost bolt.
pub(super) fn explode(project: &Project, front_mm: f64) -> Result<Exploded, PackageError> {
    let mut groups: Vec<Group> = Vec::new();
    for joint in &project.layout.joints {
        let Some(bolted) = project.bolting.of(&joint.id) else {
            continue;
        };
        let at = groups
            .iter()
            .position(|g| g.direction.dot(joint.axis).abs() > 1.0 - tol::PARALLEL);
        let k = at.unwrap_or_else(|| {
            groups.push(Group::along(joint.axis));
            groups.len() - 1
        });
        groups[k].add(project, joint, bolted)?;
    }
    let mut out = Exploded {
        solids: Vec::new(),
        ways: Vec::new(),
    };
    let mut loose: Vec<&crate::platework::MadePlate> = project.plates.iter().collect();
    let mut foremost = 0.0_f64;
    for mut g in groups {
        g.settle();
        loose.retain(|m| g.plates.iter().all(|(id, _)| *id != m.plate.id));
        if g.direction.z > 0.9 {
            foremost = g
                .nodes
                .iter()
                .map(|n| n.span.1 + n.shift)
                .fold(foremost, f64::max);
        }
        out.ways.extend(g.ways());
        for n in g.nodes {
            out.solids.push(Shown {
                number: n.number,
                mesh: moved(n.mesh, g.direction * n.shift),
            });
        }
    }
    // A plate without a bolt stays where it is.
    for made in loose {
        out.solids.push(Shown {
            number: number(project, &Spec::plate(made, &project.loaded)),
            mesh: plate_mesh(&made.plate)?,
        });
    }
    running_gear(project, foremost + front_mm, &mut out)?;
    Ok(out)
}

impl Group {
    fn along(direction: Vector3) -> Self {
        Self {
            direction,
            nodes: Vec::new(),
            plates: Vec::new(),
            stacks: Vec::new(),
            below: Vec::new(),
        }
    }

    fn node(&mut self, number: Option<usize>, span: (f64, f64), mesh: TriMesh) -> usize {
        self.nodes.push(Node {
            number,
            span,
            mesh,
            shift: 0.0,
        });
        self.nodes.len() - 1
    }

    /// Adds a joint's plates, spacers, washers, bolt and nut, in order along the group's direction.
    fn add(
        &mut self,
        project: &Project,
        joint: &Joint,
        bolted: &Bolted,
    ) -> Result<(), PackageError> {
        let same = joint.axis.dot(self.direction) > 0.0;
        let along_group = |span: (f64, f64)| if same { span } else { (-span.1, -span.0) };
        let mut order: Vec<(f64, usize)> = Vec::new();
        for layer in &joint.layers {
            let span = along_group((layer.low_mm, layer.high_mm));
            match &layer.part {
                Part::Ear(_) => {}
                Part::Plate(id) => {
                    let known = self.plates.iter().find(|(p, _)| p == id).map(|(_, n)| *n);
                    let node = if let Some(n) = known {
                        n
                    } else {
                        let Some(made) = project.plates.iter().find(|m| m.plate.id == *id) else {
                            continue;
                        };
                        let no = number(project, &Spec::plate(made, &project.loaded));
                        let n = self.node(no, span, plate_mesh(&made.plate)?);
                        self.plates.push((id.clone(), n));
                        n
                    };
                    order.push((span.0, node));
                }
                Part::Spacer { .. } => {
                    let Some(s) = joint
                        .spacers()
                        .find(|s| (s.low_mm - layer.low_mm).abs() < tol::SNAP_MM)
                    else {
                        continue;
                    };
                    let tube = made(
                        "spacer",
                        solid::tube("spacer", s.bore_mm, s.outside_mm, s.length_mm),
                        chord(s.outside_mm),
                    )?;
                    let mesh = placed(tube, &along(joint, s.low_mm));
                    let n = self.node(number(project, &Spec::spacer(&s)), span, mesh);
                    order.push((span.0, n));
                }
            }
        }
        order.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut stack: Vec<usize> = order.into_iter().map(|(_, n)| n).collect();
        self.fastener(project, joint, bolted, same, &mut stack)?;
        self.stacks.push((joint.at, stack));
        Ok(())
    }

    /// Adds bolt, washers and nut at the ends of a stack.
    fn fastener(
        &mut self,
        project: &Project,
        joint: &Joint,
        bolted: &Bolted,
        same: bool,
        stack: &mut Vec<usize>,
    ) -> Result<(), PackageError> {
        let fastening = &bolted.fastening.stack;
        let (low, high) = joint
            .layers
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), y| {
                (l.min(y.low_mm), h.max(y.high_mm))
            });
        let head_on_high = joint.head_high;
        // Heights run along the joint's axis; `out` is the way the head looks.
        let (seat, out) = if head_on_high {
            (high, 1.0)
        } else {
            (low, -1.0)
        };
        let frame = |height: f64, out: f64| {
            let f = along(joint, height);
            if out > 0.0 {
                f
            } else {
                Frame::new(f.origin, -f.normal, f.x).unwrap_or(f)
            }
        };
        let span = |a: f64, b: f64| {
            let (l, h) = (a.min(b), a.max(b));
            if same { (l, h) } else { (-h, -l) }
        };
        let top = head_on_high == same;
        let mut from = seat;
        let mut outside = Vec::new();
        for (layer, spec) in fastening
            .layers
            .iter()
            .filter(|l| l.kind == LayerKind::Washer)
            .zip(Spec::washers(bolted))
        {
            let ring = made(
                "washer",
                solid::tube("washer", layer.hole_mm, layer.outer_mm, layer.thickness_mm),
                chord(layer.outer_mm),
            )?;
            let mesh = placed(ring, &frame(from, out));
            let to = from + out * layer.thickness_mm;
            outside.push(self.node(number(project, &spec), span(from, to), mesh));
            from = to;
        }
        let bolt = placed(bolt_mesh(bolted)?, &frame(from, out));
        let (tip, top_of_head) = (
            from - out * bolted.report.stack.length_mm,
            from + out * fastening.screw.head.head_height_mm,
        );
        outside.push(self.node(
            number(project, &Spec::bolt(bolted)),
            span(tip, top_of_head),
            bolt,
        ));
        if let (End::Nut(nut), Some(spec)) = (&fastening.end, Spec::nut(bolted)) {
            let end = if head_on_high { low } else { high };
            let hex = drilled_hexagon(
                nut.across_flats_mm,
                fastening.screw.thread.d_mm,
                nut.height_max_mm,
            )?;
            let mesh = placed(hex, &frame(end, -out));
            let n = self.node(
                number(project, &spec),
                span(end, end - out * nut.height_max_mm),
                mesh,
            );
            if top {
                self.hang(stack, n);
            } else {
                stack.push(n);
            }
        }
        for n in outside {
            if top {
                stack.push(n);
            } else {
                self.hang(stack, n);
            }
        }
        Ok(())
    }

    /// Puts a part below all others of a stack.
    fn hang(&mut self, stack: &mut Vec<usize>, node: usize) {
        if let Some(&first) = stack.first() {
            self.below.push((node, first));
        }
        stack.insert(0, node);
    }

    /// Moves every part clear of the one before it.
    fn settle(&mut self) {
        let hangs = |n: usize| self.below.iter().any(|(b, _)| *b == n);
        let held: Vec<Vec<usize>> = self
            .stacks
            .iter()
            .map(|(_, s)| s.iter().copied().filter(|n| !hangs(*n)).collect())
            .collect();
        // As many rounds as there are parts settle any chain of plates over plates.
        for _ in 0..self.nodes.len() {
            let mut still = true;
            for w in held.iter().flat_map(|s| s.windows(2)) {
                let (a, b) = (&self.nodes[w[0]], &self.nodes[w[1]]);
                let need = a.span.1 + a.shift + CLEAR_MM - b.span.0;
                if need > b.shift + tol::SNAP_MM {
                    self.nodes[w[1]].shift = need;
                    still = false;
                }
            }
            if still {
                break;
            }
        }
        for &(n, first) in &self.below {
            let f = &self.nodes[first];
            let limit = f.span.0 + f.shift - CLEAR_MM;
            self.nodes[n].shift = limit - self.nodes[n].span.1;
        }
    }

    /// Centre lines between neighbours of a stack.
    fn ways(&self) -> Vec<(Point3, Point3)> {
        let mut out = Vec::new();
        for (at, stack) in &self.stacks {
            let base = (*at - Point3::ORIGIN).dot(self.direction);
            for w in stack.windows(2) {
                let (a, b) = (&self.nodes[w[0]], &self.nodes[w[1]]);
                let (from, to) = (a.span.1 + a.shift, b.span.0 + b.shift);
                out.push((
                    *at + self.direction * (from - base),
                    *at + self.direction * (to - base),
                ));
            }
        }
        out
    }
}

/// Pulleys as cylinders and the belt as a band, the rear of all at `front_mm`.
fn running_gear(project: &Project, front_mm: f64, out: &mut Exploded) -> Result<(), PackageError> {
    let loaded = &project.loaded;
    let owner_number = |owner: &str| {
        let placed = loaded.job.placed.iter().find(|p| p.id == owner)?;
        number(project, &Spec::accessory(placed, loaded)?)
    };
    let Some((drive, analysis)) = &project.drive else {
        return Ok(());
    };
    let rear = drive
        .pulleys
        .iter()
        .map(|p| p.rib_plane_z_mm - 0.5 * p.width_mm)
        .fold(f64::INFINITY, f64::min);
    let shift = (front_mm - rear).max(0.0);
    let section = &drive.belt.section;
    let width = section.width_mm(drive.belt.ribs);
    for (k, p) in drive.pulleys.iter().enumerate() {
        let z = p.rib_plane_z_mm + shift;
        let contact = analysis.path.contact(k);
        let at = contact.map_or(p.centre, |c| c.centre_mm);
        let face = contact.map_or(p.rim_diameter_mm, |c| {
            let inner = match c.side {
                Side::Rib => section.rib_depth_mm(),
                Side::Back => section.back_offset_mm,
            };
            2.0 * (c.line_radius_mm - inner - UNDER_BELT_MM)
        });
        out.solids.push(Shown {
            number: owner_number(&p.owner),
            mesh: moved(
                pulley(face, p.rim_diameter_mm, p.width_mm, width)?,
                Vector3::new(at.x, at.y, z),
            ),
        });
    }
    let plane = drive.pulleys[drive.driver].rib_plane_z_mm + shift;
    let belt = Spec::belt(
        loaded,
        loaded
            .job
            .drive
            .as_ref()
            .and_then(|d| d.length_mm)
            .or(Some(analysis.belt.effective_length_mm)),
    );
    out.solids.push(Shown {
        number: belt.and_then(|s| number(project, &s)),
        mesh: band(
            &analysis.path.offset_loop(section.back_offset_mm),
            &analysis.path.offset_loop(-section.rib_depth_mm()),
            (plane - 0.5 * width, plane + 0.5 * width),
        ),
    });
    Ok(())
}

fn number(project: &Project, spec: &Spec) -> Option<usize> {
    project.kit.item(spec).map(|i| i.number)
}
