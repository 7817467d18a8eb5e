"""`lowcrown capacity`: what a tank holds, where fuel gathers, what stays, the dip chart."""

from dataclasses import replace
from pathlib import Path

from app.command_line.doing import Doing, tell_size
from app.command_line.paper import output_asked
from app.command_line.rest_step import make_rest, step_files, take_tank
from app.command_line.sheet import learn_metals
from app.delivery import (
    CAPACITY_JSON,
    Json,
    capacity_json,
    check_folder,
    fittings_json,
    write_result,
)
from app.job import (
    BadFileError,
    CapacityChoice,
    Fitted,
    FittingsChoice,
    Fuel,
    LeanSide,
    PartFill,
    RestOfTank,
    fitted_words,
    fuel_words,
    made,
    read_rest,
    stands_words,
)
from app.units import LITRES_PER_IMPERIAL_GALLON, LITRES_PER_US_GALLON, counted, length_text
from geometry.tank import BossSpec, PlainTunnel, TunnelSpec

_USUAL_THREAD = "G 1/4"


def capacity(doing: Doing) -> Json:
    """Count what a tank holds, and write its pages where a folder is named."""
    asked = doing.asked
    if asked.out is not None:
        check_folder(asked.out, replace=asked.replace, result=CAPACITY_JSON)
    output = output_asked(asked)
    rest = RestOfTank() if asked.rest is None else read_rest(asked.rest)
    take_tank(doing, learn_metals(doing))
    choice = capacity_asked(doing, rest.capacity)
    fittings = fittings_asked(doing, rest.fittings)
    tunnel = _laid(doing, choice, rest)
    steps = ("Tunnel", "Capacity", "Fittings")
    make_rest(doing, *steps, capacity=choice, fittings=fittings, tunnel=tunnel)
    tell_size(doing, made(doing.state, "Size"))
    _tell(doing)
    found: Json = {"capacity": capacity_json(doing.state)}
    if fittings is not None:
        found["fittings"] = fittings_json(doing.state)
    files: dict[str, bytes] = {}
    if asked.out is not None:
        files = step_files(doing, "Capacity", CAPACITY_JSON, output, more=("Fittings",))
        write_result(asked.out, files, replace=asked.replace, result=CAPACITY_JSON)
        doing.tell(f"{counted(len(files), 'file')} written to {asked.out}")
    return {**found, "files": sorted(files)}


def _laid(doing: Doing, choice: CapacityChoice, rest: RestOfTank) -> TunnelSpec | None:
    """Return the tunnel that is to be laid out first.

    Raises
    ------
    BadFileError
        It is to be taken off, and nobody says how it is laid out.
    """
    if choice.laid_tunnel and rest.tunnel is None:
        path = doing.asked.rest or Path("--rest")
        raise BadFileError("a file of the rest of a tank", path, "tunnel", "is not there")
    return rest.tunnel if choice.laid_tunnel else None


def capacity_asked(doing: Doing, written: CapacityChoice | None) -> CapacityChoice:
    """Return what is counted: what was typed, before what a file says."""
    asked, choice = doing.asked, written or CapacityChoice()
    if asked.cap is not None:
        choice = replace(choice, closing=asked.cap)
    if asked.tunnel is None:
        choice = replace(choice, tunnel=None, laid_tunnel=True)
    elif asked.tunnel != ():
        (front, high), (rear, low) = asked.tunnel.front_mm, asked.tunnel.rear_mm
        plain = PlainTunnel(front, rear, high, low, asked.tunnel.top)
        choice = replace(choice, tunnel=plain, laid_tunnel=False)
    if asked.baffles is not None:
        choice = replace(choice, baffles_cm3=asked.baffles)
    if asked.lean is not None:
        lean, side = _leant(asked.lean)
        choice = replace(choice, lean_rad=lean, lean_to=side)
    if asked.slope is not None:
        choice = replace(choice, nose_rad=abs(asked.slope))
    if asked.stick is not None:
        choice = replace(choice, stick_x_mm=asked.stick[0], stick_y_mm=asked.stick[1])
    choice = replace(choice, part=_part_asked(doing, choice.part))
    return replace(choice, crossover=choice.crossover or asked.crossover)


def _part_asked(doing: Doing, written: PartFill | None) -> PartFill | None:
    """Return the part filling to be looked at: what was typed, before what a file says."""
    asked = doing.asked
    if asked.litres is None and asked.nose_up is None:
        return written
    part = written or PartFill()
    if asked.litres is not None:
        part = replace(part, litres=asked.litres)
    if asked.lean is not None:
        lean, side = _leant(asked.lean)
        part = replace(part, lean_rad=lean, lean_to=side)
    if asked.nose_up is not None:
        part = replace(part, nose_up_rad=asked.nose_up)
    return part


def _leant(to_left_rad: float) -> tuple[float, LeanSide]:
    """Return how far a tank leans and to which side, of an angle that is a lean to the left."""
    return abs(to_left_rad), "left" if to_left_rad >= 0.0 else "right"


def fittings_asked(doing: Doing, written: FittingsChoice | None) -> FittingsChoice | None:
    """Return what is fitted: taps typed instead of those a file says."""
    if not doing.asked.taps:
        return written
    several = len(doing.asked.taps) > 1
    taps = tuple(
        BossSpec(
            f"tap {number}" if several else "tap",
            _USUAL_THREAD,
            tap.x_mm,
            tap.y_mm,
            standpipe_mm=tap.standpipe_mm,
        )
        for number, tap in enumerate(doing.asked.taps, start=1)
    )
    kept = written or FittingsChoice()
    others = tuple(boss for boss in kept.bosses if boss.kind != "tap")
    return replace(kept, bosses=(*taps, *others))


def _tell(doing: Doing) -> None:
    stood, fuel = made(doing.state, "Stood"), made(doing.state, "Capacity")
    for words in stands_words(stood):
        doing.tell(f"  look: {words} (--front, --up, --datum)")
    for words in fuel_words(fuel, doing.show):
        doing.tell(f"  {words}")
    _tell_chart(doing, fuel)
    fitted: Fitted | None = made(doing.state, "Fittings")
    for words in () if fitted is None else fitted_words(fitted, doing.show):
        doing.tell(f"  {words}")
    doing.tell(
        "  Fuel and vapour burn: drain, air and prove the tank free of vapour before any heat; "
        "local codes come first."
    )


def _tell_chart(doing: Doing, fuel: Fuel) -> None:
    chart = fuel.chart
    foot = ", ".join(f"{float(value):.0f}" for value in chart.foot[:2])
    doing.tell(f"  dip chart, stick at {foot} mm ahead and left, on the level:")
    step = max(1, len(chart.depth_mm) // 12)
    for at in range(0, len(chart.depth_mm), step):
        litres = float(chart.volume_mm3[at]) / 1e6
        doing.tell(
            f"    {length_text(float(chart.depth_mm[at]), doing.show)}: {litres:.2f} l, "
            f"{litres / LITRES_PER_US_GALLON:.2f} US gal, "
            f"{litres / LITRES_PER_IMPERIAL_GALLON:.2f} imp gal"
        )
