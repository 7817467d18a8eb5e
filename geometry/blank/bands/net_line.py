"""The net line as a loop, and how far another layout's net line stands outside it.

Two layouts of one panel may lie anywhere on the sheet, so the other is first brought onto this one
as a whole, turned and moved, by least squares over the length of the rim.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray, locked


@dataclass(frozen=True, eq=False)
class NetLine:
    """A net line and what offsets from it are measured with.

    Attributes
    ----------
    points : (k, 2) float, mm
        Counter-clockwise, the first point not repeated.
    arc_mm : (k,) float
        Length of the line from its first point.
    length_mm : float
    weights : (k,) float
        Half the length of the two sides at each point, over the whole length; they add up to 1.
    outward : (k, 2) float
        Mean of the outward unit normals of the two sides at each point, by their lengths. Its
        product with a movement is the mean of how far the two sides are moved outward, at corners
        too; weighted along the line that is the area gained over the length.
    """

    points: FloatArray
    arc_mm: FloatArray
    length_mm: float
    weights: FloatArray
    outward: FloatArray

    @staticmethod
    def of(flat_vertices: FloatArray, rim: IntArray) -> "NetLine":
        """Return the net line of a layout, (n, 2), along its rim, (k,)."""
        points = flat_vertices[rim]
        sides = np.roll(points, -1, axis=0) - points
        lengths = np.linalg.norm(sides, axis=1)
        both = lengths + np.roll(lengths, 1)
        turned = np.stack([sides[:, 1], -sides[:, 0]], axis=1)  # outward, as long as the side
        length = float(lengths.sum())
        return NetLine(
            points=locked(points),
            arc_mm=locked(np.concatenate([[0.0], np.cumsum(lengths)[:-1]])),
            length_mm=length,
            weights=locked(both / (2.0 * length)),
            outward=locked((turned + np.roll(turned, 1, axis=0)) / both[:, None]),
        )

    @property
    def from_middle(self) -> FloatArray:
        """Return the (k, 2) points seen from the middle of the line, mm."""
        return np.asarray(self.points - self.weights @ self.points)

    def offsets(self, points: FloatArray) -> FloatArray:
        """Return (k,), mm: how far outward another line's points lie once it is brought onto this.

        Parameters
        ----------
        points : (k, 2) float, mm
            Where the same rim vertices lie on the other layout.

        >>> square = np.array([[0.0, 0], [100, 0], [100, 100], [0, 100]])
        >>> line = NetLine.of(square, np.arange(4))
        >>> line.offsets(square[:, ::-1] * [1.0, -1.0] + 50.0).round(9).tolist()
        [0.0, 0.0, 0.0, 0.0]
        >>> line.offsets(1.02 * square).round(9).tolist()
        [1.0, 1.0, 1.0, 1.0]
        """
        here, there = self.from_middle, points - self.weights @ points
        cosine = self.weights @ (there * here).sum(axis=1)
        sine = self.weights @ (there[:, 0] * here[:, 1] - there[:, 1] * here[:, 0])
        cosine, sine = np.array([cosine, sine]) / np.hypot(cosine, sine)
        brought = there @ np.array([[cosine, sine], [-sine, cosine]])
        return np.asarray(((brought - here) * self.outward).sum(axis=1))

    def small_offsets(self, movements: FloatArray) -> FloatArray:
        """Return (k,) or (k, j), mm: the same for small movements of its points.

        Parameters
        ----------
        movements : (k, 2) or (k, 2, j) float, mm

        Of first order in the movements, which `offsets` is not.
        """
        here = self.from_middle
        swung = np.stack([-here[:, 1], here[:, 0]], axis=1)
        moved = np.tensordot(self.weights, movements, axes=1)
        turned = np.tensordot(self.weights[:, None] * swung, movements, axes=2)
        turned = turned / float(self.weights @ (here * here).sum(axis=1))
        rest = movements - moved - np.multiply.outer(swung, turned)
        return np.asarray(np.einsum("ka,ka...->k...", self.outward, rest))

    def loads(self, parts: FloatArray) -> FloatArray:
        """Return (k, 2, j): what to multiply movements by, and sum, for j sums of the offsets.

        Each load balances: it neither moves nor turns the line as a whole.

        Parameters
        ----------
        parts : (k, j) float
            By how much the offset at each point enters each sum.
        """
        here = self.from_middle
        swung = np.stack([-here[:, 1], here[:, 0]], axis=1)
        turning = ((self.outward * swung).sum(axis=1) @ parts)[None]  # (1, j)
        turning = turning / float(self.weights @ (here * here).sum(axis=1))
        rigid = self.outward.T @ parts + swung[:, :, None] * turning
        return np.asarray(
            self.outward[:, :, None] * parts[:, None] - self.weights[:, None, None] * rigid
        )
