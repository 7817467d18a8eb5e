"""What `lowcrown --help` tells: every command in a line, and what each does."""

from dataclasses import dataclass

COMMANDS = (
    "demo",
    "scan",
    "datum",
    "lines",
    "blank",
    "layout",
    "breaks",
    "gauges",
    "seat",
    "fit",
    "flanges",
    "capacity",
    "tunnel",
    "board",
    "readings",
)

ABOUT = """From a scan of a tank to panel patterns you can cut, form and trust.

  lowcrown                   open the window
  lowcrown FILE              open the window on a scan or a job
  lowcrown demo --out DIR    the whole job on the sample tank, so that you see what comes out
  lowcrown scan FILE         look a scan over: pieces, holes, likely unit, doubts
  lowcrown datum FILE        centre plane, level, left against right
  lowcrown lines FILE        character lines and flat faces
  lowcrown blank FILE        lay one ready-cut panel flat
  lowcrown layout FILE --seams SEAMS.json --out DIR
                             cut a scan along seams, lay every panel flat, write paper and DXF
  lowcrown breaks FILE --pieces 2-6 --out DIR
                             propose where to split the tank, on one page and to take one from
  lowcrown gauges FILE --stations 75mm --out DIR
                             station, bottom and side templates, and a checking frame, full size
  lowcrown flanges FILE --along rim --width 1/2in --out DIR
                             how far a tipped edge stretches or shrinks, station by station
  lowcrown seat FILE --out DIR
                             the face the seat meets: flatness, templates of face and line
  lowcrown fit FILE --frame FRAME.json --out DIR
                             least gaps to frame, forks and bars, from lock to lock
  lowcrown capacity FILE --cap flat --tunnel 70x75:60x60
                             litres and gallons, low points, reserve, dip chart
  lowcrown tunnel SPEC.json --tank FILE --out DIR
                             the tunnel's nets, cut-off lines, and what it clears
  lowcrown board DIR         the job files of a folder: next step of each, and what was printed
  lowcrown readings JOB PANEL "C4 26 25.5 24.5 24" ...
                             squares of the grid read on a worked panel: how far it was stretched
"""

ENDINGS = """exit codes: 0 done; 1 could not, the reason is on standard error; 2 wrong use;
3 the size is not known or a tape does not agree; 130 stopped."""


@dataclass(frozen=True)
class CommandWords:
    """A command, what it does in a line, and what its own help says of it."""

    name: str
    does: str
    told: str


TOLD = (
    CommandWords(
        "demo", "do the whole job on the sample tank", "Does the main job on the sample tank."
    ),
    CommandWords(
        "scan",
        "look a scan over",
        "Reports what a scan holds: triangles, pieces, holes, noise, likely unit, doubts.\n"
        "Without a unit or a tape no sizes are given. The file itself is never changed.",
    ),
    CommandWords(
        "datum",
        "find how the tank stands",
        "Finds the plane between left and right, what is level, and how the two sides differ.\n"
        "With --json its output can be given to layout --datum. Points are given in the file's\n"
        "own numbers; places come out in mm, in the file's axes.",
    ),
    CommandWords(
        "lines",
        "find character lines and flat faces",
        "Finds the crisp lines of a tank, with tip radius, angle between the flanks and height\n"
        "along them, and its flat faces.",
    ),
    CommandWords(
        "blank",
        "lay one ready-cut panel flat",
        "Lays one panel flat, as it stands in the file. Without --metal the file is taken as the\n"
        "middle of the metal. Holes stay solid metal unless --open-holes is given.",
    ),
    CommandWords(
        "layout",
        "from a scan and its seams to patterns",
        "Cuts a scan along seams, lays every panel flat, writes paper, cutting files and tables.",
    ),
    CommandWords(
        "breaks",
        "propose where to split a tank",
        "Proposes break-ups into so many pieces, none beaten by another in pieces, shrink and\n"
        "weld, and writes them to compare on one page and to lay one out by its name.",
    ),
    CommandWords(
        "gauges",
        "cut templates to the tank's outlines",
        "Cuts boards to the tank's outlines at stations, along its bottom edge and its sides, and\n"
        "on request a slotted frame that stands up to check panels on. The tank is stood up by\n"
        "itself unless --datum says how.",
    ),
    CommandWords(
        "flanges",
        "tell what tipped edges take",
        "Tells flanges along the open edge, seams or crisp lines, station by station and hand by\n"
        "hand: turn, radius, stretch or shrink, lip thickness, and what the metal allows. A lip\n"
        "the scan shows is cut off or kept, never counted twice.",
    ),
    CommandWords(
        "seat",
        "find the face the seat meets",
        "Finds the flat the seat meets on the scan itself: its plane, its edge, how flat it is to\n"
        "0.1 mm, and the line ahead of it that the seat's lip follows. With --out its map and\n"
        "templates of both are written.",
    ),
    CommandWords(
        "fit",
        "measure gaps to the frame",
        "Tells the least gap between the tank and each body beside it, where it is, and how far\n"
        "what goes through reaches; what turns with the bars is tried from lock to lock. Bodies\n"
        "are typed in a file, or are a second scan. No proof of fit.",
    ),
    CommandWords(
        "capacity",
        "count what a tank holds",
        "Counts what the tank holds inside its metal, less the tunnel: litres and gallons, the\n"
        "reserve, a dip chart; where fuel gathers on the level, on the side stand, nose up and\n"
        "nose down, and what no tap lets out. With --out its pages and a dip stick are written.",
    ),
    CommandWords(
        "tunnel",
        "lay out the tunnel the frame runs through",
        "Lays a tunnel flat, rolled or folded, tapered, flared or stepped, from its own sizes or\n"
        "over a frame tube with every clearance a line of the sum. With a tank: where its legs\n"
        "are cut off, where its ends meet the skin. Gaps are told before and after welding.",
    ),
    CommandWords(
        "board",
        "list the jobs of a folder",
        "Lists the job files of a folder: the next step of each, the latest revision printed, and\n"
        "older ones to be thrown away. Nothing is kept that is not in the files.",
    ),
    CommandWords(
        "readings",
        "read the grid back from a worked panel",
        "Tells from squares of the grid, measured on a worked panel, how far the metal was moved\n"
        "there, beside what the pattern asks, and how thick it is left. A job file holds no\n"
        "patterns: the panel is laid flat anew from what the job decides.",
    ),
)
