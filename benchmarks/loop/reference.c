/* The loop's equations in C, written for the benchmark alone: scalar, and in lanes of cars side by side.
 *
 * Compiled twice from this file: LANES=1 keeps everything of a car in local variables; LANES>1 keeps one small array per
 * quantity and runs every statement over the lanes. Steady operating points and real pulses, the batch's common case.
 * Column numbers are those of dwellwright.loop.columns and arrive as -D definitions, so they cannot drift.
 */
#include <math.h>
#include <stdlib.h>

#define BIG 1e30
#define EACH _Pragma("GCC ivdep") for (int i = 0; i < LANES; i++)
#define MINIMUM(a, b) ((a) < (b) ? (a) : (b))
#define MAXIMUM(a, b) ((a) > (b) ? (a) : (b))

typedef double Row[LANES] __attribute__((aligned(64)));

static inline double clipped(double value, double low, double high) { return MINIMUM(MAXIMUM(value, low), high); }

static inline double effective(double duty, double pull_in, double drop_out) {
    double share = clipped(duty + drop_out - pull_in, 0.0, 1.0);
    share = 1.0 - duty <= drop_out ? 1.0 : share;
    return duty <= pull_in ? 0.0 : share;
}

static inline double decay(double step, double time) { return exp(-step / MAXIMUM(time, 1e-9)); }

static inline double hold(double step, double time) {
    return (1.0 - decay(step, time)) * MAXIMUM(time, 1e-9) / step;
}

static inline double curve(double over, double rich_level, double rich_rise, double rich_offset, double lean_level,
                           double lean_rise, double lean_offset, double width) {
    double excess = 1.0 + over;
    double distance = sqrt(over * over + (width * excess) * (width * excess));
    double rich = distance + rich_offset * excess, lean = distance + lean_offset * excess;
    double inverse = 1.0 / (distance * rich * lean);
    double on_rich = rich_level + rich_rise * excess * distance * lean * inverse;
    double on_lean = lean_level + lean_rise * excess * distance * rich * inverse;
    return 0.5 * (on_rich + on_lean + (on_rich - on_lean) * over * rich * lean * inverse);
}

/* points[car][column]; out[car][statistic]; settings as in dwellwright.loop.columns.Setting */
void run(const double *points, long cars, const double *settings, long pulses, long pulse_steps, long slots,
         double *out) {
    const double step = settings[SET_STEP], threshold = settings[SET_THRESHOLD], bias = settings[SET_INPUT_BIAS];
    const double window_low = settings[SET_WINDOW_LOW], window_high = settings[SET_WINDOW_HIGH];
    const double silent_time = settings[SET_SILENT_TIME];
    const long mask = slots - 1, steps = pulses * pulse_steps;
    double *restrict ring = aligned_alloc(64, sizeof(double) * slots * LANES + 64);
    for (long first = 0; first < cars; first += LANES) {
        Row film, well, well_store, well_fill, well_rate, mixed, curve_now, volts, integral, silent, delay_part, duty, rich, burnt, fuel, before, on_steps;
        Row fuel_rich, fuel_span, store, fill, fill_rate, to_excess, mix, shift, low, high, low_now, high_now, jump_now;
        Row rich_level, rich_rise, rich_offset, lean_level, lean_rise, lean_offset, width, air, closed;
        Row up_decay, up_hold, down_decay, down_hold, lean_rate, rich_rate, half_jump, pull, drop, arrived, leaving;
        Row s_duty, s_least, s_greatest, s_rich, s_volts, s_volts_least, s_volts_greatest, s_burnt, s_fuel;
        Row s_excess_least, s_excess_greatest, s_rises, s_falls, s_first, s_last, s_at_rise, s_at_fall, s_low, s_high;
        Row s_closed, held_at_start;
        long delay_whole[LANES];
        for (int i = 0; i < LANES; i++) {
            const double *p = points + (MINIMUM(first + i, cars - 1)) * PARAMETERS;
            double weight = p[P_SENSOR_WEIGHT], floating = (1.0 - weight) * bias, time = MAXIMUM(p[P_FILM_TIME], 1e-9);
            air[i] = p[P_AIR_FLOW];
            fuel_rich[i] = air[i] * p[P_EXCESS_RICH];
            fuel_span[i] = air[i] * (p[P_EXCESS_LEAN] - p[P_EXCESS_RICH]);
            fill[i] = 1.0 - decay(step, time);
            fill_rate[i] = fill[i] / step;
            store[i] = p[P_FILM_SHARE] * time;
            well_store[i] = MAXIMUM(p[P_WELL_TIME], 1e-9);
            well_fill[i] = 1.0 - decay(step, well_store[i]);
            well_rate[i] = well_fill[i] / step;
            to_excess[i] = 1.0 / (air[i] * (1.0 + p[P_FALSE_AIR]));
            mix[i] = 1.0 - decay(step, p[P_MIXING_TIME]);
            shift[i] = p[P_SENSOR_SHIFT] - 1.0;
            rich_level[i] = weight * p[P_RICH_LEVEL] + floating;
            lean_level[i] = weight * p[P_LEAN_LEVEL] + floating;
            rich_rise[i] = weight * p[P_RICH_RISE];
            lean_rise[i] = weight * p[P_LEAN_RISE];
            rich_offset[i] = p[P_RICH_OFFSET];
            lean_offset[i] = p[P_LEAN_OFFSET];
            width[i] = p[P_SWITCH_WIDTH];
            up_decay[i] = decay(step, p[P_LEAN_TO_RICH_TIME]);
            up_hold[i] = hold(step, p[P_LEAN_TO_RICH_TIME]);
            down_decay[i] = decay(step, p[P_RICH_TO_LEAN_TIME]);
            down_hold[i] = hold(step, p[P_RICH_TO_LEAN_TIME]);
            lean_rate[i] = p[P_LEAN_RAMP] * step;
            rich_rate[i] = p[P_RICH_RAMP] * step;
            half_jump[i] = p[P_JUMP];
            low[i] = p[P_LOW_LIMIT];
            high[i] = p[P_HIGH_LIMIT];
            pull[i] = p[P_PULL_IN];
            drop[i] = p[P_DROP_OUT];
            double delay = MAXIMUM(p[P_DELAY] / step, 1.0);
            delay_whole[i] = (long)delay;
            delay_part[i] = delay - delay_whole[i];
            duty[i] = integral[i] = p[P_START_DUTY];
            fuel[i] = fuel_rich[i] + effective(duty[i], pull[i], drop[i]) * fuel_span[i];
            film[i] = store[i] * fuel[i];
            well[i] = well_store[i] * fuel[i];
            held_at_start[i] = film[i] + well[i];
            mixed[i] = fuel[i] * to_excess[i];
            volts[i] = curve_now[i] = curve(mixed[i] + shift[i], rich_level[i], rich_rise[i], rich_offset[i],
                                            lean_level[i], lean_rise[i], lean_offset[i], width[i]);
            silent[i] = settings[SET_SILENT_AT_START];
            for (long slot = 0; slot < slots; slot++) ring[slot * LANES + i] = mixed[i];
            s_duty[i] = s_rich[i] = s_volts[i] = s_burnt[i] = s_fuel[i] = s_rises[i] = s_falls[i] = 0.0;
            s_first[i] = s_last[i] = s_at_rise[i] = s_at_fall[i] = s_low[i] = s_high[i] = s_closed[i] = 0.0;
            s_least[i] = s_volts_least[i] = s_excess_least[i] = BIG;
            s_greatest[i] = s_volts_greatest[i] = s_excess_greatest[i] = -BIG;
        }
        long now = 0;
        for (long pulse = 0; pulse < pulses; pulse++) {
            EACH {
                double quiet = silent[i] + pulse_steps * step;
                silent[i] = (volts[i] > window_low && volts[i] < window_high) ? quiet : 0.0;
                int shut = silent[i] < silent_time;
                low_now[i] = shut ? low[i] : START_WAITING;
                high_now[i] = shut ? high[i] : START_WAITING;
                jump_now[i] = shut ? half_jump[i] : 0.0;
                closed[i] = shut ? 1.0 : 0.0;
                integral[i] = clipped(integral[i], low_now[i], high_now[i]);
                on_steps[i] = pulse_steps * effective(clipped(duty[i], low_now[i], high_now[i]), pull[i], drop[i]);
                s_closed[i] += closed[i] * pulse_steps;
            }
            for (long of_pulse = 0; of_pulse < pulse_steps; of_pulse++, now++) {
                for (int i = 0; i < LANES; i++) {
                    long slot = now - delay_whole[i];
                    double near = ring[(slot & mask) * LANES + i], far = ring[((slot - 1) & mask) * LANES + i];
                    arrived[i] = near + delay_part[i] * (far - near);
                }
                EACH {
                    mixed[i] += mix[i] * (arrived[i] - mixed[i]);
                    double from = curve_now[i], was = volts[i];
                    double to = curve(mixed[i] + shift[i], rich_level[i], rich_rise[i], rich_offset[i], lean_level[i],
                                      lean_rise[i], lean_offset[i], width[i]);
                    double left = from + to > 2.0 * was ? up_decay[i] : down_decay[i];
                    double slope = from + to > 2.0 * was ? up_hold[i] : down_hold[i];
                    double is = to - slope * (to - from) + left * (was - from);
                    double top = MAXIMUM(was, is), bottom = MINIMUM(was, is);
                    double above = clipped((top - threshold) / (top - bottom + 1e-12), 0.0, 1.0);
                    double change = above * lean_rate[i] - (1.0 - above) * rich_rate[i];
                    double moved = clipped(integral[i] + change, low_now[i], high_now[i]);
                    duty[i] = clipped(0.5 * (integral[i] + moved) + jump_now[i] * (2.0 * above - 1.0), low_now[i],
                                      high_now[i]);
                    curve_now[i] = to;
                    before[i] = was;
                    volts[i] = is;
                    rich[i] = above;
                    integral[i] = moved;
                }
                EACH {
                    double position = clipped(on_steps[i] - of_pulse, 0.0, 1.0);
                    fuel[i] = fuel_rich[i] + position * fuel_span[i];
                    double space = well_store[i] * fuel[i] - well[i], given = fuel[i] - well_rate[i] * space;
                    well[i] += well_fill[i] * space;
                    double lack = store[i] * given - film[i];
                    film[i] += fill[i] * lack;
                    burnt[i] = given - fill_rate[i] * lack;
                    leaving[i] = burnt[i] * to_excess[i];
                }
                double *slot = ring + (now & mask) * LANES;
                EACH slot[i] = leaving[i];
                EACH {
                    s_duty[i] += duty[i];
                    s_least[i] = MINIMUM(s_least[i], duty[i]);
                    s_greatest[i] = MAXIMUM(s_greatest[i], duty[i]);
                    s_rich[i] += rich[i];
                    s_volts[i] += volts[i];
                    s_volts_least[i] = MINIMUM(s_volts_least[i], volts[i]);
                    s_volts_greatest[i] = MAXIMUM(s_volts_greatest[i], volts[i]);
                    s_burnt[i] += burnt[i];
                    s_fuel[i] += fuel[i];
                    s_excess_least[i] = MINIMUM(s_excess_least[i], mixed[i]);
                    s_excess_greatest[i] = MAXIMUM(s_excess_greatest[i], mixed[i]);
                    s_low[i] += duty[i] <= low[i] + 1e-9 ? 1.0 : 0.0;
                    s_high[i] += duty[i] >= high[i] - 1e-9 ? 1.0 : 0.0;
                }
                double crossed = 0.0;
                EACH crossed += fabs((volts[i] >= threshold ? 1.0 : 0.0) - (before[i] >= threshold ? 1.0 : 0.0));
                if (crossed > 0.0) EACH {
                    double was_rich = before[i] >= threshold ? 1.0 : 0.0, is_rich = volts[i] >= threshold ? 1.0 : 0.0;
                    double rise = is_rich * (1.0 - was_rich), fall = was_rich * (1.0 - is_rich);
                    double moment = now + 1.0 - rich[i], fresh = s_rises[i] < 0.5 ? 1.0 : 0.0;
                    s_rises[i] += rise;
                    s_falls[i] += fall;
                    s_first[i] += rise * fresh * moment;
                    s_last[i] += rise * (moment - s_last[i]);
                    s_at_rise[i] += rise * integral[i];
                    s_at_fall[i] += fall * integral[i];
                }
            }
        }
        for (int i = 0; i < LANES && first + i < cars; i++) {
            double *o = out + (first + i) * STATISTICS;
            double swing = s_at_fall[i] / MAXIMUM(s_falls[i], 1.0) - s_at_rise[i] / MAXIMUM(s_rises[i], 1.0);
            o[S_DUTY_MEAN] = s_duty[i] / steps;
            o[S_DUTY_LEAST] = s_least[i];
            o[S_DUTY_GREATEST] = s_greatest[i];
            o[S_DUTY_AMPLITUDE] = s_rises[i] * s_falls[i] > 0.0 ? 0.5 * swing + jump_now[i] : 0.0;
            o[S_PERIOD] = s_rises[i] > 1.0 ? (s_last[i] - s_first[i]) * step / (s_rises[i] - 1.0) : 0.0;
            o[S_SWITCHES] = s_rises[i];
            o[S_RICH_SHARE] = s_rich[i] / steps;
            o[S_VOLTAGE_MEAN] = s_volts[i] / steps;
            o[S_VOLTAGE_LEAST] = s_volts_least[i];
            o[S_VOLTAGE_GREATEST] = s_volts_greatest[i];
            o[S_LAMBDA_MEAN] = air[i] * steps / s_burnt[i];
            o[S_SENSOR_LAMBDA_LEAST] = 1.0 / s_excess_greatest[i];
            o[S_SENSOR_LAMBDA_GREATEST] = 1.0 / s_excess_least[i];
            o[S_SHARE_AT_RICH_LIMIT] = s_low[i] / steps;
            o[S_SHARE_AT_LEAN_LIMIT] = s_high[i] / steps;
            o[S_CLOSED_SHARE] = s_closed[i] / steps;
            o[S_HELD_GAIN] = film[i] + well[i] - held_at_start[i];
            o[S_FUEL_METERED] = s_fuel[i] * step;
            o[S_FUEL_BURNT] = s_burnt[i] * step;
            o[S_DURATION] = steps * step;
        }
    }
    free(ring);
}
