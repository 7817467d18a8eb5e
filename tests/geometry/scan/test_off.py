"""OFF files, well formed and broken."""

from pathlib import Path

import numpy as np
import pytest
import trimesh

from geometry.scan import (
    BadIndexError,
    BadLineError,
    DecimalCommaError,
    PointsOnlyError,
    TruncatedScanError,
    WrongContentError,
    read_scan,
)

SQUARE = "OFF\n# a square\n4 2 0\n0 0 0\n1 0 0\n1 1 0\n0 1 0\n3 0 1 2\n3 0 2 3\n"


def _write(path: Path, text: str) -> Path:
    path.write_text(text)
    return path


@pytest.mark.parametrize("text", [SQUARE, SQUARE.replace("OFF\n# a square\n", "OFF ")])
def test_a_square_is_read(tmp_path: Path, text: str) -> None:
    raw = read_scan(_write(tmp_path / "tank.off", text))
    assert raw.vertices.tolist() == [[0, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]]
    assert raw.faces.tolist() == [[0, 1, 2], [0, 2, 3]]


def test_odd_blanks_between_numbers_are_blanks(tmp_path: Path) -> None:
    raw = read_scan(_write(tmp_path / "tank.off", SQUARE.replace("1 1 0", "1\t1\v0")))
    assert raw.vertices.tolist()[2] == [1, 1, 0]


def test_a_quad_is_split_and_remarked(tmp_path: Path) -> None:
    text = "OFF\n4 1 0\n0 0 0\n1 0 0\n1 1 0\n0 1 0\n4 0 1 2 3\n"
    raw = read_scan(_write(tmp_path / "tank.off", text))
    assert len(raw.faces) == 2
    assert raw.remarks == ("Faces of more than three corners split into triangles: 1.",)


def test_files_of_another_writer_are_read(tmp_path: Path) -> None:
    """Written by trimesh, a general mesh library."""
    mesh = trimesh.creation.icosphere(subdivisions=2, radius=25.0)
    mesh.export(tmp_path / "other.off")
    raw = read_scan(tmp_path / "other.off")
    np.testing.assert_allclose(raw.vertices, mesh.vertices, atol=1e-6)
    np.testing.assert_array_equal(raw.faces, mesh.faces)


@pytest.mark.parametrize(
    ("text", "declared", "thing"),
    [
        (SQUARE.replace("4 2 0", "4294967295 2 0"), 4_294_967_295, "vertices"),
        (SQUARE.replace("4 2 0", "4 4294967295 0"), 4_294_967_295, "faces"),
        (SQUARE[:-9], 2, "faces"),
    ],
)
def test_fewer_lines_than_declared_are_refused(
    tmp_path: Path, text: str, declared: int, thing: str
) -> None:
    with pytest.raises(TruncatedScanError) as caught:
        read_scan(_write(tmp_path / "tank.off", text))
    assert (caught.value.declared, caught.value.thing) == (declared, thing)


@pytest.mark.parametrize(
    ("old", "new", "kind", "line"),
    [
        ("1 1 0\n", "1 x 0\n", BadLineError, 6),
        ("1 1 0\n", "1,5 1,0 0,0\n", DecimalCommaError, 6),
        ("3 0 1 2\n", "3 0 1\n", BadLineError, 8),
        ("1 1 0\n", "1 1\x1c0 0\n", BadLineError, 6),
        ("1 1 0\n", "1 1 0 \x85\n", BadLineError, 6),
        ("4 2 0\n", "four 2 0\n", BadLineError, 3),
        ("4 2 0\n", "-4 2 0\n", BadLineError, 3),
    ],
)
def test_a_line_that_makes_no_sense_is_named(
    tmp_path: Path, old: str, new: str, kind: type[BadLineError], line: int
) -> None:
    with pytest.raises(kind) as caught:
        read_scan(_write(tmp_path / "tank.off", SQUARE.replace(old, new, 1)))
    assert caught.value.line == line


@pytest.mark.parametrize("index", ["4", "-1"])
def test_a_face_that_names_a_missing_vertex_is_counted(tmp_path: Path, index: str) -> None:
    with pytest.raises(BadIndexError) as caught:
        read_scan(_write(tmp_path / "tank.off", SQUARE.replace("3 0 1 2", f"3 0 1 {index}")))
    assert (caught.value.count, caught.value.vertices) == (1, 4)


def test_points_alone_are_refused(tmp_path: Path) -> None:
    with pytest.raises(PointsOnlyError):
        read_scan(_write(tmp_path / "tank.off", "OFF\n2 0 0\n0 0 0\n1 1 1\n"))


def test_other_text_is_refused(tmp_path: Path) -> None:
    with pytest.raises(WrongContentError):
        read_scan(_write(tmp_path / "tank.off", "Dear shaper,\n"))
