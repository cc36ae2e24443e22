//! Loads spread over element faces.

use super::element::NODES;
use super::structure::Structure;

/// A face of a wedge, by local nodes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WedgeFace {
    /// The lower triangle.
    Lower,
    /// The upper triangle.
    Upper,
    /// The side over edge k (corners k, k+1).
    Side(usize),
}

/// A traction: force per area at a place with an outward unit normal, MPa.
pub type Traction<'a> = &'a dyn Fn([f64; 3], [f64; 3]) -> [f64; 3];

/// √(3/5), outer points of the three-point Gauss rule.
const G: f64 = 0.774596669241483;

/// Local nodes of a face: corners first, then middles.
fn nodes(face: WedgeFace) -> Vec<usize> {
    match face {
        WedgeFace::Lower => vec![0, 2, 1, 8, 7, 6],
        WedgeFace::Upper => vec![3, 4, 5, 9, 10, 11],
        WedgeFace::Side(k) => {
            let j = (k + 1) % 3;
            vec![k, j, j + 3, k + 3, 6 + k, 12 + j, 9 + k, 12 + k]
        }
    }
}

/// Shape functions of a face at natural coordinates, with derivatives.
fn shape(count: usize, a: f64, b: f64) -> (Vec<f64>, Vec<f64>, Vec<f64>) {
    if count == 6 {
        let l = [1.0 - a - b, a, b];
        let da = [-1.0, 1.0, 0.0];
        let db = [-1.0, 0.0, 1.0];
        let mut n = vec![0.0; 6];
        let (mut na, mut nb) = (n.clone(), n.clone());
        for i in 0..3 {
            n[i] = l[i] * (2.0 * l[i] - 1.0);
            na[i] = (4.0 * l[i] - 1.0) * da[i];
            nb[i] = (4.0 * l[i] - 1.0) * db[i];
            let j = (i + 1) % 3;
            n[3 + i] = 4.0 * l[i] * l[j];
            na[3 + i] = 4.0 * (da[i] * l[j] + l[i] * da[j]);
            nb[3 + i] = 4.0 * (db[i] * l[j] + l[i] * db[j]);
        }
        return (n, na, nb);
    }
    let corners = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)];
    let mut n = vec![0.0; 8];
    let (mut na, mut nb) = (n.clone(), n.clone());
    for (i, (p, q)) in corners.into_iter().enumerate() {
        let (u, v) = (1.0 + p * a, 1.0 + q * b);
        n[i] = 0.25 * u * v * (p * a + q * b - 1.0);
        na[i] = 0.25 * p * v * (2.0 * p * a + q * b);
        nb[i] = 0.25 * q * u * (p * a + 2.0 * q * b);
    }
    for (i, q) in [(4, -1.0), (6, 1.0)] {
        n[i] = 0.5 * (1.0 - a * a) * (1.0 + q * b);
        na[i] = -a * (1.0 + q * b);
        nb[i] = 0.5 * q * (1.0 - a * a);
    }
    for (i, p) in [(5, 1.0), (7, -1.0)] {
        n[i] = 0.5 * (1.0 - b * b) * (1.0 + p * a);
        na[i] = 0.5 * p * (1.0 - b * b);
        nb[i] = -b * (1.0 + p * a);
    }
    (n, na, nb)
}

/// Adds a traction over a face of an element to a load (three a node first).
pub fn add_traction(
    s: &Structure,
    load: &mut [f64],
    element: usize,
    face: WedgeFace,
    traction: Traction<'_>,
) {
    let w: [usize; NODES] = s.wedges[element].nodes;
    let ids: Vec<usize> = nodes(face).into_iter().map(|k| w[k]).collect();
    let line = [(-G, 5.0 / 9.0), (0.0, 8.0 / 9.0), (G, 5.0 / 9.0)];
    let points: Vec<(f64, f64, f64)> = if ids.len() == 6 {
        // Collapsed square: exact to degree 4, enough for a curved edge's quadratics.
        line.iter()
            .flat_map(|&(a, wa)| line.iter().map(move |&(b, wb)| (a, b, wa * wb)))
            .map(|(a, b, weight)| {
                let (u, v) = (0.5 * (1.0 + a), 0.5 * (1.0 + b));
                (u * (1.0 - v), v, 0.25 * weight * (1.0 - v))
            })
            .collect()
    } else {
        line.iter()
            .flat_map(|&(a, wa)| line.iter().map(move |&(b, wb)| (a, b, wa * wb)))
            .collect()
    };
    for (a, b, weight) in points {
        let (n, na, nb) = shape(ids.len(), a, b);
        let (mut x, mut ta, mut tb) = ([0.0; 3], [0.0; 3], [0.0; 3]);
        for (k, &id) in ids.iter().enumerate() {
            for d in 0..3 {
                x[d] += n[k] * s.nodes[id][d];
                ta[d] += na[k] * s.nodes[id][d];
                tb[d] += nb[k] * s.nodes[id][d];
            }
        }
        let c = [
            ta[1] * tb[2] - ta[2] * tb[1],
            ta[2] * tb[0] - ta[0] * tb[2],
            ta[0] * tb[1] - ta[1] * tb[0],
        ];
        let area = (c[0] * c[0] + c[1] * c[1] + c[2] * c[2]).sqrt();
        let f = traction(x, c.map(|v| v / area));
        for (k, &id) in ids.iter().enumerate() {
            for d in 0..3 {
                load[3 * id + d] += weight * area * n[k] * f[d];
            }
        }
    }
}
