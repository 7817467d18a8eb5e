"""Where a tunnel sits in the tank, and where its legs meet the tank's bottom.

The bottom runs straight across from the skin's left bottom edge to its right one, as a base does
that is bent to both. The tunnel is slid up or down and tilted until its foot line sits level with
it; what it may be off on the job makes a band of cut-off lines.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from geometry.arrays import BoolArray, FloatArray, locked
from geometry.mesh import TriMesh, nearest_points, rims, section
from geometry.tank.tunnel_net import HalfNet
from geometry.tank.tunnel_spec import TunnelPlace

_STATION_MM = 4.0
_SAMPLES = 81
_ROUNDS = 6
_PARTS = 5
"""Positions fore and aft the band is made of, the middle one among them."""


@dataclass(frozen=True, eq=False)
class TankBottom:
    """The left and the right edge of the tank's bottom, in the tank's axes.

    Attributes
    ----------
    left, right : (k, 3) float, mm
        x rising.
    left_guessed, right_guessed : (k,) bool or None
        Which of these places nobody scanned; None where that is not known of any.
    """

    left: FloatArray
    right: FloatArray
    left_guessed: BoolArray | None = None
    right_guessed: BoolArray | None = None

    def __post_init__(self) -> None:
        locked(self.left)
        locked(self.right)
        for guessed in (self.left_guessed, self.right_guessed):
            if guessed is not None:
                locked(guessed)

    @property
    def reach(self) -> tuple[float, float]:
        """From where to where ahead both edges run; beyond, the nearest place stands for it."""
        first = max(self.left[0, 0], self.right[0, 0])
        return float(first), float(min(self.left[-1, 0], self.right[-1, 0]))

    def is_guessed(self, x: FloatArray, about_mm: float) -> BoolArray:
        """Return (k,) whether either edge is guessed within a distance ahead or behind.

        Either counts for both legs: the bottom runs straight across from one to the other.

        >>> edge = np.array([[0.0, 80.0, 0.0], [50.0, 80.0, 0.0], [100.0, 80.0, 0.0]])
        >>> bottom = TankBottom(edge, edge * [1.0, -1.0, 1.0], np.array([False, True, False]))
        >>> bottom.is_guessed(np.array([40.0, 55.0, 70.0, 200.0]), 12.0).tolist()
        [True, True, False, False]
        """
        found = np.zeros(len(x), bool)
        for edge, guessed in ((self.left, self.left_guessed), (self.right, self.right_guessed)):
            if guessed is None:
                continue
            at = edge[:, 0]
            inside = np.clip(x, at[0], at[-1])  # beyond, the nearest place stands for it
            until = np.concatenate([[0], np.cumsum(guessed)])
            first = np.searchsorted(at, inside - about_mm, "left")
            last = np.searchsorted(at, inside + about_mm, "right")
            found |= until[last] > until[first]
        return found

    def height(self, x: FloatArray, y: FloatArray) -> FloatArray:
        """Return (k,) how high the bottom is at places ahead and to the left."""
        left_y, left_z = (np.interp(x, self.left[:, 0], self.left[:, i]) for i in (1, 2))
        right_y, right_z = (np.interp(x, self.right[:, 0], self.right[:, i]) for i in (1, 2))
        wide = left_y - right_y
        share = np.clip((y - right_y) / np.where(wide > 1e-9, wide, 1.0), 0.0, 1.0)
        return np.asarray(right_z + share * (left_z - right_z))


def flat_bottom(height_mm: float = 0.0) -> TankBottom:
    """Return a level bottom without end: the foot line of a tunnel laid out without a tank."""
    ends = np.array([[-1e5, 0.0, height_mm], [1e5, 0.0, height_mm]])
    wide = np.array([0.0, 1e4, 0.0])
    return TankBottom(ends + wide, ends - wide)


def tank_bottom(skin: TriMesh, guessed: BoolArray | None = None) -> TankBottom:
    """Return the bottom of a skin in tank axes: its long open edge, else where it is lowest.

    The open edge counts where it goes along more than half of the tank.

    Parameters
    ----------
    skin : TriMesh
    guessed : (m,) bool, optional
        Faces nobody scanned.
    """
    bottom = _bottom_of(skin)
    if guessed is None or not guessed.any():
        return bottom
    left, right = (
        guessed[nearest_points(skin, edge).faces] for edge in (bottom.left, bottom.right)
    )
    return replace(bottom, left_guessed=left, right_guessed=right)


def _bottom_of(skin: TriMesh) -> TankBottom:
    used = skin.vertices[np.unique(skin.faces)]
    long = float(np.ptp(used[:, 0]))
    loops = [skin.vertices[rim] for rim in rims(skin)]
    edge = max(loops, key=lambda loop: float(np.ptp(loop[:, 0])), default=None)
    if edge is not None and np.ptp(edge[:, 0]) > 0.5 * long:
        return _from_edge(np.concatenate([edge, edge[:1]]))
    stations = np.linspace(used[:, 0].min() + 0.01 * long, used[:, 0].max() - 0.01 * long, 60)
    sides: dict[float, list[FloatArray]] = {1.0: [], -1.0: []}
    for x in stations:
        lines = section(skin, np.array([x, 0.0, 0.0]), np.array([1.0, 0.0, 0.0]))
        places = np.concatenate(lines)
        for side, found in sides.items():
            mine = places[side * places[:, 1] >= 0.0]
            if len(mine):
                found.append(mine[np.argmin(mine[:, 2])])
    return TankBottom(np.array(sides[1.0]), np.array(sides[-1.0]))


def _from_edge(ring: FloatArray) -> TankBottom:
    """Return both sides of an open edge (k, 3) that closes, outermost places at each station."""
    low, high = float(ring[:, 0].min()), float(ring[:, 0].max())
    count = max(8, int((high - low) / _STATION_MM))
    left, right = [], []
    for x in np.linspace(low, high, count + 2)[1:-1]:
        before, after = ring[:-1], ring[1:]
        crosses = np.flatnonzero((before[:, 0] - x) * (after[:, 0] - x) <= 0.0)
        run = after[crosses, 0] - before[crosses, 0]
        share = np.where(run == 0.0, 0.0, (x - before[crosses, 0]) / np.where(run == 0, 1, run))
        places = before[crosses] + share[:, None] * (after[crosses] - before[crosses])
        places[:, 0] = x
        left.append(places[np.argmax(places[:, 1])])
        right.append(places[np.argmin(places[:, 1])])
    return TankBottom(np.array(left), np.array(right))


@dataclass(frozen=True)
class TunnelSeat:
    """Where the foot line lies in the tank.

    Attributes
    ----------
    rear_mm : float
        How far ahead of the tank's rearmost place the rear end is.
    foot_mm : float
        How high the foot line is there.
    nose_up_rad : float
        How far it rises ahead.
    """

    rear_mm: float
    foot_mm: float
    nose_up_rad: float

    def to_tank(self, points: FloatArray) -> FloatArray:
        """Return (..., 3) places of the tunnel in the tank's axes."""
        return np.asarray(points @ self._turn + [self.rear_mm, 0.0, self.foot_mm])

    def from_tank(self, points: FloatArray) -> FloatArray:
        """Return (..., 3) places of the tank in the tunnel's frame."""
        return np.asarray((points - [self.rear_mm, 0.0, self.foot_mm]) @ self._turn.T)

    @property
    def _turn(self) -> FloatArray:
        cosine, sine = np.cos(self.nose_up_rad), np.sin(self.nose_up_rad)
        return np.array([[cosine, 0.0, sine], [0.0, 1.0, 0.0], [-sine, 0.0, cosine]])


def seated(
    place: TunnelPlace, bottom: TankBottom, length_mm: float, half_width_mm: float
) -> TunnelSeat:
    """Return where the foot line sits level with the bottom, or where it is said to lie.

    Parameters
    ----------
    place : TunnelPlace
    bottom : TankBottom
    length_mm : float
    half_width_mm : float
        How far from the middle the legs end.

    A bottom that rises by 1 in 10 tilts the tunnel as much:

    >>> edge = np.array([[0.0, 80.0, 5.0], [400.0, 80.0, 45.0]])
    >>> bottom = TankBottom(edge, edge * [1.0, -1.0, 1.0])
    >>> seat = seated(TunnelPlace(50.0), bottom, 300.0, 25.0)
    >>> round(seat.foot_mm, 6), round(float(np.tan(seat.nose_up_rad)), 6)
    (10.0, 0.1)
    """
    tilt = 0.0 if place.nose_up_rad is None else place.nose_up_rad
    foot = 0.0
    for _ in range(_ROUNDS):
        run = np.linspace(0.0, length_mm * np.cos(tilt), _SAMPLES)
        ahead = np.tile(place.rear_mm + run, 2)
        side = np.repeat([half_width_mm, -half_width_mm], _SAMPLES)
        height = bottom.height(ahead, side)
        if place.nose_up_rad is None:
            rows = np.column_stack([np.ones(len(ahead)), np.tile(run, 2)])
            foot, slope = np.linalg.lstsq(rows, height, rcond=None)[0]
            tilt = float(np.arctan(slope))
        else:
            foot = float((height - np.tan(tilt) * np.tile(run, 2)).mean())
    return TunnelSeat(place.rear_mm, float(foot) if place.foot_mm is None else place.foot_mm, tilt)


def positions(
    place: TunnelPlace, bottom: TankBottom, length_mm: float, half_width_mm: float
) -> Iterator[TunnelSeat]:
    """Yield where the tunnel may end up: slid fore and aft, each time level, higher and lower.

    A tunnel whose height is said stays as high as it is slid.
    """
    for along in np.linspace(-place.fore_aft_mm, place.fore_aft_mm, _PARTS):
        slid = replace(place, rear_mm=place.rear_mm + float(along))
        seat = seated(slid, bottom, length_mm, half_width_mm)
        for up in (-place.up_down_mm, 0.0, place.up_down_mm):
            yield replace(seat, foot_mm=seat.foot_mm + up)


def cut_off_down(
    net: HalfNet, seat: TunnelSeat, bottom: TankBottom, side: float, x_mm: FloatArray
) -> FloatArray:
    """Return (k,) how far down the leg from its top the tank's bottom is, at x of the tunnel.

    Below 0 where the bottom lies above the leg. `side` is 1 for the left leg, -1 for the right.
    """
    down = np.zeros(len(x_mm))
    falls = abs(float(net.leg[2]))
    for _ in range(60):
        place = seat.to_tank(net.leg_at(x_mm, down) * [1.0, side, 1.0])
        gap = place[:, 2] - bottom.height(place[:, 0], place[:, 1])
        down = down + gap / falls
        if np.abs(gap).max() < 1e-9:
            break
    return down
