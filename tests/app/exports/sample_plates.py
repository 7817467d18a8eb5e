"""Plates with known lines for tests of full-size pages: a long strip with a hole and notes."""

from dataclasses import replace

import numpy as np

from app.exports import Plate, PlateNote
from app.exports.drawing import Line, Meaning, curved, straight
from geometry.pattern import circle_curve
from tests.app.exports.sample_sheets import panel_sheet

LONG_MM, WIDE_MM, HOLE_MM = 380.0, 120.0, 40.0


def strip(*, proved: bool = True, long_mm: float = LONG_MM) -> Plate:
    """Return a strip with square corners, a round hole, a centre line and two notes."""
    job = replace(panel_sheet("left side").job, size_proved=proved)
    outline = np.array([[0.0, 0.0], [long_mm, 0.0], [long_mm, WIDE_MM], [0.0, WIDE_MM]])
    middle = np.array([long_mm / 2.0, WIDE_MM / 2.0])
    rim = Meaning.CUT if proved else Meaning.NET
    return Plate(
        job,
        "test strip",
        "GAUGE FOR THE TEST",
        "",
        "Card, ply or sheet",
        (
            Line(rim, outline, closed=True),
            curved(Meaning.AFTER_FORMING, circle_curve(middle, HOLE_MM / 2.0)),
            straight(0.0, WIDE_MM / 2.0, long_mm, WIDE_MM / 2.0, Meaning.CENTRE),
        ),
        outline,
        (PlateNote("STATION 3", np.array([30.0, 90.0])), PlateNote("hole 40", middle)),
        facts=("Square corners.",),
        legend=((rim, "the edge"), (Meaning.CENTRE, "centre line")),
        remarks=("For tests.",),
        no_cut=None if proved else "SIZE NOT TAPED",
        front=np.array([1.0, 0.0]),
        top=np.array([0.0, 1.0]),
    )
