"""Three ways to make a panel, by how thick its metal ends: all stretched, equal area, tucked.

Metal keeps its volume, so the mean thickness of a finished panel is the sheet's times blank area
over panel area. How large a blank the maker starts from is theirs to choose between two ends, and
the blank of least work lies between.
"""

from dataclasses import dataclass

import numpy as np
import shapely

from geometry.arrays import BoolArray, FloatArray
from geometry.blank.flat_panel import FlatPanel
from geometry.mesh import NearestPoint, PathFinder, SurfacePath, SurfacePoint, TriMesh
from geometry.polyline import line_length
from geometry.progress import Report, silent

_MOST_PATHS = 180
_CLOSED_MM = 1e-9
_ROUNDS = 40


@dataclass(frozen=True)
class ThicknessCase:
    """One way to make a panel.

    Attributes
    ----------
    name : str
        "all stretched", "equal area" or "none stretched".
    blank_area : float, mm2
    mean_ratio : float
        Mean thickness of the finished panel over the sheet's.
    limit : float
        What the ratio cannot pass, whatever the blank's outline: at most this where all is
        stretched, at least this where nothing is.
    """

    name: str
    blank_area: float
    mean_ratio: float
    limit: float

    def mean_mm(self, sheet_mm: float) -> float:
        """Return the mean thickness of the finished panel.

        >>> round(ThicknessCase("all stretched", 113.1, 0.8, 0.8).mean_mm(0.063), 4)
        0.0504
        """
        return self.mean_ratio * sheet_mm


@dataclass(frozen=True)
class ThicknessCases:
    """The three cases of one panel, thinnest first."""

    all_stretched: ThicknessCase
    equal_area: ThicknessCase
    none_stretched: ThicknessCase


def thickness_cases(flat: FlatPanel, *, report: Report = silent) -> ThicknessCases:
    """Return how thick a panel ends, on average, by how it is made.

    *Equal area* is exact, by what it means. The two ends come from two outlines:

    - *rim kept*: every length of the rim as it is on the panel, its corners turning as on the
      blank and closed with the least further turn;
    - *middle kept*: the shortest lines from the panel's middle to its rim, laid out straight with
      their lengths and the angles between them.

    On a crowned panel the first is all stretched and the second, where the edge is tucked, none;
    on a saddle they change places, so the smaller is taken as all stretched, the larger as none.
    For a round cap both are exact. For other panels they are estimates, the second the
    poorer the more of its lines go round the rim, as in a C; a panel that only bends has all three
    alike. `limit` is a bound for
    any outline: a blank that is only stretched has a rim no longer than the panel's, so no more
    area than a circle of that length, nor than the panel; one that is never stretched has no less
    area than the panel. Own derivation.

    Parameters
    ----------
    flat : FlatPanel
        Any sound blank of the panel: its net gives the turns of the rim, its middle the middle.
    report : Report
    """
    net = flat.flat_vertices[flat.rim]
    formed = flat.formed_area
    metal = flat.blank_area / _area(net)  # less than 1 where holes are open
    report(0.0, "how thick it ends")
    rim_kept = metal * _area(_with_lengths(net, _sides(flat.vertices[flat.rim])))
    middle_kept = metal * _area_from_middle(flat, net, report)
    smaller = min(rim_kept, middle_kept, formed)
    larger = max(rim_kept, middle_kept, formed)
    round_area = metal * flat.rim_formed**2 / (4.0 * np.pi)
    report(1.0, "how thick it ends")
    return ThicknessCases(
        ThicknessCase("all stretched", smaller, smaller / formed, min(round_area / formed, 1.0)),
        ThicknessCase("equal area", formed, 1.0, 1.0),
        ThicknessCase("none stretched", larger, larger / formed, 1.0),
    )


def _area(outline: FloatArray) -> float:
    """Return the area inside a (k, 2) outline, first point not repeated; above 0 anticlockwise."""
    x, y = outline.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2.0


def _sides(outline: FloatArray) -> FloatArray:
    return np.asarray(np.linalg.norm(np.roll(outline, -1, axis=0) - outline, axis=1))


def _with_lengths(outline: FloatArray, lengths: FloatArray) -> FloatArray:
    """Return the closed outline with these side lengths whose sides turn least from the given.

    Least squares of the turns by length, by Newton's steps on the gap.
    """
    sides = np.roll(outline, -1, axis=0) - outline
    angle = np.arctan2(sides[:, 1], sides[:, 0])
    for _ in range(_ROUNDS):
        way = np.stack([np.cos(angle), np.sin(angle)], axis=1)
        gap = lengths @ way
        if np.linalg.norm(gap) < _CLOSED_MM:
            break
        across = np.stack([-way[:, 1], way[:, 0]], axis=1)
        pull = np.linalg.solve((across * lengths[:, None]).T @ across, -gap)
        angle += np.clip(across @ pull, -0.3, 0.3)
    steps = lengths[:, None] * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    return np.cumsum(steps, axis=0)


def _area_from_middle(flat: FlatPanel, net: FloatArray, report: Report) -> float:
    """Return the area of the blank on which lines from the middle keep lengths and angles."""
    middle = _middle(flat, net)
    finder = PathFinder(TriMesh(flat.vertices, flat.faces))
    step = -(-len(flat.rim) // _MOST_PATHS)
    chosen = np.arange(0, len(flat.rim), step)
    any_face = np.zeros(len(flat.vertices), np.int64)
    any_face[flat.faces] = np.arange(len(flat.faces))[:, None]
    corners = flat.faces[middle.face]
    frame = _frame(flat.vertices[corners])
    flat_corners = np.column_stack([flat.flat_vertices[corners], np.zeros(3)])
    flat_frame = _frame(flat_corners)[:, :2]
    flat_middle = middle.barycentric @ flat.flat_vertices[corners]
    on_rim = np.isin(np.arange(len(flat.vertices)), flat.rim)
    place = np.empty((len(chosen), 2))
    for index, vertex in enumerate(flat.rim[chosen].tolist()):
        report(index / len(chosen), "how thick it ends")
        face = int(any_face[vertex])
        corner = (flat.faces[face] == vertex).astype(np.float64)
        path = finder.path(middle, SurfacePoint(face, corner))
        if _bends_at(path, on_rim):
            longer = path.length / _flat_length(flat, path, flat_middle)
            place[index] = longer * (flat_frame @ (flat.flat_vertices[vertex] - flat_middle))
        else:
            way = frame @ (path.points[1] - path.points[0])
            place[index] = path.length * way / np.linalg.norm(way)
    return _area(place) * _area(net) / _area(net[chosen])


def _bends_at(path: SurfacePath, on_rim: BoolArray) -> bool:
    """Return whether a path touches the rim before its end, so that it may not be straight."""
    between = path.vertex[1:-1]
    return bool(on_rim[between[between >= 0]].any())


def _flat_length(flat: FlatPanel, path: SurfacePath, start: FloatArray) -> float:
    """Return the length of a path carried to the blank, from a given place on it."""
    first, second = flat.flat_vertices[path.edge[:, 0]], flat.flat_vertices[path.edge[:, 1]]
    places = first + path.along[:, None] * (second - first)
    at_vertex = path.vertex >= 0
    places[at_vertex] = flat.flat_vertices[path.vertex[at_vertex]]
    places[0] = start
    return line_length(places)


def _middle(flat: FlatPanel, net: FloatArray) -> SurfacePoint:
    """Return the panel's point whose place on the blank is its balance point, or well inside."""
    shape = shapely.Polygon(net).buffer(0.0)
    centre = shape.centroid if shape.contains(shape.centroid) else shape.representative_point()
    raised = np.column_stack([flat.flat_vertices, np.zeros(len(flat.flat_vertices))])
    found = NearestPoint(TriMesh(raised, flat.faces)).find(np.array([[centre.x, centre.y, 0.0]]))
    inside = np.maximum(found.barycentric[0], 0.05)  # within the face: angles are then its own
    return SurfacePoint(int(found.faces[0]), inside / inside.sum())


def _frame(corners: FloatArray) -> FloatArray:
    """Return (2, 3): two unit directions in a face's plane, turning as its corners do."""
    along = corners[1] - corners[0]
    along = along / np.linalg.norm(along)
    square = np.cross(np.cross(along, corners[2] - corners[0]), along)
    return np.stack([along, square / np.linalg.norm(square)])
