"""Cautions where they bite, one line each, and the whole list for the back of the job card.

In our own words; what they rest on stands in docs/sources.md. All of them come second to local
codes, to product sheets and to whoever is licensed for the work.
"""

from dataclasses import dataclass

from app.units import PA_PER_PSI, force_text, pressure_text

PSI_KPA = PA_PER_PSI / 1000.0

DEFER = (
    "What is customary, not instructions for your shop: local codes, your insurer, product sheets "
    "and people licensed for the work come first. Nothing here approves a tank, a weld or a test."
)

RECEIVING = (
    "Receiving: drain it, air it, and have it proved free of vapour before any heat; take no used "
    "tank for safe."
)
WELDING = (
    "Weld list: what must be inside goes in before closing; test with water first, at the lowest "
    "pressure first."
)
FRAME = "Frame: the model is no proof of fit. Check full lock, cables and hot parts on the machine."
DUST = "Dust and edges: deburr before handling; aluminium dust burns, keep it apart from steel's."

LINES = (RECEIVING, WELDING, FRAME, DUST)


@dataclass(frozen=True)
class Caution:
    """One hazard and what is customary about it.

    Attributes
    ----------
    heading : str
    words : str
    """

    heading: str
    words: str


def leak_words(face: str, load_n: float, show: str = "mm") -> str:
    """Return what one pound a square inch does to the largest face.

    >>> leak_words("left side", 889.64432, "in")
    'At 1 psi (27.7 in water, 6.9 kPa) the left side is pushed out with 200 lbf (890 N).'
    """
    pressure = pressure_text(PSI_KPA)
    return f"At {pressure} the {face} is pushed out with {force_text(load_n, show)}."


def pressure_steps() -> str:
    """Return the pressures to go through, lowest first."""
    steps = ", then ".join(pressure_text(share * PSI_KPA) for share in (0.25, 0.5, 1.0))
    return f"Begin at {steps}; stop at the least that proves the tank."


ALL_CAUTIONS = (
    Caution(
        "Used tanks",
        "Cleaning comes before hot work every time, whatever the tank held and however long ago. "
        "Fill with water or an inert gas, ventilate, and have the air in it tested by somebody "
        "competent. Open every hollow place to the air first: heated shut, it can burst.",
    ),
    Caution(
        "Smell",
        "Neither nose nor eye tells whether a tank is safe. Vapour hides in seams, under old liner "
        "and in filler; it comes out when the metal warms.",
    ),
    Caution(
        "Cleaners",
        "No chlorinated solvent, and many brake cleaners are one, near an arc or its light: it "
        "breaks down to phosgene, which kills. Dry the parts fully, away from the welding place.",
    ),
    Caution(
        "Arc light",
        "On aluminium the arc's light harms bare eyes and skin within seconds to half a minute at "
        "arm's length, more with higher current and with magnesium in filler or sheet. Cover up, "
        "screen the place, warn others.",
    ),
    Caution(
        "Fume and gas",
        "Extract fume at the arc and air the room; one study found little ozone at TIG and too "
        "much at short spells of MIG. Shielding gas pushes air out of pits and closed tanks.",
    ),
    Caution(
        "Dust",
        "Fine aluminium burns and explodes. Never share a grinder, belt or collector with steel; "
        "rust and aluminium dust flash together. Wet dust gives off hydrogen: never leave it shut "
        "in a vacuum cleaner.",
    ),
    Caution(
        "Pressure test",
        "Water first. If air, as little as shows a leak, from a slow source with a relief valve, "
        "no closed valve between them; stand clear, never with the tank on the frame. Stored air "
        "throws metal; a cycle pump and a water gauge are slow enough to watch. A balloon alone "
        "shrinks with the evening and proves nothing.",
    ),
    Caution(
        "Vacuum",
        "Never draw a tank empty of air: thin flat sides fold in at a fraction of what they hold "
        "from within.",
    ),
    Caution(
        "Heat",
        "Aluminium gives no colour before it melts, and stays hot unseen: gloves, tongs, a sign on "
        "the part. Anneal away from fuel, paint and dust.",
    ),
    Caution(
        "Noise and edges",
        "Wear ear protection at hammer, wheel and grinder. Deburr blanks before they are carried. "
        "No gloves, sleeves or rags near turning tools.",
    ),
    Caution(
        "Form and laminate",
        "Styrene, peroxide hardener and glass dust: fresh air, the respirator the product sheet "
        "names, goggles for the hardener, no flame or heater near.",
    ),
    Caution(
        "On the machine",
        "Check full lock both ways, cables, brake and throttle free, clearance to hot and moving "
        "parts, fuel line run and clips, a vent that works, where spilled fuel runs, a bond to the "
        "frame where needed. Have it looked over by a competent person before the road.",
    ),
    Caution(
        "The law",
        "Rules for tanks differ from place to place: held fast, tight, proof against corrosion, "
        "relieved of pressure, spill led away from heat, no sharp cap. Ask those who inspect in "
        "your country; test pressures published for cars and boats are not written for this.",
    ),
)
"""In the order of the work."""
