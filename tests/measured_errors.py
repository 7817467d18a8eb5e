"""Prints the errors that checks measured, for docs/validation.md.

A pytest plugin: `python -m pytest -p tests.measured_errors -n 0 tests/validation`. At the end it
lists, for each test, the largest error of every `pytest.approx` line that it compared, beside the
error that line allows. Comparisons by `<` and `>` leave no row.
"""

from collections import defaultdict
from typing import Any

import numpy as np
import pytest

_plain_approx = pytest.approx
_rows: dict[str, dict[float, tuple[float, float]]] = defaultdict(dict)
_running = ["while collecting"]


class Measured:
    """What `pytest.approx` returns, keeping a note of how far off the other side was."""

    __array_ufunc__ = None
    __array_priority__ = 100
    __hash__ = None  # type: ignore[assignment]

    def __init__(self, expected: Any, **limits: Any) -> None:
        self.expected = expected
        self.limits = limits
        self.plain = _plain_approx(expected, **limits)

    def __eq__(self, actual: object) -> bool:
        """Compare as pytest does, and note the error."""
        same = bool(actual == self.plain)
        wanted, found = np.atleast_1d(self.expected), np.atleast_1d(np.asarray(actual))
        if wanted.shape == found.shape and np.issubdtype(found.dtype, np.number):
            allowed = np.maximum(
                self.limits.get("rel", 0.0 if "abs" in self.limits else 1e-6) * np.abs(wanted),
                self.limits.get("abs", 1e-12),
            )
            errors = np.abs(found - wanted)
            worst = int(np.argmax(errors / allowed))
            key = float(np.ravel(wanted)[worst])
            _rows[_running[0]][key] = (float(errors[worst]), float(np.ravel(allowed)[worst]))
        return same

    def __repr__(self) -> str:
        """Read as pytest's own does."""
        return repr(self.plain)


def pytest_configure() -> None:
    """Stand in for `pytest.approx` from here on."""
    pytest.approx = Measured  # type: ignore[assignment]


def pytest_runtest_setup(item: pytest.Item) -> None:
    """Remember whose errors come next."""
    _running[0] = item.nodeid


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """List the rows."""
    terminalreporter.section("errors measured")
    for name, rows in _rows.items():
        terminalreporter.write_line(name)
        for wanted, (error, allowed) in rows.items():
            terminalreporter.write_line(
                f"    {wanted:.9g}: off by {error:.2g}, allowed {allowed:.2g}"
            )
