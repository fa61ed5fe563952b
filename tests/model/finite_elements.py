"""An axisymmetric bed by a general-purpose finite-element library, for comparison only."""

import numpy as np
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementQuad2, FacetBasis, LinearForm, MeshQuad


class ElementBed:
    """Second-order quadrilaterals over (radius, height); heat stored, conducted, let in."""

    def __init__(self, bed, radial, axial, start_c):
        mesh = MeshQuad.init_tensor(
            np.linspace(0, bed.radius_m, radial + 1), np.linspace(0, bed.depth_m, axial + 1)
        )
        self.basis = Basis(mesh, ElementQuad2(), intorder=4)
        places = self.basis.doflocs
        self.axis = np.flatnonzero(np.isclose(places[0], 0))
        self.axis = self.axis[np.argsort(places[1, self.axis])]
        self.heights = places[1, self.axis]
        self.stored = bed.volumetric_heat_capacity_j_m3k * _ring.assemble(self.basis)
        self.volume = _ring_load.assemble(self.basis)
        edges = (
            (bed.side_w_m2k, lambda x: np.isclose(x[0], bed.radius_m)),
            (bed.bottom_w_m2k, lambda x: np.isclose(x[1], 0)),
            (bed.top_w_m2k, lambda x: np.isclose(x[1], bed.depth_m)),
        )
        self.film, self.drive = 0, 0
        for film, where in edges:
            facets = FacetBasis(mesh, ElementQuad2(), facets=mesh.facets_satisfying(where))
            self.film = self.film + film * _ring.assemble(facets)
            self.drive = self.drive + film * _ring_load.assemble(facets)
        self.field = np.full(self.basis.N, float(start_c))

    def stiffness(self, conductivity):
        """Conduction with one k, or with k at the quadrature points for a field."""
        if callable(conductivity):
            there = conductivity(np.asarray(self.basis.interpolate(self.field)))
            return _flow.assemble(self.basis, k=there)
        return conductivity * _flow.assemble(self.basis, k=1.0)

    def core(self):
        return np.interp(self.heights.max() / 2, self.heights, self.field[self.axis])

    def at(self, share):
        return np.interp(share * self.heights.max(), self.heights, self.field[self.axis])

    def mean(self):
        return self.volume @ self.field / self.volume.sum()

    def solve(self, matrix, right):
        return splu(matrix.tocsc()).solve(right)


@BilinearForm
def _flow(u, v, w):
    return w.x[0] * w["k"] * (u.grad[0] * v.grad[0] + u.grad[1] * v.grad[1])


@BilinearForm
def _ring(u, v, w):
    return w.x[0] * u * v


@LinearForm
def _ring_load(v, w):
    return w.x[0] * v
