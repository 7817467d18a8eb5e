"""`lowcrown tunnel`: a tunnel's nets, where it is cut off and what it clears, from a small file."""

from dataclasses import replace
from pathlib import Path

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
    read_tube,
    read_tunnel,
    tunnel_alone,
    tunnel_told,
)
from app.units import counted
from geometry.datum import SizeUnknownError, TrueSize
from geometry.scan import MM_PER_UNIT
from geometry.tank import TunnelSpec

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
    write_result(out, files, replace=asked.replace, result=TUNNEL_JSON)
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
        spec = _over_scanned(spec, asked.tube, MM_PER_UNIT[asked.unit])
    per_unit = MM_PER_UNIT[asked.unit or "mm"]
    with bar("Tunnel") as report:
        laid = tunnel_alone(spec, metal, mm_per_unit=per_unit, report=report)
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
    size: TrueSize = made(doing.state, "Size")
    if asked.tube is not None:
        spec = _over_scanned(spec, asked.tube, size.mm_per_unit)
    make_rest(doing, tunnel=spec)
    make_step(doing, "Tunnel")
    files = step_files(doing, "Tunnel", TUNNEL_JSON, output)
    tell_size(doing, size)
    return made(doing.state, "Tunnel"), files


def _over_scanned(spec: TunnelSpec, path: Path, mm_per_unit: float) -> TunnelSpec:
    """Return a tunnel over a tube that was scanned, in place of the one its file says."""
    with bar("Tube") as report:
        tube = read_tube(path, mm_per_unit, report=report)
    return replace(spec, tube=None, scanned_tube=tube)
