"""What the maker decided before the seams, as plain JSON values and back again."""

from collections.abc import Callable
from typing import Any

from app.job.choices import (
    BallCrop,
    Crop,
    DatumChoice,
    HalfSpaceCrop,
    JobState,
    LassoCrop,
    LineChoice,
    SidesChoice,
    TidyChoice,
    Zone,
)
from app.job.files import strict_json as strict
from app.job.files.strict_json import BadFieldError
from geometry.datum import Allowance, Point3

_CROPS: dict[str, type[HalfSpaceCrop] | type[LassoCrop] | type[BallCrop]] = {
    "plane": HalfSpaceCrop,
    "lasso": LassoCrop,
    "ball": BallCrop,
}


def choices_facts(state: JobState) -> dict[str, Any]:
    """Return what was decided before the seams, as the job file keeps it."""
    tidy = vars(state.tidy)
    return {
        "allowed": vars(state.size.allowed),
        "tidy": {
            **tidy,
            "crops": [_crop_facts(crop) for crop in state.tidy.crops],
            "cuts": [_crop_facts(cut) for cut in state.tidy.cuts],
        },
        "datum": vars(state.datum),
        "sides": {
            "copy": state.sides.copy,
            "zones": [vars(zone) for zone in state.sides.zones],
            "odd": [vars(zone) for zone in state.sides.odd],
        },
        "lines": [vars(line) for line in state.lines],
        "find_lines": state.find_lines,
    }


def _crop_facts(crop: Crop) -> dict[str, Any]:
    kind = next(name for name, made in _CROPS.items() if isinstance(crop, made))
    return {"kind": kind, **vars(crop)}


def optional(value: Any, where: str, read: Callable[[Any, str], Any]) -> Any:
    """Return a value that may be null."""
    return None if value is None else read(value, where)


def allowance(value: Any) -> Allowance:
    """Return how far tapes may be off, checked."""
    found = strict.fields(value, "allowed", ["mm", "ratio"])
    return Allowance(
        strict.not_below_nothing(found["mm"], "allowed.mm"),
        strict.not_below_nothing(found["ratio"], "allowed.ratio"),
    )


def tidy_choice(value: Any) -> TidyChoice:
    """Return what of the scan is the tank, checked."""
    found = strict.fields(value, "tidy", list(vars(TidyChoice())))

    def points(name: str) -> tuple[Point3, ...]:
        return strict.items(found[name], f"tidy.{name}", strict.point)

    return TidyChoice(
        kept=points("kept"),
        dropped=points("dropped"),
        crops=strict.items(found["crops"], "tidy.crops", _crop),
        cuts=strict.items(found["cuts"], "tidy.cuts", _crop),
        fill=strict.one_of(found["fill"], "tidy.fill", ("usual", "all", "none")),
        filled=points("filled"),
        left=points("left"),
    )


def _crop(value: Any, where: str) -> Crop:
    if not isinstance(value, dict):
        raise BadFieldError(where, "is not an object with fields in braces { }")
    kind = strict.one_of(value.get("kind"), f"{where}.kind", tuple(_CROPS))
    if kind == "plane":
        found = strict.fields(value, where, ["kind", "point", "normal"])
        return HalfSpaceCrop(
            strict.point(found["point"], f"{where}.point"),
            strict.direction(found["normal"], f"{where}.normal"),
        )
    if kind == "ball":
        found = strict.fields(value, where, ["kind", "centre", "radius_mm"])
        return BallCrop(
            strict.point(found["centre"], f"{where}.centre"),
            strict.positive(found["radius_mm"], f"{where}.radius_mm"),
        )
    found = strict.fields(value, where, ["kind", "outline", "along", "inside", "front_only"])
    return LassoCrop(
        strict.items(found["outline"], f"{where}.outline", strict.point),
        strict.direction(found["along"], f"{where}.along"),
        strict.flag(found["inside"], f"{where}.inside"),
        strict.flag(found["front_only"], f"{where}.front_only"),
    )


def datum_choice(value: Any) -> DatumChoice:
    """Return how the tank is stood up, checked."""
    found = strict.fields(value, "datum", list(vars(DatumChoice())))
    return DatumChoice(
        how=strict.one_of(found["how"], "datum.how", ("none", "auto", "picks", "given")),
        on_centre=strict.items(found["on_centre"], "datum.on_centre", strict.point),
        pairs=strict.items(found["pairs"], "datum.pairs", _two_points),
        plane=optional(found["plane"], "datum.plane", _plane),
        level=strict.one_of(found["level"], "datum.level", ("auto", "picks", "given")),
        level_picks=strict.items(found["level_picks"], "datum.level_picks", strict.point),
        up=optional(found["up"], "datum.up", strict.direction),
        front=optional(found["front"], "datum.front", strict.direction),
    )


def _two_points(value: Any, where: str) -> tuple[Point3, Point3]:
    points = strict.items(value, where, strict.point)
    if len(points) != 2:
        raise BadFieldError(where, "is not two points")
    return points[0], points[1]


def _plane(value: Any, where: str) -> tuple[Point3, Point3]:
    point, normal = _two_points(value, where)
    return point, strict.direction(list(normal), where)


def sides_choice(value: Any) -> SidesChoice:
    """Return which side is copied, checked."""
    found = strict.fields(value, "sides", ["copy", "zones", "odd"])
    return SidesChoice(
        strict.one_of(found["copy"], "sides.copy", ("none", "left", "right")),
        strict.items(found["zones"], "sides.zones", _zone),
        strict.items(found["odd"], "sides.odd", _zone),
    )


def _zone(value: Any, where: str) -> Zone:
    found = strict.fields(value, where, ["centre", "radius_mm", "side"])
    return Zone(
        strict.point(found["centre"], f"{where}.centre"),
        strict.positive(found["radius_mm"], f"{where}.radius_mm"),
        strict.one_of(found["side"], f"{where}.side", ("left", "right")),
    )


def line_choice(value: Any, where: str) -> LineChoice:
    """Return a decision about a character line, checked."""
    found = strict.fields(value, where, ["points", "state", "drawn"])
    points = strict.items(found["points"], f"{where}.points", strict.point)
    if len(points) < 2:
        raise BadFieldError(f"{where}.points", "holds fewer than 2 points")
    return LineChoice(
        points,
        strict.one_of(found["state"], f"{where}.state", ("locked", "rejected")),
        strict.flag(found["drawn"], f"{where}.drawn"),
    )
