"""What a tape is, where it is held and how it is read, in the shaper's words."""

from app.units import Fractions, fraction_text, fraction_with_rest_text, mm_text
from geometry.gauges import TapePlace, TapeTable, TapeValue

_NOTHING_ACROSS = 1e-3

_MIDDLE_MM = 8.0
"""A place this near to the middle is on the centre line."""


def heading_words(value: TapeValue) -> str:
    """Return what kind of tape it is, short."""
    if value.way == "round":
        if _is_lengthwise(value):
            return "RIGHT ROUND, LENGTHWISE"
        return "ROUND THE WAIST" if _is_waist(value) else "RIGHT ROUND"
    return {
        "straight": "STRAIGHT",
        "callipers": "STRAIGHT, CALLIPERS",
        "over": "OVER THE SKIN",
        "edge": "ALONG THE EDGE",
    }[value.way]


def where_words(value: TapeValue, table: TapeTable, show: str = "mm") -> list[str]:
    """Return where a tape is held and how it is read, sentence by sentence."""
    if value.way == "round":
        return [_round_words(value, table, show), "Pull it tight; it bridges hollows."]
    start, end = (place_words(place, table, show) for place in value.places)
    held = f"From A, {start}, to B, {end}."
    how = {
        "straight": "Pulled straight.",
        "callipers": "Metal is in the way: big callipers, or two squares.",
        "over": "Pulled tight over the skin.",
        "edge": "All along the edge.",
    }[value.way]
    reading = {
        "greatest": " Read it where it is widest.",
        "least": " Swing it till it reads least.",
        "as marked": "",
    }[value.reading]
    return [held, how + reading]


def _is_lengthwise(value: TapeValue) -> bool:
    """Return whether a tape right round runs along the tank: nothing of it runs across."""
    return float(value.spread[1, 1]) < _NOTHING_ACROSS


def _is_waist(value: TapeValue) -> bool:
    """Return whether a tape right round crosses the middle of the tank in front and behind."""
    first, last = (place.tank for place in value.places)
    return bool(abs(first[0] - last[0]) > abs(first[2] - last[2]))


def _round_words(value: TapeValue, table: TapeTable, show: str) -> str:
    first, last = (place.tank for place in value.places)
    rear = "the rear end" if table.is_named else "one end"
    if _is_lengthwise(value):
        off = float(first[1])
        beside = f"{_measured(abs(off), show)} to the {_side(off, table.is_named)} of the"
        which = "on the" if abs(off) < _MIDDLE_MM else beside
        return f"From end to end over the top and underneath, {which} centre line, level with it."
    if _is_waist(value):
        front = "in front" if table.is_named else "at the other end"
        behind = "behind" if table.is_named else "at one end"
        return (
            f"Through {_measured(first[2], show)} above the foot {front} and "
            f"{_measured(last[2], show)} above it {behind}, level across."
        )
    return (
        f"Over the top {_measured(first[0], show)} ahead of {rear}, underneath "
        f"{_measured(last[0], show)} ahead of it, square across."
    )


def place_words(place: TapePlace, table: TapeTable, show: str = "mm") -> str:
    """Return where a place is: on what, on which side, how far ahead and how high."""
    ahead, left, up = (float(each) for each in place.tank)
    named = table.is_named
    side = "on the centre line" if abs(left) < _MIDDLE_MM else f"on the {_side(left, named)}"
    rear = "the rear end" if named else "one end"
    if place.on == "hole":
        return f"the {_hole_side(place, named)} edge of the round hole"
    what = "the corner" if place.on == "corner" else "the character line"
    where = f"{_measured(ahead, show)} ahead of {rear}, {_measured(up, show)} up"
    return f"{what} {side} {where}"


def _side(left: float, named: bool) -> str:
    if not named:
        return "one side" if left > 0.0 else "other side"
    return "left" if left > 0.0 else "right"


def _hole_side(place: TapePlace, named: bool) -> str:
    """Return which edge of a hole a place is, by the way it lies from the hole's middle."""
    ahead, left, _ = (float(each) for each in place.beside)
    if not named:
        return "near"
    words = []
    if abs(ahead) > 0.38:
        words.append("front" if ahead > 0.0 else "rear")
    if abs(left) > 0.38:
        words.append("left" if left > 0.0 else "right")
    return " ".join(words) or "upper"


def _measured(length_mm: float, show: str) -> str:
    """Return a distance to mark off: whole millimetres, or to 1/8 in."""
    length_mm = max(length_mm, 0.0)
    if show == "in":
        return fraction_text(round(length_mm / 25.4 * 8.0) / 8.0 * 25.4)
    return mm_text(length_mm, 0)


def moved_words(value: TapeValue, show: str = "mm") -> str:
    """Return how little it minds being held a little off."""
    return f"held off: \u00b1{_short(value.moved_mm, show)}"


def limit_words(value: TapeValue, show: str = "mm") -> str:
    """Return how far a tape may be off."""
    return f"\u00b1{_short(value.limit_mm, show)}"


def _short(length_mm: float, show: str) -> str:
    if show == "in":
        return f"{length_mm / 25.4:.2f} in".replace("0.", ".", 1)
    return mm_text(length_mm)


def ours_words(value: TapeValue, fractions: Fractions, show: str = "mm") -> tuple[str, str]:
    """Return the length in the unit read first, and in the other; what rounding leaves of inches.

    >>> from types import SimpleNamespace
    >>> ours_words(SimpleNamespace(length_mm=412.03), Fractions())
    ('412 mm', '16 7/32 in and .003')
    >>> ours_words(SimpleNamespace(length_mm=412.03), Fractions(fit=16), "in")
    ('16 1/4 in', 'less .028; 412 mm')
    """
    metric = mm_text(value.length_mm)
    inches = fraction_with_rest_text(value.length_mm, fractions.fit)
    if show == "mm":
        return metric, inches
    nearest, _, rest = inches.partition(" in ")
    first = nearest if nearest.endswith(" in") else f"{nearest} in"
    return first, f"{rest}; {metric}" if rest else metric
