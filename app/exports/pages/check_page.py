"""The printer's check page: two long bars to measure, from which its correction is worked out."""

from dataclasses import replace

import numpy as np

from app.exports.drawing import (
    Drawing,
    Line,
    Meaning,
    Page,
    Placed,
    Text,
    scaled,
    straight,
    together,
    wrapped,
)
from app.exports.output import (
    Correction,
    Output,
    Paper,
    checked_lengths,
    checked_roll,
    roll_paper,
)
from app.exports.pages.tile_block import correction_words
from app.exports.pages.title import bars
from app.units import fraction_text, mm_text

_LEVEL_UP_MM = 12.0
_UPRIGHT_IN_MM = 12.0
_TEXT_MM = 3.5
_HEADING_MM = 6.0
_END_TICK_MM = 5.0
_VERNIER_STEP_MM = 1.1
_VERNIER_TICKS = 10
_TEXT_LEFT_MM = 36.0


def check_pages(output: Output) -> list[Page]:
    """Return a check page for each paper that is used, and one for the roll."""
    papers = list(output.papers)
    if output.roll_mm is not None:
        papers.append(roll_paper(checked_roll(output.roll_mm)))
    count = len(papers)
    return [
        check_page(paper, output.correction, f"sheet {index + 1} of {count}")
        for index, paper in enumerate(papers)
    ]


def check_page(paper: Paper, correction: Correction, numbered: str) -> Page:
    """Return the page for one paper: a level and an upright bar, and what to do with them."""
    lengths = checked_lengths(paper)
    across, up = correction.x, correction.y
    x = (paper.width_mm - lengths[0] * across) / 2.0
    y = (paper.height_mm - lengths[1] * up) / 2.0
    level, upright = (
        scaled(_long_bar(length, vertical=vertical), across, up)
        for length, vertical in zip(lengths, (False, True), strict=True)
    )
    short, tall = (scaled(bars(vertical=way), across, up) for way in (False, True))
    left, foot = x + _TEXT_LEFT_MM, y + _LEVEL_UP_MM + 14.0
    wide = paper.width_mm - x - left - 4.0
    said = _words(paper, correction, numbered, wide)
    return Page(
        paper.width_mm,
        paper.height_mm,
        (
            Placed(level, x, y + _LEVEL_UP_MM),
            Placed(upright, x + _UPRIGHT_IN_MM, y),
            Placed(said, left, paper.height_mm - y - 4.0),
            Placed(short, left, foot),
            Placed(tall, x + _UPRIGHT_IN_MM + 10.0, foot + 10.0),
        ),
    )


def _long_bar(length_mm: float, *, vertical: bool) -> Drawing:
    """Return a bar from (0, 0) along x or y, a tick every 10 mm on one side, tenths on the other.

    The small ticks before the end stand 1.1 mm apart: the one that meets a line of a rule laid
    along the bar tells tenths, as on a vernier: length = n + f, tick k at n + f - 1.1 k, which
    is a whole number of millimetres where f = 0.1 k.
    """
    pieces = [np.array([[0.0, 0.0], [length_mm, 0.0]])]
    pieces += [np.array([[end, -_END_TICK_MM], [end, _END_TICK_MM]]) for end in (0.0, length_mm)]
    for tick in np.arange(10.0, length_mm - 1e-9, 10.0):
        reach = 2.4 if round(tick) % 50 == 0 else 1.4
        pieces.append(np.array([[tick, 0.0], [tick, reach]]))
    texts = []
    for count in range(1, _VERNIER_TICKS + 1):
        at = length_mm - _VERNIER_STEP_MM * count
        pieces.append(np.array([[at, -3.2 if count % 5 == 0 else -2.0], [at, 0.0]]))
        if count % 5 == 0:
            texts.append(Text("5" if count == 5 else "10", (at, -6.4), 2.5, "middle"))
    words = f"{mm_text(length_mm)} ({fraction_text(length_mm, 32)})"
    texts.append(Text(words, (0.55 * length_mm, 3.6), _TEXT_MM, "middle", bold=True))
    if vertical:
        turned = [np.stack([-piece[:, 1], piece[:, 0]], axis=1) for piece in pieces]
        texts = [
            replace(text, place=(-text.place[1], text.place[0]), angle_deg=90.0) for text in texts
        ]
        pieces = turned
    return Drawing(tuple(Line(Meaning.BAR, piece) for piece in pieces), tuple(texts))


def _words(paper: Paper, correction: Correction, numbered: str, width_mm: float) -> Drawing:
    """Return what to do, step by step, hanging down from (0, 0)."""
    level, upright = (mm_text(length) for length in checked_lengths(paper))
    heading = f"PRINTER CHECK for {paper.name}, {numbered}"
    steps = (
        'Print this page at 100 % (actual size), never "fit to page", on the paper and the '
        "printer the patterns will be printed with.",
        "Lay a steel rule along the level bar, on the side of the wide ticks, its zero on the "
        f"first long tick. Read it at the last long tick. Drawn: {level}.",
        "Tenths of a millimetre: of the ten small ticks before the end, find the one that meets a "
        "line of the rule. Count back from the end: the first is .1, the fifth .5.",
        f"Measure the upright bar in the same way. Drawn: {upright}.",
        "Type both lengths where the program asks for the printer. Every full-size page is then "
        "drawn by so much larger or smaller, across and up.",
        f"Print this page once more, with the correction: the bars must now measure {level} and "
        f"{upright}. If not, type the new lengths too.",
    )
    closing = (
        correction_words(correction),
        "Good for this printer, this paper and this tray only. More than 3 mm out in 100 mm is no "
        "printer out of true: look at its settings.",
    )
    texts = [Text(heading, (0.0, -_HEADING_MM), _HEADING_MM, bold=True)]
    size = min(_HEADING_MM, _HEADING_MM * width_mm / texts[0].width_mm)
    texts[0] = replace(texts[0], height_mm=size)
    down = 2.6 * _HEADING_MM
    for number, step in enumerate(steps, 1):
        texts.append(Text(f"{number}.", (0.0, -down), _TEXT_MM, bold=True))
        for row in wrapped(step, width_mm - 8.0, _TEXT_MM):
            texts.append(Text(row, (8.0, -down), _TEXT_MM))
            down += 1.65 * _TEXT_MM
        down += 0.6 * _TEXT_MM
    for words in closing:
        for row in wrapped(words, width_mm, _TEXT_MM, bold=True):
            texts.append(Text(row, (0.0, -down), _TEXT_MM, bold=True))
            down += 1.65 * _TEXT_MM
        down += 0.6 * _TEXT_MM
    return together([Drawing(texts=tuple(texts)), _blanks(width_mm, down + 6.0)])


def _blanks(width_mm: float, down_mm: float) -> Drawing:
    """Return lines to write on: what was measured, on which printer, when."""
    lines, texts = [], []
    fields = (("Level, mm:", "Upright, mm:"), ("Printer:", "Date:"))
    for row, pair in enumerate(fields):
        for column, words in enumerate(pair):
            x, y = column * width_mm / 2.0, -down_mm - 11.0 * row
            texts.append(Text(words, (x, y), _TEXT_MM))
            start = x + texts[-1].width_mm + 2.0
            lines.append(straight(start, y - 1.0, x + width_mm / 2.0 - 4.0, y - 1.0))
    return Drawing(tuple(lines), tuple(texts))
