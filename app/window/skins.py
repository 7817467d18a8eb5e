"""The ways to look at the tank, in one table: plain, and those that colour its skin. Views only."""

from app.window.crown_skin import CROWN, HIGHLIGHTS
from app.window.sides_skin import SIDES
from app.window.skin import Skin

PLAIN = "plain"

SKINS: tuple[Skin, ...] = (CROWN, HIGHLIGHTS, SIDES)
"""In the order they are offered, after the plain one."""


def skin_named(key: str) -> Skin | None:
    """Return a way by its key; None for the plain one."""
    return next((skin for skin in SKINS if skin.key == key), None)


__all__ = ["PLAIN", "SKINS", "Skin", "skin_named"]
