"""What is wrong with a tunnel asked for; each carries what was found and what was needed."""

from geometry.errors import GeometryError


class TunnelSizeError(GeometryError):
    """A length that has to be more than nothing is not, or an angle is out of reach.

    Attributes
    ----------
    what : str
    value_mm : float
    """

    def __init__(self, what: str, value_mm: float) -> None:
        self.what, self.value_mm = what, value_mm
        super().__init__(f"{what} is {value_mm:g}")


class TunnelEndsMissingError(GeometryError):
    """Neither the size of an end nor a tube to fit it to is given."""

    def __init__(self) -> None:
        super().__init__("no size of the ends and no tube")


class TunnelEndsCrossError(GeometryError):
    """Front and rear end, or a step and what is beside it, lie the wrong way round.

    Attributes
    ----------
    behind, ahead : str
    apart_mm : float
        From the first ahead to the second; not above 0.
    """

    def __init__(self, behind: str, ahead: str, apart_mm: float) -> None:
        self.behind, self.ahead, self.apart_mm = behind, ahead, apart_mm
        super().__init__(f"{ahead} lies {apart_mm:g} mm ahead of {behind}")


class NegativeClearanceError(GeometryError):
    """A line of the sum of clearances is below nothing.

    Attributes
    ----------
    line : str
    value_mm : float
    """

    def __init__(self, line: str, value_mm: float) -> None:
        self.line, self.value_mm = line, value_mm
        super().__init__(f"clearance for {line} is {value_mm:g}")


class BendTooTightError(GeometryError):
    """A fold's inside radius is below the metal's least.

    Attributes
    ----------
    radius_mm, least_mm : float
    metal : str
    """

    def __init__(self, radius_mm: float, least_mm: float, metal: str) -> None:
        self.radius_mm, self.least_mm, self.metal = radius_mm, least_mm, metal
        super().__init__(f"inside radius {radius_mm:g}, {metal} takes {least_mm:g}")


class TopTooNarrowError(GeometryError):
    """A flat top has no room for its two corners.

    Attributes
    ----------
    end : str
    width_mm, needed_mm : float
    """

    def __init__(self, end: str, width_mm: float, needed_mm: float) -> None:
        self.end, self.width_mm, self.needed_mm = end, width_mm, needed_mm
        super().__init__(f"{end} is {width_mm:g} wide, its corners take {needed_mm:g}")


class TooLowForRoundError(GeometryError):
    """An end is lower than where its legs leave the top: no leg is left.

    Attributes
    ----------
    end : str
    height_mm, needed_mm : float
    """

    def __init__(self, end: str, height_mm: float, needed_mm: float) -> None:
        self.end, self.height_mm, self.needed_mm = end, height_mm, needed_mm
        super().__init__(f"{end} is {height_mm:g} high, the top alone takes {needed_mm:g}")


class TooMuchTaperError(GeometryError):
    """No round or flat top with legs goes through ends so unlike each other.

    Attributes
    ----------
    behind, ahead : str
    """

    def __init__(self, behind: str, ahead: str) -> None:
        self.behind, self.ahead = behind, ahead
        super().__init__(f"too much taper from {behind} to {ahead}")


class StepCrossesError(GeometryError):
    """At a step neither piece lies wholly inside the other: no plate joins them.

    Attributes
    ----------
    at_mm : float
    """

    def __init__(self, at_mm: float) -> None:
        self.at_mm = at_mm
        super().__init__(f"at {at_mm:g} mm neither piece lies inside the other")


class WiderThanTankError(GeometryError):
    """An end, or a place between them, is wider than the tank is there.

    Attributes
    ----------
    end : str
    width_mm, tank_mm : float
        Outsides of both.
    """

    def __init__(self, end: str, width_mm: float, tank_mm: float) -> None:
        self.end, self.width_mm, self.tank_mm = end, width_mm, tank_mm
        super().__init__(f"{end} is {width_mm:g} wide, the tank {tank_mm:g}")


class AboveSkinError(GeometryError):
    """The crown stands above the tank's skin.

    Attributes
    ----------
    at_mm : float
        From the tunnel's rear end.
    crown_mm, skin_mm : float
        How high above the foot of the tank.
    """

    def __init__(self, at_mm: float, crown_mm: float, skin_mm: float) -> None:
        self.at_mm, self.crown_mm, self.skin_mm = at_mm, crown_mm, skin_mm
        super().__init__(f"at {at_mm:g}: crown at {crown_mm:g}, skin at {skin_mm:g}")


class OutsideTankError(GeometryError):
    """The tunnel lies before or behind the tank.

    Attributes
    ----------
    at_mm, tank_mm : float
        Where its middle lies ahead of the tank's rear, and how long the tank is.
    """

    def __init__(self, at_mm: float, tank_mm: float) -> None:
        self.at_mm, self.tank_mm = at_mm, tank_mm
        super().__init__(f"the tunnel's middle lies at {at_mm:g} of {tank_mm:g}")


class TubeMissesTankError(GeometryError):
    """The tube does not run through the tank where the tunnel is.

    Attributes
    ----------
    at_mm : float
        Ahead of the tank's rear.
    side_mm, height_mm : float
        Where its axis is there, to the left and up from the tank's foot.
    """

    def __init__(self, at_mm: float, side_mm: float, height_mm: float) -> None:
        self.at_mm, self.side_mm, self.height_mm = at_mm, side_mm, height_mm
        super().__init__(f"at {at_mm:g} the tube is {side_mm:g} to the left and {height_mm:g} up")


class LegsShortError(GeometryError):
    """The legs end above the tank's bottom.

    Attributes
    ----------
    short_mm : float
        By how much at the worst.
    at_mm : float
        From the tunnel's rear end.
    """

    def __init__(self, short_mm: float, at_mm: float) -> None:
        self.short_mm, self.at_mm = short_mm, at_mm
        super().__init__(f"{short_mm:g} short at {at_mm:g}")


class BottomAboveLegsError(GeometryError):
    """The tank's bottom meets the rolled or folded top, not the legs.

    Attributes
    ----------
    at_mm, above_mm : float
        Where along the tunnel, and how far above the legs' upper end.
    """

    def __init__(self, at_mm: float, above_mm: float) -> None:
        self.at_mm, self.above_mm = at_mm, above_mm
        super().__init__(f"the bottom is {above_mm:g} above the legs at {at_mm:g}")
