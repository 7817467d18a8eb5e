"""The faces under a straight line drawn over a surface from inside a strip of faces."""

from geometry.mesh.face_net import FaceNet
from geometry.mesh.strip import Unfolded

_MOST_FACES = 20  # times those of the strip: a shot that runs on longer is lost


class _Sheet:
    """The plane the surface is laid into face by face: where vertices lie, just now."""

    def __init__(self, net: FaceNet, place: dict[int, complex]) -> None:
        self.net, self.place = net, place

    def ahead(self, left: int, right: int, vertex: int) -> complex:
        """Return where a vertex comes to lie beyond the edge from left to right."""
        vertices = self.net.vertices
        ax, ay, az = vertices[left].tolist()
        bx, by, bz = vertices[right].tolist()
        cx, cy, cz = vertices[vertex].tolist()
        ux, uy, uz, wx, wy, wz = bx - ax, by - ay, bz - az, cx - ax, cy - ay, cz - az
        square = max(ux * ux + uy * uy + uz * uz, 1e-300)
        nx, ny, nz = uy * wz - uz * wy, uz * wx - ux * wz, ux * wy - uy * wx
        off = float((nx * nx + ny * ny + nz * nz) ** 0.5)
        z = complex((ux * wx + uy * wy + uz * wz) / square, off / square)
        return self.place[left] + (self.place[right] - self.place[left]) * z

    def behind(self, left: int, right: int, vertex: int) -> complex:
        """Return where a vertex lies on the near side of the edge."""
        span = self.place[right] - self.place[left]
        z = (self.ahead(left, right, vertex) - self.place[left]) / span
        return self.place[left] + span * z.conjugate()

    def step(self, face: int, side: int) -> tuple[int, int]:
        """Lay down the face across a side; return it and the corner at which that side begins."""
        faces = self.net.faces
        right, left = faces.item(face, side), faces.item(face, (side + 1) % 3)
        beyond = int(self.net.across.item(face, side))
        entry = next(corner for corner in (0, 1, 2) if faces.item(beyond, corner) == left)
        apex = faces.item(beyond, (entry + 2) % 3)
        placed = self.ahead(left, right, apex)
        self.place = {left: self.place[left], right: self.place[right], apex: placed}
        return beyond, entry


def straight_shot(net: FaceNet, strip: list[int], flat: Unfolded) -> list[int]:
    """Return the faces from the strip's first on, under the straight line to the strip's end.

    The line heads for where the end lies when the strip is laid flat, but each face it meets is
    laid down as it comes: on a curved surface it ends near the end, not at it. It stops at a rim.
    """
    left, right = flat.left[0], flat.right[0]
    sheet = _Sheet(net, {left: flat.left_place[0], right: flat.right_place[0]})
    (third,) = set(net.faces[strip[0]].tolist()) - {left, right}
    sheet.place[third] = sheet.behind(left, right, third)
    inside = 0.5 * (flat.left_place[0] + flat.right_place[0])
    origin = flat.start + 1e-3 * (inside - flat.start)  # off the edge or vertex of the start
    aim = flat.end - origin
    face, under = strip[0], [strip[0]]
    side = _first_exit(sheet, face, origin, aim)
    while side >= 0 and len(under) < _MOST_FACES * (len(strip) + 50):
        a, b = net.faces.item(face, side), net.faces.item(face, (side + 1) % 3)
        if net.across.item(face, side) < 0:
            break
        if _reach(origin, aim, sheet.place[a], sheet.place[b]) >= 1.0:
            break
        face, entry = sheet.step(face, side)
        under.append(face)
        apex = sheet.place[net.faces.item(face, (entry + 2) % 3)]
        side = (entry + 1) % 3 if _cross(aim, apex - origin) >= 0 else (entry + 2) % 3
    return under


def _first_exit(sheet: _Sheet, face: int, origin: complex, aim: complex) -> int:
    """Return the side by which a line from inside the face leaves it."""
    faces = sheet.net.faces
    for side in (0, 1, 2):
        a = sheet.place[faces.item(face, side)]
        b = sheet.place[faces.item(face, (side + 1) % 3)]
        if _cross(aim, a - origin) < 0 <= _cross(aim, b - origin):
            return side
    return -1


def _reach(origin: complex, aim: complex, a: complex, b: complex) -> float:
    """Return how far along `aim` the line from `origin` crosses the edge a-b: 1 at its tip."""
    near, far = _cross(aim, a - origin), _cross(aim, b - origin)
    share = near / (near - far) if near != far else 0.5
    return ((a + share * (b - a) - origin) / aim).real


def _cross(a: complex, b: complex) -> float:
    return (a.conjugate() * b).imag
