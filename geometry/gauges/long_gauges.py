"""`LongGauge`: boards along the tank: its bottom edge and side lines, seen from two sides."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from geometry.arrays import BoolArray, FloatArray
from geometry.gauges.bottom_profile import (
    BottomProfile,
    View,
    long_template,
    scribing_template,
    seen,
)
from geometry.gauges.gauge_wishes import GaugeWishes, SideLine
from geometry.gauges.gauged_skin import GaugedSkin
from geometry.gauges.stations import Girthing, widest_line
from geometry.gauges.template import Template
from geometry.gauges.torn_edge import TornPlace, torn_places, without_torn
from geometry.gauges.turned_over import Hand, HandDifference, lines_apart
from geometry.mesh import NearestPoint

LongKind = Literal["bottom", "side line"]

_CRISP_SHARE = 0.3


@dataclass(frozen=True, eq=False)
class LongGauge:
    """A board along one hand of the tank.

    Attributes
    ----------
    of : "bottom" or "side line"
    view : "side" or "plan"
    hand : "left", "right" or "both"
    line : (k, 3) float, mm
        In tank axes.
    template : Template
    difference : HandDifference
    filled, copied : tuple of (j, 3) float, mm
        Stretches of the line nobody scanned, and those made from the other side.
    torn : tuple of TornPlace
        Of this line.
    but_torn_mm : float or None
        How far the hands differ with the torn places of both bridged; None where none is torn.
    """

    of: LongKind
    view: View
    hand: Hand
    line: FloatArray
    template: Template
    difference: HandDifference
    filled: tuple[FloatArray, ...]
    copied: tuple[FloatArray, ...]
    torn: tuple[TornPlace, ...] = ()
    but_torn_mm: float | None = None


def long_gauges(
    skin: GaugedSkin,
    profile: BottomProfile | None,
    girth: Girthing,
    crisp: Sequence[FloatArray],
    wishes: GaugeWishes,
) -> tuple[tuple[LongGauge, ...], tuple[TornPlace, ...]]:
    """Return the boards along bottom edge and side lines, and where the bottom edge is torn.

    Parameters
    ----------
    skin : GaugedSkin
    profile : BottomProfile or None
        None where no boards along the bottom are wanted.
    girth : Girthing
    crisp : sequence of (k, 3) float, mm
        Character lines kept crisp, for boards along the side.
    wishes : GaugeWishes
    """
    beside = _Beside(skin)
    torn = _torn(profile, beside)
    views: tuple[View, ...] = ("side", "plan")
    found: list[LongGauge] = []
    lines = _side_lines(girth, crisp, skin.length_mm, wishes.side_line)
    for view in views:
        if profile is not None:
            pair = _pair("bottom", view, (profile.left, profile.right), wishes, beside)
            found += [_with_torn(each, profile, torn) for each in pair]
    for view in views:
        if lines is not None:
            found += _pair("side line", view, lines, wishes, beside)
    return tuple(found), torn


def _with_torn(gauge: LongGauge, profile: BottomProfile, torn: tuple[TornPlace, ...]) -> LongGauge:
    """Return a board of the bottom edge that tells where its own line is torn."""
    if not torn:
        return gauge
    hands = {"left": profile.left, "right": profile.right}
    mended = [
        seen(without_torn(line, tuple(t for t in torn if t.hand == hand)), gauge.view)
        for hand, line in hands.items()
    ]
    own = tuple(place for place in torn if gauge.line is hands[place.hand])
    return replace(gauge, torn=own, but_torn_mm=lines_apart(*mended).largest_mm)


def _side_lines(
    girth: Girthing, crisp: Sequence[FloatArray], length_mm: float, which: SideLine
) -> tuple[FloatArray, FloatArray] | None:
    if which == "none":
        return None
    if which == "widest":
        return widest_line(girth, "left"), widest_line(girth, "right")
    hands = [[line for line in crisp if (side * line[:, 1] > 0.0).all()] for side in (1.0, -1.0)]
    longest = [
        max(each, key=lambda line: float(np.ptp(line[:, 0])), default=None) for each in hands
    ]
    left, right = (
        None if line is None or np.ptp(line[:, 0]) < _CRISP_SHARE * length_mm else _ahead(line)
        for line in longest
    )
    return None if left is None or right is None else (left, right)


def _ahead(line: FloatArray) -> FloatArray:
    """Return a line run from the rear ahead."""
    return line if line[0, 0] <= line[-1, 0] else line[::-1].copy()


def _pair(
    of: LongKind,
    view: View,
    lines: tuple[FloatArray, FloatArray],
    wishes: GaugeWishes,
    beside: "_Beside",
) -> list[LongGauge]:
    """Return the boards along both hands: one where it serves for both turned over."""
    left, right = lines
    difference = lines_apart(seen(left, view), seen(right, view))
    one_hand = of == "bottom" and wishes.bottom_from != "each"
    best = right if one_hand and wishes.bottom_from == "right" else left
    chosen: tuple[tuple[Hand, FloatArray], ...] = (("both", best),)
    if not difference.turns_over(wishes.limit_mm) and not one_hand:
        chosen = (("left", left), ("right", right))

    def board(line: FloatArray) -> Template:
        if of == "side line" and view == "side":
            return scribing_template(line)
        return long_template(line, view, kind=wishes.kind, board_mm=wishes.board_mm)

    boards = [(hand, line, board(line)) for hand, line in chosen]
    return [
        LongGauge(of, view, hand, line, made, difference, *beside.unseen(line))
        for hand, line, made in boards
        if made.is_board
    ]


class _Beside:
    """Which faces of the skin a line runs along."""

    def __init__(self, skin: GaugedSkin) -> None:
        self._skin = skin
        self._nearest = NearestPoint(skin.scanned)

    def unseen(self, line: FloatArray) -> tuple[tuple[FloatArray, ...], tuple[FloatArray, ...]]:
        """Return the stretches of a line on filled faces, and those on copied ones."""
        faces = self._nearest.find(line).faces
        return _runs(line, self._skin.filled[faces]), _runs(line, self._skin.copied[faces])

    def is_guessed(self, places: FloatArray) -> bool:
        """Return whether any of some places lies on a face nobody scanned."""
        return bool(self._skin.filled[self._nearest.find(places).faces].any())


def _runs(line: FloatArray, chosen: BoolArray) -> tuple[FloatArray, ...]:
    """Return the stretches of a line between chosen points."""
    ends = np.flatnonzero(np.diff(np.concatenate([[False], chosen, [False]]).astype(int)))
    runs = [line[start:stop] for start, stop in ends.reshape(-1, 2).tolist()]
    return tuple(run for run in runs if len(run) > 1)


def _torn(profile: BottomProfile | None, beside: "_Beside") -> tuple[TornPlace, ...]:
    """Return where the open bottom edge is torn; a closed tank has none."""
    if profile is None or not profile.is_rim:
        return ()
    hands = {"left": profile.left, "right": profile.right}
    return tuple(
        replace(place, guessed=beside.is_guessed(hands[place.hand][place.points]))
        for place in torn_places(profile.left, profile.right)
    )
