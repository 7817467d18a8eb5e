"""How soon a drawn line answers on a scan of about two million triangles, and exactly.

Run it with `python -m tests.benchmarks.drawn_seam [spacing in mm]`. It prints the time and memory
the ground takes to set up; a new leg by its length, for the eye and exact; and, on a seam of nine
points, a drag of one point. Seconds are the processor's own: what else the machine does is left
out. docs/performance.md keeps the last measured.
"""

import resource
import sys
import time

import numpy as np

from geometry.arrays import FloatArray
from geometry.seams import SeamGround
from tests.tanks import tank

NEW_LEGS = 8
DRAGS = 12


def told(what: str, seconds: list[float]) -> None:
    """Print the median and the worst of some times."""
    print(f"{what:34} median {np.median(seconds):6.3f} s, worst {max(seconds):6.3f} s")


def timed(ground: SeamGround, points: FloatArray) -> tuple[float, float]:
    """Return the seconds a line takes for the eye, and then exactly."""
    begun = time.process_time()
    ground.quick(points)
    between = time.process_time()
    ground.exact(points)
    return between - begun, time.process_time() - between


def main() -> None:
    """Print the rows."""
    spacing = float(sys.argv[1]) if len(sys.argv) > 1 else 0.67
    mesh = tank(spacing, noise_mm=0.05).mesh
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    begun = time.process_time()
    ground = SeamGround(mesh)
    taken = time.process_time() - begun
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    print(f"{len(mesh.faces)} triangles, set up in {taken:.1f} s; {before:.2f}, then {most:.2f} GB")
    rng = np.random.default_rng(1)
    for most_mm in (100.0, 200.0, 600.0):
        quick: list[float] = []
        exact: list[float] = []
        while len(quick) < NEW_LEGS:
            ends = mesh.vertices[rng.integers(len(mesh.vertices), size=2)]
            if most_mm / 2 < np.linalg.norm(ends[1] - ends[0]) <= most_mm:
                for kept, seconds in zip((quick, exact), timed(ground, ends), strict=True):
                    kept.append(seconds)
        told(f"leg of {most_mm / 2:.0f} to {most_mm:.0f} mm, for the eye", quick)
        told("    exact", exact)
    line = ground.exact(mesh.vertices[[10, len(mesh.vertices) // 2]]).points
    seam = line[np.linspace(0, len(line) - 1, 9).astype(int)]
    timed(ground, seam)
    drags = []
    for _ in range(DRAGS):
        moved = seam.copy()
        moved[4] = ground.nearest(moved[4] + rng.normal(0, 4, 3)).points[0]
        drags.append(timed(ground, moved))
    told("one of nine points dragged, for the eye", [each[0] for each in drags])
    told("    exact", [each[1] for each in drags])


if __name__ == "__main__":
    main()
