//! Bolt and screw heads: hexagon flange, hexagon, socket cap with counterbore, countersunk.

use serde::{Deserialize, Serialize};

use super::table::{Confidence, Table, UnknownName, increasing, positive, row};

/// Included angle of a countersunk head, deg (ISO 10642).
pub const COUNTERSINK_DEG: f64 = 90.0;

/// Share of ISO 898-1 loads that a countersunk socket screw carries: its key
/// reaches into the head (ISO 10642:2004, from memory).
pub const COUNTERSUNK_STRENGTH: f64 = 0.8;

/// The kind of head.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HeadStyle {
    /// Hexagon with an integral flange.
    HexFlange,
    /// Plain hexagon.
    Hex,
    /// Cylindrical, internal hexagon.
    SocketCap,
    /// Conical, internal hexagon.
    Countersunk,
}

/// One head: a standard and a size.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Head {
    /// Standard, such as `EN 1665`.
    pub standard: String,
    /// Bolt size, such as `M10`.
    pub size: String,
    /// Kind of head.
    pub style: HeadStyle,
    /// Across flats: of the hexagon, or of the key for an internal one, mm.
    pub drive_mm: f64,
    /// Least width across the corners of an outer hexagon, mm.
    pub corners_min_mm: Option<f64>,
    /// Greatest diameter the head fills: flange, corners or cylinder (theoretical sharp edge when countersunk), mm.
    pub head_dia_mm: f64,
    /// Outer diameter of the bearing face at its least, mm.
    pub bearing_dia_mm: f64,
    /// Greatest height of the head, mm.
    pub head_height_mm: f64,
    /// Least thickness of the flange at its edge, mm.
    pub flange_edge_mm: Option<f64>,
    /// Shortest length made with a plain shank, mm; none for screws threaded to the head.
    pub shank_from_mm: Option<f64>,
    /// Thread length of a bolt with a plain shank, up to 125 mm long, mm (ISO 888).
    pub thread_b_mm: Option<f64>,
    /// Counterbore diameter, mm (DIN 974-1 series 1).
    pub counterbore_dia_mm: Option<f64>,
    /// Counterbore depth that sinks the head, mm (DIN 974-1).
    pub counterbore_depth_mm: Option<f64>,
    /// Where the row is from.
    pub source: String,
    /// How sure it is.
    pub confidence: Confidence,
}

row!(Head, "head", "heads.csv", |r|
name: format!("{} {}", r.standard, r.size),
check: positive(&[
    ("drive_mm", r.drive_mm),
    ("bearing_dia_mm", r.bearing_dia_mm),
    ("head_height_mm", r.head_height_mm),
])
.and_then(|()| increasing(&[
    ("bearing_dia_mm", r.bearing_dia_mm),
    ("head_dia_mm", r.head_dia_mm),
])));

/// Heads by standard and size.
pub type Heads = Table<Head>;

impl Heads {
    /// The head of a standard (`EN 1665`, `ISO 4762`, an edition such as `ISO 4762:2004` is cut off) and size (`M10`).
    ///
    /// # Errors
    ///
    /// [`UnknownName`] with the nearest standards and sizes.
    pub fn head(&self, standard: &str, size: &str) -> Result<&Head, UnknownName> {
        let standard = standard.split(':').next().unwrap_or_default();
        self.get(&format!("{standard} {size}"))
    }

    /// The standards that have rows, in table order.
    #[must_use]
    pub fn standards(&self) -> Vec<&str> {
        let mut all: Vec<&str> = Vec::new();
        for r in self.rows() {
            if !all.contains(&r.standard.as_str()) {
                all.push(&r.standard);
            }
        }
        all
    }
}

impl Head {
    /// Length of thread on a bolt `length_mm` long, mm: the whole length where it has no plain shank.
    ///
    /// ISO 888:2012: b, b + 6 over 125 mm, b + 19 over 200 mm (2d + 6, + 12, + 25 for a hexagon bolt).
    #[must_use]
    pub fn thread_length_mm(&self, length_mm: f64) -> f64 {
        match (self.shank_from_mm, self.thread_b_mm) {
            (Some(from), Some(b)) if length_mm >= from => {
                if length_mm > 200.0 {
                    b + 19.0
                } else if length_mm > 125.0 {
                    b + 6.0
                } else {
                    b
                }
            }
            _ => length_mm,
        }
    }

    /// Mean diameter dm for punching, mm: of the hexagon's flats and corners, else of the head (EN 1993-1-8 Table 3.4).
    #[must_use]
    pub fn mean_dia_mm(&self) -> f64 {
        self.corners_min_mm
            .map_or(self.head_dia_mm, |e| 0.5 * (self.drive_mm + e))
    }

    /// Whether the length is counted over the whole screw, head included (countersunk).
    #[must_use]
    pub fn length_includes_head(&self) -> bool {
        self.style == HeadStyle::Countersunk
    }

    /// Share of ISO 898-1 loads the screw carries.
    #[must_use]
    pub fn strength_factor(&self) -> f64 {
        if self.style == HeadStyle::Countersunk {
            COUNTERSUNK_STRENGTH
        } else {
            1.0
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_m10_flange_bolt_has_a_different_wrench_in_each_standard() {
        let t = Heads::standard();
        assert!((t.head("EN 1665", "M10").unwrap().drive_mm - 16.0).abs() < 1e-12);
        assert!((t.head("ISO 4162:1990", "M10").unwrap().drive_mm - 13.0).abs() < 1e-12);
    }

    #[test]
    fn a_countersunk_head_is_a_right_angled_cone() {
        // ISO 10642: k = (dk − d)/2 for 90°.
        for h in Heads::standard().rows() {
            if h.style == HeadStyle::Countersunk {
                let d: f64 = h.size[1..].parse().unwrap();
                assert!(
                    (h.head_height_mm - 0.5 * (h.head_dia_mm - d)).abs() < 5e-3,
                    "{}",
                    h.size
                );
            }
        }
    }

    #[test]
    fn thread_lengths_follow_iso_888() {
        let t = Heads::standard();
        let h = t.head("ISO 4014", "M10").unwrap();
        assert!((h.thread_length_mm(80.0) - 26.0).abs() < 1e-12);
        assert!((h.thread_length_mm(150.0) - 32.0).abs() < 1e-12);
        assert!((h.thread_length_mm(220.0) - 45.0).abs() < 1e-12);
        assert!((h.thread_length_mm(40.0) - 40.0).abs() < 1e-12);
        let screw = t.head("ISO 4017", "M10").unwrap();
        assert!((screw.thread_length_mm(80.0) - 80.0).abs() < 1e-12);
    }

    #[test]
    fn an_unknown_head_answers_the_nearest() {
        let e = Heads::standard().head("EN 1666", "M10").unwrap_err();
        assert!(e.nearest.contains(&"EN 1665 M10".to_owned()), "{e}");
    }
}
