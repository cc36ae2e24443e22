//! The shop file (what the machines can do) and the stock file (what it is cut from).

use crate::diag::Spot;

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
    /// Kerf, mm.
    pub kerf_mm: f64,
    /// Where it is written.
    pub spot: Spot,
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
    /// Surface finish or treatment, for the drawing.
    pub finish: String,
}
