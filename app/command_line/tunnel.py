"""`lowcrown tunnel`: a tunnel's nets, where it is cut off and what it clears, from a small file."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from app.command_line.doing import Doing, dated, make_step, tell_size
from app.command_line.paper import output_asked
from app.command_line.progress import bar
from app.command_line.rest_step import folder_asked, make_rest, step_files, take_tank
from app.command_line.sheet import learn_metals, metal_asked, tunnel_as_known
from app.delivery import (
    TUNNEL_JSON,
    Json,
    tunnel_files_alone,
    tunnel_json,
    typed_facts,
    write_result,
)
from app.exports import Output
from app.job import (
    TunnelLaid,
    made,
    read_scan_file,
    read_tunnel,
    tunnel_alone,
    tunnel_told,
    with_rest,
)
from app.units import counted
from geometry.datum import SizeUnknownError, TrueSize
from geometry.mesh import TriMesh
from geometry.scan import MM_PER_UNIT, scaled, sound_mesh
from geometry.tank import RoundBody, TunnelSpec, tube_from_scan

_CAUTION = (
    "  Shop aid, not an approval: check the tunnel on the frame, full lock, cables and hot parts "
    "too; local code and people licensed for the work come first."
)


def tunnel(doing: Doing) -> Json:
    """Lay out a tunnel, for a tank or by itself, and write it at full size."""
    asked = doing.asked
    spec = read_tunnel(asked.spec)
    out = folder_asked(doing, asked.spec, "tunnel", TUNNEL_JSON)
    output = output_asked(asked)
    alloy = learn_metals(doing)
    if asked.file is None:
        laid, files = _by_itself(doing, spec, alloy, output)
    else:
        laid, files = _in_tank(doing, spec, alloy, output)
    write_result(out, files, replace=asked.replace, alone=False)
    for words in tunnel_told(laid, doing.show):
        doing.tell(f"  {words}")
    doing.tell(_CAUTION)
    doing.tell(f"{counted(len(files), 'file')} written to {out}; tunnel.pdf tells the sums")
    return {"tunnel": tunnel_json(laid), "files": sorted(files)}


def _by_itself(
    doing: Doing, spec: TunnelSpec, alloy: str, output: Output
) -> tuple[TunnelLaid, dict[str, bytes]]:
    asked, metal = doing.asked, metal_asked(doing, alloy, face="middle")
    spec = tunnel_as_known(doing, spec, metal)
    if asked.tube is not None:
        if asked.unit is None:
            raise SizeUnknownError
        spec = replace(spec, tube=_scanned_tube(asked.tube, MM_PER_UNIT[asked.unit]))
    with bar("Tunnel") as report:
        laid = tunnel_alone(spec, metal, report=report)
    facts = typed_facts(
        asked.spec.stem,
        metal,
        laid.tunnel.sheet.thickness_mm,
        dated=dated(),
        show=doing.show,
    )
    with bar("Files") as report:
        return laid, tunnel_files_alone(laid, facts, output=output, report=report)


def _in_tank(
    doing: Doing, spec: TunnelSpec, alloy: str, output: Output
) -> tuple[TunnelLaid, dict[str, bytes]]:
    asked = doing.asked
    take_tank(doing, alloy)
    make_rest(doing, tunnel=spec)
    size: TrueSize = made(doing.state, "Size")
    known = doing.state.rest.tunnel or spec
    if asked.tube is not None:
        axes = made(doing.state, "Stood").axes
        found = _scanned_tube(asked.tube, size.mm_per_unit)
        start, end = axes.to_tank(np.array([found.start_mm, found.end_mm])).tolist()
        tube = replace(found, start_mm=tuple(start), end_mm=tuple(end))
        doing.state = with_rest(doing.state, tunnel=replace(known, tube=tube))
    make_step(doing, "Tunnel")
    files = step_files(doing, "Tunnel", TUNNEL_JSON, output)
    tell_size(doing, size)
    return made(doing.state, "Tunnel"), files


def _scanned_tube(path: Path, mm_per_unit: float) -> RoundBody:
    """Return the tube nearest to a scan, mm, in the scan's own axes."""
    with bar("Tube") as report:
        scan = read_scan_file(path, report=report)
    mesh: TriMesh = sound_mesh(scan.raw).mesh
    return tube_from_scan(scaled(mesh, mm_per_unit))
