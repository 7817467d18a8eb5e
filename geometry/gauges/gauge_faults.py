"""Why a gauge cannot be made: errors that say where, and how far out."""

from geometry.errors import GeometryError


class StationOffTankError(GeometryError):
    """A station lies beyond the tank's ends.

    Attributes
    ----------
    station_mm : float
        Back from the front end.
    length_mm : float
        The tank's.
    """

    def __init__(self, station_mm: float, length_mm: float) -> None:
        self.station_mm, self.length_mm = station_mm, length_mm
        super().__init__(f"station {station_mm:g} mm on a tank of {length_mm:g} mm")


class StationSpacingError(GeometryError):
    """Stations stand too near to each other, or none falls on the tank.

    Attributes
    ----------
    spacing_mm, least_mm, length_mm : float
        What was asked, the nearest they may stand, and the tank's length.
    """

    def __init__(self, spacing_mm: float, least_mm: float, length_mm: float) -> None:
        self.spacing_mm, self.least_mm, self.length_mm = spacing_mm, least_mm, length_mm
        super().__init__(f"stations every {spacing_mm:g} mm on {length_mm:g} mm")


class NoSectionError(GeometryError):
    """A plane cuts no outline out of the skin that a gauge could be laid on.

    Attributes
    ----------
    at_mm : float
        Where the plane stands, in tank axes.
    """

    def __init__(self, at_mm: float) -> None:
        self.at_mm = at_mm
        super().__init__(f"no outline at {at_mm:g} mm")


class GaugeSizeError(GeometryError):
    """A size of a gauge is none a board can have.

    Attributes
    ----------
    what : str
        Which, in the shaper's words.
    given_mm, least_mm, most_mm : float
    """

    def __init__(self, what: str, given_mm: float, least_mm: float, most_mm: float) -> None:
        self.what, self.given_mm = what, given_mm
        self.least_mm, self.most_mm = least_mm, most_mm
        super().__init__(f"{what} {given_mm:g} mm, not {least_mm:g} to {most_mm:g}")
