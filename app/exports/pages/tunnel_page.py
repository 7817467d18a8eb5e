"""The tunnel on one page, reduced: from the side, from below in the tank, sums, gaps, bends."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from app.exports.drawing import (
    Drawing,
    Line,
    Meaning,
    Page,
    Picture,
    Text,
    together,
    wrapped,
)
from app.exports.facts import JobFacts, TankModel
from app.exports.pages.cautions import DEFER, FRAME, RECEIVING
from app.exports.pages.reduced_page import (
    TEXT_MM,
    WIDE_MM,
    page_foot,
    room_mm,
    ruled_head,
    titled_pages,
)
from app.exports.pages.tank_picture import panels_coloured, view_of
from app.exports.pages.title import ARROW_MM, Cell, paragraph, view_arrow
from app.exports.words import CAUTION, proof_and_level
from app.job import (
    GUESSED_BOTTOM,
    SCRIBE_NOTE,
    TUNNEL_BEND_RULE,
    Row,
    TunnelLaid,
    folded_words,
    tunnel_bend_rows,
    tunnel_end_rows,
    tunnel_form_words,
    tunnel_gap_rows,
    tunnel_room_rows,
    tunnel_seat_words,
    tunnel_tube_words,
    tunnel_warnings,
)
from geometry.arrays import BoolArray, FloatArray
from geometry.mesh import TriMesh, section
from geometry.tank import RoundBody, TunnelPiece, shown_body

_ROW_MM = 4.0
_SIDE_MM = 62.0
_PICTURE_MM = (92.0, 58.0)
_PICTURE_HEAD_MM = 7.0
_PIXELS_PER_MM = 10
_HATCH_MM = 1.4
_ZIGZAG_MM = 4.0
_BELOW, _ABOVE = (25.0, -38.0), (205.0, -52.0)
"""From below the front left, from below the rear right: degrees sideways and upward."""

_ALONE = ((40.0, 28.0), (220.0, 28.0))
_TABLES_MM = (0.0, 63.0, 127.0)
_COLUMNS_MM = (0.0, 21.0, 42.0)
_GAP_COLUMNS_MM = (0.0, 22.0, 43.0)
_LAST_COLUMN_MM = 21.0
"""As wide as the longest size: (11 13/16 in)."""

_ARROW_AT_MM = 74.0


@dataclass(frozen=True, eq=False)
class TunnelPageSheet:
    """What the page is made from.

    Attributes
    ----------
    job : JobFacts
    laid : TunnelLaid
    skin : TriMesh or None
        Of the tank, in its own axes; None where the tunnel was laid out without one.
    filled, copied : (m,) bool or None
        Faces of the skin nobody scanned, and those made from the other side.
    """

    job: JobFacts
    laid: TunnelLaid
    skin: TriMesh | None = None
    filled: BoolArray | None = None
    copied: BoolArray | None = None


def tunnel_pages(sheet: TunnelPageSheet) -> list[Page]:
    """Return the page, upright A4; words that find no room go on a second one.

    Pictures are lower by four tenths at most where that makes room for all words on the first.
    """
    foot = _foot(sheet.job)
    room = room_mm(ruled_head(sheet.job, "TUNNEL"), foot)
    side, tables, words = _side_view(sheet), _tables(sheet), _words(sheet)
    left = room - _PICTURE_HEAD_MM - sum(cell.height_mm for cell in (side, tables, *words))
    wide, tall = _PICTURE_MM
    pictures = _pictures(sheet, wide, min(tall, left // 1.0) if left >= 0.6 * tall else tall)
    groups = [[side, pictures, tables]]
    for cell in words:
        if sum(each.height_mm for each in groups[-1]) + cell.height_mm > room:
            groups.append([])
        groups[-1].append(cell)
    return titled_pages(sheet.job, ("TUNNEL",), groups, foot, after="NOT FULL SIZE")


def _foot(job: JobFacts) -> Cell:
    return page_foot([*proof_and_level(job), f"{FRAME} {RECEIVING}", f"{DEFER} {CAUTION}"])


# ---- from the side


def _side_view(sheet: TunnelPageSheet) -> Cell:
    """Return skin, tunnel and tube cut along the centre plane, seen from the left, FRONT left."""
    drawn = [
        *((Meaning.NET, line[:, [0, 2]]) for line in _skin_lines(sheet.skin)),
        *_tunnel_lines(sheet.laid),
    ]
    bodies = _bodies(sheet.laid)
    places = np.concatenate([line for _, line in drawn])
    low, high = places.min(axis=0), places.max(axis=0)
    scale = float(min(WIDE_MM / (high[0] - low[0]), (_SIDE_MM - 10.0) / (high[1] - low[1])))

    def on_page(points: FloatArray) -> FloatArray:
        x = 0.5 * WIDE_MM - scale * (points[:, 0] - 0.5 * (low[0] + high[0]))
        return np.column_stack([x, -6.0 - scale * (high[1] - points[:, 1])])

    drawn += [(Meaning.CENTRE, line) for body in bodies for line in _edges(body, low, high)]
    lines = tuple(Line(meaning, on_page(line)) for meaning, line in drawn)
    title = "FROM THE LEFT, CUT ALONG THE MIDDLE"
    front = view_arrow(np.array([-1.0, 0.0]), _ARROW_AT_MM, -ARROW_MM + 2.0)
    key = (
        "Heavy: skin. Dashes and two dots: tunnel, its legs as cut. Long dashes: tube and other "
        "bodies. Two thin lines: the band in which the legs may meet the bottom."
    )
    if any(off.guessed_mm for piece in sheet.laid.tunnel.pieces for off in piece.cut_offs):
        key += f" Zigzag: {GUESSED_BOTTOM} there, on either hand."
    texts = [Text(title, (0.0, -3.0), TEXT_MM, bold=True)]
    for row, words in enumerate(wrapped(key, WIDE_MM, TEXT_MM)):
        texts.append(Text(words, (0.0, -_SIDE_MM - 3.4 * row), TEXT_MM))
    return Cell(together([Drawing(lines, tuple(texts)), front]), _SIDE_MM + 6.0)


def _skin_lines(skin: TriMesh | None) -> tuple[FloatArray, ...]:
    if skin is None:
        return ()
    return section(skin, np.array([0.0, 1e-3, 0.0]), np.array([0.0, 1.0, 0.0]))


def _tunnel_lines(laid: TunnelLaid) -> list[tuple[Meaning, FloatArray]]:
    """Return crown, leg's upper edge, ends and the band of the left leg, x and z in the tank."""
    tunnel = laid.tunnel
    found = []
    for piece in tunnel.pieces:
        reach = np.array(piece.reach_mm)
        crown, top = (
            np.array([piece.net.rulings.points(x)[row] for x in reach]) for row in (0, -1)
        )
        left = piece.cut_offs[0]
        low, high, cut = (_on_leg(piece, line) for line in (left.lowest, left.highest, left.cut))
        rear, front = (np.stack([crown[end], top[end], cut[end]]) for end in (0, -1))
        meant = (
            (Meaning.BEND, crown),
            (Meaning.ROLL, top),
            (Meaning.BEND, rear),
            (Meaning.BEND, front),
            (Meaning.BEND, cut),
            (Meaning.SCRIBE, low),
            (Meaning.SCRIBE, high),
            *((Meaning.NO_DATA, line) for line in _zigzags(piece)),
        )
        found += [(meaning, tunnel.seat.to_tank(line)[:, [0, 2]]) for meaning, line in meant]
    return found


def _zigzags(piece: TunnelPiece) -> list[FloatArray]:
    """Return lines (k, 3) to and fro across the bands where the bottom was not scanned."""
    found = []
    for off in piece.cut_offs:
        sign = 1.0 if off.side == "left" else -1.0
        whole = np.linspace(*piece.reach_mm, len(off.middle))
        high, low = (piece.net.downs_of(line) for line in (off.highest, off.lowest))
        for start, end in off.guessed_mm:
            x = np.linspace(start, end, max(3, int((end - start) / _ZIGZAG_MM)))
            down = np.where(
                np.arange(len(x)) % 2 == 0,
                np.interp(x, whole, high) - _ZIGZAG_MM,
                np.interp(x, whole, low) + _ZIGZAG_MM,
            )
            found.append(piece.net.leg_at(x, down) * [1.0, sign, 1.0])
    return found


def _on_leg(piece: TunnelPiece, line: FloatArray) -> FloatArray:
    """Return where a line (k, 2) along the left leg of the flat lies in the tunnel."""
    x = np.linspace(*piece.reach_mm, len(line))
    return piece.net.leg_at(x, piece.net.downs_of(line))


def _bodies(laid: TunnelLaid) -> list[RoundBody]:
    spec = laid.tunnel.spec
    return [*([spec.tube] if spec.tube else []), *spec.others]


def _edges(body: RoundBody, low: FloatArray, high: FloatArray) -> list[FloatArray]:
    """Return a body's outline from the side, clipped to what else is shown and a little more."""
    ends = np.array([body.start_mm, body.end_mm])[:, [0, 2]]
    way = ends[1] - ends[0]
    length = float(np.linalg.norm(way))
    if length < 1e-6:  # straight across the tank
        turn = np.linspace(0.0, 2.0 * np.pi, 33)[:, None]
        ring = np.concatenate([np.cos(turn), np.sin(turn)], axis=1)
        return [ends[0] + 0.5 * body.diameter_mm * ring]
    square = np.array([-way[1], way[0]]) / length * 0.5 * body.diameter_mm
    outline = np.array([ends[0] + square, ends[1] + square, ends[1] - square, ends[0] - square])
    found = []
    for start, end in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        share = np.linspace(0.0, 1.0, 201)[:, None]
        line = start + share * (end - start)
        shown = ((line >= low - 15.0) & (line <= high + 15.0)).all(axis=1)
        if shown.sum() > 1:
            found.append(line[shown][[0, -1]])
    return found


# ---- pictures


def _pictures(sheet: TunnelPageSheet, wide: float, tall: float) -> Cell:
    """Return the folded tunnel in the tank from below, or by itself from above."""
    tank = _model(sheet)
    looks = _ALONE if sheet.skin is None else (_BELOW, _ABOVE)
    parts = []
    for at, angles in enumerate(looks):
        view = view_of(tank, *angles, round(wide * _PIXELS_PER_MM), round(tall * _PIXELS_PER_MM))
        pixels = panels_coloured(view, hatch_px=round(_HATCH_MM * _PIXELS_PER_MM))
        x = at * (WIDE_MM - wide)
        parts.append(Drawing(pictures=(Picture(pixels, (x, -tall - 4.0), wide, tall),)))
    words = "FOLDED, BY ITSELF" if sheet.skin is None else "FOLDED, IN THE TANK, FROM BELOW"
    title = Drawing(texts=(Text(words, (0.0, -3.0), TEXT_MM, bold=True),))
    return Cell(together([title, *parts]), tall + _PICTURE_HEAD_MM)


def _model(sheet: TunnelPageSheet) -> TankModel:
    """Return skin, tunnel and tube together, told apart as panels are."""
    bodies = [shown_body(sheet.laid.tunnel, body) for body in _bodies(sheet.laid)]
    parts = [sheet.laid.mesh, *bodies]
    names = ["tunnel", *(body.name for body in _bodies(sheet.laid))]
    if sheet.skin is not None:
        parts, names = [sheet.skin, *parts], ["skin", *names]
    starts = np.cumsum([0, *(len(part.vertices) for part in parts)])
    count = sum(len(part.faces) for part in parts)

    def marked(of_skin: BoolArray | None) -> BoolArray | None:
        if of_skin is None:
            return None
        return np.concatenate([of_skin, np.zeros(count - len(of_skin), bool)])

    return TankModel(
        vertices=np.concatenate([part.vertices for part in parts]),
        faces=np.concatenate(
            [part.faces + start for part, start in zip(parts, starts[:-1], strict=True)]
        ),
        panel_of_face=np.repeat(np.arange(len(parts)), [len(part.faces) for part in parts]),
        names=tuple(names),
        front=np.array([1.0, 0.0, 0.0]),
        up=np.array([0.0, 0.0, 1.0]),
        filled=marked(sheet.filled),
        copied=marked(sheet.copied),
    )


# ---- words


def _tables(sheet: TunnelPageSheet) -> Cell:
    """Return ends, the sum of clearances and the gaps side by side."""
    tunnel, show = sheet.laid.tunnel, sheet.job.show
    tables = [("ENDS, INSIDE", ("", "high", "wide"), tunnel_end_rows(tunnel, show), _COLUMNS_MM)]
    if tunnel.spec.tube is not None:
        rows = tunnel_room_rows(tunnel, show)
        tables.append(("SUM OF CLEARANCES", ("", "over", "each side"), rows, _COLUMNS_MM))
    if tunnel.gaps:
        rows = tunnel_gap_rows(tunnel, show)
        heads = ("", "laid out", "welded")
        tables.append(("LEAST GAPS", heads, rows, _GAP_COLUMNS_MM))
    cells = [_table(title, heads, rows, columns) for title, heads, rows, columns in tables]
    drawn = together(
        [cell.drawing.moved(x, 0.0) for cell, x in zip(cells, _TABLES_MM, strict=False)]
    )
    return Cell(drawn, max(cell.height_mm for cell in cells) + 2.0)


def _table(title: str, heads: Row, rows: Sequence[Row], columns: tuple[float, ...]) -> Cell:
    texts = [Text(title, (0.0, -3.0), TEXT_MM, bold=True)]
    texts += [Text(h, (x, -7.0), TEXT_MM) for h, x in zip(heads, columns, strict=True) if h]
    down, ends = 11.0, [*columns[1:], columns[-1] + _LAST_COLUMN_MM]
    for row in rows:
        bold = row[0] == "SUM"
        tallest = 1
        for words, x, end in zip(row, columns, ends, strict=True):
            parts = words.split(" (")
            kept = [parts[0], *(f"({part}" for part in parts[1:])]
            broken = [w for part in kept for w in wrapped(part, end - x - 1.0, TEXT_MM, bold=bold)]
            for at, part in enumerate(broken):
                texts.append(Text(part, (x, -down - 3.4 * at), TEXT_MM, bold=bold))
            tallest = max(tallest, len(broken))
        down += 3.4 * (tallest - 1) + _ROW_MM
    return Cell(Drawing(texts=tuple(texts)), down)


def _words(sheet: TunnelPageSheet) -> list[Cell]:
    """Return a cell for each sentence, what has to be looked at first."""
    tunnel, show = sheet.laid.tunnel, sheet.job.show
    sentences = [
        f"{tunnel_form_words(tunnel).capitalize()}. {tunnel_seat_words(tunnel, show)}",
        *([fitted_to] if (fitted_to := tunnel_tube_words(tunnel, show)) else []),
        *tunnel_bend_rows(tunnel, show),
        TUNNEL_BEND_RULE,
        SCRIBE_NOTE,
        folded_words(tunnel),
    ]
    looked = [f"LOOK: {words}" for words in tunnel_warnings(sheet.laid, show)]
    cells = [paragraph([words], WIDE_MM, TEXT_MM, bold=True) for words in looked]
    return cells + [paragraph([words], WIDE_MM, TEXT_MM) for words in sentences]
