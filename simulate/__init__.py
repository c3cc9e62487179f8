"""Generate flat and straight references from scratch: simulate, read, decide.

Heights are micrometres, positions millimetres, and proud is positive. Nothing
here draws; pictures and panels live in `simulate.show`.
"""

from simulate.bench.bend import sag
from simulate.bench.cut import TOOLS, Hands, Tool, hollow_um, take
from simulate.bench.heat import heat_bow_um
from simulate.bench.seat import Rest, face, rest
from simulate.bench.sight import Sight, look, wedge_gap_um
from simulate.core.refusal import Refusal
from simulate.method.bars import three_bars, two_bars
from simulate.method.hidden import hidden_bar_errors
from simulate.method.hidden_plates import hidden_plate_errors
from simulate.method.lands import step_lands
from simulate.readings.bars import solve_bars
from simulate.readings.jack import union_jack
from simulate.readings.plates import solve_plates
from simulate.readings.squares import solve_squares
from simulate.readings.table import ReadingsError, read_readings
from simulate.surface.bars import starting_bars
from simulate.surface.flat import flatness
from simulate.surface.form import straightness
from simulate.surface.plates import starting_plates

__all__ = [
    "TOOLS", "Hands", "ReadingsError", "Refusal", "Rest", "Sight", "Tool", "face", "flatness", "heat_bow_um",
    "hidden_bar_errors", "hidden_plate_errors", "hollow_um", "look", "read_readings", "rest", "sag", "solve_bars",
    "solve_plates", "solve_squares", "starting_bars", "starting_plates", "step_lands", "straightness", "take",
    "three_bars", "two_bars", "union_jack", "wedge_gap_um",
]
