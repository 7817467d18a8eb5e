"""Bringing a scan to millimetres."""

from geometry.mesh import TriMesh


def scaled(mesh: TriMesh, mm_per_unit: float) -> TriMesh:
    """Return the mesh with every length multiplied.

    >>> inch = TriMesh([[0, 0, 0], [1, 0, 0], [0, 1, 0]], [[0, 1, 2]])
    >>> float(scaled(inch, 25.4).vertices[1, 0])
    25.4
    """
    return TriMesh(mesh.vertices * mm_per_unit, mesh.faces)
