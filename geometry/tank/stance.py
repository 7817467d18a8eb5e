"""How the machine stands: on the level, on its side stand, nose up or down."""

from dataclasses import dataclass

import numpy as np

from geometry.arrays import FloatArray
from geometry.errors import GeometryError

STEEPEST_RAD = np.radians(60.0)
"""Beyond this it lies on its side, and what a tap lets run says nothing."""


class TooSteepError(GeometryError):
    """A lean or a slope so steep that the machine would lie down.

    Attributes
    ----------
    angle_rad, most_rad : float
    """

    def __init__(self, angle_rad: float, most_rad: float) -> None:
        self.angle_rad, self.most_rad = angle_rad, most_rad
        super().__init__(f"{angle_rad:.3f} rad, of {most_rad:.3f}")


@dataclass(frozen=True)
class Stance:
    """How the tank stands.

    Attributes
    ----------
    name : str
        In the maker's words.
    lean_left_rad : float
        To the rider's left; below nothing to the right.
    nose_up_rad : float
        Below nothing, nose down.

    Raises
    ------
    TooSteepError
    """

    name: str
    lean_left_rad: float = 0.0
    nose_up_rad: float = 0.0

    def __post_init__(self) -> None:
        for angle in (self.lean_left_rad, self.nose_up_rad):
            if not abs(angle) <= STEEPEST_RAD:
                raise TooSteepError(abs(angle), float(STEEPEST_RAD))

    @property
    def up(self) -> FloatArray:
        """(3,) Straight up, in tank axes.

        >>> Stance("side stand", lean_left_rad=0.0, nose_up_rad=0.0).up.tolist()
        [0.0, 0.0, 1.0]
        """
        lean, nose = self.lean_left_rad, self.nose_up_rad
        sideways = np.cos(nose) * np.array([-np.sin(lean), np.cos(lean)])
        return np.array([np.sin(nose), *sideways]) + 0.0

    @property
    def frame(self) -> FloatArray:
        """(3, 3) Unit rows, the last straight up: what turns tank axes to level ones."""
        up = self.up
        across = np.cross(up, [1.0, 0.0, 0.0])
        across = across / np.linalg.norm(across)
        return np.stack([np.cross(across, up), across, up])


LEVEL = Stance("on the level")
