"""The cutting file: a DXF in millimetres whose layer CUT holds the trim line and nothing else."""

import io
from collections.abc import Iterator
from contextlib import contextmanager

import ezdxf.filemanagement
from ezdxf import units
from ezdxf.document import Drawing as DxfDocument
from ezdxf.enums import TextEntityAlignment

from app.exports.drawing import Drawing, Line, Meaning, Text, printable, rectangle
from app.exports.facts import PanelSheet, reason_not_to_cut
from app.exports.files.layers import LAYERS, layer_of
from app.exports.marks import patch_meanings
from app.exports.pages import pattern_drawing
from app.exports.words import CAUTION, face_words, makes_words, proof_words, sheet_words

SQUARE_MM = 100.0


class NothingToCutError(Exception):
    """A cutting file was asked for where nothing may be cut.

    Attributes
    ----------
    panel, reason : str
    """

    def __init__(self, panel: str, reason: str) -> None:
        self.panel, self.reason = panel, reason
        super().__init__(f"{panel}: {reason}")


def dxf_bytes(sheet: PanelSheet) -> bytes:
    """Return the blank as DXF, turned to the marked face; the same bytes for the same sheet.

    Raises
    ------
    NothingToCutError
        There is no CUT line, so that a net line might be taken for it.
    """
    reason = reason_not_to_cut(sheet)
    if reason is not None:
        raise NothingToCutError(sheet.panel, reason)
    drawing = pattern_drawing(sheet)
    with _fixed_metadata():
        document = ezdxf.filemanagement.new("R2010", units=units.MM)
        for name, layer in LAYERS.items():
            document.layers.add(name, color=layer.colour)
        for line in drawing.lines:
            _add_line(document, line)
        for text in drawing.texts:
            _add_text(document, text)
        _add_beside(document, sheet, drawing)
        _order_classes(document)
        stream = io.StringIO()
        document.write(stream)
    return stream.getvalue().encode("utf-8")


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


def _add_line(document: DxfDocument, line: Line) -> None:
    attributes = {"layer": layer_of(line.meaning)}
    document.modelspace().add_lwpolyline(
        line.points.tolist(), close=line.closed, dxfattribs=attributes
    )


def _add_text(document: DxfDocument, text: Text) -> None:
    align = {
        "start": TextEntityAlignment.LEFT,
        "middle": TextEntityAlignment.CENTER,
        "end": TextEntityAlignment.RIGHT,
    }[text.anchor]
    entity = document.modelspace().add_text(
        printable(text.text),
        height=text.height_mm,
        rotation=text.angle_deg,
        dxfattribs={"layer": "TEXT"},
    )
    entity.set_placement(text.place, align=align)


def _add_beside(document: DxfDocument, sheet: PanelSheet, drawing: Drawing) -> None:
    """Draw the scale square and say what this is, below the blank and clear of it."""
    left, bottom, _, _ = drawing.box
    foot = bottom - 20.0 - SQUARE_MM
    _add_line(document, rectangle(left, foot, left + SQUARE_MM, foot + SQUARE_MM, Meaning.CENTRE))
    rows = [
        "SCALE CHECK: this square is 100 mm (3.937 in) each way. Drawing unit: mm.",
        f"{sheet.job.job}. {sheet.panel.upper()}. {face_words(sheet.job)}",
        makes_words(sheet.panel),
        f"{sheet_words(sheet.job)}. Rev {sheet.job.revision}, {sheet.job.dated.isoformat()}",
        proof_words(sheet.job),
        *(
            f"{words} (layer {layer_of(meaning)})"
            for meaning, words in patch_meanings(sheet).items()
        ),
        "Cut layer CUT only. AFTER_FORMING is cut after forming. PEN is drawn, not cut.",
        CAUTION,
    ]
    for row, words in enumerate(rows):
        place = (left + SQUARE_MM + 8.0, foot + SQUARE_MM - 8.0 - 8.0 * row)
        _add_text(document, Text(words, place, 4.0))
