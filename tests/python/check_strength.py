"""The same bracket in scikit-fem: its own elements, assembly, constraints, solver and modes.

Usage: check_strength.py STRUCTURE.json

Reads nodes, wedges, rigid bodies, ties and one load, cuts every wedge into
three ten-node tetrahedra (an independent element on the same mesh density),
and prints displacement, frequencies and stress as JSON.
"""

import json
import sys

import numpy as np
import scipy.sparse as sp
import scipy.sparse.linalg as spl
from skfem import Basis, BilinearForm, ElementTetP2, ElementVector, MeshTet1, MeshTet2
from skfem.helpers import ddot, sym_grad, trace, eye

data = json.load(open(sys.argv[1]))
nodes = np.array(data["nodes"])
wedges = np.array(data["wedges"])
young, poisson, density = data["young_mpa"], data["poisson"], data["density_t_mm3"]

# Middle of each straight or curved edge, by its two corners.
EDGES = [(0, 1, 6), (1, 2, 7), (2, 0, 8), (3, 4, 9), (4, 5, 10), (5, 3, 11), (0, 3, 12), (1, 4, 13), (2, 5, 14)]
middle = {}
for w in wedges:
    for a, b, m in EDGES:
        middle[tuple(sorted((w[a], w[b])))] = w[m]

# The nine-node middle of a side face lies half-way between the opposite middles, less the corners' share
# (serendipity: N_corner = -1/4, N_middle = 1/2 at the centre).
extra = []
diagonal = {}


def cut(face):
    """Diagonal of a side face from its smallest corner number, shared by both neighbours."""
    a = int(np.argmin(face))
    p, q = face[a], face[(a + 2) % 4]
    key = tuple(sorted((p, q)))
    if key not in diagonal:
        mids = [middle[tuple(sorted((face[k], face[(k + 1) % 4])))] for k in range(4)]
        place = 0.5 * nodes[mids].sum(axis=0) - 0.25 * nodes[list(face)].sum(axis=0)
        diagonal[key] = len(nodes) + len(extra)
        extra.append(place)
    return key


tets = []
for w in wedges:
    c = w[:6]
    # Dompierre et al., "How to subdivide pyramids, prisms and hexahedra into tetrahedra", 1999:
    # turn the prism so that its smallest corner leads, then one face's diagonal decides.
    turns = [[0, 1, 2, 3, 4, 5], [1, 2, 0, 4, 5, 3], [2, 0, 1, 5, 3, 4],
             [3, 5, 4, 0, 2, 1], [4, 3, 5, 1, 0, 2], [5, 4, 3, 2, 1, 0]]
    v = c[turns[int(np.argmin(c))]]
    for f in ([0, 1, 4, 3], [1, 2, 5, 4], [2, 0, 3, 5]):
        cut([v[k] for k in f])
    if min(v[1], v[5]) < min(v[2], v[4]):
        tets += [[v[0], v[1], v[2], v[5]], [v[0], v[1], v[5], v[4]], [v[0], v[4], v[5], v[3]]]
    else:
        tets += [[v[0], v[1], v[2], v[4]], [v[0], v[4], v[2], v[5]], [v[0], v[4], v[5], v[3]]]
tets = np.array(tets)
points = np.vstack([nodes, np.array(extra)])

corners, inverse = np.unique(tets, return_inverse=True)
tets_local = inverse.reshape(tets.shape)
mesh1 = MeshTet1(points[corners].T, tets_local.T)
mesh = MeshTet2.from_mesh(mesh1)
location = mesh.doflocs.copy()
edge_dofs = mesh.dofs.edge_dofs[0]
own_node = np.empty(location.shape[1], dtype=int)
own_node[mesh.dofs.nodal_dofs[0]] = corners
for e in range(mesh.edges.shape[1]):
    key = tuple(sorted(corners[mesh.edges[:, e]]))
    m = middle.get(key, diagonal.get(key))
    own_node[edge_dofs[e]] = m
    location[:, edge_dofs[e]] = points[m]
mesh = MeshTet2(location, mesh.t)

basis = Basis(mesh, ElementVector(ElementTetP2()), intorder=4)
mu = young / (2 * (1 + poisson))
lam = young * poisson / ((1 + poisson) * (1 - 2 * poisson))


@BilinearForm
def stiffness(u, v, _):
    e = sym_grad(u)
    return ddot(2 * mu * e + lam * eye(trace(e), 3), sym_grad(v))


@BilinearForm
def mass(u, v, _):
    return density * (u[0] * v[0] + u[1] * v[1] + u[2] * v[2])


K = stiffness.assemble(basis)
M = mass.assemble(basis)

# Full unknowns of scikit-fem -> (free nodes | body unknowns): u = T q.
bodies = data["bodies"]
tied = {n: b for n, b in data["tied"]}
# Which of the structure's nodes each vector unknown belongs to.
N = basis.N
owner = np.empty(N, dtype=int)
direction = np.empty(N, dtype=int)
scalar_nodal, scalar_edge = mesh.dofs.nodal_dofs[0], mesh.dofs.edge_dofs[0]
for d in range(3):
    owner[basis.nodal_dofs[d]] = own_node[scalar_nodal]
    direction[basis.nodal_dofs[d]] = d
    owner[basis.edge_dofs[d]] = own_node[scalar_edge]
    direction[basis.edge_dofs[d]] = d

rows, cols, vals = [], [], []
column = 0
body_column = {}
for b, body in enumerate(bodies):
    if not body["ground"]:
        body_column[b] = column
        column += 6
unknown_of = np.full(N, -1)
for i in range(N):
    n, d = owner[i], direction[i]
    if n in tied:
        b = tied[n]
        if bodies[b]["ground"]:
            continue
        r = points[n] - np.array(bodies[b]["at"])
        start = body_column[b]
        cross = np.array([[0, r[2], -r[1]], [-r[2], 0, r[0]], [r[1], -r[0], 0]])
        rows.append(i), cols.append(start + d), vals.append(1.0)
        for k in range(3):
            if cross[d, k] != 0:
                rows.append(i), cols.append(start + 3 + k), vals.append(cross[d, k])
    else:
        rows.append(i), cols.append(column), vals.append(1.0)
        unknown_of[i] = column
        column += 1
T = sp.csr_matrix((vals, (rows, cols)), shape=(N, column))
Kr = (T.T @ K @ T).tocsc()
Mr = (T.T @ M @ T).tolil()
for b, start in body_column.items():
    Mr[start:start + 6, start:start + 6] += np.array(bodies[b]["mass_matrix"])
Mr = Mr.tocsc()
f = np.zeros(column)
for b, force in data["body_loads"]:
    if b in body_column:
        f[body_column[b]:body_column[b] + 6] += force

q = spl.spsolve(Kr, f)
u = T @ q
values = spl.eigsh(Kr, k=5, M=Mr, sigma=0.0, which="LM", return_eigenvectors=False)

# Stress at every node: each tetrahedron's own at its ten nodes, averaged.
reference = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [0, 0, 1],
                      [.5, 0, 0], [.5, .5, 0], [0, .5, 0], [0, 0, .5], [.5, 0, .5], [0, .5, .5]]).T
at_nodes = Basis(mesh, ElementVector(ElementTetP2()), quadrature=(reference, np.ones(10) / 60))
grad = at_nodes.interpolate(u).grad
strain = 0.5 * (grad + grad.transpose(1, 0, 2, 3))
volume_part = strain[0, 0] + strain[1, 1] + strain[2, 2]
stress = 2 * mu * strain
for k in range(3):
    stress[k, k] += lam * volume_part
place = at_nodes.global_coordinates().value
sums = np.zeros((6, len(points)))
count = np.zeros(len(points))
lookup = {tuple(np.round(location[:, i], 6)): own_node[i] for i in range(location.shape[1])}
for e in range(stress.shape[2]):
    for k in range(10):
        n = lookup[tuple(np.round(place[:, e, k], 6))]
        s = stress[:, :, e, k]
        sums[:, n] += [s[0, 0], s[1, 1], s[2, 2], s[0, 1], s[1, 2], s[2, 0]]
        count[n] += 1
mean = sums / np.maximum(count, 1)
xx, yy, zz, xy, yz, zx = mean
von_mises = np.sqrt(0.5 * ((xx - yy) ** 2 + (yy - zz) ** 2 + (zz - xx) ** 2) + 3 * (xy ** 2 + yz ** 2 + zx ** 2))

b = data["watched_body"]
print(json.dumps({
    "unknowns": column,
    "moved_mm": list(q[body_column[b]:body_column[b] + 3]),
    "hz": sorted(float(np.sqrt(v) / (2 * np.pi)) for v in values),
    "peaks_mpa": {name: float(von_mises[ids].max()) for name, ids in data["places"].items()},
    "mass_t": float(np.ones(N // 3) @ (M[np.where(direction == 0)[0]][:, np.where(direction == 0)[0]] @ np.ones(N // 3))),
}))
