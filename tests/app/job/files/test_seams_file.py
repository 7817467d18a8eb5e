"""The seams file: read strictly, refused by place, written so that it reads back the same."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from app.job import (
    BadFileError,
    JobState,
    PanelName,
    SeamLine,
    read_seams,
    save_seams,
    with_directions,
    with_panel_names,
    with_seams,
    with_seams_file,
)
from app.job.choices.state import Directions
from app.job.files import seams_file as seams_file_module
from tests.app.job.small_tank import decided


def sound() -> dict[str, Any]:
    """Return a seams file's content with one of everything."""
    return {
        "unit": "mm",
        "seams": [
            {"name": "rail", "points": [[0, 1.5, -2], [1e2, 0, 0]]},
            {"name": "ring", "points": [[0, 0, 0], [1, 0, 0], [0, 1, 0]], "closed": True},
        ],
        "panels": [{"name": "top", "inside": [1, 2, 3]}],
        "front": [1, 0, 0],
        "top": [0, 0, 2],
    }


def written(folder: Path, value: Any) -> Path:
    path = folder / "seams.json"
    text = value if isinstance(value, bytes) else json.dumps(value).encode()
    path.write_bytes(text)
    return path


def refused(folder: Path, value: Any) -> BadFileError:
    path = written(folder, value)
    with pytest.raises(BadFileError) as caught:
        read_seams(path)
    assert caught.value.path == path
    return caught.value


def test_a_seams_file_is_read_as_it_stands(tmp_path: Path) -> None:
    found = read_seams(written(tmp_path, sound()))
    assert found.unit == "mm"
    assert found.seams == (
        SeamLine("rail", ((0.0, 1.5, -2.0), (100.0, 0.0, 0.0))),
        SeamLine("ring", ((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)), True),
    )
    assert found.panel_names == (PanelName("top", (1.0, 2.0, 3.0)),)
    assert found.directions == Directions((1.0, 0.0, 0.0), (0.0, 0.0, 2.0))
    assert all(isinstance(x, float) for x in found.seams[0].points[0])


def test_panels_and_directions_may_be_left_out_and_a_byte_order_mark_may_stand_first(
    tmp_path: Path,
) -> None:
    least = {"unit": "in", "seams": sound()["seams"][:1]}
    found = read_seams(written(tmp_path, b"\xef\xbb\xbf" + json.dumps(least).encode()))
    assert (found.unit, found.panel_names, found.directions) == ("in", (), Directions())


Change = Callable[[dict[str, Any]], object]
WRONG: dict[str, tuple[Change, str, str]] = {
    "unknown field": (lambda f: f.update(colour=1), "", 'unknown field "colour"'),
    "unknown field of a seam": (
        lambda f: f["seams"][1].update(width=2), "seams[1]", 'unknown field "width"',
    ),
    "no unit": (lambda f: f.pop("unit"), "", 'lacks the field "unit"'),
    "wrong unit": (lambda f: f.update(unit="ft"), "unit", "not one of: mm, cm, m, in"),
    "unit null": (lambda f: f.update(unit=None), "unit", "not one of"),
    "unit in capitals": (lambda f: f.update(unit="MM"), "unit", "not one of"),
    "no seams": (lambda f: f.pop("seams"), "", 'lacks the field "seams"'),
    "empty seams": (lambda f: f.update(seams=[]), "seams", "holds no seam"),
    "seams an object": (lambda f: f.update(seams={}), "seams", "not a list"),
    "seam a list": (lambda f: f["seams"].insert(0, []), "seams[0]", "not an object"),
    "name a number": (lambda f: f["seams"][0].update(name=5), "seams[0].name", "not a text"),
    "name blank": (lambda f: f["seams"][0].update(name="  "), "seams[0].name", "not a text"),
    "name with a new line": (
        lambda f: f["seams"][0].update(name="a\nb"), "seams[0].name", "not a text",
    ),
    "one point": (
        lambda f: f["seams"][0]["points"].pop(), "seams[0].points", "holds 1 point, fewer than 2",
    ),
    "two points closed": (
        lambda f: f["seams"][1]["points"].pop(), "seams[1].points", "2 points, fewer than 3",
    ),
    "point of two": (
        lambda f: f["seams"][0]["points"][1].pop(), "seams[0].points[1]", "has 2 numbers",
    ),
    "point of text": (
        lambda f: f["seams"][0]["points"].insert(0, ["1", 2, 3]),
        "seams[0].points[0][0]", "not a number",
    ),
    "point of truth": (
        lambda f: f["seams"][0]["points"].insert(0, [1, True, 3]),
        "seams[0].points[0][1]", "not a number",
    ),
    "endless point": (
        lambda f: f["seams"][0]["points"].insert(0, [1, 2, 10**400]),
        "seams[0].points[0][2]", "too large",
    ),
    "closed a number": (lambda f: f["seams"][0].update(closed=1), "seams[0].closed", "neither"),
    "twin seams": (
        lambda f: f["seams"][1].update(name="rail"), "seams[1]", 'name "rail", which is taken',
    ),
    "twin panels": (
        lambda f: f["panels"].append(f["panels"][0]), "panels[1]", 'name "top", which is taken',
    ),
    "panel without a point": (lambda f: f["panels"][0].pop("inside"), "panels[0]", "lacks"),
    "front nowhere": (lambda f: f.update(front=[0, 0.0, -0.0]), "front", "points nowhere"),
    "top null": (lambda f: f.update(top=None), "top", "not a list"),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_what_is_wrong_is_refused_with_its_place(tmp_path: Path, name: str) -> None:
    change, where, reason = WRONG[name]
    value = sound()
    change(value)
    error = refused(tmp_path, value)
    assert error.where == where
    assert reason in error.reason


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        (b"", "line 1, column 1"),
        (b"[1, 2]", "not an object"),
        (b"null", "not an object"),
        (b'{"unit": "mm",\n "seams": [', "line 2"),
        (b'{"unit": "mm", "unit": "in", "seams": []}', '"unit" twice'),
        (b'{"unit": "mm", "seams": [{"name": "a", "points": [[NaN, 0, 0]]}]}', "NaN"),
        (b'{"unit": "mm", "seams": [{"name": "a", "points": [[-Infinity, 0]]}]}', "-Infinity"),
        (b'{"unit": "mm", "seams": [{"name": "a", "points": [[1e999, 0, 0]]}]}', "too large"),
        (b'{"unit": "mm", "seams": ' + b"1" * 5000 + b"}", "too long"),
        (b"[" * 100_000, "too deep"),
        ("\u00e9".encode("latin-1"), "UTF-8"),
        ('{"unit": "mm"}'.encode("utf-16"), "UTF-8"),
    ],
)
def test_text_that_is_not_the_json_asked_for_is_refused(
    tmp_path: Path, text: bytes, reason: str
) -> None:
    assert reason in refused(tmp_path, text).reason


def test_a_file_too_large_to_be_one_is_refused_unread(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(seams_file_module, "LARGEST_SEAMS_FILE", 10)
    assert "too large" in refused(tmp_path, sound()).reason


def test_a_missing_file_is_the_systems_error(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        read_seams(tmp_path / "none.json")


def test_seams_written_read_back_the_same_to_the_last_bit(tmp_path: Path) -> None:
    path = tmp_path / "seams.json"
    save_seams(decided(), "mm", path)
    first = path.read_bytes()
    state = with_seams_file(JobState(), read_seams(path), 1.0)
    assert (state.seams, state.panel_names) == (decided().seams, decided().panel_names)
    assert state.directions == decided().directions
    save_seams(state, "mm", path)
    assert path.read_bytes() == first


def test_any_seams_a_job_holds_can_be_read_back(tmp_path: Path) -> None:
    """Names a file may not hold are written so that they read."""
    rail = decided().seams[0]
    state = with_seams(JobState(), (SeamLine("a\tb", rail.points), SeamLine("", rail.points)))
    state = with_panel_names(state, (PanelName("\ud800", (0.0, 0.0, 0.0)),))
    path = tmp_path / "seams.json"
    save_seams(state, "mm", path)
    found = read_seams(path)
    assert [seam.name for seam in found.seams] == ["a_b", "unnamed"]
    assert [name.name for name in found.panel_names] == ["_"]


@pytest.mark.parametrize(
    ("unit", "mm_per_unit", "factor"),
    [("mm", 1.0, 1.0), ("in", 1.0, 25.4), ("mm", 25.4, 1 / 25.4), ("m", 10.0, 100.0)],
)
def test_points_are_taken_into_the_scans_unit_and_directions_are_not(
    tmp_path: Path, unit: str, mm_per_unit: float, factor: float
) -> None:
    """One inch is 25.4 mm exactly. Source: international yard and pound agreement, 1959."""
    file = read_seams(written(tmp_path, sound() | {"unit": unit}))
    state = with_seams_file(JobState(), file, mm_per_unit)
    assert state.seams[0].points[1] == pytest.approx((100.0 * factor, 0.0, 0.0), rel=1e-15)
    assert state.panel_names[0].inside == pytest.approx(
        (factor, 2.0 * factor, 3.0 * factor), rel=1e-15
    )
    assert state.directions == Directions((1.0, 0.0, 0.0), (0.0, 0.0, 2.0))


def test_directions_the_file_does_not_say_stay_as_they_were(tmp_path: Path) -> None:
    value = sound()
    del value["front"]
    before = with_directions(JobState(), Directions((0.0, 1.0, 0.0), (0.0, 1.0, 0.0)))
    after = with_seams_file(before, read_seams(written(tmp_path, value)), 1.0)
    assert after.directions == Directions((0.0, 1.0, 0.0), (0.0, 0.0, 2.0))
    assert before.seams == ()
