"""Sweeps in the list of gauges: the boards, then which serves at each place of every station."""

from app.exports.pages.reduced_page import TEXT_MM, WIDE_MM, column_names
from app.exports.pages.title import Cell, paragraph, ruled_row
from app.job import (
    Gauges,
    along_words,
    gap_words,
    missing_words,
    radius_words,
    serving_words,
    use_words,
)
from app.units import length_text
from geometry.gauges import SweepUse

_BOARD_COLUMNS = (0.0, 12.0, 62.0, 112.0)
_PLACE_COLUMNS = (0.0, 16.0, 74.0, 112.0)


def sweep_board_names() -> Cell:
    """Return the names of the columns of boards."""
    return column_names(("no.", "radius of both edges", "long", "serves"), _BOARD_COLUMNS)


def sweep_place_names() -> Cell:
    """Return the names of the columns of places."""
    names = ("station", "along it from the centre line", "sweep", "how near")
    return column_names(names, _PLACE_COLUMNS)


def sweep_head(gauges: Gauges, show: str) -> list[Cell]:
    """Return what is told before the boards; nothing where there are no sweeps."""
    found = gauges.sweeps
    if found is None:
        return []
    face = "inside" if gauges.inside else "outside"
    words = [
        "SWEEPS: boards of one radius, held to the panel while it is raised where no template is. "
        f"Gaps are the widest under the board, on the {face} of the sheet; you asked for no more "
        f"than {gap_words(found.wishes.gap_mm)}.",
        *missing_words(found, show),
    ]
    return [paragraph([said], WIDE_MM, TEXT_MM) for said in words]


def sweep_board_rows(gauges: Gauges, show: str) -> list[Cell]:
    """Return a row for every board."""
    found = gauges.sweeps
    if found is None:
        return []
    return [
        ruled_row(
            (
                str(board.number),
                radius_words(board, show),
                length_text(board.chord_mm, show),
                serving_words(found, board),
            ),
            _BOARD_COLUMNS,
            WIDE_MM,
        )
        for board in found.boards
    ]


def sweep_place_rows(gauges: Gauges, show: str) -> list[Cell]:
    """Return a row for every place, by station, from the centre line outward."""
    found = gauges.sweeps
    if found is None:
        return []
    return [
        ruled_row(
            (
                str(use.place.station),
                along_words(use, show),
                _which(use),
                use_words(found, use),
            ),
            _PLACE_COLUMNS,
            WIDE_MM,
        )
        for use in found.uses
    ]


def _which(use: SweepUse) -> str:
    """Return the number of the sweep that serves."""
    return "straight edge" if use.board is None else f"sweep {use.board.number}"
