"""JSON read strictly: one reader for each kind of value, each refusing all others by place."""

from collections.abc import Callable
from contextlib import suppress
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.job.files import strict_json as strict
from app.job.files.strict_json import BadFieldError

NOT_NUMBERS: list[object] = [None, True, "1", [], {}, float("nan"), float("inf"), -(10**400)]


@pytest.mark.parametrize("value", NOT_NUMBERS)
@pytest.mark.parametrize("read", [strict.number, strict.positive, strict.not_below_nothing])
def test_what_is_no_finite_number_is_refused(
    read: Callable[[Any, str], float], value: object
) -> None:
    with pytest.raises(BadFieldError) as caught:
        read(value, "a.b")
    assert caught.value.where == "a.b"
    assert str(caught.value) == f"a.b {caught.value.reason}"


def test_numbers_are_floats_whatever_way_they_are_written() -> None:
    assert isinstance(strict.number(3, ""), float)
    assert strict.positive(5e-324, "") == 5e-324
    assert strict.not_below_nothing(0, "") == 0.0


@pytest.mark.parametrize("value", [0, 0.0, -0.0, -1e-300])
def test_above_nothing_means_above(value: float) -> None:
    with pytest.raises(BadFieldError, match="not above 0"):
        strict.positive(value, "x")


@pytest.mark.parametrize("value", [True, 1.0, "1", None])
def test_a_whole_number_is_no_flag_and_no_decimal(value: object) -> None:
    with pytest.raises(BadFieldError, match="whole number"):
        strict.whole(value, "x")


@pytest.mark.parametrize(("value", "choices"), [(True, (1, 2)), (1, (True,)), ([], ("a",))])
def test_a_choice_is_the_same_value_of_the_same_kind(
    value: object, choices: tuple[object, ...]
) -> None:
    with pytest.raises(BadFieldError, match="not one of"):
        strict.one_of(value, "x", choices)


@given(st.text())
def test_a_text_made_keepable_is_taken_and_made_no_other_again(found: str) -> None:
    kept = strict.keepable(found)
    assert strict.text(kept, "x") == kept
    assert kept.encode().decode() == kept
    if found.isprintable() and found.strip():
        assert kept == found


@given(st.binary(max_size=200))
def test_any_bytes_are_a_value_or_a_typed_error(content: bytes) -> None:
    with suppress(BadFieldError):
        strict.parsed(content)
