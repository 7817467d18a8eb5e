"""`lowcrown flanges`: run sheets of flanges along the open edge, seams or crisp lines."""

from app.command_line.doing import Doing, tell_size
from app.command_line.paper import output_asked
from app.command_line.rest_step import folder_asked, make_rest, step_files, take_tank
from app.command_line.sheet import learn_metals
from app.delivery import (
    FLANGES_JSON,
    Json,
    flanges_told,
    write_result,
)
from app.job import (
    FlangeChoice,
    Flanges,
    FlangesChoice,
    flange_metal_words,
    flange_run_words,
    flange_warning_words,
    made,
    metal_or_none,
    read_seams,
)
from app.units import counted, percent_text


def flanges(doing: Doing) -> Json:
    """Tell flanges station by station, and write their sheets and tallies."""
    asked = doing.asked
    out = folder_asked(doing, asked.file, "flanges", FLANGES_JSON)
    output = output_asked(asked)
    alloy = learn_metals(doing)
    seams = None if asked.seams is None else read_seams(asked.seams)
    take_tank(doing, alloy, seams=seams)
    make_rest(doing, "Flanges", flanges=flanges_asked(doing))
    files = step_files(doing, "Flanges", FLANGES_JSON, output)
    write_result(out, files, replace=asked.replace, result=FLANGES_JSON)
    tell_size(doing, made(doing.state, "Size"))
    _tell(doing, made(doing.state, "Flanges"))
    doing.tell(f"{counted(len(files), 'file')} written to {out}; flanges.pdf lists every station")
    told = flanges_told(doing.state, doing.metals)
    return {"flanges": told, "files": sorted(files)}


def flanges_asked(doing: Doing) -> FlangesChoice:
    """Return which flanges are asked for."""
    asked = doing.asked
    like = FlangeChoice(
        side=asked.side,
        width_mm=asked.width,
        lies="level" if asked.level else "turned",
        turn_rad=asked.angle,
        to=asked.to,
        root_radius_mm=asked.root_radius,
        pitch_mm=asked.stations,
        calm_mm=asked.calm,
        lip="cut off" if asked.lip == "cut-off" else asked.lip,
    )
    along = asked.along or [like.edge]
    return FlangesChoice(tuple(_along(like, edge) for edge in along))


def _along(like: FlangeChoice, edge: str) -> FlangeChoice:
    return FlangeChoice(**{**vars(like), "edge": edge})


def _tell(doing: Doing, found: Flanges) -> None:
    metal = metal_or_none(doing.state.metal.alloy, doing.metals)
    for number, flange in enumerate(found.made, start=1):
        doing.tell(f"  flange {number}, along {flange.words}:")
        told = flange_run_words(flange, found.sheet_mm, doing.show)
        told.append(flange_metal_words(flange, metal, found.sheet_mm, doing.show))
        for words in told:
            doing.tell(f"    {words}")
        for words in flange_warning_words(flange, metal, found.sheet_mm):
            doing.tell(f"    look: {words}")
        most, least = flange.run.most_stretched, flange.run.most_shrunk
        doing.tell(
            f"    most {percent_text(most.stretch)} at {most.hand} {most.number}, least "
            f"{percent_text(least.stretch)} at {least.hand} {least.number}"
        )
    if not found.has_plane:
        doing.tell("  look: no centre plane, so the hands are not told apart (--datum)")
    if found.guessed:
        doing.tell(f"  look: which way {' and '.join(found.guessed)} is was guessed")
