"""A page to be printed: its size and what stands where on it, clipped where a tile ends."""

from dataclasses import dataclass

from app.exports.drawing.drawing import Drawing

MM_PER_POINT = 25.4 / 72.0
LARGEST_PAGE_MM = 5080.0
"""14,400 units: what common viewers take as the largest page."""

A4 = (210.0, 297.0)
LETTER = (215.9, 279.4)

Clip = tuple[float, float, float, float]


class PageTooLargeError(Exception):
    """A one-piece page would be larger than PDF viewers open.

    Attributes
    ----------
    width_mm, height_mm, limit_mm : float
    """

    def __init__(self, width_mm: float, height_mm: float) -> None:
        self.width_mm, self.height_mm, self.limit_mm = width_mm, height_mm, LARGEST_PAGE_MM
        super().__init__(f"page of {width_mm:.0f} x {height_mm:.0f} mm")


@dataclass(frozen=True, eq=False)
class Placed:
    """A drawing on a page, its origin at (x, y), shown within a clip box of the page, mm."""

    drawing: Drawing
    x: float = 0.0
    y: float = 0.0
    clip: Clip | None = None


@dataclass(frozen=True, eq=False)
class Page:
    """A page and what is on it, mm from its lower left corner."""

    width_mm: float
    height_mm: float
    contents: tuple[Placed, ...]
