"""The layout that keeps angles best: quick and close, but free to fold on rough panels."""

import numpy as np
from scipy.sparse import csc_array
from scipy.sparse.linalg import splu

from geometry.arrays import FloatArray, IntArray
from geometry.blank.stretch import rest_frames
from geometry.mesh import TriMesh


def conformal_layout(
    mesh: TriMesh, rim: IntArray, order: IntArray, held: tuple[int, int] | None = None
) -> FloatArray:
    """Return (n, 2): the layout that keeps angles best, two far rim vertices held.

    Parameters
    ----------
    mesh : TriMesh
        One disk without holes.
    rim : (k,) int
    order : (n,) int
        In which vertices are eliminated.
    held : two vertices, optional
        Kept their distance apart; by default the rim's first and the rim's farthest from it.

    With u + i v for a place, the energy is half of z* M z, where M holds the halved cotangents of
    every edge and, along the rim, -+ i / 2 for the area enclosed: half the unknowns of the form in
    real numbers. Source: [levy2002] least-squares conformal maps; [pinkall1993] cotangents.
    """
    first, second = _far_apart(mesh, rim) if held is None else held
    n = len(mesh.vertices)
    place = np.empty(n, np.int64)
    place[order] = np.arange(n)
    matrix = _conformal_matrix(mesh, rim, place)
    keep = np.ones(n, bool)
    keep[place[[first, second]]] = False
    free = np.flatnonzero(keep)
    apart = float(np.linalg.norm(mesh.vertices[second] - mesh.vertices[first]))
    columns = matrix[:, free]
    # Hermitian: the column of the held vertex is the conjugate of its row.
    right = -apart * np.asarray(columns[[int(place[second])]].toarray()).ravel().conj()
    factors = splu(
        csc_array(columns[free]),
        permc_spec="NATURAL",
        diag_pivot_thresh=0.0,
        options={"SymmetricMode": True, "Equil": False},
    )
    z = np.zeros(n, np.complex128)
    z[place[second]] = apart
    z[free] = factors.solve(right)
    return np.stack([z.real, z.imag], axis=1)[place]


def _far_apart(mesh: TriMesh, rim: IntArray) -> tuple[int, int]:
    reach = np.linalg.norm(mesh.vertices[rim] - mesh.vertices[rim[0]], axis=1)
    return int(rim[0]), int(rim[int(np.argmax(reach))])


def _conformal_matrix(mesh: TriMesh, rim: IntArray, place: IntArray) -> csc_array:
    """Return the (n, n) Hermitian matrix, its rows and columns in elimination order."""
    n = len(mesh.vertices)
    length, along, height = rest_frames(mesh.vertices, mesh.faces).reshape(-1, 4)[:, [0, 1, 3]].T
    doubled = length * height
    # Scalar products of a face's sides; over its doubled area they are the cotangents.
    opposite = np.stack(
        [
            (along * along + height * height - along * length),  # at the third corner
            along * length,  # at the first
            length * length - along * length,  # at the second
        ]
    ) / (2.0 * doubled)
    a, b, c = place[mesh.faces.T]
    one, two = np.concatenate([a, b, c]), np.concatenate([b, c, a])
    pull = opposite.ravel()
    diagonal = np.bincount(one, pull, n) + np.bincount(two, pull, n)
    start, end = place[rim], place[np.roll(rim, -1)]
    rows = np.concatenate([np.arange(n), one, two, start, end])
    columns = np.concatenate([np.arange(n), two, one, end, start])
    half = np.full(len(rim), 0.5j)
    values = np.concatenate([diagonal, -pull, -pull, half, -half])
    return csc_array((values, (rows, columns)), shape=(n, n))
