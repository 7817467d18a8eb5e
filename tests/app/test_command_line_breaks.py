"""`lowcrown breaks`: choices as JSON, on one page, and as break-ups that `layout` takes by name."""

import json
from pathlib import Path

import jsonschema
import numpy as np
import pypdfium2
import pytest
import trimesh

from app.command_line import run
from app.command_line.arguments import pieces
from app.job import read_seams
from geometry.arrays import FloatArray
from geometry.mesh import TriMesh
from tests.bodies import dome

TOP = Path(__file__).resolve().parents[2]


def small_tank() -> TriMesh:
    """A long dome, one end fuller than the other: alike on both sides of y = 0 alone."""
    body = dome(30.0, 1.3, 9)
    x, y, z = body.vertices.T
    places: FloatArray = np.stack([x * (1.9 + 0.008 * x), y * (1.0 + 0.004 * x), z], axis=1)
    return TriMesh(places, body.faces)


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Break-ups proposed for a small tank, alike on both sides."""
    folder = tmp_path_factory.mktemp("breaks")
    body = small_tank()
    trimesh.Trimesh(body.vertices, body.faces, process=False).export(folder / "tank.ply")
    words = ["--unit", "mm", "--datum", "auto", "--pieces", "2-3", "--out", str(folder / "out")]
    assert run(["breaks", str(folder / "tank.ply"), *words]) == 0
    return folder / "out"


def test_three_files_are_written_and_the_json_keeps_its_schema(result: Path) -> None:
    found = json.loads((result / "breaks.json").read_text())
    schema = json.loads((TOP / "app/schemas/breaks.schema.json").read_text())
    jsonschema.validate(found, schema)
    assert sorted(path.name for path in result.iterdir()) == found["files"]
    assert found["files"] == ["breaks.json", "breaks.pdf", "seams.json"]
    assert {choice["pieces"] for choice in found["choices"]} <= {2, 3}
    assert found["choices"]


def test_no_choice_is_beaten_by_another(result: Path) -> None:
    found = json.loads((result / "breaks.json").read_text())["choices"]
    told = [
        (c["pieces"], -c["study"]["worst_shrink"], c["study"]["weld"], not c["lifts_out"])
        for c in found
    ]
    for one in told:
        assert not any(
            other != one and all(a <= b for a, b in zip(other, one, strict=True)) for other in told
        )


def test_the_page_is_one_sheet_that_names_every_choice(result: Path) -> None:
    document = pypdfium2.PdfDocument(result / "breaks.pdf")
    assert len(document) == 1
    words = document[0].get_textpage().get_text_bounded()
    for choice in json.loads((result / "breaks.json").read_text())["choices"]:
        assert choice["name"] in words


def test_a_choice_is_laid_out_by_its_name(result: Path) -> None:
    seams = read_seams(result / "seams.json")
    taken = seams.breakups[0]
    scan = result.parent / "tank.ply"
    words = ["--seams", str(result / "seams.json"), "--breakup", taken.name, "--unit", "mm"]
    out = result.parent / "laid"
    assert run(["layout", str(scan), *words, "--out", str(out)]) == 0
    found = json.loads((out / "summary.json").read_text())
    assert {panel["panel"] for panel in found["panels"]} == {n.name for n in taken.panel_names}


def test_seams_of_one_hand_are_the_mirror_image_of_the_other(result: Path) -> None:
    for each in read_seams(result / "seams.json").breakups:
        lines = {seam.name: np.array(seam.points) for seam in each.seams}
        for seam in each.seams:
            if seam.mirror_of:
                mirrored = lines[seam.mirror_of] * np.array([1.0, -1.0, 1.0])
                np.testing.assert_allclose(np.array(seam.points), mirrored, atol=0.3)


def test_an_earlier_result_is_kept_unless_it_may_be_replaced(
    result: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["breaks", str(result.parent / "tank.ply"), "--unit", "mm", "--out", str(result)]
    assert run(words) == 1
    assert "--replace" in capsys.readouterr().err


@pytest.mark.parametrize("words", ["0", "7", "2-", "-3", "4-2", "two", "2-9", "2.5"])
def test_a_count_of_pieces_that_is_none_is_wrong_use(
    words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    scan = tmp_path / "tank.ply"
    assert run(["breaks", str(scan), f"--pieces={words}"]) == 2
    assert "pieces" in capsys.readouterr().err


def test_counts_of_pieces_are_read() -> None:
    assert (pieces("1"), pieces(" 2-6 ")) == ((1,), (2, 3, 4, 5, 6))
