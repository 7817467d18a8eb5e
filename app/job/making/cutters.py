"""Surfaces' set-ups for cutting kept between tasks, so that a moved seam leaves the others laid.

Kept where the task runs, as those of panels are: what comes out is what a cut from scratch gives.
"""

import pickle
from collections import OrderedDict
from hashlib import sha256

from geometry.panels import Cutter
from geometry.panels import Surface as Cuttable

_MOST = 2
_KEPT: OrderedDict[bytes, Cutter] = OrderedDict()


def cutter_of(surface: Cuttable) -> Cutter:
    """Return the cutter kept of a surface, or a new one; found again by what the surface holds."""
    key = _key(surface)
    if key not in _KEPT:
        _KEPT[key] = Cutter(surface)
    _KEPT.move_to_end(key)
    while len(_KEPT) > _MOST:
        _KEPT.popitem(last=False)
    return _KEPT[key]


def _key(surface: Cuttable) -> bytes:
    digest = sha256(pickle.dumps((surface.openings, surface.lines)))
    for part in (
        surface.mesh.vertices, surface.mesh.faces, surface.outside, surface.filled,
        surface.copied, surface.scan_face,
    ):  # fmt: skip
        digest.update(part.tobytes())
    return digest.digest()
