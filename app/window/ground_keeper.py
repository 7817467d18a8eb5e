"""`GroundKeeper`: the surface seams are drawn on, made ready in the worker; what stands on it."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QObject, Signal

from app.job import JobState, Surface, directions_of, made
from app.window.bench import Bench, Errand
from app.window.document import Document
from app.window.seam_ground import Ground, ground_of, outside_of, scan_under, standing_lines
from app.window.words import sentence
from geometry.datum import Datum
from geometry.seams import SnapLine


@dataclass(frozen=True, eq=False)
class _Need:
    """What is to be worked out: in words, by which function, from what: the surface first.

    The function is given the surface's skin: no more than it uses has to travel to the worker.
    """

    words: str
    function: Callable[..., Any]
    inputs: tuple[Any, ...]

    def errand(self) -> Errand:
        """Return the work to be done."""
        surface, *more = self.inputs
        return Errand(self.words, self.function, (outside_of(surface), *more))


class GroundKeeper(QObject):
    """Keeps the ground and the lines to catch on, while what they were made from stands."""

    ready = Signal()
    said = Signal(str)

    def __init__(self, document: Document, bench: Bench, parent: QObject) -> None:
        super().__init__(parent)
        self._document, self._bench = document, bench
        self._made: dict[str, tuple[tuple[Any, ...], Any]] = {}
        self._tried: dict[str, tuple[tuple[Any, ...], Errand]] = {}
        self._ground: Ground | None = None
        bench.errand_done.connect(self._take)
        bench.errand_failed.connect(self._refuse)

    def want(self, show: str, *, again: bool = False) -> None:
        """Have made what is not there; `again` also what was stopped before."""
        if again:
            self._tried.clear()
        for name, need in self._needs(show).items():
            if self._known(name, need) is not None:
                continue
            tried = self._tried.get(name)
            if tried is None or not _alike(tried[0], need.inputs):
                errand = need.errand()
                self._tried[name] = (need.inputs, errand)
                self._bench.run_errand(errand)

    def ground(self) -> Ground | None:
        """Return the ground of the job as it stands; None while it is not ready."""
        need, size = self._needs("mm").get("ground"), made(self._document.state, "Size")
        found = None if need is None else self._known("ground", need)
        if found is None or size is None:
            return None
        known = self._ground
        if known is None or known.in_mm is not found or known.mm_per_unit != size.mm_per_unit:
            surface: Surface = made(self._document.state, "Surface")
            self._ground = Ground(found, size.mm_per_unit, scan_under(surface))
        return self._ground

    def is_ready(self, show: str) -> bool:
        """Return whether all is there that a seam is drawn with."""
        needs = self._needs(show)
        return bool(needs) and all(self._known(*need) is not None for need in needs.items())

    def lines(self, show: str) -> tuple[SnapLine, ...]:
        """Return what points catch on that no seam moves; none while they are not ready."""
        need = self._needs(show).get("lines")
        found = None if need is None else self._known("lines", need)
        return () if found is None else found

    def _needs(self, show: str) -> dict[str, _Need]:
        state = self._document.state
        surface: Surface | None = made(state, "Surface")
        if surface is None:
            return {}
        inputs = (surface, datum_now(state), directions_of(state), show)
        return {
            "ground": _Need("Making ready to draw seams", ground_of, (surface,)),
            "lines": _Need("Laying stations over the tank", standing_lines, inputs),
        }

    def _known(self, name: str, need: _Need) -> Any:
        kept = self._made.get(name)
        return kept[1] if kept is not None and _alike(kept[0], need.inputs) else None

    def _take(self, errand: Errand, value: Any) -> None:
        for name, (inputs, asked) in self._tried.items():
            if asked is errand:
                self._made[name] = (inputs, value)
                self.ready.emit()

    def _refuse(self, errand: Errand, error: Exception) -> None:
        if any(asked is errand for _, asked in self._tried.values()):
            self.said.emit(sentence(error))


def datum_now(state: JobState) -> Datum | None:
    """Return how the tank stands, where that is known."""
    found: Datum | None = made(state, "Datum")
    return found


def _alike(one: tuple[Any, ...], other: tuple[Any, ...]) -> bool:
    """Return whether inputs are the same: results by identity, what was decided by value."""
    return len(one) == len(other) and all(a is b or a == b for a, b in zip(one, other, strict=True))
