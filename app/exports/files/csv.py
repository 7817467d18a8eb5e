"""The numbers behind a blank as a table: a row for every working vertex."""

import numpy as np

from app.exports.facts import PanelSheet, vertex_stretches

COLUMNS = (
    "x",
    "y",
    "z",
    "u",
    "v",
    "larger_stretch",
    "smaller_stretch",
    "thickness_ratio",
    "no_data",
    "copied",
)


def csv_bytes(sheet: PanelSheet) -> bytes:
    """Return the table: places on the tank and on the blank in mm, ratios formed over flat.

    u, v are seen from outside, whichever face is marked. Stretches and thickness are the
    averages of the faces round a vertex, by their area on the blank. `no_data` is 1 where a face
    round the vertex was filled by guess, `copied` where one was made from the tank's other side.
    """
    flat = sheet.flat
    stretches, thickness = vertex_stretches(flat)
    marks = np.zeros((len(flat.vertices), 2), np.int64)
    marks[flat.faces[sheet.filled].ravel(), 0] = 1
    if sheet.copied is not None:
        marks[flat.faces[: len(sheet.copied)][sheet.copied].ravel(), 1] = 1
    rows = [",".join(COLUMNS)]
    numbers = np.column_stack([flat.vertices, flat.flat_vertices, stretches, thickness])
    for values, (guessed, copied) in zip(numbers.tolist(), marks.tolist(), strict=True):
        lengths = ",".join(f"{value:.6f}" for value in values[:5])
        ratios = ",".join(f"{value:.6f}" for value in values[5:])
        rows.append(f"{lengths},{ratios},{guessed},{copied}")
    return ("\r\n".join(rows).replace("-0.000000", "0.000000") + "\r\n").encode("ascii")
