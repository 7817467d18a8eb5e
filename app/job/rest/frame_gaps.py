"""How near a body comes to the metal of a tank or its tunnel, and what is to be thought of it."""

from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np

from app.job.choices import FrameBody, FrameFitChoice, MetalChoice
from app.job.rest.frame_bodies import PlacedBody
from app.job.rest.frame_bottom import Against
from app.job.rest.stood import StoodTank
from app.job.rest.tunnel_step import TunnelLaid
from geometry.comparison import Gap, GapFinder
from geometry.mesh import TriMesh

FAR_MM = 100.0
"""Beyond this a body has nothing to do with the tank: told, in case a place was mistyped."""

_FAR_TURNING_MM = 1000.0
"""The same of what turns with the bars: those reach wide."""

Verdict = Literal[
    "clear", "tight", "too near", "through", "bears", "pressed too far", "far off",
    "in the tunnel", "in the fuel",
]  # fmt: skip


@dataclass(frozen=True, eq=False)
class FrameGap:
    """How near one body, as it stands in one position, comes to the tank.

    Attributes
    ----------
    body : FrameBody
        In tank axes, of its own hand.
    hand : "left", "right" or ""
        Of a body that stands on both.
    turn_rad : float or None
        How far the bars are turned, to the left where over nothing; None where it does not turn.
    mesh : TriMesh
        The body there.
    gap : Gap
    gap_mm : float
        To the metal: its inside face where the body stands inside, a sheet's thickness nearer.
    wanted_mm : float
    verdict : str
    against : "tank", "tunnel" or "bottom"
        The bottom is the tank closed: told where a body is nearer to it, or in the fuel.
    """

    body: FrameBody
    hand: str
    turn_rad: float | None
    mesh: TriMesh
    gap: Gap
    gap_mm: float
    wanted_mm: float
    verdict: Verdict
    against: Against = "tank"

    @property
    def is_wrong(self) -> bool:
        """Whether it cannot stay as it is."""
        return self.verdict in ("too near", "through", "pressed too far", "in the fuel")


class HeldAgainst(Protocol):
    """What bodies are held against."""

    name: Against

    def gap(self, mesh: TriMesh) -> tuple[Gap, float]:
        """Return the gap to its mesh, and to the face of the metal a body sees."""


class TunnelSheet:
    """Gaps to a tunnel's folded sheet: half a sheet nearer than to the middle of its metal."""

    name: Against = "tunnel"

    def __init__(self, tunnel: TunnelLaid) -> None:
        self._finder = GapFinder(tunnel.mesh)
        used = tunnel.mesh.vertices[np.unique(tunnel.mesh.faces)]
        self._low, self._high = used.min(axis=0), used.max(axis=0)
        self._half = tunnel.tunnel.sheet.thickness_mm / 2.0

    def gap(self, mesh: TriMesh) -> tuple[Gap, float]:
        """Return the gap to the middle of the sheet, and to its face."""
        gap = self._finder.gap(mesh)
        return gap, max(0.0, gap.distance_mm - self._half)

    def covers(self, mesh: TriMesh) -> bool:
        """Return whether all of a body between the tunnel's ends lies under its roof."""
        x = mesh.vertices[:, 0]
        part = mesh.vertices[(x > self._low[0]) & (x < self._high[0])]
        within = (part[:, 1] > self._low[1]) & (part[:, 1] < self._high[1])
        return bool(len(part) and (within & (part[:, 2] < self._high[2])).all())


class TankMetal:
    """Gaps to the tank's metal, whichever face of it a body sees."""

    name: Against = "tank"

    def __init__(self, stood: StoodTank, metal: MetalChoice) -> None:
        self._outside = GapFinder(stood.outside)
        self._stood = stood
        self._is_middle, half = metal.face == "middle", metal.thickness_mm / 2.0
        self._out = half if self._is_middle else 0.0
        self._through = 1.0 + half / (metal.paint_mm + half)
        self._inner: GapFinder | None = None

    def gap(self, mesh: TriMesh) -> tuple[Gap, float]:
        """Return the gap to the skin, and to the face of the metal the body sees.

        Beside an edge a body sees both faces. So what is told jumps nowhere while a body moves,
        and changes by no more than it moves.
        """
        gap = self._outside.gap(mesh)
        if gap.side == "through":
            return gap, 0.0
        to_outside = max(0.0, gap.distance_mm - self._out)
        if gap.side == "outside" or self._is_middle:
            return gap, to_outside
        to_inside = self._inside_face().gap(mesh).distance_mm
        return gap, to_inside if gap.side == "inside" else min(to_outside, to_inside)

    def _inside_face(self) -> GapFinder:
        """Return what finds gaps to the inside of the metal, half a sheet under its middle."""
        if self._inner is None:
            outside = self._stood.outside
            inward = self._through * (self._stood.middle - outside.vertices)
            self._inner = GapFinder(TriMesh(outside.vertices + inward, outside.faces))
        return self._inner


def judged(
    tank: HeldAgainst, choice: FrameFitChoice, placed: PlacedBody, turn_rad: float | None
) -> FrameGap:
    """Return how near a body comes where it stands, the bars turned so far, and the verdict."""
    body = placed.body
    gap, gap_mm = tank.gap(placed.mesh)
    verdict = _verdict(choice, body, gap, gap_mm)
    wanted = wanted_mm(choice, body, gap)
    return FrameGap(
        body, placed.hand, turn_rad, placed.mesh, gap, gap_mm, wanted, verdict, tank.name
    )


def wanted_mm(choice: FrameFitChoice, body: FrameBody, gap: Gap) -> float:
    """Return what room a body is to have: a tube more over it than beside it."""
    if body.kind == "rubber":
        return 0.0
    if body.turns:
        return choice.at_lock_mm
    away = gap.on_skin - gap.on_body
    is_over = abs(away[2]) >= abs(away[1])
    return choice.over_tube_mm if body.kind == "tube" and is_over else choice.beside_mm


def _verdict(choice: FrameFitChoice, body: FrameBody, gap: Gap, gap_mm: float) -> Verdict:
    through = gap.side == "through"
    if gap_mm > (_FAR_TURNING_MM if body.turns else FAR_MM):
        return "far off"
    if body.kind == "rubber":
        if through and gap.reach_mm > choice.squash_mm:
            return "pressed too far"
        return "bears" if through or gap_mm <= choice.squash_mm else "clear"
    if through:
        return "through"
    if gap_mm < choice.least_mm:
        return "too near"
    return "clear" if gap_mm >= wanted_mm(choice, body, gap) else "tight"
