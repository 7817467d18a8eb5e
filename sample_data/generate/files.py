"""The sample's files, written the same to the byte every time."""

import json
import re
from pathlib import Path

import numpy as np

from sample_data.generate.pose import UNIT, direction_to_file, to_file
from sample_data.generate.sampling import IntArray
from sample_data.generate.scanner import scan_tank
from sample_data.generate.seams import drawn_seams, panel_places
from sample_data.generate.shape import FloatArray
from sample_data.truth import tape_checks

SCAN, SEAMS, TAPES = "brackwater_scan.ply", "brackwater_seams.json", "brackwater_tapes.json"


def ply_bytes(vertices: FloatArray, faces: IntArray) -> bytes:
    """Return a little-endian binary PLY: float32 places, int32 corners.

    Places are rounded to 1e-5 of the unit first, so the last bit of a sine on another machine
    does not show.
    """
    head = (
        "ply\nformat binary_little_endian 1.0\n"
        f"element vertex {len(vertices)}\nproperty float x\nproperty float y\nproperty float z\n"
        f"element face {len(faces)}\nproperty list uchar int vertex_indices\nend_header\n"
    )
    rows = np.empty(len(faces), dtype=[("count", "u1"), ("corners", "<i4", 3)])
    rows["count"], rows["corners"] = 3, faces
    return head.encode("ascii") + np.round(vertices, 5).astype("<f4").tobytes() + rows.tobytes()


def _numbers(values: FloatArray) -> list[float]:
    return [float(f"{value:.4f}") for value in values]


def seams_text() -> str:
    """Return the seams file: seams, panels, and which way front and top are."""
    seams = [
        {"name": s.name, "closed": False, "points": [_numbers(p) for p in to_file(s.points)]}
        for s in drawn_seams()
    ]
    panels = [
        {"name": name, "inside": _numbers(to_file(place))} for name, place in panel_places().items()
    ]
    front = _numbers(direction_to_file(np.array([1.0, 0.0, 0.0])))
    top = _numbers(direction_to_file(np.array([0.0, 0.0, 1.0])))
    job = {"unit": UNIT, "front": front, "top": top, "seams": seams, "panels": panels}
    return _text(job)


def tapes_text() -> str:
    """Return the taped lengths: names, both ends in the file's coordinates, length in mm."""
    tapes = [
        {
            "name": tape.name,
            "from": _numbers(to_file(tape.start)),
            "to": _numbers(to_file(tape.end)),
            "length_mm": round(tape.length_mm, 1),
        }
        for tape in tape_checks()
    ]
    return _text({"unit": UNIT, "tapes": tapes})


def _text(content: object) -> str:
    """Return JSON with every place on a line of its own."""
    number = r"(-?[\d.]+)"
    triple = rf"\[\s+{number},\s+{number},\s+{number}\s+\]"
    return re.sub(triple, r"[\1, \2, \3]", json.dumps(content, indent=1)) + "\n"


def write_sample(folder: Path) -> tuple[Path, ...]:
    """Write scan, seams and tapes into a folder; return their paths."""
    scan = scan_tank()
    contents = {
        SCAN: ply_bytes(to_file(scan.vertices), scan.faces),
        SEAMS: seams_text().encode("utf-8"),
        TAPES: tapes_text().encode("utf-8"),
    }
    for name, content in contents.items():
        (folder / name).write_bytes(content)
    return tuple(folder / name for name in contents)
