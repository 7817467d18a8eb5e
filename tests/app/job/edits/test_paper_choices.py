"""Decisions for paper: edits are pure, and the job file gives every one back, or refuses it."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from app.job import (
    BrokenJobFileError,
    EdgeChoice,
    JobCard,
    JobState,
    PanelCard,
    Price,
    Print,
    Reading,
    open_job,
    read_decisions,
    save_job,
    with_edge,
    with_forming,
    with_panel_card,
    with_panel_renamed,
    with_seam_renamed,
    with_stage_state,
    with_trim,
    without_edge,
)
from app.job.files.decisions_json import decisions
from app.job.files.paper_json import paper_facts
from geometry.pattern import EdgeAllowance
from tests.app.job.files.test_job_file import with_field
from tests.app.job.small_tank import carried, decided

HEM = EdgeChoice("top", "left rail|left", "hem", 8.0)
FLANGE = EdgeChoice("top", "F1", "flange", 10.0, -45.0, "mitred")


def everything() -> JobState:
    """Return a job in which everything about paper is decided."""
    card = with_stage_state(JobCard(note="tank is borrowed"), 7, "waiting", "metal")
    card = with_panel_card(
        card,
        PanelCard(
            "top", "tack", 2, (Reading("crown", 1.31),), (Reading("", 0.4),), 3.5, 2.1e5, "thin"
        ),
    )
    return replace(
        decided(),
        model="Brackwater 225",
        forming="freehand",
        edges=(HEM, FLANGE),
        grain="along",
        card=card,
        price=Price(7.25, "lb", "$"),
        revision=2,
        revised="2026-11-26",
        prints=(Print(1, "2026-11-20", "0a"), Print(2, "2026-11-26", "1b")),
    )


def test_a_saved_job_gives_every_decision_back(tmp_path: Path) -> None:
    save_job(everything(), tmp_path / "all.lowcrown")
    again = open_job(tmp_path / "all.lowcrown")
    for name in (*paper_facts(JobState()), "revision"):
        assert getattr(again, name) == getattr(everything(), name), name


def test_texts_nobody_wrote_come_back_empty(tmp_path: Path) -> None:
    job = replace(everything(), model=" ", price=Price(1.0), revised="", card=JobCard())
    save_job(job, tmp_path / "bare.lowcrown")
    again = open_job(tmp_path / "bare.lowcrown")
    assert (again.model, again.price, again.revised) == ("", Price(1.0), "")
    assert again.card == JobCard()


def test_decisions_are_read_without_the_scan(tmp_path: Path) -> None:
    path = tmp_path / "all.lowcrown"
    save_job(everything(), path)
    state, found = read_decisions(path)
    assert state.scan is None
    assert (state.prints, state.card) == (everything().prints, everything().card)
    assert found == decisions(everything())


def test_a_job_of_the_third_schema_opens_as_it_was_printed(tmp_path: Path) -> None:
    """In a form, every edge the trim it had, nothing on record as printed."""
    path = tmp_path / "old.lowcrown"
    save_job(with_trim(everything(), 15.0), path)

    def older(found: dict[str, Any]) -> None:
        found["schema"] = 3
        for name in paper_facts(JobState()):
            del found[name]

    with_field(path, older)
    again = open_job(path)
    assert paper_facts(again) == paper_facts(JobState())
    assert (again.trim_mm, again.revision) == (15.0, 2)


CHANGES: dict[str, tuple[Callable[[dict[str, Any]], object], str]] = {
    "forming": (lambda f: f.update(forming="cold"), "forming is 'cold'"),
    "grain": (lambda f: f.update(grain=1), "grain is 1"),
    "model": (lambda f: f.update(model=""), "model is not a text"),
    "edge kind": (lambda f: f["edges"][0].update(kind="bead"), r"edges\[0\].kind"),
    "edge width": (lambda f: f["edges"][1].update(width_mm=-1), r"edges\[1\].width_mm is below"),
    "edge field": (lambda f: f["edges"][0].update(colour=1), "unknown field"),
    "price": (lambda f: f["price"].update(per="ton"), "price.per"),
    "amount": (lambda f: f["price"].update(amount=-1), "below 0"),
    "day": (lambda f: f.update(revised="26.11.2026"), "is not a day"),
    "print": (lambda f: f["prints"][0].pop("digest"), "lacks the field"),
    "stage": (lambda f: f["card"]["stages"][0].update(state="gone"), "state is 'gone'"),
    "stage twice": (
        lambda f: f["card"]["stages"][0].update(name=f["card"]["stages"][1]["name"]),
        "card does not hold together",
    ),
    "stage waits": (lambda f: f["card"]["stages"][0].update(waiting_for="metal"), "card"),
    "anneals": (lambda f: f["card"]["panels"][0].update(anneals=-1), "anneals"),
    "hours": (lambda f: f["card"].update(hours=-1.0), "hours"),
    "reading": (lambda f: f["card"]["panels"][0]["gaps"][0].update(mm="thin"), "not a number"),
}


@pytest.mark.parametrize("name", CHANGES)
def test_a_decision_that_is_not_one_is_refused_by_its_place(tmp_path: Path, name: str) -> None:
    change, told = CHANGES[name]
    path = tmp_path / "bad.lowcrown"
    save_job(everything(), path)
    with_field(path, change)
    with pytest.raises(BrokenJobFileError, match=told):
        open_job(path)
    with pytest.raises(BrokenJobFileError, match=told):
        read_decisions(path)


def test_an_edge_has_one_allowance_and_the_last_one_counts() -> None:
    wider = replace(HEM, width_mm=10.0)
    job = with_edge(with_edge(with_edge(JobState(), HEM), FLANGE), wider)
    assert job.edges == (wider, FLANGE)
    assert without_edge(job, HEM.panel, HEM.edge).edges == (FLANGE,)
    assert FLANGE.allowance == EdgeAllowance("flange", 10.0, -45.0, "mitred")


def test_how_it_is_formed_brings_its_usual_trim_along() -> None:
    """Half an inch in a form, an inch freehand; common practice, no source."""
    freehand = with_forming(JobState(), "freehand")
    assert freehand.trim_mm == 25.4
    assert with_forming(with_trim(freehand, 30.0), "form").trim_mm == 12.7


def test_edges_and_card_follow_a_panel_and_a_seam_renamed() -> None:
    job = replace(carried(), edges=(HEM, FLANGE), card=everything().card)
    state = with_panel_renamed(job, "left", "near side")
    assert [(e.panel, e.edge) for e in state.edges] == [
        ("top", "left rail|near side"),
        ("top", "F1"),
    ]
    state = with_seam_renamed(state, 0, "long rail")
    assert state.edges[0].edge == "long rail|near side"
    state = with_panel_renamed(state, "top", "lid")
    assert {e.panel for e in state.edges} == {"lid"}
    assert state.card.panel_card("lid").anneals == 2
