"""The left-right map as a way to look at the tank: bands of 0.5 mm or 1/32 in, told by sign too."""

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from app.job import Halves, JobState, Tidied, made
from app.units import fraction_text, plain_number, thickness_text
from app.window.legend import Swatch
from app.window.look import SHRINK_TO_STRETCH, VIEW_LOW
from app.window.marks import STRIPE_MM
from app.window.scene import Hit, PaintedBands
from app.window.skin import Skin
from geometry.arrays import FloatArray, IntArray
from geometry.datum import LeftRight

BAND_MM, BAND_IN_MM = 0.5, 25.4 / 32.0
MOST_BANDS = 4
"""Bands to either side of the one that is alike; the outermost takes all beyond."""


@dataclass(frozen=True, eq=False)
class SidesMap:
    """The signed difference on the tank: vertices in file coordinates, mm at each."""

    vertices: FloatArray
    faces: IntArray
    difference: FloatArray
    mm_per_unit: float


def map_inputs(state: JobState) -> tuple[Any, ...] | None:
    """Return the map, while left is laid against right."""
    halves: Halves | None = made(state, "Halves")
    tidied: Tidied | None = made(state, "Tidy")
    size = made(state, "Size")
    if halves is None or halves.left_right is None or tidied is None or size is None:
        return None
    return (_map_of(halves.left_right, tidied, float(size.mm_per_unit)),)


@lru_cache(maxsize=2)
def _map_of(found: LeftRight, tidied: Tidied, mm_per_unit: float) -> SidesMap:
    mesh = tidied.tidy.mesh
    return SidesMap(mesh.vertices / mm_per_unit, mesh.faces, found.difference, mm_per_unit)


def band_edges(difference: FloatArray, step_mm: float) -> FloatArray:
    """Return the bands' ends: one band alike to half a step, as many beside it as are needed.

    >>> band_edges(np.array([0.1, -0.9, np.nan]), 0.5).tolist()
    [-1.25, -0.75, -0.25, 0.25, 0.75, 1.25]
    """
    known = np.abs(difference[np.isfinite(difference)])
    most = float(np.quantile(known, 0.999)) if len(known) else 0.0
    beside = int(np.clip(np.ceil(most / step_mm - 0.5), 1, MOST_BANDS))
    return np.asarray((np.arange(-beside, beside + 2) - 0.5) * step_mm, np.float64)


def band_colours(count: int) -> tuple[str, ...]:
    """Return a colour for each band, the lowest first: blue lower, brown higher, light alike."""
    places = [place for place, _ in SHRINK_TO_STRETCH]
    channels = np.array([colour for _, colour in SHRINK_TO_STRETCH], np.float64)
    even = np.linspace(-1.0, 1.0, count)
    mixed = np.stack([np.interp(even, places, channels[:, k]) for k in range(3)], axis=1)
    return tuple(f"#{r:02x}{g:02x}{b:02x}" for r, g, b in np.round(mixed).astype(int))


def painted_map(value: SidesMap, inputs: tuple[Any, ...], show: str) -> PaintedBands:
    """Return the map in bands."""
    edges = band_edges(value.difference, step_of(show))
    return PaintedBands(
        value.vertices, value.faces, value.difference, edges, band_colours(len(edges) - 1),
        STRIPE_MM / value.mm_per_unit,
    )  # fmt: skip


def step_of(show: str) -> float:
    """Return the width of a band."""
    return BAND_IN_MM if show == "in" else BAND_MM


def map_legend(value: SidesMap, show: str) -> tuple[Swatch, ...]:
    """Return what each band means, from what stands out most to what stands lowest."""
    step = step_of(show)
    edges = band_edges(value.difference, step)
    count = len(edges) - 1
    beside = count // 2
    told = []
    for band, colour in reversed(list(enumerate(band_colours(count)))):
        off = band - beside
        if off == 0:
            told.append(Swatch("plain", colour, f"alike to {_size(step / 2.0, show)}"))
            continue
        sign, way = ("+", "out") if off > 0 else ("\u2212", "lower")
        beyond = " and more" if abs(off) == beside else ""
        words = f"{sign}{_size(abs(off) * step, show)} {way}{beyond}"
        told.append(Swatch("plain" if off > 0 else "striped", colour, words))
    if not np.isfinite(value.difference).all():
        told.append(Swatch("plain", VIEW_LOW, "nothing to compare with"))
    return tuple(told)


def _size(length_mm: float, show: str) -> str:
    if show == "in":
        return fraction_text(length_mm, 64)
    return f"{plain_number(length_mm, 2)} mm"


def map_reading(value: SidesMap, hit: Hit, show: str) -> str:
    """Return how far the place pointed at stands out over the other side."""
    corners = value.difference[value.faces[hit.face]]
    off = float(hit.barycentric @ corners)
    if not np.isfinite(off):
        return "Nothing on the other side to compare this place with."
    if abs(off) < 0.05:
        return "Here both sides are alike."
    way = "stands out" if off > 0.0 else "stands lower"
    return f"Here this side {way} {thickness_text(abs(off), show)} against the other."


SIDES = Skin(
    "sides", "Left against right", "How far each side stands out over the other.", "F5",
    inputs=map_inputs, painted=painted_map, legend=map_legend, reading=map_reading,
    not_yet="First find how the tank stands: step 4, Datum.",
)  # fmt: skip
"""The row of the table."""
