"""`lowcrown gauges`: templates at stations, bottom profile, side line, checking frame."""

from pathlib import Path

from app.command_line.doing import Doing, carry, make_step, tell_size
from app.command_line.paper import output_asked
from app.command_line.rest_step import folder_asked, make_rest, step_files, take_tank
from app.command_line.sheet import learn_metals
from app.delivery import (
    GAUGES_JSON,
    Json,
    gauges_told,
    write_result,
)
from app.job import (
    DirectionsUnknownError,
    FrameChoice,
    GaugeChoice,
    Gauges,
    SweepChoice,
    apart_words,
    better_edge,
    board_count,
    made,
    missing_words,
    radius_words,
    serving_words,
    torn_words,
    with_datum_found,
)
from app.units import counted, length_text, mm_text
from geometry.errors import GeometryError


def gauges(doing: Doing) -> Json:
    """Cut boards to the outlines of a tank as it stands, and write them at full size."""
    asked = doing.asked
    out = folder_asked(doing, asked.file, "gauges", GAUGES_JSON)
    output = output_asked(asked)
    take_tank(doing, learn_metals(doing))
    _check_directions(doing)
    make_rest(doing, "Gauges", gauges=gauges_asked(doing))
    files = step_files(doing, "Gauges", GAUGES_JSON, output)
    write_result(out, files, replace=asked.replace, result=GAUGES_JSON)
    tell_size(doing, made(doing.state, "Size"))
    _tell(doing, made(doing.state, "Gauges"))
    doing.tell(f"{counted(len(files), 'file')} written to {out}; gauges.pdf lists the boards")
    for paper in dict.fromkeys(output.papers):
        doing.tell(f"  {out / f'gauges_{paper.key}.pdf'}: all boards at full size, to be printed")
    return {"gauges": gauges_told(doing.state), "files": sorted(files)}


def _check_directions(doing: Doing) -> None:
    """Refuse at once where front or up is neither said nor found: the surface takes its time.

    Raises
    ------
    DirectionsUnknownError
    """
    asked = doing.asked
    said = {"front": asked.front, "up": asked.up}
    missing = tuple(name for name, value in said.items() if value is None)
    if not missing or isinstance(asked.datum, Path):
        return
    if asked.datum == "auto":
        doing.state = with_datum_found(doing.state, "auto")
        carry(doing, "Tidy")
        try:
            make_step(doing, "Datum")
        except GeometryError:
            raise DirectionsUnknownError(missing) from None
        missing = made(doing.state, "Datum").guessed
    unknown = tuple(name for name in missing if name in said)
    if unknown:
        raise DirectionsUnknownError(unknown)


def gauges_asked(doing: Doing) -> GaugeChoice:
    """Return which gauges are asked for."""
    asked = doing.asked
    frame = None
    if asked.frame is not None:
        frame = FrameChoice(asked.frame, asked.play, beside_mm=tuple(asked.beside))
    return GaugeChoice(
        spacing_mm=asked.stations,
        stations_mm=tuple(asked.at),
        kind=asked.kind,
        only_stations=asked.only_at,
        face=asked.touch or "usual",
        in_halves=not asked.whole,
        turn_over_mm=asked.turn_over,
        board_mm=asked.board,
        profile=not asked.no_profile,
        bottom_from=asked.bottom_from,
        side_line=asked.side_line,
        frame=frame,
        sweeps=_sweeps_asked(doing),
    )


def _sweeps_asked(doing: Doing) -> SweepChoice | None:
    """Return which sweeps are asked for."""
    asked, usual = doing.asked, SweepChoice()
    if asked.sweeps is None:
        return None
    chord = usual.chord_mm if asked.sweep_chord is None else asked.sweep_chord
    gap = usual.gap_mm if asked.sweep_gap is None else asked.sweep_gap
    return SweepChoice(chord, gap, asked.sweeps)


def _tell(doing: Doing, found: Gauges) -> None:
    cut = found.cut
    doing.tell(
        f"  {counted(len(cut.stations), 'station')} on a tank "
        f"{length_text(cut.length_mm, doing.show)} long, {counted(board_count(found), 'board')}"
    )
    if not found.has_plane:
        doing.tell("  look: no centre plane; the middle of the width stands for it (--datum)")
    if cut.top_open:
        doing.tell("  look: the skin's open edge lies on top: is up the wrong way round? (--up)")
    for each in cut.left_out:
        where = length_text(each.back_mm, doing.show)
        doing.tell(f"  left out: no outline to lay a board on at {where} back")
    for gauge in cut.stations:
        doing.tell(
            f"  station {gauge.station.number}: {length_text(gauge.station.back_mm, doing.show)} "
            f"back{_boards_told(found, gauge.station.number)}"
        )
    if any(gauge.tight for gauge in cut.stations):
        doing.tell("  tight bends are true where their line is kept crisp: --lines auto")
    if cut.profile is not None:
        widths = ", ".join(length_text(width, doing.show) for width in cut.profile.widths_mm)
        doing.tell(f"  bottom edge to bottom edge, front first: {widths}")
    for place in cut.torn:
        doing.tell(f"  look: {torn_words(found, place, doing.show)}")
    if better_edge(found) and found.choice.bottom_from == "each":
        doing.tell(f"  --bottom-from {better_edge(found)} makes both hands' boards of that edge")
    if cut.check is not None:
        doing.tell(
            f"  checking frame: {counted(len(cut.frame), 'board')}, "
            f"{counted(cut.check.crossings, 'crossing')}; put together by numbers, boards run "
            f"into each other by {mm_text(cut.check.clash_mm, 2)}"
        )
        if cut.check.loose:
            loose = ", ".join(map(str, cut.check.loose))
            doing.tell(f"  look: not held by the others: frame board {loose}")
    _tell_sweeps(doing, found)


def _tell_sweeps(doing: Doing, found: Gauges) -> None:
    if found.sweeps is None:
        return
    for board in found.sweeps.boards:
        doing.tell(
            f"  sweep {board.number}: {radius_words(board, doing.show)}, "
            f"{length_text(board.chord_mm, doing.show)} long; {serving_words(found.sweeps, board)}"
        )
    if not found.sweeps.boards:
        doing.tell("  no sweep: a straight edge serves wherever one arc lies along the outlines")
    for words in missing_words(found.sweeps, doing.show):
        doing.tell(f"  {words}")


def _boards_told(found: Gauges, number: int) -> str:
    """Return what boards a station has, in a clause."""
    gauge = found.cut.stations[number - 1]
    told = ""
    if gauge.difference is not None:
        apart = apart_words(gauge.difference, found.choice.turn_over_mm)
        one = len(gauge.boards) == 1
        told += f"; hands differ by {apart}: " + (
            "one board, turned over for the right" if one else "one board for each"
        )
    if gauge.section.filled:
        told += "; NOT SCANNED in part"
    if gauge.tight:
        most = max(bend.off_mm for bend in gauge.tight)
        told += f"; a tight bend may be rounded off by about {mm_text(most, 1)}"
    return told
