"""Frozen dataclasses of plain values as JSON and back, by their own fields and types.

In a job file fields keep their names: lengths in mm, angles in radians. In a file a maker writes
(`Written`), lengths are in the unit the file says, under the name without `_mm`, and angles in
degrees, under the name with `_deg`.
"""

import math
import types
import typing
from collections.abc import Callable
from dataclasses import MISSING, Field, dataclass, fields, is_dataclass
from typing import Any, Literal, TypeVar, Union

from app.job.files import strict_json as strict
from app.job.files.strict_json import BadFieldError

T = TypeVar("T")

_MM, _RAD, _DEG = "_mm", "_rad", "_deg"


@dataclass(frozen=True)
class Written:
    """How a maker's file writes lengths: mm of one of its units."""

    mm_per_unit: float = 1.0

    def named(self, name: str) -> str:
        """Return what a field is called in the file.

        >>> Written().named("run_out_mm"), Written().named("flare_rad"), Written().named("form")
        ('run_out', 'flare_deg', 'form')
        """
        if name.endswith(_RAD):
            return name.removesuffix(_RAD) + _DEG
        return name.removesuffix(_MM)

    def scale(self, name: str) -> float:
        """Return what a number of the file is multiplied by for a field."""
        if name.endswith(_MM):
            return self.mm_per_unit
        return math.pi / 180.0 if name.endswith(_RAD) else 1.0


def facts_of(value: Any, written: Written | None = None) -> Any:
    """Return a plain value, or a dataclass of them, as JSON values.

    Parameters
    ----------
    value : None, bool, int, float, str, tuple of these, or a dataclass
    written : Written, optional
        As a maker's file has it; as a job file has it if not given.
    """
    if is_dataclass(value) and not isinstance(value, type):
        return {
            _named(each.name, written): _scaled(
                facts_of(getattr(value, each.name), written), each.name, written
            )
            for each in fields(value)
        }
    if isinstance(value, tuple):
        return [facts_of(each, written) for each in value]
    return value


def value_of(kind: type[T], found: Any, where: str, written: Written | None = None) -> T:
    """Return a dataclass from JSON values, every field checked; those left out as they usually are.

    Raises
    ------
    BadFieldError
        A field unknown, missing, or not of its kind. What the class itself refuses comes as it is.
    """
    rows = {each.name: each for each in fields(kind)}  # type: ignore[arg-type]
    names = {_named(name, written): name for name in rows}
    needed = [shown for shown, name in names.items() if _is_needed(rows[name])]
    checked = strict.fields(found, where, needed, [*names])
    types_of = _types(kind)
    return kind(
        **{
            names[shown]: _read(
                types_of[names[shown]],
                value,
                f"{where}.{shown}" if where else shown,
                _Reading(names[shown], written),
            )
            for shown, value in checked.items()
        }
    )


@dataclass(frozen=True)
class _Reading:
    """The field that is read, whose name says what its numbers mean."""

    name: str
    written: Written | None

    @property
    def scale(self) -> float:
        return 1.0 if self.written is None else self.written.scale(self.name)


def _named(name: str, written: Written | None) -> str:
    return name if written is None else written.named(name)


def _scaled(value: Any, name: str, written: Written | None) -> Any:
    if written is None or isinstance(value, bool | str) or value is None:
        return value
    if isinstance(value, list):
        return [_scaled(each, name, written) for each in value]
    scale = written.scale(name)
    return value if scale == 1.0 or not isinstance(value, int | float) else value / scale


def _is_needed(field: "Field[Any]") -> bool:
    return field.default is MISSING and field.default_factory is MISSING


def _types(kind: Any) -> dict[str, Any]:
    return typing.get_type_hints(kind)


_PLAIN: dict[Any, Callable[[Any, str], Any]] = {
    bool: strict.flag,
    int: strict.whole,
    str: lambda value, where: "" if value == "" else strict.text(value, where),
}


def _read(kind: Any, value: Any, where: str, at: _Reading) -> Any:
    origin, inner = typing.get_origin(kind), typing.get_args(kind)
    if origin in {Union, types.UnionType}:
        (only,) = (each for each in inner if each is not type(None))
        found = None if value is None else _read(only, value, where, at)
    elif origin is Literal:
        found = strict.one_of(value, where, inner)
    elif origin is tuple:
        found = _read_tuple(inner, value, where, at)
    elif is_dataclass(kind) and isinstance(kind, type):
        found = value_of(kind, value, where, at.written)
    elif kind is float:
        found = _number(value, where, at) * at.scale
    else:
        found = _PLAIN[kind](value, where)
    return found


def _number(value: Any, where: str, at: _Reading) -> float:
    """Return a number; of a maker's file it is told how one is written."""
    if at.written is not None and not isinstance(value, int | float):
        asked = "in degrees" if at.name.endswith(_RAD) else "in the unit the file says"
        bare = f", {asked}" if at.name.endswith((_MM, _RAD)) else ""
        raise BadFieldError(where, f"is not a number: write it bare{bare}, as 12.5")
    return strict.number(value, where)


def _read_tuple(inner: tuple[Any, ...], value: Any, where: str, at: _Reading) -> tuple[Any, ...]:
    if len(inner) == 2 and inner[1] is ...:
        return strict.items(value, where, lambda each, place: _read(inner[0], each, place, at))
    found = strict.items(value, where, lambda each, place: (each, place))
    if len(found) != len(inner):
        raise BadFieldError(where, f"has {len(found)} entries, not {len(inner)}")
    return tuple(
        _read(kind, each, place, at) for kind, (each, place) in zip(inner, found, strict=True)
    )
