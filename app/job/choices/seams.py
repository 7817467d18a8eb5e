"""What the maker says of seams, and break-ups kept by name to choose among."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, get_args

from geometry.datum import Point3

Sight = Literal["seen", "hidden"]
Stiffness = Literal["stiff", "soft"]
Reach = Literal["both sides", "one side", "none"]
SeamEdge = Literal["butt", "lap", "flange", "joggle"]

SIGHTS: tuple[Sight, ...] = get_args(Sight)
STIFFNESSES: tuple[Stiffness, ...] = get_args(Stiffness)
REACHES: tuple[Reach, ...] = get_args(Reach)
SEAM_EDGES: tuple[SeamEdge, ...] = get_args(SeamEdge)


@dataclass(frozen=True)
class SeamLine:
    """A seam as drawn: points near the surface, in file coordinates, joined over it.

    Attributes
    ----------
    name : str
    points : tuple of points
    closed : bool
    on : tuple of str
        What each point is snapped to, "" where it lies free: "rim", "centre plane", "line 2",
        "station 150", "seam: top seam", "mirror: top seam"; empty where no point is snapped.
    mirror_of : str
        The seam of the other hand it is the mirror image of; "" where it is drawn by itself.
    """

    name: str
    points: tuple[Point3, ...]
    closed: bool = False
    on: tuple[str, ...] = ()
    mirror_of: str = ""


_ON_SEAM = "seam: "
_ON_MIRROR = "mirror: "


def on_seam(name: str) -> str:
    """Return what a point snapped to a seam is said to be on.

    >>> on_seam("top seam")
    'seam: top seam'
    """
    return _ON_SEAM + name


def seam_it_is_on(on: str) -> str:
    """Return the name of the seam a point is snapped to; "" where it is on none."""
    return on.removeprefix(_ON_SEAM) if on.startswith(_ON_SEAM) else ""


def on_mirror(name: str) -> str:
    """Return what a point snapped to the mirror image of a seam is said to be on.

    >>> on_mirror("top seam")
    'mirror: top seam'
    """
    return _ON_MIRROR + name


def on_renamed(on: str, renamed: Callable[[str], str]) -> str:
    """Return what a point is on once seams are renamed; "" where its seam's new name is "".

    >>> on_renamed("mirror: top seam", lambda name: "ridge"), on_renamed("rim", lambda name: "")
    ('mirror: ridge', 'rim')
    """
    for before in (_ON_SEAM, _ON_MIRROR):
        if on.startswith(before):
            name = renamed(on.removeprefix(before))
            return before + name if name else ""
    return on


@dataclass(frozen=True)
class PanelName:
    """A panel's name and a point inside it, in file coordinates."""

    name: str
    inside: Point3


@dataclass(frozen=True)
class SeamNote:
    """What the maker says of one seam; None where nothing was said.

    Attributes
    ----------
    seam : str
    sight : "seen", "hidden" or None
        Of the finished tank. If not said, it goes by where the skin faces.
    stiffness : "stiff", "soft" or None
        Whether the skin beside it holds its shape under heat.
    reach : "both sides", "one side", "none" or None
        Where dolly and file still come to once it is tacked.
    closing : bool
        The last to be welded: nothing gets inside after it.
    edge : "butt", "lap", "flange", "joggle" or None
        How its panels meet. The allowance of an edge of its own goes before it.
    allowance_mm : (float, float) or None
        What is left outside the net line on the left and on the right of it, as it is drawn and
        seen from outside.
    hushed : tuple of str
        Kinds of advice not to be told again of this seam.
    note : str
    """

    seam: str
    sight: Sight | None = None
    stiffness: Stiffness | None = None
    reach: Reach | None = None
    closing: bool = False
    edge: SeamEdge | None = None
    allowance_mm: tuple[float, float] | None = None
    hushed: tuple[str, ...] = ()
    note: str = ""

    @property
    def says_something(self) -> bool:
        """Return whether anything is said."""
        return self != SeamNote(self.seam)


@dataclass(frozen=True)
class BreakUp:
    """Where the tank may be split: seams, names of panels and notes, kept under a name.

    Attributes
    ----------
    name : str
    seams : tuple of SeamLine
    panel_names : tuple of PanelName
    notes : tuple of SeamNote
    """

    name: str
    seams: tuple[SeamLine, ...]
    panel_names: tuple[PanelName, ...] = ()
    notes: tuple[SeamNote, ...] = ()
