"""An independent solver for the tests: the same domains by finite elements of second order (scikit-fem)."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from skfem import (
    Basis,
    BilinearForm,
    ElementHex2,
    ElementQuad2,
    FacetBasis,
    Functional,
    LinearForm,
    MeshHex,
    MeshQuad,
    asm,
    solve,
)
from skfem.helpers import dot, grad

from optimiser.conduction.grid import Domain, edges


def lines(domain: Domain, pieces: int) -> list[np.ndarray]:
    """Every stretch between edges cut into pieces that shrink towards both of its ends, by a cosine."""
    at = (1 - np.cos(np.pi * np.arange(pieces) / pieces)) / 2
    return [
        np.concatenate([*(low + (high - low) * at for low, high in pairwise(row)), row[-1:]]) for row in edges(domain)
    ]


def conductance(domain: Domain, pieces: int = 4) -> float:
    """Heat per kelvin between the two airs of a wall's cell [W/K], by the energy: never below the truth."""
    grid = lines(domain, pieces)
    flat = len(grid) == 2
    mesh = (MeshQuad if flat else MeshHex).init_tensor(*grid)
    basis = Basis(mesh, ElementQuad2() if flat else ElementHex2())
    conductivity = _conductivity(domain, mesh.p[:, mesh.t].mean(axis=1))
    through = len(grid) - 2

    @BilinearForm
    def conduction(u, v, w):
        return w.k * dot(grad(u), grad(v))

    @Functional
    def energy(w):
        return w.k * dot(grad(w.u), grad(w.u))

    k = np.broadcast_to(conductivity[:, None], basis.dx.shape)
    matrix = asm(conduction, basis, k=k)
    right = np.zeros(matrix.shape[0])
    sides = []
    for face in domain.faces:
        air = domain.airs[face.air]
        at = 0.0 if face.end == 0 else domain.size[through]
        side = FacetBasis(mesh, basis.elem, facets=mesh.facets_satisfying(lambda x, at=at: np.isclose(x[through], at)))
        sides.append((side, air))
        matrix = matrix + asm(BilinearForm(lambda u, v, w, r=air.resistance: u * v / r), side)
        right = right + asm(LinearForm(lambda v, w, a=air: v * a.temperature / a.resistance), side)
    found = solve(matrix, right)
    total = energy.assemble(basis, u=basis.interpolate(found), k=k)
    for side, air in sides:
        gap = Functional(lambda w, a=air: (w.u - a.temperature) ** 2 / a.resistance)
        total += gap.assemble(side, u=side.interpolate(found))
    return float(total) / (domain.airs[1].temperature - domain.airs[0].temperature) ** 2


def _conductivity(domain: Domain, middles: np.ndarray) -> np.ndarray:
    """Of every element, by where its middle lies."""
    found = np.zeros(middles.shape[1])
    for box in domain.boxes:
        sides = zip(box.low, middles, box.high, strict=True)
        inside = np.all([(low < at) & (at < high) for low, at, high in sides], axis=0)
        found[inside] = box.conductivity
    return found
