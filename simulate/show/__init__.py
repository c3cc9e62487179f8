"""Panels, films and pictures of the course; each is loaded when it is first asked for."""

from simulate.core.lazy import attach

_HOMES = {
    "simulate.show.machine.bed_panel": ["BedPanel"],
    "simulate.show.bars.bar_bending": ["BendingPanel", "hang"],
    "simulate.show.planning.budget_panel": ["ChainPanel"],
    "simulate.show.machine.cross_panel": ["CrossSlidePanel"],
    "simulate.show.plates.edge_survey_panel": ["EdgeSurveyPanel"],
    "simulate.show.bars.eye_panel": ["EyePanel", "preset_table"],
    "simulate.show.squares.faces_panel": ["FacesPanel"],
    "simulate.show.bars.gap": ["GapPanel"],
    "simulate.show.bars.bar_heat": ["HeatPanel"],
    "simulate.show.bars.hidden_bars": ["HiddenPanel"],
    "simulate.show.plates.hidden_plates": ["HiddenPlatesPanel", "PLACEMENTS"],
    "simulate.show.lands.land_gauges": ["LandGaugesPanel"],
    "simulate.show.lands.land_stepping": ["LandsPanel"],
    "simulate.show.lands.one_gauge": ["OneGaugePanel"],
    "simulate.show.lands.land_tables": ["gauges_text", "progression_text", "stepping_text"],
    "simulate.show.own.bars.own_bars": ["OwnBarsPanel"],
    "simulate.show.own.budget.own_budget": ["OwnChainPanel"],
    "simulate.show.own.eye.own_eye": ["OwnEyePanel"],
    "simulate.show.own.lands.own_lands": ["OwnLandsPanel"],
    "simulate.show.own.plates.own_plates": ["OwnPlatesPanel"],
    "simulate.show.own.squares.own_squares": ["OwnSquaresPanel"],
    "simulate.show.own.workshop.own_work": [
        *("OwnBedPanel", "OwnEdgePanel", "OwnFacesPanel", "OwnHeadPanel", "OwnOneSquarePanel"),
    ],
    "simulate.show.own.workshop.own_workshop": ["OwnWorkshopPanel"],
    "simulate.show.planning.cost_sentences": ["cost_rows"],
    "simulate.show.planning.plan_panel": ["PlanPanel"],
    "simulate.show.plates.plate_bending": ["PlateBendingPanel"],
    "simulate.show.plates.plate_turns": ["PlateTurnsPanel"],
    "simulate.show.plates.three_plates": ["PlatesPanel", "plates_film"],
    "simulate.show.panel.film": ["three_bars_film"],
    "simulate.show.practice.practice_panel": ["PracticePanel"],
    "simulate.show.machine.shims": ["ShimPanel"],
    "simulate.show.squares.square_panel": ["SquaresPanel"],
    "simulate.show.bars.straight": ["StraightPanel"],
    "simulate.show.own.survey.own_survey": ["SurveyPanel"],
    "simulate.show.bars.three_bars": ["ThreeBarsPanel"],
    "simulate.show.bars.two_bars": ["TwoBarsPanel"],
}
# Names that say too little outside their module, or are a module's own name.
_RENAMED = {
    "BEAM_SHAPES": ("simulate.show.bars.bar_bending", "SHAPES"),
    "practice_bench_film": ("simulate.show.practice.practice_film", "practice_film"),
    "run_plates": ("simulate.show.plates.three_plates", "run"),
}

__getattr__, __dir__, __all__ = attach(__name__, _HOMES, _RENAMED)
