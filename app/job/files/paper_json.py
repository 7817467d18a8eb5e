"""What the maker decided for paper and the job card, as plain JSON values and back again."""

from datetime import date
from typing import Any

from app.job.choices import (
    FORMINGS,
    GRAINS,
    PRICED_BY,
    STAGE_STATES,
    BadCardEntryError,
    EdgeChoice,
    JobCard,
    JobState,
    PanelCard,
    Price,
    Print,
    Reading,
    Stage,
)
from app.job.files import strict_json as strict
from app.job.files.choices_json import optional
from app.job.files.strict_json import BadFieldError
from geometry.pattern import ALLOWANCE_CORNERS, ALLOWANCE_KINDS

_PANEL_CARD = ("panel", "stage", "anneals", "thickness", "gaps", "hours", "metal_mm2", "note")


def paper_facts(state: JobState) -> dict[str, Any]:
    """Return what was decided for paper and what was printed, as the job file keeps it.

    A text nobody wrote is null.
    """
    return {
        "model": _said(state.model),
        "forming": state.forming,
        "edges": [vars(edge) for edge in state.edges],
        "grain": state.grain,
        "card": _card_facts(state.card),
        "price": state.price and {**vars(state.price), "currency": _said(state.price.currency)},
        "revised": _said(state.revised),
        "prints": [vars(each) for each in state.prints],
    }


def paper_choices(found: dict[str, Any]) -> dict[str, Any]:
    """Return the fields of a `JobState` that were decided for paper, checked."""
    return {
        "model": said(found["model"], "model"),
        "forming": strict.one_of(found["forming"], "forming", FORMINGS),
        "edges": strict.items(found["edges"], "edges", _edge),
        "grain": strict.one_of(found["grain"], "grain", GRAINS),
        "card": _card(found["card"], "card"),
        "price": optional(found["price"], "price", _price),
        "revised": optional(found["revised"], "revised", _day) or "",
        "prints": strict.items(found["prints"], "prints", _print),
    }


def _said(text: str) -> str | None:
    return text if text.strip() else None


def said(value: Any, where: str) -> str:
    """Return a text that may be null: "" then."""
    found: str = optional(value, where, strict.text) or ""
    return found


def _edge(value: Any, where: str) -> EdgeChoice:
    found = strict.fields(value, where, list(vars(EdgeChoice("", ""))))
    return EdgeChoice(
        strict.text(found["panel"], f"{where}.panel"),
        strict.text(found["edge"], f"{where}.edge"),
        strict.one_of(found["kind"], f"{where}.kind", ALLOWANCE_KINDS),
        strict.not_below_nothing(found["width_mm"], f"{where}.width_mm"),
        strict.number(found["angle_deg"], f"{where}.angle_deg"),
        strict.one_of(found["corner"], f"{where}.corner", ALLOWANCE_CORNERS),
    )


def _price(value: Any, where: str) -> Price:
    found = strict.fields(value, where, ["amount", "per", "currency"])
    return Price(
        strict.not_below_nothing(found["amount"], f"{where}.amount"),
        strict.one_of(found["per"], f"{where}.per", PRICED_BY),
        said(found["currency"], f"{where}.currency"),
    )


def _print(value: Any, where: str) -> Print:
    found = strict.fields(value, where, ["revision", "dated", "digest"])
    return Print(
        strict.whole(found["revision"], f"{where}.revision"),
        _day(found["dated"], f"{where}.dated"),
        strict.text(found["digest"], f"{where}.digest"),
    )


def _day(value: Any, where: str) -> str:
    """Return a day as year-month-day."""
    try:
        return date.fromisoformat(strict.text(value, where)).isoformat()
    except ValueError:
        raise BadFieldError(where, "is not a day written as 2026-11-26") from None


# ---- the job card


def _card_facts(card: JobCard) -> dict[str, Any]:
    return {
        "stages": [
            {**vars(stage), "waiting_for": _said(stage.waiting_for)} for stage in card.stages
        ],
        "panels": [
            {
                **vars(panel),
                "stage": _said(panel.stage),
                "thickness": [_reading_facts(each) for each in panel.thickness],
                "gaps": [_reading_facts(each) for each in panel.gaps],
                "note": _said(panel.note),
            }
            for panel in card.panels
        ],
        "hours": card.hours,
        "note": _said(card.note),
    }


def _reading_facts(reading: Reading) -> dict[str, Any]:
    return {"place": _said(reading.place), "mm": reading.mm}


def _card(value: Any, where: str) -> JobCard:
    found = strict.fields(value, where, ["stages", "panels", "hours", "note"])
    try:
        return JobCard(
            strict.items(found["stages"], f"{where}.stages", _stage),
            strict.items(found["panels"], f"{where}.panels", _panel_card),
            strict.number(found["hours"], f"{where}.hours"),
            said(found["note"], f"{where}.note"),
        )
    except BadCardEntryError as error:
        raise BadFieldError(where, f"does not hold together: {error}") from error


def _stage(value: Any, where: str) -> Stage:
    found = strict.fields(value, where, ["name", "state", "waiting_for"])
    return Stage(
        strict.text(found["name"], f"{where}.name"),
        strict.one_of(found["state"], f"{where}.state", STAGE_STATES),
        said(found["waiting_for"], f"{where}.waiting_for"),
    )


def _panel_card(value: Any, where: str) -> PanelCard:
    found = strict.fields(value, where, _PANEL_CARD)
    return PanelCard(
        strict.text(found["panel"], f"{where}.panel"),
        said(found["stage"], f"{where}.stage"),
        strict.whole(found["anneals"], f"{where}.anneals"),
        strict.items(found["thickness"], f"{where}.thickness", _reading),
        strict.items(found["gaps"], f"{where}.gaps", _reading),
        strict.number(found["hours"], f"{where}.hours"),
        strict.number(found["metal_mm2"], f"{where}.metal_mm2"),
        said(found["note"], f"{where}.note"),
    )


def _reading(value: Any, where: str) -> Reading:
    found = strict.fields(value, where, ["place", "mm"])
    return Reading(
        said(found["place"], f"{where}.place"), strict.number(found["mm"], f"{where}.mm")
    )
