"""How often is the tool right on cars from a model it does not share, against a flowchart and nearest neighbors?

Usage: python benchmarks/diagnosis/held_out.py [--cars 150] [--seed 7] [--seconds 900] [--evidence thin car bench]
       [--taught 60] [--write docs/validation.md]
"""

from __future__ import annotations

import argparse
import time
from pathlib import Path

import numpy as np
from calibration import drawn_causes
from flowchart import flowchart
from held_out_evidence import EVIDENCE, Arrived
from held_out_model import SHEET, ends, perturbed
from held_out_page import CAP, CYCLE, HEADING, METHODS, MOST_TESTS, SURE, Faulty, Tally, section
from neighbors import Neighbors

from dwellwright.carburetor.passages import passages_of
from dwellwright.carburetor.state import Field, healthy
from dwellwright.catalogue.causes import shipped_causes
from dwellwright.catalogue.shop_tests import ShopTest, shipped_tests
from dwellwright.diagnosis.hypotheses import Causes, range_of, selected
from dwellwright.diagnosis.learning import PastCar, learned_from
from dwellwright.diagnosis.scatter import Scatter, shipped_scatter
from dwellwright.diagnosis.settings_model import DIRECT
from dwellwright.diagnosis.verdict import Diagnosis, diagnose
from dwellwright.evidence.observation import Measured, Observation, Regime


def arrival(causes: Causes, held: tuple[int, ...], random: np.random.Generator) -> Arrived:
    """A car with these causes, build scatter a fifth wider than the tool believes."""
    sizes = np.array([range_of(causes.causes[k]).spread_evenly(random.random(1))[0] for k in held])
    scatter = shipped_scatter()
    state = causes.states(held, sizes[None])[0]
    state += (1.2 * random.normal(size=len(scatter.spreads)) * scatter.spreads) @ scatter.directions
    ranges = [range_of(causes.causes[k]) for k in held]
    shares = [
        (abs(size) - one.least) / (one.most - one.least) for size, one in zip(sizes, ranges, strict=True)
    ]
    return Arrived(held, state, perturbed(state - healthy(1)[0], random), float(max(shares, default=0.0)))


def answer(test: ShopTest, one: Arrived, random: np.random.Generator) -> Observation | None:
    """What the test reads on this car, a quarter noisier than the tool believes; None where it is not modeled."""
    name = test.after.partition("@")[0]
    measured, noise = Measured(name), 1.25 * test.doubt * random.normal()
    settings = {
        Measured(k): s.wanted.si for k, s in SHEET.settings.items() if k in Measured._value2member_map_
    }
    if measured in DIRECT and measured not in (Measured.SENSOR_FORCED_LEAN,):
        wanted = settings.get(
            measured, settings.get(Measured.FLOAT_LEVEL, 0.0) if name.startswith("float") else 0.0
        )
        value = wanted + float(DIRECT[measured][0](one.state[None], passages_of(SHEET), 0.0)[0]) + noise
        return Observation(measured, Regime.BENCH, value, test.doubt, test.identifier, wanted)
    if measured is Measured.BAROMETER:
        value = one.state[Field.AMBIENT_PRESSURE] + noise
        return Observation(measured, Regime.KEY_ON, value, test.doubt, test.identifier)
    if measured is Measured.COOLANT_THERMOMETER:
        return Observation(measured, Regime.IDLE, 360.0 + noise, test.doubt, test.identifier)
    if measured is Measured.PURGE_VACUUM:
        open_area = max(one.state[Field.PURGE], 0.0) * 1e6
        value = 60e3 * open_area / (open_area + 0.35) + 2e3 * abs(random.normal())
        return Observation(measured, Regime.IDLE, value, 2e3, test.identifier)
    if name.startswith("lambda_"):
        rich, lean, wanted = ends(one.car, 0)
        value = wanted / (rich if name.endswith("released") else lean) + noise
        return Observation(
            measured, Regime.IDLE, float(np.clip(value, 0.6, 1.6)), test.doubt, test.identifier
        )
    return None


def followed(
    one: Arrived,
    seen: list[Observation],
    causes: Causes,
    random: np.random.Generator,
    scatter: Scatter | None = None,
) -> tuple[Diagnosis, float, bool]:
    """First diagnosis, minutes of its next best tests until it is sure of a true cause, and whether it became so."""
    first = said = diagnose(seen, SHEET, scatter=scatter)
    names, spent, made, mended = {causes.names[k] for k in one.members}, 0.0, set(), set()
    for _ in range(MOST_TESTS + 1):
        top = said.causes[0]
        if top.probability >= SURE and top.identifier in names:
            return first, spent, True
        if top.probability >= SURE and top.identifier not in mended:  # a wrong certainty costs its repair
            mended.add(top.identifier)
            spent += causes.causes[causes.names.index(top.identifier)].minutes
        asked: list[tuple[ShopTest, Observation]] = []
        for advised in said.next_tests:
            result = answer(advised.test, one, random)
            if advised.test.identifier not in made and result is not None:
                asked.append((advised.test, result))
                break
        if not asked:
            break
        test, found = asked[0]
        made.add(test.identifier)
        spent, seen = spent + test.minutes, [*seen, found]
        said = diagnose(seen, SHEET, scatter=scatter)
    order = [c.identifier for c in said.causes if c.identifier not in mended]
    return first, min(spent + search_minutes(order, names, causes), CAP), False


def search_minutes(order: list[str], truth: set[str], causes: Causes) -> float:
    """Minutes of looking at one cause after the other, each with its own test, to the first true one."""
    spent = 0.0
    for name in order:
        reads = {*causes.causes[causes.names.index(name)].effects}
        aliases = {"rod_travel_lost": "travel", "rods_stuck": "travel"}
        reads |= {aliases[r] for r in reads if r in aliases}
        spent += min((t.minutes for t in shipped_tests() if t.reads in reads), default=15.0)
        if name in truth:
            return min(spent, CAP)
    return CAP


def score(
    one: Arrived,
    seen: list[Observation],
    causes: Causes,
    near: Neighbors,
    tally: Tally,
    random: np.random.Generator,
    scatter: Scatter | None = None,
) -> None:
    """Put one car through all three methods."""
    shown = np.array([o.value for o in seen if o.measured is Measured.DUTY])
    cycle = next((o.value for o in seen if o.measured is Measured.LIMIT_CYCLE_PERIOD), 9.0)
    said, spent, sure = (
        followed(one, seen, causes, random, scatter)
        if one.members
        else (diagnose(seen, SHEET, scatter=scatter), 0.0, True)
    )
    voted, well = near.order(shown, cycle)
    orders = {
        "tool": [c.identifier for c in said.causes],
        "flowchart": flowchart(60.0 * shown[0], 60.0 * shown[1], 60.0 * shown[2], cycle, seen),
        "neighbors": [causes.names[k] for k in voted],
    }
    truth = {causes.names[k] for k in one.members}
    group = next((g for g in said.look_alikes if said.causes[0].identifier in g), ())
    weight = usual(causes, one.members)
    tally.stated += [(c.probability, c.identifier in truth, weight) for c in said.causes]
    if not truth:
        alarms = (said.causes[0].probability > 0.5, bool(orders["flowchart"]), not well)
        for method, alarm in zip(METHODS, alarms, strict=True):
            tally.alarms[method].append(alarm)
        return
    tally.found.append(sure)
    place = min(orders["tool"].index(name) for name in truth)
    right = bool(truth & {said.causes[0].identifier, *group})
    tally.faulty.append(Faulty(place, right, max(len(group), 1), weight, one.size))
    for method, order in orders.items():
        place = min((order.index(n) for n in truth if n in order), default=99)
        label = next(iter(truth)) if len(truth) == 1 else "pair"
        tally.places[method][label].append(place)
        searched = [*order, *(name for name in by_prior(causes) if name not in order)]
        tally.minutes[method].append(spent if method == "tool" else search_minutes(searched, truth, causes))


def usual(causes: Causes, held: tuple[int, ...]) -> float:
    """How often such a car comes to a shop by the priors, over how often it comes here."""
    singles = len(causes.names)
    pairs = singles * (singles - 1) / 2
    here = {0: 12.0, 1: 1.0, 2: 4.0 / pairs}[len(held)] / CYCLE
    return float(np.exp(causes.log_prior(held))) / here


def by_prior(causes: Causes) -> list[str]:
    """The causes as a shop without any idea tries them: the most common first."""
    pairs = zip(causes.names, causes.causes, strict=True)
    return [name for name, _ in sorted(pairs, key=lambda pair: -pair[1].prior)]


def drawn(causes: Causes, number: int, random: np.random.Generator) -> tuple[int, ...]:
    """Causes of one car: every cause in turn, then healthy cars, then pairs."""
    count = len(causes.names)
    turn = number % CYCLE
    held: tuple[int, ...] = (turn,) if turn < count else ()
    while turn >= count + 12 and (len(held) != 2 or not causes.together(held)):
        held = tuple(sorted(int(k) for k in random.choice(count, 2, replace=False)))
    return held


def taught(cars: int, seed: int) -> Scatter:
    """Scatter and doubt that a shop has learned from so many cars with a bench sheet, as they come to a shop."""
    causes, past = selected(shipped_causes()), []
    for number in range(cars):
        random = np.random.default_rng([seed, number, 1])
        one = arrival(causes, drawn_causes(causes, random), random)
        found = frozenset(causes.names[k] for k in one.members)
        past.append(PastCar(SHEET, tuple(EVIDENCE["bench"](one, random)), found))
    return learned_from(past).scatter


def counted(
    cars: int, seed: int, seconds: float, evidence: str = "thin", scatter: Scatter | None = None
) -> tuple[Tally, int]:
    """Score so many cars, or as many as the time allows; the same cars whatever evidence they bring."""
    causes, tally = selected(shipped_causes()), Tally()
    near, start = Neighbors(causes, 3000, np.random.default_rng(seed)), time.monotonic()
    for number in range(cars):
        if time.monotonic() - start > seconds:
            return tally, number
        random = np.random.default_rng([seed, number])
        one = arrival(causes, drawn(causes, number, random), random)
        score(one, EVIDENCE[evidence](one, random), causes, near, tally, random, scatter)
    return tally, cars


def main() -> None:
    """Count and print, or write, the section."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cars", type=int, default=150)
    parser.add_argument("--seed", type=int, default=7)
    parser.add_argument("--seconds", type=float, default=900.0)
    parser.add_argument("--evidence", nargs="+", choices=EVIDENCE, default=list(EVIDENCE))
    parser.add_argument("--taught", type=int, default=60)
    parser.add_argument("--write", type=Path)
    asked = parser.parse_args()
    kinds = {kind: counted(asked.cars, asked.seed, asked.seconds, kind) for kind in asked.evidence}
    if asked.taught:
        last, scatter = asked.evidence[-1], taught(asked.taught, asked.seed)
        kinds[f"{last}, taught"] = counted(asked.cars, asked.seed, asked.seconds, last, scatter)
    text = section(kinds, asked.seed, asked.taught)
    if asked.write:
        page = asked.write.read_text(encoding="utf-8").split(HEADING)[0].rstrip()
        asked.write.write_text(f"{page}\n\n{text}", encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
