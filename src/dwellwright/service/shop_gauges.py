"""Gauges a shop makes for itself: which settings of a sheet can have one, and its drawing as a file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.shop.design import GaugeForm, ShopGauge, shop_gauge
from dwellwright.units import Dimension

if TYPE_CHECKING:
    from dwellwright.reports.drawings.sheets import Source

FORMS = {
    "lean_stop": GaugeForm.DEPTH, "rich_stop": GaugeForm.DEPTH, "float_level": GaugeForm.LEVEL,
    "rod_travel": GaugeForm.PLUG, "choke_opening": GaugeForm.PLUG, "pull_off_gap": GaugeForm.PLUG,
}  # fmt: skip
"""Settings that a gauge can be made for, and what it looks like."""

ITEMS = {
    "lean_stop": "rod_lean_gauge", "rich_stop": "rod_rich_gauge", "rod_travel": "rod_travel",
    "float_level": "float_gauge_below_rim", "choke_opening": "choke_pull_off_gap", "pull_off_gap": "choke_pull_off_gap",
}  # fmt: skip
"""What a reading with such a gauge is typed in as."""


def gauge_for(sheet: SpecSheet, key: str) -> ShopGauge:
    """The gauge for one setting of a sheet.

    Raises:
        InputFault: no gauge can be made for that setting, or its tolerance is too tight for one.
    """
    known = [name for name in FORMS if name in sheet.settings]
    if key not in known:
        raise InputFault("no gauge can be made for this setting", got=repr(key), wanted=", ".join(known))
    setting = sheet.settings[key]
    if setting.wanted.dimension is not Dimension.LENGTH:
        raise InputFault("a gauge is made for a length", where=setting.title, got=str(setting.wanted))
    return shop_gauge(FORMS[key], setting.title, setting.wanted.si, setting.wanted.si_tolerance)


def gauges_for(sheet: SpecSheet) -> dict[str, ShopGauge | InputFault]:
    """Every setting that a gauge could be made for: the gauge, or why there is none."""
    found: dict[str, ShopGauge | InputFault] = {}
    for key in FORMS:
        if key in sheet.settings:
            try:
                found[key] = gauge_for(sheet, key)
            except InputFault as fault:
                found[key] = fault
    return found


def _drawings() -> dict[str, Callable[[ShopGauge, Source], bytes]]:
    from dwellwright.reports.drawings import render
    from dwellwright.reports.drawings.sheets import gauge_sheet, true_size

    return {
        "svg": lambda gauge, source: render.svg(gauge_sheet(gauge, source)).encode(),
        "pdf": lambda gauge, source: render.pdf(gauge_sheet(gauge, source)),
        "png": lambda gauge, source: render.png(gauge_sheet(gauge, source)),
        "dxf": lambda gauge, source: render.dxf(true_size(gauge, source)).encode(),
    }


def source_of(sheet: SpecSheet) -> Source:
    """What a drawing says of the sheet that its figures come from."""
    from dwellwright.reports.drawings.sheets import Source

    return Source(f"Figures: {sheet.title}", sheet.invented)


MEDIA = {
    "svg": "image/svg+xml",
    "pdf": "application/pdf",
    "png": "image/png",
    "dxf": "application/octet-stream",
}
"""Forms of a drawing; DXF is at true size, the others are a sheet to print."""


def gauge_drawing(sheet: SpecSheet, key: str, form: str) -> bytes:
    """The drawing of a gauge: `svg`, `pdf` or `png` a dimensioned sheet, `dxf` the dimensioned part at true size.

    Args:
        sheet: whose setting it is for.
        key: of the setting.
        form: of the file.

    Raises:
        InputFault: no such form, or no gauge for that setting.
    """
    if form not in MEDIA:
        raise InputFault("no such form of a drawing", got=repr(form), wanted=", ".join(MEDIA))
    return _drawings()[form](gauge_for(sheet, key), source_of(sheet))


def write_drawing(sheet: SpecSheet, key: str, path: Path) -> None:
    """Write a drawing; the ending of the file's name says its form.

    Raises:
        InputFault: no such form, the file is there already, or it cannot be written.
    """
    content = gauge_drawing(sheet, key, path.suffix.lower().removeprefix("."))
    try:
        with open(path, "xb") as file:
            file.write(content)
    except OSError as fault:
        raise InputFault(
            "the drawing cannot be written", where=str(path), got=fault.strerror or str(fault)
        ) from None
