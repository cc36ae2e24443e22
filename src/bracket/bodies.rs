//! Accessories as rigid bodies: mass and centre from their files, inertia from their shapes.

use crate::geom::{Frame, Path, Point, Point3, Region};
use crate::params::accessory::Accessory;
use crate::strength::model::Body;

use super::Sources;

/// Moments of a solid: volume, first and second moments about the origin of its frame, mm³ to mm⁵.
#[derive(Debug, Clone, Copy, Default)]
struct Moments {
    volume: f64,
    first: [f64; 3],
    /// ∫ x_i x_j dV.
    second: [[f64; 3]; 3],
}

/// Every placed accessory.
pub(super) fn bodies(s: &Sources<'_>) -> Vec<Body> {
    s.layout
        .placed
        .iter()
        .filter_map(|p| {
            let accessory = s.loaded.accessories.get(&p.accessory)?;
            Some(Body {
                id: p.id.clone(),
                mass_kg: accessory.mass_kg,
                centre: to_engine(&p.frame, accessory.centre),
                inertia_kg_mm2: inertia(accessory, &p.frame),
            })
        })
        .collect()
}

/// A point of an accessory's frame in the engine frame.
pub(super) fn to_engine(frame: &Frame, p: Point3) -> Point3 {
    frame.to_engine(Point::new(p.x, p.y), p.z)
}

/// Inertia about the centre of mass in engine directions, kg·mm².
///
/// The envelope is taken as evenly filled with the accessory's mass; one without an envelope
/// is its pulley's disc, one without either a point.
fn inertia(accessory: &Accessory, frame: &Frame) -> [f64; 6] {
    let mut m = Moments::default();
    for body in &accessory.bodies {
        m.add_prism(&body.outline, body.z_mm);
    }
    if let (true, Some(p)) = (accessory.bodies.is_empty(), accessory.pulley) {
        let disc = Path::circle(Point::ORIGIN, 0.5 * p.diameter_mm);
        let half = 0.5 * p.width_mm;
        m.add_prism(&disc, (p.rib_plane_mm - half, p.rib_plane_mm + half));
    }
    if m.volume <= 0.0 {
        return [0.0; 6];
    }
    let density = accessory.mass_kg / m.volume;
    let spread = m.about_centre().map(|row| row.map(|v| v * density));
    // Turned into engine directions: S' = R S Rᵀ with the frame's axes as R's columns.
    let axes = [frame.x, frame.y, frame.normal].map(|v| [v.x, v.y, v.z]);
    let turned = |i: usize, j: usize| -> f64 {
        (0..3)
            .flat_map(|a| (0..3).map(move |b| (a, b)))
            .map(|(a, b)| axes[a][i] * spread[a][b] * axes[b][j])
            .sum()
    };
    let (xx, yy, zz) = (turned(0, 0), turned(1, 1), turned(2, 2));
    [
        yy + zz,
        zz + xx,
        xx + yy,
        turned(0, 1),
        turned(1, 2),
        turned(2, 0),
    ]
}

impl Moments {
    fn add_prism(&mut self, outline: &Path, (low, high): (f64, f64)) {
        let p = Region::solid(outline.oriented(true)).properties();
        let (a, c) = (p.area_mm2, p.centroid);
        let height = high - low;
        let middle = 0.5 * (low + high);
        let volume = a * height;
        self.volume += volume;
        let centre = [c.x, c.y, middle];
        for (sum, c) in self.first.iter_mut().zip(centre) {
            *sum += volume * c;
        }
        let own = [
            [p.iyy_mm4 * height, p.ixy_mm4 * height, 0.0],
            [p.ixy_mm4 * height, p.ixx_mm4 * height, 0.0],
            [0.0, 0.0, volume * height * height / 12.0],
        ];
        for i in 0..3 {
            for j in 0..3 {
                self.second[i][j] += own[i][j] + volume * centre[i] * centre[j];
            }
        }
    }

    fn about_centre(&self) -> [[f64; 3]; 3] {
        let mut out = self.second;
        for (i, row) in out.iter_mut().enumerate() {
            for (j, v) in row.iter_mut().enumerate() {
                *v -= self.first[i] * self.first[j] / self.volume;
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cylinder_in_two_pieces_has_the_inertia_of_one() {
        // m r²/2 about the axis, m(3r² + h²)/12 across it.
        let disc = Path::circle(Point::new(7.0, -3.0), 20.0);
        let mut m = Moments::default();
        m.add_prism(&disc, (0.0, 30.0));
        m.add_prism(&disc, (30.0, 90.0));
        let s = m.about_centre();
        let (r, h) = (20.0_f64, 90.0_f64);
        let across = (s[1][1] + s[2][2]) / m.volume;
        let along = (s[0][0] + s[1][1]) / m.volume;
        assert!((along - r * r / 2.0).abs() < 1e-9 * r * r);
        assert!((across - (3.0 * r * r + h * h) / 12.0).abs() < 1e-9 * h * h);
    }
}
