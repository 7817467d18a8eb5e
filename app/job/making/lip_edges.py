"""Edges of a blank with a flange although the scan shows a lip there: its metal is in already."""

from collections.abc import Container, Sequence

import numpy as np

from geometry.arrays import FloatArray
from geometry.mesh import TriMesh, rims
from geometry.panels import Panel
from geometry.pattern import PatternEdge, edge_key
from geometry.tank import LineTooShortToBendError, lips_along

_ALONG_SHARE = 0.3
"""A lip along less of an edge is an end of another edge's lip."""

_ON_EDGE_MM = 3.0
_NOISE_MM = 0.05
"""Of a rim that was evened already; it only sets how far its course is calmed."""


def edges_with_lip(
    panel: Panel, edges: tuple[PatternEdge, ...], flanged: Container[str]
) -> tuple[str, ...]:
    """Return the letters of a panel's free edges that have a flange and in the scan a lip.

    Parameters
    ----------
    panel : Panel
    edges : tuple of PatternEdge
        Of its blank, whose first vertices are the panel's.
    flanged : container of str
        Keys of the edges a flange is left on.
    """
    asked = [e for e in edges if edge_key(e) in flanged and not (e.seam or e.other)]
    if not asked:
        return ()
    lips = _lip_places(TriMesh(panel.outside, panel.mesh.faces))
    if not len(lips):
        return ()
    found = []
    for edge in asked:
        places = panel.outside[edge.vertices]
        apart = np.linalg.norm(places[:, None] - lips[None], axis=2).min(axis=1)
        if float(np.mean(apart <= _ON_EDGE_MM + _spacing(lips))) > _ALONG_SHARE:
            found.append(edge.letter)
    return tuple(found)


def counted_twice_words(letters: Sequence[str]) -> str:
    """Return what is told of edges that have a flange and a lip; "" for none.

    >>> counted_twice_words(["F1"])[:53]
    'COUNTED TWICE: the scan shows a lip along F1 already,'
    """
    if not letters:
        return ""
    return (
        f"COUNTED TWICE: the scan shows a lip along {', '.join(letters)} already, which is part of "
        "this blank, and a flange is left there as well. Leave it out, or have the lip cut off at "
        "its root line (Flanges)."
    )


def _lip_places(outside: TriMesh) -> FloatArray:
    """Return where on a panel's rim lips are abreast of, (k, 3) mm."""
    rim = max(rims(outside), key=len)
    try:
        lips = lips_along(outside, rim, noise_mm=_NOISE_MM)
    except LineTooShortToBendError:
        return np.zeros((0, 3))
    return np.concatenate([np.zeros((0, 3)), *(lip.rim for lip in lips)])


def _spacing(places: FloatArray) -> float:
    """Return half of how far apart a lip's places usually are."""
    return float(np.median(np.linalg.norm(np.diff(places, axis=0), axis=1))) / 2.0
