//! A body: what stands, turns or runs on the engine, as solids with a kind.

use crate::geom::{Point3, Vector3};
use crate::tables::gap::Kind;
use crate::tables::socket::ACCESS_ROOM_MM;
use crate::tables::{Drive, Head, HeadStyle, Sockets, UnknownName};

use super::solid::{Prism, Solid, Tube};

/// Straight room over a head for socket and ratchet, mm: a 38 mm socket and a 40 mm ratchet head
/// (common practice, no source).
pub const ACCESS_LENGTH_MM: f64 = 78.0;

/// One body.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    /// Name, unique in a scene: `alternator`, `hose lower`, `front plate`.
    pub id: String,
    /// What it is.
    pub kind: Kind,
    /// The assembly it belongs to; bodies of one assembly are not held against each other.
    pub part_of: String,
    /// What it is made of; at least one solid.
    pub solids: Vec<Solid>,
}

/// A clamp on a hose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clamp {
    /// Where along the centre line, mm from its start.
    pub along_mm: f64,
    /// Outer diameter, screw housing included, mm.
    pub outer_mm: f64,
    /// Width of the band, mm.
    pub width_mm: f64,
}

impl Body {
    /// A body of its own assembly.
    #[must_use]
    pub fn new(id: impl Into<String>, kind: Kind, solids: Vec<Solid>) -> Self {
        let id = id.into();
        Self {
            part_of: id.clone(),
            id,
            kind,
            solids,
        }
    }

    /// The same body as part of an assembly.
    #[must_use]
    pub fn part_of(mut self, assembly: impl Into<String>) -> Self {
        self.part_of = assembly.into();
        self
    }

    /// A hose of `diameter_mm` along a centre line, with its clamps.
    ///
    /// Clamps past the end of the line sit at its end.
    #[must_use]
    pub fn hose(
        id: impl Into<String>,
        centres: Vec<Point3>,
        diameter_mm: f64,
        clamps: &[Clamp],
    ) -> Self {
        let mut solids = Vec::new();
        for (i, clamp) in clamps.iter().enumerate() {
            if let Some((at, direction)) = along(&centres, clamp.along_mm)
                && let Some(p) = Prism::cylinder(
                    format!("clamp {}", i + 1),
                    at + direction * (-0.5 * clamp.width_mm),
                    direction,
                    0.5 * clamp.outer_mm,
                    clamp.width_mm,
                )
            {
                solids.push(Solid::Prism(p));
            }
        }
        solids.insert(
            0,
            Solid::Tube(Tube {
                name: "hose".to_owned(),
                centres,
                radius_mm: 0.5 * diameter_mm,
            }),
        );
        Self::new(id, Kind::Hose, solids)
    }

    /// The straight room a tool needs over a head: a cylinder from `head_top` along `axis`, away from the joint.
    ///
    /// `None` for an axis without length. `part_of` names the assembly whose own
    /// bodies (head, washer, the plate under it) the tool may touch.
    #[must_use]
    pub fn tool_access(
        id: impl Into<String>,
        part_of: impl Into<String>,
        head_top: Point3,
        axis: Vector3,
        radius_mm: f64,
        length_mm: f64,
    ) -> Option<Self> {
        let room = Prism::cylinder("access", head_top, axis, radius_mm, length_mm)?;
        Some(Self::new(id, Kind::Tool, vec![Solid::Prism(room)]).part_of(part_of))
    }
}

/// Radius of the straight room a head's tool needs, mm.
///
/// An outer hexagon takes the socket's outside diameter; an inner one the
/// head's own diameter (common practice, no source: a bit holder is no wider),
/// each with [`ACCESS_ROOM_MM`] round it.
///
/// # Errors
///
/// [`UnknownName`] where the table has no socket of that size.
pub fn access_radius_mm(head: &Head, sockets: &Sockets, drive: Drive) -> Result<f64, UnknownName> {
    match head.style {
        HeadStyle::HexFlange | HeadStyle::Hex => sockets.access_radius_mm(head.drive_mm, drive),
        HeadStyle::SocketCap | HeadStyle::Countersunk => {
            Ok(0.5 * head.head_dia_mm + ACCESS_ROOM_MM)
        }
    }
}

/// The point and direction `mm` along a polyline; its end when that is further.
fn along(points: &[Point3], mm: f64) -> Option<(Point3, Vector3)> {
    let mut left = mm.max(0.0);
    let mut last = None;
    for pair in points.windows(2) {
        if let [a, b] = *pair
            && let Some(u) = (b - a).unit()
        {
            let length = a.distance(b);
            if left <= length {
                return Some((a + u * left, u));
            }
            left -= length;
            last = Some((b, u));
        }
    }
    last
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tables::Heads;

    #[test]
    fn a_clamp_sits_at_its_place_along_the_hose() {
        let p = Point3::new;
        let hose = Body::hose(
            "h",
            vec![p(0.0, 0.0, 0.0), p(30.0, 0.0, 0.0), p(30.0, 40.0, 0.0)],
            20.0,
            &[Clamp {
                along_mm: 50.0,
                outer_mm: 28.0,
                width_mm: 12.0,
            }],
        );
        assert_eq!(hose.solids.len(), 2);
        let Solid::Prism(clamp) = &hose.solids[1] else {
            unreachable!("a clamp is a cylinder");
        };
        assert!(clamp.frame.origin.distance(p(30.0, 14.0, 0.0)) < 1e-12);
        assert_eq!(clamp.frame.normal, Vector3::Y);
    }

    #[test]
    fn a_flange_head_needs_its_socket_and_a_cap_head_its_bit() {
        let head = |s: &str| Heads::standard().head(s, "M10").unwrap();
        let r =
            |s: &str| access_radius_mm(head(s), Sockets::standard(), Drive::TwelveAndHalf).unwrap();
        assert!((r("EN 1665") - 12.5).abs() < 1e-12);
        assert!((r("ISO 4762") - 9.0).abs() < 1e-12);
    }
}
