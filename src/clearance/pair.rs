//! The gap between two solids of any sort.

use crate::geom::Point3;
use crate::tol;

use super::line::{Near3, segment_prism, segment_segment};
use super::skew;
use super::solid::{Ready, ReadyPrism, ReadyTube};

/// The gap between two solids.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct SolidGap {
    /// Never more than the true gap, mm; negative: how deep they clash.
    pub(super) gap: f64,
    /// How much more the true gap may be, mm; 0 when exact.
    pub(super) bound: f64,
    pub(super) a: Point3,
    pub(super) b: Point3,
}

impl SolidGap {
    fn turned(self) -> Self {
        Self {
            a: self.b,
            b: self.a,
            ..self
        }
    }
}

/// The gap between two solids, if it is less than `near` mm (greater than 0).
pub(super) fn gap(a: &Ready, b: &Ready, near: f64) -> Option<SolidGap> {
    match (a, b) {
        (Ready::Prism(p), Ready::Prism(q)) => prisms(p, q, near),
        (Ready::Tube(t), Ready::Prism(p)) => tube_prism(t, p, near),
        (Ready::Prism(p), Ready::Tube(t)) => tube_prism(t, p, near).map(SolidGap::turned),
        (Ready::Tube(t), Ready::Tube(u)) => tubes(t, u, near),
    }
}

fn prisms(a: &ReadyPrism, b: &ReadyPrism, near: f64) -> Option<SolidGap> {
    if a.frame == b.frame {
        coaxial(a, b, near)
    } else if a.frame.normal.cross(b.frame.normal).length() < tol::PARALLEL {
        coaxial(a, &b.in_frame(&a.frame), near)
    } else {
        let found = skew::prism_prism(a, b, near * near)?;
        let d = found.near.d2.sqrt();
        if d == 0.0 {
            return Some(SolidGap {
                gap: -skew::depth(a, b),
                bound: 0.0,
                a: found.near.a,
                b: found.near.b,
            });
        }
        // Known to within the search's bound either way.
        let half = if found.searched {
            skew::ROUND_EDGE_MM.min(d)
        } else {
            0.0
        };
        Some(SolidGap {
            gap: d - half,
            bound: 2.0 * half,
            a: found.near.a,
            b: found.near.b,
        })
    }
}

/// Two prisms of one direction: the distance of their sections and of their heights, squared and added.
fn coaxial(a: &ReadyPrism, b: &ReadyPrism, near: f64) -> Option<SolidGap> {
    let axial = (b.low - a.high).max(a.low - b.high);
    let room = near * near - axial.max(0.0).powi(2);
    if room <= 0.0 {
        return None;
    }
    let apart = a.profile.apart(&b.profile, room)?;
    let (ha, hb) = if axial > 0.0 {
        if b.low > a.high {
            (a.high, b.low)
        } else {
            (a.low, b.high)
        }
    } else {
        let middle = 0.5 * (a.low.max(b.low) + a.high.min(b.high));
        (middle, middle)
    };
    let gap = if apart.gap > 0.0 {
        apart.gap.hypot(axial.max(0.0))
    } else if axial > 0.0 {
        axial
    } else {
        -a.profile.depth(&b.profile).min(-axial)
    };
    Some(SolidGap {
        gap,
        bound: 0.0,
        a: a.frame.to_engine(apart.a, ha),
        b: a.frame.to_engine(apart.b, hb),
    })
}

fn tube_prism(t: &ReadyTube, p: &ReadyPrism, near: f64) -> Option<SolidGap> {
    let reach = near + t.radius;
    let mut best = Near3 {
        d2: reach * reach,
        ..Near3::NONE
    };
    for ends in t.centres.windows(2) {
        if let [from, to] = *ends
            && let Some(n) = segment_prism(from, to, p, best.d2)
        {
            best = n;
        }
    }
    (best.d2 < reach * reach).then(|| from_centre(best, t.radius, 0.0))
}

fn tubes(t: &ReadyTube, u: &ReadyTube, near: f64) -> Option<SolidGap> {
    let reach = near + t.radius + u.radius;
    let mut best = Near3 {
        d2: reach * reach,
        ..Near3::NONE
    };
    for p in t.centres.windows(2) {
        for q in u.centres.windows(2) {
            if let (&[p0, p1], &[q0, q1]) = (p, q) {
                let n = segment_segment(p0, p1, q0, q1);
                if n.d2 < best.d2 {
                    best = n;
                }
            }
        }
    }
    (best.d2 < reach * reach).then(|| from_centre(best, t.radius, u.radius))
}

/// Nearest points of round bodies from those of their centre lines.
fn from_centre(n: Near3, ra: f64, rb: f64) -> SolidGap {
    let d = n.d2.sqrt();
    let (a, b) = match (n.b - n.a).unit() {
        Some(u) => (n.a + u * ra, n.b + u * -rb),
        None => (n.a, n.b),
    };
    SolidGap {
        gap: d - ra - rb,
        bound: 0.0,
        a,
        b,
    }
}
