"""Generated tanks with their truth: the sample's formula, other line radii, dents, noise, poses.

The tank's own frame is the sample's, mm: x to the front, y to the left, z up; the centre plane is
y = 0. Nothing here is stored: every body is a formula, its noise comes from a seed.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree
from scipy.spatial.transform import Rotation

from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import TriMesh, part_of_mesh, piece_of_face
from sample_data.generate import shape
from sample_data.generate.sampling import MIDDLE, STRETCH
from sample_data.generate.seams import side_line_corner
from sample_data.generate.shape import Sheet

_SKIN_AREA = 480_000.0
"""Of the whole skin, mm2, roughly: tells how many cells a spacing needs."""


@dataclass(frozen=True)
class Dent:
    """A smooth dent, or a bump where the depth is below nothing.

    Attributes
    ----------
    station, height : float, mm
        Of its middle, along x and z.
    side : float
        +1 left, -1 right.
    depth, radius : float, mm
    """

    station: float = 318.0
    height: float = 112.0
    side: float = -1.0
    depth: float = 2.0
    radius: float = 30.0

    def centre(self) -> FloatArray:
        """Return its middle on the undented skin."""
        x, z = np.array([self.station]), np.array([self.height])
        start = np.stack([x, self.side * shape.flank_half_width(x, z), z], axis=1)
        for _ in range(12):
            sheet = shape.undented(start)
            start = start - sheet.distance[:, None] * sheet.normal
        return np.asarray(start[0])

    def depth_at(self, points: FloatArray) -> FloatArray:
        """Return how far it sinks the skin at (k, 3) places."""
        away2 = np.sum((points - self.centre()) ** 2, axis=1) / self.radius**2
        return np.asarray(self.depth * np.maximum(0.0, 1.0 - away2) ** 3)


@dataclass(frozen=True, eq=False)
class Tank:
    """A tank as scanned, and what is true about it.

    Attributes
    ----------
    mesh : TriMesh
        In the file's axes, mm.
    turn : Rotation
    shift : (3,) float
        Tank frame to file: turn, then shift.
    line_radius_mm : float
        Of the side line's crisp stretch.
    dents : tuple of Dent
    """

    mesh: TriMesh
    turn: Rotation
    shift: FloatArray
    line_radius_mm: float
    dents: tuple[Dent, ...]

    def to_file(self, points: FloatArray) -> FloatArray:
        """Return places of the tank frame in the file."""
        return np.asarray(self.turn.apply(np.array(points)) + self.shift)

    def from_file(self, points: FloatArray) -> FloatArray:
        """Return places of the file in the tank frame."""
        return np.asarray(self.turn.inv().apply(np.array(points - self.shift)))

    @property
    def left(self) -> FloatArray:
        """The centre plane's normal in the file, towards the rider's left."""
        return np.asarray(self.turn.apply([0.0, 1.0, 0.0]))

    @property
    def front(self) -> FloatArray:
        """Towards the headstock, in the file."""
        return np.asarray(self.turn.apply([1.0, 0.0, 0.0]))

    @property
    def up(self) -> FloatArray:
        """Up, in the file."""
        return np.asarray(self.turn.apply([0.0, 0.0, 1.0]))

    def plane_errors(self, point: FloatArray, normal: FloatArray) -> tuple[float, float]:
        """Return how wrong a centre plane is: its turn in degrees, its offset at the middle, mm."""
        unit = normal / np.linalg.norm(normal)
        sine = float(np.linalg.norm(np.cross(unit, self.left)))
        middle = self.to_file(MIDDLE[None])[0]
        return float(np.degrees(np.arcsin(min(sine, 1.0)))), abs(float((middle - point) @ unit))

    def side_line(self, side: float, count: int = 400) -> FloatArray:
        """Return the tip of the side line's crisp stretch, rear to front, in the file."""
        angle = np.linspace(0.995 * np.pi, 0.05 * np.pi, 6 * count)
        line = side_line_corner(angle)
        for _ in range(12):
            sheet = _skin(line, self.line_radius_mm, ())
            line = line - sheet.distance[:, None] * sheet.normal
        crisp = (line[:, 0] >= shape.LINE_CRISP_FROM) & (line[:, 0] <= shape.LINE_CRISP_TO)
        line = line[crisp]
        line = line[np.linspace(0, len(line) - 1, count).round().astype(int)]
        return self.to_file(line * np.array([1.0, np.sign(side), 1.0]))

    def side_line_opening(self, side: float, count: int = 400) -> FloatArray:
        """Return the angle between top and wall along `side_line`, rad; pi would be flat."""
        tip = self.from_file(self.side_line(side, count))
        top, wall = shape.top_sheet(tip).normal, shape.wall_sheet(tip).normal
        return np.asarray(np.pi - np.arccos(np.einsum("ij,ij->i", top, wall)))


def tank(
    spacing_mm: float,
    *,
    noise_mm: float = 0.0,
    seed: int = 1,
    line_radius_mm: float = shape.LINE_RADIUS,
    dents: Sequence[Dent] = (),
    missing: float = 0.0,
    missing_side: float = 0.0,
    turned: bool = False,
    with_openings: bool = True,
) -> Tank:
    """Return a tank scanned evenly.

    Parameters
    ----------
    spacing_mm : float
        Roughly the edge length: 350,000 triangles at about 1.6, 2 million at about 0.67.
    noise_mm : float
        White, along the normal, one standard deviation.
    seed : int
        Of noise, missing places and pose.
    line_radius_mm : float
        Tip radius of the side line between stations 95 and 425.
    dents : sequence of Dent
    missing : float
        Share of the metal not scanned, in round places 15 to 45 mm in radius.
    missing_side : float
        +1 or -1: only there; 0: anywhere.
    turned : bool
        In any pose instead of the tank's own frame.
    with_openings : bool
        Filler hole and underside are open.
    """
    rng = np.random.default_rng(seed)
    rays, faces = _grid(rng, spacing_mm)
    vertices = _seen(rays, line_radius_mm, dents)
    stays = shape.kept(vertices) if with_openings else np.ones(len(vertices), bool)
    stays &= ~_missing(rng, vertices, stays, missing, missing_side)
    normals = _skin(vertices, line_radius_mm, dents).normal
    vertices = vertices + (noise_mm * rng.standard_normal(len(vertices)))[:, None] * normals
    mesh = _largest_piece(TriMesh(vertices, faces), stays)
    turn = Rotation.random(random_state=seed) if turned else Rotation.identity()
    shift = rng.uniform(-500.0, 500.0, 3) if turned else np.zeros(3)
    placed = TriMesh(turn.apply(mesh.vertices.copy()) + shift, mesh.faces)
    return Tank(placed, turn, shift, line_radius_mm, tuple(dents))


def _skin(points: FloatArray, radius_mm: float, dents: Sequence[Dent]) -> Sheet:
    """Return the sample's skin with another side line and other dents."""
    radius = shape.line_radius(points[:, 0]) + (radius_mm - shape.LINE_RADIUS) * _crisp(points)
    body = shape._joined(shape.top_sheet(points), shape.wall_sheet(points), radius)
    body = shape._joined(body, shape._seat_sheet(points), shape.SEAT_EDGE_RADIUS)
    body = shape._joined(body, shape._bottom_sheet(points), shape.CURL_RADIUS)
    sunk = sum((dent.depth_at(points) for dent in dents), np.zeros(len(points)))
    return Sheet(body.distance + sunk, body.normal)


def _crisp(points: FloatArray) -> FloatArray:
    """Return 1 where the side line has its crisp radius, falling to 0 where it has melted."""
    x = points[:, 0]
    rear = np.clip((shape.LINE_CRISP_FROM - x) / 70.0, 0.0, 1.0)
    front = np.clip((x - shape.LINE_CRISP_TO) / 95.0, 0.0, 1.0)
    return np.asarray((1.0 - rear) * (1.0 - front))


def _grid(rng: np.random.Generator, spacing_mm: float) -> tuple[FloatArray, IntArray]:
    """Return (n, 3) rays from the tank's middle, one for each place of a gridded cube, shaken."""
    cells = max(8, round(np.sqrt(_SKIN_AREA / 6.0) / spacing_mm))
    ticks = np.arange(cells + 1)
    a, b = (axis.ravel() for axis in np.meshgrid(ticks, ticks, indexing="ij"))
    corner = np.arange((cells + 1) ** 2).reshape(cells + 1, cells + 1)
    quads = [
        q.ravel() for q in (corner[:-1, :-1], corner[1:, :-1], corner[1:, 1:], corner[:-1, 1:])
    ]
    halves = np.concatenate([np.stack(quads)[[0, 1, 2]].T, np.stack(quads)[[0, 2, 3]].T])
    places: list[IntArray] = []
    faces: list[IntArray] = []
    for axis in range(3):
        for high in (True, False):
            place = np.empty((len(a), 3), np.int64)
            place[:, axis] = cells if high else 0
            place[:, (axis + 1) % 3], place[:, (axis + 2) % 3] = a, b
            faces.append((halves if high else halves[:, ::-1]) + len(places) * len(a))
            places.append(place)
    every = np.concatenate(places)
    key = (every[:, 0] * (cells + 1) + every[:, 1]) * (cells + 1) + every[:, 2]
    _, first, number = np.unique(key, return_index=True, return_inverse=True)
    even = every[first] * (2.0 / cells) - 1.0 + rng.uniform(-0.5, 0.5, (len(first), 3)) / cells
    rays = np.tan(even * np.pi / 4.0) * STRETCH
    return rays / np.linalg.norm(rays, axis=1)[:, None], number[np.concatenate(faces)]


def _seen(rays: FloatArray, radius_mm: float, dents: Sequence[Dent]) -> FloatArray:
    """Return where (n, 3) unit rays from the middle meet the skin."""
    coarse, _ = _grid(np.random.default_rng(0), 12.0)
    near, far = np.zeros(len(coarse)), np.full(len(coarse), 320.0)
    for _ in range(16):
        half = (near + far) / 2.0
        inside = _skin(MIDDLE + half[:, None] * coarse, radius_mm, dents).distance < 0.0
        near, far = np.where(inside, half, near), np.where(inside, far, half)
    reach = near[cKDTree(coarse).query(rays)[1]]
    for _ in range(8):
        sheet = _skin(MIDDLE + reach[:, None] * rays, radius_mm, dents)
        slope = np.maximum(np.einsum("ij,ij->i", sheet.normal, rays), 0.2)
        reach = reach - np.clip(sheet.distance / slope, -15.0, 15.0)
    return np.asarray(MIDDLE + reach[:, None] * rays)


def _missing(
    rng: np.random.Generator, points: FloatArray, stays: BoolArray, share: float, side: float
) -> BoolArray:
    """Return which places are not scanned: round patches until their share of the metal is gone."""
    gone = np.zeros(len(points), bool)
    open_to = np.flatnonzero(stays & (points[:, 1] * side >= 0.0))
    while share > 0.0 and np.count_nonzero(gone & stays) < share * np.count_nonzero(stays):
        middle = points[rng.choice(open_to)]
        near = np.sum((points - middle) ** 2, axis=1) < rng.uniform(15.0, 45.0) ** 2
        gone |= near & (points[:, 1] * side >= 0.0)
        if gone[open_to].all():
            break
    return gone


def _largest_piece(mesh: TriMesh, stays: BoolArray) -> TriMesh:
    kept, _ = part_of_mesh(mesh, np.flatnonzero(stays[mesh.faces].all(axis=1)))
    piece = piece_of_face(kept.faces)
    largest = np.bincount(piece).argmax()
    return part_of_mesh(kept, np.flatnonzero(piece == largest))[0]
