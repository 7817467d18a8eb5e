"""The work of forming: how much each bit of sheet costs to bring to its place on the panel.

Holds the choice of strain, weight, hardening and bias (`Work`) and the work density with its first
and second derivatives. Minimising the sum over a panel is left to `minimise`.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from geometry.arrays import FloatArray
from geometry.errors import GeometryError

Measure = Literal["von_mises", "hencky"]
Weight = Literal["blank", "formed"]

ROUNDING_STRAIN = 1e-4
"""d in eps^2 -> eps^2 + d^2 where hardening is below 1: keeps the density smooth at no strain."""

BIAS_STRAIN = 0.01
"""Log strain over which bias goes from stretch to shrink."""


class WorkChoiceError(GeometryError):
    """A work choice outside what the model allows.

    Attributes
    ----------
    choice : str
        Which of measure, weight, hardening, bias.
    value : object
        What was asked.
    allowed : str
        What can be asked.
    """

    def __init__(self, choice: str, value: object, allowed: str) -> None:
        self.choice, self.value, self.allowed = choice, value, allowed
        super().__init__(f"{choice} {value!r} is not one of: {allowed}")


@dataclass(frozen=True)
class Work:
    """What counts as work.

    Attributes
    ----------
    measure : "von_mises" or "hencky"
        Equivalent plastic strain with the change of thickness counted, or plain log strain.
    weight : "blank" or "formed"
        Each face counts by its area on the blank (the metal's volume) or on the formed panel.
    hardening : float, 0.25 to 1
        Exponent n in w = eps^(n+1) / (n+1); below 1 with the blank weight only.
    bias : float, -0.7 to 0.7
        Each principal log strain e enters as e exp(bias tanh(e / 0.01)): positive makes stretch
        dear, so that the blank is shrink-led.

    Raises
    ------
    WorkChoiceError
    """

    measure: Measure = "von_mises"
    weight: Weight = "blank"
    hardening: float = 1.0
    bias: float = 0.0

    def __post_init__(self) -> None:
        if self.measure not in ("von_mises", "hencky"):
            raise WorkChoiceError("measure", self.measure, "von_mises, hencky")
        if self.weight not in ("blank", "formed"):
            raise WorkChoiceError("weight", self.weight, "blank, formed")
        if not 0.25 <= self.hardening <= 1.0:
            raise WorkChoiceError("hardening", self.hardening, "0.25 to 1")
        if self.hardening < 1.0 and self.weight != "blank":
            raise WorkChoiceError("hardening", self.hardening, "1 with weight 'formed'")
        if not -0.7 <= self.bias <= 0.7:
            raise WorkChoiceError("bias", self.bias, "-0.7 to 0.7")


@dataclass(frozen=True, eq=False)
class Density:
    """Work per formed area and its derivatives by the two principal stretches flat over formed.

    Attributes
    ----------
    value : (m,)
    first : (m, 2)
    second : (m, 3)
        By (1, 1), (1, 2), (2, 2).
    """

    value: FloatArray
    first: FloatArray
    second: FloatArray


def density(work: Work, flat_stretches: FloatArray) -> Density:
    """Return the work per unit of formed area, no unit (strain squared at hardening 1).

    Parameters
    ----------
    work : Work
    flat_stretches : (m, 2) float
        Principal stretches flat over formed, all positive. Forming strain is minus their logarithm.

    >>> d = density(Work("hencky", "formed"), np.exp([[-0.1, 0.0]]))
    >>> round(float(d.value[0]), 9)
    0.005
    """
    s = np.ascontiguousarray(flat_stretches.T)
    f, df, d2f = _biased(-np.log(s), work.bias)  # of forming strain; signs turned below
    w, w_f, w_ff = _of_strains(work, f)
    if work.bias == 0.0:
        first, second = -w_f, w_ff
    else:
        first = -w_f * df
        second = np.stack(
            [
                w_ff[0] * df[0] ** 2 + w_f[0] * d2f[0],
                w_ff[1] * df[0] * df[1],
                w_ff[2] * df[1] ** 2 + w_f[1] * d2f[1],
            ]
        )
    if work.weight == "blank":
        w, first, second = _times_blank_area(w, first, second, s[0] * s[1])
    first, second = _by_stretch(first, second, s)
    return Density(w, first.T, second.T)


def _biased(strain: FloatArray, bias: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return e exp(bias tanh(e / s)) and its first two derivatives by e."""
    if bias == 0.0:
        return strain, np.ones_like(strain), np.zeros_like(strain)
    t = np.tanh(strain / BIAS_STRAIN)
    slope = (1.0 - t**2) / BIAS_STRAIN  # dt/de
    bend = -2.0 * t * slope / BIAS_STRAIN  # d2t/de2
    factor = np.exp(bias * t)
    value = strain * factor
    first = factor * (1.0 + strain * bias * slope)
    second = factor * (2.0 * bias * slope + strain * bias * (bend + bias * slope**2))
    return value, first, second


def _of_strains(work: Work, f: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return w, its gradient and Hessian (11, 12, 22) by the biased principal strains."""
    f1, f2 = f
    if work.measure == "von_mises":
        q = 4.0 / 3.0 * (f1 * f1 + f1 * f2 + f2 * f2)
        q_f = 4.0 / 3.0 * np.stack([2.0 * f1 + f2, f1 + 2.0 * f2])
        q_ff = np.array([8.0, 4.0, 8.0])[:, None] / 3.0
    else:
        q = f1 * f1 + f2 * f2
        q_f = 2.0 * f
        q_ff = np.array([2.0, 0.0, 2.0])[:, None]
    n = work.hardening
    if n == 1.0:
        return q / 2.0, q_f / 2.0, np.broadcast_to(q_ff / 2.0, (3, len(f1)))
    rounded = q + ROUNDING_STRAIN**2
    w = (rounded ** ((n + 1.0) / 2.0) - ROUNDING_STRAIN ** (n + 1.0)) / (n + 1.0)
    w_q = rounded ** ((n - 1.0) / 2.0) / 2.0
    w_qq = (n - 1.0) / 2.0 * w_q / rounded
    second = w_qq * np.stack([q_f[0] ** 2, q_f[0] * q_f[1], q_f[1] ** 2])
    return w, w_q * q_f, second + w_q * q_ff


def _times_blank_area(
    w: FloatArray, first: FloatArray, second: FloatArray, area_ratio: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Multiply by flat over formed area, whose derivative by either log stretch is itself."""
    w1, w2 = first
    lifted = second + np.stack([2.0 * w1 + w, w1 + w2 + w, 2.0 * w2 + w])
    return w * area_ratio, (first + w) * area_ratio, lifted * area_ratio


def _by_stretch(
    first: FloatArray, second: FloatArray, s: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Turn derivatives by log stretch into derivatives by stretch."""
    part = 1.0 / s
    bend = np.stack(
        [
            (second[0] - first[0]) * part[0] * part[0],
            second[1] * part[0] * part[1],
            (second[2] - first[1]) * part[1] * part[1],
        ]
    )
    return first * part, bend
