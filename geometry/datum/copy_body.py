"""A surface put together from parts of a scan: every face knows what it was made from.

Cutting it where a value changes sign, turning it over to the other hand, and cleaning up after.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.datum.centre_plane import CentrePlane
from geometry.mesh import TriMesh, face_areas, non_manifold_vertices, piece_of_face

_SCRAP_SHARE = 0.002
NEW_FACE = -1


@dataclass(frozen=True, eq=False)
class Body:
    """Faces on their way to a copied tank.

    Attributes
    ----------
    vertices : (n, 3) float, mm
    faces : (m, 3) int
    scan_face : (m,) int
        The face of the scan each was made from; `NEW_FACE` where none.
    copied, guessed : (m,) bool
        Made from the other hand; a guess.
    """

    vertices: FloatArray
    faces: IntArray
    scan_face: IntArray
    copied: BoolArray
    guessed: BoolArray

    @property
    def mesh(self) -> TriMesh:
        """Return the surface by itself."""
        return TriMesh(self.vertices, self.faces)

    def part(self, rows: IntArray | BoolArray) -> "Body":
        """Return some faces, with only the vertices they use."""
        used, index = np.unique(self.faces[rows], return_inverse=True)
        return Body(
            self.vertices[used],
            index.reshape(-1, 3),
            self.scan_face[rows],
            self.copied[rows],
            self.guessed[rows],
        )

    def moved(self, vertices: FloatArray) -> "Body":
        """Return the same faces with vertices elsewhere."""
        return Body(vertices, self.faces, self.scan_face, self.copied, self.guessed)

    def on_other_hand(self, plane: CentrePlane) -> "Body":
        """Return the mirror image, its faces facing out; what was copied is itself again."""
        return Body(
            plane.mirrored(self.vertices),
            self.faces[:, ::-1].copy(),
            self.scan_face,
            ~self.copied,
            self.guessed,
        )


def body_of(mesh: TriMesh, guessed: BoolArray | None) -> Body:
    """Return a scan as it is."""
    count = len(mesh.faces)
    return Body(
        mesh.vertices.copy(),
        mesh.faces.copy(),
        np.arange(count),
        np.zeros(count, bool),
        np.zeros(count, bool) if guessed is None else np.array(guessed, bool),
    )


def together(one: Body, other: Body) -> Body:
    """Return two bodies as one, not joined; the other's vertices follow."""
    return Body(
        np.concatenate([one.vertices, other.vertices]),
        np.concatenate([one.faces, other.faces + len(one.vertices)]),
        np.concatenate([one.scan_face, other.scan_face]),
        np.concatenate([one.copied, other.copied]),
        np.concatenate([one.guessed, other.guessed]),
    )


def cut_off_below(body: Body, values: FloatArray) -> tuple[Body, BoolArray]:
    """Return what lies where (n,) values are not negative, and (n',) which vertices lie at nought.

    Faces are cut where the value, taken as linear along edges, is nought; faces wholly at nought
    go.
    """
    sign = np.sign(values).astype(np.int64)
    corner = sign[body.faces]
    whole = (corner >= 0).all(axis=1) & (corner > 0).any(axis=1)
    mixed = np.flatnonzero((corner > 0).any(axis=1) & (corner < 0).any(axis=1))
    polygons, ends = _clipped(body.faces[mixed], sign, len(body.vertices))
    along = values[ends[:, 0]] / (values[ends[:, 0]] - values[ends[:, 1]])
    start, end = body.vertices[ends[:, 0]], body.vertices[ends[:, 1]]
    vertices = np.concatenate([body.vertices, start + along[:, None] * (end - start)])
    triangles, of_polygon = _triangles(polygons, vertices)
    rows = np.concatenate([np.flatnonzero(whole), mixed[of_polygon]])
    cut = Body(
        vertices,
        np.concatenate([body.faces[whole], triangles]),
        body.scan_face[rows],
        body.copied[rows],
        body.guessed[rows],
    )
    at_nought = np.concatenate([sign == 0, np.ones(len(ends), bool)])
    used = np.unique(cut.faces)
    return cut.part(np.arange(len(rows))), at_nought[used]


def _clipped(faces: IntArray, sign: IntArray, count: int) -> tuple[IntArray, IntArray]:
    """Return (k, 4) corners of what is left of faces, -1 for none, and the (j, 2) edges cut."""
    following = np.roll(faces, -1, axis=1)
    crosses = sign[faces] * sign[following] < 0
    ends = np.sort(np.stack([faces, following], axis=2)[crosses], axis=1)
    ends, number = np.unique(ends.reshape(-1, 2), axis=0, return_inverse=True)
    crossing = np.full(faces.shape, -1, np.int64)
    crossing[crosses] = count + number.ravel()
    stays = np.where(sign[faces] >= 0, faces, -1)
    walk = np.stack([stays, crossing], axis=2).reshape(-1, 6)
    order = np.argsort(walk < 0, axis=1, kind="stable")
    return np.take_along_axis(walk, order, axis=1)[:, :4], ends


def _triangles(polygons: IntArray, vertices: FloatArray) -> tuple[IntArray, IntArray]:
    """Return the triangles of three- and four-cornered polygons, and which each is of."""
    four = np.flatnonzero(polygons[:, 3] >= 0)
    three = np.flatnonzero(polygons[:, 3] < 0)
    a, b, c, d = polygons[four].T
    ac = np.linalg.norm(vertices[a] - vertices[c], axis=1)
    bd = np.linalg.norm(vertices[b] - vertices[d], axis=1)
    short = (ac <= bd)[:, None]
    first = np.where(short, np.stack([a, b, c], 1), np.stack([a, b, d], 1))
    second = np.where(short, np.stack([a, c, d], 1), np.stack([b, c, d], 1))
    return (
        np.concatenate([polygons[three, :3], first, second]),
        np.concatenate([three, four, four]),
    )


def rim_sides(faces: IntArray) -> IntArray:
    """Return the (k, 2) sides of faces that no other face shares, in their faces' direction."""
    sides = np.stack([faces, np.roll(faces, -1, axis=1)], axis=2).reshape(-1, 2)
    most = int(faces.max(initial=0)) + 1
    key = sides.min(axis=1) * most + sides.max(axis=1)
    _, number, times = np.unique(key, return_inverse=True, return_counts=True)
    return np.asarray(sides[times[number] == 1])


def without_scraps(body: Body) -> Body:
    """Return the body without loose pieces of next to no area."""
    piece = piece_of_face(body.faces)
    area = np.bincount(piece, face_areas(body.vertices, body.faces))
    stays = area >= _SCRAP_SHARE * area.sum()
    return body if stays.all() else body.part(stays[piece])


def unpinched(body: Body) -> Body:
    """Return the body with a vertex for each fan where fans touch at one."""
    pinched = non_manifold_vertices(body.faces, len(body.vertices))
    if not len(pinched):
        return body
    faces = body.faces.copy()
    added: list[FloatArray] = []
    for vertex in pinched.tolist():
        around = np.flatnonzero((body.faces == vertex).any(axis=1))
        for fan in _fans(body.faces[around], vertex)[1:]:
            rows = around[fan]
            faces[rows] = np.where(
                faces[rows] == vertex, len(body.vertices) + len(added), faces[rows]
            )
            added.append(body.vertices[vertex])
    vertices = np.concatenate([body.vertices, np.array(added).reshape(-1, 3)])
    return Body(vertices, faces, body.scan_face, body.copied, body.guessed)


def _fans(faces: IntArray, vertex: int) -> list[list[int]]:
    """Return which faces about a vertex hang together by edges that meet there."""
    left = {row: set(face) - {vertex} for row, face in enumerate(faces.tolist())}
    fans = []
    while left:
        row, open_to = left.popitem()
        fan, grown = [row], True
        while grown:
            joined = [other for other, ends in left.items() if ends & open_to]
            grown = bool(joined)
            for other in joined:
                open_to = open_to | left.pop(other)
            fan += joined
        fans.append(fan)
    return sorted(fans, key=lambda fan: -len(fan))
