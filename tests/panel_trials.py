"""One panel tried: laid flat or refused by type, and either one held to what it promises.

What is checked does not rest on the program's own figures: folds in exact arithmetic, the balance
of forces by formulas written apart (`tests.blank_by_itself`).
"""

import time
from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray
from geometry.blank import (
    CollapsedBlankError,
    FlatPanel,
    NoAreaError,
    NotADiskError,
    Standing,
    Work,
    flatten,
)
from geometry.blank.orientation import folded_or_flat
from geometry.blank.start import NoFoldFreeStartError, is_unfolded
from geometry.errors import GeometryError
from geometry.mesh import NonManifoldError, TriMesh, rims
from tests.blank_by_itself import balance

RESIDUAL_LIMIT = 1e-8
ROUNDED_LIMIT = 2e-6
"""However thin the slivers, a residual above this is no balance."""


@dataclass(frozen=True)
class Tried:
    """What came of one panel.

    Attributes
    ----------
    outcome : str
        "converged", "too deep" or "not settled" (a blank that says so of itself), or the name of
        an error.
    residual : float
        Of a converged blank, worked out apart.
    seconds : float
    overlaps : bool
    """

    outcome: str
    residual: float
    seconds: float
    overlaps: bool


def tried(mesh: TriMesh, work: Work | None = None, *, open_holes: bool = False) -> Tried:
    """Lay a panel flat and check the answer, or the refusal, as the claims demand."""
    work = Work() if work is None else work
    begun = time.perf_counter()
    refusal = flat = None
    try:
        flat = flatten(mesh, work, open_holes=open_holes)
    except GeometryError as error:
        refusal = error
    seconds = time.perf_counter() - begun
    if flat is None:
        assert refusal is not None
        assert names_defect_and_place(refusal, mesh), refusal
        return Tried(type(refusal).__name__, np.nan, seconds, False)
    assert flat.inverted == folded_or_flat(flat.flat_vertices, mesh.faces).sum() == 0
    assert is_unfolded(flat.flat_vertices, mesh.faces, rims(mesh))
    assert np.isfinite(flat.flat_vertices).all()
    assert np.isfinite(flat.stretches).all()
    overlaps = flat.overlap_area > 0.0
    if not flat.converged:
        if flat.standing is Standing.TOO_DEEP:
            assert on_panel(flat.unsound_place, mesh)
        return Tried(flat.standing.value, np.nan, seconds, overlaps)
    assert flat.standing is Standing.SETTLED
    residual = settled_residual(mesh, flat)
    return Tried("converged", residual, seconds, overlaps)


def settled_residual(mesh: TriMesh, flat: FlatPanel) -> float:
    """Return the residual by other formulas, having checked what "converged" promises."""
    work = flat.work
    found = balance(mesh.vertices, flat.flat_vertices, mesh.faces, work.measure, work.weight)
    assert found.residual < RESIDUAL_LIMIT + found.rounding, found
    assert found.residual < ROUNDED_LIMIT, found
    assert flat.unsound_faces == 0
    assert 0.5 < flat.blank_area / flat.formed_area < 2.0
    return found.residual


def names_defect_and_place(error: GeometryError, mesh: TriMesh) -> bool:
    """Return whether a refusal says what is wrong, how much of it, and where on the panel."""
    if isinstance(error, NotADiskError):
        wrong = error.pieces != 1 or error.rims != 1 or error.handles
        return bool(wrong) and on_panel(error.place, mesh) and len(error.missing_seam) > 0
    if isinstance(error, NonManifoldError):
        return all(on_panel(point, mesh) for point in error.points) and len(error.points) > 0
    if isinstance(error, NoAreaError):
        return all(on_panel(place, mesh) for place in error.places) and len(error.faces) > 0
    if isinstance(error, NoFoldFreeStartError):
        return on_panel(error.place, mesh)
    if isinstance(error, CollapsedBlankError):
        return error.blank_area < error.formed_area and on_panel(error.place, mesh)
    return False


def on_panel(place: FloatArray, mesh: TriMesh) -> bool:
    """Return whether a place lies no farther from the panel's middle than its vertices do."""
    middle = mesh.vertices.mean(axis=0)
    size = np.linalg.norm(mesh.vertices - middle, axis=1).max()
    return bool(np.linalg.norm(place - middle) <= size * (1.0 + 1e-9))
