"""What the sample tank holds, from its scan, against the formula it was made from.

`sample_data.generate` has the tank exactly: its skin, its underside and its seat face. The room is
counted there on a grid, each cell as far as it lies inside: 20.398 l at 3 mm, 20.397 at 2 mm.
"""

import numpy as np
import pytest

import sample_data
from app.job import carried_through, made, open_job
from geometry.mesh import TriMesh, enclosed_volume
from geometry.tank import capped
from sample_data.generate.shape import SEAT_NORMAL, SEAT_POINT, bottom_height, skin
from sample_data.truth import from_file

MM_PER_INCH = 25.4
CELL_MM = 3.0


def true_room() -> float:
    """Return mm3 inside the formula, over the underside, ahead of the seat face."""
    half = CELL_MM / 2.0
    x, y, z = (np.arange(*ends, CELL_MM) + half for ends in ((-2, 566), (0, 144), (-3, 236)))
    # one half of the width: the other is alike
    across, up = (each.ravel() for each in np.meshgrid(y, z, indexing="ij"))
    room = 0.0
    for at in x:
        places = np.stack([np.full(len(across), at), across, up], axis=1)
        within = np.minimum.reduce(
            [
                -skin(places).distance,
                places[:, 2] - bottom_height(places[:, 0]),
                -(places - SEAT_POINT) @ SEAT_NORMAL,
            ]
        )
        room += float(np.clip(within / CELL_MM + 0.5, 0.0, 1.0).sum())
    return 2.0 * room * CELL_MM**3


@pytest.mark.slow
def test_the_scanned_sample_holds_what_its_formula_does() -> None:
    """Outside to outside, the underside closed from left to right; 0.5 in 100 is asked."""
    state = carried_through(open_job(sample_data.job_path()), "Surface")
    working = made(state, "Surface").working
    places = from_file(working.outside / MM_PER_INCH)
    closed = capped(TriMesh(places, working.mesh.faces), {0: "ruled"})
    found = float(enclosed_volume(closed.vertices, closed.faces))
    assert found == pytest.approx(true_room(), rel=0.002)
