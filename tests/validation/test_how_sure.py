"""How sure the sample's blanks are said to be, against the tank's own formula.

The sample's scan was made from a formula with noise, passes that do not line up, a line of 1 mm
radius and points 2.3 mm apart. Here every vertex of a panel is put where the formula has it, the
scan's edge on the formula's, and the panel is laid out again from nothing. How far that net line
stands off the program's is what the measuring band foretells.

All places of a panel share their wide errors and there is but one scan, so that how many of them
are covered is no count of chances. The band is checked to hold at 95 in 100 places of every panel,
and each kind of error alone to hold at fewer on one panel or another.
"""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest
from scipy.spatial import cKDTree

import sample_data
from app.job import Blank, carried_through, made, open_job
from app.job.making.sure import errors_of_panel
from geometry.arrays import FloatArray
from geometry.blank import MeasuringErrors, flatten, measuring_band, model_band
from geometry.blank.bands.net_line import NetLine
from geometry.mesh import TriMesh
from geometry.panels import Panel
from sample_data import truth
from sample_data.generate import shape

MM = 25.4
HALF_SHEET = 0.8
NAMES = ("left side", "right side", "top strip", "front end", "seat end")
ALONE = ("surface_mm", "wide_mm", "unseen_mm", "rim_mm", "rim_shift_mm", "scale")


@dataclass(frozen=True, eq=False)
class Checked:
    """One panel: how far outward the true net line stands (k,), and what it was measured with."""

    off: FloatArray
    blank: Blank
    errors: MeasuringErrors

    def covered(self, errors: MeasuringErrors) -> float:
        """Return at which part of the rim's vertices a band covers the truth."""
        band = measuring_band(self.blank.flat, errors)
        return float((np.abs(self.off) <= band.plus_minus).mean())


def true_middle(panel: Panel, blank: Blank) -> FloatArray:
    """Return the panel's vertices where the formula has them, on the middle of the metal.

    Where nothing was scanned they stay. At creases, where the offset goes to the mitre, the
    program's own offset is taken along.
    """
    flat, count = blank.flat, len(panel.outside)
    place = truth.to_file(shape.on_skin(truth.from_file(panel.outside / MM), rounds=10)) * MM
    on_seam = np.concatenate([half.vertices for half in panel.seam_halves])
    free = np.setdiff1d(flat.rim, on_seam)
    edge = truth.to_file(truth.bottom_rim(0.1)) * MM
    away, near = cKDTree(edge).query(place[free])
    nearest = np.asarray(near, np.int64)
    place[free[away < 4.0]] = edge[nearest[away < 4.0]]
    local = truth.from_file(place / MM)
    middle = truth.to_file(local - HALF_SHEET * shape.skin(local).normal) * MM
    inward = flat.vertices[:count] - panel.outside
    at_crease = np.abs(np.linalg.norm(inward, axis=1) - HALF_SHEET) > 0.02
    middle[at_crease] = (place + inward)[at_crease]
    guessed = np.unique(flat.faces[blank.filled])
    out = flat.vertices.copy()
    out[:count] = middle
    out[guessed] = flat.vertices[guessed]
    return np.asarray(out)


@cache
def checked() -> dict[str, Checked]:
    state = carried_through(open_job(sample_data.job_path()), "Blanks")
    size = made(state, "Size")
    found = {}
    for panel in made(state, "Seams").panels:
        blank: Blank = made(state, "Blanks", panel.name)
        flat = blank.flat
        errors = errors_of_panel(
            made(state, "Surface").working,
            panel,
            flat,
            spacing_mm=made(state, "Scan").report.spacing * size.mm_per_unit,
            tapes_mm=[check.tape.length_mm for check in size.checks],
        )
        other = flatten(TriMesh(true_middle(panel, blank), flat.faces), flat.work)
        assert other.converged
        line = NetLine.of(flat.flat_vertices, flat.rim)
        found[panel.name] = Checked(line.offsets(other.flat_vertices[flat.rim]), blank, errors)
    return found


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_the_true_net_line_lies_within_the_band(name: str) -> None:
    panel = checked()[name]
    assert panel.covered(panel.errors) > 0.95


@pytest.mark.slow
def test_no_kind_of_error_alone_would_cover_the_truth_on_every_panel() -> None:
    """Chance alone, as small as it is, would be a promise that the sides do not keep."""
    none = dict.fromkeys(ALONE, 0.0)
    for name in ALONE:
        covered = [
            panel.covered(replace(panel.errors, **{**none, name: getattr(panel.errors, name)}))
            for panel in checked().values()
        ]
        assert min(covered) < 0.95, name
        if name in ("surface_mm", "rim_mm"):
            assert max(covered) < 0.5, name


@pytest.mark.slow
def test_the_band_is_not_much_wider_than_the_errors_it_has_to_cover() -> None:
    """A band a quarter as wide would leave more than a tenth of each side out."""
    sides = [checked()[name] for name in ("left side", "right side")]
    for side in sides:
        band = measuring_band(side.blank.flat, side.errors)
        assert (np.abs(side.off) <= band.plus_minus / 4.0).mean() < 0.9


@pytest.mark.slow
def test_the_two_sides_are_equally_sure_whoever_works_them() -> None:
    """Mirror images but for a dent: no choice of work is left out, the farthest reach alike."""
    left, right = (model_band(checked()[name].blank.flat) for name in ("left side", "right side"))
    assert not left.left_out
    assert not right.left_out
    assert left.reach_mm == pytest.approx(right.reach_mm, rel=0.15)
