//! Element matrices into one sparse matrix, in parallel and with the same bits every run.
//!
//! Elements are computed in parallel; then every column of the matrix is
//! summed by one thread over its elements in ascending order, so that no sum
//! depends on which thread came first.

use faer::sparse::{SparseColMat, SymbolicSparseColMat};
use rayon::prelude::*;

use super::beam;
use super::element::{self, NODES, PACKED, Rules, UNKNOWNS, packed};
use super::reduction::{Block, Place, Reduction};
use super::structure::Structure;

/// Elements computed by one task.
const CHUNK: usize = 32;

/// Reduced matrix of one element: packed lower triangle over its sorted blocks.
struct Reduced {
    /// First unknown of each block within the element.
    offsets: Vec<usize>,
    packed: Vec<f64>,
}

/// Lower triangle of K + shift·M over the unknowns, and the least Jacobian met with its element.
///
/// `shift` in 1/s²; 0 for statics.
#[must_use]
pub fn stiffness(
    s: &Structure,
    r: &Reduction,
    rules: &Rules,
    shift: f64,
) -> (SparseColMat<usize, f64>, f64, usize) {
    let count = s.wedges.len() + s.beams.len();
    let chunks: Vec<(Vec<Reduced>, f64, usize)> = (0..count.div_ceil(CHUNK))
        .into_par_iter()
        .map(|c| {
            let mut worst = (f64::INFINITY, 0);
            let mut full = vec![0.0; PACKED];
            let list = (c * CHUNK..((c + 1) * CHUNK).min(count))
                .map(|e| {
                    if e < s.wedges.len() {
                        let (reduced, jacobian) = wedge(s, r, rules, shift, e, &mut full);
                        if jacobian < worst.0 {
                            worst = (jacobian, e);
                        }
                        reduced
                    } else {
                        spacer(s, r, shift, e)
                    }
                })
                .collect();
            (list, worst.0, worst.1)
        })
        .collect();
    let (jacobian, at) = chunks
        .iter()
        .map(|c| (c.1, c.2))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .unwrap_or((f64::INFINITY, 0));
    let element = |e: usize| &chunks[e / CHUNK].0[e % CHUNK];
    (gather(r, element), jacobian, at)
}

/// First unknown of each of an element's blocks, within the element, and their number.
fn offsets(blocks: &[Block], list: &[usize]) -> (Vec<usize>, usize) {
    let mut next = 0;
    let out = list
        .iter()
        .map(|&b| {
            let at = next;
            next += blocks[b].size;
            at
        })
        .collect();
    (out, next)
}

/// An element's own unknown for a global one.
fn local(r: &Reduction, list: &[usize], offsets: &[usize], unknown: usize) -> usize {
    let k = list.partition_point(|&b| r.blocks[b].start <= unknown) - 1;
    offsets[k] + unknown - r.blocks[list[k]].start
}

fn wedge(
    s: &Structure,
    r: &Reduction,
    rules: &Rules,
    shift: f64,
    e: usize,
    full: &mut [f64],
) -> (Reduced, f64) {
    let w = &s.wedges[e];
    let x = s.coordinates(w);
    let material = &s.materials[w.material];
    let jacobian = element::stiffness(&x, material, rules, full);
    if shift.abs() > 0.0 {
        let mut m = [0.0; element::MASS_PACKED];
        element::mass(&x, material.density_t_mm3, rules, &mut m);
        for a in 0..NODES {
            for b in 0..=a {
                for d in 0..3 {
                    full[packed(3 * a + d, 3 * b + d)] += shift * m[packed(a, b)];
                }
            }
        }
    }
    let list = &r.element_blocks[e];
    let (offsets, size) = offsets(&r.blocks, list);
    let mut out = vec![0.0; size * (size + 1) / 2];
    let is_free = |&n: &usize| {
        let place = r.places[n];
        matches!(
            place,
            Place::Own {
                free: [Some(_), Some(_), Some(_)],
                ..
            }
        )
    };
    if w.nodes.iter().all(is_free) {
        // All nodes free and of their own: the matrix only changes its order.
        let mut at = [0; UNKNOWNS];
        for (a, &node) in w.nodes.iter().enumerate() {
            if let Place::Own { block, .. } = r.places[node] {
                let first = offsets[list.partition_point(|&b| b < block)];
                for d in 0..3 {
                    at[3 * a + d] = first + d;
                }
            }
        }
        for i in 0..UNKNOWNS {
            for j in 0..=i {
                out[packed(at[i].max(at[j]), at[i].min(at[j]))] = full[packed(i, j)];
            }
        }
        return (
            Reduced {
                offsets,
                packed: out,
            },
            jacobian,
        );
    }
    let mut terms: [[(usize, f64); 3]; UNKNOWNS] = [[(0, 0.0); 3]; UNKNOWNS];
    let mut counts = [0_usize; UNKNOWNS];
    for (a, &node) in w.nodes.iter().enumerate() {
        for d in 0..3 {
            let t = r.terms(s, node, d);
            counts[3 * a + d] = t.list().len();
            for (slot, &(unknown, f)) in terms[3 * a + d].iter_mut().zip(t.list()) {
                *slot = (local(r, list, &offsets, unknown), f);
            }
        }
    }
    for i in 0..UNKNOWNS {
        for j in 0..=i {
            let k = full[packed(i, j)];
            for &(a, fa) in &terms[i][..counts[i]] {
                for &(b, fb) in &terms[j][..counts[j]] {
                    let v = fa * fb * k;
                    // Off the diagonal the packed half stands for both (i, j) and (j, i).
                    if a == b && i != j {
                        out[packed(a, a)] += 2.0 * v;
                    } else if i == j && a < b {
                        // (b, a) of the same pair is met as well; count it once.
                    } else {
                        out[packed(a.max(b), a.min(b))] += v;
                    }
                }
            }
        }
    }
    (
        Reduced {
            offsets,
            packed: out,
        },
        jacobian,
    )
}

fn spacer(s: &Structure, r: &Reduction, shift: f64, e: usize) -> Reduced {
    let b = &s.beams[e - s.wedges.len()];
    let (from, to) = (s.bodies[b.from].at, s.bodies[b.to].at);
    let mut full = beam::stiffness(b, from, to);
    if shift.abs() > 0.0 {
        let m = beam::mass(b, from, to);
        for (row, other) in full.iter_mut().zip(&m) {
            for (k, v) in row.iter_mut().zip(other) {
                *k += shift * v;
            }
        }
    }
    let list = &r.element_blocks[e];
    let (offsets, size) = offsets(&r.blocks, list);
    let mut out = vec![0.0; size * (size + 1) / 2];
    let place = |i: usize| {
        let body = if i < 6 { b.from } else { b.to };
        r.bodies[body].map(|block| local(r, list, &offsets, r.blocks[block].start + i % 6))
    };
    for (i, row) in full.iter().enumerate() {
        for (j, k) in row.iter().enumerate() {
            if let (Some(a), Some(c)) = (place(i), place(j))
                && a >= c
            {
                out[packed(a, c)] += k;
            }
        }
    }
    Reduced {
        offsets,
        packed: out,
    }
}

/// The pattern of the lower triangle by columns: pointers and rows.
fn pattern(r: &Reduction) -> (Vec<usize>, Vec<usize>) {
    let mut pointers = vec![0_usize; r.unknowns + 1];
    for (block, list) in r.blocks.iter().zip(&r.after) {
        let rows: usize = list.iter().map(|&b| r.blocks[b].size).sum();
        for k in 0..block.size {
            pointers[block.start + k + 1] = rows - k;
        }
    }
    for k in 0..r.unknowns {
        pointers[k + 1] += pointers[k];
    }
    let mut rows = vec![0_usize; pointers[r.unknowns]];
    let mut rest = rows.as_mut_slice();
    let mut columns = Vec::with_capacity(r.unknowns);
    for (block, list) in r.blocks.iter().zip(&r.after) {
        for k in 0..block.size {
            let length = pointers[block.start + k + 1] - pointers[block.start + k];
            let (column, after) = rest.split_at_mut(length);
            rest = after;
            columns.push((k, list, column));
        }
    }
    columns.into_par_iter().for_each(|(k, list, column)| {
        let unknowns = list
            .iter()
            .flat_map(|&b| r.blocks[b].start..r.blocks[b].start + r.blocks[b].size)
            .skip(k);
        for (slot, row) in column.iter_mut().zip(unknowns) {
            *slot = row;
        }
    });
    (pointers, rows)
}

fn gather<'a>(
    r: &Reduction,
    element: impl Fn(usize) -> &'a Reduced + Sync,
) -> SparseColMat<usize, f64> {
    let (pointers, rows) = pattern(r);
    let mut values = vec![0.0; rows.len()];
    let mut rest = values.as_mut_slice();
    let mut columns = Vec::with_capacity(r.blocks.len());
    for (c, block) in r.blocks.iter().enumerate() {
        let length = pointers[block.start + block.size] - pointers[block.start];
        let (part, after) = rest.split_at_mut(length);
        rest = after;
        columns.push((c, part));
    }
    columns
        .into_par_iter()
        .with_min_len(64)
        .for_each(|(c, part)| add_column(r, &element, c, part));
    let symbolic = SymbolicSparseColMat::new_checked(r.unknowns, r.unknowns, pointers, None, rows);
    SparseColMat::new(symbolic, values)
}

/// Sums one block's columns over its elements.
fn add_column<'a>(
    r: &Reduction,
    element: &impl Fn(usize) -> &'a Reduced,
    c: usize,
    part: &mut [f64],
) {
    let size = r.blocks[c].size;
    let list = &r.after[c];
    // Place of each following block's first row within a column that starts at the block's first row.
    let mut place = Vec::with_capacity(list.len());
    let mut height = 0;
    for &b in list {
        place.push(height);
        height += r.blocks[b].size;
    }
    for &e in &r.elements_of[c] {
        let blocks = &r.element_blocks[e];
        let reduced = element(e);
        let own = blocks.partition_point(|&b| b < c);
        let first = reduced.offsets[own];
        let mut hint = 0;
        for (k, &b) in blocks.iter().enumerate().skip(own) {
            hint += list[hint..].partition_point(|&x| x < b);
            let rows = place[hint];
            for i in 0..r.blocks[b].size {
                let from = reduced.offsets[k] + i;
                for j in 0..size {
                    let row = rows + i;
                    if row < j {
                        continue;
                    }
                    // Column j of the block starts after the j columns before it, each one row shorter.
                    let column = j * height - (j * j - j) / 2;
                    part[column + row - j] += reduced.packed[packed(from, first + j)];
                }
            }
        }
    }
}
