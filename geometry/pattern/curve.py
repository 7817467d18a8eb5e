"""`Curve`: a line of straight pieces, arcs and cubics that is measured, moved and sampled exactly.

How one is fitted to points stands in `curve_fitting`.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from geometry.arrays import BoolArray, FloatArray, IntArray, locked

_SIMILAR = 1e-12
"""A matrix this near to a turn, a mirror or an even scale leaves arcs arcs."""

_QUADRATURE_MM = 1e-9
_MOST_HALVINGS = 10


@dataclass(frozen=True, eq=False)
class Curve:
    """Straight pieces, arcs and cubics from joint to joint; j pieces, k joints.

    A closed curve has as many pieces as joints, the last leading back to the first; an open one
    has a piece less.

    Attributes
    ----------
    points : (k, 2) float, mm
        The joints; a closed curve does not repeat its first.
    bulges : (j,) float
        The tangent of a quarter of what each arc turns by, positive to the left; 0 where straight
        and where a cubic.
    controls : (j, 2, 2) float, mm
        The two control points of each cubic; nan where the piece is none.
    closed : bool
    """

    points: FloatArray
    bulges: FloatArray
    controls: FloatArray
    closed: bool = False

    @property
    def ends(self) -> FloatArray:
        """(j, 2) where each piece ends."""
        return np.roll(self.points, -1, axis=0) if self.closed else self.points[1:]

    @property
    def starts(self) -> FloatArray:
        """(j, 2) where each piece starts."""
        return self.points if self.closed else self.points[:-1]

    @property
    def is_cubic(self) -> BoolArray:
        """(j,) which pieces are cubics."""
        return np.asarray(np.isfinite(self.controls).all(axis=(1, 2)))

    @cached_property
    def piece_lengths(self) -> FloatArray:
        """(j,) the length of each piece: straight ones and arcs exact, cubics to 1e-9 mm."""
        chords = np.linalg.norm(self.ends - self.starts, axis=1)
        bulge = np.abs(self.bulges)
        some = np.where(bulge < 1e-8, 1.0, bulge)
        # An arc of chord c turns by 4 atan(b) at the radius c (1 + b^2) / (4 b).
        longer = np.where(bulge < 1e-8, 1.0, (1.0 + bulge**2) * np.arctan(some) / some)
        lengths = np.asarray(chords * longer)
        cubic = self.is_cubic
        if cubic.any():
            lengths[cubic] = _cubic_lengths(self._cubics(cubic))
        return locked(lengths)

    @property
    def length(self) -> float:
        """Length along it, mm.

        >>> half = Curve(np.array([[0.0, 0], [2, 0]]), np.ones(1), np.full((1, 2, 2), np.nan))
        >>> round(half.length, 12) == round(np.pi, 12)
        True
        """
        return float(self.piece_lengths.sum())

    @property
    def points_per_metre(self) -> float:
        """How many joints a metre of it takes."""
        return 1000.0 * len(self.points) / self.length

    def sampled(self, tolerance_mm: float) -> FloatArray:
        """Return (j, 2) points on it whose chords leave it by no more than the tolerance.

        The joints are among them; a closed curve's first is not repeated.
        """
        counts = self._samples(tolerance_mm)
        piece = np.repeat(np.arange(len(counts)), counts)
        part = (np.arange(len(piece)) - np.repeat(np.cumsum(counts) - counts, counts)) / counts[
            piece
        ]
        points = self.starts[piece].copy()
        arc = self.bulges[piece] != 0.0
        of = piece[arc]
        points[arc] = _on_arcs(self.starts[of], self.ends[of], self.bulges[of], part[arc])
        cubic = self.is_cubic[piece]
        if cubic.any():
            corners = np.concatenate(
                [self.starts[:, None], self.controls, self.ends[:, None]], axis=1
            )[piece[cubic]]
            points[cubic] = np.einsum("ip,pix->px", cubic_weights(part[cubic]), corners)
        return points if self.closed else np.concatenate([points, self.points[-1:]])

    def _samples(self, tolerance_mm: float) -> IntArray:
        """Return (j,) into how many chords each piece falls.

        A chord over a step h of a cubic leaves it by no more than h^2 / 8 times its largest second
        derivative, which is 6 times the larger second difference of its corners.
        """
        counts = np.ones(len(self.bulges), np.int64)
        arc = np.flatnonzero(self.bulges)
        if arc.size:
            bulge = np.abs(self.bulges[arc])
            chords = np.linalg.norm((self.ends - self.starts)[arc], axis=1)
            radii = np.maximum(chords, 1e-300) * (1.0 + bulge**2) / (4.0 * bulge)
            steps = 2.0 * np.arccos(np.maximum(1.0 - tolerance_mm / radii, 0.5))
            counts[arc] = np.maximum(np.ceil(4.0 * np.arctan(bulge) / steps), 1.0)
        cubic = self.is_cubic
        if cubic.any():
            bends = 6.0 * np.linalg.norm(np.diff(self._cubics(cubic), 2, axis=1), axis=2).max(
                axis=1
            )
            counts[cubic] = np.maximum(np.ceil(np.sqrt(bends / (8.0 * tolerance_mm))), 1.0)
        return counts

    def transformed(self, matrix: FloatArray, shift: FloatArray | None = None) -> "Curve":
        """Return it moved: every point p at `matrix` p + `shift`.

        A mirror image bulges to the other side. Where the matrix is no even scale an arc turns
        into an ellipse: its pieces become cubics, within 1e-5 mm.

        Parameters
        ----------
        matrix : (2, 2) float
        shift : (2,) float, mm
        """
        by = np.zeros(2) if shift is None else shift
        gram = matrix.T @ matrix
        uneven = max(abs(gram[0, 1]), abs(gram[0, 0] - gram[1, 1]))
        if uneven > _SIMILAR * gram[0, 0] and self.bulges.any():
            return self.as_cubics(1e-5).transformed(matrix, shift)
        hand = 1.0 if np.linalg.det(matrix) > 0.0 else -1.0
        return Curve(
            locked(self.points @ matrix.T + by),
            locked(hand * self.bulges + 0.0),
            locked(self.controls @ matrix.T + by),
            self.closed,
        )

    def reversed(self) -> "Curve":
        """Return it run the other way; a closed one from the same joint."""
        points = self.points[::-1]
        return Curve(
            locked(np.roll(points, 1, axis=0) if self.closed else points.copy()),
            locked(0.0 - self.bulges[::-1]),
            locked(self.controls[::-1, ::-1].copy()),
            self.closed,
        )

    def as_cubics(self, tolerance_mm: float) -> "Curve":
        """Return it with every arc as cubics that leave it by no more than the tolerance.

        Source: [goldapp1991]: a cubic for an arc that turns by t at radius r, its handles
        (4/3) tan(t/4) r long, lies outside by up to (2/27) r sin(t/4)^6 / cos(t/4)^2.
        """
        arc = self.bulges != 0.0
        turn = 4.0 * np.arctan(self.bulges)
        chords = self.ends - self.starts
        radius = (
            np.hypot(*chords.T) * (1.0 + self.bulges**2) / np.where(arc, 4.0 * self.bulges, 1.0)
        )
        quarter = (13.5 * tolerance_mm / np.maximum(np.abs(radius), 1e-300)) ** (1.0 / 6.0)
        counts = np.ceil(np.abs(turn) / 4.0 / np.minimum(0.998 * quarter, np.pi / 8.0))
        counts = np.where(arc, np.maximum(counts, 1.0), 1.0).astype(np.int64)
        piece = np.repeat(np.arange(len(counts)), counts)
        step = np.arange(len(piece)) - np.repeat(np.cumsum(counts) - counts, counts)
        controls = self.controls[piece]
        joints = self.starts[piece].copy()
        of, parts = piece[arc[piece]], (step / counts[piece])[arc[piece]]
        joints[arc[piece]] = _on_arcs(self.starts[of], self.ends[of], self.bulges[of], parts)
        finish = np.concatenate([joints[1:], self.ends[-1:]])[arc[piece]]
        # Tangents: the chord turned back by half the turn, then forward by what has been turned.
        way = np.arctan2(chords[of, 1], chords[of, 0]) + (parts - 0.5) * turn[of]
        each = turn[of] / counts[of]
        handle = 4.0 / 3.0 * np.tan(each / 4.0) * radius[of]
        controls[arc[piece], 0] = joints[arc[piece]] + handle[:, None] * _unit(way)
        controls[arc[piece], 1] = finish - handle[:, None] * _unit(way + each)
        if not self.closed:
            joints = np.concatenate([joints, self.points[-1:]])
        return Curve(locked(joints), locked(np.zeros(len(piece))), locked(controls), self.closed)

    def _cubics(self, chosen: BoolArray) -> FloatArray:
        """Return (c, 4, 2) the corners of some cubics."""
        starts, ends = self.starts[chosen, None], self.ends[chosen, None]
        return np.concatenate([starts, self.controls[chosen], ends], axis=1)


def straight_curve(points: FloatArray, *, closed: bool) -> Curve:
    """Return straight pieces through points (k, 2), a closed line's first not repeated."""
    pieces = len(points) if closed else len(points) - 1
    return Curve(
        locked(np.array(points)), locked(np.zeros(pieces)), locked(no_controls(pieces)), closed
    )


def circle_curve(centre: FloatArray, radius_mm: float) -> Curve:
    """Return a circle, counter-clockwise, as two arcs of half a turn.

    >>> round(circle_curve(np.array([5.0, 0.0]), 20.0).length / 40.0, 12)
    3.14159265359
    """
    across = np.array([[radius_mm, 0.0], [-radius_mm, 0.0]])
    return Curve(locked(centre + across), locked(np.ones(2)), locked(no_controls(2)), True)


def no_controls(pieces: int) -> FloatArray:
    """Return the (pieces, 2, 2) control points of pieces none of which is a cubic."""
    return np.full((pieces, 2, 2), np.nan)


def arc_centre(start: FloatArray, end: FloatArray, bulge: float) -> FloatArray:
    """Return the (2,) centre of an arc from start to end.

    >>> arc_centre(np.array([0.0, 0.0]), np.array([2.0, 0.0]), 1.0).tolist()
    [1.0, 0.0]
    """
    chord = end - start
    left = np.array([-chord[1], chord[0]])
    return np.asarray((start + end) / 2.0 + left * (1.0 - bulge**2) / (4.0 * bulge))


def _on_arcs(
    starts: FloatArray, ends: FloatArray, bulges: FloatArray, parts: FloatArray
) -> FloatArray:
    """Return the (k, 2) places on arcs (k) where each has turned by part of what it turns by.

    Each lies along the chord from the start, turned; so flat arcs lose no figures to their far
    centres. Own derivation: the chord to where it has turned by s is 2 r sin(s/2) long and
    stands at s/2 from the tangent at the start, which is at t/2 from the whole chord.
    """
    half = 2.0 * np.arctan(bulges)
    share = np.sin(parts * half) / np.sin(half)
    angle = (parts - 1.0) * half
    chords = ends - starts
    left = np.stack([-chords[:, 1], chords[:, 0]], axis=1)
    along, across = (share * np.cos(angle))[:, None], (share * np.sin(angle))[:, None]
    return np.asarray(starts + along * chords + across * left)


def _unit(way: FloatArray) -> FloatArray:
    """Return the (k, 2) unit vectors in directions (k,), rad."""
    return np.stack([np.cos(way), np.sin(way)], axis=1)


def cubic_weights(parameters: FloatArray) -> FloatArray:
    """Return the (4, p) weights of a cubic's corners at parameters (p,) from 0 to 1."""
    t = parameters
    return np.stack([(1.0 - t) ** 3, 3.0 * t * (1.0 - t) ** 2, 3.0 * t**2 * (1.0 - t), t**3])


def _cubic_lengths(corners: FloatArray) -> FloatArray:
    """Return the (c,) lengths of cubics (c, 4, 2) by quadrature, halved until it settles."""
    nodes, weights = np.polynomial.legendre.leggauss(16)

    def with_parts(parts: int) -> FloatArray:
        t = ((nodes + 1.0) / 2.0 + np.arange(parts)[:, None]).ravel() / parts
        sides = 3.0 * np.diff(corners, axis=1)
        blend = np.stack([(1 - t) ** 2, 2 * t * (1 - t), t**2])
        speeds = np.linalg.norm(np.einsum("ip,cix->cpx", blend, sides), axis=2)
        return np.asarray(speeds @ np.tile(weights / 2.0 / parts, parts))

    before = with_parts(1)
    for halving in range(1, _MOST_HALVINGS + 1):
        lengths = with_parts(2**halving)
        if np.abs(lengths - before).max() <= _QUADRATURE_MM / len(corners):
            break
        before = lengths
    return np.asarray(lengths)
