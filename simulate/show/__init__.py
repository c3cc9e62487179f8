"""Panels, films and pictures of the course; each is loaded when it is first asked for."""

from simulate.core.lazy import attach

_HOMES = {
    "simulate.show.bed": ["BedPanel"],
    "simulate.show.bending": ["BendingPanel", "hang"],
    "simulate.show.chain": ["ChainPanel"],
    "simulate.show.cross": ["CrossSlidePanel"],
    "simulate.show.edge_survey": ["EdgeSurveyPanel"],
    "simulate.show.eye": ["EyePanel", "preset_table"],
    "simulate.show.faces": ["FacesPanel"],
    "simulate.show.gap": ["GapPanel"],
    "simulate.show.heat": ["HeatPanel"],
    "simulate.show.hidden": ["HiddenPanel"],
    "simulate.show.hidden_plates": ["HiddenPlatesPanel", "PLACEMENTS"],
    "simulate.show.land_gauges": ["LandGaugesPanel"],
    "simulate.show.lands": ["LandsPanel"],
    "simulate.show.lands_words": ["gauges_text", "progression_text", "stepping_text"],
    "simulate.show.own_bars": ["OwnBarsPanel"],
    "simulate.show.own_chain": ["OwnChainPanel"],
    "simulate.show.own_eye": ["OwnEyePanel"],
    "simulate.show.own_lands": ["OwnLandsPanel"],
    "simulate.show.own_plates": ["OwnPlatesPanel"],
    "simulate.show.own_squares": ["OwnSquaresPanel"],
    "simulate.show.own_workshop": ["OwnWorkshopPanel"],
    "simulate.show.planning": ["PlanPanel"],
    "simulate.show.plate_bending": ["PlateBendingPanel"],
    "simulate.show.plates": ["PlatesPanel", "plates_film"],
    "simulate.show.player": ["three_bars_film"],
    "simulate.show.practice": ["PracticePanel"],
    "simulate.show.shims": ["ShimPanel"],
    "simulate.show.squares": ["SquaresPanel"],
    "simulate.show.straight": ["StraightPanel"],
    "simulate.show.survey": ["SurveyPanel"],
    "simulate.show.three_bars": ["ThreeBarsPanel"],
    "simulate.show.two_bars": ["TwoBarsPanel"],
}
# Names that say too little outside their module, or are a module's own name.
_RENAMED = {
    "BEAM_SHAPES": ("simulate.show.bending", "SHAPES"),
    "practice_bench_film": ("simulate.show.practice_film", "practice_film"),
    "run_plates": ("simulate.show.plates", "run"),
}

__getattr__, __dir__, __all__ = attach(__name__, _HOMES, _RENAMED)
