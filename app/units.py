"""The only conversions: text a shaper types to millimetres, and numbers to text they read.

Everything inside the program is millimetres, square millimetres and ratios; inches, fractions and
percent exist only here.
"""

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

MM_PER_INCH = 25.4
"""Exact since 1959: the international inch."""
LITRES_PER_US_GALLON = 3.785411784
"""Exactly: 231 cubic inches."""
LITRES_PER_IMPERIAL_GALLON = 4.54609
"""Exactly, by law."""
PINTS_PER_GALLON = 8.0

_MM_PER_UNIT = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    "ft": 12 * Fraction(254, 10),
}

_LARGEST_MM = 10**7

_UNIT_WORDS = {
    "mm": "mm",
    "millimetre": "mm",
    "millimetres": "mm",
    "millimeter": "mm",
    "millimeters": "mm",
    "cm": "cm",
    "m": "m",
    "in": "in",
    "ins": "in",
    "inch": "in",
    "inches": "in",
    '"': "in",
    "''": "in",
    "\u201d": "in",
    "\u2033": "in",
    "ft": "ft",
    "foot": "ft",
    "feet": "ft",
    "'": "ft",
    "\u2019": "ft",
    "\u2032": "ft",
}
_VULGAR = {
    "\u00bd": " 1/2",
    "\u00bc": " 1/4",
    "\u00be": " 3/4",
    "\u215b": " 1/8",
    "\u215c": " 3/8",
    "\u215d": " 5/8",
    "\u215e": " 7/8",
}
_LENGTH = re.compile(
    r"^\s*(?:(?P<whole>\d+(?:[.,]\d*)?|[.,]\d+)(?![\d/]))?"
    r"(?:(?<=\d)[\s-]+|\s*)?(?:(?P<top>\d+)\s*/\s*(?P<bottom>\d+))?\s*(?P<unit>[^\d\s.,/-]*)\s*$"
)
_FEET_AND_INCHES = re.compile(
    r"^\s*(?P<feet>\d+)\s*(?:ft|feet|foot|'|\u2019|\u2032)\s*(?P<rest>.+)$"
)


class NotALengthError(ValueError):
    """What was typed cannot be read as a length.

    Attributes
    ----------
    text : str
        As typed.
    reason : str
        What is wrong with it, in a phrase.
    """

    def __init__(self, text: str, reason: str) -> None:
        self.text, self.reason = text, reason
        super().__init__(f"{text!r} is not a length: {reason}")


GAUGES_MM = {
    12: (2.053, 2.657, 2.642),
    14: (1.628, 1.897, 2.032),
    16: (1.291, 1.519, 1.626),
    18: (1.024, 1.214, 1.219),
    20: (0.812, 0.912, 0.914),
    22: (0.644, 0.759, 0.711),
}
"""Aluminium (American wire gauge), sheet steel (United States manufacturers' gauge), British wire
gauge: what the same number means. Sources: [gauges]; the British column from memory."""

_GAUGE_WORD = r"(?:gauges?|gages?|guage|ga|g|swg|awg|bwg|b&s|no|nr|#)"
_GAUGE = re.compile(
    rf"^\s*(?:{_GAUGE_WORD}[\s.:-]*)+(?P<before>\d+)(?:\s*{_GAUGE_WORD})?\.?\s*$"
    rf"|^\s*(?P<after>\d+)(?:[\s.-]*{_GAUGE_WORD})+\.?\s*$"
)


class GaugeNumberError(NotALengthError):
    """A bare gauge number: which thickness it means hangs on the metal and the country.

    Attributes
    ----------
    number : int
    text, reason : str
        As of any text that is no length.
    """

    def __init__(self, text: str, number: int) -> None:
        self.number = number
        told = number if number in GAUGES_MM else 16
        aluminium, steel, british = GAUGES_MM[told]
        super().__init__(
            text,
            f"gauges differ: {told} gauge is {aluminium} mm in aluminium, {steel} in steel and "
            f"{british} in British wire gauge, so give the thickness in mm or decimal inch",
        )


def gauge_number(text: str) -> int | None:
    """Return the number of what was typed as a gauge; None where it is none.

    >>> [gauge_number(text) for text in ("16 gauge", "16ga.", "SWG 16", "#18", "16 mm")]
    [16, 16, 16, 18, None]
    """
    found = _GAUGE.match(text.lower())
    return int(found["before"] or found["after"]) if found else None


def parse_length(text: str, unit: str = "mm") -> float:
    """Return a typed length in mm.

    Decimal point or comma, fractions, whole and fraction, and a unit after it are understood.

    Parameters
    ----------
    text : str
    unit : {"mm", "cm", "m", "in", "ft"}
        Taken where none is typed.

    Raises
    ------
    NotALengthError
        Not a number, no number, divided by nothing, or a unit we do not know.
    GaugeNumberError
        A gauge number, which is no length.

    >>> [parse_length(text) for text in ("12,7 mm", "560mm", "1 1/2 in", '1/16"')]
    [12.7, 560.0, 38.1, 1.5875]
    >>> parse_length("1/16", unit="in")
    1.5875
    >>> parse_length("2 ft 6 in")
    762.0
    """
    gauge = gauge_number(text)
    if gauge is not None:
        raise GaugeNumberError(text, gauge)
    plain = re.sub(r"(?<=[a-z])\.$", "", text.strip().lower())
    for sign, words in _VULGAR.items():
        plain = plain.replace(sign, words)
    feet = _FEET_AND_INCHES.match(plain)
    if feet is not None:
        value = int(feet["feet"]) * _MM_PER_UNIT["ft"] + _one_length(feet["rest"], "in", text)
    else:
        value = _one_length(plain, unit, text)
    if value > _LARGEST_MM:
        raise NotALengthError(text, "too large")
    return float(value)


def _one_length(plain: str, unit: str, typed: str) -> Fraction:
    if not plain.strip():
        raise NotALengthError(typed, "nothing was typed")
    if plain.count(",") + plain.count(".") > 1:
        raise NotALengthError(typed, "more than one decimal point or comma")
    if re.match(r"[-\u2212]\s*[\d.,]", plain):
        raise NotALengthError(typed, "a length is written without a minus")
    found = _LENGTH.match(plain)
    if found is None or not (found["whole"] or found["top"]):
        raise NotALengthError(typed, "no number in it that we can read")
    named = found["unit"]
    if named and named not in _UNIT_WORDS:
        raise NotALengthError(typed, f"we do not know the unit {named}")
    whole = Fraction((found["whole"] or "0").replace(",", ".").rstrip("."))
    part = Fraction(0)
    if found["top"]:
        if int(found["bottom"]) == 0:
            raise NotALengthError(typed, "a fraction cannot be divided by 0")
        if whole.denominator != 1:
            raise NotALengthError(typed, "a decimal and a fraction together")
        part = Fraction(int(found["top"]), int(found["bottom"]))
    return (whole + part) * _MM_PER_UNIT[_UNIT_WORDS[named] if named else unit]


def mm_text(length_mm: float, decimals: int = 1) -> str:
    """Return a length in mm; whole numbers lose their noughts.

    >>> mm_text(412.0), mm_text(12.66), mm_text(-0.04)
    ('412 mm', '12.7 mm', '0 mm')
    """
    return f"{plain_number(length_mm, decimals)} mm"


def plain_number(value: float, decimals: int = 1) -> str:
    """Return a number without needless noughts and never "-0".

    >>> plain_number(412.0), plain_number(0.25, 2), plain_number(-0.04)
    ('412', '0.25', '0')
    """
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text


def inch_text(length_mm: float, decimals: int = 2) -> str:
    """Return a length in decimal inches.

    >>> inch_text(412.0)
    '16.22 in'
    """
    return f"{length_mm / MM_PER_INCH:.{decimals}f} in"


def fraction_text(length_mm: float, denominator: int = 16) -> str:
    """Return a length in inches to the nearest fraction.

    Parameters
    ----------
    length_mm : float
    denominator : {16, 32, 64}
        16 for cutting, 32 for fit, 64 for small parts (common practice, no source).

    >>> fraction_text(412.0), fraction_text(412.0, 32), fraction_text(25.4), fraction_text(3.0)
    ('16 1/4 in', '16 7/32 in', '1 in', '1/8 in')
    """
    return f"{_mixed(_nearest(length_mm, denominator))} in"


def fraction_with_rest_text(length_mm: float, denominator: int = 16) -> str:
    """Return the nearest fraction and what is left over, in thousandths of an inch.

    >>> fraction_with_rest_text(412.0), fraction_with_rest_text(25.4), fraction_with_rest_text(413)
    ('16 1/4 in less .030', '1 in', '16 1/4 in and .010')
    """
    nearest = _nearest(length_mm, denominator)
    rest = length_mm / MM_PER_INCH - float(nearest)
    if abs(rest) < 0.0005:
        return f"{_mixed(nearest)} in"
    word = "and" if rest > 0 else "less"
    return f"{_mixed(nearest)} in {word} {_dot(abs(rest))}"


DENOMINATORS = (16, 32, 64)


@dataclass(frozen=True)
class Fractions:
    """To which fraction of an inch lengths are told, by what they are for.

    Attributes
    ----------
    cutting, fit, small : {16, 32, 64}
        Lines to cut to; fits, edges and tapes; small parts. As usual: common practice, no source.
    """

    cutting: int = 16
    fit: int = 32
    small: int = 64

    def __post_init__(self) -> None:
        for name in ("cutting", "fit", "small"):
            if getattr(self, name) not in DENOMINATORS:
                raise ValueError(f"{name} to 1/{getattr(self, name)} in: it is one of 16, 32, 64")


def length_text(
    length_mm: float, show: str = "mm", denominator: int = 16, decimals: int = 1
) -> str:
    """Return a length both ways, the chosen unit first; `decimals` of the mm.

    What is less than half a fraction and more than nothing is told in thousandths of an inch.

    >>> length_text(412.0)
    '412 mm (16 1/4 in)'
    >>> length_text(412.0, "in"), length_text(45.7, decimals=0)
    ('16 1/4 in (412 mm)', '46 mm (1 13/16 in)')
    >>> length_text(0.76), length_text(0.8), length_text(0.04)
    ('0.8 mm (.030 in)', '0.8 mm (1/16 in)', '0 mm (0 in)')
    """
    metric = mm_text(length_mm, decimals)
    is_small = _nearest(length_mm, denominator) == 0 and metric != mm_text(0.0)
    small, fraction = decimal_inch_text(length_mm), fraction_text(length_mm, denominator)
    pair = (metric, small if is_small else fraction)
    first, second = pair if show == "mm" else pair[::-1]
    return f"{first} ({second})"


def upward_text(length_mm: float, show: str = "mm") -> str:
    """Return a short length rounded up, to a tenth of a mm and a hundredth of an inch.

    >>> upward_text(0.41), upward_text(2.0, "in")
    ('0.5 mm (.02 in)', '.08 in (2 mm)')
    """
    tenths = math.ceil(length_mm * 10.0 - 1e-9) / 10.0
    inches = math.ceil(length_mm / MM_PER_INCH * 100.0 - 1e-9) / 100.0
    pair = (mm_text(tenths), f"{_dot(inches, 2)} in")
    first, second = pair if show == "mm" else pair[::-1]
    return f"{first} ({second})"


def angle_text(angle_rad: float, decimals: int = 1) -> str:
    """Return an angle in degrees.

    >>> angle_text(math.radians(30.0)), angle_text(0.00035, 2)
    ('30°', '0.02°')
    """
    return f"{plain_number(math.degrees(angle_rad), decimals)}°"


class NotAnAngleError(ValueError):
    """What was typed cannot be read as an angle.

    Attributes
    ----------
    text : str
        As typed.
    """

    def __init__(self, text: str) -> None:
        self.text = text
        super().__init__(f"{text!r} is not an angle in degrees")


_ANGLE = re.compile(r"^\s*(?P<number>[+-]?\d+(?:[.,]\d+)?)\s*(?:\u00b0|deg(?:rees?)?\.?)?\s*$")


def parse_angle(text: str) -> float:
    """Return an angle typed in degrees, in radians; decimal point or comma.

    Raises
    ------
    NotAnAngleError
        No number, or more than a whole turn either way.

    >>> [round(math.degrees(parse_angle(text)), 6) for text in ("12.5", "-3,25 deg", "90\u00b0")]
    [12.5, -3.25, 90.0]
    """
    found = _ANGLE.match(text.lower().replace("\u2212", "-"))
    degrees = float(found["number"].replace(",", ".")) if found else math.inf
    if abs(degrees) > 360.0:
        raise NotAnAngleError(text)
    return math.radians(degrees)


def size_text(width_mm: float, height_mm: float, show: str = "mm") -> str:
    """Return a size across both ways, in both units.

    >>> size_text(412.0, 305.0)
    '412 x 305 mm (16 1/4 x 12 in)'
    """
    metric = f"{plain_number(width_mm, 0)} x {plain_number(height_mm, 0)} mm"
    inches = f"{_mixed(_nearest(width_mm, 16))} x {_mixed(_nearest(height_mm, 16))} in"
    return f"{metric} ({inches})" if show == "mm" else f"{inches} ({metric})"


def decimal_inch_text(length_mm: float) -> str:
    """Return a length in thousandths of an inch.

    >>> decimal_inch_text(1.6), decimal_inch_text(38.1)
    ('.063 in', '1.500 in')
    """
    return f"{_dot(length_mm / MM_PER_INCH)} in"


def thickness_text(thickness_mm: float, show: str = "mm") -> str:
    """Return a sheet thickness in mm and thousandths of an inch.

    >>> thickness_text(1.28), thickness_text(1.6, "in")
    ('1.28 mm (.050 in)', '.063 in (1.6 mm)')
    """
    pair = (mm_text(thickness_mm, 2), f"{_dot(thickness_mm / MM_PER_INCH)} in")
    first, second = pair if show == "mm" else pair[::-1]
    return f"{first} ({second})"


KG_PER_LB = 0.45359237
"""Exact: the international pound."""

PA_PER_PSI = 6894.757293168
PA_PER_INCH_OF_WATER = 249.08891
"""Water at 4 degrees C. Source: [nist811]."""

N_PER_LBF = 4.4482216152605


def mass_text(mass_kg: float, show: str = "mm") -> str:
    """Return a mass in kilograms and pounds, that of the unit shown first.

    >>> mass_text(13.0), mass_text(0.42, "in")
    ('13 kg (28.7 lb)', '0.93 lb (0.42 kg)')
    """
    places = 1 if mass_kg >= 2.0 else 2
    pair = (f"{plain_number(mass_kg, places)} kg", f"{mass_kg / KG_PER_LB:.{places}f} lb")
    first, second = pair if show == "mm" else pair[::-1]
    return f"{first} ({second})"


def pressure_text(pressure_kpa: float) -> str:
    """Return a pressure as gauges and water columns show it.

    >>> pressure_text(6.894757), pressure_text(1.7237)
    ('1 psi (27.7 in water, 6.9 kPa)', '0.25 psi (6.9 in water, 1.7 kPa)')
    """
    pascal = 1000.0 * pressure_kpa
    return (
        f"{plain_number(pascal / PA_PER_PSI, 2)} psi "
        f"({pascal / PA_PER_INCH_OF_WATER:.1f} in water, {pressure_kpa:.1f} kPa)"
    )


def force_text(force_n: float, show: str = "mm") -> str:
    """Return a force in newtons, as the weight of so many kilograms, and in pounds force.

    >>> force_text(889.644), force_text(889.644, "in")
    ('890 N, as much as 91 kg weigh (200 lbf)', '200 lbf (890 N)')
    """
    pounds = f"{force_n / N_PER_LBF:.0f} lbf"
    if show == "in":
        return f"{pounds} ({force_n:.0f} N)"
    return f"{force_n:.0f} N, as much as {force_n / 9.80665:.0f} kg weigh ({pounds})"


def area_text(area_mm2: float, show: str = "mm", digits: int = 0) -> str:
    """Return an area in square centimetres and square inches.

    >>> area_text(125600.0), area_text(130.0, "in", 1)
    ('1256 cm\u00b2 (195 sq in)', '0.2 sq in (1.3 cm\u00b2)')
    >>> area_text(100.0)
    '1 cm\u00b2 (0.16 sq in)'
    """
    amounts = (area_mm2 / 100.0, area_mm2 / MM_PER_INCH**2)
    metric, inches = (
        f"{amount:.{digits}f}" if amount == 0.0 or amount >= 0.5 / 10**digits else _shown(amount)
        for amount in amounts
    )
    pair = (f"{metric} cm\u00b2", f"{inches} sq in")
    first, second = pair if show == "mm" else pair[::-1]
    return f"{first} ({second})"


def volume_text(volume_mm3: float, show: str = "mm") -> str:
    """Return a volume of liquid in litres, US and imperial gallons; below a litre in ml and pints.

    >>> volume_text(17e6), volume_text(10e6, "in")
    ('17.00 l (4.49 US gal, 3.74 imp gal)', '2.64 US gal (10.00 l, 2.20 imp gal)')
    >>> volume_text(85e3), volume_text(1.2e3)
    ('85 ml (0.18 US pt, 0.15 imp pt)', '1.2 ml (0.0025 US pt, 0.0021 imp pt)')
    """
    litres = volume_mm3 / 1e6
    if abs(litres) >= 1.0:
        metric, scale, unit = f"{litres:.2f} l", 1.0, "gal"
    else:
        metric = f"{plain_number(litres * 1000.0, 0 if abs(litres) >= 0.01 else 1)} ml"
        scale, unit = PINTS_PER_GALLON, "pt"
    american = f"{_shown(litres / LITRES_PER_US_GALLON * scale)} US {unit}"
    imperial = f"{_shown(litres / LITRES_PER_IMPERIAL_GALLON * scale)} imp {unit}"
    first, second = (american, metric) if show == "in" else (metric, american)
    return f"{first} ({second}, {imperial})"


class NotAVolumeError(ValueError):
    """What was typed cannot be read as a volume of liquid.

    Attributes
    ----------
    text : str
        As typed.
    """

    def __init__(self, text: str) -> None:
        self.text = text
        super().__init__(f"{text!r} is not a volume")


_VOLUME = re.compile(
    r"^\s*(?P<number>\d+(?:[.,]\d+)?)\s*(?P<unit>|l|litres?|liters?|ml|us gal|imp gal)\.?\s*$"
)


def parse_litres(text: str) -> float:
    """Return a volume of liquid typed in litres, ml, US or imperial gallons, in litres.

    Raises
    ------
    NotAVolumeError
        No number, nothing, or a gallon of no country.

    >>> [round(parse_litres(text), 3) for text in ("3.5", "3,5 l", "500 ml", "1 US gal")]
    [3.5, 3.5, 0.5, 3.785]
    >>> round(parse_litres("1 imp gal"), 3)
    4.546
    """
    found = _VOLUME.match(text.lower())
    if not found or not float(found["number"].replace(",", ".")):
        raise NotAVolumeError(text)
    number = float(found["number"].replace(",", "."))
    scales = {
        "ml": 1e-3,
        "us gal": LITRES_PER_US_GALLON,
        "imp gal": LITRES_PER_IMPERIAL_GALLON,
    }
    return number * scales.get(found["unit"], 1.0)


def _shown(amount: float) -> str:
    """Return an amount to hundredths, a small one to two figures: something never reads 0."""
    if amount == 0.0 or abs(amount) >= 0.1:
        return f"{amount:.2f}"
    return f"{amount:.{min(6, 1 - math.floor(math.log10(abs(amount))))}f}"


def change_text(stretch: float, show: str = "mm") -> str:
    """Return what becomes of 100 on the blank, or of a foot: the shaper's way of saying how much.

    Parameters
    ----------
    stretch : float
        Formed length over flat length.
    show : {"mm", "in"}
        Per 100 of anything, or in inches per foot.

    >>> change_text(0.935), change_text(1.032), change_text(1.0002)
    ('100 -> 93.5 shrink 6.5', '100 -> 103.2 stretch 3.2', '100 -> 100 leave')
    >>> change_text(0.935, "in")
    '12 in -> 11.22 in shrink .78 in per foot'
    """
    change = stretch - 1.0
    word = "stretch" if change > 0 else "shrink"
    if show == "in":
        inches = abs(change) * 12.0
        if round(inches, 2) == 0.0:
            return "12 in -> 12 in leave"
        return f"12 in -> {12.0 * stretch:.2f} in {word} {_dot(inches, 2)} in per foot"
    if round(abs(change) * 100.0, 1) == 0.0:
        return "100 -> 100 leave"
    formed, by = plain_number(100.0 * stretch), plain_number(100.0 * abs(change))
    return f"100 -> {formed} {word} {by}"


def signed_change_text(change: float, show: str = "mm") -> str:
    """Return a signed change as a bare number per 100, or inches per foot, for a map.

    >>> signed_change_text(0.032), signed_change_text(-0.065), signed_change_text(-0.065, "in")
    ('+3.2', '\u22126.5', '\u2212.78')
    """
    number = plain_number(abs(change) * 100.0) if show == "mm" else _dot(abs(change) * 12.0, 2)
    if float(number) == 0.0:
        return "0"
    return ("+" if change > 0 else "\u2212") + number


def percent_text(stretch: float) -> str:
    """Return a stretch as signed percent, for those who ask for it.

    >>> percent_text(0.935)
    '-6.5 %'
    """
    return f"{(stretch - 1.0) * 100.0:+.1f} %"


def elongation_text(share: float, show: str = "mm") -> str:
    """Return how far metal stretches: of every 100, or in inches per foot.

    >>> elongation_text(0.05), elongation_text(0.1234), elongation_text(0.05, "in")
    ('5 in every 100', '12.3 in every 100', '.60 in per foot')
    """
    if show == "in":
        return f"{_dot(12.0 * share, 2)} in per foot"
    return f"{plain_number(100.0 * share)} in every 100"


def gain_text(flat_mm: float, formed_mm: float, show: str = "mm") -> str:
    """Return what becomes of an edge.

    >>> gain_text(412.0, 398.0)
    'flat 412, forms to 398, shrink 14 mm'
    >>> gain_text(412.0, 398.0, "in")
    'flat 16 7/32, forms to 15 21/32, shrink 9/16 in'
    """
    by = formed_mm - flat_mm
    word = "stretch" if by > 0 else "shrink"
    if show == "in":
        flat, formed, change = (_mixed(_nearest(x, 32)) for x in (flat_mm, formed_mm, abs(by)))
        nothing = _nearest(abs(by), 32) == 0
    else:
        flat, formed, change = (plain_number(x) for x in (flat_mm, formed_mm, abs(by)))
        nothing = change == "0"
    tail = "no change" if nothing else f"{word} {change} {show}"
    return f"flat {flat}, forms to {formed}, {tail}"


def counted(number: int, thing: str) -> str:
    """Return how many of a thing there are, in words.

    >>> counted(0, "open edge"), counted(1, "piece"), counted(1200, "triangle")
    ('no open edges', '1 piece', '1,200 triangles')
    """
    return f"{f'{number:,}' if number else 'no'} {thing}{'' if number == 1 else 's'}"


def listed(words: Sequence[str]) -> str:
    """Return one word or more in a row.

    >>> listed(["top"]), listed(["left", "right", "top"])
    ('top', 'left, right and top')
    """
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _nearest(length_mm: float, denominator: int) -> Fraction:
    return Fraction(round(length_mm / MM_PER_INCH * denominator), denominator)


def _mixed(value: Fraction) -> str:
    """Return a fraction as a shaper writes it: 16 1/4."""
    sign = "-" if value < 0 else ""
    whole, rest = divmod(abs(value), 1)
    if rest == 0:
        return f"{sign}{whole}"
    return f"{sign}{whole} {rest}" if whole else f"{sign}{rest}"


def _dot(inches: float, decimals: int = 3) -> str:
    """Return decimal inches without the nought before the point: .050."""
    text = f"{inches:.{decimals}f}"
    return text.replace("0.", ".", 1) if text.startswith(("0.", "-0.")) else text
