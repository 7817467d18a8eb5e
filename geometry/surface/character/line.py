"""What is known about a character line."""

from dataclasses import dataclass
from typing import Literal

from geometry.arrays import FloatArray

Standing = Literal["ridge", "valley"]


@dataclass(frozen=True, eq=False)
class CharacterLine:
    """A line over the skin along which two flanks meet in a round, or nearly sharp.

    Attributes
    ----------
    points : (k, 3) float, mm
        Where its tip runs, the middle of the round; a closed one repeats its first.
    radius_mm : (k,) float
        Of the skin at the tip, square to the line. Below about half a spacing it means only that
        the line is sharper than the scan shows.
    opening_rad : (k,) float
        Between the flanks, drawn out to where they meet: pi is flat.
    height_mm : (k,) float
        How far the tip stands over the straight that joins the flanks 10 mm to either side (less
        where a flank was scanned less far), square to it: positive on a ridge, negative in a
        valley.
    standing : "ridge" or "valley"
        Seen from outside.
    confidence : float
        0 to 1: how sure it is that there is a line at all.
    is_closed : bool
    """

    points: FloatArray
    radius_mm: FloatArray
    opening_rad: FloatArray
    height_mm: FloatArray
    standing: Standing
    confidence: float
    is_closed: bool
