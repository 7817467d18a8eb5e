"""PLY files: text and both byte orders, mixed faces, and every broken one refused."""

from pathlib import Path

import numpy as np
import pytest
import trimesh

from geometry.scan import (
    BadIndexError,
    BadLineError,
    DecimalCommaError,
    NotFiniteScanError,
    PointsOnlyError,
    TruncatedScanError,
    WrongContentError,
    read_scan,
)

CORNERS = np.array([[0.0, 0, 0], [4, 0, 0], [4, 1, 0], [0, 1, 0], [2, 3, 0]])
FACES: list[list[int]] = [[0, 1, 2, 3], [3, 2, 4]]


def _header(form: str, vertices: int, faces: int, extra: str = "") -> bytes:
    return (
        f"ply\nformat {form} 1.0\ncomment by hand\nelement vertex {vertices}\n"
        f"property float x\nproperty uchar red\nproperty double y\nproperty float z\n{extra}"
        f"element face {faces}\nproperty list uchar int vertex_indices\nproperty uchar flags\n"
        "end_header\n"
    ).encode()


def _body(form: str, corners: np.ndarray, faces: list[list[int]]) -> bytes:
    if form == "ascii":
        rows = [f"{x!r} 255 {y!r} {z!r}" for x, y, z in corners.tolist()]
        rows += [" ".join(map(str, [len(face), *face, 7])) for face in faces]
        return ("\n".join(rows) + "\n").encode()
    order = "<" if form == "binary_little_endian" else ">"
    layout = [("x", f"{order}f4"), ("red", "u1"), ("y", f"{order}f8"), ("z", f"{order}f4")]
    table = np.zeros(len(corners), layout)
    for axis, values in zip("xyz", corners.T, strict=True):
        table[axis] = values
    parts = [table.tobytes()]
    for face in faces:
        parts += [bytes([len(face)]), np.array(face, f"{order}i4").tobytes(), b"\7"]
    return b"".join(parts)


def _written(path: Path, form: str, faces: list[list[int]], extra: str = "") -> Path:
    path.write_bytes(_header(form, len(CORNERS), len(faces), extra) + _body(form, CORNERS, faces))
    return path


FORMS = ["ascii", "binary_little_endian", "binary_big_endian"]


@pytest.mark.parametrize("form", FORMS)
def test_mixed_faces_are_read_and_quads_split(tmp_path: Path, form: str) -> None:
    raw = read_scan(_written(tmp_path / "tank.ply", form, FACES))
    np.testing.assert_array_equal(raw.vertices, CORNERS)
    assert raw.faces.tolist() == [[0, 1, 2], [0, 2, 3], [3, 2, 4]]
    assert raw.remarks == ("1 face of more than three corners was split into triangles.",)


@pytest.mark.parametrize("form", FORMS)
def test_a_pentagon_keeps_its_area(tmp_path: Path, form: str) -> None:
    """Area 4 x 1 below and a triangle of base 4, height 2 above: 8."""
    raw = read_scan(_written(tmp_path / "tank.ply", form, [[0, 1, 2, 4, 3]]))
    a, b, c = (raw.vertices[raw.faces[:, k]] for k in range(3))
    assert len(raw.faces) == 3
    assert np.cross(b - a, c - a)[:, 2].sum() / 2 == pytest.approx(8.0)


def test_a_quad_is_split_along_its_shorter_diagonal(tmp_path: Path) -> None:
    lines = "ply\nformat ascii 1.0\nelement vertex 4\nproperty float x\nproperty float y\n"
    lines += "property float z\nelement face 1\nproperty list uchar int vertex_index\nend_header\n"
    path = tmp_path / "kite.ply"
    path.write_text(lines + "0 0 0\n1 -1 0\n9 0 0\n1 1 0\n4 0 1 2 3\n")
    assert read_scan(path).faces.tolist() == [[1, 2, 3], [1, 3, 0]]


@pytest.mark.parametrize("encoding", ["binary", "ascii"])
def test_files_of_another_writer_are_read(tmp_path: Path, encoding: str) -> None:
    """Written by trimesh, a general mesh library."""
    mesh = trimesh.creation.icosphere(subdivisions=2, radius=25.0)
    path = tmp_path / "other.ply"
    path.write_bytes(trimesh.exchange.ply.export_ply(mesh, encoding=encoding))
    raw = read_scan(path)
    np.testing.assert_allclose(raw.vertices, mesh.vertices, atol=1e-5)
    np.testing.assert_array_equal(raw.faces, mesh.faces)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("faces", [FACES, [[0, 1, 2], [3, 2, 4]]])
def test_a_file_cut_anywhere_is_refused_and_never_misread(
    tmp_path: Path, form: str, faces: list[list[int]]
) -> None:
    path = _written(tmp_path / "tank.ply", form, faces)
    whole = path.read_bytes()
    body = whole.index(b"end_header\n") + len(b"end_header\n")
    last = len(whole) - 1 if form == "ascii" else len(whole)  # the last newline may be missing
    for end in range(body, last):
        path.write_bytes(whole[:end])
        if form == "ascii" and whole[:end].endswith(b"4 7"):
            continue
        with pytest.raises((TruncatedScanError, BadLineError, BadIndexError)):
            read_scan(path)


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize(("vertices", "faces"), [(4_294_967_295, 2), (5, 4_294_967_295)])
def test_endless_claims_are_refused_without_taking_memory(
    tmp_path: Path, form: str, vertices: int, faces: int
) -> None:
    path = tmp_path / "tank.ply"
    path.write_bytes(_header(form, vertices, faces) + _body(form, CORNERS, FACES))
    with pytest.raises(TruncatedScanError) as caught:
        read_scan(path)
    assert caught.value.declared == 4_294_967_295
    assert caught.value.found < 100
    assert caught.value.thing == ("vertices" if vertices > 5 else "faces")


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("index", [5, -1, 2_000_000_000])
def test_faces_that_name_missing_vertices_are_counted(
    tmp_path: Path, form: str, index: int
) -> None:
    path = _written(tmp_path / "tank.ply", form, [[0, 1, 2], [0, 1, index], [1, index, 2]])
    with pytest.raises(BadIndexError) as caught:
        read_scan(path)
    assert (caught.value.count, caught.value.vertices) == (2, 5)


@pytest.mark.parametrize("form", FORMS)
def test_points_alone_are_refused_with_their_number(tmp_path: Path, form: str) -> None:
    path = _written(tmp_path / "tank.ply", form, [])
    with pytest.raises(PointsOnlyError) as caught:
        read_scan(path)
    assert caught.value.points == 5


@pytest.mark.parametrize("form", FORMS)
def test_other_elements_are_skipped(tmp_path: Path, form: str) -> None:
    extra = "element camera 1\nproperty float f\nproperty list uchar short bits\n"
    path = tmp_path / "tank.ply"
    middle = {
        "ascii": b"1.5 2 10 11\n",
        "binary_little_endian": b"".join(
            [np.float32(1.5).tobytes(), b"\2", np.array([1, 2], "<i2").tobytes()]
        ),
        "binary_big_endian": b"".join(
            [np.array(1.5, ">f4").tobytes(), b"\2", np.array([1, 2], ">i2").tobytes()]
        ),
    }[form]
    body = _body(form, CORNERS, FACES)
    split = len(_body(form, CORNERS, []))
    path.write_bytes(_header(form, 5, 2, extra) + body[:split] + middle + body[split:])
    assert len(read_scan(path).faces) == 3


@pytest.mark.parametrize(
    "content",
    [
        b"Dear shaper,",
        b"ply\nformat ascii 1.0\nelement vertex 3\n",
        b"ply\nformat papyrus 1.0\nelement vertex 3\nproperty float x\nend_header\n",
        b"ply\nformat ascii 1.0\nelement face 1\nproperty list uchar int v\nend_header\n3 0 1 2\n",
        b"ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nelement face 1\n"
        b"property list uchar int vertex_index\nend_header\n1\n3 0 0 0\n",
    ],
)
def test_what_is_not_a_ply_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "tank.ply"
    path.write_bytes(content)
    with pytest.raises(WrongContentError):
        read_scan(path)


@pytest.mark.parametrize("line", [b"element vertex -3", b"element vertex many", b"property float"])
def test_a_header_line_that_makes_no_sense_is_named(tmp_path: Path, line: bytes) -> None:
    path = tmp_path / "tank.ply"
    path.write_bytes(_header("ascii", 5, 2).replace(b"comment by hand", b"element a 1\n" + line))
    with pytest.raises(BadLineError) as caught:
        read_scan(path)
    assert caught.value.line == 4


def test_decimal_commas_are_refused_with_the_line(tmp_path: Path) -> None:
    path = _written(tmp_path / "tank.ply", "ascii", FACES)
    path.write_bytes(path.read_bytes().replace(b"2.0 255 3.0", b"2,0 255 3,0"))
    with pytest.raises(DecimalCommaError) as caught:
        read_scan(path)
    assert caught.value.line == path.read_bytes().split(b"\n").index(b"2,0 255 3,0 0.0") + 1


def test_numbers_that_are_none_are_counted(tmp_path: Path) -> None:
    path = _written(tmp_path / "tank.ply", "ascii", FACES)
    path.write_bytes(path.read_bytes().replace(b"2.0 255 3.0", b"nan 255 inf"))
    with pytest.raises(NotFiniteScanError) as caught:
        read_scan(path)
    assert caught.value.count == 1


def test_a_number_that_signals_it_is_none_is_counted_too(tmp_path: Path) -> None:
    """The bit pattern 7f800001 is a signalling not-a-number of IEEE 754."""
    path = _written(tmp_path / "tank.ply", "binary_little_endian", FACES)
    header = path.read_bytes().index(b"end_header\n") + len(b"end_header\n")
    content = bytearray(path.read_bytes())
    content[header : header + 4] = (0x7F800001).to_bytes(4, "little")
    path.write_bytes(content)
    with pytest.raises(NotFiniteScanError) as caught:
        read_scan(path)
    assert caught.value.count == 1
