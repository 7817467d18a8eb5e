"""Net line, line to cut and outlines of openings on paper, as smooth curves."""

from dataclasses import replace
from functools import lru_cache

import numpy as np

from app.exports.drawing import Drawing, Line, Meaning, curved
from app.exports.facts import PanelSheet, reason_not_to_cut
from geometry.pattern import Outline, outline_curves


@lru_cache(maxsize=8)
def outline_lines(sheet: PanelSheet, outline: Outline = "arcs") -> tuple[Line, ...]:
    """Return openings, what is round fittings, net line and, where it may be cut, the cut line.

    Parameters
    ----------
    sheet : PanelSheet
    outline : "arcs" or "splines"
        What they are made of.
    """
    curves = outline_curves(sheet.pattern, outline)
    on_paper = sheet.lay.curve_on_paper
    lines = [curved(Meaning.AFTER_FORMING, on_paper(opening)) for opening in curves.openings]
    lines += [
        Line(Meaning.SCRIBE, sheet.lay.on_paper(ring), closed=True)
        for ring in sheet.pattern.fitting_lines
    ]
    lines.append(curved(Meaning.NET, on_paper(curves.net.curve)))
    if curves.trim is not None and reason_not_to_cut(sheet) is None:
        lines.append(curved(Meaning.CUT, on_paper(curves.trim.curve)))
    return tuple(lines)


def with_outline(drawing: Drawing, sheet: PanelSheet, outline: Outline) -> Drawing:
    """Return the drawing of a sheet with its outlines made of arcs or of splines."""
    pairs = list(zip(outline_lines(sheet), outline_lines(sheet, outline), strict=True))

    def asked(line: Line) -> Line:
        """Return the line that stands for one that is an outline, or that line itself."""
        for drawn, other in pairs:
            if drawn.meaning is line.meaning and np.array_equal(drawn.points, line.points):
                return other
        return line

    return replace(drawing, lines=tuple(asked(line) for line in drawing.lines))
