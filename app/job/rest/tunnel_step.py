"""The step "Tunnel": the tunnel developed, seated in the tank as it stands, and what it clears."""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from app.job.choices import JobState, MetalChoice
from app.job.files import Metals, metal_named, metal_or_none
from app.job.making import Reader, Step, step_besides
from app.job.rest.stood import StoodTank
from app.job.rest.tube_scan import tube_placed
from app.units import length_text
from geometry.gauges import TankAxes
from geometry.mesh import TriMesh
from geometry.metal import METALS
from geometry.progress import Report, part_of, silent
from geometry.tank import (
    LaidTunnel,
    Tunnel,
    TunnelGround,
    TunnelSheet,
    TunnelSpec,
    check_scanned_size,
    ends_inside,
    lay_tunnel,
    tank_bottom,
    tunnel_mesh,
    tunnel_through_skin,
)


@dataclass(frozen=True, eq=False)
class TunnelLaid:
    """The tunnel of a job.

    Attributes
    ----------
    tunnel : Tunnel
        In tank axes.
    mesh : TriMesh
        Folded, in tank axes, to its cut-off.
    axes : TankAxes or None
        From the tank's axes back to the scan's, mm; None where it was laid out without a tank.
    guessed : tuple of str
        "front", "up" where nobody said them.
    """

    tunnel: Tunnel
    mesh: TriMesh
    axes: TankAxes | None
    guessed: tuple[str, ...] = ()

    @cached_property
    def in_skin(self) -> LaidTunnel:
        """What the tank gives way to: the tunnel folded, out through the skin at both ends."""
        sheet = tunnel_through_skin(self.tunnel)
        return LaidTunnel(sheet, self.tunnel.sheet.thickness_mm, ends_inside(self.tunnel))


def tunnel_sheet(spec: TunnelSpec, metal: MetalChoice) -> TunnelSheet:
    """Return what a tunnel is made of: the job's sheet, but for what it has of its own.

    The least radius a metal of the maker's own is bent over grows with its thickness.

    >>> tunnel_sheet(TunnelSpec(300.0), MetalChoice(1.6, "5052-H32"))
    TunnelSheet(name='5052-H32', thickness_mm=1.6, least_radius_mm=1.6)
    >>> tunnel_sheet(TunnelSpec(300.0, metal="5052-H32"), MetalChoice(1.6, "3003-H14"))
    TunnelSheet(name='5052-H32', thickness_mm=1.6, least_radius_mm=1.6)
    """
    thickness = metal.thickness_mm if spec.sheet_mm is None else spec.sheet_mm
    ratio = spec.bend_ratio
    if spec.metal is None and metal.bend_radius_mm is not None:
        ratio = metal.bend_radius_mm / metal.thickness_mm
    name = spec.metal or metal.alloy
    if ratio is not None:
        return TunnelSheet(name, thickness, ratio * thickness)
    known = metal_or_none(name, METALS)
    found = None if known is None else known.bend_radius_at(thickness)
    return TunnelSheet(name, thickness, None if found is None else found.value)


def tunnel_of_metal(
    spec: TunnelSpec, name: str | None, metals: Metals, thickness_mm: float
) -> TunnelSpec:
    """Return a tunnel made of a known metal of its own; of the job's where there is no name.

    Parameters
    ----------
    spec : TunnelSpec
    name : str or None
        However it is spaced, in capitals or not.
    metals : mapping of name to SheetMetal
    thickness_mm : float
        Of the job's sheet; counts where the tunnel has none of its own.

    Raises
    ------
    UnknownMetalError

    >>> tunnel_of_metal(TunnelSpec(300.0), "5052 h32", METALS, 1.6).metal
    '5052-H32'
    """
    if not name:
        return replace(spec, metal=None, bend_ratio=None)
    known = metal_named(name, metals)
    ratio = None
    if known != metal_or_none(name, METALS):
        thickness = thickness_mm if spec.sheet_mm is None else spec.sheet_mm
        least = known.bend_radius_at(thickness)
        ratio = None if least is None else least.value / thickness
    return replace(spec, metal=known.name, bend_ratio=ratio)


def tunnel_row(read: Reader) -> Step:
    """Return the row of the table of steps."""

    def inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
        stood, size, spec = read(state, "Stood"), read(state, "Size"), state.rest.tunnel
        if stood is None or size is None or spec is None:
            return None
        placed = tube_placed(spec, stood.axes, size.mm_per_unit)
        return (stood, placed, tunnel_sheet(spec, state.metal))

    return step_besides(
        "Tunnel",
        "Lay out the tunnel the frame runs through: its net, where it is cut off, what it clears.",
        inputs=inputs,
        function=tunnel_step,
        line=lambda laid, _, show: tunnel_line(laid, show),
        hangs_on=("Stood", "Size"),
    )


def tunnel_to_mend(read: Reader, state: JobState) -> str:
    """Return what has to be done before what takes the tunnel up; "" where nothing has."""
    entry = state.results.get(("Tunnel", ""))
    failed = entry is not None and entry.error is not None
    if state.rest.tunnel is None or not failed or read(state, "Tunnel") is not None:
        return ""
    return "Mend the tunnel or leave it out: it could not be laid out, and it is taken up here."


def tunnel_step(
    stood: StoodTank, spec: TunnelSpec, sheet: TunnelSheet, *, report: Report
) -> TunnelLaid:
    """Return the tunnel laid out for a tank.

    Raises
    ------
    DirectionsUnknownError
        Nobody said which way the front and the top are, and no centre plane was found either.
    GeometryError
    """
    report(0.0, "finding the tank's bottom")
    if not stood.has_plane:
        stood.check_directions()
    if spec.scanned_tube is not None and spec.tube is not None:
        check_scanned_size(spec.tube, stood.outside)
    guessed = stood.filled | stood.copied
    ground = TunnelGround(stood.outside, guessed, tank_bottom(stood.outside, guessed))
    tunnel = lay_tunnel(spec, sheet, ground, report=part_of(report, 0.2, 1.0))
    return TunnelLaid(tunnel, tunnel_mesh(tunnel), stood.axes, stood.guessed)


def tunnel_alone(
    spec: TunnelSpec, metal: MetalChoice, *, mm_per_unit: float = 1.0, report: Report = silent
) -> TunnelLaid:
    """Return a tunnel laid out from its own numbers, without a tank.

    Parameters
    ----------
    spec : TunnelSpec
    metal : MetalChoice
    mm_per_unit : float
        Of the scan of the tube, if it was scanned: it stays in its own axes.
    report : Report

    Raises
    ------
    GeometryError
    """
    placed = tube_placed(spec, None, mm_per_unit)
    tunnel = lay_tunnel(placed, tunnel_sheet(spec, metal), report=report)
    return TunnelLaid(tunnel, tunnel_mesh(tunnel), None)


def tunnel_line(laid: TunnelLaid, show: str) -> str:
    """Return what came of it, in a line."""
    tunnel = laid.tunnel
    long = length_text(tunnel.spec.length_mm, show)
    if not tunnel.gaps:
        return f"{long} long"
    least = min(tunnel.gaps, key=lambda gap: gap.after_mm)
    gap = length_text(least.after_mm, show, 32)
    return f"{long} long; least gap after welding {gap}, to the {least.body}"
