"""The cutting file: a DXF in millimetres whose layer CUT holds the trim line and nothing else."""

import io
import re
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Literal

import ezdxf
import numpy as np
from ezdxf import units
from ezdxf.document import Drawing as DxfDocument
from ezdxf.enums import TextEntityAlignment

from app.exports.drawing import LAYERS, LINE_TYPES, Line, Text, layer_of, printable
from app.exports.pages import Flat, cutting_sheet
from geometry.arrays import FloatArray
from geometry.pattern import Curve, Outline

DxfVersion = Literal["R2010", "R12"]

_LONGEST_R12_TEXT = 250
_OWN_SIGNS = {"\u00d8": "%%c", "\u00b1": "%%p", "\u00b0": "%%d"}
"""Signs the format has codes for, which files of 1992 know too."""

_PLAINER = {"\u2013": "-", "\u2014": "-", "\u2018": "'", "\u2019": "'", "\u00d7": "x"}


def dxf_bytes(sheet: Flat, outline: Outline = "arcs", version: DxfVersion = "R2010") -> bytes:
    """Return a flat piece as DXF, turned to the marked face; the same bytes for the same sheet.

    Parameters
    ----------
    sheet : PanelSheet, Plate or FullSize
    outline : "arcs" or "splines"
        Outlines are closed polylines of arcs, or splines.
    version : "R2010" or "R12"
        For old cutters R12, which knows no splines, no unit and few signs: outlines are arcs then.

    Raises
    ------
    NothingToCutError
        There is no CUT line, so that a net line might be taken for it.
    """
    old = version == "R12"
    drawing = cutting_sheet(sheet, "arcs" if old else outline)
    with _fixed_metadata():
        document = DxfDocument.new(version)
        document.header["$MEASUREMENT"] = 1
        if not old:
            document.units = units.MM
        _add_tables(document)
        for line in drawing.lines:
            _add_line(document, line)
        for text in drawing.texts:
            _add_text(document, text)
        if not old:
            _order_classes(document)
        stream = io.StringIO()
        document.write(stream)
    return stream.getvalue().encode("ascii" if old else "utf-8")


@contextmanager
def _fixed_metadata() -> Iterator[None]:
    """Leave the clock and fresh identifiers out of the file."""
    options = vars(ezdxf)["options"]
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _order_classes(document: DxfDocument) -> None:
    """Put the list of entity classes in order: left alone it follows the order of a set."""
    document.classes.add_required_classes(document.dxfversion)
    document.classes.classes = dict(sorted(document.classes.classes.items()))


def _add_tables(document: DxfDocument) -> None:
    """Give the file its layers and line types, both under names that every version takes."""
    for name, dashes in LINE_TYPES.items():
        length = sum(abs(dash) for dash in dashes)
        document.linetypes.add(name, [length, *dashes], description=name.title())
    for name, layer in LAYERS.items():
        document.layers.add(name, color=layer.colour, linetype=layer.line_type)


def _add_line(document: DxfDocument, line: Line) -> None:
    """Draw a line or, where it has one, its curve: as one entity, so that it stays whole."""
    layer = layer_of(line.meaning)
    curve = line.curve
    if curve is not None and curve.is_cubic.any():
        _add_spline(document, curve, layer)
        return
    if curve is None:
        corners = np.column_stack([line.points, np.zeros(len(line.points))])
    else:
        last = np.zeros(0 if curve.closed else 1)
        corners = np.column_stack([curve.points, np.concatenate([curve.bulges, last])])
    space = document.modelspace()
    add = space.add_polyline2d if document.dxfversion == "AC1009" else space.add_lwpolyline
    add(corners.tolist(), format="xyb", close=line.closed, dxfattribs={"layer": layer})


def _add_spline(document: DxfDocument, curve: Curve, layer: str) -> None:
    """Draw a curve as one spline of degree 3: each cubic is a span, joints are triple knots."""
    cubics = curve.as_cubics(1e-9)
    corners = [cubics.points[:1]]
    for start, end, handles, is_cubic in zip(
        cubics.starts, cubics.ends, cubics.controls, cubics.is_cubic, strict=True
    ):
        corners.append(handles if is_cubic else _thirds(start, end))
        corners.append(end[None])
    spans = len(cubics.bulges)
    knots = np.repeat(np.arange(spans + 1.0), 3)
    spline = document.modelspace().add_spline(degree=3, dxfattribs={"layer": layer})
    places = np.concatenate(corners)
    spline.control_points = np.column_stack([places, np.zeros(len(places))])
    spline.knots = [0.0, *knots.tolist(), float(spans)]


def _thirds(start: FloatArray, end: FloatArray) -> FloatArray:
    """Return the (2, 2) handles of a cubic that runs straight."""
    return np.stack([start + (end - start) / 3.0, end - (end - start) / 3.0])


def _add_text(document: DxfDocument, text: Text) -> None:
    """Write words between the ends of their base line: as wide in whatever font a reader has."""
    words = text_for_dxf(text.text, old=document.dxfversion == "AC1009")
    if not words.strip():
        return
    turn = np.radians(text.angle_deg)
    along = text.width_mm * np.array([np.cos(turn), np.sin(turn)])
    before = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor]
    start = np.array(text.place) - before * along
    entity = document.modelspace().add_text(
        words,
        height=text.height_mm,
        rotation=text.angle_deg,
        dxfattribs={"layer": "TEXT"},
    )
    ends = (start.tolist(), (start + along).tolist())
    entity.set_placement(*ends, align=TextEntityAlignment.FIT)


def text_for_dxf(text: str, *, old: bool) -> str:
    r"""Return text so that readers show it as it is: nothing in it is taken for a code.

    >>> text_for_dxf("100%%u ^J \\U+00e9", old=False)
    '100% %u ^ J /U+00e9'
    >>> text_for_dxf("R 5 \u00b1 0.5, M\u00fcller's \u6f22 tank", old=True)
    "R 5 %%p 0.5, Muller's ? tank"
    """
    words = printable(text).replace("\\", "/").replace("^", "^ ")
    words = re.sub("%(?=%)", "% ", words)
    if not old:
        return words
    for sign, plain in {**_OWN_SIGNS, **_PLAINER}.items():
        words = words.replace(sign, plain)
    apart = unicodedata.normalize("NFKD", words)
    bare = "".join(sign for sign in apart if not unicodedata.combining(sign))
    bare = bare.replace("\u2044", "/").encode("ascii", "replace").decode("ascii")
    return bare[:_LONGEST_R12_TEXT]
