"""Break-ups: what splitting the tank one way or another costs, judged and proposed."""

from geometry.breakups.lift_out import LiftOut, lift_out

__all__ = [
    "LiftOut",
    "lift_out",
]
