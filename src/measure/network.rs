//! What the bench gives: holes, edges, faces, the readings between them, and the frame they are stated in.

use serde::Serialize;

/// Where an item stands in the file it was read from; passed through untouched.
pub type SourceIndex = usize;

/// Everything measured on one face of a block or accessory.
///
/// Plane coordinates are seen looking at the face, x right and y up. The
/// caliper is held parallel to the face, so a reading between holes is a
/// distance in that plane.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Network {
    /// What was measured; heads the report.
    pub name: String,
    /// The holes, in the order they are to be listed.
    pub holes: Vec<Hole>,
    /// Straight edges readings were taken from.
    pub edges: Vec<Edge>,
    /// Faces whose heights were gauged.
    pub faces: Vec<Face>,
    /// The readings.
    pub readings: Vec<Reading>,
    /// What the coordinates are counted from.
    pub datum: Datum,
    /// What was seen by eye: settles mirror images that no caliper can.
    pub sights: Vec<Sight>,
}

/// A hole whose centre is wanted.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Hole {
    /// Name, unique among the holes.
    pub name: String,
    /// The hole itself, where the jaws touched its rim.
    pub bore: Option<Size>,
    /// The pin or bolt that stood in it, where the jaws touched that.
    pub pin: Option<Size>,
    /// Thread designation (`M10x1.5`), carried into the pattern that is written.
    pub thread: Option<String>,
    /// Name of the face the hole starts at.
    pub face: Option<String>,
    /// Coordinates that are known beforehand and kept, mm.
    pub known_mm: Option<[f64; 2]>,
    /// Where the hole stands in its file.
    pub source: Option<SourceIndex>,
}

/// A diameter the jaws touch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// Diameter, mm.
    pub diameter_mm: f64,
    /// Standard deviation of that diameter, of the centring of a pin included, mm.
    pub sd_mm: f64,
}

impl Size {
    /// A bore measured with the caliper: ± 0.03 mm.
    ///
    /// Common practice, no source: inside jaws bridge the curve of a small
    /// bore and read a few hundredths small.
    pub const fn bore(diameter_mm: f64) -> Self {
        Self {
            diameter_mm,
            sd_mm: 0.03,
        }
    }

    /// A ground pin pushed into a reamed or close hole: ± 0.01 mm.
    ///
    /// Common practice, no source: an m6 dowel is within 0.015 mm of its size
    /// and centres itself. A loose pin needs its own figure.
    pub const fn pin(diameter_mm: f64) -> Self {
        Self {
            diameter_mm,
            sd_mm: 0.01,
        }
    }

    /// A bolt screwed home, measured over its thread crests: ± 0.06 mm.
    ///
    /// Common practice, no source: a 6H/6g pair has 0.03 to 0.15 mm of
    /// diametral play at M10, and the bolt leans within it.
    pub const fn bolt(diameter_mm: f64) -> Self {
        Self {
            diameter_mm,
            sd_mm: 0.06,
        }
    }
}

/// Which surface at a hole the jaws touched.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Surface {
    /// The rim of the hole itself.
    Bore,
    /// The pin or bolt put into it.
    Pin,
}

/// One reading of the caliper or the depth gauge.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What was touched.
    pub kind: Kind,
    /// The reading, mm.
    pub value_mm: f64,
    /// Its standard deviation, mm; [`Kind::default_sd_mm`] when absent.
    pub sd_mm: Option<f64>,
    /// The unit it was written down in.
    pub unit: Unit,
    /// Where the reading stands in its file.
    pub source: Option<SourceIndex>,
}

impl Reading {
    /// A reading in mm with the default uncertainty of its kind.
    pub const fn new(kind: Kind, value_mm: f64) -> Self {
        Self {
            kind,
            value_mm,
            sd_mm: None,
            unit: Unit::Mm,
            source: None,
        }
    }

    /// The same reading with a stated standard deviation, mm.
    #[must_use]
    pub const fn with_sd(mut self, sd_mm: f64) -> Self {
        self.sd_mm = Some(sd_mm);
        self
    }
}

/// The unit a value was written down in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Unit {
    /// Millimetres.
    #[default]
    Mm,
    /// Inches.
    Inch,
}

/// What a reading was taken between.
#[derive(Debug, Clone, PartialEq)]
pub enum Kind {
    /// Near side to near side of two holes or pins: centre distance less both radii.
    Inside {
        /// First hole.
        a: String,
        /// Second hole.
        b: String,
        /// What the jaws touched at both.
        surface: Surface,
    },
    /// Far side to far side of two holes or pins: centre distance plus both radii.
    Over {
        /// First hole.
        a: String,
        /// Second hole.
        b: String,
        /// What the jaws touched at both.
        surface: Surface,
    },
    /// Same side to same side: far side of `a` to near side of `b`, centre distance plus radius `a` less radius `b`.
    SameSide {
        /// The hole touched on its far side.
        a: String,
        /// The hole touched on its near side.
        b: String,
        /// What the jaws touched at both.
        surface: Surface,
    },
    /// Centre to centre.
    Centres {
        /// First hole.
        a: String,
        /// Second hole.
        b: String,
    },
    /// Square from a straight edge to a hole.
    FromEdge {
        /// The edge.
        edge: String,
        /// The hole.
        hole: String,
        /// What the jaw touched at the hole.
        to: EdgeTarget,
    },
    /// Depth gauge on the face `upper`, rod down on the face `lower`.
    Step {
        /// The face the gauge stood on, nearer the viewer.
        upper: String,
        /// The face its rod touched.
        lower: String,
    },
}

impl Kind {
    /// Standard deviation taken when a reading states none, mm, with the reason it is that large.
    ///
    /// A good caliper is within ± 0.02 to 0.03 mm over its range (ISO 13385-1
    /// limits, from memory of the standard); what decides is the hand: the
    /// jaws have to find the closest or the widest place of two curved rims.
    pub const fn default_sd_mm(&self) -> (f64, &'static str) {
        match self {
            Self::Inside { .. } | Self::Over { .. } | Self::SameSide { .. } => (
                0.05,
                "0.03 mm for the caliper and 0.04 mm for finding the widest place by feel (common practice, no source)",
            ),
            Self::Centres { .. } => (
                0.10,
                "centres are read with cone points or a rule over the rims (common practice, no source)",
            ),
            Self::FromEdge { .. } => (
                0.08,
                "0.03 mm for the caliper and 0.07 mm for holding it square to the edge (common practice, no source)",
            ),
            Self::Step { .. } => (
                0.03,
                "depth gauge on machined faces (common practice, no source)",
            ),
        }
    }
}

/// What a reading from an edge touched at the hole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EdgeTarget {
    /// Its centre.
    Centre,
    /// The side nearer the edge.
    Near(Surface),
    /// The side away from the edge.
    Far(Surface),
}

/// A straight edge or machined datum face that readings are taken from, seen as a line.
#[derive(Debug, Clone, PartialEq)]
pub struct Edge {
    /// Name, unique among the edges.
    pub name: String,
    /// On which side of it the holes lie.
    pub holes_lie: Side,
    /// Whether it is machined square to the frame, so that it may define the frame's direction.
    /// An edge that is not true gets its own angle, found with the holes.
    pub square: bool,
    /// Where it lies across its own direction (its x or its y), mm, when that is to be kept.
    pub at_mm: Option<f64>,
    /// Where the edge stands in its file.
    pub source: Option<SourceIndex>,
}

/// A direction on the face, as the eye sees it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// Towards +y.
    Above,
    /// Towards −y.
    Below,
    /// Towards +x.
    Right,
    /// Towards −x.
    Left,
}

impl Side {
    /// The direction as an angle from +x, rad.
    pub fn angle(self) -> f64 {
        use std::f64::consts::{FRAC_PI_2, PI};
        match self {
            Self::Right => 0.0,
            Self::Above => FRAC_PI_2,
            Self::Left => PI,
            Self::Below => -FRAC_PI_2,
        }
    }

    /// The unit vector of the direction.
    pub const fn unit(self) -> [f64; 2] {
        match self {
            Self::Right => [1.0, 0.0],
            Self::Above => [0.0, 1.0],
            Self::Left => [-1.0, 0.0],
            Self::Below => [0.0, -1.0],
        }
    }

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Above => "above",
            Self::Below => "below",
            Self::Right => "right of",
            Self::Left => "left of",
        }
    }
}

/// A face of the part, by its height along +z (towards the viewer).
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Face {
    /// Name, unique among the faces.
    pub name: String,
    /// Height that is known beforehand and kept, mm.
    pub known_mm: Option<f64>,
    /// Where the face stands in its file.
    pub source: Option<SourceIndex>,
}

/// What the coordinates are counted from.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Datum {
    /// The hole at the stated origin coordinates; the first hole when nothing else holds the pattern.
    pub origin: Option<String>,
    /// Coordinates of that hole, mm.
    pub origin_mm: [f64; 2],
    /// The pair that defines a direction; the first two holes of a reading when nothing else does.
    pub pair: Option<Pair>,
    /// Where the datum stands in its file.
    pub source: Option<SourceIndex>,
}

/// Two holes that lie on one horizontal or one vertical by definition.
#[derive(Debug, Clone, PartialEq)]
pub enum Pair {
    /// The second lies straight to the right of the first.
    Level(String, String),
    /// The second lies straight above the first.
    Plumb(String, String),
}

/// One hole seen to lie on one side of another, in the stated frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Sight {
    /// The hole looked at.
    pub hole: String,
    /// Where it lies.
    pub side: Side,
    /// From which hole.
    pub of: String,
    /// Where the sight stands in its file.
    pub source: Option<SourceIndex>,
}
