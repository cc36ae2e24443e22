//! The layers of a DXF file: one for each operation and face.

use crate::feature::Face;

/// What the shop does along the lines of a layer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Operation {
    /// Engraved or punched, not cut.
    Mark,
    /// Drilled or cut through, round.
    Drill,
    /// Drilled to a depth.
    DrillBlind,
    /// Reamed through for a dowel.
    Ream,
    /// Reamed to a depth.
    ReamBlind,
    /// Drilled through for a tap: the circle is the tap drill's.
    TapDrill,
    /// Drilled to a depth for a tap.
    TapDrillBlind,
    /// A cylindrical seat to a depth.
    Counterbore,
    /// A conical seat: the circle is its mouth in the face.
    Countersink,
    /// A pocket to a depth.
    Pocket,
    /// A ring groove to a depth: its two circles.
    Groove,
    /// Slots and windows, cut through.
    InsideCut,
    /// The plate's outer boundary, cut through.
    OutlineCut,
    /// The border of a stock sheet; nothing is cut there.
    Sheet,
    /// Words for people; no machine follows it.
    Note,
}

/// A layer: an operation, and the face it is worked from.
///
/// The order is that of the file: marks first, the outline after everything
/// inside it (so that a part stays held until its last cut), notes last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Layer {
    operation: Operation,
    face: Face,
}

impl Layer {
    /// The outer boundary.
    pub const OUTLINE: Self = Self::through(Operation::OutlineCut);
    /// Slots and windows.
    pub const INSIDE: Self = Self::through(Operation::InsideCut);
    /// Engraving on the front face.
    pub const MARK: Self = Self::through(Operation::Mark);
    /// A stock sheet's border.
    pub const SHEET: Self = Self::through(Operation::Sheet);
    /// Words for people.
    pub const NOTE: Self = Self::through(Operation::Note);

    /// Number of layers there can be.
    pub(super) const COUNT: usize = 2 * (Operation::Note as usize + 1);

    /// A layer whose operation goes right through, or belongs to the front face.
    #[must_use]
    pub const fn through(operation: Operation) -> Self {
        Self {
            operation,
            face: Face::Front,
        }
    }

    /// A layer worked from `face`.
    #[must_use]
    pub const fn from_face(operation: Operation, face: Face) -> Self {
        Self { operation, face }
    }

    /// The operation.
    #[must_use]
    pub const fn operation(self) -> Operation {
        self.operation
    }

    /// The face it is worked from; the front face for what goes right through.
    #[must_use]
    pub const fn face(self) -> Face {
        self.face
    }

    /// Whether the machine removes metal along its lines.
    #[must_use]
    pub const fn is_cut(self) -> bool {
        !matches!(
            self.operation,
            Operation::Mark | Operation::Sheet | Operation::Note
        )
    }

    /// The layer's name: capitals and `_` only, which R12 requires.
    #[must_use]
    pub const fn name(self) -> &'static str {
        let (front, back) = match self.operation {
            Operation::Mark => ("MARK", "MARK_BACK"),
            Operation::Drill => ("DRILL", "DRILL_BACK"),
            Operation::DrillBlind => ("DRILL_BLIND", "DRILL_BLIND_BACK"),
            Operation::Ream => ("REAM", "REAM_BACK"),
            Operation::ReamBlind => ("REAM_BLIND", "REAM_BLIND_BACK"),
            Operation::TapDrill => ("TAP_DRILL", "TAP_DRILL_BACK"),
            Operation::TapDrillBlind => ("TAP_DRILL_BLIND", "TAP_DRILL_BLIND_BACK"),
            Operation::Counterbore => ("COUNTERBORE", "COUNTERBORE_BACK"),
            Operation::Countersink => ("COUNTERSINK", "COUNTERSINK_BACK"),
            Operation::Pocket => ("POCKET", "POCKET_BACK"),
            Operation::Groove => ("GROOVE", "GROOVE_BACK"),
            Operation::InsideCut => ("INSIDE_CUT", "INSIDE_CUT_BACK"),
            Operation::OutlineCut => ("OUTLINE_CUT", "OUTLINE_CUT_BACK"),
            Operation::Sheet => ("SHEET", "SHEET_BACK"),
            Operation::Note => ("NOTE", "NOTE_BACK"),
        };
        match self.face {
            Face::Front => front,
            Face::Back => back,
        }
    }

    /// Place among all layers, below [`Self::COUNT`].
    pub(super) const fn index(self) -> usize {
        2 * self.operation as usize + self.face as usize
    }
}
