"""The bottom edge of the tank, and long templates along it and along its side lines.

The edge is rarely flat and never straight: each hand has a curve seen from the side and one seen
from above, and the widths across tie the two hands together.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.gauges.gauge_faults import NoSectionError
from geometry.gauges.gauged_skin import GaugedSkin, on_board
from geometry.gauges.station_section import station_section
from geometry.gauges.template import Kind, Template, template, template_of, under
from geometry.mesh import rims

_RIM_SHARE = 0.7
"""An open edge that runs along so much of the tank's length, low down, is its bottom edge."""

_STEP_MM = 5.0
_ON_CENTRE_MM = 1e-6

ACROSS_AT = (0.25, 0.5, 0.75)
"""Where widths are taken, as shares of the edge's length from the front. Common practice, no
source."""

DEEP_MM = 60.0
"""How deep a long board is behind its edge, and a bar across. Own choice."""

View = Literal["side", "plan"]


@dataclass(frozen=True, eq=False)
class BottomProfile:
    """The bottom edge.

    Attributes
    ----------
    left, right : (k, 3) float, mm
        Each hand's edge in tank axes, from the rear ahead; of an open edge from centre line to
        centre line.
    is_rim : bool
        Whether it is the skin's own open edge; otherwise the line where the sections turn under.
    across : tuple of ((3,), (3,))
        Places on the left and the right edge at the stations widths are taken at, front first.
    """

    left: FloatArray
    right: FloatArray
    is_rim: bool
    across: tuple[tuple[FloatArray, FloatArray], ...]

    def __post_init__(self) -> None:
        locked(self.left)
        locked(self.right)

    @property
    def widths_mm(self) -> tuple[float, ...]:
        """The widths across, front first."""
        return tuple(float(left[1] - right[1]) for left, right in self.across)


def bottom_profile(skin: GaugedSkin) -> BottomProfile:
    """Return the bottom edge of the face a gauge touches.

    Raises
    ------
    NoSectionError
        No edge runs along both hands of the tank.
    """
    halves = _from_rim(skin)
    is_rim = halves is not None
    left, right = halves if halves is not None else _from_sections(skin)
    rear = max(float(each[:, 0].min()) for each in (left, right))
    front = min(float(each[:, 0].max()) for each in (left, right))
    places = [front - share * (front - rear) for share in ACROSS_AT]
    across = tuple((_outermost_at(left, at), _outermost_at(right, at)) for at in places)
    return BottomProfile(left, right, is_rim, across)


def _from_rim(skin: GaugedSkin) -> tuple[FloatArray, FloatArray] | None:
    """Return the two hands of the open edge along the tank's foot; None where it has none."""
    middle = float(np.median(skin.scanned.vertices[:, 2]))
    for rim in rims(skin.scanned):
        loop = skin.vertices[rim]
        if np.ptp(loop[:, 0]) > _RIM_SHARE * skin.length_mm and loop[:, 2].mean() < middle:
            return _hands(loop)
    return None


def _hands(loop: FloatArray) -> tuple[FloatArray, FloatArray] | None:
    """Return a closed edge parted at the centre line, behind and ahead, each from the rear."""
    after = np.roll(loop, -1, axis=0)
    crossing = np.flatnonzero((loop[:, 1] < 0.0) != (after[:, 1] < 0.0))
    if len(crossing) < 2:
        return None
    share = (loop[crossing, 1] / (loop[crossing, 1] - after[crossing, 1]))[:, None]
    places = loop[crossing] + share * (after[crossing] - loop[crossing])
    rear, front = int(places[:, 0].argmin()), int(places[:, 0].argmax())
    found: dict[bool, FloatArray] = {}
    for start, stop in ((rear, front), (front, rear)):
        first, last = int(crossing[start]) + 1, int(crossing[stop]) + 1
        run = np.roll(loop, -first, axis=0)[: (last - first) % len(loop)]
        run = run[np.abs(run[:, 1]) > _ON_CENTRE_MM]
        line = np.concatenate([places[start][None], run, places[stop][None]])
        line = line if start == rear else line[::-1]
        found[float(line[:, 1].mean()) > 0.0] = line.copy()
    return (found[True], found[False]) if len(found) == 2 else None


def _from_sections(skin: GaugedSkin) -> tuple[FloatArray, FloatArray]:
    """Return where the sections of a closed tank turn under, on either hand."""
    count = max(int(skin.length_mm / _STEP_MM), 8)
    rear = skin.front_mm - skin.length_mm
    left, right = [], []
    for at in np.linspace(rear, skin.front_mm, count + 1)[1:-1].tolist():
        try:
            arch = station_section(skin, 0, at).arch
        except NoSectionError:
            continue
        left.append([at, -arch[0, 0], arch[0, 1]])
        right.append([at, -arch[-1, 0], arch[-1, 1]])
    if len(left) < 4:
        raise NoSectionError(rear)
    return np.array(left), np.array(right)


def _outermost_at(line: FloatArray, at_mm: float) -> FloatArray:
    """Return where a line passes a station furthest from the centre line."""
    x = line[:, 0] - at_mm
    steps = np.flatnonzero((x[:-1] < 0.0) != (x[1:] < 0.0))
    share = (x[steps] / (x[steps] - x[steps + 1]))[:, None]
    places = line[steps] + share * (line[steps + 1] - line[steps])
    return np.asarray(places[int(np.abs(places[:, 1]).argmax())])


def long_template(line: FloatArray, view: View, *, kind: Kind, board_mm: float = 40.0) -> Template:
    """Return the board along a line of one hand, front on the right.

    Parameters
    ----------
    line : (k, 3) float, mm
        In tank axes, from the rear ahead.
    view : "side" or "plan"
        A side view stands upright, its board under the line, for a male one above it. In plan
        the board lies outside the line, for a male one inside; of either hand outward is up.
    kind : "female" or "male"
    board_mm : float
    """
    if view == "plan":
        return template(seen(line, "plan"), kind=kind, part="whole", board_mm=board_mm, foot_mm=0.0)
    course = _between_ends(seen(line, "side")) * np.array([1.0, -1.0])
    foot = DEEP_MM if kind == "male" else 0.0
    return template(course, kind=kind, part="whole", board_mm=board_mm, foot_mm=foot).flipped()


def seen(line: FloatArray, view: View) -> FloatArray:
    """Return a line of one hand as its board shows it: front right; up, or outward, up."""
    if view == "side":
        return on_board(line, 1)
    hand = 1.0 if line[:, 1].mean() > 0.0 else -1.0
    return np.asarray(on_board(line, 2) * np.array([1.0, hand]))


def _between_ends(course: FloatArray) -> FloatArray:
    """Return a side view between its rear and front ends, which lie across the tank."""
    rear, front = int(course[:, 0].argmin()), int(course[:, 0].argmax())
    return course[rear : front + 1] if rear < front else course


def scribing_template(line: FloatArray) -> Template:
    """Return the board whose upper edge is a line seen from the side, to scribe along."""
    course = _between_ends(seen(line, "side"))
    board = under(course, "whole", DEEP_MM)
    return template_of(board, course, np.array([0.0, -1.0]))


def bar_across(left: FloatArray, right: FloatArray) -> Template:
    """Return the bar that stands between the two bottom edges at a station, seen from behind."""
    line = on_board(np.stack([left, right]), 0)
    return template_of(under(line, "whole", DEEP_MM), line, np.array([0.0, -1.0]))
