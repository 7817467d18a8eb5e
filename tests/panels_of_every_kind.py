"""A thousand panels, good and bad, always the same ones: what the blank is tried on.

Each is made from its number alone, then turned, moved, scaled (1e-3 to 1e3) and renumbered.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.spatial import Delaunay

from geometry.arrays import FloatArray, IntArray
from geometry.mesh import (
    NonManifoldError,
    TriMesh,
    check_manifold,
    edge_table,
    part_of_mesh,
    piece_of_face,
    rims,
)
from tests.bodies import (
    cone_sheet,
    cylinder_sheet,
    disk_rings,
    dome,
    folded_tray,
    grid_faces,
    hyperbolic_saddle,
    patch,
    torus_patch,
)

Random = np.random.Generator


@dataclass(frozen=True, eq=False)
class TrialPanel:
    """One of the thousand.

    Attributes
    ----------
    number : int
    kind : str
    mesh : TriMesh
    half_angle : float, degrees
        Of a spherical cap; not-a-number for other kinds.
    is_panel : bool
        Whether it is one disk (but for its holes), so that a blank is owed.
    """

    number: int
    kind: str
    mesh: TriMesh
    half_angle: float
    is_panel: bool


def trial_panel(number: int) -> TrialPanel:
    """Return the panel of a number from 0 to 999."""
    random = np.random.default_rng([31, number])
    kinds = list(KINDS)
    kind = kinds[number % len(kinds)]
    half_angle = np.nan
    if kind == "dome":
        half_angle = float(random.uniform(5.0, 100.0))
        made = dome(100.0, np.radians(half_angle), int(random.integers(6, 17)))
    elif kind == "deep dome":
        half_angle = float(random.uniform(100.0, 150.0))
        made = dome(100.0, np.radians(half_angle), int(random.integers(10, 19)))
    else:
        made = KINDS[kind](random)
    mesh = somewhere(made, random)
    return TrialPanel(number, kind, mesh, half_angle, kind != "no panel")


def somewhere(mesh: TriMesh, random: Random) -> TriMesh:
    """Return the mesh turned, scaled, moved by up to ten times its size, and renumbered."""
    turn = np.linalg.qr(random.normal(size=(3, 3)))[0]
    turn *= np.sign(np.linalg.det(turn))
    scale = 10.0 ** random.uniform(-3.0, 3.0)
    reach = float(np.ptp(mesh.vertices, axis=0).max())
    places = scale * (mesh.vertices @ turn + reach * random.uniform(-10.0, 10.0, 3))
    order = random.permutation(len(places))
    faces = np.argsort(order)[mesh.faces][random.permutation(len(mesh.faces))]
    first = random.integers(0, 3, len(faces))
    rolled = np.take_along_axis(faces, (first[:, None] + np.arange(3)) % 3, axis=1)
    return TriMesh(places[order], rolled)


def bumps(x: FloatArray, y: FloatArray, random: Random, height: float) -> FloatArray:
    """Return the heights of a few smooth hills and hollows over the unit square's surroundings."""
    z = np.zeros_like(x)
    for _ in range(int(random.integers(1, 5))):
        cx, cy, width = random.uniform(-1, 1), random.uniform(-1, 1), random.uniform(0.3, 0.9)
        z += height * random.uniform(-1, 1) * np.exp(-((x - cx) ** 2 + (y - cy) ** 2) / width**2)
    return z


def scattered(random: Random) -> TriMesh:
    """Return random points of a disk or a rectangle joined into triangles, on a bumpy surface."""
    count = int(random.integers(120, 800))
    if random.uniform() < 0.5:
        radius, angle = np.sqrt(random.uniform(size=count)), random.uniform(0, 2 * np.pi, count)
        x, y = radius * np.cos(angle), radius * np.sin(angle)
    else:
        x, y = random.uniform(-1, 1, count), random.uniform(-0.4, 0.4, count)
    faces = Delaunay(np.stack([x, y], axis=1)).simplices.astype(np.int64)
    flat = TriMesh(np.stack([x, y, 0.0 * x], axis=1), faces)
    side = np.cross(*np.diff(flat.vertices[faces], axis=1).transpose(1, 0, 2))[:, 2]
    faces = np.where(side[:, None] > 0.0, faces, faces[:, ::-1])[np.abs(side) > 1e-9]
    z = bumps(x, y, random, 0.5)
    return largest_piece(TriMesh(100.0 * np.stack([x, y, z], axis=1), faces))


def largest_piece(mesh: TriMesh) -> TriMesh:
    """Return the piece with most faces."""
    piece = piece_of_face(mesh.faces)
    return part_of_mesh(mesh, np.flatnonzero(piece == np.bincount(piece).argmax()))[0]


def saddle(random: Random) -> TriMesh:
    """Return a disk of constant hollow crown, or a horse's saddle over a rectangle."""
    if random.uniform() < 0.5:
        return hyperbolic_saddle(100.0, random.uniform(0.2, 1.6), int(random.integers(6, 16)))
    x, y = _grid(random, 1.0, random.uniform(0.3, 1.0))
    steep = random.uniform(0.2, 1.2)
    return patch(100 * x, 100 * y, 100 * steep * (x * x - random.uniform(0.3, 1.5) * y * y))


def _grid(random: Random, half_length: float, half_width: float) -> tuple[FloatArray, FloatArray]:
    rows, columns = int(random.integers(8, 36)), int(random.integers(6, 28))
    x, y = np.meshgrid(
        np.linspace(-half_length, half_length, rows),
        np.linspace(-half_width, half_width, columns),
        indexing="ij",
    )
    return x, y


def band(random: Random) -> TriMesh:
    """Return a part of a ring with a round section: inside, outside or top of it."""
    start, across = random.uniform(-np.pi, np.pi), random.uniform(0.2, 3.4)
    cells = (int(random.integers(10, 50)), int(random.integers(2, 24)))
    around = random.uniform(0.3, 5.8)
    return torus_patch(300.0, random.uniform(30.0, 150.0), around, (start, start + across), cells)


def spiral(random: Random) -> TriMesh:
    """Return a strip that winds up round an axis, up to 2.5 turns: its blank may lie on itself."""
    turns, width = random.uniform(0.5, 2.5), random.uniform(10.0, 60.0)
    across = int(random.integers(1, 6))
    t, phi = np.meshgrid(
        np.linspace(0.0, 1.0, across + 1),
        np.linspace(0.0, 2 * np.pi * turns, int(random.integers(60, 160))),
    )
    radius = 100.0 - width * t
    rise, slope = random.uniform(1.0, 25.0), random.uniform(-0.8, 0.8)
    return patch(radius * np.cos(phi), radius * np.sin(phi), rise * phi + slope * width * t)


def slivers(random: Random) -> TriMesh:
    """Return a bumpy panel with rows of triangles 1e4 times as long as they are high."""
    x, y = _grid(random, 1.0, 0.5)
    thin = random.uniform(size=y.shape[1] - 1) < 0.3
    thin[int(random.integers(len(thin)))] = True
    pitch = np.where(thin, 1e-4 * np.diff(x[:, 0])[0], np.diff(y[0]))
    y = np.broadcast_to(np.concatenate([[0.0], np.cumsum(pitch)]) - pitch.sum() / 2, x.shape)
    return patch(100 * x, 100 * y, 100 * bumps(x, y, random, 0.4))


def thin_rows(random: Random, aspect: float) -> TriMesh:
    """Return a bumpy panel of 14 x 12 points, two of its rows of triangles so thin."""
    x, y = np.meshgrid(np.linspace(-1, 1, 14), np.linspace(-0.5, 0.5, 12), indexing="ij")
    pitch = np.diff(y[0]).copy()
    pitch[[3, 7]] = np.diff(x[:, 0])[0] / aspect
    y = np.broadcast_to(np.concatenate([[0.0], np.cumsum(pitch)]) - pitch.sum() / 2, x.shape)
    return patch(100 * x, 100 * y, 100 * bumps(x, y, random, 0.4))


def split_slivers(random: Random) -> TriMesh:
    """Return random triangles, some split by a new vertex 1e-4 of their height from a side."""
    base = scattered(random)
    split = np.flatnonzero(random.uniform(size=len(base.faces)) < 0.15)
    a, b, c = base.faces[split].T
    along = random.uniform(0.2, 0.8, len(split))[:, None]
    share = np.concatenate([(1 - 1e-4) * along, (1 - 1e-4) * (1 - along), 1e-4 + 0 * along], axis=1)
    middle = np.einsum("kc,kcx->kx", share, base.vertices[base.faces[split]])
    new = len(base.vertices) + np.arange(len(split))
    thirds = [np.stack(corners, axis=1) for corners in ((a, b, new), (b, c, new), (c, a, new))]
    kept = np.delete(base.faces, split, axis=0)
    return TriMesh(np.concatenate([base.vertices, middle]), np.concatenate([kept, *thirds]))


def pierced(random: Random) -> TriMesh:
    """Return a bumpy panel with one to four holes in it."""
    while True:
        base = tank_like(random)
        middle = base.vertices[base.faces].mean(axis=1)
        keep = np.ones(len(middle), bool)
        for _ in range(int(random.integers(1, 5))):
            centre = base.vertices[random.integers(len(base.vertices))]
            keep &= np.linalg.norm(middle - centre, axis=1) > random.uniform(8.0, 25.0)
        mesh = largest_piece(part_of_mesh(base, np.flatnonzero(keep))[0])
        if _is_sound(mesh) and len(rims(mesh)) > 1:
            return mesh


def _is_sound(mesh: TriMesh) -> bool:
    try:
        check_manifold(mesh)
    except NonManifoldError:
        return False
    return True


def ragged(random: Random) -> TriMesh:
    """Return a panel whose rim has lost many single triangles: a torn scan's edge."""
    mesh = scattered(random) if random.uniform() < 0.5 else tank_like(random)
    for _ in range(int(random.integers(2, 6))):
        on_rim = np.zeros(len(mesh.vertices), bool)
        on_rim[np.concatenate(rims(mesh))] = True
        table = edge_table(mesh.faces)
        single = np.bincount(table.edge_of_side.ravel(), minlength=len(table.edges)) == 1
        outer = single[table.edge_of_side].reshape(-1, 3)
        inner = ~on_rim[mesh.faces]
        torn = (outer.sum(axis=1) == 1) & (inner.sum(axis=1) == 1)
        torn &= random.uniform(size=len(torn)) < 0.6
        opposite = np.where(inner, mesh.faces, 0).max(axis=1)
        _, first = np.unique(np.where(torn, opposite, -1), return_index=True)
        gone = first[torn[first]]
        mesh = part_of_mesh(mesh, np.setdiff1d(np.arange(len(torn)), gone))[0]
    return mesh


def noisy(random: Random) -> TriMesh:
    """Return a panel as a poor scanner sees it: noise up to a third of a triangle's side."""
    mesh = tank_like(random)
    edges = edge_table(mesh.faces).edges
    side = float(np.linalg.norm(np.diff(mesh.vertices[edges], axis=1), axis=2).mean())
    scale = side * random.uniform(0.01, 0.35)
    return TriMesh(mesh.vertices + random.normal(scale=scale, size=mesh.vertices.shape), mesh.faces)


def tank_like(random: Random) -> TriMesh:
    """Return a tank's top or side: two crowns, a crease with a rolled radius, a knee hollow."""
    x, y = _grid(random, 1.0, random.uniform(0.3, 0.8))
    z = -random.uniform(0.0, 0.4) * x**2 - random.uniform(0.1, 0.9) * y**2
    crease = y - random.uniform(-0.3, 0.3)
    z = z - random.uniform(0.0, 0.8) * np.sqrt(crease**2 + random.uniform(0.01, 0.2) ** 2)
    z = z + bumps(x, y, random, 0.3)
    return patch(200 * x, 200 * y, 200 * z)


def badly_joined(random: Random) -> TriMesh:
    """Return a panel whose triangles were joined badly: many edges turned at random."""
    mesh = tank_like(random)
    faces = mesh.faces.copy()
    table = edge_table(faces)
    known = set(map(tuple, table.edges.tolist()))
    sides = table.edge_of_side.ravel()
    faces_of_edge = np.argsort(sides, kind="stable") // 3
    starts = np.searchsorted(np.sort(sides), np.arange(len(table.edges) + 1))
    touched = np.zeros(len(faces), bool)
    for edge in random.permutation(len(table.edges))[: len(faces) // 3]:
        pair = faces_of_edge[starts[edge] : starts[edge + 1]]
        if len(pair) != 2 or touched[pair].any():
            continue
        a, b = (int(v) for v in table.edges[edge])
        one, two = faces[pair]
        c, d = int(one.sum()) - a - b, int(two.sum()) - a - b
        if (min(c, d), max(c, d)) in known:
            continue
        at = int(np.flatnonzero(one == a)[0])
        left = (a, b) if one[(at + 1) % 3] == b else (b, a)
        faces[pair] = [[left[0], d, c], [d, left[1], c]]
        known.add((min(c, d), max(c, d)))
        touched[pair] = True
    return TriMesh(mesh.vertices, faces)


def unrolls(random: Random) -> TriMesh:
    """Return a sheet that only bends: rolled, coned or folded."""
    which = random.integers(3)
    if which == 0:
        return cylinder_sheet(100.0, random.uniform(0.2, 6.2), random.uniform(20.0, 400.0))
    if which == 1:
        return cone_sheet(
            100.0, random.uniform(5.0, 95.0), 120.0, random.uniform(0.3, 6.2), (40, 9)
        )
    return folded_tray(100.0, random.uniform(5.0, 80.0), int(random.integers(2, 12)))


def drawn_tube(random: Random) -> TriMesh:
    """Return a tube closed at one end, up to twice as deep as wide: too deep for one piece."""
    fraction, phi, faces = disk_rings(int(random.integers(8, 16)))
    length = fraction * random.uniform(1.5, 5.0)
    round_end = np.minimum(length, np.pi / 2)
    wall = np.maximum(length - np.pi / 2, 0.0)
    reach = np.sin(round_end)
    height = np.cos(round_end) - wall
    return TriMesh(60.0 * np.stack([reach * np.cos(phi), reach * np.sin(phi), height], 1), faces)


def crumpled(random: Random) -> TriMesh:
    """Return hardly a surface: noise of half a triangle's side and more."""
    mesh = scattered(random)
    scale = random.uniform(2.0, 8.0)
    return TriMesh(mesh.vertices + random.normal(scale=scale, size=mesh.vertices.shape), mesh.faces)


def few(random: Random) -> TriMesh:
    """Return one to a dozen triangles in a row or a fan."""
    count = int(random.integers(1, 13))
    if random.uniform() < 0.5:
        angle = np.linspace(0.0, random.uniform(0.5, 5.5), count + 1)
        ring = np.stack([np.cos(angle), np.sin(angle), random.normal(size=count + 1)], axis=1)
        fan = [[0, k, k + 1] for k in range(1, count + 1)]
        return TriMesh(np.concatenate([[[0.0, 0.0, 0.5]], ring]), np.array(fan))
    x = np.repeat(np.arange(count + 1.0), 2)[: count + 2]
    y = np.tile([0.0, 1.0], count + 1)[: count + 2]
    row = [[k, k + 2, k + 1] if k % 2 == 0 else [k, k + 1, k + 2] for k in range(count)]
    return TriMesh(np.stack([x, y, random.normal(size=count + 2)], axis=1), np.array(row))


def larger(random: Random) -> TriMesh:
    """Return a panel with enough triangles for the search to begin on fewer of them."""
    cells = int(random.integers(40, 56))
    x, y = np.meshgrid(np.linspace(-1, 1, cells), np.linspace(-0.7, 0.7, cells), indexing="ij")
    z = bumps(x, y, random, 0.5) - random.uniform(0.0, 0.5) * (x * x + y * y)
    side = 200.0 / cells * random.uniform(0.0, 0.2)
    return patch(*(100 * c + random.normal(scale=side, size=x.shape) for c in (x, y, z)))


def no_panel(random: Random) -> TriMesh:
    """Return what cannot be laid flat in one piece, or is no surface at all."""
    makers = (_tube, _ball, _two_pieces, _three_leaves, _pinched, _flat_face, _handle)
    return makers[int(random.integers(len(makers)))](random)


def _closed_grid(mesh: TriMesh, rows: int, columns: int) -> tuple[FloatArray, IntArray]:
    """Return the grid's arrays with its last row joined onto its first."""
    fold = np.arange(rows * columns)
    fold[-columns:] = np.arange(columns)
    return mesh.vertices[:-columns], fold[mesh.faces]


def _tube(random: Random) -> TriMesh:
    rows = 2 * int(random.integers(4, 12)) + 1
    sheet = cylinder_sheet(50.0, 2.0 * np.pi, 80.0, rows - 1, 6)
    return TriMesh(*_closed_grid(sheet, rows, 7))


def _ball(random: Random) -> TriMesh:
    top = dome(50.0, np.pi / 2, int(random.integers(4, 8)))
    count = len(top.vertices)
    rim = rims(top)[0]
    fold = np.arange(count, 2 * count)
    fold[rim] = rim
    below = TriMesh(
        np.concatenate([top.vertices, top.vertices * [1.0, 1.0, -1.0]]),
        np.concatenate([top.faces, fold[top.faces[:, ::-1]]]),
    )
    return part_of_mesh(below, np.arange(len(below.faces)))[0]


def _two_pieces(random: Random) -> TriMesh:
    one, two = tank_like(random), dome(50.0, 0.5, 4)
    vertices = np.concatenate([one.vertices, two.vertices + [0.0, 0.0, 500.0]])
    return TriMesh(vertices, np.concatenate([one.faces, two.faces + len(one.vertices)]))


def _three_leaves(random: Random) -> TriMesh:
    mesh = tank_like(random)
    table = edge_table(mesh.faces)
    inner = table.edges[random.choice(np.flatnonzero(table.face_count == 2))]
    tip = mesh.vertices[inner].mean(axis=0) + [0.0, 0.0, 30.0]
    leaf = np.array([[inner[0], inner[1], len(mesh.vertices)]])
    return TriMesh(np.concatenate([mesh.vertices, [tip]]), np.concatenate([mesh.faces, leaf]))


def _pinched(random: Random) -> TriMesh:
    one, two = dome(50.0, 0.6, 4), dome(50.0, 0.6, 4)
    low = int(rims(one)[0][0])
    joined = two.faces + len(one.vertices)
    joined = np.where(joined == low + len(one.vertices), low, joined)
    away = two.vertices + 2.2 * (one.vertices[low] - [0.0, 0.0, one.vertices[low][2]])
    vertices = np.concatenate([one.vertices, away])
    both = TriMesh(vertices, np.concatenate([one.faces, joined]))
    return part_of_mesh(both, np.arange(len(both.faces)))[0]


def _flat_face(random: Random) -> TriMesh:
    mesh = tank_like(random)
    face = mesh.faces[int(random.integers(len(mesh.faces)))]
    vertices = mesh.vertices.copy()
    vertices[face[1]] = vertices[face[0]]
    return TriMesh(vertices, mesh.faces)


def _handle(random: Random) -> TriMesh:
    count = int(random.integers(6, 14))
    u, v = np.meshgrid(*(2.0 * np.pi * np.arange(count + 1) / count,) * 2, indexing="ij")
    reach = 3.0 + np.cos(v)
    points = 20.0 * np.stack([reach * np.cos(u), reach * np.sin(u), np.sin(v)], -1).reshape(-1, 3)
    place = np.arange((count + 1) ** 2).reshape(count + 1, count + 1)
    place[-1], place[:, -1] = place[0], place[:, 0]
    faces = place.ravel()[grid_faces(count + 1, count + 1)][1:]
    whole = TriMesh(points, faces)
    return part_of_mesh(whole, np.arange(len(faces)))[0]


KINDS: dict[str, Callable[[Random], TriMesh]] = {
    "dome": scattered,
    "deep dome": scattered,
    "saddle": saddle,
    "band": band,
    "spiral": spiral,
    "slivers": slivers,
    "split slivers": split_slivers,
    "holes": pierced,
    "ragged rim": ragged,
    "noise": noisy,
    "scattered": scattered,
    "tank": tank_like,
    "badly joined": badly_joined,
    "unrolls": unrolls,
    "drawn tube": drawn_tube,
    "crumpled": crumpled,
    "few": few,
    "larger": larger,
    "no panel": no_panel,
}
"""What can be asked for; the domes are made apart, for their half-angle."""
