"""Surfaces' set-ups for cutting are kept, and nothing comes out otherwise for it."""

import pickle

import numpy as np

from app.job import Panels, made, task_for, with_seams
from app.job.making.cutters import cutter_of
from geometry.panels import Seam, cut_along
from tests.app.job.small_tank import carried, straight_seam


def test_a_surface_that_travelled_is_cut_with_the_set_up_kept_and_another_is_not() -> None:
    surface = made(carried(), "Surface").working
    travelled = pickle.loads(pickle.dumps(surface))
    assert cutter_of(travelled) is cutter_of(surface)
    other = made(carried(), "Coarse")
    assert cutter_of(other) is not cutter_of(surface)
    assert cutter_of(surface) is cutter_of(travelled)


def test_a_moved_seam_is_cut_as_from_scratch_to_the_last_bit() -> None:
    state = carried()
    surface = made(state, "Surface").working
    for y in (10.0, 12.0, 10.0):
        lines = (straight_seam("left", 14.0), straight_seam("right", -y))
        task = task_for(with_seams(state, lines), "Seams")
        assert task is not None
        kept: Panels = task.run()
        fresh = cut_along(surface, [Seam(line.name, np.array(line.points)) for line in lines])
        assert np.array_equal(kept.cut.mesh.vertices, fresh.mesh.vertices)
        assert np.array_equal(kept.cut.mesh.faces, fresh.mesh.faces)
        assert np.array_equal(kept.cut.panel_of_face, fresh.panel_of_face)
