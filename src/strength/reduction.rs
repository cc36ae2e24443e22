//! Ties and supports by exact elimination: which unknowns are solved for, and in what order.
//!
//! A node tied to a rigid body moves as u + θ × r with it, without penalty;
//! a held displacement is not an unknown at all. What is left comes in
//! blocks (a node's free directions, a body's six), numbered in elimination
//! order.

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::sparse::SymbolicSparseColMat;
use faer::sparse::linalg::amd;
use rayon::prelude::*;

use super::StrengthError;
use super::structure::{Structure, skew};

/// A group of neighbouring unknowns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Block {
    /// First unknown.
    pub start: usize,
    /// Unknowns: 1 to 3 for a node, 6 for a body.
    pub size: usize,
}

/// Where a node's displacement comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Its own unknowns: the block, and the place in it of each direction that is free.
    Own {
        /// Block.
        block: usize,
        /// Place in the block of x, y, z; `None` where held.
        free: [Option<u8>; 3],
    },
    /// It moves with a body.
    Tied(usize),
    /// Nothing of it moves freely.
    Held,
}

/// One term of a displacement: (unknown, factor).
pub type Term = (usize, f64);

/// The transformation from unknowns to all displacements.
#[derive(Debug, Clone, Default)]
pub struct Reduction {
    /// Blocks in elimination order.
    pub blocks: Vec<Block>,
    /// Number of unknowns.
    pub unknowns: usize,
    /// Where each node's displacement comes from.
    pub places: Vec<Place>,
    /// Block of each body; `None` for ground.
    pub bodies: Vec<Option<usize>>,
    /// Given displacements of all nodes and bodies.
    pub given: Vec<f64>,
    /// Sorted blocks of each element (wedges first, then beams).
    pub element_blocks: Vec<Vec<usize>>,
    /// Blocks at or after each block that share an element with it, sorted, itself first.
    pub after: Vec<Vec<usize>>,
    /// Elements of each block.
    pub elements_of: Vec<Vec<usize>>,
}

impl Reduction {
    /// Numbers the unknowns of a structure.
    ///
    /// # Errors
    /// [`StrengthError::OutOfMemory`] if the ordering cannot be had.
    pub fn new(s: &Structure) -> Result<Self, StrengthError> {
        let mut held = vec![[false; 3]; s.nodes.len()];
        let mut given = vec![0.0; s.full_size()];
        for h in &s.holds {
            held[h.node][h.direction] = true;
            given[3 * h.node + h.direction] = h.value_mm;
        }
        let mut sizes = Vec::new();
        let mut add = |size: usize| {
            sizes.push(size);
            sizes.len() - 1
        };
        let mut used = vec![false; s.nodes.len()];
        for w in &s.wedges {
            for &n in &w.nodes {
                used[n] = true;
            }
        }
        let places: Vec<Place> = (0..s.nodes.len())
            .map(|n| {
                if let Some(body) = s.tied[n] {
                    return if s.bodies[body].ground {
                        Place::Held
                    } else {
                        Place::Tied(body)
                    };
                }
                let mut free = [None; 3];
                let mut count = 0_u8;
                for d in 0..3 {
                    if !held[n][d] {
                        free[d] = Some(count);
                        count += 1;
                    }
                }
                if count == 0 || !used[n] {
                    Place::Held
                } else {
                    Place::Own {
                        block: add(usize::from(count)),
                        free,
                    }
                }
            })
            .collect();
        let bodies: Vec<Option<usize>> = s
            .bodies
            .iter()
            .map(|b| (!b.ground).then(|| add(6)))
            .collect();
        let mut r = Self {
            places,
            bodies,
            given,
            ..Self::default()
        };
        r.element_blocks = r.blocks_by_element(s);
        let order = order(&sizes, &r.element_blocks)?;
        r.renumber(&sizes, &order);
        Ok(r)
    }

    /// Unsorted distinct blocks of every element.
    fn blocks_by_element(&self, s: &Structure) -> Vec<Vec<usize>> {
        let mut all: Vec<Vec<usize>> = s
            .wedges
            .iter()
            .map(|w| {
                let mut list: Vec<usize> = w
                    .nodes
                    .iter()
                    .filter_map(|&n| match self.places[n] {
                        Place::Own { block, .. } => Some(block),
                        Place::Tied(body) => self.bodies[body],
                        Place::Held => None,
                    })
                    .collect();
                list.sort_unstable();
                list.dedup();
                list
            })
            .collect();
        all.extend(s.beams.iter().map(|b| {
            let mut list: Vec<usize> = [b.from, b.to]
                .into_iter()
                .filter_map(|body| self.bodies[body])
                .collect();
            list.sort_unstable();
            list.dedup();
            list
        }));
        all
    }

    /// Gives blocks their final numbers; `order[k]` is the block eliminated k-th.
    fn renumber(&mut self, sizes: &[usize], order: &[usize]) {
        let mut rank = vec![0; sizes.len()];
        let mut start = 0;
        self.blocks = order
            .iter()
            .enumerate()
            .map(|(k, &old)| {
                rank[old] = k;
                let block = Block {
                    start,
                    size: sizes[old],
                };
                start += sizes[old];
                block
            })
            .collect();
        self.unknowns = start;
        for p in &mut self.places {
            if let Place::Own { block, .. } = p {
                *block = rank[*block];
            }
        }
        for b in self.bodies.iter_mut().flatten() {
            *b = rank[*b];
        }
        for list in &mut self.element_blocks {
            for b in list.iter_mut() {
                *b = rank[*b];
            }
            list.sort_unstable();
        }
        self.elements_of = incidence(sizes.len(), &self.element_blocks);
        self.after = neighbours(&self.elements_of, &self.element_blocks);
    }

    /// The terms of a node's displacement in direction `d`.
    #[must_use]
    pub fn terms(&self, s: &Structure, node: usize, d: usize) -> Terms {
        match self.places[node] {
            Place::Held => Terms::default(),
            Place::Own { block, free } => match free[d] {
                None => Terms::default(),
                Some(k) => Terms {
                    count: 1,
                    terms: [(self.blocks[block].start + usize::from(k), 1.0); 3],
                },
            },
            Place::Tied(body) => match self.bodies[body] {
                None => Terms::default(),
                Some(block) => {
                    let start = self.blocks[block].start;
                    let p = s.nodes[node];
                    let at = s.bodies[body].at;
                    let arm = skew([0, 1, 2].map(|k| p[k] - at[k]));
                    let (j, k) = ((d + 1) % 3, (d + 2) % 3);
                    Terms {
                        count: 3,
                        terms: [
                            (start + d, 1.0),
                            (start + 3 + j, -arm[d][j]),
                            (start + 3 + k, -arm[d][k]),
                        ],
                    }
                }
            },
        }
    }

    /// All displacements (three a node, six a body) from the unknowns.
    #[must_use]
    pub fn expand(&self, s: &Structure, q: &[f64], with_given: bool) -> Vec<f64> {
        let nodes = s.nodes.len();
        let mut full = if with_given {
            self.given.clone()
        } else {
            vec![0.0; s.full_size()]
        };
        let (node_part, body_part) = full.split_at_mut(3 * nodes);
        node_part
            .par_chunks_mut(3)
            .enumerate()
            .with_min_len(1024)
            .for_each(|(n, u)| {
                for (d, out) in u.iter_mut().enumerate() {
                    for &(k, f) in self.terms(s, n, d).list() {
                        *out += f * q[k];
                    }
                }
            });
        for (b, u) in body_part.chunks_mut(6).enumerate() {
            if let Some(block) = self.bodies[b] {
                let start = self.blocks[block].start;
                u.copy_from_slice(&q[start..start + 6]);
            }
        }
        full
    }

    /// The transpose: forces on all displacements gathered onto the unknowns.
    #[must_use]
    pub fn gather(&self, s: &Structure, full: &[f64]) -> Vec<f64> {
        let mut q = vec![0.0; self.unknowns];
        for n in 0..s.nodes.len() {
            for d in 0..3 {
                let f = full[3 * n + d];
                for &(k, t) in self.terms(s, n, d).list() {
                    q[k] += t * f;
                }
            }
        }
        for (b, block) in self.bodies.iter().enumerate() {
            if let Some(block) = block {
                let start = self.blocks[*block].start;
                let at = s.body_start(b);
                for k in 0..6 {
                    q[start + k] += full[at + k];
                }
            }
        }
        q
    }
}

/// Up to three terms of a displacement.
#[derive(Debug, Clone, Copy, Default)]
pub struct Terms {
    count: usize,
    terms: [Term; 3],
}

impl Terms {
    /// The terms.
    #[must_use]
    pub fn list(&self) -> &[Term] {
        &self.terms[..self.count]
    }
}

/// Elements of each block, ascending.
fn incidence(blocks: usize, element_blocks: &[Vec<usize>]) -> Vec<Vec<usize>> {
    let mut of = vec![Vec::new(); blocks];
    for (e, list) in element_blocks.iter().enumerate() {
        for &b in list {
            of[b].push(e);
        }
    }
    of
}

/// Blocks at or after each block that share an element with it.
fn neighbours(elements_of: &[Vec<usize>], element_blocks: &[Vec<usize>]) -> Vec<Vec<usize>> {
    elements_of
        .par_iter()
        .enumerate()
        .with_min_len(256)
        .map(|(b, elements)| {
            let mut list = vec![b];
            for &e in elements {
                let blocks = &element_blocks[e];
                let from = blocks.partition_point(|&x| x <= b);
                list.extend_from_slice(&blocks[from..]);
            }
            list.sort_unstable();
            list.dedup();
            list
        })
        .collect()
}

/// Fill-reducing order of the blocks: approximate minimum degree on the block graph.
///
/// Ordering blocks instead of single unknowns is nine times less work and
/// keeps a node's unknowns together, which the supernodal factor likes.
fn order(sizes: &[usize], element_blocks: &[Vec<usize>]) -> Result<Vec<usize>, StrengthError> {
    let n = sizes.len();
    let out_of_memory = || StrengthError::OutOfMemory {
        unknowns: sizes.iter().sum(),
    };
    // The lower triangle by columns is the upper triangle's transpose; the
    // ordering only needs the pattern, so rows are taken as columns.
    let lower = neighbours(&incidence(n, element_blocks), element_blocks);
    let mut pointers = vec![0_usize; n + 1];
    for list in &lower {
        for &r in list {
            pointers[r + 1] += 1;
        }
    }
    for k in 0..n {
        pointers[k + 1] += pointers[k];
    }
    let mut next = pointers.clone();
    let mut rows = vec![0_usize; pointers[n]];
    for (c, list) in lower.iter().enumerate() {
        for &r in list {
            rows[next[r]] = c;
            next[r] += 1;
        }
    }
    let nnz = rows.len();
    let upper = SymbolicSparseColMat::new_checked(n, n, pointers, None, rows);
    let mut order = vec![0_usize; n];
    let mut inverse = vec![0_usize; n];
    let mut memory =
        MemBuffer::try_new(amd::order_scratch::<usize>(n, nnz)).map_err(|_| out_of_memory())?;
    amd::order(
        &mut order,
        &mut inverse,
        upper.as_ref(),
        amd::Control::default(),
        MemStack::new(&mut memory),
    )
    .map_err(|_| out_of_memory())?;
    Ok(order)
}
