"""What is drawn on the blank: its outlines, patches, roll lines, ticks, thin places."""

from app.exports.marks.allowance_marks import (
    allowance_lines,
    allowance_rows,
    allowance_texts,
    allowance_words,
    is_uniform,
    taken_by,
)
from app.exports.marks.arrow_marks import (
    Way,
    arrow_lines,
    grain_warning,
    top_up,
    ways,
    ways_text,
)
from app.exports.marks.form_marks import FORM_TICKS_MM, deepest_mark, form_guide_of
from app.exports.marks.line_marks import tank_line_texts, tank_lines
from app.exports.marks.listing import Listing
from app.exports.marks.outline_marks import outline_lines, with_outline
from app.exports.marks.patch_marks import (
    COPIED_PITCH_MM,
    NO_DATA_PITCH_MM,
    hatch,
    patch_lines,
    patch_meanings,
    patch_sentences,
    patch_sentences_within,
    patch_texts,
    texts_below,
)
from app.exports.marks.roll_marks import roll_drawn, roll_meaning, roll_texts
from app.exports.marks.station_marks import (
    TankStations,
    arc_words,
    is_only_bent,
    rounded_radius,
    station_axes,
    sweeps_of,
    tank_stations,
)
from app.exports.marks.tape_marks import (
    cut_gather_texts,
    gather_texts,
    square_texts,
    tick_lines,
    told_squares,
)
from app.exports.marks.thin_marks import thin_lines, thin_texts, thinnest_mark

__all__ = [
    "COPIED_PITCH_MM",
    "FORM_TICKS_MM",
    "NO_DATA_PITCH_MM",
    "Listing",
    "TankStations",
    "Way",
    "allowance_lines",
    "allowance_rows",
    "allowance_texts",
    "allowance_words",
    "arc_words",
    "arrow_lines",
    "cut_gather_texts",
    "deepest_mark",
    "form_guide_of",
    "gather_texts",
    "grain_warning",
    "hatch",
    "is_only_bent",
    "is_uniform",
    "outline_lines",
    "patch_lines",
    "patch_meanings",
    "patch_sentences",
    "patch_sentences_within",
    "patch_texts",
    "roll_drawn",
    "roll_meaning",
    "roll_texts",
    "rounded_radius",
    "square_texts",
    "station_axes",
    "sweeps_of",
    "taken_by",
    "tank_line_texts",
    "tank_lines",
    "tank_stations",
    "texts_below",
    "thin_lines",
    "thin_texts",
    "thinnest_mark",
    "tick_lines",
    "told_squares",
    "top_up",
    "ways",
    "ways_text",
    "with_outline",
]
