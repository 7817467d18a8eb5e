"""Angles of results: each is told in radians and, under a name of its own, in degrees."""

from typing import Any

import numpy as np
import pytest


def told_in_degrees(found: Any) -> int:
    """Return how many angles stand in a result, each checked to be told in degrees beside.

    Radians rounded to 5 decimals are off by 5e-6, degrees rounded to 3 by 5e-4: together 8e-4.
    """
    parts = found.values() if isinstance(found, dict) else found if isinstance(found, list) else ()
    count = sum(told_in_degrees(part) for part in parts)
    for name in found if isinstance(found, dict) else ():
        if name.endswith("_rad"):
            beside = found[f"{name.removesuffix('_rad')}_deg"]
            assert beside == pytest.approx(np.degrees(found[name]), abs=8e-4)
            count += 1
    return count
