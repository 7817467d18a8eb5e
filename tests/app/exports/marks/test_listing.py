"""Rows beside the blank: what a number stands for there, and what is not drawn on it at all."""

import numpy as np
import shapely

from app.exports.drawing import FreeSpace
from app.exports.marks import Listing

SQUARE = np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]])


def test_rows_without_a_number_stand_under_a_head_of_their_own() -> None:
    space = FreeSpace(SQUARE, [])
    listing = Listing()
    assert not listing.rows
    listing.add("Marks without room for their numbers: 4")
    told = listing.beside_line(space, np.array([[20.0, 50.0], [80.0, 50.0]]), "A: free edge")
    assert [text.text for text in told.texts] == ["(1)"]
    assert shapely.box(0.0, 0.0, 100.0, 100.0).contains(shapely.Point(told.texts[0].place))
    assert listing.rows == (
        "No room on the blank; its number there:",
        "(1) A: free edge",
        "Not drawn on the blank:",
        "Marks without room for their numbers: 4",
    )
