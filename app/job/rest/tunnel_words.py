"""A tunnel in the shaper's words: its ends, the sum of clearances, gaps, bends, what to look at."""

from app.job.rest.tunnel_step import TunnelLaid
from app.units import angle_text, decimal_inch_text, length_text, listed, mm_text, upward_text
from geometry.tank import (
    BendLine,
    EndScribe,
    Gap,
    RoundForm,
    Tunnel,
    TunnelPiece,
)

TUNNEL_BEND_RULE = (
    "Flat sheet in a fold: (0.01743 R + 0.0078 T) for each degree, R inside, T the sheet "
    "(FAA-H-8083-31); rolled to more than 5 T, and over round tops: the middle of the metal."
)
SCRIBE_WORDS = "SCRIBE ON JOB - DO NOT CUT"
SCRIBE_NOTE = (
    "Legs are cut below the lowest place they may meet the tank's bottom. Slide the tunnel in, set "
    "it level, scribe where the bottom meets it, then trim: the band shows where that may be."
)

GUESSED_BOTTOM = "NOT SCANNED - FILLED BY GUESS OR COPIED"
"""Said of skin the cut-off and the ends hang on."""

LEAST_GAP_MM = 3.0
"""Less than this between tunnel and tube is turned down. Common practice, no source."""

_SHORT_MM, _MIL_MM = 0.1, 0.0254
_PAST_EDGE_MM = 15.0
"""So far past the bottom's ends the skin is scribed to anyhow. Common practice, no source."""


Row = tuple[str, str, str]


def tunnel_form_words(tunnel: Tunnel) -> str:
    """Return what kind of tunnel it came out as.

    A round top that tapers is part of a cone, whichever it was called.
    """
    spec = tunnel.spec
    if spec.is_round:
        cone = [isinstance(p.form, RoundForm) and p.form.is_cone for p in tunnel.pieces]
        words = "half cone" if all(cone) else "half round" if not any(cone) else "round top"
    else:
        words = {"flat": "flat top, rolled corners", "three sided": "three sided, folded"}[spec.top]
    parts = [words]
    if spec.flare_rad > 0.0:
        parts.append(f"legs flared {angle_text(spec.flare_rad, 1)} each")
    if len(tunnel.pieces) > 1:
        parts.append(f"stepped, {len(tunnel.pieces)} pieces")
    return ", ".join(parts)


def tunnel_end_rows(tunnel: Tunnel, show: str = "mm") -> tuple[Row, ...]:
    """Return each end's name, height and width inside, from the rear ahead."""
    rows: list[Row] = []
    for span in tunnel.spans:
        for name, end in zip(span.names, (span.behind, span.ahead), strict=True):
            high, wide = (length_text(v, show) for v in (end.height_mm, end.width_mm))
            where = name
            if name.startswith("step"):
                where = f"{name}, {'ahead' if end is span.behind else 'behind'}"
            rows.append((where, high, wide))
    return tuple(rows)


def tunnel_room_rows(tunnel: Tunnel, show: str = "mm") -> tuple[Row, ...]:
    """Return the sum of clearances, line by line: over the tube, at each side; the sum last."""
    room = tunnel.spec.room
    rows = [
        (name, length_text(line.over_mm, show), length_text(line.side_mm, show))
        for name, line in room.lines
        if line.over_mm > 0.0 or line.side_mm > 0.0
    ]
    total = room.total
    rows.append(("SUM", length_text(total.over_mm, show), length_text(total.side_mm, show)))
    return tuple(rows)


def tunnel_gap_rows(tunnel: Tunnel, show: str = "mm") -> tuple[Row, ...]:
    """Return the least gap of every body to every part, before and after weld pull-in."""
    return tuple(
        (f"{gap.body} to {gap.part}", _gap(gap.before_mm, show), _gap(gap.after_mm, show))
        for gap in tunnel.gaps
    )


def _gap(gap_mm: float, show: str) -> str:
    if gap_mm < 0.0:
        return f"FOULS by {length_text(-gap_mm, show, 32)}"
    return length_text(gap_mm, show, 32)


def tunnel_tube_words(tunnel: Tunnel, show: str = "mm") -> str:
    """Return what tube was fitted to a scan, and how well; "" for a typed one or none."""
    scanned, tube = tunnel.spec.scanned_tube, tunnel.spec.tube
    if scanned is None or tube is None:
        return ""
    off = scanned.scatter / scanned.diameter * tube.diameter_mm
    return (
        f"The {tube.name} is as scanned ({scanned.file_name}): "
        f"{length_text(tube.diameter_mm, show, 32)} across; its points scatter by "
        f"{upward_text(off, show)} about a round one, root mean square."
    )


def bend_words(bend: BendLine, show: str = "mm") -> str:
    """Return what to do along a bend, and to which inside radius."""
    rear, front = (length_text(radius, show, 32) for radius in bend.inside_radius_mm)
    radius = f"inside R {rear}" if rear == front else f"inside R {rear} behind, {front} ahead"
    how = "ROLL" if bend.rolled else "BEND"
    return f"{how} UP {angle_text(bend.angle_rad, 1)}, {radius}"


def tunnel_bend_rows(tunnel: Tunnel, show: str = "mm") -> tuple[str, ...]:
    """Return the bends of every piece, a sentence each."""
    return tuple(
        f"{piece.name.capitalize()}: {words}"
        for piece in tunnel.pieces
        for words in dict.fromkeys(_piece_bends(piece, show))
    )


def _piece_bends(piece: TunnelPiece, show: str) -> list[str]:
    found = []
    for bend in piece.bends:
        take = ""
        if bend.take_mm is not None:
            take = f"; flat sheet between the tangent lines {length_text(bend.take_mm, show, 32)}"
        found.append(f"{bend_words(bend, show)}{take}.")
    return found


def tunnel_seat_words(tunnel: Tunnel, show: str = "mm") -> str:
    """Return where it sits in the tank and how far it may be off."""
    seat, place = tunnel.seat, tunnel.spec.place
    travel = (
        f"the band allows {length_text(place.fore_aft_mm, show)} fore and aft and "
        f"{length_text(place.up_down_mm, show)} up and down."
    )
    if not tunnel.in_tank:
        return f"Laid out without a tank: the foot line stands for its bottom; {travel}"
    tilt = angle_text(abs(seat.nose_up_rad), 1)
    way = "level" if tilt == angle_text(0.0, 1) else tilt
    if way != "level":
        way += " nose up" if seat.nose_up_rad > 0.0 else " nose down"
    return (
        f"Rear end {length_text(seat.rear_mm, show)} ahead of the tank's rearmost place, foot line "
        f"{length_text(seat.foot_mm, show)} up there, {way}; {travel}"
    )


def tunnel_warnings(laid: TunnelLaid, show: str = "mm") -> tuple[str, ...]:
    """Return what to look at before metal is cut."""
    tunnel, found = laid.tunnel, []
    if laid.guessed:
        ways = " and ".join(laid.guessed)
        found.append(f"The way of {ways} is a guess, and which end is which hangs on it.")
    if tunnel.bent_too_tight and tunnel.bend_radius_mm is not None:
        least = tunnel.sheet.least_radius_mm or 0.0
        found.append(
            f"Corners are bent to inside R {length_text(tunnel.bend_radius_mm, show, 32)}, tighter "
            f"than {tunnel.sheet.name} takes cold ({length_text(least, show, 32)} by the table): "
            "try a strip, or anneal."
        )
    if tunnel.bend_radius_mm is not None and tunnel.sheet.least_radius_mm is None:
        found.append(f"No least bend radius is known for {tunnel.sheet.name}: try a strip first.")
    found += [words for gap in tunnel.gaps for words in _gap_warnings(tunnel, gap, show)]
    found += [words for piece in tunnel.pieces for words in _band_warnings(tunnel, piece, show)]
    found += [words for each in tunnel.scribes for words in _scribe_warnings(each, show)]
    if tunnel.in_tank and tunnel.bottom_reach_mm is not None:
        low, high = tunnel.bottom_reach_mm
        rear, long = tunnel.seat.rear_mm, tunnel.spec.length_mm
        if rear < low - _PAST_EDGE_MM or rear + long > high + _PAST_EDGE_MM:
            found.append(
                "The tunnel goes further than the tank's bottom edge: there the cut-off is that of "
                "the edge's nearest place."
            )
    return tuple(found)


def _gap_warnings(tunnel: Tunnel, gap: Gap, show: str) -> list[str]:
    """Return what is wrong with a gap once welded: fouls, too little, less than was asked for."""
    left, after = tunnel.spec.room.left, length_text(gap.after_mm, show, 32)
    tube = tunnel.spec.tube
    asked = left.over_mm if gap.part == "crown" else left.side_mm
    if gap.after_mm < 0.0:
        by = length_text(-gap.after_mm, show, 32)
        return [f"{gap.body.capitalize()} and {gap.part} foul once welded, by {by}."]
    if gap.after_mm < LEAST_GAP_MM:
        least = length_text(LEAST_GAP_MM, show, 32)
        return [
            f"Between {gap.body} and {gap.part} {after} are left once welded: under {least} is "
            "commonly turned down."
        ]
    if tube is not None and gap.body == tube.name and gap.after_mm < asked - _SHORT_MM:
        wanted = length_text(asked, show, 32)
        return [
            f"Between {gap.body} and {gap.part} {after} are left once welded, {wanted} are asked "
            "for."
        ]
    return []


def _band_warnings(tunnel: Tunnel, piece: TunnelPiece, show: str) -> list[str]:
    """Return where the cut-off bands run over a bottom edge nobody scanned: alike ones together."""
    of_piece = "" if len(tunnel.pieces) == 1 else f" of {piece.name}"
    sides: dict[tuple[str, ...], list[str]] = {}
    for off in piece.cut_offs:
        stretches = tuple(
            f"from {length_text(start, show)} to {length_text(end, show)}"
            for start, end in off.guessed_mm
        )
        if stretches:
            sides.setdefault(stretches, []).append(off.side)
    return [
        f"{GUESSED_BOTTOM}: the bottom's edge at the cut-off band, {listed(named)} leg{of_piece}, "
        f"{listed(stretches)} ahead of the tunnel's rear end. Leave more metal there until it is "
        "scribed."
        for stretches, named in sides.items()
    ]


def _scribe_warnings(scribe: EndScribe, show: str) -> list[str]:
    found = []
    if not scribe.lines:
        found.append(f"The {scribe.end} end nowhere meets the skin: it is not scribed.")
    if scribe.short_mm > 0.05:
        found.append(
            f"The {scribe.end} end stops {length_text(scribe.short_mm, show)} short of the skin: "
            "make the tunnel longer there, or its run-out."
        )
    if scribe.guessed:
        found.append(
            f"NOT SCANNED: part of the skin the {scribe.end} end is scribed to was filled by guess "
            "or copied."
        )
    return found


def folded_words(tunnel: Tunnel) -> str:
    """Return how near the net folds back up to what was asked for."""
    off = max(tunnel.folded_off_mm, 0.001)
    inch = "under .001 in" if off < _MIL_MM else decimal_inch_text(off)
    return (
        f"Folded back up by numbers, the inside of every end comes within {mm_text(off, 3)} "
        f"({inch}) of the sizes asked for."
    )


def tunnel_told(laid: TunnelLaid, show: str = "mm") -> tuple[str, ...]:
    """Return what came of it, a sentence each: for command and window."""
    tunnel = laid.tunnel
    told = [f"{tunnel_form_words(tunnel).capitalize()}."]
    told += [
        f"{name}: {high} high, {wide} wide inside"
        for name, high, wide in tunnel_end_rows(tunnel, show)
    ]
    told.append(tunnel_seat_words(tunnel, show))
    told += [words for words in (tunnel_tube_words(tunnel, show),) if words]
    told += list(tunnel_bend_rows(tunnel, show))
    told += [
        f"{name}: gap {before} before weld pull-in, {after} after"
        for name, before, after in tunnel_gap_rows(tunnel, show)
    ]
    told.append(folded_words(tunnel))
    told += [f"Look: {words}" for words in tunnel_warnings(laid, show)]
    return tuple(told)
