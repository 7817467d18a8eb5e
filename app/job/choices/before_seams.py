"""What the maker decides between a scan and its seams: what is the tank, how it stands, its lines.

Plain values, points in file coordinates, lengths in mm where a name says so. What is made of them
stands in `app.job.steps`.
"""

from dataclasses import dataclass
from typing import Literal

from geometry.datum import Point3

Fill = Literal["usual", "all", "none"]
HowDatum = Literal["none", "auto", "picks", "given"]
HowLevel = Literal["auto", "picks", "given"]
Hand = Literal["left", "right"]
CopiedHand = Literal["none", "left", "right"]
LineState = Literal["locked", "rejected"]


@dataclass(frozen=True)
class HalfSpaceCrop:
    """The side of a plane that its normal points to.

    Attributes
    ----------
    point : three floats
        On the plane.
    normal : three floats
        Of any length.
    """

    point: Point3
    normal: Point3


@dataclass(frozen=True)
class LassoCrop:
    """What a closed outline shows or hides, looked at along one direction.

    Attributes
    ----------
    outline : tuple of points
        At least three; the last joins the first.
    along : three floats
        From the eye into the picture.
    inside : bool
        It names what the outline encloses; otherwise all the rest.
    front_only : bool
        Only the faces met first, not those behind them.
    """

    outline: tuple[Point3, ...]
    along: Point3
    inside: bool = True
    front_only: bool = False


@dataclass(frozen=True)
class BallCrop:
    """What lies within some distance of a place: a cap, a tap, a clamp.

    Attributes
    ----------
    centre : three floats
    radius_mm : float
    """

    centre: Point3
    radius_mm: float


Crop = HalfSpaceCrop | LassoCrop | BallCrop
"""A part of space: kept when it is a crop, taken out when it is a cut."""


@dataclass(frozen=True)
class TidyChoice:
    """What of the scan is the tank, and what becomes of its holes.

    Attributes
    ----------
    kept, dropped : tuple of points
        Each on a piece that is kept, or dropped, whatever the usual rule says.
    crops : tuple of Crop
        Only what lies in all of them is kept.
    cuts : tuple of Crop
        What lies in any of them is taken out.
    fill : "usual", "all" or "none"
        What becomes of holes by themselves: "usual" fills small ones.
    filled, left : tuple of points
        Each near the middle of a hole that is filled, or left open, whatever `fill` says.
    """

    kept: tuple[Point3, ...] = ()
    dropped: tuple[Point3, ...] = ()
    crops: tuple[Crop, ...] = ()
    cuts: tuple[Crop, ...] = ()
    fill: Fill = "usual"
    filled: tuple[Point3, ...] = ()
    left: tuple[Point3, ...] = ()


@dataclass(frozen=True)
class DatumChoice:
    """How the centre plane, up and front are found.

    Attributes
    ----------
    how : "none", "auto", "picks" or "given"
        "auto" finds the plane about which the scan mirrors itself.
    on_centre : tuple of points
        Picked on the centre line.
    pairs : tuple of pairs of points
        Each pair picked at the same place of the left and the right side.
    plane : (point, normal) or None
        The plane itself, for "given"; the normal points to the maker's left.
    level : "auto", "picks" or "given"
        "auto" takes the flat bottom edge.
    level_picks : tuple of points
        Points that stand equally high.
    up, front : three floats or None
        Directions as said by the maker; None for those of the job, or as the shape shows.
    """

    how: HowDatum = "none"
    on_centre: tuple[Point3, ...] = ()
    pairs: tuple[tuple[Point3, Point3], ...] = ()
    plane: tuple[Point3, Point3] | None = None
    level: HowLevel = "auto"
    level_picks: tuple[Point3, ...] = ()
    up: Point3 | None = None
    front: Point3 | None = None


@dataclass(frozen=True)
class Zone:
    """A round place on the tank with its own rule.

    Attributes
    ----------
    centre : three floats
    radius_mm : float
    side : "left" or "right"
        Which side is copied to the other there; of no use where the zone stays as scanned.
    """

    centre: Point3
    radius_mm: float
    side: Hand = "left"


@dataclass(frozen=True)
class SidesChoice:
    """Which side is copied to the other.

    Attributes
    ----------
    copy : "none", "left" or "right"
    zones : tuple of Zone
        Places where another side is copied.
    odd : tuple of Zone
        Places that stay as scanned: a tap, a key, a badge.
    """

    copy: CopiedHand = "none"
    zones: tuple[Zone, ...] = ()
    odd: tuple[Zone, ...] = ()

    @property
    def copies(self) -> bool:
        """Return whether anything is copied: a side, or the places of zones."""
        return self.copy != "none" or bool(self.zones)


@dataclass(frozen=True)
class LineChoice:
    """A character line the maker decided about.

    Attributes
    ----------
    points : tuple of points
        Near the surface, in order; a closed line repeats its first.
    state : "locked" or "rejected"
        A locked line is held by every later step.
    drawn : bool
        Drawn by hand, not found.
    """

    points: tuple[Point3, ...]
    state: LineState = "locked"
    drawn: bool = False
