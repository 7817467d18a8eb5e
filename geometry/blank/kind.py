"""What kind of surface a panel is, and whether it can be laid flat in one piece."""

import numpy as np

from geometry.arrays import IntArray
from geometry.errors import GeometryError
from geometry.mesh import (
    TriMesh,
    check_manifold,
    corner_angles,
    edge_table,
    face_areas,
    handles,
    loop_length,
    piece_of_face,
    rims,
)


class NotADiskError(GeometryError):
    """The surface cannot be laid flat in one piece as it stands.

    Attributes
    ----------
    pieces, rims, handles : int
        How many separate pieces, open rims and handles (tunnels through it) it has; a panel that
        lays out has 1, 1 and 0.
    rim_lengths : tuple of float, mm
        Longest first.
    """

    def __init__(self, pieces: int, rim_lengths: tuple[float, ...], handle_count: int) -> None:
        self.pieces, self.rims, self.handles = pieces, len(rim_lengths), handle_count
        self.rim_lengths = rim_lengths
        super().__init__(f"{pieces} pieces, {self.rims} rims, {handle_count} handles")

    @property
    def missing_seam(self) -> str:
        """Return which seam is missing, in the shaper's words."""
        if self.pieces != 1:
            return "it is not one piece: keep one, or join them"
        if self.rims == 0:
            return "it is closed all round: it needs a seam that opens it"
        if self.handles:
            return "a tunnel runs through it: it needs a seam along the tunnel and one round it"
        return "it closes on itself like a tube: it needs a seam from one rim to the other"


class NoAreaError(GeometryError):
    """Faces without area, which no layout can keep.

    Attributes
    ----------
    faces : (k,) int
    """

    def __init__(self, faces: IntArray) -> None:
        self.faces = faces
        super().__init__(f"{len(faces)} faces have no area")


def check_disk(mesh: TriMesh, *, open_holes: bool = False) -> IntArray:
    """Return the rim of a mesh that is one disk.

    Parameters
    ----------
    mesh : TriMesh
    open_holes : bool
        Rims besides the longest that are holes in the skin (`is_opening`) are let pass.

    Raises
    ------
    NotADiskError
        Not one piece, closed, a tube, or with a handle.
    NonManifoldError
        Faces meet where no sheet can.
    NoAreaError
        Faces are degenerate.
    """
    if not len(mesh.faces):
        raise NotADiskError(0, (), 0)
    table = edge_table(mesh.faces)
    check_manifold(mesh, table)
    areas = face_areas(mesh.vertices, mesh.faces)
    flat = np.flatnonzero(areas <= 1e-14 * areas.max())
    if len(flat):
        raise NoAreaError(flat)
    loops = rims(mesh, table)
    pieces = int(piece_of_face(mesh.faces, table).max()) + 1
    through = handles(mesh, table) if pieces == 1 else 0
    holes = loops[1:] if open_holes and all(is_opening(mesh, rim) for rim in loops[1:]) else ()
    if pieces != 1 or len(loops) - len(holes) != 1 or through:
        lengths = tuple(loop_length(mesh.vertices, loop) for loop in loops)
        raise NotADiskError(pieces, lengths, through)
    return loops[0]


def rim_turning(mesh: TriMesh, rim: IntArray) -> float:
    """Return how far a rim turns towards the surface's left in all, radians.

    2 pi for the rim of a flat disk, -2 pi for a hole in a flat sheet, 0 for the end of a tube: it
    tells a hole from the end of a band. Source: Gauss-Bonnet; see docs/glossary.md, turning.
    """
    angles = corner_angles(mesh.vertices, mesh.faces)
    at_vertex = np.bincount(
        mesh.faces.ravel(), weights=angles.ravel(), minlength=len(mesh.vertices)
    )
    return float((np.pi - at_vertex[rim]).sum())


def is_opening(mesh: TriMesh, rim: IntArray) -> bool:
    """Return whether a rim is a hole in the skin, not the end of a tube: it turns back by pi.

    The end of a cone frustum counts as a hole from 30 degrees of slope to the plane of its rim
    downwards; a hole in a sheet turns by nearly -2 pi however rough its edge.
    """
    return rim_turning(mesh, rim) < -np.pi
