"""The chain of references as a picture that says which link to improve."""

from __future__ import annotations

import numpy as np

from simulate.core.refusal import Refusal, counted
from simulate.method.planning.workshop_budget import EYES, Stage, Workshop, on_paper, workshop_chain
from simulate.method.uncertainty_budget import Chain, Link
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.panel.panel import Panel
from simulate.show.planning.budget_picture import LinkBars, shared_words

_OWN = "your own link"
_PLACES = 11


class ChainPanel(Panel):
    """A workshop's figures, the budget they make, and the way from a black bar to the aligned machine.

    Parameters
    ----------
    shop : Workshop
        The figures at the start; each can be moved.
    own : sequence of Link
        Links of your own, at most one beside the slider's, in micrometres.
    start_um : float
        How far the black bars are out, 50 to 1000.
    units : str, optional
    dpi : int

    Raises
    ------
    ValueError
        Where a figure is out of its range, or there are too many own links.

    Examples
    --------
    >>> "Improve lands first" in ChainPanel().sentence
    True
    """

    at_hand = ("intervals", "land_sd_um", "supports", "heat_k", "dial_um")

    def __init__(
        self,
        shop: Workshop = Workshop(),
        own: tuple[Link, ...] = (),
        start_um: float = 500,
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        if len(own) > 1:
            raise Refusal(
                "count",
                where="own",
                found=f"{len(own)} links",
                must_be="one at most, because the picture has room for one beside the slider's",
            )
        self.shop, self.own, self.start_um = shop, tuple(own), float(start_um)
        self.place_slider("length_mm", "Straightedge and bed", shop.length_mm, 200, 1500, 50)
        self.place_slider("depth_mm", "Depth of the straightedge", shop.depth_mm, 20, 150, 5)
        self.whole_slider("intervals", "Steps of the land gauge", shop.intervals, 2, 16)
        self.height_slider("land_sd_um", "Repeatability of a land fit", shop.land_sd_um, 0, 5, 0.1)
        self.height_slider("wave_um", "Waves between lands", shop.wave_um, 0, 5, 0.1)
        self.slider("supports", "Support spacing", shop.supports, 0.2, 1, 0.002, ".3f", "part of length")
        self.slider("heat_k", "Edge temperature difference, limit", shop.heat_k, 0, 3, 0.1, ".1f", "K")
        self.height_slider("sight_um", "Smallest gap the eye sees", shop.sight_um, 0.5, 20, 0.5)
        self.menu("eye", "Check of the joints", EYES, shop.eye)
        self.height_slider("plate_um", "Plate error under square", shop.plate_um, 0, 20, 0.5)
        self.angle_slider("square_urad", "Uncertainty of the square", shop.square_urad, 0, 200, 5)
        self.height_slider("dial_um", "Dial error, limit ±", shop.dial_um, 0, 20, 0.5)
        self.height_slider("own_um", "Your own link, standard uncertainty", 0, 0, 20, 0.5)
        self.zoom_tick()
        self.chain: Chain | None = None
        self.stages: tuple[Stage, ...] = ()
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 540, self.dpi)
        with style.styled():
            axes = self.canvas.figure.add_axes((0.145, 0.12, 0.385, 0.79))
            self._bars = LinkBars(self.canvas, axes, _PLACES, self.units)
            self._stage_paper(self.canvas.figure.add_axes((0.735, 0.12, 0.245, 0.79)))

    def _stage_paper(self, axes) -> None:
        self._way = axes
        axes.set_xscale("log")
        axes.set_xlim(style.small(0.9, self.units), style.small(9000, self.units))
        axes.set_ylim(11.6, -0.6)
        axes.set_yticks([])
        axes.set_xlabel(f"out by ({style.small_unit(self.units)}, log scale)")
        axes.grid(axis="x", color="#DDDDDD", lw=0.8)
        axes.set_title("The job, on paper", loc="left", x=-0.72)
        make = self.canvas.moving
        self._line = make(axes.plot([1], [0], color="#999999", lw=1.2)[0])
        self._dots = make(axes.plot([1], [0], "o", color=style.ORANGE, ms=8)[0])
        self._stages = [
            make(
                axes.text(
                    -0.03, 0, "", transform=axes.get_yaxis_transform(), ha="right", va="center", fontsize=style.SMALL
                )
            )
            for _ in range(12)
        ]
        self._out = [Words(axes, style.SMALL) for _ in range(12)]
        make(*self._out)

    def draw(self, own_um, zoom, **values) -> str:
        """Combine the links; give the sentence."""
        shop = Workshop(wave_mm=self.shop.wave_mm, reach_mm=self.shop.reach_mm, **values)
        own = self.own + ((Link(_OWN, own_um),) if own_um > 0 else ())
        chain, stages = workshop_chain(shop, own), on_paper(shop, self.start_um)
        self.chain, self.stages = chain, stages
        self._bars.show(chain, zoom)
        self._show_way([*stages[:-1], Stage("aligned machine", float(chain.expanded_um), chain.names)])
        return self._words(chain, stages)

    def _show_way(self, stages: list[Stage]) -> None:
        most = len(self._stages)
        shown = stages if len(stages) <= most else [*stages[: most - 5], *stages[-5:]]
        out = np.array([style.small(max(s.out_um, 0.9), self.units) for s in shown])
        rows = np.arange(len(shown))
        low, high = self._way.get_xlim()
        self._dots.set_data(out, rows)
        self._line.set_data(np.stack([0 * out + low, out, np.nan * out], axis=1).ravel(), np.repeat(rows, 3))
        for k, (name, said) in enumerate(zip(self._stages, self._out)):
            there = k < len(shown)
            name.set_text(shown[k].name if there else "")
            name.set_position((-0.03, k))
            said.set_text(style.spell(shown[k].out_um, self.units) if there else "")
            said.set_position((out[k] * 1.35 if there else low, k))

    def _words(self, chain: Chain, stages: tuple[Stage, ...]) -> str:
        def spell(um: float) -> str:
            return style.spell(float(um), self.units)

        worst = int(chain.weakest)
        rounds = max(s.round for s in stages)
        return (
            f"A black bar {spell(stages[0].out_um)} out takes {counted(rounds, 'round')} of three "
            "land gauges. Then come "
            f"a straightedge within ± {spell(stages[-4].out_um)}, a bed within ± {spell(stages[-3].out_um)} and an "
            f"aligned machine within ± {spell(chain.expanded_um)} (95 %). All links together have a "
            "standard uncertainty of "
            f"{spell(chain.combined_um)}. {shared_words(chain, spell)}Improve {chain.names[worst]} first: "
            f"{100 * chain.share[worst]:.0f} % of the variance is there, and halving it would leave "
            f"{spell(chain.if_halved_um[worst])}."
        )
