"""Simple bodies of a frame: round bars and blocks, as closed meshes."""

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.errors import GeometryError
from geometry.mesh import TriMesh

_ROUND_WITHIN_MM = 0.01
_STEP_MM = 6.0
_FEWEST_SIDES = 24
_MOST_RINGS = 400


class BodySizeError(GeometryError):
    """A body has no size one way or another.

    Attributes
    ----------
    what : "length" or "across" or "height"
    found_mm : float
    name : str
        What the maker calls it; "" where it has no name.
    """

    def __init__(self, what: str, found_mm: float, name: str = "") -> None:
        self.what, self.found_mm, self.name = what, found_mm, name
        super().__init__(f"{what} of {found_mm} mm")


def round_bar(start: FloatArray, end: FloatArray, across_mm: float) -> TriMesh:
    """Return a round bar with flat ends between two places.

    Its mesh goes to either side of the true round by the same, 0.01 mm at most; its faces are about
    6 mm long, so that what reaches through a skin is measured where it is.

    Raises
    ------
    BodySizeError

    >>> bar = round_bar(np.zeros(3), np.array([0.0, 0, 100]), 20.0)
    >>> bool(abs(np.hypot(*bar.vertices[:, :2].T).max() - 10.0) < 0.0101)
    True
    """
    along = _length(start, end)
    _check("across", across_mm)
    radius = across_mm / 2.0
    share = min(2.0 * _ROUND_WITHIN_MM / radius, 1.0)
    sides = int(np.ceil(np.pi / np.arccos(1.0 - share)))
    sides = max(_FEWEST_SIDES, sides, round(2.0 * np.pi * radius / _STEP_MM))
    bulge = radius * (1.0 - np.cos(np.pi / sides)) / 2.0
    angle = 2.0 * np.pi * np.arange(sides) / sides
    ring = (radius + bulge) * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    inner = [ring * share for share in np.linspace(1.0, 0.0, max(2, round(radius / _STEP_MM)) + 1)]
    rings = min(max(1, round(along / _STEP_MM)), _MOST_RINGS)
    heights = np.linspace(0.0, along, rings + 1)
    middle = [(ring, height) for height in heights]
    foot = [(each, 0.0) for each in inner[-2:0:-1]]
    head = [(each, along) for each in inner[1:-1]]
    return _turned_body([*foot, *middle, *head], along, *_frame(start, end))


def block(start: FloatArray, end: FloatArray, across_mm: float, height_mm: float) -> TriMesh:
    """Return a block between two places, level across: `height_mm` is its other way.

    Raises
    ------
    BodySizeError

    >>> rubber = block(np.zeros(3), np.array([40.0, 0, 0]), 20.0, 10.0)
    >>> np.ptp(rubber.vertices, axis=0).tolist()
    [40.0, 20.0, 10.0]
    """
    along = _length(start, end)
    _check("across", across_mm)
    _check("height", height_mm)
    counts = [max(1, round(size / _STEP_MM)) for size in (along, across_mm, height_mm)]
    sizes = (along, across_mm, height_mm)
    ways = [np.linspace(0.0, size, count + 1) for size, count in zip(sizes, counts, strict=True)]
    places, faces = _box_skin(ways)
    away, across, up = _frame(start, end)[1]
    middle = places - np.array([0.0, across_mm / 2.0, height_mm / 2.0])
    return TriMesh(start + middle @ np.stack([away, across, up]), faces)


def _length(start: FloatArray, end: FloatArray) -> float:
    length = float(np.linalg.norm(np.asarray(end) - np.asarray(start)))
    _check("length", length)
    return length


def _check(what: str, size_mm: float) -> None:
    if not (np.isfinite(size_mm) and size_mm > 1e-3):
        raise BodySizeError(what, size_mm)


def _frame(start: FloatArray, end: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the start and the ways along, across (level where it can be) and up of a body."""
    along = (end - start) / np.linalg.norm(end - start)
    level = np.array([0.0, 0.0, 1.0]) if abs(along[2]) < 0.999 else np.array([-1.0, 0.0, 0.0])
    across = np.cross(level, along)
    across /= np.linalg.norm(across)
    return start, np.stack([along, across, np.cross(along, across)])


def _turned_body(
    rings: list[tuple[FloatArray, float]], along: float, start: FloatArray, ways: FloatArray
) -> TriMesh:
    """Return rings (each with its height) joined, closed at the middles of both ends."""
    sides = len(rings[0][0])
    places = [np.column_stack([np.full(sides, height), ring]) for ring, height in rings]
    ends = np.array([[0.0, 0.0, 0.0], [along, 0.0, 0.0]])
    vertices = np.concatenate([*places, ends])
    here = np.arange(sides)
    after = np.roll(here, -1)
    faces: list[IntArray] = []
    for number in range(len(rings) - 1):
        low, high = number * sides, (number + 1) * sides
        faces += [
            np.stack([low + here, low + after, high + after], axis=1),
            np.stack([low + here, high + after, high + here], axis=1),
        ]
    last = (len(rings) - 1) * sides
    faces.append(np.stack([after, here, np.full(sides, len(vertices) - 2)], axis=1))
    faces.append(np.stack([last + here, last + after, np.full(sides, len(vertices) - 1)], axis=1))
    return TriMesh(start + vertices @ ways, np.concatenate(faces))


def _box_skin(ways: list[FloatArray]) -> tuple[FloatArray, IntArray]:
    """Return the skin of a box cut along the values of each way, facing out."""
    counts = [len(way) for way in ways]
    number = np.arange(np.prod(counts)).reshape(counts)
    grid = np.stack(np.meshgrid(*ways, indexing="ij"), axis=-1).reshape(-1, 3)
    faces = []
    for axis in range(3):
        for end, flips in ((0, True), (-1, False)):
            sheet = np.take(number, end, axis=axis)
            sheet = sheet.T if flips != (axis == 1) else sheet
            a, b, c, d = sheet[:-1, :-1], sheet[1:, :-1], sheet[1:, 1:], sheet[:-1, 1:]
            faces += [np.stack([a, b, c], axis=-1), np.stack([a, c, d], axis=-1)]
    flat = np.concatenate([each.reshape(-1, 3) for each in faces])
    used, index = np.unique(flat, return_inverse=True)
    return grid[used], index.reshape(-1, 3)
