//! The parts list as CSV and sheets, and the assembly picture whose balloons count its items.

use std::collections::{BTreeMap, BTreeSet};

use crate::drawing::{AssemblyFigure, Page, PartsTable, assembly_sheet, parts_sheets};
use crate::export::ShopFile;
use crate::geom::{Point, Point3};
use crate::parts::{Item, Kit};
use crate::project::Project;
use crate::view::{Eye, Scene};

use super::PackageError;
use super::drawings::title_of;
use super::exploded::{Exploded, explode};
use super::lists::write;

/// The eye is turned this far to the right of the front, deg (common practice, no source: plates on the
/// right face show their fronts too).
const AZIMUTH_DEG: f64 = 38.0;

/// And raised this far, deg.
const ELEVATION_DEG: f64 = 24.0;

/// How far pulleys and belt may stand in front, mm: the first at which every item is seen is taken.
const FRONT_MM: [f64; 6] = [30.0, 90.0, 150.0, 220.0, 300.0, 400.0];

/// The list as CSV: a line an item, a column a variant.
pub(super) fn list(project: &Project) -> Result<ShopFile, PackageError> {
    let name = "parts.csv";
    let kit = &project.kit;
    let mut head = vec![
        "item",
        "kind",
        "what",
        "standard_or_material",
        "size",
        "length_mm",
        "class",
        "finish",
        "quantity",
        "kit",
    ];
    if kit.variants.len() > 1 {
        head.extend(kit.variants.iter().map(String::as_str));
    }
    head.push("places");
    let rows = kit.items.iter().map(|i| {
        let mut row = vec![
            i.number.to_string(),
            i.spec.kind.word().to_owned(),
            i.spec.name.to_string(),
            i.spec.standard.clone(),
            i.spec.size.clone(),
            i.spec.length_mm.clone(),
            i.spec.class.clone(),
            i.spec.finish.clone(),
            shown(kit, i).to_string(),
            i.kit().to_string(),
        ];
        if kit.variants.len() > 1 {
            row.extend(i.counts.iter().map(ToString::to_string));
        }
        row.push(i.places.join(" "));
        row
    });
    Ok(ShopFile::new(name, write(name, &head, rows)?))
}

fn shown(kit: &Kit, item: &Item) -> usize {
    item.counts.get(kit.shown).copied().unwrap_or(0)
}

/// The parts list as sheets; none where there are no parts.
///
/// # Errors
///
/// [`PackageError`] where a text cannot be lettered.
pub fn parts_pages(project: &Project) -> Result<Vec<Page>, PackageError> {
    let kit = &project.kit;
    if kit.items.is_empty() {
        return Ok(Vec::new());
    }
    let builds = kit.builds();
    let several = builds.len() > 1;
    let mut headings: Vec<String> = vec!["Item".to_owned()];
    headings.push(if several { "Set" } else { "Quantity" }.to_owned());
    if several {
        headings.push("Kit".to_owned());
        headings.extend(builds.iter().map(|b| b.letter.clone()));
    }
    let counts = headings.len();
    headings.extend(
        [
            "Kind",
            "What",
            "Standard, material",
            "Size",
            "Length",
            "Class",
            "Finish",
            "For",
        ]
        .map(str::to_owned),
    );
    let rows = kit
        .items
        .iter()
        .map(|i| {
            let mut row = vec![i.number.to_string(), shown(kit, i).to_string()];
            if several {
                row.push(i.kit().to_string());
                row.extend(
                    builds
                        .iter()
                        .map(|b| b.variants.first().map_or(0, |v| i.counts[*v]).to_string()),
                );
            }
            row.extend([
                i.spec.kind.word().to_owned(),
                i.spec.name.to_string(),
                i.spec.standard.clone(),
                i.spec.size.clone(),
                i.spec.length_mm.clone(),
                i.spec.class.clone(),
                i.spec.finish.clone(),
                i.places.join(", "),
            ]);
            row
        })
        .collect();
    let mut notes =
        vec!["Item numbers are the balloons of the assembly picture. Lengths in mm.".to_owned()];
    if several {
        notes.push(format!(
            "Set: what variant {} takes.",
            kit.variants[kit.shown]
        ));
        notes.push(
            "Kit: of each item as many as the variant that needs most of it takes, so that any one \
             variant can be built from the kit; what a variant does not use is left over."
                .to_owned(),
        );
        for b in &builds {
            let names: Vec<&str> = b
                .variants
                .iter()
                .map(|v| kit.variants[*v].as_str())
                .collect();
            notes.push(format!("{}: {}.", b.letter, names.join(", ")));
        }
    } else if kit.variants.len() > 1 {
        notes.push("All variants take the same parts.".to_owned());
    }
    let table = PartsTable {
        headings,
        counts,
        rows,
        notes,
    };
    let title = title_of(project, "parts", "Parts list", "");
    parts_sheets(&title, "", &table).map_err(|e| fault("parts list", e))
}

fn fault(sheet: &str, e: impl std::fmt::Display) -> PackageError {
    PackageError::Drawing {
        plate: sheet.to_owned(),
        why: e.to_string(),
    }
}

/// The assembly picture: the set pulled apart, balloons to the parts list; `None` where there are no parts.
///
/// # Errors
///
/// [`PackageError`] where a part cannot be made a solid, or words or balloons find no room.
pub fn assembly_picture(project: &Project) -> Result<Option<Page>, PackageError> {
    let eye = Eye::new(AZIMUTH_DEG, ELEVATION_DEG);
    let mut best: Option<View> = None;
    for front_mm in FRONT_MM {
        let view = View::of(explode(project, front_mm)?, eye);
        let seen = view.items.len();
        let drawn: BTreeSet<usize> = view.numbers.iter().flatten().copied().collect();
        if best.as_ref().is_none_or(|b| seen > b.items.len()) {
            best = Some(view);
        }
        if seen == drawn.len() {
            break;
        }
    }
    let Some(View {
        numbers,
        scene,
        ways,
        items,
    }) = best
    else {
        return Ok(None);
    };
    let Some(extents) = scene.extents() else {
        return Ok(None);
    };
    let (parts, others) = scene
        .lines()
        .into_iter()
        .partition(|c| c.solid.is_some_and(|k| numbers[k].is_some()));
    let figure = AssemblyFigure {
        parts,
        others,
        ways: ways.iter().flat_map(|(a, b)| scene.wire(*a, *b)).collect(),
        hidden: project
            .kit
            .shown_items()
            .map(|(i, _)| i.number)
            .filter(|n| items.iter().all(|(m, _)| m != n))
            .collect(),
        items,
        extents,
    };
    let mut notes = vec![
        "Pulled apart along the bolts; parallel projection, not to scale. Balloons: items of the parts list."
            .to_owned(),
        "Pulleys and belt stand in front on their rib plane; a pulley's balloon is its accessory's item."
            .to_owned(),
    ];
    if numbers.iter().any(Option::is_none) {
        notes.push("What has no balloon belongs to the block.".to_owned());
    }
    let title = title_of(project, "assembly", "Assembly picture", "");
    assembly_sheet(&title, "", &figure, &notes)
        .map(Some)
        .map_err(|e| fault("assembly picture", e))
}

/// The set pulled apart as it is seen.
struct View {
    numbers: Vec<Option<usize>>,
    scene: Scene,
    ways: Vec<(Point3, Point3)>,
    items: Vec<(usize, Point)>,
}

impl View {
    fn of(exploded: Exploded, eye: Eye) -> Self {
        let (numbers, meshes): (Vec<Option<usize>>, Vec<_>) = exploded
            .solids
            .into_iter()
            .map(|s| (s.number, s.mesh))
            .unzip();
        let scene = Scene::new(&meshes, eye);
        Self {
            items: pointed(&numbers, &scene),
            numbers,
            scene,
            ways: exploded.ways,
        }
    }
}

/// For every item the place where most of one of its parts is seen.
fn pointed(numbers: &[Option<usize>], scene: &Scene) -> Vec<(usize, Point)> {
    let mut best: BTreeMap<usize, (f64, Point)> = BTreeMap::new();
    for (k, number) in numbers.iter().enumerate() {
        if let (Some(n), Some((room, at))) = (number, scene.place_on(k))
            && best.get(n).is_none_or(|(r, _)| room > *r)
        {
            best.insert(*n, (room, at));
        }
    }
    best.into_iter().map(|(n, (_, at))| (n, at)).collect()
}
