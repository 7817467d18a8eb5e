"""Capacity: what the tank holds, where fuel gathers and stays, the dip chart."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from app.job.choices import CapacityChoice, FittingsChoice, JobState, MetalChoice
from app.job.making import Reader, Step, step_besides
from app.job.rest.fuel_in_part import PartFound, Tubes, filler_edge, part_found, vent_mouths
from app.job.rest.stood import StoodTank
from app.job.rest.tunnel_step import tunnel_to_mend
from app.units import volume_text
from geometry.arrays import FloatArray
from geometry.mesh import face_areas
from geometry.progress import Report
from geometry.surface import Opening
from geometry.tank import (
    LEVEL,
    AirPocket,
    BossSpec,
    DipChart,
    EndScribe,
    FillerSpec,
    FuelSpace,
    LaidTunnel,
    LowPoint,
    OpenRim,
    Reserve,
    Stance,
    Trapped,
    air_left,
    dip_chart,
    floor_under,
    fuel_space,
    low_points,
    off_floor,
    open_rims,
    recess_off,
    reserve_of,
    rooms_over,
    stick_marks,
    trapped,
    volume_to,
)

_STICK_STEP_MM = 5.0
_STICK_TRIED, _STICK_ENOUGH = 12, 0.8
_LITRE_MM3, _BAFFLE_MM3 = 1e6, 1e3
_FILLED_SO = 2
"""A tank is filled upright or on its side stand, the first two stances."""


@dataclass(frozen=True, eq=False)
class StanceFound:
    """How fuel lies in one stance.

    Attributes
    ----------
    stance : Stance
    points : tuple of LowPoint
    left : tuple of Trapped
        What no tap lets out, pool by pool; nothing where there are no taps.
    air : tuple of AirPocket or None
        What stays of air while it is filled so; None where nobody fills it so, or where there is
        no filler.
    """

    stance: Stance
    points: tuple[LowPoint, ...]
    left: tuple[Trapped, ...]
    air: tuple[AirPocket, ...] | None = None

    @property
    def left_mm3(self) -> float:
        """All that stays."""
        return sum(pool.volume_mm3 for pool in self.left)


@dataclass(frozen=True, eq=False)
class TapFound:
    """A tap on the tank's floor.

    Attributes
    ----------
    spec : BossSpec
    place : (3,) float, mm
        On the floor, tank axes.
    room_mm : float
        Over it.
    reserve : Reserve or None
        None without a standpipe.
    """

    spec: BossSpec
    place: FloatArray
    room_mm: float
    reserve: Reserve | None


@dataclass(frozen=True, eq=False)
class Fuel:
    """What a tank holds.

    Attributes
    ----------
    space : FuelSpace
        Tank axes.
    rims : tuple of OpenRim
        Edges that were closed, as asked for.
    wall_mm : float
        Paint and metal counted between the scan and the fuel.
    guessed_share : float
        How much of the skin nobody scanned.
    held_mm3 : float
        To the brim, baffles and the filler's recess taken off.
    taken_mm3 : float
        Those two.
    to_filler_mm3 : float or None
        On the level up to the filler's lower edge; None where there is no filler.
    stances : tuple of StanceFound
    taps : tuple of TapFound
    chart : DipChart
    notches_mm : tuple of float
        On the stick for each whole litre from 1.
    part : PartFound or None
        How the part filling asked for stands.
    ends_inside : tuple of EndScribe
        Ends of the laid tunnel that stop inside the tank, counted as closed by a plate.
    """

    space: FuelSpace
    rims: tuple[OpenRim, ...]
    wall_mm: float
    guessed_share: float
    held_mm3: float
    taken_mm3: float
    to_filler_mm3: float | None
    stances: tuple[StanceFound, ...]
    taps: tuple[TapFound, ...]
    chart: DipChart
    notches_mm: tuple[float, ...]
    part: PartFound | None = None
    ends_inside: tuple[EndScribe, ...] = ()


def wall_of(metal: MetalChoice) -> float:
    """Return how far the inside of the metal lies under what was scanned."""
    if metal.face == "middle":
        return metal.thickness_mm / 2.0
    return metal.paint_mm + metal.thickness_mm


def stances_of(choice: CapacityChoice) -> tuple[Stance, ...]:
    """Return the stances fuel is looked for in.

    Raises
    ------
    TooSteepError
    """
    lean = choice.lean_rad if choice.lean_to == "left" else -choice.lean_rad
    return (
        LEVEL,
        Stance("on the side stand", lean_left_rad=lean),
        Stance("nose up", nose_up_rad=choice.nose_rad),
        Stance("nose down", nose_up_rad=-choice.nose_rad),
    )


def capacity_step(
    stood: StoodTank,
    choice: CapacityChoice,
    metal: MetalChoice,
    fitted: FittingsChoice,
    laid: LaidTunnel | None,
    *,
    report: Report,
) -> Fuel:
    """Return what the tank holds, where fuel gathers, what stays, and the dip chart."""
    stances = stances_of(choice)
    report(0.0, "the room inside")
    space, taken = _room(stood, choice, metal, fitted.filler, laid)
    report(0.3, "low points")
    on_level = low_points(space, LEVEL)
    tubes = _tubes(choice, on_level)
    taps = tuple(_tap(space, boss, tubes) for boss in fitted.bosses if boss.kind == "tap")
    edge = filler_edge(space, fitted.filler, _scanned_filler(stood))
    openings = _Openings(
        [off_floor(tap.place) for tap in taps], edge, vent_mouths(space, fitted.bosses)
    )
    found = []
    for number, stance in enumerate(stances):
        report(0.4 + 0.1 * number, f"fuel {stance.name}")
        points = on_level if stance is LEVEL else low_points(space, stance)
        air = _air(space, stance, openings) if number < _FILLED_SO else None
        found.append(StanceFound(stance, points, _left(space, stance, openings.taps, tubes), air))
    report(0.8, "dip chart")
    stick = _stick(space, choice, _filler_centre(stood, fitted.filler), on_level)
    baffles = _BAFFLE_MM3 * choice.baffles_cm3
    chart = _less_baffles(dip_chart(space, *stick, step_mm=_STICK_STEP_MM), baffles)
    part = None
    if choice.part is not None:
        part = part_found(space, choice.part, _tap_mouths(taps), edge, tubes)
    return Fuel(
        space=space,
        rims=open_rims(stood.outside),
        wall_mm=wall_of(metal),
        guessed_share=_share(stood),
        held_mm3=space.volume_mm3 - baffles,
        taken_mm3=baffles + taken,
        to_filler_mm3=None if edge is None else volume_to(space, edge[:, 2].min()) - baffles,
        stances=tuple(found),
        taps=taps,
        chart=chart,
        notches_mm=_notches(chart),
        part=part,
        ends_inside=() if laid is None else laid.ends_inside,
    )


def _room(
    stood: StoodTank,
    choice: CapacityChoice,
    metal: MetalChoice,
    filler: FillerSpec | None,
    laid: LaidTunnel | None,
) -> tuple[FuelSpace, float]:
    """Return the room inside, and what of it the filler's recess took, mm3."""
    space = fuel_space(
        stood.outside,
        wall_mm=wall_of(metal),
        metal_mm=metal.thickness_mm,
        caps={} if choice.closing == "not said" else {0: choice.closing},
        tunnel=choice.tunnel if laid is None else laid,
    )
    if filler is None or filler.seat == "flat":
        return space, 0.0
    left = recess_off(space, filler, metal.thickness_mm)
    return left, space.volume_mm3 - left.volume_mm3


def _less_baffles(chart: DipChart, baffles_mm3: float) -> DipChart:
    """Return the chart less the metal of baffles, which stands evenly in the fuel."""
    share = 1.0 - baffles_mm3 / max(float(chart.volume_mm3[-1]), baffles_mm3 + 1.0)
    return replace(chart, volume_mm3=chart.volume_mm3 * share)


@dataclass(frozen=True, eq=False)
class _Openings:
    """Where fuel leaves and air comes and goes, in the space."""

    taps: list[FloatArray]
    filler_edge: FloatArray | None
    vents: list[FloatArray]


def _air(space: FuelSpace, stance: Stance, openings: _Openings) -> tuple[AirPocket, ...] | None:
    """Return what stays of air while the tank is filled; nothing is told of one without filler."""
    if openings.filler_edge is None:
        return None
    return air_left(space, stance, openings.filler_edge, vents=openings.vents)


def _tap_mouths(taps: tuple[TapFound, ...]) -> tuple[tuple[str, FloatArray], ...]:
    """Return where fuel enters each tap: its standpipe's mouth, and the floor beside it."""
    found = []
    for tap in taps:
        if tap.spec.standpipe_mm:
            found.append((tap.spec.name, off_floor(tap.place, tap.spec.standpipe_mm)))
            found.append((f"{tap.spec.name} on reserve", off_floor(tap.place)))
        else:
            found.append((tap.spec.name, off_floor(tap.place)))
    return tuple(found)


def _left(
    space: FuelSpace, stance: Stance, outlets: list[FloatArray], tubes: Tubes
) -> tuple[Trapped, ...]:
    """Return what no tap lets out; nothing is told where there are no taps."""
    return trapped(space, stance, outlets, crossovers=tubes) if outlets else ()


def _notches(chart: DipChart) -> tuple[float, ...]:
    """Return where the stick is notched for each whole litre from 1."""
    litres = np.arange(1, int(chart.volume_mm3[-1] / _LITRE_MM3) + 1) * _LITRE_MM3
    return stick_marks(chart, litres.tolist())


def _tubes(choice: CapacityChoice, on_level: tuple[LowPoint, ...]) -> Tubes:
    """Return the crossover's ends, in the two lowest places of the level tank."""
    if not choice.crossover or len(on_level) < 2:
        return ()
    return ((off_floor(on_level[0].place), off_floor(on_level[1].place)),)


def _tap(space: FuelSpace, boss: BossSpec, tubes: Tubes) -> TapFound:
    place, room = floor_under(space, boss.x_mm, boss.y_mm, boss.name)
    reserve = None
    if boss.standpipe_mm is not None:
        reserve = reserve_of(space, place, boss.standpipe_mm, crossovers=tubes)
    return TapFound(boss, place, room, reserve)


def _stick(
    space: FuelSpace,
    choice: CapacityChoice,
    filler_centre: FloatArray | None,
    on_level: tuple[LowPoint, ...],
) -> tuple[float, float]:
    """Return where the dip stick stands: as said, else beside the tunnel under the filler.

    Where there is no filler it stands over the lowest place, and where there is little room over
    either, where there is most.
    """
    if choice.stick_x_mm is not None and choice.stick_y_mm is not None:
        return choice.stick_x_mm, choice.stick_y_mm
    low = on_level[0].place
    first = np.array([low[0] if filler_centre is None else filler_centre[0], low[1]])
    least, most = (f(space.mesh.vertices[:, :2], axis=0) for f in (np.min, np.max))
    across = np.linspace(least[1], most[1], _STICK_TRIED + 2)[1:-1]
    ahead = np.linspace(least[0], most[0], _STICK_TRIED + 2)[1:-1]
    along = ahead if filler_centre is None else first[:1]
    tried = np.array([first, *((x, y) for x in along for y in across)])
    rooms = rooms_over(space, tried)
    best = 0 if rooms[0] >= _STICK_ENOUGH * rooms.max() else int(rooms.argmax())
    return float(tried[best, 0]), float(tried[best, 1])


def old_filler(stood: StoodTank) -> int | None:
    """Return which opening is the scanned filler: the largest round one that faces up."""
    found = [
        (opening.diameter_mm, number)
        for number, opening in enumerate(stood.openings)
        if opening.is_round and opening.diameter_mm >= 20.0 and opening.normal[2] > 0.5
    ]
    return max(found)[1] if found else None


def _scanned_filler(stood: StoodTank) -> Opening | None:
    old = old_filler(stood)
    return None if old is None else stood.openings[old]


def _filler_centre(stood: StoodTank, filler: FillerSpec | None) -> FloatArray | None:
    if filler is not None:
        return np.array([filler.x_mm, filler.y_mm])
    old = old_filler(stood)
    return None if old is None else np.asarray(stood.openings[old].centre[:2])


def _share(stood: StoodTank) -> float:
    areas = face_areas(stood.outside.vertices, stood.outside.faces)
    return float(areas[stood.filled].sum() / areas.sum())


def _line(found: Fuel, state: JobState, show: str) -> str:
    return f"holds {volume_text(found.held_mm3, show)} to the brim"


def capacity_row(read: Reader) -> Step:
    """Return the row of the table of steps."""

    def inputs(state: JobState, part: str) -> tuple[Any, ...] | None:
        stood, choice = read(state, "Stood"), state.rest.capacity
        if stood is None or choice is None:
            return None
        laid = read(state, "Tunnel") if choice.laid_tunnel else None
        if choice.laid_tunnel and laid is None:
            return None
        tunnel = None if laid is None else laid.in_skin
        return (stood, choice, state.metal, state.rest.fittings or FittingsChoice(), tunnel)

    def asks(state: JobState) -> str:
        choice = state.rest.capacity
        if choice is not None and choice.laid_tunnel and state.rest.tunnel is None:
            return "Begin Tunnel: it is to be taken off as it is laid out there."
        return tunnel_to_mend(read, state) if choice is not None and choice.laid_tunnel else ""

    does = "Count what the tank holds, and where fuel stays in it."
    return step_besides(
        "Capacity", does, inputs=inputs, function=capacity_step, line=_line, asks=asks
    )
