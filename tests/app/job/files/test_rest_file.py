"""A file of the rest of a tank: read in its own unit, wrong ones told with their place."""

import json
from pathlib import Path
from typing import Any

import pytest

from app.job import BadFileError, GaugeChoice, RestOfTank, read_rest


def written(folder: Path, content: Any) -> Path:
    path = folder / "rest.json"
    path.write_text(json.dumps(content), encoding="utf-8")
    return path


def test_lengths_are_read_in_the_files_own_unit(tmp_path: Path) -> None:
    path = written(tmp_path, {"unit": "in", "gauges": {"spacing": 3.0}})
    rest = read_rest(path)
    assert rest.gauges is not None
    assert rest.gauges.spacing_mm == pytest.approx(76.2, rel=1e-15)


def test_what_is_not_named_is_not_begun(tmp_path: Path) -> None:
    assert read_rest(written(tmp_path, {"unit": "mm"})) == RestOfTank()
    named = read_rest(written(tmp_path, {"unit": "mm", "gauges": {}}))
    assert named == RestOfTank(gauges=GaugeChoice())


@pytest.mark.parametrize(
    ("content", "where"),
    [
        ([], ""),
        ({"gauges": {}}, ""),
        ({"unit": "ft"}, "unit"),
        ({"unit": "mm", "gauges": {"spacing_mm": 75}}, "gauges"),
        ({"unit": "mm", "gauges": {"spacing": "75"}}, "gauges.spacing"),
        ({"unit": "mm", "wings": {}}, ""),
    ],
)
def test_what_is_wrong_is_told_with_its_place(tmp_path: Path, content: Any, where: str) -> None:
    with pytest.raises(BadFileError) as caught:
        read_rest(written(tmp_path, content))
    assert caught.value.where == where


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ({"tunnel": {"length": "16in"}}, "write it bare, in the unit the file says, as 12.5"),
        ({"tunnel": {"length": 400, "flare_deg": "5 deg"}}, "write it bare, in degrees, as 12.5"),
        ({"tunnel": {"length": 400, "tube": {"name": "a", "start": [0, "1", 2]}}}, "lacks"),
        ({"capacity": {"part": {"litres": "3.5 l"}}}, "write it bare, as 12.5"),
    ],
)
def test_how_a_number_is_written_is_told(tmp_path: Path, content: Any, words: str) -> None:
    with pytest.raises(BadFileError) as found:
        read_rest(written(tmp_path, {"unit": "mm", **content}))
    assert words in found.value.reason


def test_a_list_is_no_file_of_a_tank(tmp_path: Path) -> None:
    with pytest.raises(BadFileError) as found:
        read_rest(written(tmp_path, []))
    assert "braces" in found.value.reason
