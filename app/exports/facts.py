"""What a page is made from: facts of the job, the panel's sheet, the tank it belongs to."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal, Protocol

import numpy as np

from app.exports.facing import Face, Lay
from app.job import LaidOut, no_cut
from app.settings import Settings
from geometry.arrays import BoolArray, FloatArray, IntArray
from geometry.datum import TapeKind
from geometry.metal import BlankUse
from geometry.pattern import FlatSheet, Pattern, flat_areas, thickness_at_vertices, vertex_average

Show = Literal["mm", "in"]
Forming = Literal["form", "freehand"]
Grain = Literal["along", "across", "any"]


class FlatResult(FlatSheet, LaidOut, Protocol):
    """A flat panel with its numbers."""

    @property
    def thickness(self) -> FloatArray:
        """(m,) ratio to the sheet's."""

    @property
    def formed_area(self) -> float:
        """Of the finished panel, mm2."""

    @property
    def blank_area(self) -> float:
        """Inside the net line, mm2."""


@dataclass(frozen=True)
class ProofTape:
    """A tape on the real tank beside the same distance on the scan, mm, and how it lay."""

    taped_mm: float
    scan_mm: float
    kind: TapeKind = "straight"


@dataclass(frozen=True)
class JobFacts:
    """What every page of a job says.

    Attributes
    ----------
    job : str
        The maker's name for it.
    alloy : str
        Alloy and temper.
    thickness_mm : float
        Of the sheet.
    revision : str
    dated : date
        Printed as given; nothing here reads a clock.
    scan_unit : str
        What a coordinate of the scan file means, in words.
    tapes : tuple of ProofTape
    size_proved : bool
        Whether tapes prove the size; without, no CUT line is drawn.
    surface : str
        How the surface was taken, in words.
    marked_face : {"inside", "outside"}
        The face the maker marks: pages are turned to it.
    show : {"mm", "in"}
        Which unit comes first.
    least_mm : float
        The least thickness the maker wants finished panels to keep: a guide.
    copied_from : "left", "right" or ""
        Which side the other is made from; "" for neither, or for one here and the other there.
    model : str
        Make and model of what the tank is for; "" where nothing is said.
    forming : {"form", "freehand"}
        Over a form, or by hand and eye.
    replaces : str
        The revision whose prints are to be thrown away; "" for none.
    grain : {"along", "across", "any"}
        How the sheet's grain runs on every blank, to the direction of FRONT.
    level : str
        By what the tank stands level and how sure that is, in sentences; "" of no tank.
    """

    job: str
    alloy: str
    thickness_mm: float
    revision: str
    dated: date
    scan_unit: str
    tapes: tuple[ProofTape, ...]
    size_proved: bool
    surface: str
    marked_face: Face = "inside"
    show: Show = "mm"
    least_mm: float = Settings.least_thickness_mm
    copied_from: Literal["left", "right", ""] = ""
    model: str = ""
    forming: Forming = "form"
    replaces: str = ""
    grain: Grain = "any"
    level: str = ""


@dataclass(frozen=True, eq=False)
class TankModel:
    """The whole tank in its panels, for pictures.

    Attributes
    ----------
    vertices : (n, 3) float, mm
    faces : (m, 3) int
    panel_of_face : (m,) int
        Index into `names`; -1 where a face belongs to no panel.
    names : tuple of str
    front, up : (3,) float or None
        None while the datum is not set.
    filled, copied : (m,) bool or None
        Faces nobody scanned, and those made from the other side; None for none.
    """

    vertices: FloatArray
    faces: IntArray
    panel_of_face: IntArray
    names: tuple[str, ...]
    front: FloatArray | None = None
    up: FloatArray | None = None
    filled: BoolArray | None = None
    copied: BoolArray | None = None


@dataclass(frozen=True, eq=False)
class PanelSheet:
    """One panel ready for paper.

    Attributes
    ----------
    job : JobFacts
    panel : str
        Its name, as the maker gave it.
    flat : FlatResult
        The blank.
    pattern : Pattern
        The blank dressed.
    filled : (m,) bool
        Faces nobody scanned.
    tank : TankModel
    front_along_u : bool
        Whether the blank lies with the tank's front along +u; else no FRONT arrow is drawn.
    remarks : tuple of str
        Further sentences the maker must read.
    copied : (j,) bool or None
        Which of the first j faces were made from the tank's other side; None for none.
    turn_rad : float
        How far the blank is turned on its pages, to the left.
    joins : tuple of (k, 2) float, mm
        Where tiles meet on paper: words keep off.
    """

    job: JobFacts
    panel: str
    flat: FlatResult
    pattern: Pattern
    filled: BoolArray
    tank: TankModel
    front_along_u: bool = False
    remarks: tuple[str, ...] = ()
    copied: BoolArray | None = None
    turn_rad: float = 0.0
    joins: tuple[FloatArray, ...] = ()

    @property
    def lay(self) -> Lay:
        """How it lies on its pages."""
        return Lay(self.job.marked_face, self.turn_rad)


@dataclass(frozen=True, eq=False)
class OverviewSheet:
    """The whole job on a page.

    Attributes
    ----------
    job : JobFacts
    tank : TankModel
    panels : sequence of PanelSheet
    besides : sequence of BlankUse
        The flat pieces laid out besides the panels.
    """

    job: JobFacts
    tank: TankModel
    panels: Sequence[PanelSheet]
    besides: Sequence[BlankUse] = ()


def reason_not_to_cut(sheet: PanelSheet) -> str | None:
    """Return why no CUT line may be drawn, in capitals for the page; None when one may."""
    reason = no_cut(
        sheet.flat,
        size_proved=sheet.job.size_proved,
        trim_mm=sheet.pattern.trim_mm,
        has_trim=sheet.pattern.trim is not None,
    )
    return None if reason is None else reason.capitals


def told_of(sheet: PanelSheet) -> PanelSheet:
    """Return a sheet without what is not known of it: all that stretch says, if not settled."""
    if sheet.flat.converged:
        return sheet
    bare = replace(
        sheet.pattern,
        contours=(),
        levels=np.empty(0),
        gathers=(),
        cut_gathers=(),
        squares=None,
        thinnest=None,
        thin_regions=(),
    )
    return replace(sheet, pattern=bare)


def thinnest_mm(flat: FlatResult, sheet_mm: float) -> float:
    """Return the thinnest the finished panel gets, mm, averaged round each vertex."""
    return sheet_mm * float(thickness_at_vertices(flat).min())


def vertex_stretches(flat: FlatResult) -> tuple[FloatArray, FloatArray]:
    """Return stretches (n, 2), larger first, and thickness ratio (n,), averaged by blank area."""
    areas = flat_areas(flat.flat_vertices, flat.faces)
    columns = [
        vertex_average(values, areas, flat.faces, len(flat.flat_vertices))
        for values in flat.stretches.T
    ]
    return np.stack(columns, axis=1), thickness_at_vertices(flat)
