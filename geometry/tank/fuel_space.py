"""The space inside a tank: its skin closed, less paint and metal, the tunnel taken off."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import manifold3d
import numpy as np

from geometry.errors import GeometryError
from geometry.mesh import TriMesh, enclosed_volume, piece_of_face
from geometry.surface import offset_inward
from geometry.tank.closing import CapKind, capped, open_rims
from geometry.tank.tunnel import EndScribe
from geometry.tank.tunnel_body import PlainTunnel, room_below, tunnel_body

_BELOW_MM = 50.0


@dataclass(frozen=True, eq=False)
class LaidTunnel:
    """A tunnel folded up from its net.

    Attributes
    ----------
    sheet : TriMesh
        On the middle of its metal, tank axes, open at the ends and along the feet.
    metal_mm : float
    ends_inside : tuple of EndScribe
        Ends that stop inside the tank, closed by a plate there.
    """

    sheet: TriMesh
    metal_mm: float
    ends_inside: tuple[EndScribe, ...] = ()


class NoSpaceError(GeometryError):
    """Skin, metal and tunnel leave no closed space between them.

    Attributes
    ----------
    reason : "open", "inside out" or "nothing left"
    """

    def __init__(self, reason: str) -> None:
        self.reason = reason
        super().__init__(reason)


@dataclass(frozen=True, eq=False)
class FuelSpace:
    """What a tank has inside.

    Attributes
    ----------
    mesh : TriMesh
        Closed, its faces facing out of the space, tank axes, mm.
    parts : int
        Spaces that are closed off from each other: two where a tunnel parts the tank.
    whole_mm3 : float
        Inside the metal before the tunnel was taken off.
    tunnel_mm3 : float
        What the tunnel took, its metal in.
    """

    mesh: TriMesh
    parts: int
    whole_mm3: float
    tunnel_mm3: float

    @property
    def volume_mm3(self) -> float:
        """To the brim."""
        return self.whole_mm3 - self.tunnel_mm3


def fuel_space(
    skin: TriMesh,
    *,
    wall_mm: float,
    metal_mm: float = 0.0,
    caps: Mapping[int, CapKind] | None = None,
    tunnel: PlainTunnel | LaidTunnel | TriMesh | None = None,
) -> FuelSpace:
    """Return the space inside a skin.

    Parameters
    ----------
    skin : TriMesh
        The outside, tank axes: x ahead, y left, z up, mm.
    wall_mm : float
        From that face to the metal's inside: paint and full thickness. Caps are moved in too.
    metal_mm : float
        The tunnel's own thickness; a tunnel given as a mesh is taken off as it is.
    caps : mapping of rim number to kind
        What open rims are closed by.
    tunnel : PlainTunnel, LaidTunnel, closed TriMesh or None

    Raises
    ------
    OpenTankError
        Rims are open and nobody said how they are closed.
    CapFoldsError
    TunnelTooLargeError
    NoSpaceError
    """
    closed = capped(skin, caps or {})
    inside = TriMesh(offset_inward(closed, wall_mm) if wall_mm else closed.vertices, closed.faces)
    used = TriMesh(*_tight(inside))
    whole = float(enclosed_volume(used.vertices, used.faces))
    if whole <= 0.0:
        raise NoSpaceError("inside out")
    if tunnel is None:
        return FuelSpace(used, _pieces(used), whole, 0.0)
    left = used
    for body in _bodies(tunnel, skin, used, metal_mm):
        left = taken_off(left, body)
    rest = float(enclosed_volume(left.vertices, left.faces))
    return FuelSpace(left, _pieces(left), whole, whole - rest)


def _bodies(
    tunnel: PlainTunnel | LaidTunnel | TriMesh, skin: TriMesh, space: TriMesh, metal_mm: float
) -> tuple[TriMesh, ...]:
    """Return the closed bodies a tunnel takes off."""
    if isinstance(tunnel, PlainTunnel):
        return (tunnel_body(_footed(tunnel, skin), space, metal_mm),)
    if isinstance(tunnel, LaidTunnel):
        floor = float(min(space.vertices[:, 2].min(), tunnel.sheet.vertices[:, 2].min()))
        return room_below(tunnel.sheet, tunnel.metal_mm, floor - _BELOW_MM)
    return (tunnel,)


def _footed(tunnel: PlainTunnel, skin: TriMesh) -> PlainTunnel:
    """Return the tunnel with its foot where the open bottom edge is, where nobody said."""
    found = open_rims(skin)
    if not found:
        return tunnel
    edge = skin.vertices[found[0].vertices]
    front, rear = (float(edge[k, 2]) for k in (edge[:, 0].argmax(), edge[:, 0].argmin()))
    return replace(
        tunnel,
        foot_front_mm=front if tunnel.foot_front_mm is None else tunnel.foot_front_mm,
        foot_rear_mm=rear if tunnel.foot_rear_mm is None else tunnel.foot_rear_mm,
    )


def taken_off(space: TriMesh, body: TriMesh) -> TriMesh:
    """Return what of a closed space lies outside a closed body.

    Raises
    ------
    NoSpaceError
        One of them is not closed, or nothing is left.
    """
    solids = [_solid(space), _solid(body)]
    if any(solid.status() != manifold3d.Error.NoError for solid in solids):
        raise NoSpaceError("open")
    left = solids[0] - solids[1]
    if left.is_empty() or left.volume() <= 0.0:
        raise NoSpaceError("nothing left")
    mesh = left.to_mesh64()
    return TriMesh(np.asarray(mesh.vert_properties)[:, :3], np.asarray(mesh.tri_verts, np.int64))


def _solid(mesh: TriMesh) -> manifold3d.Manifold:
    return manifold3d.Manifold(
        manifold3d.Mesh64(
            np.array(mesh.vertices),  # it takes no locked arrays
            mesh.faces.astype(np.uint64),
        )
    )


def _tight(mesh: TriMesh) -> tuple[np.ndarray, np.ndarray]:
    """Return vertices and faces without vertices no face names."""
    used, faces = np.unique(mesh.faces, return_inverse=True)
    return mesh.vertices[used], faces.reshape(-1, 3)


def _pieces(mesh: TriMesh) -> int:
    return int(piece_of_face(mesh.faces).max()) + 1
