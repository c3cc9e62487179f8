"""The controls of the practice bench, level by level: what a learner may choose, and what is handed to each act."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from simulate.bench.cutting.rocking import SIDES, WAYS
from simulate.bench.cutting.tools import TOOLS
from simulate.method.planning.job import PACES
from simulate.method.practice.acts import HELD, REST_H, PracticeState, level_of, steel_of
from simulate.method.practice.bars_level import EYES, SHORTEST_MM, VICES
from simulate.method.practice.filing_act import reach_um
from simulate.method.practice.lands_level import LAND_MM2, LANDS
from simulate.method.practice.plates_level import DEPTHS_UM, FILMS_UM, SLIDES, SPOTS_MM
from simulate.method.practice.state import BODIES, MOST_PASSES, MOST_STROKES
from simulate.show.drawing import style
from simulate.show.panel.panel import Panel

FREE = "free"  # a menu shows nothing where a choice is None


_FILED = ("lower", "upper", "sight", "tool", "passes")
_SCRAPED = ("lower", "upper", "turned", "sight", "passes")


@dataclass(frozen=True)
class Desk:
    """What a level puts before the learner.

    `at_hand`: names of the controls that stay in sight. `rows`: names of the others by the act they belong to:
    ``"touch"``, ``"place"``, ``"rest"``. `buttons`: what the buttons of ``"touch"`` and ``"place"`` say. `lay`, `look`,
    `touch`, `place`: what the act is given. `plan`: where the cut at a place would go, and what it would do.
    """

    at_hand: tuple[str, ...]
    rows: dict[str, tuple[str, ...]]
    buttons: dict[str, str]
    lay: Callable
    look: Callable
    touch: Callable
    place: Callable
    plan: Callable


def build(panel: Panel, state: PracticeState) -> Desk:
    """Add the controls of the state's level to a panel."""
    body = level_of(state).body
    names = [(f"{body} {k + 1}", k) for k in range(BODIES)]
    panel.menu("lower", "Gauge, below", names, state.lower)
    panel.menu("upper", "In the vice", names, state.upper)
    return {"lands": _lands, "bars": _bars, "plates": _plates}[state.level](panel, state)


def _filing(panel: Panel, state: PracticeState, tool: str, strokes: int) -> None:
    """What bars and gauges share: how they lie, how they are looked at, the tool."""
    half = state.length_mm / 2
    ends = [
        ("nowhere", FREE),
        ("near the left end", -0.9 * half),
        ("in the middle", 0.0),
        ("near the right end", 0.9 * half),
    ]
    pressed = FREE if state.press_mm is None else state.press_mm
    if pressed not in [value for _, value in ends]:
        ends.append((style.spell_place(pressed, panel.units), pressed))
    panel.tick("turned", "Turned end for end", bool(state.turned))
    panel.menu("press", "Press", ends, pressed)
    panel.menu("sight", "Check", list(level_of(state).sights), "light")
    panel.menu("tool", "Tool", list(TOOLS), tool)
    panel.whole_slider("passes", "Passes", 5, 1, MOST_PASSES)
    panel.tick("both", "Half from each")
    panel.whole_slider("strokes", "Strokes", strokes, 1, MOST_STROKES)


def _lay_filed(values: dict) -> dict:
    press = None if values["press"] == FREE else values["press"]
    return {"lower": values["lower"], "upper": values["upper"], "turned": values["turned"], "press_mm": press}


def _touch_filed(values: dict) -> dict:
    # Blades show no place of contact; then the lamp does.
    sight = values["sight"] if values["sight"] in EYES else EYES[0]
    return {"tool": values["tool"], "passes": values["passes"], "sight": sight, "both": values["both"]}


def _bars(panel: Panel, state: PracticeState) -> Desk:
    _filing(panel, state, "second-cut file", 40)
    panel.menu("way", "Stroke", list(WAYS), next(iter(WAYS)))
    moves, sides = steel_of(state) is not None, state.rules >= 5
    if sides:
        panel.menu("side", "Side", list(SIDES), SIDES[0])
    if moves:
        panel.menu("held", "The pair", list(HELD), HELD[0])
        panel.menu("vice", "Bar held", list(VICES), VICES[0])
        panel.slider("hours", "Rest", 12.0, *REST_H, 0.5, ".1f", "hours")
    half, one = state.length_mm / 2, style.place(1.0, panel.units)
    unit, form, step = ("in", ".1f", 0.2) if panel.units == "inch" else ("mm", ".0f", 5)
    panel.slider("place", "Middle", 0, -half * one, half * one, step, form, unit)
    panel.slider("length", "Length", 0.4 * half * one, SHORTEST_MM * one, 2 * half * one, step, form, unit)

    def vice(values: dict) -> dict:
        return ({"vice": values["vice"]} if moves else {}) | ({"side": values["side"]} if sides else {})

    def place(values: dict) -> dict:
        return {
            "place_mm": _held(values["place"] / one, (-half, half)),
            "strokes": values["strokes"],
            "tool": values["tool"],
            "length_mm": _held(values["length"] / one, (SHORTEST_MM, 2 * half)),
            **vice(values),
        }

    def plan(now: PracticeState, values: dict) -> tuple:
        cut = place(values)
        deep, wide = reach_um(now, **{name: value for name, value in cut.items() if name != "vice"})
        belly = ", because the belly of a file cannot dig a narrow hole" if wide > 1.5 * cut["length_mm"] else ""
        return (
            (cut["place_mm"], cut["length_mm"]),
            f"File here: about {style.spell(deep, panel.units)} deep and {style.spell_place(wide, panel.units)} wide"
            + belly,
        )

    rows = {
        "touch": (
            "turned",
            "press",
            "both",
            "way",
            *(("held", "vice") if moves else ()),
            *(("side",) if sides else ()),
        ),
        "place": ("place", "length", "strokes"),
        "rest": ("hours",) if moves else (),
    }
    return Desk(
        _FILED,
        rows,
        {"touch": "File where it touches", "place": "File here"},
        _lay_filed,
        lambda values: {"kind": values["sight"], **({"held": values["held"]} if moves else {})},
        lambda values: {**_touch_filed(values), "way": values["way"], **vice(values)},
        place,
        plan,
    )


def _lands(panel: Panel, state: PracticeState) -> Desk:
    _filing(panel, state, "smooth file", 5)
    panel.menu("lands", "Which lands", list(LANDS), "the middle land")

    def place(values: dict) -> dict:
        return {"lands": values["lands"], "strokes": values["strokes"], "tool": values["tool"]}

    def plan(_now: PracticeState, values: dict) -> tuple:
        deep = values["strokes"] * PACES[values["tool"]].stroke_mm3 * 1000 / LAND_MM2 / len(LANDS[values["lands"]])
        return values["lands"], f"File here: about {style.spell(deep, panel.units)} off {values['lands']}"

    return Desk(
        _FILED,
        {"touch": ("turned", "press", "both"), "place": ("lands", "strokes")},
        {"touch": "File what touches", "place": "File here"},
        _lay_filed,
        lambda values: {"kind": values["sight"]},
        _touch_filed,
        place,
        plan,
    )


def _plates(panel: Panel, state: PracticeState) -> Desk:
    level, units = level_of(state), panel.units
    half, one = state.length_mm / 2, style.place(1.0, units)
    unit, form, step = ("in", ".1f", 0.1) if units == "inch" else ("mm", ".0f", 5)
    panel.menu("turned", "Turn", [(f"{t}°", t) for t in level.turns], int(state.turned))
    panel.menu("slide", "Slide", list(SLIDES), state.slide)
    panel.menu("sight", "Check", list(level.sights), "marking compound")
    panel.height_slider("film", "Film", 6.0, *FILMS_UM, 0.5)
    panel.height_slider("depth", "Depth", 4.0, *DEPTHS_UM, 0.5)
    panel.slider("spot", "Spot", 8 * one, SPOTS_MM[0] * one, SPOTS_MM[1] * one, step / 5, ".1f", unit)
    panel.whole_slider("passes", "Passes", 5, 1, MOST_PASSES)
    panel.tick("both", "Half from each")
    for name, words in (("x", "Across"), ("y", "Away")):
        panel.slider(name, words, 0, -half * one, half * one, step, form, unit)
    least = 2 * half / 20
    panel.slider("region", "Square side", 0.4 * half * one, least * one, 2 * half * one, step, form, unit)

    def lay(values: dict) -> dict:
        return {name: values[name] for name in ("lower", "upper", "turned", "slide")}

    def scraper(values: dict) -> dict:
        return {
            "passes": values["passes"],
            "depth_um": _held(values["depth"], DEPTHS_UM),
            "spot_mm": _held(values["spot"] / one, SPOTS_MM),
        }

    def look(values: dict) -> dict:
        film = {"film_um": _held(values["film"], FILMS_UM)} if values["sight"] == "marking compound" else {}
        return {"kind": values["sight"], **film}

    def place(values: dict) -> dict:
        x, y = (_held(values[name] / one, (-half, half)) for name in "xy")
        return {
            "x_mm": x,
            "y_mm": y,
            "region_mm": _held(values["region"] / one, (state.x_mm[1] - state.x_mm[0], 2 * half)),
            **scraper(values),
        }

    def plan(_now: PracticeState, values: dict) -> tuple:
        cut = place(values)
        return (
            (cut["x_mm"], cut["y_mm"], cut["region_mm"]),
            f"Scrape here: about {style.spell(cut['depth_um'] * cut['passes'], units)} off the hatched square",
        )

    rows = {"touch": ("film", "depth", "spot", "both", "slide"), "place": ("x", "y", "region")}

    def touch(values: dict) -> dict:
        return {"film_um": _held(values["film"], FILMS_UM), "both": values["both"], **scraper(values)}

    return Desk(_SCRAPED, rows, {"touch": "Scrape what prints", "place": "Scrape here"}, lay, look, touch, place, plan)


def _held(value: float, ends: tuple[float, float]) -> float:
    """Inches and steps may end a hair outside."""
    return float(min(max(value, ends[0]), ends[1]))
