"""What leaves of a tank besides its panels: flat pieces at full size, sheets, numbers.

`REST` is the one table: a row for each step besides the panels. What it gives goes into the
folder of a layout, on the pages the window shows, and into results, once its step is made.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from app.delivery.findings import Json
from app.delivery.flanges import plates_of_flanges, sheaves_of_flanges, told_of_flanges
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
from app.delivery.rest_job import RestJob
from app.delivery.seat import plates_of_seat, seat_told, sheaves_of_seat
from app.delivery.tunnel import tunnel_plates_of, tunnel_sheaves, tunnel_told_json
from app.exports import (
    Plate,
    Sheaf,
    booklets,
    files_of_plates,
    sheaf_bytes,
    sheaves_of_plate,
)
from app.job import JobState, made
from geometry.progress import Report, silent


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
    told : function of RestJob
        Its numbers for results.
    plates : function of RestJob
        Flat pieces and templates; each becomes files of its own.
    sheaves : function of RestJob
        Other pages, file by file.
    booklet : str
        How the files begin that bind the tiles of all its plates, one for each paper; "" where
        they are too few to bind.
    """

    step: str
    told: Callable[[RestJob], Json]
    plates: Callable[[RestJob], tuple[Plate, ...]] = _no_plates
    sheaves: Callable[[RestJob], tuple[Sheaf, ...]] = _no_sheaves
    booklet: str = ""

    @property
    def key(self) -> str:
        """Return the key its numbers stand under in results."""
        return self.step.lower().replace(" ", "_")


@dataclass(frozen=True)
class _OfState:
    """Numbers told of the job alone; a class, since rows go to the second process."""

    told: Callable[[JobState], Json]

    def __call__(self, job: RestJob) -> Json:
        return self.told(job.state)


REST: tuple[RestKind, ...] = (
    RestKind("Gauges", _OfState(gauges_told), plates_of_gauges, sheaves_of_gauges, "gauges"),
    RestKind("Seat face", _OfState(seat_told), plates_of_seat, sheaves_of_seat),
    RestKind("Frame fit", _OfState(frame_told), sheaves=sheaves_of_frame),
    RestKind("Capacity", _OfState(capacity_json), capacity_plates, capacity_sheaves),
    RestKind("Fittings", _OfState(fittings_json), fittings_plates, fittings_sheaves),
    RestKind("Tunnel", _OfState(tunnel_told_json), tunnel_plates_of, tunnel_sheaves),
    RestKind("Flanges", told_of_flanges, plates_of_flanges, sheaves_of_flanges),
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
    bound = booklets(kind.booklet, plates, of_plates, job.output) if kind.booklet else ()
    return [*kind.sheaves(job), *bound, *of_plates]


def rest_files(
    job: RestJob, kind: RestKind, composed: Sequence[Sheaf] = (), *, report: Report = silent
) -> dict[str, bytes]:
    """Return the files of one row by their names; pages among `composed` are not made again."""
    known = {sheaf.name: sheaf for sheaf in composed}
    found = {sheaf.name: sheaf_bytes(known.get(sheaf.name, sheaf)) for sheaf in kind.sheaves(job)}
    plates = kind.plates(job)
    return found | files_of_plates(
        plates, job.output, booklet=kind.booklet, composed=composed, report=report
    )


def rest_json(job: RestJob) -> Json:
    """Return the numbers of everything made besides the panels, each row's under its own key."""
    return {kind.key: kind.told(job) for kind in kinds_made(job.state)}
