//! Drawings of a package: assembly picture, parts list, one manufacturing drawing a plate, the drive's picture.

use crate::drawing::{self, Deviation, Options, Revision, TitleData};
use crate::drive::Drive;
use crate::drive::picture::{self, Picture};
use crate::export::{ShopFile, pdf, svg};
use crate::platework::MadePlate;
use crate::project::Project;
use crate::report::check::value;
use crate::rules::Verdict;

use super::PackageError;

/// The drawings of a package.
pub(super) fn files(project: &Project) -> Result<Vec<ShopFile>, PackageError> {
    let mut out = Vec::new();
    let mut plates = Vec::new();
    for made in &project.plates {
        let id = &made.plate.id;
        let fault = |why: String| PackageError::Drawing {
            plate: id.clone(),
            why,
        };
        let sheets =
            drawing::plate_drawing(&made.plate, &title(project, made), &Options::default())
                .map_err(|e| fault(e.to_string()))?;
        for (n, page) in sheets.iter().enumerate() {
            let name = if sheets.len() == 1 {
                format!("drawings/{id}.svg")
            } else {
                format!("drawings/{id}-{}.svg", n + 1)
            };
            out.push(ShopFile::new(name, svg::svg(page, &made.plate.title)));
        }
        plates.extend(sheets);
    }
    let mut pages = Vec::new();
    if let Some(picture) = super::assembly_picture(project)? {
        let name = free_name(&out, "assembly");
        out.push(ShopFile::new(name, svg::svg(&picture, "Assembly picture")));
        pages.push(picture);
    }
    for (n, page) in super::parts_pages(project)?.into_iter().enumerate() {
        let name = free_name(&out, &format!("parts-{}", n + 1));
        out.push(ShopFile::new(name, svg::svg(&page, "Parts list")));
        pages.push(page);
    }
    pages.extend(plates);
    let title = format!(
        "{} {}",
        project.loaded.job.title, project.loaded.job.revision
    );
    let bytes = pdf::pdf(&pages, &title).map_err(|e| PackageError::List {
        name: "drawings.pdf",
        why: e.to_string(),
    })?;
    out.push(ShopFile::new("drawings/drawings.pdf", bytes));
    Ok(out)
}

/// A name for a sheet about the set that no plate's drawing has.
fn free_name(others: &[ShopFile], name: &str) -> String {
    let plain = format!("drawings/{name}.svg");
    let taken = others.iter().any(|f| f.name.eq_ignore_ascii_case(&plain));
    if taken {
        // With a sign that no plate's name holds.
        format!("drawings/set+{name}.svg")
    } else {
        plain
    }
}

/// The drive to scale with keep-outs and plates.
#[must_use]
pub fn drive_picture(project: &Project) -> Option<Picture> {
    let (_, analysis) = project.drive.as_ref()?;
    Some(picture::draw(&shown(project)?, analysis))
}

/// The same for a screen: its text larger beside the drive.
pub(super) fn drive_on_screen(project: &Project) -> Option<Picture> {
    /// Width at which text of 3 mm is read on half a screen, mm.
    const WIDTH_MM: f64 = 230.0;
    let (_, analysis) = project.drive.as_ref()?;
    Some(picture::draw_within(&shown(project)?, analysis, WIDTH_MM))
}

/// The drive without the bodies of accessories, which would only hide it.
fn shown(project: &Project) -> Option<Drive> {
    let (drive, _) = project.drive.as_ref()?;
    let mut shown = drive.clone();
    shown
        .obstacles
        .retain(|o| o.owner == "block" || o.owner.starts_with("plate "));
    Some(shown)
}

/// The title block of a sheet about the whole set.
pub(super) fn title_of(project: &Project, suffix: &str, title: &str, file: &str) -> TitleData {
    let job = &project.loaded.job;
    let block = &job.title_block;
    TitleData {
        owner: block.owner.clone(),
        number: format!("{}-{suffix}", job.name),
        title: title.to_owned(),
        supplement: if project.variant == crate::project::variants::BASE {
            job.title.clone()
        } else {
            format!("{}, variant {}", job.title, project.variant)
        },
        revision: job.revision.clone(),
        issued: job.date.clone(),
        creator: block.drawn_by.clone(),
        approver: block.approved_by.clone(),
        status: "released".to_owned(),
        general_tolerance: format!("ISO 2768-{}", block.tolerance),
        finish: "as each part's drawing".to_owned(),
        contour_file: file.to_owned(),
        revisions: vec![Revision {
            index: job.revision.clone(),
            change: "released".to_owned(),
            date: job.date.clone(),
            by: block.drawn_by.clone(),
        }],
        ..TitleData::default()
    }
}

fn title(project: &Project, made: &MadePlate) -> TitleData {
    let job = &project.loaded.job;
    let block = &job.title_block;
    let id = &made.plate.id;
    let finish = project
        .loaded
        .stocks
        .get(&made.stock)
        .map_or_else(String::new, |s| s.finish.clone());
    TitleData {
        title: if made.plate.title.is_empty() {
            id.clone()
        } else {
            made.plate.title.clone()
        },
        supplement: job.title.clone(),
        finish,
        quantity: Some(made.quantity),
        notes: block.notes.clone(),
        deviations: project
            .findings
            .iter()
            .filter(|f| f.verdict == Verdict::Accepted && f.on == *id)
            .map(|f| Deviation {
                rule: format!("{} {}", f.rule, f.title),
                finding: format!(
                    "{} {}, {} wanted",
                    f.what,
                    value(f.measured, f.unit),
                    value(f.limit, f.unit)
                ),
                reason: f.reason.clone().unwrap_or_default(),
            })
            .collect(),
        ..title_of(project, id, "", &format!("{id}.dxf"))
    }
}
