//! Shapes without features: turned tubes and rods, and prisms for bought-in envelopes.

use std::borrow::Cow;
use std::f64::consts::PI;

use truck_topology::Solid;

use crate::geom::contact::Loop;
use crate::geom::{Path, Point, Point3};
use crate::tol::SNAP_MM;

use super::curve::Seat;
use super::error::SolidError;
use super::shell::{Level, Metal, ShellBuilder};
use super::surface::Surface;
use super::{Body, check};

/// A turned tube along +z from the origin: a spacer.
///
/// # Errors
///
/// Where a size is not above zero or the bore is not smaller than the outside.
pub fn tube(name: &str, inner_mm: f64, outer_mm: f64, length_mm: f64) -> Result<Body, SolidError> {
    length(name, "length", length_mm)?;
    length(name, "inner diameter", inner_mm)?;
    length(name, "wall", outer_mm - inner_mm)?;
    let mut shell = ShellBuilder::default();
    let (inner, outer) = (0.5 * inner_mm, 0.5 * outer_mm);
    let rims = barrel(&mut shell, outer, 0.0, length_mm, Metal::Inside);
    let bores = barrel(&mut shell, inner, 0.0, length_mm, Metal::Outside);
    let ends = rims
        .iter()
        .zip(&bores)
        .zip([(0.0, false), (length_mm, true)]);
    for ((rim, bore), (height, up)) in ends {
        shell.flat(height, up, vec![rim.wire(up), bore.wire(!up)]);
    }
    let expected = PI * (outer * outer - inner * inner) * length_mm;
    finish(name, shell, expected)
}

/// A round bar along +z between two heights: the envelope of a pulley or a motor.
///
/// # Errors
///
/// Where a size is not above zero.
pub fn cylinder(name: &str, diameter_mm: f64, z0_mm: f64, z1_mm: f64) -> Result<Body, SolidError> {
    length(name, "height", z1_mm - z0_mm)?;
    length(name, "diameter", diameter_mm)?;
    let radius = 0.5 * diameter_mm;
    let mut shell = ShellBuilder::default();
    let rims = barrel(&mut shell, radius, z0_mm, z1_mm, Metal::Inside);
    for (rim, (height, up)) in rims.iter().zip([(z0_mm, false), (z1_mm, true)]) {
        shell.flat(height, up, vec![rim.wire(up)]);
    }
    finish(name, shell, PI * radius * radius * (z1_mm - z0_mm))
}

/// A prism over a loop of lines and arcs between two heights.
///
/// # Errors
///
/// Where the height is not above zero or the path is no loop.
pub fn prism(name: &str, path: &Path, z0_mm: f64, z1_mm: f64) -> Result<Body, SolidError> {
    length(name, "height", z1_mm - z0_mm)?;
    let boundary = Loop::new(Cow::Borrowed(path)).map_err(|fault| SolidError::Boundary {
        owner: name.to_owned(),
        fault,
    })?;
    let path = match &boundary {
        Loop::Path { path, .. } => path,
        Loop::Circle { .. } => path,
    };
    let mut shell = ShellBuilder::default();
    let (low, high) = (
        ShellBuilder::level(path, z0_mm),
        ShellBuilder::level(path, z1_mm),
    );
    shell.walls(path, &low, &high, Metal::Inside);
    shell.flat(z0_mm, false, vec![low.wire(false)]);
    shell.flat(z1_mm, true, vec![high.wire(true)]);
    finish(name, shell, path.area() * (z1_mm - z0_mm))
}

/// A cylinder about the origin; answers its lower and upper rim.
fn barrel(shell: &mut ShellBuilder, radius: f64, z0: f64, z1: f64, metal: Metal) -> [Level; 2] {
    let rim = |z| ShellBuilder::ring(Point::ORIGIN, radius, z);
    let rims = [rim(z0), rim(z1)];
    let seat = Seat::upright(Point3::new(0.0, 0.0, z0));
    let [low, high] = &rims;
    shell.turned(low, high, Surface::Cylinder { seat, radius }, metal);
    rims
}

fn length(owner: &str, what: &str, mm: f64) -> Result<(), SolidError> {
    if mm.is_finite() && mm > SNAP_MM {
        Ok(())
    } else {
        Err(SolidError::size(
            owner,
            format!("its {what} is {mm} mm, which is not a length above zero"),
        ))
    }
}

fn finish(name: &str, shell: ShellBuilder, expected_mm3: f64) -> Result<Body, SolidError> {
    let body = Body::new(name.to_owned(), Solid::new_unchecked(vec![shell.finish()]));
    check::closed(&body)?;
    check::volume(&body, expected_mm3)?;
    Ok(body)
}
