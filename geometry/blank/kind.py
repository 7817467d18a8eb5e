"""What kind of surface a panel is, and whether it can be laid flat in one piece."""

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.blank.handle_loop import loop_round_a_handle
from geometry.errors import GeometryError
from geometry.mesh import (
    EdgeTable,
    NotOrientableError,
    TriMesh,
    angles_around,
    check_manifold,
    edge_table,
    face_areas,
    handles,
    loop_length,
    piece_of_face,
    rims,
)

LEAST_HEIGHT = 1e-10
"""Height of a face over its longest side below which it has no area to speak of."""

LEAST_AREA = 1e-14
"""Area of a face over the largest face's below which it has none to speak of."""


class NotADiskError(GeometryError):
    """The surface cannot be laid flat in one piece as it stands.

    Attributes
    ----------
    pieces, rims, handles : int
        How many separate pieces, open rims and handles (tunnels through it) it has; a panel that
        lays out has 1, 1 and 0.
    rim_lengths : tuple of float, mm
        Longest first.
    rim_places : (rims, 3) float, mm
        A vertex of each rim, in the same order.
    place : (3,) float, mm
        Where to look: on the largest piece too many, round a tunnel, on the longest rim too many,
        or anywhere on a closed surface; not-a-number where there are no faces.
    """

    def __init__(
        self,
        pieces: int,
        rim_lengths: tuple[float, ...],
        handle_count: int,
        *,
        rim_places: FloatArray | None = None,
        place: FloatArray | None = None,
    ) -> None:
        self.pieces, self.rims, self.handles = pieces, len(rim_lengths), handle_count
        self.rim_lengths = rim_lengths
        nowhere = np.full((self.rims, 3), np.nan)
        self.rim_places = nowhere if rim_places is None else rim_places
        self.place = np.full(3, np.nan) if place is None else place
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
    """Faces without area, or as good as without, which no layout can keep.

    Attributes
    ----------
    faces : (k,) int
    places : (k, 3) float, mm
        The middles of them.
    """

    def __init__(self, faces: IntArray, places: FloatArray | None = None) -> None:
        self.faces = faces
        self.places = np.full((len(faces), 3), np.nan) if places is None else places
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
    NotOrientableError
        Neighbouring faces disagree about which side is out.
    NoAreaError
        Faces are degenerate.
    """
    if not len(mesh.faces):
        raise NotADiskError(0, (), 0)
    table = edge_table(mesh.faces)
    check_manifold(mesh, table)
    _check_one_side_out(mesh, table)
    flat = faces_without_area(mesh)
    if len(flat):
        raise NoAreaError(flat, mesh.vertices[mesh.faces[flat]].mean(axis=1))
    loops = rims(mesh, table)
    pieces = int(piece_of_face(mesh.faces, table).max()) + 1
    through = handles(mesh, table) if pieces == 1 else 0
    holes = loops[1:] if open_holes and all(is_opening(mesh, rim) for rim in loops[1:]) else ()
    if pieces != 1 or len(loops) - len(holes) != 1 or through:
        extra = loops[1] if len(loops) - len(holes) > 1 else None
        raise NotADiskError(
            pieces,
            tuple(loop_length(mesh.vertices, loop) for loop in loops),
            through,
            rim_places=mesh.vertices[[loop[0] for loop in loops]].reshape(-1, 3),
            place=_place_to_look(mesh, pieces, through, extra),
        )
    return loops[0]


def _check_one_side_out(mesh: TriMesh, table: EdgeTable) -> None:
    sense = np.where(table.side_runs_forward, 1.0, -1.0).ravel()
    total = np.bincount(table.edge_of_side.ravel(), sense, len(table.edges))
    clashing = table.edges[(table.face_count == 2) & (total != 0.0)]
    if len(clashing):
        raise NotOrientableError(clashing, mesh.vertices[clashing].mean(axis=1))


def faces_without_area(mesh: TriMesh) -> IntArray:
    """Return the faces so thin that rounding alone would turn them over.

    Their height is below `LEAST_HEIGHT` of their longest side, or their area next to nothing
    beside the largest's.
    """
    areas = face_areas(mesh.vertices, mesh.faces)
    corner = mesh.vertices[mesh.faces]
    longest = np.linalg.norm(corner - np.roll(corner, -1, axis=1), axis=2).max(axis=1)
    thin = 2.0 * areas <= LEAST_HEIGHT * longest**2
    return np.flatnonzero(thin | (areas <= LEAST_AREA * areas.max()))


def _place_to_look(
    mesh: TriMesh, pieces: int, handle_count: int, extra_rim: IntArray | None
) -> FloatArray:
    if pieces > 1:
        piece = piece_of_face(mesh.faces)
        second = np.argsort(np.bincount(piece), kind="stable")[-2]
        corners = mesh.faces[int(np.flatnonzero(piece == second)[0])]
    elif handle_count:
        corners = loop_round_a_handle(mesh)
    else:
        corners = mesh.faces[0] if extra_rim is None else extra_rim[:1]
    place: FloatArray = mesh.vertices[corners].mean(axis=0)
    return place


def rim_turning(mesh: TriMesh, rim: IntArray) -> float:
    """Return how far a rim turns towards the surface's left in all, radians.

    2 pi for the rim of a flat disk, -2 pi for a hole in a flat sheet, 0 for the end of a tube: it
    tells a hole from the end of a band. Source: Gauss-Bonnet; see docs/glossary.md, turning.
    """
    return float((np.pi - angles_around(mesh.vertices, mesh.faces)[rim]).sum())


def is_opening(mesh: TriMesh, rim: IntArray) -> bool:
    """Return whether a rim is a hole in the skin, not the end of a tube: it turns back by pi.

    The end of a cone frustum counts as a hole from 30 degrees of slope to the plane of its rim
    downwards; a hole in a sheet turns by nearly -2 pi however rough its edge.
    """
    return rim_turning(mesh, rim) < -np.pi
