//! Gaps that the cutter enters from both sides but cannot pass: found, and filled.

use super::closing::{Fillet, touches_metal_towards};
use super::shape::{Disc, rounded};
use crate::tol;

/// Metal between two fillets below which a bridge is filled, in cutter radii.
///
/// At zero the fillets cross and leave two cusps. A tenth of the radius (half
/// a millimetre for a 10 mm cutter) is what a cutter's run-out and deflection
/// may take away: common practice, no source.
const THINNEST: f64 = 0.1;

/// Least width of a bridge that has been filled, in cutter radii: common practice, no source.
const FILLED: f64 = 1.0;

/// How much a filling disc grows when it was not enough.
const STEP: f64 = 1.5;

/// Adds or enlarges the discs that fill what `fillets` leave too thin; says whether there was anything to fill.
pub(super) fn fill(fillets: &[Fillet], fillet_mm: f64, fills: &mut Vec<Disc>) -> bool {
    let mut found = false;
    let known = fills.len();
    for (i, a) in fillets.iter().enumerate() {
        for b in &fillets[i + 1..] {
            let apart = b.centre - a.centre;
            let distance = apart.length();
            if distance >= (2.0 + THINNEST) * fillet_mm {
                continue;
            }
            if let Some(u) = apart.unit()
                && distance > tol::SLIVER_MM
                && !(touches_metal_towards(a, u) && touches_metal_towards(b, -u))
            {
                continue;
            }
            found = true;
            let disc = Disc::new(
                rounded(a.centre.midpoint(b.centre)),
                tol::on_input_grid(0.5 * FILLED * fillet_mm),
            );
            add(disc, fillet_mm, known, fills);
        }
    }
    found
}

/// Enlarges a fill that is already there, once a round; else adds `disc`.
fn add(disc: Disc, fillet_mm: f64, known: usize, fills: &mut Vec<Disc>) {
    let near = |f: &Disc| f.centre.distance(disc.centre) < f.radius + fillet_mm;
    match fills.iter().position(near) {
        Some(k) if k < known => fills[k].radius = tol::on_input_grid(fills[k].radius * STEP),
        Some(_) => {}
        None => fills.push(disc),
    }
}
