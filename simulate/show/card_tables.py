"""The table to fill in on each lesson's bench card: its heads, what stands in the first column, and empty rows."""

from __future__ import annotations

from typing import NamedTuple


class CardTable(NamedTuple):
    """A table to fill in with a pencil.

    Attributes
    ----------
    heads : tuple of str
        One a column. Units that follow the learner's choice stand as ``{small}`` and ``{long}``.
    first : tuple of str
        What is printed in the first column, one a row; ``""`` where the learner writes there too.
    """

    heads: tuple[str, ...]
    first: tuple[str, ...]


_STATIONS = ("left end", "1/8", "1/4", "3/8", "middle", "5/8", "3/4", "7/8", "right end")
_ROWS = ("",) * 8

TABLES = {
    "00": CardTable(("What I have", "Size ({long})", "Mark on it", "Ready"),
                    ("bar 1", "bar 2", "bar 3", "coarse file", "second-cut file", "smooth file", "vice, soft jaws", "lamp",
                     "feelers", "brush, card")),
    "01": CardTable(("Bar", "Length ({long})", "Depth ({long})", "Support from the left ({long})", "from the right ({long})"),
                    ("1", "2", "3")),
    "02": CardTable(("Look", "Blade ({small})", "Blade to touch ({long})", "Light lost to touch ({long})", "Threshold ({small})"),
                    ("1", "2", "3", "worst of three")),
    "03": CardTable(("Fit", "Where it touches", "Where light shows", "Widest gap ({small})", "Rocks?"),
                    ("2 on 1", "3 on 1", "2 on 3", "2 on 3, turned")),
    "04": CardTable(("Round", "Gauge", "Fit", "Widest gap ({small})", "Strokes on upper", "Strokes on lower"),
                    ("1", "1", "1", "1", "2", "2", "2", "2", "3", "3", "3", "3")),
    "05": CardTable(("Fit", "Plain: light where?", "Turned: light where?", "Same?"),
                    ("2 on 1", "3 on 1", "3 on 2", "2 on 1, next morning", "2 on 1, another eye")),
    "06": CardTable(("Station", "2 on 1 ({small})", "3 on 1 ({small})", "3 on 2 ({small})", "3 on 2, turned ({small})"), _STATIONS),
    "07": CardTable(("Laying", "Gauge", "Left land at ({long})", "Turned?", "Middle proud ({small})"),
                    tuple(str(k) for k in range(1, 11))),
    "08": CardTable(("Laying", "Gauge", "Left land at ({long})", "Turned?", "Middle proud ({small})", "Long gauge again: rocks?"),
                    tuple(str(k) for k in range(1, 11))),
    "09": CardTable(("Marking", "Lower", "Upper", "Turned (degrees)", "Printed where", "Spots in 25 mm square"),
                    tuple(str(k) for k in range(1, 11))),
    "10": CardTable(("Lower", "Upper", "Turned (degrees)", "Slid by ({long})", "Rocks about", "Printed where"), _ROWS),
    "11": CardTable(("Line", "Dial or blade, 1/4 ({small})", "middle ({small})", "3/4 ({small})", "Turned end for end, middle"),
                    ("along 1", "along 2", "along 3", "across 1", "across 2", "across 3", "corner A to C", "corner B to D")),
    "12": CardTable(("Line", "Station", "Forward (arcsec)", "Back (arcsec)", "Mean"), _ROWS + ("",) * 4),
    "13": CardTable(("Pair", "Light at foot or top", "Closed to open ({long})", "Gap ({small})", "Strokes"),
                    ("A and B", "A and C", "B and C", "A and B again", "reversal of the best")),
    "14": CardTable(("Face", "Made from", "With", "Left ({small})", "Middle ({small})", "Right ({small})"),
                    ("A", "C", "B", "D", "corner nobody made")),
    "15": CardTable(("Look", "Head ({small})", "Middle ({small})", "Tail ({small})", "Strokes front", "Strokes back"),
                    ("front way", "back way", "strips, head to tail", "strips changed over", "corner to corner 1",
                     "corner to corner 2", "test bar near", "test bar far", "half a turn on, near", "half a turn on, far")),
    "16": CardTable(("What I relied on", "Figure ({small})", "Known how", "Figure squared", "Cheaper to mend?"), _ROWS + ("sum",)),
    "17": CardTable(("Bar", "Length ({long})", "2/9 of it ({long})", "Light on its ends?", "Light on its points?"), ("1", "2", "3")),
    "18": CardTable(("Warmed by", "For (s)", "Light where", "Dark again after (s)"),
                    ("palm on the upper edge", "lamp as I use it", "carried by hand", "carried by blocks", "")),
    "19": CardTable(("Mark ({long} from the touch)", "Gap ({small})", "Looks", "Open", "Open when covered"), _ROWS),
    "20": CardTable(("Round", "Metal a pass ({small})", "Tool", "Passes", "Hours", "Widest gap left ({small})"),
                    ("start", "1", "2", "3", "4", "5", "stop after")),
    "21": CardTable(("Act", "Lower", "Upper, turned?", "Light where", "Filed where ({long})", "Strokes"),
                    tuple(str(k) for k in range(1, 13))),
    "22": CardTable(("Round", "What was read", "File name", "Worst ({small})", "Sure to ({small})", "Next"),
                    tuple(str(k) for k in range(1, 9))),
}
