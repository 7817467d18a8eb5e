"""Files of a panel and of a job: made whole in memory, then moved into place one by one."""

import os
import re
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from app.exports.facts import OverviewSheet, PanelSheet, reason_not_to_cut, told_of
from app.exports.files import csv_bytes, dxf_bytes, pdf_bytes, svg_bytes
from app.exports.marks import top_up
from app.exports.output import PAPERS, Output
from app.exports.pages import shape_png
from app.exports.plate import Plate
from app.exports.sheaves import (
    Sheaf,
    booklets,
    check_has_size,
    file_stem,
    page_endings,
    plate_page_endings,
    sheaf_of_panel,
    sheaves_of_job,
    sheaves_of_plate,
)
from geometry.progress import Report, silent


class FileInTheWayError(Exception):
    """Files of these names are there already, and replacing was not asked for.

    Attributes
    ----------
    paths : tuple of Path
    """

    def __init__(self, paths: tuple[Path, ...]) -> None:
        self.paths = paths
        super().__init__(f"{len(paths)} files are there already, first {paths[0].name}")


def panel_file_names(
    sheet: PanelSheet, output: Output | None = None, *, stem: str | None = None
) -> tuple[str, ...]:
    """Return the names `write_panel` will use, a cutting file only where cutting is allowed.

    While the size is not proved only PDF leaves.
    """
    start = stem or file_stem(sheet.panel)
    return tuple(start + ending for ending in _endings(sheet, output or Output()))


def _endings(sheet: PanelSheet, output: Output) -> tuple[str, ...]:
    """Return the endings of all files, pages first."""
    pages = page_endings(output)
    if not sheet.job.size_proved:
        return pages
    cutting = [".dxf", ".svg"] if reason_not_to_cut(sheet) is None else []
    return (*pages, *cutting, ".csv", "_shape.png")


def write_panel(
    sheet: PanelSheet,
    directory: Path,
    output: Output | None = None,
    *,
    stem: str | None = None,
    replace: bool = False,
    report: Report = silent,
) -> tuple[Path, ...]:
    """Write every file of one panel and return their paths.

    All are made before the first is moved into place. When replacing, earlier files of the panel
    that are not made any more are removed, as they would be out of date: cutting files where
    cutting is not allowed now, and tiles for papers that are not chosen.

    Parameters
    ----------
    sheet : PanelSheet
    directory : Path
        Made if it is not there.
    output : Output, optional
        Which files, for which papers and printer.
    stem : str, optional
        How file names start; the panel's name made safe if not given.
    replace : bool
    report : Report

    Raises
    ------
    FileInTheWayError
        A file of one of the names is there and `replace` is false; nothing is written.
    NothingToPrintError
        The panel has no size.
    BadPaperError
        The roll chosen cannot be used.
    """
    start = stem or file_stem(sheet.panel)
    names = panel_file_names(told_of(sheet), output, stem=start)
    stale = [directory / f"{start}{ending}" for ending in (".dxf", ".svg", ".csv", "_shape.png")]
    taken = dict.fromkeys([*names, *(path.name for path in stale)])
    _check_free(directory, tuple(taken), replace=replace)
    made = panel_files(sheet, output, stem=start, report=report)
    paths = _move_into_place(directory, made)
    for path in [*stale, *_earlier_tiles(directory, start)]:
        if path.name not in names:
            path.unlink(missing_ok=True)
    report(1.0, f"{sheet.panel}: files written")
    return paths


def _earlier_tiles(directory: Path, start: str) -> list[Path]:
    """Return tiles of a panel that are there, for any paper."""
    known = {f"{start}_{paper.key}.pdf" for paper in PAPERS}
    sized = re.compile(re.escape(start) + r"_[\d.]+(mm|in)?x[\d.]+(mm|in)\.pdf")
    return [
        path
        for path in sorted(directory.iterdir())
        if path.name in known or sized.fullmatch(path.name)
    ]


def panel_files(
    sheet: PanelSheet,
    output: Output | None = None,
    *,
    stem: str | None = None,
    composed: Sequence[Sheaf] = (),
    report: Report = silent,
) -> dict[str, bytes]:
    """Return every file of one panel by its name, a cutting file only where cutting is allowed.

    Parameters
    ----------
    sheet : PanelSheet
    output : Output, optional
        Which files, for which papers and printer.
    stem : str, optional
        How file names start; the panel's name made safe if not given.
    composed : sequence of Sheaf
        Pages of this very sheet and output that were composed before; others are composed here.
    report : Report

    Raises
    ------
    NothingToPrintError, BadPaperError
    """
    check_has_size(sheet)
    chosen, told = output or Output(), top_up(told_of(sheet))
    start = stem or file_stem(sheet.panel)
    others: dict[str, Callable[[], bytes]] = {
        ".dxf": lambda: dxf_bytes(told, chosen.outline, chosen.dxf),
        ".svg": lambda: svg_bytes(told, chosen.outline),
        ".csv": lambda: csv_bytes(told),
        "_shape.png": lambda: shape_png(made[f"{start}_shape.pdf"]),
    }
    endings, known = _endings(told, chosen), {sheaf.name: sheaf for sheaf in composed}
    made: dict[str, bytes] = {}
    for index, ending in enumerate(endings):
        name = start + ending
        report(index / len(endings), f"{sheet.panel}: {name}")
        if ending in others:
            made[name] = others[ending]()
        else:
            sheaf = known.get(name)
            sheaf = sheaf or sheaf_of_panel(sheet, ending, chosen, stem=start)
            made[name] = sheaf_bytes(sheaf)
    report(1.0, f"{sheet.panel}: files made")
    return made


def plate_page_names(
    plate: Plate, output: Output | None = None, *, stem: str | None = None
) -> tuple[str, ...]:
    """Return the names of a plate's files of pages."""
    start = stem or file_stem(plate.name)
    return tuple(start + ending for ending in plate_page_endings(output or Output()))


def plate_file_names(
    plate: Plate, output: Output | None = None, *, stem: str | None = None
) -> tuple[str, ...]:
    """Return the names of a plate's files, cutting files only where cutting is allowed."""
    cutting = (".dxf", ".svg") if plate.no_cut is None and plate.job.size_proved else ()
    start = stem or file_stem(plate.name)
    return (*plate_page_names(plate, output, stem=stem), *(start + each for each in cutting))


def plate_files(
    plate: Plate,
    output: Output | None = None,
    *,
    stem: str | None = None,
    composed: Sequence[Sheaf] = (),
) -> dict[str, bytes]:
    """Return every file of a plate by its name: pages, and cutting files where it may be cut.

    Parameters
    ----------
    plate : Plate
    output : Output, optional
        Which files, for which papers and printer.
    stem : str, optional
        How file names start; the plate's name made safe if not given.
    composed : sequence of Sheaf
        Pages of this very plate and output that were composed before.

    Raises
    ------
    TooLargeForPaperError, BadPaperError
    """
    chosen = output or Output()
    sheaves = composed or sheaves_of_plate(plate, chosen, stem=stem)
    made = {sheaf.name: sheaf_bytes(sheaf) for sheaf in sheaves}
    for name in plate_file_names(plate, chosen, stem=stem):
        if name.endswith(".dxf"):
            made[name] = dxf_bytes(plate, chosen.outline, chosen.dxf)
        elif name.endswith(".svg"):
            made[name] = svg_bytes(plate, chosen.outline)
    return made


def files_of_plates(
    plates: Sequence[Plate],
    output: Output | None = None,
    *,
    booklet: str = "",
    composed: Sequence[Sheaf] = (),
    report: Report = silent,
) -> dict[str, bytes]:
    """Return every file of several plates by its name, and their tiles bound where that is asked.

    Parameters
    ----------
    plates : sequence of Plate
    output : Output, optional
    booklet : str, optional
        How the files begin in which the tiles of all plates are bound, one for each paper; none
        are made if not given.
    composed : sequence of Sheaf
        Pages of these very plates and output that were composed before.
    report : Report

    Raises
    ------
    TooLargeForPaperError, BadPaperError
    """
    chosen = output or Output()
    known = {sheaf.name: sheaf for sheaf in composed}
    pages: list[Sheaf] = []
    made: dict[str, bytes] = {}
    for done, plate in enumerate(plates):
        report(done / len(plates), plate.name)
        names = plate_page_names(plate, chosen)
        own = [known[name] for name in names if name in known]
        own = own if len(own) == len(names) else list(sheaves_of_plate(plate, chosen))
        made |= plate_files(plate, chosen, composed=own)
        pages += own
    if booklet:
        report(1.0, booklet)
        for sheaf in booklets(booklet, plates, pages, chosen):
            made[sheaf.name] = sheaf_bytes(sheaf)
    return made


def sheaf_bytes(sheaf: Sheaf) -> bytes:
    """Return the PDF of a sheaf of pages."""
    return pdf_bytes(sheaf.pages, sheaf.title)


def write_overview(
    overview: OverviewSheet,
    directory: Path,
    output: Output | None = None,
    *,
    replace: bool = False,
) -> Path:
    """Write what belongs to the whole job, and return the path of `overview.pdf`.

    Raises
    ------
    FileInTheWayError
        A file of one of the names is there and `replace` is false.
    """
    made = overview_files(overview, output)
    _check_free(directory, tuple(made), replace=replace)
    return _move_into_place(directory, made)[0]


def overview_files(overview: OverviewSheet, output: Output | None = None) -> dict[str, bytes]:
    """Return what belongs to the whole job by its names: the overview, the printer's check page."""
    return {sheaf.name: sheaf_bytes(sheaf) for sheaf in sheaves_of_job(overview, output)}


def _check_free(directory: Path, names: tuple[str, ...], *, replace: bool) -> None:
    there = tuple(directory / name for name in names if (directory / name).exists())
    if there and not replace:
        raise FileInTheWayError(there)


def _move_into_place(directory: Path, made: Mapping[str, bytes]) -> tuple[Path, ...]:
    directory.mkdir(parents=True, exist_ok=True)
    parts = [(directory / f".{name}.part", directory / name, made[name]) for name in made]
    try:
        for part, _, content in parts:
            part.write_bytes(content)
        for part, path, _ in parts:
            os.replace(part, path)
    finally:
        for part, _, _ in parts:
            part.unlink(missing_ok=True)
    return tuple(path for _, path, _ in parts)
