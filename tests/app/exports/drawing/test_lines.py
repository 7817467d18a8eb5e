"""Lines and their curves, and what hangs on their meanings."""

import numpy as np
import pytest

from app.exports.drawing import (
    LAYERS,
    LINE_TYPES,
    STROKES,
    Drawing,
    Line,
    Meaning,
    curved,
    layer_of,
)
from app.exports.facing import Lay
from geometry.pattern import circle_curve

EDGES_AND_FOLDS = (
    Meaning.NET,
    Meaning.CUT,
    Meaning.AFTER_FORMING,
    Meaning.BEND_UP,
    Meaning.BEND_DOWN,
    Meaning.ROLL,
    Meaning.ALLOWANCE,
    Meaning.STATION,
)


def test_every_meaning_has_a_stroke_and_a_layer() -> None:
    assert set(STROKES) == set(Meaning)
    assert {layer_of(meaning) for meaning in Meaning} <= set(LAYERS)
    assert {layer.line_type for layer in LAYERS.values()} <= {"CONTINUOUS", *LINE_TYPES}


def test_only_the_line_to_cut_is_on_the_layer_to_cut() -> None:
    assert [meaning for meaning in Meaning if layer_of(meaning) == "CUT"] == [Meaning.CUT]


def test_lines_that_must_not_be_confused_are_dashed_differently() -> None:
    """On paper all are black: the dashes tell net, cut, bends, rolls and stations apart."""
    dashes = [STROKES[meaning].dashes for meaning in EDGES_AND_FOLDS]
    assert len(set(dashes)) == len(dashes)
    assert STROKES[Meaning.NET].dashes == ()


def test_a_line_type_in_a_file_is_the_dash_on_paper() -> None:
    for meaning in EDGES_AND_FOLDS:
        line_type = LAYERS[layer_of(meaning)].line_type
        drawn = STROKES[meaning].dashes
        pattern = LINE_TYPES.get(line_type, ())
        if line_type not in {"CONTINUOUS", "PHANTOM"}:  # stations and rolls share one
            assert tuple(abs(dash) for dash in pattern) == drawn


def test_a_curved_line_keeps_its_curve_wherever_it_goes() -> None:
    """Points within 0.005 mm of a circle of radius 40; moved, they and the curve go together."""
    line = curved(Meaning.NET, circle_curve(np.array([3.0, 4.0]), 40.0))
    assert line.closed
    for found, centre in (
        (line, (3.0, 4.0)),
        (Drawing((line,)).moved(10.0, -5.0).lines[0], (13.0, -1.0)),
    ):
        assert found.curve is not None
        assert found.curve.length == pytest.approx(80.0 * np.pi, abs=1e-9)
        for points in (found.points, found.curve.sampled(0.005)):
            radii = np.linalg.norm(points - centre, axis=1)
            assert radii == pytest.approx(np.full(len(points), 40.0), abs=1e-9)
        middles = (found.points + np.roll(found.points, -1, axis=0)) / 2.0
        assert np.linalg.norm(middles - centre, axis=1).min() > 40.0 - 0.005


def test_a_line_of_points_moves_without_a_curve() -> None:
    line = Line(Meaning.CUT, np.array([[0.0, 0.0], [5.0, 0.0]])).moved(1.0, 2.0)
    assert line.curve is None
    assert line.points.tolist() == [[1.0, 2.0], [6.0, 2.0]]


@pytest.mark.parametrize("face", ["inside", "outside"])
@pytest.mark.parametrize("turn_rad", [0.0, np.pi / 2.0, 0.3])
def test_curve_and_points_lie_the_same_way_on_paper(face: str, turn_rad: float) -> None:
    lay = Lay(face, turn_rad)  # type: ignore[arg-type]
    curve = circle_curve(np.array([50.0, 20.0]), 30.0)
    assert lay.curve_on_paper(curve).sampled(0.01) == pytest.approx(
        lay.on_paper(curve.sampled(0.01)), abs=1e-9
    )
