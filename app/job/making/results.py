"""What the steps make: frozen results, compared by identity."""

from dataclasses import dataclass

from geometry.arrays import BoolArray
from geometry.blank import FlatPanel, Work
from geometry.datum import Copied, LeftRight, Point3
from geometry.mesh import TriMesh
from geometry.panels import CutSurface, Panel
from geometry.scan import Hole, Piece, ScanReport, SoundScan, TidyScan
from geometry.surface import CharacterLine, Opening, WorkingSurface


@dataclass(frozen=True, eq=False)
class Scanned:
    """Scan: the sound mesh, in the file's unit, and what was found on it."""

    sound: SoundScan
    report: ScanReport


@dataclass(frozen=True, eq=False)
class Tidied:
    """Tidy: what of the scan is the tank, and what will become of its holes; mm.

    Attributes
    ----------
    tidy : TidyScan
    pieces : tuple of Piece
        Of the whole scan, largest first.
    kept : tuple of bool
        Whether any of each piece is left.
    holes : tuple of Hole
        Of `tidy.mesh`, longest rim first.
    hole_fates : tuple of "filled" or "left"
    """

    tidy: TidyScan
    pieces: tuple[Piece, ...]
    kept: tuple[bool, ...]
    holes: tuple[Hole, ...]
    hole_fates: tuple[str, ...]


@dataclass(frozen=True, eq=False)
class Halves:
    """Halves: left laid against right about the centre plane, whatever will be copied.

    Attributes
    ----------
    left_right : LeftRight or None
        None where one hand was not scanned.
    shares : two floats
        Then how much of all the skin lies left and right; nothing else.
    """

    left_right: LeftRight | None
    shares: tuple[float, float] | None = None


@dataclass(frozen=True, eq=False)
class Sides:
    """Sides: left against right about the centre plane, and what is copied.

    Attributes
    ----------
    left_right : LeftRight or None
        Of the tidied scan; None where a side is copied to a hand of which nothing was scanned.
    copied : Copied or None
        The tank with one side made from the other, where the maker chose one.
    """

    left_right: LeftRight | None
    copied: Copied | None = None


@dataclass(frozen=True)
class Skin:
    """The scanned face all after it is made from: with one side copied if one is, else as scanned.

    Two are equal when they hold the very same results.

    Attributes
    ----------
    tidied : Tidied
    sides : Sides or None
        None where nothing is copied.
    """

    tidied: Tidied
    sides: Sides | None = None

    @property
    def copy(self) -> Copied | None:
        """The tank with one side made from the other."""
        return None if self.sides is None else self.sides.copied

    @property
    def mesh(self) -> TriMesh:
        """The face itself, mm."""
        return self.tidied.tidy.mesh if self.copy is None else self.copy.mesh

    @property
    def guessed(self) -> BoolArray:
        """(m,) faces that were not scanned."""
        return self.tidied.tidy.bridged if self.copy is None else self.copy.guessed


@dataclass(frozen=True, eq=False)
class Lines:
    """Lines: the character lines found.

    Attributes
    ----------
    found : tuple of CharacterLine
        mm, longest first.
    places : tuple of tuples of points
        The same lines in file coordinates, as a decision about one names it.
    """

    found: tuple[CharacterLine, ...]
    places: tuple[tuple[Point3, ...], ...]


@dataclass(frozen=True, eq=False)
class Surface:
    """Surface: the tank alone, in mm, and the working surface laid through its metal.

    Attributes
    ----------
    tidy : TidyScan
    working : WorkingSurface
    """

    tidy: TidyScan
    working: WorkingSurface


@dataclass(frozen=True, eq=False)
class Panels:
    """Seams: the surface cut, and the panels that result."""

    cut: CutSurface
    panels: tuple[Panel, ...]


@dataclass(frozen=True, eq=False)
class Blank:
    """Blanks: one panel laid flat.

    Attributes
    ----------
    panel : str
    mesh : TriMesh
        What was flattened: the panel with its openings filled as solid metal, mm.
    filled : (m,) bool
        Faces of `mesh` that are a guess: not scanned.
    openings : tuple of Opening
        Carried through to be cut after forming.
    flat : FlatPanel
        Its `work` is what was reached.
    asked : Work or None
        What was asked for; None where that is what was reached.
    """

    panel: str
    mesh: TriMesh
    filled: BoolArray
    openings: tuple[Opening, ...]
    flat: FlatPanel
    asked: Work | None = None

    @property
    def is_eased(self) -> bool:
        """Return whether the panel did not let it be made all the way asked for."""
        return self.asked is not None and self.asked.bias != self.flat.work.bias
