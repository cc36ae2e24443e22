//! The shop file (what the machines can do) and the stock file (what it is cut from).

use crate::diag::Spot;
use crate::tol;

/// A CNC shop.
#[derive(Debug, Clone, PartialEq)]
pub struct Shop {
    /// File stem.
    pub name: String,
    /// What a person calls it.
    pub title: String,
    /// Its processes; the first is the default.
    pub processes: Vec<Process>,
}

/// One cutting process of a shop.
#[derive(Debug, Clone, PartialEq)]
pub struct Process {
    /// Name by which a plate asks for it.
    pub id: String,
    /// How it cuts.
    pub method: Method,
    /// Least hole diameter it cuts, as a multiple of the thickness.
    pub least_hole_per_thickness: f64,
    /// Least hole diameter it cuts, mm, whatever the thickness.
    pub least_hole_mm: f64,
    /// Least web between two cuts, as a multiple of the thickness.
    pub least_web_per_thickness: f64,
    /// Least web between two cuts, mm.
    pub least_web_mm: f64,
    /// Cutter diameters at hand, mm, ascending; empty for a beam or jet.
    pub cutters_mm: Vec<f64>,
    /// Least inside corner radius of an outline or window, mm (cutter radius for milling).
    pub inside_radius_mm: f64,
    /// Greatest thickness, mm.
    pub most_thickness_mm: f64,
    /// Usable sheet or table size, mm.
    pub sheet_mm: (f64, f64),
    /// Whether it can drill, tap, counterbore and pocket as well as cut outlines.
    pub machines: bool,
    /// Whether it engraves what the marking layer holds.
    pub engraves: bool,
    /// Kerf, mm: the width of the cut; a mill's is its outline cutter.
    pub kerf_mm: f64,
    /// Least distance between the outlines of two parts on a sheet, mm; at least the kerf.
    pub part_gap_mm: f64,
    /// Least distance between a part's outline and the sheet's edge, mm.
    pub edge_margin_mm: f64,
    /// How fast it cuts what, in file order.
    pub cuts: Vec<Cut>,
    /// Time for one drilled, reamed or tapped hole, seat, pocket or groove, s.
    pub hole_s: f64,
    /// Time to load, clamp and unload a sheet, min.
    pub sheet_min: f64,
    /// Where it is written.
    pub spot: Spot,
}

/// How fast a process cuts a material.
#[derive(Debug, Clone, PartialEq)]
pub struct Cut {
    /// Material designation, a row of the materials table.
    pub material: String,
    /// Greatest thickness the row is for, mm; `None`: any.
    pub up_to_mm: Option<f64>,
    /// Feed along the outline, mm/min.
    pub feed_mm_min: f64,
    /// Time to pierce or to plunge to depth, once a closed cut, s.
    pub pierce_s: f64,
    /// Depth of one pass, mm; `None`: the whole thickness at once.
    pub pass_mm: Option<f64>,
}

impl Process {
    /// The row for a material and thickness: of those that reach it the one for the least thickness.
    #[must_use]
    pub fn cut(&self, material: &str, thickness_mm: f64) -> Option<&Cut> {
        let reach = |c: &Cut| c.up_to_mm.unwrap_or(f64::INFINITY);
        self.cuts
            .iter()
            .filter(|c| c.material == material && thickness_mm <= reach(c) + tol::RULE_MM)
            .min_by(|a, b| reach(a).total_cmp(&reach(b)))
    }
}

/// How a process cuts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// End mill.
    Milling,
    /// Laser beam.
    Laser,
    /// Plasma arc.
    Plasma,
    /// Abrasive waterjet.
    Waterjet,
}

/// How parts may be turned on a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Turns {
    /// Any way.
    Any,
    /// By quarter turns.
    Quarter,
    /// By half a turn: the grain runs along the part's x.
    Half,
    /// Not at all.
    None,
}

/// A plate stock.
#[derive(Debug, Clone, PartialEq)]
pub struct Stock {
    /// File stem.
    pub name: String,
    /// What a person calls it.
    pub title: String,
    /// Material designation, a row of the materials table.
    pub material: String,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Sheet size, mm.
    pub sheet_mm: Option<(f64, f64)>,
    /// Further sizes it is bought in, mm.
    pub further_sheets_mm: Vec<(f64, f64)>,
    /// How parts may be turned on it.
    pub turns: Turns,
    /// Surface finish or treatment, for the drawing.
    pub finish: String,
}
