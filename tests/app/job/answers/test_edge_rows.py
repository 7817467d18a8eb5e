"""The short table of edges: the pattern's own lengths, in one unit."""

from types import SimpleNamespace
from typing import Any

import pytest

from app.job import edge_rows, made
from tests.app.job.small_tank import carried


def pattern(flat: float, formed: float, *cut: float) -> Any:
    edge = SimpleNamespace(letter="A", other="top", flat_mm=flat, formed_mm=formed)
    gather = SimpleNamespace(letter="A", total_mm=cut)
    return SimpleNamespace(edges=(edge,), cut_gathers=(gather,) if cut else ())


@pytest.mark.parametrize(
    ("lengths", "show", "told"),
    [
        ((412.0, 398.0, 450.0, 429.0), "mm", ("412", "398", "\u221214", "\u221221")),
        ((100.0, 103.25), "mm", ("100", "103.2", "+3.2", "")),
        ((100.0, 100.02, 120.0, 120.04), "mm", ("100", "100", "0", "0")),
        ((304.8, 298.45, 330.2, 317.5), "in", ("12", "11 3/4", "\u22121/4", "\u22121/2")),
    ],
)
def test_an_edge_is_told_flat_formed_and_by_how_much(
    lengths: tuple[float, ...], show: str, told: tuple[str, ...]
) -> None:
    (row,) = edge_rows(pattern(*lengths), show)
    assert (row.flat, row.formed, row.at_net, row.at_cut) == told
    assert (row.letter, row.joins) == ("A", "top")


def test_every_edge_of_a_pattern_has_its_row_and_free_ones_say_so() -> None:
    for name in ("left", "top"):
        found = made(carried(), "Paper", name)
        rows = edge_rows(found)
        assert [row.letter for row in rows] == [edge.letter for edge in found.edges]
        for row in rows:
            assert (row.joins == "free") == row.letter.startswith("F")
            assert row.at_cut
