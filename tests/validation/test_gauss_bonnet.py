"""Crown in the whole: angle defects inside plus turning along the rims is 2 pi times chi.

A theorem (Gauss-Bonnet), exact on any triangle mesh; and the smooth totals it tends to.
"""

import numpy as np
import pytest

from geometry.blank import rim_turning
from geometry.mesh import TriMesh, corner_angles, euler_characteristic, rims
from tests.bodies import cylinder_sheet, dome, folded_tray, hyperbolic_saddle, tank_top, torus_patch

BODIES = {
    "dome": dome(1.0, np.radians(60), 12),
    "saddle": hyperbolic_saddle(1.0, np.radians(30), 12),
    "cylinder": cylinder_sheet(50.0, 2.0, 80.0),
    "tray": folded_tray(100.0, 20.0, 4),
    "tank top": tank_top(21),
    "torus outside": torus_patch(3.0, 1.0, np.radians(40), (-0.7, 0.7), (12, 20)),
}


def _inner_defect(mesh: TriMesh) -> float:
    angles = corner_angles(mesh.vertices, mesh.faces)
    total = np.bincount(mesh.faces.ravel(), weights=angles.ravel(), minlength=len(mesh.vertices))
    inner = np.ones(len(mesh.vertices), bool)
    inner[np.concatenate(rims(mesh))] = False
    return float((2 * np.pi - total[inner]).sum())


@pytest.mark.parametrize("name", BODIES)
def test_defect_and_turning_add_up(name: str) -> None:
    mesh = BODIES[name]
    turning = sum(rim_turning(mesh, rim) for rim in rims(mesh))
    total = _inner_defect(mesh) + turning
    assert total == pytest.approx(2 * np.pi * euler_characteristic(mesh.faces), abs=1e-9)


@pytest.mark.parametrize(
    ("mesh", "crown"),
    [
        (dome(1.0, np.radians(30), 60), 0.84178721),
        (dome(1.0, np.radians(60), 60), np.pi),
        (hyperbolic_saddle(1.0, np.radians(30), 60), -0.88114336),
        (torus_patch(3.0, 1.0, np.radians(40), (-np.radians(40), np.radians(40)), (160, 160)),
         0.89750081),
    ],
)  # fmt: skip
def test_total_crown_tends_to_the_smooth_one(mesh: TriMesh, crown: float) -> None:
    """2 pi (1 - cos theta) for a cap; a torus patch: angle times the sines of its tube angles.

    The half cell along the rim carries its crown to the turning: an error of first order.
    """
    assert 2 * np.pi - rim_turning(mesh, rims(mesh)[0]) == pytest.approx(crown, rel=0.02)
