"""The tank closed and its tunnel taken off: what a body beside the scanned skin may still run into.

A scan seldom has the bottom, and a tunnel's legs end at it: held against the skin alone, a coil
that goes up into the fuel touches nothing.
"""

from dataclasses import dataclass
from typing import Literal

from app.job.choices import CapacityChoice, MetalChoice
from app.job.rest.fuel_step import wall_of
from app.job.rest.stood import StoodTank
from app.job.rest.tunnel_step import TunnelLaid
from geometry.comparison import Gap, GapFinder
from geometry.errors import GeometryError
from geometry.mesh import TriMesh
from geometry.tank import CapKind, FuelSpace, LaidTunnel, PlainTunnel, fuel_space

Against = Literal["tank", "tunnel", "bottom"]
"""What of the tank a body is held against."""


@dataclass(frozen=True)
class Underneath:
    """What the job knows of what is under the skin.

    Attributes
    ----------
    tunnel : TunnelLaid or None
        What stands under it is held against its folded sheet too.
    capacity : CapacityChoice or None
        How the open bottom is closed, and what is taken off where no tunnel is laid out.
    """

    tunnel: TunnelLaid | None = None
    capacity: CapacityChoice | None = None


def closing_of(capacity: CapacityChoice | None) -> CapacityChoice | None:
    """Return what of Capacity's choices says how the tank is closed, the rest as usual."""
    if capacity is None:
        return None
    return CapacityChoice(
        capacity.closing, tunnel=capacity.tunnel, laid_tunnel=capacity.laid_tunnel
    )


class ClosedTank:
    """Gaps to the metal round the fuel: skin, tunnel, and the sheet over the open bottom."""

    name: Against = "bottom"

    def __init__(self, space: FuelSpace, wall_mm: float) -> None:
        self._finder = GapFinder(space.mesh)
        self._wall = wall_mm

    def gap(self, mesh: TriMesh) -> tuple[Gap, float]:
        """Return the gap to the fuel, and to the outside of the metal: 0 in it or past it."""
        gap = self._finder.gap(mesh)
        if gap.side in ("inside", "through"):
            return gap, 0.0
        return gap, max(0.0, gap.distance_mm - self._wall)


def closed_tank(stood: StoodTank, metal: MetalChoice, under: Underneath) -> ClosedTank | None:
    """Return the tank closed as Capacity has it, straight across where that does not say.

    None where it cannot be closed so, or where nobody said what goes through its bottom: without
    a tunnel laid out, and without Capacity begun, a frame tube would be told as in the fuel.
    """
    tunnel, capacity = under.tunnel, under.capacity
    taken: LaidTunnel | PlainTunnel | None = None if tunnel is None else tunnel.in_skin
    if taken is None and capacity is None:
        return None
    if capacity is not None and not capacity.laid_tunnel and capacity.tunnel is not None:
        taken = capacity.tunnel
    said = "not said" if capacity is None else capacity.closing
    kind: CapKind = "ruled" if said == "not said" else said
    wall = wall_of(metal)
    try:
        space = fuel_space(
            stood.outside, wall_mm=wall, metal_mm=metal.thickness_mm, caps={0: kind}, tunnel=taken
        )
    except GeometryError:
        return None
    return ClosedTank(space, wall)
