"""What leaves besides the panels: plates, sheets and numbers, only once a step is made."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date

import pytest

import app.delivery.rest as rest_module
from app.delivery import RestJob, RestKind, composed, kinds_made, rest_files, rest_job, rest_json
from app.delivery.composed import whole_job
from app.delivery.lots import (
    Asked,
    FilesToMake,
    MadeFiles,
    RestFiles,
    TapeFiles,
    in_order_of_work,
    lots_of_job,
)
from app.delivery.sheets import job_facts, job_sheets
from app.exports import JobFacts, Output, Plate
from app.job import JobState, carried_through, made
from app.units import Fractions
from geometry.metal import METALS
from geometry.progress import Report, silent
from tests.app.exports.sample_plates import strip
from tests.app.job.small_tank import carried, decided

DATED = date(2030, 4, 1)


def plates(job: RestJob) -> tuple[Plate, ...]:
    return (replace(strip(proved=job.facts.size_proved), job=job.facts),)


def facts_of_job(state: JobState) -> JobFacts:
    return job_facts(state, made(state, "Size"), dated=DATED)


KIND = RestKind("Surface", lambda job: {"name": job.state.name}, plates)


@pytest.fixture
def one_row() -> Iterator[None]:
    before = rest_module.REST
    rest_module.REST = (KIND,)
    yield
    rest_module.REST = before


@pytest.mark.usefixtures("one_row")
def test_a_row_gives_nothing_before_its_step_is_made() -> None:
    sized = carried_through(decided(), "Size")
    assert kinds_made(sized) == ()


@pytest.mark.usefixtures("one_row")
def test_a_tank_that_is_not_cut_yet_has_its_plates_already() -> None:
    state = carried_through(decided(), "Surface")
    job = rest_job(state, facts_of_job(state))
    assert job.tank.names == ("",)
    files = rest_files(job, KIND)
    assert set(files) == {"test strip.pdf", "test strip_a4.pdf", "test strip_letter.pdf",
                          "test strip.dxf", "test strip.svg"}  # fmt: skip


@pytest.mark.usefixtures("one_row")
def test_pages_of_the_job_hold_those_of_the_row_and_files_are_written_from_them() -> None:
    state = carried()
    pages = composed(state, dated=DATED)
    names = [sheaf.name for sheaf in pages.sheaves]
    assert names[-3:] == ["test strip.pdf", "test strip_a4.pdf", "test strip_letter.pdf"]
    job = rest_job(state, facts_of_job(state))
    assert rest_files(job, KIND, pages.sheaves) == rest_files(job, KIND)


@pytest.mark.usefixtures("one_row")
def test_a_delivery_makes_the_row_a_lot_of_its_own_without_the_panels() -> None:
    state: JobState = carried()
    overview = job_sheets(state, dated=DATED)
    whole = whole_job(state, overview, None)
    job = rest_job(state, facts_of_job(state))
    lots = lots_of_job(state, whole, job, Asked(Output(), Fractions(), METALS, 1.2, None))
    (lot,) = (each for each in lots if isinstance(each, RestFiles))
    assert not any(part for _, part in lot.job.state.results)
    assert "test strip.dxf" in lot.run().files
    assert rest_json(job) == {"surface": {"name": state.name}}


@pytest.mark.usefixtures("one_row")
def test_a_lot_of_many_plates_tells_of_each_so_that_others_get_work_meanwhile() -> None:
    """Whoever shares out work does so while it is told how far it is, and at no other time."""
    state = carried_through(decided(), "Surface")
    job = rest_job(state, facts_of_job(state))
    three = RestKind("Surface", KIND.told, lambda of: plates(of) * 3)
    told: list[float] = []
    RestFiles(job, three).run(lambda done, stage: told.append(done))
    assert told == pytest.approx([0.0, 0.0, 1.0 / 3.0, 2.0 / 3.0])


@pytest.mark.usefixtures("one_row")
def test_what_takes_longest_is_begun_first() -> None:
    """Rows that are bound into a booklet have many plates: they go before what is done soon."""
    state: JobState = carried()
    overview = job_sheets(state, dated=DATED)
    job = rest_job(state, facts_of_job(state))
    whole = whole_job(state, overview, None)
    rest_module.REST = (KIND, replace(KIND, booklet="all plates"))
    lots = lots_of_job(state, whole, job, Asked(Output(), Fractions(), METALS, 1.2, None))
    begun: list[FilesToMake] = []

    def making(given: Sequence[FilesToMake], report: Report) -> list[MadeFiles]:
        begun.extend(given)
        return [MadeFiles({str(lots.index(lot)): b""}) for lot in given]

    found = in_order_of_work(lots, making, silent)
    assert [list(each.files) for each in found] == [[str(at)] for at in range(len(lots))]
    short, long = (each for each in lots if isinstance(each, RestFiles))
    assert begun.index(long) < begun.index(short)
    assert begun.index(long) < next(
        at for at, lot in enumerate(begun) if not isinstance(lot, RestFiles | TapeFiles)
    )
