"""`TunnelSpec`: what a maker decides of a tunnel, plain values all of them.

Sizes are of the **inside face**, the tube's side. Each end has a height, from the foot line up to
the crown, and a width; both are measured in the end's upright plane, square to the foot line. A
round top's width is across the round at its widest, twice its radius; a flat top's is where the
legs would meet it were its corners sharp. The foot line is where the legs end by design: the tank's
bottom, as near as one straight line goes along it.
"""

from dataclasses import dataclass
from typing import Literal

TopForm = Literal["half round", "half cone", "flat", "three sided"]
"""Half round and half cone: a rolled top, legs tangent to it; one of the same width at both ends is
round, one that tapers is part of a cone. Flat: corners rolled to a radius of their own. Three
sided: folded to the sheet's inside radius."""

Place = tuple[float, float, float]

RUN_OUT_MM = 12.7
"""Half an inch past each end and below the cut-off. Common practice, no source."""

OVER_TUBE_MM = 10.0
"""Left over the tube after weld pull-in: a builder's published design gap; the other figures here
are common practice, no source."""

BESIDE_TUBE_MM = 6.0
PULL_IN_MM = 1.0
FORE_AFT_MM, UP_DOWN_MM = 5.0, 3.0


@dataclass(frozen=True)
class TunnelEnd:
    """How high and how wide the tunnel is inside at one place.

    Attributes
    ----------
    height_mm : float
        From the foot line up to the crown.
    width_mm : float
    """

    height_mm: float
    width_mm: float


@dataclass(frozen=True)
class TunnelStep:
    """A sudden change of size: two pieces meet there, with a plate between them.

    Attributes
    ----------
    at_mm : float
        From the rear end.
    behind, ahead : TunnelEnd
        Of the piece behind the plate and of the piece ahead of it.
    """

    at_mm: float
    behind: TunnelEnd
    ahead: TunnelEnd


@dataclass(frozen=True)
class Room:
    """One line of the sum of clearances: mm over the tube, and at each side."""

    over_mm: float = 0.0
    side_mm: float = 0.0


@dataclass(frozen=True)
class TunnelRoom:
    """How much larger than the tube the tunnel is made, line by line.

    Attributes
    ----------
    left : Room
        What is to be left after weld pull-in.
    bolts, rubbers, cables, coil, rubber_squash : Room
        What has to find room there besides.
    weld_pull_in : Room
        By how much the metal closes up as it is welded in.
    """

    left: Room = Room(OVER_TUBE_MM, BESIDE_TUBE_MM)
    bolts: Room = Room()
    rubbers: Room = Room()
    cables: Room = Room()
    coil: Room = Room()
    rubber_squash: Room = Room()
    weld_pull_in: Room = Room(PULL_IN_MM, PULL_IN_MM)

    @property
    def lines(self) -> tuple[tuple[str, Room], ...]:
        """Every line with its name."""
        return (
            ("left over after welding", self.left),
            ("bolts", self.bolts),
            ("rubbers", self.rubbers),
            ("cables", self.cables),
            ("coil", self.coil),
            ("rubber squash", self.rubber_squash),
            ("weld pull-in", self.weld_pull_in),
        )

    @property
    def total(self) -> Room:
        """The sum of all lines.

        >>> TunnelRoom(bolts=Room(4.0, 0.0)).total
        Room(over_mm=15.0, side_mm=7.0)
        """
        rooms = [room for _, room in self.lines]
        return Room(sum(room.over_mm for room in rooms), sum(room.side_mm for room in rooms))


@dataclass(frozen=True)
class RoundBody:
    """A tube, bolt or cable under the tank: round, straight, with flat ends.

    Attributes
    ----------
    name : str
    start_mm, end_mm : (x, y, z)
        On its axis, in the tank's axes: ahead, left, up.
    diameter_mm : float
    """

    name: str
    start_mm: Place
    end_mm: Place
    diameter_mm: float


@dataclass(frozen=True)
class ScannedTube:
    """A frame tube as it was fitted to a scan of it: in that scan's axes, in its own numbers.

    So it stays with the scan it came from, however the tank is stood and its size is proved.

    Attributes
    ----------
    file_name : str
        Of its scan, without folders.
    start, end : (x, y, z)
        On its axis.
    diameter : float
    scatter : float
        Root mean square of how far its points lie off it.
    """

    file_name: str
    start: Place
    end: Place
    diameter: float
    scatter: float


@dataclass(frozen=True)
class TunnelPlace:
    """Where the tunnel sits, and how surely.

    Attributes
    ----------
    rear_mm : float
        How far ahead of the tank's rearmost place the rear end is.
    foot_mm : float or None
        How high the foot line's rear end is; None: slid up or down until it sits level.
    nose_up_rad : float or None
        How far the foot line rises ahead; None: as the tank's bottom does.
    fore_aft_mm, up_down_mm : float
        How far from there it may end up on the job, either way.
    """

    rear_mm: float = 0.0
    foot_mm: float | None = None
    nose_up_rad: float | None = None
    fore_aft_mm: float = FORE_AFT_MM
    up_down_mm: float = UP_DOWN_MM


@dataclass(frozen=True)
class TunnelSpec:
    """What a maker decides of a tunnel.

    Attributes
    ----------
    length_mm : float
        From end to end along the foot line.
    front, rear : TunnelEnd or None
        None: as the tube and the clearances ask.
    top : TopForm
    corner_radius_mm : float
        Inside radius of a flat top's corners.
    flare_rad : float
        How far each leg leans out from upright, seen from the end.
    steps : tuple of TunnelStep
        From the rear end ahead.
    run_out_mm : float
        Metal past each end, and below the lowest cut-off.
    sheet_mm : float or None
        None: as thick as the job's sheet.
    metal : str or None
        Name of its metal; None: the job's.
    bend_ratio : float or None
        Least inside radius over thickness of a metal of the maker's own, kept here so that the job
        is the same on another machine; None where the metal is the job's, known from the start, or
        nobody knows.
    bend_radius_mm : float or None
        Inside radius of folded bends; None: the least the metal takes, or its thickness if more.
    tighter_bend : bool
        Whether a radius below the metal's least is meant.
    place : TunnelPlace
    tube : RoundBody or None
        The frame tube it goes over.
    scanned_tube : ScannedTube or None
        That tube from a scan of it, in place of one that is typed. `lay_tunnel` takes a tube in the
        tank's axes: whoever knows how the tank stands puts it there first.
    others : tuple of RoundBody
        Bolts, cables, whatever else the gap is measured to.
    room : TunnelRoom
    """

    length_mm: float
    front: TunnelEnd | None = None
    rear: TunnelEnd | None = None
    top: TopForm = "half round"
    corner_radius_mm: float = 15.0
    flare_rad: float = 0.0
    steps: tuple[TunnelStep, ...] = ()
    run_out_mm: float = RUN_OUT_MM
    sheet_mm: float | None = None
    metal: str | None = None
    bend_ratio: float | None = None
    bend_radius_mm: float | None = None
    tighter_bend: bool = False
    place: TunnelPlace = TunnelPlace()
    tube: RoundBody | None = None
    scanned_tube: ScannedTube | None = None
    others: tuple[RoundBody, ...] = ()
    room: TunnelRoom = TunnelRoom()

    @property
    def has_tube(self) -> bool:
        """Whether it goes over a frame tube, typed or scanned."""
        return self.tube is not None or self.scanned_tube is not None

    @property
    def is_round(self) -> bool:
        """Whether the top is rolled all the way over."""
        return self.top in {"half round", "half cone"}
