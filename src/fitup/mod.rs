//! Fit-up: the order a set goes together in, what the rod should find, and the order of tightening.

mod order;
mod pieces;
mod rod;
mod tightening;

pub use order::{Piece, Put, Stuck, WayOff, early, order};
pub use pieces::{Assembly, What, assemble};
pub use rod::{AtPulley, readings};
pub use tightening::{Tightened, tightening};

/// Id, title and page of the rule of this family.
pub const RULE: (&str, &str, &str) = (
    "C106",
    "the set goes together",
    "\
## What it checks
That the plates, spacers, accessories and bolts can be put on one after the other: every bolt while its
head can still be reached straight along its axis, every spacer before what clamps it, every plate and
accessory in one straight move past what is on already.

## Why
Each part may have its room when all of them are on and still no order to get there.

## Limit and source
No piece left over (geometry). The order is found by taking the finished set apart; taking a piece off
never puts another one in the way, so when nothing more comes off, no order exists. Plates and
accessories are tried square off their face and in eight directions of its plane; a part that is threaded
in round a corner counts as stuck. Belt and hoses come last. Room for the socket beside what is fixed to
the block is rule C103.

## Bad
Two plates each of which covers a bolt of the other.

## Good
The bolt moved out of the other plate's outline, or a window over its head.
",
);
