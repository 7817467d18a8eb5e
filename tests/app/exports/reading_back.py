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
    """A path that was stroked: its line width and dashes in mm, its points in mm on the page."""

    width: float
    dashes: tuple[float, ...]
    points: FloatArray
    closed: bool


def reader(content: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(content))


def strokes(content: bytes, page_number: int = 0) -> list[Stroked]:
    """Return every stroked path of a page, straight pieces only."""
    document = reader(content)
    page: PageObject = document.pages[page_number]
    stream = ContentStream(page["/Contents"].get_object(), document)
    matrix = np.eye(3)
    saved: list[tuple[FloatArray, float, tuple[float, ...]]] = []
    width = 1.0
    dashes: tuple[float, ...] = ()
    found: list[Stroked] = []
    open_paths: list[tuple[list[FloatArray], bool]] = []
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
                open_paths.append(([np.array([*numbers, 1.0]) @ matrix], False))
            case b"l":
                open_paths[-1][0].append(np.array([*numbers, 1.0]) @ matrix)
            case b"h":
                open_paths[-1] = (open_paths[-1][0], True)
            case b"S" | b"s":
                found += [
                    Stroked(
                        width * MM,
                        tuple(dash * MM for dash in dashes),
                        np.array(points)[:, :2] * MM,
                        closed or operator == b"s",
                    )
                    for points, closed in open_paths
                ]
                open_paths = []
            case b"n" | b"f" | b"f*" | b"B":
                open_paths = []
    return found


def closed_length(points: FloatArray) -> float:
    return float(np.linalg.norm(np.roll(points, -1, axis=0) - points, axis=1).sum())


def signed_area(points: FloatArray) -> float:
    ahead = np.roll(points, -1, axis=0)
    return float((points[:, 0] * ahead[:, 1] - ahead[:, 0] * points[:, 1]).sum() / 2.0)
