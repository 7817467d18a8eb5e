"""The convergence helper itself: it finds a known slope and refuses what has none."""

import math

import pytest

from tests.convergence import observed_order

SIZES = [0.8, 0.4, 0.2, 0.1]


@pytest.mark.parametrize("order", [1.0, 2.0, 4.0])
def test_a_pure_power_is_found_exactly(order: float) -> None:
    assert observed_order(lambda h: 7.0 * h**order, SIZES) == pytest.approx(order, abs=1e-9)


def test_the_trapezium_rule_has_order_two() -> None:
    """Handbook fact (from memory): the trapezium rule's error is -(b - a) h^2 f''/12."""

    def error(h: float) -> float:
        steps = round(1.0 / h)
        inside = sum(math.exp(i / steps) for i in range(1, steps))
        return abs((0.5 + inside + 0.5 * math.e) / steps - (math.e - 1.0))

    # The next term of the error is h^2/60 of the first, under 0.1 % at the coarsest size.
    assert observed_order(error, [0.25, 0.125, 0.0625]) == pytest.approx(2.0, abs=2e-3)


def test_the_order_of_the_sizes_does_not_matter() -> None:
    forward = observed_order(lambda h: h**1.5, SIZES)
    assert observed_order(lambda h: h**1.5, SIZES[::-1]) == forward


@pytest.mark.parametrize("sizes", [[0.4, 0.1], [0.3, 0.2, 0.1], [0.1, 0.1, 0.4], [0.0, 0.1, 0.4]])
def test_too_few_or_too_close_sizes_are_refused(sizes: list[float]) -> None:
    with pytest.raises(ValueError, match="sizes"):
        observed_order(lambda h: h, sizes)


@pytest.mark.parametrize("wrong", [0.0, -1.0, math.nan, math.inf])
def test_an_error_without_a_slope_is_refused(wrong: float) -> None:
    with pytest.raises(ValueError, match="zero"):
        observed_order(lambda h: wrong if h < 0.2 else h, SIZES)
