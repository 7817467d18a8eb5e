"""Running parabolas against a library's own, and against curves they must give back."""

import subprocess
import sys
from typing import Literal

import numpy as np
import pytest
from scipy.signal import savgol_filter

from geometry.fitting import running_parabolas


@pytest.mark.parametrize("width", [5, 13, 41])
@pytest.mark.parametrize(("closed", "ends"), [(False, "interp"), (True, "wrap")])
def test_they_are_those_of_a_signal_library(
    width: int, closed: bool, ends: Literal["interp", "wrap"]
) -> None:
    points = np.random.default_rng(4).normal(size=(60, 3)).cumsum(axis=0)
    theirs = savgol_filter(points, width, 2, axis=0, mode=ends)
    ours = running_parabolas(points, width, closed=closed)
    np.testing.assert_allclose(ours, theirs, rtol=0.0, atol=1e-12)  # lengths of up to 20


def test_a_parabola_in_space_stays_as_it_is_to_its_very_ends() -> None:
    t = np.linspace(-3.0, 5.0, 50)[:, None]
    curve = t * [1.0, -2.0, 0.5] + t**2 * [0.3, 0.1, -0.7]
    np.testing.assert_allclose(running_parabolas(curve, 11, closed=False), curve, atol=1e-12)


def test_a_closed_line_has_no_ends_wherever_it_begins() -> None:
    turn = np.linspace(0.0, 2.0 * np.pi, 90, endpoint=False)
    ring = np.column_stack([30.0 * np.cos(turn), 20.0 * np.sin(turn)])
    calm = running_parabolas(ring, 9, closed=True)
    other = running_parabolas(np.roll(ring, 17, axis=0), 9, closed=True)
    np.testing.assert_allclose(np.roll(calm, 17, axis=0), other, atol=1e-12)


def test_the_command_line_loads_no_library_of_statistics() -> None:
    """It is half a second of every command, and nothing of it is used."""
    told = subprocess.run(
        [sys.executable, "-c", _LOADED], capture_output=True, text=True, check=True
    )
    assert told.stdout.split() == []


_LOADED = """
import sys
import app.command_line.commands
print(*(name for name in ("scipy.stats", "scipy.signal") if name in sys.modules))
"""
