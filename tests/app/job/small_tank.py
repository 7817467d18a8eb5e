"""A small invented skin, a spherical dome, carried from its STL file through every step."""

import tempfile
from functools import cache
from pathlib import Path

import numpy as np
import trimesh

from app.job import (
    STEPS,
    JobState,
    MetalChoice,
    PanelName,
    ScanFile,
    SeamLine,
    SizeChoice,
    carried_through,
    read_scan_file,
    with_directions,
    with_metal,
    with_panel_names,
    with_scan,
    with_seams,
    with_size,
)
from app.job.choices.state import Directions
from geometry.datum import Point3, Tape
from geometry.tank import FillerSpec, TunnelEnd, TunnelPlace, TunnelSpec
from tests.bodies import dome

RADIUS_MM = 50.0
HALF_ANGLE = 1.2

TUNNEL = TunnelSpec(
    50.0,
    TunnelEnd(12.0, 12.0),
    TunnelEnd(12.0, 12.0),
    sheet_mm=0.8,
    place=TunnelPlace(20.0, fore_aft_mm=1.0, up_down_mm=1.0),
    run_out_mm=3.0,
)
"""A tunnel that sits in it, of thinner sheet than its panels."""

RECESSED = FillerSpec(
    46.0,
    hole_mm=14.0,
    ring_mm=20.0,
    seat="recessed",
    recess_mm=20.0,
    depth_mm=8.0,
    flange_mm=4.0,
    floor_corner_mm=1.0,
    edge_radius_mm=2.0,
    cap_mm=16.0,
)
"""A filler set in a beaten recess, on its top."""


def on_dome(x: float, y: float) -> Point3:
    """Return the point of the dome over (x, y)."""
    return x, y, float(np.sqrt(RADIUS_MM**2 - x * x - y * y))


def straight_seam(name: str, y: float) -> SeamLine:
    """Return the seam from rim to rim in the plane of one y."""
    reach = float(np.sqrt((RADIUS_MM * np.sin(HALF_ANGLE)) ** 2 - y * y))
    return SeamLine(name, tuple(on_dome(float(x), y) for x in np.linspace(-reach, reach, 7)))


def write_dome(path: Path) -> Path:
    """Write the dome as a binary STL, mm."""
    mesh = dome(RADIUS_MM, HALF_ANGLE, 16)
    trimesh.Trimesh(mesh.vertices, mesh.faces, process=False).export(path)
    return path


@cache
def dome_scan() -> ScanFile:
    """Return the dome as read from its file."""
    with tempfile.TemporaryDirectory() as folder:
        return read_scan_file(write_dome(Path(folder) / "dome.stl"))


def straight_tape(start: Point3, end: Point3) -> Tape:
    """Return a tape pulled straight that says exactly how far apart its ends are."""
    return Tape(start, end, float(np.linalg.norm(np.subtract(end, start))))


def proving_tapes() -> tuple[Tape, Tape]:
    """Return two tapes across each other, both right."""
    return (
        straight_tape(on_dome(-40.0, 0.0), on_dome(40.0, 0.0)),
        straight_tape(on_dome(0.0, -40.0), on_dome(0.0, 40.0)),
    )


def decided() -> JobState:
    """Return the job with everything decided and nothing made: two seams, three panels."""
    state = with_scan(JobState(), dome_scan(), "small dome")
    state = with_size(state, SizeChoice("mm", proving_tapes()))
    state = with_metal(state, MetalChoice(1.6, "3003-H14", "middle"))
    state = with_directions(state, Directions((1.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    state = with_seams(
        state, (straight_seam("left rail", 14.0), straight_seam("right rail", -14.0))
    )
    return with_panel_names(
        state,
        (
            PanelName("left", on_dome(0.0, 30.0)),
            PanelName("top", on_dome(0.0, 0.0)),
            PanelName("right", on_dome(0.0, -30.0)),
        ),
    )


@cache
def carried() -> JobState:
    """Return the job with every step made."""
    return carried_through(decided(), STEPS[-1].name)
