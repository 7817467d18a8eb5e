"""A small invented tank in three panels, laid out for real, for tests of patterns and paper."""

from dataclasses import dataclass, replace
from datetime import date
from functools import cache

import numpy as np

from app.exports import JobFacts, PanelSheet, ProofTape, TankModel
from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.blank import FlatPanel, flatten, laid_along
from geometry.mesh import TriMesh
from geometry.pattern import dress, edge_letters

SEMI_AXES = np.array([240.0, 130.0, 105.0])
FRONT, UP = np.array([1.0, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
PANEL_ANGLES = {
    "left side": (28.0, 118.0),
    "top strip": (-28.0, 28.0),
    "right side": (-118.0, -28.0),
}
ALONG_DEG = (-58.0, 66.0)


@dataclass(frozen=True, eq=False)
class HalfOfSeam:
    seam: str
    vertices: IntArray
    other: str


@dataclass(frozen=True, eq=False)
class RoundOpening:
    outline: FloatArray
    centre: FloatArray
    diameter_mm: float
    is_round: bool


@dataclass(frozen=True, eq=False)
class CutPanel:
    name: str
    mesh: TriMesh
    filled: BoolArray
    openings: tuple[RoundOpening, ...]
    seam_halves: tuple[HalfOfSeam, ...]
    copied: BoolArray
    lines: tuple[FloatArray, ...] = ()


def on_tank(along: FloatArray, around: FloatArray) -> FloatArray:
    """Return points of the ellipsoid; angles in radians, around from up towards the left."""
    place = np.stack(
        [np.sin(along), np.cos(along) * np.sin(around), np.cos(along) * np.cos(around)], axis=-1
    )
    return np.asarray(SEMI_AXES * place)


def _grid(name: str, rows: int = 44) -> tuple[TriMesh, int, int]:
    low, high = np.deg2rad(PANEL_ANGLES[name])
    columns = max(8, round(rows * (high - low) * 0.55))
    along = np.deg2rad(np.linspace(*ALONG_DEG, rows + 1))
    around = np.linspace(low, high, columns + 1)
    points = on_tank(*np.meshgrid(along, around, indexing="ij"))
    index = np.arange((rows + 1) * (columns + 1)).reshape(rows + 1, columns + 1)
    a, b, c, d = index[:-1, :-1], index[1:, :-1], index[1:, 1:], index[:-1, 1:]
    odd = (np.add.outer(np.arange(rows), np.arange(columns)) % 2).astype(bool)
    one = np.where(odd[..., None], np.stack([a, b, d], -1), np.stack([a, b, c], -1))
    two = np.where(odd[..., None], np.stack([b, c, d], -1), np.stack([a, c, d], -1))
    faces = np.concatenate([one.reshape(-1, 3), two.reshape(-1, 3)])
    return TriMesh(points.reshape(-1, 3), faces), rows + 1, columns + 1


@cache
def cut_panel(name: str) -> CutPanel:
    mesh, rows, columns = _grid(name)
    index = np.arange(rows * columns).reshape(rows, columns)
    low_side, high_side = index[:, 0], index[::-1, -1]
    neighbours = {
        "left side": [("left rail", low_side, "top strip")],
        "top strip": [
            ("right rail", low_side, "right side"),
            ("left rail", high_side, "left side"),
        ],
        "right side": [("right rail", high_side, "top strip")],
    }
    middle = mesh.vertices[mesh.faces].mean(axis=1)
    filled = np.linalg.norm(middle - on_tank(np.array(-0.55), np.array(1.35)), axis=1) < 26.0
    openings: tuple[RoundOpening, ...] = ()
    if name == "top strip":
        turn = np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)
        centre = on_tank(np.array(0.25), np.array(0.0))
        ring = centre + 28.0 * np.stack([np.cos(turn), np.sin(turn), 0.0 * turn], axis=1)
        openings = (RoundOpening(ring, centre, 56.0, True),)
    halves = tuple(HalfOfSeam(*each) for each in neighbours[name])
    return CutPanel(name, mesh, filled, openings, halves, np.zeros(len(mesh.faces), bool))


@cache
def flat_panel(name: str) -> FlatPanel:
    return laid_along(flatten(cut_panel(name).mesh), FRONT)


@cache
def tank_model() -> TankModel:
    meshes = [cut_panel(name).mesh for name in PANEL_ANGLES]
    offsets = np.cumsum([0, *(len(mesh.vertices) for mesh in meshes)])
    return TankModel(
        np.concatenate([mesh.vertices for mesh in meshes]),
        np.concatenate(
            [mesh.faces + offset for mesh, offset in zip(meshes, offsets[:-1], strict=True)]
        ),
        np.concatenate([np.full(len(mesh.faces), k) for k, mesh in enumerate(meshes)]),
        tuple(PANEL_ANGLES),
        FRONT,
        UP,
    )


def job_facts(**changes: object) -> JobFacts:
    facts: dict[str, object] = {
        "job": "Brackwater 225 scrambler",
        "alloy": "3003-H14",
        "thickness_mm": 1.6,
        "revision": "A",
        "dated": date(2026, 3, 2),
        "scan_unit": "inch",
        "tapes": (ProofTape(468.0, 467.8), ProofTape(259.0, 259.3)),
        "size_proved": True,
        "surface": "middle of the metal (scan face less 0.8 mm)",
    }
    return JobFacts(**(facts | changes))  # type: ignore[arg-type]


def panel_sheet(name: str = "left side", **changes: object) -> PanelSheet:
    letters = edge_letters(
        [(cut_panel(each), cut_panel(each).mesh.vertices) for each in PANEL_ANGLES]
    )
    flat, panel = flat_panel(name), cut_panel(name)
    pattern = dress(flat, panel, letters=letters[name])
    return PanelSheet(
        job_facts(**changes), name, flat, pattern, panel.filled, tank_model(), front_along_u=True
    )


def large_sheet() -> PanelSheet:
    """Return the left side made so large that its line to cut spans about 1,180 x 800 mm."""
    sheet = panel_sheet("left side")
    large = replace(
        flat_panel("left side"),
        flat_vertices=sheet.flat.flat_vertices * [2.5, 4.45],
        vertices=sheet.flat.vertices * 3.5,
    )
    return replace(sheet, flat=large, pattern=dress(large, cut_panel("left side")))
