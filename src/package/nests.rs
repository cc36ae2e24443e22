//! Nests of a package: plates on stock sheets as DXF and picture, sheet use and places as CSV.

use std::collections::BTreeMap;

use crate::drawing::{NestedPart, Page, nest_sheet};
use crate::export::ShopFile;
use crate::export::dxf::{Drawing, Entity, Layer, Shape, Version};
use crate::export::svg;
use crate::geom::{Path, Point};
use crate::nest::{self, Laid, Limits, Nest, Piece, Sheet, Work};
use crate::order::Name;
use crate::params::shop::{Process, Stock};
use crate::platework::MadePlate;
use crate::project::Project;
use crate::units::plain;

use super::PackageError;
use super::drawings::title_of;
use super::lists::{mm, write};

/// Height of the words on a nested file's note layer, mm (common practice, no source: readable on a screen).
const NOTE_MM: f64 = 5.0;

/// Plates of one stock cut by one process, and the sheets they lie on.
struct Group<'a> {
    /// Name of its files without number: the stock, with the process where several cut it.
    name: String,
    stock: &'a Stock,
    process: &'a Process,
    plates: Vec<&'a MadePlate>,
    limits: Limits,
    /// The sheets.
    nest: Nest,
}

/// Every group of a project, by stock.
fn groups(project: &Project) -> Vec<Group<'_>> {
    let loaded = &project.loaded;
    let mut by_stock: BTreeMap<(Name, Name), Vec<&MadePlate>> = BTreeMap::new();
    for made in &project.plates {
        by_stock
            .entry((Name(made.stock.clone()), Name(made.process.clone())))
            .or_default()
            .push(made);
    }
    let sets = loaded.job.sets as usize;
    let several = |stock: &Name| by_stock.keys().filter(|(s, _)| s == stock).count() > 1;
    by_stock
        .iter()
        .filter_map(|((stock_name, process_name), plates)| {
            let stock = loaded.stocks.get(&stock_name.0)?;
            let process = loaded
                .shop
                .processes
                .iter()
                .find(|p| p.id == process_name.0)?;
            let pieces: Vec<Piece> = plates
                .iter()
                .map(|m| Piece {
                    id: m.plate.id.clone(),
                    outline: m.plate.outline.clone(),
                    count: m.quantity as usize * sets,
                })
                .collect();
            let limits = Limits {
                gap_mm: process.part_gap_mm,
                margin_mm: process.edge_margin_mm,
                turns: stock.turns,
            };
            Some(Group {
                name: if several(stock_name) {
                    // A sign that no name holds, so that two stocks never share a file.
                    format!("{stock_name}+{process_name}")
                } else {
                    stock_name.0.clone()
                },
                nest: nest::pack(&pieces, &nest::blanks_mm(stock, process), &limits),
                stock,
                process,
                plates: plates.clone(),
                limits,
            })
        })
        .collect()
}

/// The files.
pub(super) fn files(project: &Project, version: Version) -> Result<Vec<ShopFile>, PackageError> {
    let mut out = Vec::new();
    let (mut use_rows, mut place_rows) = (Vec::new(), Vec::new());
    for group in groups(project) {
        for (k, sheet) in group.nest.sheets.iter().enumerate() {
            let name = format!("{}-{}", group.name, k + 1);
            out.push(ShopFile::new(
                format!("nest/{name}.dxf"),
                group.dxf(sheet, &name, version)?,
            ));
            out.push(ShopFile::new(
                format!("nest/{name}.svg"),
                svg::svg(
                    &group.picture(project, sheet, &name)?,
                    &format!("Nest {name}"),
                ),
            ));
            use_rows.push(group.use_row(sheet, &name)?);
            for l in &sheet.laid {
                place_rows.push(group.place_row(l, &name)?);
            }
        }
        for &left in &group.nest.left {
            use_rows.push(group.left_row(left)?);
        }
    }
    out.push(ShopFile::new(
        "nest/sheets.csv",
        write("nest/sheets.csv", USE_HEAD, use_rows)?,
    ));
    out.push(ShopFile::new(
        "nest/places.csv",
        write("nest/places.csv", PLACE_HEAD, place_rows)?,
    ));
    Ok(out)
}

/// The picture of every sheet, with its name.
///
/// # Errors
///
/// As [`super::files`].
pub fn nest_pictures(project: &Project) -> Result<Vec<(String, Page)>, PackageError> {
    let mut out = Vec::new();
    for group in groups(project) {
        for (k, sheet) in group.nest.sheets.iter().enumerate() {
            let name = format!("{}-{}", group.name, k + 1);
            let page = group.picture(project, sheet, &name)?;
            out.push((name, page));
        }
    }
    Ok(out)
}

const USE_HEAD: &[&str] = &[
    "sheet",
    "stock",
    "material",
    "thickness_mm",
    "process",
    "length_mm",
    "width_mm",
    "parts",
    "covered_percent",
    "reach_mm",
    "cut_mm",
    "pierces",
    "holes",
    "minutes",
    "note",
];

const PLACE_HEAD: &[&str] = &["sheet", "plate", "x_mm", "y_mm", "turn_deg"];

impl Group<'_> {
    fn plate(&self, l: &Laid) -> &MadePlate {
        self.plates[l.piece]
    }

    /// The sheet's work and, where the shop file has a feed for it, its time in min.
    fn work(&self, sheet: &Sheet) -> (Work, Option<f64>) {
        let work = sheet
            .laid
            .iter()
            .map(|l| Work::of(self.plate(l), self.process))
            .fold(Work::default(), Work::and);
        let minutes = self
            .process
            .cut(&self.stock.material, self.stock.thickness_mm)
            .map(|cut| work.minutes(self.process, cut, self.stock.thickness_mm));
        (work, minutes)
    }

    /// Why there is no time, or what the sheet is cut from.
    fn note(&self, sheet: &Sheet, timed: bool) -> String {
        let mut notes = Vec::new();
        if !timed {
            notes.push(format!(
                "no time: process {} of the shop file has no feed for {}, {} mm",
                self.process.id,
                self.stock.material,
                plain(self.stock.thickness_mm, 3)
            ));
        }
        if let Some((a, b)) = self.stock.sheet_mm {
            let whole = std::iter::once((a, b))
                .chain(self.stock.further_sheets_mm.iter().copied())
                .any(|(a, b)| {
                    let near = |x: f64, y: f64| (x - y).abs() < crate::tol::RULE_MM;
                    near(a.max(b), sheet.size_mm.0) && near(a.min(b), sheet.size_mm.1)
                });
            if !whole {
                notes.push(format!(
                    "cut down from stock: the table of {} holds {} x {} mm",
                    self.process.id,
                    plain(self.process.sheet_mm.0, 1),
                    plain(self.process.sheet_mm.1, 1)
                ));
            }
        }
        notes.join("; ")
    }

    fn use_row(&self, sheet: &Sheet, name: &str) -> Result<Vec<String>, PackageError> {
        let list = "nest/sheets.csv";
        let (work, minutes) = self.work(sheet);
        Ok(vec![
            name.to_owned(),
            self.stock.name.clone(),
            self.stock.material.clone(),
            plain(self.stock.thickness_mm, 3),
            self.process.id.clone(),
            plain(sheet.size_mm.0, 3),
            plain(sheet.size_mm.1, 3),
            sheet.laid.len().to_string(),
            mm(list, 100.0 * sheet.covered_mm2() / sheet.area_mm2(), 1)?,
            mm(list, sheet.reach_mm(), 1)?,
            mm(list, work.cut_mm, 1)?,
            work.pierces.to_string(),
            work.holes.to_string(),
            minutes.map_or(Ok(String::new()), |m| mm(list, m, 1))?,
            self.note(sheet, minutes.is_some()),
        ])
    }

    fn place_row(&self, l: &Laid, name: &str) -> Result<Vec<String>, PackageError> {
        let list = "nest/places.csv";
        Ok(vec![
            name.to_owned(),
            self.plate(l).plate.id.clone(),
            mm(list, l.at.x, 3)?,
            mm(list, l.at.y, 3)?,
            plain(l.turn_deg, 3),
        ])
    }

    /// A plate that no sheet takes, with its size and theirs.
    fn left_row(&self, piece: usize) -> Result<Vec<String>, PackageError> {
        let list = "nest/sheets.csv";
        let plate = &self.plates[piece].plate;
        let m = 2.0 * self.limits.margin_mm;
        let mut sizes = Vec::new();
        for (l, w) in nest::blanks_mm(self.stock, self.process) {
            sizes.push(format!("{} x {}", mm(list, l - m, 1)?, mm(list, w - m, 1)?));
        }
        let e = plate.outline.extents();
        let mut row = vec![String::new(); USE_HEAD.len()];
        "none".clone_into(&mut row[0]);
        row[1].clone_from(&self.stock.name);
        row[2].clone_from(&self.stock.material);
        row[3] = plain(self.stock.thickness_mm, 3);
        row[4].clone_from(&self.process.id);
        row[USE_HEAD.len() - 1] = format!(
            "plate {} of {} x {} mm fits on no sheet; within their margins they give {} mm",
            plate.id,
            mm(list, e.width(), 1)?,
            mm(list, e.height(), 1)?,
            sizes.join(", ")
        );
        Ok(row)
    }

    fn dxf(&self, sheet: &Sheet, name: &str, version: Version) -> Result<Vec<u8>, PackageError> {
        let fault = |plate: &str| {
            let plate = plate.to_owned();
            move |source| PackageError::Dxf { plate, source }
        };
        let mut drawing = Drawing::default();
        let (w, h) = sheet.size_mm;
        let corner = Point::new;
        drawing.push(Entity {
            layer: Layer::SHEET,
            shape: Shape::Loop(Path::polygon(&[
                corner(0.0, 0.0),
                corner(w, 0.0),
                corner(w, h),
                corner(0.0, h),
            ])),
        });
        let mut note = |at: Point, text: String| {
            drawing.push(Entity {
                layer: Layer::NOTE,
                shape: Shape::Text {
                    at,
                    height_mm: NOTE_MM,
                    angle_rad: 0.0,
                    text,
                },
            });
        };
        note(
            corner(0.0, -2.0 * NOTE_MM),
            format!(
                "{name}: {}, {} mm",
                self.stock.material,
                plain(self.stock.thickness_mm, 3)
            ),
        );
        for l in &sheet.laid {
            let e = l.outline.extents();
            note(e.centre(), self.plate(l).plate.id.clone());
        }
        let mut all = drawing;
        for l in &sheet.laid {
            let made = self.plate(l);
            let single =
                Drawing::of_plate(&made.plate, &made.marked).map_err(fault(&made.plate.id))?;
            // A part's own notes would lie across its neighbours; they are in its own file.
            all.append(single.without_texts().placed(l.turn_deg.to_radians(), l.at));
        }
        all.in_layer_order().to_bytes(version).map_err(fault(name))
    }

    fn picture(&self, project: &Project, sheet: &Sheet, name: &str) -> Result<Page, PackageError> {
        let parts: Vec<NestedPart> = sheet
            .laid
            .iter()
            .map(|l| {
                let plate = &self.plate(l).plate;
                let openings = plate
                    .features
                    .iter()
                    .filter_map(crate::feature::Feature::through_path)
                    .map(|p| nest::turned(&p, l.turn_deg).moved(l.at))
                    .collect();
                NestedPart {
                    label: plate.id.clone(),
                    outline: l.outline.clone(),
                    openings,
                }
            })
            .collect();
        let fault = |why: String| PackageError::Drawing {
            plate: name.to_owned(),
            why,
        };
        let title = title_of(
            project,
            name,
            &format!("Nest {name}"),
            &format!("nest/{name}.dxf"),
        );
        let thickness = format!("{} mm", plain(self.stock.thickness_mm, 3));
        nest_sheet(
            &title,
            &self.stock.material,
            &thickness,
            sheet.size_mm,
            self.limits.margin_mm,
            &parts,
            &self.facts(sheet)?,
        )
        .map_err(|e| fault(e.to_string()))
    }

    /// What is said beside the picture.
    fn facts(&self, sheet: &Sheet) -> Result<Vec<String>, PackageError> {
        let list = "nest";
        let (work, minutes) = self.work(sheet);
        let mut facts = vec![
            format!(
                "{} parts cover {} % of the sheet and reach {} mm along it.",
                sheet.laid.len(),
                mm(list, 100.0 * sheet.covered_mm2() / sheet.area_mm2(), 1)?,
                mm(list, sheet.reach_mm(), 1)?
            ),
            format!(
                "Parts {} mm apart, {} mm from the edge (dashed); kerf {} mm.",
                plain(self.limits.gap_mm, 3),
                plain(self.limits.margin_mm, 3),
                plain(self.process.kerf_mm, 3)
            ),
            format!(
                "Process {}: {} mm of cut, {} pierces, {} holes and recesses.",
                self.process.id,
                mm(list, work.cut_mm, 0)?,
                work.pierces,
                work.holes
            ),
        ];
        if let Some(m) = minutes {
            facts.push(format!(
                "About {} min by the shop file's feeds, moves between cuts left out.",
                mm(list, m, 0)?
            ));
        }
        let note = self.note(sheet, minutes.is_some());
        if !note.is_empty() {
            facts.push(format!("{}.", capital(&note)));
        }
        Ok(facts)
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}
