"""The same drawing as SVG, DXF, PDF or PNG; one millimetre of the drawing is one of the paper."""

from __future__ import annotations

from io import BytesIO, StringIO
from xml.sax.saxutils import escape

from ezdxf import units
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new
from ezdxf.layouts.layout import Modelspace
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Circle as CirclePatch
from matplotlib.patches import PathPatch, Polygon
from matplotlib.textpath import TextPath
from matplotlib.transforms import Affine2D

from dwellwright.reports.drawings.drawing import (
    Anchor,
    Arrow,
    Circle,
    Drawing,
    Layer,
    Line,
    Text,
    arrow_points,
)

MILLIMETRES_PER_INCH = 25.4
POINTS_PER_MILLIMETRE = 72 / MILLIMETRES_PER_INCH
CAPITAL_SHARE = 0.73
"""Height of capitals over the size of the fonts used. [-]"""
_SHIFT = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}
_DXF_ANCHOR = {
    Anchor.START: TextEntityAlignment.LEFT,
    Anchor.MIDDLE: TextEntityAlignment.CENTER,
    Anchor.END: TextEntityAlignment.RIGHT,
}


def _svg_part(part: Line | Circle | Arrow | Text, height: float) -> str:
    """One primitive; the look stands in attributes, so that no style sheet is needed or can be blocked."""

    def at(point: tuple[float, float]) -> tuple[float, float]:
        return round(point[0], 4), round(height - point[1], 4)

    dash = ' stroke-dasharray="6 1.5 1 1.5"' if part.layer is Layer.CENTER else ""
    stroke = f'stroke="#000" fill="none" stroke-width="{part.layer.width}"{dash}'
    if isinstance(part, Line):
        (x1, y1), (x2, y2) = at(part.start), at(part.end)
        return f'<line {stroke} x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}"/>'
    if isinstance(part, Circle):
        x, y = at(part.center)
        return f'<circle {stroke} cx="{x}" cy="{y}" r="{round(part.radius, 4)}"/>'
    if isinstance(part, Arrow):
        points = " ".join(f"{x},{y}" for x, y in map(at, arrow_points(part)))
        return f'<polygon fill="#000" points="{points}"/>'
    x, y = at(part.at)
    turn = f' transform="rotate({round(-part.angle, 3)} {x} {y})"' if part.angle else ""
    font = f'font-family="sans-serif" font-size="{round(part.height / CAPITAL_SHARE, 3)}"'
    return f'<text x="{x}" y="{y}" {font} text-anchor="{part.anchor}"{turn}>{escape(part.words)}</text>'


def svg(drawing: Drawing) -> str:
    """The drawing as SVG at true size when printed at 100 %."""
    body = "\n".join(_svg_part(part, drawing.height) for part in drawing.primitives)
    size = f'width="{drawing.width}mm" height="{drawing.height}mm" viewBox="0 0 {drawing.width} {drawing.height}"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img"><title>{escape(drawing.title)}</title>\n'
        f'<rect width="{drawing.width}" height="{drawing.height}" fill="#fff"/>\n{body}\n</svg>\n'
    )


def _dxf_words(words: str) -> str:
    """Words with the codes of the format for signs that many of its fonts lack."""
    return words.replace("⌀", "%%c").replace("±", "%%p")


def _add_dxf_part(space: Modelspace, part: Line | Circle | Arrow | Text) -> None:
    look = {"layer": str(part.layer)}
    if isinstance(part, Line):
        space.add_line(part.start, part.end, dxfattribs=look)
    elif isinstance(part, Circle):
        space.add_circle(part.center, part.radius, dxfattribs=look)
    elif isinstance(part, Arrow):
        tip, left, right = arrow_points(part)
        space.add_solid([tip, left, right], dxfattribs=look)
    else:
        entity = space.add_text(
            _dxf_words(part.words), height=part.height, rotation=part.angle, dxfattribs=look
        )
        entity.set_placement(part.at, align=_DXF_ANCHOR[part.anchor])


def dxf(drawing: Drawing) -> str:
    """The drawing as DXF (R2010, millimetres), layers by meaning: cut along OUTLINE."""
    document = new("R2010", setup=["linetypes"], units=units.MM)
    for layer in Layer:
        entry = document.layers.add(str(layer), linetype="CENTER" if layer is Layer.CENTER else "CONTINUOUS")
        entry.dxf.lineweight = int({0.18: 18, 0.25: 25, 0.5: 50}[layer.width])
    for part in drawing.primitives:
        _add_dxf_part(document.modelspace(), part)
    stream = StringIO()
    document.write(stream)
    return stream.getvalue()


def _text_patch(part: Text) -> PathPatch:
    path = TextPath((0, 0), part.words, size=part.height / CAPITAL_SHARE)
    shift = -path.get_extents().width * _SHIFT[part.anchor]
    place = Affine2D().translate(shift, 0).rotate_deg(part.angle).translate(*part.at)
    return PathPatch(place.transform_path(path), facecolor="black", edgecolor="none")


def _figure(drawing: Drawing) -> Figure:
    inches = drawing.width / MILLIMETRES_PER_INCH, drawing.height / MILLIMETRES_PER_INCH
    figure = Figure(figsize=inches)
    FigureCanvasAgg(figure)
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set(xlim=(0, drawing.width), ylim=(0, drawing.height))
    axes.set_axis_off()
    for part in drawing.primitives:
        width = part.layer.width * POINTS_PER_MILLIMETRE
        if isinstance(part, Line):
            xs, ys = zip(part.start, part.end, strict=True)
            line = Line2D(xs, ys, color="black", linewidth=width)
            if part.layer is Layer.CENTER:
                line.set_dashes((12, 3, 2, 3))
            axes.add_line(line)
        elif isinstance(part, Circle):
            axes.add_patch(
                CirclePatch(part.center, part.radius, fill=False, edgecolor="black", linewidth=width)
            )
        elif isinstance(part, Arrow):
            axes.add_patch(Polygon(arrow_points(part), closed=True, facecolor="black", edgecolor="none"))
        else:
            axes.add_patch(_text_patch(part))
    return figure


def pdf(drawing: Drawing) -> bytes:
    """The drawing as a one-page PDF at true size when printed at 100 %."""
    stream = BytesIO()
    facts = {"Title": drawing.title, "Creator": None, "Producer": None, "CreationDate": None}
    _figure(drawing).savefig(stream, format="pdf", metadata=facts)
    return stream.getvalue()


def png(drawing: Drawing, dots_per_inch: float = 110.0) -> bytes:
    """The drawing as a picture, for a page."""
    stream = BytesIO()
    _figure(drawing).savefig(stream, format="png", dpi=dots_per_inch)
    return stream.getvalue()
