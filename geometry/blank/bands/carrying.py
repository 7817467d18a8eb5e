"""Errors of a formed panel carried to its net line through the layout at hand.

At least work H dx = -(dF/dX) dX, with H the stiffness, F the nodal forces, X the formed panel and
x the layout. One solve for each spot of the rim, with the load that reads off its offset, gives
the weights of all the errors there. Scatter by chance also adds to the panel's size, for a rough
surface is longer than the smooth one: that is of second order, but does not vanish on a panel that
is flat or only bent as the rest does. Its mean is carried exactly, its spread by a few samples.
"""

import numpy as np
from scipy.sparse import coo_array, csr_array

from geometry.arrays import FloatArray
from geometry.blank.bands.measuring_errors import Kind, VertexErrors
from geometry.blank.bands.net_line import NetLine
from geometry.blank.bands.scatter import Scatter, correlation, scattered
from geometry.blank.bands.yielding import (
    forces_by_formed_strain,
    mean_strain_of_slopes,
    slopes_of_faces,
    strain_by_movement,
)
from geometry.blank.elements import Elements, face_stiffness
from geometry.blank.flat_panel import FlatPanel
from geometry.blank.stiffness import Factors, StiffnessSolver
from geometry.blank.work import density
from geometry.mesh import TriMesh, vertex_normals

SAMPLES = 64
"""Of roughness; its spread is then known to a tenth, and is the smallest part of the band."""


class CarriedErrors:
    """One layout, ready to carry errors of its formed panel to its net line.

    Parameters
    ----------
    flat : FlatPanel
        Converged.
    errors : VertexErrors
    """

    def __init__(self, flat: FlatPanel, errors: VertexErrors) -> None:
        mesh = TriMesh(flat.vertices, flat.faces)
        self._flat, self._errors = flat, errors
        self._line = NetLine.of(flat.flat_vertices, flat.rim)
        self._elements = elements = Elements.of(mesh)
        strained = elements.strained(flat.flat_vertices)
        d = density(flat.work, strained.s)
        self._normals = vertex_normals(mesh.vertices, mesh.faces)
        self._slopes = slopes_of_faces(elements, mesh.vertices, self._normals)
        self._by_strain = forces_by_formed_strain(elements, flat.flat_vertices, strained, d)
        stiffness = face_stiffness(elements, strained, d, least=-np.inf)
        solver = StiffnessSolver(elements, flat.flat_vertices)
        self._factors: Factors = solver.factorised(stiffness)

    def variances(self, parts: FloatArray) -> dict[Kind, FloatArray]:
        """Return (j,), mm2, by kind: variances, of first order, of sums of the offsets.

        Parameters
        ----------
        parts : (k, j) float
            By how much the offset at each rim vertex enters each sum.
        """
        flat = self._flat
        n, rim = len(flat.vertices), flat.rim
        loads = np.zeros((n, 2, parts.shape[1]))
        loads[rim] = self._line.loads(parts)
        moved = self._factors.solve(loads).reshape(2 * n, -1)
        errors = self._errors
        raised = self._forces_by(self._normals).T @ moved  # (n, j) by the height of each vertex
        chance = Scatter.of(flat.vertices, errors.surface_mm, errors.correlation_mm)
        found: dict[Kind, FloatArray] = {
            "points": chance.variance(raised),
            "creases": np.square(errors.unseen_mm @ raised),
        }
        if errors.wide_mm.any():
            wide = Scatter.of(flat.vertices, errors.wide_mm, errors.wide_correlation_mm)
            found["passes"] = wide.variance(raised)
        if errors.rim_mm.any() or errors.rim_shift_mm.any():
            outward = np.zeros_like(flat.vertices)
            outward[rim] = outward_along_surface(flat.vertices[rim], self._normals[rim])
            by_rim = (self._forces_by(outward).T @ moved)[rim]
            edge = Scatter.of(flat.vertices[rim], errors.rim_mm, errors.correlation_mm)
            found["edge"] = edge.variance(by_rim) + np.square(errors.rim_shift_mm @ by_rim)
        return found

    def shift(self) -> FloatArray:
        """Return (k,), mm: the mean outward offset that roughness of the surface adds."""
        faces, vertices = self._flat.faces, self._flat.vertices
        corners = vertices[faces]
        apart = np.linalg.norm(corners[:, :, None] - corners[:, None], axis=3)
        sd = self._errors.surface_mm[faces]
        together = correlation(apart, self._errors.correlation_mm)
        covariance = sd[:, :, None] * sd[:, None] * together
        strain = mean_strain_of_slopes(self._slopes, covariance)
        return self._offsets_by(self._forces(strain)[:, :, None])[:, 0]

    def rough_offsets(self) -> FloatArray:
        """Return (k, 64), mm: samples of the offset that roughness of the surface adds."""
        flat, errors = self._flat, self._errors
        samples = scattered(flat.vertices, errors.correlation_mm, SAMPLES)
        samples = samples * errors.surface_mm[:, None]
        forces = np.empty((len(flat.vertices), 2, SAMPLES))
        for index, sample in enumerate(samples.T):
            x, y = np.einsum("mac,mc->am", self._slopes, sample[flat.faces])
            forces[:, :, index] = self._forces(np.stack([x * x / 2.0, y * y / 2.0, x * y], axis=1))
        return self._offsets_by(forces)

    def _forces(self, strain: FloatArray) -> FloatArray:
        """Return the (n, 2) nodal forces that (m, 3) strains of the formed faces raise."""
        corners = np.matmul(self._by_strain, strain[:, :, None]).reshape(-1, 3, 2)
        nodal = [self._elements.nodal_sum(corners[:, :, axis].T) for axis in (0, 1)]
        return np.stack(nodal, axis=1)

    def _offsets_by(self, forces: FloatArray) -> FloatArray:
        """Return the (k, j) offsets with which the layout answers (n, 2, j) forces."""
        return self._line.small_offsets(-self._factors.solve(forces)[self._flat.rim])

    def _forces_by(self, directions: FloatArray) -> csr_array:
        """Return the (2n, n) derivative of nodal forces by movements of vertices in directions."""
        n, faces = len(self._flat.vertices), self._flat.faces
        strain = strain_by_movement(self._elements, self._flat.vertices, directions)
        values = np.matmul(self._by_strain, strain)  # (m, 6, 3)
        rows = (2 * faces[:, :, None] + np.arange(2)).reshape(-1, 6, 1)
        rows, columns = np.broadcast_arrays(rows, faces[:, None, :])
        entries = (values.ravel(), (rows.ravel(), columns.ravel()))
        return coo_array(entries, shape=(2 * n, n)).tocsr()


def outward_along_surface(rim: FloatArray, normals: FloatArray) -> FloatArray:
    """Return (k, 3): outward at each rim vertex, along the surface, as `NetLine.outward`.

    Parameters
    ----------
    rim : (k, 3) float, mm
        The loop, the surface on its left.
    normals : (k, 3) float
        Unit, of the surface there.
    """
    sides = np.roll(rim, -1, axis=0) - rim
    lengths = np.linalg.norm(sides, axis=1)
    across = np.roll(rim, -1, axis=0) - np.roll(rim, 1, axis=0)  # both sides at a vertex
    return np.asarray(np.cross(across, normals) / (lengths + np.roll(lengths, 1))[:, None])
