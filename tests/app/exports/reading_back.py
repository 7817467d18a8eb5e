"""Reading what was written with libraries that did not write it."""

import io
from dataclasses import dataclass

import numpy as np
from pypdf import PdfReader
from pypdf._page import PageObject
from pypdf.generic import ContentStream

from geometry.arrays import FloatArray

MM = 25.4 / 72.0


@dataclass(frozen=True, eq=False)
class Stroked:
    """A path that was stroked: its line width and dashes in mm, its points in mm on the page.

    Cubics are among the points by 24 places each; `length` is by quadrature.
    """

    width: float
    dashes: tuple[float, ...]
    points: FloatArray
    closed: bool
    length: float


class _Path:
    """A path as it is drawn, places in points on the page."""

    def __init__(self, start: FloatArray) -> None:
        self.points = [start]
        self.length = 0.0
        self.closed = False

    def line_to(self, place: FloatArray) -> None:
        self.length += float(np.linalg.norm(place - self.points[-1]))
        self.points.append(place)

    def curve_to(self, corners: FloatArray) -> None:
        """Go along a cubic by its three corners after the last place, (3, 2)."""
        whole = np.concatenate([self.points[-1][None], corners])
        nodes, weights = np.polynomial.legendre.leggauss(32)
        at = (nodes + 1.0) / 2.0
        steps = 3.0 * np.diff(whole, axis=0)
        speeds = np.stack([(1 - at) ** 2, 2 * at * (1 - at), at**2], axis=1) @ steps
        self.length += float(np.hypot(*speeds.T) @ weights) / 2.0
        t = np.arange(1, 25) / 24.0
        shares = [(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t**2 * (1 - t), t**3]
        self.points += list(np.stack(shares, axis=1) @ whole)

    def close(self) -> None:
        self.length += float(np.linalg.norm(self.points[0] - self.points[-1]))
        self.closed = True


def reader(content: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(content))


def strokes(content: bytes, page_number: int = 0) -> list[Stroked]:
    """Return every stroked path of a page."""
    document = reader(content)
    page: PageObject = document.pages[page_number]
    stream = ContentStream(page["/Contents"].get_object(), document)
    matrix = np.eye(3)
    saved: list[tuple[FloatArray, float, tuple[float, ...]]] = []
    width = 1.0
    dashes: tuple[float, ...] = ()
    found: list[Stroked] = []
    paths: list[_Path] = []
    for operands, operator in stream.operations:
        numbers = [float(value) for value in operands if isinstance(value, (int, float))]
        match operator:
            case b"q":
                saved.append((matrix, width, dashes))
            case b"Q":
                matrix, width, dashes = saved.pop()
            case b"cm":
                a, b, c, d, e, f = numbers
                matrix = np.array([[a, b, 0.0], [c, d, 0.0], [e, f, 1.0]]) @ matrix
            case b"w":
                width = numbers[0]
            case b"d":
                dashes = tuple(float(value) for value in operands[0])
            case b"m":
                paths.append(_Path(_on_page(numbers, matrix)[0]))
            case b"l":
                paths[-1].line_to(_on_page(numbers, matrix)[0])
            case b"c":
                paths[-1].curve_to(_on_page(numbers, matrix))
            case b"h":
                paths[-1].close()
            case b"S" | b"s":
                found += _stroked(paths, width, dashes, closing=operator == b"s")
                paths = []
            case b"n" | b"f" | b"f*" | b"B":
                paths = []
    return found


def _on_page(numbers: list[float], matrix: FloatArray) -> FloatArray:
    places = np.array(numbers).reshape(-1, 2)
    return np.asarray((np.column_stack([places, np.ones(len(places))]) @ matrix)[:, :2])


def _stroked(
    paths: list[_Path], width: float, dashes: tuple[float, ...], *, closing: bool
) -> list[Stroked]:
    if closing:
        paths[-1].close()
    in_mm = tuple(dash * MM for dash in dashes)
    found = []
    for path in paths:
        points = np.array(path.points) * MM
        if path.closed and len(points) > 1 and np.abs(points[0] - points[-1]).max() < 1e-9:
            points = points[:-1]
        found.append(Stroked(width * MM, in_mm, points, path.closed, path.length * MM))
    return found


def closed_length(points: FloatArray) -> float:
    return float(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1).sum())


def signed_area(points: FloatArray) -> float:
    ahead = np.roll(points, -1, axis=0)
    return float((points[:, 0] * ahead[:, 1] - ahead[:, 0] * points[:, 1]).sum() / 2.0)
