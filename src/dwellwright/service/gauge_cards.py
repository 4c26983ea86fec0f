"""Cards of the shop's own gauges: what was really made, so that what is read with them is corrected by it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date
from math import isfinite
from typing import Any

from dwellwright.catalogue.gauge_items import gauge_items
from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.shop.design import GaugeForm, ShopGauge, shop_gauge
from dwellwright.evidence.gauge.shop.truth import GaugeCard, GaugeTruth
from dwellwright.records.audit import record_change
from dwellwright.records.engine import writing
from dwellwright.records.shop import Shop
from dwellwright.records.small_files import damaged, read_json, write_json
from dwellwright.service.shop_gauges import ITEMS, gauge_for
from dwellwright.units import Dimension, known_unit, step_to_si, to_si

CARDS = "gauges.json"
PREFIX = "gauge:"
"""Before a gauge's name where an instrument is named: `gauge:short stick`."""

MOST_CARDS, LONGEST_NAME = 200, 60


@dataclass(frozen=True)
class OwnGauge:
    """A gauge the shop made. Lengths in metres.

    Args:
        name: as it is stamped.
        key: setting it was drawn for.
        form: what it looks like.
        setting: the setting in words.
        nominal: specification it was drawn for.
        tolerance: half width around it.
        short_made: smaller end as measured.
        long_made: larger end as measured.
        doubt: standard uncertainty of both.
        measured_with: in words.
        made: day the card was entered.
        who: who entered it.
    """

    name: str
    key: str
    form: str
    setting: str
    nominal: float
    tolerance: float
    short_made: float
    long_made: float
    doubt: float
    measured_with: str
    made: str
    who: str

    @property
    def drawn(self) -> ShopGauge:
        """The gauge as it was drawn."""
        return shop_gauge(GaugeForm(self.form), self.setting, self.nominal, self.tolerance)

    @property
    def card(self) -> GaugeCard:
        """Both ends as made.

        Raises:
            InputFault: a size that cannot be.
        """
        drawn = self.drawn
        short = GaugeTruth(f"{self.name}, short end", drawn.short, self.short_made, self.doubt)
        return GaugeCard(
            drawn, short, GaugeTruth(f"{self.name}, long end", drawn.long, self.long_made, self.doubt)
        )


def own_gauges(shop: Shop) -> tuple[OwnGauge, ...]:
    """The shop's gauges in the order their cards came.

    Raises:
        InputFault: the file was damaged.
    """
    path = shop.folder / CARDS
    facts = read_json(path, [])
    try:
        found = tuple(OwnGauge(**one) for one in facts)
        for one in found:
            if not one.card.words:
                raise ValueError(one.name)
    except (TypeError, ValueError) as fault:
        raise damaged(path, str(fault)) from None
    return found


def own_gauge(shop: Shop, name: str) -> OwnGauge:
    """The gauge of that name.

    Raises:
        InputFault: the shop has none.
    """
    found = {one.name: one for one in own_gauges(shop)}
    if name not in found:
        raise InputFault("the shop has no such gauge", got=repr(name), wanted=", ".join(found) or "a gauge with a card",
                         remedy="Enter its card first: `dwellwright gauge card`")  # fmt: skip
    return found[name]


@dataclass(frozen=True)
class MadeSizes:
    """What was measured after making, in `unit`; `doubt` is one standard uncertainty."""

    short: float
    long: float
    doubt: float
    unit: str
    measured_with: str = ""


def enter_card(shop: Shop, sheet: SpecSheet, key: str, name: str, made: MadeSizes, who: str) -> OwnGauge:
    """Enter what was really made; a card of the same name is replaced, its old sizes stay in the history.

    Args:
        shop: where.
        sheet: that the gauge was drawn for.
        key: its setting.
        name: as it is stamped.
        made: sizes as measured.
        who: who enters it.

    Raises:
        InputFault: no name, no such setting, or sizes that cannot be.
    """
    drawn, plain = gauge_for(sheet, key), _name(name)
    if known_unit(made.unit, where="unit").dimension is not Dimension.LENGTH:
        raise InputFault("the unit measures no length", where="unit", got=made.unit, wanted="mm, thou or in")
    doubt = step_to_si(made.doubt, made.unit, where="doubt of the sizes")
    if not 0 < doubt <= drawn.tolerance:
        raise InputFault("the doubt of the sizes cannot be", where=plain, got=f"{made.doubt:g} {made.unit}",
                         wanted="above zero, and less than the setting's tolerance")  # fmt: skip
    gauge = OwnGauge(
        plain, key, drawn.form.value, drawn.setting, drawn.nominal, drawn.tolerance,
        to_si(made.short, made.unit, where="short end"), to_si(made.long, made.unit, where="long end"), doubt,
        " ".join(made.measured_with.split())[:LONGEST_NAME], date.today().isoformat(), who,
    )  # fmt: skip
    words = gauge.card.words
    kept = [one for one in own_gauges(shop) if one.name != plain]
    if len(kept) >= MOST_CARDS:
        raise InputFault("there are too many gauges", wanted=f"at most {MOST_CARDS}", got=str(len(kept) + 1))
    _save(shop, [*kept, gauge], who, "gauge card entered", {"gauge": plain, "card": words})
    return gauge


def remove_card(shop: Shop, name: str, who: str) -> None:
    """Take a gauge off the list; readings it took keep their correction.

    Raises:
        InputFault: the shop has no such gauge.
    """
    gone = own_gauge(shop, name)
    kept = [one for one in own_gauges(shop) if one.name != gone.name]
    _save(shop, kept, who, "gauge card removed", {"gauge": gone.name, "card": gone.card.words})


def _save(shop: Shop, gauges: Sequence[OwnGauge], who: str, what: str, facts: dict[str, Any]) -> None:
    write_json(shop.folder / CARDS, [asdict(one) for one in gauges])
    with writing(shop.engine) as connection:
        record_change(connection, who, what, after=facts)


def _name(name: str) -> str:
    plain = " ".join(name.split())
    if not plain or len(plain) > LONGEST_NAME or not plain.isprintable():
        raise InputFault("the gauge needs a name", where="name", got=repr(name[:80]),
                         wanted=f"1 to {LONGEST_NAME} characters, as it is stamped")  # fmt: skip
    return plain


def truth_for(
    shop: Shop, tool: str | None, item: str, values: Sequence[float], unit: str
) -> GaugeTruth | None:
    """The true size behind readings taken with the shop's own gauge; None for any other instrument.

    The end whose drawn size lies nearest to what was read is the one that was used.

    Args:
        shop: where.
        tool: as named: `gauge:` and the gauge's name, or an instrument of the catalogue.
        item: what was read.
        values: every repeat, in `unit`.
        unit: of the values.

    Raises:
        InputFault: no such gauge, or it is made for something else.
    """
    if not tool or not tool.startswith(PREFIX):
        return None
    gauge = own_gauge(shop, tool.removeprefix(PREFIX).strip())
    card, wanted = gauge.card, gauge_items()[ITEMS[gauge.key]]
    asked = gauge_items().get(item.strip().lower().replace("-", "_").replace(" ", "_"))
    if asked is None or asked.name != wanted.name:
        raise InputFault("this gauge was not made for that", where=item, got=gauge.name, wanted=wanted.label)
    known = [to_si(value, unit, where=item) for value in values if isfinite(value)]
    mean = sum(known) / len(known) if known else 0.0
    return min((card.short, card.long), key=lambda end: abs(end.nominal - mean))


def gauge_labels(shop: Shop) -> dict[str, str]:
    """The shop's gauges as instruments to choose from; none where their file is damaged: the work goes on."""
    try:
        return {PREFIX + one.name: f"our gauge: {one.name}" for one in own_gauges(shop)}
    except InputFault:
        return {}
