"""JSON read strictly: every field known, there and of its kind.

`BadFieldError` says where a text is not, `BadFileError` which file as well.
"""

import json
import math
import unicodedata
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypeVar

T = TypeVar("T")

_UNPRINTABLE = ("Cc", "Cs", "Zl", "Zp")
"""Kinds of characters no text may hold: control, half a character, ends of lines."""


class BadFieldError(Exception):
    """A JSON text does not hold what it should.

    Attributes
    ----------
    where : str
        The place in the text, as `seams[2].points[0]`; "" for the whole.
    reason : str
        What is wrong there, in a phrase that follows on the place.
    """

    def __init__(self, where: str, reason: str) -> None:
        self.where, self.reason = where, reason
        super().__init__(f"{where} {reason}" if where else reason)


class BadFileError(Exception):
    """A file of the maker's does not hold what it should.

    Attributes
    ----------
    kind : str
        What it should be, as "a seams file".
    path : Path
    where : str
        The place in it, as `seams[2].points[0]`; "" for the whole.
    reason : str
        A phrase that follows on the place.
    """

    def __init__(self, kind: str, path: Path, where: str, reason: str) -> None:
        self.kind, self.path, self.where, self.reason = kind, path, where, reason
        super().__init__(f"{path}: {where} {reason}")


def read_file(path: Path, kind: str, largest: int, read: Callable[[Any], T]) -> T:
    """Return what a file holds.

    Parameters
    ----------
    path : Path
    kind : str
        What it should be, as "a seams file".
    largest : int
        Bytes it may have.
    read : function of the value the whole text holds
        Raises `BadFieldError`.

    Raises
    ------
    OSError
    BadFileError
    """
    try:
        if path.stat().st_size > largest:
            raise BadFieldError("", f"is too large to be {kind}")
        return read(parsed(path.read_bytes()))
    except BadFieldError as error:
        raise BadFileError(kind, path, error.where, error.reason) from error


def parsed(text: bytes) -> Any:
    """Return the value a JSON text holds.

    Raises
    ------
    BadFieldError
        Not UTF-8, not JSON, a number that is none (NaN, Infinity), or a field named twice.
    """
    try:
        return json.loads(
            text.decode("utf-8-sig"), parse_constant=_no_constant, object_pairs_hook=_no_twins
        )
    except UnicodeDecodeError as error:
        raise BadFieldError("", "is not text in UTF-8") from error
    except json.JSONDecodeError as error:
        reason = f"breaks off or goes wrong at line {error.lineno}, column {error.colno}"
        raise BadFieldError("", reason) from error
    except (RecursionError, ValueError) as error:
        raise BadFieldError("", "is nested too deep, or holds a number too long to read") from error


def _no_constant(name: str) -> float:
    raise BadFieldError("", f"holds {name}, which is not a number")


def _no_twins(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twin = next(name for name in names if names.count(name) > 1)
        raise BadFieldError("", f'holds the field "{twin}" twice')
    return found


def fields(
    value: Any, where: str, needed: Sequence[str], allowed: Sequence[str] = ()
) -> dict[str, Any]:
    """Return an object's fields, none missing and none unknown.

    >>> fields({"a": 1, "c": 2}, "seams[0]", ["a"], ["b"])
    Traceback (most recent call last):
    ...
    app.job.files.strict_json.BadFieldError: seams[0] has the unknown field "c"
    """
    if not isinstance(value, dict):
        raise BadFieldError(where, "is not an object with fields in braces { }")
    for name in value:
        if name not in needed and name not in allowed:
            raise BadFieldError(where, f'has the unknown field "{name}"')
    for name in needed:
        if name not in value:
            raise BadFieldError(where, f'lacks the field "{name}"')
    return value


def items(value: Any, where: str, read: Callable[[Any, str], T]) -> tuple[T, ...]:
    """Return the items of a list, each read with its place."""
    if not isinstance(value, list):
        raise BadFieldError(where, "is not a list in brackets [ ]")
    return tuple(read(item, f"{where}[{place}]") for place, item in enumerate(value))


def number(value: Any, where: str) -> float:
    """Return a finite number."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise BadFieldError(where, "is not a number")
    try:
        found = float(value)
    except OverflowError:
        found = math.inf
    if not math.isfinite(found):
        raise BadFieldError(where, "is too large a number")
    return found


def not_below_nothing(value: Any, where: str) -> float:
    """Return a number, 0 or above."""
    found = number(value, where)
    if found < 0.0:
        raise BadFieldError(where, "is below 0")
    return found


def positive(value: Any, where: str) -> float:
    """Return a number above nothing."""
    found = number(value, where)
    if found <= 0.0:
        raise BadFieldError(where, "is not above 0")
    return found


def whole(value: Any, where: str) -> int:
    """Return a whole number."""
    if isinstance(value, bool) or not isinstance(value, int):
        raise BadFieldError(where, "is not a whole number")
    return value


def flag(value: Any, where: str) -> bool:
    """Return true or false."""
    if not isinstance(value, bool):
        raise BadFieldError(where, "is neither true nor false")
    return value


def text(value: Any, where: str) -> str:
    """Return a text that is not empty and holds no control characters."""
    if not isinstance(value, str) or keepable(value) != value:
        raise BadFieldError(where, "is not a text of printable characters")
    return value


def keepable(found: str) -> str:
    r"""Return a text as near as `text` reads it back: what names of files may hold, it may not.

    >>> keepable("left\tside"), keepable(" ")
    ('left_side', 'unnamed')
    """
    if not found.strip():
        return "unnamed"
    return "".join("_" if unicodedata.category(sign) in _UNPRINTABLE else sign for sign in found)


def kept_values(value: Any) -> Any:
    """Return JSON values with every text such that it is taken again when read."""
    if isinstance(value, str):
        return keepable(value)
    if isinstance(value, dict):
        return {name: kept_values(item) for name, item in value.items()}
    return [kept_values(item) for item in value] if isinstance(value, list | tuple) else value


def one_of(value: Any, where: str, choices: Sequence[T]) -> T:
    """Return one of some choices."""
    for choice in choices:
        if value == choice and type(value) is type(choice):
            return choice
    raise BadFieldError(where, f"is {value!r}, not one of: {', '.join(map(str, choices))}")


def point(value: Any, where: str) -> tuple[float, float, float]:
    """Return a point of three numbers."""
    found = items(value, where, number)
    if len(found) != 3:
        raise BadFieldError(where, f"has {len(found)} numbers, not the 3 of a point")
    return found[0], found[1], found[2]


def direction(value: Any, where: str) -> tuple[float, float, float]:
    """Return a direction: three numbers, not all 0."""
    found = point(value, where)
    if not any(found):
        raise BadFieldError(where, "points nowhere: all three numbers are 0")
    return found
