"""Generate flat and straight references from scratch: simulate, read, decide.

Heights are micrometres, positions millimetres, and proud is positive. Nothing here draws: panels and pictures come from
`simulate.show`, exercises and what a class needs from `simulate.course`. Each name is loaded when it is first asked for.
"""

from simulate.core.lazy import attach

__version__ = "0.1.0"

_HOMES = {
    "simulate.bench.bend": ["sag"],
    "simulate.bench.cut": ["TOOLS", "Hands", "Tool", "hollow_um", "take"],
    "simulate.bench.eye": ["EYES"],
    "simulate.bench.heat": ["heat_bow_um", "settling_time_s"],
    "simulate.bench.profile_sag": ["profile_sag", "shared_sag"],
    "simulate.bench.seat": ["Rest", "face", "rest"],
    "simulate.bench.sight": ["FEELERS_MM", "FINE_FEELERS_MM", "Sight", "look", "wedge_gap_um"],
    "simulate.bench.supports": ["best_separation", "best_supports"],
    "simulate.bench.warm": ["WARMTHS", "kept_difference_k"],
    "simulate.core.refusal": ["Refusal"],
    "simulate.method.align": ["bar_sag_um", "rise_and_turn", "shims", "turned_bar"],
    "simulate.method.bars": ["three_bars", "two_bars"],
    "simulate.method.bed": ["bed_budget"],
    "simulate.method.bed_gauges": ["land_map"],
    "simulate.method.between": ["bends_between_um", "hides_between_um"],
    "simulate.method.chain": ["Link"],
    "simulate.method.cut_plan": ["after_passes", "cut_plan"],
    "simulate.method.faces": ["square_from_last_corner", "square_up"],
    "simulate.method.families": ["hidden_families"],
    "simulate.method.fits": ["lay"],
    "simulate.method.hidden": ["hidden_bar_errors"],
    "simulate.method.hidden_plates": ["hidden_plate_errors"],
    "simulate.method.lands": ["gauges_from_pairs", "step_lands"],
    "simulate.method.network": ["solve_network"],
    "simulate.method.planning": ["plan_job"],
    "simulate.method.plans": ["fewest_fits", "trade_plan"],
    "simulate.method.practice": ["start_practice", "work_seen"],
    "simulate.method.practice_debrief": ["debrief"],
    "simulate.method.practice_player": ["play_bars"],
    "simulate.method.schedule": ["best_schedule", "best_tools", "halving"],
    "simulate.method.schedules": ["shortest_schedule"],
    "simulate.method.sensitivity": ["sensitivity"],
    "simulate.method.square_cylinder": ["solve_cylinder"],
    "simulate.method.square_reversal": ["reverse_by_light", "reverse_square"],
    "simulate.method.survey": ["read_edge", "survey_edge"],
    "simulate.method.workshop_chain": ["Workshop", "on_paper", "workshop_chain"],
    "simulate.readings.bars": ["solve_bars"],
    "simulate.readings.demo": ["demo_path"],
    "simulate.readings.entry": ["Entry", "edited"],
    "simulate.readings.findings": ["findings"],
    "simulate.readings.jack": ["union_jack"],
    "simulate.readings.plates": ["solve_plates"],
    "simulate.readings.progress": ["progress"],
    "simulate.readings.squares": ["solve_squares"],
    "simulate.readings.table": ["ReadingsError", "read_readings"],
    "simulate.readings.two_ways": ["survey_two_ways"],
    "simulate.surface.bars": ["starting_bars"],
    "simulate.surface.flat": ["flatness"],
    "simulate.surface.form": ["straightness"],
    "simulate.surface.machine": ["machine_sentence"],
    "simulate.surface.plates": ["starting_plates"],
    "simulate.surface.spaces": ["canonical_basis"],
}
# Names that say too little outside their module.
_RENAMED = {
    "CHAIN_EYES": ("simulate.method.workshop_chain", "EYES"),
    "CLASSIC_SUPPORTS": ("simulate.bench.supports", "CLASSIC"),
    "FACE_ORDERS": ("simulate.method.faces", "ORDERS"),
    "PLATE_ORDERS": ("simulate.method.unseen", "ORDERS"),
    "SENSITIVITY_INPUTS": ("simulate.method.sensitivity", "INPUTS"),
    "SUPPORT_AIMS": ("simulate.bench.supports", "AIMS"),
    "entry_history": ("simulate.readings.entry", "history"),
    "practice_look": ("simulate.method.practice", "look"),
    "practice_stop": ("simulate.method.practice", "stop"),
}
_ROOMS = ["core", "surface", "bench", "method", "readings", "show", "course"]

__getattr__, __dir__, __all__ = attach(__name__, _HOMES, _RENAMED, _ROOMS)
