"""Every page that leaves the program, composed once: what is shown, printed and written is this."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from app.exports.drawing import LARGEST_PAGE_MM, Page
from app.exports.facts import OverviewSheet, PanelSheet, told_of
from app.exports.marks import top_up
from app.exports.output import Output, Paper
from app.exports.pages import (
    BoundPiece,
    BreaksSheet,
    CapacitySheet,
    CardSheet,
    FittingsSheet,
    FlangeSheet,
    FrameSheet,
    GaugeSheet,
    SeatSheet,
    TapeSheet,
    TunnelPageSheet,
    bench_pages,
    booklet_pages,
    breaks_pages,
    capacity_pages,
    check_pages,
    fittings_pages,
    flange_pages,
    frame_pages,
    gauge_pages,
    job_card_pages,
    one_piece_pages,
    overview_pages,
    seat_pages,
    shape_pages,
    tape_table_pages,
    tiled,
    tunnel_pages,
)
from app.exports.plate import Plate
from geometry.arrays import FloatArray
from geometry.progress import Report, silent

_RESERVED = (
    "overview|summary|printer check|tape table|job card|seat face|frame fit|gauges(_.*)?|"
    "capacity|fittings|tunnel|flanges"
)


class NothingToPrintError(Exception):
    """A panel has no size, or one that is no number: there is no pattern to print.

    Attributes
    ----------
    panel : str
    """

    def __init__(self, panel: str) -> None:
        self.panel = panel
        super().__init__(f"{panel} has no size")


LARGEST_PATTERN_MM = 2.0 * LARGEST_PAGE_MM
"""Longest side of a pattern that paper is made for: two of the longest pages, joined."""


class TooLargeForPaperError(Exception):
    """A panel is so large that nobody joins its pages: most likely its unit is wrong.

    Attributes
    ----------
    panel : str
    width_mm, height_mm, limit_mm : float
    """

    def __init__(self, panel: str, width_mm: float, height_mm: float) -> None:
        self.panel, self.width_mm, self.height_mm = panel, width_mm, height_mm
        self.limit_mm = LARGEST_PATTERN_MM
        super().__init__(f"{panel}: {width_mm:.0f} x {height_mm:.0f} mm")


@dataclass(frozen=True, eq=False)
class Sheaf:
    """Pages that make one file: its name, the title viewers show, and the pages in order."""

    name: str
    title: str
    pages: tuple[Page, ...]


def file_stem(panel: str) -> str:
    """Return a panel's name as the start of a file name: as it is, where every system takes it.

    >>> file_stem("left side"), file_stem("../Seat: rear/2"), file_stem("nul"), file_stem("...")
    ('left side', 'Seat_ rear_2', 'nul panel', 'panel')
    """
    plain = re.sub(r"[^\w .-]+", "_", panel).strip(" ._-")[:60].strip(" ._-")
    reserved = re.fullmatch(rf"(?i)con|prn|aux|nul|com\d|lpt\d|{_RESERVED}", plain)
    return f"{plain} panel" if reserved else plain or "panel"


def check_has_size(sheet: PanelSheet) -> None:
    """Refuse a panel without size.

    Raises
    ------
    NothingToPrintError
    """
    net = sheet.pattern.net
    if not len(net) or not np.isfinite(net).all() or not np.ptp(net, axis=0).min() > 0.0:
        raise NothingToPrintError(sheet.panel)


def check_fits_paper(panel: str, net: FloatArray) -> None:
    """Refuse a panel too large for any paper, before anything is drawn on it.

    Parameters
    ----------
    panel : str
    net : (k, 2) float, mm
        Its net line.

    Raises
    ------
    TooLargeForPaperError
    """
    width, height = np.ptp(net, axis=0).tolist() if len(net) else (0.0, 0.0)
    if max(width, height) > LARGEST_PATTERN_MM:
        raise TooLargeForPaperError(panel, width, height)


def page_endings(output: Output) -> tuple[str, ...]:
    """Return the endings of the names of one panel's page files."""
    tiled_on = dict.fromkeys(f"_{paper.key}.pdf" for paper in output.papers)
    return (".pdf", *tiled_on, "_shape.pdf", "_bench.pdf")


def sheaf_of_panel(
    sheet: PanelSheet, ending: str, output: Output, *, stem: str | None = None
) -> Sheaf:
    """Return the pages of one file of a panel, by the ending of its name.

    Raises
    ------
    NothingToPrintError, BadPaperError
    """
    check_has_size(sheet)
    told = top_up(told_of(sheet))
    papers: dict[str, Paper] = {f"_{paper.key}.pdf": paper for paper in output.papers}
    makers: dict[str, Callable[[], list[Page]]] = {
        ".pdf": lambda: one_piece_pages(told, output),
        "_shape.pdf": lambda: shape_pages(told),
        "_bench.pdf": lambda: bench_pages(told),
    }
    pages = tiled(told, papers[ending], output) if ending in papers else makers[ending]()
    start = file_stem(sheet.panel) if stem is None else stem
    return Sheaf(f"{start}{ending}", f"{sheet.job.job}: {sheet.panel}", tuple(pages))


def sheaves_of_panel(
    sheet: PanelSheet,
    output: Output | None = None,
    *,
    stem: str | None = None,
    report: Report = silent,
) -> tuple[Sheaf, ...]:
    """Return all pages of one panel.

    Parameters
    ----------
    sheet : PanelSheet
    output : Output, optional
    stem : str, optional
        How file names start; the panel's name made safe if not given.
    report : Report

    Raises
    ------
    NothingToPrintError
        The panel has no size.
    BadPaperError
        The roll chosen cannot be used.
    """
    chosen = output or Output()
    endings = page_endings(chosen)
    sheaves = []
    for index, ending in enumerate(endings):
        report(index / len(endings), f"{sheet.panel}: pages")
        sheaves.append(sheaf_of_panel(sheet, ending, chosen, stem=stem))
    report(1.0, f"{sheet.panel}: pages made")
    return tuple(sheaves)


def plate_page_endings(output: Output) -> tuple[str, ...]:
    """Return the endings of the names of one plate's page files."""
    return (".pdf", *dict.fromkeys(f"_{paper.key}.pdf" for paper in output.papers))


def sheaf_of_plate(plate: Plate, ending: str, output: Output, *, stem: str | None = None) -> Sheaf:
    """Return the pages of one file of a plate, by the ending of its name.

    Raises
    ------
    TooLargeForPaperError, BadPaperError
    """
    check_fits_paper(plate.name, plate.outline)
    papers: dict[str, Paper] = {f"_{paper.key}.pdf": paper for paper in output.papers}
    if ending in papers:
        pages = tiled(plate, papers[ending], output)
    else:
        pages = one_piece_pages(plate, output)
    start = file_stem(plate.name) if stem is None else stem
    return Sheaf(f"{start}{ending}", f"{plate.job.job}: {plate.name}", tuple(pages))


def sheaves_of_plate(
    plate: Plate, output: Output | None = None, *, stem: str | None = None
) -> tuple[Sheaf, ...]:
    """Return all pages of a plate: in one piece, then in tiles for each paper chosen.

    Raises
    ------
    TooLargeForPaperError, BadPaperError
    """
    chosen = output or Output()
    return tuple(
        sheaf_of_plate(plate, ending, chosen, stem=stem) for ending in plate_page_endings(chosen)
    )


def booklets(
    title: str, plates: Sequence[Plate], made: Sequence[Sheaf], output: Output
) -> tuple[Sheaf, ...]:
    """Return the tiles of several plates bound in one file for each paper chosen.

    Parameters
    ----------
    title : str
        What is bound: its files begin with it.
    plates : sequence of Plate
    made : sequence of Sheaf
        The pages of every one, as `sheaves_of_plate` gives them.
    output : Output
    """
    known = {sheaf.name: sheaf.pages for sheaf in made}
    bound = []
    for paper in dict.fromkeys(output.papers) if plates else ():
        ending = f"_{paper.key}.pdf"
        pieces = [BoundPiece(plate, known[file_stem(plate.name) + ending]) for plate in plates]
        job = plates[0].job
        pages = booklet_pages(title, job, pieces, paper)
        bound.append(Sheaf(title + ending, f"{job.job}: {title}, {paper.name}", tuple(pages)))
    return tuple(bound)


def sheaves_of_job(overview: OverviewSheet, output: Output | None = None) -> tuple[Sheaf, ...]:
    """Return the pages that belong to the whole job: the overview and the printer's check page."""
    chosen = output or Output()
    return (
        Sheaf("overview.pdf", f"{overview.job.job}: overview", tuple(overview_pages(overview))),
        Sheaf("printer check.pdf", "Printer check", tuple(check_pages(chosen))),
    )


def sheaf_of_breaks(sheet: BreaksSheet) -> Sheaf:
    """Return the page of break-ups side by side."""
    return Sheaf("breaks.pdf", f"{sheet.job.job}: break-ups", tuple(breaks_pages(sheet)))


def sheaf_of_seat(sheet: SeatSheet) -> Sheaf:
    """Return the page of a tank's seat face."""
    return Sheaf("seat face.pdf", f"{sheet.job.job}: seat face", tuple(seat_pages(sheet)))


def sheaf_of_frame(sheet: FrameSheet) -> Sheaf:
    """Return the list of gaps between a tank and what it stands beside."""
    return Sheaf("frame fit.pdf", f"{sheet.job.job}: frame fit", tuple(frame_pages(sheet)))


def sheaf_of_gauges(sheet: GaugeSheet) -> Sheaf:
    """Return the list of a tank's gauges."""
    return Sheaf("gauges.pdf", f"{sheet.job.job}: gauges", tuple(gauge_pages(sheet)))


def sheaf_of_tunnel(sheet: TunnelPageSheet) -> Sheaf:
    """Return the page of the tunnel."""
    return Sheaf("tunnel.pdf", f"{sheet.job.job}: tunnel", tuple(tunnel_pages(sheet)))


def sheaf_of_tapes(sheet: TapeSheet) -> Sheaf:
    """Return the pages of the tape table."""
    pages = tuple(tape_table_pages(sheet))
    return Sheaf("tape table.pdf", f"{sheet.job.job}: tape table", pages)


def sheaf_of_capacity(sheet: CapacitySheet) -> Sheaf:
    """Return the page of what the tank holds."""
    return Sheaf("capacity.pdf", f"{sheet.job.job}: capacity", tuple(capacity_pages(sheet)))


def sheaf_of_fittings(sheet: FittingsSheet) -> Sheaf:
    """Return the page of filler, bosses and threads."""
    return Sheaf("fittings.pdf", f"{sheet.job.job}: fittings", tuple(fittings_pages(sheet)))


def sheaf_of_flanges(sheet: FlangeSheet) -> Sheaf:
    """Return the run sheets of flanges."""
    return Sheaf("flanges.pdf", f"{sheet.job.job}: flanges", tuple(flange_pages(sheet)))


def sheaf_of_card(sheet: CardSheet) -> Sheaf:
    """Return the job card, its cautions behind it."""
    return Sheaf("job card.pdf", f"{sheet.job.job}: job card", tuple(job_card_pages(sheet)))
