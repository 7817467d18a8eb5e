"""Dataclasses as JSON and back: exact in a job file, in the maker's unit and degrees elsewhere."""

import json
import math
from dataclasses import dataclass
from typing import Any, Literal

import pytest

from app.job.files.plain_json import Written, facts_of, value_of
from app.job.files.strict_json import BadFieldError


@dataclass(frozen=True)
class End:
    height_mm: float
    width_mm: float


@dataclass(frozen=True)
class Made:
    form: Literal["half round", "flat"]
    front: End
    flare_rad: float = 0.0
    steps: tuple[End, ...] = ()
    at: tuple[float, float, float] | None = None
    places_mm: tuple[float, ...] = ()
    is_left: bool = False
    count: int = 1
    note: str = ""


MADE = Made("flat", End(60.1, 70.3), 0.1, (End(1.0, 2.0),), (1.0, 2.0, 3.0), (0.1, 0.7), True, 3)


def test_what_is_written_comes_back_to_the_last_digit() -> None:
    assert value_of(Made, json.loads(json.dumps(facts_of(MADE))), "made") == MADE


@pytest.mark.parametrize("mm_per_unit", [1.0, 25.4])
def test_a_maker_writes_their_own_unit_and_degrees(mm_per_unit: float) -> None:
    written = Written(mm_per_unit)
    found = facts_of(MADE, written)
    assert found["front"]["height"] == 60.1 / mm_per_unit
    assert found["flare_deg"] == pytest.approx(math.degrees(0.1), rel=1e-15)
    back = value_of(Made, found, "", written)
    assert back.front.height_mm == pytest.approx(60.1, rel=1e-15)
    assert back.places_mm == pytest.approx((0.1, 0.7), rel=1e-15)
    assert back.at == (1.0, 2.0, 3.0)


def test_fields_left_out_are_as_they_usually_are() -> None:
    found = {"form": "flat", "front": {"height": 1, "width": 2}}
    assert value_of(Made, found, "", Written()) == Made("flat", End(1.0, 2.0))


@pytest.mark.parametrize(
    ("changed", "where"),
    [
        ({"form": "round"}, "made.form"),
        ({"front": {"height_mm": 1.0}}, "made.front"),
        ({"front": {"height_mm": "1", "width_mm": 2.0}}, "made.front.height_mm"),
        ({"steps": [{"height_mm": 1.0, "width_mm": True}]}, "made.steps[0].width_mm"),
        ({"at": [1.0, 2.0]}, "made.at"),
        ({"count": 1.5}, "made.count"),
        ({"is_left": 1}, "made.is_left"),
        ({"wide": 1.0}, "made"),
    ],
)
def test_what_is_wrong_is_told_with_its_place(changed: dict[str, Any], where: str) -> None:
    with pytest.raises(BadFieldError) as caught:
        value_of(Made, {**facts_of(MADE), **changed}, "made")
    assert caught.value.where == where
