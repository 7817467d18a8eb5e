"""A second process beside this one: the same results, the same errors, and no trace when ended."""

import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from app.command_line.beside import Beside, carried_beside, cores, done_beside
from app.delivery import FilesToMake, MadeFiles, deliver
from app.job import DatumChoice, carried_through, failure, made, panel_names, with_name
from geometry.datum import NothingFacesError
from geometry.progress import Cancelled, Report, silent
from geometry.scan import NothingLeftError
from tests.app.job.small_tank import carried, decided

DATED = date(2030, 4, 1)


@dataclass(frozen=True)
class Square:
    """Gives a number's square, and which process worked it out."""

    number: float

    def run(self, report: Report = silent) -> tuple[float, int]:
        report(0.5, "squaring")
        return self.number**2, os.getpid()


@dataclass(frozen=True)
class Failing:
    """Ends in an error that carries data."""

    def run(self, report: Report = silent) -> None:
        raise NothingLeftError("cut", 3)


@dataclass(frozen=True)
class Ending:
    """Ends any process but one."""

    but: int

    def run(self, report: Report = silent) -> int:
        if os.getpid() != self.but:
            os._exit(1)
        return 7


@pytest.fixture(scope="module")
def beside() -> Iterator[Beside]:
    started = Beside()
    started.start()
    yield started
    started.close()


def test_jobs_are_shared_out_and_come_back_in_order(beside: Beside) -> None:
    seen: list[float] = []
    jobs = [Square(float(number)) for number in range(6)]
    found = done_beside(jobs, beside, lambda done, _: seen.append(done))
    assert [square for square, _ in found] == [0.0, 1.0, 4.0, 9.0, 16.0, 25.0]
    processes = {process for _, process in found}
    assert len(processes) == 2
    assert os.getpid() in processes
    assert seen == sorted(seen)


def test_without_anybody_beside_all_is_done_here() -> None:
    found = done_beside([Square(2.0), Square(3.0)], Beside())
    assert found == [(4.0, os.getpid()), (9.0, os.getpid())]
    assert not Beside().is_there


def test_an_error_over_there_is_raised_here_with_what_it_carries(beside: Beside) -> None:
    with pytest.raises(NothingLeftError) as caught:
        done_beside([Square(1.0), Square(2.0), Failing()], beside)
    assert (caught.value.by, caught.value.number) == ("cut", 3)
    assert done_beside([Square(1.0), Square(2.0)], beside)[1][0] == 4.0


def test_an_answer_nobody_took_is_not_taken_for_the_next(beside: Beside) -> None:
    beside.give(Square(5.0))
    beside.give(Square(6.0))
    assert beside.taken()[1][0] == 36.0


def test_a_stop_here_stops_at_once() -> None:
    def stop(done: float, stage: str) -> None:
        raise Cancelled

    with pytest.raises(Cancelled):
        done_beside([Square(1.0)], Beside(), stop)


def test_the_job_is_the_same_as_made_here_alone(beside: Beside) -> None:
    """The same functions of the same inputs: equal to the last bit."""
    state = carried_beside(decided(), "Paper", beside)
    assert panel_names(state) == panel_names(carried())
    for name in panel_names(state):
        one, other = (made(each, "Blanks", name).flat for each in (state, carried()))
        np.testing.assert_array_equal(one.flat_vertices, other.flat_vertices)
        assert made(state, "Paper", name).trim_mm == made(carried(), "Paper", name).trim_mm


def test_left_against_right_that_cannot_be_had_stops_nothing_else() -> None:
    """A centre plane half a metre beside the tank: nothing faces anything across it."""
    beside_tank = DatumChoice(
        "given",
        plane=((0.0, 500.0, 0.0), (0.0, 1.0, 0.0)),
        level="given",
        up=(0.0, 0.0, 1.0),
        front=(1.0, 0.0, 0.0),
    )
    state = carried_beside(replace(decided(), datum=beside_tank), "Surface", Beside())
    assert made(state, "Surface") is not None
    assert isinstance(failure(state, "Sides"), NothingFacesError)
    with pytest.raises(NothingFacesError):
        carried_through(replace(decided(), datum=beside_tank), "Surface")


def test_a_process_that_is_lost_is_done_without_and_one_that_is_ended_is_gone() -> None:
    lost = Beside()
    lost.start()
    here = os.getpid()
    assert done_beside([Ending(here)] * 3, lost) == [7, 7, 7]
    assert not lost.is_there
    assert done_beside([Square(3.0)], lost) == [(9.0, here)]
    assert cores() >= 1


def contents(folder: Path) -> dict[str, bytes]:
    """Return what every file of a folder holds."""
    return {path.name: path.read_bytes() for path in folder.iterdir()}


@pytest.mark.slow
def test_files_made_by_two_processes_are_those_made_by_one_and_a_stop_leaves_the_old_ones(
    beside: Beside, tmp_path: Path
) -> None:
    """To the last byte; stopped half way, while the other process is at work, nothing is moved."""

    def shared(lots: Sequence[FilesToMake], report: Report) -> list[MadeFiles]:
        return done_beside(lots, beside, report)

    def stop(done: float, stage: str) -> None:
        if done > 0.4:
            raise Cancelled

    deliver(carried(), tmp_path / "one", dated=DATED)
    deliver(carried(), tmp_path / "two", dated=DATED, making=shared)
    assert contents(tmp_path / "one") == contents(tmp_path / "two")
    changed = with_name(carried(), "another")
    with pytest.raises(Cancelled):
        deliver(changed, tmp_path / "two", dated=DATED, replace=True, making=shared, report=stop)
    assert contents(tmp_path / "one") == contents(tmp_path / "two")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["one", "two"]
    assert done_beside([Square(1.0), Square(2.0)], beside)[1][0] == 4.0
