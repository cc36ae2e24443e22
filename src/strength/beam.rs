//! A spacer as a Timoshenko beam: stiffness and mass on the unknowns of its two bodies.
//!
//! Przemieniecki, *Theory of Matrix Structural Analysis*, 1968, sections 5.6
//! (stiffness with shear) and 11.5 (consistent mass; shear is left out of the
//! mass, which a spacer of a few diameters does not notice). Shear coefficient of the round tube: Cowper, J. Appl. Mech.
//! 33 (1966) 335–340.

use std::f64::consts::PI;

use super::structure::{Beam, skew};

/// A 12 × 12 matrix on (start translation, start rotation, end translation, end rotation).
pub type Matrix12 = [[f64; 12]; 12];

/// Section of a tube.
struct Section {
    area: f64,
    inertia: f64,
    polar: f64,
    shear: f64,
}

fn section(b: &Beam) -> Section {
    let (d, i) = (b.outer_mm, b.inner_mm);
    let area = PI / 4.0 * (d * d - i * i);
    let inertia = PI / 64.0 * (d.powi(4) - i.powi(4));
    let m = i / d;
    let nu = b.material.poisson;
    let square = (1.0 + m * m).powi(2);
    let shear =
        6.0 * (1.0 + nu) * square / ((7.0 + 6.0 * nu) * square + (20.0 + 12.0 * nu) * m * m);
    Section {
        area,
        inertia,
        polar: 2.0 * inertia,
        shear,
    }
}

/// Length, mm.
#[must_use]
pub fn length(b: &Beam) -> f64 {
    let d = [0, 1, 2].map(|k| b.end[k] - b.start[k]);
    (d[0] * d[0] + d[1] * d[1] + d[2] * d[2]).sqrt()
}

/// Mass, t.
#[must_use]
pub fn mass_t(b: &Beam) -> f64 {
    section(b).area * length(b) * b.material.density_t_mm3
}

/// Stiffness on the unknowns of the two bodies, whose reference points are `from` and `to`.
#[must_use]
pub fn stiffness(b: &Beam, from: [f64; 3], to: [f64; 3]) -> Matrix12 {
    let s = section(b);
    let l = length(b);
    let (e, g) = (b.material.young_mpa, b.material.shear_mpa());
    let phi = 12.0 * e * s.inertia / (s.shear * g * s.area * l * l);
    let c = e * s.inertia / ((1.0 + phi) * l.powi(3));
    let bending = [
        [12.0 * c, 6.0 * l * c, -12.0 * c, 6.0 * l * c],
        [
            6.0 * l * c,
            (4.0 + phi) * l * l * c,
            -6.0 * l * c,
            (2.0 - phi) * l * l * c,
        ],
        [-12.0 * c, -6.0 * l * c, 12.0 * c, -6.0 * l * c],
        [
            6.0 * l * c,
            (2.0 - phi) * l * l * c,
            -6.0 * l * c,
            (4.0 + phi) * l * l * c,
        ],
    ];
    let axial = e * s.area / l;
    let torsion = g * s.polar / l;
    let local = along(axial, torsion, &bending, [[1.0, -1.0], [-1.0, 1.0]]);
    to_bodies(b, &local, from, to)
}

/// Consistent mass on the unknowns of the two bodies.
#[must_use]
pub fn mass(b: &Beam, from: [f64; 3], to: [f64; 3]) -> Matrix12 {
    let s = section(b);
    let l = length(b);
    let m = b.material.density_t_mm3 * s.area * l;
    let k = m / 420.0;
    let bending = [
        [156.0 * k, 22.0 * l * k, 54.0 * k, -13.0 * l * k],
        [
            22.0 * l * k,
            4.0 * l * l * k,
            13.0 * l * k,
            -3.0 * l * l * k,
        ],
        [54.0 * k, 13.0 * l * k, 156.0 * k, -22.0 * l * k],
        [
            -13.0 * l * k,
            -3.0 * l * l * k,
            -22.0 * l * k,
            4.0 * l * l * k,
        ],
    ];
    let torsion = m / s.area * s.polar / 6.0;
    let local = along(m / 6.0, torsion, &bending, [[2.0, 1.0], [1.0, 2.0]]);
    to_bodies(b, &local, from, to)
}

/// Local matrix with the beam along x: rod terms in `rod` pattern, bending in both planes.
fn along(axial: f64, torsion: f64, bending: &[[f64; 4]; 4], rod: [[f64; 2]; 2]) -> Matrix12 {
    let mut k = [[0.0; 12]; 12];
    for (i, row) in rod.iter().enumerate() {
        for (j, f) in row.iter().enumerate() {
            k[6 * i][6 * j] = axial * f;
            k[6 * i + 3][6 * j + 3] = torsion * f;
        }
    }
    // In the x–y plane the slope is +θz; in the x–z plane it is −θy.
    let xy = [(1, 1.0), (5, 1.0), (7, 1.0), (11, 1.0)];
    let xz = [(2, 1.0), (4, -1.0), (8, 1.0), (10, -1.0)];
    for plane in [xy, xz] {
        for (a, &(i, si)) in plane.iter().enumerate() {
            for (c, &(j, sj)) in plane.iter().enumerate() {
                k[i][j] += si * sj * bending[a][c];
            }
        }
    }
    k
}

/// Turns a local matrix into space and moves its ends to the bodies' reference points.
fn to_bodies(b: &Beam, local: &Matrix12, from: [f64; 3], to: [f64; 3]) -> Matrix12 {
    let l = length(b);
    let x = [0, 1, 2].map(|k| (b.end[k] - b.start[k]) / l);
    // Any direction across serves a round section; the axis least along x is the steadiest.
    let least = (0..3)
        .min_by(|&i, &j| x[i].abs().total_cmp(&x[j].abs()))
        .unwrap_or(0);
    let mut side = [0.0; 3];
    side[least] = 1.0;
    let cross = |a: [f64; 3], b: [f64; 3]| {
        [
            a[1] * b[2] - a[2] * b[1],
            a[2] * b[0] - a[0] * b[2],
            a[0] * b[1] - a[1] * b[0],
        ]
    };
    let z = cross(x, side);
    let n = (z[0] * z[0] + z[1] * z[1] + z[2] * z[2]).sqrt();
    let z = z.map(|c| c / n);
    let y = cross(z, x);
    let turn = [x, y, z];
    // t maps body unknowns to local end unknowns.
    let mut t = [[0.0; 12]; 12];
    for (end, (tip, body)) in [(b.start, from), (b.end, to)].into_iter().enumerate() {
        let arm = skew([0, 1, 2].map(|k| tip[k] - body[k]));
        for i in 0..3 {
            for j in 0..3 {
                t[6 * end + i][6 * end + j] = turn[i][j];
                t[6 * end + 3 + i][6 * end + 3 + j] = turn[i][j];
                // u_tip = u + θ × arm = u − [arm]θ.
                let mut sum = 0.0;
                for k in 0..3 {
                    sum -= turn[i][k] * arm[k][j];
                }
                t[6 * end + i][6 * end + 3 + j] = sum;
            }
        }
    }
    let mut half = [[0.0; 12]; 12];
    for i in 0..12 {
        for j in 0..12 {
            half[i][j] = (0..12).map(|k| local[i][k] * t[k][j]).sum();
        }
    }
    let mut out = [[0.0; 12]; 12];
    for i in 0..12 {
        for j in 0..12 {
            out[i][j] = (0..12).map(|k| t[k][i] * half[k][j]).sum();
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::super::structure::Elastic;
    use super::*;

    fn bar(end: [f64; 3]) -> Beam {
        Beam {
            name: "spacer".into(),
            from: 0,
            to: 1,
            start: [0.0; 3],
            end,
            outer_mm: 20.0,
            inner_mm: 10.0,
            material: Elastic {
                young_mpa: 210_000.0,
                poisson: 0.3,
                density_t_mm3: 7.85e-9,
            },
        }
    }

    #[test]
    fn rigid_motion_of_both_ends_costs_nothing() {
        let b = bar([30.0, -20.0, 50.0]);
        let (from, to) = ([1.0, 2.0, 3.0], [25.0, -20.0, 60.0]);
        let k = stiffness(&b, from, to);
        let w = [0.2, -0.5, 0.7];
        let spin = |p: [f64; 3]| {
            let s = skew(w);
            [0, 1, 2].map(|i| s[i][0] * p[0] + s[i][1] * p[1] + s[i][2] * p[2])
        };
        let (a, c) = (spin(from), spin(to));
        let u = [
            a[0], a[1], a[2], w[0], w[1], w[2], c[0], c[1], c[2], w[0], w[1], w[2],
        ];
        for row in &k {
            let f: f64 = row.iter().zip(&u).map(|(k, u)| k * u).sum();
            assert!(f.abs() < 1e-5, "{f}");
        }
    }

    #[test]
    fn a_tube_bends_and_shears_as_the_textbook_says() {
        // Tip force with the far end held: F L³/3EI + F L/κGA.
        let b = bar([0.0, 0.0, 200.0]);
        let k = stiffness(&b, b.start, b.end);
        let s = section(&b);
        let (l, e, g) = (200.0_f64, 210_000.0, 210_000.0 / 2.6);
        let flexibility = l.powi(3) / (3.0 * e * s.inertia) + l / (s.shear * g * s.area);
        // Condense the tip rotation about y out of (u_x, θ_y) at the free end.
        let (kuu, kut, ktt) = (k[6][6], k[6][10], k[10][10]);
        assert!(((kuu - kut * kut / ktt) * flexibility - 1.0).abs() < 1e-12);
        // Cowper's value for this tube lies between the thin tube's and the bar's.
        assert!(s.shear > 0.5 && s.shear < 0.9);
    }

    #[test]
    fn mass_of_a_beam_is_that_of_its_metal() {
        let b = bar([12.0, 5.0, -30.0]);
        let m = mass(&b, b.start, b.end);
        for d in 0..3 {
            let sum = m[d][d] + m[d][d + 6] + m[d + 6][d] + m[d + 6][d + 6];
            assert!((sum / mass_t(&b) - 1.0).abs() < 1e-12);
        }
    }
}
