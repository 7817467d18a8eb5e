"""OBJ files: every way to name a vertex, and every broken file refused."""

from pathlib import Path

import numpy as np
import pytest
import trimesh

from geometry.scan import (
    BadIndexError,
    BadLineError,
    DecimalCommaError,
    PointsOnlyError,
    WrongContentError,
    read_scan,
)

VERTICES = "v 0 0 0\nv 1 0 0 0.5 0.5 0.5\nv 1 1 0\n  v 0 1 0\nvn 0 0 1\nvt 0 0\n"


def _read(path: Path, text: str) -> list[list[int]]:
    path.write_text(text)
    return [[int(index) for index in face] for face in read_scan(path).faces]


@pytest.mark.parametrize(
    "face",
    ["f 1 2 3", "f 1/1 2/1 3/1", "f 1//1 2//1 3//1", "f 1/1/1 2/1/1 3/1/1", "f -4 -3 -2"],
)
def test_each_way_to_name_a_vertex_is_understood(tmp_path: Path, face: str) -> None:
    assert _read(tmp_path / "tank.obj", VERTICES + face + "\n") == [[0, 1, 2]]


def test_counting_back_counts_from_where_the_face_stands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = "v 0 0 0\nv 1 0 0\nv 0 1 0\nf -3 -2 -1\nv 0 0 5\nf -4 -3 -1\nf 1 2 4\n"
    for size in (9, 25, 1000):
        monkeypatch.setattr("geometry.scan.text_lines._BYTES_AT_ONCE", size)
        assert _read(tmp_path / "tank.obj", text) == [[0, 1, 2], [0, 1, 3], [0, 1, 3]]


def test_a_line_may_go_on_after_a_backslash(tmp_path: Path) -> None:
    assert _read(tmp_path / "tank.obj", VERTICES + "f 1 2 \\\n 3\n") == [[0, 1, 2]]


def test_quads_are_split_and_remarked(tmp_path: Path) -> None:
    path = tmp_path / "tank.obj"
    assert _read(path, VERTICES + "g cap\nusemtl red\nf 1 2 3 4\nf 1 2 3\nf 4 3 2 1\n") == [
        [0, 1, 2],
        [0, 2, 3],
        [0, 1, 2],
        [3, 2, 1],
        [3, 1, 0],
    ]
    assert read_scan(path).remarks == (
        "2 faces of more than three corners were split into triangles.",
    )


def test_files_of_another_writer_are_read(tmp_path: Path) -> None:
    """Written by trimesh, a general mesh library."""
    mesh = trimesh.creation.icosphere(subdivisions=2, radius=25.0)
    path = tmp_path / "other.obj"
    mesh.export(path)
    raw = read_scan(path)
    np.testing.assert_allclose(raw.vertices, mesh.vertices, atol=1e-6)
    np.testing.assert_array_equal(raw.faces, mesh.faces)


@pytest.mark.parametrize("face", ["f 1 2 9", "f 1 2 -9"])
def test_a_face_that_names_a_missing_vertex_is_counted(tmp_path: Path, face: str) -> None:
    with pytest.raises(BadIndexError) as caught:
        _read(tmp_path / "tank.obj", VERTICES + "f 1 2 3\n" + face + "\n")
    assert (caught.value.count, caught.value.vertices) == (1, 4)


@pytest.mark.parametrize("face", ["f 0 1 2", "f 1 2 x", "f 1.5 2 3", "f 1 /2 3"])
def test_a_face_that_makes_no_sense_is_named(tmp_path: Path, face: str) -> None:
    with pytest.raises(BadLineError) as caught:
        _read(tmp_path / "tank.obj", VERTICES + "f 1 2 3\n" + face + "\n")
    assert (caught.value.line, caught.value.text) == (8, face)


@pytest.mark.parametrize("vertex", ["v 1 2", "v 1 2 x"])
def test_a_vertex_that_makes_no_sense_is_named(tmp_path: Path, vertex: str) -> None:
    with pytest.raises(BadLineError) as caught:
        _read(tmp_path / "tank.obj", VERTICES + vertex + "\nf 1 2 3\n")
    assert (caught.value.line, caught.value.text) == (7, vertex)


def test_decimal_commas_are_refused_with_the_line(tmp_path: Path) -> None:
    with pytest.raises(DecimalCommaError) as caught:
        _read(tmp_path / "tank.obj", "# a comment, with comma\n" + VERTICES + "v 1,5 2,0 3,0\n")
    assert caught.value.line == 8


def test_points_alone_are_refused_with_their_number(tmp_path: Path) -> None:
    with pytest.raises(PointsOnlyError) as caught:
        _read(tmp_path / "tank.obj", VERTICES)
    assert caught.value.points == 4


def test_other_text_is_refused(tmp_path: Path) -> None:
    with pytest.raises(WrongContentError):
        _read(tmp_path / "tank.obj", "Dear shaper,\n")
