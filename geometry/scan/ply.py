"""PLY files, text and binary, either byte order: vertices and faces; everything else is skipped.

Read here and not by a library because faces of mixed sizes, wrong counts and endless claims must
each get their own answer.
"""

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.progress import Report
from geometry.scan.raw_scan import RawScan, polygons_split, raw_scan
from geometry.scan.text_lines import bad_line, numbers
from geometry.scan.unreadable import (
    BadLineError,
    PointsOnlyError,
    TruncatedScanError,
    WrongContentError,
)

_BYTES_AT_ONCE = 1 << 24
_LONGEST_HEADER = 1 << 16
_TYPE = {
    **dict.fromkeys(("char", "int8"), "i1"),
    **dict.fromkeys(("uchar", "uint8"), "u1"),
    **dict.fromkeys(("short", "int16"), "i2"),
    **dict.fromkeys(("ushort", "uint16"), "u2"),
    **dict.fromkeys(("int", "int32"), "i4"),
    **dict.fromkeys(("uint", "uint32"), "u4"),
    **dict.fromkeys(("float", "float32"), "f4"),
    **dict.fromkeys(("double", "float64"), "f8"),
}
_ORDER = {"binary_little_endian": "<", "binary_big_endian": ">", "ascii": "="}
_INDEX_NAMES = ("vertex_indices", "vertex_index")
_THINGS = {"vertex": "vertices", "face": "faces"}


@dataclass(frozen=True)
class _Property:
    name: str
    kind: str  # of the value, or of a list's entries
    count_kind: str | None = None  # of a list's length


@dataclass(frozen=True)
class _Element:
    name: str
    count: int
    properties: list[_Property] = field(default_factory=list)

    def smallest_size(self, text: bool) -> int:
        """Return the fewest bytes one can take: a list may be empty, a word is two characters."""
        if text:
            return max(2 * len(self.properties), 1)
        return sum(np.dtype(p.count_kind or p.kind).itemsize for p in self.properties)

    @property
    def thing(self) -> str:
        return _THINGS.get(self.name, self.name)


def read_ply(path: Path, report: Report) -> RawScan:
    """Return what a PLY file holds; faces of more than three corners are split.

    Raises
    ------
    WrongContentError, BadLineError
        Not a PLY, or its header or a line of its body makes no sense.
    TruncatedScanError
        Fewer bytes than its counts ask for.
    PointsOnlyError
        Vertices and no faces.
    """
    content = _content(path, report)
    elements, form, start = _header(path, content)
    counts = {element.name: element.count for element in elements}
    if "vertex" not in counts:
        raise WrongContentError(path, "PLY", "it has no vertices")
    text = form == "ascii"
    left = len(content) - start
    for element in elements:
        size = element.smallest_size(text)
        if element.count * size > left + 1:
            raise TruncatedScanError(path, element.count, left // size, element.thing)
        left -= element.count * size
    if not counts.get("face"):
        raise PointsOnlyError(path, counts["vertex"])
    read = _read_text if text else _read_binary
    vertices, corners, sizes = read(path, content, start, elements)
    report(1.0, "Reading the scan")
    faces, remarks = polygons_split(vertices, corners, sizes)
    return raw_scan(path, vertices, faces, "text PLY" if text else "binary PLY", remarks)


def _content(path: Path, report: Report) -> bytes:
    size = max(path.stat().st_size, 1)
    parts, done = [], 0
    with path.open("rb") as file:
        while part := file.read(_BYTES_AT_ONCE):
            parts.append(part)
            done += len(part)
            report(min(0.9 * done / size, 0.9), "Reading the scan")
    return b"".join(parts)


def _header(path: Path, content: bytes) -> tuple[list[_Element], str, int]:
    """Return the elements, the form of the body and where the body starts."""
    if not content.startswith((b"ply\n", b"ply\r")):
        raise WrongContentError(path, "PLY", "it does not begin as one")
    end = content.find(b"end_header", 0, _LONGEST_HEADER)
    newline = content.find(b"\n", end)
    if end < 0 or newline < 0:
        raise WrongContentError(path, "PLY", "its header has no end")
    elements: list[_Element] = []
    form = ""
    for number, line in enumerate(content[:end].splitlines(), 1):
        words = line.decode("latin-1").split()
        try:
            if words[:1] == ["format"]:
                form = words[1]
            elif words[:1] == ["element"]:
                elements.append(_Element(words[1], _count(words[2])))
            elif words[:1] == ["property"]:
                elements[-1].properties.append(_property(words))
        except (IndexError, KeyError, ValueError):
            raise bad_line(path, number, line) from None
    if form not in _ORDER:
        raise WrongContentError(path, "PLY", f"its format '{form}' is unknown")
    for element in elements:
        for index, prop in enumerate(element.properties):
            order = _ORDER[form]
            counted = order + prop.count_kind if prop.count_kind else None
            element.properties[index] = _Property(prop.name, order + prop.kind, counted)
    return elements, form, newline + 1


def _count(word: str) -> int:
    count = int(word)
    if count < 0:
        raise ValueError
    return count


def _property(words: list[str]) -> _Property:
    if words[1] == "list":
        return _Property(words[4], _TYPE[words[3]], _TYPE[words[2]])
    return _Property(words[2], _TYPE[words[1]])


def _xyz_columns(path: Path, element: _Element) -> list[int]:
    names = [p.name for p in element.properties]
    if any(axis not in names for axis in "xyz") or any(p.count_kind for p in element.properties):
        raise WrongContentError(path, "PLY", "its vertices have no plain x, y, z")
    return [names.index(axis) for axis in "xyz"]


def _index_column(path: Path, element: _Element) -> int:
    for index, prop in enumerate(element.properties):
        if prop.count_kind and prop.name in _INDEX_NAMES:
            return index
    raise WrongContentError(path, "PLY", "its faces do not say which vertices they join")


def _read_binary(
    path: Path, content: bytes, start: int, elements: list[_Element]
) -> tuple[FloatArray, IntArray, IntArray]:
    vertices, corners, sizes = np.empty((0, 3)), np.empty(0, np.int64), np.empty(0, np.int64)
    for element in elements:
        if not any(p.count_kind for p in element.properties):
            names = [(str(i), p.kind) for i, p in enumerate(element.properties)]
            layout = np.dtype(names)
            whole = (len(content) - start) // max(layout.itemsize, 1)
            if whole < element.count:
                raise TruncatedScanError(path, element.count, whole, element.thing)
            rows = np.frombuffer(content, layout, element.count, start)
            start += layout.itemsize * element.count
            if element.name == "vertex":
                columns = _xyz_columns(path, element)
                with np.errstate(invalid="ignore"):  # what is no number is counted later
                    vertices = np.stack([rows[str(i)] for i in columns], axis=1).astype(np.float64)
            continue
        if element.name == "vertex":
            _xyz_columns(path, element)
        wanted = _index_column(path, element) if element.name == "face" else -1
        found = _uniform_lists(content, start, element, wanted)
        found = found or _ragged_lists(path, content, start, element, wanted)
        start = found[2]
        if element.name == "face":
            corners, sizes = found[0], found[1]
    return vertices, corners, sizes


def _uniform_lists(
    content: bytes, start: int, element: _Element, wanted: int
) -> tuple[IntArray, IntArray, int] | None:
    """Read rows whose lists are all as long as those of the first row, or return None."""
    fields: list[tuple[str, str] | tuple[str, str, tuple[int]]] = []
    at, lengths = start, {}
    for index, prop in enumerate(element.properties):
        if prop.count_kind:
            kind = np.dtype(prop.count_kind)
            if at + kind.itemsize > len(content):
                return None
            lengths[index] = int(np.frombuffer(content, kind, 1, at)[0])
            if not 0 <= lengths[index] <= 64:
                return None
            fields += [(f"n{index}", prop.count_kind), (f"v{index}", prop.kind, (lengths[index],))]
            at += kind.itemsize + np.dtype(prop.kind).itemsize * lengths[index]
        else:
            fields.append((f"v{index}", prop.kind))
            at += np.dtype(prop.kind).itemsize
    layout = np.dtype(fields)
    if start + layout.itemsize * element.count > len(content):
        return None
    rows = np.frombuffer(content, layout, element.count, start)
    if any((rows[f"n{index}"] != length).any() for index, length in lengths.items()):
        return None
    corners = rows[f"v{wanted}"].astype(np.int64).ravel() if wanted >= 0 else np.empty(0, np.int64)
    sizes = np.full(element.count, lengths.get(wanted, 0), np.int64)
    return corners, sizes, start + layout.itemsize * element.count


def _ragged_lists(
    path: Path, content: bytes, start: int, element: _Element, wanted: int
) -> tuple[IntArray, IntArray, int]:
    """Read rows one by one, where lists differ in length."""
    kinds = [
        (index == wanted, np.dtype(p.count_kind) if p.count_kind else None, np.dtype(p.kind))
        for index, p in enumerate(element.properties)
    ]
    corners: list[IntArray] = []
    sizes: list[int] = []
    at = start
    for row in range(element.count):
        try:
            for is_wanted, count_kind, kind in kinds:
                length = 1
                if count_kind is not None:
                    length = int(np.frombuffer(content, count_kind, 1, at)[0])
                    at += count_kind.itemsize
                entries = np.frombuffer(content, kind, length, at) if is_wanted else None
                at += kind.itemsize * length
                if entries is not None:
                    corners.append(entries.astype(np.int64))
                    sizes.append(length)
            if at > len(content) or at < start:
                raise ValueError
        except ValueError:
            raise TruncatedScanError(path, element.count, row, element.thing) from None
    joined = np.concatenate(corners) if corners else np.empty(0, np.int64)
    return joined, np.array(sizes, np.int64), at


def _read_text(
    path: Path, content: bytes, start: int, elements: list[_Element]
) -> tuple[FloatArray, IntArray, IntArray]:
    lines = content[start:].splitlines()
    first = content[:start].count(b"\n") + 1
    vertices, corners, sizes = np.empty((0, 3)), np.empty(0, np.int64), np.empty(0, np.int64)
    at = 0
    for element in elements:
        part = lines[at : at + element.count]
        if len(part) < element.count:
            raise TruncatedScanError(path, element.count, len(part), element.thing)
        if element.name == "vertex":
            columns = _xyz_columns(path, element)
            table = _table(path, first + at, part, len(element.properties))
            vertices = table[:, columns]
        elif element.name == "face":
            column = _index_column(path, element)
            corners, sizes = _text_lists(path, first + at, part, element, column)
        at += element.count
    return vertices, corners, sizes


def _table(path: Path, first: int, lines: list[bytes], columns: int) -> FloatArray:
    try:
        return numbers(b"\n".join(lines).split()).reshape(len(lines), columns)
    except ValueError:
        pass
    for number, line in enumerate(lines, first):
        try:
            numbers(line.split()).reshape(1, columns)
        except ValueError:
            raise bad_line(path, number, line) from None
    raise BadLineError(path, first, "numbers run over line ends")


def _text_lists(
    path: Path, first: int, lines: list[bytes], element: _Element, wanted: int
) -> tuple[IntArray, IntArray]:
    """Read faces: all at once where each is a lone list of three, else line by line."""
    if len(element.properties) == 1:
        words = b"\n".join(lines).split()
        if len(words) == 4 * len(lines) and set(words[::4]) == {b"3"}:
            rows = _table(path, first, lines, 4).astype(np.int64)
            return rows[:, 1:].ravel(), rows[:, 0].copy()
    corners: list[int] = []
    sizes: list[int] = []
    for number, line in enumerate(lines, first):
        words = line.split()
        at = 0
        try:
            for index, prop in enumerate(element.properties):
                length = 1
                if prop.count_kind:
                    length, at = _count(words[at].decode()), at + 1
                if index == wanted:
                    found = [int(word) for word in words[at : at + length]]
                    corners += found
                    sizes.append(length)
                    if len(found) < length:
                        raise ValueError
                at += length
            if at > len(words):
                raise ValueError
        except (IndexError, ValueError):
            raise bad_line(path, number, line) from None
    return np.array(corners, np.int64), np.array(sizes, np.int64)
