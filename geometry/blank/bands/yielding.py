"""How the forces in a layout change when the formed panel itself is a little different.

What a face pulls with depends on its formed shape only through the strain of that shape in its own
plane, three numbers a face; everything here goes through them.
"""

import numpy as np

from geometry.arrays import FloatArray
from geometry.blank.elements import Elements, Strained, face_forces, face_stiffness
from geometry.blank.stretch import rest_frames
from geometry.blank.work import Density


def forces_by_formed_strain(
    elements: Elements, flat_vertices: FloatArray, strained: Strained, d: Density
) -> FloatArray:
    """Return (m, 6, 3), mm: derivatives of corner forces by small strains of the formed faces.

    Parameters
    ----------
    elements : Elements
    flat_vertices : (n, 2) float, mm
    strained : Strained
        There.
    d : Density
        There.

    Returns
    -------
    (m, 6, 3) float
        Force by corner and axis, as in `FaceStiffness.blocks`; by the formed face's xx, yy and
        shear strain (twice xy) in its own plane.

    Own derivation: the force is A P g, with A the area, P the work's derivative by the map J from
    formed plane to blank, g a corner function's gradient. A formed strain L turns J into J - J L,
    g into g - L g and A into A (1 + trace L); P changes by C : (-J L), of which the face's
    stiffness A C g holds what is needed. Being isotropic, the work does not notice a turn of the
    formed face: the symmetric part says it all.
    """
    m = len(elements.faces)
    j = elements.maps(flat_vertices).T.reshape(m, 2, 2)
    forces = face_forces(elements, strained, d).transpose(2, 1, 0)  # (m, corner, axis)
    edges = np.linalg.inv(elements.gradients[:, 1:]).transpose(0, 2, 1)  # rest edges, as rows
    pulls = forces[:, 1:].transpose(0, 2, 1) @ edges  # A P
    blocks = face_stiffness(elements, strained, d, least=-np.inf).blocks
    answers = blocks.reshape(m, 3, 2, 6)[:, 1:].transpose(0, 3, 2, 1) @ edges[:, None]  # A C:Y
    turned = np.matmul(j.transpose(0, 2, 1)[:, None], answers)  # (m, 6, 2, 2)
    slid = np.einsum("mci,maj->mcaij", elements.gradients, pulls).reshape(m, 6, 2, 2)
    whole = -(turned + slid)
    by_strain = np.stack(
        [
            whole[..., 0, 0] + forces.reshape(m, 6),
            whole[..., 1, 1] + forces.reshape(m, 6),
            (whole[..., 0, 1] + whole[..., 1, 0]) / 2.0,
        ],
        axis=-1,
    )
    return np.asarray(by_strain)


def strain_by_movement(
    elements: Elements, vertices: FloatArray, directions: FloatArray
) -> FloatArray:
    """Return (m, 3, 3), 1/mm: strains of the formed faces by movements of their corners.

    Parameters
    ----------
    elements : Elements
    vertices : (n, 3) float, mm
        On the formed panel.
    directions : (n, 3) float
        Which way each vertex moves, by 1 mm a unit.

    Returns
    -------
    (m, 3, 3) float
        Strain (xx, yy, shear) in the face's own plane, by corner.
    """
    axes = face_axes(vertices, elements)
    u = np.einsum("mci,mai->mca", directions[elements.faces], axes)  # (m, corner, axis)
    g = elements.gradients
    shear = u[..., 0] * g[..., 1] + u[..., 1] * g[..., 0]
    return np.stack([u[..., 0] * g[..., 0], u[..., 1] * g[..., 1], shear], axis=1)


def slopes_of_faces(elements: Elements, vertices: FloatArray, normals: FloatArray) -> FloatArray:
    """Return (m, 2, 3), 1/mm: slopes of the formed faces by movements of corners along normals.

    Parameters
    ----------
    elements : Elements
    vertices : (n, 3) float, mm
    normals : (n, 3) float
        Unit.

    Returns
    -------
    (m, 2, 3) float
        Rise along x and y of the face's own plane, by corner.
    """
    axes = face_axes(vertices, elements)
    across = np.cross(axes[:, 0], axes[:, 1])
    rise = np.einsum("mci,mi->mc", normals[elements.faces], across)
    return np.asarray((elements.gradients * rise[:, :, None]).transpose(0, 2, 1))


def mean_strain_of_slopes(slopes: FloatArray, covariance: FloatArray) -> FloatArray:
    """Return (m, 3): mean strain (xx, yy, shear) by which scatter of the corners lengthens faces.

    Parameters
    ----------
    slopes : (m, 2, 3) float, 1/mm
        By corner, as `slopes_of_faces` gives them.
    covariance : (m, 3, 3) float, mm2
        Of the scatter of each face's corners.

    A slope p across the face lengthens what lies along it by p^2 / 2: the mean is half the mean
    product of the slopes. Source: own derivation; on equilateral triangles of side h, white
    scatter s gives s^2 / h^2 in every direction and so 2 s^2 / h^2 of area.
    """
    products = slopes @ covariance @ slopes.transpose(0, 2, 1)
    return np.stack([products[:, 0, 0] / 2.0, products[:, 1, 1] / 2.0, products[:, 0, 1]], axis=1)


def face_axes(vertices: FloatArray, elements: Elements) -> FloatArray:
    """Return (m, 2, 3): the unit directions that are x and y in each face's own plane."""
    corners = vertices[elements.faces]
    edges = np.stack([corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]], axis=1)
    frames = rest_frames(vertices, elements.faces)  # edges as columns in the plane
    return np.asarray(np.linalg.solve(frames.transpose(0, 2, 1), edges))
