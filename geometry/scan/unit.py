"""The units a scanner's file may be in."""

from typing import Literal

Unit = Literal["mm", "cm", "m", "in"]
MM_PER_UNIT: dict[Unit, float] = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
UNIT_WORDS: dict[Unit, str] = {
    "mm": "millimetres",
    "cm": "centimetres",
    "m": "metres",
    "in": "inches",
}
