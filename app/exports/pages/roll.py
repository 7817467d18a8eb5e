"""Something flat in one piece, for a roll or a page of its size; in joined strips if it must."""

from dataclasses import dataclass, replace

import numpy as np
import shapely

from app.exports.drawing import LARGEST_PAGE_MM, Page
from app.exports.output import Output, checked_roll
from app.exports.pages.full_size import FullSize
from app.exports.pages.joins import join_courses
from app.exports.pages.laid_on_paper import Flat, on_paper
from app.exports.pages.one_piece import SIDES_MM, one_piece
from app.exports.pages.tile_block import block_height
from app.exports.pages.tiles import tile_pages
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


def one_piece_pages(sheet: Flat, output: Output | None = None) -> list[Page]:
    """Return the whole pattern full size on one page; on joined ones where it is too large.

    On a roll the page is as wide as the roll, and the pattern turned so that the least length
    of it is used. Where it does not fit the roll at any turn, or is longer than a page may be,
    it comes in strips with a key plan, which say why.

    Raises
    ------
    BadPaperError
        The roll is narrower or wider than can be used.
    """
    chosen, full = output or Output(), on_paper(sheet)
    by = chosen.correction
    if chosen.roll_mm is None:
        page = one_piece(full, by)
        if max(page.width_mm, page.height_mm) <= LARGEST_PAGE_MM:
            return [page]
        return _joined(full, _lies(full, chosen), LARGEST_PAGE_MM, chosen)
    roll = checked_roll(chosen.roll_mm)
    lies = _lies(full, chosen)
    fitting = [lie for lie in lies if lie.width_mm * by.x <= roll - SIDES_MM]
    if fitting:
        best = _shortest(fitting)
        page = one_piece(_lying(full, best.turn_rad), by, roll)
        if page.height_mm <= LARGEST_PAGE_MM:
            return [page]
        return _joined(full, [best], roll, chosen)
    return _joined(full, lies, roll, chosen)


def roll_words(sheet: Flat, output: Output) -> str:
    """Return why a pattern does not come in one piece, as a sentence; "" where it does."""
    full = on_paper(sheet)
    if len(one_piece_pages(full, output)) == 1:
        return ""
    return f"{full.name}: {_why_joined(_lies(full, output), output)}"


def _why_joined(lies: list[_Lie], output: Output) -> str:
    roll = output.roll_mm
    needed = float(np.ceil(min(lie.width_mm for lie in lies) * output.correction.x + SIDES_MM))
    if roll is not None and needed > roll:
        return (
            f"does not fit a roll of {length_text(roll)} at any turn, it needs "
            f"{length_text(needed)} with its margins, and comes in strips to be joined."
        )
    return f"no page may be longer than {length_text(LARGEST_PAGE_MM)}; in strips to be joined."


def _lying(full: FullSize, turn_rad: float) -> FullSize:
    return full if turn_rad == 0.0 else full.turned(turn_rad).topped()


def _lies(full: FullSize, output: Output) -> list[_Lie]:
    """Return how the outline lies at each turn to try, straight ones first, the narrowest last."""
    outline = full.outline()
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


def _joined(full: FullSize, lies: list[_Lie], widest_mm: float, output: Output) -> list[Page]:
    """Return a key plan and as few strips as can be, no longer than they need."""
    outline = full.outline()
    choices = []
    for lie in lies:
        page = _strip(full, lie, widest_mm, output)
        choices.append((lie, tiling(turned(outline, lie.turn_rad), page)))
    lie, tiles = min(choices, key=lambda choice: _cost(choice[1]))
    lying = _lying(full, lie.turn_rad)
    tiles = tiling(lying.outline(), tiles.page)
    lying = lying.joined(join_courses(tiles))
    plan_page = replace(tiles.page, height_mm=_PLAN_PAGE_MM)
    if output.roll_mm is None:
        plan_page = replace(plan_page, width_mm=_PLAN_PAGE_MM)
    why = _why_joined(_lies(full, output), output)
    said = f"{counted(len(tiles.used), 'strip')}: {why}"
    return tile_pages(
        lying, tiles, plan_page, said.removesuffix("."), lying.turn_rad - full.turn_rad
    )


def _cost(tiles: Tiling) -> tuple[int, float]:
    return len(tiles.used), round(len(tiles.used) * tiles.page.height_mm)


def _strip(full: FullSize, lie: _Lie, widest_mm: float, output: Output) -> TilePage:
    """Return the page of a strip: as wide as allowed or needed, as long as its share."""
    by = output.correction
    sides = FILING_MM + MARGIN_MM
    width = widest_mm
    if output.roll_mm is None:
        across = (widest_mm - sides) / by.x - OVERLAP_MM
        columns = np.ceil(round(lie.width_mm / across, 9))
        width = (lie.width_mm / columns + OVERLAP_MM + _SLACK_MM) * by.x + sides
    block = block_height(full, width - sides, by)
    above = block + 2.0 * MARGIN_MM
    along = (LARGEST_PAGE_MM - above) / by.y - OVERLAP_MM
    rows = np.ceil(round(lie.length_mm / along, 9))
    height = (lie.length_mm / rows + OVERLAP_MM + _SLACK_MM) * by.y + above
    return TilePage(float(width), float(height), block, by)
