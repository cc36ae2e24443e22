//! Checks that a solid is closed, lies on its surfaces and holds the volume it should.

use truck_topology::shell::ShellCondition;

use super::Body;
use super::curve::Curve;
use super::error::SolidError;
use super::volume::volumes_mm3;

/// How far a solid's volume may differ from the closed form, as a share of it.
///
/// Both are sums of a few hundred terms in double precision (1.1e-16 each);
/// the smallest mistake worth the name, a face of 1 mm² out by 1e-6 mm on a
/// plate of 1e6 mm³, is 1e-12.
pub const VOLUME_SHARE: f64 = 1e-12;

/// How far vertices and edges may lie off their edges and faces, mm.
///
/// The uncertainty that the STEP file states.
pub const PLACE_MM: f64 = 1e-7;

/// Checks a body in full: closed, in one piece, manifold, every vertex on its
/// edges, every edge on its faces, and `expected_mm3` where it is given.
///
/// # Errors
///
/// Everything that is wrong, in the order of the list above.
pub fn check(body: &Body, expected_mm3: Option<f64>) -> Result<(), Vec<SolidError>> {
    let mut errors = Vec::new();
    errors.extend(closed(body).err());
    for shell in body.solid().boundaries() {
        let open = |reason: &str| SolidError::Open {
            body: body.name().to_owned(),
            reason: reason.to_owned(),
        };
        if shell.is_empty() || !shell.is_connected() {
            errors.push(open("they are not in one piece"));
        }
        if !shell.singular_vertices().is_empty() {
            errors.push(open("two parts meet in a single point"));
        }
    }
    errors.extend(places(body));
    let [x, y, z] = volumes_mm3(body);
    errors.extend(volume(body, expected_mm3.unwrap_or(z)).err());
    if expected_mm3.is_none() && !(x > 0.0 && y > 0.0 && z > 0.0) {
        errors.push(SolidError::Volume {
            body: body.name().to_owned(),
            expected_mm3: z.abs(),
            found_mm3: z,
        });
    }
    if errors.is_empty() {
        Ok(())
    } else {
        Err(errors)
    }
}

/// Checks that every edge is used once each way.
pub(super) fn closed(body: &Body) -> Result<(), SolidError> {
    for shell in body.solid().boundaries() {
        let condition = shell.shell_condition();
        if condition != ShellCondition::Closed {
            return Err(SolidError::Open {
                body: body.name().to_owned(),
                reason: format!("the shell is {condition:?}"),
            });
        }
    }
    Ok(())
}

/// Checks the volume along all three axes.
pub(super) fn volume(body: &Body, expected_mm3: f64) -> Result<(), SolidError> {
    for found_mm3 in volumes_mm3(body) {
        let off = (found_mm3 - expected_mm3).abs();
        // Written so that a NaN fails.
        if !(expected_mm3 > 0.0 && off <= VOLUME_SHARE * expected_mm3) {
            return Err(SolidError::Volume {
                body: body.name().to_owned(),
                expected_mm3,
                found_mm3,
            });
        }
    }
    Ok(())
}

/// Vertices off their edges and edges off their faces.
fn places(body: &Body) -> Vec<SolidError> {
    let mut errors = Vec::new();
    for (index, face) in body.solid().face_iter().enumerate() {
        let surface = face.surface();
        for edge in face.absolute_boundaries().iter().flatten() {
            let curve = edge.curve();
            let (a, b) = (edge.absolute_front().point(), edge.absolute_back().point());
            let middle = match curve {
                Curve::Line { .. } => a + (b - a) * 0.5,
                Curve::Circle { seat, radius } => {
                    let (sin, cos) = (0.5 * curve.sweep(a, b)).sin_cos();
                    seat.origin + (seat.x * cos + seat.y() * sin) * radius
                }
            };
            let off_edge = curve.distance(a).max(curve.distance(b));
            let off_face = [a, middle, b]
                .into_iter()
                .map(|p| surface.distance(p))
                .fold(0.0, f64::max);
            for (what, off) in [("a vertex", off_edge), ("an edge", off_face)] {
                if off.is_nan() || off > PLACE_MM {
                    errors.push(SolidError::Misplaced {
                        body: body.name().to_owned(),
                        face: index,
                        reason: format!("{what} lies {off:e} mm off"),
                    });
                }
            }
        }
    }
    errors
}
