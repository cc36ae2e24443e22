//! How good a mesh is: least angle, least Jacobian, and mending of folded edges.

use super::Plan;
use crate::geom::Point;

/// Least share of a straight triangle's area that the curved one must keep at every node.
///
/// Curved second-order elements stay accurate while the Jacobian varies mildly; a fifth is
/// the usual warning limit of mesh checks (common practice, no source).
const LEAST_JACOBIAN: f64 = 0.2;

/// Measures of a plate's mesh.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Quality {
    /// Elements.
    pub elements: usize,
    /// Nodes.
    pub nodes: usize,
    /// Least angle between two edges of a triangle, deg.
    pub least_angle_deg: f64,
    /// Least ratio of the Jacobian at a node to the straight element's, 1 for straight edges.
    pub least_jacobian: f64,
    /// Curved edges made straight because they would have folded an element.
    pub straightened: usize,
    /// Shortest edge, mm.
    pub shortest_edge_mm: f64,
}

/// Makes straight every curved edge that would fold its triangle; answers how many.
pub fn straighten_folds(plan: &mut Plan) -> usize {
    let mut mended = 0;
    // A mended edge is shared with a neighbour, whose Jacobian only gets nearer to straight.
    for t in 0..plan.triangles.len() {
        if least_jacobian(plan, t) >= LEAST_JACOBIAN {
            continue;
        }
        let [a, b, c, ab, bc, ca] = plan.triangles[t];
        for (i, j, m) in [(a, b, ab), (b, c, bc), (c, a, ca)] {
            let straight = plan.points[i].midpoint(plan.points[j]);
            if plan.points[m] != straight {
                plan.points[m] = straight;
                mended += 1;
            }
        }
    }
    mended
}

/// Least Jacobian of a curved triangle over its six nodes, as a share of the straight one's.
#[must_use]
pub fn least_jacobian(plan: &Plan, triangle: usize) -> f64 {
    let p = plan.triangles[triangle].map(|i| plan.points[i]);
    let straight = (p[1] - p[0]).cross(p[2] - p[0]);
    let nodes = [
        (0.0, 0.0),
        (1.0, 0.0),
        (0.0, 1.0),
        (0.5, 0.0),
        (0.5, 0.5),
        (0.0, 0.5),
    ];
    let mut least = f64::INFINITY;
    for (r, s) in nodes {
        let l = 1.0 - r - s;
        let dr = [
            1.0 - 4.0 * l,
            4.0 * r - 1.0,
            0.0,
            4.0 * (l - r),
            4.0 * s,
            -4.0 * s,
        ];
        let ds = [
            1.0 - 4.0 * l,
            0.0,
            4.0 * s - 1.0,
            -4.0 * r,
            4.0 * r,
            4.0 * (l - s),
        ];
        let mut j = [0.0; 4];
        for k in 0..6 {
            j[0] += dr[k] * p[k].x;
            j[1] += dr[k] * p[k].y;
            j[2] += ds[k] * p[k].x;
            j[3] += ds[k] * p[k].y;
        }
        least = least.min((j[0] * j[3] - j[1] * j[2]) / straight);
    }
    least
}

/// Least angle of a triangle's corners, deg.
#[must_use]
pub fn least_angle_deg([a, b, c]: [Point; 3]) -> f64 {
    [(a, b, c), (b, c, a), (c, a, b)]
        .into_iter()
        .map(|(p, q, r)| {
            let (u, v) = (q - p, r - p);
            u.cross(v).atan2(u.dot(v)).to_degrees()
        })
        .fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(bulge: f64) -> Plan {
        let p = vec![
            Point::new(0.0, 0.0),
            Point::new(1.0, 0.0),
            Point::new(0.0, 1.0),
        ];
        Plan::new(p, &[[0, 1, 2]], |i, j| {
            (i == 0 && j == 1).then(|| Point::new(0.5, bulge))
        })
    }

    #[test]
    fn a_straight_triangle_keeps_its_whole_jacobian() {
        assert!((least_jacobian(&one(0.0), 0) - 1.0).abs() < 1e-12);
        assert!((least_angle_deg([0, 1, 2].map(|i| one(0.0).points[i])) - 45.0).abs() < 1e-12);
    }

    #[test]
    fn an_edge_that_folds_its_triangle_is_made_straight() {
        let mut folded = one(0.4);
        assert!(least_jacobian(&folded, 0) < 0.0);
        assert_eq!(straighten_folds(&mut folded), 1);
        assert!((least_jacobian(&folded, 0) - 1.0).abs() < 1e-12);
    }
}
