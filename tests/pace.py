"""Seconds that hold on a noisy machine: processor time beside a reference's, taken in turns.

The reference is work of general-purpose libraries alone, of the kinds that composing pages is made
of: reportlab draws 10,000 strokes and 2,000 words on four pages, and shapely looks through 2,000
short lines for those that boxes meet, 24 boxes at a time. On the quiet machine docs/performance.md
tells of, it takes `QUIET_S`; where it takes twice as long, so may what is measured.
"""

import io
import time
from collections.abc import Callable

import numpy as np
import shapely
from reportlab.pdfgen.canvas import Canvas

QUIET_S = 0.18
"""Seconds of the reference there: a tiled pattern took 1.6 s there, and takes 8.9 references."""


def quiet_seconds(work: Callable[[], object], *, rounds: int = 3) -> float:
    """Return the processor's seconds that work would take on the quiet machine.

    Parameters
    ----------
    work : callable
        Has to do all of it each time it is called.
    rounds : int
        The least of so many counts, each beside references just before and just after it.
    """
    before = _spent(_reference)
    least = np.inf
    for _ in range(rounds):
        own, after = _spent(work), _spent(_reference)
        least = min(least, 2.0 * own / (before + after))
        before = after
    return least * QUIET_S


def _spent(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def _reference() -> None:
    _draw()
    _look_through()


def _draw() -> None:
    canvas = Canvas(io.BytesIO(), invariant=1, pageCompression=1)
    for page in range(4):
        for stroke in range(2500):
            path = canvas.beginPath()
            path.moveTo(0.21 * stroke, page)
            for step in range(4):
                path.lineTo(0.19 * stroke + 1.37 * step, 0.73 * step)
            canvas.drawPath(path, stroke=1, fill=0)
        for word in range(500):
            canvas.drawString(0.37 * word, 0.53 * word, f"place {word}")
        canvas.showPage()
    canvas.save()


def _look_through() -> None:
    rng = np.random.default_rng(3)
    lines = np.cumsum(rng.normal(size=(2000, 9, 2)), axis=1) + rng.uniform(0, 1000, (2000, 1, 2))
    tree = shapely.STRtree([shapely.LineString(line) for line in lines])
    for _ in range(1500):
        low = rng.uniform(0.0, 1000.0, (24, 2))
        boxes = shapely.box(low[:, 0], low[:, 1], low[:, 0] + 8.0, low[:, 1] + 4.0)
        np.unique(tree.query(boxes, predicate="intersects"))
