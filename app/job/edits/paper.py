"""Changes to what is decided for paper and the job card, from one `JobState` to the next."""

from dataclasses import replace

from app.job.choices import EdgeChoice, Forming, Grain, JobCard, JobState, Price, usual_trim_mm


def with_model(state: JobState, model: str) -> JobState:
    """Return the job for a tank of another model."""
    return replace(state, model=model)


def with_forming(state: JobState, forming: Forming) -> JobState:
    """Return the job formed another way, with the trim usual for that."""
    return replace(state, forming=forming, trim_mm=usual_trim_mm(forming))


def with_edge(state: JobState, edge: EdgeChoice) -> JobState:
    """Return the job with an edge's allowance, in place of the one it had."""
    keys = [(each.panel, each.edge) for each in state.edges]
    if (edge.panel, edge.edge) not in keys:
        return replace(state, edges=(*state.edges, edge))
    at = keys.index((edge.panel, edge.edge))
    return replace(state, edges=(*state.edges[:at], edge, *state.edges[at + 1 :]))


def without_edge(state: JobState, panel: str, edge: str) -> JobState:
    """Return the job with an edge left the usual trim."""
    rest = (each for each in state.edges if (each.panel, each.edge) != (panel, edge))
    return replace(state, edges=tuple(rest))


def with_grain(state: JobState, grain: Grain) -> JobState:
    """Return the job with its panels lying another way to the sheet's grain."""
    return replace(state, grain=grain)


def with_card(state: JobState, card: JobCard) -> JobState:
    """Return the job with its card filled in further; see `app.job.card`."""
    return replace(state, card=card)


def with_price(state: JobState, price: Price | None) -> JobState:
    """Return the job with sheet at another price, or at none."""
    return replace(state, price=price)
