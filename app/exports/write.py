"""Files of a panel and of a job: made whole in memory, then moved into place one by one."""

import os
import re
from collections.abc import Callable, Mapping
from pathlib import Path

from app.exports.drawing import A4, LETTER
from app.exports.facts import OverviewSheet, PanelSheet, reason_not_to_cut, told_of
from app.exports.files import csv_bytes, dxf_bytes, pdf_bytes
from app.exports.pages import one_piece, overview_pages, shape_page, shape_png, tiled
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


def file_stem(panel: str) -> str:
    """Return a panel's name as the start of a file name: as it is, where every system takes it.

    >>> file_stem("left side"), file_stem("../Seat: rear/2"), file_stem("nul"), file_stem("...")
    ('left side', 'Seat_ rear_2', 'nul panel', 'panel')
    """
    plain = re.sub(r"[^\w .-]+", "_", panel).strip(" ._-")[:60].strip(" ._-")
    reserved = re.fullmatch(r"(?i)con|prn|aux|nul|com\d|lpt\d|overview|summary", plain)
    return f"{plain} panel" if reserved else plain or "panel"


def panel_file_names(sheet: PanelSheet, *, stem: str | None = None) -> tuple[str, ...]:
    """Return the names `write_panel` will use, a cutting file only where cutting is allowed.

    While the size is not proved only PDF leaves.
    """
    start = stem or file_stem(sheet.panel)
    if not sheet.job.size_proved:
        return tuple(start + ending for ending in (".pdf", "_a4.pdf", "_letter.pdf", "_shape.pdf"))
    endings = [".pdf", "_a4.pdf", "_letter.pdf", ".csv", "_shape.pdf", "_shape.png"]
    if reason_not_to_cut(sheet) is None:
        endings.insert(3, ".dxf")
    return tuple(start + ending for ending in endings)


def write_panel(
    sheet: PanelSheet,
    directory: Path,
    *,
    stem: str | None = None,
    replace: bool = False,
    report: Report = silent,
) -> tuple[Path, ...]:
    """Write every file of one panel and return their paths.

    All are made before the first is moved into place. Where cutting is not allowed no cutting
    file is written, and, when replacing, an earlier one of the same name is removed: it would be
    out of date.

    Parameters
    ----------
    sheet : PanelSheet
    directory : Path
        Made if it is not there.
    stem : str, optional
        How file names start; the panel's name made safe if not given.
    replace : bool
    report : Report

    Raises
    ------
    FileInTheWayError
        A file of one of the names is there and `replace` is false; nothing is written.
    PageTooLargeError
        The blank is larger than a PDF page may be.
    """
    start = stem or file_stem(sheet.panel)
    names = panel_file_names(told_of(sheet), stem=start)
    stale = [directory / f"{start}{ending}" for ending in (".dxf", ".csv", "_shape.png")]
    taken = dict.fromkeys([*names, *(path.name for path in stale)])
    _check_free(directory, tuple(taken), replace=replace)
    paths = _move_into_place(directory, panel_files(sheet, stem=start, report=report))
    for path in stale:
        if path.name not in names:
            path.unlink(missing_ok=True)
    report(1.0, f"{sheet.panel}: files written")
    return paths


def panel_files(
    sheet: PanelSheet, *, stem: str | None = None, report: Report = silent
) -> dict[str, bytes]:
    """Return every file of one panel by its name, a cutting file only where cutting is allowed.

    Raises
    ------
    PageTooLargeError
    """
    sheet = told_of(sheet)
    start = stem or file_stem(sheet.panel)
    names = panel_file_names(sheet, stem=start)
    title = f"{sheet.job.job}: {sheet.panel}"
    shape: list[bytes] = []

    def shape_pdf() -> bytes:
        shape.append(pdf_bytes([shape_page(sheet)], title))
        return shape[0]

    makers: dict[str, Callable[[], bytes]] = {
        ".pdf": lambda: pdf_bytes([one_piece(sheet)], title),
        "_a4.pdf": lambda: pdf_bytes(tiled(sheet, A4, "A4"), title),
        "_letter.pdf": lambda: pdf_bytes(tiled(sheet, LETTER, "US Letter"), title),
        ".dxf": lambda: dxf_bytes(sheet),
        ".csv": lambda: csv_bytes(sheet),
        "_shape.pdf": shape_pdf,
        "_shape.png": lambda: shape_png(shape[0]),
    }
    made: dict[str, bytes] = {}
    for index, name in enumerate(names):
        report(index / len(names), f"{sheet.panel}: {name}")
        made[name] = makers[name.removeprefix(start)]()
    report(1.0, f"{sheet.panel}: files made")
    return made


def write_overview(overview: OverviewSheet, directory: Path, *, replace: bool = False) -> Path:
    """Write `overview.pdf` and return its path.

    Raises
    ------
    FileInTheWayError
        It is there and `replace` is false.
    """
    _check_free(directory, ("overview.pdf",), replace=replace)
    return _move_into_place(directory, overview_files(overview))[0]


def overview_files(overview: OverviewSheet) -> dict[str, bytes]:
    """Return `overview.pdf` by its name."""
    content = pdf_bytes(overview_pages(overview), f"{overview.job.job}: overview")
    return {"overview.pdf": content}


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
