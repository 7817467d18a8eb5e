"""What each command does; each returns the JSON object and the lines that tell it."""

import argparse
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

import sample_data
from app.command_line.beside import done_beside
from app.command_line.break_ups import breaks
from app.command_line.capacity import capacity
from app.command_line.doing import (
    Doing,
    call_beside,
    carry,
    dated,
    read_scan,
    read_sized,
    tape_of,
    tell_mended,
    tell_size,
)
from app.command_line.flanges import flanges
from app.command_line.gauges import gauges
from app.command_line.grid_readings import readings
from app.command_line.job_board import board_of
from app.command_line.paper import (
    check_edges,
    output_asked,
    printed,
    tell_joined,
    tell_paper,
    with_allowances,
    with_bench,
)
from app.command_line.progress import bar
from app.command_line.rest_step import keep_second_scan
from app.command_line.seat_fit import fit, seat
from app.command_line.sheet import know_tunnels_metal, learn_metals, metal_asked
from app.command_line.size_arguments import tape
from app.command_line.standing import datum, lines, lock_lines, scan, stand_up, take_standing
from app.command_line.tunnel import tunnel
from app.delivery import (
    Json,
    SinglePanel,
    check_folder,
    copied_from,
    deliver,
    deliver_single,
    single_blank,
    single_panel,
    single_sheet,
    single_sure,
    usual_fractions,
)
from app.exports import Output, Show
from app.job import (
    MAKING,
    Blank,
    HowMade,
    JobState,
    MetalChoice,
    PanelGuide,
    SizeChoice,
    Sure,
    answer_for,
    answer_words,
    check_choices,
    deep_words,
    eased_words,
    equal_area_words,
    guide_words,
    made,
    no_guide_words,
    overlap_words,
    panel_guide,
    read_rest,
    read_seams,
    sure_words,
    thicknesses,
    thin_words,
    with_blank_choice,
    with_breakup_named,
    with_datum_found,
    with_marked_face,
    with_metal,
    with_name,
    with_seams_file,
    with_size,
    with_work,
)
from app.settings import load_settings
from app.units import (
    area_text,
    counted,
    length_text,
    mm_text,
    signed_change_text,
    size_text,
    thickness_text,
)
from geometry.datum import TrueSize
from geometry.pattern import Pattern, RollLine, ShapeField
from geometry.scan import Piece

_MOST_SCRAPS = 12
"""So many scraps are told one by one."""

_PAINT_WORDS = (
    "square to the face, the same everywhere: at a sharp edge or where filler is thicker "
    "the metal lies elsewhere. Measure it in three places."
)


def _with_making(state: JobState, asked: argparse.Namespace) -> JobState:
    """Return the job with every panel made as asked for, in trade words or by numbers.

    A bias given as a number is taken exactly; words go as far as a panel lets.
    """
    names = ("measure", "weight", "hardening")
    parts = {name: value for name in names if (value := getattr(asked, name)) is not None}
    how: dict[str, HowMade] = dict(asked.making)
    work = replace(MAKING[how.pop("", "both")], **parts)
    by_number = asked.bias is not None
    state = with_work(state, replace(work, bias=asked.bias) if by_number else work, exact=by_number)
    for panel, plain in how.items():
        state = with_blank_choice(state, panel, replace(MAKING[plain], **parts))
    return state


def _tell_dropped(doing: Doing, dropped: Sequence[Piece]) -> None:
    for piece in dropped[:_MOST_SCRAPS]:
        doing.tell(f"  left out: a scrap of {counted(piece.triangles, 'triangle')}")
    if len(dropped) > _MOST_SCRAPS:
        doing.tell(f"  left out: {counted(len(dropped) - _MOST_SCRAPS, 'scrap')} more")


def blank(doing: Doing) -> Json:
    """Lay one ready-cut panel flat."""
    asked = doing.asked
    output = output_asked(asked)
    if asked.out is not None:
        check_folder(asked.out, replace=asked.replace)
    alloy = learn_metals(doing)
    read_sized(doing)
    face = "middle" if asked.metal is None else "outside"
    state = _with_making(with_metal(doing.state, metal_asked(doing, alloy, face=face)), asked)
    doing.state = with_marked_face(state, asked.mark or "inside")
    carry(doing, "Size")
    begun = time.perf_counter()
    with bar("Panel") as report:
        single = single_panel(doing.state, report=report)
    with bar("Blank") as report:
        flat = single_blank(single, doing.state, open_holes=asked.open_holes, report=report)
    with bar("How sure") as report:
        sure = single_sure(doing.state, single, flat, report=report)
    sheet = single_sheet(
        doing.state,
        single,
        flat,
        sure,
        dated=dated(),
        show=doing.show,
        least_mm=load_settings().least_thickness_mm,
    )
    cases = None
    if asked.json:  # told nowhere else
        with bar("Thickness") as report:
            cases = thicknesses(flat.flat, report=report)
    guide = _guide(doing, flat)
    with bar("Files") as report:
        found = deliver_single(
            sheet,
            flat,
            sure,
            asked.out,
            guide=guide,
            cases=cases,
            metals=doing.metals,
            output=output,
            replace=asked.replace,
            report=report,
        )
    _tell_single(doing, single)
    _tell_blank(doing, flat, sure, guide, sheet.pattern)
    tell_size(doing, made(doing.state, "Size"))
    _tell_files(doing, found["files"])
    return {**found, "seconds": round(time.perf_counter() - begun, 3)}


def _tell_single(doing: Doing, single: SinglePanel) -> None:
    asked = doing.asked
    if asked.metal is None and asked.face != "outside":
        sheet = thickness_text(doing.state.metal.thickness_mm, doing.show)
        doing.tell(
            "No --metal given: the file is taken as the middle of the metal; thicknesses are "
            f"those of {sheet} sheet."
        )
    if single.evened:
        doing.tell(f"Scan noise of {mm_text(single.noise_mm, 3)} was taken out first.")
    else:
        doing.tell("The file's own triangles were laid flat: no noise to take out.")
    _tell_paint(doing)
    tell_mended(doing)
    _tell_dropped(doing, single.dropped)


def _guide(doing: Doing, blank: Blank) -> PanelGuide | None:
    return panel_guide(
        blank.flat,
        doing.state.metal,
        doing.metals,
        least_mm=load_settings().least_thickness_mm,
        directions=doing.state.directions,
    )


def _guide_words(doing: Doing, blank: Blank, found: PanelGuide | None) -> str:
    """Return what the panel asks of its metal, or that it is not known; "" if not settled."""
    if found is not None:
        return guide_words(found, doing.show)
    return no_guide_words(doing.state.metal.alloy) if blank.flat.converged else ""


def _tell_blank(
    doing: Doing, blank: Blank, sure: Sure, guide: PanelGuide | None, pattern: Pattern
) -> None:
    flat = blank.flat
    if blank.openings:
        stay = "hole stays" if len(blank.openings) == 1 else "holes stay"
        doing.tell(f"  {len(blank.openings)} {stay} solid metal: cut after forming.")
    if flat.converged:
        _tell_settled(doing, blank, sure, guide)
        for words in rolls_words(pattern.rolls, doing.state.metal.thickness_mm, doing.show):
            doing.tell(f"    {words}")
    else:
        doing.tell(f"  {blank.panel}: NOT SETTLED, so no sizes are told. Add a seam.")
    for words in (deep_words(flat), overlap_words(flat, doing.show)):
        if words:
            doing.tell(f"    NOT TO BE CUT FROM: {words}")
    if deep_words(flat) and getattr(doing.asked, "bias", None):
        doing.tell(
            f"    It was laid out with --bias {doing.asked.bias:g} as it stands: leave --bias out, "
            "and it goes only as far that way as the panel lets."
        )


def _tell_not_scanned(doing: Doing, panel: Json, pattern: Pattern) -> None:
    """Say how much of a panel was filled by guess, and how much was made from the other hand."""
    filled, copied = (area_text(panel[key], doing.show) for key in ("no_data_area", "copied_area"))
    if pattern.no_data:
        places = counted(len(pattern.no_data), "place")
        doing.tell(f"    NOT SCANNED, filled by guess: {filled} in {places}, hatched on paper.")
    if pattern.copied:
        side = copied_from(doing.state.sides) or "other"
        doing.tell(f"    Mirrored from the {side} side: {copied}, marked on paper.")


def rolls_words(rolls: Sequence[RollLine], sheet_mm: float, show: Show = "mm") -> list[str]:
    """Return how many lines are to be rolled or folded, and how tight, inside, as on paper.

    >>> ends = np.zeros((2, 2)), np.zeros((2, 3)), np.array([100.8, 130.8])
    >>> rolls_words([RollLine(*ends, False, 0.3, False)], 1.6)
    ['Roll along 1 line, inside R 100 mm (3 15/16 in) to 130 mm (5 1/8 in).']
    """
    told = []
    sweeps = [float(radius) for roll in rolls if not roll.is_fold for radius in roll.radii]
    if sweeps:
        inside = (max(0.0, sweep - sheet_mm / 2.0) for sweep in (min(sweeps), max(sweeps)))
        low, high = (length_text(radius, show, decimals=0) for radius in inside)
        reach = f"inside R {low}" if low == high else f"inside R {low} to {high}"
        lines = counted(sum(not roll.is_fold for roll in rolls), "line")
        told.append(f"Roll along {lines}, {reach}.")
    turns = sorted({round(float(np.degrees(roll.turn_rad))) for roll in rolls if roll.is_fold})
    if turns:
        reach = f"{turns[0]}" if len(turns) == 1 else f"{turns[0]} to {turns[-1]}"
        folds = sum(roll.is_fold for roll in rolls)
        told.append(f"Fold along {counted(folds, 'line')}, by {reach} degrees.")
    return told


def _tell_settled(doing: Doing, blank: Blank, sure: Sure, guide: PanelGuide | None) -> None:
    flat = blank.flat
    change = ShapeField(flat.flat_vertices, flat.faces, flat.stretches).change
    doing.tell(
        f"  {blank.panel}: net {size_text(*flat.blank_size, doing.show)}; most stretch "
        f"{signed_change_text(max(float(change.max()), 0.0), doing.show)}, most shrink "
        f"{signed_change_text(min(float(change.min()), 0.0), doing.show)}"
    )
    told = answer_for(doing.state, blank, sure)
    least_mm = load_settings().least_thickness_mm
    for words in (
        answer_words(told, doing.show),
        equal_area_words(told, doing.show),
        sure_words(sure, doing.show) if told.may_cut else "",
        eased_words(told),
        thin_words(told, least_mm, doing.show),
        _guide_words(doing, blank, guide),
    ):
        if words:
            doing.tell(f"    {words}")


def _tell_files(doing: Doing, files: list[str]) -> None:
    out = doing.asked.out
    if out is not None:
        doing.tell(f"{counted(len(files), 'file')} written to {out}")


def layout(doing: Doing) -> Json:
    """Cut a scan along seams, lay every panel flat, write paper, cutting files and tables."""
    asked = doing.asked
    out = asked.out if asked.out is not None else Path(asked.file.stem)
    doing.asked.out = out
    output = output_asked(asked)
    check_folder(out, replace=asked.replace)
    alloy = learn_metals(doing)
    read_sized(doing)
    seams = read_seams(asked.seams)
    call_beside(doing)
    carry(doing, "Size")
    size: TrueSize = made(doing.state, "Size")
    state = with_seams_file(doing.state, seams, size.mm_per_unit)
    state = with_breakup_named(state, asked.breakup)
    state = _with_making(with_metal(state, metal_asked(doing, alloy, face="outside")), asked)
    state = with_bench(with_marked_face(state, asked.mark or "inside"), asked)
    doing.state = state if asked.rest is None else replace(state, rest=read_rest(asked.rest))
    know_tunnels_metal(doing)
    keep_second_scan(doing)
    take_standing(doing)
    return _carried_out(doing, out, output)


def _tell_sheet(doing: Doing) -> None:
    """Say which sheet was taken, and where in the metal blanks are laid out."""
    metal = doing.state.metal
    given = "" if getattr(doing.asked, "metal", 0.0) is not None else " (no --metal given)"
    where = "the file is the middle of the metal"
    if metal.face == "outside":
        paint = f" less {mm_text(metal.paint_mm, 2)} of paint" if metal.paint_mm else ""
        where = f"the file is its outside{paint}; blanks are laid out on the middle of the metal"
    sheet = thickness_text(metal.thickness_mm, doing.show)
    doing.tell(f"  sheet: {metal.alloy}, {sheet}{given}; {where}")
    _tell_paint(doing)


def _tell_paint(doing: Doing) -> None:
    metal = doing.state.metal
    if metal.face == "outside" and metal.paint_mm > 0.0:
        doing.tell(f"  {mm_text(metal.paint_mm, 2)} of paint is taken off {_PAINT_WORDS}")


def _carried_out(doing: Doing, out: Path, output: Output, *, job_file: str = "") -> Json:
    begun = time.perf_counter()
    if doing.asked.allowances or doing.state.blank_choices or doing.state.edges:  # name panels
        carry(doing, "Seams")
        doing.state = with_allowances(doing.state, doing.asked)
        check_choices(doing.state)
    carry(doing, "Thickness")
    check_edges(doing.state)
    doing.state = printed(doing.state, out, replaces=doing.asked.replace)
    _tell_sheet(doing)
    with bar("Files") as report:
        summary = deliver(
            doing.state,
            out,
            dated=dated(),
            show=doing.show,
            replace=doing.asked.replace,
            job_file=job_file,
            metals=doing.metals,
            output=output,
            fractions=usual_fractions(load_settings()),
            least_mm=load_settings().least_thickness_mm,
            making=lambda jobs, told: done_beside(jobs, doing.beside, told),
            report=report,
        )
    for panel in summary["panels"]:
        name = panel["panel"]
        laid = made(doing.state, "Blanks", name)
        pattern: Pattern = made(doing.state, "Paper", name)
        _tell_blank(doing, laid, made(doing.state, "Sure", name), _guide(doing, laid), pattern)
        _tell_not_scanned(doing, panel, pattern)
    tell_mended(doing)
    surface = made(doing.state, "Surface")
    if surface.tidy.shells_joined:
        doing.tell(f"  {surface.tidy.shells_joined} shell of the scan was joined to the largest.")
    _tell_dropped(doing, surface.tidy.dropped)
    tell_size(doing, made(doing.state, "Size"))
    tell_paper(doing, summary)
    tell_joined(doing, output, summary)
    _tell_files(doing, summary["files"])
    return {**summary, "seconds": round(time.perf_counter() - begun, 3)}


def demo(doing: Doing) -> Json:
    """Do the main job on the shipped sample."""
    asked = doing.asked
    out = asked.out if asked.out is not None else Path("brackwater")
    doing.asked.out = out
    output = output_asked(asked)
    check_folder(out, replace=asked.replace)
    doing.tell("The Brackwater 225 scrambler, an invented tank: from its scan to panels to cut.")
    read_scan(doing, sample_data.scan_path())
    call_beside(doing)
    tapes = tuple(tape_of(tape(words)) for words in sample_data.tapes())
    doing.state = with_size(doing.state, SizeChoice(None, tapes))
    carry(doing, "Size")
    size: TrueSize = made(doing.state, "Size")
    state = with_seams_file(doing.state, read_seams(sample_data.seams_path()), size.mm_per_unit)
    doing.state = with_name(with_metal(state, MetalChoice()), "Brackwater 225 scrambler")
    state = with_bench(with_datum_found(doing.state, "auto"), asked)
    doing.state = replace(state, rest=read_rest(sample_data.rest_path()))
    stand_up(doing)
    lock_lines(doing)
    summary = _carried_out(doing, out, output, job_file="brackwater.lowcrown")
    doing.tell("")
    doing.tell("Look first at:")
    doing.tell(f"  {out / 'overview.pdf'}: the tank, its panels and the size of every blank")
    doing.tell(f"  {out / 'left side_shape.pdf'}: where to stretch and where to shrink")
    if output.papers:
        paper = output.papers[0]
        doing.tell(
            f"  {out / f'left side_{paper.key}.pdf'}: the pattern at full size on {paper.name} "
            "sheets"
        )
    else:
        doing.tell(f"  {out / 'left side.pdf'}: the pattern at full size in one piece")
    doing.tell(f"  {out / 'left side.dxf'}: the same for a cutter; CUT is the line to cut")
    doing.tell(
        f"  {out / 'tunnel.pdf'}, {out / 'gauges.pdf'}, {out / 'capacity.pdf'}: the rest of it"
    )
    doing.tell(f"  {out / 'brackwater.lowcrown'}: the job; open it in the window")
    return summary


COMMANDS = {
    "demo": demo,
    "scan": scan,
    "datum": datum,
    "lines": lines,
    "blank": blank,
    "layout": layout,
    "breaks": breaks,
    "gauges": gauges,
    "seat": seat,
    "fit": fit,
    "flanges": flanges,
    "capacity": capacity,
    "tunnel": tunnel,
    "board": board_of,
    "readings": readings,
}
