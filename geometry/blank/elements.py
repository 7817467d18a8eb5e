"""A panel's triangles as elements: how each is strained by a layout, its forces and stiffness.

Everything is held column by column, one number of every face after another, so that a panel of
20,000 triangles is worked through in a few milliseconds. Adding up at the vertices belongs to
`stiffness`, descending to `minimise`.
"""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.blank.stretch import rest_frames, shape_gradients
from geometry.blank.work import Density, Work, density
from geometry.mesh import TriMesh

FORCE_FLOOR = 1e-4
"""Part of weight times gradient below which forces count as none: gives panels without strain a
residual that means something."""


@dataclass(frozen=True, eq=False)
class Strained:
    """The map of every face from formed plane to blank, taken apart.

    A map with entries a, b, c, d is a turn times a scale plus a mirrored turn times a scale; the
    two scales are half the sum and half the difference of the principal stretches.

    Attributes
    ----------
    s : (m, 2) float
        Principal stretches flat over formed, larger first; the second is below 0 where the face
        is folded over.
    turn, mirror : (2, m) float
        Unit directions (cosine, sine) of the turn and of the mirrored turn.
    """

    s: FloatArray
    turn: FloatArray
    mirror: FloatArray


@dataclass(frozen=True, eq=False)
class FaceStiffness:
    """The second derivative of every face's work by its corners' places.

    Attributes
    ----------
    second, third : (3, m) float
        Of the second and of the third corner with itself: xx, xy, yy.
    across : (4, m) float
        Of the second corner with the third: xx, xy, yx, yy. What belongs to the first corner
        follows, since moving all three costs nothing.
    """

    second: FloatArray
    third: FloatArray
    across: FloatArray

    @property
    def blocks(self) -> FloatArray:
        """Return (m, 6, 6), by corner and axis."""
        m = self.across.shape[1]
        k = np.empty((3, 3, 2, 2, m))
        k[1, 1] = self.second[[0, 1, 1, 2]].reshape(2, 2, m)
        k[2, 2] = self.third[[0, 1, 1, 2]].reshape(2, 2, m)
        k[1, 2] = self.across.reshape(2, 2, m)
        k[2, 1] = k[1, 2].swapaxes(0, 1)
        k[0, 1:] = -(k[1, 1:] + k[2, 1:])
        k[1:, 0] = k[0, 1:].swapaxes(1, 2)
        k[0, 0] = -(k[1, 0] + k[2, 0])
        return k.transpose(4, 0, 2, 1, 3).reshape(m, 6, 6)


@dataclass(frozen=True, eq=False)
class Elements:
    """What stays the same while a panel's blank moves.

    Attributes
    ----------
    faces : (m, 3) int
    areas : (m,) float, mm2
        On the formed panel.
    gradients : (m, 3, 2) float, 1/mm
        Of the corner functions, in each face's own plane.
    vertex_count : int
    """

    faces: IntArray
    areas: FloatArray
    gradients: FloatArray
    vertex_count: int
    _corners: IntArray  # (3, m)
    _slopes: FloatArray  # (3, m): x of the second corner function, y of the second and third
    _steepness: FloatArray  # (3, m): how steep each corner function is

    @staticmethod
    def of(mesh: TriMesh) -> "Elements":
        """Return the elements of a mesh whose faces all have area."""
        frames = rest_frames(mesh.vertices, mesh.faces)
        areas = frames[:, 0, 0] * frames[:, 1, 1] / 2.0
        gradients = shape_gradients(frames)
        slopes = np.stack([gradients[:, 1, 0], gradients[:, 1, 1], gradients[:, 2, 1]])
        corners = np.ascontiguousarray(mesh.faces.T)
        steepness = np.sqrt((gradients**2).sum(axis=2)).T
        count = len(mesh.vertices)
        return Elements(mesh.faces, areas, gradients, count, corners, slopes, steepness)

    def strained(self, flat_vertices: FloatArray) -> Strained:
        """Return how a layout strains every face."""
        a, b, c, d = self.maps(flat_vertices)
        turn, half_sum = _unit((a + d) / 2.0, (c - b) / 2.0)
        mirror, half_gap = _unit((a - d) / 2.0, (c + b) / 2.0)
        larger = half_sum + half_gap
        smaller = np.divide(a * d - b * c, larger, out=np.zeros_like(a), where=larger > 0.0)
        return Strained(np.stack([larger, smaller]).T, turn, mirror)

    def maps(self, flat_vertices: FloatArray) -> FloatArray:
        """Return (4, m): the entries of every face's map from its own plane to the blank, by row.

        Parameters
        ----------
        flat_vertices : (n, 2) float, mm
        """
        x, y = np.ascontiguousarray(flat_vertices.T)
        one, two, three = self._corners
        gx, gy, hy = self._slopes
        first, x1, y1 = np.empty((4, len(gx))), x[one], y[one]
        ax, ay, bx, by = x[two] - x1, y[two] - y1, x[three] - x1, y[three] - y1
        first[0], first[1] = ax * gx, ax * gy + bx * hy
        first[2], first[3] = ay * gx, ay * gy + by * hy
        return first

    def energy(self, work: Work, stretches: FloatArray) -> float:
        """Return the sum of area times work density, mm2."""
        return float(self.areas @ density(work, stretches).value)

    def doubled_areas(self, flat_vertices: FloatArray) -> FloatArray:
        """Return (m,), mm2: twice the signed area of every face on the blank."""
        x, y = np.ascontiguousarray(flat_vertices.T)
        one, two, three = self._corners
        x1, y1 = x[one], y[one]
        return np.asarray((x[two] - x1) * (y[three] - y1) - (y[two] - y1) * (x[three] - x1))

    def nodal_sum(self, per_corner: FloatArray) -> FloatArray:
        """Add (3, m) values of corners up at their vertices, (n,)."""
        total: FloatArray = np.bincount(
            self._corners.ravel(), weights=per_corner.ravel(), minlength=self.vertex_count
        ).astype(np.float64, copy=False)
        return total


def _unit(x: FloatArray, y: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the unit directions, (1, 0) where there is none, and the lengths."""
    length = np.hypot(x, y)
    none = length == 0.0
    safe = np.where(none, 1.0, length)
    return np.stack([np.where(none, 1.0, x / safe), y / safe]), length


def face_forces(elements: Elements, strained: Strained, d: Density) -> FloatArray:
    """Return (2, 3, m), mm: the derivative of a face's work by its corners' places, axis first."""
    half_sum = (d.first[:, 0] + d.first[:, 1]) * (0.5 * elements.areas)
    half_gap = (d.first[:, 0] - d.first[:, 1]) * (0.5 * elements.areas)
    c, s = half_sum * strained.turn[0], half_sum * strained.turn[1]
    f, g = half_gap * strained.mirror[0], half_gap * strained.mirror[1]
    gx, gy, hy = elements._slopes
    forces = np.empty((2, 3, len(gx)))
    for axis, (by_x, by_y) in enumerate(((c + f, g - s), (s + g, c - f))):
        forces[axis, 1] = by_x * gx + by_y * gy
        forces[axis, 2] = by_y * hy
        forces[axis, 0] = -(forces[axis, 1] + forces[axis, 2])
    return forces


def nodal_forces(elements: Elements, strained: Strained, d: Density) -> tuple[FloatArray, float]:
    """Return (n, 2) forces, mm, the derivative of the work, and the largest sum of their parts.

    The second is the largest sum, over the vertices, of the sizes of the forces its faces pull
    with: what the forces' balance is to be compared with.
    """
    per_corner = face_forces(elements, strained, d)
    forces = np.stack([elements.nodal_sum(per_corner[axis]) for axis in (0, 1)], axis=1)
    pulls = elements.nodal_sum(np.sqrt(per_corner[0] ** 2 + per_corner[1] ** 2))
    return forces, float(pulls.max())


def force_floor(elements: Elements, work: Work, strained: Strained) -> float:
    """Return the force, mm, below which a balance says nothing: see `relative_residual`."""
    areas = elements.areas
    weight = areas * strained.s[:, 0] * strained.s[:, 1] if work.weight == "blank" else areas
    return FORCE_FLOOR * float(elements.nodal_sum(elements._steepness * weight).max())


def last_digit_force(
    elements: Elements, strained: Strained, d: Density, flat_vertices: FloatArray
) -> float:
    """Return the largest nodal force, mm, that the last digit of the places on a blank can make.

    A digit's shift over a face's least height is a change of its stretches, of which the density's
    second derivative, corner against corner twice, makes a force along the edge. Source: own
    derivation; it is 1e-13 of the forces on even triangles and 1e-7 on slivers of aspect 10,000;
    without strain, hardening below 1 is stiffer by `ROUNDING_STRAIN` to the power n - 1.

    Parameters
    ----------
    elements : Elements
    strained : Strained
        By these places.
    d : Density
        There.
    flat_vertices : (n, 2) float, mm
    """
    digit = float(np.spacing(np.abs(flat_vertices).max()))
    s1, s2 = strained.s.T
    p1, p2 = d.first.T
    w11, w12, w22 = np.abs(d.second.T)
    spin = np.abs(p1 + p2) / (s1 + s2)
    stiffest = np.maximum(np.maximum(w11, w22) + w12, spin)
    steepest = elements._steepness.max(axis=0)
    pulls = elements._steepness * (digit * elements.areas * steepest * stiffest)
    return float(elements.nodal_sum(pulls).max())


def face_stiffness(
    elements: Elements, strained: Strained, d: Density, *, least: float = 0.0
) -> FaceStiffness:
    """Return every face's stiffness, its curvatures along four modes raised to a least one.

    The Hessian by a face's map falls apart into a 2x2 block of scalings, one turn and one mirrored
    turn, so that raising its eigenvalues is exact.

    Parameters
    ----------
    elements : Elements
    strained : Strained
    d : Density
        There.
    least : float
        0 gives blocks that are never negative; minus infinity the second derivative itself.

    Source: [teran2005] and [smith2019], here for any isotropic density.
    """
    s1, s2 = strained.s.T
    p1, p2 = d.first.T
    w11, w12, w22 = d.second.T
    apart = s1 - s2
    close = apart < 1e-7 * s1
    spin = np.maximum((p1 + p2) / (s1 + s2), least)
    flip = np.maximum(np.where(close, w11 - w12, (p1 - p2) / np.where(close, 1.0, apart)), least)
    even = (w11 + w22) / 2.0 + w12  # both stretches grow
    odd = (w11 + w22) / 2.0 - w12  # one grows as the other falls
    mixed = (w11 - w22) / 2.0
    even, mixed, odd = _raised(even, mixed, odd, least)
    return _by_corner(elements, _by_map(strained, (even, mixed, odd, spin, flip)))


def _raised(
    one: FloatArray, mixed: FloatArray, two: FloatArray, least: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Raise the eigenvalues of symmetric 2x2 matrices [[one, mixed], [mixed, two]]."""
    half_sum, half_gap = (one + two) / 2.0, (one - two) / 2.0
    root = np.hypot(half_gap, mixed)
    if np.all(half_sum - root >= least):
        return one, mixed, two
    high, low = np.maximum(half_sum + root, least), np.maximum(half_sum - root, least)
    middle = (high + low) / 2.0
    part = np.divide(high - low, 2.0 * root, out=np.zeros_like(root), where=root > 0.0)
    return middle + part * half_gap, part * mixed, middle - part * half_gap


def _by_map(strained: Strained, modes: tuple[FloatArray, ...]) -> tuple[FloatArray, ...]:
    """Return the ten entries of the symmetric 4x4 Hessian by a map's a, b, c, d, row by row.

    The modes are [[c, -s], [s, c]] for even, the same turned for spin, [[f, g], [g, -f]] for odd,
    the same turned for flip, each over the root of 2.
    """
    even, mixed, odd, spin, flip = (part / 2.0 for part in modes)
    c, s = strained.turn
    f, g = strained.mirror
    # Rows of the modes by a, b, c, d: even (c, -s, s, c), spin (-s, -c, c, -s),
    # odd (f, g, g, -f), flip (-g, f, f, g).
    cc, ss, cs = c * c, s * s, c * s
    ff, gg, fg = f * f, g * g, f * g
    e_cc, e_ss = even * cc + spin * ss, even * ss + spin * cc
    e_cs = (even - spin) * cs
    o_ff, o_gg = odd * ff + flip * gg, odd * gg + flip * ff
    o_fg = (odd - flip) * fg
    m_cf, m_cg, m_sf, m_sg = (mixed * left * right for left in (c, s) for right in (f, g))
    return (
        e_cc + o_ff + 2.0 * m_cf,  # aa
        -e_cs + o_fg + m_cg - m_sf,  # ab
        e_cs + o_fg + m_cg + m_sf,  # ac
        e_cc - o_ff,  # ad
        e_ss + o_gg - 2.0 * m_sg,  # bb
        -e_ss + o_gg,  # bc
        -e_cs - o_fg + m_cg + m_sf,  # bd
        e_ss + o_gg + 2.0 * m_sg,  # cc
        e_cs - o_fg + m_cg - m_sf,  # cd
        e_cc + o_ff - 2.0 * m_cf,  # dd
    )


def _by_corner(elements: Elements, h: tuple[FloatArray, ...]) -> FaceStiffness:
    """Turn the Hessian by the map into the one by the second and third corners' places."""
    aa, ab, ac, ad, bb, bc, bd, cc, cd, dd = (part * elements.areas for part in h)
    gx, gy, hy = elements._slopes
    xx_b, xy_b = ab * gx + bb * gy, ad * gx + bd * gy
    yx_b, yy_b = bc * gx + bd * gy, cd * gx + dd * gy
    xx = (aa * gx + ab * gy) * gx + xx_b * gy
    xy = (ac * gx + bc * gy) * gx + xy_b * gy
    yy = (cc * gx + cd * gy) * gx + yy_b * gy
    second = np.stack([xx, xy, yy])
    third = np.stack([bb, bd, dd]) * (hy * hy)
    across = np.stack([xx_b, xy_b, yx_b, yy_b]) * hy
    return FaceStiffness(second, third, across)


def largest_step(elements: Elements, flat: FloatArray, step: FloatArray) -> float:
    """Return how far one may go along a step before the first face loses its area.

    Source: [smith2015] quadratic root per face; infinite where no face does.
    """
    c = elements.doubled_areas(flat)
    a = elements.doubled_areas(step)
    b = elements.doubled_areas(flat + step) - c - a
    inside = b * b - 4.0 * a * c
    real = inside >= 0.0
    # The smallest positive root, in the form that does not cancel: 2c / (-b + sign root).
    root = np.sqrt(np.where(real, inside, 0.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        one, two = 2.0 * c / (-b + root), 2.0 * c / (-b - root)
    candidates = np.stack([one, two])[:, real]
    positive = candidates[np.isfinite(candidates) & (candidates > 0.0)]
    return float(positive.min()) if positive.size else np.inf
