"""STL files: exact values back, and every broken one refused with its numbers."""

from pathlib import Path

import numpy as np
import pytest
import trimesh

from geometry.scan import (
    BadLineError,
    DecimalCommaError,
    NoSurfaceError,
    NotFiniteScanError,
    OutsizeScanError,
    TruncatedScanError,
    WrongContentError,
    read_scan,
)
from tests.geometry.scan.scans import ball, sheet, write_stl, write_text_stl


def test_binary_gives_every_corner_back_to_the_bit(tmp_path: Path) -> None:
    mesh = ball(300.0, 200)
    raw = read_scan(write_stl(tmp_path / "tank.stl", mesh))
    wanted = mesh.vertices[mesh.faces].astype(np.float32)
    np.testing.assert_array_equal(raw.vertices[raw.faces], wanted)
    assert raw.kind == "binary STL"
    assert raw.remarks == ()
    assert not raw.vertices.flags.writeable


def test_text_gives_every_corner_back_to_the_bit(tmp_path: Path) -> None:
    mesh = ball(300.0, 200)
    raw = read_scan(write_text_stl(tmp_path / "tank.stl", mesh))
    np.testing.assert_array_equal(raw.vertices[raw.faces], mesh.vertices[mesh.faces])
    assert raw.kind == "text STL"


@pytest.mark.parametrize("form", ["stl", "stl_ascii"])
def test_files_of_another_writer_are_read(tmp_path: Path, form: str) -> None:
    """Written by trimesh, a general mesh library."""
    mesh = trimesh.creation.icosphere(subdivisions=2, radius=25.0)
    path = tmp_path / "other.stl"
    mesh.export(path, file_type=form)
    raw = read_scan(path)
    np.testing.assert_allclose(raw.vertices[raw.faces], mesh.triangles, atol=1e-5)


def test_text_is_the_same_whatever_its_line_ends_and_blocks(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_text_stl(tmp_path / "tank.stl", sheet())
    wanted = read_scan(path).vertices
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n").replace(b"vertex", b"\tVERTEX"))
    for size in (97, 1000, 1 << 20):
        monkeypatch.setattr("geometry.scan.text_lines._BYTES_AT_ONCE", size)
        np.testing.assert_array_equal(read_scan(path).vertices, wanted)


def test_a_binary_file_may_begin_with_the_word_of_text_files(tmp_path: Path) -> None:
    raw = read_scan(write_stl(tmp_path / "tank.stl", sheet(), header=b"solid made by a scanner"))
    assert raw.kind == "binary STL"
    assert len(raw.faces) == 60


def test_a_file_cut_short_says_declared_and_found(tmp_path: Path) -> None:
    path = write_stl(tmp_path / "tank.stl", sheet())
    path.write_bytes(path.read_bytes()[: 84 + 50 * 41 + 7])
    with pytest.raises(TruncatedScanError) as caught:
        read_scan(path)
    assert (caught.value.declared, caught.value.found, caught.value.thing) == (60, 41, "triangles")


@pytest.mark.parametrize("declared", [0, 59, 61, 4_294_967_295])
def test_a_wrong_count_is_refused_without_taking_memory_for_it(
    tmp_path: Path, declared: int
) -> None:
    path = write_stl(tmp_path / "tank.stl", sheet(), declared=declared)
    with pytest.raises(TruncatedScanError) as caught:
        read_scan(path)
    assert (caught.value.declared, caught.value.found) == (declared, 60)


def test_a_cut_binary_that_begins_with_solid_is_still_known_as_binary(tmp_path: Path) -> None:
    path = write_stl(tmp_path / "tank.stl", sheet(), header=b"solid tank")
    path.write_bytes(path.read_bytes()[:-3])
    with pytest.raises(TruncatedScanError) as caught:
        read_scan(path)
    assert (caught.value.declared, caught.value.found) == (60, 59)


def test_only_a_header_is_cut_short(tmp_path: Path) -> None:
    path = tmp_path / "tank.stl"
    path.write_bytes(b"\0" * 50)
    with pytest.raises(TruncatedScanError) as caught:
        read_scan(path)
    assert (caught.value.declared, caught.value.found) == (0, 0)


@pytest.mark.parametrize("content", [b"\0" * 84, b"solid nothing\nendsolid nothing\n"])
def test_a_file_of_no_triangles_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "tank.stl"
    path.write_bytes(content)
    with pytest.raises(NoSurfaceError):
        read_scan(path)


@pytest.mark.parametrize(
    ("content", "found"),
    [
        (b"Dear shaper,\nsee you on Monday.\n", "some other text"),
        (b"ply\nformat ascii 1.0\n", "PLY"),
    ],
)
def test_other_text_is_refused_as_what_it_is(tmp_path: Path, content: bytes, found: str) -> None:
    path = tmp_path / "tank.stl"
    path.write_bytes(content)
    with pytest.raises(WrongContentError) as caught:
        read_scan(path)
    assert caught.value.expected == "STL"
    assert found in caught.value.found


def test_decimal_commas_are_refused_with_the_line(tmp_path: Path) -> None:
    path = write_text_stl(tmp_path / "tank.stl", ball(3.0, 50))
    lines = path.read_text().split("\n")
    assert lines[10].lstrip().startswith("vertex")
    lines[10] = lines[10].replace(".", ",")
    path.write_text("\n".join(lines))
    with pytest.raises(DecimalCommaError) as caught:
        read_scan(path)
    assert caught.value.line == 11
    assert caught.value.text.startswith("vertex")


@pytest.mark.parametrize("bad", ["vertex 1 2", "vertex 1 2 three", "vertex 1 2 3 4"])
def test_a_line_that_makes_no_sense_is_named(tmp_path: Path, bad: str) -> None:
    path = write_text_stl(tmp_path / "tank.stl", sheet())
    lines = path.read_text().split("\n")
    lines[3] = bad
    path.write_text("\n".join(lines))
    with pytest.raises(BadLineError) as caught:
        read_scan(path)
    assert not isinstance(caught.value, DecimalCommaError)
    assert (caught.value.line, caught.value.text) == (4, bad)


def test_a_text_file_cut_in_a_triangle_is_refused(tmp_path: Path) -> None:
    path = write_text_stl(tmp_path / "tank.stl", sheet())
    lines = path.read_text().split("\n")[:19]  # in the third facet
    path.write_text("\n".join(lines) + "\n")
    with pytest.raises(BadLineError) as caught:
        read_scan(path)
    assert caught.value.line == 19


def test_a_missing_last_line_is_only_remarked(tmp_path: Path) -> None:
    raw = read_scan(write_text_stl(tmp_path / "tank.stl", sheet(), end=""))
    assert len(raw.faces) == 60
    assert raw.remarks == ("The file has no closing line; all its triangles are whole.",)


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_numbers_that_are_none_are_counted(tmp_path: Path, value: float) -> None:
    path = write_stl(tmp_path / "tank.stl", sheet())
    content = bytearray(path.read_bytes())
    content[84 + 12 : 84 + 16] = np.float32(value).tobytes()
    content[84 + 50 + 24 : 84 + 50 + 28] = np.float32(value).tobytes()
    path.write_bytes(content)
    with pytest.raises(NotFiniteScanError) as caught:
        read_scan(path)
    assert caught.value.count == 2


def test_text_that_says_nan_is_counted(tmp_path: Path) -> None:
    path = write_text_stl(tmp_path / "tank.stl", sheet())
    path.write_text(path.read_text().replace("vertex 60.0", "vertex nan"))
    with pytest.raises(NotFiniteScanError):
        read_scan(path)


def test_coordinates_beyond_any_tank_are_refused(tmp_path: Path) -> None:
    path = write_stl(tmp_path / "tank.stl", sheet())
    content = bytearray(path.read_bytes())
    content[84 + 12 : 84 + 16] = np.float32(-1e30).tobytes()
    path.write_bytes(content)
    with pytest.raises(OutsizeScanError) as caught:
        read_scan(path)
    assert caught.value.largest == pytest.approx(1e30)
    assert caught.value.count == 1
