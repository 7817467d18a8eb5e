"""From where a tank is looked at before anybody said its front and top."""

import numpy as np

from app.job import JobState
from app.window.standpoint import axes_of
from geometry.mesh import TriMesh
from tests.app.window.conftest import open_shell


def test_top_and_length_of_an_open_shell_show_in_a_coarse_and_in_a_large_scan() -> None:
    """Half an ellipsoid open below, 160 mm long: top along +z, front along x, to a degree."""
    for rings, around in ((26, 72), (400, 400)):
        axes = axes_of(JobState(), TriMesh(*open_shell(rings, around)))
        assert axes.guessed
        assert axes.top[2] > np.cos(np.radians(1.0))
        assert abs(axes.front[0]) > np.cos(np.radians(1.0))
