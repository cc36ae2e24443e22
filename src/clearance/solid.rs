//! What a body is made of: prisms (plates, cylinders, rings) in any plane frame, and hoses.

use crate::geom::{Frame, Path, Point, Point3, Region, Vector3};
use crate::tol;

use super::bounds::Bounds;
use super::profile::Profile;

/// A region of a plane drawn out along its normal.
///
/// A cylinder is a prism with a circle, a tube one with a ring.
#[derive(Debug, Clone, PartialEq)]
pub struct Prism {
    /// What it is, for messages: `ear`, `lug 2`.
    pub name: String,
    /// Frame of its plane.
    pub frame: Frame,
    /// Its section; windows and holes let other bodies through.
    pub region: Region,
    /// Height of its lower face along the frame's normal, mm.
    pub low_mm: f64,
    /// Height of its upper face, mm; greater than `low_mm`.
    pub high_mm: f64,
    /// How much of it may be trimmed away, mm; none when it must stay whole.
    pub removable_mm: Option<f64>,
}

/// A round bar or hose of constant diameter along a polyline, with round ends and bends.
#[derive(Debug, Clone, PartialEq)]
pub struct Tube {
    /// What it is, for messages.
    pub name: String,
    /// Centre line, mm; at least two points.
    pub centres: Vec<Point3>,
    /// Outer radius, mm; greater than 0.
    pub radius_mm: f64,
}

/// One solid of a body.
#[derive(Debug, Clone, PartialEq)]
pub enum Solid {
    /// A prism.
    Prism(Prism),
    /// A hose.
    Tube(Tube),
}

impl Prism {
    /// A prism of a region between two heights of a frame.
    #[must_use]
    pub fn new(
        name: impl Into<String>,
        frame: Frame,
        region: Region,
        low_mm: f64,
        high_mm: f64,
    ) -> Self {
        Self {
            name: name.into(),
            frame,
            region,
            low_mm,
            high_mm,
            removable_mm: None,
        }
    }

    /// A cylinder of `radius_mm` from `from` along `axis` for `length_mm`; `None` for an axis without length.
    #[must_use]
    pub fn cylinder(
        name: impl Into<String>,
        from: Point3,
        axis: Vector3,
        radius_mm: f64,
        length_mm: f64,
    ) -> Option<Self> {
        let frame = Frame::new(from, axis, aside(axis))?;
        let region = Region::solid(Path::circle(Point::ORIGIN, radius_mm));
        Some(Self::new(name, frame, region, 0.0, length_mm))
    }

    /// A hollow cylinder.
    #[must_use]
    pub fn ring(
        name: impl Into<String>,
        from: Point3,
        axis: Vector3,
        (inner_mm, outer_mm): (f64, f64),
        length_mm: f64,
    ) -> Option<Self> {
        let mut ring = Self::cylinder(name, from, axis, 0.5 * outer_mm, length_mm)?;
        ring.region.openings = vec![Path::circle(Point::ORIGIN, 0.5 * inner_mm)];
        Some(ring)
    }

    /// The same prism drawn out by `mm` more past its upper face (below its lower face when negative):
    /// exactly the space it sweeps when slid along its normal.
    #[must_use]
    pub fn drawn(&self, mm: f64) -> Self {
        let mut longer = self.clone();
        if mm >= 0.0 {
            longer.high_mm += mm;
        } else {
            longer.low_mm += mm;
        }
        longer
    }

    /// The same prism that may be trimmed by up to `mm`.
    #[must_use]
    pub fn trimmable(mut self, mm: f64) -> Self {
        self.removable_mm = Some(mm);
        self
    }
}

/// A direction square enough to `axis` to start a frame: the coordinate axis least along it.
fn aside(axis: Vector3) -> Vector3 {
    let (x, y, z) = (axis.x.abs(), axis.y.abs(), axis.z.abs());
    if x <= y && x <= z {
        Vector3::X
    } else if y <= z {
        Vector3::Y
    } else {
        Vector3::Z
    }
}

/// The frame shared by all prisms of one direction: at the engine's origin, its normal in the
/// half space of +Z (then +Y, then +X).
pub(super) fn common_frame(normal: Vector3) -> Frame {
    let snap = |v: f64| {
        if v.abs() < tol::PARALLEL {
            0.0
        } else if (v.abs() - 1.0).abs() < tol::PARALLEL {
            v.signum()
        } else {
            v
        }
    };
    let n = Vector3::new(snap(normal.x), snap(normal.y), snap(normal.z));
    let first = [n.z, n.y, n.x].into_iter().find(|c| *c != 0.0);
    let n = if first.is_some_and(|c| c < 0.0) {
        -n
    } else {
        n
    };
    Frame::new(Point3::ORIGIN, n, aside(n)).unwrap_or(Frame::FRONT)
}

/// Plane coordinates of `from` seen in `to`, which has the same or the opposite normal, and whether that turns it over.
pub(super) fn between_frames(from: &Frame, to: &Frame) -> (impl Fn(Point) -> Point, bool) {
    let (from, to) = (*from, *to);
    (
        move |p| to.to_plane(from.to_engine(p, 0.0)).0,
        from.normal.dot(to.normal) < 0.0,
    )
}

/// A solid made ready for distances.
#[derive(Debug, Clone)]
pub(super) enum Ready {
    Prism(Box<ReadyPrism>),
    Tube(ReadyTube),
}

/// A prism in the common frame of its direction.
#[derive(Debug, Clone)]
pub(super) struct ReadyPrism {
    pub(super) name: String,
    pub(super) frame: Frame,
    pub(super) profile: Profile,
    pub(super) low: f64,
    pub(super) high: f64,
    pub(super) bounds: Bounds<3>,
    pub(super) removable_mm: Option<f64>,
}

/// A hose with its box.
#[derive(Debug, Clone)]
pub(super) struct ReadyTube {
    pub(super) name: String,
    pub(super) centres: Vec<Point3>,
    pub(super) radius: f64,
    pub(super) bounds: Bounds<3>,
}

impl Ready {
    pub(super) fn new(solid: &Solid) -> Self {
        match solid {
            Solid::Prism(p) => Self::Prism(Box::new(ReadyPrism::new(p))),
            Solid::Tube(t) => Self::Tube(ReadyTube {
                name: t.name.clone(),
                centres: t.centres.clone(),
                radius: t.radius_mm,
                bounds: Bounds::of(t.centres.iter().map(|c| [c.x, c.y, c.z])).grown(t.radius_mm),
            }),
        }
    }

    pub(super) fn bounds(&self) -> &Bounds<3> {
        match self {
            Self::Prism(p) => &p.bounds,
            Self::Tube(t) => &t.bounds,
        }
    }

    pub(super) fn name(&self) -> &str {
        match self {
            Self::Prism(p) => &p.name,
            Self::Tube(t) => &t.name,
        }
    }

    pub(super) fn removable_mm(&self) -> Option<f64> {
        match self {
            Self::Prism(p) => p.removable_mm,
            Self::Tube(_) => None,
        }
    }
}

impl ReadyPrism {
    fn new(p: &Prism) -> Self {
        let frame = common_frame(p.frame.normal);
        let (map, mirrored) = between_frames(&p.frame, &frame);
        let profile = Profile::new(&Region {
            outer: p.region.outer.mapped(&map, mirrored),
            openings: p
                .region
                .openings
                .iter()
                .map(|o| o.mapped(&map, mirrored))
                .collect(),
        });
        let base = frame.to_plane(p.frame.origin).1;
        let sign = if mirrored { -1.0 } else { 1.0 };
        let (a, b) = (base + sign * p.low_mm, base + sign * p.high_mm);
        Self::placed(
            p.name.clone(),
            frame,
            profile,
            (a.min(b), a.max(b)),
            p.removable_mm,
        )
    }

    fn placed(
        name: String,
        frame: Frame,
        profile: Profile,
        (low, high): (f64, f64),
        removable_mm: Option<f64>,
    ) -> Self {
        let plane = profile.tree.bounds();
        let mut bounds = Bounds::EMPTY;
        for x in [plane.min[0], plane.max[0]] {
            for y in [plane.min[1], plane.max[1]] {
                for h in [low, high] {
                    let q = frame.to_engine(Point::new(x, y), h);
                    bounds.add([q.x, q.y, q.z]);
                }
            }
        }
        Self {
            name,
            frame,
            profile,
            low,
            high,
            bounds,
            removable_mm,
        }
    }

    /// The prism re-expressed in the frame of another of the same direction up to rounding.
    pub(super) fn in_frame(&self, frame: &Frame) -> Self {
        let (map, mirrored) = between_frames(&self.frame, frame);
        let base = frame.to_plane(self.frame.origin).1;
        let sign = if mirrored { -1.0 } else { 1.0 };
        let (a, b) = (base + sign * self.low, base + sign * self.high);
        Self::placed(
            self.name.clone(),
            *frame,
            self.profile.mapped(map, mirrored),
            (a.min(b), a.max(b)),
            self.removable_mm,
        )
    }

    /// How far a height lies outside the prism, mm; 0 within.
    pub(super) fn axial(&self, h: f64) -> f64 {
        (self.low - h).max(h - self.high).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn prisms_that_face_opposite_ways_share_a_frame() {
        let up = common_frame(Vector3::new(0.0, 1e-12, 1.0));
        assert_eq!(up, common_frame(-Vector3::Z));
        assert_eq!(up.normal, Vector3::Z);
        let side = common_frame(-Vector3::X);
        assert_eq!(side.normal, Vector3::X);
    }

    #[test]
    fn a_cylinder_has_the_box_its_axis_gives() {
        let c =
            Prism::cylinder("c", Point3::new(10.0, 20.0, 30.0), -Vector3::X, 4.0, 25.0).unwrap();
        let r = Ready::new(&Solid::Prism(c));
        let want = Bounds {
            min: [-15.0, 16.0, 26.0],
            max: [10.0, 24.0, 34.0],
        };
        for k in 0..3 {
            assert!((r.bounds().min[k] - want.min[k]).abs() < 1e-12);
            assert!((r.bounds().max[k] - want.max[k]).abs() < 1e-12);
        }
    }

    #[test]
    fn a_drawn_prism_covers_the_way_it_slides() {
        let c = Prism::cylinder("c", Point3::ORIGIN, Vector3::Z, 4.0, 5.0).unwrap();
        assert!((c.drawn(7.0).high_mm - 12.0).abs() < 1e-12);
        assert!((c.drawn(-7.0).low_mm + 7.0).abs() < 1e-12);
    }
}
