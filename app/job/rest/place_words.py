"""Places in the tank as they are found with a tape."""

from app.units import length_text
from geometry.arrays import FloatArray


def place_words(place: FloatArray, show: str = "mm") -> str:
    """Return a place in the tank as it is found with a tape.

    >>> import numpy as np
    >>> place_words(np.array([316.2, -66.0, 2.0]))
    '316 mm (12 7/16 in) ahead of the rear end, 66 mm (2 5/8 in) right'
    """
    ahead = float(place[0])
    way = "ahead of" if ahead >= 0.0 else "behind"
    told = length_text(abs(ahead), show, decimals=0)
    return f"{told} {way} the rear end, {side_words(place, show)}"


def side_words(place: FloatArray, show: str = "mm") -> str:
    """Return how far a place lies off the centre plane, and to which hand."""
    off = float(place[1])
    if abs(off) < 0.5:
        return "on the centre line"
    return f"{length_text(abs(off), show, decimals=0)} {'left' if off > 0.0 else 'right'}"


def spot_words(place: FloatArray, show: str = "mm") -> str:
    """Return a place in the tank with its height over, or under, the lowest place.

    >>> import numpy as np
    >>> spot_words(np.array([316.2, 0.0, 50.0]), "in")
    '12 7/16 in (316 mm) ahead of the rear end, on the centre line, 1 15/16 in (50 mm) up'
    """
    up = float(place[2])
    way = "up" if up >= 0.0 else "under the lowest place"
    return f"{place_words(place, show)}, {length_text(abs(up), show, decimals=0)} {way}"
