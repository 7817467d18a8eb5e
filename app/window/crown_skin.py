"""Crown and light tubes as ways to look at the tank: how it bulges, how fair it is. Views only."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.sparse import coo_array, diags_array
from scipy.spatial import cKDTree

from app.job import JobState, Tidied, made
from app.units import length_text
from app.window.legend import Swatch
from app.window.look import VIEW_LOW
from app.window.marks import STRIPE_MM
from app.window.scene import LIT, UNLIT, Hit, PaintedCrown, PaintedLights, lighter
from app.window.skin import Skin
from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.mesh import TriMesh
from geometry.progress import Report, silent
from geometry.surface import CrownKind, CrownLimits, calm_normals, crown_kinds, crown_of

LIMITS = CrownLimits()
COLOURS = {
    CrownKind.HIGH: "#b4540a",
    CrownKind.LOW: "#f3cf96",
    CrownKind.FLAT: "#f4f4f0",
    CrownKind.REVERSE: "#8fb8dc",
    CrownKind.HOLLOW: "#3d6da6",
}
"""Warm where the skin bulges out, blue where it goes inward: told apart by the colour-blind."""
UNTOLD = len(COLOURS)
_LONGEST_MM = 5000.0
_EVENED = 4


@dataclass(frozen=True, eq=False)
class CrownMap:
    """Crown at the vertices of what is drawn.

    Attributes
    ----------
    vertices : (n, 3) float
        File coordinates.
    faces : (m, 3) int
    normals : (n, 3) float
    bend : (n, 3, 3) float, 1/mm
        Curvatures along their directions, as one matrix: these may be averaged, directions not.
    determined : (n,) bool
    mm_per_unit : float
    """

    vertices: FloatArray
    faces: IntArray
    normals: FloatArray
    bend: FloatArray
    determined: BoolArray
    mm_per_unit: float


def skin_inputs(state: JobState) -> tuple[Any, ...] | None:
    """Return the tidied scan, once its size is known."""
    tidied: Tidied | None = made(state, "Tidy")
    size = made(state, "Size")
    if tidied is None or size is None:
        return None
    return tidied.tidy.mesh, float(size.mm_per_unit)


def crown_map(mesh: TriMesh, mm_per_unit: float, *, report: Report = silent) -> CrownMap:
    """Return the crown of a skin in mm, on what is drawn of it."""
    crown = crown_of(mesh, limits=LIMITS, report=report)
    drawn, at = _drawn(mesh)
    ways, curvatures = crown.directions[at], crown.curvatures[at]
    bend = np.einsum("nk,nki,nkj->nij", curvatures, ways, ways)
    return CrownMap(
        vertices=drawn.vertices / mm_per_unit,
        faces=drawn.faces,
        normals=crown.normals[at],
        bend=_evened(bend, crown.determined[at], drawn.faces),
        determined=crown.determined[at],
        mm_per_unit=mm_per_unit,
    )


def _evened(bend: FloatArray, told: BoolArray, faces: IntArray) -> FloatArray:
    """Return bends averaged with their neighbours' a few times: no lone specks of another kind."""
    count = len(bend)
    rows, columns = faces[:, [0, 1, 2]].ravel(), faces[:, [1, 2, 0]].ravel()
    ones = np.ones(len(rows))
    beside = coo_array((ones, (rows, columns)), shape=(count, count)).tocsr()
    beside = (beside + beside.T) @ diags_array(told.astype(np.float64))
    total = np.asarray(beside.sum(axis=1)).ravel() + 1.0
    flat = bend.reshape(count, 9)
    for _ in range(_EVENED):
        flat = (np.asarray(beside @ flat) + flat) / total[:, None]
    return flat.reshape(count, 3, 3)


def lit_skin(mesh: TriMesh, mm_per_unit: float, *, report: Report = silent) -> PaintedLights:
    """Return a skin with normals to judge reflections by, on what is drawn of it."""
    calm = calm_normals(mesh, report=report)
    drawn, at = _drawn(mesh)
    return PaintedLights(drawn.vertices / mm_per_unit, drawn.faces, calm.normals[at])


def _drawn(mesh: TriMesh) -> tuple[TriMesh, IntArray]:
    """Return what is drawn of a mesh, and the mesh's vertex nearest to each of its vertices."""
    drawn = lighter(mesh)
    if drawn is mesh:
        return mesh, np.arange(len(mesh.vertices))
    return drawn, np.asarray(cKDTree(mesh.vertices).query(drawn.vertices)[1], np.int64)


def _principal(bend: FloatArray) -> FloatArray:
    """Return (k, 2) curvatures, larger first, of bends: of the three, the nought is the normal's.

    >>> _principal(np.diag([-0.01, 0.0, 0.02])[None]).tolist()
    [[0.02, -0.01]]
    """
    values = np.linalg.eigvalsh(bend)
    nought = np.abs(values).argmin(axis=1)
    kept = np.ones(values.shape, bool)
    kept[np.arange(len(values)), nought] = False
    return np.asarray(values[kept].reshape(-1, 2)[:, ::-1], np.float64)


def painted_crown(value: CrownMap, inputs: tuple[Any, ...], show: str) -> PaintedCrown:
    """Return the map, each face by the mean of its corners."""
    kind = crown_kinds(_principal(value.bend[value.faces].mean(axis=1)), LIMITS)
    inward = (kind == CrownKind.HOLLOW) | (kind == CrownKind.REVERSE)
    told = value.determined[value.faces].any(axis=1)
    return PaintedCrown(
        value.vertices, value.faces, value.normals, np.where(told, kind, UNTOLD),
        (*(COLOURS[each] for each in CrownKind), VIEW_LOW), inward & told,
        STRIPE_MM / value.mm_per_unit,
    )  # fmt: skip


def crown_legend(value: CrownMap, show: str) -> tuple[Swatch, ...]:
    """Return what each colour means."""
    high, flat = (length_text(mm, show) for mm in (LIMITS.high_sweep_mm, LIMITS.flat_sweep_mm))
    told = [
        Swatch("plain", COLOURS[CrownKind.HIGH], f"high crown: both sweeps tighter than {high}"),
        Swatch("plain", COLOURS[CrownKind.LOW], "low crown: long sweep one way or both"),
        Swatch("plain", COLOURS[CrownKind.FLAT], f"flat: no sweep tighter than {flat}"),
        Swatch("striped", COLOURS[CrownKind.REVERSE], "reverse crown: out one way, in the other"),
        Swatch("striped", COLOURS[CrownKind.HOLLOW], "hollow"),
    ]
    if not value.determined.all():
        told.append(Swatch("plain", VIEW_LOW, "scan too rough or too thin to tell"))
    return tuple(told)


_NAMES = {
    CrownKind.HIGH: "High crown",
    CrownKind.LOW: "Low crown",
    CrownKind.FLAT: "Flat",
    CrownKind.REVERSE: "Reverse crown",
    CrownKind.HOLLOW: "Hollow",
}


def crown_reading(value: CrownMap, hit: Hit, show: str) -> str:
    """Return the kind of crown pointed at, and its sweeps."""
    corners = value.faces[hit.face]
    if not value.determined[corners].any():
        return "The scan is too rough or too thin here to tell the sweep."
    bend = np.einsum("k,kij->ij", hit.barycentric, value.bend[corners])
    pair = _principal(bend[None])
    kind = CrownKind(int(crown_kinds(pair, LIMITS)[0]))
    one, other = (_sweep(float(each), show) for each in sorted(pair[0], key=abs, reverse=True))
    return f"{_NAMES[kind]}: sweep {one}, across it {other}"


def _sweep(curvature: float, show: str) -> str:
    """Return a sweep's radius in words.

    >>> _sweep(0.01, "mm"), _sweep(-0.01, "in"), _sweep(0.0, "mm")
    ('R 100 mm (3 15/16 in)', 'R 3 15/16 in (100 mm) inward', 'straight')
    """
    if abs(curvature) < 1.0 / _LONGEST_MM:
        return "straight"
    radius = 1.0 / abs(curvature)
    rounded = round(radius) if radius < 200.0 else round(radius, -1)
    return f"R {length_text(float(rounded), show)}" + (" inward" if curvature < 0.0 else "")


def light_legend(value: PaintedLights, show: str) -> tuple[Swatch, ...]:
    """Return what the stripes mean."""
    return (
        Swatch("plain", LIT, "a light tube seen in the skin: fair where its edges run smooth"),
        Swatch("plain", UNLIT, "between two; a kink, pinch or swelling is a low, a high or a flat"),
    )


def lights_as_made(value: PaintedLights, inputs: tuple[Any, ...], show: str) -> PaintedLights:
    """Return what is drawn."""
    return value


_NOT_YET = "First say how large the tank is: step 2, Size."

CROWN = Skin(
    "crown", "Crown", "High, low and reverse crown; point to read the sweep.", "F3",
    inputs=skin_inputs, painted=painted_crown, function=crown_map, legend=crown_legend,
    reading=crown_reading, doing="Measuring the crown", not_yet=_NOT_YET,
)  # fmt: skip
HIGHLIGHTS = Skin(
    "highlights", "Light tubes", "Straight light tubes seen in the skin, to judge how fair it is.",
    "F4", inputs=skin_inputs, painted=lights_as_made, function=lit_skin, legend=light_legend,
    doing="Calming the skin for light tubes", not_yet=_NOT_YET,
)  # fmt: skip
"""Rows of the table."""
