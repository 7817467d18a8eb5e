"""3MF files: unit, places, parts of parts; and every way in which one can be bad."""

import zipfile
from pathlib import Path

import numpy as np
import pytest

from geometry.mesh import TriMesh
from geometry.progress import Cancelled
from geometry.scan import (
    BadIndexError,
    BadLineError,
    NoSurfaceError,
    NotFiniteScanError,
    PointsOnlyError,
    RawScan,
    Unit,
    WrongContentError,
    read_scan,
    report_on,
    sound_mesh,
)
from tests.geometry.scan.scans import ball, box

RELS = (
    '<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/'
    'relationships"><Relationship Id="r0" Target="/{}" Type="http://schemas.microsoft.com/'
    '3dmanufacturing/2013/01/3dmodel"/></Relationships>'
)
BODY = box((30.0, 20.0, 10.0))


def mesh_xml(mesh: TriMesh) -> str:
    points = "".join(
        f'<vertex x="{x!r}" y="{y!r}" z="{z!r}"/>\n' for x, y, z in mesh.vertices.tolist()
    )
    faces = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>\n' for a, b, c in mesh.faces.tolist())
    return f"<mesh><vertices>{points}</vertices><triangles>{faces}</triangles></mesh>"


def object_xml(number: int, inside: str) -> str:
    return f'<object id="{number}" type="model">{inside}</object>'


def model_xml(resources: str, items: str, unit: str | None = "millimeter") -> str:
    said = "" if unit is None else f' unit="{unit}"'
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n<model{said} xml:lang="en-GB" xmlns='
        '"http://schemas.microsoft.com/3dmanufacturing/core/2015/02" xmlns:p='
        '"http://schemas.microsoft.com/3dmanufacturing/production/2015/06">\n'
        f"<resources>{resources}</resources><build>{items}</build></model>"
    )


def written(
    path: Path, model: str, *, name: str = "3D/3dmodel.model", rels: str | None = RELS, **more: str
) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        if rels is not None:
            archive.writestr("_rels/.rels", rels.format(name))
        archive.writestr(name, model)
        for number, text in more.items():
            archive.writestr(f"3D/{number}.model", text)
    return path


def one_body(path: Path, unit: str | None = "millimeter", mesh: TriMesh = BODY) -> Path:
    return written(path, model_xml(object_xml(1, mesh_xml(mesh)), '<item objectid="1"/>', unit))


def same_triangles(raw: RawScan, mesh: TriMesh) -> None:
    np.testing.assert_allclose(raw.vertices[raw.faces], mesh.vertices[mesh.faces], atol=1e-12)


def test_a_mesh_is_read_to_the_last_digit(tmp_path: Path) -> None:
    mesh = ball(123.456, 500)
    raw = read_scan(one_body(tmp_path / "ball.3mf", mesh=mesh))
    np.testing.assert_array_equal(raw.vertices, mesh.vertices)
    np.testing.assert_array_equal(raw.faces, mesh.faces)
    assert (raw.kind, raw.unit) == ("3MF", "mm")


@pytest.mark.parametrize(
    ("said", "unit", "factor"),
    [
        ("micron", "mm", 0.001),
        ("millimeter", "mm", 1.0),
        ("centimeter", "cm", 1.0),
        ("inch", "in", 1.0),
        ("foot", "in", 12.0),
        ("meter", "m", 1.0),
        (None, "mm", 1.0),
    ],
)
def test_the_unit_is_the_file_s_and_what_we_have_no_name_for_is_converted(
    tmp_path: Path, said: str | None, unit: Unit, factor: float
) -> None:
    """The six units of the 3MF core specification, from memory; millimetres where none is named."""
    raw = read_scan(one_body(tmp_path / "box.3mf", said))
    assert raw.unit == unit
    np.testing.assert_allclose(raw.vertices, BODY.vertices * factor, rtol=1e-15)
    assert any(word in raw.remarks[-1] for word in ("says", "made", "does not name"))


def test_the_unit_goes_on_into_the_report(tmp_path: Path) -> None:
    said = report_on(sound_mesh(read_scan(one_body(tmp_path / "box.3mf", "meter"))))
    assert said.unit == "m"
    assert said.doubts[0] == "The file says it is in metres; only a tape proves it."
    assert "In that unit it is not the size" in said.doubts[1]


def test_items_are_placed_turned_and_moved(tmp_path: Path) -> None:
    """Row vectors: x to y, y to -x, then 100 along x (3MF core specification, from memory)."""
    items = '<item objectid="1" transform="0 1 0 -1 0 0 0 0 1 100 0 5"/><item objectid="1"/>'
    raw = read_scan(written(tmp_path / "a.3mf", model_xml(object_xml(1, mesh_xml(BODY)), items)))
    x, y, z = BODY.vertices.T
    np.testing.assert_allclose(raw.vertices[:8], np.column_stack([100 - y, x, z + 5]))
    np.testing.assert_array_equal(raw.vertices[8:], BODY.vertices)
    np.testing.assert_array_equal(raw.faces[12:], BODY.faces + 8)


def test_a_mirrored_part_still_faces_out(tmp_path: Path) -> None:
    item = '<item objectid="1" transform="-1 0 0 0 1 0 0 0 1 0 0 0"/>'
    raw = read_scan(written(tmp_path / "a.3mf", model_xml(object_xml(1, mesh_xml(BODY)), item)))
    a, b, c = (raw.vertices[raw.faces[:, k]].astype(float) for k in range(3))
    assert np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6 == pytest.approx(6000.0)


def test_parts_of_parts_are_placed_one_after_the_other(tmp_path: Path) -> None:
    """Doubled in size, then moved by 10; that moved by 1 along y: 2 p + (10, 1, 0)."""
    inner = (
        '<components><component objectid="1" transform="2 0 0 0 2 0 0 0 2 10 0 0"/></components>'
    )
    resources = object_xml(1, mesh_xml(BODY)) + object_xml(2, inner)
    item = '<item objectid="2" transform="1 0 0 0 1 0 0 0 1 0 1 0"/>'
    raw = read_scan(written(tmp_path / "a.3mf", model_xml(resources, item)))
    np.testing.assert_allclose(raw.vertices, 2 * BODY.vertices + [10, 1, 0])


def test_parts_in_other_models_of_the_zip_are_found(tmp_path: Path) -> None:
    there = '<components><component objectid="7" p:path="/3D/other.model"/></components>'
    other = model_xml(object_xml(7, mesh_xml(BODY)), "")
    main = model_xml(object_xml(1, there), '<item objectid="1"/>', "inch")
    raw = read_scan(written(tmp_path / "a.3mf", main, other=other))
    same_triangles(raw, BODY)
    assert raw.unit == "in"


def test_the_model_may_have_another_name_or_no_relations_at_all(tmp_path: Path) -> None:
    model = model_xml(object_xml(1, mesh_xml(BODY)), '<item objectid="1"/>')
    same_triangles(read_scan(written(tmp_path / "a.3mf", model, name="Geo/part.model")), BODY)
    same_triangles(read_scan(written(tmp_path / "b.3mf", model, rels=None)), BODY)


def test_meshes_that_nothing_places_are_taken_and_it_is_said(tmp_path: Path) -> None:
    raw = read_scan(written(tmp_path / "a.3mf", model_xml(object_xml(1, mesh_xml(BODY)), "")))
    same_triangles(raw, BODY)
    assert raw.remarks[0] == "The file places none of its meshes; all are taken as they are."


def _refused(path: Path) -> WrongContentError:
    with pytest.raises(WrongContentError) as caught:
        read_scan(path)
    assert caught.value.path == path
    assert caught.value.expected == "3MF"
    return caught.value


def test_what_is_no_zip_or_cut_off_is_refused(tmp_path: Path) -> None:
    (tmp_path / "text.3mf").write_bytes(b"solid tank, renamed")
    assert "something else" in _refused(tmp_path / "text.3mf").found
    whole = one_body(tmp_path / "whole.3mf", mesh=ball(50.0, 400)).read_bytes()
    for share in (0.1, 0.5, 0.99):
        (tmp_path / "cut.3mf").write_bytes(whole[: int(share * len(whole))])
        assert _refused(tmp_path / "cut.3mf").found == "it is cut off or damaged"


def test_a_model_that_breaks_off_or_goes_wrong_is_told_by_its_own_text(tmp_path: Path) -> None:
    """What is told is what stands in the file, or that it ends: no words of a library."""
    model = model_xml(object_xml(1, mesh_xml(BODY)), '<item objectid="1"/>')
    short = model[: model.index("</triangles>")]
    found = _refused(written(tmp_path / "a.3mf", short)).found
    assert found == f"it breaks off at line {short.count(chr(10)) + 1}: it was cut short or damaged"
    with pytest.raises(BadLineError) as caught:
        read_scan(written(tmp_path / "b.3mf", model.replace("<triangles>", "<<triangles>", 1)))
    assert "<<triangles>" in caught.value.text
    with pytest.raises(BadLineError) as caught:
        read_scan(written(tmp_path / "c.3mf", model.replace("</mesh>", "</mash>", 1)))
    assert "mash>" in caught.value.text


def test_a_part_packed_in_an_unknown_way_is_refused(tmp_path: Path) -> None:
    """The way of packing stands in bytes 8 and 9 of a part's header and 10 and 11 of its entry."""
    path = one_body(tmp_path / "a.3mf")
    packed = bytearray(path.read_bytes())
    for mark, at in ((b"PK\x03\x04", 8), (b"PK\x01\x02", 10)):
        start = packed.find(mark)
        while start >= 0:
            packed[start + at] = 97
            start = packed.find(mark, start + 4)
    path.write_bytes(packed)
    assert "packed in a way" in _refused(path).found


def test_damage_inside_is_refused(tmp_path: Path) -> None:
    path = one_body(tmp_path / "a.3mf", mesh=ball(50.0, 400))
    broken = bytearray(path.read_bytes())
    broken[len(broken) // 2] ^= 0xFF
    path.write_bytes(broken)
    with pytest.raises((WrongContentError, BadLineError)):
        read_scan(path)


def test_a_zip_without_a_model_is_refused(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "a.3mf", "w") as archive:
        archive.writestr("readme.txt", "nothing here")
    assert "without a model" in _refused(tmp_path / "a.3mf").found


def test_a_document_type_is_refused_before_an_entity_is_read(tmp_path: Path) -> None:
    body = model_xml(object_xml(1, mesh_xml(BODY)), '<item objectid="1"/>')
    start, rest = body.split("\n", 1)
    (tmp_path / "secret").write_text("4")
    entity = f'<!DOCTYPE model [<!ENTITY x SYSTEM "file://{tmp_path}/secret">]>'
    path = written(tmp_path / "a.3mf", f"{start}\n{entity}{rest}".replace('x="0.0"', 'x="&x;"'))
    assert "document type" in _refused(path).found


def test_a_part_that_would_unpack_without_end_is_not_unpacked(tmp_path: Path) -> None:
    path = written(tmp_path / "a.3mf", model_xml("<!--" + " " * (40 << 20) + "-->", ""))
    assert path.stat().st_size < 100_000
    assert "40 megabytes" in _refused(path).found


def test_parts_that_repeat_without_end_or_contain_one_another_are_refused(tmp_path: Path) -> None:
    twice = '<components><component objectid="{0}"/><component objectid="{0}"/></components>'
    doubled = "".join(object_xml(n + 1, twice.format(n)) for n in range(1, 30))
    model = model_xml(object_xml(1, mesh_xml(BODY)) + doubled, '<item objectid="30"/>')
    assert "repeat" in _refused(written(tmp_path / "a.3mf", model)).found
    ring = object_xml(1, twice.format(2)) + object_xml(2, twice.format(1))
    model = model_xml(ring, '<item objectid="1"/>')
    assert "one another" in _refused(written(tmp_path / "b.3mf", model)).found


def test_objects_and_units_that_are_not_there_are_refused(tmp_path: Path) -> None:
    body = object_xml(1, mesh_xml(BODY))
    assert (
        "object, 9,"
        in _refused(written(tmp_path / "a.3mf", model_xml(body, '<item objectid="9"/>'))).found
    )
    assert "'furlong'" in _refused(one_body(tmp_path / "b.3mf", "furlong")).found
    elsewhere = '<item objectid="1" p:path="/3D/gone.model"/>'
    assert "gone.model" in _refused(written(tmp_path / "c.3mf", model_xml(body, elsewhere))).found


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('v1="0"', 'v1="x"'),
        ('x="30.0"', 'x="3O"'),
        (' z="10.0"', ""),
        ("</mesh>", "</mash>"),
        ('objectid="1"', 'objectid="1" transform="1 0 0"'),
        ('objectid="1"', 'objectid="1" transform="1 0 0 0 1 0 0 0 1 0 0 a"'),
    ],
)
def test_a_line_that_cannot_be_understood_is_named(tmp_path: Path, old: str, new: str) -> None:
    model = model_xml(object_xml(1, mesh_xml(BODY)), '<item objectid="1"/>')
    assert old in model
    with pytest.raises(BadLineError) as caught:
        read_scan(written(tmp_path / "a.3mf", model.replace(old, new, 1)))
    assert caught.value.line >= 3


def test_bad_corners_and_numbers_and_empty_models_keep_their_kinds(tmp_path: Path) -> None:
    model = model_xml(object_xml(1, mesh_xml(BODY)), '<item objectid="1"/>')
    with pytest.raises(BadIndexError) as caught:
        read_scan(written(tmp_path / "a.3mf", model.replace('v1="0"', 'v1="8"', 1)))
    assert (caught.value.count, caught.value.vertices) == (1, 8)
    with pytest.raises(BadIndexError):
        read_scan(written(tmp_path / "b.3mf", model.replace('v1="0"', 'v1="-1"', 1)))
    with pytest.raises(NotFiniteScanError):
        read_scan(written(tmp_path / "c.3mf", model.replace('x="30.0"', 'x="nan"', 1)))
    with pytest.raises(NoSurfaceError):
        read_scan(written(tmp_path / "d.3mf", model_xml("", "")))
    points = mesh_xml(BODY).split("<triangles>")[0] + "</mesh>"
    with pytest.raises(PointsOnlyError):
        read_scan(
            written(tmp_path / "e.3mf", model_xml(object_xml(1, points), '<item objectid="1"/>'))
        )


def test_reading_tells_how_far_it_is_and_can_be_stopped(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("geometry.scan.three_mf._BYTES_AT_ONCE", 4096)
    path = one_body(tmp_path / "a.3mf", mesh=ball(50.0, 1000))
    seen: list[float] = []
    read_scan(path, report=lambda done, stage: seen.append(done))
    assert seen == sorted(seen)
    assert len(seen) > 10
    assert seen[-1] == 1.0

    def stop(done: float, stage: str) -> None:
        if done > 0.4:
            raise Cancelled

    with pytest.raises(Cancelled):
        read_scan(path, report=stop)
