"""The job card: stages, panels and what was measured on them, sheet and cost; cautions behind.

It is filled in with a pencil: what the job knows is printed, what it does not has a box or a line.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.exports.drawing import (
    A4,
    BLACK,
    Drawing,
    Fill,
    Line,
    Meaning,
    Page,
    Placed,
    Text,
    fitted,
    rectangle,
    straight,
    text_width,
    together,
)
from app.exports.facts import JobFacts
from app.exports.pages.cautions import ALL_CAUTIONS, DEFER, LINES, leak_words, pressure_steps
from app.exports.pages.title import Cell, paragraph, stacked
from app.exports.words import CAUTION, revision_words, sheet_words
from app.job import JobCard, PanelCard, Price, Reading, Stage, next_step, next_step_words
from app.units import area_text, counted, mass_text, plain_number, size_text, thickness_text
from geometry.metal import STOCK_SHEETS, SheetUse, StockSheet

_MARGIN_MM = 10.0
_HEAD_MM = 26.0
_TEXT_MM = 2.5
_STAGES_MM = 62.0
_WAITING_MM = 40.0
"""Where the rule after a stage begins, for what it waits for; a long name pushes it on."""

_LEAST_PEN_MM = 12.0
_GAP_MM = 6.0
_STAGE_ROW_MM = 6.2
_BOX_MM = 3.6
_ANNEAL_BOXES = 5
_LINES_MM = 6.5
"""Between lines to write on."""

_NOTE_LINES = 3
_AT_STAGE = "now at stage:"


@dataclass(frozen=True, eq=False)
class CardSheet:
    """What the job card is made from.

    Attributes
    ----------
    job : JobFacts
    card : JobCard
    panels : tuple of str
        All the job has, in its order.
    sheets : tuple of SheetUse
        What is cut from each sheet, the tank's own first, as `sheets_of_job` gives it; none while
        nothing is laid out, or no density is known.
    price : Price or None
    largest_face : (str, float) or None
        The panel on which pressure pushes hardest, and with how many newtons at 1 psi.
    """

    job: JobFacts
    card: JobCard
    panels: tuple[str, ...]
    sheets: tuple[SheetUse, ...] = ()
    price: Price | None = None
    largest_face: tuple[str, float] | None = None


def job_card_pages(sheet: CardSheet) -> list[Page]:
    """Return the job card: upright A4, as many pages as it needs, the cautions behind them."""
    width = A4[0] - 2 * _MARGIN_MM
    stages = [_stage_head(), *(_stage_row(stage) for stage in sheet.card.stages)]
    stages.append(_hours_block(sheet, _STAGES_MM))
    panels = [_panel_block(sheet, name, width - _STAGES_MM - _GAP_MM) for name in _all(sheet)]
    closing = [_sheet_block(sheet, width)]
    foot = _front_foot(sheet, width)
    room = A4[1] - 2 * _MARGIN_MM - _HEAD_MM - foot.height_mm
    fronts: list[list[Placed]] = []
    while stages or panels or closing:
        left, stages = _fitting(stages, room)
        right, panels = _fitting(panels, room)
        down = max(left.height_mm, right.height_mm)
        contents = [
            Placed(left.drawing, _MARGIN_MM, _top() - _HEAD_MM),
            Placed(right.drawing, _MARGIN_MM + _STAGES_MM + _GAP_MM, _top() - _HEAD_MM),
        ]
        if not stages and not panels:
            below, closing = _fitting(closing, room - down)
            contents.append(Placed(below.drawing, _MARGIN_MM, _top() - _HEAD_MM - down))
        fronts.append(contents)
    count = len(fronts) + 1
    pages = [
        Page(
            *A4,
            (
                Placed(_head(sheet, f"sheet {number} of {count}", width), _MARGIN_MM, _top()),
                *contents,
                Placed(foot.drawing, _MARGIN_MM, _MARGIN_MM + foot.height_mm),
            ),
        )
        for number, contents in enumerate(fronts, start=1)
    ]
    return [*pages, _back(sheet, f"sheet {count} of {count}", width)]


def _top() -> float:
    return A4[1] - _MARGIN_MM


def _all(sheet: CardSheet) -> tuple[str, ...]:
    """Return the job's panels, then those only the card knows."""
    return tuple(dict.fromkeys([*sheet.panels, *(each.panel for each in sheet.card.panels)]))


def _fitting(cells: Sequence[Cell], room_mm: float) -> tuple[Cell, list[Cell]]:
    """Return as many cells as fit one under another, at least one on a whole page; and the rest."""
    used, count = 0.0, 0
    for cell in cells:
        if used + cell.height_mm > room_mm and (count or room_mm < 150.0):
            break
        used += cell.height_mm
        count += 1
    return stacked(cells[:count]), list(cells[count:])


def _head(sheet: CardSheet, page: str, width_mm: float) -> Drawing:
    job = sheet.job
    facts = "   ".join(each for each in (job.model, sheet_words(job)) if each)
    step = next_step(sheet.card)
    doing = step is not None and step.state == "doing"
    words = f"NOW: {step.name}" if step and doing else f"NEXT: {next_step_words(sheet.card)}"
    return Drawing(
        (straight(0.0, -_HEAD_MM + 2.0, width_mm, -_HEAD_MM + 2.0),),
        (
            Text(fitted(f"JOB CARD  {job.job}", width_mm - 26.0, 4.5), (0.0, -5.0), 4.5, bold=True),
            Text(page, (width_mm, -5.0), _TEXT_MM, "end"),
            Text(fitted(facts, width_mm, _TEXT_MM), (0.0, -10.0), _TEXT_MM),
            Text(fitted(revision_words(job), width_mm, _TEXT_MM), (0.0, -14.2), _TEXT_MM),
            Text(fitted(words, width_mm, 4.0), (0.0, -21.5), 4.0, bold=True),
        ),
    )


def _stage_head() -> Cell:
    """Return what the rules after the stages are for."""
    stage = Text("stage", (6.0, -3.4), _TEXT_MM, bold=True)
    waits = Text("waiting for", (_WAITING_MM, -3.4), _TEXT_MM, bold=True)
    return Cell(Drawing(texts=(stage, waits)), 4.6)


def _stage_row(stage: Stage) -> Cell:
    """Return a box and a stage; ticked when done, half black while it is being done."""
    box = _tick_box(0.0, -5.0, filled=stage.state)
    bold = stage.state == "doing"
    words = fitted(stage.name, _STAGES_MM - 6.0 - _LEAST_PEN_MM, 2.7)
    name = Text(words, (6.0, -4.6), 2.7, bold=bold)
    if stage.state != "waiting":
        left = max(_WAITING_MM, 6.0 + text_width(words, 2.7, bold=bold) + 1.5)
        pen = straight(left, -5.0, _STAGES_MM, -5.0, Meaning.GRID)
        return Cell(together([box, Drawing((pen,), (name,))]), _STAGE_ROW_MM)
    waits = f"waiting for {stage.waiting_for}" if stage.waiting_for else "waiting"
    told = Text(fitted(waits, _STAGES_MM - 8.0, _TEXT_MM), (6.0, -9.0), _TEXT_MM, bold=True)
    return Cell(together([box, Drawing(texts=(name, told))]), _STAGE_ROW_MM + 4.4)


def _tick_box(x: float, y: float, *, filled: str = "to do") -> Drawing:
    side = _BOX_MM
    lines = [rectangle(x, y, x + side, y + side)]
    if filled == "done":
        lines += [
            straight(x, y, x + side, y + side, Meaning.BAR),
            straight(x, y + side, x + side, y, Meaning.BAR),
        ]
    fills: list[Fill] = []
    if filled == "doing":
        fills.append(Fill((np.array([[x, y], [x + side, y], [x, y + side]]),), BLACK))
    if filled == "waiting":
        lines.append(straight(x, y + side / 2.0, x + side, y + side / 2.0, Meaning.BAR))
    return Drawing(tuple(lines), fills=tuple(fills))


def _panel_block(sheet: CardSheet, name: str, width_mm: float) -> Cell:
    """Return a panel: stage, anneals, readings, hours and metal, each with room to write."""
    panel, show = sheet.card.panel_card(name), sheet.job.show
    rows = [
        _name_row(name, panel, width_mm),
        _anneal_row(panel, width_mm),
        _readings_row("thickness", panel.thickness, width_mm, show),
        _readings_row("gaps", panel.gaps, width_mm, show),
        _metal_row(sheet, panel, width_mm),
    ]
    if panel.note:
        rows.append(paragraph([panel.note], width_mm, _TEXT_MM))
    block = stacked(rows)
    rule = straight(0.0, -block.height_mm - 1.0, width_mm, -block.height_mm - 1.0, Meaning.GRID)
    return Cell(together([block.drawing, Drawing((rule,))]), block.height_mm + 2.6)


def _name_row(name: str, panel: PanelCard, width_mm: float) -> Cell:
    texts = [Text(fitted(name.upper(), 0.48 * width_mm, 3.2), (0.0, -4.6), 3.2, bold=True)]
    lines: list[Line] = []
    at = 0.5 * width_mm
    if panel.stage:
        words = fitted(f"{_AT_STAGE} {panel.stage}", width_mm - at, _TEXT_MM)
        texts.append(Text(words, (at, -4.6), _TEXT_MM))
    else:
        texts.append(Text(_AT_STAGE, (at, -4.6), _TEXT_MM))
        left = at + text_width(_AT_STAGE, _TEXT_MM) + 1.5
        lines.append(straight(left, -5.2, width_mm, -5.2, Meaning.GRID))
    return Cell(Drawing(tuple(lines), tuple(texts)), 6.4)


def _anneal_row(panel: PanelCard, width_mm: float) -> Cell:
    """Return a box for each anneal: those done ticked, a few more to come."""
    shown = min(panel.anneals, 14)
    words = "anneals" if shown == panel.anneals else f"anneals ({panel.anneals})"
    left = 24.0
    count = min(max(_ANNEAL_BOXES, shown + 3), int((width_mm - left) // (_BOX_MM + 1.6)))
    boxes = [
        _tick_box(left + k * (_BOX_MM + 1.6), -4.6, filled="done" if k < panel.anneals else "to do")
        for k in range(count)
    ]
    return Cell(together([Drawing(texts=(Text(words, (0.0, -4.2), _TEXT_MM),)), *boxes]), 5.6)


def _readings_row(what: str, readings: Sequence[Reading], width_mm: float, show: str) -> Cell:
    """Return what was read, and a line to write more on."""
    told = "; ".join(
        f"{each.place}: {thickness_text(each.mm, show)}".removeprefix(": ") for each in readings
    )
    left = 24.0
    text = paragraph([told], width_mm - left, _TEXT_MM) if told else Cell(Drawing(), 0.0)
    line_at = -max(text.height_mm, 0.0) - 4.9
    parts = [
        Drawing(
            (straight(left, line_at, width_mm, line_at, Meaning.GRID),),
            (Text(what, (0.0, -4.2), _TEXT_MM),),
        ),
        text.drawing.moved(left, 0.0),
    ]
    return Cell(together(parts), -line_at + 0.7)


def _metal_row(sheet: CardSheet, panel: PanelCard, width_mm: float) -> Cell:
    """Return hours, and the metal: what was taken if anybody said, else what the blank takes."""
    show = sheet.job.show
    blank = _blank_words(sheet, panel, show)
    hours = f"hours {plain_number(panel.hours, 2)} +" if panel.hours else "hours"
    reach = text_width(hours, _TEXT_MM) + 1.5
    texts = [Text(hours, (0.0, -4.2), _TEXT_MM), Text(blank, (42.0, -4.2), _TEXT_MM)]
    lines = [straight(reach, -4.9, 38.0, -4.9, Meaning.GRID)]
    end = 42.0 + text_width(blank, _TEXT_MM) + 1.5
    if end < width_mm - 10.0:
        lines.append(straight(end, -4.9, width_mm, -4.9, Meaning.GRID))
    return Cell(Drawing(tuple(lines), tuple(texts)), 5.8)


def _blank_words(sheet: CardSheet, panel: PanelCard, show: str) -> str:
    if panel.metal_mm2:
        return f"metal used {area_text(panel.metal_mm2, show)}"
    for use in sheet.sheets:
        for blank in use.blanks:
            if blank.name == panel.panel:
                return f"blank {mass_text(use.kg(blank.blank_mm2), show)}, metal used"
    return "metal used"


def _sheet_block(sheet: CardSheet, width_mm: float) -> Cell:
    """Return what sheet the job takes: weight, rectangles, stock sheets, money."""
    heading = paragraph(["SHEET"], width_mm, 2.9, bold=True)
    if not sheet.sheets:
        words = "No blanks yet, or no density for this metal: nothing to weigh."
        return stacked([heading, paragraph([words], width_mm, _TEXT_MM)])
    show = sheet.job.show
    rows = [words for use in sheet.sheets for words in _sheet_words(sheet, use)]
    used = sum(panel.metal_mm2 for panel in sheet.card.panels)
    if used:
        own = [mass_text(use.kg(used), show) for use in sheet.sheets if _is_own(sheet, use)]
        rows.append(f"Metal used so far: {', '.join([area_text(used, show), *own])}.")
    return stacked([heading, paragraph(rows, width_mm, _TEXT_MM)])


def _is_own(sheet: CardSheet, use: SheetUse) -> bool:
    """Return whether a sheet is the one the tank's panels are cut from."""
    return (use.metal.name, use.thickness_mm) == (sheet.job.alloy, sheet.job.thickness_mm)


def _sheet_words(sheet: CardSheet, use: SheetUse) -> list[str]:
    """Return what one sheet is for, what its pieces weigh, how much of it they cover and cost."""
    show = sheet.job.show
    largest = max(use.blanks, key=lambda blank: blank.rectangle_mm2)
    besides = [blank.name for blank in use.blanks if blank.name not in sheet.panels]
    panels = counted(len(use.blanks) - len(besides), "panel")
    names = ", ".join([panels] * (len(besides) < len(use.blanks)) + besides)
    rows = [
        f"{use.metal.name}, {thickness_text(use.thickness_mm, show)}: {names}. "
        f"Cut out {mass_text(use.blank_kg, show)}; rectangles about them "
        f"{mass_text(use.rectangle_kg, show)}, {area_text(use.rectangle_mm2, show)}; the largest, "
        f"{largest.name}, {size_text(largest.width_mm, largest.height_mm, show)}.",
        "Share of a sheet, by area alone (grain and offcuts may ask for more): "
        + "; ".join(_share_words(use, stock, show) for stock in STOCK_SHEETS)
        + ".",
    ]
    return rows + (_cost_words(sheet, use) if _is_own(sheet, use) else [])


def _share_words(use: SheetUse, stock: StockSheet, show: str) -> str:
    """Return a stock sheet, what it weighs and how much of it the rectangles cover."""
    weight = mass_text(use.kg(stock.area_mm2), show).replace(" (", ", ").removesuffix(")")
    words = f"{stock.name} ({weight}) takes {_of_hundred(use.share_of(stock))}"
    return words if use.fits(stock) else f"{words}, but one blank is too long for it"


def _of_hundred(share: float) -> str:
    """Return how much of a sheet is covered; of sheets, where one does not do.

    >>> _of_hundred(0.2), _of_hundred(1.37)
    ('20 of every 100', '1.37 sheets')
    """
    return f"{100.0 * share:.0f} of every 100" if share <= 1.0 else f"{share:.2f} sheets"


def _cost_words(sheet: CardSheet, use: SheetUse) -> list[str]:
    if sheet.price is None:
        return []
    price = sheet.price
    cost = use.cost(price.amount, price.per)
    by = "4 x 8 ft sheet" if price.per == "sheet" else price.per
    money = f"{price.currency} {cost:.2f}".strip()
    each = f"{price.currency} {price.amount:.2f}".strip()
    return [f"Cost of the rectangles: {money}, at {each} a {by}."]


def _hours_block(sheet: CardSheet, width_mm: float) -> Cell:
    """Return the hours altogether, the note, and lines for more."""
    card = sheet.card
    told = f"HOURS altogether {plain_number(card.all_hours, 2)}" if card.all_hours else "HOURS"
    hours = Text(told, (0.0, -8.0), 2.9, bold=True)
    left = text_width(told, 2.9, bold=True) + 2.0
    rule = straight(left, -8.6, max(left, width_mm), -8.6, Meaning.GRID)
    note = paragraph([card.note], width_mm, _TEXT_MM) if card.note else Cell(Drawing(), 0.0)
    down = 16.5 + note.height_mm
    lines = [
        straight(0.0, -down - _LINES_MM * row, width_mm, -down - _LINES_MM * row, Meaning.GRID)
        for row in range(1, _NOTE_LINES + 1)
    ]
    heading = Text("NOTES", (0.0, -15.5), 2.9, bold=True)
    parts = [Drawing((rule, *lines), (hours, heading)), note.drawing.moved(0.0, -16.5)]
    return Cell(together(parts), down + _LINES_MM * _NOTE_LINES + 2.0)


def _front_foot(sheet: CardSheet, width_mm: float) -> Cell:
    """Return the cautions that bite on this job, one line each, hanging from (0, 0)."""
    lines = list(LINES)
    if sheet.largest_face is not None:
        lines.insert(2, leak_words(*sheet.largest_face, sheet.job.show))
    rule = Cell(Drawing((straight(0.0, 0.0, width_mm, 0.0),)), 1.0)
    return stacked(
        [
            rule,
            paragraph(lines, width_mm, _TEXT_MM),
            paragraph([CAUTION], width_mm, _TEXT_MM, bold=True),
        ]
    )


def _back(sheet: CardSheet, page: str, width_mm: float) -> Page:
    """Return the back of the card: every caution, and what they come second to."""
    parts = [
        paragraph(["CAUTIONS"], width_mm - 30.0, 4.5, bold=True),
        paragraph([DEFER], width_mm, 2.7, bold=True),
    ]
    for caution in ALL_CAUTIONS:
        words = [caution.words]
        if caution.heading == "Pressure test":
            words.append(pressure_steps())
            if sheet.largest_face is not None:
                words.append(leak_words(*sheet.largest_face, sheet.job.show))
        parts.append(_caution(caution.heading, words, width_mm))
    parts.append(paragraph([CAUTION], width_mm, _TEXT_MM, bold=True))
    body = stacked(parts)
    told = Text(page, (width_mm, -5.0), _TEXT_MM, "end")
    name = Text(fitted(sheet.job.job, 100.0, _TEXT_MM), (width_mm - 30.0, -5.0), _TEXT_MM, "end")
    drawing = together([body.drawing, Drawing(texts=(told, name))])
    return Page(*A4, (Placed(drawing, _MARGIN_MM, _top()),))


def _caution(heading: str, words: Sequence[str], width_mm: float) -> Cell:
    left = 36.0
    body = paragraph(words, width_mm - left, _TEXT_MM)
    title = paragraph([heading], left - 2.0, _TEXT_MM, bold=True)
    return Cell(
        together([title.drawing, body.drawing.moved(left, 0.0)]),
        max(title.height_mm, body.height_mm) + 1.2,
    )
