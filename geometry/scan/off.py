"""OFF files, through a general mesh library, once their counts have been found credible."""

from io import BytesIO
from pathlib import Path

import numpy as np
from trimesh.exchange.off import load_off

from geometry.arrays import IntArray
from geometry.progress import Report
from geometry.scan.raw_scan import RawScan, raw_scan
from geometry.scan.text_lines import bad_line, blocks_of_lines
from geometry.scan.unreadable import (
    BadIndexError,
    PointsOnlyError,
    TruncatedScanError,
    WrongContentError,
)


def read_off(path: Path, report: Report) -> RawScan:
    """Return what a text OFF file holds; faces of more than three corners are split.

    Raises
    ------
    WrongContentError, BadLineError
        Not an OFF file, or a line that cannot be understood.
    TruncatedScanError, BadIndexError, PointsOnlyError
        Fewer lines than its counts ask for; faces that name missing vertices; no faces.
    """
    content = b"".join(block for _, block in blocks_of_lines(path, report))
    lines = [
        (number, text)
        for number, line in enumerate(content.split(b"\n"), 1)
        if (text := line.split(b"#")[0].strip())
    ]
    if not lines or not lines[0][1].upper().startswith((b"OFF", b"COFF")):
        raise WrongContentError(path, "OFF", "it does not begin as one")
    vertex_count, face_count, body = _counts(path, lines)
    if len(body) < vertex_count:
        raise TruncatedScanError(path, vertex_count, len(body), "vertices")
    if len(body) < vertex_count + face_count:
        raise TruncatedScanError(path, face_count, len(body) - vertex_count, "faces")
    if face_count == 0:
        raise PointsOnlyError(path, vertex_count)
    sizes = _checked_lines(path, body[: vertex_count + face_count], vertex_count)
    clean = b"\n".join(b" ".join(text.split()) for _, text in body[: vertex_count + face_count])
    loaded = load_off(BytesIO(b"OFF\n%d %d 0\n%s\n" % (vertex_count, face_count, clean)))
    faces = np.array(loaded["faces"], np.int64).reshape(-1, 3)
    split = int((sizes > 3).sum())
    remarks = (f"Faces of more than three corners split into triangles: {split}.",) if split else ()
    return raw_scan(path, np.array(loaded["vertices"], np.float64), faces, "OFF", remarks)


def _counts(path: Path, lines: list[tuple[int, bytes]]) -> tuple[int, int, list[tuple[int, bytes]]]:
    """Return how many vertices and faces are declared, and the lines after."""
    number, text = lines[0]
    words = text.split()[1:]
    body = lines[1:]
    if not words and body:
        number, text = body[0]
        words, body = text.split(), body[1:]
    try:
        vertex_count, face_count = int(words[0]), int(words[1])
    except (IndexError, ValueError):
        raise bad_line(path, number, text) from None
    if min(vertex_count, face_count) < 0:
        raise bad_line(path, number, text)
    return vertex_count, face_count, body


def _checked_lines(path: Path, body: list[tuple[int, bytes]], vertex_count: int) -> IntArray:
    """Return how many corners each face has, every line having been looked at."""
    sizes = []
    outside = 0
    for index, (number, text) in enumerate(body):
        try:
            words = text.split()
            if not b" ".join(words).decode("ascii").isprintable():
                raise ValueError
            if index < vertex_count:
                _ = [float(words[0]), float(words[1]), float(words[2])]
                continue
            corners = [int(word) for word in words[1 : int(words[0]) + 1]]
            if len(corners) != int(words[0]) or len(corners) < 3:
                raise ValueError
        except (IndexError, ValueError):
            raise bad_line(path, number, text) from None
        sizes.append(len(corners))
        outside += min(corners) < 0 or max(corners) >= vertex_count
    if outside:
        raise BadIndexError(path, outside, vertex_count)
    return np.array(sizes, np.int64)
