//! What the page of a package is made from: the set's parts with the belt, pictures, lists.

use crate::export::ShopFile;
use crate::feature::{Feature, Shape};
use crate::geom::{Frame, Point3};
use crate::page::{self, Drawn, Kind, List, Page, Part};
use crate::plate::Plate;
use crate::project::Project;
use crate::report::fit::Matrix;
use crate::report::fitup;
use crate::solid::{self, Body};

use super::assembly::Item;
use super::drawings::drive_on_screen;
use super::{PackageError, assembly, lists, strength};

/// The file's name.
const NAME: &str = "index.html";

/// Lists on the page in their order: heading and file.
const LISTS: [(&str, &str); 5] = [
    ("Fasteners to buy", "fasteners-to-buy.csv"),
    ("Spacers to turn", "spacers.csv"),
    ("Torque, in order of tightening", "torque.csv"),
    ("Fasteners by joint", "fasteners.csv"),
    ("Holes and openings", "holes.csv"),
];

/// The page of a job, whether it holds or not.
///
/// A plate that is no sound solid is missing from its 3D view, and the page says so.
///
/// # Errors
///
/// [`PackageError`] names the part or list that cannot be made.
pub fn page(project: &Project, fit: Option<&Matrix>) -> Result<String, PackageError> {
    let bodies: Vec<Option<Body>> = project
        .plates
        .iter()
        .map(|m| solid::from_plate(&m.plate).ok())
        .collect();
    let bodies: Vec<Option<&Body>> = bodies.iter().map(Option::as_ref).collect();
    let set = Set {
        plates: &bodies,
        items: &assembly::items(project)?,
    };
    let pictures = strength::pictures(project);
    Ok(html(project, fit, &set, &pictures, &lists::files(project)?))
}

/// The set's solids.
pub(super) struct Set<'a> {
    /// Plates in the project's order.
    pub(super) plates: &'a [Option<&'a Body>],
    /// Everything else.
    pub(super) items: &'a [Item],
}

/// The page as a file.
pub(super) fn file(
    project: &Project,
    fit: Option<&Matrix>,
    set: &Set<'_>,
    pictures: &[Drawn],
    files: &[ShopFile],
) -> ShopFile {
    ShopFile::new(NAME, html(project, fit, set, pictures, files))
}

fn html(
    project: &Project,
    fit: Option<&Matrix>,
    set: &Set<'_>,
    pictures: &[Drawn],
    files: &[ShopFile],
) -> String {
    let moving = Moving::of(project);
    let lists: Vec<List<'_>> = LISTS
        .iter()
        .filter_map(|&(title, file)| {
            let csv = files.iter().find(|f| f.name == file)?;
            Some(List {
                title,
                file,
                csv: &csv.bytes,
            })
        })
        .collect();
    page::html(&Page {
        project,
        fit,
        drive: drive_on_screen(project).as_ref(),
        parts: &parts(project, set, &moving),
        strength: pictures,
        lists: &lists,
        cautions: fitup::CAUTIONS,
    })
}

/// Parts that the assembly file leaves out because they move: the belt, and pulleys on an arm.
struct Moving {
    belt: Option<(Body, Frame)>,
    pulleys: Vec<(String, Body, Frame)>,
}

impl Moving {
    fn of(project: &Project) -> Self {
        Self {
            belt: belt(project),
            pulleys: arm_pulleys(project),
        }
    }
}

/// The belt as it lies, nominal length, between its back and the tips of its ribs.
fn belt(project: &Project) -> Option<(Body, Frame)> {
    let (drive, analysis) = project.drive.as_ref()?;
    let section = &drive.belt.section;
    let (outer, inner) = analysis
        .path
        .band(section.back_offset_mm, section.rib_depth_mm());
    let width_mm = section.width_mm(drive.belt.ribs);
    let z = drive.pulleys.get(drive.driver)?.rib_plane_z_mm - 0.5 * width_mm;
    // A flat ring is a plate with one window.
    let ring = Plate {
        id: "belt".to_owned(),
        title: String::new(),
        frame: Frame::FRONT,
        thickness_mm: width_mm,
        material: String::new(),
        density_kg_m3: 0.0,
        outline: outer.oriented(true),
        features: vec![Feature {
            id: "inside".to_owned(),
            variants: std::sync::Arc::default(),
            shape: Shape::Window(inner.oriented(true)),
        }],
    };
    let body = solid::from_plate(&ring).ok()?;
    Some((body, Frame::FRONT.raised(z)))
}

/// Pulleys of tensioners' arms, where the nominal belt holds them.
fn arm_pulleys(project: &Project) -> Vec<(String, Body, Frame)> {
    let Some((drive, analysis)) = &project.drive else {
        return Vec::new();
    };
    let arms = project.layout.placed.iter().filter_map(|placed| {
        let accessory = project.loaded.accessories.get(&placed.accessory)?;
        accessory.arm.as_ref()?;
        let p = accessory.pulley?;
        let i = drive.pulleys.iter().position(|q| q.owner == placed.id)?;
        let at = analysis.path.contact(i)?.centre_mm;
        let name = format!("{} pulley", placed.id);
        let half = 0.5 * p.width_mm;
        let body = solid::cylinder(&name, p.rim_mm, -half, half).ok()?;
        let origin = Point3::new(at.x, at.y, placed.frame.origin.z + p.rib_plane_mm);
        let frame = Frame {
            origin,
            ..Frame::FRONT
        };
        Some((placed.id.clone(), body, frame))
    });
    arms.collect()
}

/// Every part of the set: plates, then what lies between and round them.
fn parts<'a>(project: &Project, set: &Set<'a>, moving: &'a Moving) -> Vec<Part<'a>> {
    let mut out: Vec<Part<'a>> = project
        .plates
        .iter()
        .zip(set.plates)
        .map(|(made, body)| Part {
            name: made.plate.id.clone(),
            kind: Kind::Plate,
            called: vec![made.plate.id.clone(), format!("plate {}", made.plate.id)],
            body: *body,
            frame: made.plate.frame,
        })
        .collect();
    for item in set.items {
        for (name, frame) in &item.places {
            let (name, called) = match item.kind {
                Kind::Spacer => (
                    name.clone(),
                    // The clearances name a spacer by the joint it is of.
                    vec![name.replacen(" at ", " of ", 1)],
                ),
                Kind::Pulley => pulley_names(&item.owner),
                _ => (
                    item.id.clone(),
                    vec![item.owner.clone(), format!("{} ears", item.owner)],
                ),
            };
            out.push(Part {
                name,
                kind: item.kind,
                called,
                body: Some(&item.body),
                frame: *frame,
            });
        }
    }
    for (owner, body, frame) in &moving.pulleys {
        let (name, called) = pulley_names(owner);
        out.push(Part {
            name,
            kind: Kind::Pulley,
            called,
            body: Some(body),
            frame: *frame,
        });
    }
    if let Some((body, frame)) = &moving.belt {
        out.push(Part {
            name: "belt".to_owned(),
            kind: Kind::Belt,
            called: vec!["belt".to_owned()],
            body: Some(body),
            frame: *frame,
        });
    }
    out
}

/// What the list calls a pulley, and what findings call it.
fn pulley_names(owner: &str) -> (String, Vec<String>) {
    let name = format!("{owner} pulley");
    (name.clone(), vec![owner.to_owned(), name])
}
