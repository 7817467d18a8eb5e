"""The frame fit on paper: every gap with its place, bodies drawn round the tank, reduced."""

from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull

from app.exports.drawing import (
    Drawing,
    Line,
    Meaning,
    Page,
    Picture,
    Text,
    fitted,
    straight,
    together,
)
from app.exports.facts import JobFacts, TankModel
from app.exports.pages.cautions import FRAME
from app.exports.pages.reduced_page import (
    TEXT_MM,
    WIDE_MM,
    column_names,
    flowed,
    list_head,
    numbered_pages,
    page_foot,
)
from app.exports.pages.tank_picture import TankView, pixels_of, view_of
from app.exports.pages.title import ARROW_MM, Cell, view_arrow
from app.exports.words import CAUTION, proof_words, revision_words
from app.job import FrameFit, FrameGap, gap_place_words, lock_words, position_words
from app.units import length_text
from geometry.arrays import FloatArray

_PICTURE_MM = (93.0, 60.0)
_PER_MM = 8
_STRIPE_PX = 12
_ROW_MM = 8.6
_COLUMNS = (0.0, 7.0, 66.0, 118.0, 146.5)
"""Where number, body, gap, wanted and how it stands begin."""

_NAMES = ("no.", "body, and where it is nearest", "gap", "wanted", "how it stands")

_VIEWS = (
    ("from the left", 90.0, 0.0),
    ("from above", 90.0, 89.9),
    ("from ahead", 0.0, 5.0),
    ("from below, ahead", 40.0, -35.0),
)
_SAID = {
    "clear": "clear",
    "tight": "TIGHT",
    "too near": "TOO NEAR",
    "through": "THROUGH THE SKIN",
    "bears": "bears",
    "pressed too far": "PRESSED TOO FAR",
    "far off": "far off: check its place",
    "in the tunnel": "in the tunnel",
    "in the fuel": "IN THE FUEL",
}


@dataclass(frozen=True, eq=False)
class FrameSheet:
    """What the pages are made from.

    Attributes
    ----------
    job : JobFacts
    tank : TankModel
    fit : FrameFit
    """

    job: JobFacts
    tank: TankModel
    fit: FrameFit


def frame_pages(sheet: FrameSheet) -> list[Page]:
    """Return the gap list: upright A4, pictures first, as many pages as the rows need."""
    foot, names = _foot(sheet), column_names(_NAMES, _COLUMNS)
    rows = [_row(sheet, number, each) for number, each in enumerate(sheet.fit.gaps, start=1)]
    groups = flowed([_pictures(sheet), names], rows, names, foot)
    title = f"FRAME FIT  {sheet.job.job}"

    def head_of(at: int, numbered: str) -> Cell:
        return list_head(title, revision_words(sheet.job), numbered)

    return numbered_pages(groups, head_of, foot)


def verdict_words(each: FrameGap) -> str:
    """Return how a body stands to the tank, in the words of the list."""
    return _SAID[each.verdict]


def gap_words(each: FrameGap, show: str) -> str:
    """Return a gap, or how far a body reaches through."""
    if each.verdict == "in the tunnel":
        return "skin opens there"
    if each.verdict == "in the fuel":
        return "inside"
    if each.verdict in ("through", "pressed too far") or each.gap.side == "through":
        return f"through {length_text(each.gap.reach_mm, show)}"
    return length_text(each.gap_mm, show)


def _bottom_words(fit: FrameFit) -> str:
    """Return whether what stands under the tank was held against its bottom."""
    if fit.bottom_held:
        return "The bottom is held as Capacity closes it, else straight across, the tunnel cut out."
    return (
        "NOT HELD AGAINST THE BOTTOM, which is not in the scan: lay out Tunnel or begin Capacity, "
        "which say what it is closed by and what goes through it."
    )


def _row(sheet: FrameSheet, number: int, each: FrameGap) -> Cell:
    show = sheet.job.show
    wanted = "touches" if each.body.kind == "rubber" else length_text(each.wanted_mm, show)
    words = (str(number), position_words(each), gap_words(each, show), wanted, verdict_words(each))
    ends = (*_COLUMNS[1:], WIDE_MM)
    texts = [
        Text(
            fitted(said, end - x - 1.5, TEXT_MM),
            (x, -3.4),
            TEXT_MM,
            bold=k == 0 or (k == 4 and each.is_wrong),
        )
        for k, (said, x, end) in enumerate(zip(words, _COLUMNS, ends, strict=True))
    ]
    place = gap_place_words(each, show)
    if sheet.fit.filled_near[number - 1]:
        place += "; NOT SCANNED there - filled by guess"
    texts.append(Text(fitted(place, WIDE_MM - _COLUMNS[1], TEXT_MM), (_COLUMNS[1], -7.0), TEXT_MM))
    line = straight(0.0, -_ROW_MM, WIDE_MM, -_ROW_MM, Meaning.GRID)
    return Cell(Drawing((line,), tuple(texts)), _ROW_MM)


# ---- pictures


def _shown(fit: FrameFit) -> list[tuple[int, FrameGap]]:
    """Return each body once, where it is nearest, with the number of its row."""
    seen: set[tuple[str, str]] = set()
    shown = []
    for number, each in enumerate(fit.gaps, start=1):
        key = (each.body.name, each.hand)
        if key not in seen:
            seen.add(key)
            shown.append((number, each))
    return shown


def _with_bodies(sheet: FrameSheet, shown: list[tuple[int, FrameGap]]) -> TankModel:
    """Return the tank and its bodies as one model: a panel each, after the tank's own."""
    tank, axes = sheet.tank, sheet.fit.axes
    vertices, faces = [tank.vertices], [tank.faces]
    panels, count = [tank.panel_of_face], len(tank.vertices)
    for k, (_, each) in enumerate(shown):
        vertices.append(axes.from_tank(each.mesh.vertices))
        faces.append(each.mesh.faces + count)
        panels.append(np.full(len(each.mesh.faces), len(tank.names) + k))
        count += len(each.mesh.vertices)
    more = sum(len(each.mesh.faces) for _, each in shown)
    none = np.zeros(more, bool)
    return TankModel(
        np.concatenate(vertices),
        np.concatenate(faces),
        np.concatenate(panels),
        (*tank.names, *(each.body.name for _, each in shown)),
        axes.axes[0],
        axes.axes[2],
        None if tank.filled is None else np.concatenate([tank.filled, none]),
        None if tank.copied is None else np.concatenate([tank.copied, none]),
    )


def _pictures(sheet: FrameSheet) -> Cell:
    """Return four looks at the tank with its bodies, two beside two."""
    shown = _shown(sheet.fit)
    model = _with_bodies(sheet, shown)
    high = _PICTURE_MM[1] + 10.0
    parts = []
    for k, (words, sideways, upward) in enumerate(_VIEWS):
        x, y = (k % 2) * (_PICTURE_MM[0] + 4.0), -(k // 2 + 1) * high
        drawn = _picture(sheet, model, shown, (sideways, upward))
        parts.append(drawn.moved(x, y))
        parts.append(Drawing((), (Text(words, (x, y + _PICTURE_MM[1] + 1.5), 2.5, bold=True),)))
    return Cell(together(parts), 2.0 * high + ARROW_MM)


def _picture(
    sheet: FrameSheet,
    model: TankModel,
    shown: list[tuple[int, FrameGap]],
    angles_deg: tuple[float, float],
) -> Drawing:
    extent = (round(_PICTURE_MM[0] * _PER_MM), round(_PICTURE_MM[1] * _PER_MM))
    view = view_of(model, *angles_deg, *extent)
    wrong = [len(sheet.tank.names) + k for k, (_, each) in enumerate(shown) if each.is_wrong]
    pixels = _greys(view, len(sheet.tank.names), wrong)

    def on_picture(points: FloatArray) -> FloatArray:
        seen = pixels_of(model, sheet.fit.axes.from_tank(points), angles_deg, extent)
        return np.asarray(np.column_stack([seen[:, 0], extent[1] - seen[:, 1]]) / _PER_MM)

    lines, texts = [], []
    for number, each in shown:
        if not len(each.mesh.faces):  # a second scan of which nothing is near
            continue
        if each.body.across_mm > 0.0:  # a simple body; a scan has no outline of its own
            outline = on_picture(each.mesh.vertices)
            hull = outline[ConvexHull(outline).vertices]
            meaning = Meaning.NET if each.is_wrong else Meaning.SCRIBE
            lines.append(Line(meaning, hull, closed=True))
        x, y = on_picture(each.gap.on_body[None])[0].tolist()
        texts.append(Text(str(number), (x, y - 1.2), 2.8, "middle", bold=True, masked=True))
    arrow = view_arrow(view.front_on_page, 0.0, -ARROW_MM)
    picture = Picture(pixels, (0.0, 0.0), *_PICTURE_MM)
    return together([Drawing(tuple(lines), tuple(texts), pictures=(picture,)), arrow])


def _greys(view: TankView, panels: int, wrong: list[int]) -> np.ndarray:
    """Return the tank light, bodies darker, those that are wrong striped."""
    grey = np.where(view.panel == -2, 1.0, 0.50 + 0.45 * view.shade)
    body = view.panel >= panels
    grey = np.where(body, 0.20 + 0.35 * view.shade, grey)
    row, column = np.indices(grey.shape)
    stripe = ((row + column) % _STRIPE_PX) < _STRIPE_PX // 3
    grey = np.where(np.isin(view.panel, wrong) & stripe, 0.0, grey)
    crossed = ((row + column) % _STRIPE_PX == 0) | ((row - column) % _STRIPE_PX == 0)
    grey = np.where(view.guessed & crossed, 0.3, grey)
    grid = np.round(255.0 * np.clip(grey, 0.0, 1.0)).astype(np.uint8)
    return np.repeat(grid[:, :, None], 3, axis=2)


def _foot(sheet: FrameSheet) -> Cell:
    choice, show = sheet.fit.choice, sheet.job.show
    told = [
        "Reduced pictures; bodies are drawn through the tank, numbers stand where each is nearest. "
        "Striped with a thick outline: too near, or through the skin.",
        "Gaps are to the metal: to its outside as scanned, and for what stands inside to its "
        f"inside, the sheet of {length_text(sheet.fit.sheet_mm, show, 32)} taken off. What turns "
        "with the bars is searched from lock to lock: no angle between is nearer by over 0.2 mm. "
        "All of the bodies as typed; they are no truer than the tape.",
        f"Wanted, as this shop has set it (common practice, no source): "
        f"{length_text(choice.at_lock_mm, show)} at lock, {length_text(choice.over_tube_mm, show)} "
        f"over a tube, {length_text(choice.beside_mm, show)} beside the rest; under "
        f"{length_text(choice.least_mm, show)} is too near. Weld pulls in, rubber squashes.",
    ]
    if lock_words(choice):
        told.append(lock_words(choice))
    if sheet.fit.placed_off_mm is not None:
        told.append(
            "The second scan was placed by places known on both; the worst of them is off by "
            f"{length_text(sheet.fit.placed_off_mm, show)}: gaps to it are no surer."
        )
    if any(each.against == "tunnel" for each in sheet.fit.gaps):
        told.append("What runs in the tunnel goes through the skin where it opens: that is meant.")
    told.append(_bottom_words(sheet.fit))
    if sheet.fit.guessed:
        told.append(f"Nobody said which way is {' and '.join(sheet.fit.guessed)}: guessed.")
    warned = [
        FRAME + " Brake and throttle cables need their own room, at both locks; so do fuel lines "
        "beside exhaust, coil and leads. Have steering and fit checked on the machine by somebody "
        "competent before it is ridden.",
        CAUTION,
    ]
    return page_foot([*told, proof_words(sheet.job)], warned)
