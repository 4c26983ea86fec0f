"""Drawing sheets of shop-made gauges: views, dimensions with make tolerances, stack-up, and the card to fill in."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import wrap

from dwellwright.evidence.gauge.shop.design import GaugeForm, ShopGauge
from dwellwright.languages.catalogue import translated
from dwellwright.reports.drawings.drawing import (
    Anchor,
    Drawing,
    Layer,
    Line,
    Point,
    Primitive,
    Text,
    dimension,
    polyline,
)

SHEET_WIDTH, SHEET_HEIGHT, MARGIN = 297.0, 210.0, 8.0
"""ISO 216 A4, lying. [mm]"""

BAR_LENGTH, BAR_HEIGHT, LEG_WIDTH, PLATE = 60.0, 14.0, 6.0, 2.0
"""Depth gauge: bar across the face, legs, plate thickness. [mm]"""

HANDLE_DIAMETER, HANDLE_LENGTH, PLUG_LENGTH = 8.0, 30.0, 15.0
"""Plug: handle between its two ends. [mm]"""

CHECK_LENGTH = 100.0
"""A bar to measure on the print. [mm]"""

SCALES = (5.0, 4.0, 3.0, 2.0, 1.0)
NOTE_STEP, NOTE_TOP, CARD_TOP = 4.7, SHEET_HEIGHT - 17.0, 40.0
"""From one line of the notes to the next, where they begin, and where the card below them does. [mm]"""
NOTE_WIDTH, TITLE_WIDTH = 50, 34
"""Most characters in a line of the notes, and of their title."""

CAUTION = "Caution"
INVENTED = "INVENTED FIGURES: no such unit exists. Not for a car."


@dataclass(frozen=True)
class Source:
    """Where a drawing's figures come from: the sheet in words, and whether it is an invented one."""

    words: str = ""
    invented: bool = False


OWN_FIGURES = Source()
"""Figures that come from no sheet."""


def size_words(size: float, tolerance: float) -> str:
    """A size in metres as it stands on a drawing, in mm.

    >>> size_words(3.84e-3, 2e-5)
    '3.840 ±0.020'
    """
    return f"{size * 1e3:.3f} ±{tolerance * 1e3:.3f}"


def depth_outline(gauge: ShopGauge, scale: float, origin: Point) -> list[Point]:
    """Corners of the double-ended depth gauge: short leg down, long leg up. [mm]"""
    x, y = origin
    half, leg = BAR_LENGTH / 2 * scale, LEG_WIDTH / 2 * scale
    high, short, long = BAR_HEIGHT * scale, gauge.short * 1e3 * scale, gauge.long * 1e3 * scale
    return [
        (x - half, y), (x - leg, y), (x - leg, y - short), (x + leg, y - short), (x + leg, y), (x + half, y),
        (x + half, y + high), (x + leg, y + high), (x + leg, y + high + long), (x - leg, y + high + long),
        (x - leg, y + high), (x - half, y + high),
    ]  # fmt: skip


def plug_outline(gauge: ShopGauge, scale: float, origin: Point) -> list[Point]:
    """Corners of the plug seen from the side, go end left. [mm]"""
    x, y = origin
    go, no_go, grip = (gauge.short * 500 * scale, gauge.long * 500 * scale, HANDLE_DIAMETER / 2 * scale)
    handle, end = HANDLE_LENGTH / 2 * scale, PLUG_LENGTH * scale
    tail = end / 2
    return [
        (x - handle - end, y - go), (x - handle, y - go), (x - handle, y - grip), (x + handle, y - grip),
        (x + handle, y - no_go), (x + handle + tail, y - no_go), (x + handle + tail, y + no_go),
        (x + handle, y + no_go), (x + handle, y + grip), (x - handle, y + grip), (x - handle, y + go),
        (x - handle - end, y + go),
    ]  # fmt: skip


def _depth_view(gauge: ShopGauge, scale: float, origin: Point) -> list[Primitive]:
    x, y = origin
    half, leg, high = BAR_LENGTH / 2 * scale, LEG_WIDTH / 2 * scale, BAR_HEIGHT * scale
    short, long = gauge.short * 1e3 * scale, gauge.long * 1e3 * scale
    parts: list[Primitive] = [*polyline(depth_outline(gauge, scale, origin))]
    parts.append(Line((x, y - short - 4), (x, y + high + long + 4), Layer.CENTER))
    short_words, long_words = (size_words(size, gauge.make_tolerance) for size in (gauge.short, gauge.long))
    aside = half - leg + 8
    parts += dimension((x + leg, y), (x + leg, y - short), aside, short_words, Anchor.START)
    parts += dimension((x + leg, y + high), (x + leg, y + high + long), -aside, long_words, Anchor.START)
    parts += dimension((x - half, y), (x - half, y + high), 8, f"{BAR_HEIGHT:g}")
    parts += dimension((x - half, y + high), (x + half, y + high), long + 20, f"{BAR_LENGTH:g}")
    parts += dimension((x - leg, y - short), (x + leg, y - short), -9, f"{LEG_WIDTH:g}")
    return parts


def _plug_view(gauge: ShopGauge, scale: float, origin: Point) -> list[Primitive]:
    x, y = origin
    handle, end = HANDLE_LENGTH / 2 * scale, PLUG_LENGTH * scale
    go, no_go, grip = gauge.short * 500 * scale, gauge.long * 500 * scale, HANDLE_DIAMETER / 2 * scale
    parts: list[Primitive] = [*polyline(plug_outline(gauge, scale, origin))]
    parts.append(Line((x - handle - end - 6, y), (x + handle + end / 2 + 6, y), Layer.CENTER))
    low = max(go, no_go, grip)
    left, right = x - handle - end, x + handle + end / 2
    go_words = "⌀" + size_words(gauge.short, gauge.make_tolerance)
    no_go_words = "⌀" + size_words(gauge.long, gauge.make_tolerance)
    parts += dimension((left, y - go), (left, y + go), 10, go_words, Anchor.START)
    parts += dimension((right, y - no_go), (right, y + no_go), -10, no_go_words, Anchor.END)
    parts += dimension((left, y - go), (x - handle, y - go), -low - 10 + go, f"{PLUG_LENGTH:g}")
    parts += dimension((x - handle, y - grip), (x + handle, y - grip), -low - 10 + grip, f"{HANDLE_LENGTH:g}")
    tail = (x + handle, y - no_go), (right, y - no_go)
    parts += dimension(*tail, -low - 10 + no_go, f"{PLUG_LENGTH / 2:g}")
    return parts


def _fits(gauge: ShopGauge, scale: float) -> bool:
    if gauge.form is GaugeForm.PLUG:
        wide = (HANDLE_LENGTH + 1.5 * PLUG_LENGTH) * scale + 70
        high = max(HANDLE_DIAMETER, gauge.long * 1e3) * scale + 50
    else:
        wide = BAR_LENGTH * scale + 60
        high = (BAR_HEIGHT + (gauge.short + gauge.long) * 1e3) * scale + 50
    return wide <= 190 and high <= SHEET_HEIGHT - 2 * MARGIN - 20


def cautions(gauge: ShopGauge) -> list[str]:
    """What can hurt whom, as lines for the sheet."""
    lines = ["Goggles when you file, grind or turn.", "Keep filings out of the carburetor."]
    if gauge.form is GaugeForm.LEVEL:
        lines.append("Open fuel: no spark, no flame, engine cold.")
    return lines


def _says(text: str) -> list[str]:
    """A text in the language spoken now, in lines that fit the column of notes."""
    return wrap(translated(text), NOTE_WIDTH) or [""]


def _notes(gauge: ShopGauge, scale: float, source: Source) -> list[str]:
    """The column beside the view, below its title; an empty line parts its blocks."""
    making = [
        *_says(f"for {gauge.setting}")[:3],
        *_says(source.words)[:2],
        *_says(f"Setting {gauge.nominal * 1e3:.3f} ±{gauge.tolerance * 1e3:.3f} mm"),
        *_says(f"View {scale:g} : 1, all sizes in mm"),
        *_says(f"short {gauge.short / 0.0254:.4f} in, long {gauge.long / 0.0254:.4f} in"),
        "",
        *_says("Make"),
    ]
    for text in _making(gauge):
        making += _says(text)
    making += ["", *_says(CAUTION)]
    for text in cautions(gauge):
        making += _says(text)
    making += ["", *_says("Use")]
    making += [*_says(f"short end {gauge.form.short_end}"), *_says(f"long end {gauge.form.long_end}")]
    stack = ["", *_says("What can be wrong with each size")]
    for text in (
        *(f"{one.name}: ±{one.half_width * 1e3:.3f} mm" for one in gauge.stack.contributions),
        f"all at once: ±{gauge.stack.worst * 1e3:.3f} mm, taken off both sizes",
        f"likely: ±{gauge.stack.likely * 1e3:.3f} mm",
        f"accepts {100 * gauge.zone:.0f} % of the tolerance",
    ):
        stack += _says(text)
    return making + stack


def _making(gauge: ShopGauge) -> tuple[str, ...]:
    """How to make it."""
    if gauge.form is GaugeForm.PLUG:
        return "Turn from drill rod; break the edges 0.2 mm.", "Stamp GO and NO GO."
    return (
        f"{PLATE:g} mm steel or brass plate. File the bar's two long edges straight; the sizes count from them.",
        "Break no edge at the legs' tips.",
    )


def _card(x: float, y: float) -> list[Primitive]:
    """The card to fill in, so that readings are corrected by the true size."""
    width, rows = 88.0, ("end", "short", "long")
    title = translated("Card: what was really made (enter it in the tool)")
    parts: list[Primitive] = [Text((x, y + 2), title, 2.3)]
    for index, name in enumerate(rows):
        low = y - 7.0 * (index + 1)
        parts += polyline([(x, low), (x + width, low), (x + width, low + 7), (x, low + 7)], Layer.NOTE)
        heads = (name, "made, mm", "measured with", "date") if index == 0 else (name,)
        for column, words in zip((2, 18, 44, 72), heads, strict=False):
            parts.append(Text((x + column, low + 2.2), translated(words), 2.2))
    for edge in (16.0, 42.0, 70.0):
        parts.append(Line((x + edge, y), (x + edge, y - 21), Layer.NOTE))
    return parts


def _check_bar(x: float, y: float) -> list[Primitive]:
    parts: list[Primitive] = [Line((x, y), (x + CHECK_LENGTH, y), Layer.NOTE)]
    for place in range(0, 101, 10):
        parts.append(Line((x + place, y), (x + place, y + 3), Layer.NOTE))
    words = "100 mm on the print if printed at 100 %: measure before trusting the paper"
    parts.append(Text((x, y - 4), translated(words), 2.2))
    return parts


def gauge_sheet(gauge: ShopGauge, source: Source = OWN_FIGURES) -> Drawing:
    """The drawing sheet of a gauge, A4, the part as large as fits. [mm of paper]

    Args:
        gauge: as designed.
        source: of the figures; invented ones are marked across the sheet's foot.
    """
    scale = next((one for one in SCALES if _fits(gauge, one)), 1.0)
    plug = gauge.form is GaugeForm.PLUG
    below = 0.0 if plug else gauge.short * 1e3 * scale
    above = 0.0 if plug else (BAR_HEIGHT + gauge.long * 1e3) * scale
    origin = (100.0, (SHEET_HEIGHT + 20) / 2 - (above - below) / 2)
    frame = [
        (MARGIN, MARGIN),
        (SHEET_WIDTH - MARGIN, MARGIN),
        (SHEET_WIDTH - MARGIN, SHEET_HEIGHT - MARGIN),
        (MARGIN, SHEET_HEIGHT - MARGIN),
    ]
    parts: list[Primitive] = [*polyline(frame, Layer.NOTE)]
    parts += _plug_view(gauge, scale, origin) if plug else _depth_view(gauge, scale, origin)
    parts += _column(199.0, _title(gauge), _notes(gauge, scale, source))
    parts += _card(198.0, CARD_TOP)
    if source.invented:
        parts += _invented(MARGIN + 6, SHEET_HEIGHT - MARGIN - 12)
    parts += _check_bar(MARGIN + 6, MARGIN + 10)
    return Drawing(
        translated(f"{gauge.form.value} for {gauge.setting}"), SHEET_WIDTH, SHEET_HEIGHT, tuple(parts)
    )


def _title(gauge: ShopGauge) -> list[str]:
    form = translated(gauge.form.value)
    return wrap(form[:1].upper() + form[1:], TITLE_WIDTH)


def _column(x: float, title: list[str], notes: list[str]) -> list[Primitive]:
    """Title and notes one below the other, as close as they must be to end above the card."""
    lines = [*((words, 3.2) for words in title), *((words, 2.4) for words in notes)]
    step = min(NOTE_STEP, (NOTE_TOP - CARD_TOP - 7.0) / len(lines))
    return [
        Text((x, NOTE_TOP - step * index), words, height)
        for index, (words, height) in enumerate(lines)
        if words
    ]


def _invented(x: float, y: float) -> list[Primitive]:
    """A box that nobody overlooks."""
    words = translated(INVENTED)
    width = 2.4 * len(words)
    return [*polyline([(x, y), (x + width, y), (x + width, y + 8), (x, y + 8)], Layer.NOTE),
            Text((x + 3, y + 2.4), words, 3.2)]  # fmt: skip


def true_size(gauge: ShopGauge, source: Source = OWN_FIGURES) -> Drawing:
    """The part with its dimensions at true size, for DXF: cut along the layer OUTLINE. [mm of part]

    Args:
        gauge: as designed.
        source: of the figures; invented ones are marked.
    """
    plug = gauge.form is GaugeForm.PLUG
    below = 0.0 if plug else gauge.short * 1e3
    origin = (70.0, 60.0 + below)
    parts = _plug_view(gauge, 1.0, origin) if plug else _depth_view(gauge, 1.0, origin)
    notes = [f"{gauge.form.value} for {gauge.setting}", "true size, mm; cut along the layer OUTLINE"]
    notes += [source.words, f"{CAUTION}: {' '.join(cautions(gauge))}"]
    if source.invented:
        notes.append(INVENTED)
    notes = [line for one in notes if one for line in wrap(translated(one), 90)]
    high = origin[1] + (0.0 if plug else BAR_HEIGHT + gauge.long * 1e3) + 40.0 + 5.0 * len(notes)
    parts += [Text((6.0, high - 8.0 - 5.0 * line), words) for line, words in enumerate(notes)]
    return Drawing(translated(gauge.setting), 160.0, high, tuple(parts))
