"""How long a blank takes, beside libigl's scalable locally injective solver on the same panel.

Run it with `python -m tests.benchmarks.flatten [triangles [alone]]`. Rows per panel: from panel to
converged blank (relative residual 1e-8, everything counted); the same panel asked again for
another bias and another weight; and for the same Hencky work with formed weight the time libigl
takes to 1e-6 above the least work, from a conformal start and, where that does not fold, from the
panel dropped onto its plane. Last, a panel gone on from the one before its seam moved. `alone`
leaves libigl out. Ratios hold better than seconds; docs/performance.md keeps the last measured.
"""

import resource
import sys
import time
from collections.abc import Iterator
from typing import NamedTuple

import igl
import numpy as np

from geometry.arrays import FloatArray
from geometry.blank import Flattener, Work, flatten
from geometry.blank.elements import Elements
from geometry.blank.orientation import folded_or_flat
from geometry.blank.start import at_panel_area, fold_free_start
from geometry.mesh import TriMesh, rims
from geometry.panels import Seam, cut_along
from geometry.panels import panels as panels_of
from tests.bodies import dome, tank_top, torus_patch
from tests.geometry.panels.surfaces import surface_of

HENCKY = Work("hencky", "formed")


class Shares(NamedTuple):
    """Part of a cold call's time, for plain work and for the same work."""

    of_plain: float
    of_same: float


def panels(triangles: int) -> Iterator[tuple[str, TriMesh]]:
    """Yield the three panels at about so many triangles each."""
    yield "dome 45 deg", dome(100.0, np.radians(45), round(np.sqrt(triangles / 6)))
    yield "tank-like top", tank_top(round(np.sqrt(triangles * 7 / 40)))
    side = round(np.sqrt(triangles / 2))
    band = torus_patch(300.0, 100.0, 1.2, (-np.radians(100), np.radians(100)), (side, side))
    yield "torus band 200 deg", band


def seconds_ours(mesh: TriMesh, work: Work) -> tuple[float, float, int, float]:
    """Return seconds, residual, iterations and energy of one flattening, the best of three."""
    best = np.inf
    for _ in range(3):
        begun = time.perf_counter()
        flat = flatten(mesh, work)
        best = min(best, time.perf_counter() - begun)
    return best, flat.residual, flat.iterations, flat.energy


def shares_asked_again(mesh: TriMesh) -> tuple[Shares, Shares]:
    """Return the parts of a cold call that another bias and another weight take, best of three."""
    works = (Work(), Work(bias=0.25), Work(bias=0.25, weight="formed"))
    cold, again = [np.inf] * 3, [np.inf] * 3
    for _ in range(3):
        for index, work in enumerate(works):
            begun = time.perf_counter()
            Flattener(mesh).flatten(work)
            cold[index] = min(cold[index], time.perf_counter() - begun)
        flattener = Flattener(mesh)
        for index, work in enumerate(works):
            begun = time.perf_counter()
            flattener.flatten(work)
            again[index] = min(again[index], time.perf_counter() - begun)
    bias, weight = (Shares(again[i] / cold[0], again[i] / cold[i]) for i in (1, 2))
    return bias, weight


def share_after_a_seam_moved(triangles: int) -> tuple[int, float]:
    """Return how many triangles a panel has, and the part of a cold call a moved seam takes.

    The panel is a tank-like top beside a seam, gone on from the one whose seam ran 3 mm farther
    out; best of three.
    """
    whole = tank_top(round(np.sqrt(1.35 * triangles * 7 / 40)))
    before, after = (_cut_along_a_line(whole, y) for y in (-33.0, -30.0))
    near = Flattener(before)
    near.flatten()
    cold, again = np.inf, np.inf
    for _ in range(3):
        begun = time.perf_counter()
        Flattener(after).flatten()
        middle = time.perf_counter()
        Flattener(after, near=near).flatten()
        cold = min(cold, middle - begun)
        again = min(again, time.perf_counter() - middle)
    return len(after.faces), again / cold


def _cut_along_a_line(top: TriMesh, y: float) -> TriMesh:
    """Return the larger part of the tank-like top beside a wavy seam about a line along it."""
    x = np.linspace(-199.8, 199.8, 41)
    line = y + 2.0 * np.sin(x / 30.0)
    points = np.stack([x, line, -(x**2 / 1800.0 + line**2 / 240.0)], axis=1)
    cut = cut_along(surface_of(top), [Seam("edge", points, closed=False)])
    return max((panel.mesh for panel in panels_of(cut, [])), key=lambda mesh: len(mesh.faces))


def seconds_libigl(
    mesh: TriMesh, start: FloatArray, goal: float, most: int = 200
) -> tuple[float, int]:
    """Return seconds and iterations until libigl's layout is as good as the goal."""
    elements = Elements.of(mesh)
    begun = time.perf_counter()
    data = igl.slim_precompute(
        np.asfortranarray(mesh.vertices),
        np.asfortranarray(mesh.faces.astype(np.int32)),
        np.asfortranarray(start),
        igl.MappingEnergyType.LOG_ARAP,
        np.empty(0, np.int32),
        np.asfortranarray(np.empty((0, 2))),
        0.0,
    )
    spent = time.perf_counter() - begun
    for iteration in range(1, most + 1):
        begun = time.perf_counter()
        flat = igl.slim_solve(data, 1)
        spent += time.perf_counter() - begun
        layout = np.ascontiguousarray(flat)[:, :2]
        if elements.energy(HENCKY, elements.strained(layout).s) <= goal:
            return spent, iteration
    return np.inf, most


def starts(mesh: TriMesh) -> Iterator[tuple[str, float, FloatArray]]:
    """Yield starts for libigl: name, seconds they took, layout."""
    begun = time.perf_counter()
    conformal, _ = fold_free_start(mesh, rims(mesh)[0])
    yield "from conformal", time.perf_counter() - begun, conformal
    dropped = at_panel_area(mesh.vertices[:, :2], mesh)
    if not folded_or_flat(dropped, mesh.faces).any():
        yield "from dropped", 0.0, dropped


def main() -> None:
    """Print the table."""
    triangles = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    print(f"{'panel':20} {'triangles':>9} {'work':24} {'s':>6} {'steps':>5} {'residual':>9}")
    for name, mesh in panels(triangles):
        for work in (Work(), HENCKY):
            spent, residual, steps, energy = seconds_ours(mesh, work)
            label = f"{work.measure} {work.weight}"
            print(
                f"{name:20} {len(mesh.faces):9} {label:24} {spent:6.2f} {steps:5} {residual:9.1e}"
            )
        bias, weight = shares_asked_again(mesh)
        print(
            f"{'':30} asked again: another bias {bias.of_plain:.2f} of it, {bias.of_same:.2f} of "
            f"that work's own; another weight {weight.of_plain:.2f}, {weight.of_same:.2f}"
        )
        for start, before, layout in () if "alone" in sys.argv else starts(mesh):
            theirs, rounds = seconds_libigl(mesh, layout, energy * (1 + 1e-6))
            theirs += before
            label = f"libigl, {start}"
            print(f"{'':30} {label:24} {theirs:6.2f} {rounds:5}  ratio {theirs / spent:.1f}")
    faces, share = share_after_a_seam_moved(triangles)
    print(f"{'a seam moved 3 mm':20} {faces:9} goes on in {share:.2f} of a cold call")
    print(f"most memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
