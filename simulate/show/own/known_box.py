"""The widgets by which a learner says that a body is known already, and from what."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape

import ipywidgets as widgets

from simulate.core.refusal import Refusal
from simulate.readings.known_roles import NAMED, gives, may_be_known
from simulate.readings.logbook.entry import DependsOn, Entry
from simulate.readings.squares.flat_opening import FLAT
from simulate.readings.squares.flat_opening import KINDS as FLATS
from simulate.readings.table.read import read_readings
from simulate.readings.table.readings import Readings
from simulate.show.drawing import style

Links = dict[str, DependsOn]
CERTIFICATE = "a certificate"
_FORM = {"bars": "Straightness", "plates": "Flatness", "squares": "Angle"}
_STYLE = {"description_width": "12em"}


@dataclass(frozen=True)
class Origin:
    """A body of a set of the logbook, as a list shows it."""

    words: str
    set: str
    earlier: str


def origins(book: Sequence[Entry], kind: str, own: str = "") -> tuple[Origin, ...]:
    """Give every body of one kind that the sets of a logbook give, those of the newest set first.

    `own`: identity of the set that is shown, which is left out.

    >>> one = Entry("lower,upper,position_mm,gap_um\\nA,B,0,1\\n", taken="3 May")
    >>> [origin.words for origin in origins([one], "bars")]
    ['A in set 1 (3 May)', 'B in set 1 (3 May)']
    """
    found = []
    for number, entry in reversed(list(enumerate(book, 1))):
        if entry.struck or entry.identity == own:
            continue
        try:
            table = read_readings(entry.readings.encode("utf-8", "replace"), entry.name)
        except Refusal:
            continue
        when = entry.taken or entry.written[:10] or "older"
        names = [name for name, own_kind in gives(table).items() if own_kind in (FLATS if kind == FLAT else (kind,))]
        found += [Origin(f"{name} in set {number} ({when})", entry.identity, name) for name in names]
    return tuple(found)


class KnownBox:
    """Which bodies are known already, and from what; a body is taken as known by a button, so by keys alone.

    `book`: gives the sets of the logbook. `changed`: takes what the bodies of the readings that are listed are known
    from; where it refuses, all stays as it was. `attempt`: runs an act; where it is refused, shows the sentence.
    `links`: body -> what it is known from, of the readings that are shown.
    """

    def __init__(
        self,
        book: Callable[[], Sequence[Entry]],
        changed: Callable[[Links], None],
        attempt: Callable[[Callable[[], None]], None],
        units: str,
    ) -> None:
        self._book, self._changed, self._units = book, changed, units
        self.links: Links = {}
        self._listed: Links = {}  # of the readings that are listed, which may still be refused
        self._kinds: dict[str, str] = {}
        self._identity, self._origins = "", ()

        def field(words: str, value: float) -> widgets.FloatText:
            layout = widgets.Layout(width="20em")
            return widgets.FloatText(value=value, description=words, style=_STYLE, layout=layout)

        wide = widgets.Layout(width="32em")
        self.body = widgets.Dropdown(options=[], description="Body", style=_STYLE, layout=wide)
        self.source = widgets.Dropdown(options=[CERTIFICATE], description="Source", style=_STYLE, layout=wide)
        self.value, self.expanded, self.k = (
            field("Certified value", 0.0),
            field("Uncertainty U", 0.0),
            field("Factor k", 2.0),
        )
        self.words = widgets.Text(description="Certificate", style=_STYLE, layout=wide)
        self.keep, self.drop = (
            widgets.Button(description=words, layout=widgets.Layout(width="14em"))
            for words in ("Take as known", "No longer known")
        )
        self.keep.on_click(lambda _: attempt(self._keep))
        self.drop.on_click(lambda _: attempt(self._drop))
        self.body.observe(lambda _: self._list(), names="value")
        self.source.observe(lambda _: self._fit(), names="value")
        self.said = widgets.HTML()
        room = widgets.Layout(overflow="visible", flex_flow="row wrap", padding="2px")
        self.certificate = widgets.HBox([self.value, self.expanded, self.k, self.words], layout=room)
        inner = widgets.VBox(
            [
                widgets.HBox([self.body, self.source], layout=room),
                self.certificate,
                widgets.HBox([self.keep, self.drop], layout=room),
            ]
        )
        self.view = widgets.VBox([widgets.Accordion([inner], titles=("A body that is known already",)), self.said])

    @property
    def listed(self) -> Links:
        """What the page says that bodies are known from."""
        return self._listed

    def of(self, table: Readings) -> tuple[DependsOn, ...]:
        """Say what bodies of a table are known from."""
        return tuple(self.links[name] for name in may_be_known(table) if name in self.links)

    def follow(self, table: Readings, own: str = "") -> None:
        """List the bodies of a table, and what they may be known from."""
        self._kinds, self._identity, self._listed = may_be_known(table), own, self.links
        chosen, names = self.body.value, tuple(self._kinds)
        self.body.options = names
        first = table.names[-1] if table.kind in NAMED else names[0] if names else None
        self.body.value = chosen if chosen in names else first
        for part in (self.keep, self.drop):
            part.disabled = not names
        self._list()
        self._tell()

    def _list(self) -> None:
        """List what the chosen body may be known from."""
        kind = self._kinds.get(self.body.value, "")
        self._origins = origins(self._book(), kind, self._identity) if kind else ()
        source = self.source.value
        listed = [*(one.words for one in self._origins), CERTIFICATE]
        self.source.options = listed
        self.source.value = source if source in listed else listed[0]
        unit = "µm in a metre" if kind == "squares" else style.small_unit(self._units)
        self.value.description = f"{_FORM.get(kind, 'Value')} ({unit})"
        self.expanded.description = f"± U ({unit})"
        self._fit()

    def _fit(self) -> None:
        self.certificate.layout.display = "" if self.source.value == CERTIFICATE else "none"

    def _tell(self) -> None:
        listed = "; ".join(
            f"{one.body} is known from {self._words(one)}" for one in self._listed.values() if one.body in self._kinds
        )
        self.said.value = f"<p role='status' style='font-size:15px'>{escape(listed)}.</p>" if listed else ""

    def _words(self, one: DependsOn) -> str:
        if not one.set:
            return one.said or CERTIFICATE
        listed = origins(self._book(), self._kinds[one.body], self._identity)
        same = [each.words for each in listed if (each.set, each.earlier) == (one.set, one.earlier)]
        return same[0] if same else f"{one.earlier} in a set that this logbook does not hold"

    def _um(self, value: float) -> float:
        return value if self._kinds.get(self.body.value) == "squares" else style.to_um(value, self._units)

    def _keep(self) -> None:
        body = self.body.value
        kind = self._kinds.get(body, "")
        if self.source.value == CERTIFICATE:
            said = f"the certificate of {self.words.value.strip()}" if self.words.value.strip() else ""
            value, expanded = self._um(self.value.value), self._um(self.expanded.value)
            one = DependsOn(body=body, value=value, expanded=expanded, k=self.k.value, said=said, kind=kind)
        else:
            origin = next(each for each in self._origins if each.words == self.source.value)
            one = DependsOn(body=body, set=origin.set, earlier=origin.earlier, kind=kind)
        self._take({**self._listed, body: one})

    def _drop(self) -> None:
        self._take({name: one for name, one in self._listed.items() if name != self.body.value})

    def _take(self, links: Links) -> None:
        before = self._listed
        try:
            self._changed(links)
        except Exception:
            self._listed = before
            raise
        finally:
            self._tell()
