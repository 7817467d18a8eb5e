"""Panels and seams renamed, everything made carried along: a name changes no metal."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import numpy as np

from app.job.choices import (
    EdgeChoice,
    JobState,
    Made,
    PanelName,
    SeamLine,
    on_renamed,
    with_panel_card_renamed,
)
from app.job.making import Blank, Panels
from app.job.steps import made, panel_names, step
from geometry.datum import Point3
from geometry.panels import Panel
from geometry.pattern import Pattern

Rename = Callable[[str], str]


@dataclass(frozen=True)
class _Names:
    """What becomes of a panel's name, and of a seam's."""

    panel: Rename
    seam: Rename


def with_panel_renamed(state: JobState, old: str, new: str) -> JobState:
    """Return the job with a panel renamed; nothing is cut or laid flat anew for it.

    Every panel gets its name in the job's own list, in the order they have now, so that naming one
    never gives another a different number. The same job comes back where the panels are not made,
    there is no such panel, or the new name is taken.
    """
    cut: Panels | None = made(state, "Seams")
    size = made(state, "Size")
    names = panel_names(state)
    if cut is None or size is None or old not in names or new in names:
        return state

    def renamed(name: str) -> str:
        return new if name == old else name

    known = {name.name: name.inside for name in state.panel_names}
    listed = tuple(
        PanelName(renamed(p.name), known.get(p.name) or _inside(p, size.mm_per_unit))
        for p in cut.panels
    )
    choices = tuple(replace(c, panel=renamed(c.panel)) for c in state.blank_choices)
    named = _Names(renamed, _kept)
    after = replace(
        state,
        panel_names=listed,
        blank_choices=choices,
        edges=_edges(state, named),
        card=with_panel_card_renamed(state.card, old, new),
    )
    return _with_carried(state, after, cut, named)


def with_seam_renamed(state: JobState, place: int, new: str) -> JobState:
    """Return the job with seam number `place`, from 0, renamed; nothing is cut anew for it.

    The same job comes back where there is no such seam, or the name is taken.
    """
    names = [seam.name for seam in state.seams]
    if not 0 <= place < len(names) or new in names:
        return state
    old = names[place]

    def renamed(name: str) -> str:
        return new if name == old else name

    named = _Names(_kept, renamed)
    after = replace(
        state,
        seams=tuple(_seam(seam, renamed) for seam in state.seams),
        seam_notes=tuple(replace(each, seam=renamed(each.seam)) for each in state.seam_notes),
        edges=_edges(state, named),
    )
    cut: Panels | None = made(state, "Seams")
    return after if cut is None else _with_carried(state, after, cut, named)


def _seam(seam: SeamLine, renamed: Rename) -> SeamLine:
    """Return a seam under its new name, and with what it says of the renamed one."""
    on = tuple(on_renamed(each, renamed) for each in seam.on)
    return replace(seam, name=renamed(seam.name), on=on, mirror_of=renamed(seam.mirror_of))


def _kept(name: str) -> str:
    return name


def _inside(panel: Panel, mm_per_unit: float) -> Point3:
    """Return a place well inside a panel, in file coordinates."""
    centres = panel.outside[panel.mesh.faces].mean(axis=1)
    middle = int(np.argmin(((centres - centres.mean(axis=0)) ** 2).sum(axis=1)))
    x, y, z = (float(value) / mm_per_unit for value in centres[middle])
    return x, y, z


def _edges(state: JobState, names: _Names) -> tuple[EdgeChoice, ...]:
    """Return the edges with an allowance of their own, by the names they have now."""
    return tuple(
        replace(edge, panel=names.panel(edge.panel), edge=_edge_key(edge.edge, names))
        for edge in state.edges
    )


def _edge_key(key: str, names: _Names) -> str:
    seam, bar, other = key.rpartition("|")
    return f"{names.seam(seam)}|{names.panel(other)}" if bar else key


def _with_carried(state: JobState, after: JobState, cut: Panels, names: _Names) -> JobState:
    """Return the renamed job with everything made, patterns with edges of their own included."""
    carried = replace(after, results=_carried(state, after, cut, names))
    if not (state.edges or state.seam_notes):
        return carried
    results = dict(carried.results)
    for panel in panel_names(state):
        if made(state, "Paper", panel) is not None:
            part = names.panel(panel)
            inputs = step("Paper").inputs(carried, part)
            if inputs is not None:
                results["Paper", part] = replace(results["Paper", part], made_from=inputs)
    return replace(carried, results=MappingProxyType(results))


def _carried(
    state: JobState, after: JobState, cut: Panels, names: _Names
) -> Mapping[tuple[str, str], Made]:
    """Return the results under their new names, made from the renamed things."""
    panels = tuple(_panel(each, names) for each in cut.panels)
    paths = tuple(replace(path, name=names.seam(path.name)) for path in cut.cut.seam_paths)
    new_of: dict[int, Any] = {id(cut): Panels(replace(cut.cut, seam_paths=paths), panels)}
    new_of |= {id(each): other for each, other in zip(cut.panels, panels, strict=True)}
    for entry in state.results.values():
        for value in (entry.value, entry.earlier):
            if isinstance(value, Blank):
                new_of[id(value)] = replace(value, panel=names.panel(value.panel))
            elif isinstance(value, Pattern):
                new_of[id(value)] = _pattern(value, names)

    def swapped(value: Any) -> Any:
        return new_of.get(id(value), value)

    results = {
        (name, names.panel(part)): replace(
            entry,
            made_from=tuple(swapped(each) for each in entry.made_from),
            value=swapped(entry.value),
            earlier=swapped(entry.earlier),
        )
        for (name, part), entry in state.results.items()
    }
    inputs = step("Seams").inputs(after, "")
    if inputs is not None:
        results["Seams", ""] = replace(results["Seams", ""], made_from=inputs)
    return MappingProxyType(results)


def _panel(panel: Panel, names: _Names) -> Panel:
    halves = tuple(
        replace(half, seam=names.seam(half.seam), other=names.panel(half.other))
        for half in panel.seam_halves
    )
    return replace(panel, name=names.panel(panel.name), seam_halves=halves)


def _pattern(pattern: Pattern, names: _Names) -> Pattern:
    edges = tuple(
        replace(edge, seam=names.seam(edge.seam), other=names.panel(edge.other))
        for edge in pattern.edges
    )
    cuts = tuple(
        replace(each, key=_edge_key(each.key, names)) for each in pattern.allowance_of_edge
    )
    return replace(pattern, edges=edges, allowance_of_edge=cuts)
