"""A figure that answers at once: the still parts are drawn once, the moving parts each time."""

from __future__ import annotations

import base64
import html as _html
import io
from collections.abc import Sequence

import numpy as np
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.colors import to_rgb
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.lines import Line2D
from PIL import Image

from simulate.core.byte_cache import remembered
from simulate.show.drawing.palette import quick_png
from simulate.show.drawing.style import RC, WALL_AXES, WALL_DPI, styled

_EDGE_PX = 3
STYLE = "max-width:100%;max-height:75vh;display:block"


class Canvas:
    """A matplotlib figure with a copied background.

    `dpi`: from `style.WALL_DPI` on it is for a projector: the picture holds as much, drawn finer, and the letters on
    its axes are larger. `ahead` (bool): whether curves along a run are drawn to its end, or only as far as the look
    that is shown. `lit` (bool): whether it holds maps that a lamp lights, which have colours of their own.

    >>> canvas = Canvas(200, 100)
    >>> axes = canvas.figure.add_axes((0.2, 0.2, 0.7, 0.7))
    >>> line = canvas.moving(axes.plot([0, 1], [0, 1])[0])
    >>> before = canvas.paint()
    >>> line.set_ydata([1, 0])
    >>> canvas.paint() != before
    True
    """

    def __init__(self, width_px: int = 1280, height_px: int = 640, dpi: int = 100) -> None:
        with styled():
            self.figure = Figure((width_px / 100, height_px / 100), dpi=dpi, facecolor="white")
        self._agg = FigureCanvasAgg(self.figure)
        self._moving: list[Artist] = []
        self._slow: list[Artist] = []
        self._background = self._settled = None
        self.full_draws = 0
        self.ahead = True
        self.lit = False

    def moving(self, *artists: Artist) -> Artist:
        """Take artists out of the background; they are drawn anew by every `paint`.

        Returns: the first of them.
        """
        for artist in artists:
            artist.set_animated(True)
            self._moving.append(artist)
        self._moving.sort(key=lambda a: a.get_zorder())
        return artists[0]

    def slow(self, *artists: Artist) -> Artist:
        """Take out artists that change now and then; they are drawn anew only after `renew`, below the moving ones.

        Returns: the first of them.
        """
        for artist in artists:
            artist.set_animated(True)
            self._slow.append(artist)
        self._slow.sort(key=lambda a: a.get_zorder())
        return artists[0]

    def renew(self) -> None:
        """Have the next `paint` draw the slow artists again; axes and ticks stay as they are."""
        self._settled = None

    def invalidate(self) -> None:
        """Have the next `paint` draw the background again: axes, ticks or still lines have changed."""
        self._background = None

    def pixels(self) -> np.ndarray:
        """Draw the moving artists over the background.

        Returns (rows, columns, 3).
        """
        return np.ascontiguousarray(self._drawn()[..., :3])

    def _drawn(self) -> np.ndarray:
        if self._background is None:
            with styled():
                self._draw_background()
        if self._settled is None:
            self._draw(self._background, self._slow)
            self._settled = self._agg.copy_from_bbox(self.figure.bbox)
        self._draw(self._settled, self._moving)
        return np.asarray(self._agg.buffer_rgba())

    def paint(self, few: bool = False) -> bytes:
        """Draw the moving artists over the background and encode the picture.

        `few`: in few colours, for a film. Returns: a PNG.
        """
        return quick_png(self._drawn(), "few" if few else "relief" if self.lit else "all")

    def _draw(self, still, artists: list[Artist]) -> None:
        self._agg.restore_region(still)
        for artist in artists:
            artist.draw(self._agg.get_renderer())

    def _draw_background(self) -> None:
        if self.figure.dpi >= WALL_DPI:
            self._for_a_wall()
        if self.figure.get_layout_engine() is not None:
            self.figure.draw_without_rendering()
            self.figure.set_layout_engine("none")
        self._agg.draw()
        self._background, self._settled = self._agg.copy_from_bbox(self.figure.bbox), None
        self.full_draws += 1

    def _for_a_wall(self) -> None:
        """Enlarge the letters of all axes, and draw in those whose names would then leave the picture."""
        for axis in (axis for axes in self.figure.axes for axis in (axes.xaxis, axes.yaxis)):
            axis.set_tick_params(which="both", labelsize=WALL_AXES)
            axis.label.set_fontsize(max(WALL_AXES, axis.label.get_fontsize()))
        self.figure.draw_without_rendering()
        wide, high = self.figure.bbox.size
        for axes in self.figure.axes:
            left, low = (
                max(_EDGE_PX - at, 0) * bool(axis.label.get_text())
                for axis, at in (
                    (axes.yaxis, axes.yaxis.label.get_window_extent().x0),
                    (axes.xaxis, axes.xaxis.label.get_window_extent().y0),
                )
            )
            if left or low:
                place = axes.get_position()
                axes.set_position(
                    (
                        place.x0 + left / wide,
                        place.y0 + low / high,
                        place.width - left / wide,
                        place.height - low / high,
                    )
                )


class Words(Artist):
    """Moving text that is set once for each wording and then stamped: text is what costs most in a small change.

    `axes` (Axes). `size`: in points. `ha`, `va`: ``"left"`` or ``"center"``; ``"top"``, ``"center"`` or ``"bottom"``.
    """

    def __init__(self, axes, size: float, ha: str = "left", va: str = "center", colour: str = "black") -> None:
        super().__init__()
        self.set_zorder(7)
        self._size, self._ha, self._va, self._colour = size, ha, va, colour
        self._text, self._at = "", (0.0, 0.0)
        axes.add_artist(self)

    def set_text(self, text: str) -> None:
        """Change the wording."""
        self._text = text

    @property
    def said(self) -> str:
        """The wording, empty where nothing is shown."""
        return self._text

    def set_position(self, at: tuple[float, float]) -> None:
        """Move the text, in the data of its axes."""
        self._at = at

    def size(self) -> np.ndarray:
        """Say how many dots the text is wide and high.

        Returns (2,).
        """
        return np.array(self._stamped().shape[1::-1])

    def box(self) -> np.ndarray:
        """Say which dots the text covers.

        Returns (4,): left, low, right, high.
        """
        low = np.round(self.axes.transData.transform(self._at) - self._held())
        return np.concatenate([low, low + self.size()])

    def _held(self) -> np.ndarray:
        """Where the text is held, from its lower left corner in dots."""
        return self.size() * ({"left": 0, "center": 0.5}[self._ha], {"bottom": 0, "center": 0.5, "top": 1}[self._va])

    def put_clear(self, places: np.ndarray, room: Room) -> None:
        """Move the text to where it covers nothing, and take that place.

        `places` (places, 2): in dots, where the text may stand, the best first.
        """
        low = places - self._held()
        boxes = np.concatenate([low, low + self.size()], axis=1)
        best = room.cost(boxes).argmin()
        room.fill(boxes[best])
        self._at = tuple(self.axes.transData.inverted().transform(places[best]))

    def _stamped(self) -> np.ndarray:
        return _stamp(self._text, self._size, self.axes.figure.dpi, self._colour)

    def draw(self, renderer) -> None:
        """Stamp the text."""
        if self._text:
            x, y = self.box()[:2]
            renderer.draw_image(renderer.new_gc(), int(x), int(y), self._stamped())


class Room:
    """What is still free of some axes: cells of a few dots, and what stands in each.

    >>> canvas = Canvas(200, 100)
    >>> axes = canvas.figure.add_axes((0, 0, 1, 1))
    >>> room = Room(axes, axes.plot([0, 1], [0, 1]), np.zeros((0, 2)))
    >>> [bool(cost > 999) for cost in room.cost(np.array([[10, 5, 60, 40], [10, 70, 60, 90]]))]
    [True, False]
    """

    _CELL_PX, _CLEAR_PX = 4, 5

    def __init__(self, axes, lines: Sequence[Line2D], weak: np.ndarray) -> None:
        """`lines`: what nothing may cover. `weak` (dots, 2): what had better not be covered."""
        self._low, self._high = axes.bbox.extents[:2], axes.bbox.extents[2:]
        self._taken = np.zeros(np.ceil((self._high - self._low) / self._CELL_PX).astype(int) + 1)
        for dots, weight in ((_along(lines), 1000.0), (weak, 1.0)):
            cell = np.floor((dots - self._low) / self._CELL_PX).astype(int)
            x, y = cell[((cell >= 0) & (cell < self._taken.shape)).all(axis=1)].T
            self._taken[x, y] = np.maximum(self._taken[x, y], weight)

    def fill(self, box: np.ndarray) -> None:
        """Take the cells of a box of dots."""
        x, y, right, high = self._cells(box[None])[0]
        self._taken[x:right, y:high] = 1000.0

    def cost(self, boxes: np.ndarray) -> np.ndarray:
        """Say what each box would cover, as what leaves the axes does.

        `boxes` (boxes, 4): left, low, right, high. Returns (boxes,): below 1000 where it is nothing that matters; of
        those alike the first is the cheapest.
        """
        sums = np.zeros(np.array(self._taken.shape) + 1)
        sums[1:, 1:] = self._taken.cumsum(axis=0).cumsum(axis=1)
        x, y, right, high = self._cells(boxes).T
        covered = sums[right, high] - sums[x, high] - sums[right, y] + sums[x, y]
        out = np.maximum(self._low - boxes[:, :2], boxes[:, 2:] - self._high).clip(0).sum(axis=1)
        return covered + 1000 * out + 0.5 * np.arange(len(boxes))

    def _cells(self, boxes: np.ndarray) -> np.ndarray:
        first = np.floor((boxes[:, :2] - self._CLEAR_PX - self._low) / self._CELL_PX)
        last = np.ceil((boxes[:, 2:] + self._CLEAR_PX - self._low) / self._CELL_PX)
        return np.concatenate([np.clip(ends, 0, self._taken.shape) for ends in (first, last)], axis=1).astype(int)


def _along(lines: Sequence[Line2D]) -> np.ndarray:
    """Give places along lines, a few dots apart.

    Returns (dots, 2).
    """
    dots = [np.zeros((0, 2))]
    for line in lines:
        way = line.get_transform().transform(line.get_xydata())
        if len(way) > 1:
            along = np.r_[0, np.hypot(*np.diff(way, axis=0).T).cumsum()]
            at = np.linspace(0, along[-1], int(along[-1] / 3) + 2)
            dots.append(np.stack([np.interp(at, along, one) for one in way.T], axis=-1))
    return np.concatenate(dots)


@remembered
def _stamp(text: str, size: float, dpi: float, colour: str) -> np.ndarray:
    """Text on nothing, the lowest row first."""
    if "\n" in text:
        lines = [_stamp(line, size, dpi, colour) for line in text.split("\n")]
        high, wide = round(size * dpi / 72 * 1.3), max(line.shape[1] for line in lines)
        block = np.zeros((high * len(lines), wide, 4), np.uint8)
        for row, line in enumerate(reversed(lines)):
            block[row * high : row * high + line.shape[0], : line.shape[1]] = line[:high]
        return block
    font = get_font(findfont(FontProperties(family=RC["font.family"])))
    font.set_size(size, dpi)
    font.set_text(text, 0.0)
    font.draw_glyphs_to_bitmap(antialiased=True)
    ink = np.asarray(font.get_image())[::-1]
    stamp = np.zeros(ink.shape + (4,), np.uint8)
    stamp[..., :3] = np.round(255 * np.array(to_rgb(colour)))
    stamp[..., 3] = ink
    return stamp


def encode(pixels: np.ndarray, colours: int = 256) -> bytes:
    """Encode a picture as a small PNG, for files; slow beside `Canvas.paint`.

    `pixels` (rows, columns, 3). `colours`: cut down to so many colours of the picture's own.

    >>> encode(np.zeros((2, 2, 3), np.uint8))[1:4]
    b'PNG'
    """
    picture, out = Image.fromarray(pixels), io.BytesIO()
    picture = picture.quantize(colours, method=Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
    picture.save(out, "PNG", compress_level=6)  # 9 takes six times as long for a file 7 % smaller
    return out.getvalue()


def data_uri(png: bytes) -> str:
    """Give a PNG as an address that holds the picture itself.

    >>> data_uri(b"abc")
    'data:image/png;base64,YWJj'
    """
    return "data:image/png;base64," + base64.b64encode(png).decode("ascii")


def html(png: bytes, sentence: str, older: Sequence[bytes] = (), brief: str = "", folded: str = "") -> str:
    """Give a picture with its sentence, as alternative text and as a caption.

    `sentence`: plain words; escaped here. `older`: where given, these rise out of each other, the first of them opaque
    from the start, and the picture out of the last; `focus.FOCUS` holds the style. `brief`, `folded`: what the caption
    says instead of the sentence, and what it folds away under that; the alternative text holds the whole.

    >>> html(b"", 'a < b')[-10:]
    't; b</div>'
    >>> html(b"newer", "", [b"older"]).count("<img")
    2
    """
    words = _html.escape(sentence, quote=True)
    looks = "".join(
        f'<img src="{data_uri(one)}" alt="{alt}" decoding="sync" style="{STYLE};--at:{at}">'
        for at, one, alt in ((len(older), png, words), *((at, one, "") for at, one in enumerate(older)))
    )
    picture = f'<div class="workshop-rise">{looks}</div>' if older else looks
    if folded:
        first, rest = (_html.escape(part, quote=True) for part in (brief, folded))
        words = f"{first}<details><summary>Place by place</summary>{rest}</details>"
    return (
        f'{picture}<div class="workshop-words" role="status" style="font-size:15px;line-height:1.45;margin:4px '
        '0;max-width:75em">'
        f"{words}</div>"
    )
