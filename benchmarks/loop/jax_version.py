"""The same cars with JAX on the processor: one car as a `scan` over steps, `vmap` over cars, double precision.

Usage: python jax_version.py INPUT.npz    (written by speed.py; needs only jax and numpy, so any interpreter will do)

No delay here is shorter than a pulse, so a pulse's arrivals are gathered before it and its departures stored after it:
a ring written in every step would be copied in every step. That is as fast as we could make it. It keeps the same sums
and extremes as the simulator.

Prints one line of JSON: seconds (compiled, best of the repeats), seconds to compile, and each car's mean duty.
"""

from __future__ import annotations

import json
import sys
from time import perf_counter

import jax
import jax.numpy as jnp
import numpy as np
from jax import lax

jax.config.update("jax_enable_x64", True)


def effective(duty, pull_in, drop_out):
    share = jnp.clip(duty + drop_out - pull_in, 0.0, 1.0)
    share = jnp.where(1.0 - duty <= drop_out, 1.0, share)
    return jnp.where(duty <= pull_in, 0.0, share)


def curve(p, excess, bias):
    over = excess + p["SENSOR_SHIFT"] - 1.0
    scale = 1.0 + over
    distance = jnp.sqrt(over * over + (p["SWITCH_WIDTH"] * scale) ** 2)
    rich, lean = distance + p["RICH_OFFSET"] * scale, distance + p["LEAN_OFFSET"] * scale
    on_rich = p["RICH_LEVEL"] + p["RICH_RISE"] * scale / rich
    on_lean = p["LEAN_LEVEL"] + p["LEAN_RISE"] * scale / lean
    own = 0.5 * (on_rich + on_lean + (on_rich - on_lean) * over / distance)
    return p["SENSOR_WEIGHT"] * own + (1.0 - p["SENSOR_WEIGHT"]) * bias


def simulator(settings, names, pulses, pulse_steps, slots):
    h, threshold, bias = settings["STEP"], settings["THRESHOLD"], settings["INPUT_BIAS"]

    def car(row):
        p = dict(zip(names, row, strict=True))

        def decay(time):
            return jnp.exp(-h / jnp.maximum(time, 1e-9))

        def hold(time):
            return (1.0 - decay(time)) * jnp.maximum(time, 1e-9) / h

        air = p["AIR_FLOW"]
        rich_fuel, span = air * p["EXCESS_RICH"], air * (p["EXCESS_LEAN"] - p["EXCESS_RICH"])
        fill, drained = 1.0 - decay(p["FILM_TIME"]), 1.0 - decay(p["WELL_TIME"])
        store, per_air = p["FILM_SHARE"] * p["FILM_TIME"], 1.0 / (air * (1.0 + p["FALSE_AIR"]))
        mix = 1.0 - decay(p["MIXING_TIME"])
        up, down = p["LEAN_TO_RICH_TIME"], p["RICH_TO_LEAN_TIME"]
        up_left, up_hold, down_left, down_hold = decay(up), hold(up), decay(down), hold(down)
        delay = jnp.maximum(p["DELAY"] / h, 1.0)
        whole = delay.astype(jnp.int32)
        part = delay - whole
        low, high = p["LOW_LIMIT"], p["HIGH_LIMIT"]

        def step(carry, given_step):
            (well, film, mixed, before, volts, integral, duty, on), sums = carry
            now, of_pulse, arrived = given_step
            mixed = mixed + mix * (arrived - mixed)
            after = curve(p, mixed, bias)
            rising = before + after > 2.0 * volts
            left, slope = jnp.where(rising, up_left, down_left), jnp.where(rising, up_hold, down_hold)
            new = after - slope * (after - before) + left * (volts - before)
            top, bottom = jnp.maximum(volts, new), jnp.minimum(volts, new)
            share = jnp.clip((top - threshold) / (top - bottom + 1e-12), 0.0, 1.0)
            moved = integral + h * (share * p["LEAN_RAMP"] - (1.0 - share) * p["RICH_RAMP"])
            moved = jnp.clip(moved, low, high)
            duty = jnp.clip(0.5 * (integral + moved) + p["JUMP"] * (2.0 * share - 1.0), low, high)
            fuel = rich_fuel + jnp.clip(on - of_pulse, 0.0, 1.0) * span
            space = p["WELL_TIME"] * fuel - well
            given = fuel - drained / h * space
            lack = store * given - film
            burnt = given - fill / h * lack
            well, film = well + drained * space, film + fill * lack
            was_rich, is_rich = jnp.where(volts >= threshold, 1.0, 0.0), jnp.where(new >= threshold, 1.0, 0.0)
            rise, fall = is_rich * (1.0 - was_rich), was_rich * (1.0 - is_rich)
            moment = now + 1.0 - share
            extremes = {"duty": duty, "volts": new, "mixed": mixed}
            sums = {
                "sum": sums["sum"]
                + jnp.stack(
                    [
                        duty, share, new, burnt, fuel, jnp.where(duty <= low + 1e-9, 1.0, 0.0),
                        jnp.where(duty >= high - 1e-9, 1.0, 0.0), rise, fall, rise * moved, fall * moved,
                        rise * jnp.where(sums["sum"][7] < 0.5, moment, 0.0),
                    ]
                ),
                "last": sums["last"] + rise * (moment - sums["last"]),
                "least": {name: jnp.minimum(sums["least"][name], value) for name, value in extremes.items()},
                "greatest": {name: jnp.maximum(sums["greatest"][name], value) for name, value in extremes.items()},
            }  # fmt: skip
            return ((well, film, mixed, after, new, moved, duty, on), sums), burnt * per_air

        steps = jnp.arange(pulse_steps)

        def pulse(carry, number):
            ring, (state, sums) = carry
            on = pulse_steps * effective(jnp.clip(state[6], low, high), p["PULL_IN"], p["DROP_OUT"])
            slot = number * pulse_steps + steps - whole
            near, far = ring[slot % slots], ring[(slot - 1) % slots]
            of_pulse = steps.astype(jnp.float64)
            given = (number * pulse_steps + of_pulse, of_pulse, near + part * (far - near))
            state, leaving = lax.scan(step, ((*state[:7], on), sums), given)
            ring = lax.dynamic_update_slice(ring, leaving, (number * pulse_steps % slots,))
            return (ring, state), None

        duty = p["START_DUTY"]
        fuel = rich_fuel + effective(duty, p["PULL_IN"], p["DROP_OUT"]) * span
        mixed = fuel * per_air
        volts = curve(p, mixed, bias)
        ring = jnp.full(slots, mixed)
        state = (p["WELL_TIME"] * fuel, store * fuel, mixed, volts, volts, duty, duty, duty)
        names3, zero = ("duty", "volts", "mixed"), 0.0 * duty
        sums = {
            "sum": jnp.zeros(12) + zero,
            "last": zero,
            "least": dict.fromkeys(names3, zero + 1e30),
            "greatest": dict.fromkeys(names3, zero - 1e30),
        }
        (_, (state, sums)), _ = lax.scan(pulse, (ring, (state, sums)), jnp.arange(pulses))
        return sums["sum"][0] / (pulses * pulse_steps), sums

    return jax.jit(jax.vmap(car))


def main() -> int:
    given = np.load(sys.argv[1])
    settings = dict(zip(given["setting_names"].tolist(), given["settings"].tolist(), strict=True))
    sizes = (int(given["pulses"]), int(given["pulse_steps"]), int(given["slots"]))
    run = simulator(settings, given["names"].tolist(), *sizes)
    points = jnp.asarray(given["points"])
    begin = perf_counter()
    duty = jax.block_until_ready(run(points))[0]
    compiled = perf_counter() - begin
    best = min(_seconds(run, points) for _ in range(int(given["repeats"])))
    print(json.dumps({"seconds": best, "compile": compiled, "duty": np.asarray(duty).tolist()}))
    return 0


def _seconds(run, points) -> float:
    begin = perf_counter()
    jax.block_until_ready(run(points))
    return perf_counter() - begin


if __name__ == "__main__":
    sys.exit(main())
