"""The link between tank and blank: the same place of a panel on both, and what happens there."""

from dataclasses import dataclass

import numpy as np

from app.job import Blank, JobState, Panels, latest, made
from app.window.scene import Hit
from geometry.arrays import FloatArray


@dataclass(frozen=True, eq=False)
class Spot:
    """A place on a panel.

    Attributes
    ----------
    panel : str
    face : int
        Of the blank; the panel's own faces come first and keep their numbers.
    barycentric : (3,) float
    """

    panel: str
    face: int
    barycentric: FloatArray


def spot_of_hit(state: JobState, hit: Hit | None) -> Spot | None:
    """Return the place of a panel that was hit on the cut surface."""
    panels: Panels | None = latest(state, "Seams")
    if panels is None or hit is None or hit.on != "cut":
        return None
    for panel in panels.panels:
        place = int(np.searchsorted(panel.face_of_panel_face, hit.face))
        if place < len(panel.face_of_panel_face) and panel.face_of_panel_face[place] == hit.face:
            return Spot(panel.name, place, hit.barycentric)
    return None


def on_blank(blank: Blank, spot: Spot) -> FloatArray:
    """Return the (2,) place on the blank, seen from outside."""
    corners = blank.flat.flat_vertices[blank.flat.faces[spot.face]]
    return np.asarray(spot.barycentric @ corners, np.float64)


def on_tank(state: JobState, spot: Spot) -> FloatArray | None:
    """Return the (3,) place on the tank's outside, file coordinates."""
    panels, size = latest(state, "Seams"), made(state, "Size")
    blank: Blank | None = latest(state, "Blanks", spot.panel)
    if panels is None or size is None or blank is None:
        return None
    panel = next((panel for panel in panels.panels if panel.name == spot.panel), None)
    if panel is None:
        return None
    vertices = np.array(blank.mesh.vertices)
    vertices[: len(panel.outside)] = panel.outside
    corners = vertices[blank.flat.faces[spot.face]]
    return np.asarray(spot.barycentric @ corners / size.mm_per_unit, np.float64)


@dataclass(frozen=True)
class Change:
    """What happens to the metal at a place: stretch along and across, thickness as a ratio."""

    most: float
    least: float
    thickness: float


def change_at(blank: Blank, face: int) -> Change:
    """Return what happens to the metal in a face; `most` differs more from 1."""
    larger, smaller = (float(value) for value in blank.flat.stretches[face])
    most, least = (larger, smaller) if larger * smaller >= 1.0 else (smaller, larger)
    return Change(most, least, float(blank.flat.thickness[face]))
