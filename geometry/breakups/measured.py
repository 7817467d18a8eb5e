"""A break-up under study, measured: its pieces cut, what each costs, and its seams' lengths."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray
from geometry.breakups.aims import Aim
from geometry.breakups.courses import Course, Cut, Leaf, courses_of
from geometry.breakups.piece import Line, Piece, chains_of, level_lines, parted, slope_along
from geometry.breakups.piece_figures import PieceFigures, estimated_figures, piece_figures
from geometry.breakups.study_ground import StudyGround

LEAST_AREA = 0.02
"""Share of the studied area below which a piece is a scrap."""


@dataclass(frozen=True, eq=False)
class SeamLines:
    """One course, or the centre plane within one piece, as it runs on the studied side.

    Attributes
    ----------
    cuts : tuple of Cut
        Of the piece it parts, or along whose edge on the centre plane it runs.
    course : Course or None
        None on the centre plane.
    lines : tuple of Line
    length, hidden : float, mm
        On the whole tank.
    near : float, mm
        How much of it, on the studied side, lies too near to a character line.
    slope : float
        How steep the field is along it: mm of field over mm of way.
    """

    cuts: tuple[Cut, ...]
    course: Course | None
    lines: tuple[Line, ...]
    length: float
    hidden: float
    near: float
    slope: float


@dataclass(frozen=True, eq=False)
class Measured:
    """A break-up under study.

    Attributes
    ----------
    leaves : tuple of Leaf
    figures : tuple of PieceFigures
        Of each leaf.
    seams : tuple of SeamLines
    centres : (l, 3) float, mm
        Middle of each leaf.
    areas : (l,) float, mm2
    """

    leaves: tuple[Leaf, ...]
    figures: tuple[PieceFigures, ...]
    seams: tuple[SeamLines, ...]
    centres: FloatArray
    areas: FloatArray

    @property
    def pieces(self) -> int:
        """Return how many pieces the whole tank is in."""
        return sum(leaf.count for leaf in self.leaves)

    @property
    def work(self) -> float:
        """Return the work of the whole tank, mm2."""
        return sum(
            leaf.count * each.work for leaf, each in zip(self.leaves, self.figures, strict=True)
        )

    @property
    def weld(self) -> float:
        """Return the length of all seams, mm."""
        return sum(seam.length for seam in self.seams)

    @property
    def hidden(self) -> float:
        """Return what of it is hidden, mm."""
        return sum(seam.hidden for seam in self.seams)

    @property
    def shrink(self) -> float:
        """Return the worst shrink of any piece."""
        return float(np.min([each.shrink for each in self.figures]))

    @property
    def stretch(self) -> float:
        """Return the worst stretch of any piece."""
        return float(np.max([each.stretch for each in self.figures]))

    @property
    def stands(self) -> bool:
        """Return whether every piece can be laid flat."""
        return all(each.stands for each in self.figures)

    @property
    def locked(self) -> float:
        """Return about how much of the whole tank's skin is locked in its forms, mm2."""
        return sum(
            leaf.count * each.locked for leaf, each in zip(self.leaves, self.figures, strict=True)
        )

    def cost(self, aim: Aim, seen_weight: float) -> float:
        """Return what it costs, mm2."""
        priced = seen_weight * (self.weld - self.hidden) + self.hidden
        return aim.cost(self.work, priced, self.locked)


class Cutter:
    """Pieces of the ground by their cuts, each cut once."""

    def __init__(self, ground: StudyGround) -> None:
        self._pieces: dict[tuple[Cut, ...], Piece | None] = {(): ground.root}

    def piece(self, cuts: tuple[Cut, ...]) -> Piece | None:
        """Return a piece, or None where one of its cuts does not part what it should."""
        if cuts not in self._pieces:
            before, course = self.piece(cuts[:-1]), cuts[-1].course
            both = None if before is None else parted(before, course.heights(before))
            for above in (False, True):
                side = None if both is None else both.high if above else both.low
                self._pieces[*cuts[:-1], Cut(course, above)] = side
        return self._pieces[cuts]


def measured(
    ground: StudyGround,
    leaves: tuple[Leaf, ...],
    before: Measured | None = None,
    *,
    estimate: bool = False,
) -> Measured | None:
    """Return a break-up measured, or None where its courses do not part the tank that way.

    Parameters
    ----------
    ground : StudyGround
    leaves : tuple of Leaf
    before : Measured, optional
        Another, measured the same way: what both have in common is not measured again.
    estimate : bool
        Whether works are estimated, not found by laying the pieces flat.
    """
    cutter = Cutter(ground)
    known = _leaves_of(before)
    measures = []
    for leaf in leaves:
        one = known[leaf] if leaf in known else _measured_leaf(ground, leaf, cutter, estimate)
        if one is None:
            return None
        measures.append(one)
    seams = _seams(ground, leaves, cutter, before)
    if seams is None:
        return None
    figures, centres, areas = zip(*measures, strict=True)
    return Measured(leaves, tuple(figures), seams, np.array(centres), np.array(areas))


_LeafMeasures = tuple[PieceFigures, FloatArray, float]


def _leaves_of(before: Measured | None) -> dict[Leaf, _LeafMeasures]:
    if before is None:
        return {}
    rows = zip(before.leaves, before.figures, before.centres, before.areas, strict=True)
    return {leaf: (figures, centre, float(area)) for leaf, figures, centre, area in rows}


def _measured_leaf(
    ground: StudyGround, leaf: Leaf, cutter: Cutter, estimate: bool
) -> _LeafMeasures | None:
    piece = cutter.piece(leaf.cuts)
    if piece is None or piece.area < LEAST_AREA * ground.area:
        return None
    if leaf.joined and not len(piece.plane_edges):
        return None
    cost_of = estimated_figures if estimate else piece_figures
    centre = piece.outside[piece.faces].mean(axis=(0, 1))
    return cost_of(piece, joined=leaf.joined), centre, piece.area


def _seams(
    ground: StudyGround, leaves: tuple[Leaf, ...], cutter: Cutter, before: Measured | None
) -> tuple[SeamLines, ...] | None:
    known = {} if before is None else {(seam.cuts, seam.course): seam for seam in before.seams}
    wanted: list[tuple[tuple[Cut, ...], Course | None]] = [*courses_of(leaves).items()]
    if ground.has_plane:
        wanted += [(leaf.cuts, None) for leaf in leaves if not leaf.joined]
    whole = set() if before is None else {leaf.cuts for leaf in before.leaves}
    seams = []
    for cuts, course in wanted:
        if (cuts, course) in known:
            seams.append(known[cuts, course])
        elif course is not None or cuts not in whole:
            found = _seam(ground, cuts, course, cutter)
            if found is None:
                return None
            seams += found
    return tuple(seams)


def _seam(
    ground: StudyGround, cuts: tuple[Cut, ...], course: Course | None, cutter: Cutter
) -> list[SeamLines] | None:
    """Return one seam's lines in a list, an empty one where a piece is off the centre plane."""
    piece = cutter.piece(cuts)
    if piece is None:
        return None
    if course is None:
        lines: tuple[Line, ...] | None = centre_lines(piece)
        sides, slope = 1, 1.0
    else:
        heights = course.heights(piece)
        lines = level_lines(piece, heights)
        sides, slope = ground.sides, slope_along(piece, heights)
    if lines is None:
        return None
    if not lines:
        return []
    length, hidden = sides * np.sum([ground.lengths(line) for line in lines], axis=0)
    near = sum(ground.near_crisp(line) for line in lines)
    return [SeamLines(cuts, course, lines, float(length), float(hidden), near, slope)]


def centre_lines(piece: Piece) -> tuple[Line, ...]:
    """Return where a piece of one hand ends on the centre plane."""
    chains = chains_of(piece.plane_edges) or []
    return tuple(Line(piece.outside[each], piece.normals[each], (True, True)) for each in chains)
