"""3MF files: a zip whose model says its unit, its meshes, and where each of them is placed.

Read as it streams out of the zip, part by part: no part is unpacked to disk, none larger than it
may be is unpacked at all, and a document type (where entities would be declared) is refused.
"""

import posixpath
import zipfile
import zlib
from array import array
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO
from xml.parsers import expat

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.progress import Report, part_of
from geometry.scan.raw_scan import RawScan, raw_scan
from geometry.scan.unit import UNIT_WORDS, Unit
from geometry.scan.unreadable import (
    BadIndexError,
    BadLineError,
    NoSurfaceError,
    WrongContentError,
)

_MODEL_KIND = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
_FIRST_MODEL = "3D/3dmodel.model"
_BYTES_AT_ONCE = 1 << 20
_LARGEST_PART = 4 << 30
_MOST_PACKED = 400
"""A part that unpacks to more bytes than this for each of its own holds no scan: numbers do not
pack so well. A part below `_SMALL_PART` may."""
_SMALL_PART = 16 << 20
_MOST_FACES = 200_000_000
_DEEPEST = 32
_PLACE = 12
_ZIP_BEGINS = b"PK"
_TEXT_SHOWN, _TEXT_BEFORE = 60, 20
_NOTHING_MOVED = np.vstack([np.eye(3), np.zeros(3)])

_UNITS: dict[str, tuple[Unit, float]] = {
    "micron": ("mm", 0.001),
    "millimeter": ("mm", 1.0),
    "centimeter": ("cm", 1.0),
    "inch": ("in", 1.0),
    "foot": ("in", 12.0),
    "meter": ("m", 1.0),
}
"""What a file's unit is to us, and by how much its numbers are multiplied to be so."""

_Key = tuple[str, str]
"""A model part and the number of an object in it."""


@dataclass(frozen=True, eq=False)
class _Placed:
    """An object and the (4, 3) transform of row vectors that places it."""

    key: _Key
    transform: FloatArray


@dataclass(eq=False)
class _Object:
    """An object being read: a mesh, or others placed."""

    numbers: "array[float]" = field(default_factory=lambda: array("d"))
    corners: "array[int]" = field(default_factory=lambda: array("q"))
    parts: list[_Placed] = field(default_factory=list)


@dataclass(eq=False)
class _Model:
    """What has been read of all model parts."""

    objects: dict[_Key, _Object] = field(default_factory=dict)
    items: list[_Placed] = field(default_factory=list)
    unit: str | None = None
    wanted: list[str] = field(default_factory=list)


def read_3mf(path: Path, report: Report) -> RawScan:
    """Return what a 3MF file builds, its parts where they are placed, and its unit.

    Microns and feet are turned into millimetres and inches.

    Raises
    ------
    WrongContentError
        Not a zip, not a 3MF, damaged, locked, or made to unpack without end.
    BadLineError, BadIndexError, NoSurfaceError
        A number or element that cannot be understood; a corner that is not there; no mesh.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            model = _read_model(path, archive, report)
    except (zipfile.BadZipFile, zlib.error, EOFError) as reason:
        raise WrongContentError(path, "3MF", _damage(path)) from reason
    except NotImplementedError as reason:
        raise WrongContentError(path, "3MF", "it is packed in a way not known here") from reason
    except RuntimeError as reason:
        raise WrongContentError(path, "3MF", "it cannot be unpacked") from reason
    remarks: list[str] = []
    items = model.items
    if not items:
        remarks.append("The file places none of its meshes; all are taken as they are.")
        first = next(iter(model.objects), ("", ""))[0]
        items = [_Placed(key, _NOTHING_MOVED) for key in model.objects if key[0] == first]
    vertices, faces = _built(path, model, items)
    unit, factor = _unit_of(path, model.unit)
    said = "does not name its unit, which in a 3MF means" if model.unit is None else "says it is in"
    remarks.append(f"The file {said} {UNIT_WORDS[unit]}.")
    if factor != 1.0:
        remarks[-1] = f"The file is in {model.unit}s; its numbers were made {UNIT_WORDS[unit]}."
    report(1.0, "Reading the scan")
    return raw_scan(path, vertices * factor, faces, "3MF", tuple(remarks), unit=unit)


def _damage(path: Path) -> str:
    """Return what is wrong with a file that is no sound zip."""
    with path.open("rb") as file:
        is_begun = file.read(len(_ZIP_BEGINS)) == _ZIP_BEGINS
    return "it is cut off or damaged" if is_begun else "it is something else under that name"


def _unit_of(path: Path, name: str | None) -> tuple[Unit, float]:
    found = _UNITS.get("millimeter" if name is None else name.strip().lower())
    if found is None:
        raise WrongContentError(path, "3MF", f"its unit, '{name}', is none that a 3MF may have")
    return found


def _read_model(path: Path, archive: zipfile.ZipFile, report: Report) -> _Model:
    names = {name.lower().lstrip("/"): name for name in archive.namelist()}
    model = _Model()
    first = _model_named(path, archive, names)
    model.wanted = [first]
    read: set[str] = set()
    while model.wanted:
        name = model.wanted.pop()
        if name.lower() in read:
            continue
        read.add(name.lower())
        if name.lower() not in names:
            raise WrongContentError(path, "3MF", f"its part '{name}' is missing")
        info = archive.getinfo(names[name.lower()])
        _check_part(path, info)
        with archive.open(info) as file:
            reader = _PartReader(path, name, model, is_first=name == first)
            stage = part_of(report, 0.0, 0.9) if name == first else _still(report)
            reader.read(file, max(info.file_size, 1), stage)
    return model


def _still(report: Report) -> Report:
    """Return a report that only lets a further part be stopped."""

    def inner(done: float, stage: str) -> None:
        report(0.9, stage)

    return inner


def _check_part(path: Path, info: zipfile.ZipInfo) -> None:
    """Raise unless a part may be unpacked."""
    if info.flag_bits & 1:
        raise WrongContentError(path, "3MF", "it is locked with a password")
    packed = max(info.compress_size, 1)
    is_bomb = info.file_size > _SMALL_PART and info.file_size > _MOST_PACKED * packed
    if info.file_size > _LARGEST_PART or is_bomb:
        raise WrongContentError(path, "3MF", f"it would unpack to {info.file_size >> 20} megabytes")


def _model_named(path: Path, archive: zipfile.ZipFile, names: dict[str, str]) -> str:
    """Return the name of the first model part: as the package says, or the usual one."""
    if "_rels/.rels" in names:
        info = archive.getinfo(names["_rels/.rels"])
        _check_part(path, info)
        targets: list[str] = []

        def start(tag: str, found: dict[str, str]) -> None:
            if tag.rpartition(":")[2] == "Relationship" and found.get("Type") == _MODEL_KIND:
                targets.append(found.get("Target", "").lstrip("/"))

        parser = _parser(path)
        parser.StartElementHandler = start
        with archive.open(info) as file:
            _parse(path, parser, file.read(), 0, last=True)
        if targets:
            return targets[0]
    if _FIRST_MODEL.lower() not in names:
        raise WrongContentError(path, "3MF", "it is a zip without a model in it")
    return _FIRST_MODEL


def _parser(path: Path) -> expat.XMLParserType:
    parser = expat.ParserCreate()

    def refuse(*_: object) -> None:
        raise WrongContentError(path, "3MF", "it declares a document type, which a 3MF may not")

    parser.StartDoctypeDeclHandler = refuse
    return parser


def _parse(
    path: Path, parser: expat.XMLParserType, block: bytes, before: int, *, last: bool = False
) -> None:
    """Parse a block that follows on so many bytes; say where it goes wrong by what stands there."""
    try:
        parser.Parse(block, last)
    except expat.ExpatError as reason:
        at = max(parser.ErrorByteIndex - before, 0)
        begin = max(block.rfind(b"\n", 0, at) + 1, at - _TEXT_BEFORE)
        text = block[begin : begin + 4 * _TEXT_SHOWN].decode("utf-8", "replace")
        text = text.split("\n")[0].strip()[:_TEXT_SHOWN]
        if not text or not block[at:].strip():
            where = f"it breaks off at line {reason.lineno}: it was cut short or damaged"
            raise WrongContentError(path, "3MF", where) from reason
        raise BadLineError(path, reason.lineno, text) from reason


class _PartReader:
    """Reads one model part into the model."""

    def __init__(self, path: Path, part: str, model: _Model, *, is_first: bool) -> None:
        self._path, self._part, self._model, self._is_first = path, part, model, is_first
        self._object: _Object | None = None
        self._parser = _parser(path)
        self._parser.StartElementHandler = self._start

    def read(self, file: IO[bytes], size: int, report: Report) -> None:
        done = 0
        while block := file.read(_BYTES_AT_ONCE):
            report(min(done / size, 1.0), "Reading the scan")
            _parse(self._path, self._parser, block, done)
            done += len(block)
        _parse(self._path, self._parser, b"", done, last=True)
        report(1.0, "Reading the scan")

    def _start(self, tag: str, found: dict[str, str]) -> None:
        try:
            self._take(tag.rpartition(":")[2], found)
        except (KeyError, ValueError, OverflowError) as reason:
            words = " ".join(f'{name}="{value}"' for name, value in found.items())
            line = self._parser.CurrentLineNumber
            raise BadLineError(self._path, line, f"<{tag} {words}>"[:80]) from reason

    def _take(self, tag: str, found: dict[str, str]) -> None:
        if tag == "vertex" and self._object is not None:
            self._object.numbers.extend((float(found["x"]), float(found["y"]), float(found["z"])))
        elif tag == "triangle" and self._object is not None:
            self._object.corners.extend((int(found["v1"]), int(found["v2"]), int(found["v3"])))
        elif tag == "object":
            self._object = _Object()
            self._model.objects[self._part, found["id"]] = self._object
        elif tag == "component" and self._object is not None:
            self._object.parts.append(self._placed(found))
        elif tag == "item" and self._is_first:
            self._model.items.append(self._placed(found))
        elif tag == "model" and self._is_first:
            self._model.unit = found.get("unit")
        elif tag == "build":
            self._object = None

    def _placed(self, found: dict[str, str]) -> _Placed:
        elsewhere = next((value for name, value in found.items() if name.endswith(":path")), None)
        part = self._part
        if elsewhere is not None:
            part = posixpath.normpath(elsewhere.lstrip("/"))
            self._model.wanted.append(part)
        words = found.get("transform", "").split()
        if not words:
            return _Placed((part, found["objectid"]), _NOTHING_MOVED)
        if len(words) != _PLACE:
            raise ValueError
        numbers = np.array([float(word) for word in words]).reshape(4, 3)
        return _Placed((part, found["objectid"]), numbers)


def _built(path: Path, model: _Model, items: list[_Placed]) -> tuple[FloatArray, IntArray]:
    """Return the vertices and faces of all that is placed, one after another."""
    counts: dict[_Key, int] = {}
    total = sum(_face_count(path, model, item.key, counts, ()) for item in items)
    if total > _MOST_FACES:
        raise WrongContentError(path, "3MF", f"its parts repeat into {total} triangles")
    if total == 0 and not any(len(each.numbers) for each in model.objects.values()):
        raise NoSurfaceError(path)
    vertices: list[FloatArray] = [np.empty((0, 3))]
    faces: list[IntArray] = [np.empty((0, 3), np.int64)]
    before = outside = 0
    waiting = items[::-1]
    while waiting:
        at = waiting.pop()
        what = model.objects[at.key]
        waiting += [_Placed(part.key, _after(part.transform, at.transform)) for part in what.parts]
        points = np.frombuffer(what.numbers, np.float64).reshape(-1, 3)
        corners = np.frombuffer(what.corners, np.int64).reshape(-1, 3)
        outside += int(((corners < 0) | (corners >= len(points))).any(axis=1).sum())
        is_mirrored = np.linalg.det(at.transform[:3]) < 0.0
        vertices.append(points @ at.transform[:3] + at.transform[3])
        faces.append((corners[:, ::-1] if is_mirrored else corners) + before)
        before += len(points)
    if outside:
        raise BadIndexError(path, outside, before)
    return np.concatenate(vertices), np.concatenate(faces)


def _after(inner: FloatArray, outer: FloatArray) -> FloatArray:
    """Return the transform that places something by one and then all of it by another."""
    return np.vstack([inner[:3] @ outer[:3], inner[3] @ outer[:3] + outer[3]])


def _face_count(
    path: Path, model: _Model, key: _Key, counts: dict[_Key, int], within: tuple[_Key, ...]
) -> int:
    """Return how many faces an object has with all its parts; each object is counted once."""
    if key in counts:
        return counts[key]
    if key in within or len(within) > _DEEPEST:
        raise WrongContentError(path, "3MF", "its parts contain one another")
    if key not in model.objects:
        raise WrongContentError(path, "3MF", f"it places an object, {key[1]}, that is not in it")
    what = model.objects[key]
    inside = [_face_count(path, model, part.key, counts, (*within, key)) for part in what.parts]
    counts[key] = len(what.corners) // 3 + sum(inside)
    return counts[key]
