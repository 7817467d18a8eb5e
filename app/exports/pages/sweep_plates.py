"""Sweeps as plates at full size: both edges of one radius, each named, its middle ticked."""

import numpy as np

from app.exports.drawing import Line, Meaning, curved
from app.exports.facts import JobFacts
from app.exports.plate import Plate, PlateNote
from app.job import Gauges, face_words, radius_words, serving_words
from app.units import inch_text, length_text, mm_text
from geometry.gauges import SweepBoard, SweepSet

_TICK_MM = 5.0
_WORDS_MM = 3.0


def sweep_plates(gauges: Gauges, job: JobFacts) -> tuple[Plate, ...]:
    """Return the plates of all sweeps, the tightest first; none where none are asked for.

    Parameters
    ----------
    gauges : Gauges
    job : JobFacts
    """
    found = gauges.sweeps
    if found is None:
        return ()
    return tuple(_plate(gauges, found, board, job) for board in found.boards)


def _plate(gauges: Gauges, found: SweepSet, board: SweepBoard, job: JobFacts) -> Plate:
    meaning = Meaning.CUT if job.size_proved else Meaning.NET
    low, high = board.rise_mm, float(board.outline[:, 1].max())
    ticks = [
        Line(Meaning.TICK, np.array([[0.0, at], [0.0, at + into]]))
        for at, into in ((low, _TICK_MM), (high, -_TICK_MM))
    ]
    edge = "line to cut" if job.size_proved else "edge, not to be cut"
    return Plate(
        job=job,
        name=f"sweep {board.number:02d}",
        makes=f"SWEEP {board.number}, {radius_words(board, job.show).upper()}",
        face="",
        material="Card, ply or sheet",
        lines=(curved(meaning, board.curve), *ticks),
        outline=board.outline,
        notes=_notes(board, low, high),
        facts=_facts(gauges, found, board, job),
        legend=((meaning, edge), (Meaning.TICK, "middle of the edge")),
        no_cut=None if job.size_proved else "SIZE NOT TAPED",
        top=np.array([0.0, 1.0]),
    )


def _notes(board: SweepBoard, low: float, high: float) -> tuple[PlateNote, ...]:
    """Return what is marked on the board: its edges' names, number and radius both ways."""
    middle = (low + high) / 2.0
    said = (
        ("CROWNED", high - _TICK_MM - _WORDS_MM),
        (f"SWEEP {board.number}", middle + 5.5),
        (f"R {mm_text(board.radius_mm)}", middle),
        (f"R {inch_text(board.radius_mm)}", middle - 5.5),
        ("HOLLOW", low + _TICK_MM + _WORDS_MM),
    )
    return tuple(
        PlateNote(words, np.array([0.0, up]), _WORDS_MM, bold="R " in words) for words, up in said
    )


def _facts(gauges: Gauges, found: SweepSet, board: SweepBoard, job: JobFacts) -> tuple[str, ...]:
    """Return what is told of a sweep."""
    stations = sorted({use.place.station for use in found.uses_of(board)})
    where = f" At station {', '.join(map(str, stations))}." if stations else ""
    return (
        f"Both edges are arcs of {radius_words(board, job.show)}, "
        f"{length_text(board.chord_mm, job.show)} long straight across. HOLLOW edge: on the "
        "outside of crowned metal. CROWNED edge: in hollow metal, and inside a crowned panel.",
        "Hold it square to the skin, its tick on the place's middle, and look for light under it.",
        f"Serves {serving_words(found, board)}.{where} The list of gauges tells where and how near."
        if stations
        else f"Serves {serving_words(found, board)}.",
        face_words(gauges),
        "Break the corners of its ends, never its edges.",
    )
