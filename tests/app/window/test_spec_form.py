"""Forms of decisions: each kind of field typed into, read in the maker's unit, wrong words told."""

import math
from dataclasses import dataclass, field
from typing import Any

import pytest

from app.window.steps import FormRow, SpecForm, SpecList
from tests.app.window.conftest import typed

pytestmark = pytest.mark.window


@dataclass(frozen=True)
class End:
    height_mm: float = 60.0
    at_mm: float = -5.0


@dataclass(frozen=True)
class Spec:
    front: End = field(default_factory=End)
    lean_rad: float = 0.1
    count: int = 2
    form: str = "round"
    is_left: bool = False
    name: str = "tube"


ROWS = (
    FormRow("front.height_mm", "Height", least=1.0),
    FormRow("front.at_mm", "Ahead", "place"),
    FormRow("lean_rad", "Lean", "angle"),
    FormRow("count", "How many", "count"),
    FormRow("form", "Form", "choice", choices=(("round", "half round"), ("flat", "flat"))),
    FormRow("is_left", "Left", "yes"),
    FormRow("name", "Name", "text"),
)


@pytest.fixture
def form(window: Any) -> tuple[SpecForm, list[Any]]:
    made = SpecForm(ROWS)
    made.setParent(window)
    told: list[Any] = []
    made.changed.connect(told.append)
    made.show_spec(Spec(), "mm")
    made.show()
    return made, told


@pytest.mark.parametrize(
    ("path", "words", "value"),
    [
        ("front.height_mm", "2 1/2 in", 63.5),
        ("front.at_mm", "-12,5", -12.5),
        ("lean_rad", "7.5", math.radians(7.5)),
        ("name", "top tube", "top tube"),
    ],
)
def test_what_is_typed_comes_back_in_the_decision(
    form: tuple[SpecForm, list[Any]], path: str, words: str, value: object
) -> None:
    made, told = form
    typed(made.fields[path], words)
    spec: Any = told[-1]
    for name in path.split("."):
        spec = getattr(spec, name)
    assert spec == pytest.approx(value) if isinstance(value, float) else spec == value


def test_boxes_and_counts_come_back(form: tuple[SpecForm, list[Any]]) -> None:
    made, told = form
    box, count, tick = (made.fields[path] for path in ("form", "count", "is_left"))
    box.setCurrentIndex(1)  # type: ignore[attr-defined]
    box.activated.emit(1)  # type: ignore[attr-defined]
    assert told[-1].form == "flat"
    typed(count, "5")
    assert told[-1].count == 5
    tick.click()  # type: ignore[attr-defined]
    assert told[-1].is_left is True


@pytest.mark.parametrize(
    ("path", "words"), [("front.height_mm", "0.5"), ("front.height_mm", "tall"), ("lean_rad", "x")]
)
def test_what_cannot_be_is_marked_and_not_taken(
    form: tuple[SpecForm, list[Any]], path: str, words: str
) -> None:
    made, told = form
    typed(made.fields[path], words)
    assert told == []
    assert made.fields[path].property("wrong") is True
    assert made.fields[path].toolTip()


def test_a_list_is_added_to_changed_and_taken_from(window: Any) -> None:
    rows = (FormRow("height_mm", "Height"),)
    listed = SpecList("Ends", "Add an end", rows)
    listed.setParent(window)
    items: list[Any] = [()]

    def show(found: tuple[End, ...]) -> None:
        items.append(found)
        listed.show_items(found, [f"{end.height_mm:.0f} mm" for end in found], End(), "mm")

    listed.changed.connect(show)
    show(())
    listed.add.click()
    listed.add.click()
    assert items[-1] == (End(), End())
    typed(listed.form.fields["height_mm"], "71")
    assert items[-1] == (End(), End(71.0))
    listed.list.setCurrentRow(0)
    listed.remove.click()
    assert items[-1] == (End(71.0),)
