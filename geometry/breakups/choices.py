"""`Choice`: a break-up as it is proposed, and what moving each of its seams would change."""

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray, locked
from geometry.breakups.as_cut import Shown
from geometry.breakups.courses import Course
from geometry.breakups.drawn import Board
from geometry.breakups.measured import Measured, SeamLines
from geometry.breakups.refine import Trial, all_measured, changed
from geometry.breakups.study_ground import StudyGround
from geometry.panels import Seam
from geometry.progress import Report

MOVE_MM = 5.0
"""How far either way each proposed seam is moved to tell what that changes."""


@dataclass(frozen=True, eq=False)
class SeamMove:
    """What moving one seam would change.

    Attributes
    ----------
    seam : str
        With its mirror image, where it has one.
    by_mm : float
        On average along it.
    towards : (3,) float
        Unit, in the axes of the surface: the way it moves, in the middle of its length.
    work, worst_stretch, worst_shrink, weld_mm : float
        Of the whole break-up after it; not-a-number where a piece no longer can be laid flat.
    """

    seam: str
    by_mm: float
    towards: FloatArray
    work: float
    worst_stretch: float
    worst_shrink: float
    weld_mm: float


@dataclass(frozen=True, eq=False)
class Choice:
    """A break-up proposed.

    Attributes
    ----------
    name : str
    pieces : int
    work : float, mm2
        Least work of all pieces, on the study's ground.
    worst_stretch, worst_shrink : float
        Formed over flat: what 1 part in 100 of a piece's area goes beyond.
    weld_mm, seen_mm, hidden_mm : float
        As cut on the surface; what is hidden in the share the study found.
    metal_mm2 : float
        The rectangles round all blanks with their trim.
    locked_mm2 : float
        Of all panels as cut: what lies past square where each lifts out best.
    held : tuple of str
        The panels locked in their forms; none where the choice lifts out.
    price : float, mm2 per mm
        Of weld, for which it was improved.
    seams : tuple of Seam
        In the axes of the surface, those that others end on first.
    mirror_of : tuple of str
        For each seam the name of the one it is the mirror image of, or "".
    panels : tuple of (str, (3,) float)
        A name and a place inside each panel.
    moves : tuple of SeamMove
    """

    name: str
    pieces: int
    work: float
    worst_stretch: float
    worst_shrink: float
    weld_mm: float
    seen_mm: float
    hidden_mm: float
    metal_mm2: float
    locked_mm2: float
    held: tuple[str, ...]
    price: float
    seams: tuple[Seam, ...]
    mirror_of: tuple[str, ...]
    panels: tuple[tuple[str, FloatArray], ...]
    moves: tuple[SeamMove, ...]


def choices_of(
    ground: StudyGround,
    board: Board,
    shown: Sequence[Shown],
    trim_mm: float,
    executor: Executor | None,
    *,
    report: Report,
) -> tuple[Choice, ...]:
    """Return the choices, each with what moving its seams would change."""
    moves = [_moves(each) for each in shown]
    trials = [trial for those in moves for _, _, trial in those]
    answers = iter(all_measured(ground, trials, executor, report=report, stage="move the seams"))
    number: dict[int, int] = {}
    choices = []
    for each, those in zip(shown, moves, strict=True):
        found = each.refined.found
        number[found.pieces] = number.get(found.pieces, 0) + 1
        told = tuple(
            _seam_move(board, each, index, by_mm, next(answers)) for index, by_mm, _ in those
        )
        name = f"{found.pieces} {'piece' if found.pieces == 1 else 'pieces'}"
        name += f" {chr(ord('A') + number[found.pieces] - 1)}"
        choices.append(_choice(ground, board, each, name, told, trim_mm=trim_mm))
    return tuple(choices)


def _choice(
    ground: StudyGround,
    board: Board,
    shown: Shown,
    name: str,
    moves: tuple[SeamMove, ...],
    *,
    trim_mm: float,
) -> Choice:
    found = shown.refined.found
    hidden = found.hidden / max(found.weld, 1e-300) * shown.cut.weld
    metal = sum(
        leaf.count * (each.long_mm + 2.0 * trim_mm) * (each.wide_mm + 2.0 * trim_mm)
        for leaf, each in zip(found.leaves, found.figures, strict=True)
    )
    return Choice(
        name=name,
        pieces=found.pieces,
        work=found.work,
        worst_stretch=found.stretch,
        worst_shrink=found.shrink,
        weld_mm=shown.cut.weld,
        seen_mm=shown.cut.weld - hidden,
        hidden_mm=hidden,
        metal_mm2=metal,
        locked_mm2=shown.cut.locked,
        held=shown.cut.held,
        price=shown.refined.aim.weld,
        seams=tuple(each.seam for each in shown.seams),
        mirror_of=tuple(each.mirror_of for each in shown.seams),
        panels=shown.panels,
        moves=moves,
    )


def _moves(shown: Shown) -> list[tuple[int, float, Trial]]:
    """Return a trial for every seam moved either way: which, how far, and the trial."""
    found = shown.refined.found
    return [
        (index, by_mm, changed(found, {seam.cuts: _shifted(seam.course, by_mm * seam.slope)}))
        for index, seam in enumerate(found.seams)
        if seam.course is not None
        for by_mm in (-MOVE_MM, MOVE_MM)
    ]


def _shifted(course: Course, by: float) -> Course:
    return Course(course.field, course.level + by, course.bend)


def _seam_move(
    board: Board, shown: Shown, index: int, by_mm: float, answer: Measured | None
) -> SeamMove:
    name = next(each.seam.name for each in shown.seams if each.course == index)
    towards = board.axes.axes.T @ _ahead_of(shown.refined.found.seams[index])
    nan = float("nan")
    if answer is None or not answer.stands:
        return SeamMove(name, by_mm, locked(np.sign(by_mm) * towards), nan, nan, nan, nan)
    return SeamMove(
        name,
        by_mm,
        locked(np.sign(by_mm) * towards),
        answer.work,
        answer.stretch,
        answer.shrink,
        shown.cut.weld + answer.weld - shown.refined.found.weld,
    )


def _ahead_of(seam: SeamLines) -> FloatArray:
    """Return the way a seam moves where its field rises, in its middle, in the tank's axes.

    The line runs with its field's higher side on its left, as the faces above run round.
    """
    line = max(seam.lines, key=lambda each: len(each.points))
    k = len(line.points) // 2
    run = line.points[min(k + 1, len(line.points) - 1)] - line.points[max(k - 1, 0)]
    way = np.cross(line.normals[k], run)
    return np.asarray(way / max(float(np.linalg.norm(way)), 1e-300))
