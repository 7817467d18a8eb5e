"""What leaves of a tank besides its panels: flat pieces at full size, sheets, numbers.

`REST` is the one table: a row for each step besides the panels. What it gives goes into the
folder of a layout, on the pages the window shows, and into results, once its step is made.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from app.delivery.findings import Json
from app.delivery.flanges import flanges_told, plates_of_flanges, sheaves_of_flanges
from app.delivery.frame_fit import frame_told, sheaves_of_frame
from app.delivery.fuel import (
    capacity_json,
    capacity_plates,
    capacity_sheaves,
    fittings_json,
    fittings_plates,
    fittings_sheaves,
)
from app.delivery.gauges import gauges_told, plates_of_gauges, sheaves_of_gauges
from app.delivery.seat import plates_of_seat, seat_told, sheaves_of_seat
from app.delivery.sheets import NotReadyError, direction_of, tank_model
from app.delivery.tunnel import tunnel_plates_of, tunnel_sheaves, tunnel_told_json
from app.exports import (
    JobFacts,
    Output,
    Plate,
    Sheaf,
    TankModel,
    plate_files,
    plate_page_names,
    sheaf_bytes,
    sheaves_of_plate,
)
from app.job import JobState, Metals, Surface, directions_of, made
from app.units import Fractions
from geometry.metal import METALS


@dataclass(frozen=True, eq=False)
class RestJob:
    """What pages of the rest of a tank are made of.

    Attributes
    ----------
    state : JobState
    facts : JobFacts
    tank : TankModel
        In its panels where it is cut; in one piece, of no name, where not.
    output : Output
    fractions : Fractions
    metals : mapping of name to SheetMetal
    """

    state: JobState
    facts: JobFacts
    tank: TankModel
    output: Output
    fractions: Fractions
    metals: Metals


def _no_plates(job: RestJob) -> tuple[Plate, ...]:
    return ()


def _no_sheaves(job: RestJob) -> tuple[Sheaf, ...]:
    return ()


@dataclass(frozen=True)
class RestKind:
    """What one step besides the panels gives, once it is made.

    Attributes
    ----------
    step : str
        Its name in the table of steps.
    told : function of JobState
        Its numbers for results, under its own key.
    plates : function of RestJob
        Flat pieces and templates; each becomes files of its own.
    sheaves : function of RestJob
        Other pages, file by file.
    """

    step: str
    told: Callable[[JobState], Json]
    plates: Callable[[RestJob], tuple[Plate, ...]] = _no_plates
    sheaves: Callable[[RestJob], tuple[Sheaf, ...]] = _no_sheaves


REST: tuple[RestKind, ...] = (
    RestKind("Gauges", gauges_told, plates_of_gauges, sheaves_of_gauges),
    RestKind("Seat face", seat_told, plates_of_seat, sheaves_of_seat),
    RestKind("Frame fit", frame_told, sheaves=sheaves_of_frame),
    RestKind("Capacity", capacity_json, capacity_plates, capacity_sheaves),
    RestKind("Fittings", fittings_json, fittings_plates, fittings_sheaves),
    RestKind("Tunnel", tunnel_told_json, tunnel_plates_of, tunnel_sheaves),
    RestKind("Flanges", flanges_told, plates_of_flanges, sheaves_of_flanges),
)


def rest_job(
    state: JobState,
    facts: JobFacts,
    *,
    metals: Metals = METALS,
    output: Output | None = None,
    fractions: Fractions | None = None,
) -> RestJob:
    """Return what pages of the rest of a tank are made of.

    Parameters
    ----------
    state : JobState
    facts : JobFacts
        As `job_facts` gives them.
    metals : mapping of name to SheetMetal
        Those whose figures are known.
    output : Output, optional
    fractions : Fractions, optional
        To which fraction of an inch lengths are told.

    Raises
    ------
    NotReadyError
        The tank's surface is not made.
    """
    how = (output or Output(), fractions or Fractions(), dict(metals))
    return RestJob(state, facts, whole_tank(state), *how)


def whole_tank(state: JobState) -> TankModel:
    """Return the tank for pictures: in its panels where it is cut, else in one piece.

    Raises
    ------
    NotReadyError
    """
    if made(state, "Seams") is not None:
        return tank_model(state)
    surface: Surface | None = made(state, "Surface")
    if surface is None:
        raise NotReadyError("")
    working, said = surface.working, directions_of(state)
    return TankModel(
        vertices=working.outside,
        faces=working.mesh.faces,
        panel_of_face=np.zeros(len(working.mesh.faces), np.int64),
        names=("",),
        front=direction_of(said.front),
        up=direction_of(said.top),
        filled=working.filled,
        copied=working.copied,
    )


def kinds_made(state: JobState, step: str = "") -> tuple[RestKind, ...]:
    """Return the rows whose step is made; of one step only where that is asked."""
    return tuple(
        kind for kind in REST if step in ("", kind.step) and made(state, kind.step) is not None
    )


def rest_sheaves(job: RestJob, kinds: Sequence[RestKind]) -> tuple[Sheaf, ...]:
    """Return the pages of some rows, as `rest_files` writes them."""
    return tuple(sheaf for kind in kinds for sheaf in _sheaves_of(job, kind))


def _sheaves_of(job: RestJob, kind: RestKind) -> list[Sheaf]:
    plates = kind.plates(job)
    of_plates = [sheaf for plate in plates for sheaf in sheaves_of_plate(plate, job.output)]
    return [*kind.sheaves(job), *of_plates]


def rest_files(job: RestJob, kind: RestKind, composed: Sequence[Sheaf] = ()) -> dict[str, bytes]:
    """Return the files of one row by their names; pages among `composed` are not made again."""
    plates = kind.plates(job)
    known = {sheaf.name: sheaf for sheaf in composed}
    found: dict[str, bytes] = {}
    for sheaf in kind.sheaves(job):
        found[sheaf.name] = sheaf_bytes(known.get(sheaf.name, sheaf))
    for plate in plates:
        own = tuple(known[name] for name in plate_page_names(plate, job.output) if name in known)
        found |= plate_files(plate, job.output, composed=own)
    return found


def rest_json(state: JobState) -> Json:
    """Return the numbers of everything made besides the panels, each row's under its own key."""
    return {kind.step.lower().replace(" ", "_"): kind.told(state) for kind in kinds_made(state)}
