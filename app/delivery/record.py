"""What a folder of files says of its print: revision, pages of each file, tapes to hold against."""

import json
from collections.abc import Mapping
from pathlib import Path

from app.delivery.findings import Json
from app.delivery.folder import SUMMARY
from app.exports import page_count
from app.job import JobState, Print
from geometry.gauges import SetOut, TapePlace, TapeTable, TapeValue, shown_by

_LARGEST_SUMMARY = 2**28


def revision_json(state: JobState) -> Json:
    """Return revision and day of a job as printed, and the revision it replaces."""
    return {
        "revision": {
            "number": state.revision,
            "dated": state.revised,
            "replaces": state.prints[-2].revision if len(state.prints) > 1 else None,
        },
        "prints": [vars(each) for each in state.prints],
    }


def earlier_prints(folder: Path) -> tuple[Print, ...]:
    """Return what the result in a folder says was printed; nothing where there is none.

    A job done by command keeps its prints here, as one in the window keeps them in its file.
    """
    path = folder / SUMMARY
    try:
        if path.stat().st_size > _LARGEST_SUMMARY:
            return ()
        found = json.loads(path.read_text(encoding="utf-8"))["prints"]
        prints = tuple(Print(**each) for each in found)
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return ()
    return prints if all(_is_sound(each) for each in prints) else ()


def _is_sound(found: Print) -> bool:
    return (
        type(found.revision) is int
        and isinstance(found.dated, str)
        and isinstance(found.digest, str)
    )


def pages_json(files: Mapping[str, bytes]) -> Json:
    """Return how many pages each PDF has."""
    return {name: page_count(files[name]) for name in files if name.endswith(".pdf")}


def tape_table_json(table: TapeTable | None) -> list[Json] | None:
    """Return the lengths a tape can prove on the tank, in the order of the page; null without."""
    if table is None:
        return None
    return [_tape_json(number, value) for number, value in enumerate(table.values, start=1)]


def _tape_json(number: int, value: TapeValue) -> Json:
    return {
        "number": number,
        "way": value.way,
        "reading": value.reading,
        "length": value.length_mm,
        "limit": value.limit_mm,
        "moved": value.moved_mm,
        "wrong": value.wrong_mm,
        "shows": list(shown_by(value)),
        "places": [_place_json(each) for each in value.places],
        "through": None if value.through is None else _place_json(value.through),
    }


def _place_json(held: TapePlace) -> Json:
    return {
        "on": held.on,
        "number": held.number,
        "point": [float(value) for value in held.point],
        "tank": [float(value) for value in held.tank],
        "which": held.which,
        "set_out": None if held.set_out is None else _set_out_json(held.set_out),
    }


def _set_out_json(out: SetOut) -> Json:
    return {"distance": out.distance_mm, "way": out.way, "from": _place_json(out.place)}
