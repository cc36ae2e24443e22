//! The fifteen-node wedge: shape functions, stiffness, mass and stress.
//!
//! Shape functions and node order follow Zienkiewicz & Taylor, *The Finite
//! Element Method*, vol. 1, 5th ed., section 8.10 (triangular prisms,
//! serendipity family). Stiffness takes 3 points in the triangle by 3 through
//! the height, the usual rule for this element: it is of full rank (54 ≥ 39
//! strains), exact for a straight prism's energy in the plane, and keeps
//! thin plates free of shear locking.

use super::structure::Elastic;

/// Nodes of an element.
pub const NODES: usize = 15;

/// Unknowns of an element.
pub const UNKNOWNS: usize = 3 * NODES;

/// Entries of a packed lower triangle of an element's stiffness.
pub const PACKED: usize = UNKNOWNS * (UNKNOWNS + 1) / 2;

/// Entries of a packed lower triangle of an element's scalar mass.
pub const MASS_PACKED: usize = NODES * (NODES + 1) / 2;

/// Points of the stiffness rule.
pub const STRESS_POINTS: usize = 9;

/// Padded node count: whole vector registers.
const PAD: usize = 16;

/// Natural coordinates (r, s, t) of the nodes.
pub const NATURAL: [[f64; 3]; NODES] = [
    [0.0, 0.0, -1.0],
    [1.0, 0.0, -1.0],
    [0.0, 1.0, -1.0],
    [0.0, 0.0, 1.0],
    [1.0, 0.0, 1.0],
    [0.0, 1.0, 1.0],
    [0.5, 0.0, -1.0],
    [0.5, 0.5, -1.0],
    [0.0, 0.5, -1.0],
    [0.5, 0.0, 1.0],
    [0.5, 0.5, 1.0],
    [0.0, 0.5, 1.0],
    [0.0, 0.0, 0.0],
    [1.0, 0.0, 0.0],
    [0.0, 1.0, 0.0],
];

/// Shape functions and their natural derivatives at one point, with its weight.
#[derive(Debug, Clone, Copy)]
pub struct Sample {
    /// Shape functions.
    pub n: [f64; NODES],
    /// Derivatives along r, s, t.
    pub dn: [[f64; PAD]; 3],
    /// Quadrature weight.
    pub weight: f64,
}

/// Precomputed samples of both quadrature rules.
#[derive(Debug, Clone)]
pub struct Rules {
    /// 3 × 3 points, for stiffness and stress.
    pub stiffness: Vec<Sample>,
    /// 6 × 3 points, for mass and body loads.
    pub mass: Vec<Sample>,
    /// Value at each node of the field that the stress points' values span
    /// (linear in the plane, quadratic through the height).
    pub to_nodes: [[f64; STRESS_POINTS]; NODES],
}

/// Three-point rule of the triangle, degree 2 (Strang & Fix): barycentric place of the far corner 2/3.
const TRIANGLE_3: [(f64, f64, f64); 3] = [
    (1.0 / 6.0, 1.0 / 6.0, 1.0 / 6.0),
    (2.0 / 3.0, 1.0 / 6.0, 1.0 / 6.0),
    (1.0 / 6.0, 2.0 / 3.0, 1.0 / 6.0),
];

/// Six-point rule of the triangle, degree 4 (Dunavant, IJNME 21 (1985) 1129–1148, table p = 4).
const TRIANGLE_6: [(f64, f64, f64); 6] = {
    const A: f64 = 0.445948490915965;
    const B: f64 = 0.091576213509771;
    const WA: f64 = 0.5 * 0.223381589678011;
    const WB: f64 = 0.5 * 0.109951743655322;
    [
        (A, A, WA),
        (1.0 - 2.0 * A, A, WA),
        (A, 1.0 - 2.0 * A, WA),
        (B, B, WB),
        (1.0 - 2.0 * B, B, WB),
        (B, 1.0 - 2.0 * B, WB),
    ]
};

/// Half the distance of the outer Gauss points: √(3/5).
const GAUSS_3: f64 = 0.774596669241483;

/// Three-point Gauss rule on −1..1.
const LINE_3: [(f64, f64); 3] = [
    (-GAUSS_3, 5.0 / 9.0),
    (0.0, 8.0 / 9.0),
    (GAUSS_3, 5.0 / 9.0),
];

impl Sample {
    /// Shape functions at natural coordinates.
    #[must_use]
    pub fn at(r: f64, s: f64, t: f64, weight: f64) -> Self {
        let l = [1.0 - r - s, r, s];
        let dl = [[-1.0, -1.0], [1.0, 0.0], [0.0, 1.0]];
        let mut n = [0.0; NODES];
        let mut dn = [[0.0; PAD]; 3];
        let bubble = 1.0 - t * t;
        for i in 0..3 {
            for (k, side) in [(i, -1.0), (i + 3, 1.0)] {
                let half = 0.5 * (1.0 + side * t);
                n[k] = l[i] * (2.0 * l[i] - 1.0) * half - 0.5 * l[i] * bubble;
                let slope = (4.0 * l[i] - 1.0) * half - 0.5 * bubble;
                dn[0][k] = slope * dl[i][0];
                dn[1][k] = slope * dl[i][1];
                dn[2][k] = l[i] * (2.0 * l[i] - 1.0) * 0.5 * side + l[i] * t;
            }
            let j = (i + 1) % 3;
            for (k, side) in [(6 + i, -1.0), (9 + i, 1.0)] {
                let whole = 1.0 + side * t;
                n[k] = 2.0 * l[i] * l[j] * whole;
                for (d, row) in dn.iter_mut().take(2).enumerate() {
                    row[k] = 2.0 * (dl[i][d] * l[j] + l[i] * dl[j][d]) * whole;
                }
                dn[2][k] = 2.0 * l[i] * l[j] * side;
            }
            let k = 12 + i;
            n[k] = l[i] * bubble;
            dn[0][k] = dl[i][0] * bubble;
            dn[1][k] = dl[i][1] * bubble;
            dn[2][k] = -2.0 * t * l[i];
        }
        Self { n, dn, weight }
    }

    /// Derivatives along x, y, z and the Jacobian's determinant.
    #[must_use]
    pub fn gradient(&self, x: &[[f64; 3]; NODES]) -> ([[f64; PAD]; 3], f64) {
        let mut j = [[0.0; 3]; 3];
        for (row, d) in j.iter_mut().zip(&self.dn) {
            for (p, dk) in x.iter().zip(d) {
                for (entry, c) in row.iter_mut().zip(p) {
                    *entry += dk * c;
                }
            }
        }
        let (inv, det) = inverse(&j);
        let mut g = [[0.0; PAD]; 3];
        for (row, inv_row) in g.iter_mut().zip(&inv) {
            for (k, out) in row.iter_mut().enumerate() {
                *out = inv_row[0] * self.dn[0][k]
                    + inv_row[1] * self.dn[1][k]
                    + inv_row[2] * self.dn[2][k];
            }
        }
        (g, det)
    }
}

/// Inverse and determinant of a 3 × 3 matrix.
#[must_use]
pub fn inverse(j: &[[f64; 3]; 3]) -> ([[f64; 3]; 3], f64) {
    let c = |a: usize, b: usize, d: usize, e: usize| j[a][b] * j[d][e] - j[a][e] * j[d][b];
    let det = j[0][0] * c(1, 1, 2, 2) - j[0][1] * c(1, 0, 2, 2) + j[0][2] * c(1, 0, 2, 1);
    let k = 1.0 / det;
    (
        [
            [k * c(1, 1, 2, 2), -k * c(0, 1, 2, 2), k * c(0, 1, 1, 2)],
            [-k * c(1, 0, 2, 2), k * c(0, 0, 2, 2), -k * c(0, 0, 1, 2)],
            [k * c(1, 0, 2, 1), -k * c(0, 0, 2, 1), k * c(0, 0, 1, 1)],
        ],
        det,
    )
}

impl Default for Rules {
    fn default() -> Self {
        Self::new()
    }
}

impl Rules {
    /// Both rules.
    #[must_use]
    pub fn new() -> Self {
        let product = |triangle: &[(f64, f64, f64)]| {
            LINE_3
                .iter()
                .flat_map(|&(t, wt)| {
                    triangle
                        .iter()
                        .map(move |&(r, s, w)| Sample::at(r, s, t, w * wt))
                })
                .collect()
        };
        let mut to_nodes = [[0.0; STRESS_POINTS]; NODES];
        for (row, &[r, s, t]) in to_nodes.iter_mut().zip(&NATURAL) {
            *row = extrapolation(r, s, t);
        }
        Self {
            stiffness: product(&TRIANGLE_3),
            mass: product(&TRIANGLE_6),
            to_nodes,
        }
    }
}

/// Weights of the stress points' values at a place of the element.
fn extrapolation(r: f64, s: f64, t: f64) -> [f64; STRESS_POINTS] {
    // The linear function that is 1 at the point near corner i and 0 at the other two: 2 L_i − 1/3.
    let plane = [1.0 - r - s, r, s].map(|l| 2.0 * l - 1.0 / 3.0);
    let g2 = GAUSS_3 * GAUSS_3;
    let height = [
        t * (t - GAUSS_3) / (2.0 * g2),
        1.0 - t * t / g2,
        t * (t + GAUSS_3) / (2.0 * g2),
    ];
    let mut out = [0.0; STRESS_POINTS];
    for (j, h) in height.iter().enumerate() {
        for (i, p) in plane.iter().enumerate() {
            out[3 * j + i] = p * h;
        }
    }
    out
}

/// Place of (row, column) in a packed lower triangle, `row >= column`.
#[must_use]
pub const fn packed(row: usize, column: usize) -> usize {
    row * (row + 1) / 2 + column
}

/// Stiffness of an element, packed lower triangle, unknown 3·node + direction, N/mm.
///
/// Answers the least Jacobian met as well: an element is folded where that is not positive.
pub fn stiffness(x: &[[f64; 3]; NODES], material: &Elastic, rules: &Rules, out: &mut [f64]) -> f64 {
    // Integrals of ∂Na/∂xi ∂Nb/∂xj for the six pairs i <= j.
    let mut acc = [[[0.0; PAD]; NODES]; 6];
    let mut least = f64::INFINITY;
    for sample in &rules.stiffness {
        let (g, det) = sample.gradient(x);
        least = least.min(det);
        let w = det * sample.weight;
        for (slot, (i, j)) in acc
            .iter_mut()
            .zip([(0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2)])
        {
            for (a, row) in slot.iter_mut().enumerate() {
                let f = w * g[i][a];
                for b in 0..PAD {
                    row[b] += f * g[j][b];
                }
            }
        }
    }
    let (lambda, mu) = material.lame();
    let pick = |i: usize, j: usize, a: usize, b: usize| -> f64 {
        const SLOT: [[usize; 3]; 3] = [[0, 1, 2], [1, 3, 4], [2, 4, 5]];
        if i <= j {
            acc[SLOT[i][j]][a][b]
        } else {
            acc[SLOT[i][j]][b][a]
        }
    };
    for a in 0..NODES {
        for b in 0..=a {
            let shear = mu * (pick(0, 0, a, b) + pick(1, 1, a, b) + pick(2, 2, a, b));
            for i in 0..3 {
                let row = 3 * a + i;
                for j in 0..3 {
                    let column = 3 * b + j;
                    if column > row {
                        continue;
                    }
                    let mut k = lambda * pick(i, j, a, b) + mu * pick(j, i, a, b);
                    if i == j {
                        k += shear;
                    }
                    out[packed(row, column)] = k;
                }
            }
        }
    }
    least
}

/// Consistent scalar mass of an element, packed lower triangle, t.
pub fn mass(x: &[[f64; 3]; NODES], density_t_mm3: f64, rules: &Rules, out: &mut [f64]) {
    out[..MASS_PACKED].fill(0.0);
    for sample in &rules.mass {
        let (_, det) = sample.gradient(x);
        let w = det * sample.weight * density_t_mm3;
        for a in 0..NODES {
            for b in 0..=a {
                out[packed(a, b)] += w * sample.n[a] * sample.n[b];
            }
        }
    }
}

/// Shape function gradients of one element at the stress points, for any number of load cases.
#[derive(Debug, Clone)]
pub struct Gradients {
    /// Derivatives along x, y, z at each point, 1/mm.
    at: [[[f64; PAD]; 3]; STRESS_POINTS],
    /// Volume of each point, mm³.
    pub volume: [f64; STRESS_POINTS],
}

impl Gradients {
    /// Gradients of an element with nodes at `x`.
    #[must_use]
    pub fn new(x: &[[f64; 3]; NODES], rules: &Rules) -> Self {
        let mut out = Self {
            at: [[[0.0; PAD]; 3]; STRESS_POINTS],
            volume: [0.0; STRESS_POINTS],
        };
        for ((at, volume), sample) in out.at.iter_mut().zip(&mut out.volume).zip(&rules.stiffness) {
            let (g, det) = sample.gradient(x);
            *at = g;
            *volume = det * sample.weight;
        }
        out
    }

    /// Stress (xx, yy, zz, xy, yz, zx) at each stress point under node displacements `u`, MPa.
    #[must_use]
    pub fn stresses(&self, u: &[[f64; 3]; NODES], material: &Elastic) -> [[f64; 6]; STRESS_POINTS] {
        let (lambda, mu) = material.lame();
        self.at.map(|g| {
            let mut h = [[0.0; 3]; 3];
            for (k, uk) in u.iter().enumerate() {
                for (row, v) in h.iter_mut().zip(uk) {
                    for (entry, gj) in row.iter_mut().zip(&g) {
                        *entry += v * gj[k];
                    }
                }
            }
            let pressure = lambda * (h[0][0] + h[1][1] + h[2][2]);
            [
                pressure + 2.0 * mu * h[0][0],
                pressure + 2.0 * mu * h[1][1],
                pressure + 2.0 * mu * h[2][2],
                mu * (h[0][1] + h[1][0]),
                mu * (h[1][2] + h[2][1]),
                mu * (h[2][0] + h[0][2]),
            ]
        })
    }

    /// What the element's nodes take to be moved by `u`, N: the stresses' resultants there.
    #[must_use]
    pub fn forces(&self, u: &[[f64; 3]; NODES], material: &Elastic) -> [[f64; 3]; NODES] {
        let mut out = [[0.0; 3]; NODES];
        let stresses = self.stresses(u, material);
        for ((t, g), volume) in stresses.iter().zip(&self.at).zip(&self.volume) {
            let [xx, yy, zz, xy, yz, zx] = t.map(|v| v * volume);
            for (k, f) in out.iter_mut().enumerate() {
                let d = [g[0][k], g[1][k], g[2][k]];
                f[0] += xx * d[0] + xy * d[1] + zx * d[2];
                f[1] += xy * d[0] + yy * d[1] + yz * d[2];
                f[2] += zx * d[0] + yz * d[1] + zz * d[2];
            }
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn prism() -> [[f64; 3]; NODES] {
        // A skewed straight prism: middles half-way.
        NATURAL.map(|[r, s, t]| {
            [
                3.0 * r + 0.5 * s + 0.2 * t,
                2.0 * s + 0.3 * r,
                1.5 * t + 0.1 * r,
            ]
        })
    }

    const STEEL: Elastic = Elastic {
        young_mpa: 210_000.0,
        poisson: 0.3,
        density_t_mm3: 7.85e-9,
    };

    #[test]
    fn each_shape_function_is_one_at_its_node_and_zero_at_the_others() {
        for (i, &[r, s, t]) in NATURAL.iter().enumerate() {
            let n = Sample::at(r, s, t, 1.0).n;
            for (j, v) in n.iter().enumerate() {
                assert!(
                    (v - f64::from(u8::from(i == j))).abs() < 1e-14,
                    "{i} {j} {v}"
                );
            }
        }
    }

    #[test]
    fn derivatives_agree_with_differences() {
        let (r, s, t, e) = (0.23, 0.41, -0.37, 1e-6);
        let d = Sample::at(r, s, t, 1.0).dn;
        let ends = [
            (Sample::at(r + e, s, t, 1.0), Sample::at(r - e, s, t, 1.0)),
            (Sample::at(r, s + e, t, 1.0), Sample::at(r, s - e, t, 1.0)),
            (Sample::at(r, s, t + e, 1.0), Sample::at(r, s, t - e, 1.0)),
        ];
        for (row, (hi, lo)) in d.iter().zip(&ends) {
            for (n, slope) in row.iter().enumerate().take(NODES) {
                assert!((slope - (hi.n[n] - lo.n[n]) / (2.0 * e)).abs() < 1e-9);
            }
        }
    }

    #[test]
    fn rigid_motions_cost_no_energy_and_a_stretch_costs_what_the_law_says() {
        let x = prism();
        let rules = Rules::new();
        let mut k = vec![0.0; PACKED];
        let least = stiffness(&x, &STEEL, &rules, &mut k);
        assert!(least > 0.0);
        let energy = |u: &dyn Fn([f64; 3]) -> [f64; 3]| {
            let v: Vec<f64> = x.iter().flat_map(|p| u(*p)).collect();
            let mut sum = 0.0;
            for i in 0..UNKNOWNS {
                for j in 0..UNKNOWNS {
                    sum += v[i] * v[j] * k[packed(i.max(j), i.min(j))];
                }
            }
            0.5 * sum
        };
        let volume = (3.0 * 2.0 - 0.5 * 0.3) * 0.5 * 3.0 * (1.0 - 0.0);
        let stretch = energy(&|p| [1e-3 * p[0], -0.3e-3 * p[1], -0.3e-3 * p[2]]);
        let exact_volume: f64 = rules
            .stiffness
            .iter()
            .map(|s| s.gradient(&x).1 * s.weight)
            .sum();
        assert!(
            (exact_volume / volume - 1.0).abs() < 0.02,
            "skew changes it little"
        );
        assert!((stretch / (0.5 * 210_000.0 * 1e-6 * exact_volume) - 1.0).abs() < 1e-12);
        for u in [
            (|_| [1.0, 0.0, 0.0]) as fn([f64; 3]) -> [f64; 3],
            |p| [-p[1], p[0], 0.0],
            |p| [0.0, -p[2], p[1]],
        ] {
            assert!(energy(&u).abs() < 1e-7 * 210_000.0);
        }
    }

    #[test]
    fn mass_sums_to_density_times_volume() {
        let x = prism();
        let rules = Rules::new();
        let mut m = vec![0.0; MASS_PACKED];
        mass(&x, 2.0, &rules, &mut m);
        let volume: f64 = rules.mass.iter().map(|s| s.gradient(&x).1 * s.weight).sum();
        let mut sum = 0.0;
        for a in 0..NODES {
            for b in 0..NODES {
                sum += m[packed(a.max(b), a.min(b))];
            }
        }
        assert!((sum / (2.0 * volume) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_linear_stress_field_is_carried_to_the_nodes_exactly() {
        let rules = Rules::new();
        for (n, &[r, s, t]) in NATURAL.iter().enumerate() {
            let mut sum = 0.0;
            let mut k = 0;
            for &(tt, _) in &LINE_3 {
                for &(rr, ss, _) in &TRIANGLE_3 {
                    sum += rules.to_nodes[n][k] * (1.0 + 2.0 * rr - ss + 0.5 * tt + tt * rr);
                    k += 1;
                }
            }
            assert!((sum - (1.0 + 2.0 * r - s + 0.5 * t + t * r)).abs() < 1e-12);
        }
    }
}
