"""A tunnel as it stands in the tank: folded, out through the skin, with what it goes over."""

from collections.abc import Iterator

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import TriMesh
from geometry.tank.tunnel import EndScribe, Tunnel
from geometry.tank.tunnel_piece import SIDES, TunnelPiece
from geometry.tank.tunnel_spec import RUN_OUT_MM, RoundBody

_MESH_ALONG = 25
_AROUND = 24
_SHOWN_PAST_MM = 40.0


def tunnel_mesh(tunnel: Tunnel) -> TriMesh:
    """Return the tunnel folded, in the tank's axes: the middle of its metal, to its cut-off."""
    return _folded(tunnel, (tunnel.spans[0].behind_mm, tunnel.spans[-1].ahead_mm))


def tunnel_through_skin(tunnel: Tunnel) -> TriMesh:
    """Return the same as far as the tank gives way to it: out through the skin at both ends.

    An end is left long and scribed, so it closes against the skin wherever it reaches it; so does
    one that is too short by no more than its run-out, as it will be cut longer. One that stops
    farther inside (`ends_inside`) is taken to be closed by a plate where it was asked to end.
    """
    return _folded(tunnel, _ends_through_skin(tunnel))


def _ends_through_skin(tunnel: Tunnel) -> tuple[float, float]:
    """Return from where to where along it a tunnel is taken off."""
    inside = [scribe.end for scribe in ends_inside(tunnel)]
    rear, front = tunnel.spans[0].behind_mm, tunnel.spans[-1].ahead_mm
    for scribe in tunnel.scribes:
        past = tunnel.spec.run_out_mm + scribe.short_mm + tunnel.sheet.thickness_mm
        if scribe.end == "front" and "front" not in inside:
            front += past
        elif scribe.end == "rear" and "rear" not in inside:
            rear -= past
    return rear, front


def ends_inside(tunnel: Tunnel) -> tuple[EndScribe, ...]:
    """Return the ends that stop inside the tank, farther from the skin than their run-out."""
    most = max(tunnel.spec.run_out_mm, RUN_OUT_MM)
    return tuple(scribe for scribe in tunnel.scribes if scribe.short_mm > most)


def _along(
    tunnel: Tunnel, ends_mm: tuple[float, float]
) -> Iterator[tuple[TunnelPiece, FloatArray]]:
    """Return every piece with the places (k,) along it, from one end of the tunnel to the other."""
    for at, piece in enumerate(tunnel.pieces):
        behind = piece.span.behind_mm if at else ends_mm[0]
        ahead = ends_mm[1] if at == len(tunnel.pieces) - 1 else piece.span.ahead_mm
        yield piece, np.linspace(behind, ahead, _MESH_ALONG)


def _folded(tunnel: Tunnel, ends_mm: tuple[float, float]) -> TriMesh:
    """Return the tunnel folded from end to end, in the tank's axes."""
    vertices: list[FloatArray] = []
    faces: list[IntArray] = []
    count = 0
    for piece, x in _along(tunnel, ends_mm):
        rows = [_ring(piece, at) for at in x]
        wide = len(rows[0])
        grid = count + np.arange(len(x) * wide).reshape(len(x), wide)
        a, b, c, d = grid[:-1, :-1], grid[:-1, 1:], grid[1:, 1:], grid[1:, :-1]
        faces.append(np.stack([a, b, c], axis=-1).reshape(-1, 3))
        faces.append(np.stack([a, c, d], axis=-1).reshape(-1, 3))
        vertices += rows
        count += len(x) * wide
    return TriMesh(tunnel.seat.to_tank(np.concatenate(vertices)), np.concatenate(faces))


def _ring(piece: TunnelPiece, x_mm: float) -> FloatArray:
    """Return (k, 3) the piece's section from the left cut-off over to the right one."""
    half = piece.net.rulings.points(x_mm)
    sides = []
    for off, (_, sign) in zip(piece.cut_offs, SIDES, strict=True):
        x = np.array([x_mm])
        foot = piece.net.leg_at(x, piece.down_to_bottom(off, x))
        sides.append(np.concatenate([half, foot]) * [1.0, sign, 1.0])
    return np.concatenate([sides[0][:0:-1], sides[1]])


def shown_body(tunnel: Tunnel, body: RoundBody) -> TriMesh:
    """Return a body's round face in the tank's axes, not much longer than the tunnel."""
    start, end = np.array(body.start_mm), np.array(body.end_mm)
    reach = tunnel.seat.rear_mm + np.array(
        [-_SHOWN_PAST_MM, tunnel.spec.length_mm + _SHOWN_PAST_MM]
    )
    if abs(end[0] - start[0]) > _SHOWN_PAST_MM:
        share = np.clip((reach - start[0]) / (end[0] - start[0]), 0.0, 1.0)
        start, end = start + share.min() * (end - start), start + share.max() * (end - start)
    axis = (end - start) / max(float(np.linalg.norm(end - start)), 1e-9)
    side = np.cross(axis, np.eye(3)[np.argmin(np.abs(axis))])
    side = side / np.linalg.norm(side)
    turn = np.linspace(0.0, 2.0 * np.pi, _AROUND, endpoint=False)[:, None]
    ring = 0.5 * body.diameter_mm * (np.cos(turn) * side + np.sin(turn) * np.cross(axis, side))
    a = np.arange(_AROUND)
    b = np.roll(a, -1)
    faces = np.concatenate(
        [np.stack([a, b, b + _AROUND], axis=1), np.stack([a, b + _AROUND, a + _AROUND], axis=1)]
    )
    return TriMesh(np.concatenate([start + ring, end + ring]), faces)


def cut_off_lines(tunnel: Tunnel) -> tuple[FloatArray, ...]:
    """Return where the legs are drawn to meet the bottom (k, 3), tank axes, piece by piece."""
    lines = []
    for piece in tunnel.pieces:
        x = np.linspace(*piece.reach_mm, len(piece.cut_offs[0].middle))
        for off, (_, sign) in zip(piece.cut_offs, SIDES, strict=True):
            place = piece.net.leg_at(x, piece.net.downs_of(off.middle)) * [1.0, sign, 1.0]
            lines.append(tunnel.seat.to_tank(place))
    return tuple(lines)


def bottom_opening(tunnel: Tunnel) -> tuple[FloatArray, ...]:
    """Return the outside of the legs where they meet the bottom (k, 3), tank axes, piece by piece.

    Left and right of each piece; what the bottom is cut out to, out through the skin.
    """
    lines = []
    for piece, x in _along(tunnel, _ends_through_skin(tunnel)):
        out = 0.5 * tunnel.sheet.thickness_mm * np.linalg.norm(piece.net.leg) / -piece.net.leg[2]
        for off, (_, sign) in zip(piece.cut_offs, SIDES, strict=True):
            place = piece.net.leg_at(x, piece.down_to_bottom(off, x)) + [0.0, out, 0.0]
            lines.append(tunnel.seat.to_tank(place * [1.0, sign, 1.0]))
    return tuple(lines)
