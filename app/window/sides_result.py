"""What is copied from one side to the other, where anything is."""

from app.job import Sides
from geometry.datum import Copied


def copied_of(sides: Sides | None) -> Copied | None:
    """Return the tank with a side copied, or None."""
    return None if sides is None else sides.copied
