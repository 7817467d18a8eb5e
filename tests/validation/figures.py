"""Tables of reference values that stand beside the checks, read by column name."""

import csv
from functools import cache
from pathlib import Path


@cache
def figures(name: str) -> tuple[dict[str, str], ...]:
    """Return the rows of a table in this folder, each by column name, as written."""
    with (Path(__file__).parent / f"{name}.csv").open(encoding="utf-8", newline="") as table:
        return tuple(csv.DictReader(table))


def numbers(row: dict[str, str]) -> dict[str, float]:
    """Return the entries of a row that are numbers."""
    found: dict[str, float] = {}
    for key, text in row.items():
        try:
            found[key] = float(text)
        except ValueError:
            continue
    return found
