"""Whole numbers put into order, fast: what tables of edges are made by."""

import numpy as np

from geometry.arrays import IntArray

_BITS = 63


def ordered(keys: IntArray) -> tuple[IntArray, IntArray]:
    """Return whole numbers, rising, and where each stood; equal ones stay as they came.

    Each is packed into one number with its place where both have room, since sorting numbers takes
    a third of what sorting places by them takes.

    Parameters
    ----------
    keys : (k,) int

    Returns
    -------
    (k,) int
        The numbers, rising.
    (k,) int
        `keys[this]` is them.

    >>> numbers, places = ordered(np.array([7, 3, 7, 1]))
    >>> numbers.tolist(), places.tolist()
    ([1, 3, 7, 7], [3, 1, 0, 2])
    """
    count = len(keys)
    bits = count.bit_length()
    if not count or keys.min() < 0 or int(keys.max()) >> (_BITS - bits):
        order = np.argsort(keys, kind="stable")
        return keys[order], order
    packed = keys << bits
    packed |= np.arange(count)
    packed.sort()
    order = packed & ((1 << bits) - 1)
    packed >>= bits
    return packed, order
