"""What is decided of the seat face: which it is, whether it is held, what templates are made."""

from dataclasses import dataclass

from geometry.datum import Point3


@dataclass(frozen=True)
class TankSpot:
    """A place in tank axes.

    Attributes
    ----------
    ahead_mm : float
        Of the tank's rear end.
    left_mm : float
        Of its centre; below nothing to the right.
    up_mm : float
        Over its lowest place.
    """

    ahead_mm: float = 0.0
    left_mm: float = 0.0
    up_mm: float = 0.0


@dataclass(frozen=True)
class HeldSeat:
    """A seat face held: numbers of the job's own, in the file's numbers, which nothing moves.

    Attributes
    ----------
    point, normal : point
        Its plane; the normal points out of the tank.
    edge, corner : tuple of points
        Where the flat ends, and where face and wall would meet if the edge was not rounded; the
        first is repeated last.
    """

    point: Point3
    normal: Point3
    edge: tuple[Point3, ...]
    corner: tuple[Point3, ...]


@dataclass(frozen=True)
class SeatChoice:
    """Which face the seat meets. What the shop sets begins as common practice, no source.

    Attributes
    ----------
    near : TankSpot or None
        A place on the face; where nobody said, it is the largest flat that faces the rear.
    line_ahead_mm : float
        How far ahead of the face the line is that the seat's lip follows: beyond the edge's round.
    board_mm : float
        How deep the template over that line is.
    gap_mm : float
        What may show between face and seat.
    held : HeldSeat or None
        None while the face found on the scan stands.
    """

    near: TankSpot | None = None
    line_ahead_mm: float = 4.0
    board_mm: float = 40.0
    gap_mm: float = 1.0
    held: HeldSeat | None = None
