"""The cutting file for whoever reads no DXF: an SVG in millimetres, a group for each meaning.

Words stay words, so that they can be read, searched and left out of a cut. The file carries the
signs it uses of our font; a reader that takes no fonts from files falls back on its own, and the
length given with every text keeps it as wide as it was laid out, off the lines.
"""

import base64
import io
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from xml.sax.saxutils import escape, quoteattr

import numpy as np
from fontTools.subset import Options, Subsetter
from fontTools.ttLib import TTFont

from app.exports.drawing import (
    BOLD,
    CAPITAL_HEIGHT,
    LAYERS,
    PLAIN,
    STROKES,
    Drawing,
    Line,
    Meaning,
    Text,
    font,
    layer_of,
    printable,
)
from app.exports.pages import Flat, cutting_sheet, on_paper
from geometry.pattern import Curve, Outline

_MARGIN_MM = 10.0
_FLAT_BULGE = 0.005
_USUAL = frozenset(map(chr, range(32, 127))) | frozenset(
    "\u00b0\u00b1\u00d7\u00d8\u2190\u2191\u2192\u2193\u2194\u2195\u2212\u25a1"
)
"""Signs every file carries, so that those of one job carry the same."""

_UNUSED_TABLES = ("FFTM", "GDEF", "GPOS", "GSUB", "MATH", "kern")
"""How signs are joined and set off: words are laid out sign by sign."""

_SHARED = ("FORM", "PEN", "SCRIBE", "TEXT")
"""Layers that hold lines of several meanings: a group for each."""

_FALLBACK = "'DejaVu Sans Condensed','Arial Narrow',sans-serif"


def svg_bytes(sheet: Flat, outline: Outline = "arcs") -> bytes:
    """Return a flat piece as SVG, turned to the marked face; the same bytes for the same sheet.

    Raises
    ------
    NothingToCutError
        There is no CUT line, so that a net line might be taken for it.
    """
    full = on_paper(sheet)
    drawing = cutting_sheet(full, outline)
    left, bottom, right, top = drawing.box
    width, height = right - left + 2.0 * _MARGIN_MM, top - bottom + 2.0 * _MARGIN_MM
    placed = drawing.moved(_MARGIN_MM - left, _MARGIN_MM - bottom)
    title = escape(printable(f"{full.job.job}: {full.name}"))
    size = f'width="{_number(width)}mm" height="{_number(height)}mm"'
    rows = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} '
        f'viewBox="0 0 {_number(width)} {_number(height)}">',
        f"<title>{title}</title>",
        "<desc>Drawn in mm, full size. Cut the lines of the group CUT only.</desc>",
        f"<style>{_font_faces(placed)}</style>",
        *_line_groups(placed, height),
        *_text_group(placed.texts, height),
        "</svg>",
        "",
    ]
    return "\n".join(rows).encode("utf-8")


def _line_groups(drawing: Drawing, height: float) -> list[str]:
    """Return a group for each meaning that is drawn, those to be cut last, on top."""
    order = {name: index for index, name in enumerate(LAYERS)}
    meanings = sorted(
        {line.meaning for line in drawing.lines}, key=lambda m: (order[layer_of(m)], m.value)
    )
    rows: list[str] = []
    for meaning in meanings:
        lines = [line for line in drawing.lines if line.meaning is meaning]
        rows.append(f"<g {_group_facts(meaning)}>")
        rows.append(f"<title>{escape(_label(meaning))}</title>")
        rows += [f'<path d="{_path(line, height)}"/>' for line in lines]
        rows.append("</g>")
    return rows


def _group_facts(meaning: Meaning) -> str:
    """Return what a group is called and how its lines look.

    The line to cut is drawn whole, dashes on paper or not: there are cutters that cut dashes.
    """
    stroke, layer = STROKES[meaning], layer_of(meaning)
    dashes = "" if layer == "CUT" else " ".join(_number(dash) for dash in stroke.dashes)
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    name = layer if layer not in _SHARED else f"{layer}_{meaning.value.upper().replace(' ', '_')}"
    return (
        f'id={quoteattr(name)} fill="none" stroke="{LAYERS[layer].shown}" '
        f'stroke-width="{_number(stroke.width_mm)}"{dashed}'
    )


def _label(meaning: Meaning) -> str:
    layer = layer_of(meaning)
    return f"{meaning.value}: draw, do not cut" if layer in _SHARED else LAYERS[layer].label


def _path(line: Line, height: float) -> str:
    """Return a line's path, up turned to down as SVG counts."""
    if line.curve is None:
        places = [_place(point, height) for point in line.points.tolist()]
        return "M" + "L".join(places) + ("Z" if line.closed else "")
    return _curve_path(line.curve, height)


def _curve_path(curve: Curve, height: float) -> str:
    """Return the path of a curve: arcs stay arcs, all but flat ones.

    Readers find an arc's centre from its ends and lose figures where it is far off; a cubic for
    an arc so flat is the arc to 1e-11 mm.
    """
    curve = _flat_as_cubics(curve)
    parts = ["M" + _place(curve.points[0].tolist(), height)]
    chords = np.linalg.norm(curve.ends - curve.starts, axis=1)
    for end, chord, bulge, handles, is_cubic in zip(
        curve.ends.tolist(),
        chords.tolist(),
        curve.bulges.tolist(),
        curve.controls.tolist(),
        curve.is_cubic,
        strict=True,
    ):
        if is_cubic:
            parts.append("C" + " ".join(_place(point, height) for point in (*handles, end)))
        elif bulge == 0.0:
            parts.append("L" + _place(end, height))
        else:
            radius = f"{chord * (1.0 + bulge**2) / (4.0 * abs(bulge)):.15g}"
            large, sweep = int(abs(bulge) > 1.0), int(bulge < 0.0)
            parts.append(f"A{radius} {radius} 0 {large} {sweep} {_place(end, height)}")
    return "".join(parts) + ("Z" if curve.closed else "")


def _flat_as_cubics(curve: Curve) -> Curve:
    flat = (curve.bulges != 0.0) & (np.abs(curve.bulges) < _FLAT_BULGE)
    chords = curve.ends - curve.starts
    left = np.stack([-chords[:, 1], chords[:, 0]], axis=1)
    square = (1.0 - curve.bulges**2)[:, None] * chords / 3.0
    aside = 2.0 * curve.bulges[:, None] * left / 3.0
    handles = np.stack([curve.starts + square - aside, curve.ends - square - aside], axis=1)
    controls = np.where(flat[:, None, None], handles, curve.controls)
    return replace(curve, bulges=np.where(flat, 0.0, curve.bulges), controls=controls)


def _place(point: Sequence[float], height: float) -> str:
    return f"{_number(point[0])},{_number(height - point[1])}"


def _number(value: float) -> str:
    """Return a length in mm with all the figures it takes to measure to a millionth.

    >>> _number(12.5), _number(-0.0), _number(1.0 / 3.0)
    ('12.5', '0', '0.3333333333')
    """
    text = f"{value:.10f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _text_group(texts: Sequence[Text], height: float) -> list[str]:
    rows = [f'<g id="TEXT" fill="{LAYERS["TEXT"].shown}">', "<title>words</title>"]
    anchors = {"start": "start", "middle": "middle", "end": "end"}
    for text in texts:
        x, y = _number(text.place[0]), _number(height - text.place[1])
        turned = (
            f' transform="rotate({_number(-text.angle_deg)} {x} {y})"' if text.angle_deg else ""
        )
        words = printable(text.text)
        rows.append(
            f'<text x="{x}" y="{y}" class="{"b" if text.bold else "p"}" '
            f'font-size="{_number(text.height_mm / CAPITAL_HEIGHT)}" '
            f'text-anchor="{anchors[text.anchor]}" textLength="{_number(text.width_mm)}" '
            f'lengthAdjust="spacingAndGlyphs"{turned}>{escape(words)}</text>'
        )
    rows.append("</g>")
    return rows


def _font_faces(drawing: Drawing) -> str:
    """Return the rules that bring the signs used of our font, plain and bold."""
    rules = []
    for kind, name, bold in (("p", PLAIN, False), ("b", BOLD, True)):
        used = {
            sign for text in drawing.texts if text.bold is bold for sign in printable(text.text)
        }
        weight = "bold" if bold else "normal"
        content = base64.b64encode(_subset(name, "".join(sorted(used | _USUAL)))).decode("ascii")
        rules.append(
            f"@font-face{{font-family:{name};font-weight:{weight};"
            f"src:url(data:font/ttf;base64,{content})}}"
        )
        rules.append(f".{kind}{{font-family:{name},{_FALLBACK};font-weight:{weight}}}")
    return "".join(rules)


@lru_cache(maxsize=16)
def _subset(name: str, signs: str) -> bytes:
    """Return our font with some signs only."""
    options = Options(layout_features=[], hinting=False, notdef_outline=True)
    whole = TTFont(font(name).face.filename, recalcTimestamp=False)
    for table in _UNUSED_TABLES:
        if table in whole:
            del whole[table]
    subsetter = Subsetter(options)
    subsetter.populate(text=signs)
    subsetter.subset(whole)
    stream = io.BytesIO()
    whole.save(stream)
    return stream.getvalue()
