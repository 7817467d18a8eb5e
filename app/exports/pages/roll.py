"""A pattern in one piece, for a roll or a page as large as it; in joined strips where it must."""

from dataclasses import dataclass, replace

import numpy as np
import shapely

from app.exports.drawing import LARGEST_PAGE_MM, Page
from app.exports.facts import PanelSheet
from app.exports.marks import top_up
from app.exports.output import Output, checked_roll
from app.exports.pages.joins import join_courses
from app.exports.pages.one_piece import SIDES_MM, one_piece
from app.exports.pages.tile_block import block_height
from app.exports.pages.tiles import outline_on_paper, tile_pages
from app.exports.pages.tiling import (
    FILING_MM,
    MARGIN_MM,
    OVERLAP_MM,
    TilePage,
    Tiling,
    tiling,
    turned,
    turns,
)
from app.units import counted, length_text
from geometry.arrays import FloatArray

_PLAN_PAGE_MM = 420.0
_SAME_MM = 1.0
_SLACK_MM = 0.01


@dataclass(frozen=True)
class _Lie:
    """How an outline lies at a turn: how wide it is across the roll, how long along it."""

    turn_rad: float
    width_mm: float
    length_mm: float


def one_piece_pages(sheet: PanelSheet, output: Output | None = None) -> list[Page]:
    """Return the whole pattern full size on one page; on joined ones where it is too large.

    On a roll the page is as wide as the roll, and the pattern turned so that the least length
    of it is used. Where it does not fit the roll at any turn, or is longer than a page may be,
    it comes in strips with a key plan, which say why.

    Raises
    ------
    BadPaperError
        The roll is narrower or wider than can be used.
    """
    chosen = output or Output()
    by = chosen.correction
    if chosen.roll_mm is None:
        page = one_piece(sheet, by)
        if max(page.width_mm, page.height_mm) <= LARGEST_PAGE_MM:
            return [page]
        return _joined(sheet, _lies(sheet, chosen), LARGEST_PAGE_MM, chosen)
    roll = checked_roll(chosen.roll_mm)
    lies = _lies(sheet, chosen)
    fitting = [lie for lie in lies if lie.width_mm * by.x <= roll - SIDES_MM]
    if fitting:
        best = _shortest(fitting)
        page = one_piece(_lying(sheet, best.turn_rad), by, roll)
        if page.height_mm <= LARGEST_PAGE_MM:
            return [page]
        return _joined(sheet, [best], roll, chosen)
    return _joined(sheet, lies, roll, chosen)


def roll_words(sheet: PanelSheet, output: Output) -> str:
    """Return why a pattern does not come in one piece, as a sentence; "" where it does."""
    if len(one_piece_pages(sheet, output)) == 1:
        return ""
    return f"{sheet.panel}: {_why_joined(_lies(sheet, output), output)}"


def _why_joined(lies: list[_Lie], output: Output) -> str:
    roll = output.roll_mm
    needed = float(np.ceil(min(lie.width_mm for lie in lies) * output.correction.x + SIDES_MM))
    if roll is not None and needed > roll:
        return (
            f"does not fit a roll of {length_text(roll)} at any turn, it needs "
            f"{length_text(needed)} with its margins, and comes in strips to be joined."
        )
    return f"no page may be longer than {length_text(LARGEST_PAGE_MM)}; in strips to be joined."


def _lying(sheet: PanelSheet, turn_rad: float) -> PanelSheet:
    return sheet if turn_rad == 0.0 else top_up(replace(sheet, turn_rad=sheet.turn_rad + turn_rad))


def _lies(sheet: PanelSheet, output: Output) -> list[_Lie]:
    """Return how the outline lies at each turn to try, straight ones first, the narrowest last."""
    outline = outline_on_paper(sheet)
    if not output.turn:
        return [_lie(outline, 0.0)]
    corners = shapely.get_coordinates(shapely.convex_hull(shapely.LineString(outline)))
    return [_lie(corners, turn) for turn in (*turns(), _narrowest_turn(corners))]


def _narrowest_turn(corners: FloatArray) -> float:
    """Return the turn at which a convex outline, closed, is narrowest across.

    It is narrowest square to one of its sides.
    """
    sides = np.diff(corners, axis=0)
    if len(corners) < 3 or not np.any(sides):
        return 0.0
    lengths = np.linalg.norm(sides, axis=1, keepdims=True)
    sides, lengths = sides[lengths[:, 0] > 0.0], lengths[lengths[:, 0] > 0.0]
    normals = np.stack([-sides[:, 1], sides[:, 0]], axis=1) / lengths
    side = sides[int(np.ptp(corners @ normals.T, axis=0).argmin())]
    return float(np.pi / 2.0 - np.arctan2(side[1], side[0])) % np.pi


def _lie(outline: FloatArray, turn_rad: float) -> _Lie:
    size = np.ptp(turned(outline, turn_rad), axis=0)
    return _Lie(turn_rad, float(size[0]), float(size[1]))


def _shortest(lies: list[_Lie]) -> _Lie:
    """Return the first of those that use the least length of the roll, to 1 mm."""
    least = min(lie.length_mm for lie in lies)
    return next(lie for lie in lies if lie.length_mm <= least + _SAME_MM)


def _joined(sheet: PanelSheet, lies: list[_Lie], widest_mm: float, output: Output) -> list[Page]:
    """Return a key plan and as few strips as can be, no longer than they need."""
    outline = outline_on_paper(sheet)
    choices = []
    for lie in lies:
        page = _strip(sheet, lie, widest_mm, output)
        choices.append((lie, tiling(turned(outline, lie.turn_rad), page)))
    lie, tiles = min(choices, key=lambda choice: _cost(choice[1]))
    lying = _lying(sheet, lie.turn_rad)
    tiles = tiling(outline_on_paper(lying), tiles.page)
    lying = replace(lying, joins=join_courses(tiles))
    plan_page = replace(tiles.page, height_mm=_PLAN_PAGE_MM)
    if output.roll_mm is None:
        plan_page = replace(plan_page, width_mm=_PLAN_PAGE_MM)
    why = _why_joined(_lies(sheet, output), output)
    said = f"{counted(len(tiles.used), 'strip')}: {why}"
    return tile_pages(
        lying, tiles, plan_page, said.removesuffix("."), lying.turn_rad - sheet.turn_rad
    )


def _cost(tiles: Tiling) -> tuple[int, float]:
    return len(tiles.used), round(len(tiles.used) * tiles.page.height_mm)


def _strip(sheet: PanelSheet, lie: _Lie, widest_mm: float, output: Output) -> TilePage:
    """Return the page of a strip: as wide as allowed or needed, as long as its share."""
    by = output.correction
    sides = FILING_MM + MARGIN_MM
    width = widest_mm
    if output.roll_mm is None:
        across = (widest_mm - sides) / by.x - OVERLAP_MM
        columns = np.ceil(round(lie.width_mm / across, 9))
        width = (lie.width_mm / columns + OVERLAP_MM + _SLACK_MM) * by.x + sides
    block = block_height(sheet, width - sides, by)
    above = block + 2.0 * MARGIN_MM
    along = (LARGEST_PAGE_MM - above) / by.y - OVERLAP_MM
    rows = np.ceil(round(lie.length_mm / along, 9))
    height = (lie.length_mm / rows + OVERLAP_MM + _SLACK_MM) * by.y + above
    return TilePage(float(width), float(height), block, by)
