"""`Desk`: what the step views show besides the job: what is chosen, drawn, running, written."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from app.exports import Correction, Output
from app.job import Comparison, Metals
from app.units import Fractions
from app.window.seam_snaps import SnapChoice
from app.window.seam_work import SeamAmounts
from geometry.datum import TapeKind
from geometry.metal import METALS


@dataclass(frozen=True)
class Desk:
    """The window's own state; no part of the job.

    Attributes
    ----------
    show : "mm" or "in"
    percent : bool
    panel : str
        The chosen panel's name, or "".
    seam, tape : int
        The chosen one's number, -1 for none.
    tool : str
        Key of the tool in the hand, or "".
    tool_words : str
        What the tool in the hand asks for next.
    tape_kind : str
        How the next tape lies: "straight", "over", "girth" or "along".
    tape_laid : bool
        Whether all points of a tape are down and its length is asked for.
    tool_laid : bool
        Whether the tool in the hand is drawn whole and only a word about it is missing.
    chosen : (kind, number)
        What is chosen of the step's lists: ("hole", 2). ("", -1) for nothing.
    wanted : frozenset of (step, part)
        What waits to be made.
    was_stopped : bool
    written : tuple of str
        Files of the last export.
    written_to : Path or None
    least_thickness_mm : float
    comparison : Comparison or None
        Two ways to make the chosen panel, while they are compared.
    metals : mapping of name to SheetMetal
        Those whose figures are known.
    output : Output
        Papers, roll, printer and kinds of file that pages are made for.
    printer : str
        Name of the printer pages are made for; "" for any.
    printers : mapping of name to Correction
        Those checked, with what puts each right.
    fractions : Fractions
        To which part of an inch lengths are told on paper.
    pages_current : bool
        Whether the pages shown are what would come out now.
    snap : SnapChoice
        How points of seams catch.
    amounts : SeamAmounts
        How far the commands on a seam may go.
    seam_words : str
        What came of the last command on the chosen seam, or why it does not apply.
    """

    show: str = "mm"
    percent: bool = False
    panel: str = ""
    seam: int = -1
    tape: int = -1
    tool: str = ""
    tool_words: str = ""
    tape_kind: TapeKind = "straight"
    tape_laid: bool = False
    tool_laid: bool = False
    chosen: tuple[str, int] = ("", -1)
    wanted: frozenset[tuple[str, str]] = field(default_factory=frozenset)
    was_stopped: bool = False
    written: tuple[str, ...] = ()
    written_to: Path | None = None
    least_thickness_mm: float = 1.2
    comparison: Comparison | None = None
    metals: Metals = field(default_factory=lambda: METALS)
    output: Output = field(default_factory=Output)
    printer: str = ""
    printers: Mapping[str, Correction] = field(default_factory=dict)
    fractions: Fractions = field(default_factory=Fractions)
    pages_current: bool = False
    snap: SnapChoice = field(default_factory=SnapChoice)
    amounts: SeamAmounts = field(default_factory=SeamAmounts)
    seam_words: str = ""
