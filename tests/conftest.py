"""What holds for every test: `--slow`, and the shaper's own settings left alone."""

import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

SCREENS = "LOWCROWN_TEST_SCREENS"
"""Names the screens that several processes of window tests share out, as `:7 :8`."""

PRIVATE_FOLDERS = ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME")


def pytest_addoption(parser: pytest.Parser) -> None:
    """Offer `--slow`."""
    parser.addoption("--slow", action="store_true", help="also run the tests marked slow")


def pytest_configure(config: pytest.Config) -> None:
    """Give each of several test processes a screen of its own: windows on one take turns."""
    worker, screens = os.environ.get("PYTEST_XDIST_WORKER", ""), os.environ.get(SCREENS, "").split()
    if worker and screens:
        os.environ["DISPLAY"] = screens[int(worker.removeprefix("gw")) % len(screens)]


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave the slow tests out, counted as deselected, unless asked for."""
    if config.getoption("--slow"):
        return
    slow = [item for item in items if item.get_closest_marker("slow")]
    if slow:
        items[:] = [item for item in items if not item.get_closest_marker("slow")]
        config.hook.pytest_deselected(items=slow)


@pytest.fixture(scope="session", autouse=True)
def _settings_folders_of_our_own() -> Iterator[None]:
    """Point the platform's settings folders at an empty one, for this run and what it starts."""
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        for name in PRIVATE_FOLDERS:
            path = Path(folder) / name.lower()
            path.mkdir()
            patch.setenv(name, os.fspath(path))
        yield
