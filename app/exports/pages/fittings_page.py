"""Filler, taps and vents on one page: what each asks for, and the threads with their drills."""

from dataclasses import dataclass

from app.exports.drawing import Drawing, Meaning, Page, Text, straight
from app.exports.facts import JobFacts
from app.exports.pages.capacity_page import fuel_foot
from app.exports.pages.reduced_page import TEXT_MM, WIDE_MM, room_mm, ruled_head, titled_pages
from app.exports.pages.title import Cell, paragraph, stacked
from app.job import (
    Fitted,
    StoodTank,
    boss_words,
    filler_words,
    guessed_words,
    old_filler_words,
    on_cap_words,
    stands_words,
)
from app.units import decimal_inch_text, plain_number
from geometry.tank import HOW_KNOWN, THREADS, Thread

_ROW_MM = 3.6
_COLUMNS_MM = (0.0, 22.0, 52.0, 82.0, 101.0, 117.0, 160.0)
_NAMES = ("thread", "major", "minor", "pitch mm", "per inch", "drill", "thread it leaves")


@dataclass(frozen=True, eq=False)
class FittingsSheet:
    """What the page is made from.

    Attributes
    ----------
    job : JobFacts
    fitted : Fitted
    stood : StoodTank
        What is not sure of how the tank stands is told.
    """

    job: JobFacts
    fitted: Fitted
    stood: StoodTank


def fittings_pages(sheet: FittingsSheet) -> list[Page]:
    """Return the page, upright A4; the threads go on a second one where they find no room."""
    head, foot = ruled_head(sheet.job, "FITTINGS"), fuel_foot(sheet.job)
    words, threads = _words(sheet), _threads(sheet.fitted)
    fits = words.height_mm + threads.height_mm <= room_mm(head, foot)
    groups = [[words, threads]] if fits else [[words], [threads]]
    return titled_pages(sheet.job, ("FITTINGS", "THREADS"), groups, foot)


def _words(sheet: FittingsSheet) -> Cell:
    fitted, show = sheet.fitted, sheet.job.show
    cells = [paragraph(stands_words(sheet.stood), WIDE_MM, TEXT_MM, bold=True)]
    if fitted.filler is not None:
        cells.append(paragraph(["FILLER"], WIDE_MM, 3.0, bold=True))
        cells.append(paragraph(filler_words(fitted.filler, show), WIDE_MM, TEXT_MM))
    if fitted.old is not None:
        cells.append(paragraph(["OLD FILLER HOLE"], WIDE_MM, 3.0, bold=True))
        cells.append(paragraph(old_filler_words(fitted.old, show), WIDE_MM, TEXT_MM))
    if fitted.bosses:
        cells.append(paragraph(["BOSSES"], WIDE_MM, 3.0, bold=True))
        rows = [boss_words(boss, show) for boss in fitted.bosses]
        rows.append(
            "Cut every hole after forming. Blind tapped holes keep a screw from weeping. Mount on "
            "rubber and spread the load with doublers: common practice, no source."
        )
        cells.append(paragraph(rows, WIDE_MM, TEXT_MM))
    unsure = [*guessed_words(fitted), *on_cap_words(fitted)]
    cells.append(paragraph(unsure, WIDE_MM, TEXT_MM, bold=True))
    return stacked(cells)


def _threads(fitted: Fitted) -> Cell:
    """Return the table of threads, those used in bold, and where its figures are from."""
    used = {boss.thread.name for boss in fitted.bosses}
    rows = [_NAMES, *(_thread_row(thread) for thread in THREADS)]
    texts = [
        Text(word, (x, -_ROW_MM * (number + 1) + 1.0), TEXT_MM, bold=not number or row[0] in used)
        for number, row in enumerate(rows)
        for word, x in zip(row, _COLUMNS_MM, strict=True)
    ]
    rules = tuple(
        straight(0.0, -_ROW_MM * n, WIDE_MM, -_ROW_MM * n, Meaning.GRID)
        for n in range(1, len(rows) + 1)
    )
    table = Cell(Drawing(rules, tuple(texts)), _ROW_MM * len(rows) + 2.0)
    told = ["Bold: used on this job."] if used else []
    told += [f"{kind}: {how}." for kind, how in HOW_KNOWN]
    known = paragraph(told, WIDE_MM, TEXT_MM)
    return stacked([paragraph(["THREADS"], WIDE_MM, 3.0, bold=True), table, known])


def _thread_row(thread: Thread) -> tuple[str, ...]:
    def both(length_mm: float) -> str:
        inches = decimal_inch_text(length_mm).removesuffix(" in")
        return f"{plain_number(length_mm, 2)} ({inches})"

    drill = thread.drill_name or decimal_inch_text(thread.drill_mm)
    return (
        thread.name,
        both(thread.major_mm),
        both(thread.minor_mm),
        f"{thread.pitch_mm:.3f}",
        plain_number(thread.per_inch, 1),
        f"{plain_number(thread.drill_mm, 2)} mm ({drill})",
        _left(thread.depth_left),
    )


def _left(depth_left: float | None) -> str:
    return "taper" if depth_left is None else f"{plain_number(100.0 * depth_left, 0)} of 100"
