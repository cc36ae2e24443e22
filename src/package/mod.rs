//! The shop package: which files go out for a job and what is in each.

mod assembly;
mod bolts;
mod drawings;
mod exploded;
mod fitup;
mod lists;
mod nests;
mod page;
mod parts;
mod shapes;
mod strength;

use crate::export::ShopFile;
use crate::export::dxf::{self, Drawing};
use crate::export::step;
use crate::manifest::{self, Manifest};
use crate::project::{Project, Strength};
use crate::report::check;
use crate::report::fit::Matrix;
use crate::report::paint::Paint;
use crate::solid;

pub use drawings::drive_picture;
pub use nests::nest_pictures;
pub use page::page;
pub use parts::{assembly_picture, parts_pages};

/// How a package is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Formats {
    /// Version of the DXF files.
    pub dxf: dxf::Version,
    /// Application protocol of the STEP files.
    pub step: step::Schema,
}

/// What a package holds of a job's variants beside the one it is made for.
#[derive(Debug)]
pub struct Variants {
    /// Every variant against every rule, for the page.
    pub matrix: Matrix,
    /// One variant of each other way the set is built, for its fit-up sheet.
    pub others: Vec<Project>,
    /// Variants whose set cannot be built, and so have no sheet.
    pub faulty: Vec<String>,
}

impl Formats {
    /// The choices a manifest tells of; the usual ones where it names what this program does not write.
    #[must_use]
    pub fn of(options: &manifest::Options) -> Self {
        Self {
            dxf: match options.dxf.as_str() {
                "r12" => dxf::Version::R12,
                _ => dxf::Version::R2000,
            },
            step: match options.step.as_str() {
                "ap214" => step::Schema::Ap214,
                _ => step::Schema::Ap242,
            },
        }
    }

    const fn names(self) -> (&'static str, &'static str) {
        (
            match self.dxf {
                dxf::Version::R2000 => "r2000",
                dxf::Version::R12 => "r12",
            },
            match self.step {
                step::Schema::Ap242 => "ap242",
                step::Schema::Ap214 => "ap214",
            },
        )
    }
}

/// The manifest of a package's files.
#[must_use]
pub fn manifest(project: &Project, formats: Formats, files: &[ShopFile]) -> Manifest {
    let (dxf, step) = formats.names();
    Manifest {
        job: project.loaded.job.name.clone(),
        revision: project.loaded.job.revision.clone(),
        variant: project.variant.clone(),
        program: env!("CARGO_PKG_VERSION").to_owned(),
        options: manifest::Options {
            dxf: dxf.to_owned(),
            step: step.to_owned(),
            strength: !matches!(project.strength, Strength::Skipped),
        },
        inputs: manifest::inputs(&project.loaded.sources),
        files: manifest::entries(files),
    }
}

/// Why a package cannot be made although every rule holds: always a fault of the program.
#[derive(Debug, thiserror::Error)]
pub enum PackageError {
    /// A plate's outline or features cannot be drawn.
    #[error("plate `{plate}`: {source}")]
    Dxf {
        /// The plate.
        plate: String,
        /// Why.
        source: dxf::DxfError,
    },
    /// A part cannot be made a solid, or its solid does not pass its checks.
    #[error("part `{part}`: {why}")]
    Solid {
        /// The part.
        part: String,
        /// Why.
        why: String,
    },
    /// A plate's drawing cannot be made.
    #[error("drawing of plate `{plate}`: {why}")]
    Drawing {
        /// The plate.
        plate: String,
        /// Why.
        why: String,
    },
    /// A list cannot be written.
    #[error("list `{name}`: {why}")]
    List {
        /// The list.
        name: &'static str,
        /// Why.
        why: String,
    },
}

/// The files of a job's shop package by name, its manifest among them.
///
/// `variants` is for a job that has some.
///
/// # Errors
///
/// [`PackageError`] names the part.
pub fn files(
    project: &Project,
    variants: Option<&Variants>,
    formats: Formats,
) -> Result<Vec<ShopFile>, PackageError> {
    let job = &project.loaded.job;
    let time_stamp = format!("{}T00:00:00", job.date);
    let mut out = Vec::new();
    let mut bodies = Vec::with_capacity(project.plates.len());
    for made in &project.plates {
        let id = &made.plate.id;
        let dxf = Drawing::of_plate(&made.plate, &made.marked)
            .and_then(|d| d.to_bytes(formats.dxf))
            .map_err(|source| PackageError::Dxf {
                plate: id.clone(),
                source,
            })?;
        out.push(ShopFile::new(format!("dxf/{id}.dxf"), dxf));
        let fault = |why: String| PackageError::Solid {
            part: id.clone(),
            why,
        };
        let body = solid::from_plate(&made.plate).map_err(|e| fault(e.to_string()))?;
        solid::check(&body, Some(made.plate.properties().volume_mm3)).map_err(|e| {
            let all: Vec<String> = e.iter().map(ToString::to_string).collect();
            fault(all.join("; "))
        })?;
        let name = format!("{id}.step");
        let header = step::Header {
            file_name: &name,
            time_stamp: &time_stamp,
            author: &job.title_block.drawn_by,
            organization: &job.title_block.owner,
            schema: formats.step,
        };
        let description = format!("{}, {} mm", made.plate.material, made.plate.thickness_mm);
        let text = step::part(
            &step::Part {
                id,
                description: &description,
                body: &body,
                colour: step::Colour::PLATE,
            },
            &header,
        );
        out.push(ShopFile::new(format!("step/{name}"), text));
        bodies.push(body);
    }
    let name = format!("{}.step", job.name);
    let header = step::Header {
        file_name: &name,
        time_stamp: &time_stamp,
        author: &job.title_block.drawn_by,
        organization: &job.title_block.owner,
        schema: formats.step,
    };
    let items = assembly::items(project)?;
    let text = assembly::write(project, &bodies, &items, &header);
    out.push(ShopFile::new(format!("step/{name}"), text));
    out.extend(drawings::files(project)?);
    out.extend(drive_picture(project).map(|p| ShopFile::new("drive.svg", p.svg)));
    let lists = lists::files(project)?;
    let pictures = strength::pictures(project);
    let plates: Vec<Option<&solid::Body>> = bodies.iter().map(Some).collect();
    let set = page::Set {
        plates: &plates,
        items: &items,
    };
    let fit = variants.map(|v| &v.matrix);
    out.push(page::file(project, fit, &set, &pictures, &lists));
    out.extend(lists);
    out.extend(fitup::files(project, variants)?);
    out.extend(nests::files(project, formats.dxf)?);
    out.extend(strength::files(project, &pictures));
    out.push(ShopFile::new(
        "check.txt",
        check::text(project, true, Paint::PLAIN),
    ));
    out.push(ShopFile::new(
        "check.json",
        crate::report::json_text(&check::json(project)),
    ));
    out.extend(manifest(project, formats, &out).files());
    out.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(out)
}
