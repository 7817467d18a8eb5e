"""One ready-cut panel straight to its blank: exact bodies keep their triangles, and are exact."""

from datetime import date
from pathlib import Path

import numpy as np
import pytest

from app.delivery import (
    ResultExistsError,
    SinglePanel,
    deliver_single,
    single_blank,
    single_panel,
    single_sheet,
    single_sure,
)
from app.job import (
    JobState,
    MetalChoice,
    SizeChoice,
    carried_through,
    read_scan_file,
    with_metal,
    with_scan,
    with_size,
)
from geometry.blank import NotADiskError
from geometry.mesh import TriMesh
from tests.bodies import cylinder_sheet, patch

RADIUS, ANGLE, LENGTH, AROUND = 60.0, 2.0, 150.0, 24
EXACT_WIDTH = AROUND * 2.0 * RADIUS * np.sin(ANGLE / 2.0 / AROUND)
DATED = date(2030, 4, 1)


def job_on(mesh: TriMesh, folder: Path, metal: MetalChoice, unit: str = "mm") -> JobState:
    """Return a job whose scan is a mesh written as OFF, to the last bit, its size taken."""
    path = folder / "sheet.off"
    lines = ["OFF", f"{len(mesh.vertices)} {len(mesh.faces)} 0"]
    lines += [" ".join(map(repr, vertex)) for vertex in mesh.vertices.tolist()]
    lines += ["3 " + " ".join(map(str, face)) for face in mesh.faces.tolist()]
    path.write_text("\n".join(lines) + "\n", encoding="ascii")
    state = with_metal(with_scan(JobState(), read_scan_file(path)), metal)
    return carried_through(with_size(state, SizeChoice(unit)), "Size")  # type: ignore[arg-type]


def rolled(folder: Path, metal: MetalChoice) -> tuple[JobState, SinglePanel]:
    state = job_on(cylinder_sheet(RADIUS, ANGLE, LENGTH, AROUND), folder, metal)
    return state, single_panel(state)


def test_a_rolled_sheet_lays_out_to_its_facets_exactly(tmp_path: Path) -> None:
    """Facets of a cylinder lay out to n 2 r sin(a / 2n) by length, without any strain."""
    state, single = rolled(tmp_path, MetalChoice(face="middle"))
    assert not single.evened
    assert single.panel.name == "sheet"
    flat = single_blank(single, state).flat
    assert flat.blank_area == pytest.approx(EXACT_WIDTH * LENGTH, rel=1e-9)
    assert flat.rim_blank == pytest.approx(2.0 * (EXACT_WIDTH + LENGTH), rel=1e-9)
    np.testing.assert_allclose(flat.stretches, 1.0, atol=1e-6)


def test_a_scanned_outside_is_laid_out_on_the_middle_of_the_metal(tmp_path: Path) -> None:
    """Mitring by d takes d tan(b / 2) off a facet at each edge where it turns by b = a / n.

    The two open edges do not turn, so n facets lose 2 (n - 1) d tan(a / 2n) of width in all; d is
    half of 3 mm sheet and 0.5 mm of paint: 2 mm. Own derivation: a facet's two bisectors.
    """
    state, single = rolled(tmp_path, MetalChoice(3.0, face="outside", paint_mm=0.5))
    flat = single_blank(single, state).flat
    width = EXACT_WIDTH - 2.0 * (AROUND - 1) * 2.0 * np.tan(ANGLE / 2.0 / AROUND)
    assert flat.blank_area == pytest.approx(width * LENGTH, rel=1e-9)


def holed() -> TriMesh:
    """Return a flat square of 100 mm with a square hole of 20 mm in its middle."""
    x, y = np.meshgrid(np.linspace(-50.0, 50.0, 21), np.linspace(-50.0, 50.0, 21))
    sheet = patch(x, y, 0.0 * x)
    middle = np.abs(sheet.vertices[sheet.faces].mean(axis=1)[:, :2]).max(axis=1) < 10.0
    faces = sheet.faces[~middle]
    used, renumbered = np.unique(faces, return_inverse=True)
    return TriMesh(sheet.vertices[used], renumbered.reshape(-1, 3))


def test_a_hole_is_solid_metal_unless_it_is_to_stay_open(tmp_path: Path) -> None:
    """A flat sheet of 100 x 100 with a hole of 20 x 20: 10,000 mm2 solid, 9,600 mm2 open."""
    state = job_on(holed(), tmp_path, MetalChoice(face="middle"))
    single = single_panel(state)
    solid = single_blank(single, state)
    assert solid.flat.blank_area == pytest.approx(10_000.0, rel=1e-9)
    assert len(solid.openings) == 1
    assert solid.filled.sum() == len(solid.mesh.faces) - len(single.panel.mesh.faces) > 0
    left_open = single_blank(single, state, open_holes=True)
    assert left_open.flat.blank_area == pytest.approx(9_600.0, rel=1e-9)
    assert not left_open.filled.any()


def test_a_tube_cannot_be_laid_flat_and_says_so(tmp_path: Path) -> None:
    x, phi = np.meshgrid(np.linspace(0.0, 90.0, 7), np.linspace(0.0, 2.0 * np.pi, 25))
    tube = patch(x, 30.0 * np.sin(phi), 30.0 * np.cos(phi))
    state = job_on(tube, tmp_path, MetalChoice(face="middle"))
    with pytest.raises(NotADiskError) as caught:
        single_blank(single_panel(state), state)
    assert (caught.value.pieces, caught.value.rims, caught.value.handles) == (1, 2, 0)


def test_its_files_are_written_once_and_only_where_a_folder_is_named(tmp_path: Path) -> None:
    state, single = rolled(tmp_path, MetalChoice(face="middle"))
    blank = single_blank(single, state)
    sure = single_sure(state, single, blank)
    sheet = single_sheet(state, single, blank, sure, dated=DATED)
    told = deliver_single(sheet, blank, sure, None)
    assert told["files"] == []
    assert told["schema"] == "lowcrown/1"
    assert told["blank_area"] == blank.flat.blank_area
    assert [path.name for path in tmp_path.iterdir()] == ["sheet.off"]
    told = deliver_single(sheet, blank, sure, tmp_path / "r")
    assert sorted(told["files"]) == sorted(path.name for path in (tmp_path / "r").iterdir())
    assert "sheet.dxf" not in told["files"]  # its size is not taped
    with pytest.raises(ResultExistsError):
        deliver_single(sheet, blank, sure, tmp_path / "r")


def test_an_exact_rolled_sheet_is_sure_to_nothing_at_all(tmp_path: Path) -> None:
    """It rolls out without strain whatever counts as work, and its file has no noise to carry."""
    state, single = rolled(tmp_path, MetalChoice(face="middle"))
    found = single_sure(state, single, single_blank(single, state)).bands
    assert found is not None
    assert found.model_mm < 1e-6
    assert found.measuring_mm < 1e-3
    assert single_sure(state, single, single_blank(single, state)).most_growth_mm < 1e-3
