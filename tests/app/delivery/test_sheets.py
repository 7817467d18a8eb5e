"""What a sheet takes from the datum and from the side that was copied."""

from dataclasses import replace
from datetime import date
from functools import cache

import numpy as np
import pytest
import shapely

from app.delivery import job_facts, panel_sheet, tank_model
from app.delivery.sheets import copied_from
from app.exports.marks.patch_marks import patch_sentences
from app.job import DatumChoice, JobState, SidesChoice, Zone, carried_through, made, panel_names
from geometry.pattern import carried_points
from tests.app.job.small_tank import carried, decided

DATED = date(2030, 4, 1)


@cache
def copied_job() -> JobState:
    """Return the small tank with its left side copied to the right, about y = 0."""
    stands = DatumChoice(
        how="given",
        plane=((0.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
        level="given",
        up=(0.0, 0.0, 1.0),
        front=(1.0, 0.0, 0.0),
    )
    return carried_through(replace(decided(), datum=stands, sides=SidesChoice("left")), "Paper")


def test_the_datums_centre_plane_is_drawn_where_it_crosses_a_panel() -> None:
    """The dome's own plane y = 0 with FRONT along x: down the middle of the top strip alone."""
    state = copied_job()
    assert not made(carried(), "Paper", "top").centre_lines
    facts = job_facts(state, made(state, "Size"), dated=DATED)
    sheets = {
        name: panel_sheet(state, facts, tank_model(state), name) for name in panel_names(state)
    }
    crossed = {name: len(sheet.pattern.centre_lines) for name, sheet in sheets.items()}
    assert crossed == {"left": 0, "top": 1, "right": 0}
    flat = sheets["top"].flat
    (line,) = sheets["top"].pattern.centre_lines
    middle = carried_points(flat, flat.vertices[np.abs(flat.vertices[:, 1]) < 0.5])
    assert np.abs(line[:, 1] - np.median(middle[:, 1])).max() < 1.0
    assert np.ptp(line[:, 0]) > 50.0


def test_the_side_copied_from_is_one_or_not_said() -> None:
    zone = Zone((0.0, 0.0, 0.0), 30.0, "right")
    assert copied_from(SidesChoice("right", (zone,))) == "right"
    assert copied_from(SidesChoice("left", (zone,))) == ""
    assert copied_from(SidesChoice("none", (zone,))) == "right"


def test_what_is_mirrored_reaches_the_paper_of_each_panel_and_of_no_other() -> None:
    state = copied_job()
    facts = job_facts(state, made(state, "Size"), dated=DATED)
    assert facts.copied_from == "left"
    tank = tank_model(state)
    assert tank.copied is not None
    right = tank.vertices[tank.faces].mean(axis=1)[:, 1] < 0.0
    assert (tank.copied == right).mean() > 0.98
    shares = {}
    for name in panel_names(state):
        sheet = panel_sheet(state, facts, tank, name)
        assert sheet.copied is not None
        shares[name] = float(sheet.copied.mean())
        drawn = sum(shapely.Polygon(r.outline, r.holes).area for r in sheet.pattern.copied)
        marked = sheet.flat.faces[: len(sheet.copied)][sheet.copied]
        corners = sheet.flat.flat_vertices[marked]
        assert drawn == pytest.approx(
            float(shapely.area(shapely.polygons(corners)).sum()), abs=1e-6
        )
        assert patch_sentences(sheet) == (
            ["Broken steep hatch: MIRRORED FROM THE LEFT SIDE"] if shares[name] else []
        )
    assert (shares["left"], shares["right"]) == (0.0, 1.0)
    assert 0.45 < shares["top"] < 0.55
