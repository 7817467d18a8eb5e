"""What a tape would show: how much its reading changes when the whole tank is other than scanned.

The change of a tape is told to first order: each stretch of it by how far its two ends part along
it. A tight tape lies where it is shortest, so that how it shifts sideways does not count. A mark
stays where it was set out on the real metal, and slides along its edge over the faulty one.
"""

import numpy as np

from geometry.arrays import FloatArray
from geometry.gauges.holds import Hold
from geometry.gauges.tape_value import TapeTable, TapeValue
from geometry.gauges.taped_skin import TapedSkin

FAULTS = (
    "length",
    "width",
    "height",
    "twist",
    "sides",
    "skew",
    "rake",
    "lean",
)
"""The size of the tank in its three ways; its front turned against its rear; one half wider than
the other; and plan, side view and end view out of square."""

SCALE_FAULT = 0.005
"""A size fault to be shown: 5 in 1,000, some 3 mm on a tank's length. Own choice."""

TWIST_FAULT_RAD = np.deg2rad(1.0)
"""Front against rear, over the whole tank. Own choice: 2 mm at a half width of 120 mm."""

SIDE_FAULT_MM = 2.0
"""How much wider one half is than the other: what may pass by the trade (from memory)."""

_SHEAR_FAULT_RAD = np.deg2rad(0.5)


SHOWN = 0.6
"""A fault that moves a reading by so much of its limit is told as shown by it; of a tape none of
them moves so much the most telling, if half of that. Own choice."""


def shown_by(value: TapeValue) -> tuple[str, ...]:
    """Return which of `FAULTS` a tape shows, the most telling first."""
    share = np.abs(value.faults) / value.limit_mm
    least = min(SHOWN, max(float(share.max()), SHOWN / 2.0))
    return tuple(FAULTS[k] for k in np.argsort(-share, kind="stable") if share[k] >= least)


def least_shown(table: TapeTable) -> dict[str, float]:
    """Return how large each of the first five faults must be for some tape to be off its limit.

    Length, width and height and how much wider one half is in mm, the twist in rad; none that no
    tape shows at all.
    """
    if not table.values:
        return {}
    share = np.max([np.abs(v.faults) / v.limit_mm for v in table.values], axis=0)
    sizes = [*(SCALE_FAULT * table.size), TWIST_FAULT_RAD, SIDE_FAULT_MM]
    found = zip(FAULTS, sizes, share, strict=False)
    return {name: float(size / part) for name, size, part in found if part > 0.05}


def fault_moves(skin: TapedSkin, points: FloatArray) -> FloatArray:
    """Return (8, k, 3) how far places (k, 3) move for every fault, ahead, left and up, mm."""
    x, y, z = (points - skin.middle).T
    nought = np.zeros_like(x)
    turn = TWIST_FAULT_RAD * x / skin.size[0]
    wider = SIDE_FAULT_MM * np.abs(y) / skin.size[1]
    return np.stack(
        [
            np.stack([SCALE_FAULT * x, nought, nought], axis=1),
            np.stack([nought, SCALE_FAULT * y, nought], axis=1),
            np.stack([nought, nought, SCALE_FAULT * z], axis=1),
            np.stack([nought, -turn * z, turn * y], axis=1),
            np.stack([nought, wider, nought], axis=1),
            _SHEAR_FAULT_RAD * np.stack([y, nought, nought], axis=1),
            _SHEAR_FAULT_RAD * np.stack([z, nought, nought], axis=1),
            _SHEAR_FAULT_RAD * np.stack([nought, z, nought], axis=1),
        ]
    )


def line_faults(skin: TapedSkin, line: FloatArray) -> FloatArray:
    """Return (8,) how much longer a tape along (k, 3) places is for every fault."""
    steps = np.diff(line, axis=0)
    lengths = np.linalg.norm(steps, axis=1)
    ways = steps / np.maximum(lengths, 1e-12)[:, None]
    moves = fault_moves(skin, line)
    return np.asarray(np.einsum("fki,ki->f", np.diff(moves, axis=1), ways))


def set_out_faults(skin: TapedSkin, hold: Hold, slope: float) -> FloatArray:
    """Return (8,) what a mark's setting out adds: it stays where it was set out on the real metal.

    Parameters
    ----------
    skin : TapedSkin
    hold : Hold
    slope : float
        How much longer the tape is for each mm the mark lies farther along `hold.ways`.
    """
    if hold.set_out is None:
        return np.zeros(len(FAULTS))
    last = hold.set_out[-1] - hold.set_out[-2]
    cosine = float(last @ hold.ways[0] / np.linalg.norm(last))
    return np.asarray(-line_faults(skin, hold.set_out) / cosine * slope)
