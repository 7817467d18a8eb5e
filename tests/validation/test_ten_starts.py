"""One blank from ten starts: the search's end does not hang on where it began.

Ten panels whose blanks have no unsound face, sizes of 60 to 400 mm; the ten blanks of each,
turned and moved onto the first, differ by less than 0.01 mm anywhere.
"""

from itertools import islice

import numpy as np
import pytest

from geometry.arrays import FloatArray
from geometry.blank import Work
from geometry.blank.conformal import conformal_layout
from geometry.blank.convex_rim import ConvexRim
from geometry.blank.elements import Elements
from geometry.blank.flatten import KINDER_WAYS
from geometry.blank.minimise import Minimum, minimise
from geometry.blank.ordering import nested_dissection
from geometry.blank.soundness import unsound_faces
from geometry.blank.start import at_panel_area, fold_free_start, is_unfolded
from geometry.blank.stiffness import StiffnessSolver
from geometry.blank.work import density
from geometry.mesh import TriMesh, edge_table, rims
from tests.bodies import (
    cone_sheet,
    dome,
    folded_tray,
    graph_patch,
    hyperbolic_saddle,
    tank_top,
    torus_patch,
)
from tests.panels_of_every_kind import trial_panel

LIMIT_MM = 0.01


def bumpy(seed: int) -> TriMesh:
    """Return a panel of 240 x 160 mm with random hills."""
    random = np.random.default_rng(seed)
    x, y = np.meshgrid(np.linspace(-1, 1, 25), np.linspace(-1, 1, 17), indexing="ij")
    heights = np.zeros_like(x)
    for _ in range(4):
        cx, cy = random.uniform(-0.8, 0.8, 2)
        heights += random.uniform(-25, 25) * np.exp(-((x - cx) ** 2 + (y - cy) ** 2) / 0.25)
    return graph_patch(heights, 120.0, 80.0)


def shaken(mesh: TriMesh, scale_mm: float) -> TriMesh:
    """Return the mesh with noise."""
    noise = np.random.default_rng(6).normal(scale=scale_mm, size=mesh.vertices.shape)
    return TriMesh(mesh.vertices + noise, mesh.faces)


PANELS = {
    "shallow dome": dome(100.0, 0.5, 10),
    "hemisphere": dome(100.0, np.pi / 2, 12),
    "dome of 120 degrees": dome(100.0, np.radians(120.0), 14),
    "saddle": hyperbolic_saddle(100.0, 0.9, 10),
    "tank top": tank_top(14),
    "noisy tank top": shaken(tank_top(14), 0.3),
    "half a ring": torus_patch(150.0, 60.0, 3.0, (-1.5, 1.5), (30, 14)),
    "cone": cone_sheet(100.0, 60.0, 120.0, 1.5 * np.pi, (30, 8)),
    "tray": folded_tray(100.0, 30.0, 8),
    "hills": bumpy(3),
}


def ten_starts(mesh: TriMesh) -> list[FloatArray]:
    """Return ten layouts without folds, far from each other."""
    rim = rims(mesh)[0]
    order = nested_dissection(mesh.vertices, edge_table(mesh.faces).edges)
    convex = ConvexRim(mesh, rim, order)
    k = len(rim)
    held = [(0, k // 2), (0, 1 + k // 5), (k // 3, 1 + k // 3 + k // 4)]
    layouts = [conformal_layout(mesh, rim, order, held=(int(rim[i]), int(rim[j]))) for i, j in held]
    layouts += [convex.even(), *islice(convex.evened(), 2)]
    starts = [at_panel_area(layout, mesh) for layout in layouts]
    turn = np.array([[np.cos(2.0), -np.sin(2.0)], [np.sin(2.0), np.cos(2.0)]])
    starts.append(starts[0] @ turn + [1000.0, -300.0])
    starts.append(1.3 * starts[1])
    return starts + [jolted(fold_free_start(mesh, rim)[0], mesh, seed) for seed in (1, 2)]


def jolted(flat: FloatArray, mesh: TriMesh, seed: int) -> FloatArray:
    """Return the layout with every vertex moved at random, as far as nothing folds."""
    push = np.random.default_rng(seed).normal(size=flat.shape)
    length = float(np.abs(np.ptp(flat, axis=0)).max()) / 20.0
    while not is_unfolded(flat + length * push, mesh.faces, rims(mesh)):
        length *= 0.7
    return flat + length * push


def laid_onto(flat: FloatArray, other: FloatArray) -> FloatArray:
    """Return a layout turned and moved onto another, best in least squares (never mirrored)."""
    z, w = (each[:, 0] + 1j * each[:, 1] for each in (flat, other))
    z, middle = z - z.mean(), w.mean()
    turn = np.vdot(z, w - middle)
    placed = z * turn / abs(turn) + middle
    return np.stack([placed.real, placed.imag], axis=1)


def end(elements: Elements, solver: StiffnessSolver, start: FloatArray) -> tuple[Minimum, bool]:
    """Return where a start leads to, and whether any face is unsound there.

    Down the asked work; where that stalls, by way of the kinder ones as the program goes.
    """
    best = minimise(elements, Work(), start, solver, max_iterations=60)
    for way in KINDER_WAYS if not best.converged else ():
        flat = start
        for work in (*way, Work()):
            best = minimise(elements, work, flat, solver)
            flat = best.flat_vertices
        if best.converged:
            break
    stretches = elements.strained(best.flat_vertices).s
    return best, bool(unsound_faces(stretches, density(Work(), stretches)).any())


def ends(mesh: TriMesh, starts: list[FloatArray]) -> list[FloatArray]:
    """Return the sound, converged layouts that the starts lead to."""
    elements = Elements.of(mesh)
    solver = StiffnessSolver(elements, starts[0])
    found = [end(elements, solver, start) for start in starts]
    return [best.flat_vertices for best, unsound in found if best.converged and not unsound]


def apart_mm(blanks: list[FloatArray]) -> float:
    """Return how far any vertex of any blank lies from its place on the first."""
    return max(
        float(np.linalg.norm(laid_onto(flat, blanks[0]) - blanks[0], axis=1).max())
        for flat in blanks
    )


@pytest.mark.parametrize("mesh", PANELS.values(), ids=PANELS.keys())
def test_ten_starts_end_in_one_blank(mesh: TriMesh) -> None:
    starts = ten_starts(mesh)
    assert all(is_unfolded(start, mesh.faces, rims(mesh)) for start in starts)
    blanks = ends(mesh, starts)
    assert len(blanks) == 10
    assert apart_mm(blanks) < LIMIT_MM


@pytest.mark.parametrize(
    "half_angle",
    [
        pytest.param(134.0, marks=pytest.mark.slow),
        135.0,
        pytest.param(137.0, marks=pytest.mark.slow),
        pytest.param(138.0, marks=pytest.mark.slow),
        pytest.param(140.0, marks=pytest.mark.slow),
        pytest.param(145.0, marks=pytest.mark.slow),
        150.0,
    ],
)
def test_a_dome_past_the_limit_is_called_too_deep_from_every_start(half_angle: float) -> None:
    """Ten starts: the same settled blank, or unsound faces; never forces left on sound ones.

    The continuous dome's limit is about 138 degrees; that of one of 12 rings of triangles, whose
    rim has twelve odd corners, 134.4.
    """
    mesh = dome(100.0, np.radians(half_angle), 12)
    elements, starts = Elements.of(mesh), ten_starts(mesh)
    solver = StiffnessSolver(elements, starts[0])
    found = [end(elements, solver, start) for start in starts]
    if half_angle < 134.4:
        assert all(best.converged and not unsound for best, unsound in found)
        assert apart_mm([best.flat_vertices for best, _ in found]) < LIMIT_MM
    else:
        assert all(unsound for _, unsound in found)


@pytest.mark.slow
def test_sound_blanks_of_the_thousand_do_not_hang_on_the_start() -> None:
    """Every eleventh of the thousand, 200 mm across: all sound ends of its ten starts agree.

    Where a start cannot be laid without folds (rough noise) the panel is left out; a start that
    leads to no sound end says nothing about the others.
    """
    tried = agreeing = 0
    worst = 0.0
    for number in range(0, 1000, 11):
        panel = trial_panel(number)
        if not panel.is_panel or panel.kind in ("crumpled", "holes", "few"):
            continue
        reach = float(np.ptp(panel.mesh.vertices, axis=0).max())
        mesh = TriMesh(panel.mesh.vertices * (200.0 / reach), panel.mesh.faces)
        blanks = ends(mesh, [s for s in ten_starts(mesh) if is_unfolded(s, mesh.faces, rims(mesh))])
        tried += 1
        if len(blanks) > 1:
            agreeing += 1
            worst = max(worst, apart_mm(blanks))
    print(f"{agreeing} of {tried} panels, worst {worst:.1e} mm")
    assert agreeing > 0.85 * tried
    assert worst < LIMIT_MM
