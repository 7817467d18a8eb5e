"""Meshes that general libraries ship, read and measured by this program.

Source: the example folder inside pyvista's registry package (MIT): nut.ply, a machine nut, closed;
sphere.ply, a ball; airplane.ply, open. Their volume is what pyvista's own filter measures
(32171.32 for the nut); trimesh (MIT) measures area and volume as a second opinion.
"""

import importlib.util
from pathlib import Path

import numpy as np
import pytest
import trimesh

from geometry.mesh import enclosed_volume, euler_characteristic, face_areas, rims
from geometry.scan import SoundScan, read_scan, sound_mesh


def _examples() -> Path:
    found = importlib.util.find_spec("pyvista")
    assert found is not None
    assert found.origin is not None
    return Path(found.origin).parent / "examples"


def _read(name: str) -> SoundScan:
    return sound_mesh(read_scan(_examples() / name))


def test_the_nut_has_the_volume_its_library_measures() -> None:
    mesh = _read("nut.ply").mesh
    assert len(mesh.faces) == 1046
    assert rims(mesh) == ()
    assert enclosed_volume(mesh.vertices, mesh.faces) == pytest.approx(32171.32, abs=0.01)


@pytest.mark.parametrize("name", ["nut.ply", "sphere.ply", "airplane.ply", "ant.ply"])
def test_areas_agree_with_trimesh(name: str) -> None:
    mesh = _read(name).mesh
    other = trimesh.load(_examples() / name, force="mesh")
    assert isinstance(other, trimesh.Trimesh)
    assert face_areas(mesh.vertices, mesh.faces).sum() == pytest.approx(other.area, rel=1e-6)


def test_the_ball_is_closed_and_of_its_radius() -> None:
    """840 triangles: a chord sphere lies inside its radius, short in volume by a few per cent."""
    mesh = _read("sphere.ply").mesh
    radius = np.linalg.norm(mesh.vertices - mesh.vertices.mean(axis=0), axis=1).max()
    volume = enclosed_volume(mesh.vertices, mesh.faces)
    assert euler_characteristic(mesh.faces) == 2
    assert 0.95 < volume / (4 / 3 * np.pi * radius**3) < 1.0
