"""Temperatures of a network of conductances: direct in two dimensions, by conjugate gradients in three."""

from __future__ import annotations

import numpy as np

from ..batch import Array
from .networks import Network

WIDEST_BAND = 64  # nodes; a wider matrix goes to the sparse factorisation


def direct(network: Network, temperatures: Array) -> Array:
    """Node temperatures of a plane network: banded where it is narrow, else sparse factorisation."""
    if network.links[1].shape[1] > network.shape[0] and not network.links[1][:, -1].any():
        turned = Network((network.links[1].T, network.links[0].T), ())
        return _plane(turned, network.diagonal().T, network.source(temperatures).T).T
    return _plane(network, network.diagonal(), network.source(temperatures))


def _plane(network: Network, diagonal: Array, source: Array) -> Array:
    from scipy.linalg.lapack import dpbsv

    if network.shape[1] > WIDEST_BAND:
        return _sparse(network, diagonal, source)
    _, temperatures, info = dpbsv(banded(network, diagonal), source.ravel(), lower=1, overwrite_ab=1)
    if info:
        raise ArithmeticError("the network of conductances is singular: nothing of it meets an air")
    return temperatures.reshape(network.shape)


def banded(network: Network, diagonal: Array) -> Array:
    """The symmetric matrix of a plane network in LAPACK's lower band storage, (band + 1, nodes), column-major."""
    through, along = network.links
    width = network.shape[1]
    band = np.zeros((width + 1, diagonal.size), order="F")
    band[0] = diagonal.ravel()
    if width > 1:
        step = along.copy()
        back, step[:, -1] = step[:, -1].copy(), 0.0
        band[1] = -step.ravel()
        band[width - 1, ::width] -= back
    band[width] -= through.ravel()  # the last row of links is 0: a wall does not repeat through its thickness
    return band


def _sparse(network: Network, diagonal: Array, source: Array) -> Array:
    from scipy.sparse.linalg import splu

    factor = splu(
        matrix(network, diagonal).tocsc(),
        permc_spec="MMD_AT_PLUS_A",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True},
    )
    return factor.solve(source.ravel()).reshape(network.shape)


def matrix(network: Network, diagonal: Array):
    """The sparse symmetric matrix of a network of any number of axes."""
    from scipy.sparse import coo_array

    number = np.arange(diagonal.size).reshape(network.shape)
    rows, columns, values = [number.ravel()], [number.ravel()], [diagonal.ravel()]
    for axis, link in enumerate(network.links):
        there = link > 0
        one, two = number[there], np.roll(number, -1, axis)[there]
        rows += [one, two]
        columns += [two, one]
        values += [-link[there]] * 2
    parts = (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns)))
    return coo_array(parts, shape=(diagonal.size, diagonal.size)).tocsr()
