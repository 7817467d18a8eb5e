"""`JobState`: every decision of one job, and every result with what it was made from. Frozen.

Decisions are plain values; scans and results are compared by identity (`eq=False`), so one `==`
tells whether a result is still made from what stands in the job.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Literal

from app.job.choices.before_seams import DatumChoice, LineChoice, SidesChoice, TidyChoice
from app.job.choices.card import JobCard
from app.job.choices.paper import EdgeChoice, Forming, Grain, Price, Print
from app.job.choices.rest import RestOfTank
from app.job.choices.seams import BreakUp, PanelName, SeamLine, SeamNote
from geometry.blank import Work
from geometry.datum import Allowance, Point3, Tape
from geometry.scan import RawScan, Unit

ScannedFace = Literal["outside", "middle"]
MarkedFace = Literal["inside", "outside"]
HowMade = Literal["mostly stretch", "both", "mostly shrink"]

MAKING: Mapping[HowMade, Work] = MappingProxyType(
    {"mostly stretch": Work(bias=-0.5), "both": Work(), "mostly shrink": Work(bias=0.5)}
)
"""How will you make it? The answers, and the work each stands for, as far as a panel lets."""


def how_made(work: Work) -> HowMade | None:
    """Return the plain answer a work stands for, or None for one set by its numbers.

    >>> how_made(Work(bias=0.5)), how_made(Work(bias=0.3))
    ('mostly shrink', None)
    """
    return next((how for how, plain in MAKING.items() if plain == work), None)


@dataclass(frozen=True, eq=False)
class ScanFile:
    """The customer's scan as it was read, never altered.

    Attributes
    ----------
    file_name : str
        Without folders.
    sha256 : str
        Of the file's bytes, in hexadecimal.
    raw : RawScan
        Its vertices and faces, in the file's own unit and order.
    """

    file_name: str
    sha256: str
    raw: RawScan


@dataclass(frozen=True)
class SizeChoice:
    """What proves the size: a unit given, taped distances, or both.

    Attributes
    ----------
    unit : str or None
        mm, cm, m or in.
    tapes : tuple of Tape
        Points in file coordinates.
    rescale : bool
        The scan has no scale of its own; the tapes give it.
    allowed : Allowance
        How far tapes may be off.
    """

    unit: Unit | None = None
    tapes: tuple[Tape, ...] = ()
    rescale: bool = False
    allowed: Allowance = field(default_factory=Allowance)


@dataclass(frozen=True)
class MetalChoice:
    """The sheet, and which face of it the scan shows.

    Attributes
    ----------
    thickness_mm : float
    alloy : str
    face : "outside" or "middle"
        "outside": the blank lies half the sheet, and the paint, below the scan.
    paint_mm : float
        Paint or filler on the scanned tank; counts only when its outside was scanned.
    bend_radius_mm : float or None
        Inside radius a metal of the maker's own is bent over at this thickness: kept here, so that
        the job is the same on another machine. None for metals known from the start, and where
        nobody knows.
    """

    thickness_mm: float = 1.6
    alloy: str = "3003-H14"
    face: ScannedFace = "outside"
    paint_mm: float = 0.0
    bend_radius_mm: float | None = None

    @property
    def inward_mm(self) -> float:
        """How far below the scan the middle of the metal lies, mm."""
        return 0.0 if self.face == "middle" else self.paint_mm + self.thickness_mm / 2.0


@dataclass(frozen=True)
class Directions:
    """Which way FRONT (the headstock end) and up are, in file coordinates; None when not said."""

    front: Point3 | None = None
    top: Point3 | None = None


@dataclass(frozen=True)
class BlankChoice:
    """How one panel will be made.

    Attributes
    ----------
    panel : str
    work : Work
    exact : bool
        The numbers were set by hand: the bias is taken as it stands, never eased.
    """

    panel: str
    work: Work
    exact: bool = False


@dataclass(frozen=True, eq=False)
class Made:
    """A result and the inputs it was made from, or the error that came instead of one.

    Attributes
    ----------
    made_from : tuple
        The step's inputs, the very objects.
    value : object
        None when there is an error.
    error : Exception or None
    earlier : object
        Beside an error: the last result there was, to be looked at. None when there is none.
    """

    made_from: tuple[Any, ...]
    value: Any
    error: Exception | None = None
    earlier: Any = None


@dataclass(frozen=True, eq=False)
class JobState:
    """Everything about one job at one moment. Edits return a new one; undo puts an old one back.

    Attributes
    ----------
    name : str
    scan : ScanFile or None
    size : SizeChoice
    metal : MetalChoice
    tidy : TidyChoice
    datum : DatumChoice
    sides : SidesChoice
    lines : tuple of LineChoice
        Character lines locked, rejected or drawn.
    find_lines : bool
        Whether character lines are looked for.
    directions : Directions
        As said by the maker; where a datum is made its front and up count, see
        `app.job.directions_of`.
    seams : tuple of SeamLine
    panel_names : tuple of PanelName
    seam_notes : tuple of SeamNote
        What is said of seams; none for seams nothing is said of.
    breakups : tuple of BreakUp
        Kept to choose among; the seams of now need not be one of them.
        Panels not named here are numbered.
    work : Work
        For panels without a choice of their own.
    exact : bool
        Whether that work's numbers were set by hand.
    blank_choices : tuple of BlankChoice
    marked_face : "inside" or "outside"
        The face of the blank that gets marked; paper is seen from there.
    trim_mm : float
        How far outside the net the cut line runs along edges without a choice of their own; what
        comes on top where the size is not sure is worked out.
    revision : int
    model : str
        Of the motorcycle, in the maker's words.
    forming : "form" or "freehand"
        How the panels are worked; see `app.job.with_forming`.
    edges : tuple of EdgeChoice
        Edges with an allowance of their own.
    grain : "along", "across" or "any"
        How the sheet's grain is to run: along the panels' FRONT, across it, or either.
    card : JobCard
    price : Price or None
        Of the sheet.
    revised : str
        The day of the revision, year-month-day; "" while nothing was printed.
    prints : tuple of Print
        Every revision printed, the latest last; see `app.job.with_print`.
    rest : RestOfTank
        What is decided besides the panels: tunnel, gauges, fittings.
    frame_scan : ScanFile or None
        The second scan, of what the tank stands on; kept as the first is.
    results : mapping of (step, part) to Made
        Part is a panel's name, or "" for steps done once. Read it through `app.job.made`, which
        knows what is out of date.
    """

    name: str = "new job"
    scan: ScanFile | None = None
    size: SizeChoice = SizeChoice()
    metal: MetalChoice = MetalChoice()
    tidy: TidyChoice = field(default_factory=TidyChoice)
    datum: DatumChoice = field(default_factory=DatumChoice)
    sides: SidesChoice = field(default_factory=SidesChoice)
    lines: tuple[LineChoice, ...] = ()
    find_lines: bool = False
    directions: Directions = Directions()
    seams: tuple[SeamLine, ...] = ()
    panel_names: tuple[PanelName, ...] = ()
    seam_notes: tuple[SeamNote, ...] = ()
    breakups: tuple[BreakUp, ...] = ()
    work: Work = field(default_factory=Work)
    exact: bool = False
    blank_choices: tuple[BlankChoice, ...] = ()
    marked_face: MarkedFace = "inside"
    trim_mm: float = 12.7
    revision: int = 1
    model: str = ""
    forming: Forming = "form"
    edges: tuple[EdgeChoice, ...] = ()
    grain: Grain = "any"
    card: JobCard = field(default_factory=JobCard)
    price: Price | None = None
    revised: str = ""
    prints: tuple[Print, ...] = ()
    rest: RestOfTank = field(default_factory=RestOfTank)
    frame_scan: ScanFile | None = None
    results: Mapping[tuple[str, str], Made] = field(default_factory=lambda: MappingProxyType({}))

    def choice_for(self, panel: str) -> BlankChoice:
        """Return how a panel will be made, and whether its numbers were set by hand."""
        for choice in self.blank_choices:
            if choice.panel == panel:
                return choice
        return BlankChoice(panel, self.work, self.exact)
