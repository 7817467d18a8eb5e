"""A scan of ten million triangles: within a shop computer's memory, telling how far it is."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from tests.geometry.scan.scans import STL_LAYOUT, grid_faces

_OPEN = """
import json, sys
from geometry.scan import read_scan, report_on, sound_mesh
seen = []
tell = lambda done, stage: seen.append(done)
sound = sound_mesh(read_scan(sys.argv[1], report=tell), report=tell)
said = report_on(sound, report=tell)
with open("/proc/self/status") as status:
    peak = next(int(line.split()[1]) for line in status if line.startswith("VmHWM"))
print(json.dumps({"peak": peak / 1e6, "noise": said.noise, "triangles": said.triangles,
                  "rims": said.hole_count, "pieces": said.piece_count, "told": len(seen)}))
"""


def _written(path: Path, rows: int, columns: int) -> int:
    """Write a rough egg, open at both ends, as a binary STL; return its triangles."""
    random = np.random.default_rng(0)
    across, along = np.meshgrid(
        np.linspace(0, 2 * np.pi, columns, endpoint=False), np.linspace(0.05, 3.09, rows)
    )
    points = np.stack(
        [
            300 * np.cos(along),
            130 * np.sin(along) * np.cos(across),
            110 * np.sin(along) * np.sin(across),
        ],
        axis=2,
    ).reshape(-1, 3)
    points = (points + random.normal(0, 0.05, points.shape)).astype(np.float32)
    faces = grid_faces(rows, columns, closed=True)[:, ::-1]
    with path.open("wb") as file:
        file.write(b" " * 80 + len(faces).to_bytes(4, "little"))
        for start in range(0, len(faces), 500_000):
            facets = np.zeros(len(faces[start : start + 500_000]), STL_LAYOUT)
            facets["corners"] = points[faces[start : start + 500_000]]
            facets.tofile(file)
    return len(faces)


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="reads the peak memory from Linux")
def test_ten_million_triangles_open_in_under_six_gigabytes(tmp_path: Path) -> None:
    import json

    triangles = _written(tmp_path / "tank.stl", 2237, 2237)
    assert triangles > 10_000_000
    done = subprocess.run(
        [sys.executable, "-c", _OPEN, str(tmp_path / "tank.stl")],
        capture_output=True,
        text=True,
        check=True,
        cwd=Path(__file__).parents[3],
    )
    said = json.loads(done.stdout)
    assert said["peak"] < 6.0
    assert (said["triangles"], said["pieces"], said["rims"]) == (triangles, 1, 2)
    assert said["noise"] == pytest.approx(0.05, rel=0.1)
    assert said["told"] > 30
