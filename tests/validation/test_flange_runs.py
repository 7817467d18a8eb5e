"""Flange runs on turned bodies against the shop's table and the closed forms of tipped edges.

- Gather of a lip turned off a wall: 12 w / R inches a foot of root, the shop's arithmetic, for
  widths of 3/8 to 3/4 in on radii of 3 to 24 in (common practice, no source; worked by hand).
- A flat edge tipped up: ln((R -+ h cos a) / (R -+ h)); the axisymmetric model is that of N. M. Wang
  and M. L. Wenner, International Journal of Mechanical Sciences 16 (1974) 135, and R. K. Dudra and
  S. K. Shah, Journal of Materials Shaping Technology 6 (1988) 91, cited from memory.

The run sheet is accepted within 2 parts in 100 on circular edges.
"""

import numpy as np
import pytest

from geometry.mesh import TriMesh, rims
from geometry.tank import Flange, FlangeRun, RootLine, Stationing, flange_run
from tests.bodies import ring_of_revolution

INCH = 25.4
WITHIN = 0.02
EVERY = Stationing(pitch_mm=40.0, both_hands=False)
TABLE = [
    # flange and radius, in; gather or stretch, inches a foot, as tabulated to 0.01
    (3 / 8, 3, 1.50),
    (3 / 4, 3, 3.00),
    (1 / 2, 6, 1.00),
    (5 / 8, 6, 1.25),
    (3 / 8, 12, 0.38),
    (3 / 4, 12, 0.75),
    (1 / 2, 24, 0.25),
    (3 / 4, 24, 0.38),
]
TIPPED = [
    # R, h, turn; log strain at the lip: concave, convex (None where not tabulated)
    (100.0, 10.0, 90.0, 0.105361, -0.095310),
    (50.0, 10.0, 90.0, 0.223144, -0.182322),
    (30.0, 12.0, 90.0, 0.510826, -0.336472),
    (200.0, 15.0, 90.0, 0.077962, -0.072321),
    (50.0, 10.0, 30.0, 0.032945, None),
    (50.0, 10.0, 45.0, 0.070667, None),
    (50.0, 10.0, 60.0, 0.117783, None),
]


def rim_by_size(mesh: TriMesh, *, largest: bool) -> RootLine:
    loops = sorted((mesh.vertices[loop] for loop in rims(mesh)), key=lambda p: np.ptp(p[:, 0]))
    return RootLine(loops[-1 if largest else 0], is_closed=True)


def wall(radius: float) -> tuple[TriMesh, RootLine]:
    """Return an upright wall 50 high, faces outward, and its foot."""
    z = np.linspace(50.0, 0.0, 18)
    body = ring_of_revolution(np.full(18, radius), z, _around(radius))
    low = min((body.vertices[loop] for loop in rims(body)), key=lambda p: float(p[0, 2]))
    return body, RootLine(low, is_closed=True)


def plate(radius: float, height: float, *, concave: bool) -> tuple[TriMesh, RootLine]:
    """Return a flat ring whose inner or outer rim has the radius, face up, and that rim."""
    wide = min(3.0 * height, 0.8 * radius)
    low = radius if concave else radius - wide
    r = np.linspace(low, low + wide, 14)
    body = ring_of_revolution(r, 0.0 * r, _around(radius))
    return body, rim_by_size(body, largest=not concave)


def _around(radius: float) -> int:
    return max(90, round(2.0 * np.pi * radius / 3.0))


def laid(body: TriMesh, line: RootLine, flange: Flange) -> FlangeRun:
    return flange_run(body, line, flange, EVERY)


@pytest.mark.parametrize(("width", "radius", "per_foot"), TABLE)
def test_a_lip_off_a_wall_gathers_as_the_shop_table_says(
    width: float, radius: float, per_foot: float
) -> None:
    """Inches a foot of root, at every station; to the inside less, to the outside more."""
    body, line = wall(radius * INCH)
    inside = laid(body, line, Flange(width * INCH))
    outside = laid(body, line, Flange(width * INCH, to="outside"))
    exact = 12.0 * width / radius
    assert exact == pytest.approx(per_foot, abs=0.0051)  # the table's own rounding
    for run, sign in ((inside, -1.0), (outside, 1.0)):
        told = np.array([12.0 * station.per_root for station in run.stations])
        assert told == pytest.approx(sign * exact, rel=WITHIN)


@pytest.mark.parametrize(("radius", "height", "turn", "concave", "convex"), TIPPED)
def test_a_tipped_flat_edge_strains_as_the_closed_form_says(
    radius: float, height: float, turn: float, concave: float, convex: float | None
) -> None:
    """Log strain at the lip, at every station."""
    for is_concave, told in ((True, concave), (False, convex)):
        if told is None:
            continue
        body, line = plate(radius, height, concave=is_concave)
        run = laid(body, line, Flange(height, float(np.radians(turn))))
        strains = np.array([np.log(station.stretch) for station in run.stations])
        assert strains == pytest.approx(told, rel=WITHIN)
        thickness = np.array([station.lip_thickness for station in run.stations])
        assert thickness == pytest.approx(np.exp(-told / 2.0), rel=0.005)
