"""Errors travel between processes with all they carry, one within another too."""

import pickle

import numpy as np

from geometry.errors import GeometryError


class TwoFactsError(GeometryError):
    def __init__(self, place: np.ndarray, reason: str) -> None:
        self.place, self.reason = place, reason
        super().__init__(f"{reason} there")


class WithinError(GeometryError):
    def __init__(self, number: int, error: GeometryError) -> None:
        self.number, self.error = number, error
        super().__init__(number, error)


def test_an_error_comes_back_with_its_fields_and_words() -> None:
    back = pickle.loads(pickle.dumps(TwoFactsError(np.array([1.0, 2.0]), "folded")))
    assert type(back) is TwoFactsError
    assert str(back) == "folded there"
    assert back.reason == "folded"
    assert back.place.tolist() == [1.0, 2.0]


def test_an_error_within_another_comes_back_too() -> None:
    back = pickle.loads(pickle.dumps(WithinError(3, TwoFactsError(np.zeros(2), "thin"))))
    assert back.number == 3
    assert back.error.reason == "thin"
    assert str(back.error) == "thin there"
