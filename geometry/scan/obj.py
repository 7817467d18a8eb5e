"""OBJ files: `v` and `f` lines; materials, textures, normals and groups are skipped.

Read here and not by a library because indices may count back from the end, and an index of nought
must be refused and not taken for the first vertex.
"""

import re
from pathlib import Path

import numpy as np

from geometry.arrays import FloatArray, IntArray
from geometry.progress import Report
from geometry.scan.raw_scan import RawScan, polygons_split, raw_scan
from geometry.scan.text_lines import bad_line, blocks_of_lines, first_bad_line, numbers
from geometry.scan.unreadable import WrongContentError

_VERTEX = re.compile(rb"^[ \t]*v[ \t]+(\S+)[ \t]+(\S+)[ \t]+(\S+)", re.M)
_VERTEX_WORD = re.compile(rb"^[ \t]*v(?=[ \t])", re.M)
_FACE = re.compile(rb"^[ \t]*f[ \t]+(.*)$", re.M)
_AFTER_INDEX = re.compile(rb"(?<=\d)/\S*")
_CONTINUED = re.compile(rb"\\[ \t]*\n")


def read_obj(path: Path, report: Report) -> RawScan:
    """Return what an OBJ file holds; faces of more than three corners are split.

    Raises
    ------
    BadLineError
        A line that cannot be understood, or a face that names vertex nought.
    WrongContentError
        No vertex line in it.
    """
    parts: list[FloatArray] = []
    corners: list[IntArray] = []
    sizes: list[IntArray] = []
    vertex_count = 0
    for first, block in blocks_of_lines(path, report):
        joined = _CONTINUED.sub(b" ", block)
        found = _VERTEX.findall(joined)
        if len(found) != len(_VERTEX_WORD.findall(joined)):
            raise first_bad_line(path, first, block, _VERTEX, b"v ")
        try:
            parts.append(numbers([word for vertex in found for word in vertex]).reshape(-1, 3))
        except ValueError:
            raise first_bad_line(path, first, block, _VERTEX, b"v ") from None
        if b"f" in joined:
            named, counts = _faces(path, first, block, joined, vertex_count)
            corners.append(named)
            sizes.append(counts)
        vertex_count += len(found)
    if vertex_count == 0:
        raise WrongContentError(path, "OBJ", "no vertices are in it")
    vertices = np.concatenate(parts)
    faces, remarks = polygons_split(
        vertices,
        np.concatenate([*corners, np.empty(0, np.int64)]),
        np.concatenate([*sizes, np.empty(0, np.int64)]),
    )
    return raw_scan(path, vertices, faces, "OBJ", remarks)


def _faces(
    path: Path, first: int, block: bytes, joined: bytes, vertices_before: int
) -> tuple[IntArray, IntArray]:
    """Return the corners, from 0, of the faces of one block, and how many corners each has."""
    texts = _FACE.findall(joined)
    plain = _AFTER_INDEX.sub(b"", b"\n".join(texts)) if b"/" in joined else b"\n".join(texts)
    words = plain.split()
    sizes = np.array([len(text.split()) for text in plain.split(b"\n")] if texts else [], np.int64)
    try:
        named = np.array(words, dtype=np.bytes_).astype(np.int64) if words else sizes[:0]
    except ValueError:
        named = np.zeros(1, np.int64)
    if (named == 0).any():
        raise _bad_face(path, first, block)
    if (named < 0).any():
        seen = _vertices_before_faces(joined) + vertices_before
        named = np.where(named < 0, np.repeat(seen, sizes) + named, named - 1)
        return np.where(named < 0, np.iinfo(np.int64).max // 2, named), sizes
    return named - 1, sizes


def _vertices_before_faces(joined: bytes) -> IntArray:
    """Return, for each face line of a block, how many vertex lines stand before it there."""
    vertex_at = np.array([match.start() for match in _VERTEX_WORD.finditer(joined)], np.int64)
    face_at = np.array([match.start() for match in _FACE.finditer(joined)], np.int64)
    return np.searchsorted(vertex_at, face_at).astype(np.int64)


def _bad_face(path: Path, first: int, block: bytes) -> Exception:
    for number, text in enumerate(block.split(b"\n"), first):
        for word in text.split()[1:] if text.split()[:1] == [b"f"] else []:
            if not re.fullmatch(rb"-?0*[1-9]\d*(/\S*)?|\\", word):
                return bad_line(path, number, text)
    return bad_line(path, first, block)
