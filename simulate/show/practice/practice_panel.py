"""The practice bench: work on hidden bodies, look, go on, and see the truth once you stop."""

from __future__ import annotations

import asyncio
import datetime
import os
import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext, suppress

from simulate.core.refusal import Refusal
from simulate.method.practice.acts import (
    PracticeState,
    lay,
    let_rest,
    level_of,
    look,
    start_practice,
    stop,
    swap,
    work,
    work_seen,
)
from simulate.method.practice.debrief import Debrief, debrief
from simulate.method.practice.fit_again import fit_again, last_fit
from simulate.method.practice.levels import LEVELS, look_s
from simulate.method.practice.par import Way, best_plan
from simulate.method.practice.records import number_of_the_day, trace
from simulate.method.practice.score import Challenge, next_challenge, same_start, score_sheet
from simulate.readings.logbook.practice_log import open_practice, save_practice
from simulate.show.drawing import style
from simulate.show.drawing.fault import faults_shown
from simulate.show.practice.act_controls import FREE
from simulate.show.practice.act_sentences import act_words, bench_words, listed_words, passes_words, verdict_words
from simulate.show.practice.debrief_sentences import debrief_words
from simulate.show.practice.desk import PracticeDesk
from simulate.show.practice.goal_line import goal_html, records_html
from simulate.show.practice.score_sheet import sheet_html
from simulate.show.practice.truth_picture import TruthPicture


class PracticePanel(PracticeDesk):
    """Three hidden bodies, the learner's own acts, and a debrief.

    Every act is saved at once, so that a kernel that dies costs nothing: the
    panel opens again where it was. Metal never goes back.

    Parameters
    ----------
    seed : int or str
        Which bodies: a class may share a number, or each take an own word.
    log : str
        The file that keeps the acts.
    error_um : float, optional
        How far each is out at the start; the level's usual error without it.
    length_mm : float, optional
    units : str, optional
    dpi : int
    level : str
        ``"lands"``, ``"bars"`` or ``"plates"``.

    Raises
    ------
    ValueError
        Where a setting is out of its range, or the log is damaged.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     PracticePanel(log=f"{folder}/go.json").sentence[:24]
    'Practice bars number 1, '
    """

    shows_light = True  # white is light in its picture, on a dark wall too

    def __init__(
        self,
        seed: int | str = 1,
        log: str = "my_practice.json",
        error_um: float | None = None,
        length_mm: float | None = None,
        units: str | None = None,
        dpi: int = 100,
        level: str = "bars",
    ) -> None:
        super().__init__(units, dpi)
        self.log, self._length = log, length_mm
        self.goes: list[PracticeState] = list(open_practice(log)) if os.path.exists(log) else []
        self.told: Debrief | None = None
        self.challenge: Challenge | None = None
        self.par: Way | None = None
        self._bring(start_practice(bench_number(seed), error_um, length_mm, level))
        self._moves()
        self._buttons()
        self._set_up()
        self._match()
        self.ready()

    @property
    def state(self) -> PracticeState:
        """The bench as it stands."""
        return self.goes[self._place]

    def _bring(self, fresh: PracticeState, another: bool = False) -> None:
        """Take up the last go on these bodies, or begin one; after a stop, `another` one."""
        goes = [go for go in self.goes if go.acts]
        mine = [i for i, go in enumerate(goes) if same_start(go, fresh)]
        if another and mine and goes[mine[-1]].stopped:
            mine = []
        self.goes = goes if mine else [*goes, fresh]
        self._place = mine[-1] if mine else len(goes)

    def _turned(self, state: PracticeState) -> PracticeState:
        turns = level_of(state).turns
        turned = turns[(turns.index(state.turned) + 1) % len(turns)]
        return lay(state, state.lower, state.upper, turned, state.press_mm, state.slide)

    def act(self, name: str) -> None:
        """Lay the bodies as chosen, do one act, keep it, and draw.

        Parameters
        ----------
        name : str
            ``"swap"``, ``"turn"``, ``"look"``, ``"touch"``, ``"fit"``, ``"place"``, ``"rest"`` or ``"stop"``.
        """
        desk, values = self._desk, self.values()
        do: dict[str, Callable] = {
            "swap": swap,
            "turn": self._turned,
            "look": lambda s: look(s, **desk.look(values)),
            "rest": lambda s: let_rest(s, values["hours"]),
            "stop": stop,
            "touch": lambda s: work_seen(s, **desk.touch(values)),
            "fit": fit_again,
            "place": lambda s: work(s, **desk.place(values)),
        }
        with self.acting(), self._working_out() if name == "stop" else nullcontext():
            before = lay(self.state, **desk.lay(values))
            self.goes[self._place] = do[name](before)
            self._match()
            done = max(after - then for after, then in zip(self.state.tally.cuts, before.tally.cuts))
            self._why = passes_words(values["passes"], done, values["sight"]) if name == "touch" else ""
            self._show_rows()
            self.refresh()
            self._save()

    @contextmanager
    def _working_out(self) -> Iterator[None]:
        """Say that the truth is being worked out, and take no second press, until it is there or was refused."""
        words = self.stop.description
        self.stop.description, self.stop.disabled = "Working out the truth ...", True
        self.message.value = told = (
            "<p role='status'>Working out the truth: your attempt, the plain loop and the best plan are "
            "worked through again. Plates take longest; the truth appears here when it is ready.</p>"
        )
        try:
            yield
        finally:
            self.stop.description, self.stop.disabled = words, False
            if self.message.value == told:
                self.message.value = ""

    def _save(self) -> None:
        try:
            save_practice(self.log, [go for go in self.goes if go.acts])
        except Refusal as refusal:
            self.refuse(f"{refusal} What you did is kept here, and is saved with the next action that can be saved.")

    def peek(self) -> None:
        """Draw what a look would show and keep nothing of it, for pages where nobody presses Look."""
        before = self.state
        with self.acting():
            try:
                self.goes[self._place] = look(
                    lay(before, **self._desk.lay(self.values())), **self._desk.look(self.values())
                )
                self.refresh()
            finally:
                self.goes[self._place] = before

    def _open(self, seed: int, error_um: float, level: str) -> None:
        with self.acting():
            length = self._length if level == self.state.level else None
            self._bring(start_practice(seed, error_um, length, level), another=True)
            self._set_up()
            self._match()
            self._show_rows()
            self.refresh()

    def open_chosen(self) -> None:
        """Open the bodies whose level, number and error are chosen; after a stop, another go on them."""
        self._open(self.number.value, self.rough.value, self.level.value)

    def open_today(self) -> None:
        """Open the bodies that everybody has today, at the level that is chosen."""
        level = LEVELS[self.level.value]
        self._open(number_of_the_day(datetime.date.today()), level.usual[0], level.name)

    def take_up(self) -> None:
        """Open what is to be tried next."""
        if self.challenge:
            self._open(self.challenge.seed, self.challenge.error_um, self.challenge.level)

    def _match(self) -> None:
        """Set controls to the go that is on the bench; after its stop, work out what it came to."""
        self._quiet, self._why = True, ""
        state = self.state
        self._look_for_par()
        for name in ("lower", "upper", "turned", "slide"):
            if name in self.controls:
                self.controls[name].value = getattr(state, name)
        if "press" in self.controls:
            self.controls["press"].value = FREE if state.press_mm is None else state.press_mm
        self.told = debrief(state) if state.stopped else None
        earlier = [go for go in self.goes[: self._place] if go.stopped and same_start(go, state)]
        before = trace(earlier[-1]) if self.told and earlier else None
        self._truth = TruthPicture(self.dpi, self.units, self.told, before) if self.told else None
        self.sheet.value, self.challenge = "", None
        if self.told:
            scores = score_sheet(self.goes[: self._place + 1], state)
            self.challenge = next_challenge(scores, state)
            told = debrief_words(self.told, self.units)
            sheet = sheet_html(told, scores, state, self.challenge, self.units, self.told.costs)
            self.sheet.value = sheet + records_html(self.goes, self.units)
            self.position.max = self.player.max = len(state.acts)
            self.position.description, self.position.value = "Action", len(state.acts)
        self._tell_goal()
        self._quiet = False

    def _tell_goal(self) -> None:
        self.goal.value = goal_html(self.state, self.goes, self.par, self.units)

    def _look_for_par(self) -> None:
        """Work out the best plan beside the kernel's own loop, once for these bodies; without a loop it waits for the
        stop."""
        state, self.par = self.state, None
        if state.stopped:
            self.par = best_plan(state)
            return
        with suppress(RuntimeError):  # no loop runs: nobody sees the line
            loop = asyncio.get_running_loop()
            self._par_task = loop.create_task(self._tell_par(state))

    async def _tell_par(self, state: PracticeState) -> None:
        with faults_shown(self.message):
            par = await asyncio.get_running_loop().run_in_executor(None, best_plan, state)
            if same_start(state, self.state):
                self.par = par
                self._tell_goal()

    def starts(self) -> list[int]:
        """Give the acts at which another pair was laid."""
        return [i for i, act in enumerate(self.state.acts, 1) if act.kind == "lay"]

    def draw(self, **values) -> str:
        """Draw the hidden bench, or the truth once it may be seen."""
        self.folded = ""
        if self.told:
            return self._draw_truth(self.position.value)
        state = lay(self.state, **self._desk.lay(values))
        cut, plan = self._desk.plan(state, values)
        self._hidden.show(state, cut, plan)
        self.canvas = self._hidden.canvas
        self._say_costs(values, state)
        self.folded = listed_words(state.answer, self.units)
        first = verdict_words(state.answer) or self._why
        whole, self.brief = (
            f"{first} {bench_words(state, self.units, listed)} {plan}.".strip() for listed in (True, False)
        )
        return whole

    def _say_costs(self, values: dict, laid: PracticeState) -> None:
        """Have the buttons of what takes long say how long."""
        hours = values["passes"] * look_s(self.state) / 3600
        self.touch.description = self._desk.buttons["touch"] + (f", {hours:.1f} h at the most" if hours >= 0.5 else "")
        if "hours" in values:
            self.rest.description = f"Let all rest {values['hours']:g} h"
        self.again_fit.disabled = not last_fit(laid)

    def _draw_truth(self, position: int) -> str:
        acts, body = self.state.acts, level_of(self.state).body
        done = act_words(acts[position - 1], self.units, body) if position else ""
        then = self.told.states[position]
        if position and acts[position - 1].kind in ("look", "file", "touch"):
            done += f"; {body} {then.upper + 1} on {body} {then.lower + 1}"
        act = f"Action {position} of {len(acts)}: {done}" if position else "The start"
        self._truth.show(position, act)
        self.canvas = self._truth.canvas
        now = ", ".join(
            f"{body} {i + 1} {style.spell(v, self.units)}" for i, v in enumerate(self.told.worst_um[position])
        )
        out = "flat" if self.state.level == "plates" else "straight"
        return f"{act}. The truth then, out of {out}: {now}. The full result is below."


def bench_number(seed: int | str) -> int:
    """Turn a student's word into the number of their own bodies; a number stays what it is.

    >>> bench_number(7), bench_number("bench 1") == bench_number("bench 2")
    (7, False)
    """
    return zlib.crc32(seed.encode()) % 1_000_000 if isinstance(seed, str) else seed
