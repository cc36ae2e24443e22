//! The assembly file: plates, spacers and bought-in envelopes, each placed and named.

use std::collections::BTreeMap;

use crate::export::step::{Assembly, Colour, Header, Part, Placement};
use crate::geom::{Frame, Path, Point, Point3, Segment, Vector3};
use crate::layout::{Joint, SpacerSize};
use crate::page::Kind;
use crate::params::block::Block;
use crate::project::Project;
use crate::solid::{self, Body};

use super::PackageError;

/// One thing of the assembly: what it is called, its shape and where it is used.
pub(super) struct Item {
    pub(super) id: String,
    description: String,
    pub(super) body: Body,
    pub(super) kind: Kind,
    /// What findings call the thing it belongs to; a spacer's places have names of their own.
    pub(super) owner: String,
    colour: Colour,
    pub(super) places: Vec<(String, Frame)>,
}

/// Everything of the assembly but the plates.
pub(super) fn items(project: &Project) -> Result<Vec<Item>, PackageError> {
    let mut items = spacers(&project.layout.joints)?;
    items.extend(accessories(project)?);
    items.extend(pulleys(&project.loaded.block)?);
    Ok(items)
}

/// Writes the assembly file.
pub(super) fn write(
    project: &Project,
    plates: &[Body],
    items: &[Item],
    header: &Header<'_>,
) -> String {
    let job = &project.loaded.job;
    let id = project.package_name();
    let mut assembly = Assembly::new(&id, &job.title);
    for (made, body) in project.plates.iter().zip(plates) {
        assembly.add(
            Part {
                id: &made.plate.id,
                description: &made.plate.material,
                body,
                colour: Colour::PLATE,
            },
            vec![Placement {
                name: &made.plate.id,
                frame: made.plate.frame,
            }],
        );
    }
    for item in items {
        assembly.add(
            Part {
                id: &item.id,
                description: &item.description,
                body: &item.body,
                colour: item.colour,
            },
            item.places
                .iter()
                .map(|(name, frame)| Placement {
                    name,
                    frame: *frame,
                })
                .collect(),
        );
    }
    assembly.write(header)
}

fn body(part: &str, made: Result<Body, solid::SolidError>) -> Result<Body, PackageError> {
    made.map_err(|e| PackageError::Solid {
        part: part.to_owned(),
        why: e.to_string(),
    })
}

/// Spacers, equal ones written once. Sizes are compared in µm.
fn spacers(joints: &[Joint]) -> Result<Vec<Item>, PackageError> {
    type Uses = (SpacerSize, Vec<(String, Frame)>);
    let mut by_size: BTreeMap<[i64; 3], Uses> = BTreeMap::new();
    for joint in joints {
        for (n, s) in joint.spacers().enumerate() {
            let key = [s.outside_mm, s.bore_mm, s.length_mm].map(|v| (v * 1e3).round() as i64);
            by_size
                .entry(key)
                .or_insert_with(|| (s, Vec::new()))
                .1
                .push((
                    format!("spacer {} at {}", n + 1, joint.id),
                    along(joint, s.low_mm),
                ));
        }
    }
    by_size
        .into_values()
        .map(|(s, places)| {
            let id = s.designation();
            Ok(Item {
                body: body(&id, solid::tube(&id, s.bore_mm, s.outside_mm, s.length_mm))?,
                description: "turned spacer".to_owned(),
                id,
                kind: Kind::Spacer,
                owner: String::new(),
                colour: Colour::SPACER,
                places,
            })
        })
        .collect()
}

/// A frame on a joint's axis at a height.
pub(super) fn along(joint: &Joint, height_mm: f64) -> Frame {
    let at = (joint.at - Point3::ORIGIN).dot(joint.axis);
    let origin = joint.at + joint.axis * (height_mm - at);
    // Any direction square to the axis will do for a tube; take one by a fixed rule.
    let x = if joint.axis.x.abs() < 0.9 {
        Vector3::X
    } else {
        Vector3::Y
    };
    Frame::new(origin, joint.axis, x).unwrap_or(Frame::FRONT)
}

fn accessories(project: &Project) -> Result<Vec<Item>, PackageError> {
    let mut items = Vec::new();
    for placed in &project.layout.placed {
        let Some(accessory) = project.loaded.accessories.get(&placed.accessory) else {
            continue;
        };
        for (n, b) in accessory.bodies.iter().enumerate() {
            let id = format!("{} {}", placed.id, b.name);
            items.push(Item {
                body: body(&id, envelope(&id, &b.outline, b.z_mm))?,
                description: accessory.title.clone(),
                kind: Kind::Accessory,
                owner: placed.id.clone(),
                colour: Colour::ENVELOPE,
                places: vec![(format!("{} envelope {}", placed.id, n + 1), placed.frame)],
                id,
            });
        }
        if let (Some(p), None) = (accessory.pulley, &accessory.arm) {
            let id = format!("{} pulley", placed.id);
            let half = 0.5 * p.width_mm;
            items.push(Item {
                body: body(
                    &id,
                    solid::cylinder(&id, p.rim_mm, p.rib_plane_mm - half, p.rib_plane_mm + half),
                )?,
                description: accessory.title.clone(),
                kind: Kind::Pulley,
                owner: placed.id.clone(),
                colour: Colour::ENVELOPE,
                places: vec![(id.clone(), placed.frame)],
                id,
            });
        }
    }
    Ok(items)
}

fn pulleys(block: &Block) -> Result<Vec<Item>, PackageError> {
    block
        .pulleys
        .iter()
        .map(|p| {
            let id = format!("block {} pulley", p.id);
            let half = 0.5 * p.pulley.width_mm;
            Ok(Item {
                body: body(
                    &id,
                    solid::cylinder(
                        &id,
                        p.pulley.rim_mm,
                        p.pulley.rib_plane_mm - half,
                        p.pulley.rib_plane_mm + half,
                    ),
                )?,
                description: block.title.clone(),
                kind: Kind::Pulley,
                owner: p.id.clone(),
                colour: Colour::ENVELOPE,
                places: vec![(
                    id.clone(),
                    Frame {
                        origin: Point3::new(p.at.x, p.at.y, 0.0),
                        ..Frame::FRONT
                    },
                )],
                id,
            })
        })
        .collect()
}

/// A bought-in envelope; a full circle is a cylinder.
fn envelope(id: &str, outline: &Path, z: (f64, f64)) -> Result<Body, solid::SolidError> {
    match outline.segments.as_slice() {
        [Segment::Arc { centre, radius, .. }] if *centre == Point::ORIGIN => {
            solid::cylinder(id, 2.0 * radius, z.0, z.1)
        }
        _ => solid::prism(id, outline, z.0, z.1),
    }
}
