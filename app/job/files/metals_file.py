"""The maker's own metals: a small JSON file of facts, read strictly and written again."""

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import IO, Any, TypeVar

from app.job.choices import MetalChoice
from app.job.files import strict_json as strict
from app.job.files.strict_json import BadFieldError
from app.job.files.whole_file import written_whole
from app.settings import config_folder
from geometry.metal import (
    METALS,
    BadFactError,
    MissingFactError,
    SheetMetal,
    UnknownMetalError,
    metal_from_facts,
)

LARGEST_METALS_FILE = 2**20

T = TypeVar("T")

Metals = Mapping[str, SheetMetal]
"""Metals by name."""


def own_metals_file() -> Path:
    """Return the file the maker's own metals are kept in."""
    return config_folder() / "metals.json"


def read_metals(path: Path) -> Metals:
    """Return the metals of a file, by name.

    The file is `{"metals": [{"alloy": "5754", "temper": "H22", "density": 2.67, ...}]}`, each as
    `geometry.metal.metal_from_facts` takes it.

    Raises
    ------
    OSError
    BadFileError
    """
    return _read(path, _metals)


def _read(path: Path, read: Callable[[Any], T]) -> T:
    return strict.read_file(path, "a file of metals", LARGEST_METALS_FILE, read)


def _metals(value: Any) -> Metals:
    found: dict[str, SheetMetal] = {}
    for at, facts in enumerate(_facts(value)):
        where = f"metals[{at}]"
        try:
            metal = metal_from_facts(facts)
        except MissingFactError as error:
            raise BadFieldError(where, f'lacks the fact "{error.fact}"') from error
        except BadFactError as error:
            reason = f'has the fact "{error.fact}" as {error.found!r}; it must be {error.wanted}'
            raise BadFieldError(where, reason) from error
        if metal.name in found:
            raise BadFieldError(where, f'has the name "{metal.name}", which is taken')
        found[metal.name] = metal
    return found


def _facts(value: Any) -> tuple[dict[str, Any], ...]:
    whole = strict.fields(value, "", ["metals"])
    return strict.items(whole["metals"], "metals", _object)


def _object(value: Any, where: str) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise BadFieldError(where, "is not an object with facts in braces { }")
    return value


def known_metals(*more: Path) -> Metals:
    """Return every metal known: those from the start, the maker's own, and those of more files.

    A later one of the same name takes the place of an earlier.

    Raises
    ------
    OSError
    BadFileError
    """
    own = own_metals_file()
    files = [*([own] if own.exists() else []), *more]
    known = dict(METALS)
    for path in files:
        known |= read_metals(path)
    return known


def metal_named(name: str, metals: Metals) -> SheetMetal:
    """Return a known metal by its name, however it is spaced, in capitals or not.

    Raises
    ------
    UnknownMetalError

    >>> metal_named("3003 h14", METALS).name
    '3003-H14'
    """
    found = metal_or_none(name, metals)
    if found is None:
        raise UnknownMetalError(name, tuple(metals))
    return found


def metal_or_none(name: str, metals: Metals) -> SheetMetal | None:
    """Return a known metal by its name, or None."""
    return {_plain(known): metal for known, metal in metals.items()}.get(_plain(name))


def bent_as_known(metal: MetalChoice, metals: Metals) -> MetalChoice:
    """Return a sheet with the radius it is bent over, where its metal is the maker's own.

    Whatever chooses a metal or a thickness asks here. Those known from the start need none of
    their own: every machine knows them.

    >>> own = metal_from_facts({"alloy": "5754", "density": 2.67, "bend_radius": 1.5})
    >>> bent_as_known(MetalChoice(2.0, "5754"), {"5754": own}).bend_radius_mm
    3.0
    >>> bent_as_known(MetalChoice(2.0, "3003-H14"), METALS).bend_radius_mm is None
    True
    """
    known = metal_or_none(metal.alloy, metals)
    if known is None or known == metal_or_none(metal.alloy, METALS):
        return replace(metal, bend_radius_mm=None)
    radius = known.bend_radius_at(metal.thickness_mm)
    return replace(metal, bend_radius_mm=None if radius is None else radius.value)


def _plain(name: str) -> str:
    return "-".join(name.upper().replace("-", " ").split())


def keep_own_metal(facts: Mapping[str, Any]) -> SheetMetal:
    """Keep a metal of the maker's own for this job and those to come; return it.

    One of the same name is replaced.

    Raises
    ------
    MissingFactError, BadFactError
    OSError, BadFileError
        The metals kept so far cannot be read, or these cannot be written.
    """
    metal = metal_from_facts(facts)
    path = own_metals_file()
    kept: Iterable[dict[str, Any]] = ()
    if path.exists():
        read_metals(path)  # nothing is added to a file that cannot be read
        kept = _read(path, _facts)
    others = [each for each in kept if metal_from_facts(each).name != metal.name]
    text = json.dumps({"metals": [*others, dict(facts)]}, indent=1, ensure_ascii=False) + "\n"

    def write(file: IO[bytes]) -> None:
        file.write(text.encode())

    path.parent.mkdir(parents=True, exist_ok=True)
    written_whole(path, write)
    return metal
