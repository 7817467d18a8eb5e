"""The table of working vertices read back with the standard library."""

import csv
import io

import numpy as np

from app.exports.files.csv import csv_bytes
from tests.app.exports.sample_sheets import cut_panel, panel_sheet


def _table() -> tuple[list[str], np.ndarray]:
    rows = list(csv.reader(io.StringIO(csv_bytes(panel_sheet("left side")).decode("ascii"))))
    return rows[0], np.array(rows[1:], np.float64)


def test_there_is_a_row_for_every_vertex_with_the_agreed_columns() -> None:
    names, table = _table()
    assert names == [
        "x",
        "y",
        "z",
        "u",
        "v",
        "larger_stretch",
        "smaller_stretch",
        "thickness_ratio",
        "no_data",
        "copied",
    ]
    flat = panel_sheet("left side").flat
    assert np.abs(table[:, :3] - flat.vertices).max() < 1e-6
    assert np.abs(table[:, 3:5] - flat.flat_vertices).max() < 1e-6


def test_ratios_are_those_of_the_faces_round_a_vertex() -> None:
    flat = panel_sheet("left side").flat
    _, table = _table()
    for vertex in (0, 57, 400):
        around = (flat.faces == vertex).any(axis=1)
        for column, values in ((5, flat.stretches[:, 0]), (6, flat.stretches[:, 1])):
            low, high = values[around].min(), values[around].max()
            assert low - 1e-6 <= table[vertex, column] <= high + 1e-6
    assert (table[:, 5] >= table[:, 6]).all()
    assert np.abs(table[:, 5] * table[:, 6] * table[:, 7] - 1.0).max() < 1e-3


def test_vertices_of_filled_faces_are_marked() -> None:
    filled = cut_panel("left side").filled
    flat = panel_sheet("left side").flat
    _, table = _table()
    assert set(np.flatnonzero(table[:, 8])) == set(flat.faces[filled].ravel().tolist())
    assert 0 < table[:, 8].sum() < len(table)


def test_the_same_sheet_gives_the_same_bytes() -> None:
    assert csv_bytes(panel_sheet("left side")) == csv_bytes(panel_sheet("left side"))
