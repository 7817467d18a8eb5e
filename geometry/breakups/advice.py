"""What a shaper would say of a seam: the kinds of advice, and the figures each is told with.

The words, with their reasons, are the app's. All of it is common practice, no source but where
`geometry.breakups.seam_advice` names one; none of it is ever a refusal.
"""

from dataclasses import dataclass
from typing import ClassVar

from geometry.arrays import FloatArray


@dataclass(frozen=True, eq=False)
class Advice:
    """Something to think over about a seam, or about a panel.

    Attributes
    ----------
    kind : str
    seam : str
        "" where it is about a panel.
    place : (3,) float, mm
        Where to look, on the scanned face.
    """

    kind: ClassVar[str] = ""
    seam: str
    place: FloatArray


@dataclass(frozen=True, eq=False)
class LowCrownAdvice(Advice):
    """A long straight weld over skin with hardly any crown: it sinks to a valley.

    Attributes
    ----------
    length_mm : float
        Of the stretch.
    sweep_mm : float
        Its tightest sweep, either way; the middle value along the stretch.
    """

    kind: ClassVar[str] = "low crown"
    length_mm: float
    sweep_mm: float


@dataclass(frozen=True, eq=False)
class InsideCornerAdvice(Advice):
    """A sharp corner: an inside corner of the panel on one side, which pulls from two ways.

    Attributes
    ----------
    turn_rad : float
        By how much the seam turns there.
    within_mm : float
        Over how much of the seam.
    """

    kind: ClassVar[str] = "inside corner"
    turn_rad: float
    within_mm: float


@dataclass(frozen=True, eq=False)
class NearLineAdvice(Advice):
    """A seam on, across or beside a crisp line: the heat softens it.

    Attributes
    ----------
    line : int
        Which of the lines asked about.
    distance_mm : float
        The least.
    along_mm : float
        How much of the seam lies nearer than it should stand off.
    crosses : bool
    """

    kind: ClassVar[str] = "near line"
    line: int
    distance_mm: float
    along_mm: float
    crosses: bool


@dataclass(frozen=True, eq=False)
class EndsApartAdvice(Advice):
    """A seam's end that meets nothing, or just misses another seam's end on a common line.

    Attributes
    ----------
    gap_mm : float
        To the nearest rim or seam, or to the other end.
    other : str
        The seam whose end it misses; "" where it is about rims and seams in general.
    """

    kind: ClassVar[str] = "ends apart"
    gap_mm: float
    other: str


@dataclass(frozen=True, eq=False)
class TooLargeAdvice(Advice):
    """A panel whose blank, with its trim, does not come off the sheet.

    Attributes
    ----------
    panel : str
    cut_mm : (float, float)
        The rectangle with its trim, longer side first.
    sheet_mm : (float, float)
        The sheet, longer side first.
    """

    kind: ClassVar[str] = "too large"
    panel: str
    cut_mm: tuple[float, float]
    sheet_mm: tuple[float, float]
