//! What a strength calculation is asked: plates, what holds and loads them, what excites them.
//!
//! Plates sit in the engine frame by their own frames. Contact is linear:
//! a clamp ring is tied, it neither slides nor lifts.

use crate::geom::{Point, Point3, Vector3};
use crate::plate::Plate;

use super::StrengthError;
use super::structure::Elastic;

/// A material with its strengths.
#[derive(Debug, Clone, PartialEq)]
pub struct Material {
    /// Designation, such as `EN AW-6061-T6`.
    pub id: String,
    /// Young's modulus, MPa; > 0.
    pub young_mpa: f64,
    /// Poisson's ratio, 0 ≤ ν < 0.5.
    pub poisson: f64,
    /// Density, kg/m³; > 0.
    pub density_kg_m3: f64,
    /// Yield strength (minimum), MPa; > 0.
    pub yield_mpa: f64,
    /// Ultimate strength (minimum), MPa; ≥ yield.
    pub ultimate_mpa: f64,
    /// Fatigue limit of the finished part, fully reversed, MPa; > 0.
    ///
    /// Surface, size and reliability factors belong in it: a polished test bar's value does not hold for a cut edge.
    pub fatigue_mpa: f64,
}

/// A plate of the set.
#[derive(Debug, Clone, PartialEq)]
pub struct PlatePart {
    /// The plate.
    pub plate: Plate,
    /// Its material.
    pub material: Material,
}

/// A rigid body: an accessory, or anything stiff.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    /// Name, unique among bodies.
    pub id: String,
    /// Mass, kg; ≥ 0.
    pub mass_kg: f64,
    /// Centre of mass, engine frame, mm.
    pub centre: Point3,
    /// Inertia about the centre in engine directions, kg·mm²: xx, yy, zz, xy, yz, zx (products as ∫ x y dm).
    pub inertia_kg_mm2: [f64; 6],
}

/// What a thing is fastened to.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Anchor {
    /// The engine block, which does not move.
    Block,
    /// A rigid body, by name.
    Body(String),
    /// The metal another clamp holds, by the clamp's name: the two move as one.
    Clamp(String),
    /// Nothing but what names this clamp itself (a spacer, a force).
    Free,
}

/// The metal a clamp takes hold of.
#[derive(Debug, Clone, PartialEq)]
pub enum Seat {
    /// A ring on a face: under a head, or where an ear, a spacer or the block bears.
    Face {
        /// Centre, plate frame, mm.
        centre: Point,
        /// Inner radius, mm: the hole's, or the bearing's inner edge.
        inner_mm: f64,
        /// Outer radius, mm.
        outer_mm: f64,
        /// Height of the face in the plate: 0 back, thickness front, or a counterbore's floor, mm.
        height_mm: f64,
    },
    /// The wall of a hole between two heights: a thread, or a countersunk head's cone.
    Wall {
        /// Name of the plate's feature.
        feature: String,
        /// Lower height, mm.
        from_mm: f64,
        /// Upper height, mm.
        to_mm: f64,
    },
}

/// A tied clamp: metal of a plate that moves rigidly with an anchor.
#[derive(Debug, Clone, PartialEq)]
pub struct Clamp {
    /// Name, unique among clamps.
    pub id: String,
    /// Plate, by name.
    pub plate: String,
    /// What it holds.
    pub seat: Seat,
    /// What it is tied to.
    pub tied_to: Anchor,
}

/// A turned tube between two anchors, as a beam.
#[derive(Debug, Clone, PartialEq)]
pub struct Spacer {
    /// Name, unique among spacers.
    pub id: String,
    /// What its start is fastened to.
    pub from: Anchor,
    /// What its end is fastened to.
    pub to: Anchor,
    /// Start of its axis, engine frame, mm.
    pub start: Point3,
    /// End of its axis, mm.
    pub end: Point3,
    /// Outer diameter, mm.
    pub outer_mm: f64,
    /// Inner diameter, mm.
    pub inner_mm: f64,
    /// Material.
    pub material: Material,
}

/// A force and a moment at a point that moves with an anchor.
#[derive(Debug, Clone, PartialEq)]
pub struct Force {
    /// What it acts on: a body or a clamp.
    pub on: Anchor,
    /// Where, engine frame, mm.
    pub at: Point3,
    /// Force, N.
    pub force_n: Vector3,
    /// Moment, N·m.
    pub moment_nm: Vector3,
}

/// One static load case.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadCase {
    /// Name, unique among cases.
    pub id: String,
    /// Forces.
    pub forces: Vec<Force>,
    /// Body load as multiples of weight, by direction: (0, −1, 0) is standing still; a shock of 10 g
    /// upward of the engine is (0, −11, 0).
    pub weight_factor: Vector3,
}

/// A stress that goes to and fro: load cases summed with factors.
#[derive(Debug, Clone, PartialEq)]
pub struct FatigueCycle {
    /// Name.
    pub id: String,
    /// Mean: (case, factor).
    pub mean: Vec<(String, f64)>,
    /// Amplitude: (case, factor).
    pub amplitude: Vec<(String, f64)>,
}

/// A belt span at a pulley.
#[derive(Debug, Clone, PartialEq)]
pub struct Span {
    /// Name.
    pub id: String,
    /// Unit direction from the pulley along the span, engine frame.
    pub direction: Vector3,
    /// Length, mm.
    pub length_mm: f64,
}

/// A pulley whose deflection and tilt are wanted.
#[derive(Debug, Clone, PartialEq)]
pub struct Pulley {
    /// Name.
    pub id: String,
    /// What carries it.
    pub on: Anchor,
    /// Centre of its grooves, engine frame, mm.
    pub centre: Point3,
    /// Unit direction of its axis.
    pub axis: Vector3,
    /// Spans that leave it.
    pub spans: Vec<Span>,
}

/// A periodic excitation.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// Name, such as `firing`.
    pub id: String,
    /// Cycles per crankshaft turn; > 0 (firing of a four-stroke of n cylinders: n/2).
    pub per_turn: f64,
}

/// What excites the set, and over which speeds.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Excitation {
    /// Idle speed, rpm.
    pub idle_rpm: f64,
    /// Top speed, rpm.
    pub top_rpm: f64,
    /// Orders.
    pub orders: Vec<Order>,
}

/// A bracket set.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Model {
    /// Plates.
    pub plates: Vec<PlatePart>,
    /// Rigid bodies.
    pub bodies: Vec<Body>,
    /// Clamps.
    pub clamps: Vec<Clamp>,
    /// Spacers.
    pub spacers: Vec<Spacer>,
    /// Load cases.
    pub cases: Vec<LoadCase>,
    /// Fatigue cycles.
    pub cycles: Vec<FatigueCycle>,
    /// Pulleys to watch.
    pub pulleys: Vec<Pulley>,
    /// Excitation.
    pub excitation: Excitation,
}

impl Material {
    /// The elastic part, in the solver's units.
    #[must_use]
    pub fn elastic(&self) -> Elastic {
        Elastic {
            young_mpa: self.young_mpa,
            poisson: self.poisson,
            density_t_mm3: self.density_kg_m3 * 1e-12,
        }
    }

    fn check(&self, of: &str) -> Result<(), StrengthError> {
        positive("Young's modulus (MPa)", of, self.young_mpa)?;
        positive("density (kg/m³)", of, self.density_kg_m3)?;
        positive("yield strength (MPa)", of, self.yield_mpa)?;
        positive("ultimate strength (MPa)", of, self.ultimate_mpa)?;
        positive("fatigue limit (MPa)", of, self.fatigue_mpa)?;
        if !(0.0..0.5).contains(&self.poisson) {
            return Err(bad(
                "Poisson's ratio",
                of,
                self.poisson,
                "from 0 to below 0.5",
            ));
        }
        Ok(())
    }
}

fn bad(what: &'static str, of: &str, value: f64, must: &'static str) -> StrengthError {
    StrengthError::BadValue {
        what,
        of: of.to_owned(),
        value,
        must,
    }
}

fn positive(what: &'static str, of: &str, value: f64) -> Result<(), StrengthError> {
    if value > 0.0 && value.is_finite() {
        Ok(())
    } else {
        Err(bad(what, of, value, "greater than 0"))
    }
}

fn finite(what: &'static str, of: &str, values: &[f64]) -> Result<(), StrengthError> {
    match values.iter().find(|v| !v.is_finite()) {
        Some(v) => Err(bad(what, of, *v, "a finite number")),
        None => Ok(()),
    }
}

const fn xyz(v: Vector3) -> [f64; 3] {
    [v.x, v.y, v.z]
}

const fn place(p: Point3) -> [f64; 3] {
    [p.x, p.y, p.z]
}

impl Model {
    /// Checks every number and every name.
    ///
    /// # Errors
    /// The first number that cannot be used, name that is missing or name given twice.
    pub fn validate(&self) -> Result<(), StrengthError> {
        self.validate_names()?;
        for p in &self.plates {
            p.material.check(&format!("plate `{}`", p.plate.id))?;
            positive(
                "thickness (mm)",
                &format!("plate `{}`", p.plate.id),
                p.plate.thickness_mm,
            )?;
        }
        for b in &self.bodies {
            let of = format!("body `{}`", b.id);
            if !(b.mass_kg >= 0.0 && b.mass_kg.is_finite()) {
                return Err(bad("mass (kg)", &of, b.mass_kg, "0 or greater"));
            }
            finite("centre (mm)", &of, &place(b.centre))?;
            finite("inertia (kg·mm²)", &of, &b.inertia_kg_mm2)?;
        }
        for c in &self.clamps {
            let of = format!("clamp `{}`", c.id);
            match &c.seat {
                Seat::Face {
                    centre,
                    inner_mm,
                    outer_mm,
                    height_mm,
                } => {
                    finite("centre (mm)", &of, &[centre.x, centre.y, *height_mm])?;
                    positive("outer radius (mm)", &of, *outer_mm)?;
                    if !(*inner_mm >= 0.0 && inner_mm < outer_mm) {
                        return Err(bad(
                            "inner radius (mm)",
                            &of,
                            *inner_mm,
                            "from 0 to below the outer radius",
                        ));
                    }
                }
                Seat::Wall { from_mm, to_mm, .. } => {
                    finite("height (mm)", &of, &[*from_mm, *to_mm])?;
                    positive("wall height (mm)", &of, to_mm - from_mm)?;
                }
            }
        }
        for s in &self.spacers {
            let of = format!("spacer `{}`", s.id);
            s.material.check(&of)?;
            positive("length (mm)", &of, s.start.distance(s.end))?;
            positive("outer diameter (mm)", &of, s.outer_mm)?;
            positive("wall (mm)", &of, s.outer_mm - s.inner_mm)?;
        }
        for c in &self.cases {
            let of = format!("load case `{}`", c.id);
            finite("weight factor", &of, &xyz(c.weight_factor))?;
            for f in &c.forces {
                finite("force (N)", &of, &xyz(f.force_n))?;
                finite("moment (N·m)", &of, &xyz(f.moment_nm))?;
                finite("place (mm)", &of, &place(f.at))?;
            }
        }
        let e = &self.excitation;
        for o in &e.orders {
            positive(
                "order (cycles per turn)",
                &format!("order `{}`", o.id),
                o.per_turn,
            )?;
            positive("idle speed (rpm)", "the excitation", e.idle_rpm)?;
            positive(
                "top speed over idle (rpm)",
                "the excitation",
                e.top_rpm - e.idle_rpm,
            )?;
        }
        Ok(())
    }

    fn validate_names(&self) -> Result<(), StrengthError> {
        unique("plate", self.plates.iter().map(|p| &p.plate.id))?;
        unique("body", self.bodies.iter().map(|b| &b.id))?;
        unique("clamp", self.clamps.iter().map(|c| &c.id))?;
        unique("spacer", self.spacers.iter().map(|s| &s.id))?;
        unique("load case", self.cases.iter().map(|c| &c.id))?;
        unique("pulley", self.pulleys.iter().map(|p| &p.id))?;
        for c in &self.clamps {
            let Some(part) = self.plates.iter().find(|p| p.plate.id == c.plate) else {
                return Err(unknown("clamp", &c.id, "plate", &c.plate));
            };
            if let Seat::Wall { feature, .. } = &c.seat
                && part.plate.feature(feature).is_none()
            {
                return Err(unknown("clamp", &c.id, "feature", feature));
            }
            self.check_anchor("clamp", &c.id, &c.tied_to)?;
        }
        for s in &self.spacers {
            self.check_anchor("spacer", &s.id, &s.from)?;
            self.check_anchor("spacer", &s.id, &s.to)?;
        }
        for c in &self.cases {
            for f in &c.forces {
                self.check_anchor("load case", &c.id, &f.on)?;
            }
        }
        for p in &self.pulleys {
            self.check_anchor("pulley", &p.id, &p.on)?;
        }
        for f in &self.cycles {
            for (case, _) in f.mean.iter().chain(&f.amplitude) {
                if !self.cases.iter().any(|c| c.id == *case) {
                    return Err(unknown("fatigue cycle", &f.id, "load case", case));
                }
            }
        }
        Ok(())
    }

    fn check_anchor(
        &self,
        what: &'static str,
        of: &str,
        anchor: &Anchor,
    ) -> Result<(), StrengthError> {
        match anchor {
            Anchor::Block => Ok(()),
            Anchor::Body(id) if self.bodies.iter().any(|b| b.id == *id) => Ok(()),
            Anchor::Clamp(id) if self.clamps.iter().any(|c| c.id == *id) => Ok(()),
            Anchor::Body(id) => Err(unknown(what, of, "body", id)),
            Anchor::Clamp(id) => Err(unknown(what, of, "clamp", id)),
            // Only a clamp may be free: it then moves with what names it.
            Anchor::Free if what == "clamp" => Ok(()),
            Anchor::Free => Err(unknown(what, of, "anchor", "free")),
        }
    }
}

fn unknown(what: &'static str, of: &str, kind: &'static str, name: &str) -> StrengthError {
    StrengthError::Unknown {
        what,
        of: of.to_owned(),
        kind,
        name: name.to_owned(),
    }
}

fn unique<'a>(
    kind: &'static str,
    names: impl Iterator<Item = &'a String>,
) -> Result<(), StrengthError> {
    let mut seen = std::collections::BTreeSet::new();
    for n in names {
        if !seen.insert(n) {
            return Err(StrengthError::Twice {
                kind,
                name: n.clone(),
            });
        }
    }
    Ok(())
}
