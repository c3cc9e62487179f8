"""Generate flat and straight references from scratch: simulate, read, decide.

Heights are micrometres, positions millimetres, and proud is positive. Nothing here draws: panels and pictures come from
`simulate.show`, exercises and what a class needs from `simulate.course`. Each name is loaded when it is first asked
for.
"""

from simulate.core.lazy import attach
from simulate.core.native_threads import one_each

one_each()

__version__ = "0.1.0"

_HOMES = {
    "simulate.bench.bending.uniform_bar": ["sag"],
    "simulate.bench.cutting.filing": ["hollow_um", "take"],
    "simulate.bench.cutting.rocking": ["lead"],
    "simulate.bench.cutting.tools": ["SKILLS", "TOOLS", "Hands", "Tool"],
    "simulate.bench.looking.edge": ["EDGES", "Edge", "edge_sight", "filed_edge", "shows_light_um"],
    "simulate.bench.looking.eye": ["EYES"],
    "simulate.bench.bending.heat": ["heat_bow_um", "settling_time_s"],
    "simulate.bench.bending.moving_iron": ["Casting"],
    "simulate.bench.bending.moving_steel": ["Steel"],
    "simulate.bench.bending.stress": ["press_bend_um", "relief_bow_um", "vice_bend_um"],
    "simulate.bench.bending.profiled_bar": ["profile_sag", "shared_sag"],
    "simulate.bench.seating.bar_seat": ["Rest", "face", "rest"],
    "simulate.bench.seating.pushed_bar": ["Hinge", "hinge"],
    "simulate.bench.looking.sight": ["FEELERS_MM", "FINE_FEELERS_MM", "Sight", "look", "wedge_gap_um"],
    "simulate.bench.bending.bar_supports": ["best_separation", "best_supports"],
    "simulate.bench.bending.heat_sources": ["WARMTHS", "kept_difference_k"],
    "simulate.core.refusal": ["Refusal"],
    "simulate.method.machine.headstock": ["bar_sag_um", "rise_and_turn", "shims", "turned_bar"],
    "simulate.method.bars.three_bar_loop": ["three_bars", "two_bars"],
    "simulate.method.bars.floor_table": ["worst_bar"],
    "simulate.method.machine.bed": ["bed_budget"],
    "simulate.method.machine.bed_gauges": ["land_map"],
    "simulate.method.lands.between_points": ["bends_between_um", "hides_between_um"],
    "simulate.method.uncertainty_budget": ["Link"],
    "simulate.bench.looking.spotting": ["bearing_share", "points_per_square_inch"],
    "simulate.method.plates.prints": ["print_at"],
    "simulate.method.plates.scraping_plan": ["after_passes", "cut_plan"],
    "simulate.method.squares.faces": ["square_from_last_corner", "square_up"],
    "simulate.method.plates.symmetry": ["hidden_families"],
    "simulate.method.lands.land_fit": ["lay"],
    "simulate.method.bars.bar_null_space": ["hidden_bar_errors"],
    "simulate.method.plates.plate_null_space": ["hidden_plate_errors"],
    "simulate.method.lands.stepping": ["gauges_from_pairs", "step_lands"],
    "simulate.method.lands.levelling": ["solve_network"],
    "simulate.method.planning.choices": ["Choices", "choice_costs"],
    "simulate.method.planning.plan": ["plan_job"],
    "simulate.method.planning.toil": ["clamped_hours", "marking_s", "plate_kg", "scraping_hours"],
    "simulate.method.lands.fewest_fits": ["fewest_fits", "trade_plan"],
    "simulate.method.practice.acts": ["start_practice", "work_seen"],
    "simulate.method.practice.debrief": ["debrief"],
    "simulate.method.practice.player": ["play_bars"],
    "simulate.method.planning.pass_schedule": ["best_schedule", "best_tools", "halving"],
    "simulate.method.plates.placement_schedules": ["shortest_schedule"],
    "simulate.method.planning.sensitivity": ["sensitivity"],
    "simulate.method.squares.cylinder": ["solve_cylinder"],
    "simulate.method.squares.reversal": ["reverse_by_light", "reverse_square"],
    "simulate.method.plates.edge_survey": ["read_edge", "survey_edge"],
    "simulate.method.planning.workshop_budget": ["Workshop", "on_paper", "workshop_chain"],
    "simulate.readings.bars.solve_bars": ["solve_bars"],
    "simulate.readings.table.demo": ["demo_path"],
    "simulate.readings.logbook.entry": ["Entry", "edited"],
    "simulate.readings.findings": ["findings"],
    "simulate.readings.known_from": ["known_from"],
    "simulate.readings.reference.certificate": ["from_certificate"],
    "simulate.readings.reference.known": ["Known", "shared_covariance"],
    "simulate.readings.survey.union_jack": ["union_jack"],
    "simulate.readings.plates.solve_plates": ["solve_plates"],
    "simulate.readings.photo.print_photo": ["read_print_photo"],
    "simulate.readings.rounds.progress": ["progress"],
    "simulate.readings.squares.solve_squares": ["solve_squares"],
    "simulate.readings.table.read": ["ReadingsError", "read_readings"],
    "simulate.readings.survey.two_surveys": ["survey_two_ways"],
    "simulate.surface.starting_bars": ["starting_bars"],
    "simulate.surface.flatness": ["flatness"],
    "simulate.surface.straightness": ["straightness"],
    "simulate.surface.tolerances.lathe": ["machine_sentence"],
    "simulate.surface.starting_plates": ["starting_plates"],
    "simulate.core.spaces": ["canonical_basis"],
}
# Names that say too little outside their module.
_RENAMED = {
    "CHAIN_EYES": ("simulate.method.planning.workshop_budget", "EYES"),
    "CLASSIC_SUPPORTS": ("simulate.bench.bending.bar_supports", "CLASSIC"),
    "FACE_ORDERS": ("simulate.method.squares.faces", "ORDERS"),
    "PLATE_ORDERS": ("simulate.method.plates.unseen", "ORDERS"),
    "SENSITIVITY_INPUTS": ("simulate.method.planning.sensitivity", "INPUTS"),
    "SUPPORT_AIMS": ("simulate.bench.bending.bar_supports", "AIMS"),
    "entry_history": ("simulate.readings.logbook.entry", "history"),
    "practice_look": ("simulate.method.practice.acts", "look"),
    "practice_stop": ("simulate.method.practice.acts", "stop"),
}
_ROOMS = ["core", "surface", "bench", "method", "readings", "show", "course"]

__getattr__, __dir__, __all__ = attach(__name__, _HOMES, _RENAMED, _ROOMS)
