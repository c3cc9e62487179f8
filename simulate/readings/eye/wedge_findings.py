"""What a wedge test of the learner's own eye says."""

from __future__ import annotations

import numpy as np
import scipy

from simulate.bench.looking.eye import gap_seen_um
from simulate.core.number_format import three, two
from simulate.readings.adjustment.consistency import DOUBTFUL, LOW, Consistency
from simulate.readings.adjustment.next_reading import NextReading, Option
from simulate.readings.adjustment.observations import of_round
from simulate.readings.eye.wedge import SolvedWedge, look_bits, solve_wedge, threshold_sd_after
from simulate.readings.outcome.findings_record import Findings, cautions
from simulate.readings.table.readings import Readings

_FINE, _MOST_AHEAD = 120, 20


def eye_consistency(solution: SolvedWedge, table: Readings) -> Consistency:
    """Hold how often each mark was seen against the curve.

    `table`: the round that was solved.

    Pearson's sum of squares, and his residuals made standard by each mark's leverage (from memory: P. McCullagh
    and J. Nelder, Generalized Linear Models). With few looks at a mark the chances are rough.
    """
    eye, looks, chance = solution.eye, table.looks.astype(float), solution.expected / table.looks
    weight = np.maximum(looks * chance * (1 - chance), 1e-12)
    inner = scipy.special.expit((table.gap_um - eye.threshold_um) / eye.spread_um)
    slope = (1 - eye.false_open - eye.missed) * inner * (1 - inner)
    rows = np.stack([np.ones_like(table.gap_um), table.gap_um - eye.threshold_um], axis=-1)
    rows = rows * (slope * np.sqrt(looks / np.maximum(chance * (1 - chance), 1e-12)))[:, None]
    leverage = np.clip(np.einsum("mi,ij,mj->m", rows, np.linalg.pinv(rows.T @ rows), rows), 0, 1)
    pearson = (table.seen - solution.expected) / np.sqrt(weight)
    dof = max(np.unique(table.gap_um).size - 2, 0)
    checked = leverage < 1 - 1e-7
    if not dof or not checked.any():
        return Consistency(
            None,
            0,
            None,
            (),
            None,
            None,
            None,
            tuple(int(r) for r in table.row),
            None,
            ("Two widths of gap set threshold and slope width, and nothing checks them.",),
        )
    standard = np.where(checked, pearson / np.sqrt(np.where(checked, 1 - leverage, 1.0)), 0.0)
    chi = float(pearson @ pearson)
    probability, worst = float(scipy.stats.chi2.sf(chi, table.gap_um.size - 2)), int(np.argmax(np.abs(standard)))
    chance_row = float(
        -np.expm1(checked.sum() * np.log1p(-min(2 * scipy.stats.norm.sf(abs(standard[worst])), 1 - 1e-12)))
    )
    verdict = (
        "the curve does not fit"
        if probability < LOW
        else "the curve fits poorly"
        if probability < DOUBTFUL
        else "the curve fits"
    )
    said = (
        (
            f"Chi-squared is {three(chi)} on {table.gap_um.size - 2} degree{'s' * (table.gap_um.size != 3)} of "
            f"freedom: {verdict}."
        ),
        f"The mark that fits worst is row {table.row[worst]}, at {table.gap_um[worst]:g} um: seen "
        f"{table.seen[worst]} of {table.looks[worst]} times, where {two(solution.expected[worst])} was to be expected"
        + ("; look there again." if chance_row < DOUBTFUL else ", about what the worst of so many marks would be."),
    )
    return Consistency(
        chi,
        table.gap_um.size - 2,
        probability,
        (),
        int(table.row[worst]),
        float(standard[worst]),
        chance_row,
        tuple(int(r) for r in table.row[~checked]),
        None,
        said,
    )


def next_gap(solution: SolvedWedge, table: Readings) -> NextReading:
    """Choose the width of gap at which as many looks again bring the standard deviation of the threshold down most.

    Returns: its gain is what a single look tells.
    """
    eye, looks = solution.eye, min(int(np.median(table.looks)), _MOST_AHEAD)
    top = max(float(table.gap_um.max()), eye.threshold_um + 4 * eye.spread_um)
    gap = np.linspace(0, top, _FINE + 1)[1:]
    before, after, bits = eye.threshold_sd_um, threshold_sd_after(solution, gap, looks), look_bits(solution, gap)
    order = np.argsort([float(f"{one:.6e}") for one in after], kind="stable")
    options = tuple(Option(name=f"{gap[k]:.4g} um", sd_after=float(after[k]), gain_bits=float(bits[k])) for k in order)
    best = float(gap[order[0]])
    return NextReading(
        f"a gap of {three(best)} um",
        options[0].gain_bits,
        before,
        options[0].sd_after,
        "um",
        options,
        f"Try a gap of {three(best)} um next. More than at any other width, {looks} trial{'s' * (looks != 1)} there "
        f"would cut the standard deviation of your threshold, from {two(before)} to {two(options[0].sd_after)} um "
        f"({two(options[0].gain_bits)} bits a trial).",
    )


def _ends(ends: tuple[float, float]) -> str:
    return f"{three(ends[0])} to {three(ends[1])} um"


def of_wedge(
    table: Readings, reading_sd_um: float | None = None, round: int | None = None, target_um: float | None = None
) -> Findings:
    """Say what a wedge test says.

    `reading_sd_um`: not used: the looks tell the spread themselves. `target_um`: not used: an eye has no target.
    """
    solution = solve_wedge(table, round)
    used = of_round(table, solution.round)
    eye, agree, following = solution.eye, eye_consistency(solution, used), next_gap(solution, used)
    rows = (
        (
            "threshold, seen in half of all trials",
            f"{three(eye.threshold_um)} um",
            _ends((solution.low_um, solution.high_um)),
        ),
        ("threshold, if both rates were known", "-", _ends(eye.known_95_um)),
        ("spread", f"{three(eye.spread_um)} um", _ends(eye.left.range_95("spread_um"))),
        ("seen 19 times in 20", f"{three(gap_seen_um(eye))} um", _ends(solution.often_95_um)),
        *(
            (name, f"{100 * rate:.1f} %", f"{100 * ends[0]:.1f} to {100 * ends[1]:.1f} %")
            for name, rate, ends in (
                ("called open where it was dark", eye.false_open, eye.false_open_95),
                ("called dark however wide it was", eye.missed, eye.missed_95),
            )
        ),
    )
    detail = tuple(
        (f"{g:g}", str(n), str(k), three(e))
        for g, n, k, e in zip(used.gap_um, used.looks, used.seen, solution.expected)
    )
    return Findings(
        "wedge",
        table.source,
        solution.round,
        solution,
        (solution.sentence, *agree.sentences, following.sentence),
        ("what", "value", "95 %"),
        rows,
        agree,
        (
            "A wedge whose zero is wrong shifts the threshold by as much, and no reading would reveal it.",
            "An eye that expects light sees it: only marks that somebody else covers show how often.",
            "A tired eye, another lamp and a wider land have other thresholds.",
        ),
        following,
        (
            f"File until no gap is seen: what is left is then below {three(gap_seen_um(eye))} um 19 times out of 20, "
            "but not zero.",
        ),
        cautions("given", "Rest the eyes between trials, and never look into a bare lamp."),
        ("gap, um", "trials", "seen", "expected"),
        detail,
    )
