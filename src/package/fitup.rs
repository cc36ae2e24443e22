//! The sheets people fit up by: order of assembly, rod, belt, tightening; as text and as pages.

use crate::drawing::{self, TitleData};
use crate::export::{ShopFile, pdf};
use crate::order::Name;
use crate::project::Project;
use crate::project::variants::BASE;
use crate::report::document::Document;
use crate::report::{fitup, torque};

use super::lists::write;
use super::{PackageError, Variants};

/// The fit-up and torque sheets of what is released, of every other way the set is built, and which variant has which.
pub(super) fn files(
    project: &Project,
    variants: Option<&Variants>,
) -> Result<Vec<ShopFile>, PackageError> {
    let mut out = sheets(project)?;
    let Some(variants) = variants else {
        return Ok(out);
    };
    let mut rows = which(project);
    for other in &variants.others {
        out.extend(sheets(other)?);
        rows.extend(which(other));
    }
    let none = "none: the set cannot be built";
    rows.extend(variants.faulty.iter().map(|v| (v.clone(), none.to_owned())));
    rows.sort_by_key(|(variant, _)| Name(variant.clone()));
    let rows = rows.into_iter().map(|(v, sheet)| vec![v, sheet]);
    let bytes = write("variants.csv", &["variant", "fit-up sheet"], rows)?;
    out.push(ShopFile::new("fit-up/variants.csv", bytes));
    Ok(out)
}

/// The variants a project's sheet serves, each with the sheet's name.
fn which(project: &Project) -> Vec<(String, String)> {
    project
        .alike
        .iter()
        .map(|v| (v.clone(), format!("{}.pdf", project.variant)))
        .collect()
}

/// The fit-up sheet and the torque sheet of one variant, as text and as pages.
fn sheets(project: &Project) -> Result<Vec<ShopFile>, PackageError> {
    let job = &project.loaded.job;
    let variant = &project.variant;
    let documents = [fitup::sheet(project), torque::sheet(project)];
    let mut pages = Vec::new();
    let mut text = String::new();
    for d in &documents {
        let fault = |e: &dyn std::fmt::Display| PackageError::List {
            name: d.kind,
            why: e.to_string(),
        };
        pages.extend(drawing::document_sheets(d, &title(project, d)).map_err(|e| fault(&e))?);
        if !text.is_empty() {
            text.push_str("\n\n");
        }
        let of = if variant == BASE {
            String::new()
        } else {
            format!(", variant {variant}")
        };
        text.push_str(&d.text(&format!(
            "{}, {} {}{of}, revision {}, {}",
            d.kind.to_uppercase(),
            job.name,
            job.title,
            job.revision,
            job.date
        )));
    }
    let bytes =
        pdf::pdf(&pages, &format!("{} {}: fit-up", job.title, job.revision)).map_err(|e| {
            PackageError::List {
                name: "fit-up",
                why: e.to_string(),
            }
        })?;
    Ok(vec![
        ShopFile::new(format!("fit-up/{variant}.txt"), text),
        ShopFile::new(format!("fit-up/{variant}.pdf"), bytes),
    ])
}

fn title(project: &Project, document: &Document) -> TitleData {
    let job = &project.loaded.job;
    let block = &job.title_block;
    let short = document.kind.split(' ').next().unwrap_or("sheet");
    TitleData {
        owner: block.owner.clone(),
        number: format!("{}-{}-{short}", job.name, project.variant),
        title: job.title.clone(),
        revision: job.revision.clone(),
        issued: job.date.clone(),
        creator: block.drawn_by.clone(),
        approver: block.approved_by.clone(),
        status: "released".to_owned(),
        ..TitleData::default()
    }
}
