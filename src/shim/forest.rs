//! What moves together: mounts bolted to each other form trees, and no washer in one tree moves a pulley of another.

use super::state::{Piece, State};

/// A mount on the block with everything it carries.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Tree {
    /// Its mounts that carry a pulley, themselves or through others, in the drive's order.
    pub(super) mounts: Vec<usize>,
    /// The pulleys they carry, in the drive's order.
    pub(super) pulleys: Vec<usize>,
    /// Belt pieces that only its own washers can straighten: both ends on it, or one on it and one fixed.
    pub(super) pieces: Vec<Piece>,
}

/// The trees that carry pulleys, and what ties them.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Forest {
    pub(super) trees: Vec<Tree>,
    /// Pulleys on the block itself.
    pub(super) fixed: Vec<usize>,
    /// Belt pieces between fixed pulleys.
    pub(super) fixed_pieces: Vec<Piece>,
    /// Belt pieces between two trees, with the trees' numbers.
    pub(super) ties: Vec<([usize; 2], Piece)>,
}

impl Forest {
    /// The forest of a drive.
    pub(super) fn of(state: &State<'_>) -> Self {
        let mut forest = Self::default();
        let mut roots: Vec<usize> = Vec::new();
        let mut tree_of: Vec<Option<usize>> = Vec::new();
        for pulley in 0..state.stands.len() {
            let chain = state.chain(pulley);
            let Some(root) = chain.last() else {
                forest.fixed.push(pulley);
                tree_of.push(None);
                continue;
            };
            let t = roots.iter().position(|r| r == root).unwrap_or_else(|| {
                roots.push(*root);
                forest.trees.push(Tree::default());
                roots.len() - 1
            });
            let tree = &mut forest.trees[t];
            tree.pulleys.push(pulley);
            tree.mounts.extend(chain);
            tree_of.push(Some(t));
        }
        for tree in &mut forest.trees {
            tree.mounts.sort_unstable();
            tree.mounts.dedup();
        }
        for piece in &state.pieces {
            match (tree_of[piece.from], tree_of[piece.to]) {
                (None, None) => forest.fixed_pieces.push(*piece),
                (Some(a), Some(b)) if a != b => forest.ties.push(([a, b], *piece)),
                (Some(t), _) | (_, Some(t)) => forest.trees[t].pieces.push(*piece),
            }
        }
        forest
    }
}
