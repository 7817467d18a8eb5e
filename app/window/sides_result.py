"""What is copied from one side to the other, where anything is."""

from typing import Any

from app.job import Sides


def copied_of(sides: Sides | None) -> Any:
    """Return the tank with a side copied, or None."""
    return getattr(sides, "copied", None)
