"""How fast an error falls as the mesh gets finer."""

from collections.abc import Callable, Sequence

import numpy as np


def observed_order(error_at: Callable[[float], float], sizes: Sequence[float]) -> float:
    """Return the power of the size that the error follows, fitted over all the sizes.

    An error C h^p is a straight line of slope p in logarithms; the fit is by least squares, so that
    one lucky size does not decide.

    Parameters
    ----------
    error_at : callable
        The size of the error, unsigned, at one element size.
    sizes : at least three element sizes, all different
        Any unit; at least a factor of four from end to end, or the slope says little.

    Raises
    ------
    ValueError
        Too few sizes, too narrow a span, or an error that is zero or not finite: then there is no
        slope to see and the caller should test for exactness instead.

    >>> round(observed_order(lambda h: 3.0 * h**2, [0.4, 0.2, 0.1]), 9)
    2.0
    """
    ordered = np.sort(np.asarray(sizes, dtype=np.float64))
    if ordered.size < 3 or ordered[0] <= 0.0 or np.any(np.diff(ordered) == 0.0):
        raise ValueError(f"need three or more different sizes above zero, got {list(sizes)}")
    if ordered[-1] < 4.0 * ordered[0] * (1.0 - 1e-12):
        raise ValueError(f"the sizes span less than a factor of four: {list(sizes)}")
    errors = np.array([error_at(float(size)) for size in ordered])
    if not np.all(np.isfinite(errors)) or np.any(errors <= 0.0):
        raise ValueError(f"an error is zero, below zero or not finite: {errors.tolist()}")
    slope: float = np.polyfit(np.log(ordered), np.log(errors), 1)[0]
    return float(slope)


def extrapolated(coarse: float, fine: float, ratio: float = 2.0, order: float = 2.0) -> float:
    """Return the value at no size at all, from two sizes and the known order of the error.

    Two values that both err by C h^p leave the limit; what is left is of the next order.

    Parameters
    ----------
    coarse, fine : float
        The value at two element sizes.
    ratio : float
        Coarse size over fine size.
    order : float
        The power p that the error follows.

    >>> round(extrapolated(1.04, 1.01), 12)
    1.0
    """
    return fine + (fine - coarse) / float(ratio**order - 1.0)
