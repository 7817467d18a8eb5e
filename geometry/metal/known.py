"""The metals known from the start: soft aluminium sheet for hand work.

A figure whose source is "from memory, not checked" was not read anywhere for this and is to be
checked before anything hangs on it.
"""

from types import MappingProxyType

from geometry.errors import GeometryError
from geometry.metal.sheet_metal import Figure, FigureByThickness, SheetMetal

MEMORY = "from memory, not checked"
_INCH = 25.4


class UnknownMetalError(GeometryError):
    """A metal asked for by a name nobody gave.

    Attributes
    ----------
    name : str
    known : tuple of str
    """

    def __init__(self, name: str, known: tuple[str, ...]) -> None:
        self.name, self.known = name, known
        super().__init__(f"no metal is called {name}")


def _by_inch(*rows: tuple[float, float, float, str]) -> tuple[FigureByThickness, ...]:
    """Return rows (from, to, value, source) of an inch table, a row from just over the last's end.

    Such tables run .032-.050, .051-.113: sheet between two rows belongs to the thicker one.
    """
    ends = [rows[0][0] - 0.0005, *(row[1] for row in rows)]
    return tuple(
        FigureByThickness(over * _INCH, up_to * _INCH, Figure(value, source))
        for over, (_, up_to, value, source) in zip(ends[:-1], rows, strict=True)
    )


def _bends(radii: tuple[float, float, float, float]) -> tuple[FigureByThickness, ...]:
    """Return least bend radii, in thicknesses, up to 1/32, 1/16, 1/8 and 3/16 inch.

    Sheet is sold as .032 and .063: those belong to 1/32 and 1/16.
    """
    ends = (0.0, 0.032, 0.0641, 0.1285, 0.1875)
    return tuple(
        FigureByThickness(over * _INCH, up_to * _INCH, Figure(radius, "bend-radii"))
        for over, up_to, radius in zip(ends[:-1], ends[1:], radii, strict=True)
    )


_SOFT_1100 = _by_inch(
    (0.020, 0.031, 0.20, MEMORY),
    (0.032, 0.050, 0.25, MEMORY),
    (0.051, 0.249, 0.30, MEMORY),
)
_SOFT_3003 = _by_inch(
    (0.020, 0.031, 0.20, MEMORY),
    (0.032, 0.050, 0.23, MEMORY),
    (0.051, 0.249, 0.25, "astm-b209"),
)
_SOFT_5052 = _by_inch(
    (0.020, 0.031, 0.16, MEMORY),
    (0.032, 0.050, 0.18, MEMORY),
    (0.051, 0.113, 0.19, MEMORY),
    (0.114, 0.249, 0.20, MEMORY),
)
_SOFT_1050A = (
    FigureByThickness(0.2, 0.5, Figure(0.20, MEMORY)),
    FigureByThickness(0.5, 1.5, Figure(0.22, MEMORY)),
    FigureByThickness(1.5, 3.0, Figure(0.26, MEMORY)),
    FigureByThickness(3.0, 6.0, Figure(0.29, MEMORY)),
)

_ALL = (
    SheetMetal(
        "3003",
        "O",
        Figure(2.73, "density-table"),
        elongation=_SOFT_3003,
        usual_elongation=Figure(0.30, "kutz-typical"),
        annealed=_SOFT_3003,
        hardening=Figure(0.23, MEMORY),
        bend_radius=_bends((0.0, 0.0, 0.0, 0.5)),
    ),
    SheetMetal(
        "3003",
        "H14",
        Figure(2.73, "density-table"),
        elongation=_by_inch(
            (0.020, 0.031, 0.03, "astm-b209"),
            (0.032, 0.050, 0.04, "astm-b209"),
            (0.051, 0.113, 0.05, "astm-b209"),
            (0.114, 0.161, 0.06, "astm-b209"),
        ),
        usual_elongation=Figure(0.08, "kutz-typical"),
        annealed=_SOFT_3003,
        bend_radius=_bends((0.0, 0.0, 1.0, 1.0)),
    ),
    SheetMetal(
        "1100",
        "O",
        Figure(2.71, "density-table"),
        elongation=_SOFT_1100,
        usual_elongation=Figure(0.35, "kutz-typical"),
        annealed=_SOFT_1100,
        hardening=Figure(0.20, "kalpakjian-n"),
        bend_radius=_bends((0.0, 0.0, 0.0, 0.5)),
    ),
    SheetMetal(
        "1100",
        "H14",
        Figure(2.71, "density-table"),
        elongation=_by_inch(
            (0.020, 0.031, 0.03, MEMORY),
            (0.032, 0.050, 0.04, MEMORY),
            (0.051, 0.113, 0.05, MEMORY),
            (0.114, 0.249, 0.06, MEMORY),
        ),
        usual_elongation=Figure(0.09, "kutz-typical"),
        annealed=_SOFT_1100,
        bend_radius=_bends((0.0, 0.0, 1.0, 1.0)),
    ),
    SheetMetal(
        "1050A",
        "O",
        Figure(2.70, "density-chart"),
        elongation=_SOFT_1050A,
        annealed=_SOFT_1050A,
        hardening=Figure(0.24, MEMORY),
    ),
    SheetMetal(
        "5052",
        "O",
        Figure(2.68, "density-table"),
        elongation=_SOFT_5052,
        usual_elongation=Figure(0.25, "5052-typical"),
        annealed=_SOFT_5052,
        hardening=Figure(0.13, "kalpakjian-n"),
        bend_radius=_bends((0.0, 0.0, 0.5, 1.0)),
    ),
    SheetMetal(
        "5052",
        "H32",
        Figure(2.68, "density-table"),
        elongation=_by_inch(
            (0.020, 0.050, 0.05, MEMORY),
            (0.051, 0.113, 0.07, MEMORY),
            (0.114, 0.249, 0.09, MEMORY),
        ),
        usual_elongation=Figure(0.12, "5052-typical"),
        annealed=_SOFT_5052,
        bend_radius=_bends((0.0, 1.0, 1.5, 1.5)),
    ),
)

METALS = MappingProxyType({metal.name: metal for metal in _ALL})
"""By name: 3003-O, 3003-H14, 1100-O, 1100-H14, 1050A-O, 5052-O, 5052-H32."""


def sheet_metal(name: str) -> SheetMetal:
    """Return a known metal by its name.

    Raises
    ------
    UnknownMetalError
    """
    try:
        return METALS[name.strip().upper()]
    except KeyError:
        raise UnknownMetalError(name, tuple(METALS)) from None
