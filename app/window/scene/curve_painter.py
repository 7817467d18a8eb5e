"""Lines over the tank told apart by how they are drawn: whole, dashed long or short, dotted."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import pyvista as pv

from app.window.legend import DASHES
from app.window.scene.painters import Painter, lines
from geometry.arrays import FloatArray

Style = Literal["solid", "dash", "short", "dot", "dashdot"]

MOST_DASHES = 4000


@dataclass(frozen=True, eq=False)
class Curve:
    """One line, file coordinates.

    Attributes
    ----------
    points : (k, 3) float
    style : "solid", "dash", "short", "dot" or "dashdot"
    colour : str
    width : float
        In picture points.
    pitch : float
        Length of a dash's third.
    words : str
        Beside its middle; "" for none.
    dots : bool
        Points instead of a line.
    on_top : bool
        Shown through the skin as well.
    """

    points: FloatArray
    style: Style = "solid"
    colour: str = "#23282b"
    width: float = 3.0
    pitch: float = 1.0
    words: str = ""
    dots: bool = False
    on_top: bool = False


class CurvePainter(Painter):
    """Draws curves; all of one look at once."""

    def draw(self, curves: tuple[Curve, ...]) -> None:
        """Draw these."""
        if self.is_drawn(curves):
            return
        looks: dict[tuple[str, float, bool, bool], list[FloatArray]] = {}
        for curve in curves:
            look = (curve.colour, curve.width, curve.dots, curve.on_top)
            looks.setdefault(look, []).extend(_pieces(curve))
        for (colour, width, dots, on_top), pieces in looks.items():
            if dots and pieces:
                self.add(
                    pv.PolyData(np.concatenate(pieces)), color=colour, point_size=4.0 * width,
                    render_points_as_spheres=True, lighting=False, on_top=on_top,
                )  # fmt: skip
            elif pieces:
                self.add(
                    lines(pieces), color=colour, line_width=width, lighting=False, on_top=on_top
                )
        told = [curve for curve in curves if curve.words and len(curve.points)]
        along = [curve for curve in told if not curve.dots]
        if along:
            places = np.stack([_middle(curve) for curve in along])
            self.add_labels(places, [curve.words for curve in along])
        for curve in told:
            if curve.dots:
                self.add_words(_middle(curve), curve.words, above=True)


def _middle(curve: Curve) -> FloatArray:
    """Return where a curve's words stand; on a ring a quarter on, off lines that run along it."""
    points = curve.points
    is_ring = len(points) > 2 and bool(np.allclose(points[0], points[-1]))
    middle: FloatArray = points[len(points) // (4 if is_ring else 2)]
    return middle


def _pieces(curve: Curve) -> list[FloatArray]:
    if curve.dots:
        return [curve.points] if len(curve.points) else []
    if len(curve.points) < 2:
        return []
    if curve.style == "solid":
        return [curve.points]
    return dashes(curve.points, tuple(curve.pitch * part for part in DASHES[curve.style]))


def dashes(points: FloatArray, pattern: tuple[float, ...]) -> list[FloatArray]:
    """Return the drawn parts of a line cut by a pattern of lengths: drawn, left out, drawn, ...

    >>> line = np.array([[0.0, 0, 0], [10.0, 0, 0]])
    >>> [part[:, 0].tolist() for part in dashes(line, (3.0, 2.0))]
    [[0.0, 3.0], [5.0, 8.0]]
    """
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    total = float(along[-1])
    if total <= 0.0:
        return []
    repeats = int(np.ceil(total / sum(pattern)))
    if repeats > MOST_DASHES:
        return [points]
    stops = np.concatenate([[0.0], np.cumsum(np.tile(pattern, repeats))])
    parts = []
    for start, end in zip(stops[0::2], stops[1::2], strict=False):
        if start >= total:
            break
        inner = along[(along > start) & (along < end)]
        at = np.concatenate([[start], inner, [min(end, total)]])
        parts.append(np.stack([np.interp(at, along, points[:, k]) for k in range(3)], axis=1))
    return parts
