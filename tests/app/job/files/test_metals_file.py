"""The maker's own metals: read strictly, named however they are typed, kept for the next job."""

import json
import pickle
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from app.job import (
    BadFileError,
    MetalChoice,
    bent_as_known,
    keep_own_metal,
    known_metals,
    metal_named,
    own_metals_file,
    read_metals,
)
from geometry.metal import METALS, BadFactError, Figure, MissingFactError, UnknownMetalError

OWN = {"alloy": "5754", "temper": "H22", "density": 2.67, "elongation": 0.08, "source": "the mill"}


@pytest.fixture(autouse=True)
def own_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Give each test a settings folder of its own."""
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "settings"))
    return tmp_path


def written(folder: Path, text: str) -> Path:
    path = folder / "metals of ours.json"
    path.write_text(text, encoding="utf-8")
    return path


def test_a_file_of_facts_gives_metals_by_name(tmp_path: Path) -> None:
    found = read_metals(written(tmp_path, json.dumps({"metals": [OWN]})))
    assert list(found) == ["5754-H22"]
    assert found["5754-H22"].elongation_at(1.6) == Figure(0.08, "the mill")


@pytest.mark.parametrize(
    ("text", "where", "reason"),
    [
        ('{"metals": [{"alloy": "x"}]}', "metals[0]", 'lacks the fact "density"'),
        ('{"metals": [{"alloy": "x", "density": -1}]}', "metals[0]", "as -1; it must be a number"),
        ('{"metals": [{"alloy": "x", "density": 2, "heft": 1}]}', "metals[0]", '"heft"'),
        ('{"metals": [3]}', "metals[0]", "is not an object"),
        ('{"metal": []}', "", 'unknown field "metal"'),
        ('{"metals": [', "", "breaks off"),
        ('{"metals": [], "metals": []}', "", "twice"),
        (json.dumps({"metals": [OWN, OWN]}), "metals[1]", "is taken"),
    ],
)
def test_a_file_that_holds_something_else_is_refused_with_its_place(
    text: str, where: str, reason: str, tmp_path: Path
) -> None:
    with pytest.raises(BadFileError) as caught:
        read_metals(written(tmp_path, text))
    assert caught.value.where == where
    assert reason in caught.value.reason


@pytest.mark.parametrize("typed", ["3003-H14", "3003 h14", " 3003-h14 ", "3003  H14"])
def test_a_metal_is_found_however_its_name_is_typed(typed: str) -> None:
    assert metal_named(typed, METALS) is METALS["3003-H14"]


def test_an_unknown_metal_is_refused_with_those_known() -> None:
    with pytest.raises(UnknownMetalError) as caught:
        metal_named("3003", METALS)
    assert caught.value.known == tuple(METALS)


def test_a_metal_kept_is_known_from_then_on_and_one_of_its_name_is_replaced() -> None:
    assert known_metals() == dict(METALS)
    assert keep_own_metal(OWN).name == "5754-H22"
    keep_own_metal({**OWN, "alloy": "1200", "temper": ""})
    keep_own_metal({**OWN, "elongation": 0.09})
    found = known_metals()
    assert list(found) == [*METALS, "1200", "5754-H22"]
    assert found["5754-H22"].elongation_at(1.6) == Figure(0.09, "the mill")
    assert pickle.loads(pickle.dumps(found)) == found  # it goes to the worker


def test_the_makers_own_figures_take_the_place_of_those_known_from_the_start() -> None:
    keep_own_metal({**OWN, "alloy": "3003", "temper": "H14"})
    assert known_metals()["3003-H14"].elongation_at(1.6) == Figure(0.08, "the mill")


def test_a_metal_of_ones_own_brings_its_bend_radius_and_those_known_bring_none() -> None:
    """1.5 thicknesses of 1.6 mm: 2.4 mm; a metal without that fact, or unknown here, has none."""
    own = keep_own_metal({**OWN, "bend_radius": 1.5})
    metals = known_metals()
    sheet = MetalChoice(1.6, own.name, "middle")
    bent = bent_as_known(sheet, metals)
    assert bent.bend_radius_mm == pytest.approx(2.4)
    assert replace(bent, bend_radius_mm=None) == sheet
    assert bent_as_known(replace(bent, thickness_mm=2.0), metals).bend_radius_mm == 3.0
    for other in (replace(bent, alloy="3003-H14"), replace(bent, alloy="mystery")):
        assert bent_as_known(other, metals).bend_radius_mm is None


@pytest.mark.parametrize(
    ("facts", "error"),
    [({"alloy": "x"}, MissingFactError), ({**OWN, "elongation": "much"}, BadFactError)],
)
def test_a_metal_that_cannot_be_is_not_kept(facts: dict[str, Any], error: type[Exception]) -> None:
    with pytest.raises(error):
        keep_own_metal(facts)
    assert not own_metals_file().exists()


def test_nothing_is_added_to_a_damaged_file() -> None:
    own_metals_file().parent.mkdir(parents=True)
    own_metals_file().write_text("{")
    with pytest.raises(BadFileError):
        keep_own_metal(OWN)
    assert own_metals_file().read_text() == "{"
