"""Check yourself: questions with the student's own figures, and what an answer gets back."""

from __future__ import annotations

import html
import textwrap
import zlib
from collections.abc import Callable

import ipywidgets as widgets
import numpy as np

from simulate.show import questions as first
from simulate.show import questions_bars as later
from simulate.show import questions_chain as chain
from simulate.show import questions_faces as faces
from simulate.show import questions_lands as lands
from simulate.show import questions_limits as limits
from simulate.show import questions_own as own
from simulate.show import questions_planning as planning
from simulate.show import questions_plates as plates
from simulate.show import questions_practice as practice
from simulate.show import questions_squares as squares
from simulate.show import questions_survey as survey
from simulate.show import questions_workshop as workshop
from simulate.show.answer_record import Answer
from simulate.show.answers import Kind, Verdict, judge, say
from simulate.show.fault import faults_shown
from simulate.show.given import ANSWERS
from simulate.show.question import Question
from simulate.show.turning import shown
from simulate.show.units import chosen_units, in_both
from simulate.surface import checks

_LESSONS: dict[str, tuple[Callable, ...]] = {
    "00": (first.start_thou, first.start_mm, first.start_sign, first.start_metal, first.start_again),
    "01": (first.straight_line, first.straight_ends, first.straight_tilt, first.straight_zone, first.straight_judge),
    "02": (first.gap_wedge, first.gap_dark, first.gap_feeler, first.gap_rock, first.gap_compound, first.gap_middle),
    "03": (later.two_opposite, later.two_double, later.two_gap, later.two_equal, later.two_proof),
    "04": (later.three_solve, later.three_round, later.three_count, later.three_file, later.three_sigma),
    "05": (later.hidden_s, later.hidden_bow, later.hidden_reversal, later.hidden_twist, later.hidden_turned,
           later.hidden_proof),
    "06": (own.own_blades, own.own_light, own.own_repeat, own.own_pairs, own.own_stop),
    "07": (lands.lands_gauge, lands.lands_two_gauges, lands.lands_fits, lands.lands_hollow, lands.lands_turned,
           lands.lands_spare),
    "08": (lands.far_square, lands.far_double, lands.far_random, lands.far_anchor, lands.far_check, lands.far_between,
           lands.far_levels),
    "09": (plates.plates_solve, plates.plates_twist, plates.plates_share, plates.plates_grade, plates.plates_middle,
           plates.plates_film),
    "10": (plates.turns_twist, plates.turns_pinwheel, plates.turns_count_half, plates.turns_gain, plates.turns_oblong),
    "11": (survey.edge_twist, survey.edge_strips, survey.edge_corners, survey.edge_passes, survey.edge_order),
    "12": (survey.survey_step, survey.survey_sum, survey.survey_closure, survey.survey_hides, survey.survey_repeat),
    "13": (squares.square_double, squares.square_solve, squares.square_light, squares.square_reverse,
           squares.square_strip, squares.square_cylinder, squares.square_pair),
    "14": (faces.faces_double, faces.faces_last, faces.faces_show, faces.faces_caliper, faces.faces_order),
    "15": (squares.bed_strips, squares.bed_opposite, squares.bed_turn, squares.bed_shim, squares.bed_reversal,
           squares.bed_cross, squares.bed_diagonals),
    "16": (chain.chain_sum, chain.chain_bound, chain.chain_heat, chain.chain_halve, chain.chain_square,
           chain.chain_shared),
    "17": (limits.bend_depth, limits.bend_length, limits.bend_inset, limits.bend_shared, limits.bend_over,
           limits.bend_turn, limits.bend_three),
    "18": (limits.warm_bow, limits.warm_wait, limits.warm_grow, limits.warm_hand, limits.warm_stone),
    "19": (planning.eye_half, planning.eye_sure, planning.eye_repeat, planning.eye_twice, planning.eye_jump,
           planning.eye_expect),
    "20": (planning.plan_share, planning.plan_hours, planning.plan_half, planning.plan_band, planning.plan_stop,
           planning.plan_tool),
    "21": (practice.practice_depth, practice.practice_turn, practice.practice_dark, practice.practice_where,
           practice.practice_stale, practice.practice_stop, practice.practice_belly),
    "22": (workshop.workshop_units, workshop.workshop_share, workshop.workshop_rounds, workshop.workshop_next,
           workshop.workshop_edit, workshop.workshop_shared),
}
_MAKERS = {f.__name__.replace("_", "-"): f for group in _LESSONS.values() for f in group}


def lessons() -> tuple[str, ...]:
    """Return the lessons that have questions, as two digits each.

    Returns
    -------
    tuple of str

    Examples
    --------
    >>> lessons()[:2]
    ('00', '01')
    """
    return tuple(_LESSONS)


def names(lesson: str | None = None) -> tuple[str, ...]:
    """Return the names of the questions, of one lesson or of all.

    Parameters
    ----------
    lesson : str, optional
        Two digits, ``"00"`` to ``"06"``.

    Returns
    -------
    tuple of str

    Raises
    ------
    ValueError
        Where there is no such lesson.

    Examples
    --------
    >>> names("03")
    ('two-opposite', 'two-double', 'two-gap', 'two-equal', 'two-proof')
    """
    if lesson is None:
        return tuple(_MAKERS)
    checks.choice(lesson, "lesson", tuple(_LESSONS))
    return tuple(f.__name__.replace("_", "-") for f in _LESSONS[lesson])


def question(name: str, seed: int | str = 0) -> Question:
    """Return one question with the figures that belong to `seed`.

    Parameters
    ----------
    name : str
        One of `names()`.
    seed : int or str
        The student's own number or word. The same seed gives the same figures.

    Returns
    -------
    Question

    Raises
    ------
    ValueError
        Where there is no such question.

    Examples
    --------
    >>> question("two-double", "bench 1") == question("two-double", "bench 1")
    True
    """
    checks.choice(name, "name", tuple(_MAKERS))
    rng = np.random.default_rng([zlib.crc32(name.encode()), zlib.crc32(str(seed).encode())])
    return _MAKERS[name](rng)


class Exercise(widgets.VBox):
    """A question with a field or choices, a check button, and the sentence that comes back.

    By keyboard: Tab to the field, type, Enter; or arrow keys for a choice, Tab
    to the button, Space.

    Parameters
    ----------
    name : str
        One of `names()`.
    seed : int or str
        The student's own number or word.

    Raises
    ------
    ValueError
        Where there is no such question.

    Examples
    --------
    >>> e = Exercise("two-gap", 1)
    >>> e.answer(e.question.answer)[:6]
    'Right.'
    """

    def __init__(self, name: str, seed: int | str = 0) -> None:
        self.name, self.seed, self.units, self._said = name, seed, chosen_units(), ""
        self.question = self._asked()
        self._words = widgets.HTML(self._text())
        self.field = self._make_field()
        self.button = widgets.Button(description="Check")
        self.feedback = widgets.HTML(layout=widgets.Layout(max_width="46em"))
        self.button.on_click(lambda _: self._check())
        self._restore()
        if not self.question.options:
            self.field.observe(lambda _: self._check(), "value")
        row = widgets.HBox([self.field, self.button], layout=widgets.Layout(flex_flow="row wrap"))
        super().__init__([self._words, row, self.feedback])
        self.add_class("workshop-panel")

    def _asked(self) -> Question:
        """Return the question with this student's figures."""
        return question(self.name, self.seed)

    def _text(self) -> str:
        """Return the question as it is shown."""
        return f"<p style='max-width:46em;line-height:1.4'>{html.escape(in_both(self.question.text, self.units))}</p>"

    def _choices(self) -> list[tuple[str, str]]:
        return [(in_both(option, self.units), option) for option in self.question.options]

    def turn_units(self, units: str) -> None:
        """Put inches beside the lengths, or take them away; what was answered stays.

        Parameters
        ----------
        units : {"mm", "inch"}
        """
        self.units = units
        self._words.value = self._text()
        if self.question.options:
            given = self.field.value
            with self.field.hold_sync():
                self.field.options = self._choices()
                self.field.value = given
        if self._said:
            self._show_said()

    def _make_field(self) -> widgets.Widget:
        """Return the choices, or the field for a number."""
        if self.question.options:
            return widgets.RadioButtons(options=self._choices(), value=None, description="Answer",
                                        layout=widgets.Layout(width="max-content", max_width="100%"))
        return widgets.Text(description=f"Answer, {self.question.unit}", placeholder="a number", continuous_update=False,
                            style={"description_width": "initial"})

    def _check(self) -> None:
        with faults_shown(self.feedback):
            verdict = self._judged(self.field.value)
            self._said = self._told(verdict)
            ANSWERS.keep(self.name, self.seed, self.field.value, verdict)
            if ANSWERS.trouble and verdict.taken:
                self._said += f" It is kept only as long as this lesson runs: {ANSWERS.trouble}"
            self._show_said()

    def _restore(self) -> None:
        """Put the answer that was kept, and what it got back, where they were."""
        record = ANSWERS.restored(self.name, self.seed)
        if record is None:
            return
        given = self._counts(record)
        if not self.question.options or given in self.question.options:
            self.field.value = given
            self._said = self.answer(given)
            self._show_said()

    def _counts(self, record: Answer) -> str:
        """Return the answer that counts: right once is right, otherwise the last."""
        return next((t.given for t in record.tries if judge(self.question, t.given).kind is Kind.RIGHT), record.last)

    def _judged(self, given: float | str | None) -> Verdict:
        """Return how an answer is judged and stored."""
        return judge(self.question, given)

    def _told(self, verdict: Verdict) -> str:
        """Return what a verdict is told as."""
        return say(verdict)

    def _show_said(self) -> None:
        self.feedback.value = f"<p role='status' aria-live='polite'>{html.escape(in_both(self._said, self.units))}</p>"

    def answer(self, given: float | str) -> str:
        """Return what `given` gets back, without touching the panel.

        Parameters
        ----------
        given : float or str

        Returns
        -------
        str

        Examples
        --------
        >>> Exercise("two-proof", 1).answer("")
        'Choose one of the answers first, then check.'
        """
        return self._told(self._judged(given))

    def __repr__(self) -> str:
        """Return the question in words, the same in every run."""
        lines = textwrap.wrap(in_both(self.question.text, self.units), 88)
        lines += [f"  ( ) {words}" for words, _ in self._choices()]
        if not self.question.options:
            lines.append(f"  Answer: ______ {self.question.unit}")
        return "\n".join(lines)

    def _repr_mimebundle_(self, **kwargs: object) -> dict:
        """Return the panel, with the whole question in words beside it."""
        shown(self)
        bundle = super()._repr_mimebundle_(**kwargs)
        data = bundle[0] if isinstance(bundle, tuple) else bundle
        data["text/plain"] = repr(self)
        return bundle
