"""`SkinKeeper`: which way the tank is looked at, and what was worked out for it while it holds."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from PySide6.QtCore import QObject, Signal

from app.job import JobState
from app.window.bench import Bench, Errand
from app.window.document import Document
from app.window.kept import same_key
from app.window.legend import Swatch
from app.window.scene import Hit
from app.window.skins import PLAIN, SKINS, Skin, skin_named
from app.window.words import sentence


@dataclass(frozen=True, eq=False)
class Shown:
    """A way of looking as it is shown now: its key, what its painter draws, and what that means."""

    key: str
    painted: Any
    legend: tuple[Swatch, ...]


@dataclass(frozen=True, eq=False)
class _Kept:
    inputs: tuple[Any, ...]
    value: Any


class SkinKeeper(QObject):
    """Keeps the way chosen; has its colours worked out when they are wanted and not there."""

    changed = Signal()
    said = Signal(str)

    def __init__(self, document: Document, bench: Bench, parent: QObject) -> None:
        super().__init__(parent)
        self.chosen = PLAIN
        self._document, self._bench = document, bench
        self._kept: dict[str, _Kept] = {}
        self._under_way: tuple[Skin, tuple[Any, ...], Errand] | None = None
        self._declined: tuple[Any, ...] | None = None
        self._shown: tuple[tuple[Any, ...], str, Shown] | None = None
        bench.errand_done.connect(self._take)
        bench.errand_failed.connect(self._refuse)
        bench.errand_stopped.connect(self._stopped)
        document.changed.connect(self._want)

    def reactions(self) -> dict[str, Callable[[], Any]]:
        """Return what answers each action of the table that is a way to look."""
        keys = (PLAIN, *(skin.key for skin in SKINS))
        return {f"skin_{key}": _Chooser(self, key) for key in keys}

    def choose(self, key: str) -> None:
        """Look another way."""
        self.chosen = key
        self._declined = None
        self._want()
        skin = skin_named(key)
        if skin is not None and skin.inputs(self._document.state) is None:
            self.said.emit(skin.not_yet)
        self.changed.emit()

    def shown(self, state: JobState, show: str) -> Shown | None:
        """Return what is shown instead of the plain skin; None where that is what is shown."""
        skin, value = skin_named(self.chosen), self.value(state)
        if skin is None or value is None:
            return None
        known, inputs = self._shown, skin.inputs(state) or ()
        key = (skin.key, value, *inputs)
        if known is None or known[1] != show or not same_key(known[0], key):
            painted = skin.painted(value, inputs, show)
            known = (key, show, Shown(skin.key, painted, skin.legend(value, show)))
            self._shown = known
        return known[2]

    def value(self, state: JobState) -> Any:
        """Return what was worked out for the way chosen, while it holds."""
        skin = skin_named(self.chosen)
        inputs = None if skin is None else skin.inputs(state)
        if skin is None or inputs is None:
            return None
        if skin.function is None:
            return inputs[0]
        kept = self._kept.get(skin.key)
        return kept.value if kept is not None and same_key(kept.inputs, inputs) else None

    def reading(self, state: JobState, hit: Hit | None, show: str) -> str:
        """Return what is read under the pointer."""
        skin, value = skin_named(self.chosen), self.value(state)
        if skin is None or value is None or hit is None or hit.on != "skin":
            return ""
        return skin.reading(value, hit, show)

    def _want(self) -> None:
        """Have worked out what the way chosen needs, once."""
        state, skin = self._document.state, skin_named(self.chosen)
        inputs = None if skin is None else skin.inputs(state)
        if skin is None or skin.function is None or inputs is None:
            return
        if self.value(state) is not None or self._is_tried(skin, inputs):
            return
        errand = Errand(skin.doing, skin.function, inputs)
        self._under_way = (skin, inputs, errand)
        self._bench.run_errand(errand)

    def _is_tried(self, skin: Skin, inputs: tuple[Any, ...]) -> bool:
        if self._declined is not None and same_key(self._declined, inputs):
            return True
        under_way = self._under_way
        return under_way is not None and under_way[0] is skin and same_key(under_way[1], inputs)

    def _take(self, errand: Errand, value: Any) -> None:
        if self._under_way is not None and self._under_way[2] is errand:
            skin, inputs, _ = self._under_way
            self._under_way = None
            self._kept[skin.key] = _Kept(inputs, value)
            self.changed.emit()

    def _refuse(self, errand: Errand, error: Exception) -> None:
        if self._under_way is not None and self._under_way[2] is errand:
            self._declined, self._under_way = self._under_way[1], None
            self.said.emit(sentence(error))

    def _stopped(self, errand: Errand) -> None:
        if self._under_way is not None and self._under_way[2] is errand:
            self._declined, self._under_way = self._under_way[1], None


@dataclass(frozen=True, eq=False)
class _Chooser:
    """Chooses one way when it is called."""

    keeper: SkinKeeper
    key: str

    def __call__(self) -> None:
        self.keeper.choose(self.key)
