"""What was asked of paper and of the bench, taken on by the job, and what is told of it."""

import argparse
import re
from dataclasses import replace
from pathlib import Path

from app.command_line.doing import Doing, dated
from app.command_line.paper_arguments import AllowanceWords
from app.delivery import Json, earlier_prints, job_sheets, usual_output
from app.exports import (
    BadPaperError,
    Correction,
    Output,
    checked_lengths,
    correction_from,
    file_stem,
    roll_paper,
    roll_words,
)
from app.job import (
    EdgeChoice,
    JobState,
    NoSuchPanelError,
    Price,
    counted_twice_words,
    idle_edges,
    made,
    panel_names,
    seam_edge_keys,
    with_edge,
    with_forming,
    with_grain,
    with_model,
    with_price,
    with_print,
    with_prints,
)
from app.settings import NoSuchPrinterError, Settings, load_settings
from app.units import counted, mass_text
from geometry.pattern import NoSuchEdgeError

_BAR_MM = 100.0
_NEAR_BAR = 0.03


def output_asked(asked: argparse.Namespace) -> Output:
    """Return papers, roll, printer and kinds of file as asked for, otherwise as usually.

    Raises
    ------
    NoSuchPrinterError, PrinterFarOutError, BadPaperError
    """
    settings = load_settings()
    output = usual_output(settings)
    if asked.paper is not None:
        named = [paper for papers in asked.paper for paper in papers]
        output = replace(output, papers=tuple(dict.fromkeys(named)))
    if asked.roll is not None:
        output = replace(output, roll_mm=asked.roll)
    output = replace(output, correction=_correction(asked, output, settings))
    chosen = {
        name: value
        for name in ("dxf", "outline", "turn")
        if (value := getattr(asked, name)) is not None
    }
    return replace(output, **chosen)


def _correction(asked: argparse.Namespace, output: Output, settings: Settings) -> Correction:
    """Return the correction for the printer asked for; what was measured goes on top of it."""
    known = output.correction
    if asked.printer is not None:
        printer = settings.printer_named(asked.printer)
        if printer is None:
            names = tuple(each.name for each in settings.printers)
            raise NoSuchPrinterError(asked.printer, names)
        known = Correction(printer.x, printer.y)
    if asked.printer_measured is None:
        return known
    level_mm, upright_mm, paper, on_roll = asked.printer_measured
    if on_roll:
        if output.roll_mm is None:
            raise BadPaperError("roll", "say how wide it is, as --roll 24in")
        paper = roll_paper(output.roll_mm)
    drawn = checked_lengths(paper or output.papers[0])
    if all(abs(bar / _BAR_MM - 1.0) <= _NEAR_BAR for bar in (level_mm, upright_mm)):
        drawn = (_BAR_MM, _BAR_MM)
    carried = known if asked.printer is not None else None
    return correction_from(level_mm, upright_mm, drawn, carried=carried)


def with_bench(state: JobState, asked: argparse.Namespace) -> JobState:
    """Return the job with forming, model, grain and price as asked for."""
    if asked.forming is not None:
        state = with_forming(state, asked.forming)
    if asked.model is not None:
        state = with_model(state, asked.model)
    if asked.grain is not None:
        state = with_grain(state, asked.grain)
    return state if asked.price is None else with_price(state, Price(*asked.price))


def with_allowances(state: JobState, asked: argparse.Namespace) -> JobState:
    """Return the job, its panels cut, with every allowance asked for.

    Raises
    ------
    NoSuchPanelError, NoSuchEdgeError
    """
    for words in asked.allowances:
        if words.panel not in panel_names(state):
            raise NoSuchPanelError(words.panel, panel_names(state))
        state = with_edge(state, EdgeChoice(words.panel, _key(state, words), *words[2:]))
    return state


def _key(state: JobState, words: AllowanceWords) -> str:
    """Return the key of an edge named by its letter or by its key."""
    keys: dict[str, str] = seam_edge_keys(state, words.panel)
    if words.edge in keys.values():
        return words.edge
    letter = words.edge.upper()
    if letter in keys:
        return keys[letter]
    if re.fullmatch(r"F\d+", letter):
        return letter
    raise NoSuchEdgeError(words.edge, (*keys.values(), "F1"))


def check_edges(state: JobState) -> None:
    """Refuse an allowance for an edge its panel does not have, patterns made.

    Raises
    ------
    NoSuchEdgeError
    """
    for edge in idle_edges(state):
        pattern = made(state, "Paper", edge.panel)
        raise NoSuchEdgeError(edge.edge, tuple(e.key for e in pattern.allowance_of_edge))


def printed(state: JobState, out: Path, *, replaces: bool) -> JobState:
    """Return the job as it goes to paper; an earlier result replaced is an earlier print."""
    prints = earlier_prints(out) if replaces else ()
    return with_print(with_prints(state, prints), dated())


def tell_paper(doing: Doing, summary: Json) -> None:
    """Tell the revision, what outlines are made of, and what sheet the job takes."""
    revision, sheet = summary["revision"], summary["sheet"]
    told = f"  rev {revision['number']}, {revision['dated']}"
    if revision["replaces"] is not None:
        told += f": replaces rev {revision['replaces']}, throw older prints away"
    pages = sum(summary["pages"].values())
    doing.tell(f"{told}; {counted(pages, 'page')} of paper in all files")
    lines = [panel["outline"] for panel in summary["panels"]]
    if summary["size"]["proved"] and lines:
        most = max(line["points_per_metre"] for line in lines)
        off = max(line["largest_off"] for line in lines)
        doing.tell(
            f"  outlines of {lines[0]['kind']}, up to {most:.0f} points a metre, within "
            f"{off:.2f} mm"
        )
    _tell_lips(doing)
    if sheet is not None:
        told = (
            f"  sheet: the pieces weigh {mass_text(sheet['weight_kg'], doing.show)}, rectangles "
            f"about them {mass_text(sheet['rectangle_kg'], doing.show)}"
        )
        if sheet["cost"] is not None:
            told += f", {sheet['cost']:.2f} {sheet['currency'] or ''}".rstrip()
        doing.tell(told)


def _tell_lips(doing: Doing) -> None:
    """Tell which edges have a flange although the scan shows a lip there."""
    for name in panel_names(doing.state):
        pattern = made(doing.state, "Paper", name)
        twice = "" if pattern is None else counted_twice_words(pattern.lip_edges)
        if twice:
            doing.tell(f"  look: {name}: {twice}")


def tell_joined(doing: Doing, output: Output, summary: Json) -> None:
    """Tell, as their pages do, which patterns do not come in one piece, and why."""
    pages = summary["pages"]
    joined = [
        panel["panel"]
        for panel in summary["panels"]
        if pages.get(f"{file_stem(panel['panel'])}.pdf", 1) > 1
    ]
    if not joined or doing.asked.json:
        return
    for sheet in job_sheets(doing.state, dated=dated(), show=doing.show).panels:
        if sheet.panel in joined and (words := roll_words(sheet, output)):
            doing.tell(f"  {words}")
