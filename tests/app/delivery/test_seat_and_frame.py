"""Seat face and frame fit as they leave: rows of the table, files by name, numbers in JSON."""

import json
from functools import cache
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from app.delivery import REST, kinds_made, rest_files, rest_job, rest_json
from app.exports import JobFacts
from app.job import (
    FRAME_FIT,
    SEAT_FACE,
    FrameBody,
    FrameFitChoice,
    JobState,
    SeatChoice,
    TankSpot,
    carried_through,
    made,
    task_for,
    with_failure,
    with_rest,
    with_result,
)
from geometry.gauges import NoSeatFaceError
from tests.app.exports.sample_sheets import panel_sheet
from tests.app.job.small_tank import RADIUS_MM, decided

TOP = Path(__file__).resolve().parents[3]
FACTS: JobFacts = panel_sheet("left side").job
FOOT_MM = RADIUS_MM * np.cos(1.2)
REAR_MM = RADIUS_MM * np.sin(1.2)


@cache
def surfaced() -> JobState:
    return carried_through(decided(), "Surface")


@cache
def fitted() -> JobState:
    """The small dome with a tube 10 mm under the inside of its sheet, and a bolt above."""
    top = RADIUS_MM - FOOT_MM - 0.8
    tube = FrameBody(
        "top tube", "tube", "round",
        TankSpot(REAR_MM, 0, top - 0.8 - 10.0 - 40.0), TankSpot(REAR_MM, 0, top - 0.8 - 10.0), 2.0,
    )  # fmt: skip
    bolt = FrameBody(
        "bolt", "bolt", "round",
        TankSpot(REAR_MM, 0, RADIUS_MM - FOOT_MM + 20.0),
        TankSpot(REAR_MM, 0, RADIUS_MM - FOOT_MM + 40.0), 8.0,
    )  # fmt: skip
    state = with_rest(surfaced(), frame_fit=FrameFitChoice((tube, bolt)))
    for name in ("Stood", FRAME_FIT):
        task = task_for(state, name)
        assert task is not None
        state = with_result(state, task, task.run())
    return state


def test_nothing_is_begun_until_it_is_decided() -> None:
    assert task_for(surfaced(), FRAME_FIT) is None
    assert task_for(surfaced(), SEAT_FACE) is None
    assert {SEAT_FACE, FRAME_FIT} <= {kind.step for kind in REST}


def test_gaps_leave_as_a_list_and_as_numbers() -> None:
    (kind,) = kinds_made(fitted())
    job = rest_job(fitted(), FACTS)
    files = rest_files(job, kind)
    assert list(files) == ["frame fit.pdf"]
    found = json.loads(json.dumps(rest_json(job)))["frame_fit"]["gaps"]
    schema = json.loads((TOP / "app/schemas/summary.schema.json").read_text())
    jsonschema.validate({"gaps": found, "sheet": 1.6, "guessed": []},
                        schema["properties"]["frame_fit"])  # fmt: skip
    by_name = {each["body"]: each for each in found}
    # The dome stands for the middle of 1.6 mm sheet; its triangles lie up to 0.05 mm inside it.
    assert by_name["top tube"]["gap"] == pytest.approx(10.0 + 0.8, abs=0.15)
    assert by_name["top tube"]["side"] == "inside"
    assert by_name["bolt"]["gap"] == pytest.approx(20.0 - 0.8, abs=0.15)
    assert by_name["bolt"]["side"] == "outside"


def test_a_dome_has_no_seat_face_and_says_so() -> None:
    state = carried_through(with_rest(fitted(), seat=SeatChoice()), "Flat faces")
    task = task_for(state, SEAT_FACE)
    assert task is not None
    with pytest.raises(NoSeatFaceError) as caught:
        task.run()
    failed = with_failure(state, task, caught.value)
    assert made(failed, SEAT_FACE) is None
    assert [kind.step for kind in kinds_made(failed)] == [FRAME_FIT]
    assert made(failed, FRAME_FIT) is made(fitted(), FRAME_FIT)
