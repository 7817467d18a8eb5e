"""What a sheet takes from the datum and from the side that was copied."""

from dataclasses import replace
from datetime import date

import numpy as np

from app.delivery import job_facts, panel_sheet, tank_model
from app.delivery.sheets import copied_from
from app.job import DatumChoice, SidesChoice, Zone, carried_through, made, panel_names
from geometry.pattern import carried_points
from tests.app.job.small_tank import carried, decided

DATED = date(2030, 4, 1)


def test_the_datums_centre_plane_is_drawn_where_it_crosses_a_panel() -> None:
    """The dome's own plane y = 0 with FRONT along x: down the middle of the top strip alone."""
    stands = DatumChoice(
        how="given",
        plane=((0.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
        level="given",
        up=(0.0, 0.0, 1.0),
        front=(1.0, 0.0, 0.0),
    )
    state = carried_through(replace(decided(), datum=stands), "Paper")
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
