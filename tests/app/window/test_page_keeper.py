"""Pages that were composed to be looked at are the ones written; nothing is made twice."""

from pathlib import Path
from typing import Any

import pytest

from app.exports import sheaf_bytes
from app.job import JobState
from app.window.page_keeper import composed_pages
from app.window.press import write_patterns
from tests.app.window.test_window import press, rest

pytestmark = pytest.mark.window


def test_patterns_are_written_from_the_pages_shown_and_a_tape_table_is_made_once(
    window: Any, made_shell: JobState, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What an errand is given it does not make: `deliver(kept=)`, `composed(table=)`."""
    errands: list[Any] = []
    run = window.bench.run_errand

    def watched(errand: Any) -> None:
        errands.append(errand)
        run(errand)

    monkeypatch.setattr(window.bench, "run_errand", watched)
    window.keeper.begin(made_shell, None, unsaved=False)
    press(window, "Ctrl+9")
    rest(window)
    pages = window.page_keeper.current(window.foreman.desk)
    assert pages.table is not None

    window.press.write(tmp_path / "out")
    rest(window)
    assert [errand.function for errand in errands] == [composed_pages, write_patterns]
    assert errands[1].arguments[-1] is pages
    assert len(pages.sheaves) == len(list((tmp_path / "out").glob("*.pdf")))
    for sheaf in pages.sheaves:
        assert (tmp_path / "out" / sheaf.name).read_bytes() == sheaf_bytes(sheaf)

    window.foreman.set_trim(20.0)
    assert window.page_keeper.current(window.foreman.desk) is None
    rest(window)
    assert errands[0].arguments[-1] is None
    assert errands[2].function is composed_pages
    assert errands[2].arguments[-1] is pages.table
