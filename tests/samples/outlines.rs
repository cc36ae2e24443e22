//! Outlines of lines and tangent arcs.

use super::Dice;
use platewright::geom::{Path, Point, Segment};
use std::f64::consts::TAU;

/// A counter-clockwise polygon with every corner rounded by its radius (less where the sides are too short).
pub fn rounded_polygon(corners: &[(f64, f64)], radii: &[f64]) -> Path {
    let n = corners.len();
    let at = |k: usize| Point::new(corners[k % n].0, corners[k % n].1);
    // Tangent length a unit of radius takes from each side: tan of half the turn.
    let turn = |k: usize| {
        let (a, b) = (at(k) - at(k + n - 1), at(k + 1) - at(k));
        a.cross(b).atan2(a.dot(b))
    };
    let side = |k: usize| at(k).distance(at(k + 1));
    let radius = |k: usize| {
        let per_radius = (0.5 * turn(k)).tan().abs();
        let room = 0.45 * side(k).min(side(k + n - 1));
        radii[k].min(room / per_radius.max(1e-6))
    };
    let mut segments = Vec::new();
    let mut arcs = Vec::new();
    for k in 0..n {
        let (back, ahead) = (
            (at(k + n - 1) - at(k)).unit().expect("sides have length"),
            (at(k + 1) - at(k)).unit().expect("sides have length"),
        );
        let (r, t) = (radius(k), turn(k));
        let reach = r * (0.5 * t).tan().abs();
        let (from, to) = (at(k) + back * reach, at(k) + ahead * reach);
        let inward = if t > 0.0 { ahead.left() } else { -ahead.left() };
        arcs.push(Segment::Arc {
            from,
            to,
            centre: to + inward * r,
            radius: r,
            ccw: t > 0.0,
        });
    }
    for k in 0..n {
        segments.push(arcs[k]);
        segments.push(Segment::Line {
            from: arcs[k].to(),
            to: arcs[(k + 1) % n].from(),
        });
    }
    Path::new(segments)
}

/// A star-shaped outline 80 to 700 mm across, somewhere near the origin.
pub fn random(dice: &mut Dice) -> Path {
    let n = 4 + dice.below(7);
    let size = 40.0 * 8.0_f64.powf(dice.between(0.0, 1.0));
    let slender = dice.between(0.4, 1.0);
    let (x, y) = (dice.between(-300.0, 300.0), dice.between(-300.0, 300.0));
    let corners: Vec<(f64, f64)> = (0..n)
        .map(|k| {
            let angle = TAU * (k as f64 + dice.between(-0.3, 0.3)) / n as f64;
            let reach = size * dice.between(0.6, 1.0);
            (x + reach * angle.cos(), y + slender * reach * angle.sin())
        })
        .collect();
    let radii: Vec<f64> = (0..n).map(|_| dice.between(4.0, 25.0)).collect();
    rounded_polygon(&corners, &radii)
}
