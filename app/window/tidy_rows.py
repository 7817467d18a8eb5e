"""The rows of Tidy: pieces, holes and cuts, with what becomes of each and where it is. No Qt."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from app.job import BallCrop, HalfSpaceCrop, JobState, Tidied, TidyChoice, latest, made
from app.units import length_text, size_text
from app.window.standpoint import Axes, axes_of
from geometry.arrays import FloatArray
from geometry.datum import Point3, point3

_SIDES = ("front", "rear", "left side", "right side", "top", "underside")


@dataclass(frozen=True, eq=False)
class PieceRow:
    """One piece of the scan.

    Attributes
    ----------
    place : three floats, file coordinates
        On it.
    size_mm : (3,) float
        Its box, longest first.
    is_kept : bool
    by_hand : bool
        Whether the maker said so.
    """

    place: Point3
    size_mm: FloatArray
    is_kept: bool
    by_hand: bool

    def words(self, number: int, show: str) -> str:
        """Return what the list says."""
        far = size_text(float(self.size_mm[0]), float(self.size_mm[1]), show)
        fate = "kept" if self.is_kept else "dropped"
        return f"{number + 1}   {far}\n{fate}{', as you said' if self.by_hand else ''}"


@dataclass(frozen=True, eq=False)
class HoleRow:
    """One hole, or the outer edge.

    Attributes
    ----------
    place : three floats, file coordinates
        Its middle.
    normal : (3,) float
        The way it faces.
    rim : (k, 3) float, file coordinates
        Closed.
    rim_mm, across_mm : float
    is_round, is_edge, is_filled, by_hand : bool
    side : str
        Where it is, in a word.
    """

    place: Point3
    normal: FloatArray
    rim: FloatArray
    rim_mm: float
    across_mm: float
    is_round: bool
    is_edge: bool
    is_filled: bool
    by_hand: bool
    side: str

    def words(self, number: int, show: str) -> str:
        """Return what the list says."""
        kind = (
            "open edge of the skin" if self.is_edge else "round hole" if self.is_round else "hole"
        )
        fate = "filled by guess" if self.is_filled else "left open"
        said = ", as you said" if self.by_hand else ""
        return (
            f"{number + 1}   {kind}, {self.side}\n"
            f"rim {length_text(self.rim_mm, show)}: {fate}{said}"
        )


@dataclass(frozen=True)
class CropRow:
    """One crop or cut-out: its number among its kind."""

    is_cut: bool
    number: int
    words: str


def piece_rows(state: JobState) -> tuple[PieceRow, ...]:
    """Return the pieces, largest first."""
    tidied: Tidied | None = latest(state, "Tidy")
    size = made(state, "Size")
    if tidied is None or size is None:
        return ()
    said = {*state.tidy.kept, *state.tidy.dropped}
    rows = []
    for piece, kept in zip(tidied.pieces, tidied.kept, strict=True):
        place = point3(piece.point / size.mm_per_unit)
        box = np.sort(piece.size)[::-1]
        rows.append(PieceRow(place, box, kept, place in said))
    return tuple(rows)


def hole_rows(state: JobState) -> tuple[HoleRow, ...]:
    """Return the holes of what is kept, longest rim first."""
    tidied: Tidied | None = latest(state, "Tidy")
    size, scanned = made(state, "Size"), latest(state, "Scan")
    if tidied is None or size is None or scanned is None:
        return ()
    axes = axes_of(state, scanned.sound.mesh)
    return _hole_rows(tidied, float(size.mm_per_unit), state.tidy, axes)


@lru_cache(maxsize=4)
def _hole_rows(tidied: Tidied, scale: float, choice: TidyChoice, axes: Axes) -> tuple[HoleRow, ...]:
    vertices = tidied.tidy.mesh.vertices
    said = {*choice.filled, *choice.left}
    rows = []
    for hole, fate in zip(tidied.holes, tidied.hole_fates, strict=True):
        place = point3(hole.centre / scale)
        rim = vertices[np.append(hole.rim, hole.rim[:1])] / scale
        rows.append(
            HoleRow(
                place, hole.normal, rim, hole.rim_length, hole.across, hole.is_round,
                hole.is_edge, fate == "filled", place in said, side_words(hole.normal, axes),
            )
        )  # fmt: skip
    return tuple(rows)


def side_words(normal: FloatArray, axes: Axes) -> str:
    """Return on which side something is, from the way it faces."""
    ways = np.stack([axes.front, -axes.front, axes.left, -axes.left, axes.top, -axes.top])
    if axes.guessed:
        return "place as lit"
    return _SIDES[int(np.argmax(ways @ normal))]


def crop_rows(state: JobState) -> tuple[CropRow, ...]:
    """Return crops, then cut-outs, in the order they were made."""
    rows = []
    for is_cut, crops in ((False, state.tidy.crops), (True, state.tidy.cuts)):
        for number, crop in enumerate(crops):
            what = "Cut-out" if is_cut else "Crop"
            if isinstance(crop, HalfSpaceCrop):
                how = "one side of a plane"
            elif isinstance(crop, BallCrop):
                how = "a round place"
            else:
                how = "inside an outline" if crop.inside else "outside an outline"
                how += ", what faces you only" if crop.front_only else ""
            rows.append(CropRow(is_cut, number, f"{what} {number + 1}: {how}"))
    return tuple(rows)
