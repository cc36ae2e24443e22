"""Times scikit-fem on the same mesh and the same element: assembly, solve of three cases, ten modes.

Usage: bench_strength.py STRUCTURE.json

The fifteen-node wedge is given to scikit-fem as its own element class, so
that unknowns are the same in number; solver is its default direct one
(scipy's SuperLU through spsolve), modes are ARPACK's shift-invert (eigsh).
Held nodes are condensed. Prints seconds and first frequencies as JSON.
"""

import json
import resource
import sys
import time

import numpy as np
import scipy.sparse.linalg as spl
from skfem import Basis, BilinearForm, ElementVector, MeshWedge1, condense, solve
from skfem.element import ElementH1
from skfem.helpers import ddot, eye, sym_grad, trace
from skfem.refdom import RefWedge


class ElementWedge15(ElementH1):
    """Serendipity wedge on 0 <= z <= 1; nodes at corners and edge middles in RefWedge's order."""

    nodal_dofs = 1
    edge_dofs = 1
    maxdeg = 4
    dofnames = ["u", "u"]
    doflocs = np.vstack([RefWedge.p.T, [RefWedge.p[:, e].mean(axis=1) for e in RefWedge.edges]])
    refdom = RefWedge

    def lbasis(self, X, i):
        x, y, z = X
        t = 2 * z - 1
        L = [1 - x - y, x, y]
        dL = np.array([[-1.0, -1.0], [1.0, 0.0], [0.0, 1.0]])
        one = np.ones_like(x)
        if i < 6:
            k, side = i % 3, -1.0 if i < 3 else 1.0
            half, bubble = 0.5 * (1 + side * t), 1 - t * t
            phi = L[k] * (2 * L[k] - 1) * half - 0.5 * L[k] * bubble
            slope = (4 * L[k] - 1) * half - 0.5 * bubble
            dz = 2 * (L[k] * (2 * L[k] - 1) * 0.5 * side + L[k] * t)
            return phi, np.array([slope * dL[k, 0], slope * dL[k, 1], dz * one])
        a, b = RefWedge.edges[i - 6]
        if a % 3 == b % 3:
            k, bubble = a % 3, 1 - t * t
            return L[k] * bubble, np.array([dL[k, 0] * bubble, dL[k, 1] * bubble, -4 * t * L[k]])
        side = -1.0 if a < 3 else 1.0
        j, k = a % 3, b % 3
        whole = 1 + side * t
        d = [2 * (dL[j, m] * L[k] + L[j] * dL[k, m]) * whole for m in range(2)]
        return 2 * L[j] * L[k] * whole, np.array([d[0], d[1], 4 * L[j] * L[k] * side])


data = json.load(open(sys.argv[1]))
nodes = np.array(data["nodes"])
wedges = np.array(data["wedges"])
young, poisson, density = data["young_mpa"], data["poisson"], data["density_t_mm3"]
mu = young / (2 * (1 + poisson))
lam = young * poisson / ((1 + poisson) * (1 - 2 * poisson))

corners, inverse = np.unique(wedges[:, :6], return_inverse=True)
mesh = MeshWedge1(nodes[corners].T, inverse.reshape(-1, 6).T.astype(np.int32))


@BilinearForm
def stiffness(u, v, _):
    e = sym_grad(u)
    return ddot(2 * mu * e + lam * eye(trace(e), 3), sym_grad(v))


@BilinearForm
def mass(u, v, _):
    return density * (u[0] * v[0] + u[1] * v[1] + u[2] * v[2])


# The quadrature rules of the other side: 3 x 3 points for stiffness, 6 x 3 for mass.
g = np.sqrt(0.15)
LINE = ([0.5 - g, 0.5, 0.5 + g], [5 / 18, 8 / 18, 5 / 18])
A, B = 0.445948490915965, 0.091576213509771
TRI3 = ([(1 / 6, 1 / 6), (2 / 3, 1 / 6), (1 / 6, 2 / 3)], [1 / 6] * 3)
TRI6 = ([(A, A), (1 - 2 * A, A), (A, 1 - 2 * A), (B, B), (1 - 2 * B, B), (B, 1 - 2 * B)],
        [0.5 * 0.223381589678011] * 3 + [0.5 * 0.109951743655322] * 3)


def rule(triangle):
    X = np.array([[x, y, z] for z in LINE[0] for x, y in triangle[0]]).T
    W = np.array([w * v for v in LINE[1] for w in triangle[1]])
    return X, W


start = time.perf_counter()
basis = Basis(mesh, ElementVector(ElementWedge15()), quadrature=rule(TRI3))
K = stiffness.assemble(basis)
M = mass.assemble(Basis(mesh, ElementVector(ElementWedge15()), quadrature=rule(TRI6)))
assembled = time.perf_counter() - start

held = set(data["held"])
held_corners = np.array([i for i, n in enumerate(corners.tolist()) if n in held])
middle = {
    tuple(sorted((w[a], w[b]))): w[m]
    for w in wedges.tolist()
    for a, b, m in [(0, 1, 6), (1, 2, 7), (2, 0, 8), (3, 4, 9), (4, 5, 10), (5, 3, 11), (0, 3, 12), (1, 4, 13), (2, 5, 14)]
}
edge_is_held = np.array([middle[tuple(sorted(corners[e].tolist()))] in held for e in mesh.edges.T])
D = np.concatenate([basis.nodal_dofs[:, held_corners].ravel(), basis.edge_dofs[:, edge_is_held].ravel()])

start = time.perf_counter()
for d in range(3):
    ones = np.zeros(basis.N)
    ones[basis.nodal_dofs[d]] = 1
    ones[basis.edge_dofs[d]] = 1
    x = solve(*condense(K, M @ ones * 98066.5, D=D))
    if d == 0 and data["once"]:
        break
solved = time.perf_counter() - start
if data["once"]:
    solved *= 3

start = time.perf_counter()
Kc, Mc = condense(K, M, D=D)[:2]
values = spl.eigsh(Kc, k=10, M=Mc, sigma=0.0, which="LM", return_eigenvectors=False)
modes = time.perf_counter() - start
print(json.dumps({
    "unknowns": int(Kc.shape[0]),
    "assemble_s": assembled,
    "solve_s": solved,
    "modes_s": modes,
    "hz": sorted(float(np.sqrt(v) / (2 * np.pi)) for v in values),
    "memory_mib": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
}))
